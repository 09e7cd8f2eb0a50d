//! All that a row says, as bytes that never change their form: the stored sums depend on it.

use crate::body::{self, Faulty};
use crate::step::Step;
use crate::words;
use bench::Row;
use bench::row::{Alert, AttemptBegan, Body, FileSeen, JobOpened, Reading, Source};

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

    fn job(&mut self, opened: &JobOpened) {
        self.text("job");
        self.text(opened.name.as_str());
        self.text(opened.plan_name.as_str());
        self.text(&opened.plan.text);
        self.maybe_text(opened.serial.as_deref());
        self.maybe_text(opened.customer.as_deref());
        self.text(words::rule_text(opened.rule));
    }

    fn attempt(&mut self, began: &AttemptBegan) -> Result<(), Faulty> {
        self.text("attempt");
        self.count(began.job.0);
        self.number(began.check.part.into());
        self.number(began.check.check.into());
        self.number(began.number.into());
        self.text(began.reason.text());
        self.number(began.grinds.into());
        self.text(&body::pin_text(&began.pin)?);
        self.maybe_text(began.remark.as_deref());
        Ok(())
    }

    fn reading(&mut self, reading: &Reading) {
        self.text("reading");
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
        self.number(words::state_code(reading.state));
        self.maybe_text(reading.why.as_deref());
        self.maybe_number(reading.position.map(i64::from));
        self.maybe_number(reading.measured_at.map(quantity::Wall::micros));
    }

    fn alert(&mut self, alert: &Alert) {
        self.text("alert");
        self.text(alert.level.text());
        self.text(alert.kind.text());
        self.maybe_row(alert.job);
        self.maybe_row(alert.attempt);
        self.maybe_text(alert.about.as_deref());
        self.text(&alert.text);
    }

    fn file(&mut self, what: &str, seen: &FileSeen) {
        self.text(what);
        self.text(seen.drop.as_str());
        self.text(&seen.name);
        self.bytes(&seen.digest);
        self.count(seen.bytes);
        self.number(seen.rows.into());
        self.bytes(&seen.series);
        self.bytes(&seen.went);
        self.text(&seen.why);
    }

    fn step(&mut self, step: &Step<'_>) {
        self.text(step.kind);
        self.maybe_text(step.station.map(quantity::Name::as_str));
        self.maybe_row(step.job);
        self.maybe_row(step.attempt);
        self.maybe_number(step.number);
        self.maybe_text(step.text.as_deref());
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
    match &row.body {
        Body::JobOpened(opened) => ink.job(opened),
        Body::AttemptBegan(began) => ink.attempt(began)?,
        Body::Reading(reading) => ink.reading(reading),
        Body::Marked { reading, attempt, state, why } => {
            ink.text("mark");
            ink.count(reading.0);
            ink.count(attempt.0);
            ink.number(words::state_code(*state));
            ink.text(why);
        }
        Body::Verdict(verdict) => {
            ink.text("verdict");
            ink.count(verdict.attempt.0);
            ink.text(words::word_text(verdict.word));
            ink.text(&body::verdict_text(verdict)?);
        }
        Body::AlertRaised(alert) => ink.alert(alert),
        Body::AlertSeen { alert } => {
            ink.text("seen");
            ink.count(alert.0);
        }
        Body::AlertCleared { alert } => {
            ink.text("cleared");
            ink.count(alert.0);
        }
        Body::FileTaken(seen) => ink.file("taken", seen),
        Body::FileRefused(seen) => ink.file("refused", seen),
        Body::JobClosed { job } => ink.step(&Step::of_job("job-closed", *job)),
        Body::JobReopened { job, restored: _ } => ink.step(&Step::of_job("job-reopened", *job)),
        Body::Started { .. }
        | Body::JobActive { .. }
        | Body::CheckActive { .. }
        | Body::AttemptEnded { .. }
        | Body::Skipped { .. }
        | Body::Asked { .. }
        | Body::MasterNext { .. }
        | Body::Answered { .. }
        | Body::Seated { .. }
        | Body::TurnUnderWay { .. }
        | Body::Swept { .. }
        | Body::StackPlaced { .. }
        | Body::StackTaken { .. }
        | Body::PartReplaced { .. }
        | Body::PersonAt { .. }
        | Body::Checked { .. }
        | Body::RuleChanged { .. }
        | Body::WentOn { .. }
        | Body::Noted { .. } => ink.step(&Step::plain(&row.body)?),
    }
    if let Some(by) = &row.by {
        ink.text("by");
        ink.text(by.as_str());
    }
    Ok(ink.0)
}
