//! The kinds of check: a file for each, behind one small trait that asks all there is to ask.
//!
//! What is absent: a job, a row, an attempt, a file, a key of a plan that is not some kind's own.

#![deny(clippy::disallowed_methods, clippy::disallowed_types)]

mod bar_runout;
mod check;
mod circle;
mod confirm;
mod difference;
mod entry;
mod face;
pub mod figures;
mod flatness;
mod judged;
pub mod keys;
mod layout;
mod length;
mod measures;
mod parallelism;
pub mod plan;
mod runout;
mod series;
mod squareness;
mod taper;
mod taps;
mod thickness_variation;
mod traits;

pub use self::difference::{Arrangement, NotStated};
pub use self::judged::{Judged, SaidOf, Saying, number, rounded, thousandths};
pub use self::layout::{BarStation, Layout, Seatings};
pub use self::length::{SizeJudged, Warm, steel};
pub use self::series::{Beside, Series, Stand, Watched, with_returns};
pub use self::taps::Taps;
pub use self::traits::{Asks, Bar, Drawing, Kind, Setting, Spoiled, Sum, Traits, Wedge};

// A new kind of check is its file and its line here.
measures::kinds! {
    length::Size,
    thickness_variation::ThicknessVariation,
    parallelism::Parallelism,
    flatness::Flatness,
    runout::Turn,
    bar_runout::BarRun,
    squareness::Squareness,
    difference::Pair,
    taper::Taper,
    confirm::Ask,
    entry::Entry,
}

#[cfg(test)]
mod tests;
