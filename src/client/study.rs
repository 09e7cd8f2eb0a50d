//! `study`: hands × parts × trials, from a file or from the touches of a job.
//!
//! What is absent: arithmetic.

mod job;
mod line;
mod words;

use std::fs;
use std::path::{Path, PathBuf};

use clap::Args;

use ::evaluate::study::Readings;
use quantity::{Quoted, Unit};
use wire::study_line;

use self::line::{line_of, picture};
use super::failure::{Failure, REFUSED};
use super::global::Global;
use super::input::Input;
use super::query;
use super::screen::{self, Screen};

/// Where the readings are, and what they are held against.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths study hands.csv --tolerance \"0.0001 in\"
  tenths study hands.csv --unit in --svg hands.svg
  tenths study --job J-1042 --check inner-spacer/face-a")]
pub(crate) struct StudyArgs {
    /// A file of readings, or - for standard input; the first line names the columns: hand,part,trial,value (or
    /// `value_in`, `value_mm`, `value_um`), with commas, semicolons or tabs between them
    #[arg(required_unless_present = "job", conflicts_with = "job")]
    pub(crate) file: Option<PathBuf>,
    /// The touches of this job instead: who touched is the hand, each position of each part a part
    #[arg(long, value_name = "NAME")]
    pub(crate) job: Option<String>,
    /// Of the job only this check: face-a, or with its part inner-spacer/face-a
    #[arg(long, requires = "job")]
    pub(crate) check: Option<String>,
    /// The width of the tolerance: "0.0001 in"; for a size, max - min
    #[arg(long, value_name = "LENGTH")]
    pub(crate) tolerance: Option<String>,
    /// The unit of the readings, where the file does not say it: in, mm or um
    #[arg(long, value_name = "UNIT", value_parser = unit)]
    pub(crate) unit: Option<Unit>,
    /// Write the drawing to this file, as SVG
    #[arg(long, value_name = "FILE")]
    pub(crate) svg: Option<PathBuf>,
}

fn unit(text: &str) -> Result<Unit, String> {
    Unit::parse(text).ok_or_else(|| "a unit is in, mm or um".to_owned())
}

/// Works the study out, prints what it shows, and draws it.
pub(crate) fn run(global: &Global, args: &StudyArgs) -> Result<u8, Failure> {
    let readings = match (&args.file, &args.job) {
        (Some(file), _) => of_file(file, args.unit)?,
        (None, job) => {
            let of =
                job::Of { job: job.as_deref().unwrap_or_default(), check: args.check.as_deref() };
            job::readings(global, &of, args.unit)?
        }
    };
    let tolerance = args.tolerance.as_deref().map(|text| tolerance(text, readings.unit));
    let line = line_of(&readings, tolerance.transpose()?);
    let drawing = picture(&readings, &line);
    if let Some(svg) = &args.svg {
        let written = fs::write(svg, drawing.svg());
        written.map_err(|error| {
            Failure::plain(REFUSED, format!("cannot write {}: {error}", svg.display()))
        })?;
    }
    if global.json {
        screen::line(&study_line(&line))?;
    } else {
        screen::told(&words::head(&line, &drawing, Screen::of_stdout().width))?;
        query::print_table(&words::table(&line), "", &[])?;
        screen::told(&format!("\n{}\n", line.text.join("\n")))?;
    }
    Ok(0)
}

fn of_file(path: &Path, unit: Option<Unit>) -> Result<Readings, Failure> {
    let Input { name: file, reader, .. } = Input::open(path)?;
    let mut readings = Readings::read(reader).map_err(|why| {
        let hint = "the first line is hand,part,trial,value; then a row for each reading";
        Failure::new(REFUSED, format!("{file}: {why}"), hint)
    })?;
    if let (Some(stated), Some(own)) = (unit, readings.unit)
        && stated != own
    {
        let text = format!("{file} is in {own}, and --unit says {stated}");
        return Err(Failure::new(REFUSED, text, "leave --unit out"));
    }
    readings.unit = readings.unit.or(unit);
    Ok(readings)
}

/// The width of the tolerance in the unit of the readings; both may be without one.
fn tolerance(text: &str, unit: Option<Unit>) -> Result<f64, Failure> {
    let refused = |why: String| {
        let hint = "write --tolerance \"0.0001 in\", and --unit where the file names none";
        Failure::new(REFUSED, format!("--tolerance: {why}"), hint)
    };
    let width = match unit {
        Some(unit) => {
            let quoted = Quoted::parse_with_unit(text, Some(unit));
            let quoted = quoted.map_err(|error| refused(error.to_string()))?;
            words::in_unit(quoted.length, unit)
        }
        None => text.trim().parse::<f64>().map_err(|_| {
            refused(format!("{text:?} is no plain number, and the readings have no unit"))
        })?,
    };
    if width.is_finite() && width > 0.0 {
        Ok(width)
    } else {
        Err(refused(format!("{text:?} is not above zero")))
    }
}
