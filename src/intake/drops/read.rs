//! Reading a dropped file whole: its bytes, its digest and its rows.

use std::collections::BTreeMap;
use std::ffi::{OsStr, OsString};
use std::fs::File;
use std::io::Read as _;
use std::os::unix::fs::MetadataExt;
use std::path::Path;
use std::sync::Arc;

use rustix::fs::{FileType, Mode, OFlags};
use rustix::io::Errno;

use super::names;
use bench::DroppedFile;
use bench::row::FileSeen;
use config::{Drop, Tags};
use gauge::{BadRows, FileRows, parse_rows};

/// The most bytes a file may have.
pub(super) const MAX_BYTES: u64 = 16 << 20;

/// The most data rows a file may have.
const MAX_ROWS: usize = 100_000;

/// What shows that a file has changed, without reading it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Shape {
    pub(super) bytes: u64,
    pub(super) modified: (i64, i64),
    pub(super) inode: u64,
    pub(super) links: u64,
    /// The kind of thing it is, where it is no plain file. Such a thing changes whenever it is used, so
    /// only this and its inode are compared.
    pub(super) odd: Option<Odd>,
}

impl Shape {
    fn from_metadata(metadata: &std::fs::Metadata) -> Self {
        if let Some(odd) = odd(metadata) {
            return Self { inode: metadata.ino(), odd: Some(odd), ..Self::default() };
        }
        Self {
            bytes: metadata.len(),
            modified: (metadata.mtime(), metadata.mtime_nsec()),
            inode: metadata.ino(),
            links: metadata.nlink(),
            odd: None,
        }
    }
}

/// What is no plain file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Odd {
    Folder,
    Link,
    Pipe,
    Socket,
    Device,
    Other,
}

impl Odd {
    /// What it is, and what to do.
    const fn told(self) -> (&'static str, &'static str) {
        let plain = "put a plain file here";
        match self {
            Self::Folder => {
                ("a folder", "files in it are not looked at; put the files themselves here")
            }
            Self::Link => ("a link", "links are not followed; put the file itself here"),
            Self::Pipe => ("a pipe", plain),
            Self::Socket => ("a socket", plain),
            Self::Device => ("a device", plain),
            Self::Other => ("a file of an unknown kind", plain),
        }
    }
}

/// The kind of something that is no plain file.
fn odd(metadata: &std::fs::Metadata) -> Option<Odd> {
    Some(match FileType::from_raw_mode(metadata.mode()) {
        FileType::RegularFile => return None,
        FileType::Directory => Odd::Folder,
        FileType::Symlink => Odd::Link,
        FileType::Fifo => Odd::Pipe,
        FileType::Socket => Odd::Socket,
        FileType::CharacterDevice | FileType::BlockDevice => Odd::Device,
        FileType::Unknown => Odd::Other,
    })
}

/// What reading a name gave.
#[derive(Debug)]
pub(super) enum Content {
    /// The name is gone.
    Gone,
    /// The file changed while it was read.
    Changing(Shape),
    /// The system does not let the file be read now, with its reason.
    Unread(String),
    /// A whole file, or something that is no plain file and is refused.
    Whole {
        /// The file as the bench gets it.
        file: Box<DroppedFile>,
        /// Its shape.
        shape: Shape,
        /// Whether the tag still carries what follows the check in the file's name.
        named: bool,
        /// Whether its last line has a line end.
        ended: bool,
    },
}

/// The current shape behind a name. Links are not followed.
pub(super) fn shape(folder: &Path, name: &OsStr) -> std::io::Result<Shape> {
    Ok(Shape::from_metadata(&std::fs::symlink_metadata(folder.join(name))?))
}

/// Every name in a folder.
pub(super) fn list(folder: &Path) -> std::io::Result<BTreeMap<OsString, Shape>> {
    let mut listed = BTreeMap::new();
    for entry in std::fs::read_dir(folder)? {
        let entry = entry?;
        // A name that has disappeared meanwhile needs no report.
        if let Ok(metadata) = entry.metadata() {
            listed.insert(entry.file_name(), Shape::from_metadata(&metadata));
        }
    }
    Ok(listed)
}

/// Reads a file of a drop. Anything but a plain file is never opened: opening a pipe would wake its
/// writer, and opening a device may do anything.
pub(super) fn read(drop: &Drop, name: &OsStr) -> Content {
    match shape(&drop.folder, name) {
        Ok(shape) => match shape.odd {
            None => {}
            Some(what) => return refused_unread(drop, name, what, shape),
        },
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Content::Gone,
        Err(error) => return Content::Unread(error.to_string()),
    }
    // If something else was put there meanwhile, it is neither followed nor waited for.
    let flags = OFlags::RDONLY | OFlags::NOFOLLOW | OFlags::NONBLOCK | OFlags::CLOEXEC;
    let opened = rustix::fs::open(drop.folder.join(name), flags, Mode::empty());
    let file = match opened {
        Ok(file) => File::from(file),
        Err(Errno::NOENT) => return Content::Gone,
        // It has become a link or a socket meanwhile and is treated as that.
        Err(Errno::LOOP | Errno::NXIO) => {
            return shape(&drop.folder, name).map_or(Content::Gone, Content::Changing);
        }
        Err(error) => return Content::Unread(std::io::Error::from(error).to_string()),
    };
    let metadata = match file.metadata() {
        Ok(metadata) => metadata,
        Err(error) => return Content::Unread(error.to_string()),
    };
    let shape = Shape::from_metadata(&metadata);
    match shape.odd {
        Some(what) => refused_unread(drop, name, what, shape),
        None => read_open(drop, name, (file, shape))
            .unwrap_or_else(|error| Content::Unread(error.to_string())),
    }
}

