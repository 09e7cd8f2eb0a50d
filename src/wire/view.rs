//! `view/1`: the screen of one station.

use serde::{Deserialize, Serialize};

use bench::metal::Standing;
use bench::plan::{Direction, Holding, Step, Traits};
use bench::row::{AlertKind, AttemptReason, Level, Question, State};
use bench::series::{Nth, Touch};
use bench::words::{seat, seat_short};
use gauge::Waits;
use judgement::{Reason, Word};
use quantity::Unit;

use super::asks::AsksLine;
use super::run_in::ViewRunIn;
use super::status::{GaugeState, StorageState};
use super::text::line_of;
use super::{Next, NextLift};
use words::{LimitsLine, LimitsTold};

/// The most positions in a line. For a check with more, only the positions of the circle that is touched
/// now are listed, at most this many.
pub const MOST_SHOWN: u32 = 400;

/// The screen of a station, as of the last commit. Lengths are texts as sent or as shown to people; angles
/// are degrees counter-clockwise from the index mark, [0, 360).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::name, "station job"))
)]
pub struct View {
    /// The name of the bench.
    pub bench: String,
    /// The station.
    pub station: String,
    /// The number of the newest stored row. Everything with a higher number than the one seen before is
    /// new.
    pub seq: u64,
    /// The feed of the record: numbers of another feed cannot be compared with these.
    #[serde(default)]
    pub feed: String,
    /// The unit that people see.
    pub unit: Unit,
    /// The job in use.
    pub job: Option<String>,
    /// The step that the job is at; `null` without a job, or where every step is done.
    #[serde(default)]
    pub stands: Option<ViewStep>,
    /// The check on the screen; `None` where none is active.
    pub check: Option<ViewCheck>,
    /// The proof of a gauge that is under way, or ended last, before any check: it stands in front of the
    /// check.
    #[serde(default)]
    pub proof: Option<ViewProof>,
    /// The gauges of the station.
    pub gauges: Vec<ViewGauge>,
    /// Alerts of the station that nobody has seen: the urgent ones first, then the newest.
    pub alerts: Vec<ViewAlert>,
    /// The state of the record.
    pub storage: StorageState,
    /// Why the record is not fine.
    pub storage_why: Option<String>,
    /// Who works there, if anybody is named.
    #[serde(default)]
    pub person: Option<String>,
    /// Who the next touch will be credited to while a check is active, if that is known.
    #[serde(default)]
    pub by: Option<String>,
}

/// The step that a job is at.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct ViewStep {
    /// The step.
    pub step: Step,
    /// The same in words, with its place among the steps of this job: `step 5 of 10: grind, 3 of 5`.
    pub words: String,
    /// What stands before the next step, as a sentence.
    pub hindered_by: Option<String>,
}

quantity::worded! {
    /// What a proof came to.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum ProofWord {
        /// The gauge is proven.
        Proven = "proven",
        /// It is not.
        NotProven = "not-proven",
        /// It left the limits of its chart.
        OffChart = "off-chart",
        /// It ended before its last touch.
        Ended = "ended",
    }
}

/// A proof of a gauge on a station's screen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::name, "gauge"))
)]
pub struct ViewProof {
    /// The number of the row that began it.
    pub proof: u64,
    /// The gauge.
    pub gauge: String,
    /// What is touched next.
    pub next: NextLift,
    /// The same in a few words that can be read from a distance: `LIFT 4 OF 10`.
    pub next_words: String,
    /// The same in a sentence.
    pub why: String,
    /// Why a stream takes nothing automatically now.
    pub waits: Option<Waits>,
    /// How many touches count.
    pub taken: u32,
    /// How many touches the proof has.
    pub of: u32,
    /// The touches that count, as they were read, in order.
    pub lifts: Vec<String>,
    /// The newest of them.
    pub last_touch: Option<ViewTouch>,
    /// How many were taken back.
    pub voided: u32,
    /// What it came to; `null` while it is under way.
    pub end: Option<ViewProofEnd>,
}

