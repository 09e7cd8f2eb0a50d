//! The chain of seals: a person who has one on paper can check later whether the record up to it is
//! unchanged.
//!
//! Each row has a leaf, the BLAKE3 of the row as it is stored. The leaf of a reading contains the words of
//! its form; that of a fact contains its plan by digest. The seal after a row is the BLAKE3 of the seal
//! before it and of its leaf. A block is the rows whose numbers have the same quotient by 256. The seal
//! after its last row is stored, and with it two bytes of each leaf, so that a changed block shows which of
//! its rows changed. The open block is in the counters, which every commit writes anyway.
//!
//! The chain does not protect against a person who writes both rows and seals. Only a seal that was printed
//! does.

use std::collections::BTreeMap;
use std::fmt::{self, Display};
use std::str::FromStr;

use rusqlite::types::ValueRef;
use rusqlite::{Connection, params};

use super::read::Read;
use bench::Seq;

/// How many numbers of rows a block of the seals has.
pub const BLOCK: u64 = 256;
/// Bytes of each leaf that are stored beside the seal.
const TAG: usize = 2;
/// Hexadecimal digits of a printed seal: 128 of its 256 bits.
const DIGITS: usize = 32;

/// A digest of a row, or of all rows up to one.
pub(super) type Hash = [u8; 32];

/// The block that a row belongs to.
pub(super) const fn block_of(row: Seq) -> u64 {
    row.0 / BLOCK
}

/// The first and the last row that a block can have.
pub(super) fn rows_of(block: u64) -> (Seq, Seq) {
    let first = block.saturating_mul(BLOCK);
    (Seq(first.max(1)), Seq(first.saturating_add(BLOCK - 1)))
}

/// Rows as bytes, each part with its type and length, so that different rows never give the same bytes.
#[derive(Default)]
pub(super) struct Ink {
    bytes: Vec<u8>,
    /// The number of each row, and the end of its bytes.
    ends: Vec<(Seq, usize)>,
}

/// A reading as it enters its leaf: what its row has but for the number of its form, and what stands beside
/// it (the line of its file, when it was measured, and why), all of that absent where nothing does.
#[derive(Clone, Copy)]
pub(super) struct ReadingInk<'v> {
    pub(super) job: i64,
    pub(super) nth: i64,
    pub(super) back: i64,
    pub(super) number: i64,
    pub(super) mono: i64,
    pub(super) drift: i64,
    pub(super) place: i64,
    /// What the gauge sent.
    pub(super) text: &'v str,
    pub(super) more: Option<(Option<i64>, Option<i64>, Option<&'v str>)>,
}

/// The words of a form as they enter the leaf of each of its readings.
#[derive(Clone, Copy)]
pub(super) struct Words<'v> {
    pub(super) gauge: &'v str,
    pub(super) unit: &'v str,
    pub(super) places: i64,
    pub(super) counts: &'v str,
    pub(super) source: &'v str,
    pub(super) file: i64,
    pub(super) by_whom: &'v str,
}

impl Words<'_> {
    /// Their bytes.
    pub(super) fn sealed(self) -> Vec<u8> {
        fn text(text: &str) -> ValueRef<'_> {
            ValueRef::Text(text.as_bytes())
        }
        let values = [
            text(self.gauge),
            text(self.unit),
            ValueRef::Integer(self.places),
            text(self.counts),
            text(self.source),
            ValueRef::Integer(self.file),
            text(self.by_whom),
        ];
        let mut bytes = Vec::new();
        put(&mut bytes, values);
        bytes
    }
}

