//! The promises of this package for any bytes and any hand; the files of the package have the examples.

mod blocks;
mod commas;
mod echoes;
mod files;
mod frames;
mod packed;
mod pedals;
mod ports;
mod presses;
mod streams;
mod sweeps;

use std::collections::BTreeMap;
use std::sync::Arc;

use proptest::prelude::*;
use quantity::{Length, Quoted, Unit};

use super::*;

/// A profile of lines with this content and nothing else.
fn profile(content: Content) -> Profile {
    Profile {
        name: "test".to_owned(),
        about: String::new(),
        framing: Framing::Line,
        block: None,
        content,
        unit: None,
        spellings: BTreeMap::new(),
        places: BTreeMap::new(),
        tokens: Tokens::default(),
        ask: None,
    }
}

fn decimal(pattern: &str) -> Profile {
    profile(Content::Decimal(Pattern::whole(pattern).unwrap()))
}

/// A gauge that sends inches to 0.00001, alone on its port.
fn gauge() -> GaugeOnLine {
    GaugeOnLine {
        channel: None,
        unit: None,
        resolution: Quoted::parse("0.00001", Unit::Inch).unwrap(),
        scale: None,
        sign: Sign::Plus,
        repeat_us: 0,
        max_rate: 0,
        capture: Capture::Send,
        button: false,
        rest: None,
        every_us: 0,
    }
}

/// A port that is open and in step.
fn live(profile: Profile, gauges: Vec<GaugeOnLine>) -> GaugeLine {
    let mut line = GaugeLine::new(LineSetup { profile: Arc::new(profile), gauges });
    line.opened(0);
    line.tick(500_000, &mut Vec::new());
    line
}

/// One sample of a stream, in steps of 0.00001 in.
fn sample(at_us: u64, steps: i64) -> Sample {
    let value = Quoted::from_count(steps.into(), 5, Unit::Inch).unwrap();
    Sample { at_us, value, text: steps.to_string(), odd: None, low_battery: false }
}
