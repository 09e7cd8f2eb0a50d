//! What the readings of a bar show, station by station and seating by seating.

use geometry::{Offset, TwoStations};
use judgement::{Budget, FirstWaveShares, Known, Part, Reason, Share, TurnShares, Word};
use num_rational::Ratio;
use quantity::{Figure, Length};
use words::{Bound, Stated, fine, fine_beside, fine_with_doubt, size};

use super::BarRun;
use super::split::{self, Split};
use crate::check::Check;
use crate::circle::{Circle, opposite, stated_or_nothing, turned};
use crate::figures::{
    AxisFigures, AxisName, BarFigures, Figures, NotMeasured, Predicted, Repeat, StationFigures,
};
use crate::judged::{Judged, rounded, rounded_up, thousandths};
use crate::layout::{BarStation, Seatings};
use crate::series::Series;

/// Judges the worst station: the one with the worst word, and among several the one with the largest share
/// of its limit.
pub(super) fn runout(of: &Series<'_>, bar: &BarRun) -> Judged {
    let mut judged = Judged { limits: of.check.limits, ..Judged::default() };
    judged.figures.closure = of.closure.map(Figure::from);
    let run = Run::of(of, bar);
    let shown: Vec<Shown> = run.stations.iter().filter_map(|one| run.shown(one)).collect();
    judged.reasons.extend(run.refused);
    let Some(worst) = shown.iter().reduce(|one, other| if worse(other, one) { other } else { one })
    else {
        return judged;
    };
    let figures = &worst.figures;
    judged.value = Some(figures.value);
    judged.budget = Some(run.with_assumed(worst.budget.clone()));
    judged.limits = Some(figures.tolerance);
    judged.figures = Figures { closure: judged.figures.closure, ..run.beside(worst) };
    let axis = Axis::through(&shown);
    judged.figures.axis = axis.as_ref().and_then(|axis| axis.figures(run.splits));
    judged.figures.predicted = axis.iter().flat_map(|axis| axis.predicted(bar)).collect();
    judged.says.extend(run.says(&shown));
    judged.cautions.extend(run.says_alike(&shown));
    judged.says.extend(says_of_axis(&judged.figures, of.check));
    judged.reseated = run.reseated(of.check);
    judged.figures.stations = shown.into_iter().map(|one| one.figures).collect();
    judged
}

/// A bar as it was read, and whether it can be split from the spindle.
struct Run<'a> {
    of: &'a Series<'a>,
    bar: &'a BarRun,
    /// The standard deviation of touches on one spot.
    s: Length,
    /// The stations that were touched all round in every seating.
    stations: Vec<Station>,
    /// Whether the figures are those of the spindle alone.
    splits: bool,
    /// Why they are not, although the bar was seated more than once.
    refused: Option<Reason>,
}

/// One station, seating by seating.
struct Station {
    plan: BarStation,
    sweeps: Vec<Circle>,
    /// Where the axis lies in each seating, picometres; empty where a seating does not show it.
    axes: Vec<Offset>,
    /// The offsets of bar and spindle, where the seatings give them.
    split: Option<Split>,
}

/// The figures of a station.
struct Shown {
    figures: StationFigures,
    budget: Budget,
    /// Where the axis lies, picometres.
    axis: Option<Offset>,
    /// Expanded uncertainty of the total reading by the first wave.
    first_wave_u: Length,
    /// Sentences with the readings behind a figure that is not split.
    says: Vec<String>,
    /// Whether it was split and the seatings do not show that the bar differs from a perfect one.
    alike: bool,
}

impl<'a> Run<'a> {
    fn of(of: &'a Series<'a>, bar: &'a BarRun) -> Self {
        let place = |index| Station::of(of, bar, index);
        let stations: Vec<Station> = (0..bar.stations.len()).filter_map(place).collect();
        let seatings = bar.seatings;
        let refused = split::refused(seatings, stations.iter().map(|one| one.split.as_ref()));
        let splits = seatings != Seatings::One && refused.is_none() && !stations.is_empty();
        Self { of, bar, s: of.touch_spread(), stations, splits, refused }
    }

