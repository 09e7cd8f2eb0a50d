//! Lengths against a master, at 20 °C where the temperatures are known.

use crate::judgement;
use crate::quantity::{Figure, Length};

use super::super::plan::{Check, MasterUse, Measures};
use super::super::row::State;
use super::super::state::{Attempt, Job};
use super::super::verdict::Figures;
use super::{Judged, Tries, closure_difference, zero};

pub(super) fn length(_job: &Job, tries: &Tries, u: Length) -> Judged {
    let mastered = tries.attempt.opening();
    let value = tries.mean();
    let subtracts = tries.check.master != MasterUse::None && mastered.is_some();
    let figures = Figures {
        max_minus_min: tries.max_minus_min(),
        mean: value,
        closure: closure_difference(tries.attempt).map(Figure::from),
        ..Figures::default()
    };
    let uncertainty = Some(judgement::of_length(u, subtracts));
    Judged { value, uncertainty, limits: tries.check.limits, figures, ..Judged::default() }
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
