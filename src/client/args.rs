//! What can be typed.

use std::ffi::OsString;
use std::path::PathBuf;

use clap::builder::NonEmptyStringValueParser;
use clap::{Args, Parser, Subcommand, ValueEnum};

use super::sought::{QueryArgs, Sought};

/// Listens to the gauges on a bench, judges each check, keeps the record.
#[derive(Debug, Parser)]
#[command(name = "tenths", version, disable_help_subcommand = true, arg_required_else_help = true)]
pub(crate) struct Cli {
    #[command(flatten)]
    pub(crate) global: Global,
    #[command(subcommand)]
    pub(crate) command: Command,
}

/// What every command takes.
#[derive(Debug, Args)]
pub(crate) struct Global {
    /// The bench's configuration file
    #[arg(long, global = true, value_name = "FILE")]
    pub(crate) config: Option<PathBuf>,
    /// The bench's state folder, with its record and its socket: no configuration file is needed then
    #[arg(long, global = true, value_name = "FOLDER")]
    pub(crate) state_folder: Option<PathBuf>,
    /// Print one JSON object a line, for scripts
    #[arg(long, global = true)]
    pub(crate) json: bool,
}

/// What every command takes that changes something.
#[derive(Debug, Args)]
pub(crate) struct Asking {
    /// The measuring place, where there are several
    #[arg(long, value_name = "NAME")]
    pub(crate) station: Option<String>,
    /// Who does it; if left out whoever works at the station, else your login name
    #[arg(long, value_name = "WHO")]
    pub(crate) by: Option<String>,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Run the service: listen to the gauges, judge, keep the record
    Serve,
    /// Play a whole job with pretend gauges through the real service
    Demo(super::demo::Demo),
    /// Look after the configuration
    #[command(subcommand)]
    Config(ConfigCommand),
    /// Is everything well? Worst first
    Status,
    /// Open, use, list, show, close or reopen a job
    #[command(subcommand)]
    Job(JobCommand),
    /// Make a check active, or stop the active one
    Measure(MeasureArgs),
    /// Begin the next attempt at a check
    Remeasure(RemeasureArgs),
    /// Make the first check without a verdict active
    Next(Asking),
    /// Answer the question of a check: yes, no, or one of its answers
    Confirm(ConfirmArgs),
    /// Write down a value that has no tolerance: a torque, a temperature, a serial number
    Record(RecordArgs),
    /// Write down the stack on the shaft as it comes apart and as it goes together
    #[command(subcommand)]
    Stack(StackCommand),
    /// A part is a new one from now on; what was read on the old one stays its own
    Replace(ReplaceArgs),
    /// Key readings in
    Enter(EnterArgs),
    /// Take one reading now: ask the gauge, or take what its stream has settled on
    Take(Asking),
    /// Take a reading back; it is kept and marked
    Void(VoidArgs),
    /// Leave out a position that cannot be touched
    Skip(SkipArgs),
    /// The next reading is the master
    Master(MasterArgs),
    /// Write a remark on a job
    Note(NoteArgs),
    /// Say who works at a station: on readings, verdicts and the report from now on
    Person(PersonArgs),
    /// A second person has checked a job: stands in the report
    Checked(CheckedArgs),
    /// Mark an alert as seen
    Ack(AckArgs),
    /// Follow alerts and verdicts as they come
    Tail(TailArgs),
    /// The bench screen: the value, what to touch next, the verdict, from two metres
    Watch(WatchArgs),
    /// Look up readings
    Readings(QueryArgs),
    /// Look up verdicts: the standing one of each attempt
    Verdicts(QueryArgs),
    /// Look up alerts
    Alerts(QueryArgs),
    /// Write the customer's report of a job: one HTML file that loads nothing
    Report(super::report::ReportArgs),
    /// Evaluate points from a file: flatness, roundness …; needs no service
    Evaluate(super::evaluate::Evaluate),
    /// Print the sheet of codes of a job, for a scanner at the bench
    Sheet(SheetArgs),
    /// See which ports there are, and find out how a gauge talks
    #[command(subcommand)]
    Gauge(GaugeCommand),
    /// Hand a job on: a folder with its whole record, tables, plan and report
    Export(super::export::ExportArgs),
    /// Take over a job that another bench handed on
    Import(super::import::ImportArgs),
    /// Copy the record to a file, while the service runs
    Backup(BackupArgs),
    /// Make a copy the record again; the one that is there is kept
    Restore(super::restore::RestoreArgs),
    /// Compute every verdict again from its readings and compare
    Verify(VerifyArgs),
    /// Print the completions for a shell
    Completions(CompletionsArgs),
    /// Print the manual page
    Man,
}

