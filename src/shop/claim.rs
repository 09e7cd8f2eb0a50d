//! One process sends a bench's record on: two would tell everything twice, and push each other out at the broker.

use std::fs::{DirBuilder, File};
use std::io;
use std::os::unix::fs::DirBuilderExt as _;
use std::path::Path;
use std::time::{Duration, Instant};

use rustix::fs::{FlockOperation, flock};

use crate::FOLDER;

/// The file in [`FOLDER`] that the process holds locked as long as it runs.
const LOCK: &str = "lock";

/// How long the lock is tried for: whoever asks whether it is held holds it for a moment, and a service manager may
/// start the next process while the last one ends.
const PATIENCE: Duration = Duration::from_secs(2);

/// The lock of the process that sends a bench's record on. It ends with the process, whichever way that ends.
#[derive(Debug)]
pub struct Claim(#[expect(dead_code, reason = "it is held, not used")] File);

impl Claim {
    /// Makes the folder of the links where it is missing, and takes the lock; `None` where another process has it.
    ///
    /// # Errors
    /// The folder or the file cannot be made or opened.
    pub fn take(state: &Path) -> io::Result<Option<Self>> {
        let folder = state.join(FOLDER);
        match DirBuilder::new().mode(0o750).create(&folder) {
            Err(error) if error.kind() != io::ErrorKind::AlreadyExists => return Err(error),
            Ok(()) | Err(_) => {}
        }
        let path = folder.join(LOCK);
        let file = File::options().create(true).truncate(false).write(true).open(path)?;
        let until = Instant::now() + PATIENCE;
        while flock(&file, FlockOperation::NonBlockingLockExclusive).is_err() {
            if Instant::now() > until {
                return Ok(None);
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        Ok(Some(Self(file)))
    }

    /// Whether a process holds the lock of a state folder; `false` where that cannot be known.
    #[must_use]
    pub fn is_taken(state: &Path) -> bool {
        let Ok(file) = File::open(state.join(FOLDER).join(LOCK)) else { return false };
        flock(&file, FlockOperation::NonBlockingLockShared) == Err(rustix::io::Errno::WOULDBLOCK)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_at_a_time_and_whoever_asks_can_see_it() {
        let state = tempfile::tempdir().unwrap();
        assert!(!Claim::is_taken(state.path()));
        let claim = Claim::take(state.path()).unwrap();
        assert!(claim.is_some() && Claim::is_taken(state.path()));
        assert!(Claim::take(state.path()).unwrap().is_none());
        drop(claim);
        assert!(!Claim::is_taken(state.path()));
        assert!(Claim::take(state.path()).unwrap().is_some());
    }
}
