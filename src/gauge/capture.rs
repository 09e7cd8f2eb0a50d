//! How readings are taken from what a gauge sends: at a press of its button, when a stream settles, when
//! a swept turn is whole, or when the gauge is asked. Also what a foot on a pedal means.
//!
//! What is absent: a clock. Times come with the samples and with the pedal's contacts.

mod echo;
mod pedal;
mod press;
mod settle;
mod sweep;

pub use echo::Echo;
pub use pedal::{Foot, Pedal};
pub use press::{Press, PressRule};
pub use settle::{Armed, NotSettled, Sample, Settle, Stream, Waits};
pub use sweep::{NoSweep, Sweep, Tap};

pub(super) use press::Presses;

quantity::worded! {
    /// How readings of a gauge are captured.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum Capture {
        /// Each frame is a reading: the gauge's button sends it.
        Send = "send",
        /// The gauge sends without pause; a value that stands still after a lift is a reading.
        Settle = "settle",
        /// The gauge sends without pause. A turn that the plan marks as swept is taken as a whole; anything
        /// else settles.
        Sweep = "sweep",
        /// The gauge is asked; its answer is a reading.
        Request = "request",
    }
}
