//! The chain of seals over stored rows.

use std::collections::BTreeMap;

use super::{FormWords, StoredRow};
use crate::seals::{self, Ink, Seal, Sealed, Seals};
use bench::Seq;

/// The seal of a block of rows, as it is stored.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredSeal {
    /// The block: rows whose number divided by 256 gives it.
    pub block: i64,
    /// The seal after its last row.
    pub seal: Vec<u8>,
    /// Two bytes of the leaf of each of its rows.
    pub tags: Vec<u8>,
}

impl StoredSeal {
    pub(super) fn new(block: u64, Sealed { head, tags }: Sealed) -> Self {
        Self { block: block.cast_signed(), seal: head.to_vec(), tags }
    }
}

/// Rows that are not those that were sealed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the rows {first} to {last} are not those that the bench sealed")]
pub struct NotAsSealed {
    /// The first row concerned.
    pub first: Seq,
    /// The last one.
    pub last: Seq,
}

/// The seals of a bench as far as some record elsewhere has its rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chain {
    last: Seq,
    seals: Seals,
    completed: Vec<(u64, Sealed)>,
}

/// What the bench itself has as seals of some rows: of blocks that are complete, and after its newest row.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct OwnSeals {
    pub(super) blocks: BTreeMap<u64, Sealed>,
    pub(super) newest: Option<(Seq, Sealed)>,
}

impl Default for Chain {
    /// Of a record without rows.
    fn default() -> Self {
        Self::at(Seq(0), Sealed::default())
    }
}

impl Chain {
    pub(super) const fn at(last: Seq, open: Sealed) -> Self {
        Self { last, seals: Seals::of(last, open), completed: Vec::new() }
    }

    /// Goes on after row `last`, with the seal after it and, of the rows of its block so far, the two bytes of
    /// each leaf: what [`Chain::last`], [`Chain::head`] and [`Chain::tags`] gave there.
    #[must_use]
    pub fn after(last: Seq, head: [u8; 32], tags: Vec<u8>) -> Self {
        Self::at(last, Sealed { head, tags })
    }

    /// The number after which the record goes on.
    #[must_use]
    pub const fn last(&self) -> Seq {
        self.last
    }

    /// The seal after the newest row, all 256 bits.
    #[must_use]
    pub const fn head(&self) -> [u8; 32] {
        self.seals.open.head
    }

    /// Two bytes of the leaf of each row of the open block.
    #[must_use]
    pub fn tags(&self) -> &[u8] {
        &self.seals.open.tags
    }

    /// The seal after the newest row, as it is printed; none of a record without rows.
    #[must_use]
    pub fn seal(&self) -> Option<Seal> {
        (self.last > Seq(0)).then(|| Seal::new(self.last, &self.head()))
    }

    /// Adds the next rows, which are in order.
    pub fn take<'r>(&mut self, rows: impl IntoIterator<Item = &'r StoredRow>) {
        let (mut ink, mut words) = (Ink::default(), FormWords::default());
        for row in rows {
            row.inked(&mut ink, &mut words);
            self.seals.take(&ink);
            self.seals.move_to(row.last());
            ink.clear();
            self.last = row.last();
        }
        self.completed.extend(self.seals.completed());
    }

    /// The seals of the blocks that are complete since the last call, as they are stored. Called after each
    /// batch that was compared.
    pub fn completed(&mut self) -> Vec<StoredSeal> {
        let completed = std::mem::take(&mut self.completed);
        completed.into_iter().map(|(block, sealed)| StoredSeal::new(block, sealed)).collect()
    }

    /// Compares the blocks that [`Chain::completed`] has not given yet, and the newest row, with what the bench
    /// has as their seals. Rows of an open block, where the bench has newer ones, cannot be compared yet.
    ///
    /// # Errors
    /// The rows are not those that the bench sealed.
    pub fn compared(&self, own: &OwnSeals) -> Result<(), NotAsSealed> {
        for (block, sealed) in &self.completed {
            if own.blocks.get(block) != Some(sealed) {
                let (first, last) = seals::rows_of(*block);
                return Err(NotAsSealed { first, last });
            }
        }
        let block = seals::block_of(self.last);
        let (first, end) = seals::rows_of(block);
        let whole = own.blocks.get(&block).filter(|_| self.last == end);
        let newest = own.newest.as_ref().filter(|(last, _)| *last == self.last);
        let beyond = own.newest.as_ref().is_none_or(|(last, _)| *last < self.last);
        let mut known = whole.into_iter().chain(newest.map(|(_, open)| open));
        if !beyond && known.all(|own| *own == self.seals.open) {
            return Ok(());
        }
        Err(NotAsSealed { first, last: self.last })
    }
}
