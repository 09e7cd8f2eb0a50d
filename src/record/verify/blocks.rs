//! Compares blocks of rows, as they are now, with their seals.

use std::collections::BTreeMap;

use rusqlite::types::ValueRef;

use super::{Until, Verified};
use crate::compact::{AS_STORED, numbers_of_readings};
use crate::pending;
use crate::pieces::Pieces;
use crate::progress::Progress;
use crate::read::{Book, Read, SqlRow};
use crate::seals::{self, Hash, Ink, Leaves, Of, Off, Seal, Stored};
use crate::stored::jobs_near_the_end;
use crate::write::{int, seq};
use crate::{StoreError, fact};
use bench::row::Body;
use bench::{Row, Seq};

/// Adds the values of a row, from some columns, to the ink.
fn ink(ink: &mut Ink, of: Of, row: &SqlRow<'_>, columns: std::ops::Range<usize>) -> Read<()> {
    let values = columns.map(|at| row.get_ref(at));
    let values: Vec<ValueRef<'_>> = values.collect::<rusqlite::Result<_>>()?;
    ink.row(of, seq(row.get(0)?), values);
    Ok(())
}

fn each(
    book: Book<'_>,
    sql: &str,
    values: impl rusqlite::Params,
    mut take: impl FnMut(&SqlRow<'_>) -> Read<()>,
) -> Read<()> {
    let mut statement = book.conn.prepare_cached(sql)?;
    let mut rows = statement.query(values)?;
    while let Some(row) = rows.next()? {
        take(row)?;
    }
    Ok(())
}

/// The leaves of the rows from one to another: facts, losses, and readings of some jobs.
fn leaves(
    book: Book<'_>,
    (first, last): (Seq, Seq),
    jobs: impl IntoIterator<Item = i64>,
) -> Read<Leaves> {
    let (mut all, mut more) = (Ink::default(), 0);
    let span = [int(first), int(last)];
    let sql = "SELECT * FROM fact WHERE seq BETWEEN ?1 AND ?2";
    each(book, sql, span, |row| ink(&mut all, Of::Fact, row, 0..fact::COLUMNS))?;
    for job in jobs {
        let values = [job, span[0], span[1]];
        each(book, AS_STORED, values, |row| {
            more += row.get::<_, i64>(19)?;
            ink(&mut all, Of::Reading, row, 1..19)
        })?;
    }
    let rows = all.rows();
    let sql = "SELECT * FROM lost WHERE first BETWEEN ?1 AND ?2";
    each(book, sql, span, |row| ink(&mut all, Of::Lost, row, 0..4))?;
    Ok(Leaves::of(&all, (rows, more)))
}

/// Checks one block of a record that ends with `last`, looked up by itself. Its readings belong to no job,
/// or to jobs that were open then.
pub(crate) fn one(book: Book<'_>, until: (Seq, &seals::Sealed), block: u64) -> Read<Vec<Off>> {
    let (first, last) = seals::rows_of(block);
    let jobs = jobs_near_the_end(book, (first, last))?;
    let (before, stored) = Stored::read(book.conn, block, block)?;
    let stored = if seals::block_of(until.0) == block {
        stored.with_open(until.0, until.1.clone())
    } else {
        stored
    };
    let leaves = leaves(book, (first, last), jobs)?;
    Ok(leaves.compared(block, stored.of(block), &[before]))
}

/// Jobs by the first number of their readings, with the last number.
type Shelves = BTreeMap<i64, Vec<(i64, i64)>>;

/// The readings of each job, also of a missing one: the first and last number.
fn shelves(pieces: Pieces<'_>, found: &mut Verified) -> Read<Shelves> {
    let mut shelves = Shelves::new();
    numbers_of_readings(pieces, |job, first, last| {
        if first < 1 {
            let what = format!("a reading of job {job} has the number {first}");
            found.add_of("reading", None, what);
        }
        shelves.entry(first).or_default().push((job, last));
    })?;
    Ok(shelves)
}

/// How many blocks' seals are looked up together.
const TOGETHER: u64 = 64;

/// The seals that jobs were signed under, by the row they were made after, with the row of each signature.
type Signed = BTreeMap<Seq, Vec<(Seq, Seal)>>;

/// The sentence about a signature whose seal does not fit.
const NOT_AS_SIGNED: &str =
    "the rows before this signature are not those that it was given under: its seal does not fit";

/// Every signature that was given on this bench. The seal of one that came with a job from another bench is
/// that of a record that is not here.
fn signed(pieces: Pieces<'_>, last: Seq, found: &mut Verified) -> Read<Signed> {
    let sql = "SELECT * FROM fact WHERE kind = 'signed' AND seq <= ?1 AND NOT EXISTS
        (SELECT 1 FROM import_run r WHERE fact.seq BETWEEN r.first AND r.last) ORDER BY seq";
    let mut signed = Signed::new();
    pieces.moment(|book| {
        let read = |row: &SqlRow<'_>| Ok((seq(row.get(0)?), fact::row(book, row)));
        for (id, row) in book.select(sql, [int(last)], read)? {
            // A row that cannot be read is named where its job is read.
            let Ok(Row { body: Body::Signed { signed: one, .. }, .. }) = row else { continue };
            match one.seal.parse::<Seal>() {
                Ok(seal) if one.of <= seal.row && seal.row < id => {
                    signed.entry(seal.row).or_default().push((id, seal));
                }
                Ok(_) => found.add(Some(id), "its seal is not of the rows that were signed"),
                Err(what) => found.add(Some(id), what),
            }
        }
        Ok(())
    })?;
    Ok(signed)
}

/// What is carried from block to block.
struct Walk<'a> {
    until: &'a Until,
    shelves: Shelves,
    /// Jobs that have readings here, with their last number.
    active: Vec<(i64, i64)>,
    /// The seal before the block: as it is stored, and as it follows from all rows before it.
    before: [Hash; 2],
    sealed: Option<&'a Seal>,
    /// The seals that jobs were signed under, by the row they were made after.
    signed: Signed,
    /// The number of words of dropped files so far.
    words: i64,
    /// Whether every row so far is as it was stored.
    well: bool,
}

