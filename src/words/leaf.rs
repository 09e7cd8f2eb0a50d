//! Numbers that are not lengths, and lengths with a form of their own: a type for each form, so that the
//! description of a figure also says how it is published.

use quantity::{Figure, Length};
use serde::{Deserialize, Serialize};

use super::tell::{Tell, To};
use super::{degrees, size};

/// A finite number, with its published form and the comparison with the same number worked out again.
macro_rules! number {
    ($(#[$about:meta])* $name:ident, $told:expr, $alike:path) => {
        $(#[$about])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(f64);

        impl $name {
            /// Wraps a number.
            ///
            /// # Panics
            /// When the number is not finite. The arithmetic of a bench gives no such number, and a record
            /// could not store it.
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

            /// The number in its published form.
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
    /// A place on a circle, degrees from the index mark: published to a thousandth, in [0, 360).
    Angle, degrees, close_on_a_circle
}
number! {
    /// A number published to a thousandth: a slope in microradians, the uncertainty of an angle in degrees,
    /// a force in newtons.
    Thousandth, |number| to_parts(number, 1e3), close
}
number! {
    /// A number published to a thousandth and rounded up, so that it is never too small.
    ThousandthUp, |number| (number * 1e3 - 1e-6).ceil() / 1e3, close
}
number! {
    /// A number published to a millionth: the angle of a cone, degrees.
    Millionth, |number| to_parts(number, 1e6), close
}
number! {
    /// A number published to a thousand-millionth: a change of diameter over a distance.
    Billionth, |number| to_parts(number, 1e9), close
}

/// A number rounded to this many parts of one.
fn to_parts(number: f64, parts: f64) -> f64 {
    (number * parts).round() / parts
}

/// To a relative 1e-9: another processor or library may round a sine differently.
fn close(stored: f64, again: f64) -> bool {
    let size = stored.abs().max(again.abs());
    (stored - again).abs() <= 1e-9 * size || stored.to_bits() == again.to_bits()
}

/// The same for angles: 360 equals 0.
fn close_on_a_circle(stored: f64, again: f64) -> bool {
    let apart = (stored - again).abs();
    apart.min((360.0 - apart).abs()) <= 1e-9 * 360.0
}

/// A length that is an upper bound: published rounded up, at the places of an uncertainty.
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

/// A length that a person stated: published with all its digits.
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
