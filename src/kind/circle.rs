//! The readings of one circle of a turn, and their figures.

use geometry::{Offset, WAVES_KEPT, Wave, Waves};
use judgement::{Part, Width};
use quantity::{Figure, Length};
use words::{Angle, Bound, degrees, first_high_spot};

use super::check::{Check, Direction, Surface};
use super::figures::{Figures, WaveFigure};
use super::judged::{rounded, rounded_up, thousandths};
use super::series::{Series, near_ends};
use super::taps::Taps;

/// The most positions of a turn that is touched by hand; so few hold nothing that the low-pass removes.
pub(crate) const BY_HAND: usize = 30;
/// The highest wave that is given for a turn touched by hand.
const WAVES_BY_HAND: usize = 7;

/// Two parts of a turn between marks whose times differ by more than this factor: the hand stood still or
/// turned back (common practice, no source).
pub(crate) const UNEVEN: f64 = 1.5;

/// An influence that is always there in a turn, such as the stand. Where nothing is stated, it counts as
/// zero, and as assumed.
pub(crate) fn stated_or_nothing(stated: Length) -> Part {
    if stated == Length::ZERO { Part::assumed(stated) } else { Part::stated(stated) }
}

/// Whether the axis lies on the side opposite the high reading.
pub(crate) const fn opposite(surface: Surface) -> bool {
    matches!(surface, Surface::Inside | Surface::FarFace)
}

/// The readings of one turn at one place, in the order of the positions.
#[derive(Debug)]
pub(crate) struct Circle {
    positions: Vec<u32>,
    angles_deg: Vec<f64>,
    /// Picometres times `parts`.
    sums: Vec<i64>,
    parts: i64,
}

/// A total reading as it is judged.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Total {
    pub(crate) value: Figure,
    /// Whether waves above the fifteenth were left out.
    pub(crate) filtered: bool,
    /// Whether they should have been, but a gap prevented it.
    pub(crate) gap: bool,
}

impl Circle {
    /// The readings whose position belongs to the circle.
    pub(crate) fn of(of: &Series<'_>, belongs: impl Fn(u32) -> bool) -> Self {
        let own = || of.sums.iter().filter(|(position, _)| belongs(*position));
        Self {
            positions: own().map(|(position, _)| *position).collect(),
            angles_deg: own().map(|(position, _)| of.check.angle_deg(*position)).collect(),
            sums: own().map(|(_, sum)| *sum).collect(),
            parts: of.parts,
        }
    }

    /// The most that the high side can move because the hand stood still, degrees: the sum over all parts
    /// of the turn that took longer than 1.5 times the quickest, each tried at its beginning, at its end
    /// and between.
    pub(crate) fn moved_by_standing(&self, check: &Check, taps: &Taps) -> f64 {
        let Some(as_read) = self.high().map(Offset::towards_deg) else { return 0.0 };
        let parts = taps.at_us.len().saturating_sub(1);
        // The taps count in the order of the marks.
        let against = |angle: f64| match check.direction {
            Direction::CounterClockwise => angle,
            Direction::Clockwise => (360.0 - angle) % 360.0,
        };
        let counted: Vec<f64> = self.angles_deg.iter().map(|angle| against(*angle)).collect();
        let moved = |part: usize, after: f64| {
            let angles = taps.had_it_stood(&counted, (part, after));
            let angles: Vec<f64> = angles.into_iter().map(against).collect();
            let waves = geometry::waves_at(&angles, &self.heights(), 1).ok()?;
            let wave = waves.wave(1)?;
            let high = Offset { x: wave.cosine, y: wave.sine }.towards_deg();
            Some(((high - as_read + 540.0) % 360.0 - 180.0).abs())
        };
        let most = |part: usize| {
            let tried = [0.0, 0.25, 0.5, 0.75, 1.0].into_iter();
            tried.filter_map(|after| moved(part, after)).fold(0.0, f64::max)
        };
        let uneven = (0..parts).filter(|part| taps.times_the_quickest(*part) > UNEVEN);
        uneven.map(most).sum()
    }

