//! What the record knows of a dropped file. Each look-up goes straight to its rows, however many files a
//! drop has given, because the deciding thread waits for it.

use std::ops::ControlFlow;
use std::sync::Arc;

use rusqlite::params;

use bench::event::Taken;
use bench::row::{Body, FileSeen};
use bench::{Row, Seq};
use quantity::Wall;

use super::error::StoreError;
use super::writer::Store;
use super::{fact, pending};

/// The most files of the same name that are looked at.
const NEWEST: usize = 8;

/// A file that was read and not decided yet.
#[derive(Debug, Clone, Copy)]
pub struct FileLook<'f> {
    /// Which file it is, with the places its rows go to.
    pub seen: &'f FileSeen,
    /// All its bytes.
    pub bytes: &'f [u8],
    /// The name that it had in its folder until now, where it was seen to get another.
    pub renamed_from: Option<&'f str>,
}

/// What the record knows of it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FileHistory {
    /// Whether a file of this name with these bytes was taken.
    pub itself: bool,
    /// Why the file of this name and these bytes was refused last.
    pub refused: Option<String>,
    /// The same bytes, taken for the same places.
    pub same: Option<Taken>,
    /// The same bytes, taken for any places: the file itself under its earlier name, if it had one,
    /// otherwise the first.
    pub twin: Option<Taken>,
    /// The longest earlier file that it begins with.
    pub grown: Option<Grown>,
    /// The newest files of this name that were taken, the newest first, where it does not begin with the
    /// last of them.
    pub before: Vec<Seq>,
}

/// An earlier file that a file begins with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Grown {
    /// Its name.
    pub name: String,
    /// Its length in bytes.
    pub bytes: u64,
    /// Its data rows.
    pub rows: u32,
}

/// A file that was dropped before.
struct File {
    id: Seq,
    at: Wall,
    taken: bool,
    seen: Arc<FileSeen>,
}

impl File {
    fn of(row: Row) -> Option<Self> {
        let (id, at, taken) = (row.seq, row.at.wall, matches!(row.body, Body::FileTaken(_)));
        let (Body::FileTaken(seen) | Body::FileRefused(seen)) = row.body else { return None };
        Some(Self { id, at, taken, seen })
    }

    fn told(self) -> Taken {
        Taken { drop: self.seen.drop.clone(), name: self.seen.name.clone(), at: self.at }
    }
}

impl Store {
    /// What is known of a file, looked up as of the last commit.
    ///
    /// # Errors
    /// The database cannot be read.
    pub fn file_history(&self, look: FileLook<'_>) -> Result<FileHistory, StoreError> {
        let seen = look.seen;
        let (mut itself, mut refused) = (false, None);
        for file in self.files((&pending::of_itself(seen), &[]), usize::MAX)? {
            if file.taken {
                itself = true;
            } else if refused.is_none() {
                refused = Some(file.seen.why.clone());
            }
            if itself && refused.is_some() {
                break;
            }
        }
        let mut twins = self.files((&pending::of_bytes(seen), &[0xff; 17]), usize::MAX)?;
        let is_it = |file: &File| {
            file.seen.drop == seen.drop && look.renamed_from == Some(file.seen.name.as_str())
        };
        twins.sort_by_key(|file| (!is_it(file), file.id));
        let twin = twins.into_iter().next().map(File::told);
        let same = self.files((&pending::of_places(seen), &[]), 1)?.pop().map(File::told);
        let longest = self.longest(look)?;
        let (grown, before) = self.under_this_name(look, longest)?;
        Ok(FileHistory { itself, refused, same, twin, grown, before })
    }

