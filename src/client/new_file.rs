//! Files that are written once, whole and for good.

use std::fs::File;
use std::io::{self, Write};
use std::path::Path;

/// Writes a file that is not there yet, down to the disk.
///
/// # Errors
/// When it is there already, or cannot be written.
pub(crate) fn write_new(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = File::create_new(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}
