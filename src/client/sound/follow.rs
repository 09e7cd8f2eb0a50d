//! A pitch that follows the deviation, so that the high spot can be found by ear.
//!
//! A short note is played for each new value that is shown. At the value of position 0 its pitch is A above middle C,
//! times the pitch of the station. It is an octave higher for every tolerance above that value and an octave lower for
//! every tolerance below, by an octave and a half at most.

use quantity::{Length, Quoted};
use wire::{LimitsTold, View, ViewCheck};

/// The pitch for no deviation, in hertz.
const MIDDLE: f64 = 440.0;
/// The largest distance from it, in octaves.
const FARTHEST: f64 = 1.5;

/// The pitch for the newest value of the check's gauge, in hertz; `None` where there is nothing to compare it
/// with.
pub(crate) fn follow_pitch(view: &View) -> Option<f64> {
    let check = view.check.as_ref()?;
    let gauge = view.gauges.iter().find(|gauge| Some(&gauge.name) == check.gauge.as_ref())?;
    let now = length(gauge.last.as_deref()?)?;
    let zero = check.positions.iter().find(|position| position.position == 0)?;
    let zero = length(zero.value.as_deref()?)?;
    let tolerance = tolerance(check)?;
    let off = micro(now) - micro(zero);
    Some(MIDDLE * (off / tolerance).clamp(-FARTHEST, FARTHEST).exp2())
}

fn tolerance(check: &ViewCheck) -> Option<f64> {
    let length = |text: &str| Length::parse(text, check.limit_unit).ok().map(micro);
    let width = match check.limit.as_ref()? {
        LimitsTold::Max(limit) | LimitsTold::Least { min: limit } => length(limit)?,
        LimitsTold::Band { min, max } => (length(max)? - length(min)?) / 2.0,
    };
    (width > 0.0).then_some(width)
}

fn length(text: &str) -> Option<Length> {
    Quoted::parse_with_unit(text, None).ok().map(|quoted| quoted.length)
}

/// A length in micrometres; a pitch needs no exact length.
fn micro(length: Length) -> f64 {
    quantity::Figure::from(length).to_f64() / 1e6
}
