//! One turn of a surface under a fixed stylus.

use ::words::{Angle, Bound, Thousandth};
use ::words::{degrees, first_high_spot, size};
use geometry::{self, Harmonics, Offset, WAVES_KEPT, Wave};
use judgement::{self, Expanded, Judged as Kind, OfTurn, Part, Reason};
use quantity::{Figure, Length};

use crate::fact::row::State;
use crate::fact::taps::Taps;
use crate::fact::verdict::{Figures, Lobe};
use crate::judge::{
    Judged, Tries, closure_difference, near_ends, rounded, rounded_up, thousandths,
};
use crate::plan::{Check, Direction, Surface, Swept, Turn};
use crate::state::Attempt;
use crate::state::watched::Watched;

/// Up to as many positions a turn is touched by hand, which holds nothing a low-pass takes out.
const BY_HAND: usize = 30;
/// The highest wave that is told of a turn touched by hand.
const WAVES_BY_HAND: usize = 7;

/// Samples in a swept turn (from memory of the trade).
const USUAL_SAMPLES: usize = 100;

pub(super) fn runout(tries: &Tries) -> Judged {
    let (check, turn) = (tries.check, detail(tries.check));
    if check.swept().is_some() {
        return swept(tries, &turn);
    }
    let s = touch_spread(tries);
    let expanded = Some(doubt(tries, &turn));
    let closure = closure_difference(check, tries.attempt).map(Figure::from);
    let mut judged = Judged { expanded, limits: check.limits, ..Judged::default() };
    judged.figures.closure = closure;
    if check.total_only() || tries.attempt.watched() == Some(Watched::Total) {
        judged.value = keyed_total(tries);
        judged.figures.max_minus_min = judged.value;
        return judged;
    }
    let circles: Vec<Sweep> =
        (0..circles(check)).map(|ring| Sweep::of(tries, |p| circle_of(check, p) == ring)).collect();
    let Some((worst, total)) = largest(&circles) else { return judged };
    judged.value = Some(total.value);
    judged.reads_high = worst.reads_high(tries.noise(), total.filtered);
    judged.figures = Figures { closure, ..worst.figures_of(check, s, total.filtered) };
    judged.figures.unfiltered = total.filtered.then(|| worst.total()).flatten();
    let whole = u32::try_from(worst.touches()) == Ok(on_a_circle(check));
    if circles.len() == 1 && whole && worst.touches() <= BY_HAND {
        judged.figures.saddle_factor = crate::judge::face::saddle_factor(check);
    }
    if circles.len() > 1 {
        judged.says.extend(worst.radius(check).map(|radius| {
            let radius = size(radius, check.unit);
            format!("Each circle is judged by itself; the largest is the one at radius {radius}.")
        }));
    }
    if tries.attempt.watched().is_some() {
        judged.figures.forget_high_side();
        judged.figures.axis_deg = None;
        let known = (judged.value, judged.expanded);
        crate::judge::watched::tell_high_side(tries, known, &mut judged.figures);
        return judged;
    }
    judged.says.extend(worst.says(check, &judged.figures, total));
    judged
}

/// The total reading that was keyed in; its sign says nothing.
pub(super) fn keyed_total(tries: &Tries) -> Option<Figure> {
    let (_, sum) = tries.sums.first()?;
    Some(tries.mean_of(Figure::new(i128::from(*sum).abs(), 1)))
}

/// The largest total reading of a circle so far. A streamed turn is judged after its low-pass,
/// where it can shrink again, so nothing is said of it before the end.
pub(super) fn out_so_far(tries: &Tries) -> Option<Figure> {
    let check = tries.check;
    if check.total_only() {
        return keyed_total(tries);
    }
    if usize::try_from(on_a_circle(check)).is_ok_and(|touches| touches > BY_HAND) {
        return None;
    }
    let circle = |ring| Sweep::of(tries, |p| circle_of(check, p) == ring);
    (0..circles(check)).filter_map(|ring| circle(ring).total()).max()
}

fn detail(check: &Check) -> Turn {
    check.measures.itself().downcast_ref::<Turn>().cloned().unwrap_or_default()
}

