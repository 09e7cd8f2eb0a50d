//! Lengths against a master, at 20 °C where the temperatures are known.

use num_rational::Ratio;

use ::words::fine;
use judgement::{self, Doubt, Heat, Known, Limits, OfLength, Part, Reason};
use quantity::{Figure, Length, Unit};

use crate::fact::row::State;
use crate::fact::seq::Seq;
use crate::fact::verdict::Figures;
use crate::judge::pair::number;
use crate::judge::zero;
use crate::judge::zero::Zero;
use crate::judge::{Judged, Tries, closure_difference, zero_walk};
use crate::plan::{Check, CheckAt, Size, SizeJudged};
use crate::state::{Attempt, Job};
use crate::words;

pub(super) fn length(job: &Job, id: Seq, tries: &Tries, reading: Doubt) -> Judged {
    let check = tries.check;
    let size = size(check);
    let mut figures = Figures {
        max_minus_min: tries.max_minus_min(),
        mean: tries.mean(),
        closure: closure_difference(tries.check, tries.attempt).map(Figure::from),
        zero_walk: zero_walk(tries.attempt).map(Figure::from),
        ..Figures::default()
    };
    let warm = warm(job, id, check);
    let judged = judged_touches(tries, &size, &warm);
    figures.judged = Some(judged.by);
    let Some(measured) = judged.measured else {
        return Judged { limits: check.limits, figures, ..Judged::default() };
    };
    let noise = tries.noise_of_a_touch();
    let stand = zero::stand(check, &tries.together, &judged.positions, noise);
    figures.zero = stand.zero;
    figures.to_20_c = warm.off(check, measured);
    let value = measured - figures.to_20_c.unwrap_or(Figure::ZERO);
    let mastered = stand.zero.is_some();
    let made_of = OfLength {
        reading,
        touches: tries.averaged,
        masters: if mastered { tries.count() } else { 0 },
        master: mastered.then(|| master_of(check)),
        zero: stand.doubt,
        heat: heat(check, &size, &warm, measured),
    };
    let expanded = tries.with_returns(made_of.budget()).expanded();
    let mut reasons = Vec::new();
    if let Some(limits) = check.limits {
        let moved = stand.walk.withholds(value, expanded.uncertainty, limits);
        reasons.extend(moved.then_some(Reason::ZeroMoved));
        // A tenth of the tolerance: from memory of the trade.
        let much = |off: Figure| off.abs() * 10 > limits.half_width();
        reasons.extend(figures.to_20_c.is_some_and(much).then_some(Reason::Warm));
    }
    let mut says = warm.says(job, figures.to_20_c, check.unit);
    says.extend(assumed(check, &size, &warm, mastered));
    Judged {
        value: Some(value),
        expanded: Some(expanded),
        limits: check.limits,
        figures,
        reasons,
        says,
        ..Judged::default()
    }
}

/// What of a length is judged, as measured, and the positions it is made of.
struct JudgedTouches {
    by: SizeJudged,
    measured: Option<Figure>,
    positions: Vec<u32>,
}

fn judged_touches(tries: &Tries, size: &Size, warm: &Warm) -> JudgedTouches {
    let every = size.judge == SizeJudged::EveryTouch;
    match tries.check.limits.filter(|_| every) {
        Some(limits) => {
            let nearest = nearest_to_a_limit(tries, limits, warm);
            JudgedTouches {
                by: SizeJudged::EveryTouch,
                measured: nearest.map(|(_, measured)| measured),
                positions: nearest.map(|(position, _)| position).into_iter().collect(),
            }
        }
        None => JudgedTouches {
            by: SizeJudged::Mean,
            measured: tries.mean(),
            positions: tries.means().iter().map(|(position, _)| *position).collect(),
        },
    }
}

