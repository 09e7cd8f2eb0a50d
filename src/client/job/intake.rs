//! `job open` and `job intake`: what was said when a job came in. At a terminal `job open` asks for it.

use clap::builder::NonEmptyStringValueParser;
use clap::{Args, ValueEnum};

use ::bench::Command;
use ::bench::row::IntakeItem;
use judgement::Rule;

use crate::ask::{ask, is_attended};
use crate::change::change;
use crate::failure::Failure;
use crate::global::{Asking, Global};
use crate::screen;

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths job open J-1042 --plan wheelhead --serial SP-77 --customer \"Mill 4\"
  tenths job open J-1043 --plan ring --rule guarded --no-questions")]
pub(crate) struct JobOpenArgs {
    /// A name never used before
    pub(crate) name: String,
    /// The plan: what is measured
    #[arg(long, value_name = "PLAN")]
    pub(crate) plan: String,
    /// The spindle's serial number
    #[arg(long, value_name = "S")]
    pub(crate) serial: Option<String>,
    /// Whose spindle it is
    #[arg(long, value_name = "C")]
    pub(crate) customer: Option<String>,
    #[command(flatten)]
    pub(crate) intake: IntakeArgs,
    /// The rule that was agreed, where it is not that of the plan or the bench
    #[arg(long)]
    pub(crate) rule: Option<RuleWord>,
    /// Ask nothing, also at a terminal
    #[arg(long)]
    pub(crate) no_questions: bool,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

/// What was said when a job came in.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "What was said when it came in")]
pub(crate) struct IntakeArgs {
    /// What the customer says is wrong
    #[arg(long, value_name = "TEXT", value_parser = NonEmptyStringValueParser::new())]
    pub(crate) complaint: Option<String>,
    /// What was asked for
    #[arg(long, value_name = "TEXT", value_parser = NonEmptyStringValueParser::new())]
    pub(crate) asked: Option<String>,
    /// Limits that were agreed, in words; those that are judged stand in the plan
    #[arg(long, value_name = "TEXT", value_parser = NonEmptyStringValueParser::new())]
    pub(crate) limits: Option<String>,
}

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths job intake J-1042 --complaint \"whines above 6000\"
  tenths job intake J-1042 --asked \"new bearings\" --limits \"as the plan has them\"")]
pub(crate) struct JobIntakeArgs {
    /// The job
    pub(crate) name: String,
    #[command(flatten)]
    pub(crate) intake: IntakeArgs,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

/// The two rules.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum RuleWord {
    /// Inside the limit by the uncertainty
    Guarded,
    /// Inside the limit
    Simple,
}

impl RuleWord {
    pub(crate) const fn rule(self) -> Rule {
        match self {
            Self::Guarded => Rule::Guarded,
            Self::Simple => Rule::Simple,
        }
    }
}

impl IntakeArgs {
    fn told(self) -> Vec<(IntakeItem, String)> {
        let all = [
            (IntakeItem::Complaint, self.complaint),
            (IntakeItem::Asked, self.asked),
            (IntakeItem::Limits, self.limits),
        ];
        all.into_iter().filter_map(|(what, text)| Some((what, text?))).collect()
    }
}

/// `job open`: opens the job first, so that no answer is lost where it cannot be opened.
pub(super) fn open(global: &Global, args: JobOpenArgs) -> Result<u8, Failure> {
    let JobOpenArgs { name, plan, serial, customer, intake, rule, no_questions, asking } = args;
    let (told, rule) = (intake.told(), rule.map(RuleWord::rule));
    let given = no_questions || !told.is_empty() || rule.is_some();
    let (station, by) = (asking.station.clone(), asking.by.clone());
    let opens =
        Command::JobOpen { name: name.clone(), used: false, plan, serial, customer, told, rule };
    let code = change(global, asking, opens)?;
    if code != 0 || given || global.json || !is_attended() {
        return Ok(code);
    }
    let (told, rule) = asked();
    let asking = || Asking { station: station.clone(), by: by.clone() };
    if !told.is_empty() {
        change(global, asking(), Command::JobIntake { name: name.clone(), told })?;
    }
    if let Some(rule) = rule {
        let why = "agreed when the job was opened".to_owned();
        change(global, asking(), Command::JobRule { name, rule, why })?;
    }
    Ok(code)
}

/// `job intake`.
pub(super) fn run(global: &Global, args: JobIntakeArgs) -> Result<u8, Failure> {
    let JobIntakeArgs { name, intake, asking } = args;
    change(global, asking, Command::JobIntake { name, told: intake.told() })
}

/// What is asked, in this order.
const QUESTIONS: [(IntakeItem, &str); 3] = [
    (IntakeItem::Complaint, "What does the customer say is wrong?"),
    (IntakeItem::Asked, "What was asked for?"),
    (IntakeItem::Limits, "Which limits were agreed beside those of the plan?"),
];

/// What was said, and the rule that was agreed, as a person answers it.
type Answers = (Vec<(IntakeItem, String)>, Option<Rule>);

/// Asks. An empty answer to the first question ends it: a ring that is only measured has no complaint.
fn asked() -> Answers {
    screen::say("Enter alone leaves an answer out; `tenths job intake` takes it later.\n");
    let mut told = Vec::new();
    for (at, (what, question)) in QUESTIONS.into_iter().enumerate() {
        // A terminal that is gone gives no answer; the job is open all the same.
        let said = ask(question, None, |said| Ok(said.to_owned())).unwrap_or_default();
        match said.is_empty() {
            false => told.push((what, said)),
            true if at == 0 => return (told, None),
            true => {}
        }
    }
    let question = "Which rule was agreed: guarded or simple? Enter: that of the plan.";
    let rule = ask(question, None, |said| match Rule::parse(&said.to_lowercase()) {
        None if !said.is_empty() => Err("it is guarded or simple".to_owned()),
        rule => Ok(rule),
    });
    (told, rule.unwrap_or(None))
}
