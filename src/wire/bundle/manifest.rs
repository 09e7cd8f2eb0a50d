//! `bundle/1`: the files of a bundle, with their sizes and digests.

use serde::{Deserialize, Serialize};

use bench::row::{Paper, PaperType};
use bench::{LARGEST_PAPER, MOST_PAPERS};
use quantity::from_hexadecimal;

/// The file that holds this list.
pub const MANIFEST: &str = "manifest.json";
/// The file with the lines of `record/1`.
pub const RECORD: &str = "record.jsonl";
/// The folder with pictures and papers, where there are any.
pub const PAPERS: &str = "attached";
/// All other files of a bundle, in the order of the list.
pub const FILES: [&str; 6] =
    ["alerts.csv", "plan.toml", "readings.csv", RECORD, "report.html", "verdicts.csv"];

const SCHEMA: &str = "bundle/1";

/// The content of a bundle.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Manifest {
    /// `bundle/1`.
    pub schema: String,
    /// The job.
    pub job: String,
    /// Whether the job was closed when it was exported.
    pub closed: bool,
    /// The program that wrote the bundle, with its version.
    pub written_by: String,
    /// The number of lines in `record.jsonl`.
    pub rows: u64,
    /// All other files.
    pub files: Vec<FileLine>,
    /// The files of pictures and papers, in the folder [`PAPERS`].
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub papers: Vec<FileLine>,
    /// The digests of those that its rows name and that were missing, or not as they were attached, where it
    /// was exported.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub missing: Vec<String>,
}

/// One file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FileLine {
    /// Its name in the folder.
    pub name: String,
    /// Its size in bytes.
    pub bytes: u64,
    /// The SHA-256 of its bytes, in hexadecimal.
    pub sha256: String,
}

impl Manifest {
    /// The list for a bundle written by this program.
    #[must_use]
    pub fn new(job: &str, closed: bool, rows: u64, files: Vec<FileLine>) -> Self {
        Self {
            schema: SCHEMA.to_owned(),
            job: job.to_owned(),
            closed,
            written_by: concat!("tenths ", env!("CARGO_PKG_VERSION")).to_owned(),
            rows,
            files,
            papers: Vec::new(),
            missing: Vec::new(),
        }
    }

    /// The text of the list.
    ///
    /// # Panics
    /// When it cannot be JSON, which would be a bug.
    #[must_use]
    pub fn text(&self) -> String {
        let mut text = serde_json::to_string_pretty(self).expect("texts and numbers");
        text.push('\n');
        text
    }
}

/// Reads a list.
///
/// # Errors
/// What is wrong with it: it is no such list, comes from a newer version, names a file that a bundle does
/// not have, or lacks one.
pub fn parse_manifest(text: &str) -> Result<Manifest, String> {
    #[derive(Deserialize)]
    struct Head {
        schema: String,
    }
    let head: Head =
        serde_json::from_str(text).map_err(|_| "it is no list of a bundle".to_owned())?;
    super::fact::known_schema(&head.schema, SCHEMA)?;
    let manifest: Manifest = serde_json::from_str(text).map_err(|error| error.to_string())?;
    for file in &manifest.files {
        if !FILES.contains(&file.name.as_str()) {
            return Err(format!("it names {:?}, which is no file of a bundle", file.name));
        }
    }
    for name in FILES {
        match manifest.files.iter().filter(|file| file.name == name).count() {
            1 => {}
            0 => return Err(format!("it does not name {name}")),
            _ => return Err(format!("it names {name} twice")),
        }
    }
    papers(&manifest)?;
    Ok(manifest)
}

/// Checks the names and the sizes of pictures and papers.
fn papers(manifest: &Manifest) -> Result<(), String> {
    let Manifest { papers, missing, .. } = manifest;
    if papers.len() + missing.len() > MOST_PAPERS {
        return Err(format!("it names more than {MOST_PAPERS} pictures and papers"));
    }
    for (at, file) in papers.iter().enumerate() {
        let inside = file.name.strip_prefix(PAPERS).and_then(|name| name.strip_prefix('/'));
        let (digest, ending) = inside.and_then(|name| name.split_once('.')).unwrap_or_default();
        let known = PaperType::ALL.iter().any(|kind| kind.ending() == ending);
        if from_hexadecimal(digest).is_none() || !known {
            return Err(format!(
                "it names {:?}, which is no picture or paper of a bundle",
                file.name
            ));
        }
        if file.bytes > LARGEST_PAPER {
            return Err(format!(
                "{} has {} bytes, more than any that is attached",
                file.name, file.bytes
            ));
        }
        if papers.iter().take(at).any(|other| other.name == file.name) {
            return Err(format!("it names {} twice", file.name));
        }
    }
    match missing.iter().find(|digest| from_hexadecimal(digest).is_none()) {
        Some(digest) => Err(format!("it misses {digest:?}, which is no digest")),
        None => Ok(()),
    }
}

/// The name of a picture or paper in a bundle: its digest, so that equal ones are one file, and its type.
#[must_use]
pub fn paper_name(paper: &Paper) -> String {
    format!("{PAPERS}/{}.{}", paper.kept_as(), paper.kind.ending())
}
