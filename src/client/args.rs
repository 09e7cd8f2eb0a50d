//! The command line: all commands, each with its arguments. This file uses the commands; none of them uses
//! it.

use std::ffi::OsString;

use clap::{Parser, Subcommand};

use super::ack::AckArgs;
use super::attach::AttachArgs;
use super::attachments::AttachmentsArgs;
use super::backup::BackupArgs;
use super::budget::BudgetArgs;
use super::checked::CheckedArgs;
use super::completions::CompletionsArgs;
use super::config_check::ConfigCommand;
use super::confirm::ConfirmArgs;
use super::decide::{DecideArgs, SerialArgs};
use super::demo::Demo;
use super::enter::EnterArgs;
use super::evaluate::Evaluate;
use super::explain::ExplainArgs;
use super::export::ExportArgs;
use super::gauge::GaugeCommand;
use super::global::{Asking, Global};
use super::import::ImportArgs;
use super::init::InitArgs;
use super::job::JobCommand;
use super::man::ManArgs;
use super::master::MasterArgs;
use super::measure::MeasureArgs;
use super::note::NoteArgs;
use super::page::PageArgs;
use super::person::PersonArgs;
use super::pictures::PicturesArgs;
use super::plan::PlanCommand;
use super::practice::PracticeArgs;
use super::prove::ProveArgs;
use super::record::RecordArgs;
use super::register::RegisterArgs;
use super::remeasure::RemeasureArgs;
use super::replace::ReplaceArgs;
use super::report::ReportArgs;
use super::restore::RestoreArgs;
use super::run_in::RunInCommand;
use super::serve::ServeArgs;
use super::sheet::SheetArgs;
use super::shop::ShopCommand;
use super::sign::SignArgs;
use super::skip::SkipArgs;
use super::sought::QueryArgs;
use super::stack::StackCommand;
use super::study::StudyArgs;
use super::tail::TailArgs;
use super::verify::VerifyArgs;
use super::void::VoidArgs;
use super::watch::WatchArgs;