/// The touch that lies, at 20 °C where that is known, nearest to a limit or farthest past one, with
/// its position; as measured; of two alike the first.
fn nearest_to_a_limit(tries: &Tries, limits: Limits, warm: &Warm) -> Option<(u32, Figure)> {
    let room = |(_, measured): &(u32, Figure)| {
        let value = *measured - warm.off(tries.check, *measured).unwrap_or(Figure::ZERO);
        match limits {
            Limits::Max(max) => Figure::from(max) - value,
            Limits::Band { min, max } => (Figure::from(max) - value).min(value - Figure::from(min)),
        }
    };
    tries.means().into_iter().min_by_key(room)
}

fn size(check: &Check) -> Size {
    check.measures.itself().downcast_ref::<Size>().cloned().unwrap_or_default()
}

/// The whole length that heat works on: readings may be mere deviations from a size.
pub(super) fn whole_length(check: &Check, measured: Figure) -> Length {
    let own = i64::try_from(measured.abs().ceil()).unwrap_or(i64::MAX);
    let drawn = [check.nominal, check.master_size];
    drawn.into_iter().flatten().fold(Length::from_picometres(own), Length::max)
}

/// How well the master of a length is known.
pub(super) fn master_of(check: &Check) -> Part {
    size(check).master_u.map_or(Part::assumed(judgement::ASSUMED_MASTER), Part::stated)
}

/// What nobody states of heat: 1 °C between part and master, half of that where both temperatures
/// are written down; 2 °C off 20 °C; 1e-6 per °C (common practice, no source).
fn between_assumed(warm: &Warm) -> Ratio<i128> {
    if matches!(warm, Warm::Known(..)) { Ratio::new(1, 2) } else { Ratio::from_integer(1) }
}

fn heat(check: &Check, size: &Size, warm: &Warm, measured: Figure) -> Heat {
    let or = |stated: Option<Ratio<i128>>, assumed: Ratio<i128>| {
        stated.map_or((assumed, Known::Assumed), |stated| (stated, Known::Stated))
    };
    let [part, master] = size.expansions;
    let (off_20_c, unlike) = match warm {
        // Whatever is off by a degree, or differs by it, is not known to expand as it should.
        Warm::Known([part, master], _) => {
            let twenty = Ratio::from_integer(20);
            let apart = [*part - twenty, *master - twenty, *part - *master];
            let farthest = apart.into_iter().fold(Ratio::ZERO, |most, one| most.max(one.max(-one)));
            ((farthest, Known::Stated), Ratio::ZERO)
        }
        Warm::NotAsked | Warm::Missing | Warm::Unread(..) => {
            (or(size.off_20_c, Ratio::from_integer(2)), part - master)
        }
    };
    Heat {
        length: whole_length(check, measured),
        expansion: part,
        expansion_u: or(size.expansion_u, Ratio::new(1, 1_000_000)),
        unlike,
        between_c: or(size.between_c, between_assumed(warm)),
        off_20_c,
    }
}

/// What of the uncertainty of a length is assumed beside the gauge's.
fn assumed(check: &Check, size: &Size, warm: &Warm, mastered: bool) -> Option<String> {
    let known = matches!(warm, Warm::Known(..));
    let master = mastered && size.master_u.is_none();
    let mut assumed = Vec::new();
    if master {
        let known = ::words::size(judgement::ASSUMED_MASTER, check.unit);
        assumed.push(format!("master to {known} {}", check.unit.symbol()));
    }
    if size.between_c.is_none() {
        let between = number(between_assumed(warm));
        assumed.push(format!("{between} °C between part and master"));
    }
    if size.off_20_c.is_none() && !known {
        assumed.push("2 °C off 20 °C".to_owned());
    }
    if size.expansion_u.is_none() && size.off_20_c != Some(Ratio::ZERO) {
        assumed.push("1e-6 per °C".to_owned());
    }
    (!assumed.is_empty()).then(|| format!("Assumed: {}.", assumed.join(", ")))
}

