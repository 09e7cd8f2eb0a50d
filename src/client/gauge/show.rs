//! `gauge show`: what the record knows of a gauge, proof by proof, drawn.

use std::fs;
use std::path::PathBuf;

use clap::Args;
use jiff::tz::TimeZone;

use ::bench::proofs::{chart_of_steps, scatter_of};
use ::bench::row::{Charted, ProofEnding, ProofRow, ProofShows, Proved};
use ::report::{Column, Table, chart, day_and_time};
use ::words::{fine, fine_up};
use judgement::good_for;
use quantity::{Figure, Length, Name, Unit};
use wire::gauge_history_line;

use crate::bench;
use crate::failure::{Failure, REFUSED};
use crate::global::Global;
use crate::{query, screen};

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths gauge show plate
  tenths gauge show plate --svg plate.svg")]
pub(crate) struct ShowArgs {
    /// The gauge
    pub(crate) gauge: String,
    /// Write the charts to a file, as a picture (SVG)
    #[arg(long, value_name = "FILE")]
    pub(crate) svg: Option<PathBuf>,
}

/// So many columns of points are drawn at most.
const WIDEST: usize = 100;

pub(crate) fn run(global: &Global, args: &ShowArgs) -> Result<u8, Failure> {
    let (record, _) = bench::record(global)?;
    let name = Name::new(&args.gauge).map_err(|error| {
        Failure::new(REFUSED, format!("{:?} is no name: {error}", args.gauge), "")
    })?;
    let proofs = record.proofs(name.as_str()).map_err(bench::no_record)?;
    if global.json {
        screen::line(&gauge_history_line(&name, &proofs))?;
        return bench::whole(&record);
    }
    if proofs.is_empty() {
        screen::sentence(&format!("{name} was never proved. Prove it with: tenths prove {name}"))?;
        return bench::whole(&record);
    }
    let (charts, zone) = (charts(&proofs), TimeZone::system());
    if let Some(file) = &args.svg {
        let written = fs::write(file, picture(&charts, &zone));
        written.map_err(|error| {
            Failure::plain(REFUSED, format!("cannot write {}: {error}", file.display()))
        })?;
        screen::sentence(&format!("{} is written.", file.display()))?;
        return bench::whole(&record);
    }
    query::print_table(&table(&proofs, &zone), "", &[])?;
    screen::text(&drawn(&charts))?;
    bench::whole(&record)
}

fn table(proofs: &[ProofRow], zone: &TimeZone) -> Table {
    let mut table = Table::new(&[
        Column::number("id", 5),
        Column::words("time", 0),
        Column::words("proof", 0),
        Column::number("s of a lift", 0),
        Column::number("step", 3),
        Column::number("read", 0),
        Column::number("off", 1),
        Column::words("serial", 4),
        Column::words("who", 2),
    ]);
    for row in proofs {
        let proved = &row.proved;
        let unit = proved.blocks.unit;
        let text = |figure: Option<Figure>| figure.map_or_else(String::new, |one| fine(one, unit));
        let shows = proved.shows.as_ref();
        table.push_as(
            &[
                row.id.to_string(),
                day_and_time(row.at, zone),
                word(row),
                text(shows.and_then(|shows| shows.s).map(Figure::from)),
                format!("{} {unit}", ::words::size(proved.blocks.step, unit)),
                text(shows.map(|shows| shows.step)),
                text(proved.off_by().map(Figure::from)),
                proved.serial().unwrap_or_default().to_owned(),
                row.by.as_ref().map_or_else(String::new, ToString::to_string),
            ],
            !proved.is_good(),
        );
    }
    table
}

fn word(row: &ProofRow) -> String {
    let proved = &row.proved;
    match (&proved.shows, proved.ending) {
        (None, ProofEnding::SetupChanged) => "set up anew".to_owned(),
        (None, ProofEnding::GivenUp | ProofEnding::Complete) => "given up".to_owned(),
        (Some(shows), _) if !shows.off_chart.is_empty() => "OFF ITS CHART".to_owned(),
        (Some(shows), _) if !shows.faults.is_empty() => {
            let faults: Vec<&str> = shows.faults.iter().map(|fault| fault.text()).collect();
            format!("NOT PROVEN: {}", faults.join(", "))
        }
        (Some(_), _) => "proven".to_owned(),
    }
}

