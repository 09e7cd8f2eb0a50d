//! Where a ring or a seat runs highest.

use quantity::{Length, Quoted};

use crate::fact::form::stored;

stored! {
    /// The mark of a high or a low spot: where a part of the stack, or a seat of the shaft, runs highest, and
    /// by how much.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct HighSpot {
        /// Where the marked spot is, whole degrees: on the shaft from its index mark, on any other part from
        /// the part's own mark, counted as marks on the shaft are.
        pub deg: u16,
        /// Whether it is the lowest spot that is marked there.
        pub is_low: bool,
        /// The total reading that it makes in a turn, where it is known.
        pub amount: Option<Quoted>,
        /// The standard uncertainty of that.
        pub uncertainty: Option<Length>,
        /// The face that was towards the nose when the angle was counted; without one, as the part will sit.
        pub towards_nose: Option<String>,
    }

    /// The mark of a part that went on the stack otherwise than its high spot asks for.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub struct MarkOff {
        /// Where its mark belongs, whole degrees from the index mark of the shaft.
        pub belongs_deg: u16,
        /// How far off it may be, whole degrees.
        pub within_deg: u16,
        /// Where it stands; `None` where nobody said.
        pub is_deg: Option<u16>,
    }
}

impl HighSpot {
    /// Where it is highest, degrees from where the angle was counted.
    #[must_use]
    pub const fn high_deg(&self) -> u16 {
        if self.is_low { (self.deg + 180) % 360 } else { self.deg }
    }
}