    /// The shares of the uncertainty of the first wave at a station.
    fn first_wave(&self, station: &Station) -> FirstWaveShares {
        let touches = station.sweeps.iter().map(Circle::touches).min().unwrap_or(0);
        let seatings = match self.bar.seatings {
            // The third seating only proves that the first repeats.
            Seatings::Three if self.splits => 2,
            Seatings::Four if self.splits => 4,
            Seatings::One | Seatings::Three | Seatings::Four => 1,
        };
        let mut turn = self.of_turn(&station.plan);
        if self.bar_is_told(station) {
            turn.bar = Part::stated(Length::ZERO);
        }
        FirstWaveShares {
            turn,
            touches: u32::try_from(touches).unwrap_or(u32::MAX),
            seatings,
            readout: judgement::assumed_reading(self.of.resolution),
        }
    }

    /// The shares of the uncertainty of one turn at a station.
    fn of_turn(&self, station: &BarStation) -> TurnShares {
        TurnShares {
            touch: self.of.noise_part(),
            stand: stated_or_nothing(self.bar.stand),
            seating: seats(self.of, station),
            bar: self.own_bar(),
        }
    }

    /// The expanded uncertainty of the total reading by the first wave at a station, with the error of the
    /// return to position 0.
    fn first_wave_u(&self, made_of: &FirstWaveShares) -> Length {
        self.of.with_returns(made_of.budget()).expanded().uncertainty
    }

    fn shown(&self, station: &Station) -> Option<Shown> {
        if self.splits { self.spindle(station) } else { self.as_seated(station) }
    }

    /// The figures of the first seating: bar and spindle together.
    fn as_seated(&self, station: &Station) -> Option<Shown> {
        let sweep = station.sweeps.first()?;
        let total = sweep.judged()?;
        let budget = self.of.with_returns(self.of_turn(&station.plan).budget());
        let uncertainty = budget.expanded().uncertainty;
        let axis = station.axes.first().copied();
        let mut figures = self.figures(station, total.value, uncertainty, axis);
        figures.repeat = station.split.map(|split| split.repeat);
        let told = sweep.figures(self.of.check, self.s);
        let says = sweep.says(self.of.check, &told, total);
        let first_wave_u = self.first_wave_u(&self.first_wave(station));
        Some(Shown { figures, budget, axis, first_wave_u, says, alike: false })
    }

    /// The figures of the spindle alone.
    fn spindle(&self, station: &Station) -> Option<Shown> {
        let Split { spindle, bar, repeat, .. } = station.split?;
        let made_of = self.first_wave(station);
        let wave = thousandths(spindle.total_reading())?;
        let mean = station.mean(self.of.check.positions).and_then(|mean| mean.judged());
        let mean = mean.map(|total| total.value);
        // What is not round vanishes in the first wave, and remains in the mean of the turns.
        let by_mean = mean.filter(|mean| *mean > wave);
        let value = by_mean.unwrap_or(wave);
        let budget = if by_mean.is_some() { made_of.budget_of_range() } else { made_of.budget() };
        let budget = self.of.with_returns(budget);
        let uncertainty = budget.expanded().uncertainty;
        let mut figures = self.figures(station, value, uncertainty, Some(spindle));
        figures.repeat = Some(repeat);
        figures.bar = Some(BarFigures {
            eccentricity: thousandths(bar.amount())?,
            high_side_deg: turned(bar),
        });
        figures.mean_sweep = mean;
        if let [one, two, three, four] = *station.axes {
            let both = geometry::four_seatings([one, two, three, four]);
            figures.mean_of_seatings = thousandths(both.mean_total_reading);
        }
        // Two readings of the mean turn differ by this much without any cause: twice √2 of the uncertainty
        // of one.
        let nothing = Part::stated(Length::ZERO);
        let turn = TurnShares { seating: nothing, stand: nothing, bar: nothing, ..made_of.turn };
        let scatter = FirstWaveShares { turn, ..made_of }.budget_of_range().expanded();
        let scatter = Figure::from(scatter.uncertainty);
        let lobed = by_mean.is_some_and(|mean| mean > wave + scatter);
        let lobes = "it is not round: judged by the mean of the turns, not by the first wave.";
        let says = lobed.then(|| lobes.to_owned()).into_iter().collect();
        let alike = !self.bar_is_told(station);
        let first_wave_u = self.first_wave_u(&made_of);
        Some(Shown { figures, budget, axis: Some(spindle), first_wave_u, says, alike })
    }

