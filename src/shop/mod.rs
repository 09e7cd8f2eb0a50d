//! The record of a shop with several benches: what a bench sends on to a database and to a broker, and what is
//! looked up there. Nothing here decides or writes anything of a bench, and no bench waits for it.

pub mod database;
mod secret;
mod tls;

pub use secret::{NoSecret, secret};
pub use tls::{trusting, wrong_certificate};
