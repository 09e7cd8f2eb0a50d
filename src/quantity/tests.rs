//! The promises of this package for all values; the files of the package have the examples.

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
