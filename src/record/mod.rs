//! The record: one `SQLite` file with every fact, written by one service, readable for its group.
//!
//! It decides nothing. Rows are stored as they were decided and returned as they were stored; a bench
//! rebuilt from them equals the running bench.

mod answers;
mod backup;
mod begin;
mod caller;
mod compact;
mod copies;
mod counters;
mod dropped;
mod error;
mod fact;
mod feed;
mod folder;
mod handover;
mod holder;
mod look;
mod lost;
mod mover;
mod newest;
mod numbers;
mod owner;
mod papers;
mod parts;
mod pending;
mod pieces;
mod progress;
mod query;
mod read;
mod reader;
mod records;
mod restore;
mod schema;
mod seals;
mod stored;
#[cfg(test)]
mod tests;
#[cfg(any(test, feature = "trial"))]
pub mod trial;
mod verify;
mod weight;
mod write;
mod writer;

pub use answers::{ANSWERS_KEPT_DAYS, Answer, Answered, Digest, digest_of};
pub use backup::{Copied, CopyState};
pub use caller::{Called, Caller};
pub use copies::{copy_name, keep_newest};
pub use dropped::{FileHistory, FileLook, Grown};
pub use error::{CommitError, StoreError};
pub use feed::FeedOrigin;
pub use folder::{DATABASE, LOCK};
pub use handover::{Callers, Handover, ImportError, Imported, Origin};
pub use holder::{holder_of, login_of, process};
pub use newest::NEWEST;
pub use numbers::Numbers;
pub use owner::become_owner;
pub use papers::{PAPERS, PaperFact, PaperWrong, drop_paper, keep_paper, papers_of};
pub use progress::{Progress, Step};
pub use query::{AttachmentRecord, RegisterRow, TakenBack};
pub use read::{ParsePlan, SetAside};
pub use reader::Reader;
pub use records::{
    AlertRecord, AlertStage, CheckPlace, DecidedRecord, EditRecord, FeedEvent, FeedRecord, Filter,
    JobRecord, MarkedSpot, Place, ReadingRecord, ReadingSource, Remark, ReplacedPart, RuleChange,
    SerialRecord, SignatureRecord, StackRecord, StackedPart, ToldRecord, VerdictRecord,
    WentOnRecord,
};
pub use restore::{Restored, restore};
pub use seals::{BLOCK, Seal};
pub use stored::{
    Batch, Beside, Chain, Made, NotAsSealed, OwnSeals, PapersAtHand, StoredCaller, StoredFact,
    StoredForm, StoredImport, StoredLoss, StoredMore, StoredReading, StoredRow, StoredRun,
    StoredSeal, StoredText, Tracks,
};
pub use verify::{Difference, Judge, TOLD, Verified};
pub use writer::{Health, ReadBack, Store};
