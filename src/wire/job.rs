//! `job/1`.

mod card;

use serde::Serialize;

use super::spot::{MarkOffLine, SpotLine, TogetherLine};
use ::record::{
    Caller, JobRecord, MarkedSpot, Remark, ReplacedPart, RuleChange, SignatureRecord, StackedPart,
    WentOnRecord,
};
use bench::metal::Standing;
use bench::plan::Traits;
use bench::row::{Lack, Role};
use judgement::{Rule, Word};
use quantity::Name;

use self::card::{AtLine, CardLine};
pub use self::card::{PartNow, parts_now};
use super::text::json_text;

/// The state of one check of a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::name, "part check"))
)]
pub struct CheckStanding {
    /// The part.
    pub part: String,
    /// The check.
    pub check: String,
    /// The characteristic.
    pub measures: &'static Traits,
    /// The newest attempt that has a verdict, counted from 1.
    pub attempt: Option<u32>,
    /// The word of its standing verdict.
    pub verdict: Option<Word>,
    /// The question, where the check is a question or an entry.
    pub question: Option<String>,
    /// The answer given or the value written down; `null` where there is none.
    pub answer: Option<String>,
    /// The present state of that verdict, as in `verdict/1`; `null` without a verdict.
    pub standing: Option<Standing>,
    /// The process that asked for the answer, if one did.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub answer_caller: Option<super::CallerLine>,
}

/// What is shown of a job in addition to the details it was opened with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobShown<'a> {
    /// All checks of its plan, in the order of the plan.
    pub checks: &'a [CheckStanding],
    /// The positions that were left out, by attempt.
    pub left_out: &'a [LeftOutLine],
    /// The parts of its plan, and what became of each.
    pub parts: &'a [PartNow],
    /// Whether the plan's file has changed since; `None` where that cannot be found out.
    pub plan_changed: Option<bool>,
    /// Its bench, in a look-up over the whole shop.
    pub bench: Option<&'a str>,
}

/// A position that somebody left out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::time, "at").of(::words::schema::name, "part check"))
)]
pub struct LeftOutLine {
    /// When, RFC 3339, UTC.
    pub at: String,
    /// The part.
    pub part: String,
    /// The check.
    pub check: String,
    /// Which attempt at it, counted from 1.
    pub attempt: u32,
    /// The position.
    pub position: u32,
    /// Why.
    pub why: String,
    /// Who left it out.
    pub by: Option<String>,
    /// The process that asked for it, if one did.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub caller: Option<super::CallerLine>,
}

/// A job with all checks of its plan, the stack and the replaced parts, as one line of JSON without its
/// line end.
#[must_use]
pub fn job_show_line(record: &JobRecord, shown: &JobShown<'_>) -> String {
    json_text(&JobLine::of(record, Some(shown)))
}

quantity::worded! {
    /// Whether a job is open.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum JobState {
        /// It is worked at.
        Open = "open",
        /// It is over; it can be opened again.
        Closed = "closed",
    }
}

impl JobState {
    /// That of a job.
    #[must_use]
    pub const fn of(record: &JobRecord) -> Self {
        if record.closed_at.is_some() { Self::Closed } else { Self::Open }
    }
}

quantity::worded! {
    /// What somebody did in spite of checks that are not in order.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    enum WentOn {
        /// The job was closed.
        Close = "close",
        /// A part was built into the stack.
        Stack = "stack",
    }
}

/// A job. The fields after `closed_caller` are given by `tenths job show` only.
#[derive(Debug, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("job/1").of(::words::schema::name, "name plan").of(::words::schema::time, "opened_at closed_at"))
)]
pub struct JobLine<'a> {
    /// The name of this shape: `job/1`.
    schema: &'static str,
    /// Its number in the record; later ones have higher numbers.
    id: u64,
    /// Its name.
    name: &'a str,
    /// Whether it is open.
    state: JobState,
    /// The plan it was opened with.
    plan: &'a str,
    /// The serial number of its spindle.
    serial: Option<&'a str>,
    /// Whose spindle it is.
    customer: Option<&'a str>,
    /// Who opened it.
    by: Option<&'a str>,
    /// When it was opened, RFC 3339, UTC.
    opened_at: String,
    /// When it was closed, RFC 3339, UTC; `null` while it is open.
    closed_at: Option<String>,
    /// The remarks on it, oldest first.
    notes: Vec<NoteLine<'a>>,
    /// The second persons who checked it, oldest first.
    checked: Vec<CheckedLine<'a>>,
    /// The rule that it is judged by now.
    rule: Rule,
    /// Who closed it.
    closed_by: Option<&'a str>,
    /// The process that asked for it to be opened, if one did.
    #[serde(skip_serializing_if = "Option::is_none")]
    caller: Option<super::CallerLine>,
    /// The process that asked for it to be closed, if one did.
    #[serde(skip_serializing_if = "Option::is_none")]
    closed_caller: Option<super::CallerLine>,
    /// The bench whose record it is in; only in a look-up over the whole shop.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) bench: Option<&'a str>,
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    at: Option<AtLine<'a>>,
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    more: Option<More<'a>>,
}

