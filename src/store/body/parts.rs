//! The JSON of a part in the stack, of one that was replaced, and of the taps of a swept turn.

use serde::{Deserialize, Serialize};

use super::{Faulty, json};
use crate::words;
use bench::plan::CheckAt;
use bench::row::{Lack, StackItem, Stage, WentOn};
use bench::sweep::Taps;

#[derive(Serialize, Deserialize)]
struct PlacedBody {
    stage: String,
    part: u16,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    towards_nose: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    mark_deg: Option<u16>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    serial: Option<String>,
}

#[derive(Serialize, Deserialize)]
struct ReplacedBody {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    serial: Option<String>,
    why: String,
}

/// A part on one of the lists of the stack, as JSON.
pub(crate) fn placed_text(stage: Stage, item: &StackItem) -> Result<String, Faulty> {
    let StackItem { part, towards_nose, mark_deg, serial } = item.clone();
    json(&PlacedBody { stage: stage.text().to_owned(), part, towards_nose, mark_deg, serial })
}

/// Reads [`placed_text`] back.
pub(crate) fn placed(text: &str) -> Result<(Stage, StackItem), Faulty> {
    let body: PlacedBody = serde_json::from_str(text).map_err(|error| error.to_string())?;
    let stage = super::known(words::stage(&body.stage), "stage", &body.stage)?;
    let PlacedBody { part, towards_nose, mark_deg, serial, .. } = body;
    Ok((stage, StackItem { part, towards_nose, mark_deg, serial }))
}

/// The serial number of a new part and why it is one, as JSON.
pub(crate) fn replaced_text(serial: Option<&str>, why: &str) -> Result<String, Faulty> {
    json(&ReplacedBody { serial: serial.map(str::to_owned), why: why.to_owned() })
}

/// Reads [`replaced_text`] back.
pub(crate) fn replaced(text: &str) -> Result<(Option<String>, String), Faulty> {
    let body: ReplacedBody = serde_json::from_str(text).map_err(|error| error.to_string())?;
    Ok((body.serial, body.why))
}

#[derive(Serialize, Deserialize)]
struct WentOnBody {
    /// Part and check by their places in the plan, and what is wrong with it.
    lacking: Vec<(u16, u16, String)>,
    why: String,
}

/// In spite of what something went on and why, as JSON.
pub(crate) fn went_on_text(went: &WentOn) -> Result<String, Faulty> {
    let one = |(at, lack): &(CheckAt, Lack)| (at.part, at.check, lack.text().to_owned());
    let lacking = went.lacking.iter().map(one).collect();
    json(&WentOnBody { lacking, why: went.why.clone() })
}

/// Reads [`went_on_text`] back.
pub(crate) fn went_on(part: Option<u16>, text: &str) -> Result<WentOn, Faulty> {
    let body: WentOnBody = serde_json::from_str(text).map_err(|error| error.to_string())?;
    let one = |(part, check, lack): &(u16, u16, String)| {
        let at = CheckAt { part: *part, check: *check };
        Ok((at, super::known(words::lack(lack), "lack", lack)?))
    };
    let lacking = body.lacking.iter().map(one).collect::<Result<_, Faulty>>()?;
    Ok(WentOn { part, lacking, why: body.why })
}

/// When the marks of a swept turn were tapped, as JSON.
pub(crate) fn taps_text(taps: &Taps) -> Result<String, Faulty> {
    json(&taps.at_us)
}

/// Reads [`taps_text`] back: two taps at least, rising.
pub(crate) fn taps(text: &str) -> Result<Vec<u64>, Faulty> {
    in_order(serde_json::from_str(text).map_err(|error| error.to_string())?)
}

/// Taps of a turn: two at least, rising.
pub fn in_order(at_us: Vec<u64>) -> Result<Vec<u64>, Faulty> {
    let rising = at_us.len() > 1 && at_us.windows(2).all(|two| two[0] < two[1]);
    if rising { Ok(at_us) } else { Err("taps do not follow one another".to_owned()) }
}
