//! All outside shapes: requests, replies, and the JSON lines that scripts read.
//!
//! A line never contains a raw control character. Unknown values are `null`, and every key of a published
//! line is always present, except in `figures`, which leaves out what does not apply.

mod alert;
mod asks;
mod attachment;
mod budget;
mod bundle;
mod caller;
pub mod code;
mod comparison;
mod doctor;
mod evaluation;
mod explained;
mod feed;
mod finding;
mod job;
mod key;
mod link;
mod plan;
mod port;
mod proof;
mod published;
mod reading;
mod record;
mod register;
mod reload;
mod reply;
mod request;
mod run_in;
#[cfg(feature = "schemas")]
pub mod schemas;
mod spot;
mod status;
pub mod study;
mod text;
mod told;
#[cfg(any(test, feature = "trial"))]
mod trial;
mod verdict;
mod view;

pub use alert::AlertLine;
pub use asks::AsksLine;
pub use attachment::attachment_line;
pub use bench::verdict::{
    AmountLine, AxisLine, BarLine, FiguresLine, PairLine, PredictedLine, RepeatLine, StationLine,
    TookOffLine, WaveFigureLine,
};
pub use budget::budget_line;
pub use bundle::{
    FILES, FileLine, MANIFEST, Manifest, PAPERS, RECORD, RecordLines, paper_name, parse_manifest,
    record_line,
};
pub use caller::CallerLine;
pub use comparison::{
    ChangeLine, ChangeWord, CharacteristicLine, ComparedJobLine, ComparisonLine, FoundLine,
    FoundSideLine, InJobLine, NewPartLine, comparison_line,
};
pub use doctor::{DoctorLine, Found, doctor_line};
pub use evaluation::{
    CircleLine, EvaluationLine, LeastSquaresLine, PlacedCircle, WaveLine, ZoneLine, evaluation_line,
};
pub use explained::explained_line;
pub use feed::{Anew, Begins, FeedLine, Happening, feed_line, storage_line, tail_line};
pub use feed::{Said, ToldLine, parse_said};
pub use finding::finding_line;
pub use job::{
    CheckStanding, JobLine, JobShown, JobState, LeftOutLine, PartNow, job_show_line, parts_now,
};
pub use key::key_line;
pub use link::{LinkKind, LinkState, LinkStatus};
pub use plan::{PlanCheckLine, PlanLine, plan_line};
pub use port::{HeardLine, PortLine, PortWay, heard_line, port_line};
pub use proof::{NextLift, ProofLine, gauge_history_line};
pub use published::{OfBench, Published};
pub use reading::{ReadingLine, Source};
pub use record::{Looked, backup_line, export_line, import_line, restore_line, verify_line};
pub use register::RegisteredLine;
pub use reload::{ReloadLine, reload_line};
pub use reply::{
    ErrorKind, ErrorLine, Next, PROTOCOL, Reply, asks_for_bytes, code_of, error_line, hello_line,
    next_words, reply_line, send_line,
};
pub use request::{Incoming, MAX_LINE, parse_request, request_text};
pub use run_in::{MOST_POINTS, ViewPlace, ViewRunIn};
pub use status::{
    AsideKind, DropState, DropStatus, GaugeState, GaugeStatus, OpenAlertStatus, SetAsideStatus,
    ShowsLine, StationStatus, Status, StorageState, StorageStatus, WorkKind, WorkStatus,
    hands_words, status_line,
};
pub use study::{
    AnovaLine, RepeatabilityLine, SourceLine, SpreadLine, SpreadsLine, StudyLine, study_line,
};
pub use text::printable;
pub use told::{GaugeLine, Presence, PresenceLine, ToldState};
pub use verdict::VerdictLine;
pub use view::{
    MOST_SHOWN, PositionState, ProofWord, View, ViewAlert, ViewCheck, ViewGauge, ViewPosition,
    ViewProof, ViewProofEnd, ViewStep, ViewTouch, ViewVerdict, touch_why, touch_words, view_line,
    waits_words,
};
pub use words::{LimitsLine, LimitsTold};

#[cfg(test)]
mod tests;
