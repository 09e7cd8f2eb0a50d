//! The owner of a folder, and work in the folder as that user.
//!
//! In a folder that another user may write, any name may be a link to a third user's file by the time it is
//! opened. The database opens some names by itself, follows links, and gives what it made to the owner of
//! the folder. So root opens nothing there: while it works in such a folder its thread has the rights of
//! the folder's owner, who gains nothing by a link. The folder itself is checked first: only root and its
//! owner may be able to replace it.

use std::fs::Metadata;
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};

use rustix::process::{Gid, Uid, getegid, geteuid, getgroups};
use rustix::thread::{set_thread_groups, set_thread_res_gid, set_thread_res_uid};

use super::StoreError;
use super::folder::failed;

/// Write permission of the group and of everybody, and the bit that protects files of different users in a
/// shared folder from each other.
const OTHERS_WRITE: u32 = 0o022;
const STICKY: u32 = 0o1000;

/// The user whose rights this thread has while it works in a folder: another user, or the one who runs the
/// program.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Owner(Option<(Uid, Gid)>);

impl Owner {
    /// The user who runs the program.
    pub(super) const SELF: Self = Self(None);

    /// The owner of a folder, where root runs the program and the folder is somebody else's.
    pub(super) fn of_folder(folder: &Path) -> Result<Self, StoreError> {
        if !geteuid().is_root() {
            return Ok(Self::SELF);
        }
        let unsafe_at =
            |at: &Path| StoreError::Open { folder: folder.to_owned(), at: at.to_owned() };
        let real = folder.canonicalize().map_err(failed("look at", folder))?;
        let found = metadata(&real)?;
        if !found.is_dir() {
            return Err(failed("look into", folder)(std::io::ErrorKind::NotADirectory.into()));
        }
        if found.uid() == 0 && found.mode() & OTHERS_WRITE != 0 {
            return Err(unsafe_at(&real));
        }
        let written = std::path::absolute(folder).map_err(failed("look at", folder))?;
        let above = written.ancestors().skip(1).chain(real.ancestors().skip(1));
        for at in above {
            if !keeps(&metadata(at)?, &found) {
                return Err(unsafe_at(at));
            }
        }
        let owner = (Uid::from_raw(found.uid()), Gid::from_raw(found.gid()));
        Ok(Self((!owner.0.is_root()).then_some(owner)))
    }

    /// The owner of the folder that a file lies in, see [`Owner::of_folder`].
    pub(super) fn of_file(file: &Path) -> Result<Self, StoreError> {
        let parent = file.parent().filter(|parent| !parent.as_os_str().is_empty());
        Self::of_folder(parent.unwrap_or_else(|| Path::new(".")))
    }

    /// The owner of the folder in which a new file is to be made. In a shared folder where nobody can touch
    /// the files of others, the user who makes the file is safe.
    pub(super) fn of_new_file(file: &Path) -> Result<Self, StoreError> {
        match Self::of_file(file) {
            Err(StoreError::Open { at, .. }) if metadata(&at)?.mode() & STICKY != 0 => {
                Ok(Self::SELF)
            }
            found => found,
        }
    }

    pub(super) const fn is_somebody_else(self) -> bool {
        self.0.is_some()
    }

    /// Gives the thread the owner's rights until the value is dropped.
    pub(super) fn assumed(self) -> Result<Assumed, StoreError> {
        let Self(Some((uid, gid))) = self else { return Ok(Assumed(None)) };
        if !geteuid().is_root() {
            return Ok(Assumed(None));
        }
        let before = Before { gid: getegid(), groups: getgroups().map_err(refused)? };
        // From here on an error undoes everything.
        let assumed = Assumed(Some(before));
        set_thread_groups(&[]).map_err(refused)?;
        set_thread_res_gid(None, gid, None).map_err(refused)?;
        set_thread_res_uid(None, uid, None).map_err(refused)?;
        Ok(assumed)
    }

    /// Gives the thread the owner's rights for good. Call it while the program has only one thread.
    pub(super) fn become_for_good(self) -> Result<(), StoreError> {
        let Self(Some((uid, gid))) = self else { return Ok(()) };
        set_thread_groups(&[]).map_err(refused)?;
        set_thread_res_gid(gid, gid, gid).map_err(refused)?;
        set_thread_res_uid(uid, uid, uid).map_err(refused)
    }
}