/// A turn that passed under the stylus in one go.
fn swept(tries: &Tries, turn: &Turn) -> Judged {
    let check = tries.check;
    let s = touch_spread(tries);
    let expanded = Some(doubt(tries, turn));
    let mut judged = Judged { expanded, limits: check.limits, ..Judged::default() };
    judged.figures.closure = closure_difference(check, tries.attempt).map(Figure::from);
    let samples = Sweep::of(tries, |_| true);
    let Some(total) = samples.judged() else { return judged };
    judged.value = Some(total.value);
    judged.reads_high = samples.reads_high(tries.noise(), total.filtered);
    if !total.filtered {
        judged.reasons.push(Reason::GapInTurn);
    }
    let closure = judged.figures.closure;
    let raw = total.filtered.then(|| samples.total()).flatten();
    judged.figures =
        Figures { closure, unfiltered: raw, ..samples.figures_of(check, s, total.filtered) };
    let knows_angles = check.swept().is_some_and(Swept::knows_angles);
    let tap_u = tries.attempt.tap_uncertainty_deg().filter(|_| knows_angles);
    let figures = &mut judged.figures;
    match tap_u {
        // Both are for one standard deviation; the figure is for two.
        Some(tap_u) => {
            let stood =
                tries.attempt.taps().map_or(0.0, |taps| samples.moved_by_standing(check, taps));
            let both = |known: Thousandth| {
                rounded_up((2.0 * (known.get() / 2.0).hypot(tap_u) + stood).min(180.0))
            };
            figures.known_again(both);
        }
        None => forget_angles(figures),
    }
    judged.says.extend(tries.attempt.taps().and_then(|taps| says_uneven(check, taps)));
    let figures = &judged.figures;
    judged.says.extend(samples.says(check, figures, total));
    if !knows_angles {
        let text = "The speed was taken as constant: no high side and no waves are told.";
        judged.says.push(text.to_owned());
    }
    if samples.touches() < USUAL_SAMPLES {
        let (many, usual) = (samples.touches(), USUAL_SAMPLES);
        judged
            .says
            .push(format!("{many} samples in the turn; {usual} and more are usual: turn slower."));
    }
    judged
}

/// Parts of a turn between two marks whose times differ by more than this: the hand stood, or turned
/// back (common practice, no source).
const UNEVEN: f64 = 1.5;

/// That the hand did not turn evenly, where it may have stood or turned back.
fn says_uneven(check: &Check, taps: &Taps) -> Option<String> {
    let (part, times) = taps.slowest().filter(|(_, times)| *times > UNEVEN)?;
    let mark = |tap: usize| check.mark_deg(u32::try_from(tap).ok()?);
    let (from, to) = (mark(part)?, mark(part + 1)?);
    Some(format!(
        "From {from} to {to} it took {times:.1} times as long as the quickest part: where the hand stood still or turned back is not known, and the high side is known so much less. Turn on without a stop."
    ))
}

/// How far a reading at a tap of the index mark scatters: as any touch there, and by what the surface
/// rises while the tap is early or late, at most half the range a radian.
pub(super) fn at_a_tap(attempt: &Attempt, scatter: Part) -> Part {
    let lengths = || attempt.in_state(State::Placed).map(|one| one.value.length.picometres());
    let range = lengths().max().zip(lengths().min()).map_or(0, |(high, low)| high - low);
    let angle = attempt.taps().map_or(0.0, Taps::tap_deg).to_radians();
    let rise = thousandths(Figure::new(i128::from(range), 2).to_f64() * angle);
    let rise = rise.map_or(u128::MAX, |rise| rise.ceil().unsigned_abs());
    Part { square: scatter.square.saturating_add(rise.saturating_pow(2)), ..scatter }
}

/// Of a total reading: k·√(2·s² + stand² + (2·seating)² + bar²). The plate takes no part in a turn.
fn doubt(tries: &Tries, turn: &Turn) -> Expanded {
    // Where no split is stated, all of u stands for it and none of it averages.
    let averaged = tries.scatter();
    let whole = tries.reading().scatter();
    let scatter = if averaged.square == 0 { whole } else { averaged };
    let made_of = OfTurn {
        touch: scatter,
        stand: stated_or_nothing(turn.stand),
        seating: Part::stated(turn.seating),
        bar: Part::stated(turn.bar),
    };
    tries.with_returns(made_of.budget()).expanded()
}

/// Of what always takes part in a turn, the stand for one: where nothing is said of it, it counts as
/// nothing, and that is assumed.
pub(super) fn stated_or_nothing(stated: Length) -> Part {
    if stated == Length::ZERO { Part::assumed(stated) } else { Part::stated(stated) }
}