    fn figures(
        &self,
        station: &Station,
        value: Figure,
        uncertainty: Length,
        axis: Option<Offset>,
    ) -> StationFigures {
        let surface = self.of.check.surface;
        let limits = station.plan.limits;
        let rule = self.of.rule;
        let eccentricity = axis.and_then(|axis| thousandths(axis.amount()));
        let points = axis.filter(|_| eccentricity.is_some_and(|amount| amount > Figure::ZERO));
        let high = points.map(|axis| if opposite(surface) { axis.opposite() } else { axis });
        StationFigures {
            at: Stated(station.plan.at),
            value,
            tolerance: limits,
            uncertainty: Bound(uncertainty),
            verdict: judgement::decide(value, uncertainty, limits).by(rule),
            seatings: station.sweeps.iter().filter_map(Circle::total).collect(),
            eccentricity,
            high_side_deg: high.map(turned),
            axis_deg: points.map(turned),
            bar: None,
            repeat: None,
            mean_of_seatings: None,
            mean_of_totals: mean_of_totals(station),
            mean_sweep: None,
        }
    }

    /// Whether the offset of the bar at a station is more than scatter: then the bar was turned, and its
    /// offset is out of the figure.
    fn bar_is_told(&self, station: &Station) -> bool {
        self.splits && station.split.is_some_and(|split| split.bar_is_told)
    }

    /// Seatings that agree show no bar that was turned. The readings cannot tell whether it is perfect or
    /// was not turned, so this is said wherever the verdict is.
    fn says_alike(&self, shown: &[Shown]) -> Option<String> {
        let alike = shown.iter().filter(|one| one.alike);
        let places: Vec<String> = alike.map(|one| place(one.figures.at.0, self.of.check)).collect();
        (!places.is_empty()).then(|| {
            format!(
                "At {} the seatings are alike: a perfect bar, or never turned.",
                places.join(" and ")
            )
        })
    }

    /// The figures of the judged station, other than the judged figure.
    fn beside(&self, worst: &Shown) -> Figures {
        let at = |station: &&Station| station.plan.at == worst.figures.at.0;
        let sweep = self.stations.iter().find(at).and_then(|station| station.sweeps.first());
        let read = sweep.filter(|_| !self.splits);
        let read = read.map(|sweep| sweep.figures(self.of.check, self.s)).unwrap_or_default();
        let filtered = sweep.and_then(Circle::judged).is_some_and(|total| total.filtered);
        let known = worst.axis.map(|axis| {
            // Twice the standard uncertainty of an axis, divided by the eccentricity, in degrees.
            let known = Figure::from(worst.first_wave_u).to_f64() / 2.0 / axis.amount();
            known.to_degrees()
        });
        let known = known.map(|deg| rounded_up(if deg < 180.0 { deg } else { 180.0 }));
        let mut figures = Figures {
            eccentricity: worst.figures.eccentricity,
            axis_deg: worst.figures.axis_deg,
            unfiltered: sweep.filter(|_| !self.splits && filtered).and_then(Circle::total),
            ..read
        };
        figures.forget_high_side();
        if let Some((at, within)) = worst.figures.high_side_deg.zip(known) {
            figures.lies_high_at(at, within);
        }
        figures
    }

