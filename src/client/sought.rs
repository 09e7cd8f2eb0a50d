//! What can be typed to look things up. Everything that is given must hold.

use clap::{Args, ValueEnum};

use super::chosen::{self, Names};
use super::failure::{Failure, REFUSED};
use super::global::WhereArgs;
use super::moment;
use ::bench::row::Level;
use quantity::Wall;

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

impl Loudness {
    /// The level of an alert that is told so.
    pub(crate) const fn level(self) -> Level {
        match self {
            Self::Log => Level::Log,
            Self::Note => Level::Note,
            Self::Interrupt => Level::Interrupt,
        }
    }
}

/// What is looked up.
#[derive(Debug, Args)]
pub(crate) struct QueryArgs {
    /// Only this job: its name, or the serial number of its spindle
    pub(crate) job: Option<String>,
    #[command(flatten)]
    pub(crate) sought: Sought,
}

/// What narrows a look-up, and how it is printed.
#[derive(Debug, Default, Args)]
#[command(next_help_heading = "Which ones")]
pub(crate) struct Sought {
    #[command(flatten)]
    pub(crate) whose: WhereArgs,
    /// Only jobs of the spindle with this serial number
    #[arg(long, value_name = "TEXT")]
    pub(crate) serial: Option<String>,
    /// Only jobs of a customer whose name holds this
    #[arg(long, value_name = "TEXT")]
    pub(crate) customer: Option<String>,
    /// Only jobs that this person opened
    #[arg(long, value_name = "NAME")]
    pub(crate) who: Option<String>,
    /// Only this part
    #[arg(long)]
    pub(crate) part: Option<String>,
    /// Only this check: face-a, or with its part inner-spacer/face-a
    #[arg(long)]
    pub(crate) check: Option<String>,
    /// Only this gauge
    #[arg(long)]
    pub(crate) gauge: Option<String>,
    /// Only this state: of a reading placed, void …; a verdict's word; of an alert open, seen, cleared;
    /// of a job open, closed
    #[arg(long)]
    pub(crate) state: Option<String>,
    /// Only verdicts with this word, or readings of attempts that it stands for: conforms,
    /// does-not-conform, undecided, incomplete
    #[arg(long, value_name = "WORD")]
    pub(crate) verdict: Option<String>,
    /// Only alerts of this level or louder
    #[arg(long, value_name = "LEVEL")]
    pub(crate) level: Option<Loudness>,
    /// Only alerts of this kind: out, undecided …
    #[arg(long)]
    pub(crate) kind: Option<String>,
    /// From this time on: 1h, 30m, 2d (ago), yesterday, 14:30, 2027-03-01, "2027-03-01 14:30",
    /// 2027-03-01T14:30:00Z
    #[arg(long, value_name = "TIME", value_parser = moment::parse)]
    pub(crate) since: Option<Wall>,
    /// Before this time
    #[arg(long, value_name = "TIME", value_parser = moment::parse)]
    pub(crate) until: Option<Wall>,
    /// Only numbers above this id
    #[arg(long, value_name = "ID", help_heading = "How many, and in which form")]
    pub(crate) after: Option<u64>,
    /// Only numbers below this id
    #[arg(long, value_name = "ID", help_heading = "How many, and in which form")]
    pub(crate) before: Option<u64>,
    /// Only the newest N
    #[arg(
        long, value_name = "N", help_heading = "How many, and in which form",
        value_parser = clap::value_parser!(u32).range(1..)
    )]
    pub(crate) last: Option<u32>,
    /// Only the oldest N
    #[arg(
        long, value_name = "N", conflicts_with = "last", help_heading = "How many, and in which form",
        value_parser = clap::value_parser!(u32).range(1..)
    )]
    pub(crate) first: Option<u32>,
    /// Leave nothing out: superseded verdicts, and what a table would leave out for its length
    #[arg(long, help_heading = "How many, and in which form")]
    pub(crate) all: bool,
    /// Print comma separated values, for a spreadsheet
    #[arg(long, conflicts_with = "json", help_heading = "How many, and in which form")]
    pub(crate) csv: bool,
    /// How --csv writes numbers: point, or comma with a semicolon between the cells
    #[arg(
        long,
        value_name = "MARK",
        requires = "csv",
        help_heading = "How many, and in which form",
        default_value = "point",
        hide_default_value = true
    )]
    pub(crate) decimal: Decimal,
    /// Print a file that a spreadsheet opens by itself: --csv with a byte order mark and with times on the clock
    /// here; MARK is that of its numbers: point, or comma with a semicolon between the cells
    #[arg(long, value_name = "MARK", conflicts_with_all = ["json", "decimal"])]
    pub(crate) spreadsheet: Option<Decimal>,
    /// Only these columns, in this order: job,check,verdict; by the headings of the table, or by the names
    /// in the first line of --csv
    #[arg(long, value_name = "NAMES", value_parser = chosen::names, conflicts_with = "json")]
    pub(crate) columns: Option<Names>,
}