/// What is known of the temperatures of a part and its master.
pub(super) enum Warm {
    /// The check asks for none.
    NotAsked,
    /// One at least is not written down.
    Missing,
    /// An entry that holds no temperature.
    Unread(CheckAt, String),
    /// Temperatures in degrees Celsius and expansions per degree, part first, then master.
    Known([Ratio<i128>; 2], [Ratio<i128>; 2]),
}

/// The temperatures of part and master of an attempt at a length.
pub(super) fn warm(job: &Job, id: Seq, check: &Check) -> Warm {
    let size = size(check);
    let Some(places) = size.temperatures else { return Warm::NotAsked };
    let mut known = [Ratio::from_integer(20); 2];
    for (place, temperature) in places.into_iter().zip(&mut known) {
        let Some(text) = job.entry_for(place, id) else { return Warm::Missing };
        match judgement::celsius(text) {
            Some(celsius) => *temperature = celsius,
            None => return Warm::Unread(place, text.to_owned()),
        }
    }
    Warm::Known(known, size.expansions)
}

impl Warm {
    /// What a measured length is too long by, not being at 20 °C; `None` where that is not known.
    ///
    /// Where readings are mere deviations from the drawing's size or the master's, heat works on
    /// the whole of it.
    pub(super) fn off(&self, check: &Check, measured: Figure) -> Option<Figure> {
        let Self::Known(temperatures, expansions) = self else { return None };
        let drawn = check.nominal.or(check.master_size).map(Figure::from);
        let deviation = drawn.filter(|drawn| measured.abs() * 2 < *drawn);
        let whole = deviation.map_or(measured, |drawn| drawn + measured);
        judgement::too_long_by(whole, *temperatures, *expansions)
    }

    fn says(&self, job: &Job, off: Option<Figure>, unit: Unit) -> Vec<String> {
        let says = match (self, off) {
            (Self::NotAsked, _) => return Vec::new(),
            (Self::Missing, _) => "Not at 20 °C: the temperatures are not written down.".to_owned(),
            (Self::Unread(at, text), _) => {
                let entry = target(job, *at);
                format!("Not at 20 °C: {entry} says {text:?}, which is no temperature in °C.")
            }
            // What is shown as nothing is nothing.
            (Self::Known(..), Some(off)) if fine(off.abs(), unit) == fine(Figure::ZERO, unit) => {
                "At 20 °C; nothing to take off.".to_owned()
            }
            (Self::Known(..), Some(off)) if off < Figure::ZERO => {
                format!("At 20 °C; {} added.", fine(-off, unit))
            }
            (Self::Known(..), Some(off)) => format!("At 20 °C; {} taken off.", fine(off, unit)),
            (Self::Known(..), None) => {
                "Not at 20 °C: temperatures or expansions have too many digits.".to_owned()
            }
        };
        vec![says]
    }
}

/// `PART/CHECK` of a place in the plan.
pub(super) fn target(job: &Job, at: CheckAt) -> String {
    let found = job.opened.plan.plan.at(at);
    found.map_or_else(String::new, |(part, check)| words::target(part, check))
}

/// How far the newest touch of a length is off its nominal, where that is so far that it may be
/// another part or face: more than ten tolerances and more than 0.002 in (from memory of the trade).
pub(crate) fn far_off(check: &Check, attempt: &Attempt) -> Option<Length> {
    const FAR: Length = Length::from_picometres(50_800_000);
    if !check.traits().sizes {
        return None;
    }
    let newest = attempt.in_state(State::Placed).next_back()?;
    let zero = Zero::of_try(check, attempt).at(newest.id);
    let off = Figure::from(newest.value.length) - zero - Figure::from(check.nominal?);
    let far = |limit: Figure| off.abs() > limit;
    let off = Length::from_picometres(i64::try_from(off.ceil()).ok()?);
    (far(Figure::from(FAR)) && far(check.half_width() * 10)).then_some(off)
}
