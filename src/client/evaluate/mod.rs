//! `evaluate`: the figures of points from a file, without the service and without a configuration.
//!
//! What is absent: a job, a record, a gauge, and arithmetic. The file is opened here, and its figures are
//! printed as sentences or as `evaluation/1`.

mod line;
mod words;

#[cfg(test)]
mod tests;

use std::io::{self, IsTerminal};
use std::path::PathBuf;

use clap::Args;
use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};

use ::evaluate::{Characteristic, Limit, Points, Wanted, evaluate};
use judgement::Word;
use quantity::{Length, Quoted, Unit};
use wire::evaluation_line;

use self::line::{Shown, line_of};
use super::failure::{Failure, NO, REFUSED};
use super::global::Global;
use super::input::Input;
use super::screen::{self, Screen};

/// The file of points, and what to do with them.
#[derive(Debug, Args)]
#[expect(clippy::doc_markdown, reason = "the help shows the headers as they are typed")]
#[command(after_help = "Examples:
  tenths evaluate face.csv --measures flatness
  tenths evaluate face.csv --measures flatness --tolerance \"2.5 um\" --uncertainty \"0.6 um\"")]
pub(crate) struct Evaluate {
    /// A file of points, or - for standard input; the first line names columns with their units:
    /// x_mm,y_mm,z_um, with commas, semicolons or tabs between them
    pub(crate) file: PathBuf,
    /// What is evaluated
    #[arg(long, value_name = "WHAT", value_parser = measures())]
    pub(crate) measures: Characteristic,
    /// The largest figure allowed: "2.54 um", "0.0001 in"
    #[arg(long, value_name = "LENGTH")]
    pub(crate) tolerance: Option<String>,
    /// The expanded uncertainty (k = 2) of the figure: "0.6 um"
    #[arg(long, value_name = "LENGTH")]
    pub(crate) uncertainty: Option<String>,
    /// The unit to print: in, mm or um; otherwise the tolerance's, otherwise that of the heights
    #[arg(long, value_name = "UNIT", value_parser = unit)]
    pub(crate) unit: Option<Unit>,
}

/// The words for what points can be evaluated for, with their descriptions.
fn measures() -> impl TypedValueParser<Value = Characteristic> {
    let told = |one: Characteristic| PossibleValue::new(one.text()).help(one.about());
    PossibleValuesParser::new(Characteristic::ALL.map(told))
        .try_map(|word| Characteristic::parse(&word).ok_or("it is none of these words"))
}

fn unit(text: &str) -> Result<Unit, String> {
    Unit::parse(text).ok_or_else(|| "a unit is in, mm or um".to_owned())
}

impl Evaluate {
    /// Evaluates the file, prints the figures, and returns the exit code.
    pub(crate) fn run(&self, global: &Global) -> Result<u8, Failure> {
        let shown = self.shown(global.json)?;
        let input = Input::open(&self.file)?;
        let file = input.name.clone();
        let refused = |why: String| {
            let (what, headers) = (self.measures.text(), self.measures.headers());
            let hint = format!("for {what} the first line is {headers}");
            Failure::new(REFUSED, format!("{file}: {why}"), hint)
        };
        let points = read(input).map_err(refused)?;
        let evaluation = evaluate(points, self.wanted(shown)).map_err(refused)?;
        let line = line_of(&evaluation, shown);
        if global.json {
            screen::line(&evaluation_line(&line))?;
        } else {
            screen::told(&words::told(&line, Screen::of_stdout()))?;
        }
        let conforms = |word: Word| word == Word::Conforms;
        let good = evaluation.verdict.is_none_or(|verdict| conforms(verdict.word));
        Ok(if good { 0 } else { NO })
    }

    /// The limit and the uncertainty as typed, and how many digits are printed.
    fn shown(&self, all_digits: bool) -> Result<Shown, Failure> {
        let read = |text: &Option<String>, what: &str| match text {
            None => Ok(None),
            Some(text) => Quoted::parse_with_unit(text, self.unit).map(Some).map_err(|error| {
                let hint = format!("write --{what} \"0.6 um\", or name the unit with --unit");
                Failure::new(REFUSED, format!("--{what}: {error}"), hint)
            }),
        };
        let tolerance = read(&self.tolerance, "tolerance")?;
        let uncertainty = read(&self.uncertainty, "uncertainty")?;
        let negative = |quoted: &Quoted| quoted.length < Length::ZERO;
        let pairs = [("tolerance", tolerance), ("uncertainty", uncertainty)];
        match pairs.iter().find(|(_, quoted)| quoted.as_ref().is_some_and(negative)) {
            Some((what, _)) => Err(Failure::plain(REFUSED, format!("--{what} is below zero"))),
            None => Ok(Shown { all_digits, tolerance, uncertainty }),
        }
    }

    fn wanted(&self, shown: Shown) -> Wanted {
        let Shown { tolerance, uncertainty, .. } = shown;
        let uncertainty = uncertainty.map(|quoted| quoted.length);
        Wanted {
            measures: self.measures,
            unit: self.unit.or_else(|| tolerance.map(|quoted| quoted.unit)),
            limit: tolerance.map(|quoted| Limit { tolerance: quoted.length, uncertainty }),
        }
    }
}

/// Files below this size are read too quickly to show progress.
const LARGE_FILE: u64 = 4 << 20;
/// How many rows are read between two reports of progress.
const ROWS_A_WORD: usize = 1 << 16;

/// Reads the file. For a large file, a person at a terminal sees the progress.
fn read(input: Input) -> Result<Points, String> {
    let bytes = input.bytes;
    let watched = bytes > LARGE_FILE && io::stderr().is_terminal() && screen::colour_is_welcome();
    let points = Points::read(input.reader, |rows, at| {
        if watched && rows.is_multiple_of(ROWS_A_WORD) {
            screen::say(&format!("\r{rows} points, {} %", at.saturating_mul(100) / bytes));
        }
    });
    if watched {
        screen::say("\r\u{1b}[K");
    }
    points
}
