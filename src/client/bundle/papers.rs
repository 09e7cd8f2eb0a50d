//! Pictures and papers in an exported job: plain files in a folder of their own, as they were attached. Their
//! names are their digests, so that whoever receives them can look at them and check them.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io::{Read, Seek};
use std::path::Path;

use sha2::{Digest, Sha256};

use super::folder::{AGAIN, cannot, sync_folder, wrong};
use crate::bench;
use crate::failure::{Failure, REFUSED};
use crate::new_file::write_new;
use ::bench::row::Paper;
use ::bench::{LARGEST_PAPER, Row};
use ::record::{PaperFact, Reader, papers_of};
use quantity::hexadecimal;
use wire::{FileLine, Manifest, PAPERS, paper_name};

/// Files that an export takes along.
pub(crate) struct Taken<'a> {
    record: &'a Reader,
    /// Each with its entry in the list.
    pub(crate) files: Vec<(FileLine, Paper)>,
    /// The digests of those that are missing here or not as they were attached.
    pub(crate) missing: Vec<String>,
    /// A sentence about each of these.
    pub(crate) told: Vec<String>,
}

impl<'a> Taken<'a> {
    /// The files that rows name.
    pub(crate) fn of(record: &'a Reader, rows: &[Row]) -> Result<Self, Failure> {
        let mut taken = Self { record, files: Vec::new(), missing: Vec::new(), told: Vec::new() };
        for (_, fact) in each_once(rows) {
            let paper = &fact.attached.paper;
            match record.paper(paper).map_err(bench::no_record)? {
                Ok(bytes) => taken.files.push((listed(paper, &bytes), paper.clone())),
                Err(wrong) => {
                    taken.missing.push(paper.kept_as());
                    taken.told.push(fact.told(&wrong));
                }
            }
        }
        Ok(taken)
    }

    /// Writes them into the folder of a bundle.
    pub(super) fn write(&self, folder: &Path) -> Result<(), Failure> {
        if self.files.is_empty() {
            return Ok(());
        }
        let inside = folder.join(PAPERS);
        fs::create_dir(&inside).map_err(cannot("make", &inside))?;
        for (line, paper) in &self.files {
            let path = folder.join(&line.name);
            let bytes = self.record.paper(paper).map_err(bench::no_record)?;
            let bytes = bytes.map_err(|why| {
                Failure::new(
                    REFUSED,
                    format!("{}: {why}", line.name),
                    "nothing was made; export it again",
                )
            })?;
            write_new(&path, &bytes).map_err(cannot("write", &path))?;
        }
        sync_folder(&inside)
    }
}

fn listed(paper: &Paper, bytes: &[u8]) -> FileLine {
    let sha256 = hexadecimal(&Sha256::digest(bytes));
    FileLine { name: paper_name(paper), bytes: paper.bytes, sha256 }
}

/// Each file that rows name once.
fn each_once(rows: &[Row]) -> BTreeMap<[u8; 32], PaperFact> {
    let mut each = BTreeMap::new();
    for fact in papers_of(rows) {
        each.entry(fact.attached.paper.digest).or_insert(fact);
    }
    each
}

/// A file of a bundle that was checked, open from its beginning.
pub(crate) type Came = (File, Paper);

/// Checks the files of a bundle against its list and its rows, and opens them: who imports may not be able to
/// open them later.
pub(super) fn read(folder: &Path, manifest: &Manifest, rows: &[Row]) -> Result<Vec<Came>, Failure> {
    nothing_else(folder, manifest)?;
    let mut named = each_once(rows);
    let mut came = Vec::new();
    for line in &manifest.papers {
        let path = folder.join(&line.name);
        let (file, paper) = checked(&path, line)?;
        let fact = named.remove(&paper.digest);
        let fact = fact.ok_or_else(|| wrong(&path, "no row of the job names it"))?;
        if fact.attached.paper != paper {
            return Err(wrong(&path, "it is of another type than the row says that names it"));
        }
        came.push((file, paper));
    }
    let missing: BTreeSet<&String> = manifest.missing.iter().collect();
    let left = named.into_values().map(|fact| fact.attached.paper.clone());
    for paper in left {
        if !missing.contains(&paper.kept_as()) {
            return Err(wrong(&folder.join(paper_name(&paper)), "it is missing"));
        }
    }
    Ok(came)
}

/// Reads a file and compares it with its entry in the list, its name, and the type that its name ends with.
fn checked(path: &Path, line: &FileLine) -> Result<Came, Failure> {
    let found = fs::symlink_metadata(path);
    let found = match found {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            return Err(wrong(path, "it is missing"));
        }
        found => found.map_err(cannot("look at", path))?,
    };
    if !found.is_file() {
        return Err(wrong(path, "it is no plain file"));
    }
    if found.len() != line.bytes || line.bytes > LARGEST_PAPER {
        return Err(wrong(
            path,
            &format!("it has {} bytes, the list says {}", found.len(), line.bytes),
        ));
    }
    let mut file = File::open(path).map_err(cannot("open", path))?;
    let mut bytes = Vec::new();
    (&mut file).take(line.bytes + 1).read_to_end(&mut bytes).map_err(cannot("read", path))?;
    if hexadecimal(&Sha256::digest(&bytes)) != line.sha256 {
        return Err(wrong(path, "it is not the file that the list was made for"));
    }
    let kind = paper::recognised(&bytes).map_err(|why| wrong(path, &why.what))?;
    let paper = Paper { digest: *blake3::hash(&bytes).as_bytes(), bytes: bytes.len() as u64, kind };
    if paper_name(&paper) != line.name {
        return Err(wrong(path, "it is not the file that its name is the digest of"));
    }
    file.rewind().map_err(cannot("read", path))?;
    Ok((file, paper))
}

fn nothing_else(folder: &Path, manifest: &Manifest) -> Result<(), Failure> {
    let inside = folder.join(PAPERS);
    let found = match fs::symlink_metadata(&inside) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(()),
        found => found.map_err(cannot("look at", &inside))?,
    };
    if !found.is_dir() {
        return Err(wrong(&inside, "it is no folder"));
    }
    for entry in fs::read_dir(&inside).map_err(cannot("look into", &inside))? {
        let entry = entry.map_err(cannot("look into", &inside))?;
        let name = format!("{PAPERS}/{}", entry.file_name().to_string_lossy());
        if !manifest.papers.iter().any(|line| line.name == name) {
            let text = format!("{}: it is no file of this bundle", entry.path().display());
            return Err(Failure::new(REFUSED, text, AGAIN));
        }
    }
    Ok(())
}
