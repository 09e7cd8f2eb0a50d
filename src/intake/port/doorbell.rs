//! Notices when a missing port appears, without polling.

use std::mem::MaybeUninit;
use std::os::fd::OwnedFd;
use std::path::{Path, PathBuf};

use rustix::fs::inotify::{self, CreateFlags, ReadFlags, WatchFlags};
use tokio::io::unix::AsyncFd;

/// Rings when something appears under the name of a path, or when its permissions change. It only helps:
/// where the kernel offers no watch, the caller's timer is enough.
pub(crate) struct Doorbell {
    watch: Option<AsyncFd<OwnedFd>>,
    name: Vec<u8>,
}

impl Doorbell {
    /// Listens at the nearest folder above `path` that exists.
    pub(crate) fn at(path: &Path) -> Self {
        let (folder, name) = nearest(path);
        Self { watch: watch(&folder).ok(), name }
    }

    /// Never rings: nothing appears under a name.
    pub(crate) const fn silent() -> Self {
        Self { watch: None, name: Vec::new() }
    }

    /// Waits for the name to appear.
    pub(crate) async fn rings(&mut self) {
        let Some(watch) = &self.watch else { return std::future::pending().await };
        loop {
            let Ok(mut ready) = watch.readable().await else {
                return std::future::pending().await;
            };
            if drain(watch.get_ref(), &self.name) {
                return;
            }
            ready.clear_ready();
        }
    }
}

/// Reads all waiting events. Returns whether any is about `name` or about the folder itself.
fn drain(watch: &OwnedFd, name: &[u8]) -> bool {
    let mut space = [MaybeUninit::uninit(); 4096];
    let mut events = inotify::Reader::new(watch, &mut space);
    let mut rang = false;
    while let Ok(event) = events.next() {
        let lost = ReadFlags::IGNORED | ReadFlags::QUEUE_OVERFLOW;
        rang |= event.events().intersects(lost)
            || event.file_name().is_some_and(|file| file.to_bytes() == name);
    }
    rang
}

#[expect(
    deprecated,
    reason = "the newer constructor is unsafe code; an owned descriptor stays open as long as it lives here"
)]
fn watch(folder: &Path) -> std::io::Result<AsyncFd<OwnedFd>> {
    let watch = inotify::init(CreateFlags::NONBLOCK | CreateFlags::CLOEXEC)?;
    // Permissions may be set a moment after the device file was created.
    let flags = WatchFlags::CREATE | WatchFlags::MOVED_TO | WatchFlags::ATTRIB;
    inotify::add_watch(&watch, folder, flags | WatchFlags::DELETE_SELF)?;
    AsyncFd::new(watch)
}

/// The nearest existing folder above a path, and the name to wait for in it.
fn nearest(path: &Path) -> (PathBuf, Vec<u8>) {
    let mut child = path;
    for folder in path.ancestors().skip(1) {
        if folder.is_dir() {
            let name = child.file_name().unwrap_or_default();
            return (folder.to_owned(), name.as_encoded_bytes().to_owned());
        }
        child = folder;
    }
    (PathBuf::from("."), child.as_os_str().as_encoded_bytes().to_owned())
}
