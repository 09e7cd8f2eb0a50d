//! The folder of an exported job. It is written completely or not at all, and checked before anything in it is
//! used.

mod folder;
pub(super) mod papers;

use std::fs::{self, File};
use std::io::Read;
use std::os::unix::ffi::OsStrExt;
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use ::bench::Row;
use ::record::Callers;
use quantity::hexadecimal;
use wire::{FILES, FileLine, MANIFEST, Manifest, PAPERS, RECORD, RecordLines, parse_manifest};

use self::folder::{AGAIN, cannot, sync_folder, wrong};
use super::bench;
use super::failure::{Failure, REFUSED};
use crate::new_file::write_new;

/// The longest list of files, in bytes.
const LONGEST_LIST: u64 = 256 << 10;
/// The longest file, in bytes: a year of a busy bench in one job has far less.
const LONGEST_FILE: u64 = 256 << 20;
/// The longest line, in bytes: a plan or a verdict is far shorter.
const LONGEST_LINE: usize = 4 << 20;

/// A file of a bundle: its name and its bytes.
pub(super) type Part = (&'static str, Vec<u8>);

/// The entry of a file in the list.
pub(super) fn listed((name, bytes): &Part) -> FileLine {
    FileLine {
        name: (*name).to_owned(),
        bytes: bytes.len() as u64,
        sha256: hexadecimal(&Sha256::digest(bytes)),
    }
}

/// The folder for a new bundle, or for an annex; it has to be new or empty. `option` names it.
pub(super) fn target(out: &Path, option: &str) -> Result<PathBuf, Failure> {
    let path = std::path::absolute(out).map_err(cannot("use", out))?;
    let refused = |what: &str| {
        let text = format!("{} {what}", path.display());
        Err(Failure::new(REFUSED, text, format!("give {option} the name of a new folder")))
    };
    if path.file_name().is_none() || out.as_os_str().as_bytes().ends_with(b"..") {
        return refused("is no name for a new folder");
    }
    match fs::symlink_metadata(&path) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(path),
        Err(error) => Err(cannot("look at", &path)(error)),
        Ok(found) if !found.is_dir() => refused("is already there and is no folder"),
        Ok(_) => match fs::read_dir(&path).map_err(cannot("look into", &path))?.next() {
            None => Ok(path),
            Some(_) => refused("is already there and not empty; an export replaces nothing"),
        },
    }
}

/// Writes the files beside the target folder, and renames them to it once all of them are on disk.
pub(super) fn write(
    target: &Path,
    parts: &[Part],
    papers: &papers::Taken<'_>,
) -> Result<(), Failure> {
    let parent = target.parent().unwrap_or_else(|| Path::new("/"));
    let half = half_of(target);
    fs::create_dir(&half).map_err(cannot("make", &half))?;
    let made = fill(&half, parts).and_then(|()| papers.write(&half)).and_then(|()| {
        fs::rename(&half, target).map_err(cannot("make", target))?;
        sync_folder(parent)
    });
    if made.is_err()
        && half.exists()
        && let Err(error) = fs::remove_dir_all(&half)
    {
        return Err(cannot("remove", &half)(error));
    }
    made
}

/// The folder beside the target in which it is made.
pub(super) fn half_of(target: &Path) -> PathBuf {
    let mut name = std::ffi::OsString::from(".");
    name.push(target.file_name().unwrap_or_default());
    name.push(format!(".part-{}", std::process::id()));
    target.with_file_name(name)
}

fn fill(folder: &Path, parts: &[Part]) -> Result<(), Failure> {
    for (name, bytes) in parts {
        let path = folder.join(name);
        write_new(&path, bytes).map_err(cannot("write", &path))?;
    }
    sync_folder(folder)
}

/// A bundle that agrees with its list, with the rows of its job.
pub(super) struct Bundle {
    pub(super) manifest: Manifest,
    pub(super) rows: Vec<Row>,
    pub(super) callers: Callers,
    pub(super) digest: [u8; 32],
    pub(super) papers: Vec<papers::Came>,
}

/// Checks and reads a bundle: first its list, then every file against the list, then every line of the record.
pub(super) fn read(folder: &Path) -> Result<Bundle, Failure> {
    if !folder.is_dir() {
        let text = format!("{} is no folder", folder.display());
        return Err(Failure::new(REFUSED, text, "name the folder that `tenths export` made"));
    }
    let manifest = manifest(folder)?;
    nothing_else(folder, &manifest)?;
    let mut record = Vec::new();
    for file in &manifest.files {
        let bytes = checked(folder, file)?;
        if file.name == RECORD {
            record = bytes;
        }
    }
    let digest = Sha256::digest(&record).into();
    let (rows, callers) = rows(&record, &manifest).map_err(|(line, what)| {
        let path = folder.join(RECORD);
        match line {
            None => wrong(&path, &what),
            Some(line) => {
                let text = format!("{}, line {line}: {what}", path.display());
                Failure::new(REFUSED, text, AGAIN)
            }
        }
    })?;
    let papers = papers::read(folder, &manifest, &rows)?;
    Ok(Bundle { manifest, rows, callers, digest, papers })
}

fn manifest(folder: &Path) -> Result<Manifest, Failure> {
    let path = folder.join(MANIFEST);
    let bytes = content(&path, longest(MANIFEST))?;
    let text = String::from_utf8(bytes).map_err(|_| wrong(&path, "it is no text"))?;
    parse_manifest(&text).map_err(|what| wrong(&path, &what))
}