    /// How far the seatings of the bar lie apart.
    fn reseated(&self, check: &Check) -> Vec<(Length, Vec<Length>)> {
        let at = |station: &Station| {
            let apart = Split::apart(&station.axes, check.direction);
            let lengths = apart.into_iter().filter_map(picometres).collect();
            (station.plan.at, lengths)
        };
        let seen = self.stations.iter().map(at);
        seen.filter(|(_, apart): &(_, Vec<Length>)| !apart.is_empty()).collect()
    }

    /// What a person must know about the stations, and what to do next.
    fn says(&self, shown: &[Shown]) -> Vec<String> {
        let check = self.of.check;
        let place = |one: &Shown| place(one.figures.at.0, check);
        let mut says = Vec::new();
        if self.splits {
            says.push("Bar and spindle are split by the first wave.".to_owned());
        }
        says.extend(self.says_not_stated());
        says.extend(self.refused.and_then(|reason| self.says_refused(reason)));
        for one in shown {
            says.extend(one.says.iter().map(|text| format!("At {}: {text}", place(one))));
        }
        let named = |word| {
            let those = shown.iter().filter(|one| one.figures.verdict == word);
            let places: Vec<String> = those.map(place).collect();
            (!places.is_empty()).then(|| places.join(" and "))
        };
        let (out, close) = (named(Word::DoesNotConform), named(Word::Undecided));
        says.extend(out.as_ref().map(|at| format!("Out at {at}.")));
        says.extend(close.as_ref().map(|at| format!("Too close to call at {at}.")));
        if self.bar.seatings == Seatings::One && out.is_some() {
            says.push(
                "It is bar and spindle together. Seat the bar at 0, 180 and 0 again to tell which."
                    .to_owned(),
            );
        } else if self.bar.seatings == Seatings::One && close.is_some() {
            says.push("Seat the bar four times, or at 0, 180 and 0 again.".to_owned());
        }
        says
    }

    /// The worst station was found among all of them: what is assumed of another one counts for its budget,
    /// too, without a size.
    fn with_assumed(&self, budget: Budget) -> Budget {
        let nothing = Part::assumed(Length::ZERO);
        let budget = if self.a_seating_is_assumed() && !budget.has_assumed(Share::Seating) {
            budget.with(Share::Seating, nothing, 1, 1)
        } else {
            budget
        };
        if self.bar_is_assumed() && !budget.has_assumed(Share::Bar) {
            return budget.with(Share::Bar, nothing, 1, 1);
        }
        budget
    }

    /// Whether the plan does not state how well the bar seats at some station.
    fn a_seating_is_assumed(&self) -> bool {
        self.bar.stations.iter().any(|one| seats(self.of, one).known == Known::Assumed)
    }

    /// Whether the plan does not state how true the bar is although that is part of a figure.
    fn bar_is_assumed(&self) -> bool {
        let told =
            !self.stations.is_empty() && self.stations.iter().all(|one| self.bar_is_told(one));
        self.own_bar().known == Known::Assumed && !told
    }

    /// How true the bar is itself: by the register, or by the plan, which may say nothing.
    fn own_bar(&self) -> Part {
        let planned = stated_or_nothing(self.bar.bar);
        self.of.check.bar_known.map_or(planned, Part::stated)
    }

    fn says_not_stated(&self) -> Vec<String> {
        let check = self.of.check;
        let mut says = Vec::new();
        if self.a_seating_is_assumed() {
            let assumed = place(judgement::assumed_seating(), check);
            says.push(format!("How well the bar seats is not stated: {assumed} is assumed."));
        }
        if self.bar_is_assumed() {
            says.push("How true the bar is, is not stated: taken as perfect.".to_owned());
        }
        says
    }

