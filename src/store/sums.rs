//! Sums over rows as they are read back: a changed byte that no verdict depends on is found, too.
//!
//! Every row has a number made of all it says. A block of 256 rows keeps two sums of these, modulo
//! a prime: plain, and each times the row's own number. When one row of a block changed by `d`, the
//! plain sum is off by `d` and the other by `d` times its number: the quotient says which row it is.
//! The open block stands in the counters, which every commit writes anyway; a whole one is a row of
//! its own, about 24 bytes for 256 rows.
//!
//! What is absent: protection from somebody who changes rows and sums alike.

mod ink;

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::{Connection, OptionalExtension, params};

use super::body::Faulty;
use super::read::{Book, Read};
use bench::{Row, Seq};

/// The prime 2⁶¹ − 1.
const PRIME: u64 = (1 << 61) - 1;
/// How many rows are summed together.
const BLOCK: u64 = 256;

/// The two sums of some rows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Sum {
    plain: u64,
    weighted: u64,
}

fn plus(one: u64, other: u64) -> u64 {
    (one + other) % PRIME
}

fn minus(one: u64, other: u64) -> u64 {
    (one + PRIME - other) % PRIME
}

fn times(one: u64, other: u64) -> u64 {
    let product = u128::from(one) * u128::from(other);
    // 2⁶¹ leaves 1: what lies above its 61 bits is added to what lies below, instead of a division.
    let folded = (product & u128::from(PRIME)) + (product >> 61);
    let folded = (folded & u128::from(PRIME)) + (folded >> 61);
    u64::try_from(folded).expect("two foldings of 128 bits leave 62") % PRIME
}

/// What a number other than zero has to be multiplied with to give one (Fermat).
fn inverse(of: u64) -> u64 {
    let (mut found, mut square, mut left) = (1, of, PRIME - 2);
    while left > 0 {
        if left & 1 == 1 {
            found = times(found, square);
        }
        square = times(square, square);
        left >>= 1;
    }
    found
}

impl Sum {
    fn of_columns(plain: i64, weighted: i64) -> Self {
        let within = |column: i64| column.cast_unsigned() % PRIME;
        Self { plain: within(plain), weighted: within(weighted) }
    }

    const fn columns(self) -> [i64; 2] {
        [self.plain.cast_signed(), self.weighted.cast_signed()]
    }

    fn add(&mut self, row: Seq, number: u64) {
        self.plain = plus(self.plain, number);
        self.weighted = plus(self.weighted, times(row.0 % PRIME, number));
    }

    /// The row that changed, where it is one alone.
    fn changed(self, now: Self) -> u64 {
        let (plain, weighted) = (minus(now.plain, self.plain), minus(now.weighted, self.weighted));
        if plain == 0 { 0 } else { times(weighted, inverse(plain)) }
    }
}

/// The sums of a record that grows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Sums {
    /// The block that is open.
    block: u64,
    open: Sum,
}

impl Sums {
    /// As the counters have it, when `last` is the newest row.
    pub(super) fn of_columns(last: Seq, [plain, weighted]: [i64; 2]) -> Self {
        Self { block: last.0 / BLOCK, open: Sum::of_columns(plain, weighted) }
    }

    /// When the sum of the open block is lost: what it was cannot be known any more, and every check
    /// of the record says so.
    pub(super) fn begun_anew(last: Seq) -> Self {
        Self { block: last.0 / BLOCK, open: Sum::default() }
    }

    /// Takes the next row in.
    pub(super) fn take(&mut self, conn: &Connection, row: &Row) -> rusqlite::Result<()> {
        self.take_number(conn, row.seq, number(row).map_err(super::write::faulty)?)
    }

    /// Takes in the next row, whose number is known.
    pub(super) fn take_number(
        &mut self,
        conn: &Connection,
        row: Seq,
        number: u64,
    ) -> rusqlite::Result<()> {
        self.move_to(conn, row)?;
        self.open.add(row, number);
        Ok(())
    }

    /// Goes on at a row; the sum of a block that it does not belong to any more is stored.
    pub(super) fn move_to(&mut self, conn: &Connection, row: Seq) -> rusqlite::Result<()> {
        let block = row.0 / BLOCK;
        if block != self.block {
            let [plain, weighted] = self.open.columns();
            // A block that has a sum already is damaged, and stays so.
            let sql = "INSERT INTO sum (block, plain, weighted) VALUES (?1, ?2, ?3)
                ON CONFLICT (block) DO NOTHING";
            let values = params![self.block.cast_signed(), plain, weighted];
            conn.prepare_cached(sql)?.execute(values)?;
            *self = Self { block, open: Sum::default() };
        }
        Ok(())
    }

