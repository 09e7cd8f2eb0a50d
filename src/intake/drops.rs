//! One drop folder: watched, its complete files read, and what became of them written beside them.

mod names;
mod read;
mod waiting;
mod watch;
mod why;

use std::collections::BTreeMap;
use std::ffi::{OsStr, OsString};
use std::sync::Arc;
use std::time::Duration;

use tokio::sync::oneshot;
use tokio::task::spawn_blocking;

use super::{Closed, Fate, News, Outlet, ReadFile, Stop, clock};
use crate::config::{Complete, Drop};
use read::{Content, Shape};
use waiting::{Due, Waiting};
use watch::{Hint, Hints};

/// The first wait before a missing folder is looked for again.
const RETRY_FIRST: Duration = Duration::from_secs(1);

/// The longest.
const RETRY_LONGEST: Duration = Duration::from_secs(30);

/// How long a file that was found must stand still where the configuration says nothing.
const QUIET_US: u64 = 2_000_000;

/// Watches a drop folder until the service ends. Files that are there when it starts, or when the
/// folder comes back, are looked at like new ones; the record knows which of them it has.
pub async fn watch_drop<T: From<super::Arrival> + Send>(drop: Drop, outlet: Outlet<T>, stop: Stop) {
    let quiet_us = match drop.complete {
        Complete::Close => QUIET_US,
        Complete::Quiet { quiet_us } => quiet_us,
    };
    let mut watcher = Watcher {
        polled: matches!(drop.complete, Complete::Quiet { .. }),
        waiting: Waiting::new(quiet_us),
        drop: Arc::new(drop),
        outlet,
        stop,
        done: BTreeMap::new(),
        told: None,
        link_noted: false,
    };
    let (Ok(()) | Err(Closed)) = watcher.run().await;
}

