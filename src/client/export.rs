//! `export`: writes a job into a folder of its own, with everything that belongs to it.
//!
//! Nothing in it depends on when, where or on which bench it is exported. Row numbers are those the job's
//! rows had first, times on the page are UTC, and lengths are in the unit of the plan.

use std::path::PathBuf;

use clap::Args;
use jiff::tz::TimeZone;

use ::record::{Filter, Handover, Numbers, Reader};
use ::report::{
    ALERT_COLUMNS, CsvStyle, JobFacts, Letterhead, READING_COLUMNS, ReportFacts, VERDICT_COLUMNS,
    csv_text, report_page,
};
use wire::{MANIFEST, Manifest, Published, RECORD, export_line, printable, record_line};

use super::bundle::papers::Taken;
use super::bundle::{self, Part};
use super::failure::{Failure, NO};
use super::global::Global;
use super::{annex, bench, report, screen};

/// The job, and the folder to write.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths export J-1042 --out J-1042
  tenths export J-1042 --out /media/stick/J-1042")]
pub(crate) struct ExportArgs {
    /// The job
    pub(crate) job: String,
    /// The folder to make; it must not exist, or be empty
    #[arg(long, value_name = "DIR")]
    pub(crate) out: PathBuf,
}

pub(crate) fn run(global: &Global, args: &ExportArgs) -> Result<u8, Failure> {
    let (record, _) = bench::record(global)?;
    let target = bundle::target(&args.out, "--out")?;
    let collected = record.at_one_moment(|| collected(&record, &args.job));
    let (manifest, parts, papers) = collected.map_err(bench::no_record)??;
    bundle::write(&target, &parts, &papers)?;
    let folder = target.to_string_lossy();
    let bytes = parts.iter().map(|(_, bytes)| bytes.len() as u64);
    let bytes = bytes.chain(manifest.papers.iter().map(|file| file.bytes)).sum();
    if global.json {
        screen::line(&export_line(&manifest, &folder, bytes))?;
    } else {
        let Manifest { job, rows, .. } = &manifest;
        let folder = printable(&folder);
        screen::sentence(&format!(
            "Job {job} is exported to {folder} ({rows} rows, {bytes} bytes)."
        ))?;
        if !manifest.papers.is_empty() {
            screen::sentence(ORIGINALS)?;
        }
        for told in &papers.told {
            screen::sentence(&format!("NOT in the export: {}.", printable(told)))?;
        }
        if !manifest.closed {
            screen::sentence(
                "The job is still open: what is measured from now on is not in the export.",
            )?;
        }
    }
    Ok(if papers.missing.is_empty() { 0 } else { NO })
}

/// Said where pictures go along: an export is a record and not a report.
const ORIGINALS: &str = "Its pictures and papers are the originals, with what cameras wrote into them; \
                         `tenths report --annex` hands them on without.";

/// All files of the bundle, with the list of them at the end; and its pictures and papers.
fn collected<'a>(
    record: &'a Reader,
    typed: &str,
) -> Result<(Manifest, Vec<Part>, Taken<'a>), Failure> {
    let job = record.job(typed).map_err(bench::no_record)?.name;
    let job = job.as_str();
    let Handover { rows, numbers, callers } = record.handover(job).map_err(bench::no_record)?;
    let mut facts = report::facts(record, job, true)?;
    let filter = Filter { job: Some(job.to_owned()), all: true, ..Filter::default() };
    let lines: Vec<String> =
        rows.iter().filter_map(|row| record_line(row, callers.get(&row.seq))).collect();
    let mut parts: Vec<Part> = vec![
        ("alerts.csv", alerts(record, &filter, &numbers)?),
        ("plan.toml", facts.record.plan.text.clone().into_bytes()),
        ("readings.csv", readings(record, &filter, &numbers)?),
        (RECORD, lines.iter().flat_map(|line| [line.as_bytes(), b"\n"].concat()).collect()),
        ("report.html", page(record, &mut facts, &numbers)?),
        ("verdicts.csv", verdicts(record, &filter, &numbers)?),
    ];
    let listed = parts.iter().map(bundle::listed).collect();
    let closed = facts.record.closed_at.is_some();
    let papers = Taken::of(record, &rows)?;
    let manifest = Manifest {
        papers: papers.files.iter().map(|(line, _)| line.clone()).collect(),
        missing: papers.missing.clone(),
        ..Manifest::new(facts.record.name.as_str(), closed, lines.len() as u64, listed)
    };
    parts.push((MANIFEST, manifest.text().into_bytes()));
    bundle::can_be_taken(&parts, &manifest)?;
    Ok((manifest, parts, papers))
}

fn csv(columns: &[&str], found: &[impl Published]) -> Result<Vec<u8>, Failure> {
    let lines = found.iter().map(Published::fields);
    let text =
        csv_text(columns, lines, CsvStyle::Point).map_err(|text| Failure::plain(70, text))?;
    Ok(text.into_bytes())
}

fn readings(record: &Reader, filter: &Filter, numbers: &Numbers) -> Result<Vec<u8>, Failure> {
    let mut found = record.readings(filter).map_err(bench::no_record)?;
    for reading in &mut found {
        reading.id = numbers.was(reading.id);
    }
    csv(&READING_COLUMNS, &found)
}

fn verdicts(record: &Reader, filter: &Filter, numbers: &Numbers) -> Result<Vec<u8>, Failure> {
    let mut found = record.verdicts(filter).map_err(bench::no_record)?;
    for verdict in &mut found {
        verdict.id = numbers.was(verdict.id);
        verdict.superseded_by = verdict.superseded_by.map(|newer| numbers.was(newer));
        let judged = std::sync::Arc::make_mut(&mut verdict.verdict);
        judged.attempt = numbers.was(judged.attempt);
        for attempt in &mut judged.combined {
            *attempt = numbers.was(*attempt);
        }
        for answer in &mut judged.answers {
            answer.attempt = numbers.was(answer.attempt);
        }
    }
    csv(&VERDICT_COLUMNS, &found)
}

fn alerts(record: &Reader, filter: &Filter, numbers: &Numbers) -> Result<Vec<u8>, Failure> {
    let mut found = record.alerts(filter).map_err(bench::no_record)?;
    for alert in &mut found {
        alert.id = numbers.was(alert.id);
    }
    csv(&ALERT_COLUMNS, &found)
}

/// The report, without earlier jobs of the same serial number, which are not exported.
fn page(record: &Reader, facts: &mut JobFacts, numbers: &Numbers) -> Result<Vec<u8>, Failure> {
    for verdict in &mut facts.verdicts {
        verdict.id = numbers.was(verdict.id);
    }
    let unit = facts.record.plan.plan.unit;
    let zone = &TimeZone::UTC;
    // A seal belongs to the record of one bench, and the page must be the same whoever hands the job on.
    let papers = &annex::shown(record, &facts.record)?;
    let (job, earlier, annex, seal) = (&*facts, &[], false, None);
    // Nor has it a letterhead: that is of whoever prints it.
    let (shop, samples) = (&Letterhead::default(), false);
    let page = ReportFacts { job, earlier, unit, zone, papers, annex, shop, samples, seal };
    Ok(report_page(&page).into_bytes())
}
