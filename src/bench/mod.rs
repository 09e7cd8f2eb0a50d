//! The bench: a pure value. It looks at one event and decides the rows that record it; only applied rows
//! change it.
//!
//! It uses no files, clocks, randomness, threads or logs, and no order that could differ from run to run.
//! So a bench rebuilt from its stored rows equals the running one.

#![deny(clippy::disallowed_methods, clippy::disallowed_types)]

mod decide;
mod draft;
pub mod event;
mod fact;
pub mod fate;
pub mod flow;
pub mod gate;
mod judge;
mod questions;
pub mod reply;
mod request;
mod seat;
pub mod series;
pub mod setup;
pub mod spots;
mod state;
pub mod words;

#[cfg(test)]
mod tests;

pub use event::{
    AckOf, Command, DroppedFile, Event, Frame, Request, StorageNews, SweptTurn, ToSign,
};
pub use fact::form::RefersToRows;
pub use fact::seq::{ParsePlan, Seq};
pub use fact::{row, verdict};
pub use judge::{WorkedOut, judge, why_not_combined, work_out};
pub use kind::plan;
pub use plan::MOST_POSITIONS;
pub use plan::{Taps, Watched};
pub use reply::ProvingNow;
pub use reply::{Decision, Done, Edit, JobNow, Left, Measuring, Notice, Refusal};
pub use request::{LARGEST_PAPER, MOST_PAPERS, too_large};
pub use row::Body;
pub use state::card;
pub use state::known::{Known, NEWEST, Witness};
pub use state::metal;
pub use state::metal::{Metal, Standing};
pub use state::proofs;
pub use state::row::Row;
pub use state::shaft::OnShaft;
pub use state::{
    Attempt, Bench, Entries, Job, KeptPaper, Keys, LeftOut, Lift, Logged, OpenAlert, ProofTouch,
    Proving, Shelf, Shop, Station, Touched, Values,
};

/// The version of the arithmetic behind verdicts. It rises when a verdict computed again could
/// differ; each attempt keeps the one it was judged with.
pub const ENGINE: u32 = 3;
