//! Copies in one folder that are named by the time they were made, and how many of those stay.

use std::fs;
use std::path::{Path, PathBuf};

use quantity::Wall;

use super::folder::failed;
use super::owner::Owner;
use super::{StoreError, papers};

const HEAD: &str = "tenths-";
const ENDING: &str = "Z.db";

/// The name of a copy that is made at this time, in UTC: `tenths-20270301T061500Z.db`. Names in order are copies in
/// order.
#[must_use]
pub fn copy_name(at: Wall) -> String {
    let told: String = at.to_the_second().chars().filter(char::is_ascii_digit).collect();
    let (day, time) = told.split_at(told.len().min(8));
    format!("{HEAD}{day}T{time}{ENDING}")
}

/// Whether a name is one of those.
fn is_copy_name(name: &str) -> bool {
    let digits =
        |text: &str, count| text.len() == count && text.bytes().all(|b| b.is_ascii_digit());
    let inner = name.strip_prefix(HEAD).and_then(|rest| rest.strip_suffix(ENDING));
    inner
        .and_then(|inner| inner.split_once('T'))
        .is_some_and(|(day, time)| digits(day, 8) && digits(time, 6))
}

/// Leaves the newest `keep` of the copies with such names in a folder, `made` among them in any case: a clock that
/// was put back gives a new copy the name of an old one. The others are removed with their pictures and papers;
/// says which those were, the oldest first. Whatever has another name stays.
///
/// # Errors
/// The folder cannot be read, or a copy cannot be removed.
pub fn keep_newest(made: &Path, keep: usize) -> Result<Vec<PathBuf>, StoreError> {
    let _as_owner = Owner::of_new_file(made)?.assumed()?;
    let parent = made.parent().filter(|parent| !parent.as_os_str().is_empty());
    let folder = parent.unwrap_or_else(|| Path::new("."));
    let mut others = Vec::new();
    for entry in fs::read_dir(folder).map_err(failed("look into", folder))? {
        let entry = entry.map_err(failed("look into", folder))?;
        let named = entry.file_name().to_str().is_some_and(is_copy_name);
        // Of a link only its name would go; it is not one of these.
        let own = made.file_name() != Some(&entry.file_name());
        if named && own && entry.file_type().is_ok_and(|kind| kind.is_file()) {
            others.push(entry.path());
        }
    }
    others.sort();
    let many = others.len().saturating_sub(keep.saturating_sub(1));
    others.truncate(many);
    for copy in &others {
        // The copy itself goes last: what is broken off in between is finished the next time.
        papers::removed(&papers::folder_of(copy))?;
        fs::remove_file(copy).map_err(failed("remove", copy))?;
    }
    Ok(others)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_copy_is_named_by_its_time() {
        // 2001-09-09 01:46:40 UTC is 1 000 000 000 s after the beginning of 1970 (POSIX, seconds since the epoch).
        let name = copy_name(Wall::from_micros(1_000_000_000_000_000));
        assert_eq!(name, "tenths-20010909T014640Z.db");
        assert!(is_copy_name(&name));
        let others = [
            "tenths.db",
            "tenths-20010909T014640Z.db.part-7",
            "tenths-20010909T014640Z.db.damaged",
            "tenths-2001090T0014640Z.db",
            "tenths-monday.db",
            "my-tenths-20010909T014640Z.db",
        ];
        assert!(others.iter().all(|name| !is_copy_name(name)));
    }

    #[test]
    fn the_oldest_go_and_nothing_else_does() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        let days = ["01", "02", "03", "04"].map(|day| format!("tenths-202703{day}T061500Z.db"));
        for name in days.iter().map(String::as_str).chain(["monday.db", "tenths-note.db"]) {
            fs::write(at(name), "").unwrap();
        }
        fs::create_dir(at("tenths-20270301T061500Z.db.attached")).unwrap();
        fs::create_dir(at("tenths-20250101T000000Z.db")).unwrap();
        // The clock was put back: what was just made has the oldest name.
        let made = at("tenths-20260101T000000Z.db");
        fs::write(&made, "").unwrap();
        let removed = keep_newest(&made, 3).unwrap();
        assert_eq!(removed, [at(&days[0]), at(&days[1])]);
        let mut left: Vec<String> = fs::read_dir(folder.path())
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        left.sort();
        let expected = [
            "monday.db",
            "tenths-20250101T000000Z.db",
            "tenths-20260101T000000Z.db",
            &days[2],
            &days[3],
            "tenths-note.db",
        ];
        assert_eq!(left, expected);
        assert!(keep_newest(&made, 3).unwrap().is_empty());
    }
}
