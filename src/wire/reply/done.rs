//! The results of requests: one shape for each kind of request.

use serde::Serialize;

use bench::row::{IntakeItem, Outcome, Registered, Stage, State};
use bench::{Done, JobNow, Left, Measuring, Seq};
use judgement::{Rule, Word};
use quantity::{Name, Unit};

use super::super::asks::AsksLine;
use super::super::proof::ProvingLine;
use super::super::register::RegisteredLine;
use super::super::spot::{NextMark, SpotLine, TogetherLine};
use super::card::{SignedLine, of_card};
use super::papers::{AttachedReply, TakenBackReply};
use super::words::{
    Next, all_seen, answered, entered, measuring_sentence, next_sentence, next_words, seated,
    spotted, stacked, stopped, swept, taken, tap_sentence, voided, works_at,
};

/// The result of a request: one shape for each kind.
#[derive(Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
#[serde(tag = "schema")]
pub(crate) enum DoneLine<'a> {
    /// A job was opened and is in use.
    #[serde(rename = "opened/1")]
    Opened(JobLine<'a>),
    /// A job is in use.
    #[serde(rename = "in-use/1")]
    InUse(JobLine<'a>),
    /// A job was closed.
    #[serde(rename = "closed/1")]
    Closed(JobLine<'a>),
    /// A job was opened again and is in use.
    #[serde(rename = "reopened/1")]
    Reopened(JobLine<'a>),
    /// A check is active.
    #[serde(rename = "measuring/1")]
    Measuring(MeasuringLine<'a>),
    /// The next reading is that of the master.
    #[serde(rename = "master/1")]
    Master(MeasuringLine<'a>),
    /// No check is active now.
    #[serde(rename = "stopped/1")]
    Stopped {
        /// The station.
        station: &'a str,
        /// The number of the attempt that ended as incomplete; `null` where there was none.
        incomplete: Option<u64>,
        /// The message for a person to read.
        text: String,
    },
    /// Readings were typed in.
    #[serde(rename = "entered/1")]
    Entered {
        /// The numbers of the readings, in the order typed.
        ids: Vec<u64>,
        /// What its station measures now.
        measuring: MeasuringLine<'a>,
        /// The message for a person to read.
        text: String,
    },
    /// One reading was taken.
    #[serde(rename = "taken/1")]
    #[cfg_attr(feature = "schemas", schemars(transform = ::words::schema::forms().of(::words::schema::length, "value")))]
    Taken {
        /// The number of the reading.
        id: u64,
        /// The reading, in `unit`.
        value: String,
        /// Its unit.
        unit: Unit,
        /// The state it has.
        state: State,
        /// What its station measures now.
        measuring: MeasuringLine<'a>,
        /// The message for a person to read.
        text: String,
    },
    /// A bar was reported as seated.
    #[serde(rename = "seated/1")]
    Seated {
        /// Which seating, counted from 1.
        seating: u32,
        /// The angle of the bar in the taper, whole degrees from the index mark.
        deg: u32,
        /// Whether that was taken back, so that the bar does not count as seated.
        taken_back: bool,
        /// What its station measures now.
        measuring: MeasuringLine<'a>,
        /// The message for a person to read.
        text: String,
    },
    /// A mark of a sweep was tapped.
    #[serde(rename = "tapped/1")]
    Tapped {
        /// How many marks were tapped.
        tapped: u32,
        /// How many marks the turn has.
        marks: u32,
        /// The mark to be tapped next, whole degrees.
        next_deg: u32,
        /// What its station measures now.
        measuring: MeasuringLine<'a>,
        /// The message for a person to read.
        text: String,
    },
    /// A sweep has ended.
    #[serde(rename = "swept/1")]
    Swept {
        /// How many samples were taken.
        samples: u32,
        /// The state they have.
        state: State,
        /// What its station measures now.
        measuring: MeasuringLine<'a>,
        /// The message for a person to read.
        text: String,
    },
    /// A reading was taken back.
    #[serde(rename = "voided/1")]
    Voided {
        /// The number of the reading.
        id: u64,
        /// The position that is open again; `null` where no position is.
        position: Option<u32>,
        /// What its station measures now; `null` where it measures nothing.
        measuring: Option<MeasuringLine<'a>>,
        /// The message for a person to read.
        text: String,
    },
    /// A position was left out.
    #[serde(rename = "skipped/1")]
    Skipped {
        /// The position.
        position: u32,
        /// What its station measures now.
        measuring: MeasuringLine<'a>,
        /// The message for a person to read.
        text: String,
    },
    /// A check was answered.
    #[serde(rename = "answered/1")]
    Answered {
        /// The check: `PART/CHECK`.
        target: &'a str,
        /// The answer, or the value written down.
        answer: &'a str,
        /// The word of the verdict; `null` where answers are not judged.
        verdict: Option<Word>,
        /// The message for a person to read.
        text: String,
    },
    /// A part of the stack was recorded.
    #[serde(rename = "stacked/1")]
    #[cfg_attr(feature = "schemas", schemars(transform = ::words::schema::forms().of(::words::schema::name, "part")))]
    Stacked {
        /// Which list of the stack.
        stage: Stage,
        /// The part.
        part: &'a str,
        /// How many parts the list has now.
        placed: u32,
        /// How many parts the list will have; `null` where the plan does not say.
        of: Option<u32>,
        /// Where the mark of the part that goes on next belongs, so that its high spot opposes the others; left out
        /// where none does.
        #[serde(skip_serializing_if = "Option::is_none")]
        next_mark: Option<NextMark>,
        /// The message for a person to read.
        text: String,
    },
    /// The high spot of a part was marked, or is marked no more.
    #[serde(rename = "spot/1")]
    #[cfg_attr(feature = "schemas", schemars(transform = ::words::schema::forms().of(::words::schema::name, "part")))]
    Spotted {
        /// The part.
        part: &'a str,
        /// The mark; `null` where it was taken back.
        spot: Option<SpotLine>,
        /// What the high spots come to as the stack is built now; `null` where none is marked.
        together: Option<TogetherLine>,
        /// The message for a person to read.
        text: String,
    },
    /// A part was replaced by a new one.
    #[serde(rename = "replaced/1")]
    #[cfg_attr(feature = "schemas", schemars(transform = ::words::schema::forms().of(::words::schema::name, "part")))]
    Replaced {
        /// The part.
        part: &'a str,
        /// The message for a person to read.
        text: String,
    },
    /// A remark was recorded.
    #[serde(rename = "noted/1")]
    Noted {
        /// The number of the job.
        job_id: u64,
        /// The message for a person to read.
        text: &'static str,
    },
    /// A job is judged by another rule from now on.
    #[serde(rename = "rule-changed/1")]
    #[cfg_attr(feature = "schemas", schemars(transform = ::words::schema::forms().of(::words::schema::name, "job")))]
    RuleChanged {
        /// The job.
        job: &'a str,
        /// The rule.
        rule: Rule,
        /// The message for a person to read.
        text: String,
    },
    /// The person at a station was set.
    #[serde(rename = "person/1")]
    #[cfg_attr(feature = "schemas", schemars(transform = ::words::schema::forms().of(::words::schema::name, "station")))]
    Person {
        /// The station.
        station: &'a str,
        /// Who works there; `null` where nobody is named.
        person: Option<&'a str>,
        /// The message for a person to read.
        text: String,
    },
    /// A second person checked a job.
    #[serde(rename = "checked/1")]
    Checked(SignedLine<'a>),
    /// A person signed a job: who measured, or who accepts.
    #[serde(rename = "signed/1")]
    Signed(SignedLine<'a>),
    /// What was said about a job was written down.
    #[serde(rename = "intake/1")]
    #[cfg_attr(feature = "schemas", schemars(transform = ::words::schema::forms().of(::words::schema::name, "job")))]
    Intake {
        /// The job.
        job: &'a str,
        /// What it was about.
        told: &'a [IntakeItem],
        /// The message for a person to read.
        text: String,
    },
    /// What was mistyped when a job was opened is corrected.
    #[serde(rename = "edited/1")]
    #[cfg_attr(feature = "schemas", schemars(transform = ::words::schema::forms().of(::words::schema::name, "job")))]
    Edited {
        /// The job.
        job: &'a str,
        /// The spindle's serial number from now on; left out where it was not corrected.
        #[serde(skip_serializing_if = "Option::is_none")]
        serial: Option<&'a str>,
        /// The customer from now on; left out where it was not corrected.
        #[serde(skip_serializing_if = "Option::is_none")]
        customer: Option<&'a str>,
        /// The message for a person to read.
        text: String,
    },
    /// It was decided what becomes of a part.
    #[serde(rename = "decided/1")]
    #[cfg_attr(feature = "schemas", schemars(transform = ::words::schema::forms().of(::words::schema::name, "part")))]
    Decided {
        /// The part.
        part: &'a str,
        /// What becomes of it.
        outcome: Outcome,
        /// The message for a person to read.
        text: String,
    },
    /// The serial number of a part was written down.
    #[serde(rename = "serial/1")]
    #[cfg_attr(feature = "schemas", schemars(transform = ::words::schema::forms().of(::words::schema::name, "part")))]
    Serial {
        /// The part.
        part: &'a str,
        /// The number.
        serial: &'a str,
        /// The number it had before; `null` where it had none, or this one.
        before: Option<&'a str>,
        /// The message for a person to read.
        text: String,
    },
    /// A gauge is being proved, or its proof is over.
    #[serde(rename = "proving/1")]
    Proving(Box<ProvingLine>),
    /// The register has a new entry.
    #[serde(rename = "registered/1")]
    Registered(Box<RegisteredLine>),
    /// A picture or a paper was attached.
    #[serde(rename = "attached/1")]
    Attached(Box<AttachedReply<'a>>),
    /// An attachment was taken back.
    #[serde(rename = "attached-taken-back/1")]
    AttachedTakenBack(TakenBackReply),
    /// All open alerts, or those of a job, are marked as seen.
    #[serde(rename = "all-seen/1")]
    AllSeen {
        /// The alerts that nobody had seen before, oldest first.
        ids: Vec<u64>,
        /// The message for a person to read.
        text: String,
    },
    /// An alert was marked as seen.
    #[serde(rename = "seen/1")]
    Seen {
        /// The number of the alert.
        id: u64,
        /// The message for a person to read.
        text: String,
    },
}

/// A job, after something was done with it.
#[derive(Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::name, "job station"))
)]
pub(crate) struct JobLine<'a> {
    /// Its number in the record.
    id: u64,
    /// Its name.
    job: &'a str,
    /// The station where it is in use; `null` where it is in use at none.
    station: Option<&'a str>,
    /// The message for a person to read.
    text: String,
}

/// What a station measures.
#[derive(Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::name, "station job part check"))
)]
pub(crate) struct MeasuringLine<'a> {
    /// The station.
    station: &'a str,
    /// The job.
    job: &'a str,
    /// The part.
    part: &'a str,
    /// The check.
    check: &'a str,
    /// Which attempt at the check, counted from 1.
    attempt: u32,
    /// What the next touch is.
    next: Next,
    /// The position of the next touch; `null` where it has none.
    next_position: Option<u32>,
    /// Where the next touch is, where the number of the position does not say it.
    place: Option<&'a str>,
    /// Which touch at that position is next, counted from 1; `null` where one touch fills a position.
    next_touch: Option<u32>,
    /// How often each position is touched.
    touches: u32,
    /// How many touches count so far.
    taken: u32,
    /// How many touches the check needs.
    of: u32,
    /// What it asks for, where it is answered and not touched.
    #[serde(flatten)]
    asks: Option<AsksLine>,
    /// The standing verdict as a sentence, once the series is complete.
    came_to: Option<&'a str>,
    /// A remark on the gauge, or on the digits that were typed.
    #[serde(skip_serializing_if = "Option::is_none")]
    gauge_says: Option<&'a str>,
    /// The alerts that the newest touches raised.
    #[serde(skip_serializing_if = "<[String]>::is_empty")]
    raised: &'a [String],
    /// The checks with touches that were left for this one.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    left: Vec<LeftLine<'a>>,
    /// What has to be measured again because of a grind that was reported.
    #[serde(skip_serializing_if = "Option::is_none")]
    measure_again: Option<&'a [String]>,
    /// Whether it was active and under way already, so that nothing had to be done.
    already: bool,
    /// The message for a person to read.
    text: String,
}

/// A check that was left for another one.
#[derive(Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
struct LeftLine<'a> {
    /// The check: `PART/CHECK`.
    target: &'a str,
    /// How many of its touches count.
    taken: u32,
    /// How many touches it needs.
    of: u32,
    /// Whether it has ended as incomplete; if not, it goes on where it was.
    ended: bool,
}

impl<'a> LeftLine<'a> {
    fn of(left: &'a Left) -> Self {
        let Left { target, taken, of, ended } = left;
        Self { target, taken: *taken, of: *of, ended: *ended }
    }
}

impl<'a> From<&'a Done> for DoneLine<'a> {
    fn from(done: &'a Done) -> Self {
        match done {
            Done::Job { what, id, name, station, active } => {
                job_line((*what, active.as_deref()), *id, name.as_str(), station.as_ref())
            }
            Done::Measuring(now) => Self::Measuring(now.into()),
            Done::Already(now) => Self::Measuring(MeasuringLine { already: true, ..now.into() }),
            Done::Stopped { station, incomplete, untouched } => Self::Stopped {
                station: station.as_str(),
                incomplete: incomplete.map(|id| id.0),
                text: stopped(*incomplete, untouched.as_deref()),
            },
            Done::Entered { readings, measuring } => Self::Entered {
                ids: readings.iter().map(|id| id.0).collect(),
                measuring: measuring.into(),
                text: entered(readings.len(), measuring),
            },
            Done::Taken { reading, value, state, measuring } => Self::Taken {
                id: reading.0,
                value: value.number(),
                unit: value.unit,
                state: *state,
                measuring: measuring.into(),
                text: taken(*value, *state, measuring),
            },
            Done::Seated { seating, deg, taken_back, measuring } => {
                seated_line((*seating, *deg), *taken_back, measuring)
            }
            Done::Tapped { tapped, marks, next_deg, measuring } => {
                let (tapped, marks, next_deg) = (*tapped, *marks, *next_deg);
                let text = tap_sentence(tapped, marks, next_deg);
                Self::Tapped { tapped, marks, next_deg, measuring: measuring.into(), text }
            }
            Done::Swept { samples, state, measuring } => Self::Swept {
                samples: *samples,
                state: *state,
                measuring: measuring.into(),
                text: swept(*samples, *state, measuring),
            },
            Done::Voided { reading, position, measuring } => {
                voided_line(*reading, *position, measuring.as_ref())
            }
            Done::Skipped { position, measuring } => skipped_line(*position, measuring),
            Done::MasterNext { measuring } => Self::Master(measuring.into()),
            Done::Answered { target, text, word } => Self::Answered {
                target,
                answer: text,
                verdict: *word,
                text: answered(target, text, *word),
            },
            Done::Stacked { .. } | Done::Spotted { .. } | Done::Replaced { .. } => of_parts(done),
            Done::Noted { job } => Self::Noted { job_id: job.0, text: "Written down." },
            Done::RuleChanged { name, rule } => rule_line(name.as_str(), *rule),
            Done::PersonAt { station, person } => person_line(station, person.as_ref()),
            Done::Signed { .. }
            | Done::Told { .. }
            | Done::Edited { .. }
            | Done::Decided { .. }
            | Done::Serial { .. } => of_card(done),
            Done::Proving(now) => Self::Proving(Box::new((&**now).into())),
            Done::Registered { id, entry } => registered_line(*id, entry),
            Done::Attached(_) | Done::AttachedTakenBack { .. } => of_papers(done),
            Done::AllSeen { alerts, job } => Self::AllSeen {
                ids: alerts.iter().map(|id| id.0).collect(),
                text: all_seen(alerts.len(), job.as_ref()),
            },
            Done::Seen { alert } => {
                Self::Seen { id: alert.0, text: format!("Alert {alert} is marked as seen.") }
            }
        }
    }
}

