//! Numbers that are no lengths and lengths that are told in a way of their own: a type for each way,
//! so that a figure says once, where it is described, how it is told.

use quantity::{Figure, Length};
use serde::{Deserialize, Serialize};

use super::tell::{Tell, To};
use super::{degrees, size};

/// A finite number, and how it is told and held against the same one worked out again.
macro_rules! number {
    ($(#[$about:meta])* $name:ident, $told:expr, $alike:path) => {
        $(#[$about])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(f64);

        impl $name {
            /// Of a number.
            ///
            /// # Panics
            /// When it is not finite: no arithmetic of a bench gives such a one, and a record could
            /// not keep it.
            #[must_use]
            pub fn of(number: f64) -> Self {
                assert!(number.is_finite(), "a figure is a finite number");
                Self(number)
            }

            /// The number, as exact as it was worked out.
            #[must_use]
            pub const fn get(self) -> f64 {
                self.0
            }

            /// The number as it is told.
            #[must_use]
            pub fn told(self) -> f64 {
                let told: fn(f64) -> f64 = $told;
                told(self.0)
            }
        }

        impl From<f64> for $name {
            /// As [`Self::of`].
            fn from(number: f64) -> Self {
                Self::of(number)
            }
        }

        impl From<$name> for f64 {
            fn from(number: $name) -> Self {
                number.0
            }
        }

        impl Tell for $name {
            type Told = f64;

            fn tell(&self, _to: &To<'_>) -> f64 {
                self.told()
            }

            fn alike(&self, again: &Self) -> bool {
                $alike(self.0, again.0)
            }
        }
    };
}

number! {
    /// Where something lies on a circle, degrees from the index mark: told to a thousandth, in
    /// [0, 360).
    Angle, degrees, close_on_a_circle
}
number! {
    /// A number told to a thousandth: a slope in microradians, an angle's uncertainty in degrees, a
    /// force in newtons.
    Thousandth, |number| to_parts(number, 1e3), close
}
number! {
    /// A number told to a thousandth and rounded up, so that nobody counts on too little.
    ThousandthUp, |number| (number * 1e3 - 1e-6).ceil() / 1e3, close
}
number! {
    /// A number told to a millionth: an angle of a cone, degrees.
    Millionth, |number| to_parts(number, 1e6), close
}
number! {
    /// A number told to a thousand-millionth: a change of diameter over a distance.
    Billionth, |number| to_parts(number, 1e9), close
}

/// A number to so many parts of one.
fn to_parts(number: f64, parts: f64) -> f64 {
    (number * parts).round() / parts
}

/// To a relative 1e-9: another processor or library may round a sine differently.
fn close(stored: f64, again: f64) -> bool {
    let size = stored.abs().max(again.abs());
    (stored - again).abs() <= 1e-9 * size || stored.to_bits() == again.to_bits()
}

/// The same of angles: 360 is 0.
fn close_on_a_circle(stored: f64, again: f64) -> bool {
    let apart = (stored - again).abs();
    apart.min((360.0 - apart).abs()) <= 1e-9 * 360.0
}

/// A length that bounds what is not known: told rounded up, at the places of an uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Bound(pub Length);

impl From<Bound> for Figure {
    fn from(length: Bound) -> Self {
        Self::from(length.0)
    }
}

impl Tell for Bound {
    type Told = String;

    fn tell(&self, to: &To<'_>) -> String {
        Figure::from(self.0).shown_up(to.unit)
    }

    fn alike(&self, again: &Self) -> bool {
        self == again
    }
}

/// A length that somebody stated: told with all its digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Stated(pub Length);

impl From<Stated> for Figure {
    fn from(length: Stated) -> Self {
        Self::from(length.0)
    }
}

impl Tell for Stated {
    type Told = String;

    fn tell(&self, to: &To<'_>) -> String {
        size(self.0, to.unit)
    }

    fn alike(&self, again: &Self) -> bool {
        self == again
    }
}
