//! Reading a dropped file whole: its bytes, their digest, the rows it gave before, its rows.

use std::collections::BTreeMap;
use std::ffi::{OsStr, OsString};
use std::fs::File;
use std::io::Read as _;
use std::os::unix::fs::MetadataExt;
use std::path::Path;
use std::sync::Arc;

use rustix::fs::{Mode, OFlags};
use rustix::io::Errno;

use super::names;
use crate::bench::DroppedFile;
use crate::bench::row::FileSeen;
use crate::config::{Drop, Tags};
use crate::gauge::{BadRows, FileRows, parse_rows};
use crate::intake::TakenBefore;

/// The most bytes a file may have.
pub(super) const MAX_BYTES: u64 = 16 << 20;

/// The most data rows a file may have.
const MAX_ROWS: usize = 100_000;

/// What tells a change of a file without reading it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Shape {
    pub(super) bytes: u64,
    pub(super) modified: (i64, i64),
    pub(super) inode: u64,
    pub(super) links: u64,
}

impl Shape {
    fn of(metadata: &std::fs::Metadata) -> Self {
        Self {
            bytes: metadata.len(),
            modified: (metadata.mtime(), metadata.mtime_nsec()),
            inode: metadata.ino(),
            links: metadata.nlink(),
        }
    }
}

/// What is behind a name.
#[derive(Debug)]
pub(super) enum Content {
    /// Nothing any more.
    Gone,
    /// A link, a folder, a pipe: no plain file.
    Link,
    /// A file that changed while it was read.
    Changing(Shape),
    /// A whole file.
    Whole {
        /// What the bench is told.
        file: Box<DroppedFile>,
        /// What it looked like; `None` where it could not be opened.
        shape: Option<Shape>,
        /// The tag still carries what follows the check in the file's name.
        named: bool,
    },
}

/// What a name looks like now. Links are not followed.
pub(super) fn shape(folder: &Path, name: &OsStr) -> std::io::Result<Shape> {
    Ok(Shape::of(&std::fs::symlink_metadata(folder.join(name))?))
}

/// Every name in a folder that is no folder itself.
pub(super) fn list(folder: &Path) -> std::io::Result<BTreeMap<OsString, Shape>> {
    let mut listed = BTreeMap::new();
    for entry in std::fs::read_dir(folder)? {
        let entry = entry?;
        // A name that is gone again by now is nothing to tell.
        if let Ok(metadata) = entry.metadata()
            && !metadata.is_dir()
        {
            listed.insert(entry.file_name(), Shape::of(&metadata));
        }
    }
    Ok(listed)
}

/// Reads a file of a drop. `before` are the files the drop gave earlier.
pub(super) fn read(drop: &Drop, name: &OsStr, before: &[TakenBefore]) -> Content {
    let flags = OFlags::RDONLY | OFlags::NOFOLLOW | OFlags::NONBLOCK | OFlags::CLOEXEC;
    let opened = rustix::fs::open(drop.folder.join(name), flags, Mode::empty());
    let file = match opened {
        Ok(file) => File::from(file),
        Err(Errno::NOENT) => return Content::Gone,
        Err(Errno::LOOP | Errno::NXIO) => return Content::Link,
        Err(error) => return unreadable(drop, name, &error.into()),
    };
    match file.metadata() {
        Ok(metadata) if !metadata.is_file() => Content::Link,
        Ok(metadata) => read_open(drop, name, before, (file, Shape::of(&metadata))),
        Err(error) => unreadable(drop, name, &error),
    }
}

fn read_open(
    drop: &Drop,
    name: &OsStr,
    before: &[TakenBefore],
    (mut file, shape): (File, Shape),
) -> Content {
    let shown = name.to_string_lossy();
    // Rows that say themselves what they belong to are the same rows whatever the file is called.
    // Where only the name says it, or nothing, another file that begins alike is another series.
    let of_this = |taken: &&TakenBefore| drop.tags == Tags::Columns || taken.name == shown;
    let before: Vec<_> = before.iter().filter(of_this).collect();
    let bytes = match digested(&mut file, &before) {
        Ok(bytes) => bytes,
        Err(error) => return unreadable(drop, name, &error),
    };
    match file.metadata().map(|metadata| Shape::of(&metadata)) {
        Ok(after) if after == shape && bytes.total == shape.bytes => {}
        Ok(after) => return Content::Changing(after),
        Err(error) => return unreadable(drop, name, &error),
    }
    let parsed = parsed(drop, name, &bytes);
    let given_before = bytes.given_before();
    let (read, why) = match parsed {
        Ok(read) => (read, String::new()),
        Err(why) => (no_rows(), why),
    };
    let seen = FileSeen {
        drop: drop.name.clone(),
        name: shown.into_owned(),
        digest: bytes.digest,
        bytes: bytes.total,
        rows: u32::try_from(read.good.rows.len()).unwrap_or(u32::MAX),
        why,
    };
    let file = Box::new(whole(drop, seen, (bytes.kept, read), given_before));
    Content::Whole { file, shape: Some(shape), named: drop.tags == Tags::Name }
}

