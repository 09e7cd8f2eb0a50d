//! PostgreSQL: one record of all benches of a shop. Each bench sends its rows as they are stored; the database gives
//! them the name of the bench by the login of the session, and lets none be changed.
//!
//! Only plain SQL is used, with partitions, `ON CONFLICT`, binary `COPY` and serializable transactions, so that other
//! engines that speak the same protocol can carry it.

mod beside;
mod fetch;
mod forward;
mod look;
mod position;
mod roles;
mod rows;
mod seek;
mod session;
mod steps;
mod told;
mod trouble;
mod whole;

pub use beside::word;
pub use forward::run;
pub use look::{Look, LookError, OneJob};
pub use roles::{Right, add};
pub use seek::{Listed, Piece, Seek};
pub use session::Session;
pub use steps::{Migrated, migrate};
pub use tokio_postgres::Row;
pub use tokio_postgres::types::ToSql;
pub use trouble::{Trouble, TroubleKind};
pub use whole::{Fetched, fetch_whole};