/// Appends values.
fn put<'v>(bytes: &mut Vec<u8>, values: impl IntoIterator<Item = ValueRef<'v>>) {
    for value in values {
        let (kind, number, text): (u8, i64, &[u8]) = match value {
            ValueRef::Null => {
                bytes.push(b'-');
                continue;
            }
            ValueRef::Integer(number) => (b'n', number, &[]),
            ValueRef::Real(number) => (b'r', number.to_bits().cast_signed(), &[]),
            ValueRef::Text(text) => (b't', text.len().try_into().unwrap_or(i64::MAX), text),
            ValueRef::Blob(blob) => (b'b', blob.len().try_into().unwrap_or(i64::MAX), blob),
        };
        let mut head = [kind; 9];
        head[1..].copy_from_slice(&number.to_le_bytes());
        bytes.extend_from_slice(&head);
        bytes.extend_from_slice(text);
    }
}

/// A table with numbered rows, as it enters their leaves.
#[derive(Clone, Copy)]
pub(super) enum Of {
    Fact = 1,
    Reading,
    Lost,
}

impl Ink {
    /// Adds a row, by the values in its table.
    pub(super) fn row<'v>(
        &mut self,
        of: Of,
        row: Seq,
        values: impl IntoIterator<Item = ValueRef<'v>>,
    ) {
        self.bytes.push(of as u8);
        put(&mut self.bytes, values);
        self.ends.push((row, self.bytes.len()));
    }

    /// Adds a reading with the words of its form, as [`Words::sealed`] gives them.
    pub(super) fn reading(&mut self, reading: &ReadingInk<'_>, form: &[u8]) {
        let ReadingInk { job, nth, back, number, mono, drift, place, text, more } = *reading;
        let maybe = |number: Option<i64>| number.map_or(ValueRef::Null, ValueRef::Integer);
        self.bytes.push(Of::Reading as u8);
        put(&mut self.bytes, [job, nth, back, number, mono, drift, place].map(ValueRef::Integer));
        put(&mut self.bytes, [ValueRef::Text(text.as_bytes())]);
        self.bytes.extend_from_slice(form);
        let (line, measured_at, why) = more.unwrap_or_default();
        let why = why.map_or(ValueRef::Null, |why| ValueRef::Text(why.as_bytes()));
        put(&mut self.bytes, [maybe(line), maybe(measured_at), why]);
        self.ends.push((super::write::seq(job.wrapping_add(nth)), self.bytes.len()));
    }

    pub(super) fn rows(&self) -> u64 {
        self.ends.len() as u64
    }

    /// Removes everything that was added.
    pub(super) fn clear(&mut self) {
        self.bytes.clear();
        self.ends.clear();
    }

    /// The leaf of each row.
    pub(super) fn leaves(&self) -> impl Iterator<Item = (Seq, Hash)> + '_ {
        let mut from = 0;
        self.ends.iter().map(move |(row, end)| {
            let bytes = &self.bytes[from..*end];
            from = *end;
            (*row, *blake3::hash(bytes).as_bytes())
        })
    }
}

/// The seal after a row.
fn next(head: &Hash, leaf: &Hash) -> Hash {
    let mut both = [0; 64];
    both[..32].copy_from_slice(head);
    both[32..].copy_from_slice(leaf);
    *blake3::hash(&both).as_bytes()
}

/// The bytes of a leaf that are stored beside the seal. A missing row has zeros, which no tag has.
fn tag(leaf: &Hash) -> [u8; TAG] {
    if leaf[..TAG] == [0; TAG] { [0, 1] } else { [leaf[0], leaf[1]] }
}

/// The index of a row's tag.
fn place(row: Seq) -> usize {
    usize::try_from(row.0 % BLOCK).unwrap_or(0) * TAG
}

/// A block: the seal after its newest row, and the tags of its rows.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Sealed {
    pub(super) head: Hash,
    pub(super) tags: Vec<u8>,
}

impl Sealed {
    /// From its stored form; columns of another form give a seal that matches nothing.
    pub(super) fn of_columns(head: &[u8], tags: Vec<u8>) -> Self {
        Self { head: head.try_into().unwrap_or([0xff; 32]), tags }
    }

