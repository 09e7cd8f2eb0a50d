//! A dropped file on the deciding thread: what the record knows of it, and its result.
//!
//! Files that arrive together are stored in one commit. Before a file is looked up, all that was decided
//! and concerns it is stored, so that the record's answer is complete.

use std::sync::Arc;

use super::{After, Desk, GivenUp};
use crate::record::Record;
use ::record::{FileHistory, FileLook, Grown};
use bench::event::StorageNews;
use bench::row::{Body, FileSeen, Piece};
use bench::{Bench, DroppedFile, Event, Job, Notice};
use gauge::line_ends;
use intake::{Fate, ReadFile};
use quantity::Stamp;

/// The most rows that are stored at once, so that a touch does not have to wait for more.
const ROWS: usize = 2000;

/// What the decision on a file uses beside the file.
struct Seen {
    /// Whether it was found, so that nobody was seen writing it.
    found: bool,
    renamed_from: Option<String>,
}

impl<R: Record> Desk<R> {
    /// A file is complete and read.
    pub(super) fn file(&mut self, at: Stamp, read: ReadFile) -> Result<(), GivenUp> {
        let ReadFile { mut file, found, renamed_from, named, fate: tell } = read;
        if self.batch.rows.len() > ROWS || bears_on(&self.batch.rows, &file) {
            self.commit()?;
        }
        if named {
            settle_check(&self.bench, &mut file);
        }
        let drop = file.seen.drop.clone();
        let told = match self.know_file(at, &mut file, &Seen { found, renamed_from })? {
            Some(Fate::Known) => {
                file.known = true;
                self.happened(at, &Event::File(Box::new(file)));
                After::File { drop, rows: 0, fate: Fate::Known, tell, of: None }
            }
            Some(fate) => After::File { drop, rows: 0, fate, tell, of: None },
            None => {
                let place = self.batch.events.len();
                let decision = self.happened(at, &Event::File(Box::new(file)));
                let of = (self.batch.events.len() > place).then_some(place);
                let (fate, rows) = fate_of(&decision.notices);
                After::File { drop, rows, fate, tell, of }
            }
        };
        self.batch.after.push(told);
        Ok(())
    }

    /// Fills in what the decision on a file needs to know. Returns the result if nothing is left to decide.
    fn know_file(
        &mut self,
        at: Stamp,
        file: &mut DroppedFile,
        seen: &Seen,
    ) -> Result<Option<Fate>, GivenUp> {
        let places = self.bench.places_of(&self.setup, file);
        if let Some(places) = &places {
            file.seen.went = went(places);
        }
        let (known, bytes) = (file.seen.clone(), Arc::clone(&file.bytes));
        let renamed_from = seen.renamed_from.as_deref();
        let look = FileLook { seen: &known, bytes: &bytes, renamed_from };
        let history = match self.look(|record| record.file_history(look))? {
            Ok(history) => history,
            Err(why) => return Ok(Some(self.unknown(at, file, why))),
        };
        if let Some(fate) = fate_if_known(file, &history, seen) {
            return Ok(Some(fate));
        }
        file.same = history.same.filter(|_| places.is_some());
        file.before = history.before;
        if let Some(grown) = history.grown
            && !grew(file, &grown)
        {
            return Ok(Some(Fate::Known));
        }
        for name in file.rows.tags.iter().filter_map(|tag| tag.job.as_ref()) {
            if self.bench.job_named(name).is_some() {
                continue;
            }
            match self.look(|record| record.closed_job(name))? {
                Ok(Some(_)) => drop(file.closed_jobs.insert(name.clone())),
                Ok(None) => {}
                Err(why) => return Ok(Some(self.unknown(at, file, why))),
            }
        }
        Ok(None)
    }

    /// The record cannot say what it has of a file. The file is refused, since it could be taken twice.
    fn unknown(&mut self, at: Stamp, file: &DroppedFile, why: String) -> Fate {
        let what = Piece::Drop(file.seen.drop.clone());
        let news = StorageNews::Damaged { what, why: why.clone() };
        self.happened(at, &Event::Storage(news));
        Fate::Refused(why)
    }
}

/// Whether rows that are not stored yet concern a file.
fn bears_on(rows: &[bench::Row], file: &DroppedFile) -> bool {
    let seen = &file.seen;
    let alike = |other: &FileSeen| {
        let same_drop = other.drop == seen.drop;
        other.digest == seen.digest
            || (same_drop && (other.name == seen.name || other.series == seen.series))
    };
    rows.iter().any(|row| {
        if let Body::FileTaken(other) | Body::FileRefused(other) = &row.body {
            return alike(other);
        }
        matches!(row.body, Body::JobClosed { .. })
    })
}

