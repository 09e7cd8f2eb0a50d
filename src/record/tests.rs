//! Tests of the record as a whole.

mod cost;
mod dropped;
mod facts;
mod figures;
mod flat;
mod handover;
mod look;
mod many;
mod proofs;
mod queries;
mod rows;
mod seals;
mod stored;
mod trouble;