    fn take(&mut self, row: Seq, leaf: &Hash) {
        self.head = next(&self.head, leaf);
        self.tags.resize(place(row) + TAG, 0);
        self.tags[place(row)..].copy_from_slice(&tag(leaf));
    }
}

/// The seals of a record that grows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Seals {
    /// The block that is open.
    block: u64,
    pub(super) open: Sealed,
    /// Complete blocks that are not stored yet.
    whole: Vec<(u64, Sealed)>,
}

impl Seals {
    /// As in the counters, when `last` is the newest row.
    pub(super) const fn of(last: Seq, open: Sealed) -> Self {
        Self { block: last.0 / BLOCK, open, whole: Vec::new() }
    }

    /// A new beginning when the seal of the open block is lost. The lost seal cannot be worked out again,
    /// and every check of the record says so.
    pub(super) fn begun_anew(last: Seq) -> Self {
        Self::of(last, Sealed { head: [0xff; 32], tags: Vec::new() })
    }

    /// Adds the next rows.
    pub(super) fn take(&mut self, ink: &Ink) {
        for (row, leaf) in ink.leaves() {
            self.move_to(row);
            self.open.take(row, &leaf);
        }
    }

    /// Continues at a row; if it belongs to another block, the block before is complete.
    pub(super) fn move_to(&mut self, row: Seq) {
        if block_of(row) != self.block {
            let next = Sealed { head: self.open.head, tags: Vec::new() };
            self.whole.push((self.block, std::mem::replace(&mut self.open, next)));
            self.block = block_of(row);
        }
    }

    /// The complete blocks since the last call.
    pub(super) fn completed(&mut self) -> Vec<(u64, Sealed)> {
        std::mem::take(&mut self.whole)
    }

    /// Stores the complete blocks.
    pub(super) fn store(&mut self, conn: &Connection) -> rusqlite::Result<()> {
        for (block, Sealed { head, tags }) in self.whole.drain(..) {
            // A block that already has a seal is damaged, and stays so.
            let sql = "INSERT INTO seal (block, seal, tags) VALUES (?1, ?2, ?3)
                ON CONFLICT (block) DO NOTHING";
            conn.prepare_cached(sql)?.execute(params![block.cast_signed(), head, tags])?;
        }
        Ok(())
    }
}

/// The seal after the block of a row; `None` while that block is open.
pub(super) fn after_block_of(conn: &Connection, row: Seq) -> Read<Option<Seal>> {
    let sql = "SELECT block, seal FROM seal WHERE block >= ?1 ORDER BY block LIMIT 1";
    let mut statement = conn.prepare_cached(sql)?;
    let mut rows = statement.query([block_of(row).cast_signed()])?;
    let Some(row) = rows.next()? else { return Ok(None) };
    let (_, last) = rows_of(row.get::<_, i64>(0)?.cast_unsigned());
    let head = row.get_ref(1)?.as_bytes().unwrap_or_default();
    Ok(Some(Seal::new(last, &Sealed::of_columns(head, Vec::new()).head)))
}

/// The blocks of a record as they are stored.
#[derive(Debug, Default)]
pub(super) struct Stored(BTreeMap<u64, Sealed>);

impl Stored {
    /// The blocks from one to another, with the seal before them.
    pub(super) fn read(conn: &Connection, from: u64, to: u64) -> Read<(Hash, Self)> {
        let sql = "SELECT block, seal, tags FROM seal WHERE block <= ?2
            AND block >= coalesce((SELECT max(block) FROM seal WHERE block < ?1), 0)";
        let mut statement = conn.prepare_cached(sql)?;
        let mut rows = statement.query([from.cast_signed(), to.cast_signed()])?;
        let mut stored = BTreeMap::new();
        while let Some(row) = rows.next()? {
            let bytes = |at: usize| row.get_ref(at)?.as_bytes().map_err(rusqlite::Error::from);
            // A column of another type counts as a seal too, one that matches nothing.
            let (head, tags) = (bytes(1).unwrap_or_default(), bytes(2).unwrap_or_default());
            let block = row.get::<_, i64>(0)?.cast_unsigned();
            stored.insert(block, Sealed::of_columns(head, tags.to_vec()));
        }
        let own = stored.split_off(&from);
        let before = stored.into_values().next_back().unwrap_or_default();
        Ok((before.head, Self(own)))
    }