/// What is added where a single job is shown.
#[derive(Debug, Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
struct More<'a> {
    /// Whether the plan's file has changed since; `null` where that cannot be found out.
    plan_changed: Option<bool>,
    /// The stack of parts on the shaft.
    stack: StackLine<'a>,
    /// The parts that were replaced by new ones, oldest first.
    replaced: Vec<ReplacedLine<'a>>,
    /// Where somebody went on in spite of checks that are not in order, oldest first.
    went_on: Vec<WentOnLine<'a>>,
    /// Changes of the rule, oldest first.
    rules: Vec<RuleLine<'a>>,
    /// All checks of its plan, in the order of the plan.
    checks: &'a [CheckStanding],
    /// The positions that were left out, by attempt.
    left_out: &'a [LeftOutLine],
    #[serde(flatten)]
    card: CardLine<'a>,
}

/// The stack of parts on the shaft.
#[derive(Debug, Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
struct StackLine<'a> {
    /// The stack as it was taken apart.
    found: Vec<StackedLine<'a>>,
    /// The stack as it is put together.
    built: Vec<StackedLine<'a>>,
    /// The marked high spots that count; left out where none is.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    high_spots: Vec<MarkedLine<'a>>,
    /// What they come to as the stack is built; left out where none is marked.
    #[serde(skip_serializing_if = "Option::is_none")]
    together: Option<TogetherLine>,
}

/// The marked high spot of a part.
#[derive(Debug, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::time, "at").of(::words::schema::name, "part"))
)]
struct MarkedLine<'a> {
    /// When it was marked.
    at: String,
    /// The part.
    part: &'a str,
    /// The mark.
    mark: SpotLine,
    /// Who wrote it down.
    by: Option<&'a str>,
    /// The process that asked for it, if one did.
    #[serde(skip_serializing_if = "Option::is_none")]
    caller: Option<super::CallerLine>,
}

/// A part of the stack, and how it sits.
#[derive(Debug, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::name, "part"))
)]
struct StackedLine<'a> {
    /// The part.
    part: &'a str,
    /// The face towards the nose.
    towards_nose: Option<&'a str>,
    /// The angle of its mark in whole degrees, from the index mark of the shaft.
    mark_deg: Option<u16>,
    /// Its serial number.
    serial: Option<&'a str>,
    /// Who recorded it.
    by: Option<&'a str>,
    /// The process that asked for it, if one did.
    #[serde(skip_serializing_if = "Option::is_none")]
    caller: Option<super::CallerLine>,
}

/// A part that was replaced by a new one.
#[derive(Debug, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::time, "at").of(::words::schema::name, "part"))
)]
struct ReplacedLine<'a> {
    /// When, RFC 3339, UTC.
    at: String,
    /// The part.
    part: &'a str,
    /// The serial number of the new one.
    serial: Option<&'a str>,
    /// Why.
    why: &'a str,
    /// Who did it; `null` where that is not known.
    by: Option<&'a str>,
    /// The process that asked for it, if one did.
    #[serde(skip_serializing_if = "Option::is_none")]
    caller: Option<super::CallerLine>,
}

/// An occasion where somebody went on in spite of checks that are not in order.
#[derive(Debug, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::time, "at").of(::words::schema::name, "part"))
)]
struct WentOnLine<'a> {
    /// When, RFC 3339, UTC.
    at: String,
    /// What was done in spite of them.
    what: WentOn,
    /// The part that was built; `null` where the job was closed.
    part: Option<&'a str>,
    /// The checks in question.
    checks: Vec<LackLine<'a>>,
    /// Of a part whose mark stood otherwise than its high spot asks for; left out of others.
    #[serde(skip_serializing_if = "Option::is_none")]
    mark: Option<MarkOffLine>,
    /// Why.
    why: &'a str,
    /// Who did it; `null` where that is not known.
    by: Option<&'a str>,
    /// The process that asked for it, if one did.
    #[serde(skip_serializing_if = "Option::is_none")]
    caller: Option<super::CallerLine>,
}

