//! The rows that fit one table: who, what, and a number or a text.

use std::borrow::Cow;
use std::sync::Arc;

use super::read::{Read, SqlRow, damaged, known, name, number, reference};
use super::{body, words};
use bench::Seq;
use bench::row::Body;
use bench::sweep::Taps;
use quantity::Name;

/// What a row of the table `step` holds.
#[derive(Default)]
pub(super) struct Step<'a> {
    pub(super) kind: &'static str,
    pub(super) station: Option<&'a Name>,
    pub(super) job: Option<Seq>,
    pub(super) attempt: Option<Seq>,
    pub(super) number: Option<i64>,
    pub(super) text: Option<Cow<'a, str>>,
}

impl<'a> Step<'a> {
    fn of(kind: &'static str) -> Self {
        Self { kind, ..Self::default() }
    }

    pub(super) fn of_job(kind: &'static str, job: Seq) -> Self {
        Self { job: Some(job), ..Self::of(kind) }
    }

    fn of_attempt(kind: &'static str, attempt: Seq) -> Self {
        Self { attempt: Some(attempt), ..Self::of(kind) }
    }

    fn saying(self, text: &'a str) -> Self {
        Self { text: Some(text.into()), ..self }
    }

    /// The step that a body is; its job is still missing where it is one of an attempt.
    pub(super) fn plain(body: &'a Body) -> Result<Self, body::Faulty> {
        Ok(if let Body::Started { boot } = body {
            Self { number: Some(boot.cast_signed()), ..Self::of("started") }
        } else if let Body::JobActive { station, job } = body {
            Self { station: Some(station), job: *job, ..Self::of("job-active") }
        } else if let Body::CheckActive { station, attempt } = body {
            Self { station: Some(station), attempt: *attempt, ..Self::of("check-active") }
        } else if let Body::AttemptEnded { attempt, ending } = body {
            Self::of_attempt("attempt-ended", *attempt).saying(words::ending_text(*ending))
        } else if let Body::Skipped { attempt, position, why } = body {
            let number = Some(i64::from(*position));
            Self { number, ..Self::of_attempt("skipped", *attempt).saying(why) }
        } else if let Body::Asked { attempt, question } = body {
            let text = question.map(|question| words::question_text(question).into());
            Self { text, ..Self::of_attempt("asked", *attempt) }
        } else if let Body::MasterNext { attempt } = body {
            Self::of_attempt("master-next", *attempt)
        } else if let Body::Answered { attempt, text } = body {
            Self::of_attempt("answered", *attempt).saying(text)
        } else if let Body::StackPlaced { job, stage, item } = body {
            let text = Some(body::placed_text(*stage, item)?.into());
            Self { text, ..Self::of_job("stack-placed", *job) }
        } else if let Body::StackTaken { job, stage } = body {
            Self::of_job("stack-taken", *job).saying(stage.text())
        } else if let Body::PartReplaced { job, part, serial, why } = body {
            let text = Some(body::replaced_text(serial.as_deref(), why)?.into());
            Self { number: Some((*part).into()), text, ..Self::of_job("part-replaced", *job) }
        } else if let Body::WentOn { job, went } = body {
            let text = Some(body::went_on_text(went)?.into());
            Self { number: went.part.map(i64::from), text, ..Self::of_job("went-on", *job) }
        } else if let Body::Swept { attempt, taps } = body {
            let text = Some(body::taps_text(taps)?.into());
            Self { number: Some(taps.samples.into()), text, ..Self::of_attempt("swept", *attempt) }
        } else if let Body::PersonAt { station, person } = body {
            let text = person.as_ref().map(|person| person.as_str().into());
            Self { station: Some(station), text, ..Self::of("person") }
        } else if let Body::RuleChanged { job, rule, why } = body {
            let text = format!("{}: {why}", words::rule_text(*rule));
            Self { text: Some(text.into()), ..Self::of_job("rule-changed", *job) }
        } else if let Body::Checked { job } = body {
            Self::of_job("checked", *job)
        } else if let Body::Seated { attempt, seating, taken_back } = body {
            let kind = if *taken_back { "seating-taken-back" } else { "seated" };
            Self { number: Some((*seating).into()), ..Self::of_attempt(kind, *attempt) }
        } else if let Body::TurnUnderWay { attempt, under_way } = body {
            Self::of_attempt(if *under_way { "turn-begun" } else { "turn-dropped" }, *attempt)
        } else if let Body::Noted { job, text } = body {
            Self::of_job("noted", *job).saying(text)
        } else {
            unreachable!("every other kind of row has a table of its own")
        })
    }
}