/// Compares every row with the seals, and a printed seal with the rows.
pub(super) fn all(
    pieces: Pieces<'_>,
    (until, sealed): (&Until, Option<&Seal>),
    (found, progress): (&mut Verified, &Progress),
) -> Result<(), StoreError> {
    let last = until.end.last;
    let shelves = shelves(pieces, found)?;
    let mut walk = Walk {
        until,
        shelves,
        active: Vec::new(),
        before: Default::default(),
        sealed,
        signed: signed(pieces, last, found)?,
        words: 0,
        well: true,
    };
    let mut groups = (0..=seals::block_of(last) / TOGETHER).map(|group| group * TOGETHER);
    let mut blocks: std::vec::IntoIter<u64> = Vec::new().into_iter();
    let mut stored = Stored::default();
    loop {
        if blocks.len() == 0 {
            let Some(from) = groups.next() else { break };
            let to = (from + TOGETHER - 1).min(seals::block_of(last));
            stored = pieces.moment(|book| Stored::read(book.conn, from, to))?.1;
            stored = if to == seals::block_of(last) {
                stored.with_open(last, until.end.seals.open.clone())
            } else {
                stored
            };
            blocks = (from..=to).collect::<Vec<_>>().into_iter();
        }
        for off in
            pieces.some(&mut blocks, |book, block| walk.block(book, block, &stored, found))?
        {
            off?;
        }
        progress.at(found.rows);
    }
    if let Some(seal) = sealed.filter(|seal| seal.row > last) {
        found.sealed = Some(false);
        found.add(None, format!("the seal {seal} is of a row that the record does not have"));
    }
    if walk.well { words_are_counted(pieces, last, walk.words, found) } else { Ok(()) }
}