/// The result of a request about the parts of the stack.
fn of_parts(done: &Done) -> DoneLine<'_> {
    if let Done::Stacked { stage, part, placed, of, next } = done {
        let (stage, placed, of, part) = (*stage, *placed, *of, part.as_str());
        let text = stacked(stage, part, (placed, of), next.as_ref());
        let next_mark = next.as_ref().map(|(part, of)| NextMark::of(part, of));
        return DoneLine::Stacked { stage, part, placed, of, next_mark, text };
    }
    if let Done::Spotted { part, spot, together } = done {
        return DoneLine::Spotted {
            part: part.as_str(),
            spot: spot.as_deref().map(SpotLine::of),
            together: TogetherLine::of(together),
            text: spotted(part.as_str(), spot.as_deref(), together),
        };
    }
    let Done::Replaced { part } = done else { unreachable!("these three alone are about parts") };
    let text = format!("{part} is a new one from now on; its checks begin afresh.");
    DoneLine::Replaced { part: part.as_str(), text }
}

fn registered_line(id: Seq, entry: &Registered) -> DoneLine<'static> {
    DoneLine::Registered(Box::new(RegisteredLine::reply(id, entry)))
}

fn rule_line(job: &str, rule: Rule) -> DoneLine<'_> {
    let named = rule.text();
    let text = format!("Attempts of job {job} are judged by the {named} rule from now on.");
    DoneLine::RuleChanged { job, rule, text }
}