/// What a proof came to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct ViewProofEnd {
    /// The number of the row that ended it.
    pub id: u64,
    /// In a word.
    pub word: ProofWord,
    /// In sentences, with what to do.
    pub text: String,
}

/// The check on a station's screen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::name, "part name gauge"))
)]
pub struct ViewCheck {
    /// The part.
    pub part: String,
    /// The check's name.
    pub name: String,
    /// The number of the attempt's row.
    pub attempt_id: u64,
    /// Which attempt at the check, counted from 1.
    pub attempt: u32,
    /// The reason for the attempt.
    pub reason: AttemptReason,
    /// The characteristic.
    pub measures: &'static Traits,
    /// How the part is held.
    pub setup: Holding,
    /// The direction in which positions are counted, seen facing the face: `ccw` or `cw`.
    pub direction: Direction,
    /// The gauge for it.
    pub gauge: Option<String>,
    /// The limits, in `limit_unit`.
    pub limit: Option<LimitsTold>,
    /// The same as `limit`, in one shape for one and for two limits.
    #[serde(default)]
    pub limits: LimitsLine,
    /// The unit of the limit.
    pub limit_unit: Unit,
    /// What the next touch is, as in `status/1`.
    pub next: Next,
    /// The position of the next touch.
    pub next_position: Option<u32>,
    /// The next touch in a few words that can be read from a distance: `TOUCH 3`.
    pub next_words: String,
    /// Why that is next, where it is not obvious; otherwise where it is.
    pub why: Option<String>,
    /// Where the next touch is, where the number of the position does not say it.
    pub place: Option<String>,
    /// Why a stream takes nothing automatically now: `in-the-air`, `off-the-edge`, `same-spot`, `unsure`.
    #[serde(default)]
    pub waits: Option<Waits>,
    /// Which touch at that position is next, counted from 1; `null` where one touch fills a position.
    #[serde(default)]
    pub next_touch: Option<u32>,
    /// How often each position is touched.
    #[serde(default)]
    pub touches: u32,
    /// How many touches count.
    pub taken: u32,
    /// How many touches the check needs.
    pub of: u32,
    /// How many positions are on one circle; 1 or less where they are in a row.
    pub per_circle: u32,
    /// The positions, in order.
    pub positions: Vec<ViewPosition>,
    /// The newest reading of the attempt.
    pub last_touch: Option<ViewTouch>,
    /// How many readings of the attempt were taken back.
    pub voided: u32,
    /// Its newest verdict.
    pub verdict: Option<ViewVerdict>,
    /// The log of a run-in, once it began; left out where it is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub run_in: Option<ViewRunIn>,
    /// What it asks for, where it is answered and not touched.
    #[serde(flatten)]
    pub asks: AsksLine,
}

/// One position.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::angle, "angle_deg"))
)]
pub struct ViewPosition {
    /// Its number.
    pub position: u32,
    /// Its angle on the part; `None` where positions are in a row.
    pub angle_deg: Option<f64>,
    /// Its state.
    pub state: PositionState,
    /// The reading at it, with its unit; or why it was left out.
    pub value: Option<String>,
}

/// The states of a position.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub enum PositionState {
    /// It has no reading.
    Open,
    /// It has a reading.
    Taken,
    /// It was left out with a reason.
    Skipped,
    /// A question asks to touch it again.
    Asked,
}

/// The newest reading of an attempt.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct ViewTouch {
    /// Its number in the record.
    pub id: u64,
    /// The position it belongs to; `null` where it belongs to none.
    pub position: Option<u32>,
    /// The reading with its unit.
    pub value: String,
    /// The state it has.
    pub state: State,
}

/// A gauge of the station.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::name, "name").of(::words::schema::shown_value, "last"))
)]
pub struct ViewGauge {
    /// Its name.
    pub name: String,
    /// Whether it can be read.
    pub state: GaugeState,
    /// Why it cannot be read.
    pub why: Option<String>,
    /// The newest value, with its unit; of a thermometer in °C.
    pub last: Option<String>,
    /// How long ago it arrived, in milliseconds.
    pub last_age_ms: Option<u64>,
}