impl Walk<'_> {
    fn block(
        &mut self,
        book: Book<'_>,
        block: u64,
        stored: &Stored,
        found: &mut Verified,
    ) -> Read<()> {
        let (first, mut last) = seals::rows_of(block);
        last = last.min(self.until.end.last);
        while let Some(next) = self.shelves.first_entry().filter(|next| *next.key() <= int(last)) {
            self.active.extend(next.remove());
        }
        let leaves = leaves(book, (first, last), self.active.iter().map(|(job, _)| *job))?;
        self.active.retain(|(_, end)| *end > int(last));
        found.rows += leaves.rows;
        let sealed = stored.of(block);
        let off = leaves.compared(block, sealed, &self.before);
        let is_well = off.is_empty();
        for off in off {
            match off {
                Off::Row(row, what) => found.add(Some(row), what),
                Off::Among(.., what) => found.add(None, what),
            }
        }
        if let Some(seal) = self.sealed.filter(|seal| (first..=last).contains(&seal.row)) {
            let now = Seal::new(seal.row, &leaves.up_to(seal.row, &self.before[1]));
            found.sealed = Some(now == *seal);
            if now != *seal {
                let to = seal.row;
                found.add(
                    None,
                    format!("the rows up to {to} are not those that the seal was printed with"),
                );
            }
        }
        while let Some(next) = self.signed.first_entry().filter(|next| *next.key() <= last) {
            let row = *next.key();
            let now = Seal::new(row, &leaves.up_to(row, &self.before[1]));
            for (signature, seal) in next.remove() {
                if seal != now {
                    found.add(Some(signature), NOT_AS_SIGNED);
                }
            }
        }
        let after = leaves.after(&self.before[1]);
        let unsealed = if leaves.rows > 0 { after } else { self.before[0] };
        self.before = [sealed.map_or(unsealed, |sealed| sealed.head), after];
        details(book, (first, last), leaves.more, found)?;
        self.well &= is_well;
        if is_well { self.files(book, (first, last), found) } else { Ok(()) }
    }

    /// Whether dropped files are found by their words.
    fn files(
        &mut self,
        book: Book<'_>,
        (first, last): (Seq, Seq),
        found: &mut Verified,
    ) -> Read<()> {
        let files = "SELECT * FROM fact WHERE seq BETWEEN ?1 AND ?2
            AND kind IN ('file-taken', 'file-refused')";
        for row in book.select(files, [int(first), int(last)], |row| fact::row(book, row))? {
            if !pending::is_found(book, &row, &mut self.words)? {
                found.add_of("found", Some(row.seq), "the file is not found by its own words");
            }
        }
        Ok(())
    }
}

/// Whether files have no further words.
fn words_are_counted(
    pieces: Pieces<'_>,
    last: Seq,
    words: i64,
    found: &mut Verified,
) -> Result<(), StoreError> {
    let sql = "SELECT count(*) FROM found WHERE fact <= ?1 OR fact > ?2";
    let beyond = 1_i64 << 53;
    let counted: i64 = pieces
        .moment(|book| Ok(book.conn.query_row(sql, [int(last), beyond], |row| row.get(0))?))?;
    if counted != words {
        found.add_of(
            "found",
            None,
            format!("dropped files have {words} words, {counted} are there"),
        );
    }
    Ok(())
}

/// Finds details whose reading is missing in these rows.
fn details(book: Book<'_>, (first, last): (Seq, Seq), more: i64, found: &mut Verified) -> Read<()> {
    // Details numbered before the first row are counted with it.
    let first = if first == Seq(1) { i64::MIN } else { int(first) };
    let sql = "SELECT count(*) FROM reading_more WHERE reading BETWEEN ?1 AND ?2";
    let mut statement = book.conn.prepare_cached(sql)?;
    let counted: i64 = statement.query_row([first, int(last)], |row| row.get(0))?;
    if counted != more {
        let what = format!("there are details without a reading in the rows up to {last}");
        found.add_of("reading_more", None, what);
    }
    Ok(())
}
