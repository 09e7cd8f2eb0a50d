//! The guides: every command that they name is there, every block of settings can be used, every block of
//! commands runs, and the tables that are made from the program are as the program is.

mod blocks;
mod made;

use std::fs;
use std::path::PathBuf;

/// A page of the guides.
pub(super) struct Page {
    /// Its name from the root of the project.
    pub(super) name: String,
    pub(super) text: String,
}

pub(super) fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Every page that a user reads.
pub(super) fn pages() -> Vec<Page> {
    let mut files = vec!["README.md".to_owned(), "systemd/README.md".to_owned()];
    for entry in fs::read_dir(root().join("docs")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|ending| ending == "md") {
            let name = path.file_name().unwrap().to_str().unwrap();
            files.push(format!("docs/{name}"));
        }
    }
    files.sort();
    let page = |name: String| Page { text: fs::read_to_string(root().join(&name)).unwrap(), name };
    files.into_iter().map(page).collect()
}
