//! What happens to the bench: touches that arrive, and requests of a person. Each is decided on the draft.

mod anew;
mod answers;
mod attach;
mod by_hand;
mod card;
mod dial;
mod door;
mod file;
mod jobs;
mod leaving;
mod measure;
mod people;
mod prove;
mod register;
mod repeats;
mod run_in;
mod settle;
mod spot;
mod stack;
mod sweep;
mod temperature;
mod touch;
mod went_on;

pub use attach::{LARGEST_PAPER, MOST_PAPERS, too_large};