    /// The sum of the open block, for the counters.
    pub(super) const fn columns(&self) -> [i64; 2] {
        self.open.columns()
    }
}

/// The block that a row belongs to.
pub(super) const fn block_of(row: Seq) -> u64 {
    row.0 / BLOCK
}

/// The first and the last row that a block may have.
pub(super) fn rows_of(block: u64) -> (Seq, Seq) {
    let first = block.saturating_mul(BLOCK);
    (Seq(first.max(1)), Seq(first.saturating_add(BLOCK - 1)))
}

/// Holds the rows of one block against its sum. `open` are the sums of the record as it grows.
pub(super) fn off(book: Book<'_>, open: Sums, block: u64, rows: &[Row]) -> Read<Option<Off>> {
    let mut now = Sum::default();
    for row in rows {
        let damaged = |what| super::StoreError::Damaged { row: row.seq, what };
        now.add(row.seq, number(row).map_err(damaged)?);
    }
    let was = if block == open.block {
        Some(open.open)
    } else {
        let sql = "SELECT plain, weighted FROM sum WHERE block = ?1";
        let mut statement = book.conn.prepare_cached(sql)?;
        let stored = statement
            .query_row([block.cast_signed()], |row| Ok(Sum::of_columns(row.get(0)?, row.get(1)?)));
        stored.optional()?
    };
    let was = was.unwrap_or_default();
    Ok((was != now).then(|| off_in(block, was.changed(now))))
}

/// The numbers of some rows, in order.
pub(super) fn numbers(rows: &[Row]) -> Result<Vec<u64>, Faulty> {
    rows.iter().map(number).collect()
}

/// The number that all a row says makes.
fn number(row: &Row) -> Result<u64, Faulty> {
    let digest = blake3::hash(&ink::written(row)?);
    let eight = digest.as_bytes().first_chunk().expect("a digest has 32 bytes");
    Ok(u64::from_le_bytes(*eight) % PRIME)
}

/// Whether two rows say the same.
pub(super) fn same(one: &Row, other: &Row) -> bool {
    matches!((ink::written(one), ink::written(other)), (Ok(one), Ok(other)) if one == other)
}

/// A sum that is not the stored one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Off {
    /// One row changed.
    Row(Seq),
    /// Something in these rows changed.
    Among(Seq, Seq),
}

/// The sums of rows that were read back, in any order.
#[derive(Debug, Default)]
pub(super) struct Again {
    blocks: BTreeMap<u64, Sum>,
    /// Rows that were summed.
    pub(super) rows: u64,
}

impl Again {
    pub(super) fn take(&mut self, row: &Row) -> Result<(), Faulty> {
        self.rows += 1;
        self.blocks.entry(row.seq.0 / BLOCK).or_default().add(row.seq, number(row)?);
        Ok(())
    }

    /// Holds them against the stored ones.
    pub(super) fn compared(&self, stored: &Stored) -> Vec<Off> {
        let stored = &stored.0;
        let blocks: BTreeSet<u64> = stored.keys().chain(self.blocks.keys()).copied().collect();
        let sum = |of: &BTreeMap<u64, Sum>, block| of.get(&block).copied().unwrap_or_default();
        let off = blocks.into_iter().filter_map(|block| {
            let (was, now) = (sum(stored, block), sum(&self.blocks, block));
            (was != now).then(|| off_in(block, was.changed(now)))
        });
        off.collect()
    }
}

/// The sums of one moment: those of whole blocks, and the open one.
#[derive(Debug, Default)]
pub(super) struct Stored(BTreeMap<u64, Sum>);

impl Stored {
    pub(super) fn read(book: Book<'_>, open: Sums) -> Read<Self> {
        let mut stored = BTreeMap::new();
        let mut statement = book.conn.prepare("SELECT block, plain, weighted FROM sum")?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            let block: i64 = row.get(0)?;
            stored.insert(block.cast_unsigned(), Sum::of_columns(row.get(1)?, row.get(2)?));
        }
        stored.insert(open.block, open.open);
        Ok(Self(stored))
    }
}

/// Which rows of a block are not as they were.
fn off_in(block: u64, row: u64) -> Off {
    let (first, last) = rows_of(block);
    if (first..=last).contains(&Seq(row)) { Off::Row(Seq(row)) } else { Off::Among(first, last) }
}
