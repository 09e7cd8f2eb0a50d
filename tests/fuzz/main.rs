//! Input from outside, changed at random: every byte is counted somewhere, every finding has a place, what
//! was read is written as it was, and every reading that comes out is in the bytes.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails")]

mod files;
mod gauges;
mod grammar;
mod mutate;
mod papers;
mod seals;
mod wire;
