//! The decisions of the bench, event by event.

mod alerts;
mod days;
mod dials;
mod doors;
mod doubts;
mod drifts;
mod files;
mod flow;
pub(crate) mod kit;
mod left;
mod measuring;
mod own_record;
mod pairs;
mod papers;
mod proofs;
mod registers;
mod review;
mod rounds;
mod scenarios;
mod seats;
mod spots;
mod standing;
mod starts;
mod thresholds;
mod touches;
mod turns;
mod warm;
