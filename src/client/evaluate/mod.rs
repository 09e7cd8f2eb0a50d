//! `evaluate`: what points from a file come to, without the service and without a configuration.
//!
//! What is absent: a job, a record, a gauge. Numbers come from a file and leave as a sentence or
//! as `evaluation/1`.

mod ends;
mod figures;
mod points;
mod round;
mod waves;
mod words;

#[cfg(test)]
mod tests;

use std::fs::File;
use std::io::{self, BufReader, IsTerminal};
use std::path::PathBuf;

use clap::{Args, ValueEnum};

use ::words::Held;
use judgement::{Limits, Word, decide};
use quantity::{Figure, Length, Quoted, Unit, sine_cosine};
use wire::{EvaluationLine, evaluation_line};

use self::figures::{Face, Found, Print, Scale, Stations, in_picometres};
use self::points::{Column, Name};
use self::round::Turn;
use super::args::Global;
use super::failure::{Failure, NO, REFUSED};
use super::screen::{self, Screen};

/// Points from a file and what is wanted of them.
#[derive(Debug, Args)]
#[expect(clippy::doc_markdown, reason = "the help shows the headers as they are typed")]
pub(crate) struct Evaluate {
    /// Comma separated points; the first line names columns with their units: x_mm,y_mm,z_um
    pub(crate) file: PathBuf,
    /// What is evaluated
    #[arg(long, value_name = "WHAT")]
    pub(crate) measures: Measures,
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

/// What points can be evaluated for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
#[expect(clippy::doc_markdown, reason = "the help shows the headers as they are typed")]
pub(crate) enum Measures {
    /// Minimum zone of a face: x_mm,y_mm,z_um or angle_deg,radius_mm,z_um
    Flatness,
    /// Highest minus lowest reading over the plate: columns as for flatness
    Parallelism,
    /// Total reading and waves of a turn: angle_deg,r_um or angle_deg,radius_mm,z_um
    Runout,
    /// The four circles: x_mm,y_mm, or angle_deg,r_um with radii or deviations
    Roundness,
    /// Minimum zone of a line: x_mm,z_um
    Straightness,
    /// Change of diameter: x_mm along the axis, z_um the diameter there
    Taper,
}

fn unit(text: &str) -> Result<Unit, String> {
    Unit::parse(text).ok_or_else(|| "a unit is in, mm or um".to_owned())
}

impl Measures {
    const fn text(self) -> &'static str {
        match self {
            Self::Flatness => "flatness",
            Self::Parallelism => "parallelism",
            Self::Runout => "runout",
            Self::Roundness => "roundness",
            Self::Straightness => "straightness",
            Self::Taper => "taper",
        }
    }

    /// The columns it can be told from.
    const fn headers(self) -> &'static str {
        match self {
            Self::Flatness | Self::Parallelism => "x_mm,y_mm,z_um or angle_deg,radius_mm,z_um",
            Self::Runout => "angle_deg,r_um or angle_deg,radius_mm,z_um",
            Self::Roundness => "x_mm,y_mm or angle_deg,r_um",
            Self::Straightness | Self::Taper => "x_mm,z_um",
        }
    }

    /// What fewer points than this deserve a word about.
    const fn enough(self) -> usize {
        match self {
            Self::Straightness => 4,
            Self::Taper => 3,
            Self::Flatness | Self::Parallelism | Self::Runout | Self::Roundness => 7,
        }
    }
}

/// The limit, and how well the figure is known.
#[derive(Debug, Clone, Copy, Default)]
struct Asked {
    tolerance: Option<Quoted>,
    uncertainty: Option<Quoted>,
}

impl Asked {
    fn of(args: &Evaluate) -> Result<Self, Failure> {
        let read = |text: &Option<String>, what: &str| match text {
            None => Ok(None),
            Some(text) => Quoted::parse_with_unit(text, args.unit).map(Some).map_err(|error| {
                let hint = format!("write --{what} \"0.6 um\", or name the unit with --unit");
                Failure::new(REFUSED, format!("--{what}: {error}"), hint)
            }),
        };
        let asked = Self {
            tolerance: read(&args.tolerance, "tolerance")?,
            uncertainty: read(&args.uncertainty, "uncertainty")?,
        };
        let negative = |quoted: &Quoted| quoted.length < Length::ZERO;
        let pairs = [("tolerance", asked.tolerance), ("uncertainty", asked.uncertainty)];
        match pairs.iter().find(|(_, quoted)| quoted.as_ref().is_some_and(negative)) {
            Some((what, _)) => Err(Failure::plain(REFUSED, format!("--{what} is below zero"))),
            None => Ok(asked),
        }
    }

    /// Where a verdict turns over: T − U, T, T + U.
    fn limits(self) -> Vec<Figure> {
        let Some(tolerance) = self.tolerance else { return Vec::new() };
        let tolerance = Figure::from(tolerance.length);
        let guard = self.uncertainty.map_or(Figure::ZERO, |quoted| Figure::from(quoted.length));
        vec![tolerance - guard, tolerance, tolerance + guard]
    }
}

