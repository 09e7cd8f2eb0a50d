//! One drop folder: it is watched, its complete files are read, and their results are written beside them.

mod flight;
mod names;
mod read;
mod waiting;
mod watch;
mod why;

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::{OsStr, OsString};
use std::sync::Arc;
use std::time::Duration;

use tokio::sync::oneshot;
use tokio::task::spawn_blocking;

use super::{Closed, Fate, News, Outlet, ReadFile, Stop, clock};
use bench::DroppedFile;
use config::{Complete, Drop};
use flight::Flights;
use read::{Content, Shape};
use waiting::{Due, Read, Waiting};
use watch::{Hint, Hints};

/// The first wait before a missing folder is looked for again.
const RETRY_FIRST: Duration = Duration::from_secs(1);

/// The longest wait before a missing folder is looked for again.
const RETRY_LONGEST: Duration = Duration::from_secs(30);

/// How long after a name disappeared the second half of its renaming may arrive, in microseconds.
const RENAMING_US: u64 = 100_000;

/// The most files whose reason to wait is given one by one.
const MOST_REASONS: usize = 20;

/// Watches a drop folder until the service ends. Files that are there at the start, or when the folder
/// comes back, are treated like new ones; the record knows which of them it already has.
pub async fn watch_drop<T: From<super::Arrival> + Send>(drop: Drop, outlet: Outlet<T>, stop: Stop) {
    let mut watcher = Watcher {
        polled: drop.complete == Complete::Quiet,
        waiting: Waiting::new(drop.quiet_us),
        drop: Arc::new(drop),
        outlet,
        stop,
        done: BTreeMap::new(),
        flights: Flights::default(),
        away: None,
        renamed: BTreeMap::new(),
        missed: BTreeSet::new(),
        reasons: Vec::new(),
        told: None,
        odd_noted: false,
    };
    let (Ok(()) | Err(Closed)) = watcher.run().await;
}

struct Watcher<T> {
    drop: Arc<Drop>,
    outlet: Outlet<T>,
    stop: Stop,
    /// Whether the folder gives no events and so is looked through again and again.
    polled: bool,
    waiting: Waiting,
    /// The shape of each file when it was last dealt with, and its digest.
    done: BTreeMap<OsString, (Shape, [u8; 32])>,
    /// Files handed over whose result is not known yet.
    flights: Flights,
    /// A name that disappeared in a renaming whose second half may still arrive.
    away: Option<Away>,
    /// Files that were dealt with under another name; this is the old name of each.
    renamed: BTreeMap<OsString, OsString>,
    /// Complete files that were gone when they were to be read.
    missed: BTreeSet<OsString>,
    /// The newest report about files that wait.
    reasons: Vec<String>,
    /// Whether the folder was there in the newest report.
    told: Option<bool>,
    odd_noted: bool,
}

/// A name that disappeared.
struct Away {
    renaming: usize,
    name: OsString,
    /// Its shape when it was dealt with.
    done: Option<Shape>,
    /// Whether it was complete and had not been read.
    unread: bool,
    until_us: u64,
}

/// How a session with a folder ended.
enum Ending {
    Stopped,
    Gone(String),
}

impl<T: From<super::Arrival>> Watcher<T> {
    async fn run(&mut self) -> Result<(), Closed> {
        let mut wait = RETRY_FIRST;
        loop {
            let missing = match Hints::start(&self.drop.folder) {
                Ok(hints) => {
                    self.tell(None).await?;
                    wait = RETRY_FIRST;
                    match self.session(hints).await? {
                        Ending::Stopped => return self.land_all().await,
                        Ending::Gone(why) => why,
                    }
                }
                Err(why) => why,
            };
            self.land_all().await?;
            self.tell(Some(missing)).await?;
            tokio::select! {
                () = self.stop.thrown() => return Ok(()),
                () = tokio::time::sleep(wait) => wait = (wait * 2).min(RETRY_LONGEST),
            }
        }
    }

    async fn tell(&mut self, missing: Option<String>) -> Result<(), Closed> {
        if self.told.replace(missing.is_none()) == Some(missing.is_none()) {
            return Ok(());
        }
        self.outlet.tell(News::Folder { drop: self.drop.name.clone(), missing }).await
    }