/// Becomes the owner of a state folder for good, where root runs the program and the folder belongs to
/// another user: all files written there then belong to that user. Files that only root can read must be
/// read before.
///
/// # Errors
/// Others than the owner could exchange the folder, or the system refuses.
pub fn become_owner(state: &Path) -> Result<(), StoreError> {
    super::folder::make(state)?;
    Owner::of_folder(state)?.become_for_good()
}

/// Whether nobody but root and the owner can move or replace what lies in a folder.
fn keeps(above: &Metadata, found: &Metadata) -> bool {
    let theirs = above.uid() == 0 || above.uid() == found.uid();
    // Of the group only its own members may write, or the members of root's group.
    let group = if [0, found.gid()].contains(&above.gid()) { 0 } else { 0o020 };
    theirs && (above.mode() & STICKY != 0 || above.mode() & (0o002 | group) == 0)
}

fn metadata(path: &Path) -> Result<Metadata, StoreError> {
    std::fs::metadata(path).map_err(failed("look at", path))
}

fn refused(error: rustix::io::Errno) -> StoreError {
    StoreError::File {
        what: "become the owner of",
        path: PathBuf::from("the state folder"),
        source: error.into(),
    }
}

/// The rights of this thread before.
#[derive(Debug)]
struct Before {
    gid: Gid,
    groups: Vec<Gid>,
}

/// While it lives, this thread has the rights of another user.
#[derive(Debug)]
#[must_use]
pub(super) struct Assumed(Option<Before>);

impl Drop for Assumed {
    fn drop(&mut self) {
        let Some(Before { gid, groups }) = self.0.take() else { return };
        // A thread can always become root again, and root may set the rest back. Should the system refuse
        // all the same, the thread has fewer rights from here on, never more.
        let back = set_thread_res_uid(None, Uid::ROOT, None)
            .and_then(|()| set_thread_res_gid(None, gid, None))
            .and_then(|()| set_thread_groups(&groups));
        if let Err(error) = back {
            tracing::warn!("the rights of root are not had back: {error}");
        }
    }
}

#[cfg(test)]
mod tests {
    use std::fs::{self, Permissions};
    use std::os::unix::fs::{PermissionsExt, chown};

    use super::*;

    fn folder(mode: u32, owner: u32) -> tempfile::TempDir {
        let outer = tempfile::tempdir().unwrap();
        let inner = outer.path().join("state");
        fs::create_dir(&inner).unwrap();
        fs::set_permissions(&inner, Permissions::from_mode(mode)).unwrap();
        chown(&inner, Some(owner), Some(owner)).unwrap();
        outer
    }

    fn of(outer: &tempfile::TempDir) -> Result<Owner, StoreError> {
        Owner::of_folder(&outer.path().join("state"))
    }

    #[test]
    fn root_becomes_the_owner_of_a_folder_and_root_again() {
        if !geteuid().is_root() {
            return;
        }
        assert_eq!(of(&folder(0o750, 0)).unwrap(), Owner::SELF);
        let theirs = folder(0o750, 65534);
        let owner = of(&theirs).unwrap();
        assert!(owner.is_somebody_else());
        let groups = getgroups().unwrap();
        {
            let _as = owner.assumed().unwrap();
            assert_eq!((geteuid().as_raw(), getegid().as_raw()), (65534, 65534));
            let _again = owner.assumed().unwrap();
        }
        assert_eq!((geteuid().as_raw(), getegid().as_raw()), (0, 0));
        assert_eq!(getgroups().unwrap(), groups);
    }

    #[test]
    fn a_folder_that_a_third_party_can_exchange_is_refused() {
        if !geteuid().is_root() {
            return;
        }
        assert!(matches!(of(&folder(0o770, 0)), Err(StoreError::Open { .. })), "root's, open");
        for (mode, above, well) in [
            (0o755, 0, true),
            (0o755, 65534, true),
            (0o755, 1234, false),
            (0o777, 0, false),
            (0o1777, 0, true),
            (0o775, 0, true),
        ] {
            let outer = folder(0o2750, 65534);
            chown(outer.path(), Some(above), Some(0)).unwrap();
            fs::set_permissions(outer.path(), Permissions::from_mode(mode)).unwrap();
            assert_eq!(of(&outer).is_ok(), well, "{mode:o} of {above}");
        }
    }
}
