//! The file of the control socket. It is made at the start, looked at while the service runs, made again
//! when it is gone, and removed at the end. Anything that somebody put in its place is left alone.

use std::fs::Permissions;
use std::io;
use std::os::fd::AsRawFd as _;
use std::os::unix::fs::{FileTypeExt as _, PermissionsExt as _};
use std::path::{Path, PathBuf};

use rustix::fs::{FileType, Mode, OFlags};
use tokio::net::UnixListener;

/// The path of the socket in the state folder, and the identity of the file that is ours.
pub(super) struct Door {
    path: PathBuf,
    ours: Identity,
    /// The sentence about what is in its place, once it has been reported.
    told: Option<String>,
}

/// Device and inode, and whether it is a socket. While a socket is open, no other file gets its inode.
type Identity = (u64, u64, bool);

/// The state of the socket's file.
pub(super) enum Looked {
    /// It has not changed.
    Same,
    /// It is gone, cannot be made again, or something else is there; the sentence says which.
    Wrong(String),
    /// It was gone and has been made again.
    Again(UnixListener),
}

impl Door {
    /// Makes the socket, for owner and group. The caller holds the lock of the state folder, so a socket
    /// that is there belongs to nobody. Anything else there is not ours to remove.
    pub(super) fn open(path: &Path) -> io::Result<(Self, UnixListener)> {
        if let Some(there) = what_is_at(path)? {
            if there != SOCKET {
                let text = format!(
                    "{} is {there}, and no socket of this service; move it away",
                    path.display()
                );
                return Err(io::Error::new(io::ErrorKind::AlreadyExists, text));
            }
            std::fs::remove_file(path)?;
        }
        let (listener, ours) = made(path)?;
        Ok((Self { path: path.to_owned(), ours, told: None }, listener))
    }

    /// Checks whether the socket can still be found under its name.
    pub(super) fn look(&mut self) -> Looked {
        match identity(&self.path) {
            Ok(Some(found)) if found == self.ours => Looked::Same,
            Ok(Some(_)) => {
                let there = what_is_at(&self.path).ok().flatten().unwrap_or("something");
                let text = format!(
                    "At {} there is {there} that is not the service's; it is left alone, and \
                     nobody finds the service until it is moved away",
                    self.path.display()
                );
                self.news(text)
            }
            Ok(None) => match made(&self.path) {
                Ok((listener, ours)) => {
                    (self.ours, self.told) = (ours, None);
                    Looked::Again(listener)
                }
                Err(error) => {
                    let path = self.path.display();
                    self.news(format!("The socket {path} is gone and cannot be made: {error}"))
                }
            },
            Err(error) => {
                let path = self.path.display();
                self.news(format!("The socket {path} cannot be looked at: {error}"))
            }
        }
    }

    fn news(&mut self, text: String) -> Looked {
        if self.told.as_ref() == Some(&text) {
            return Looked::Same;
        }
        self.told = Some(text.clone());
        Looked::Wrong(text)
    }

    /// The sentence about a socket that was gone.
    pub(super) fn was_gone(&self) -> String {
        format!("The socket {} was taken away; it is made again", self.path.display())
    }

    /// Removes the socket at the end, if it is still ours.
    pub(super) fn close(self) {
        if identity(&self.path).is_ok_and(|found| found == Some(self.ours))
            && let Err(error) = std::fs::remove_file(&self.path)
        {
            tracing::debug!("the socket stays behind: {error}");
        }
    }
}

const SOCKET: &str = "a socket";

/// The kind of thing under a name, without following links.
fn what_is_at(path: &Path) -> io::Result<Option<&'static str>> {
    let kind = match path.symlink_metadata() {
        Ok(found) => found.file_type(),
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(error),
    };
    Ok(Some(if kind.is_socket() {
        SOCKET
    } else if kind.is_symlink() {
        "a link"
    } else if kind.is_dir() {
        "a folder"
    } else if kind.is_file() {
        "a file"
    } else {
        "a device or pipe"
    }))
}

/// The identity of the file under a name, without following links; `None` where there is none.
fn identity(path: &Path) -> io::Result<Option<Identity>> {
    match rustix::fs::lstat(path) {
        Ok(found) => {
            let kind = FileType::from_raw_mode(found.st_mode);
            Ok(Some((found.st_dev, found.st_ino, kind == FileType::Socket)))
        }
        Err(rustix::io::Errno::NOENT) => Ok(None),
        Err(error) => Err(error.into()),
    }
}

/// Makes a socket under a free name, for owner and group.
fn made(path: &Path) -> io::Result<(UnixListener, Identity)> {
    let listener = UnixListener::bind(path)?;
    // The rights are set on the very file that was found to be a socket, whatever is under the name by
    // then.
    let flags = OFlags::PATH | OFlags::NOFOLLOW | OFlags::CLOEXEC;
    let file = rustix::fs::open(path, flags, Mode::empty())?;
    let found = rustix::fs::fstat(&file)?;
    if FileType::from_raw_mode(found.st_mode) != FileType::Socket {
        return Err(io::Error::other("somebody put something else in its place"));
    }
    let by_number = format!("/proc/self/fd/{}", file.as_raw_fd());
    std::fs::set_permissions(by_number, Permissions::from_mode(0o660))?;
    Ok((listener, (found.st_dev, found.st_ino, true)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn a_socket_left_behind_is_replaced_and_nothing_else_is_touched() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("s");
        let mode = |path: &Path| path.metadata().unwrap().permissions().mode() & 0o777;
        drop(Door::open(&path).unwrap());
        let (mut door, _listener) = Door::open(&path).unwrap();
        assert_eq!(mode(&path), 0o660);
        assert!(matches!(door.look(), Looked::Same));
        std::fs::remove_file(&path).unwrap();
        let Looked::Again(_again) = door.look() else { panic!("it is gone") };
        assert_eq!(mode(&path), 0o660);
        // A link to somebody else's file.
        let other = folder.path().join("other");
        std::fs::write(&other, "text").unwrap();
        std::fs::set_permissions(&other, Permissions::from_mode(0o600)).unwrap();
        std::fs::remove_file(&path).unwrap();
        std::os::unix::fs::symlink(&other, &path).unwrap();
        assert!(matches!(door.look(), Looked::Wrong(text) if text.contains("a link")));
        assert!(matches!(door.look(), Looked::Same), "it is told once");
        door.close();
        assert!(path.is_symlink(), "it is not ours");
        assert!(Door::open(&path).is_err_and(|error| error.to_string().contains("a link")));
        assert_eq!(
            (mode(&other), std::fs::read_to_string(&other).unwrap().as_str()),
            (0o600, "text")
        );
    }
}
