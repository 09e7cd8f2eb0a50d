//! The program from outside: one crate, so that it links once.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails")]

mod commands;
mod drops;
mod evaluate;
mod feed;
mod full;
mod house;
mod killed;
mod lines;
mod rebuild;
mod rig;
mod scenarios;
mod streams;
