//! Values read off a dial by eye, stored as they were keyed.

use quantity::{Length, Quoted};

use crate::plan::Watched;
use crate::state::attempt::Attempt;

/// The reason stored for a position without a reading, because the needle was watched there.
pub(crate) const WATCHED: &str = "watched between high and low";
/// The same, where high and low were not read either.
pub(crate) const ONLY_TOTAL: &str = "only the total was read off";

impl Attempt {
    /// What was read off, where the needle was watched instead of each position being touched.
    #[must_use]
    pub fn watched(&self) -> Option<Watched> {
        self.skipped.values().find_map(|left_out| match left_out.why.as_str() {
            WATCHED => Some(Watched::HighAndLow),
            ONLY_TOTAL => Some(Watched::Total),
            _ => None,
        })
    }
}

/// Whether a reason for leaving out a position is one of the two that only this module gives.
pub(crate) fn is_kept_for_dials(why: &str) -> bool {
    [WATCHED, ONLY_TOTAL].contains(&why)
}

/// The word between a count and the graduation that is counted.
pub(crate) const OF: &str = " of ";

/// The graduation that a keyed reading counts, if it does.
pub(crate) fn graduation_of(as_keyed: &str) -> Option<Length> {
    let (_, step) = as_keyed.split_once(OF)?;
    let step = Quoted::parse_with_unit(step, None).ok()?.length;
    Some(step.abs()).filter(|step| step.picometres() > 0)
}