/// Commands about the configuration.
#[derive(Debug, Subcommand)]
pub(crate) enum ConfigCommand {
    /// Tell everything that is wrong with it at once
    Check,
}

/// Commands about jobs.
#[derive(Debug, Subcommand)]
pub(crate) enum JobCommand {
    /// Open a job and use it
    Open(JobOpenArgs),
    /// Use a job that is open
    Use(JobNameArgs),
    /// List jobs
    List(Sought),
    /// Show how far a job is
    Show {
        /// The job: its name, or the serial number of its spindle
        name: String,
    },
    /// Hold jobs side by side, oldest first: what changed, and whether that is more than measuring explains
    Compare(super::job::CompareArgs),
    /// Close a job; without a name the one in use
    Close {
        /// The job
        name: Option<String>,
        /// Why it is closed although a check speaks against it; it stands in the record and the report
        #[arg(long, value_name = "TEXT", value_parser = NonEmptyStringValueParser::new())]
        why: Option<String>,
        #[command(flatten)]
        asking: Asking,
    },
    /// Judge a job by another rule from now on: stands in the report with its reason
    Rule(JobRuleArgs),
    /// Open a closed job again
    Reopen(JobNameArgs),
}

#[derive(Debug, Args)]
pub(crate) struct JobOpenArgs {
    /// A name never used before
    pub(crate) name: String,
    /// The plan: what is measured
    #[arg(long, value_name = "PLAN")]
    pub(crate) plan: String,
    /// The spindle's serial number
    #[arg(long, value_name = "S")]
    pub(crate) serial: Option<String>,
    /// Whose it is
    #[arg(long, value_name = "C")]
    pub(crate) customer: Option<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

#[derive(Debug, Args)]
pub(crate) struct JobNameArgs {
    /// The job
    pub(crate) name: String,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

#[derive(Debug, Args)]
#[group(id = "what", required = true, multiple = false, args = ["target", "stop"])]
pub(crate) struct MeasureArgs {
    /// The part and the check on it
    #[arg(value_name = "PART/CHECK")]
    pub(crate) target: Option<String>,
    /// Leave the active check; short of its last position it counts as incomplete
    #[arg(long)]
    pub(crate) stop: bool,
    /// A remark on the attempt that begins: "face b down, chuck 2"
    #[arg(long, value_name = "TEXT", conflicts_with = "stop")]
    pub(crate) remark: Option<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

/// Why a check is measured again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Why {
    /// New metal: the latest counts
    Ground,
    /// It was dirty: the attempt before is set aside
    Cleaned,
    /// The same metal: tries are combined
    Again,
}

#[derive(Debug, Args)]
pub(crate) struct RemeasureArgs {
    /// Why it is measured again
    #[arg(value_name = "WHY")]
    pub(crate) why: Why,
    /// The part and the check on it; the active one if left out
    #[arg(value_name = "PART/CHECK")]
    pub(crate) target: Option<String>,
    /// A remark on the attempt that begins: "stoned, face b down"
    #[arg(long, value_name = "TEXT")]
    pub(crate) remark: Option<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

#[derive(Debug, Args)]
#[command(after_help = "Example: tenths confirm nut/locked yes")]
pub(crate) struct ConfirmArgs {
    /// The part and the check on it
    #[arg(value_name = "PART/CHECK")]
    pub(crate) target: String,
    /// One of the answers that the plan allows
    #[arg(required = true)]
    pub(crate) answer: Vec<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

#[derive(Debug, Args)]
#[command(after_help = "Example: tenths record nut/torque 40 Nm")]
pub(crate) struct RecordArgs {
    /// The part and the check on it
    #[arg(value_name = "PART/CHECK")]
    pub(crate) target: String,
    /// The value; a bare number is in the unit that the plan says
    #[arg(required = true)]
    pub(crate) value: Vec<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

/// Commands about the stack. Parts are told from the nose inwards.
#[derive(Debug, Subcommand)]
pub(crate) enum StackCommand {
    /// The next part as it was found when the stack came apart
    #[command(
        after_help = "Example: tenths stack found bearing-1 --towards-nose thrust-side --mark 0"
    )]
    Found(StackArgs),
    /// The next part as it goes on; held against the plan and against how it was found
    #[command(
        after_help = "Example: tenths stack built bearing-1 --towards-nose thrust-side --mark 0"
    )]
    Built(BuiltArgs),
}

#[derive(Debug, Args)]
#[group(id = "which", required = true, multiple = false, args = ["part", "back"])]
pub(crate) struct StackArgs {
    /// The part
    pub(crate) part: Option<String>,
    /// The face of it that is towards the nose
    #[arg(long, value_name = "FACE", conflicts_with = "back")]
    pub(crate) towards_nose: Option<String>,
    /// Where its mark stands, degrees from the index mark of the shaft
    #[arg(
        long = "mark", value_name = "DEG", conflicts_with = "back",
        value_parser = clap::value_parser!(u16).range(0..360)
    )]
    pub(crate) mark_deg: Option<u16>,
    /// Its serial number
    #[arg(long, value_name = "S", conflicts_with = "back")]
    pub(crate) serial: Option<String>,
    /// Take the newest part off the list again
    #[arg(long)]
    pub(crate) back: bool,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

