//! The kinds of check: a file for each, behind one small trait with all the questions that other code asks.
//!
//! This package knows nothing of jobs, rows, attempts or files, and reads only those keys of a plan that
//! belong to a kind.

#![deny(clippy::disallowed_methods, clippy::disallowed_types)]

mod bar_runout;
mod check;
mod circle;
mod confirm;
mod diameter;
mod difference;
mod end_float;
mod entry;
mod face;
mod face_offset;
pub mod figures;
mod fit;
mod flatness;
mod judged;
pub mod keys;
mod layout;
mod length;
mod matched;
mod measures;
mod other;
mod parallelism;
pub mod plan;
pub mod run_in;
mod runout;
mod series;
mod squareness;
mod step;
mod taper;
mod taps;
mod thickness_variation;
mod traits;

pub use self::difference::{Arrangement, NotStated};
pub use self::entry::{Column, Rows as WrittenRows};
pub use self::judged::{Judged, SaidOf, Saying, number, rounded, thousandths};
pub use self::layout::{BarStation, Layout, Rows, Seatings};
pub use self::length::{SizeJudged, Warm, steel};
pub use self::other::{Other, caution_of_another, why_of_another};
pub use self::series::{Beside, Drifted, Series, Stand, Watched, with_returns};
pub use self::step::Step;
pub use self::taps::Taps;
pub use self::traits::{Asks, Bar, Drawing, Kind, Setting, Spoiled, Sum, Together, Traits, Wedge};

// To add a kind of check, write its file and add its line here.
measures::kinds! {
    length::Size,
    diameter::Diameter,
    thickness_variation::ThicknessVariation,
    parallelism::Parallelism,
    flatness::Flatness,
    runout::Turn,
    bar_runout::BarRun,
    squareness::Squareness,
    difference::Pair,
    fit::Fit,
    matched::Set,
    face_offset::FaceOffset,
    taper::Taper,
    end_float::EndFloat,
    confirm::Ask,
    entry::Entry,
    run_in::RunIn,
}

#[cfg(test)]
mod tests;