    fn says_refused(&self, reason: Reason) -> Option<String> {
        if reason != Reason::SeatingMoved {
            return Some("Too few touches to split bar and spindle.".to_owned());
        }
        let check = self.of.check;
        let moved = |station: &&Station| station.split.is_some_and(|split| !split.repeats());
        let station = self.stations.iter().find(moved)?;
        let split = station.split?;
        let Repeat { difference: off, limit } = split.repeat;
        let figures = fine_beside(off, limit, check.unit);
        let place = place(station.plan.at, check);
        Some(split.says_moved(&place, self.bar.seatings, figures))
    }
}

impl Station {
    /// A station of the bar; `None` unless it was touched all round in every seating.
    fn of(of: &Series<'_>, bar: &BarRun, index: usize) -> Option<Self> {
        let (check, index_u32) = (of.check, u32::try_from(index).ok()?);
        let (round, along) = (check.positions, u32::try_from(bar.stations.len()).ok()?);
        let first = |seating: u32| (seating * along + index_u32) * round;
        let seatings = 0..bar.seatings.count();
        let mut all = seatings.clone().flat_map(|seating| first(seating)..first(seating) + round);
        if !all.all(|position| !of.open.contains(&position)) {
            return None;
        }
        let sweep = |seating| {
            let own = first(seating)..first(seating) + round;
            Circle::of(of, |position| own.contains(&position))
        };
        let sweeps: Vec<Circle> = seatings.map(sweep).collect();
        let axis = |sweep: &Circle| {
            let high = sweep.high()?;
            Some(if opposite(check.surface) { high.opposite() } else { high })
        };
        let axes = sweeps.iter().map(axis).collect::<Option<Vec<Offset>>>().unwrap_or_default();
        let plan = *bar.stations.get(index)?;
        let touches = sweeps.iter().map(Circle::touches).min().unwrap_or(0);
        let sigma = split::sigma(seats(of, &plan).u(), of.touch_spread(), touches);
        let split = Split::of(&axes, sigma, check.direction, check.traps.seatings);
        Some(Self { plan, sweeps, axes, split })
    }

    /// The mean of the turns, as the spindle's part is worked out from it.
    fn mean(&self, round: u32) -> Option<Circle> {
        // Of three seatings the third only proves that the first repeats.
        let turns = if self.sweeps.len() == 3 { 2 } else { self.sweeps.len() };
        let turns: Vec<&Circle> = self.sweeps.iter().take(turns).collect();
        Circle::mean_of(&turns, round)
    }
}

/// Standard uncertainty of one seating per axis: stated, otherwise assumed.
pub(super) fn seating_of(station: &BarStation) -> Length {
    let stated = Some(station.seating).filter(|stated| *stated != Length::ZERO);
    stated.unwrap_or_else(judgement::assumed_seating)
}

/// The same beside what the bench's own record shows: that takes the place of what is assumed, and of what
/// is stated where it is larger. The record's holds the scatter of the touches, too, which is taken out.
fn seats(of: &Series<'_>, station: &BarStation) -> Part {
    let u = seating_of(station);
    let is_assumed = station.seating == Length::ZERO;
    let own = if is_assumed { Part::assumed(u) } else { Part::stated(u) };
    let Some((_, shown)) = of.seatings.iter().find(|(at, _)| *at == station.at) else { return own };
    let touches = u128::from(of.check.positions.max(1));
    let scatter = of.reading.scatter().square.saturating_mul(2) / touches;
    let shown = Part { square: shown.square.saturating_sub(scatter), ..*shown };
    if is_assumed { shown } else { own.larger(shown) }
}

/// Mean of the total readings as they were read, where the bar was seated more than once.
fn mean_of_totals(station: &Station) -> Option<Figure> {
    let totals: Vec<Figure> = station.sweeps.iter().filter_map(Circle::total).collect();
    let count = i64::try_from(totals.len()).ok().filter(|count| *count > 1)?;
    let sum = totals.into_iter().fold(Figure::ZERO, |sum, total| sum + total);
    Some(sum / count)
}

