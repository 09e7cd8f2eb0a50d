//! Who is at the other end of a connection, as the kernel says.

use tokio::net::UnixStream;

use crate::store::Caller;

/// The process that made a connection.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(super) struct Peer {
    /// Its user.
    pub(super) uid: u32,
    /// Its number; 0 where the kernel does not know it, as of a process in another namespace.
    pub(super) pid: u32,
}

impl Peer {
    /// The one of a connection. The kernel fixes it when the connection is made.
    pub(super) fn of(stream: &UnixStream) -> std::io::Result<Self> {
        let found = stream.peer_cred()?;
        let pid = found.pid().and_then(|pid| u32::try_from(pid).ok());
        Ok(Self { uid: found.uid(), pid: pid.unwrap_or_default() })
    }

    /// What is kept with the facts that it asks for.
    pub(super) fn caller(self) -> Caller {
        Caller { uid: self.uid, pid: self.pid, login: login_of(self.uid) }
    }

    /// Whether it may have the reserved place: root, and the service's own user.
    pub(super) fn is_privileged(self) -> bool {
        self.uid == 0 || self.uid == rustix::process::geteuid().as_raw()
    }
}

impl std::fmt::Display for Peer {
    /// `anna (uid 1000, process 4242)`.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self { uid, pid } = self;
        match login_of(*uid) {
            Some(login) => write!(f, "{login} (uid {uid}, process {pid})"),
            None => write!(f, "uid {uid} (process {pid})"),
        }
    }
}

/// The login name of a user, from the system's list; `None` where it is not listed there.
#[must_use]
pub fn login_of(uid: u32) -> Option<String> {
    listed_name(&std::fs::read_to_string("/etc/passwd").ok()?, uid)
}

/// The name of a user in a list in the format of passwd(5).
fn listed_name(list: &str, user: u32) -> Option<String> {
    list.lines().find_map(|line| {
        let mut fields = line.split(':');
        let (name, number) = (fields.next()?, fields.nth(1)?);
        (number.parse() == Ok(user) && !name.is_empty()).then(|| name.to_owned())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_user_is_found_by_number() {
        let list = "root:x:0:0:root:/root:/bin/sh\nann:x:1001:1001:Ann,,,:/home/ann:/bin/sh\nbad\n";
        assert_eq!(listed_name(list, 1001).as_deref(), Some("ann"));
        assert_eq!(listed_name(list, 7), None);
    }
}
