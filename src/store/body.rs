//! Facts and their parts as JSON: the derived form of their types.

use serde::Serialize;
use serde::de::DeserializeOwned;

use bench::Seq;
use bench::row::{Pin, Subject};
use bench::verdict::Verdict;

/// A body that could not be written or understood; the text says which part.
pub(super) type Faulty = String;

fn json(body: &impl Serialize) -> Result<String, Faulty> {
    serde_json::to_string(body).map_err(|error| error.to_string())
}

fn read<T: DeserializeOwned>(text: &str) -> Result<T, Faulty> {
    serde_json::from_str(text).map_err(|error| error.to_string())
}

/// What an attempt is judged with. Equal pins give equal text.
pub(super) fn pin_text(pin: &Pin) -> Result<String, Faulty> {
    json(pin)
}

/// Reads [`pin_text`] back.
pub(super) fn pin(text: &str) -> Result<Pin, Faulty> {
    read(text)
}

/// What an alert is about. Equal subjects give equal text.
pub(super) fn subject_text(subject: &Subject) -> String {
    serde_json::to_string(subject).expect("names and numbers")
}

/// Reads [`subject_text`] back.
pub(super) fn subject(text: &str) -> Result<Subject, Faulty> {
    read(text)
}

/// A verdict.
pub(super) fn verdict_text(verdict: &Verdict) -> Result<String, Faulty> {
    json(verdict)
}

/// Reads [`verdict_text`] back; it must be of this attempt.
pub(super) fn verdict(attempt: Seq, text: &str) -> Result<Verdict, Faulty> {
    let verdict: Verdict = read(text)?;
    if verdict.attempt == attempt {
        return Ok(verdict);
    }
    Err(format!("it is a verdict on attempt {}, not on {attempt}", verdict.attempt))
}
