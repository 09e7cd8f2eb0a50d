//! What the bench decides, event by event.

mod kit;
mod measuring;
mod review;
mod rounds;
mod scenarios;
