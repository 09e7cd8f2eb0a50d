//! What is handed on of the pictures and papers of a job: small pictures on the report, full ones in a folder.
//! The originals stay in the record; what cameras wrote into them is taken out of what leaves it.

use std::fs;
use std::path::Path;

use jiff::tz::TimeZone;

use ::bench::row::PaperType;
use ::record::{AttachmentRecord, JobRecord, Reader};
use ::report::{AnnexFacts, PaperShown, Shown, annex_page};
use paper::{LARGEST_SMALL, bare, data_uri, small};

use super::bench;
use super::bundle;
use super::failure::{Failure, UNREACHABLE};
use crate::new_file::write_new;

/// The most small pictures on a report: with more a page becomes too heavy for a letter or a phone.
const MOST_SMALL: usize = 60;

/// The most bytes of all small pictures: what the page can become at most by them.
const _: () = assert!(MOST_SMALL * LARGEST_SMALL <= 8 << 20);

/// What a report shows of each that was not taken back. A picture that is missing or cannot be drawn is told
/// there, and the report comes all the same.
pub(crate) fn shown(record: &Reader, job: &JobRecord) -> Result<Vec<PaperShown>, Failure> {
    let mut pictures = 0;
    let of_job = job.attached.iter().filter(|one| one.taken_back.is_none());
    of_job
        .zip(1_usize..)
        .map(|(one, number)| {
            // Papers take no room on it, however many pictures stand before them.
            let is_picture = one.attached.paper.kind.is_picture();
            pictures += usize::from(is_picture);
            let shown = if is_picture && pictures > MOST_SMALL {
                Shown::Not(format!("the report shows {MOST_SMALL} pictures at most"))
            } else {
                shown_of(record, one)?
            };
            Ok(PaperShown { number, record: one.clone(), shown })
        })
        .collect()
}

fn shown_of(record: &Reader, one: &AttachmentRecord) -> Result<Shown, Failure> {
    let paper = &one.attached.paper;
    if !paper.kind.is_picture() {
        let there = record.paper_there(paper).map_err(bench::no_record)?;
        return Ok(there.map_or_else(|wrong| Shown::Not(wrong.to_string()), |()| Shown::Paper));
    }
    let bytes = match record.paper(paper).map_err(bench::no_record)? {
        Ok(bytes) => bytes,
        Err(wrong) => return Ok(Shown::Not(wrong.to_string())),
    };
    Ok(match small(&bytes, paper.kind) {
        Ok(small) => {
            let uri = data_uri(PaperType::Jpeg.media(), &small.jpeg);
            Shown::Small { uri, width: small.width, height: small.height }
        }
        Err(why) => Shown::Not(why),
    })
}

fn cannot(what: &str, path: &Path) -> impl FnOnce(std::io::Error) -> Failure {
    let place = format!("cannot {what} {}", path.display());
    move |error| {
        Failure::new(
            UNREACHABLE,
            format!("{place}: {error}"),
            "choose a folder that you may write to",
        )
    }
}

/// Writes the annex into a new folder: a page, and each picture and paper as a file of its own. Any program
/// shows and prints these, and however many they are, no page becomes too large for a browser. Returns how
/// many could not be handed on.
pub(crate) fn write(
    record: &Reader,
    (job, zone): (&str, &TimeZone),
    papers: &[PaperShown],
    to: &Path,
) -> Result<usize, Failure> {
    let target = bundle::target(to, "--annex")?;
    let half = bundle::half_of(&target);
    fs::create_dir(&half).map_err(cannot("make", &half))?;
    let made = fill(record, (job, zone), papers, &half).and_then(|wrong| {
        fs::rename(&half, &target).map_err(cannot("make", &target))?;
        Ok(wrong)
    });
    if made.is_err() {
        // The error that is reported says more than that of the tidying.
        drop(fs::remove_dir_all(&half));
    }
    made
}

fn fill(
    record: &Reader,
    (job, zone): (&str, &TimeZone),
    papers: &[PaperShown],
    folder: &Path,
) -> Result<usize, Failure> {
    let mut listed = Vec::new();
    for one in papers {
        let paper = &one.record.attached.paper;
        let bytes = record.paper(paper).map_err(bench::no_record)?;
        match bytes.map_err(|wrong| wrong.to_string()).and_then(|bytes| bare(&bytes, paper.kind)) {
            Ok(bare) => {
                let name = format!("{:03}.{}", one.number, paper.kind.ending());
                put(&folder.join(&name), &bare)?;
                // Too large to be drawn small here, it is shown in full all the same.
                let shown = if paper.kind.is_picture() { full(one) } else { one.shown.clone() };
                listed.push((PaperShown { shown, ..one.clone() }, Some(name)));
            }
            Err(why) => listed.push((PaperShown { shown: Shown::Not(why), ..one.clone() }, None)),
        }
    }
    let page = annex_page(&AnnexFacts { job, papers: &listed, zone });
    put(&folder.join("index.html"), page.as_bytes())?;
    Ok(listed.iter().filter(|(_, file)| file.is_none()).count())
}

/// A picture that is shown from its own file.
fn full(one: &PaperShown) -> Shown {
    match &one.shown {
        Shown::Not(_) => Shown::Small { uri: String::new(), width: 0, height: 0 },
        shown @ (Shown::Small { .. } | Shown::Paper) => shown.clone(),
    }
}

fn put(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    write_new(path, bytes).map_err(cannot("write", path))
}