/// Whether a station is worse than another: first by its word, then by its share of the limit.
fn worse(one: &Shown, other: &Shown) -> bool {
    let rank = |word| match word {
        Word::Conforms => 0,
        Word::Undecided | Word::Incomplete => 1,
        Word::DoesNotConform => 2,
    };
    let share = |shown: &Shown| {
        let limit = whole(shown.figures.tolerance.half_width());
        shown.figures.value / limit.picometres().max(1)
    };
    let key = |shown: &Shown| (rank(shown.figures.verdict), share(shown));
    key(one) > key(other)
}

/// A difference of seatings in whole picometres.
fn picometres(apart: f64) -> Option<Length> {
    i64::try_from(thousandths(apart)?.ceil()).ok().map(Length::from_picometres)
}

/// A limit as whole picometres.
fn whole(limit: Figure) -> Length {
    Length::from_picometres(i64::try_from(limit.ceil()).unwrap_or(i64::MAX))
}

/// The axis through the first and the last station.
struct Axis {
    line: TwoStations,
    at: [Length; 2],
    /// The expanded uncertainties of the total reading by the first wave at the two.
    expanded: [Length; 2],
}

impl Axis {
    fn through(shown: &[Shown]) -> Option<Self> {
        let (first, last) = (shown.first()?, shown.last()?);
        let at = [first.figures.at.0, last.figures.at.0];
        let z = at.map(|at| Figure::from(at).to_f64());
        let line = TwoStations::new(z[0], first.axis?, z[1], last.axis?).ok()?;
        Some(Self { line, at, expanded: [first.first_wave_u, last.first_wave_u] })
    }

    fn figures(&self, of_spindle: bool) -> Option<AxisFigures> {
        let (nose, tilt) = (self.line.offset(0.0), self.line.tilt());
        Some(AxisFigures {
            name: if of_spindle { AxisName::Spindle } else { AxisName::Bar },
            offset: thousandths(nose.amount())?,
            offset_deg: turned(nose),
            tilt_urad: rounded(tilt.amount() * 1e6),
            tilt_deg: turned(tilt),
        })
    }

    fn predicted(&self, bar: &BarRun) -> Vec<Predicted> {
        let pm = |at: Length| i128::from(at.picometres());
        let [first, last] = self.at.map(pm);
        let one = |at: &Length| {
            let z = Figure::from(*at).to_f64();
            let offset = self.line.offset(z);
            let share = Ratio::new(pm(*at) - first, last - first);
            Some(Predicted {
                at: Stated(*at),
                value: thousandths(offset.total_reading())?,
                uncertainty: Bound(judgement::of_predicted(
                    self.expanded[0],
                    self.expanded[1],
                    share,
                )),
                factor: rounded(self.line.factor(z)),
                axis_deg: turned(offset),
                label: NotMeasured::Predicted,
            })
        };
        bar.predict.iter().filter_map(one).collect()
    }
}

fn says_of_axis(figures: &Figures, check: &Check) -> Vec<String> {
    let unit = check.unit;
    let name = |name| match name {
        AxisName::Spindle => "Spindle axis",
        AxisName::Bar => "Bar axis as seated, bar and spindle together",
    };
    let axis = figures.axis.as_ref().map(|axis| {
        format!(
            "{}: {} off at the nose face, tilt {:.1} µrad.",
            name(axis.name),
            fine(axis.offset, unit),
            axis.tilt_urad.get()
        )
    });
    let predicted = figures.predicted.iter().map(|one| {
        let [value, doubt] = fine_with_doubt(one.value, Figure::from(one.uncertainty.0), unit);
        format!(
            "At {}: {value} ± {doubt} predicted, not measured; {:.2} times as uncertain as at a station.",
            place(one.at.0, check),
            one.factor.get()
        )
    });
    axis.into_iter().chain(predicted).collect()
}

/// A distance along the bar, for people.
fn place(at: Length, check: &Check) -> String {
    format!("{} {}", size(at, check.unit), check.unit.symbol())
}
