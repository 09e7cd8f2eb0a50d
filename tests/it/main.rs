//! The program from outside: one crate, so that it links once.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails")]

mod anew;
mod asked;
mod bars;
mod comeback;
mod commands;
mod damaged;
mod day;
mod digits;
mod door;
mod doubts;
mod drops;
mod elsewhere;
mod evaluate;
mod feed;
mod finding;
mod full;
mod gates;
mod handover;
mod hands;
mod histories;
mod house;
mod killed;
mod lengths;
mod lines;
mod listen;
mod metal;
mod people;
mod places;
mod rebuild;
mod reloads;
mod report;
mod rests;
mod rig;
mod rings;
mod rule;
mod scanner;
mod scenarios;
mod seat;
mod sheet;
mod streams;
mod sweeps;
mod told;
mod tries;
mod watch;
