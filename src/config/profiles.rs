//! The profiles that a bench names, each read once.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::finding::Finding;
use super::profile::parse_profile;
use super::reader::{At, Document, hint_for};
use super::text::{self, Unread};
use ::gauge::Profile;

/// The profiles that come with the program, used where the folder of the bench has none of that name.
const SHIPPED: [(&str, &str); 7] = [
    ("channel-value", include_str!("../../config/profiles/channel-value.toml")),
    ("counts", include_str!("../../config/profiles/counts.toml")),
    ("decimal-comma", include_str!("../../config/profiles/decimal-comma.toml")),
    ("height-block", include_str!("../../config/profiles/height-block.toml")),
    ("packed-hex", include_str!("../../config/profiles/packed-hex.toml")),
    ("signed-decimal", include_str!("../../config/profiles/signed-decimal.toml")),
    ("value-unit", include_str!("../../config/profiles/value-unit.toml")),
];

/// A folder of files that people wrote: its path, and how people know it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Folder<'f> {
    /// Its absolute path, for reading.
    pub(super) path: &'f Path,
    /// Its path as the person knows it, for findings.
    pub(super) shown: &'f Path,
}

impl Folder<'_> {
    /// The names of its `*.toml` files without their ending, sorted. Empty without the folder.
    pub(super) fn stems(&self) -> Vec<String> {
        let Ok(entries) = self.path.read_dir() else { return Vec::new() };
        let paths = entries.flatten().map(|entry| entry.path());
        let toml = paths.filter(|path| path.extension().is_some_and(|ending| ending == "toml"));
        let mut stems: Vec<_> =
            toml.filter_map(|path| Some(path.file_stem()?.to_str()?.to_owned())).collect();
        stems.sort();
        stems.retain(|stem| !stem.starts_with('.'));
        stems
    }

    /// The name of a file of the folder, for findings.
    pub(super) fn shown(&self, stem: &str) -> String {
        self.shown.join(format!("{stem}.toml")).display().to_string()
    }

    /// The text of a file of the folder.
    pub(super) fn read(&self, stem: &str) -> Result<String, Unread> {
        text::read(&self.path.join(format!("{stem}.toml")), &self.shown(stem))
    }
}

/// The profiles of a folder, each read when it is first named.
#[derive(Debug)]
pub(super) struct Profiles<'f> {
    folder: Folder<'f>,
    read: BTreeMap<String, Option<Arc<Profile>>>,
    /// The findings in them.
    pub(super) findings: Vec<Finding>,
}

impl<'f> Profiles<'f> {
    /// The profiles of a folder, none of them read yet.
    pub(super) fn new(folder: Folder<'f>) -> Self {
        Self { folder, read: BTreeMap::new(), findings: Vec::new() }
    }

    /// The profile named by a gauge. `None` comes with a finding: in `document` if there is no such
    /// profile, in [`Profiles::findings`] if it has errors.
    pub(super) fn get(
        &mut self,
        document: &Document<'_>,
        name: &At<String>,
    ) -> Option<Arc<Profile>> {
        if let Some(read) = self.read.get(&name.value) {
            return read.clone();
        }
        let profile = match self.text(&name.value) {
            Ok((text, file)) => self.parse(&text, &file),
            Err(Some(unreadable)) => {
                self.findings.push(unreadable);
                None
            }
            Err(None) => {
                let text = format!("there is no profile \"{}\"", name.value);
                document.error(name.line, text, hint_for(&name.value, &self.names()));
                None
            }
        };
        self.read.insert(name.value.clone(), profile.clone());
        profile
    }

    /// Reads the profiles that no gauge names, for their findings.
    pub(super) fn read_all(&mut self) {
        for stem in self.folder.stems() {
            if self.read.contains_key(&stem) {
                continue;
            }
            match self.text(&stem) {
                Ok((text, file)) => drop(self.parse(&text, &file)),
                Err(unreadable) => self.findings.extend(unreadable),
            }
        }
    }

    /// The text of a profile and its name for findings. A profile in the folder takes precedence over the
    /// one that comes with the program.
    fn text(&self, name: &str) -> Result<(String, String), Option<Finding>> {
        if name.is_empty() || name.contains('/') {
            return Err(None);
        }
        let file = self.folder.shown(name);
        match self.folder.read(name) {
            Ok(text) => Ok((text, file)),
            Err(Unread::Missing(_)) => {
                let shipped = SHIPPED.iter().find(|(shipped, _)| *shipped == name);
                shipped.map(|(_, text)| ((*text).to_owned(), format!("{name}.toml"))).ok_or(None)
            }
            Err(Unread::Wrong(finding)) => Err(Some(finding)),
        }
    }

    fn parse(&mut self, text: &str, file: &str) -> Option<Arc<Profile>> {
        match parse_profile(text, file) {
            Ok(profile) => Some(Arc::new(profile)),
            Err(findings) => {
                self.findings.extend(findings);
                None
            }
        }
    }

    /// The names of all profiles.
    fn names(&self) -> BTreeSet<String> {
        let shipped = SHIPPED.iter().map(|(name, _)| (*name).to_owned());
        self.folder.stems().into_iter().chain(shipped).collect()
    }
}

/// All profiles that a bench could name, sorted by name, without those that have errors. Without a
/// configuration, only those that come with the program.
#[must_use]
pub fn all_profiles(bench: Option<&Path>) -> Vec<Arc<Profile>> {
    let named = bench.and_then(|path| {
        let file = path.display().to_string();
        let text = text::read(path, &file).ok()?;
        let document = Document::parse(&file, &text);
        let bench = document.root()?.table("bench")?;
        let folder = bench.glance("profiles").unwrap_or("profiles").to_owned();
        Some(beside(path.parent().unwrap_or(Path::new("")), &folder))
    });
    // A folder that does not exist has no profiles.
    let path = named.unwrap_or_default();
    let profiles = Profiles::new(Folder { path: &path, shown: &path });
    let names = profiles.names();
    let read = |name: &String| {
        let (text, file) = profiles.text(name).ok()?;
        parse_profile(&text, &file).ok().map(Arc::new)
    };
    names.iter().filter_map(read).collect()
}

/// What keeps a folder from being used; nothing where it is there. What this user may not see is not missing.
pub(super) fn wanting(folder: &Path) -> Option<&'static str> {
    match std::fs::metadata(folder) {
        Ok(found) if found.is_dir() => None,
        Err(error) if error.kind() == std::io::ErrorKind::PermissionDenied => {
            Some("may not be looked into by you")
        }
        Ok(_) => Some("is no folder"),
        Err(_) => Some("is not there"),
    }
}

/// The path of a folder named in a file; it is relative to the folder of that file.
pub(super) fn beside(base: &Path, written: &str) -> PathBuf {
    base.join(written)
}