impl Evaluate {
    /// Evaluates the file, prints what it comes to, and gives the exit code.
    pub(crate) fn run(&self, global: &Global) -> Result<u8, Failure> {
        let asked = Asked::of(self)?;
        let shown = self.file.display().to_string();
        let refused = |why: String| {
            let (what, headers) = (self.measures.text(), self.measures.headers());
            let hint = format!("for {what} the first line is {headers}");
            Failure::new(REFUSED, format!("{shown}: {why}"), hint)
        };
        let file = File::open(&self.file)
            .map_err(|error| Failure::plain(REFUSED, format!("cannot open {shown}: {error}")))?;
        let columns = read(file).map_err(refused)?;
        let (line, word) = self.evaluate(columns, asked, global.json).map_err(refused)?;
        if global.json {
            screen::line(&evaluation_line(&line))?;
        } else {
            screen::text(&words::told(&line, Screen::of_stdout()))?;
        }
        Ok(if word.is_none_or(|word| word == Word::Conforms) { 0 } else { NO })
    }

    /// What columns come to, with the verdict where there is a tolerance.
    fn evaluate(
        &self,
        columns: Vec<Column>,
        asked: Asked,
        json: bool,
    ) -> Result<(EvaluationLine, Option<Word>), String> {
        let mut columns = Columns(columns);
        let n = columns.0.first().map_or(0, |column| column.values.len());
        let unit = self.unit.or_else(|| asked.tolerance.map(|quoted| quoted.unit));
        let exactly = |quoted: Quoted| Figure::from(quoted.length);
        let (tolerance, expanded) = (asked.tolerance.map(exactly), asked.uncertainty.map(exactly));
        let print = Print { unit, all_digits: json, tolerance, expanded };
        let found = self.measures.found(&mut columns, print, &asked.limits())?;
        let Found { value, proves, mut line } = found.0;
        let unit = found.1;
        (line.measures, line.n, line.unit) = (self.measures.text(), n, unit.symbol());
        let held = Scale::new(unit, Print { unit: Some(unit), ..print }).held(value);
        line.value = held.value_text().unwrap_or_default();
        if n < self.measures.enough() || !proves {
            line.advice.push(few(n, proves));
        }
        let word = judge(&mut line, asked, (value, proves), (&held, unit));
        Ok((line, word))
    }
}

fn few(n: usize, proves: bool) -> String {
    if proves {
        format!("{n} points are few: what lies between them was not touched")
    } else {
        "three places fit exactly, whatever the form: they prove nothing".to_owned()
    }
}

/// Writes both rules' answers into the line and gives the verdict: guarded where an uncertainty is
/// stated, simple without.
fn judge(
    line: &mut EvaluationLine,
    asked: Asked,
    (value, proves): (Figure, bool),
    (held, unit): (&Held, Unit),
) -> Option<Word> {
    let tolerance = asked.tolerance?;
    let expanded = asked.uncertainty.map(|quoted| quoted.length);
    let [_, limit] = held.limit_texts();
    line.tolerance = if tolerance.unit == unit { Some(tolerance.number()) } else { limit };
    line.uncertainty = held.uncertainty_text();
    if !proves {
        line.verdict = Some(Word::Undecided.text());
        return Some(Word::Undecided);
    }
    let limits = Limits::Max(tolerance.length);
    let decision = decide(value, expanded.unwrap_or(Length::ZERO), limits);
    let word = if expanded.is_some() { decision.guarded } else { decision.simple };
    line.simple = Some(decision.simple.text());
    line.guarded = expanded.map(|_| decision.guarded.text());
    line.verdict = Some(word.text());
    Some(word)
}

/// The columns of a file, taken one by one.
struct Columns(Vec<Column>);

impl Columns {
    fn are(&self, names: &[Name]) -> bool {
        let has = |name: &Name| self.0.iter().any(|column| column.name == *name);
        self.0.len() == names.len() && names.iter().all(has)
    }

    /// The values of a column and the unit they are in; millimetres stand in for degrees, which
    /// nobody asks for.
    fn take(&mut self, name: Name) -> (Vec<f64>, Unit) {
        let column = self.0.iter_mut().find(|column| column.name == name);
        column.map_or((Vec::new(), Unit::Millimetre), |column| {
            (std::mem::take(&mut column.values), column.unit.unwrap_or(Unit::Millimetre))
        })
    }

    /// Largest minus smallest of a column of lengths, exactly as written.
    fn range(&self, name: Name) -> Option<Figure> {
        let column = self.0.iter().find(|column| column.name == name)?;
        column.ends.range(column.unit?)
    }

    fn face(&mut self, print: Print) -> Result<Face, String> {
        let range = self.range(Name::Z);
        let (z, height) = self.take(Name::Z);
        let height = Scale::new(height, print);
        if self.are(&[Name::X, Name::Y, Name::Z]) {
            let ((x, position), (y, _)) = (self.take(Name::X), self.take(Name::Y));
            let position = in_picometres(position);
            return Ok(Face { x, y, z, range, position, header: position, height });
        }
        let ((angles, _), (radii, position)) = (self.take(Name::Angle), self.take(Name::Radius));
        let header = in_picometres(position);
        let (x, y) = on_circles(&angles, &radii, header / NANOMETRE);
        if on_one_line(&x, &y) {
            return Err("all positions lie on one line".to_owned());
        }
        Ok(Face { x, y, z, range, position: NANOMETRE, header, height })
    }

