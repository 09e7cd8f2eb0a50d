//! The facts without a table of their own: each with its word, whose it is, and all that it says.

use bench::row::Body;
use bench::{ParsePlan, Seq};
use quantity::Name;

use super::body::Faulty;
use super::read::{Read, SqlRow, damaged, reference};

/// What a row of the table `step` holds beside its number and time.
pub(super) struct Step<'a> {
    pub(super) kind: &'static str,
    pub(super) of: Whose<'a>,
    pub(super) body: String,
}

/// Whose a fact is: what the table is searched by.
#[derive(Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Whose<'a> {
    pub(super) station: Option<&'a Name>,
    /// Of a fact of an attempt the table has the attempt's.
    pub(super) job: Option<Seq>,
    pub(super) attempt: Option<Seq>,
}

impl<'a> Step<'a> {
    pub(super) fn of(body: &'a Body) -> Result<Self, Faulty> {
        let of = whose(body).ok_or("it has a table of its own")?;
        let text = serde_json::to_string(body).map_err(|error| error.to_string())?;
        Ok(Self { kind: body.kind(), of, body: text })
    }
}

/// Whose a fact of this table is; `None` where it is none of this table.
fn whose(body: &Body) -> Option<Whose<'_>> {
    let of = Whose::default();
    Some(match body {
        Body::Started { .. } => of,
        Body::JobActive { station, job } => Whose { station: Some(station), job: *job, ..of },
        Body::PersonAt { station, .. } => Whose { station: Some(station), ..of },
        Body::CheckActive { station, attempt } => {
            Whose { station: Some(station), attempt: *attempt, ..of }
        }
        Body::JobClosed { job }
        | Body::JobReopened { job }
        | Body::StackPlaced { job, .. }
        | Body::StackTaken { job, .. }
        | Body::PartReplaced { job, .. }
        | Body::WentOn { job, .. }
        | Body::RuleChanged { job, .. }
        | Body::Checked { job }
        | Body::Noted { job, .. } => Whose { job: Some(*job), ..of },
        Body::AttemptEnded { attempt, .. }
        | Body::Skipped { attempt, .. }
        | Body::Asked { attempt, .. }
        | Body::MasterNext { attempt }
        | Body::Seated { attempt, .. }
        | Body::TurnUnderWay { attempt, .. }
        | Body::Swept { attempt, .. }
        | Body::Answered { attempt, .. } => Whose { attempt: Some(*attempt), ..of },
        Body::JobOpened(_)
        | Body::AttemptBegan(_)
        | Body::Reading(_)
        | Body::Marked { .. }
        | Body::Verdict(_)
        | Body::AlertRaised(_)
        | Body::AlertSeen { .. }
        | Body::AlertCleared { .. }
        | Body::FileTaken(_)
        | Body::FileRefused(_) => return None,
    })
}

/// The fact that a row of the table is. What it is searched by has to be what it says.
pub(super) fn body_of(id: Seq, row: &SqlRow<'_>) -> Read<Body> {
    let no_plan: ParsePlan = |_| Err("no plan stands here".to_owned());
    let (kind, text): (String, String) = (row.get("kind")?, row.get("body")?);
    let read = Body::read(&kind, &mut serde_json::Deserializer::from_str(&text), no_plan);
    let body = read.map_err(|error| damaged(id, format!("{kind}: {error}")))?;
    let body = body.ok_or_else(|| damaged(id, format!("step {kind:?}")))?;
    let of = whose(&body).ok_or_else(|| damaged(id, format!("step {kind:?}")))?;
    let station: Option<String> = row.get("station")?;
    let (job, attempt) = (reference(row, "job")?, reference(row, "attempt")?);
    // The job of an attempt's fact is the attempt's; a boot that came with a job has that beside it.
    let free =
        (of.attempt.is_some() && of.station.is_none()) || matches!(body, Body::Started { .. });
    let is_its = of.station.map(Name::as_str) == station.as_deref()
        && of.attempt == attempt
        && (free || of.job == job);
    if is_its {
        Ok(body)
    } else {
        Err(damaged(id, format!("{kind} is not of what it stands under")))
    }
}
