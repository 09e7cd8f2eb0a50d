//! What a link keeps for its next start, and says of itself to whoever asks: a file in the folder of the links,
//! written as a whole.

use std::fs::{self, File};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use serde::Serialize;
use serde::de::DeserializeOwned;

use config::Reach;
use quantity::Wall;
use wire::{LinkKind, LinkState, LinkStatus};

use crate::{Claim, FOLDER};

/// The file of a link.
#[must_use]
pub fn file(state: &Path, link: LinkKind) -> PathBuf {
    state.join(FOLDER).join(match link {
        LinkKind::Database => "database.json",
        LinkKind::Broker => "broker.json",
    })
}

/// Writes what a link says of itself and does not need again: always whole, but after a power cut it may be old.
/// The disk is that of the record, and is not made to wait for it.
///
/// # Errors
/// The disk is full, or the folder may not be written.
pub fn tell(path: &Path, said: &impl Serialize) -> io::Result<()> {
    put(path, said, |_| Ok(()))
}

/// Writes what a link keeps for its next start: another file beside it first, on the disk, then under its name.
///
/// # Errors
/// The disk is full, or the folder may not be written.
pub fn write(path: &Path, kept: &impl Serialize) -> io::Result<()> {
    put(path, kept, File::sync_all)?;
    // Without this the old file may be back after a power cut. Then some is sent twice, and nothing is lost.
    path.parent().map_or(Ok(()), |folder| File::open(folder)?.sync_all())
}

fn put(path: &Path, said: &impl Serialize, then: fn(&File) -> io::Result<()>) -> io::Result<()> {
    let beside = path.with_extension("new");
    let mut text = serde_json::to_string(said)?;
    text.push('\n');
    let mut new = File::create(&beside)?;
    new.write_all(text.as_bytes())?;
    then(&new)?;
    fs::rename(&beside, path)
}

/// Reads what a link keeps; `None` where there is no such file.
///
/// # Errors
/// The file cannot be read or understood.
pub fn read<T: DeserializeOwned>(path: &Path) -> io::Result<Option<T>> {
    match fs::read(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(error),
        Ok(bytes) => Ok(Some(serde_json::from_slice(&bytes)?)),
    }
}

/// How the links of a bench are, as they have written it; a link whose process does not run has ended. What
/// cannot be read is left out.
#[must_use]
pub fn links(state: &Path) -> Vec<LinkStatus> {
    let runs = Claim::is_taken(state);
    let kinds = [LinkKind::Database, LinkKind::Broker];
    let found = kinds.into_iter().filter_map(|link| {
        let mut found: LinkStatus = read(&file(state, link)).ok()??;
        if !runs {
            found.state = LinkState::Ended;
        }
        Some(found)
    });
    found.collect()
}

/// A server as a person reads it: a host with its port, or the folder of a socket.
#[must_use]
pub fn server(reach: &Reach) -> String {
    match reach {
        Reach::Socket { folder, .. } => folder.display().to_string(),
        Reach::Tls { host, port, .. } | Reach::Loopback { host, port } => format!("{host}:{port}"),
    }
}

/// A link that is configured and never ran, as it is now.
#[must_use]
pub fn never_ran(link: LinkKind, reach: &Reach, now: Wall) -> LinkStatus {
    LinkStatus { state: LinkState::Ended, ..LinkStatus::begun(link, server(reach), now) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_link_whose_process_is_gone_has_ended() {
        let state = tempfile::tempdir().unwrap();
        assert_eq!(links(state.path()), []);
        let claim = Claim::take(state.path()).unwrap().unwrap();
        let begun =
            LinkStatus::begun(LinkKind::Broker, "localhost:1883".to_owned(), Wall::from_micros(0));
        let said = LinkStatus { state: LinkState::Level, newest: 7, ..begun };
        write(&file(state.path(), LinkKind::Broker), &said).unwrap();
        assert_eq!(links(state.path()), std::slice::from_ref(&said));
        drop(claim);
        assert_eq!(links(state.path()), [LinkStatus { state: LinkState::Ended, ..said }]);
        fs::write(file(state.path(), LinkKind::Broker), "{").unwrap();
        assert_eq!(links(state.path()), []);
    }
}