#[derive(Debug, Args)]
pub(crate) struct BuiltArgs {
    #[command(flatten)]
    pub(crate) part: StackArgs,
    /// Why it goes on although a check of it speaks against it; it stands in the record and the report
    #[arg(
        long, value_name = "TEXT", conflicts_with = "back",
        value_parser = NonEmptyStringValueParser::new()
    )]
    pub(crate) why: Option<String>,
}

#[derive(Debug, Args)]
#[command(after_help = "Example: tenths replace bearing-1 --serial B8 --why \"bore worn\"")]
pub(crate) struct ReplaceArgs {
    /// The part
    pub(crate) part: String,
    /// The serial number of the new one
    #[arg(long, value_name = "S")]
    pub(crate) serial: Option<String>,
    /// Why it is replaced
    #[arg(long, value_name = "TEXT", value_parser = NonEmptyStringValueParser::new())]
    pub(crate) why: String,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

#[derive(Debug, Args)]
pub(crate) struct EnterArgs {
    /// Readings in the order touched: 0.00012, -0.00003, "3 um"
    #[arg(
        required_unless_present_any = ["high", "total"],
        value_name = "VALUE",
        allow_negative_numbers = true
    )]
    pub(crate) values: Vec<String>,
    /// The highest reading of a needle watched all the way round, with its mark: 0.00012@90
    #[arg(
        long,
        value_name = "VALUE@DEGREES",
        requires = "low",
        conflicts_with_all = ["values", "total"],
        allow_hyphen_values = true
    )]
    pub(crate) high: Option<String>,
    /// The lowest one: -0.00003@270
    #[arg(long, value_name = "VALUE@DEGREES", requires = "high", allow_hyphen_values = true)]
    pub(crate) low: Option<String>,
    /// Only the total reading of such a turn
    #[arg(long, value_name = "VALUE", conflicts_with = "values")]
    pub(crate) total: Option<String>,
    /// The worth of one graduation, where the values, high and low, or total are counts of it: 0.0001in
    #[arg(long, value_name = "LENGTH")]
    pub(crate) graduation: Option<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