    /// The mean of turns touched at the same marks; a mark that one of them lacks is left out. `None` for
    /// no turns.
    pub(crate) fn mean_of(turns: &[&Self], round: u32) -> Option<Self> {
        let (first, rest) = turns.split_first()?;
        let mark = |position: u32| position % round.max(1);
        let at = |turn: &Self, position: u32| {
            let same = turn.positions.iter().position(|other| mark(*other) == mark(position))?;
            turn.sums.get(same).copied()
        };
        let mut mean =
            Self { positions: Vec::new(), angles_deg: Vec::new(), sums: Vec::new(), parts: 0 };
        for (index, position) in first.positions.iter().enumerate() {
            let others = rest.iter().map(|turn| at(turn, *position)).sum::<Option<i64>>();
            if let (Some(others), Some(own)) = (others, first.sums.get(index)) {
                mean.positions.push(*position);
                mean.angles_deg.extend(first.angles_deg.get(index));
                mean.sums.push(own + others);
            }
        }
        let turns = i64::try_from(turns.len()).ok()?;
        Some(Self { parts: first.parts * turns, ..mean })
    }

    pub(crate) const fn touches(&self) -> usize {
        self.sums.len()
    }

    pub(crate) fn radius(&self, check: &Check) -> Option<Length> {
        check.radius(*self.positions.first()?)
    }

    /// Highest minus lowest, exact; `None` for a single reading.
    pub(crate) fn total(&self) -> Option<Figure> {
        let (max, min) = (self.sums.iter().max()?, self.sums.iter().min()?);
        let total = Figure::new(i128::from(*max) - i128::from(*min), 1) / self.parts;
        (self.sums.len() > 1).then_some(total)
    }

    /// How much noise alone makes the total reading too large on average. After the low-pass at 15 waves a
    /// turn has about 65 independent places, each with 22.6/N of the variance.
    pub(crate) fn reads_high(&self, s: Length, filtered: bool) -> Option<Length> {
        const PLACES: usize = 65;
        if !filtered {
            let (high, low) = near_ends(&self.sums, s, self.parts)?;
            return judgement::range_reads_high(high, low, s);
        }
        let s = judgement::spread_low_pass(self.touches(), s);
        let smooth: Vec<i64> = self
            .smooth()?
            .into_iter()
            .map(|height| thousandths(height).and_then(|h| i64::try_from(h.ceil()).ok()))
            .collect::<Option<_>>()?;
        let (high, low) = near_ends(&smooth, s, 1)?;
        let places = |near: usize| {
            let touches = self.touches().max(1);
            if touches <= PLACES { near } else { (near * PLACES).div_ceil(touches) }
        };
        judgement::range_reads_high(places(high), places(low), s)
    }

    fn mean(&self) -> Option<Figure> {
        let count = i64::try_from(self.sums.len()).ok().filter(|&count| count > 0)?;
        let sum: i128 = self.sums.iter().map(|sum| i128::from(*sum)).sum();
        Some(Figure::new(sum, 1) / self.parts / count)
    }

    /// Heights above the first reading, picometres.
    fn heights(&self) -> Vec<f64> {
        let first = self.sums.first().copied().unwrap_or(0);
        let above = |sum: &i64| Figure::new(i128::from(*sum) - i128::from(first), 1);
        self.sums.iter().map(|sum| (above(sum) / self.parts).to_f64()).collect()
    }

    /// The total reading that is judged. A turn touched by hand is judged as read. The range of a
    /// streamed turn grows with every sample, so it is judged after the low-pass, to a thousandth of
    /// a picometre.
    pub(crate) fn judged(&self) -> Option<Total> {
        let read = self.total()?;
        if self.touches() <= BY_HAND {
            return Some(Total { value: read, filtered: false, gap: false });
        }
        let smooth = self.smooth().and_then(|smooth| thousandths(geometry::total_reading(&smooth)));
        let value = smooth.unwrap_or(read);
        Some(Total { value, filtered: smooth.is_some(), gap: smooth.is_none() })
    }

    fn smooth(&self) -> Option<Vec<f64>> {
        let heights = self.heights();
        let even = geometry::is_even_turn(&self.angles_deg);
        if even {
            geometry::low_pass_even(&heights, WAVES_KEPT).ok()
        } else {
            geometry::low_pass(&self.angles_deg, &heights, WAVES_KEPT).ok()
        }
    }