    async fn session(&mut self, mut hints: Hints) -> Result<Ending, Closed> {
        self.waiting.forget_all();
        // Nobody was seen writing a file that is there at the beginning; one found later was written since.
        let (mut look, mut written) = (true, false);
        loop {
            if look && let Err(why) = self.look_through(written).await {
                return Ok(Ending::Gone(why));
            }
            written |= look;
            while let Some((name, due)) = self.waiting.due(clock::mono_us()) {
                if self.stop.is_thrown() {
                    return Ok(Ending::Stopped);
                }
                self.deal_with(&name, due).await?;
                self.tell_reasons().await?;
            }
            self.land_all().await?;
            let wake_us = self.wake_us();
            let hint = tokio::select! {
                biased;
                () = self.stop.thrown() => return Ok(Ending::Stopped),
                hint = hints.next() => Some(hint),
                () = clock::sleep_until(wake_us) => None,
            };
            look = hint.is_none() && self.polled;
            let mut next = hint;
            while let Some(hint) = next {
                match hint {
                    Hint::Gone => return Ok(Ending::Gone(self.gone())),
                    Hint::Lost => look = true,
                    Hint::Created(_) | Hint::Complete { .. } | Hint::Removed { .. } => {
                        self.take(hint).await?;
                    }
                }
                next = hints.already();
            }
            self.nobody_came().await?;
            self.tell_reasons().await?;
        }
    }

    fn gone(&self) -> String {
        format!("the folder {} is gone; put it back", self.drop.folder.display())
    }

    /// When a file may be due or the folder must be looked through. A quiet folder wakes nobody.
    fn wake_us(&self) -> Option<u64> {
        let poll_us = self.polled.then(|| clock::mono_us() + self.waiting.quiet_us());
        let away_us = self.away.as_ref().map(|away| away.until_us);
        self.waiting.next_us().into_iter().chain(poll_us).chain(away_us).min()
    }

    /// Handles a hint about one name.
    async fn take(&mut self, hint: Hint) -> Result<(), Closed> {
        match hint {
            Hint::Created(name) if names::is_data(&name) => self.created(&name),
            Hint::Complete { name, renaming } => {
                self.arrived(&name, renaming).await?;
                if names::is_data(&name) && !self.polled {
                    self.waiting.complete(&name);
                }
            }
            Hint::Removed { name, renaming } if names::is_data(&name) => {
                self.renamed.remove(&name);
                let unread = self.waiting.forget(&name) | self.missed.remove(&name);
                let done = self.done.remove(&name).map(|(shape, _)| shape);
                match renaming {
                    Some(renaming) => {
                        self.forget_away().await?;
                        let until_us = clock::mono_us() + RENAMING_US;
                        self.away = Some(Away { renaming, name, done, unread, until_us });
                    }
                    None if unread => self.went_unread(&name).await?,
                    None => {}
                }
            }
            Hint::Created(_) | Hint::Removed { .. } | Hint::Lost | Hint::Gone => {}
        }
        Ok(())
    }

    /// The shape of a file when it was last dealt with.
    fn looked_like(&self, name: &OsStr) -> Option<Shape> {
        self.done.get(name).map(|(shape, _)| *shape)
    }

    fn created(&mut self, name: &OsStr) {
        let shape = read::shape(&self.drop.folder, name).ok();
        let odd = shape.is_some_and(|shape| shape.odd.is_some());
        if odd {
            if self.looked_like(name) != shape {
                self.waiting.complete(name);
            }
            return;
        }
        // No close is seen for a name linked to a finished file, so the file has to stand still for a
        // while.
        let linked = shape.is_some_and(|shape| shape.links > 1);
        match shape.filter(|_| linked || self.polled) {
            Some(shape) => self.waiting.found(name, shape, true, clock::mono_us()),
            None => self.waiting.created(name),
        }
    }

