//! When what a gauge sends becomes a reading: at a press of its button, when a stream settles, or
//! when it was asked for; and what a foot on a pedal means.
//!
//! What is absent: a clock. Times come with the samples and with the edges of a pedal.

mod echo;
mod pedal;
mod press;
mod settle;

pub use echo::Echo;
pub use pedal::{Foot, Pedal};
pub use press::{Press, PressRule};
pub use settle::{Armed, NotSettled, Sample, Settle};

pub(super) use press::Presses;

/// How readings of a gauge are captured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Capture {
    /// Each frame is a reading: the gauge's button sends it.
    Send,
    /// The gauge sends without pause; a value that stands still after a lift is a reading.
    Settle,
    /// The gauge is asked; its answer is a reading.
    Request,
}
