//! Lengths against a master, at 20 °C where the temperatures are known.

use num_rational::Ratio;

use crate::judgement::{self, Doubt, Expanded, Limits};
use crate::quantity::{Figure, Length, Unit};
use crate::words::fine;

use super::super::plan::{Check, CheckAt, Detail, MasterUse, Measures, Size, SizeJudged};
use super::super::row::{Seq, State};
use super::super::state::{Attempt, Job};
use super::super::verdict::Figures;
use super::super::words;
use super::{Judged, Tries, closure_difference, zero};

pub(super) fn length(job: &Job, id: Seq, tries: &Tries, reading: Doubt) -> Judged {
    let check = tries.check;
    let subtracts = check.master != MasterUse::None && tries.attempt.opening().is_some();
    let mut figures = Figures {
        max_minus_min: tries.max_minus_min(),
        mean: tries.mean(),
        closure: closure_difference(tries.attempt).map(Figure::from),
        ..Figures::default()
    };
    let warm = warm(job, id, check);
    let every = size(check).judge == SizeJudged::EveryTouch;
    let (judge, measured) = match check.limits.filter(|_| every) {
        Some(limits) => (SizeJudged::EveryTouch, nearest_to_a_limit(tries, limits, &warm)),
        None => (SizeJudged::Mean, tries.mean()),
    };
    figures.judged = Some(judge);
    figures.to_20_c = measured.and_then(|measured| warm.off(check, measured));
    let value = measured.map(|measured| measured - figures.to_20_c.unwrap_or(Figure::ZERO));
    let says = measured.map_or_else(Vec::new, |_| warm.says(job, figures.to_20_c, check.unit));
    let whole = reading.whole();
    let uncertainty = judgement::of_length(whole.u(), subtracts);
    let expanded = Some(Expanded::twice(uncertainty, whole.known));
    Judged { value, expanded, limits: check.limits, figures, says, ..Judged::default() }
}

/// The touch that lies, at 20 °C where that is known, nearest to a limit or farthest past one; as
/// measured; of two alike the first.
fn nearest_to_a_limit(tries: &Tries, limits: Limits, warm: &Warm) -> Option<Figure> {
    let room = |measured: &Figure| {
        let value = *measured - warm.off(tries.check, *measured).unwrap_or(Figure::ZERO);
        match limits {
            Limits::Max(max) => Figure::from(max) - value,
            Limits::Band { min, max } => (Figure::from(max) - value).min(value - Figure::from(min)),
        }
    };
    let touches = tries.sums.iter().map(|(_, sum)| tries.mean_of(Figure::new((*sum).into(), 1)));
    touches.min_by_key(room)
}

fn size(check: &Check) -> Size {
    match &check.detail {
        Detail::Length(size) => size.clone(),
        Detail::Plain
        | Detail::Turn(_)
        | Detail::Bar(_)
        | Detail::Pair(_)
        | Detail::Taper(_)
        | Detail::Confirm(_)
        | Detail::Entry(_) => Size::default(),
    }
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
pub(in super::super) fn far_off(check: &Check, attempt: &Attempt) -> Option<Length> {
    const FAR: Length = Length::from_picometres(50_800_000);
    if check.measures != Measures::Length {
        return None;
    }
    let newest = attempt.in_state(State::Placed).next_back()?.value.length;
    let size = newest.picometres() - zero(check, attempt);
    let off = Length::from_picometres(size.checked_sub(check.nominal?.picometres())?);
    let far = |limit: Figure| Figure::from(off).abs() > limit;
    (far(Figure::from(FAR)) && far(check.half_width() * 10)).then_some(off)
}