fn no_rows() -> BadRows {
    let good = FileRows { tags: Vec::new(), rows: Vec::new() };
    BadRows { faults: Vec::new(), good }
}

fn whole(
    drop: &Drop,
    seen: FileSeen,
    (bytes, read): (Vec<u8>, BadRows),
    given_before: u32,
) -> DroppedFile {
    DroppedFile {
        seen,
        gauge: drop.gauge.clone(),
        bytes: Arc::new(bytes),
        rows: Arc::new(read.good),
        bad: read.faults,
        given_before,
        to_active: drop.tags == Tags::Active,
        known: false,
        closed_jobs: std::collections::BTreeSet::new(),
    }
}

/// A file that is there and cannot be read is refused: somebody wants it measured.
fn unreadable(drop: &Drop, name: &OsStr, error: &std::io::Error) -> Content {
    let seen = FileSeen {
        drop: drop.name.clone(),
        name: name.to_string_lossy().into_owned(),
        digest: *blake3::hash(b"").as_bytes(),
        bytes: 0,
        rows: 0,
        why: format!("the file cannot be read: {error}"),
    };
    let file = Box::new(whole(drop, seen, (Vec::new(), no_rows()), 0));
    Content::Whole { file, shape: None, named: false }
}

/// The bytes of a file with their digest.
struct Digested {
    kept: Vec<u8>,
    total: u64,
    digest: [u8; 32],
    /// The longest earlier file that this one begins with.
    grown_from: Option<TakenBefore>,
}

impl Digested {
    fn given_before(&self) -> u32 {
        self.grown_from.as_ref().map_or(0, |before| before.rows)
    }

    /// Whether the earlier file ended where a row ends in this one.
    fn grew_by_rows(&self) -> bool {
        let Some(before) = &self.grown_from else { return true };
        let Ok(end) = usize::try_from(before.bytes) else { return false };
        let is_end = |byte: Option<&u8>| matches!(byte, None | Some(b'\n' | b'\r'));
        end == 0 || is_end(self.kept.get(end - 1)) || is_end(self.kept.get(end))
    }
}

/// Reads to the end, and on the way compares what was read so far with earlier files of the same
/// length. Of a file that is too long only the digest is taken.
fn digested(file: &mut File, before: &[&TakenBefore]) -> std::io::Result<Digested> {
    let mut by_length: BTreeMap<u64, Vec<&TakenBefore>> = BTreeMap::new();
    for taken in before.iter().filter(|taken| taken.bytes > 0) {
        by_length.entry(taken.bytes).or_default().push(taken);
    }
    let mut hasher = blake3::Hasher::new();
    let (mut kept, mut total, mut grown_from) = (Vec::new(), 0, None);
    let mut chunk = vec![0; 64 << 10];
    loop {
        let count = file.read(&mut chunk)?;
        if count == 0 {
            break;
        }
        let end = total + count as u64;
        let mut rest = &chunk[..count];
        for (&length, files) in by_length.range(total + 1..=end) {
            let (head, tail) = rest.split_at(rest.len() - usize_of(end - length));
            hasher.update(head);
            rest = tail;
            let digest = hasher.finalize();
            let same = files.iter().find(|taken| &taken.digest == digest.as_bytes());
            grown_from = same.copied().or(grown_from);
        }
        hasher.update(rest);
        total = end;
        if total <= MAX_BYTES {
            kept.extend_from_slice(&chunk[..count]);
        }
    }
    let digest = *hasher.finalize().as_bytes();
    // The same bytes as before are not grown: the record knows them by their digest.
    let grown_from = grown_from.filter(|taken: &&TakenBefore| taken.bytes < total).cloned();
    Ok(Digested { kept, total, digest, grown_from })
}

fn usize_of(small: u64) -> usize {
    usize::try_from(small).unwrap_or(usize::MAX)
}

/// The rows of a file with their tags and the rows that do not parse, or the one reason against
/// all of it.
fn parsed(drop: &Drop, name: &OsStr, bytes: &Digested) -> Result<BadRows, String> {
    if bytes.total > MAX_BYTES {
        return Err(format!("the file has {} bytes, more than 16 MiB; split it", bytes.total));
    }
    if !bytes.grew_by_rows() {
        return Err("the last row that was taken from this file before has changed since; \
                    put new rows on lines of their own"
            .to_owned());
    }
    let mut read = parse_rows(&bytes.kept, &drop.format)
        .map_or_else(|bad| bad, |good| BadRows { faults: Vec::new(), good });
    let rows = &mut read.good;
    if rows.rows.len() > MAX_ROWS {
        return Err(format!("the file has {} rows, more than 100000; split it", rows.rows.len()));
    }
    if drop.tags == Tags::Name {
        let tag = names::tag_of(name)
            .ok_or("the name is not JOB__PART__CHECK.csv, so it tags nothing; rename the file")?;
        rows.tags = vec![tag];
        for row in &mut rows.rows {
            row.tag = 0;
        }
    }
    Ok(read)
}
