//! `attachments`: the pictures and papers of a job, and whether their files are there.

use clap::Args;
use jiff::tz::TimeZone;

use ::record::{AttachmentRecord, PaperWrong, Reader};
use ::report::{Column, Table, day_and_time};
use wire::{attachment_line, printable};

use super::failure::{Failure, NO};
use super::global::Global;
use super::{bench, query, screen};

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths attachments J-1042
  tenths attachments SP-77   # by the spindle's serial number")]
pub(crate) struct AttachmentsArgs {
    /// The job: its name, or the serial number of its spindle
    pub(crate) job: String,
}

/// An attachment, and what is wrong with its file.
type Looked<'a> = (&'a AttachmentRecord, Option<PaperWrong>);

pub(crate) fn run(global: &Global, args: &AttachmentsArgs) -> Result<u8, Failure> {
    let (record, _) = bench::record(global)?;
    let job = record.job(&args.job).map_err(bench::no_record)?;
    let looked: Vec<Looked<'_>> = job
        .attached
        .iter()
        .map(|one| Ok((one, wrong_with(&record, one)?)))
        .collect::<Result<_, Failure>>()?;
    let name = job.name.as_str();
    if global.json {
        for (one, wrong) in &looked {
            let path = record.paper_path(&one.attached.paper);
            screen::line(&attachment_line(name, one, (&path.to_string_lossy(), wrong.as_ref())))?;
        }
    } else {
        let none = format!("Job {} has no pictures and no papers.", printable(name));
        query::print_table(&table(&looked, &TimeZone::system()), &none, &[])?;
        screen::text("")?;
    }
    Ok(if looked.iter().any(|(_, wrong)| wrong.is_some()) { NO } else { 0 })
}

/// What is wrong with a file, as far as one sees without reading it.
fn wrong_with(record: &Reader, one: &AttachmentRecord) -> Result<Option<PaperWrong>, Failure> {
    let there = record.paper_there(&one.attached.paper).map_err(bench::no_record)?;
    Ok(there.err())
}

fn table(looked: &[Looked<'_>], zone: &TimeZone) -> Table {
    let mut table = Table::new(&[
        Column::number("id", 0),
        Column::words("what it shows", 0).key(),
        Column::words("of", 0).key(),
        Column::words("type", 2),
        Column::number("KB", 3),
        Column::words("file", 5),
        Column::words("attached", 4),
        Column::words("who", 6),
        Column::words("", 0),
    ]);
    for (one, wrong) in looked {
        let paper = &one.attached.paper;
        let said = match (&one.taken_back, wrong) {
            (_, Some(wrong)) => wrong.to_string().to_uppercase(),
            (Some(back), None) => format!("TAKEN BACK: {}", back.why),
            (None, None) => String::new(),
        };
        let cells = [
            one.id.to_string(),
            one.attached.what.clone(),
            one.place().unwrap_or_else(|| "the job".to_owned()),
            paper.kind.text().to_owned(),
            paper.bytes.div_ceil(1000).to_string(),
            one.attached.name.clone(),
            day_and_time(one.at, zone),
            one.by.as_ref().map_or_else(String::new, ToString::to_string),
            said,
        ];
        table.push_as(&cells, one.taken_back.is_some());
    }
    table
}
