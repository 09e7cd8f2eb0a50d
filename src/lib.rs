//! Listens to bench gauges while precision spindle parts are measured, judges each check with
//! exact arithmetic, and keeps the record.
//!
//! The rooms below may use the rooms before them in this order, and nothing after:
//! quantity, geometry, gauge, judgement, words, bench, config, store, wire, report, intake,
//! daemon, client. `DEVELOPERS.md` is the map.

pub mod bench;
pub mod client;
pub mod config;
pub mod daemon;
pub mod gauge;
pub mod geometry;
pub mod intake;
pub mod judgement;
pub mod quantity;
pub mod report;
pub mod store;
pub mod wire;
pub mod words;
