//! The lines of the feed that were not told yet, page by page.

use std::collections::VecDeque;
use std::fs;
use std::path::Path;
use std::time::{Duration, SystemTime};

use record::{DATABASE, FeedRecord, StoreError};

use crate::Origin;

/// How many lines are read with one opening of the record: memory, and the time of one read, stay small.
const PAGE: usize = 128;

/// Longer than the resolution of the times of files.
const RESOLUTION: Duration = Duration::from_millis(100);

/// What changes about the files of a record when something is written: their times and sizes.
type Look = [Option<(SystemTime, u64)>; 2];

/// The feed from some line on.
#[derive(Debug, Default)]
pub(super) struct News {
    page: VecDeque<FeedRecord>,
    /// The newest line that was read.
    read: u64,
    /// The newest line of the record, as it was last looked at.
    newest: u64,
    /// The feed that `read` belongs to; empty before any line was.
    feed: String,
    /// The files when the record was last read to its end.
    seen: Option<Look>,
}

/// What a look at the record came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Looked {
    /// The feed goes on, or rests.
    Goes,
    /// The record is another one than before, or ends before the line that was told last: it is read from its
    /// first line.
    Anew(String),
}

impl News {
    /// The lines after one of a feed.
    pub(super) fn after(feed: &str, line: u64) -> Self {
        Self { read: line, newest: line, feed: feed.to_owned(), ..Self::default() }
    }

    /// The feed that the lines belong to.
    pub(super) fn feed(&self) -> Option<&str> {
        Some(self.feed.as_str()).filter(|feed| !feed.is_empty())
    }

    /// How many lines come after one.
    pub(super) const fn after_line(&self, line: u64) -> u64 {
        self.newest.saturating_sub(line)
    }

    /// The next line of the page.
    pub(super) fn next(&mut self) -> Option<FeedRecord> {
        self.page.pop_front()
    }

    /// Whether the page has come to its end.
    pub(super) fn is_empty(&self) -> bool {
        self.page.is_empty()
    }

    /// Reads the next page, where the page is at its end and the record may have more.
    ///
    /// # Errors
    /// The record cannot be read.
    pub(super) fn look(&mut self, origin: &Origin) -> Result<Looked, StoreError> {
        let files = look(&origin.state);
        // Before the record is read: what comes after that is seen at the next look.
        let settled = is_settled(&files);
        if !self.page.is_empty() || self.seen == Some(files) {
            return Ok(Looked::Goes);
        }
        let record = origin.record()?;
        let ((feed, newest), found) = record.at_one_moment(|| {
            let end = record.feed_end()?;
            let goes_on = end.0.name == self.feed && self.read <= end.1;
            Ok::<_, StoreError>((
                end,
                record.feed_since(if goes_on { self.read } else { 0 }, PAGE)?,
            ))
        })??;
        let was = std::mem::replace(&mut self.feed, feed.name);
        let looked = if was == self.feed && self.read <= newest || was.is_empty() {
            Looked::Goes
        } else {
            Looked::Anew(if was == self.feed {
                format!("the feed ends at line {newest}, before line {} that was told", self.read)
            } else {
                "the record was restored from a copy, and its feed is another one now".to_owned()
            })
        };
        self.newest = newest;
        self.read = found
            .last()
            .map_or(if looked == Looked::Goes { self.read } else { 0 }, |last| last.seq);
        self.seen = (settled && self.read >= newest).then_some(files);
        self.page = found.into();
        Ok(looked)
    }
}

/// When the files of a record were last written.
fn look(state: &Path) -> Look {
    [DATABASE.to_owned(), format!("{DATABASE}-wal")].map(|name| {
        let found = fs::metadata(state.join(name)).ok()?;
        Some((found.modified().ok()?, found.len()))
    })
}

/// Whether files that are written from now on get another time. Times have a resolution of some milliseconds.
fn is_settled(files: &Look) -> bool {
    let old = |(at, _): &(SystemTime, u64)| at.elapsed().is_ok_and(|age| age > RESOLUTION);
    files.iter().flatten().all(old)
}