/// A change of the rule by which the job is judged.
#[derive(Debug, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::time, "at"))
)]
struct RuleLine<'a> {
    /// When, RFC 3339, UTC.
    at: String,
    /// The rule.
    rule: Rule,
    /// Why.
    why: &'a str,
    /// Who did it; `null` where that is not known.
    by: Option<&'a str>,
    /// The process that asked for it, if one did.
    #[serde(skip_serializing_if = "Option::is_none")]
    caller: Option<super::CallerLine>,
}

/// A check that is not in order.
#[derive(Debug, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::name, "part check"))
)]
struct LackLine<'a> {
    /// The part.
    part: &'a str,
    /// The check.
    check: &'a str,
    /// What is wrong with it.
    lack: Lack,
}

/// Checks that are not in order.
fn lack_lines(lacking: &[(Name, Name, Lack)]) -> Vec<LackLine<'_>> {
    let mut lines = Vec::new();
    for (part, check, lack) in lacking {
        lines.push(LackLine { part: part.as_str(), check: check.as_str(), lack: *lack });
    }
    lines
}

/// The process that asked for something, as it is published.
fn caller_line(caller: Option<&Caller>) -> Option<super::CallerLine> {
    caller.map(super::CallerLine::from)
}

impl<'a> MarkedLine<'a> {
    fn of(marked: &'a MarkedSpot) -> Self {
        Self {
            at: marked.at.to_string(),
            part: marked.part.as_str(),
            mark: SpotLine::of(&marked.spot),
            by: marked.by.as_ref().map(Name::as_str),
            caller: caller_line(marked.caller.as_ref()),
        }
    }
}

impl<'a> WentOnLine<'a> {
    fn of(went: &'a WentOnRecord) -> Self {
        Self {
            at: went.at.to_string(),
            what: if went.part.is_some() { WentOn::Stack } else { WentOn::Close },
            part: went.part.as_ref().map(Name::as_str),
            checks: lack_lines(&went.lacking),
            mark: went.mark.map(MarkOffLine::of),
            why: &went.why,
            by: went.by.as_ref().map(Name::as_str),
            caller: caller_line(went.caller.as_ref()),
        }
    }
}

impl<'a> More<'a> {
    fn of(record: &'a JobRecord, shown: &JobShown<'a>) -> Self {
        let stacked = |item: &'a StackedPart| StackedLine {
            part: item.part.as_str(),
            towards_nose: item.towards_nose.as_deref(),
            mark_deg: item.mark_deg,
            serial: item.serial.as_deref(),
            by: item.by.as_ref().map(Name::as_str),
            caller: caller_line(item.caller.as_ref()),
        };
        let list = |parts: &'a [StackedPart]| parts.iter().map(stacked).collect();
        let replaced = |part: &'a ReplacedPart| ReplacedLine {
            at: part.at.to_string(),
            part: part.part.as_str(),
            serial: part.serial.as_deref(),
            why: &part.why,
            by: part.by.as_ref().map(Name::as_str),
            caller: caller_line(part.caller.as_ref()),
        };
        let rule = |change: &'a RuleChange| RuleLine {
            at: change.at.to_string(),
            rule: change.rule,
            why: &change.why,
            by: change.by.as_ref().map(Name::as_str),
            caller: caller_line(change.caller.as_ref()),
        };
        Self {
            plan_changed: shown.plan_changed,
            stack: StackLine {
                found: list(&record.stack.found),
                built: list(&record.stack.built),
                high_spots: record.stack.spots.iter().map(MarkedLine::of).collect(),
                together: record.stack.together.as_ref().and_then(TogetherLine::of),
            },
            replaced: record.replaced.iter().map(replaced).collect(),
            went_on: record.went_on.iter().map(WentOnLine::of).collect(),
            rules: record.rules.iter().map(rule).collect(),
            checks: shown.checks,
            left_out: shown.left_out,
            card: CardLine::of(record, shown.parts),
        }
    }
}

/// A remark.
#[derive(Debug, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::time, "at"))
)]
struct NoteLine<'a> {
    /// When, RFC 3339, UTC.
    at: String,
    /// The remark.
    text: &'a str,
    /// Who wrote it.
    by: Option<&'a str>,
    /// The process that asked for it, if one did.
    #[serde(skip_serializing_if = "Option::is_none")]
    caller: Option<super::CallerLine>,
}