    /// A name appeared. If that was a renaming in the folder, the new name is connected with the old one.
    async fn arrived(&mut self, name: &OsStr, renaming: Option<usize>) -> Result<(), Closed> {
        self.renamed.remove(name);
        let Some(away) = self.away.take_if(|away| renaming == Some(away.renaming)) else {
            return self.forget_away().await;
        };
        let now = read::shape(&self.drop.folder, name).ok();
        let same = away.done.zip(now).is_some_and(|(done, now)| done.inode == now.inode);
        if !names::is_data(name) && away.unread {
            return self.went_unread(&away.name).await;
        }
        if same {
            self.renamed.insert(name.to_owned(), away.name);
        }
        Ok(())
    }

    /// The second half of a renaming did not arrive in time: the file was moved elsewhere.
    async fn nobody_came(&mut self) -> Result<(), Closed> {
        let now_us = clock::mono_us();
        if self.away.as_ref().is_some_and(|away| away.until_us <= now_us) {
            self.forget_away().await?;
        }
        Ok(())
    }

    async fn forget_away(&mut self) -> Result<(), Closed> {
        match self.away.take() {
            Some(away) if away.unread => self.went_unread(&away.name).await,
            Some(_) | None => Ok(()),
        }
    }

    /// A complete file was taken away before it was read.
    async fn went_unread(&mut self, name: &OsStr) -> Result<(), Closed> {
        let why = "it was gone before it could be read; drop it again".to_owned();
        let file = read::of_nothing(&self.drop, name, why);
        self.hand_over(name, file, (false, false)).await
    }

    /// Finds the files that were not dealt with. Whether they are complete is still open.
    async fn look_through(&mut self, written: bool) -> Result<(), String> {
        let folder = self.drop.folder.clone();
        let listed = spawn_blocking(move || read::list(&folder)).await;
        let listed = listed.map_err(|error| error.to_string())?.map_err(|error| {
            format!("the folder {} cannot be read: {error}", self.drop.folder.display())
        })?;
        let now_us = clock::mono_us();
        self.done.retain(|name, _| listed.contains_key(name));
        for (name, shape) in listed {
            if names::is_data(&name) && self.looked_like(&name) != Some(shape) {
                self.waiting.found(&name, shape, written, now_us);
            }
        }
        Ok(())
    }

    /// A file is complete, or has to be looked at again.
    async fn deal_with(&mut self, name: &OsStr, due: Due) -> Result<(), Closed> {
        let Due::Read(how) = due else {
            let shape = read::shape(&self.drop.folder, name);
            self.waiting.looked(name, shape.ok(), clock::mono_us());
            return Ok(());
        };
        let (drop, file_name) = (Arc::clone(&self.drop), name.to_owned());
        let content = spawn_blocking(move || read::read(&drop, &file_name)).await;
        match content.unwrap_or_else(|error| Content::Unread(error.to_string())) {
            Content::Gone if self.polled => self.went_unread(name).await,
            Content::Gone => {
                // The kernel reports shortly whether it was only renamed.
                self.missed.insert(name.to_owned());
                Ok(())
            }
            Content::Changing(shape) => {
                self.waiting.found(name, shape, how.written, clock::mono_us());
                Ok(())
            }
            Content::Unread(why) => self.unread(name, &why, how).await,
            Content::Whole { file, shape, named, ended } => {
                self.read_whole(name, (file, shape), (named, ended), how).await
            }
        }
    }

    async fn read_whole(
        &mut self,
        name: &OsStr,
        (file, shape): (Box<DroppedFile>, Shape),
        (named, ended): (bool, bool),
        how: Read,
    ) -> Result<(), Closed> {
        if self.done.get(name) == Some(&(shape, file.seen.digest)) {
            // It was closed again without a change.
            self.waiting.dealt_with(name);
            return Ok(());
        }
        if !ended && !how.settled {
            self.waiting.no_end(name, shape, how.written, clock::mono_us());
            return Ok(());
        }
        self.waiting.dealt_with(name);
        self.done.insert(name.to_owned(), (shape, file.seen.digest));
        self.hand_over(name, file, (!how.written, named)).await
    }

    /// The system refuses to let a file be read now. That is reported once, and reading is tried again.
    async fn unread(&mut self, name: &OsStr, why: &str, how: Read) -> Result<(), Closed> {
        let why = format!("it cannot be read now ({why}); it is tried again by itself");
        if self.waiting.again(name, &why, how.written, clock::mono_us()) {
            let file = read::of_nothing(&self.drop, name, why);
            self.hand_over(name, file, (!how.written, false)).await?;
        }
        Ok(())
    }