/// The bytes of a plain file of limited length.
fn content(path: &Path, longest: u64) -> Result<Vec<u8>, Failure> {
    let found = match fs::symlink_metadata(path) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            return Err(wrong(path, "it is missing"));
        }
        Err(error) => return Err(cannot("look at", path)(error)),
        Ok(found) => found,
    };
    if !found.is_file() {
        return Err(wrong(path, "it is no plain file"));
    }
    let too_long = || wrong(path, &format!("it is longer than {longest} bytes"));
    if found.len() > longest {
        return Err(too_long());
    }
    let mut bytes = Vec::new();
    let file = File::open(path).map_err(cannot("open", path))?;
    let mut file = file.take(longest + 1);
    file.read_to_end(&mut bytes).map_err(cannot("read", path))?;
    if bytes.len() as u64 > longest { Err(too_long()) } else { Ok(bytes) }
}

fn nothing_else(folder: &Path, manifest: &Manifest) -> Result<(), Failure> {
    let entries = fs::read_dir(folder).map_err(cannot("look into", folder))?;
    for entry in entries {
        let entry = entry.map_err(cannot("look into", folder))?;
        let name = entry.file_name();
        let papers = name == PAPERS && !manifest.papers.is_empty();
        if !papers && !FILES.iter().chain([&MANIFEST]).any(|known| name == *known) {
            let text = format!("{}: it is no file of this bundle", entry.path().display());
            return Err(Failure::new(
                REFUSED,
                text,
                "nothing was changed; take it out of the folder",
            ));
        }
    }
    Ok(())
}

fn checked(folder: &Path, file: &FileLine) -> Result<Vec<u8>, Failure> {
    let path = folder.join(&file.name);
    let bytes = content(&path, longest(&file.name))?;
    if bytes.len() as u64 != file.bytes {
        let what = format!("it has {} bytes, {MANIFEST} says {}", bytes.len(), file.bytes);
        return Err(wrong(&path, &what));
    }
    if hexadecimal(&Sha256::digest(&bytes)) != file.sha256 {
        return Err(wrong(&path, &format!("it is not the file that {MANIFEST} was made for")));
    }
    Ok(bytes)
}

/// What is wrong with a record, and in which line.
type Fault = (Option<u64>, String);

fn rows(record: &[u8], manifest: &Manifest) -> Result<(Vec<Row>, Callers), Fault> {
    let mut lines = RecordLines::new(bench::parse_plan);
    let (mut rows, mut callers) = (Vec::new(), Callers::new());
    let whole = |what: String| (None, what);
    let text =
        record.strip_suffix(b"\n").ok_or_else(|| whole("its last line has no end".into()))?;
    for (line, number) in text.split(|byte| *byte == b'\n').zip(1_u64..) {
        let at = |what: String| (Some(number), what);
        if line.len() > LONGEST_LINE {
            return Err(at(format!("it is longer than {LONGEST_LINE} bytes")));
        }
        let text = std::str::from_utf8(line).map_err(|_| at("it is no text".into()))?;
        let (row, caller) = lines.take(text).map_err(at)?;
        if let Some(caller) = caller {
            callers.insert(row.seq, caller);
        }
        rows.push(row);
    }
    let job = lines.job().map_err(whole)?;
    if job.as_str() != manifest.job {
        return Err(whole(format!("it is of job {job}, {MANIFEST} says {:?}", manifest.job)));
    }
    if rows.len() as u64 != manifest.rows {
        let what = format!("it has {} lines, {MANIFEST} says {}", rows.len(), manifest.rows);
        return Err(whole(what));
    }
    Ok((rows, callers))
}

/// Whether `import` would accept the bundle that is about to be written: otherwise it is of no use.
pub(super) fn can_be_taken(parts: &[Part], manifest: &Manifest) -> Result<(), Failure> {
    let refused = |what: String| {
        let text = format!("job {} cannot be handed on: {what}", manifest.job);
        let hint = "nothing was made; a copy of the whole record holds it: tenths backup FILE";
        Err(Failure::new(REFUSED, text, hint))
    };
    for (name, bytes) in parts {
        let (has, longest) = (bytes.len() as u64, longest(name));
        if has > longest {
            return refused(format!(
                "{name} would have {has} bytes, and `tenths import` takes none above {longest}"
            ));
        }
        if *name != RECORD {
            continue;
        }
        match rows(bytes, manifest) {
            Ok(_) => {}
            Err((Some(line), what)) => return refused(format!("{name}, line {line}: {what}")),
            Err((None, what)) => return refused(format!("{name}: {what}")),
        }
    }
    Ok(())
}

fn longest(name: &str) -> u64 {
    if name == MANIFEST { LONGEST_LIST } else { LONGEST_FILE }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(parts: &[Part]) -> String {
        let manifest = Manifest::new("J-7", true, 1, Vec::new());
        match can_be_taken(parts, &manifest) {
            Ok(()) => String::new(),
            Err(Failure::Told(told)) => told.to_string(),
            Err(Failure::ClosedPipe) => "closed".to_owned(),
        }
    }

    #[test]
    fn what_import_would_refuse_is_not_exported() {
        let long = |most: u64| vec![0; usize::try_from(most).unwrap()];
        assert_eq!(said(&[("report.html", long(LONGEST_FILE))]), "");
        let said_of = said(&[("report.html", long(LONGEST_FILE + 1))]);
        assert!(
            said_of.contains("job J-7 cannot be handed on: report.html would have"),
            "{said_of}"
        );
        assert!(said_of.contains("tenths backup FILE"), "{said_of}");
        assert!(said(&[(MANIFEST, long(LONGEST_LIST + 1))]).contains("manifest.json would have"));
        let line = [vec![b'x'; LONGEST_LINE + 1], vec![b'\n']].concat();
        assert!(said(&[(RECORD, line)]).contains("record.jsonl, line 1: it is longer than"));
        assert!(said(&[(RECORD, Vec::new())]).contains("record.jsonl: its last line has no end"));
    }
}