    /// The waves that the positions can show, at most seven for a turn touched by hand and fifteen for a
    /// streamed one; `None` where they do not even show the first.
    pub(crate) fn waves(&self) -> Option<Waves> {
        let most = if self.touches() > BY_HAND { WAVES_KEPT } else { WAVES_BY_HAND };
        let order = geometry::highest_order(&self.angles_deg).min(most);
        if order == 0 {
            return None;
        }
        geometry::waves_at(&self.angles_deg, &self.heights(), order).ok()
    }

    /// The first wave: its height and direction of the high reading, picometres.
    pub(crate) fn high(&self) -> Option<Offset> {
        self.waves()?.wave(1).map(|wave| Offset { x: wave.cosine, y: wave.sine })
    }

    /// All figures of one circle; `s` is the standard deviation of touches on one spot.
    pub(crate) fn figures(&self, check: &Check, s: Length) -> Figures {
        self.figures_of(check, s, self.judged().is_some_and(|total| total.filtered))
    }

    /// The same, where it is already known whether the total reading is judged after the low-pass.
    pub(crate) fn figures_of(&self, check: &Check, s: Length, filtered: bool) -> Figures {
        let floor = if filtered {
            Some(judgement::noise_floor_low_pass(self.touches(), s))
        } else {
            judgement::noise_floor(Width::MaxMinusMin, self.touches(), s)
        };
        let mut figures = Figures {
            max_minus_min: self.total(),
            mean: self.mean(),
            noise_floor: floor.map(Bound),
            ..Figures::default()
        };
        let Some(waves) = self.waves() else { return figures };
        figures.harmonics = waves.waves.iter().filter_map(wave_figure).collect();
        let left = waves.residuals(&self.angles_deg, &self.heights(), 1);
        figures.out_of_round = thousandths(geometry::total_reading(&left));
        let Some(first) = waves.eccentricity(Figure::from(s).to_f64()) else { return figures };
        figures.eccentricity = thousandths(first.offset.amount());
        // Equal readings have no high side.
        if figures.eccentricity.is_some_and(|amount| amount > Figure::ZERO) {
            let axis = if opposite(check.surface) { first.offset.opposite() } else { first.offset };
            let within = rounded_up((2.0 * first.u_towards_deg).min(180.0));
            figures.lies_high_at(turned(first.offset), within);
            figures.axis_deg = Some(turned(axis));
        }
        figures
    }

    /// What a person must know beside the figures.
    pub(crate) fn says(&self, check: &Check, figures: &Figures, total: Total) -> Vec<String> {
        let mut says = Vec::new();
        if total.filtered {
            says.push("Judged after a low-pass at 15 waves a turn.".to_owned());
        }
        if total.gap {
            says.push("A gap is too wide for the low-pass: judged as read.".to_owned());
        }
        let open = geometry::widest_gap_deg(&self.angles_deg) >= 180.0;
        if open && self.touches() > 2 {
            says.push("Half the turn or more was not touched: no high side.".to_owned());
        }
        let high = figures.high_side_deg;
        says.extend(high.and_then(|high| self.gap_around(check, high.get())).map(|(from, to)| {
            format!("The high spot lies between {from} and {to}, where nothing was touched.")
        }));
        says
    }

    /// The gap around an angle, where a position is missing there.
    fn gap_around(&self, check: &Check, angle_deg: f64) -> Option<(f64, f64)> {
        let mut around = self.angles_deg.clone();
        around.sort_by(f64::total_cmp);
        let pitch = 360.0 / f64::from(check.on_a_circle().max(1));
        let next = around.iter().copied().cycle().skip(1);
        let apart = |from: f64, to: f64| (to - from).rem_euclid(360.0);
        let (from, to) = around.iter().copied().zip(next).find(|&(from, to)| {
            apart(from, to) > 1.5 * pitch && apart(from, angle_deg) < apart(from, to)
        })?;
        (apart(from, angle_deg) > 0.0).then_some((rounded(from).get(), rounded(to).get()))
    }
}

fn wave_figure(wave: &Wave) -> Option<WaveFigure> {
    let order = u32::try_from(wave.order).ok()?;
    let amplitude = thousandths(wave.amplitude())?;
    Some(WaveFigure {
        order,
        amplitude,
        phase_deg: Angle::of(first_high_spot(wave.high_deg(), order)),
    })
}

/// The direction of an offset, degrees to a thousandth, [0, 360).
pub(crate) fn turned(offset: Offset) -> Angle {
    Angle::of(degrees(offset.towards_deg()))
}
