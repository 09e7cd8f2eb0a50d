//! The sounds at the bench, so that the eyes can stay on the stylus.

mod feed;
mod follow;
mod hear;
mod player;
mod tone;
mod wave;

pub(crate) use self::feed::FeedHearing;
pub(crate) use self::follow::follow_pitch;
pub(crate) use self::hear::{Hearing, is_stop};
pub(crate) use self::player::{Player, Said};
pub(crate) use self::tone::Tone;
pub(crate) use self::wave::{bell_times, blip, is_buzz, notes, wav};

#[cfg(test)]
mod tests;
