//! A file that is read once from its beginning, or standard input in place of one.

use std::fs::File;
use std::io::{self, BufRead, BufReader};
use std::path::Path;

use super::failure::{Failure, REFUSED};

/// What is read.
pub(crate) struct Input {
    /// What it is called in messages.
    pub(crate) name: String,
    /// Its size where that is known; 0 for what has no end yet.
    pub(crate) bytes: u64,
    pub(crate) reader: Box<dyn BufRead>,
}

impl Input {
    /// Opens a file; `-` is standard input.
    pub(crate) fn open(path: &Path) -> Result<Self, Failure> {
        if path == Path::new("-") {
            let reader = Box::new(io::stdin().lock());
            return Ok(Self { name: "standard input".to_owned(), bytes: 0, reader });
        }
        let name = path.display().to_string();
        let file = File::open(path)
            .map_err(|error| Failure::plain(REFUSED, format!("cannot open {name}: {error}")))?;
        let bytes = file.metadata().map_or(0, |about| about.len());
        Ok(Self { name, bytes, reader: Box::new(BufReader::with_capacity(1 << 16, file)) })
    }
}
