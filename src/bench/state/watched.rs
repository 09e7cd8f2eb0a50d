//! What was read off a dial by eye: kept as it was keyed.

use quantity::{Length, Quoted};

use crate::plan::Watched;
use crate::state::attempt::Attempt;

/// Why a position holds no reading although the needle was watched there.
pub(crate) const WATCHED: &str = "watched between high and low";
/// The same, where not even those were read off.
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

/// Between a count and the graduation that is counted.
pub(crate) const OF: &str = " of ";

/// The graduation that a keyed reading counts, where it does.
pub(crate) fn graduation_of(as_keyed: &str) -> Option<Length> {
    let (_, step) = as_keyed.split_once(OF)?;
    let step = Quoted::parse_with_unit(step, None).ok()?.length;
    Some(step.abs()).filter(|step| step.picometres() > 0)
}