#[derive(Debug, Args)]
pub(crate) struct VoidArgs {
    /// The reading; the newest that counts if left out
    pub(crate) id: Option<u64>,
    /// Why
    #[arg(long, value_name = "TEXT")]
    pub(crate) why: Option<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

#[derive(Debug, Args)]
pub(crate) struct SkipArgs {
    /// The position; the next one if left out
    pub(crate) position: Option<u32>,
    /// Why it cannot be touched
    #[arg(long, value_name = "TEXT", value_parser = NonEmptyStringValueParser::new())]
    pub(crate) why: String,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

#[derive(Debug, Args)]
pub(crate) struct MasterArgs {
    /// The gauge; the active check's if left out
    pub(crate) gauge: Option<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

#[derive(Debug, Args)]
pub(crate) struct NoteArgs {
    /// The job
    pub(crate) job: String,
    /// The remark
    #[arg(required = true)]
    pub(crate) text: Vec<String>,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

#[derive(Debug, Args)]
pub(crate) struct JobRuleArgs {
    /// The job
    pub(crate) name: String,
    /// guarded: inside the limit by the uncertainty; simple: inside the limit
    pub(crate) rule: RuleWord,
    /// What was agreed, and with whom
    #[arg(long, value_name = "TEXT")]
    pub(crate) why: String,
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

#[derive(Debug, Args)]
pub(crate) struct PersonArgs {
    /// The person, as the report is to name them
    #[arg(required_unless_present = "nobody")]
    pub(crate) name: Option<String>,
    /// Nobody in particular from now on
    #[arg(long, conflicts_with = "name")]
    pub(crate) nobody: bool,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

#[derive(Debug, Args)]
pub(crate) struct CheckedArgs {
    /// The job
    pub(crate) job: String,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

#[derive(Debug, Args)]
pub(crate) struct AckArgs {
    /// The alert
    pub(crate) id: u64,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

/// How loudly an alert is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, ValueEnum)]
pub(crate) enum Loudness {
    /// Everything
    Log,
    /// What is shown
    Note,
    /// Stop, out, or one question
    Interrupt,
}

#[derive(Debug, Args)]
pub(crate) struct TailArgs {
    /// Begin after this number of the feed instead of now
    #[arg(long, value_name = "SEQ")]
    pub(crate) since: Option<u64>,
    /// The feed this number belongs to, as `feed` in a line says; a restored record has another
    #[arg(long, value_name = "ID", requires = "since")]
    pub(crate) feed: Option<String>,
    /// Only alerts of this level or louder, and no verdicts
    #[arg(long, value_name = "LEVEL")]
    pub(crate) level: Option<Loudness>,
    /// Only this job
    #[arg(long, value_name = "JOB")]
    pub(crate) job: Option<String>,
    /// Sound the tones of [sound] for what is shown; `always`: although it is no terminal
    #[arg(long, value_name = "WHEN", num_args = 0..=1, require_equals = true)]
    #[arg(default_missing_value = "terminal")]
    pub(crate) sound: Option<SoundWhen>,
}

/// When `tail` sounds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum SoundWhen {
    /// When it prints to a terminal.
    Terminal,
    /// Whatever it prints to.
    Always,
}

#[derive(Debug, Args)]
pub(crate) struct WatchArgs {
    /// Make no sound, whatever the configuration says
    #[arg(long)]
    pub(crate) mute: bool,
    #[command(flatten)]
    pub(crate) asking: Asking,
}

#[derive(Debug, Args)]
pub(crate) struct SheetArgs {
    /// The job: its name, or the serial number of its spindle
    pub(crate) job: String,
    /// Write the page to this file; to standard output if left out
    #[arg(long, value_name = "FILE")]
    pub(crate) out: Option<PathBuf>,
}

/// Commands about ports and gauges.
#[derive(Debug, Subcommand)]
pub(crate) enum GaugeCommand {
    /// List serial ports: their stable names, who may open them, which gauge is on which
    List,
    /// Listen to a port without sending anything, and propose the lines for bench.toml
    Listen(ListenArgs),
}

#[derive(Debug, Args)]
pub(crate) struct ListenArgs {
    /// The port, such as /dev/serial/by-id/…
    pub(crate) port: PathBuf,
    /// How long each line setting is listened to; press the gauge's button meanwhile
    #[arg(long, value_name = "N", default_value_t = 4, value_parser = clap::value_parser!(u32).range(1..=600))]
    pub(crate) seconds: u32,
}

#[derive(Debug, Args)]
pub(crate) struct BackupArgs {
    /// The file to write; it must not exist
    pub(crate) file: PathBuf,
    /// Do not look whether the copy is whole
    #[arg(long)]
    pub(crate) no_verify: bool,
}

#[derive(Debug, Args)]
pub(crate) struct VerifyArgs {
    /// A copy of the record; the bench's own if left out
    pub(crate) file: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct CompletionsArgs {
    /// The shell
    pub(crate) shell: clap_complete::Shell,
}

/// Keeps values that begin with a minus from being taken for options: `-1`, `-0.5`, `"-3 um"`.
///
/// No option of this program begins with a digit or a point, so such an argument is a value. A
/// blank in front of it says so to the parser; readings and entries are trimmed anyway.
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
