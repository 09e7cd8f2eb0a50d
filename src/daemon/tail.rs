//! A client that follows the feed: what the record has after a number, then what comes, no gap and
//! no repeat, because every line comes out of the record by its number.

use std::path::PathBuf;
use std::sync::Arc;

use tokio::sync::watch;
use tokio::task::spawn_blocking;

use super::reload::parse_pinned_plan;
use super::server::{Line, Lines, Pen};
use super::shown::{Shown, Storage};
use crate::intake::Stop;
use crate::store::{FeedOrigin, FeedRecord, Reader, StoreError};
use crate::wire::{Anew, Begins, StorageState, feed_line, storage_line, tail_line};

/// How many lines are read from the record at a time, so that no reading is long.
const PAGE: usize = 256;

/// A connection that follows the feed.
pub(super) struct Tail {
    pub(super) shown: watch::Receiver<Arc<Shown>>,
    pub(super) state: PathBuf,
    pub(super) origin: Arc<FeedOrigin>,
    pub(super) stop: Stop,
    pub(super) lines: Lines,
    pub(super) pen: Pen,
}

impl Tail {
    /// Follows the feed until the client or the service ends. Without a number, from now on; with
    /// one of another feed, or one that does not exist yet, from the beginning.
    pub(super) async fn follow(
        mut self,
        since: Option<u64>,
        feed: Option<&str>,
    ) -> std::io::Result<()> {
        let begins = begins(&self.origin, self.shown.borrow().bench.feed, (since, feed));
        let mut seen = begins.from;
        self.pen.line(&tail_line(&begins)).await?;
        let mut told = StorageState::Fine;
        loop {
            let (newest, storage) = {
                let shown = self.shown.borrow_and_update();
                (shown.bench.feed, shown.storage.clone())
            };
            let before = std::mem::replace(&mut told, storage.state);
            if before != storage.state {
                let line = storage_line(state_text(storage.state), sentence(before, &storage));
                self.pen.line(&line).await?;
            }
            seen = self.send_until(newest, seen).await?;
            tokio::select! {
                changed = self.shown.changed() => {
                    if changed.is_err() {
                        return Ok(());
                    }
                }
                () = self.stop.thrown() => return Ok(()),
                line = self.lines.next() => {
                    // Whatever a follower says is not asked for; its end is.
                    if matches!(line?, Line::End) {
                        return Ok(());
                    }
                }
            }
        }
    }

    /// Sends the lines after `seen` up to `newest`, and tells which was sent last.
    async fn send_until(&mut self, newest: u64, mut seen: u64) -> std::io::Result<u64> {
        while seen < newest {
            let folder = self.state.clone();
            let page = spawn_blocking(move || page(&folder, seen)).await;
            let page = page.map_err(std::io::Error::other)?.map_err(std::io::Error::other)?;
            // Lines that are stored but not published yet come with the next change.
            let page: Vec<_> = page.into_iter().filter(|record| record.seq <= newest).collect();
            if page.is_empty() {
                break;
            }
            for record in page {
                self.pen.line(&feed_line(&record)).await?;
                seen = record.seq;
            }
        }
        Ok(seen)
    }
}

/// Where the lines begin for a client that knows the feed up to a number.
fn begins(origin: &FeedOrigin, newest: u64, (since, feed): (Option<u64>, Option<&str>)) -> Begins {
    let anew = match (since, feed) {
        (Some(_), Some(feed)) if feed != origin.name => Some(Anew::AnotherFeed),
        (Some(since), _) if since > newest => Some(Anew::PastTheEnd),
        _ => None,
    };
    let from = if anew.is_some() { 0 } else { since.unwrap_or(newest) };
    Begins { from, feed: origin.name.clone(), began: origin.began, newest, anew }
}

fn page(folder: &std::path::Path, seen: u64) -> Result<Vec<FeedRecord>, StoreError> {
    Reader::open_with(folder, parse_pinned_plan)?.feed_since(seen, PAGE)
}

fn state_text(state: StorageState) -> &'static str {
    match state {
        StorageState::Fine => "fine",
        StorageState::Failing => "failing",
        StorageState::Low => "low",
    }
}

/// What is said beside the state, which the client puts into words itself.
fn sentence(before: StorageState, storage: &Storage) -> &str {
    match (before, storage.state) {
        (StorageState::Low, StorageState::Fine) => "there is room again",
        (_, StorageState::Fine) => "nothing was lost",
        (_, StorageState::Failing | StorageState::Low) => &storage.why,
    }
}