/// The mark between whole numbers and their fraction.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Decimal {
    /// 0.5, cells between commas
    #[default]
    #[value(alias = ".")]
    Point,
    /// 0,5, cells between semicolons
    #[value(alias = ",")]
    Comma,
}

/// What is looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum About {
    Readings,
    Verdicts,
    Alerts,
    Jobs,
}

impl About {
    const fn word(self) -> &'static str {
        match self {
            Self::Readings => "readings",
            Self::Verdicts => "verdicts",
            Self::Alerts => "alerts",
            Self::Jobs => "jobs",
        }
    }

    /// The command that looks them up.
    pub(crate) const fn command(self) -> &'static str {
        match self {
            Self::Readings | Self::Verdicts | Self::Alerts => self.word(),
            Self::Jobs => "job list",
        }
    }
}

impl Sought {
    /// Refuses what cannot narrow a look-up of this sort: it would be silently without effect.
    pub(crate) fn makes_sense(&self, about: About) -> Result<(), Failure> {
        use About::{Alerts, Readings, Verdicts};
        let all = [
            ("--part", self.part.is_some(), &[Readings, Verdicts, Alerts][..]),
            ("--check", self.check.is_some(), &[Readings, Verdicts, Alerts]),
            ("--gauge", self.gauge.is_some(), &[Readings, Verdicts, Alerts]),
            ("--verdict", self.verdict.is_some(), &[Readings, Verdicts]),
            ("--level", self.level.is_some(), &[Alerts]),
            ("--kind", self.kind.is_some(), &[Alerts]),
        ];
        let Some((option, _, fits)) =
            all.into_iter().find(|(_, given, fits)| *given && !fits.contains(&about))
        else {
            return self.can_hold();
        };
        let commands: Vec<String> =
            fits.iter().map(|about| format!("tenths {}", about.word())).collect();
        Err(Failure::new(
            REFUSED,
            format!("{option} does not tell {} apart", about.word()),
            format!("it goes with: {}", commands.join(", ")),
        ))
    }

    /// Refuses what nothing can ever fit.
    fn can_hold(&self) -> Result<(), Failure> {
        if let (Some(since), Some(until)) = (self.since, self.until)
            && since > until
        {
            let text = format!("--since {since} is later than --until {until}");
            return Err(Failure::new(REFUSED, text, "exchange the two"));
        }
        match self.place() {
            (Some(part), _) if self.part.as_deref().is_some_and(|other| other != part) => {
                let text = format!("--check names the part {part}, and --part another");
                Err(Failure::new(REFUSED, text, "leave --part out"))
            }
            _ => Ok(()),
        }
    }

    /// The part and the check that are meant. Tables print both in one, `PART/CHECK`.
    pub(crate) fn place(&self) -> (Option<&str>, Option<&str>) {
        let (part, check) = (self.part.as_deref(), self.check.as_deref());
        match check.and_then(|check| check.split_once('/')) {
            Some((part, check)) => (Some(part), Some(check)),
            None => (part, check),
        }
    }
}
