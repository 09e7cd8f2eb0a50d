//! What is on the shaft.

use crate::fact::seq::Seq;

/// A part on the shaft, with the row that put it on and the one that took it off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OnShaft {
    /// The part, by its place in the plan.
    pub part: u16,
    /// The row that put it there.
    pub from: Seq,
    /// The row that took it off again.
    pub until: Option<Seq>,
}
