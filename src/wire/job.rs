//! `job/1`.

use serde::Serialize;

use crate::quantity::Wall;
use crate::store::JobRecord;

use super::text::json_text;

/// How far a check of a job is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CheckStanding {
    /// The part.
    pub part: String,
    /// The check.
    pub check: String,
    /// The characteristic.
    pub measures: String,
    /// The newest attempt that has a verdict, counted from 1.
    pub attempt: Option<u32>,
    /// The word of its standing verdict.
    pub verdict: Option<String>,
}

/// A job as one line of JSON, without its end.
#[must_use]
pub fn job_line(record: &JobRecord) -> String {
    json_text(&JobLine::of(record, None))
}

/// A job with every check of its plan, in plan order, as one line of JSON without its end.
#[must_use]
pub fn job_show_line(record: &JobRecord, checks: &[CheckStanding]) -> String {
    json_text(&JobLine::of(record, Some(checks)))
}

#[derive(Serialize)]
struct JobLine<'a> {
    schema: &'static str,
    id: u64,
    name: &'a str,
    state: &'static str,
    plan: &'a str,
    serial: Option<&'a str>,
    customer: Option<&'a str>,
    by: Option<&'a str>,
    opened_at: String,
    closed_at: Option<String>,
    notes: Vec<NoteLine<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    checks: Option<&'a [CheckStanding]>,
}

#[derive(Serialize)]
struct NoteLine<'a> {
    at: String,
    text: &'a str,
}

impl<'a> JobLine<'a> {
    fn of(record: &'a JobRecord, checks: Option<&'a [CheckStanding]>) -> Self {
        let note = |(at, text): &'a (Wall, String)| NoteLine { at: at.to_string(), text };
        Self {
            schema: "job/1",
            id: record.id.0,
            name: record.name.as_str(),
            state: if record.closed_at.is_some() { "closed" } else { "open" },
            plan: record.plan_name.as_str(),
            serial: record.serial.as_deref(),
            customer: record.customer.as_deref(),
            by: record.by.as_deref(),
            opened_at: record.opened_at.to_string(),
            closed_at: record.closed_at.map(|at| at.to_string()),
            notes: record.notes.iter().map(note).collect(),
            checks,
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::bench::Seq;
    use crate::bench::plan::{PinnedPlan, Plan};
    use crate::quantity::{Name, Unit};

    #[test]
    fn a_job_line_has_the_published_shape() {
        let plan = Plan {
            name: "wheelhead".to_owned(),
            unit: Unit::Inch,
            rule: None,
            parts: Vec::new(),
            stack: Vec::new(),
        };
        let at = Wall::parse("2027-03-01").unwrap();
        let record = JobRecord {
            id: Seq(7),
            name: Name::new("J-1042").unwrap(),
            plan_name: Name::new("wheelhead").unwrap(),
            plan: Arc::new(PinnedPlan { text: String::new(), plan }),
            serial: Some("S7".to_owned()),
            customer: None,
            by: Some("ann".to_owned()),
            opened_at: at,
            closed_at: None,
            notes: vec![(at, "came in dirty".to_owned())],
        };
        let expected = concat!(
            r#"{"schema":"job/1","id":7,"name":"J-1042","state":"open","plan":"wheelhead","#,
            r#""serial":"S7","customer":null,"by":"ann","opened_at":"2027-03-01T00:00:00.000Z","#,
            r#""closed_at":null,"notes":[{"at":"2027-03-01T00:00:00.000Z","text":"came in dirty"}]"#,
        );
        assert_eq!(job_line(&record), format!("{expected}}}"));
        let check = CheckStanding {
            part: "inner-spacer".to_owned(),
            check: "face-a".to_owned(),
            measures: "parallelism".to_owned(),
            attempt: Some(2),
            verdict: Some("conforms".to_owned()),
        };
        let closed = JobRecord { closed_at: Some(at), notes: Vec::new(), ..record };
        let line = job_show_line(&closed, &[check]);
        assert!(line.contains(r#""state":"closed""#), "{line}");
        let checks = concat!(
            r#""checks":[{"part":"inner-spacer","check":"face-a","measures":"parallelism","#,
            r#""attempt":2,"verdict":"conforms"}]}"#,
        );
        assert!(line.ends_with(checks), "{line}");
    }
}
