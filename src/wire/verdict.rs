//! `verdict/1`.

use serde::{Deserialize, Serialize};

use ::record::VerdictRecord;
use ::words::{LimitsLine, LimitsTold, Tell, To};
use bench::metal::Standing;
use bench::plan::{Holding, Traits};
use bench::row::AttemptReason;
use bench::verdict::{Answered, FiguresLine, MeanLine, Verdict};
use judgement::{Coverage, Known, Reason, Rule, Word};
use quantity::Unit;

/// One verdict. All lengths are in `unit`, the unit of the tolerance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().called("verdict/1").of(::words::schema::time, "at").of(::words::schema::name, "job part check").of(::words::schema::length, "value uncertainty"))
)]
pub struct VerdictLine {
    /// The name of this shape: `verdict/1`.
    pub schema: String,
    /// Its number in the record; later ones have higher numbers.
    pub id: u64,
    /// When it was written, RFC 3339, UTC.
    pub at: String,
    /// The job.
    pub job: String,
    /// The part.
    pub part: String,
    /// The check.
    pub check: String,
    /// Which attempt at the check, counted from 1.
    pub attempt: u32,
    /// The number of the attempt's row.
    pub attempt_id: u64,
    /// Why the attempt was made.
    pub reason: AttemptReason,
    /// How many attempts were combined: 1 where it uses only its own readings.
    pub tries: u32,
    /// The rows of the attempts whose readings it uses.
    pub combined: Vec<u64>,
    /// The characteristic.
    pub measures: &'static Traits,
    /// The judged figure, in `unit`; `null` where there is none.
    pub value: Option<String>,
    /// The unit of all lengths in the line, that of the tolerance.
    pub unit: Unit,
    /// The limits of the figure, in `unit`: a text for one limit, an object for two, `null` for none.
    pub tolerance: Option<LimitsTold>,
    /// The same as `tolerance`, in one shape for one and for two limits.
    #[serde(default)]
    pub limits: LimitsLine,
    /// The expanded uncertainty of the figure, in `unit`.
    pub uncertainty: Option<String>,
    /// How the uncertainty is known.
    pub uncertainty_from: Known,
    /// The factor by which the standard uncertainty was multiplied; `null` without an uncertainty.
    pub k: Option<f64>,
    /// From how many pairs of readings of one spot the bench's own record shows its repeatability; `null`
    /// where the record has no share in the uncertainty.
    #[serde(default)]
    pub repeat_pairs: Option<u32>,
    /// The degrees of freedom of that repeatability.
    #[serde(default)]
    pub repeat_df: Option<u32>,
    /// The rule of the job, which `verdict` follows.
    pub rule: Rule,
    /// The word of the verdict.
    pub verdict: Word,
    /// The word of the simple rule; `null` where it gives none.
    pub simple: Option<Word>,
    /// The word of the guarded rule; `null` where it gives none.
    pub guarded: Option<Word>,
    /// How many positions the check has.
    pub positions: u32,
    /// How often each position is touched, where it is more than once and the mean counts.
    pub touches: u32,
    /// How many touches count.
    pub taken: u32,
    /// How many positions were left out with a reason.
    pub skipped: u32,
    /// How the part was held; `null` where nothing was touched.
    pub setup: Option<Holding>,
    /// The face that lay on the plate.
    pub down: Option<String>,
    /// The remark on the attempt.
    pub remark: Option<String>,
    /// The answer to a question.
    pub answer: Option<String>,
    /// All answers given to it, oldest first.
    pub answers: Vec<AnswerLine>,
    /// The answers that conform; empty where answers are not judged.
    pub good: Vec<String>,
    /// The mean of the tries at each position; empty for a turn that was swept.
    pub means: Vec<MeanLine>,
    /// The figures beside the judged one; those that do not apply are left out.
    pub figures: FiguresLine,
    /// Advice for the person who measures.
    pub advice: Vec<String>,
    /// The part of the advice that a person must not miss; left out where there is none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cautions: Vec<String>,
    /// Why it was withheld, or may not pass.
    pub reasons: Vec<Reason>,
    /// The number of the newer row of the same attempt; `null` for the newest one.
    pub superseded_by: Option<u64>,
    /// Its present state: `stands`, or why it does not.
    pub standing: Standing,
    /// Who made the last touch or gave the answer.
    pub by: Option<String>,
    /// The process that asked for it, if one did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub caller: Option<super::CallerLine>,
    /// The process that asked for the attempt to begin, if one did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub began_caller: Option<super::CallerLine>,
    /// The bench whose record it is in; only in a look-up over the whole shop.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bench: Option<String>,
}

/// An answer given to a question.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::time, "at"))
)]
pub struct AnswerLine {
    /// The number of the attempt's row.
    pub attempt_id: u64,
    /// The answer.
    pub answer: String,
    /// When it was given.
    pub at: String,
    /// Who gave it.
    pub by: Option<String>,
}

impl From<&VerdictRecord> for VerdictLine {
    fn from(record: &VerdictRecord) -> Self {
        let verdict: &Verdict = &record.verdict;
        let unit = verdict.unit;
        let held = verdict.held().recorded();
        let value = held.value_text();
        Self {
            schema: "verdict/1".to_owned(),
            id: record.id.0,
            at: record.at.to_string(),
            job: record.job.to_string(),
            part: record.part.to_string(),
            check: record.check.to_string(),
            attempt: record.attempt,
            attempt_id: verdict.attempt.0,
            reason: record.reason,
            tries: verdict.tries,
            combined: verdict.combined.iter().map(|id| id.0).collect(),
            measures: record.measures,
            figures: verdict
                .figures
                .tell(&To { unit, judged: verdict.value.zip(value.as_deref()) }),
            value,
            unit,
            tolerance: LimitsTold::of(&held),
            limits: LimitsLine::of(&held),
            uncertainty: held.uncertainty_text(),
            uncertainty_from: verdict.known,
            k: verdict.k.map(Coverage::to_f64),
            repeat_pairs: verdict.repeat.map(|repeat| repeat.pairs),
            repeat_df: verdict.repeat.map(|repeat| repeat.degrees),
            rule: verdict.rule,
            verdict: verdict.word,
            simple: verdict.simple,
            guarded: verdict.guarded,
            positions: verdict.positions,
            touches: verdict.touches,
            taken: verdict.taken,
            skipped: verdict.skipped,
            setup: record.held(),
            down: record.down.clone(),
            remark: record.remark.clone(),
            answer: verdict.answer.clone(),
            answers: verdict.answers.iter().map(AnswerLine::from).collect(),
            good: record.good.clone(),
            means: verdict.means.tell(&To::unit(unit)),
            advice: verdict.advice.clone(),
            cautions: verdict.cautions.clone(),
            reasons: verdict.reasons.clone(),
            superseded_by: record.superseded_by.map(|id| id.0),
            standing: record.standing,
            by: record.by.as_ref().map(ToString::to_string),
            caller: record.caller.as_ref().map(super::CallerLine::from),
            began_caller: record.began_caller.as_ref().map(super::CallerLine::from),
            bench: None,
        }
    }
}

impl From<&Answered> for AnswerLine {
    fn from(answered: &Answered) -> Self {
        let (attempt_id, answer) = (answered.attempt.0, answered.text.clone());
        let by = answered.by.as_ref().map(ToString::to_string);
        Self { attempt_id, answer, at: answered.at.to_string(), by }
    }
}
