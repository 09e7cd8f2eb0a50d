//! Every figure a person reads: its number of digits, the rounding of its uncertainty, the form of an
//! angle. Replies, alerts, the feed, the screen, tables, the report and the JSON lines all take their
//! digits from here.
//!
//! It knows nothing of jobs, rows, colours or single kinds of check.

#![deny(clippy::disallowed_methods, clippy::disallowed_types)]

mod amount;
mod angle;
mod due;
mod fields;
mod held;
mod leaf;
pub mod schema;
mod shares;
mod tell;

pub use amount::{
    as_read, beside, change, decimal, fine, fine_beside, fine_size, fine_up, fine_with_doubt,
    in_steps, limits, recorded_change, significant, size, with_doubt,
};
pub use angle::{degrees, first_high_spot, mark};
pub use due::Calibration;
pub use fields::fields_of;
pub use held::{Held, Told};
pub use leaf::{Angle, Billionth, Bound, Millionth, Stated, Thousandth, ThousandthUp};
pub use shares::{ShareTold, degrees_of_freedom, root_of, shares, standard_uncertainty};
pub use tell::{Columns, LimitsLine, LimitsTold, Tell, To};

#[cfg(test)]
mod tests;