/// The result of a request about pictures and papers.
fn of_papers(done: &Done) -> DoneLine<'_> {
    if let Done::Attached(now) = done {
        return DoneLine::Attached(Box::new((&**now).into()));
    }
    let Done::AttachedTakenBack { id, attached } = done else {
        unreachable!("these two alone are about papers")
    };
    DoneLine::AttachedTakenBack(TakenBackReply::of(*id, attached))
}

fn person_line<'a>(station: &'a Name, person: Option<&'a Name>) -> DoneLine<'a> {
    let text = works_at(station, person);
    DoneLine::Person { station: station.as_str(), person: person.map(Name::as_str), text }
}

fn skipped_line(position: u32, measuring: &Measuring) -> DoneLine<'_> {
    let text = format!("Position {position} is left out. {}", next_sentence(measuring));
    DoneLine::Skipped { position, measuring: measuring.into(), text }
}

fn seated_line((seating, deg): (u32, u32), taken_back: bool, now: &Measuring) -> DoneLine<'_> {
    let text = seated(deg, taken_back, now);
    DoneLine::Seated { seating, deg, taken_back, measuring: now.into(), text }
}

fn voided_line(reading: Seq, position: Option<u32>, measuring: Option<&Measuring>) -> DoneLine<'_> {
    let text = voided(reading, position, measuring);
    DoneLine::Voided { id: reading.0, position, measuring: measuring.map(Into::into), text }
}

