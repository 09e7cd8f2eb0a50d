//! Proofs of gauges, and the register.

use crate::read::{Book, Read};
use bench::row::{Body, ProofRow};
use bench::{Row, Seq};
use quantity::{Name, Wall};

use std::sync::Arc;

use bench::row::Registered;

/// An entry of the register.
#[derive(Debug, Clone, PartialEq)]
pub struct RegisterRow {
    /// Its number in the record.
    pub id: Seq,
    /// When it was written down.
    pub at: Wall,
    /// Who wrote it down.
    pub by: Option<Name>,
    /// The entry.
    pub entry: Arc<Registered>,
}

/// Every proof of a gauge, oldest first.
pub(crate) fn proofs(book: Book<'_>, gauge: &str) -> Read<Vec<ProofRow>> {
    let rows = book.facts("key = ?1 AND kind = 'proved' ORDER BY seq", [gauge])?;
    let proof = |row: Row| {
        let Body::Proved(proved) = row.body else { return None };
        Some(ProofRow { id: row.seq, at: row.at.wall, by: row.by, proved })
    };
    Ok(rows.into_iter().filter_map(proof).collect())
}

/// The entries of the register, oldest first: of one name, or of all.
pub(crate) fn register(book: Book<'_>, name: Option<&str>) -> Read<Vec<RegisterRow>> {
    let rows = match name {
        Some(name) => book.facts("key = ?1 AND kind = 'registered' ORDER BY seq", [name])?,
        None => book.facts("kind = 'registered' ORDER BY seq", [])?,
    };
    let entry = |row: Row| {
        let Body::Registered(entry) = row.body else { return None };
        Some(RegisterRow { id: row.seq, at: row.at.wall, by: row.by, entry })
    };
    Ok(rows.into_iter().filter_map(entry).collect())
}
