//! What comes from outside, changed at random: every byte is counted somewhere, a finding has a place,
//! what was read is written as it was, and no reading comes out that is not in the bytes.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails")]

mod files;
mod gauges;
mod grammar;
mod mutate;
mod wire;
