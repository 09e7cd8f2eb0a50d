//! Tests of the record as a whole.

mod dropped;
mod figures;
mod flat;
mod handover;
mod home;
mod look;
mod many;
mod queries;
mod rows;
mod sums;
mod trouble;

pub(super) use home::some_check;
pub(crate) use home::{history, parse};