    /// The seals, by their blocks.
    pub(super) fn into_blocks(self) -> BTreeMap<u64, Sealed> {
        self.0
    }

    /// Adds the open block.
    pub(super) fn with_open(mut self, last: Seq, open: Sealed) -> Self {
        self.0.insert(block_of(last), open);
        self
    }

    pub(super) fn of(&self, block: u64) -> Option<&Sealed> {
        self.0.get(&block)
    }
}

/// A difference from what was stored.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Off {
    /// One row.
    Row(Seq, &'static str),
    /// Something in these rows.
    Among(Seq, Seq, String),
}

/// The sentence for a changed row.
pub(super) const CHANGED: &str = "it is not as it was stored";
/// The most rows of a block that are named one by one.
const NAMED: usize = 16;

/// The leaves of one block as they are now.
#[derive(Default)]
pub(super) struct Leaves {
    of_rows: BTreeMap<Seq, Hash>,
    twice: Vec<Seq>,
    /// How many rows there are, without losses.
    pub(super) rows: u64,
    /// How many readings have details beside them.
    pub(super) more: i64,
}

impl Leaves {
    /// The leaves of what was added; `rows` and `more` count the rows and details in it.
    pub(super) fn of(ink: &Ink, (rows, more): (u64, i64)) -> Self {
        let mut all = Self { rows, more, ..Self::default() };
        for (row, leaf) in ink.leaves() {
            if all.of_rows.insert(row, leaf).is_some() {
                all.twice.push(row);
            }
        }
        all
    }

    /// The seal after all of them.
    pub(super) fn after(&self, before: &Hash) -> Hash {
        self.of_rows.values().fold(*before, |head, leaf| next(&head, leaf))
    }

    /// The seal after the last of them up to a row.
    pub(super) fn up_to(&self, row: Seq, before: &Hash) -> Hash {
        self.of_rows.range(..=row).fold(*before, |head, (_, leaf)| next(&head, leaf))
    }

    /// Compares them with the stored block. The seal before it is one of `before`.
    pub(super) fn compared(
        &self,
        block: u64,
        stored: Option<&Sealed>,
        before: &[Hash],
    ) -> Vec<Off> {
        let nothing = Sealed::default();
        let missing = stored.is_none() && !self.of_rows.is_empty();
        let stored = stored.unwrap_or(&nothing);
        let (first, last) = rows_of(block);
        let mut off: Vec<Off> =
            self.twice.iter().map(|row| Off::Row(*row, "two rows have its number")).collect();
        let sealed = before.iter().any(|before| self.after(before) == stored.head);
        let mut changed = Vec::new();
        for at in block.saturating_mul(BLOCK)..=last.0 {
            let was = stored.tags.get(place(Seq(at))..place(Seq(at)) + TAG).unwrap_or(&[0; TAG]);
            match self.of_rows.get(&Seq(at)) {
                Some(leaf) if tag(leaf) == was => {}
                Some(_) => changed.push(Off::Row(Seq(at), CHANGED)),
                None if was == [0; TAG] => {}
                None => changed.push(Off::Row(Seq(at), "it is missing")),
            }
        }
        let among = |what: String| vec![Off::Among(first, last, what)];
        off.extend(if missing {
            among(format!("the seal of the rows {first} to {last} is missing"))
        } else if sealed && changed.is_empty() {
            Vec::new()
        } else if sealed {
            among(format!("what stands beside the seal of the rows {first} to {last} {NOT_AS}"))
        } else if changed.len() > NAMED {
            among(format!(
                "{} of the rows {first} to {last} are not as they were stored",
                changed.len()
            ))
        } else if changed.is_empty() {
            among(format!("something in the rows {first} to {last}, or their seal, {NOT_AS}"))
        } else {
            changed
        });
        off
    }
}

