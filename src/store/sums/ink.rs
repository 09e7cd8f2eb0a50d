//! All that a row says, as bytes that never change their form: the stored sums depend on it.

use crate::body::Faulty;
use crate::compact;
use bench::Row;
use bench::row::{Body, Reading, Source};

/// Bytes in which each part says how long it is.
struct Ink(Vec<u8>);

impl Ink {
    fn number(&mut self, number: i64) {
        self.0.push(b'n');
        self.0.extend(number.to_le_bytes());
    }

    fn count(&mut self, count: u64) {
        self.number(count.cast_signed());
    }

    fn bytes(&mut self, bytes: &[u8]) {
        self.0.push(b't');
        self.0.extend((bytes.len() as u64).to_le_bytes());
        self.0.extend(bytes);
    }

    fn text(&mut self, text: &str) {
        self.bytes(text.as_bytes());
    }

    fn maybe_text(&mut self, text: Option<&str>) {
        match text {
            Some(text) => self.text(text),
            None => self.0.push(b'-'),
        }
    }

    fn maybe_number(&mut self, number: Option<i64>) {
        match number {
            Some(number) => self.number(number),
            None => self.0.push(b'-'),
        }
    }

    fn maybe_row(&mut self, row: Option<bench::Seq>) {
        self.maybe_number(row.map(|row| row.0.cast_signed()));
    }

    fn reading(&mut self, reading: &Reading) {
        self.maybe_row(reading.job);
        self.maybe_row(reading.attempt);
        self.text(reading.gauge.as_str());
        match reading.source {
            Source::Serial => self.text("serial"),
            Source::Keyed => self.text("keyed"),
            Source::Drop { file, line } => {
                self.count(file.0);
                self.number(line.into());
            }
        }
        self.number(reading.value.length.picometres());
        self.text(reading.value.unit.symbol());
        self.number(reading.value.places.into());
        self.text(&reading.as_sent);
        self.number(compact::state_code(reading.state));
        self.maybe_text(reading.why.as_deref());
        self.maybe_number(reading.position.map(i64::from));
        self.maybe_number(reading.measured_at.map(quantity::Wall::micros));
    }
}

/// The bytes of a row. What follows from other rows, such as the state of a job that is opened
/// again, is left out.
pub(super) fn written(row: &Row) -> Result<Vec<u8>, Faulty> {
    // A reading fits; without that the bytes of each would be moved four times as they grow.
    let mut ink = Ink(Vec::with_capacity(320));
    ink.count(row.seq.0);
    ink.number(row.at.wall.micros());
    ink.count(row.at.mono_us);
    ink.text(row.body.kind());
    // Nearly all rows are readings.
    if let Body::Reading(reading) = &row.body {
        ink.reading(reading);
    } else {
        serde_json::to_writer(&mut ink.0, &row.body).map_err(|error| error.to_string())?;
    }
    if let Some(by) = &row.by {
        ink.text("by");
        ink.text(by.as_str());
    }
    Ok(ink.0)
}
