//! The record of a shop with several benches: what a bench sends on to a database and to a broker, and what is
//! looked up there. Nothing here decides or writes anything of a bench, and no bench waits for it.
//!
//! A link is one function that runs until its [`Stop`](intake::Stop) is thrown, on a thread of its own: [`database::run`] and
//! [`broker::run`]. It reads the record as every query does, keeps what it needs for the next time in the folder
//! [`FOLDER`] of the state folder, and says there how it is ([`standing`]).

pub mod broker;
mod claim;
pub mod database;
mod secret;
pub mod standing;
mod tls;

use std::path::PathBuf;

use quantity::Unit;

pub use claim::Claim;
pub use secret::{NoSecret, secret, seen_by_others};
pub use tls::{trusting, wrong_certificate};

/// The folder in the state folder with what the links keep.
pub const FOLDER: &str = "forward";

/// The bench whose record is sent on.
#[derive(Debug, Clone)]
pub struct Origin {
    /// Its name in the shop.
    pub bench: String,
    /// Its state folder, with its record and its socket.
    pub state: PathBuf,
    /// The unit people see.
    pub unit: Unit,
}

impl Origin {
    /// The folder with what the links keep.
    #[must_use]
    pub fn folder(&self) -> PathBuf {
        self.state.join(FOLDER)
    }

    /// Opens the record to read.
    ///
    /// # Errors
    /// There is none, it has another schema, or the system refuses.
    pub fn record(&self) -> Result<record::Reader, record::StoreError> {
        record::Reader::open(&self.state)
    }
}