/// Without taps on the way round the angle of a sample is worth nothing.
fn forget_angles(figures: &mut Figures) {
    figures.forget_high_side();
    figures.axis_deg = None;
    figures.eccentricity = None;
    figures.out_of_round = None;
    figures.harmonics = Vec::new();
}

/// Circles that are turned through, each judged by itself.
fn circles(check: &Check) -> u32 {
    u32::try_from(check.radii.len().max(1)).unwrap_or(u32::MAX)
}

/// Positions on each circle, those of the second time round between the first.
fn on_a_circle(check: &Check) -> u32 {
    check.positions.saturating_mul(check.passes.max(1))
}

fn circle_of(check: &Check, position: u32) -> u32 {
    (position / check.positions.max(1)) % circles(check)
}

/// How far touches on one spot scatter: the gauge's repeatability, or else all of the uncertainty
/// of a reading; at least resolution/√12.
pub(super) fn touch_spread(tries: &Tries) -> Length {
    tries.reading().scatter().u()
}

/// Whether the axis lies opposite the high reading.
pub(super) const fn opposite(surface: Surface) -> bool {
    matches!(surface, Surface::Inside | Surface::FarFace)
}

/// The circle with the largest total reading, the first of them where two are alike.
fn largest(circles: &[Sweep]) -> Option<(&Sweep, Total)> {
    let totals = circles.iter().filter_map(|circle| Some((circle, circle.judged()?)));
    totals.reduce(|one, other| if other.1.value > one.1.value { other } else { one })
}

/// The readings of one turn at one place, in the order of the positions.
#[derive(Debug)]
pub(super) struct Sweep {
    positions: Vec<u32>,
    angles_deg: Vec<f64>,
    /// Picometres times `parts`.
    sums: Vec<i64>,
    parts: i64,
}

/// A total reading as it is judged.
#[derive(Debug, Clone, Copy)]
pub(super) struct Total {
    pub(super) value: Figure,
    /// Waves above the fifteenth were left out.
    pub(super) filtered: bool,
    /// They should have been, but a gap was in the way.
    pub(super) gap: bool,
}

impl Sweep {
    /// Those readings whose position belongs to it.
    pub(super) fn of(tries: &Tries, belongs: impl Fn(u32) -> bool) -> Self {
        let own = || tries.sums.iter().filter(|(position, _)| belongs(*position));
        Self {
            positions: own().map(|(position, _)| *position).collect(),
            angles_deg: own().map(|(position, _)| tries.check.angle_deg(*position)).collect(),
            sums: own().map(|(_, sum)| *sum).collect(),
            parts: tries.parts,
        }
    }