    /// At most this many files by one word, or by the words from one on with the same beginning; the last
    /// first.
    fn files(&self, (word, end): (&[u8], &[u8]), most: usize) -> Result<Vec<File>, StoreError> {
        let sql = "SELECT f.* FROM found w JOIN fact f ON f.seq = w.fact
            WHERE w.word BETWEEN ?1 AND ?2 ORDER BY w.word DESC, w.fact DESC LIMIT ?3";
        let end = [word, end].concat();
        let most = i64::try_from(most).unwrap_or(i64::MAX);
        let read = |row: &rusqlite::Row<'_>| {
            // A file that cannot be read counts as not dropped; the damage is reported elsewhere.
            Ok(fact::row(self.book(), row).ok().and_then(File::of))
        };
        let found = self.book().select(sql, params![word, end, most], read)?;
        Ok(found.into_iter().flatten().collect())
    }

    /// The longest earlier file of the same series that these bytes begin with.
    fn longest(&self, look: FileLook<'_>) -> Result<Option<Grown>, StoreError> {
        let mut lengths = Vec::new();
        let mut below = look.bytes.len();
        while let Some(length) = self.next_length(look.seen, below)? {
            // A file that grows usually begins with the longest one.
            if lengths.is_empty() {
                let digest = blake3::hash(&look.bytes[..length]);
                let found = self.version(look.seen, length, digest)?;
                if found.is_some() {
                    return Ok(found);
                }
            }
            lengths.push(length);
            below = length;
        }
        let mut longest = None;
        let shorter = lengths.iter().skip(1).rev().copied();
        let walked = every_digest(look.bytes, shorter, |length, digest| {
            match self.version(look.seen, length, digest) {
                Ok(found) => longest = found.or_else(|| longest.take()),
                Err(error) => return ControlFlow::Break(error),
            }
            ControlFlow::Continue(())
        });
        walked.map_or(Ok(longest), Err)
    }

    /// The next shorter length that a file of the series has.
    fn next_length(&self, seen: &FileSeen, below: usize) -> Result<Option<usize>, StoreError> {
        let sql =
            "SELECT word FROM found WHERE word >= ?1 AND word < ?2 ORDER BY word DESC LIMIT 1";
        let (from, to) = (pending::of_length(seen, 1), pending::of_length(seen, below as u64));
        let word: Option<Vec<u8>> = self.one(sql, params![from, to])?;
        let bytes = word.and_then(|word| word.get(16..24)?.first_chunk().copied());
        Ok(bytes.and_then(|bytes| usize::try_from(u64::from_be_bytes(bytes)).ok()))
    }

    fn version(
        &self,
        seen: &FileSeen,
        length: usize,
        digest: blake3::Hash,
    ) -> Result<Option<Grown>, StoreError> {
        let word = pending::of_version(seen, length as u64, digest.as_bytes());
        let found = self.files((&word, &[]), 1)?.pop();
        Ok(found.map(|File { seen, .. }| Grown {
            name: seen.name.clone(),
            bytes: seen.bytes,
            rows: seen.rows,
        }))
    }

    /// The newest files of this name. The last of them may be cut inside its first row, and then only the
    /// name shows that it belongs to the same series.
    fn under_this_name(
        &self,
        look: FileLook<'_>,
        longest: Option<Grown>,
    ) -> Result<(Option<Grown>, Vec<Seq>), StoreError> {
        let newest = self.files((&pending::of_name(look.seen), &[]), NEWEST)?;
        let Some(last) = newest.first() else { return Ok((longest, Vec::new())) };
        let FileSeen { bytes, rows, digest, .. } = *last.seen;
        let head = usize::try_from(bytes).ok().and_then(|length| look.bytes.get(..length));
        if head.is_none_or(|head| *blake3::hash(head).as_bytes() != digest) {
            return Ok((longest, newest.into_iter().map(|file| file.id).collect()));
        }
        if head.map(<[u8]>::len) == Some(look.bytes.len()) {
            return Ok((longest, Vec::new()));
        }
        let own = Grown { name: look.seen.name.clone(), bytes, rows };
        let longer = longest.filter(|longest| longest.bytes >= own.bytes);
        let grown = longer.or_else(|| Some(own).filter(|own| own.bytes > 0));
        Ok((grown, Vec::new()))
    }
}

/// The digests of the beginnings with these lengths, which rise; or the first error.
fn every_digest<E>(
    bytes: &[u8],
    lengths: impl Iterator<Item = usize>,
    mut tell: impl FnMut(usize, blake3::Hash) -> ControlFlow<E>,
) -> Option<E> {
    let (mut hasher, mut done) = (blake3::Hasher::new(), 0);
    for length in lengths {
        hasher.update(bytes.get(done..length)?);
        done = length;
        if let ControlFlow::Break(error) = tell(length, hasher.finalize()) {
            return Some(error);
        }
    }
    None
}
