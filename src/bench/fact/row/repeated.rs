//! What a bench sees of its own repeatability: one spot that was read more than once.

use quantity::{Length, Name};

use crate::fact::form::{no_numbers, stored};
use crate::fact::seq::Seq;
use crate::plan::Holding;

quantity::worded! {
    /// What was read more than once.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
    pub enum Spot {
        /// Position 0 at the end of a series: the stylus left it and came back.
        Return = "return",
        /// The master before and after the part.
        Master = "master",
        /// A bar that was taken out and seated again.
        Seating = "seating",
        /// One position, touched several times in a row.
        Touch = "touch",
    }
}

no_numbers!(Spot, Holding);

stored! {
    /// One spot that was read more than once with one gauge by one person, the person of the row. It belongs
    /// to no job: it is what the bench knows of gauge and hand.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Repeated {
        /// The gauge.
        pub gauge: Name,
        /// Its serial number at that time.
        pub serial: Option<String>,
        /// What was read.
        pub spot: Spot,
        /// How the part was held.
        pub setup: Holding,
        /// Where along the bar, of one that was seated again.
        pub at: Option<Length>,
        /// The later reading minus the earlier one; of a position touched several times in a row, its
        /// readings.
        pub lengths: Vec<Length>,
        /// The last of the readings; of a bar that was seated again, the attempt.
        pub reading: Seq,
    }
}

stored! {
    /// What the record shows of one kind, pooled.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub struct Pool {
        /// The standard deviation of one touch.
        pub s: Length,
        /// Its degrees of freedom.
        pub degrees: u32,
        /// How many differences or readings it is from.
        pub count: u32,
        /// Their mean, where it is more than chance; it is taken out of `s`.
        pub drift: Option<Length>,
    }
}

stored! {
    /// What a bench knew of a gauge in a hand when an attempt began. Only what is known as well as what
    /// would be assumed without it has a place here.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Shown {
        /// The hand. Touches of anybody else are not judged by it.
        pub by: Option<Name>,
        /// Lifts on one spot.
        pub lifts: Option<Pool>,
        /// Returns to position 0 in the set-up of the check.
        pub returns: Option<Pool>,
        /// Returns to the master.
        pub masters: Option<Pool>,
        /// Seatings of a bar, along each axis, at each distance that was touched.
        pub seatings: Vec<Seated>,
    }
}

stored! {
    /// What the record shows of how a bar seats.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub struct Seated {
        /// The distance along the bar.
        pub at: Length,
        /// What was seen there.
        pub pool: Pool,
    }
}