fn read_open(
    drop: &Drop,
    name: &OsStr,
    (mut file, shape): (File, Shape),
) -> std::io::Result<Content> {
    let bytes = Digested::read(&mut file)?;
    let after = Shape::from_metadata(&file.metadata()?);
    if after != shape || bytes.total != shape.bytes {
        return Ok(Content::Changing(after));
    }
    let (read, why) = match parsed(drop, name, &bytes) {
        Ok(read) => (read, String::new()),
        Err(why) => (no_rows(), why),
    };
    let seen = FileSeen {
        drop: drop.name.clone(),
        name: names::shown(name),
        digest: bytes.digest,
        bytes: bytes.total,
        rows: u32::try_from(read.good.rows.len()).unwrap_or(u32::MAX),
        series: series(drop, name, (&bytes.kept, &read.good)),
        went: [0; 32],
        why,
    };
    let ended = matches!(bytes.kept.last(), None | Some(b'\n' | b'\r')) || bytes.total > MAX_BYTES;
    let file = Box::new(whole(drop, seen, (bytes.kept, read)));
    Ok(Content::Whole { file, shape, named: drop.tags == Tags::Name, ended })
}

/// A digest shared by all versions of a file that grows. Rows that name what they belong to are the same
/// rows whatever the file is called. Where only the file's name says it, or nothing does, another file
/// that begins with the same row is another series.
fn series(drop: &Drop, name: &OsStr, (bytes, rows): (&[u8], &FileRows)) -> [u8; 32] {
    let place = |at: u32| usize::try_from(at).unwrap_or(usize::MAX);
    let end = rows.rows.first().map(|row| place(row.start).saturating_add(place(row.length)));
    let head = end.and_then(|end| bytes.get(..end)).unwrap_or_default();
    let mut hasher = blake3::Hasher::new();
    hasher.update(head);
    if drop.tags != Tags::Columns {
        hasher.update(b"\n").update(name.as_encoded_bytes());
    }
    *hasher.finalize().as_bytes()
}

fn no_rows() -> BadRows {
    let good = FileRows { tags: Vec::new(), rows: Vec::new() };
    BadRows { faults: Vec::new(), good }
}

fn whole(drop: &Drop, seen: FileSeen, (bytes, read): (Vec<u8>, BadRows)) -> DroppedFile {
    DroppedFile {
        seen,
        gauge: drop.gauge.clone(),
        bytes: Arc::new(bytes),
        rows: Arc::new(read.good),
        bad: read.faults,
        given_before: 0,
        before: Vec::new(),
        to_active: drop.tags == Tags::Active,
        known: false,
        same: None,
        closed_jobs: std::collections::BTreeSet::new(),
    }
}

/// A file of which no byte was read, with the reason. Its digest is that of the reason, so that the reason
/// is reported once.
pub(super) fn of_nothing(drop: &Drop, name: &OsStr, why: String) -> Box<DroppedFile> {
    let seen = FileSeen {
        drop: drop.name.clone(),
        name: names::shown(name),
        digest: *blake3::hash(why.as_bytes()).as_bytes(),
        bytes: 0,
        rows: 0,
        series: [0; 32],
        went: [0; 32],
        why,
    };
    Box::new(whole(drop, seen, (Vec::new(), no_rows())))
}

fn refused_unread(drop: &Drop, name: &OsStr, what: Odd, shape: Shape) -> Content {
    let (what, way) = what.told();
    let file = of_nothing(drop, name, format!("it is {what}: {way}"));
    Content::Whole { file, shape, named: false, ended: true }
}

/// The bytes of a file with their digest.
struct Digested {
    kept: Vec<u8>,
    total: u64,
    digest: [u8; 32],
}

impl Digested {
    /// Reads to the end. Of a file that is too long only the digest is kept.
    fn read(file: &mut File) -> std::io::Result<Self> {
        let mut hasher = blake3::Hasher::new();
        let (mut kept, mut total) = (Vec::new(), 0);
        let mut chunk = vec![0; 64 << 10];
        loop {
            let count = match file.read(&mut chunk) {
                Ok(0) => break,
                Ok(count) => count,
                Err(error) if error.kind() == std::io::ErrorKind::Interrupted => continue,
                Err(error) => return Err(error),
            };
            hasher.update(&chunk[..count]);
            total += count as u64;
            if total <= MAX_BYTES {
                kept.try_reserve(count).map_err(|_| std::io::ErrorKind::OutOfMemory)?;
                kept.extend_from_slice(&chunk[..count]);
            }
        }
        Ok(Self { kept, total, digest: *hasher.finalize().as_bytes() })
    }
}

/// The rows of a file with their tags, and the faults of other rows; or the one reason against the
/// whole file.
fn parsed(drop: &Drop, name: &OsStr, bytes: &Digested) -> Result<BadRows, String> {
    if bytes.total > MAX_BYTES {
        return Err(format!("the file has {} bytes, more than 16 MiB; split it", bytes.total));
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
