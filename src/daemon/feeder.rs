//! The newest lines of the feed. They are read from the record once, written out once and shared by all who
//! follow. A client that is further behind reads pages of its own, a few clients at a time.

use std::collections::VecDeque;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};

use tokio::sync::{Semaphore, watch};
use tokio::task::spawn_blocking;

use super::reload::parse_pinned_plan;
use super::shown::{Shown, Storage};
use ::record::{Reader, StoreError};
use intake::Stop;
use quantity::Unit;
use wire::{StorageState, feed_line};

/// How many lines are read from the record at a time, so that no read takes long, and how many are kept.
const PAGE: usize = 256;

/// The most pages read with one opening of the record, since the memory it uses grows.
const PAGES_AN_OPENING: u32 = 64;

/// How many clients that are behind may read at once.
const BEHIND: usize = 2;

/// A line of the feed, with its line end.
pub(super) type FeedText = Arc<str>;

/// The newest lines, and the state of the record.
#[derive(Debug, Clone)]
pub(super) struct Recent {
    /// The number of the newest line that was looked at; the kept lines end with it.
    pub(super) newest: u64,
    lines: VecDeque<FeedText>,
    pub(super) storage: StorageState,
    /// The unit people see.
    pub(super) unit: Unit,
    /// A sentence about the record where it is not fine.
    pub(super) why: String,
}

impl Recent {
    /// The line with a number, if it is kept.
    pub(super) fn line(&self, number: u64) -> Option<&FeedText> {
        let first = self.newest + 1 - self.lines.len() as u64;
        self.lines.get(usize::try_from(number.checked_sub(first)?).ok()?)
    }

    fn is_as(&self, storage: &Storage) -> bool {
        self.storage == storage.state && self.why == storage.why
    }
}

/// The lines of one page.
pub(super) struct Page {
    /// The number of the newest line in it.
    pub(super) newest: u64,
    pub(super) lines: Vec<FeedText>,
}

/// Reads pages of the feed, many of them with one opening of the record.
#[derive(Clone)]
pub(super) struct Pages {
    folder: Arc<PathBuf>,
    kept: Arc<Mutex<Option<(Reader, u32)>>>,
    behind: Arc<Semaphore>,
}

impl Pages {
    fn new(folder: PathBuf) -> Self {
        Self {
            folder: Arc::new(folder),
            kept: Arc::default(),
            behind: Arc::new(Semaphore::new(BEHIND)),
        }
    }

    /// The lines after `seen`, one page of them and none beyond `newest`; `None` where there are none.
    async fn page(&self, seen: u64, newest: u64, unit: Unit) -> std::io::Result<Option<Page>> {
        let pages = self.clone();
        let page = spawn_blocking(move || pages.read(seen, newest, unit)).await;
        page.map_err(std::io::Error::other)?.map_err(std::io::Error::other)
    }

    /// The same for a client that is behind, once it has its turn.
    pub(super) async fn behind(
        &self,
        seen: u64,
        newest: u64,
        unit: Unit,
    ) -> std::io::Result<Option<Page>> {
        let _turn = self.behind.acquire().await.map_err(std::io::Error::other)?;
        self.page(seen, newest, unit).await
    }

    fn read(&self, seen: u64, newest: u64, unit: Unit) -> Result<Option<Page>, StoreError> {
        let kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner).take();
        let (reader, pages) = match kept.filter(|(_, pages)| *pages < PAGES_AN_OPENING) {
            Some(kept) => kept,
            None => (Reader::open_with(&self.folder, parse_pinned_plan)?, 0),
        };
        let found = reader.feed_since(seen, PAGE)?;
        // Lines that are stored but not shown yet are sent after the next change.
        let found: Vec<_> = found.iter().take_while(|record| record.seq <= newest).collect();
        let page = found.last().map(|last| Page {
            newest: last.seq,
            lines: found
                .iter()
                .map(|record| FeedText::from(feed_line(record, unit) + "\n"))
                .collect(),
        });
        *self.kept.lock().unwrap_or_else(PoisonError::into_inner) = Some((reader, pages + 1));
        Ok(page)
    }
}

/// Where clients get the lines they follow.
#[derive(Clone)]
pub(super) struct Followed {
    recent: Arc<watch::Sender<Arc<Recent>>>,
    pub(super) pages: Pages,
}

/// Reads new lines for all who follow the feed.
pub(super) struct Feeder {
    shown: watch::Receiver<Arc<Shown>>,
    to: Followed,
    stop: Stop,
}

impl Followed {
    /// The feed of a state folder for clients, and the task that keeps it up to date.
    pub(super) fn new(
        shown: watch::Receiver<Arc<Shown>>,
        folder: PathBuf,
        stop: Stop,
    ) -> (Self, Feeder) {
        let (newest, unit) = (shown.borrow().bench.feed, shown.borrow().setup.unit);
        let recent = Recent {
            unit,
            newest,
            lines: VecDeque::new(),
            storage: StorageState::Fine,
            why: String::new(),
        };
        let followed = Self {
            recent: Arc::new(watch::Sender::new(Arc::new(recent))),
            pages: Pages::new(folder),
        };
        let feeder = Feeder { shown, to: followed.clone(), stop };
        (followed, feeder)
    }

    /// Adds one more follower of the newest lines.
    pub(super) fn subscribe(&self) -> watch::Receiver<Arc<Recent>> {
        self.recent.subscribe()
    }
}

impl Feeder {
    /// Works until the service ends.
    pub(super) async fn run(mut self) {
        loop {
            self.follow().await;
            tokio::select! {
                changed = self.shown.changed() => {
                    if changed.is_err() {
                        return;
                    }
                }
                () = self.stop.thrown() => return,
            }
        }
    }

    /// Reads new lines and passes them on.
    async fn follow(&mut self) {
        let (newest, unit, storage) = {
            let shown = self.shown.borrow_and_update();
            let recent = self.to.recent.borrow();
            let (unit, storage) = (shown.setup.unit, &shown.storage);
            let new = unit != recent.unit || !recent.is_as(storage);
            (shown.bench.feed, unit, new.then(|| storage.clone()))
        };
        if let Some(storage) = storage {
            self.tell(|recent| {
                recent.unit = unit;
                (recent.storage, recent.why) = (storage.state, storage.why);
            });
        }
        loop {
            let seen = self.to.recent.borrow().newest;
            if seen >= newest {
                return;
            }
            let followed = self.to.recent.receiver_count() > 0;
            let page =
                if followed { self.to.pages.page(seen, newest, unit).await } else { Ok(None) };
            // Without followers nothing is read. If the record cannot be read, each follower tries it and
            // ends with the error.
            let page = page.unwrap_or_default().unwrap_or(Page { newest, lines: Vec::new() });
            self.tell(|recent| {
                if page.lines.is_empty() {
                    recent.lines.clear();
                }
                recent.newest = page.newest;
                recent.lines.extend(page.lines);
                let over = recent.lines.len().saturating_sub(PAGE);
                recent.lines.drain(..over);
            });
        }
    }

    fn tell(&self, change: impl FnOnce(&mut Recent)) {
        self.to.recent.send_modify(|recent| change(Arc::make_mut(recent)));
    }
}
