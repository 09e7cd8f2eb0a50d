//! Lengths against a master, at 20 °C where the temperatures are known.

use crate::judgement;
use crate::quantity::{Figure, Length};

use super::super::plan::MasterUse;
use super::super::state::Job;
use super::super::verdict::Figures;
use super::{Judged, Tries, closure_difference};

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