const NOT_AS: &str = "is not as it was stored";

/// The seal of a record after one of its rows, as it is printed: the row's number and half of the seal.
///
/// A person who can write the file of a record can also write other rows with other seals. A printed seal
/// stays: with it [`super::Reader::verify_sealed`] proves that the rows up to this one are those of the
/// moment when it was printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Seal {
    /// The row.
    pub row: Seq,
    half: [u8; DIGITS / 2],
}

impl Seal {
    pub(super) fn new(row: Seq, head: &Hash) -> Self {
        let mut half = [0; DIGITS / 2];
        half.copy_from_slice(&head[..DIGITS / 2]);
        Self { row, half }
    }
}

impl Display for Seal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.row)?;
        self.half.chunks(2).try_for_each(|two| write!(f, "-{}", quantity::hexadecimal(two)))
    }
}

impl FromStr for Seal {
    type Err = String;

    /// Reads a seal as typed from paper: blanks, hyphens and capital letters do not matter.
    fn from_str(text: &str) -> Result<Self, String> {
        let no_seal = || {
            format!(
                "{text:?} is not a seal: a seal is a number and {DIGITS} digits or letters a to f, as printed"
            )
        };
        let (row, rest) = text.trim().split_once(['-', ' ']).ok_or_else(no_seal)?;
        let digits: String = rest.chars().filter(|letter| !matches!(letter, '-' | ' ')).collect();
        let row = row.parse().ok().filter(|row| *row > 0).ok_or_else(no_seal)?;
        let value = u128::from_str_radix(&digits, 16).ok().filter(|_| digits.len() == DIGITS);
        let half = value.filter(|_| !digits.starts_with('+')).ok_or_else(no_seal)?.to_be_bytes();
        Ok(Self { row: Seq(row), half })
    }
}

/// Adds the leaf of a loss: a row of the table.
pub(super) fn loss(ink: &mut Ink, [first, last, since, until]: [i64; 4]) {
    let row = super::write::seq(first);
    ink.row(Of::Lost, row, [first, last, since, until].map(ValueRef::Integer));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_seal_is_read_from_paper_however_it_is_typed() {
        let seal = Seal::new(Seq(48_213), &[0xa7; 32]);
        let text = seal.to_string();
        assert_eq!(text, "48213-a7a7-a7a7-a7a7-a7a7-a7a7-a7a7-a7a7-a7a7");
        for typed in [
            text.clone(),
            text.to_uppercase(),
            text.replace('-', " "),
            format!(" 48213 {} ", "a7".repeat(16)),
        ] {
            assert_eq!(typed.parse(), Ok(seal), "{typed}");
        }
        for no_seal in ["", "48213", "a7a7-48213", "0-a7", &text[..text.len() - 1], "x"] {
            assert!(no_seal.parse::<Seal>().unwrap_err().contains("is not a seal"), "{no_seal}");
        }
    }

    #[test]
    fn no_two_rows_have_the_same_bytes() {
        let leaf = |values: &[ValueRef<'_>]| {
            let mut ink = Ink::default();
            ink.row(Of::Fact, Seq(1), values.iter().copied());
            ink.leaves().next().unwrap().1
        };
        let (a, b, ab) = (ValueRef::Text(b"a"), ValueRef::Text(b"b"), ValueRef::Text(b"ab"));
        let (none, empty) = (ValueRef::Null, ValueRef::Text(b""));
        let rows = [
            vec![a, b],
            vec![ab],
            vec![ab, empty],
            vec![empty, ab],
            vec![none, ab],
            vec![ValueRef::Blob(b"ab")],
        ];
        let leaves: std::collections::BTreeSet<Hash> = rows.iter().map(|row| leaf(row)).collect();
        assert_eq!(leaves.len(), rows.len());
    }
}