    /// Hands a file over. Its result arrives later: see [`Flights`].
    async fn hand_over(
        &mut self,
        name: &OsStr,
        file: Box<DroppedFile>,
        (found, named): (bool, bool),
    ) -> Result<(), Closed> {
        while self.flights.is_full() {
            self.land().await?;
        }
        let (fate, became) = oneshot::channel();
        let renamed_from = self.renamed.remove(name).map(|from| names::shown(&from));
        let bytes = file.seen.bytes;
        let file = Box::new(ReadFile { file: *file, found, renamed_from, named, fate });
        self.outlet.tell(News::File(file)).await?;
        self.flights.told(name.to_owned(), bytes, became);
        Ok(())
    }

    async fn land_all(&mut self) -> Result<(), Closed> {
        while !self.flights.is_empty() {
            self.land().await?;
        }
        Ok(())
    }

    /// Waits for the result of the first file handed over, and writes its result and any others known by
    /// then.
    async fn land(&mut self) -> Result<(), Closed> {
        let landed = self.flights.landed().await?;
        for (name, fate) in &landed {
            self.note(name, fate);
        }
        let folder = self.drop.folder.clone();
        let written = spawn_blocking(move || {
            let write = |(name, fate): (OsString, Fate)| {
                let written = match &fate {
                    Fate::Refused(why) | Fate::Told(why) => why::write(&folder, &name, why),
                    Fate::Taken | Fate::Known => why::remove(&folder, &name),
                };
                written.err().map(|error| (name, error))
            };
            landed.into_iter().filter_map(write).collect::<Vec<_>>()
        });
        for (name, error) in written.await.unwrap_or_default() {
            let (drop, shown) = (&self.drop.name, names::shown(&name));
            tracing::warn!("drop \"{drop}\": no reasons beside {shown:?} ({error}); see the alert");
        }
        Ok(())
    }

    fn note(&mut self, name: &OsStr, fate: &Fate) {
        let odd = self.looked_like(name).is_some_and(|shape| shape.odd.is_some());
        let (drop, shown) = (&self.drop.name, names::shown(name));
        match fate {
            // Anybody may make any number of such files.
            Fate::Refused(why) if odd => {
                if !std::mem::replace(&mut self.odd_noted, true) {
                    tracing::warn!("drop \"{drop}\": {shown:?} refused: {why}; more: see alerts");
                }
            }
            Fate::Refused(_) => tracing::warn!("drop \"{drop}\": {shown:?} refused"),
            Fate::Taken => tracing::info!("drop \"{drop}\": {shown:?} taken"),
            Fate::Known | Fate::Told(_) => {}
        }
    }

    /// Reports what files wait for, when that has changed.
    async fn tell_reasons(&mut self) -> Result<(), Closed> {
        let reasons = self.waiting.reasons();
        let more = reasons.len().saturating_sub(MOST_REASONS);
        let named = reasons.into_iter().take(MOST_REASONS);
        let mut files: Vec<String> =
            named.map(|(name, why)| format!("{}: {why}", names::shown(&name))).collect();
        if more > 0 {
            files.push(format!("and {more} more"));
        }
        if files == self.reasons {
            return Ok(());
        }
        for file in files.iter().filter(|file| !self.reasons.contains(file)) {
            tracing::info!("drop \"{}\": waiting: {file}", self.drop.name);
        }
        self.reasons.clone_from(&files);
        self.outlet.tell(News::Waiting { drop: self.drop.name.clone(), files }).await
    }
}

/// Reads a whole file of a drop as the watcher does. Also returns whether the check in its tag still
/// carries the rest of the file's name.
#[cfg(any(test, feature = "trial"))]
pub fn read_whole(drop: &Drop, name: &OsStr) -> Option<(DroppedFile, bool)> {
    match read::read(drop, name) {
        Content::Whole { file, named, .. } => Some((*file, named)),
        Content::Gone | Content::Unread(_) | Content::Changing(_) => None,
    }
}

#[cfg(test)]
mod tests;
