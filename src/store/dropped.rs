//! What the record knows of a dropped file. Each look-up goes straight to its rows, however many
//! files a drop has given: the deciding thread waits for it.

use std::ops::ControlFlow;

use rusqlite::{OptionalExtension, params};

use bench::Seq;
use bench::event::Taken;
use bench::row::FileSeen;
use quantity::{Name, Wall};

use super::error::StoreError;
use super::writer::Store;

/// How many files of the same name are looked back at.
const NEWEST: u32 = 8;

/// A file that was read and is not decided yet.
#[derive(Debug, Clone, Copy)]
pub struct FileLook<'f> {
    /// Which it is, with the places its rows go to.
    pub seen: &'f FileSeen,
    /// All its bytes.
    pub bytes: &'f [u8],
}

/// What the record knows of it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FileHistory {
    /// The file of this name and these bytes was taken.
    pub itself: bool,
    /// Why the file of this name and these bytes was refused last.
    pub refused: Option<String>,
    /// The same bytes, taken for the same places.
    pub same: Option<Taken>,
    /// The same bytes, taken for whatever places.
    pub twin: Option<Taken>,
    /// The longest file it begins with.
    pub grown: Option<Grown>,
    /// The newest files of this name that were taken, newest first, where it does not begin with
    /// the last of them.
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

impl Store {
    /// What is known of a file, looked up as of the last commit.
    ///
    /// # Errors
    /// The database cannot be read.
    pub fn file_history(&self, look: FileLook<'_>) -> Result<FileHistory, StoreError> {
        let seen = look.seen;
        let itself = "SELECT seq FROM file WHERE drop_name = ?1 AND name = ?2 AND digest = ?3
                      AND +taken = 1 LIMIT 1";
        let which = params![seen.drop.as_str(), seen.name, seen.digest];
        let itself = self.one::<i64>(itself, which)?.is_some();
        let refused = "SELECT why FROM file WHERE drop_name = ?1 AND name = ?2 AND digest = ?3
                       AND +taken = 0 ORDER BY seq DESC LIMIT 1";
        let which = params![seen.drop.as_str(), seen.name, seen.digest];
        let refused = self.one(refused, which)?;
        let twin = "SELECT drop_name, name, wall FROM file WHERE digest = ?1 AND taken = 1 LIMIT 1";
        let twin = self.taken(twin, params![seen.digest])?;
        let same = "SELECT drop_name, name, wall FROM file WHERE digest = ?1 AND went = ?2
                    AND taken = 1 LIMIT 1";
        let same = self.taken(same, params![seen.digest, seen.went])?;
        let longest = self.longest(look)?;
        let (grown, before) = self.under_this_name(look, longest)?;
        Ok(FileHistory { itself, refused, same, twin, grown, before })
    }

    fn taken(&self, sql: &str, values: impl rusqlite::Params) -> Result<Option<Taken>, StoreError> {
        let mut statement = self.conn.prepare_cached(sql)?;
        let found = statement.query_row(values, |row| {
            Ok((row.get::<_, String>(0)?, row.get(1)?, Wall::from_micros(row.get(2)?)))
        });
        let Some((drop, name, at)) = found.optional()? else { return Ok(None) };
        // The drop is told to a person; one whose name no longer is a name is not worth a refusal.
        Ok(Name::new(&drop).ok().map(|drop| Taken { drop, name, at }))
    }

    /// The longest earlier file of the same series that these bytes begin with.
    fn longest(&self, look: FileLook<'_>) -> Result<Option<Grown>, StoreError> {
        let mut lengths = Vec::new();
        let mut below = look.bytes.len();
        while let Some(length) = self.next_length(look.seen, below)? {
            // A file that grows begins with the longest there is, as a rule.
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
        let sql = "SELECT bytes FROM file WHERE drop_name = ?1 AND series = ?2 AND bytes < ?3
                   AND bytes > 0 AND taken = 1 ORDER BY bytes DESC LIMIT 1";
        let below = i64::try_from(below).unwrap_or(i64::MAX);
        let length = self.one::<i64>(sql, params![seen.drop.as_str(), seen.series, below])?;
        Ok(length.and_then(|length| usize::try_from(length).ok()))
    }

    fn version(
        &self,
        seen: &FileSeen,
        length: usize,
        digest: blake3::Hash,
    ) -> Result<Option<Grown>, StoreError> {
        let sql = "SELECT name, lines, bytes FROM file WHERE drop_name = ?1 AND series = ?2
                   AND bytes = ?3 AND digest = ?4 AND taken = 1 ORDER BY seq DESC LIMIT 1";
        let length = i64::try_from(length).unwrap_or(i64::MAX);
        let mut statement = self.conn.prepare_cached(sql)?;
        let which = params![seen.drop.as_str(), seen.series, length, digest.as_bytes()];
        let found = statement.query_row(which, |row| {
            let bytes: i64 = row.get(2)?;
            Ok(Grown { name: row.get(0)?, rows: row.get(1)?, bytes: bytes.cast_unsigned() })
        });
        Ok(found.optional()?)
    }

    /// The newest files of this name. The last of them may be cut inside its first row, so that
    /// nothing but the name says that it is the same series.
    fn under_this_name(
        &self,
        look: FileLook<'_>,
        longest: Option<Grown>,
    ) -> Result<(Option<Grown>, Vec<Seq>), StoreError> {
        let sql = "SELECT seq, bytes, lines, digest FROM file WHERE drop_name = ?1 AND name = ?2
                   AND taken = 1 ORDER BY seq DESC LIMIT ?3";
        let mut statement = self.conn.prepare_cached(sql)?;
        let which = params![look.seen.drop.as_str(), look.seen.name, NEWEST];
        let found = statement.query_map(which, |row| {
            let (seq, bytes): (i64, i64) = (row.get(0)?, row.get(1)?);
            let version = (bytes.cast_unsigned(), row.get::<_, u32>(2)?);
            Ok((Seq(seq.cast_unsigned()), version, row.get::<_, [u8; 32]>(3)?))
        })?;
        let newest: Vec<_> = found.collect::<Result<_, _>>()?;
        let Some(&(_, (bytes, rows), digest)) = newest.first() else {
            return Ok((longest, Vec::new()));
        };
        let head = usize::try_from(bytes).ok().and_then(|length| look.bytes.get(..length));
        if head.is_none_or(|head| *blake3::hash(head).as_bytes() != digest) {
            return Ok((longest, newest.into_iter().map(|(seq, ..)| seq).collect()));
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

/// The digest of the first so many bytes, for lengths that rise; the first error.
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