    fn turn(&mut self, print: Print) -> Turn {
        let readings = if self.are(&[Name::Angle, Name::R]) { Name::R } else { Name::Z };
        let range = self.range(readings);
        let ((angles_deg, _), (readings, own)) = (self.take(Name::Angle), self.take(readings));
        Turn { angles_deg, readings, range, scale: Scale::new(own, print) }
    }

    fn stations(&mut self, print: Print) -> Stations {
        let range = self.range(Name::Z);
        let ((x, position), (z, own)) = (self.take(Name::X), self.take(Name::Z));
        Stations {
            points: x.into_iter().zip(z).collect(),
            range,
            position: in_picometres(position),
            height: Scale::new(own, print),
        }
    }
}

/// Picometres in one.
const NANOMETRE: f64 = 1000.0;

/// Places on circles, in nanometres: each lies at the angle it has, so that equal steps stay equal.
fn on_circles(angles: &[f64], radii: &[f64], nanometres: f64) -> (Vec<f64>, Vec<f64>) {
    let places = angles.iter().zip(radii).map(|(angle, radius)| {
        let (sine, cosine) = sine_cosine(*angle);
        let radius = radius * nanometres;
        (radius * cosine, radius * sine)
    });
    places.unzip()
}

/// Whether places lie on one line, to some nanometres: finer than anybody sets a stylus.
fn on_one_line(x: &[f64], y: &[f64]) -> bool {
    let (Some(&x0), Some(&y0)) = (x.first(), y.first()) else { return true };
    let away = || x.iter().zip(y).map(|(x, y)| (x - x0, y - y0));
    let farthest = away().max_by(|a, b| a.0.hypot(a.1).total_cmp(&b.0.hypot(b.1)));
    let (dx, dy) = farthest.unwrap_or_default();
    let length = dx.hypot(dy);
    length <= 0.0 || away().all(|(x, y)| (x * dy - y * dx).abs() <= 2.0 * length)
}

impl Measures {
    /// What the columns come to, and the unit it is printed in.
    fn found(
        self,
        columns: &mut Columns,
        print: Print,
        limits: &[Figure],
    ) -> Result<(Found, Unit), String> {
        use Name::{Angle, R, Radius, X, Y, Z};
        let shapes: &[&[Name]] = match self {
            Self::Flatness | Self::Parallelism => &[&[X, Y, Z], &[Angle, Radius, Z]],
            Self::Runout => &[&[Angle, R], &[Angle, Radius, Z]],
            Self::Roundness => &[&[X, Y], &[Angle, R]],
            Self::Straightness | Self::Taper => &[&[X, Z]],
        };
        if !shapes.iter().any(|shape| columns.are(shape)) {
            return Err("line 1: the header does not name the columns that are needed".to_owned());
        }
        match self {
            Self::Flatness => {
                let face = columns.face(print)?;
                Ok((figures::flatness(&face, limits)?, face.height.unit))
            }
            Self::Parallelism => {
                let face = columns.face(print)?;
                Ok((figures::parallelism(&face)?, face.height.unit))
            }
            Self::Runout => {
                let turn = columns.turn(print);
                Ok((round::runout(&turn)?, turn.scale.unit))
            }
            Self::Roundness if columns.are(&[X, Y]) => {
                let ((x, own), (y, _)) = (columns.take(X), columns.take(Y));
                let scale = Scale::new(own, print);
                let points: Vec<(f64, f64)> = x.into_iter().zip(y).collect();
                Ok((round::roundness(&points, scale)?, scale.unit))
            }
            Self::Roundness => {
                let turn = columns.turn(print);
                Ok((round::roundness_of_turn(&turn, limits)?, turn.scale.unit))
            }
            Self::Straightness => {
                let stations = columns.stations(print);
                Ok((figures::straightness(&stations)?, stations.height.unit))
            }
            Self::Taper => {
                let stations = columns.stations(print);
                Ok((figures::taper(&stations)?, stations.height.unit))
            }
        }
    }
}

/// Files below this are read before anybody could look.
const LARGE_FILE: u64 = 4 << 20;
/// Rows between two words of progress.
const ROWS_A_WORD: usize = 1 << 16;

/// Reads the file; a person at a terminal sees how far it is, where it is large.
fn read(file: File) -> Result<Vec<Column>, String> {
    let bytes = file.metadata().map_or(0, |about| about.len());
    let watched = bytes > LARGE_FILE && io::stderr().is_terminal() && screen::colour_is_welcome();
    let columns = points::read(BufReader::with_capacity(1 << 16, file), |rows, at| {
        if watched && rows.is_multiple_of(ROWS_A_WORD) {
            screen::say(&format!("\r{rows} points, {} %", at.saturating_mul(100) / bytes));
        }
    });
    if watched {
        screen::say("\r\u{1b}[K");
    }
    columns
}
