//! The record: one `SQLite` file with every fact, written by one service, read by anybody of its
//! group.
//!
//! What is absent: decisions. Rows come in as they were decided and go out as they were stored;
//! a bench rebuilt from them is the running bench.

mod backup;
mod body;
mod compact;
mod error;
mod feed;
mod folder;
mod near;
mod query;
mod read;
mod reader;
mod records;
mod schema;
mod step;
#[cfg(test)]
mod tests;
mod verify;
mod words;
mod write;
mod writer;

pub use error::{CommitError, StoreError};
pub use folder::{DATABASE, LOCK};
pub use read::ParsePlan;
pub use reader::Reader;
pub use records::{
    AlertRecord, AlertStage, CheckPlace, FeedEvent, FeedRecord, Filter, JobRecord, Place,
    ReadingRecord, ReadingSource, ReplacedPart, StackRecord, StackedPart, VerdictRecord,
};
pub use verify::{Difference, Judge, Verified};
pub use writer::{Answer, Health, ReadBack, Store, TakenLength};