    /// The most that the high side moves where the hand stood still, degrees: in each part of the turn
    /// that took longer than 1.5 times the quickest, at its beginning, its end or between.
    fn moved_by_standing(&self, check: &Check, taps: &Taps) -> f64 {
        let Some(as_read) = self.high().map(Offset::towards_deg) else { return 0.0 };
        let parts = taps.at_us.len().saturating_sub(1);
        // The taps count as the marks do.
        let against = |angle: f64| match check.direction {
            Direction::CounterClockwise => angle,
            Direction::Clockwise => (360.0 - angle) % 360.0,
        };
        let counted: Vec<f64> = self.angles_deg.iter().map(|angle| against(*angle)).collect();
        let moved = |part: usize, after: f64| {
            let angles = taps.had_it_stood(&counted, (part, after));
            let angles: Vec<f64> = angles.into_iter().map(against).collect();
            let harmonics = geometry::harmonics_at(&angles, &self.heights(), 1).ok()?;
            let wave = harmonics.wave(1)?;
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

    /// The mean of turns that were touched at the same marks; a mark that one of them lacks is left
    /// out. `None` of no turns.
    pub(super) fn mean_of(turns: &[&Self], round: u32) -> Option<Self> {
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

    pub(super) const fn touches(&self) -> usize {
        self.sums.len()
    }

    fn radius(&self, check: &Check) -> Option<Length> {
        check.radius(*self.positions.first()?)
    }

    /// Highest minus lowest, exact; one reading has none.
    pub(super) fn total(&self) -> Option<Figure> {
        let (max, min) = (self.sums.iter().max()?, self.sums.iter().min()?);
        let total = Figure::new(i128::from(*max) - i128::from(*min), 1) / self.parts;
        (self.sums.len() > 1).then_some(total)
    }

    /// How much too large the total reading is on average by noise alone. After the low-pass at 15
    /// waves a turn has some 65 places of its own, each with 22.6/N of the variance.
    fn reads_high(&self, s: Length, filtered: bool) -> Option<Length> {
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

    /// Picometres above the first reading.
    fn heights(&self) -> Vec<f64> {
        let first = self.sums.first().copied().unwrap_or(0);
        let above = |sum: &i64| Figure::new(i128::from(*sum) - i128::from(first), 1);
        self.sums.iter().map(|sum| (above(sum) / self.parts).to_f64()).collect()
    }

    /// The total reading that is judged: as read of a turn touched by hand; of a streamed one,
    /// whose range grows with every sample, after the low-pass, to a thousandth of a picometre.
    pub(super) fn judged(&self) -> Option<Total> {
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

    /// The waves that the positions carry, at most seven of a turn touched by hand and fifteen of a
    /// streamed one; `None` where not even the first can be told.
    pub(super) fn harmonics(&self) -> Option<Harmonics> {
        let most = if self.touches() > BY_HAND { WAVES_KEPT } else { WAVES_BY_HAND };
        let order = geometry::highest_order(&self.angles_deg).min(most);
        if order == 0 {
            return None;
        }
        geometry::harmonics_at(&self.angles_deg, &self.heights(), order).ok()
    }

    /// The first wave, towards the high reading, picometres.
    pub(super) fn high(&self) -> Option<Offset> {
        self.harmonics()?.wave(1).map(|wave| Offset { x: wave.cosine, y: wave.sine })
    }

    /// Everything one circle tells, `s` being how far touches on one spot scatter.
    pub(super) fn figures(&self, check: &Check, s: Length) -> Figures {
        self.figures_of(check, s, self.judged().is_some_and(|total| total.filtered))
    }

    /// The same where it is known whether the total reading is judged after the low-pass.
    fn figures_of(&self, check: &Check, s: Length, filtered: bool) -> Figures {
        let floor = if filtered {
            Some(judgement::noise_floor_low_pass(self.touches(), s))
        } else {
            judgement::noise_floor(Kind::MaxMinusMin, self.touches(), s)
        };
        let mut figures = Figures {
            max_minus_min: self.total(),
            mean: self.mean(),
            noise_floor: floor.map(Bound),
            ..Figures::default()
        };
        let Some(harmonics) = self.harmonics() else { return figures };
        figures.harmonics = harmonics.waves.iter().filter_map(lobe).collect();
        let left = harmonics.residuals(&self.angles_deg, &self.heights(), 1);
        figures.out_of_round = thousandths(geometry::total_reading(&left));
        let Some(first) = harmonics.eccentricity(Figure::from(s).to_f64()) else { return figures };
        figures.eccentricity = thousandths(first.offset.amount());
        // Readings that are all alike have no high side.
        if figures.eccentricity.is_some_and(|amount| amount > Figure::ZERO) {
            let axis = if opposite(check.surface) { first.offset.opposite() } else { first.offset };
            let within = rounded_up((2.0 * first.u_towards_deg).min(180.0));
            figures.lies_high_at(turned(first.offset), within);
            figures.axis_deg = Some(turned(axis));
        }
        figures
    }

    /// What a person has to know beside the figures.
    pub(super) fn says(&self, check: &Check, figures: &Figures, total: Total) -> Vec<String> {
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

    /// The gap that an angle lies in, where a position is missing there.
    fn gap_around(&self, check: &Check, angle_deg: f64) -> Option<(f64, f64)> {
        let mut around = self.angles_deg.clone();
        around.sort_by(f64::total_cmp);
        let pitch = 360.0 / f64::from(on_a_circle(check).max(1));
        let next = around.iter().copied().cycle().skip(1);
        let apart = |from: f64, to: f64| (to - from).rem_euclid(360.0);
        let (from, to) = around.iter().copied().zip(next).find(|&(from, to)| {
            apart(from, to) > 1.5 * pitch && apart(from, angle_deg) < apart(from, to)
        })?;
        (apart(from, angle_deg) > 0.0).then_some((rounded(from).get(), rounded(to).get()))
    }
}

fn lobe(wave: &Wave) -> Option<Lobe> {
    let order = u32::try_from(wave.order).ok()?;
    let amplitude = thousandths(wave.amplitude())?;
    Some(Lobe { order, amplitude, phase_deg: Angle::of(first_high_spot(wave.high_deg(), order)) })
}

/// Where an offset points, degrees to a thousandth, [0, 360).
pub(super) fn turned(offset: Offset) -> Angle {
    Angle::of(degrees(offset.towards_deg()))
}
