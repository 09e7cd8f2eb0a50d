//! Who is at the other end of a connection, according to the kernel.

use tokio::net::UnixStream;

use ::record::{Caller, login_of};

/// The process that made a connection.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(super) struct Peer {
    /// Its user.
    pub(super) uid: u32,
    /// Its process number; 0 where the kernel does not know it, as for a process in another namespace.
    pub(super) pid: u32,
}

impl Peer {
    /// The peer of a connection. The kernel fixes it when the connection is made.
    pub(super) fn of_connection(stream: &UnixStream) -> std::io::Result<Self> {
        let found = stream.peer_cred()?;
        let pid = found.pid().and_then(|pid| u32::try_from(pid).ok());
        Ok(Self { uid: found.uid(), pid: pid.unwrap_or_default() })
    }

    /// What is stored with the facts that this process asks for.
    pub(super) fn caller(self) -> Caller {
        let login = login_of(self.uid);
        Caller { uid: self.uid, pid: self.pid, login, elsewhere: false }
    }

    /// Whether it may have the reserved place: it may if it is root or the service's own user.
    pub(super) fn is_privileged(self) -> bool {
        self.uid == 0 || self.uid == rustix::process::geteuid().as_raw()
    }
}

impl std::fmt::Display for Peer {
    /// For example `anna (uid 1000, process 4242)`.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self { uid, pid } = self;
        match login_of(*uid) {
            Some(login) => write!(f, "{login} (uid {uid}, process {pid})"),
            None => write!(f, "uid {uid} (process {pid})"),
        }
    }
}
