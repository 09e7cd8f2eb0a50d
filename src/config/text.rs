//! Reading a file that a person wrote: whole, of a sensible size, as text. What is wrong with it as a file is a
//! finding.

use std::fs::File;
use std::io::{self, Read as _};
use std::path::Path;

use super::excerpt::Excerpt;
use super::finding::{Finding, Level};

/// The most bytes of a configuration, a plan or a profile: a hundred times what a large shop needs.
pub const LARGEST: u64 = 1 << 20;

/// Why a file gives no text.
#[derive(Debug)]
pub(crate) enum Unread {
    /// It is not there.
    Missing(Finding),
    /// It is there, and something is wrong with it.
    Wrong(Finding),
}

impl Unread {
    /// What to tell the person.
    pub(crate) fn finding(self) -> Finding {
        match self {
            Self::Missing(finding) | Self::Wrong(finding) => finding,
        }
    }
}

/// The text of a file, which findings call `shown`.
pub(crate) fn read(path: &Path, shown: &str) -> Result<String, Unread> {
    let wrong = |text: String, hint: &str| Unread::Wrong(finding(shown, text, hint));
    let cannot = |error: io::Error| {
        let text = format!("cannot be read: {error}");
        if error.kind() == io::ErrorKind::NotFound {
            return Unread::Missing(finding(shown, text, "check its place and its name"));
        }
        if error.kind() == io::ErrorKind::PermissionDenied {
            let hint = "let its owner give you the right, or ask as its owner";
            return wrong("you may not read it".to_owned(), hint);
        }
        wrong(text, "check its place, its owner and its rights: ls -l shows them")
    };
    // Looked at before it is opened: opening a pipe would wait for somebody who writes.
    let found = path.metadata().map_err(cannot)?;
    if found.is_dir() {
        return Err(wrong("is a folder".to_owned(), "name the file in it, such as bench.toml"));
    }
    if !found.is_file() {
        return Err(wrong("is no plain file".to_owned(), "name a file of text"));
    }
    let mut bytes = Vec::new();
    let opened = File::open(path).map_err(cannot)?;
    opened.take(LARGEST + 1).read_to_end(&mut bytes).map_err(cannot)?;
    if bytes.len() as u64 > LARGEST {
        let has = found.len().max(bytes.len() as u64);
        let text = format!("has {:.1} MiB, and such a file has 1 MiB at most", mebibytes(has));
        return Err(wrong(
            text,
            "name the right file; readings of a logger belong in a drop folder",
        ));
    }
    decoded(bytes, shown).map_err(Unread::Wrong)
}

/// For people: a tenth is enough.
#[expect(clippy::cast_precision_loss, reason = "a size to be read, not to be computed with")]
fn mebibytes(bytes: u64) -> f64 {
    bytes as f64 / LARGEST as f64
}

/// The bytes of a file as text.
fn decoded(bytes: Vec<u8>, shown: &str) -> Result<String, Finding> {
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        let hint = "save it as UTF-8: iconv -f utf-16 -t utf-8 FILE > NEW";
        return Err(finding(shown, "is UTF-16 text".to_owned(), hint));
    }
    let text = match String::from_utf8(bytes) {
        Ok(text) => text,
        Err(error) => return Err(of_no_text(&error, shown)),
    };
    if text.trim().trim_start_matches('\u{feff}').is_empty() {
        let hint = "write one: `tenths init` a configuration, `tenths plan new NAME` a plan";
        return Err(finding(shown, "is empty".to_owned(), hint));
    }
    Ok(text)
}

/// The first byte that is no text, in its line.
fn of_no_text(error: &std::string::FromUtf8Error, shown: &str) -> Finding {
    let (bytes, at) = (error.as_bytes(), error.utf8_error().valid_up_to());
    let start = bytes[..at].iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
    let end =
        bytes[at..].iter().position(|byte| *byte == b'\n').map_or(bytes.len(), |end| at + end);
    // Each byte as the letter that it is in Latin-1, which is most likely what it is.
    let latin: String = bytes[at..end].iter().map(|byte| char::from(*byte)).collect();
    let before = String::from_utf8_lossy(&bytes[start..at]).into_owned();
    let letter = char::from(bytes[at]);
    let (text, hint) = if letter.is_control() {
        let text = format!("holds a byte that is no text (0x{:02X})", bytes[at]);
        (text, "name a file of text, saved as UTF-8")
    } else {
        let text = format!("holds {letter} as Latin-1 (0x{:02X}), which is no UTF-8", bytes[at]);
        (text, "save it as UTF-8: iconv -f latin1 -t utf-8 FILE > NEW")
    };
    let line = bytes[..at].split(|byte| *byte == b'\n').count();
    let place = before.len()..before.len() + letter.len_utf8();
    Finding {
        line: u32::try_from(line).ok(),
        excerpt: Excerpt::marking(&format!("{before}{latin}"), &place).map(Box::new),
        ..finding(shown, text, hint)
    }
}

fn finding(file: &str, text: String, hint: &str) -> Finding {
    let (file, hint) = (file.to_owned(), hint.to_owned());
    Finding { file, line: None, level: Level::Error, text, hint, excerpt: None }
}
