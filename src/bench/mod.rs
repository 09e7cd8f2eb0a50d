//! The bench: a pure value that looks at one event, decides the rows that record what happened,
//! and changes only by applying rows.
//!
//! What is absent: files, clocks, randomness, threads, logs, and any order that could differ from
//! run to run. A bench rebuilt from its stored rows is therefore the running bench.

#![deny(clippy::disallowed_methods, clippy::disallowed_types)]

mod anew;
mod answers;
mod by_hand;
mod decide;
mod dial;
mod door;
mod draft;
pub mod event;
mod fact;
mod file;
pub mod gate;
mod jobs;
mod judge;
mod leaving;
mod measure;
pub mod metal;
mod pairs;
mod people;
pub mod plan;
mod questions;
pub mod reply;
pub mod row;
mod seat;
pub mod series;
mod settle;
pub mod setup;
mod stack;
mod state;
pub mod sweep;
mod touch;
pub mod verdict;
pub mod words;

#[cfg(test)]
mod tests;

pub use dial::Watched;
pub use event::{Command, DroppedFile, Event, Frame, Request, StorageNews, SweptTurn};
pub use fact::RefersToRows;
pub use judge::{judge, why_not_combined};
pub use metal::{Metal, Standing};
pub use reply::{Decision, Done, JobNow, Left, Measuring, Notice, Refusal};
pub use row::{Body, ParsePlan, Row, Seq};
pub use state::{
    Attempt, Bench, Entries, Job, Keys, LeftOut, MOST_POSITIONS, OpenAlert, Shelf, Station,
    Touched, Values,
};

/// The version of the arithmetic behind verdicts. It rises when a verdict computed again could
/// differ; each attempt keeps the one it was judged with.
pub const ENGINE: u32 = 3;
