//! Names in a drop folder: which are data files, and what they tag.

use std::ffi::OsStr;

use gauge::Tag;

/// Endings of files that are still being written, or that this program wrote.
const NOT_YET: [&str; 3] = [".tmp", ".part", ".why"];

/// Whether a name is that of a data file: not hidden, not temporary, and no file of reasons.
pub(super) fn is_data(name: &OsStr) -> bool {
    let name = name.to_string_lossy().to_lowercase();
    let hidden = name.starts_with(['.', '~']) || name.ends_with('~');
    !hidden && !NOT_YET.iter().any(|ending| name.ends_with(ending))
}

/// A name for display. Bytes that are not text become `\xff`, so that no two names look the same.
pub(super) fn shown(name: &OsStr) -> String {
    let bytes = name.as_encoded_bytes();
    bytes.utf8_chunks().fold(String::new(), |mut shown, chunk| {
        shown.push_str(chunk.valid());
        shown.extend(chunk.invalid().iter().map(|byte| format!("\\x{byte:02x}")));
        shown
    })
}

/// The job, part and check of a name `JOB__PART__CHECK*.csv`; the check keeps what follows it.
pub(super) fn tag_of(name: &OsStr) -> Option<Tag> {
    let name = name.to_str()?;
    let end = name.len().checked_sub(4)?;
    let stem = name.get(..end).filter(|_| name[end..].eq_ignore_ascii_case(".csv"))?;
    let mut parts = stem.splitn(3, "__").filter(|part| !part.is_empty()).map(str::to_owned);
    let (job, part, check) = (parts.next()?, parts.next()?, parts.next()?);
    Some(Tag { job: Some(job), part: Some(part), check: Some(check) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_being_written_is_no_data() {
        for name in [".a.csv", "a.csv~", "~$a.csv", "a.csv.tmp", "a.PART", "a.csv.why"] {
            assert!(!is_data(OsStr::new(name)), "{name}");
        }
        assert!(is_data(OsStr::new("a.csv")) && is_data(OsStr::new("whypart.txt")));
    }

    #[test]
    fn a_name_tags_job_part_and_check() {
        let tag = tag_of(OsStr::new("J1__inner-spacer__face-a-2.CSV")).unwrap();
        assert_eq!(tag.job.as_deref(), Some("J1"));
        assert_eq!(tag.part.as_deref(), Some("inner-spacer"));
        assert_eq!(tag.check.as_deref(), Some("face-a-2"));
        for name in ["J1__part.csv", "J1__part__.csv", "J1__part__face.txt", "csv", "é.csv"] {
            assert_eq!(tag_of(OsStr::new(name)), None, "{name}");
        }
    }
}
