//! A run-in on a station's screen.

use serde::{Deserialize, Serialize};

/// The most points of a place in a line; of more, every so many are left out.
pub const MOST_POINTS: usize = 240;

/// A run-in on a station's screen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct ViewRunIn {
    /// The step that runs, counted from 1; `null` before the first and after the last.
    pub step: Option<u32>,
    /// How many steps there are.
    pub steps: u32,
    /// The speed of the step, revolutions a minute.
    pub speed_rpm: Option<u32>,
    /// How long the step has run, seconds.
    pub ran_s: Option<u64>,
    /// How long it is to run, seconds.
    pub of_s: Option<u64>,
    /// When each step began, minutes after the first; the last one is when the spindle stood still again.
    pub began_min: Vec<f64>,
    /// The places, the room last.
    pub places: Vec<ViewPlace>,
}

/// A place whose temperature is watched.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct ViewPlace {
    /// Its name.
    pub name: String,
    /// The newest temperature, with its unit: `31.5 °C`.
    pub last: Option<String>,
    /// Minutes after the first step, and degrees Celsius.
    pub points: Vec<[f64; 2]>,
}
