//! What can be wrong with the folder of a bundle, in sentences.

use std::fs::File;
use std::path::Path;

use crate::failure::{Failure, REFUSED, UNREACHABLE};

/// What to do about a bundle that is not as it should be.
pub(super) const AGAIN: &str = "nothing was changed; ask whoever handed it over for it again";

/// What cannot be done with a file or a folder.
pub(super) fn cannot(what: &str, path: &Path) -> impl FnOnce(std::io::Error) -> Failure {
    let place = format!("cannot {what} {}", path.display());
    move |error| {
        let hint = "choose a folder that you may write to, with room in it";
        Failure::new(UNREACHABLE, format!("{place}: {error}"), hint)
    }
}

/// Makes sure that the names in a folder are on disk.
pub(super) fn sync_folder(path: &Path) -> Result<(), Failure> {
    File::open(path).and_then(|folder| folder.sync_all()).map_err(cannot("write", path))
}

/// What is wrong with a file of a bundle.
pub(super) fn wrong(path: &Path, what: &str) -> Failure {
    Failure::new(REFUSED, format!("{}: {what}", path.display()), AGAIN)
}