fn job_line<'a>(
    (what, active): (JobNow, Option<&str>),
    id: Seq,
    job: &'a str,
    station: Option<&'a Name>,
) -> DoneLine<'a> {
    let station = station.map(Name::as_str);
    let line = |text| JobLine { id: id.0, job, station, text };
    match what {
        JobNow::Opened => DoneLine::Opened(line(format!("Job {job} is open and in use."))),
        JobNow::InUse => {
            let stands = active.map_or_else(
                || "No check is active: tenths next begins one.".to_owned(),
                |target| format!("{target} is active."),
            );
            DoneLine::InUse(line(format!("Job {job} is in use. {stands}")))
        }
        JobNow::Closed => DoneLine::Closed(line(format!("Job {job} is closed."))),
        JobNow::Reopened => {
            DoneLine::Reopened(line(format!("Job {job} is open again and in use.")))
        }
    }
}

impl<'a> From<&'a Measuring> for MeasuringLine<'a> {
    fn from(measuring: &'a Measuring) -> Self {
        let (next, next_position) = next_words(measuring.next);
        Self {
            station: measuring.station.as_str(),
            job: measuring.job.as_str(),
            part: measuring.part.as_str(),
            check: measuring.check.as_str(),
            attempt: measuring.attempt,
            next,
            next_position,
            place: measuring.place.as_deref(),
            next_touch: measuring.nth.map(|nth| nth.touch),
            touches: measuring.touches,
            taken: measuring.taken,
            of: measuring.of,
            asks: measuring.asks.as_ref().map(Into::into),
            came_to: measuring.came_to.as_deref(),
            gauge_says: measuring.gauge_says.as_deref(),
            raised: &measuring.raised,
            left: measuring.left.iter().map(LeftLine::of).collect(),
            measure_again: measuring.ground.as_deref(),
            already: false,
            text: measuring_sentence(measuring),
        }
    }
}
