//! What the room promises over all values; examples stand in its files.

mod figures;
mod lengths;
mod places;
mod texts;

use proptest::prelude::*;

use super::*;

const UNITS: [Unit; 3] = [Unit::Inch, Unit::Millimetre, Unit::Micrometre];

fn unit() -> impl Strategy<Value = Unit> {
    prop::sample::select(UNITS.to_vec())
}
