//! `report`: the customer's report of a job, one HTML file that loads nothing.

use std::path::{Path, PathBuf};

use clap::Args;
use jiff::tz::TimeZone;

use ::record::{Filter, JobRecord, Reader};
use ::report::{JobFacts, Letterhead, MarkShown, ReportFacts, report_page};
use ::shop::database::OneJob;
use config::Finding;
use paper::data_uri;
use quantity::Unit;
use wire::printable;

use super::failure::{Failure, UNREACHABLE};
use super::global::{Global, WhereArgs};
use super::whole_shop::Shop;
use super::{annex, bench, screen};

/// The job, and the file to write.
#[derive(Debug, Args)]
#[command(
    after_help = "The first page is a summary; what stands behind it follows as an annex. Name, address and mark at its head come\n\
    from [shop] in bench.toml.\nPlace, time and maker data of cameras are taken out of pictures; nothing is taken out of a PDF.\n\n\
    Examples:\n  tenths report J-1042 --out J-1042.html --samples\n  tenths report J-1042 --out J-1042.html --annex J-1042-annex\n  \
    tenths report J-1042 --shop --out J-1042.html   # whichever bench has it"
)]
pub(crate) struct ReportArgs {
    /// The job: its name, or the serial number of its spindle
    pub(crate) job: String,
    /// The file to write; if left out, the page goes to standard output
    #[arg(long, value_name = "FILE")]
    pub(crate) out: Option<PathBuf>,
    /// A folder to make beside it, with the pictures and papers in full and a page that shows them
    #[arg(long, value_name = "DIR")]
    pub(crate) annex: Option<PathBuf>,
    /// List the samples of swept turns, up to 2000 of each; the record has them either way
    #[arg(long)]
    pub(crate) samples: bool,
    #[command(flatten)]
    pub(crate) whose: WhereArgs,
}

pub(crate) fn run(global: &Global, args: &ReportArgs) -> Result<u8, Failure> {
    if let Some(shop) = Shop::of(global, &args.whose)? {
        let OneJob { record, .. } = shop.job_with_its_past(&args.job)?;
        made(global, args, (&record, shop.unit))?;
        shop.asked(&record);
        return shop.whole();
    }
    let (record, unit) = bench::record(global)?;
    made(global, args, (&record, unit))?;
    // An earlier job of the spindle that is damaged is left out of the page.
    bench::whole(&record)
}

/// Makes the page, and the annex, of a job of a record.
fn made(
    global: &Global,
    args: &ReportArgs,
    (record, unit): (&Reader, Unit),
) -> Result<(), Failure> {
    let (shop, findings) = letterhead(global);
    for finding in findings {
        screen::say(&format!("{}\n", printable(&finding.to_string())));
    }
    let head = Head { unit, shop: &shop, samples: args.samples };
    let page = page(record, &args.job, &head, args.annex.as_deref())?;
    let Some(out) = &args.out else { return Ok(screen::text(&page)?) };
    let path = std::path::absolute(out).unwrap_or_else(|_| out.clone());
    std::fs::write(out, page).map_err(|error| {
        let text = format!("cannot write {}: {error}", path.display());
        Failure::new(UNREACHABLE, text, "choose a folder that you may write to")
    })?;
    screen::say(&format!("The report is in {}.\n", printable(&path.to_string_lossy())));
    Ok(())
}

/// What the page has beside its job.
pub(crate) struct Head<'a> {
    pub(crate) unit: Unit,
    pub(crate) shop: &'a Letterhead,
    pub(crate) samples: bool,
}

/// The page of a job; an annex is written beside it where a folder for it is named.
pub(crate) fn page(
    record: &Reader,
    job: &str,
    head: &Head<'_>,
    annex: Option<&Path>,
) -> Result<String, Failure> {
    let named = record.job(job).map_err(bench::no_record)?;
    let job = facts(record, named.name.as_str(), true)?;
    let earlier = earlier(record, &job.record)?;
    let zone = TimeZone::system();
    let seal = record.seal_of(named.name.as_str()).map_err(bench::no_record)?;
    let seal = seal.map(|seal| seal.to_string());
    let papers = annex::shown(record, &job.record)?;
    if let Some(folder) = annex {
        told(annex::write(record, (named.name.as_str(), &zone), &papers, folder)?, folder);
    }
    Ok(report_page(&ReportFacts {
        job: &job,
        earlier: &earlier,
        unit: head.unit,
        zone: &zone,
        papers: &papers,
        annex: annex.is_some(),
        shop: head.shop,
        samples: head.samples,
        seal,
    }))
}

/// Whose name stands at the head of the page, as `[shop]` has it, and what cannot be used of it: the report comes
/// without that. Where the folder of the record is named in place of a file there may be none.
pub(crate) fn letterhead(global: &Global) -> (Letterhead, Vec<Finding>) {
    let Ok(path) = bench::config_path(global) else { return (Letterhead::default(), Vec::new()) };
    let (shop, findings) = config::shop_of(&path);
    let shown = |mark: paper::Mark| MarkShown {
        uri: data_uri(mark.media, &mark.bytes),
        width: mark.width,
        height: mark.height,
    };
    (Letterhead { name: shop.name, address: shop.address, mark: shop.mark.map(shown) }, findings)
}

/// Says where the annex is, and how many pictures and papers it lacks.
fn told(lacking: usize, folder: &Path) {
    let path = std::path::absolute(folder).unwrap_or_else(|_| folder.to_owned());
    screen::say(&format!("The annex is in {}.\n", printable(&path.to_string_lossy())));
    if lacking > 0 {
        screen::say(&format!(
            "{lacking} of its pictures and papers are missing or damaged; the page says which.\n"
        ));
    }
}

/// The record's data of one job. Readings are needed only for the job of the report.
pub(crate) fn facts(record: &Reader, name: &str, readings: bool) -> Result<JobFacts, Failure> {
    let filter = Filter { job: Some(name.to_owned()), ..Filter::default() };
    let (_, state) = record.job_state(name).map_err(bench::no_record)?;
    let readings =
        if readings { record.readings(&filter).map_err(bench::no_record)? } else { Vec::new() };
    Ok(JobFacts {
        record: record.job(name).map_err(bench::no_record)?,
        state,
        verdicts: record.verdicts(&filter).map_err(bench::no_record)?,
        readings,
        bench: None,
    })
}

/// Earlier jobs of the same serial, oldest first.
pub(crate) fn earlier(record: &Reader, job: &JobRecord) -> Result<Vec<JobFacts>, Failure> {
    let Some(serial) = job.serial.as_deref().filter(|serial| !serial.trim().is_empty()) else {
        return Ok(Vec::new());
    };
    let filter = Filter { serial: Some(serial.to_owned()), ..Filter::default() };
    let mut jobs = record.jobs_found(&filter).map_err(bench::no_record)?;
    jobs.retain(|one| one.age() < job.age() && one.serial.as_deref() == Some(serial));
    jobs.sort_by_key(JobRecord::age);
    jobs.iter().map(|one| facts(record, one.name.as_str(), false)).collect()
}