struct Watcher<T> {
    drop: Arc<Drop>,
    outlet: Outlet<T>,
    stop: Stop,
    /// The folder gives no events, so it is looked through again and again.
    polled: bool,
    waiting: Waiting,
    /// What each file looked like when it was last dealt with.
    done: BTreeMap<OsString, Shape>,
    /// Whether the folder was last told to be there.
    told: Option<bool>,
    link_noted: bool,
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
            let missing = match Hints::of(&self.drop.folder) {
                Ok(hints) => {
                    self.tell(None).await?;
                    wait = RETRY_FIRST;
                    match self.session(hints).await? {
                        Ending::Stopped => return Ok(()),
                        Ending::Gone(why) => why,
                    }
                }
                Err(why) => why,
            };
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
        let mut look = true;
        loop {
            if look && let Err(why) = self.look_through().await {
                return Ok(Ending::Gone(why));
            }
            while let Some((name, due)) = self.waiting.due(clock::mono_us()) {
                if self.stop.is_thrown() {
                    return Ok(Ending::Stopped);
                }
                self.deal_with(&name, due).await?;
            }
            let wake_us = self.wake_us();
            let hint = tokio::select! {
                biased;
                () = self.stop.thrown() => return Ok(Ending::Stopped),
                hint = hints.next() => Some(hint),
                () = clock::sleep_until(wake_us) => None,
            };
            look = match hint {
                Some(Hint::Gone) => return Ok(Ending::Gone(self.gone())),
                Some(Hint::Lost) => true,
                Some(hint) => {
                    self.take(hint);
                    false
                }
                None => self.polled,
            };
        }
    }

    fn gone(&self) -> String {
        format!("the folder {} is gone; put it back", self.drop.folder.display())
    }

    /// When a file may be due, or the folder must be looked through. A quiet folder wakes nobody.
    fn wake_us(&self) -> Option<u64> {
        let poll_us = self.polled.then(|| clock::mono_us() + self.waiting.quiet_us());
        self.waiting.next_us().into_iter().chain(poll_us).min()
    }

    /// Takes a hint about one name.
    fn take(&mut self, hint: Hint) {
        match hint {
            Hint::Created(name) if names::is_data(&name) => {
                let shape = read::shape(&self.drop.folder, &name).ok();
                let linked = shape.is_some_and(|shape| shape.links > 1);
                // A name linked to a finished file is never closed, so it has to stand still.
                match shape.filter(|_| linked || self.polled) {
                    Some(shape) => self.waiting.found(&name, shape, clock::mono_us()),
                    None => self.waiting.created(&name),
                }
            }
            Hint::Complete(name) if names::is_data(&name) && !self.polled => {
                self.waiting.complete(&name);
            }
            Hint::Removed(name) => {
                self.waiting.forget(&name);
                self.done.remove(&name);
            }
            Hint::Created(_) | Hint::Complete(_) | Hint::Lost | Hint::Gone => {}
        }
    }

    /// Finds the files that were not dealt with. It proves none of them complete.
    async fn look_through(&mut self) -> Result<(), String> {
        let folder = self.drop.folder.clone();
        let listed = spawn_blocking(move || read::list(&folder)).await;
        let listed = listed.map_err(|error| error.to_string())?.map_err(|error| {
            format!("the folder {} cannot be read: {error}", self.drop.folder.display())
        })?;
        let now_us = clock::mono_us();
        self.done.retain(|name, _| listed.contains_key(name));
        for (name, shape) in listed {
            if names::is_data(&name) && self.done.get(&name) != Some(&shape) {
                self.waiting.found(&name, shape, now_us);
            }
        }
        Ok(())
    }

    /// A file is complete, or has to be looked at again.
    async fn deal_with(&mut self, name: &OsStr, due: Due) -> Result<(), Closed> {
        if let Due::Look = due {
            let shape = read::shape(&self.drop.folder, name);
            self.waiting.looked(name, shape.ok(), clock::mono_us());
            return Ok(());
        }
        let (answer, before) = oneshot::channel();
        self.outlet.tell(News::WhatWasTaken { drop: self.drop.name.clone(), answer }).await?;
        let before = before.await.map_err(|_| Closed)?;
        let (drop, file_name) = (Arc::clone(&self.drop), name.to_owned());
        let content = spawn_blocking(move || read::read(&drop, &file_name, &before)).await;
        match content.unwrap_or(Content::Gone) {
            Content::Gone => {}
            Content::Link => {
                self.note_link(name);
                let shape = read::shape(&self.drop.folder, name);
                self.done.extend(shape.ok().map(|shape| (name.to_owned(), shape)));
            }
            Content::Changing(shape) => self.waiting.found(name, shape, clock::mono_us()),
            Content::Whole { file, shape, named } => {
                let found = due == Due::Found;
                let fate = self.hand_over(*file, found, named).await?;
                if let Some(shape) = shape {
                    self.done.insert(name.to_owned(), shape);
                }
                self.write_beside(name, fate).await;
            }
        }
        Ok(())
    }

    /// Tells the file and waits until what became of it is stored.
    async fn hand_over(
        &self,
        file: crate::bench::DroppedFile,
        found: bool,
        named: bool,
    ) -> Result<Fate, Closed> {
        let (fate, became) = oneshot::channel();
        let file = Box::new(ReadFile { file, found, named, fate });
        self.outlet.tell(News::File(file)).await?;
        became.await.map_err(|_| Closed)
    }

    async fn write_beside(&self, name: &OsStr, fate: Fate) {
        let (folder, name) = (self.drop.folder.clone(), name.to_owned());
        let shown = name.to_string_lossy().into_owned();
        match &fate {
            Fate::Refused(_) => tracing::warn!("drop \"{}\": {shown:?} refused", self.drop.name),
            Fate::Taken => tracing::info!("drop \"{}\": {shown:?} taken", self.drop.name),
            Fate::Known | Fate::Nothing => {}
        }
        let written = spawn_blocking(move || match fate {
            Fate::Refused(why) => why::write(&folder, &name, &why),
            Fate::Taken | Fate::Known => why::remove(&folder, &name),
            Fate::Nothing => Ok(()),
        });
        if let Ok(Err(error)) = written.await {
            let drop = &self.drop.name;
            tracing::warn!("drop \"{drop}\": no reasons beside {shown:?} ({error}); see the alert");
        }
    }

    fn note_link(&mut self, name: &OsStr) {
        if !std::mem::replace(&mut self.link_noted, true) {
            let (drop, name) = (&self.drop.name, name.to_string_lossy());
            tracing::warn!("drop \"{drop}\": {name:?} is no plain file; links are not followed");
        }
    }
}

/// Reads a whole file of a drop as the watcher does; with it, whether the check in its tag still
/// carries what follows it in the file's name.
#[cfg(test)]
pub(crate) fn read_whole(
    drop: &Drop,
    name: &OsStr,
    before: &[super::TakenBefore],
) -> Option<(crate::bench::DroppedFile, bool)> {
    match read::read(drop, name, before) {
        Content::Whole { file, named, .. } => Some((*file, named)),
        Content::Gone | Content::Link | Content::Changing(_) => None,
    }
}

#[cfg(test)]
mod tests;