/// The newest verdict of the attempt. Figures are in `unit`, in the form shown to people.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::angle, "high_mark_deg"))
)]
pub struct ViewVerdict {
    /// The number of its row.
    pub id: u64,
    /// The word, as in `verdict/1`.
    pub verdict: Word,
    /// The word of the simple rule.
    pub simple: Option<Word>,
    /// The word of the guarded rule.
    pub guarded: Option<Word>,
    /// The unit of the figures, which people see.
    pub unit: Unit,
    /// Its present state, as in `verdict/1`.
    pub standing: Standing,
    /// The judged figure, `less than …`, or an answer; `None` where there is none.
    pub value: Option<String>,
    /// The limit, `… to …`, or the answers that conform.
    pub limit: Option<String>,
    /// The expanded uncertainty.
    pub uncertainty: Option<String>,
    /// Whether the gauge states no uncertainty, so that it was worked out from its resolution.
    pub assumed: bool,
    /// The mark nearest to the high side, in degrees; only where that side is known within 30 degrees.
    pub high_mark_deg: Option<f64>,
    /// The position at that mark with the highest reading, which shows the circle.
    #[serde(default)]
    pub high_position: Option<u32>,
    /// The positions that touch the upper plane.
    pub contacts_upper: Vec<u32>,
    /// The positions that touch the lower plane.
    pub contacts_lower: Vec<u32>,
    /// Advice for the person.
    pub advice: Vec<String>,
    /// Why it was withheld, or may not pass.
    pub reasons: Vec<Reason>,
}

/// An alert that nobody has seen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct ViewAlert {
    /// Its number in the record.
    pub id: u64,
    /// How urgent it is.
    pub level: Level,
    /// What kind of alert it is.
    pub kind: AlertKind,
    /// The message for a person to read.
    pub text: String,
}

/// A view as one line of JSON, without its line end.
#[must_use]
pub fn view_line(view: &View) -> String {
    line_of("view/1", view)
}

/// The next touch in a few words that can be read from a distance. `back` is true where an earlier position
/// has to be filled.
#[must_use]
pub fn touch_words(next: Touch, back: bool) -> String {
    match next {
        Touch::Master | Touch::Asked(Question::Master) => "MASTER".to_owned(),
        Touch::Position(position) if back => format!("BACK TO {position}"),
        Touch::Position(position) => format!("TOUCH {position}"),
        Touch::Middle | Touch::Closure => "TOUCH 0".to_owned(),
        Touch::Asked(Question::Closure) => "AGAIN 0".to_owned(),
        Touch::Asked(Question::Touch(position)) => format!("AGAIN {position}"),
        Touch::Asked(Question::HalfTurn { .. }) => "HALF TURN".to_owned(),
        Touch::Sweep => "TAP 0".to_owned(),
        Touch::Seat { deg, .. } => seat_short(deg),
        Touch::Answer => "ANSWER".to_owned(),
        Touch::Nothing => "DONE".to_owned(),
    }
}

/// Why that is next, where it is not simply the next in order; which touch of several at its position it
/// is, where there are several.
#[must_use]
pub fn touch_why(next: Touch, back: bool, nth: Option<Nth>) -> Option<String> {
    let why = match next {
        Touch::Position(position) | Touch::Asked(Question::Touch(position))
            if let Some(nth) = nth.filter(|nth| nth.touch > 1 || !back) =>
        {
            format!("Position {position}, touch {} of {}.", nth.touch, nth.of)
        }
        Touch::Master => "Touch the master.".to_owned(),
        Touch::Position(position) if back => {
            format!("Now back to {position}: it was taken back or passed over.")
        }
        // For a check that is answered, the question itself says why.
        Touch::Position(_) | Touch::Answer | Touch::Nothing => return None,
        Touch::Middle => {
            "Position 0 again, half way round: it shows whether a drift is even.".to_owned()
        }
        Touch::Closure => "Position 0 again: it closes the round.".to_owned(),
        Touch::Asked(Question::Closure) => "0 came back different. Touch it once more.".to_owned(),
        Touch::Asked(Question::Master) => {
            "The master came back different. Touch it once more.".to_owned()
        }
        Touch::Asked(Question::Touch(position)) => {
            format!("{position} stands off from the others. Touch it again.")
        }
        Touch::Asked(Question::HalfTurn { high, low }) => {
            format!("Lift, wipe, set back half a turn round; then touch {high} and {low}.")
        }
        Touch::Seat { deg, .. } => seat(deg),
        Touch::Sweep => "Turn slowly; tap as mark 0 passes the stylus.".to_owned(),
    };
    Some(why)
}