/// A chart of the newest instrument, with what is said above it.
struct Chart<'a> {
    said: String,
    rows: Vec<(&'a ProofRow, chart::Point)>,
    lines: chart::Lines,
    resolution: Length,
    unit: Unit,
}

/// The two charts: the scatter of a lift, and the step as a check master.
fn charts(proofs: &[ProofRow]) -> Vec<Chart<'_>> {
    let Some(newest) = proofs.iter().rev().find(|row| row.proved.shows.is_some()) else {
        return Vec::new();
    };
    let its = proofs.iter().rposition(|row| row.proved.serial() != newest.proved.serial());
    let history = proofs.get(its.map_or(0, |at| at + 1)..).unwrap_or_default();
    let newest = &newest.proved;
    of_lifts(history, newest).into_iter().chain([of_steps(history, newest)]).collect()
}

fn drawn(charts: &[Chart<'_>]) -> String {
    let one = |of: &Chart<'_>| {
        let points: Vec<chart::Point> = of.rows.iter().map(|(_, point)| *point).collect();
        let drawn = chart::text(&points, of.lines, (of.resolution, of.unit), WIDEST);
        format!("\n{}\n{drawn}", of.said)
    };
    charts.iter().map(one).collect()
}

fn picture(charts: &[Chart<'_>], zone: &TimeZone) -> String {
    let names = |of: &Chart<'_>| {
        let rows = of.rows.iter();
        rows.map(|(row, _)| format!("{} {}", row.id, day_and_time(row.at, zone))).collect()
    };
    let named: Vec<Vec<String>> = charts.iter().map(names).collect();
    let pictures: Vec<chart::Picture<'_>> = charts
        .iter()
        .zip(&named)
        .map(|(of, named)| chart::Picture {
            title: of.said.clone(),
            points: of.rows.iter().map(|(_, point)| *point).collect(),
            lines: of.lines,
            unit: of.unit,
            named,
        })
        .collect();
    chart::svg(&pictures)
}

/// The scatter of a lift, proof by proof; nothing where only steps were proved.
fn of_lifts<'a>(history: &'a [ProofRow], newest: &Proved) -> Option<Chart<'a>> {
    let (resolution, unit) = (newest.resolution(), newest.blocks.unit);
    let pooled = scatter_of(history, resolution)?;
    let s = |row: &'a ProofRow| {
        let shows = row.proved.shows.as_ref()?;
        let off = shows.off_chart.contains(&Charted::Repeatability);
        (row.proved.is_good() || off).then_some((row, chart::Point { value: shows.s?, off }))
    };
    Some(Chart {
        said: format!(
            "Repeatability of a lift: {} {unit} over {} lifts, good for a tolerance of {} and more.",
            fine(Figure::from(pooled.s), unit),
            pooled.count,
            fine_up(Figure::from(good_for(pooled.s)), unit),
        ),
        rows: history.iter().filter_map(s).collect(),
        lines: chart::Lines { centre: Some(pooled.s.into()), limit: None },
        resolution,
        unit,
    })
}

/// How far the step was read from its size, proof by proof.
fn of_steps<'a>(history: &'a [ProofRow], newest: &Proved) -> Chart<'a> {
    let (resolution, unit) = (newest.resolution(), newest.blocks.unit);
    let limits = chart_of_steps(history, &newest.blocks, resolution);
    let said = limits.map_or_else(
        || "the limits are drawn from ten good proofs on".to_owned(),
        |chart| {
            let [centre, limit] =
                [chart.centre, Figure::from(chart.limit)].map(|one| fine(one, unit));
            format!("centre {centre}, limits ± {limit} (3 sigma)")
        },
    );
    let point = |row: &'a ProofRow| {
        let proved = &row.proved;
        let off = |shows: &ProofShows| shows.off_chart.contains(&Charted::CheckMaster);
        let off = proved.shows.as_ref().is_some_and(off);
        let its = (proved.is_good() || off) && proved.blocks.is_same(&newest.blocks);
        let value = proved.off_by().filter(|_| its)?;
        Some((row, chart::Point { value, off }))
    };
    Chart {
        said: format!("Step minus its size, as a check master: {said}."),
        rows: history.iter().filter_map(point).collect(),
        lines: chart::Lines {
            centre: limits.map(|chart| chart.centre),
            limit: limits.map(|chart| chart.limit.into()),
        },
        resolution,
        unit,
    }
}
