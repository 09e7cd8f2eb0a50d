//! What the bench decides, event by event.

mod dials;
mod doubts;
mod kit;
mod measuring;
mod pairs;
mod review;
mod rounds;
mod scenarios;
mod turns;
