//! `NAME.why`: the reasons for refusing a file, written beside it.

use std::ffi::{OsStr, OsString};
use std::io::{ErrorKind, Write as _};
use std::os::unix::fs::PermissionsExt as _;
use std::path::{Path, PathBuf};

/// Writes the reasons, completely or not at all.
pub(super) fn write(folder: &Path, name: &OsStr, why: &str) -> std::io::Result<()> {
    let mut hidden = OsString::from(".");
    hidden.push(name);
    hidden.push(".why");
    let (beside, temporary) = (beside(folder, name), folder.join(hidden));
    gone(std::fs::remove_file(&temporary))?;
    // `create_new` does not follow a link that somebody put there.
    let mut file = std::fs::File::options().write(true).create_new(true).open(&temporary)?;
    let mut text = why.trim_end().to_owned();
    text.push('\n');
    file.write_all(text.as_bytes())?;
    // Readable for the person who wrote the file, who may not be in the service's group.
    file.set_permissions(std::fs::Permissions::from_mode(0o644))?;
    std::fs::rename(&temporary, &beside)
}

/// Removes the reasons of an earlier refusal.
pub(super) fn remove(folder: &Path, name: &OsStr) -> std::io::Result<()> {
    gone(std::fs::remove_file(beside(folder, name)))
}

fn beside(folder: &Path, name: &OsStr) -> PathBuf {
    let mut with_ending = name.to_owned();
    with_ending.push(".why");
    folder.join(with_ending)
}

fn gone(removed: std::io::Result<()>) -> std::io::Result<()> {
    match removed {
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(()),
        other => other,
    }
}