/// Listens to the gauges on a bench, judges each check, keeps the record.
#[derive(Debug, Parser)]
#[command(name = "tenths", version, disable_help_subcommand = true, arg_required_else_help = true)]
pub(crate) struct Cli {
    #[command(flatten)]
    pub(crate) global: Global,
    #[command(subcommand)]
    pub(crate) command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Write the first configuration: asks what only you know, and hears the gauge out
    Init(InitArgs),
    /// Run the service: listen to the gauges, judge, keep the record
    Serve(ServeArgs),
    /// Send the record and the events on to the shop, as [shop.database] and [shop.broker] say
    #[command(
        after_help = "It reads the record beside the service, keeps its place when a server cannot be reached, and \
goes on there.

Examples:
  tenths forward
  tenths --config bench.toml forward   # another configuration"
    )]
    Forward,
    /// Play a whole job with pretend gauges through the real service
    Demo(Demo),
    /// Measure a pretend ring on the real screen; nothing of it is kept
    Practice(PracticeArgs),
    /// Check the configuration
    #[command(subcommand)]
    Config(ConfigCommand),
    /// Make the service read its configuration again, and say what changed
    #[command(after_help = "Examples:
  tenths reload
  tenths reload --json")]
    Reload,
    /// Show what stands between you and a reading, each with its remedy; exit code 1 if anything does
    #[command(after_help = "Examples:
  tenths doctor
  tenths --config bench.toml doctor")]
    Doctor,
    /// Say what a word means, and what to do about it
    Explain(ExplainArgs),
    /// Show whether everything is well, worst first
    #[command(after_help = "Examples:
  tenths status
  tenths status --json")]
    Status,
    /// Open, use, list, show, close or reopen a job
    #[command(subcommand)]
    Job(JobCommand),
    /// Make a check active, or stop the active one
    Measure(MeasureArgs),
    /// Begin the next attempt at a check
    Remeasure(RemeasureArgs),
    /// Make the first check without a verdict active
    #[command(after_help = "Examples:
  tenths next
  tenths next --station lathe")]
    Next(Asking),
    /// Answer the question of a check: yes, no, or one of its answers
    Confirm(ConfirmArgs),
    /// Record a value: a torque, a temperature, a vibration, a serial number; several of a table or a run-in
    Record(RecordArgs),
    /// Log the run-in of a spindle: a person says at which speed it runs; nothing here switches it
    #[command(subcommand)]
    RunIn(RunInCommand),
    /// Record the stack on the shaft, as found and as built
    #[command(subcommand)]
    Stack(StackCommand),
    /// Record that a part was replaced by a new one; readings of the old one stay with the old one
    Replace(ReplaceArgs),
    /// Decide what becomes of a part: kept, reground or replaced
    Decide(DecideArgs),
    /// Record the serial number of a part
    Serial(SerialArgs),
    /// Type in readings
    Enter(EnterArgs),
    /// Take one reading now: ask the gauge, or take what its stream has settled on
    #[command(after_help = "Examples:
  tenths take
  tenths take --station lathe")]
    Take(Asking),
    /// Take a reading back; it is kept and marked
    Void(VoidArgs),
    /// Leave out a position that cannot be touched
    Skip(SkipArgs),
    /// Say that the next reading is on the master
    Master(MasterArgs),
    /// Prove a gauge: ten lifts on one spot and a step of two blocks
    Prove(ProveArgs),
    /// List or fill the register: gauges, masters, blocks and bars with serial, certificate, date and size
    Register(RegisterArgs),
    /// Add a remark to a job
    Note(NoteArgs),
    /// Attach a picture or a paper to a job, a part or a check; or take one back
    Attach(AttachArgs),
    /// List the pictures and papers of a job, and whether their files are there
    Attachments(AttachmentsArgs),
    /// Say who works at a station; readings, verdicts and the report name that person from now on
    Person(PersonArgs),
    /// Record that a second person has checked a job: the same as `sign JOB checked`
    Checked(CheckedArgs),
    /// Sign a job: who measured, who checked, who accepts; the seal of what was signed stands beside it
    Sign(SignArgs),
    /// Mark an alert as seen
    Ack(AckArgs),
    /// Follow alerts and verdicts as they arrive
    Tail(TailArgs),
    /// The bench screen: the value, what to touch next, the verdict, from two metres
    Watch(WatchArgs),
    /// Show the bench and its record in a browser: a page that only reads
    Page(PageArgs),
    /// Look up readings
    #[command(after_help = "Examples:
  tenths readings J-1042 --check inner-spacer/face-a
  tenths readings --gauge plate --since yesterday --csv
  tenths readings --last 20 --json")]
    Readings(QueryArgs),
    /// Look up verdicts: the standing one of each attempt
    #[command(after_help = "Examples:
  tenths verdicts J-1042
  tenths verdicts --verdict does-not-conform --since 2027-03-01
  tenths verdicts J-1042 --all --csv")]
    Verdicts(QueryArgs),
    /// Show what the uncertainty of a verdict is made of
    Budget(BudgetArgs),
    /// Look up alerts
    #[command(after_help = "Examples:
  tenths alerts --state open
  tenths alerts J-1042 --level interrupt
  tenths alerts --kind out --last 10 --json")]
    Alerts(QueryArgs),
    /// Write the customer's report of a job: one HTML file that loads nothing
    Report(ReportArgs),
    /// Evaluate points from a file: flatness, roundness …; works without the service
    Evaluate(Evaluate),
    /// Study how well hands repeat: hands, parts and trials from a file; works without the service
    Study(StudyArgs),
    /// Print the sheet of codes of a job, for a scanner at the bench
    Sheet(SheetArgs),
    /// List, show or write plans
    #[command(subcommand)]
    Plan(PlanCommand),
    /// List the serial ports, and find out how a gauge talks
    #[command(subcommand)]
    Gauge(GaugeCommand),
    /// Export a job: a folder with its whole record, tables, plan and report
    Export(ExportArgs),
    /// Import a job that another bench exported
    Import(ImportArgs),
    /// Copy the record to a file, while the service runs
    Backup(BackupArgs),
    /// Put a backup in place of the record; the record that is replaced is kept
    Restore(RestoreArgs),
    /// Compute every verdict again from its readings, and compare
    Verify(VerifyArgs),
    /// Set up the record of a shop with several benches: its tables, its benches, who may look
    #[command(subcommand)]
    Shop(ShopCommand),
    /// Print the completions for a shell
    Completions(CompletionsArgs),
    /// Draw the pictures of the guides
    #[command(hide = true)]
    Pictures(PicturesArgs),
    /// Show the manual, a page for each command
    Man(ManArgs),
}

/// Keeps values that begin with a minus from being taken for options: `-1`, `-0.5`, `"-3 um"`.
///
/// No option of this program begins with a digit or a point, so such an argument is a value. A blank put in
/// front of it tells the parser so; readings and entries are trimmed anyway.
pub(crate) fn with_negative_values(args: impl IntoIterator<Item = OsString>) -> Vec<OsString> {
    let mut entering = false;
    args.into_iter()
        .map(|arg| {
            entering |= arg == "enter" || arg == "record";
            match arg.to_str() {
                Some(text) if entering && is_negative_value(text) => format!(" {text}").into(),
                _ => arg,
            }
        })
        .collect()
}

fn is_negative_value(text: &str) -> bool {
    let mut chars = text.chars();
    chars.next() == Some('-') && chars.next().is_some_and(|c| c.is_ascii_digit() || c == '.')
}