/// The body that a row of the table `step` is.
pub(super) fn body_of(id: Seq, row: &SqlRow<'_>) -> Read<Body> {
    let kind: String = row.get("kind")?;
    let (job, attempt) = (reference(row, "job")?, reference(row, "attempt")?);
    let count: Option<i64> = row.get("number")?;
    let text: Option<String> = row.get("text")?;
    let missing = || damaged(id, format!("{kind} lacks a part"));
    let station = || -> Read<Name> {
        let station: Option<String> = row.get("station")?;
        name(id, &station.ok_or_else(missing)?)
    };
    let its_attempt = || attempt.ok_or_else(missing);
    let its_job = || job.ok_or_else(missing);
    let its_text = || text.clone().ok_or_else(missing);
    let faulty = |what| damaged(id, format!("{kind}: {what}"));
    Ok(match kind.as_str() {
        "started" => Body::Started { boot: count.ok_or_else(missing)?.cast_unsigned() },
        "job-closed" => Body::JobClosed { job: its_job()? },
        "job-active" => Body::JobActive { station: station()?, job },
        "check-active" => Body::CheckActive { station: station()?, attempt },
        "attempt-ended" => {
            let text = its_text()?;
            let ending = known(id, "ending", &text, words::ending(&text))?;
            Body::AttemptEnded { attempt: its_attempt()?, ending }
        }
        "skipped" => Body::Skipped {
            attempt: its_attempt()?,
            position: number(id, "position", count.ok_or_else(missing)?)?,
            why: its_text()?,
        },
        "asked" => {
            let question = |text: &String| known(id, "question", text, words::question(text));
            let question = text.as_ref().map(question).transpose()?;
            Body::Asked { attempt: its_attempt()?, question }
        }
        "master-next" => Body::MasterNext { attempt: its_attempt()? },
        "answered" => Body::Answered { attempt: its_attempt()?, text: its_text()? },
        "stack-placed" | "stack-taken" | "part-replaced" | "went-on" => {
            of_assembly(id, (&kind, its_job()?), count, &its_text()?)?
        }
        "swept" => {
            let samples = number(id, "samples", count.ok_or_else(missing)?)?;
            let at_us = body::taps(&its_text()?).map_err(faulty)?;
            Body::Swept { attempt: its_attempt()?, taps: Arc::new(Taps { at_us, samples }) }
        }
        "person" => {
            let person = text.as_deref().map(|text| name(id, text)).transpose()?;
            Body::PersonAt { station: station()?, person }
        }
        "rule-changed" => {
            let text = its_text()?;
            let (rule, why) = text.split_once(": ").ok_or_else(missing)?;
            let rule = known(id, "rule", rule, words::rule(rule))?;
            Body::RuleChanged { job: its_job()?, rule, why: why.to_owned() }
        }
        "checked" => Body::Checked { job: its_job()? },
        "seated" | "seating-taken-back" => Body::Seated {
            attempt: its_attempt()?,
            seating: number(id, "seating", count.ok_or_else(missing)?)?,
            taken_back: kind == "seating-taken-back",
        },
        "turn-begun" | "turn-dropped" => {
            Body::TurnUnderWay { attempt: its_attempt()?, under_way: kind == "turn-begun" }
        }
        "noted" => Body::Noted { job: its_job()?, text: its_text()? },
        _ => return Err(damaged(id, format!("step {kind:?}"))),
    })
}

/// The stack, a new part, or what went on in spite of something.
fn of_assembly(id: Seq, (kind, job): (&str, Seq), count: Option<i64>, text: &str) -> Read<Body> {
    let faulty = |what| damaged(id, format!("{kind}: {what}"));
    let part = || count.map(|part| number(id, "part", part)).transpose();
    Ok(match kind {
        "stack-placed" => {
            let (stage, item) = body::placed(text).map_err(faulty)?;
            Body::StackPlaced { job, stage, item: Arc::new(item) }
        }
        "stack-taken" => {
            Body::StackTaken { job, stage: known(id, "list", text, words::stage(text))? }
        }
        "part-replaced" => {
            let (serial, why) = body::replaced(text).map_err(faulty)?;
            let part = part()?.ok_or_else(|| damaged(id, format!("{kind} lacks a part")))?;
            Body::PartReplaced { job, part, serial, why }
        }
        _ => Body::WentOn { job, went: Arc::new(body::went_on(part()?, text).map_err(faulty)?) },
    })
}