/// A check of the job by a second person.
#[derive(Debug, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::time, "at"))
)]
struct CheckedLine<'a> {
    /// When, RFC 3339, UTC.
    at: String,
    /// Who checked it.
    by: &'a str,
    /// Whether something was measured or changed since.
    of_an_earlier_state: bool,
    /// The process that asked for it, if one did.
    #[serde(skip_serializing_if = "Option::is_none")]
    caller: Option<super::CallerLine>,
}

impl<'a> JobLine<'a> {
    pub(super) fn of(record: &'a JobRecord, shown: Option<&JobShown<'a>>) -> Self {
        let note = |note: &'a Remark| NoteLine {
            at: note.at.to_string(),
            text: &note.text,
            by: note.by.as_ref().map(Name::as_str),
            caller: caller_line(note.caller.as_ref()),
        };
        let checked = |check: &'a SignatureRecord| CheckedLine {
            at: check.at.to_string(),
            by: check.by.as_str(),
            of_an_earlier_state: check.earlier,
            caller: caller_line(check.caller.as_ref()),
        };
        let checks = record.signed.iter().filter(|one| one.role == Role::Checked);
        Self {
            schema: "job/1",
            id: record.id.0,
            name: record.name.as_str(),
            state: JobState::of(record),
            plan: record.plan_name.as_str(),
            serial: record.serial.as_deref(),
            customer: record.customer.as_deref(),
            by: record.by.as_deref(),
            opened_at: record.opened_at.to_string(),
            closed_at: record.closed_at.map(|at| at.to_string()),
            notes: record.notes.iter().map(note).collect(),
            checked: checks.map(checked).collect(),
            rule: record.rule_now(),
            closed_by: record.closed_by.as_ref().map(Name::as_str),
            caller: caller_line(record.callers[0].as_ref()),
            closed_caller: caller_line(record.callers[1].as_ref()),
            bench: shown.and_then(|shown| shown.bench),
            at: record.flow.as_ref().map(AtLine::of),
            more: shown.map(|shown| More::of(record, shown)),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use ::record::StackRecord;
    use bench::Seq;
    use bench::plan::{PinnedPlan, Plan};
    use judgement::Rule;
    use quantity::{Unit, Wall};

    #[test]
    fn a_job_line_has_the_published_shape() {
        let at = Wall::parse("2027-03-01").unwrap();
        let record = open_job(at);
        let expected = concat!(
            r#"{"schema":"job/1","id":7,"name":"J-1042","state":"open","plan":"wheelhead","#,
            r#""serial":"S7","customer":null,"by":"ann","opened_at":"2027-03-01T00:00:00.000Z","#,
            r#""closed_at":null,"notes":[{"at":"2027-03-01T00:00:00.000Z","text":"came in dirty","by":"bob"}],"#,
            r#""checked":[{"at":"2027-03-01T00:00:00.000Z","by":"M. Weber","of_an_earlier_state":true}],"rule":"guarded","closed_by":null"#,
        );
        assert_eq!(crate::Published::line(&record), format!("{expected}}}"));
        let checks = [standing("inner-spacer", "face-a"), asked()];
        let turned = StackedPart {
            towards_nose: Some("thrust-side".to_owned()),
            mark_deg: Some(0),
            serial: Some("B7".to_owned()),
            by: Name::new("ann").ok(),
            ..stacked("bearing-1")
        };
        let replaced = ReplacedPart {
            at,
            by: None,
            part: turned.part.clone(),
            serial: None,
            why: "worn".to_owned(),
            caller: None,
        };
        let closed = JobRecord {
            callers: [None, None],
            closed_at: Some(at),
            closed_by: Name::new("ann").ok(),
            notes: Vec::new(),
            signed: Vec::new(),
            rules: vec![RuleChange {
                at,
                by: None,
                rule: Rule::Simple,
                why: "agreed".to_owned(),
                caller: None,
            }],
            stack: StackRecord { found: vec![turned, stacked("shield")], ..StackRecord::default() },
            replaced: vec![replaced],
            went_on: vec![undecided_shield(at)],
            ..record
        };
        let left_out = [left_out(at)];
        let shown = JobShown {
            checks: &checks,
            left_out: &left_out,
            parts: &[],
            plan_changed: Some(true),
            bench: None,
        };
        let line = job_show_line(&closed, &shown);
        let expected = concat!(
            r#""notes":[],"checked":[],"rule":"simple","closed_by":"ann","plan_changed":true,"stack":{"found":[{"part":"bearing-1","#,
            r#""towards_nose":"thrust-side","mark_deg":0,"serial":"B7","by":"ann"},{"part":"shield","#,
            r#""towards_nose":null,"mark_deg":null,"serial":null,"by":null}],"built":[]},"#,
            r#""replaced":[{"at":"2027-03-01T00:00:00.000Z","part":"bearing-1","serial":null,"#,
            r#""why":"worn","by":null}],"went_on":[{"at":"2027-03-01T00:00:00.000Z","what":"stack","#,
            r#""part":"shield","checks":[{"part":"shield","check":"flat","lack":"undecided"}],"#,
            r#""why":"the owner waits","by":"ann"}],"rules":[{"at":"2027-03-01T00:00:00.000Z","#,
            r#""rule":"simple","why":"agreed","by":null}],"checks":[{"part":"inner-spacer","check":"face-a","#,
            r#""measures":"parallelism","attempt":2,"verdict":"conforms","question":null,"answer":null,"standing":"stands"},"#,
            r#"{"part":"nut","check":"torque","measures":"entry","attempt":1,"verdict":null,"#,
            r#""question":"Torque?","answer":"40 Nm","standing":null}],"left_out":[{"at":"2027-03-01T00:00:00.000Z","#,
            r#""part":"inner-spacer","check":"face-a","attempt":2,"position":5,"why":"a slot","by":"bob"}],"steps":[],"parts":[],"intake":[],"edits":[],"decided":[],"serials":[],"signed":[]}"#,
        );
        assert!(line.ends_with(expected), "{line}");
    }

    fn stacked(name: &str) -> StackedPart {
        StackedPart {
            part: Name::new(name).unwrap(),
            towards_nose: None,
            mark_deg: None,
            serial: None,
            by: None,
            caller: None,
        }
    }

    fn open_job(at: Wall) -> JobRecord {
        let plan = Plan {
            name: "wheelhead".to_owned(),
            unit: Unit::Inch,
            rule: None,
            parts: Vec::new(),
            stack: Vec::new(),
        };
        JobRecord {
            callers: [None, None],
            id: Seq(7),
            name: Name::new("J-1042").unwrap(),
            plan_name: Name::new("wheelhead").unwrap(),
            plan: Arc::new(PinnedPlan { text: String::new(), plan }),
            serial: Some("S7".to_owned()),
            customer: None,
            by: Some("ann".to_owned()),
            opened_at: at,
            closed_at: None,
            closed_by: None,
            notes: vec![Remark {
                at,
                by: Name::new("bob").ok(),
                text: "came in dirty".to_owned(),
                caller: None,
            }],
            rule: Rule::Guarded,
            rules: Vec::new(),
            signed: vec![signature(at)],
            told: Vec::new(),
            edits: Vec::new(),
            decided: Vec::new(),
            serials: Vec::new(),
            flow: None,
            stack: StackRecord::default(),
            replaced: Vec::new(),
            went_on: Vec::new(),
            attached: Vec::new(),
        }
    }

    fn left_out(at: Wall) -> LeftOutLine {
        LeftOutLine {
            at: at.to_string(),
            part: "inner-spacer".to_owned(),
            check: "face-a".to_owned(),
            attempt: 2,
            position: 5,
            why: "a slot".to_owned(),
            by: Some("bob".to_owned()),
            caller: None,
        }
    }

    fn signature(at: Wall) -> SignatureRecord {
        SignatureRecord {
            id: Seq(9),
            at,
            role: Role::Checked,
            by: Name::new("M. Weber").unwrap(),
            seal: "8-0000".to_owned(),
            earlier: true,
            elsewhere: false,
            lacking: Vec::new(),
            why: None,
            caller: None,
        }
    }

    fn undecided_shield(at: Wall) -> WentOnRecord {
        let name = |text: &str| Name::new(text).unwrap();
        WentOnRecord {
            at,
            part: Some(name("shield")),
            lacking: vec![(name("shield"), name("flat"), Lack::Undecided)],
            mark: None,
            why: "the owner waits".to_owned(),
            by: Some(name("ann")),
            caller: None,
        }
    }

    fn standing(part: &str, check: &str) -> CheckStanding {
        CheckStanding {
            part: part.to_owned(),
            check: check.to_owned(),
            measures: bench::plan::Measures::parse("parallelism").expect("a kind"),
            attempt: Some(2),
            verdict: Some(Word::Conforms),
            question: None,
            answer: None,
            standing: Some(Standing::Stands),
            answer_caller: None,
        }
    }

    fn asked() -> CheckStanding {
        CheckStanding {
            measures: bench::plan::Measures::parse("entry").expect("a kind"),
            attempt: Some(1),
            verdict: None,
            question: Some("Torque?".to_owned()),
            answer: Some("40 Nm".to_owned()),
            standing: None,
            ..standing("nut", "torque")
        }
    }
}
