//! What the kernel reports about a folder. These are hints only: they may be lost, and then a hint says so.

use std::ffi::OsString;
use std::io;
use std::path::{Path, PathBuf};

use notify::event::{AccessKind, AccessMode, ModifyKind, RenameMode};
use notify::{Config, Event, EventKind, RecommendedWatcher, RecursiveMode, Watcher as _};
use tokio::sync::mpsc;

/// What happened in a folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Hint {
    /// A name appeared; its writer has it open.
    Created(OsString),
    /// A writer closed a file, or a file was renamed into the folder.
    Complete {
        name: OsString,
        /// The kernel's number of the renaming.
        renaming: Option<usize>,
    },
    /// A name is gone.
    Removed {
        name: OsString,
        /// The kernel's number of the renaming.
        renaming: Option<usize>,
    },
    /// Hints were lost: look through the folder.
    Lost,
    /// The folder is gone.
    Gone,
}

/// The hints about one folder, as long as the folder is there.
#[derive(Debug)]
pub(super) struct Hints {
    queue: mpsc::UnboundedReceiver<Hint>,
    _watcher: RecommendedWatcher,
}

impl Hints {
    /// Starts to watch a folder.
    pub(super) fn start(folder: &Path) -> Result<Self, String> {
        let seen = std::fs::metadata(folder);
        let denied = |error: &io::Error| error.kind() == io::ErrorKind::PermissionDenied;
        if seen.as_ref().is_err_and(denied) {
            let text = format!(
                "the folder {} may not be looked into; let the service's user do so",
                folder.display()
            );
            return Err(text);
        }
        if !seen.is_ok_and(|found| found.is_dir()) {
            return Err(format!("the folder {} is not there; make it", folder.display()));
        }
        let (sender, queue) = mpsc::unbounded_channel();
        let root = folder.to_owned();
        let tell = move |event: notify::Result<Event>| {
            for hint in hints(&root, event) {
                // There is no receiver any more: the folder's task has ended.
                let _ended = sender.send(hint);
            }
        };
        let config = Config::default().with_follow_symlinks(false);
        let watched = RecommendedWatcher::new(tell, config).and_then(|mut watcher| {
            watcher.watch(folder, RecursiveMode::NonRecursive)?;
            Ok(watcher)
        });
        let watcher = watched.map_err(|error| {
            format!("the folder {} cannot be watched: {error}", folder.display())
        })?;
        Ok(Self { queue, _watcher: watcher })
    }

    /// The next hint, if one has arrived already.
    pub(super) fn already(&mut self) -> Option<Hint> {
        self.queue.try_recv().ok()
    }

    /// The next hint.
    pub(super) async fn next(&mut self) -> Hint {
        self.queue.recv().await.unwrap_or(Hint::Gone)
    }
}

fn hints(root: &Path, event: notify::Result<Event>) -> Vec<Hint> {
    let Ok(event) = event else { return vec![Hint::Lost] };
    if event.need_rescan() {
        return vec![Hint::Lost];
    }
    let of = |path: &PathBuf| hint(root, (event.kind, event.tracker()), path);
    event.paths.iter().filter_map(of).collect()
}

fn hint(root: &Path, (kind, renaming): (EventKind, Option<usize>), path: &Path) -> Option<Hint> {
    let own = path == root;
    let name = || path.file_name().map(OsString::from);
    match kind {
        EventKind::Remove(_) | EventKind::Modify(ModifyKind::Name(RenameMode::From)) if own => {
            Some(Hint::Gone)
        }
        _ if own => None,
        EventKind::Create(_) => name().map(Hint::Created),
        EventKind::Access(AccessKind::Close(AccessMode::Write))
        | EventKind::Modify(ModifyKind::Name(RenameMode::To)) => {
            Some(Hint::Complete { name: name()?, renaming })
        }
        EventKind::Remove(_) | EventKind::Modify(ModifyKind::Name(RenameMode::From)) => {
            Some(Hint::Removed { name: name()?, renaming })
        }
        EventKind::Any | EventKind::Access(_) | EventKind::Modify(_) | EventKind::Other => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use notify::event::{CreateKind, Flag, RemoveKind};

    fn hints_about(kind: EventKind, path: &str) -> Vec<Hint> {
        hints(Path::new("/drop"), Ok(Event::new(kind).add_path(PathBuf::from(path))))
    }

    #[test]
    fn what_the_kernel_tells_becomes_a_hint() {
        let closed = EventKind::Access(AccessKind::Close(AccessMode::Write));
        let into = EventKind::Modify(ModifyKind::Name(RenameMode::To));
        let away = EventKind::Modify(ModifyKind::Name(RenameMode::From));
        let name = || OsString::from("a.csv");
        let complete = || Hint::Complete { name: name(), renaming: None };
        let removed = || Hint::Removed { name: name(), renaming: None };
        assert_eq!(
            hints_about(EventKind::Create(CreateKind::File), "/drop/a.csv"),
            [Hint::Created(name())]
        );
        assert_eq!(hints_about(closed, "/drop/a.csv"), [complete()]);
        assert_eq!(hints_about(into, "/drop/a.csv"), [complete()]);
        assert_eq!(hints_about(away, "/drop/a.csv"), [removed()]);
        assert_eq!(hints_about(away, "/drop"), [Hint::Gone]);
        assert_eq!(hints_about(EventKind::Remove(RemoveKind::Folder), "/drop"), [Hint::Gone]);
        let read = EventKind::Access(AccessKind::Close(AccessMode::Read));
        assert_eq!(hints_about(read, "/drop/a.csv"), []);
    }

    #[test]
    fn lost_hints_say_so() {
        let overflow = Event::new(EventKind::Other).set_flag(Flag::Rescan);
        assert_eq!(hints(Path::new("/drop"), Ok(overflow)), [Hint::Lost]);
        assert_eq!(hints(Path::new("/drop"), Err(notify::Error::generic("x"))), [Hint::Lost]);
    }
}