/// The result of a file that was dealt with before, if it was.
fn fate_if_known(file: &mut DroppedFile, history: &FileHistory, seen: &Seen) -> Option<Fate> {
    if seen.found && history.itself {
        return Some(Fate::Known);
    }
    if seen.found
        && let Some(why) = &history.refused
    {
        return Some(Fate::Told(why.clone()));
    }
    let twin = history.twin.as_ref().filter(|_| file.seen.why.is_empty())?;
    let own = twin.drop == file.seen.drop && seen.renamed_from.as_ref() == Some(&twin.name);
    let stays = file.to_active || history.same.is_some();
    if own && stays {
        // The same file under another name; there is nothing to do.
        return Some(Fate::Known);
    }
    if seen.found && file.to_active {
        // The active check need not be the one it was measured for.
        file.seen.why = format!(
            "the same bytes were taken as {}/{} at {}, and nobody was seen writing this file; where \
             it is another measurement, copy it into the folder again",
            twin.drop, twin.name, twin.at
        );
    }
    None
}

/// A file begins with the bytes of an earlier one. Notes its new rows, or the sentence against it. Returns
/// `false` if there is no new row and it is the same file by its name, with its last line ended.
fn grew(file: &mut DroppedFile, grown: &Grown) -> bool {
    let end = usize::try_from(grown.bytes).unwrap_or(usize::MAX);
    let is_end = |byte: Option<&u8>| matches!(byte, None | Some(b'\n' | b'\r'));
    let ended = end.checked_sub(1).is_none_or(|last| is_end(file.bytes.get(last)));
    if !ended && !is_end(file.bytes.get(end)) {
        if file.seen.why.is_empty() {
            file.seen.why = went_on(&file.bytes, end);
        }
        return true;
    }
    let rows = usize::try_from(grown.rows).unwrap_or(usize::MAX);
    if rows == file.rows.rows.len() && file.bad.is_empty() && file.seen.why.is_empty() {
        if grown.name == file.seen.name {
            return false;
        }
        file.seen.why = format!(
            "it holds the {rows} rows that were taken from {} before and nothing new",
            grown.name
        );
    }
    file.given_before = grown.rows;
    true
}

/// The sentence about a row that was taken before its line was complete.
fn went_on(bytes: &[u8], end: usize) -> String {
    let is_end = |byte: &u8| matches!(byte, b'\n' | b'\r');
    let start = bytes[..end].iter().rposition(is_end).map_or(0, |at| at + 1);
    let stop = bytes[end..].iter().position(is_end).map_or(bytes.len(), |at| end + at);
    let line = 1 + line_ends(&bytes[..start]);
    let shown = |part: &[u8]| String::from_utf8_lossy(part).trim().to_owned();
    format!(
        "line {line}: the row was taken as {:?} and goes on now as {:?}; take that reading back \
         (`tenths void`) and drop the row again in a file of its own",
        shown(&bytes[start..end]),
        shown(&bytes[start..stop])
    )
}

/// The BLAKE3 digest of the places that rows go to.
fn went(places: &[String]) -> [u8; 32] {
    let mut hasher = blake3::Hasher::new();
    for place in places {
        hasher.update(&u64::try_from(place.len()).unwrap_or(u64::MAX).to_le_bytes());
        hasher.update(place.as_bytes());
    }
    *hasher.finalize().as_bytes()
}

/// The result of a file, and how many rows it gave.
pub(super) fn fate_of(notices: &[Notice]) -> (Fate, u32) {
    match notices.first() {
        Some(Notice::FileTaken { rows, .. }) => (Fate::Taken, *rows),
        Some(Notice::FileRefused { why, .. }) => (Fate::Refused(why.clone()), 0),
        None => (Fate::Refused("the bench gave no answer about it".to_owned()), 0),
    }
}

/// Settles which check a name `JOB__PART__CHECK*` means: the longest check of the part with which the rest
/// of the name begins. If none fits, the name stays, and the bench says that there is no such check.
pub(super) fn settle_check(bench: &Bench, file: &mut DroppedFile) {
    let Some(tag) = file.rows.tags.first() else { return };
    let (Some(job), Some(part), Some(text)) = (&tag.job, &tag.part, &tag.check) else { return };
    let Some((_, job)) = bench.job_named(job) else { return };
    if let Some(check) = meant(job, part, text)
        && &check != text
    {
        Arc::make_mut(&mut file.rows).tags[0].check = Some(check);
    }
}

fn meant(job: &Job, part: &str, text: &str) -> Option<String> {
    let parts = &job.opened.plan.plan.parts;
    let checks = &parts.iter().find(|known| known.name.as_str() == part)?.checks;
    let names = checks.iter().map(|check| check.name.as_str());
    let longest = names.filter(|name| text.starts_with(name)).max_by_key(|name| name.len())?;
    Some(longest.to_owned())
}
