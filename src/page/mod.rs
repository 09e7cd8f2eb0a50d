//! The page to look at: what the bench shows now, and what the record holds, for a browser. It only reads.
//!
//! What is absent: any way to change something, any file, script or picture of elsewhere, and any sentence about a
//! figure: those come from `report/` and `wire/`. Where the data comes from is behind [`Source`].

mod bench;
mod door;
mod files;
mod guard;
mod limits;
mod live;
mod office;
mod plot;
mod ring;
mod routes;
mod serve;
mod sheet;
mod source;
mod url;

pub use door::{Door, DoorError, Token};
pub use serve::{Opened, open, serve};
pub use source::{Follow, JobAt, JobFound, Listed, Seen, Sought, Source, Told, Tone, Wrong};