/// What to do with a stream, or why nothing is taken now.
#[must_use]
pub const fn waits_words(waits: Option<Waits>) -> &'static str {
    match waits {
        None => "Lift, set down, hold still.",
        Some(Waits::InTheAir) => "IN THE AIR. Set down, hold still.",
        Some(Waits::OffTheEdge) => "OFF THE EDGE. Set down on the face.",
        Some(Waits::SameSpot) => "SAME SPOT. Lift first.",
        Some(Waits::Unsure) => "PART OR AIR? Tap for the first touch.",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_view_line_has_the_published_shape() {
        let view = View {
            bench: "grinding room".to_owned(),
            station: "bench".to_owned(),
            seq: 41,
            feed: "a1".to_owned(),
            unit: Unit::Inch,
            job: Some("J-1042".to_owned()),
            stands: None,
            check: None,
            proof: None,
            gauges: vec![ViewGauge {
                name: "plate".to_owned(),
                state: GaugeState::Live,
                why: None,
                last: Some("0.00012 in".to_owned()),
                last_age_ms: Some(1500),
            }],
            alerts: vec![ViewAlert {
                id: 7,
                level: Level::Note,
                kind: AlertKind::DamagedFrames,
                text: "plate: \u{1b}[2J".to_owned(),
            }],
            storage: StorageState::Fine,
            storage_why: None,
            person: Some("M. Weber".to_owned()),
            by: None,
        };
        let line = view_line(&view);
        assert_eq!(
            line,
            concat!(
                r#"{"schema":"view/1","bench":"grinding room","station":"bench","seq":41,"feed":"a1","#,
                r#""unit":"in","job":"J-1042","stands":null,"check":null,"proof":null,"gauges":[{"name":"plate","#,
                r#""state":"live","why":null,"last":"0.00012 in","last_age_ms":1500}],"#,
                r#""alerts":[{"id":7,"level":"note","kind":"damaged-frames","#,
                r#""text":"plate: \u001b[2J"}],"storage":"fine","storage_why":null,"person":"M. Weber","by":null}"#,
            )
        );
        assert_eq!(serde_json::from_str::<View>(&line).unwrap(), view);
    }

    #[test]
    fn every_next_touch_is_said_in_a_few_words() {
        let says = |touch, back| (touch_words(touch, back), touch_why(touch, back, None).is_some());
        let said = |text: &str, why| (text.to_owned(), why);
        assert_eq!(says(Touch::Position(3), false), said("TOUCH 3", false));
        assert_eq!(says(Touch::Position(3), true), said("BACK TO 3", true));
        assert_eq!(says(Touch::Closure, false), said("TOUCH 0", true));
        assert_eq!(says(Touch::Asked(Question::Closure), false), said("AGAIN 0", true));
        assert_eq!(says(Touch::Asked(Question::Touch(5)), false), said("AGAIN 5", true));
        assert_eq!(says(Touch::Master, false), said("MASTER", true));
        assert_eq!(says(Touch::Nothing, false), said("DONE", false));
        let half = Touch::Asked(Question::HalfTurn { high: 1, low: 5 });
        assert!(touch_why(half, false, None).unwrap().ends_with("touch 1 and 5."));
        let nth = Some(Nth { touch: 2, of: 3 });
        assert_eq!(touch_why(Touch::Position(3), false, nth).unwrap(), "Position 3, touch 2 of 3.");
        let again = Touch::Asked(Question::Touch(3));
        assert_eq!(touch_why(again, false, nth).unwrap(), "Position 3, touch 2 of 3.");
    }
}
