//! Whether the files that facts name are there and as they were attached.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::File;
use std::io::ErrorKind;
use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

use super::{PART, opened, passed};
use crate::StoreError;
use crate::read::{Book, Read};
use crate::write::seq;
use bench::row::{Attached, Body, Paper};
use bench::{Row, Seq};

/// What is wrong with the file of a paper.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PaperWrong {
    /// It is not there.
    Missing,
    /// It has another number of bytes.
    Size(u64),
    /// Some of its bytes are others.
    Changed,
    /// It cannot be read.
    Unread(String),
}

impl std::fmt::Display for PaperWrong {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Missing => f.write_str("its file is missing"),
            Self::Size(bytes) => write!(f, "its file has {bytes} bytes"),
            Self::Changed => {
                f.write_str("its file is not the one that was attached: bytes of it have changed")
            }
            Self::Unread(why) => write!(f, "its file cannot be read: {why}"),
        }
    }
}

fn unread(error: &std::io::Error) -> PaperWrong {
    if error.kind() == ErrorKind::NotFound {
        return PaperWrong::Missing;
    }
    PaperWrong::Unread(error.to_string())
}

/// The file of a paper, if it is there and has its size.
pub(super) fn sized(folder: &Path, paper: &Paper) -> Result<File, PaperWrong> {
    let file = opened(&folder.join(paper.kept_as())).map_err(|error| unread(&error))?;
    let bytes = file.metadata().map_err(|error| unread(&error))?.len();
    if bytes == paper.bytes { Ok(file) } else { Err(PaperWrong::Size(bytes)) }
}

/// Whether what was read is the paper.
pub(super) fn same(
    read: std::io::Result<([u8; 32], u64)>,
    paper: &Paper,
) -> Result<(), PaperWrong> {
    match read {
        Err(error) => Err(unread(&error)),
        Ok((_, bytes)) if bytes != paper.bytes => Err(PaperWrong::Size(bytes)),
        Ok((digest, _)) if digest != paper.digest => Err(PaperWrong::Changed),
        Ok(_) => Ok(()),
    }
}

/// Whether some bytes are the paper.
pub(crate) fn are(bytes: &[u8], paper: &Paper) -> Result<(), PaperWrong> {
    same(Ok((*blake3::hash(bytes).as_bytes(), bytes.len() as u64)), paper)
}

/// Reads the file of a paper in pieces and compares.
pub(super) fn digested(folder: &Path, paper: &Paper) -> Result<(), PaperWrong> {
    let mut file = sized(folder, paper)?;
    same(passed(&mut file, paper.bytes, |_| Ok(())), paper)
}

/// An attachment, as its fact says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PaperFact {
    /// Its row.
    pub id: Seq,
    /// What it is.
    pub attached: Arc<Attached>,
}

impl PaperFact {
    /// The sentence about what is wrong with it.
    #[must_use]
    pub fn told(&self, wrong: &PaperWrong) -> String {
        let Attached { name, paper, .. } = &*self.attached;
        format!("the {} {name} ({}): {wrong}", paper.kind.noun(), paper.kept_as())
    }
}

/// The attachments among some rows.
#[must_use]
pub fn papers_of(rows: &[Row]) -> Vec<PaperFact> {
    let fact = |row: &Row| {
        let Body::Attached(attached) = &row.body else { return None };
        Some(PaperFact { id: row.seq, attached: Arc::clone(attached) })
    };
    rows.iter().filter_map(fact).collect()
}

/// What the facts of a record say of files.
#[derive(Debug, Default)]
pub(crate) struct Facts {
    /// Every attachment that can be read, in order.
    pub(crate) papers: Vec<PaperFact>,
    /// The names of all files that are named, also by facts that cannot be read.
    pub(crate) named: BTreeSet<String>,
    /// Whether every such fact can be read.
    pub(crate) all_read: bool,
}

impl Facts {
    /// Reads them all.
    pub(crate) fn read(book: Book<'_>) -> Read<Self> {
        let named = "SELECT key FROM fact WHERE kind = 'attached' AND key IS NOT NULL";
        let named = book.select(named, [], |row| Ok(row.get::<_, String>(0)?))?;
        let all = "SELECT seq FROM fact WHERE kind = 'attached' ORDER BY seq";
        let all = book.select(all, [], |row| Ok(seq(row.get(0)?)))?;
        let (mut rows, mut all_read) = (Vec::new(), true);
        for id in all {
            match book.fact(id) {
                Ok(row) => rows.push(row),
                // That row is told by whoever looks at rows.
                Err(StoreError::Damaged { .. }) => all_read = false,
                Err(error) => return Err(error),
            }
        }
        Ok(Self { papers: papers_of(&rows), named: named.into_iter().collect(), all_read })
    }

    /// Each file once, with the first attachment that names it.
    pub(crate) fn files(&self) -> impl Iterator<Item = &PaperFact> {
        let mut first: BTreeMap<[u8; 32], &PaperFact> = BTreeMap::new();
        for paper in &self.papers {
            first.entry(paper.attached.paper.digest).or_insert(paper);
        }
        let mut files: Vec<&PaperFact> = first.into_values().collect();
        files.sort_by_key(|paper| paper.id);
        files.into_iter()
    }

    /// What is wrong with the files in a folder, read whole.
    pub(crate) fn wrong(&self, folder: &Path) -> Vec<(Seq, String)> {
        let wrong = |paper: &PaperFact| {
            let what = digested(folder, &paper.attached.paper).err()?;
            Some((paper.id, paper.told(&what)))
        };
        self.files().filter_map(wrong).collect()
    }

    /// The same by the names of the files, with the newest read first, and from some moment on only looked
    /// for.
    pub(crate) fn wrong_soon(&self, folder: &Path, until: Instant) -> Vec<(String, String)> {
        let files: Vec<&PaperFact> = self.files().collect();
        let wrong = |paper: &&PaperFact| {
            let file = &paper.attached.paper;
            let soon = Instant::now() < until;
            let found = if soon { digested(folder, file) } else { sized(folder, file).map(drop) };
            let what = found.err()?;
            let told = paper.told(&what);
            let mut letters = told.chars();
            let first = letters.next().map(|letter| letter.to_ascii_uppercase());
            Some((file.kept_as(), first.into_iter().chain(letters).collect()))
        };
        files.iter().rev().filter_map(wrong).collect()
    }
}

/// What lay in the folder although no fact names it.
#[derive(Debug, Default, PartialEq, Eq)]
pub(crate) struct Swept {
    /// Files that were removed: parts, and whole ones whose fact was never stored.
    pub(crate) removed: usize,
    /// Names of what was left where it is.
    pub(crate) left: Vec<String>,
}

/// Removes what a service that was killed left behind. Where rows are missing or damaged, `sure` is false:
/// then whole files stay, since one of those rows may have named them.
pub(crate) fn sweep(folder: &Path, named: &BTreeSet<String>, sure: bool) -> Swept {
    let mut swept = Swept::default();
    let Ok(entries) = std::fs::read_dir(folder) else { return swept };
    for entry in entries.filter_map(Result::ok) {
        let name = entry.file_name().to_string_lossy().into_owned();
        if named.contains(&name) {
            continue;
        }
        let plain = entry.file_type().is_ok_and(|kind| kind.is_file());
        let whole = quantity::from_hexadecimal(&name).is_some();
        let ours = plain && (name.starts_with(PART) || whole && sure);
        if ours && std::fs::remove_file(entry.path()).is_ok() {
            swept.removed += 1;
        } else {
            swept.left.push(name);
        }
    }
    swept
}
