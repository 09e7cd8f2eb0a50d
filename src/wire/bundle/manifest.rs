//! `bundle/2`: which files there are, how long they are, and their digests.

use serde::{Deserialize, Serialize};

/// The list itself.
pub const MANIFEST: &str = "manifest.json";
/// The lines of `record/4`.
pub const RECORD: &str = "record.jsonl";
/// Every other file of a bundle, in the order of the list.
pub const FILES: [&str; 6] =
    ["alerts.csv", "plan.toml", "readings.csv", RECORD, "report.html", "verdicts.csv"];

const SCHEMA: &str = "bundle/2";

/// What a bundle holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Manifest {
    /// `bundle/2`.
    pub schema: String,
    /// The job.
    pub job: String,
    /// Whether the job was closed when it was handed on.
    pub closed: bool,
    /// The program, with its version.
    pub written_by: String,
    /// How many lines `record.jsonl` has.
    pub rows: u64,
    /// Every other file.
    pub files: Vec<FileLine>,
}

/// One file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FileLine {
    /// Its name in the folder.
    pub name: String,
    /// Its size, bytes.
    pub bytes: u64,
    /// The SHA-256 of its bytes, in hexadecimal.
    pub sha256: String,
}

impl Manifest {
    /// The list of a bundle that this program writes.
    #[must_use]
    pub fn new(job: &str, closed: bool, rows: u64, files: Vec<FileLine>) -> Self {
        Self {
            schema: SCHEMA.to_owned(),
            job: job.to_owned(),
            closed,
            written_by: concat!("tenths ", env!("CARGO_PKG_VERSION")).to_owned(),
            rows,
            files,
        }
    }

    /// The text of the file.
    ///
    /// # Panics
    /// When it cannot be JSON: a mistake in this program.
    #[must_use]
    pub fn text(&self) -> String {
        let mut text = serde_json::to_string_pretty(self).expect("texts and numbers");
        text.push('\n');
        text
    }
}

/// Reads a list back.
///
/// # Errors
/// What is wrong with it: no list of this kind, a newer one, a file that a bundle does not have, or
/// one that is not named.
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
    Ok(manifest)
}
