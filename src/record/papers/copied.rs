//! Files that go along with a copy of the record.

use std::io::Read as _;
use std::path::Path;

use super::{Facts, folder_of, is_good, made, opened, passed, put};
use crate::StoreError;
use crate::backup::sync_folder;
use crate::folder::failed;
use crate::owner::Owner;

/// Copies the files that the facts of a record name, as the owner of each side. They are copied and not
/// linked: a link would share whatever happens to the disk below. A file that is not as it was attached goes
/// along as it is, as far as it can be read, since part of it may still be of use; one that is good at its
/// new place already stays.
pub(crate) fn copied(
    facts: &Facts,
    (database, theirs): (&Path, Owner),
    (to, owner): (&Path, Owner),
) -> Result<(), StoreError> {
    let from = folder_of(database);
    for paper in facts.files() {
        let file = &paper.attached.paper;
        let as_theirs = theirs.assumed()?;
        let (good, source) = (is_good(&from, file), opened(&from.join(file.kept_as())));
        drop(as_theirs);
        let Ok(mut source) = source else { continue };
        let _as_owner = owner.assumed()?;
        if good {
            put(to, &mut source, file)?;
            continue;
        }
        made(to)?;
        let at = to.join(file.kept_as());
        if !at.exists() {
            let mut copy = std::fs::File::create_new(&at).map_err(failed("make", &at))?;
            let whole = &mut source.take(file.bytes);
            let read =
                passed(whole, file.bytes, |piece| std::io::Write::write_all(&mut copy, piece));
            // Where it cannot be read on, what was read is all there is.
            drop(read);
            copy.sync_all().map_err(failed("write", &at))?;
        }
    }
    Ok(())
}

/// Gives every file in a folder a second name in another one, so that it is there whatever happens to the
/// first.
pub(crate) fn linked(from: &Path, to: &Path) -> Result<(), StoreError> {
    for name in names(from) {
        made(to)?;
        let at = to.join(&name);
        std::fs::hard_link(from.join(&name), &at).map_err(failed("keep", &at))?;
    }
    if to.is_dir() { sync_folder(to) } else { Ok(()) }
}

/// Moves every file of a folder into another one, where none of that name is or a worse one, and removes the
/// first folder.
pub(crate) fn moved(from: &Path, to: &Path, facts: &Facts) -> Result<(), StoreError> {
    if !from.is_dir() {
        return Ok(());
    }
    made(to)?;
    for paper in facts.files() {
        let (file, name) = (&paper.attached.paper, paper.attached.paper.kept_as());
        let at = from.join(&name);
        let better = is_good(from, file) || !to.join(&name).exists();
        if at.exists() && better {
            std::fs::rename(&at, to.join(&name)).map_err(failed("rename", &at))?;
        }
    }
    sync_folder(to)?;
    removed(from)
}

/// Removes a folder of files that was made for a copy: its files, and the folder if nothing else is in it.
pub(crate) fn removed(folder: &Path) -> Result<(), StoreError> {
    if !folder.symlink_metadata().is_ok_and(|found| found.is_dir()) {
        return Ok(());
    }
    for name in names(folder) {
        let at = folder.join(name);
        std::fs::remove_file(&at).map_err(failed("remove", &at))?;
    }
    std::fs::remove_dir(folder).map_err(failed("remove", folder))
}

/// The names of files and of parts of files in a folder.
fn names(folder: &Path) -> Vec<String> {
    let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
    let plain = entries
        .filter_map(Result::ok)
        .filter(|one| one.file_type().is_ok_and(|kind| kind.is_file()));
    let names = plain.filter_map(|one| one.file_name().into_string().ok());
    names
        .filter(|name| quantity::from_hexadecimal(name).is_some() || name.starts_with(super::PART))
        .collect()
}
