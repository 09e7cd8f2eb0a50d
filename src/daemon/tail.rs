//! A client that follows the feed: first the lines the record has after a number, then each new line. There
//! is no gap and no repeat, because every line is taken from the record by its number.

use std::sync::Arc;

use tokio::sync::watch;

use super::feeder::{Followed, Recent};
use super::server::{ClientLine, Lines, Pen};
use super::shown::Shown;
use ::record::FeedOrigin;
use intake::Stop;
use wire::{Anew, Begins, StorageState, storage_line, tail_line};

/// A connection that follows the feed.
pub(super) struct Tail {
    pub(super) shown: watch::Receiver<Arc<Shown>>,
    pub(super) followed: Followed,
    pub(super) origin: Arc<FeedOrigin>,
    pub(super) stop: Stop,
    pub(super) lines: Lines,
    pub(super) pen: Pen,
}

impl Tail {
    /// Follows the feed until the client or the service ends. Without a number it begins now; with a number
    /// of another feed, or one that does not exist yet, it begins at the first line.
    pub(super) async fn follow(
        mut self,
        since: Option<u64>,
        feed: Option<&str>,
    ) -> std::io::Result<()> {
        let mut recent = self.followed.subscribe();
        // The newest lines need not include what was shown before this moment.
        let mut newest = self.shown.borrow().bench.feed;
        let begins = begins(&self.origin, newest, (since, feed));
        drop(self.shown);
        let mut seen = begins.from;
        self.pen.line(&tail_line(&begins)).await?;
        let mut told = StorageState::Fine;
        loop {
            let now = Arc::clone(&recent.borrow_and_update());
            let before = std::mem::replace(&mut told, now.storage);
            if before != now.storage {
                let line = storage_line(now.storage, sentence(before, &now));
                self.pen.line(&line).await?;
            }
            newest = newest.max(now.newest);
            seen = send_until(&mut self.pen, &self.followed, (&now, newest), seen).await?;
            drop(now);
            tokio::select! {
                changed = recent.changed() => {
                    if changed.is_err() {
                        return Ok(());
                    }
                }
                () = self.stop.thrown() => return Ok(()),
                line = self.lines.next() => {
                    // Whatever a follower sends is ignored, except that it ends.
                    if matches!(line?, ClientLine::End) {
                        return Ok(());
                    }
                }
            }
        }
    }
}

/// Sends the lines after `seen` up to `newest`. Returns the number of the last line sent.
async fn send_until(
    pen: &mut Pen,
    followed: &Followed,
    (recent, newest): (&Recent, u64),
    mut seen: u64,
) -> std::io::Result<u64> {
    while seen < newest {
        if let Some(line) = recent.line(seen + 1) {
            pen.whole(line).await?;
            seen += 1;
            continue;
        }
        let Some(page) = followed.pages.behind(seen, newest, recent.unit).await? else { break };
        for line in &page.lines {
            pen.whole(line).await?;
        }
        seen = page.newest;
    }
    Ok(seen)
}

/// Where the feed begins for a client that knows it up to a number.
fn begins(origin: &FeedOrigin, newest: u64, (since, feed): (Option<u64>, Option<&str>)) -> Begins {
    let anew = match (since, feed) {
        (Some(_), Some(feed)) if feed != origin.name => Some(Anew::AnotherFeed),
        (Some(since), _) if since > newest => Some(Anew::PastTheEnd),
        _ => None,
    };
    let from = if anew.is_some() { 0 } else { since.unwrap_or(newest) };
    Begins { from, feed: origin.name.clone(), began: origin.began, newest, anew }
}

/// The text sent with a change of state. The client words the state itself.
fn sentence(before: StorageState, now: &Recent) -> &str {
    match (before, now.storage) {
        (StorageState::Low, StorageState::Fine) => "there is room again",
        (_, StorageState::Fine) => "nothing was lost",
        (_, StorageState::Failing | StorageState::Low) => &now.why,
    }
}
