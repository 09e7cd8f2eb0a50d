//! Exact quantities: lengths, figures, units, positions on a circle, time stamps and names, and which
//! known names are close to a mistyped one.
//!
//! What is absent: a float in a stored length, and a clock. A length is a whole number of
//! picometres from the wire to the disk, and a figure that is judged is an exact fraction of them.

#![deny(clippy::disallowed_methods, clippy::disallowed_types)]

mod circle;
mod digits;
mod figure;
mod length;
mod name;
pub mod near;
mod other_unit;
mod stamp;
mod worded;

pub use circle::{Grid, position_angle_deg, sine_cosine};
pub use digits::{from_hexadecimal, hexadecimal};
pub use figure::Figure;
pub use length::{Length, LengthError, Quoted, Unit, decimal_text, with_a_point};
pub use name::{Name, NameError, bends_text};
pub use other_unit::Other;
pub use stamp::{Stamp, Wall, WallError};
#[cfg(feature = "schemas")]
pub use worded::schema_of_words;
// What `worded!` writes names them.
#[cfg(feature = "schemas")]
#[doc(hidden)]
pub use schemars;
#[doc(hidden)]
pub use serde;

#[cfg(test)]
mod tests;
