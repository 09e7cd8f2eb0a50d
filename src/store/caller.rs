//! Whose process asked for what: as the kernel says, beside the name that was given.

use rusqlite::{Connection, params};

use super::write::{int, seq};
use crate::bench::Seq;

/// The process that asked for something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caller {
    /// Its user.
    pub uid: u32,
    /// Its number; 0 where the kernel does not know it.
    pub pid: u32,
    /// The login name of the user then, where the system lists it.
    pub login: Option<String>,
}

/// What a request led to, and who asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Called {
    /// Its first and its last row.
    pub rows: (Seq, Seq),
    /// Who asked.
    pub caller: Caller,
}

/// Keeps who asked for some rows.
pub(super) fn keep(conn: &Connection, called: &Called) -> rusqlite::Result<()> {
    let Called { rows: (first, last), caller: Caller { uid, pid, login } } = called;
    let sql = "INSERT OR REPLACE INTO caller (first, last, uid, pid, login)
        VALUES (?1, ?2, ?3, ?4, ?5)";
    let values = params![int(*first), int(*last), uid, pid, login];
    conn.prepare_cached(sql)?.execute(values).map(drop)
}

/// Who asked for a row; `None` where nobody did, as for what a gauge sent.
pub(super) fn of_row(conn: &Connection, row: Seq) -> rusqlite::Result<Option<Caller>> {
    let sql = "SELECT last, uid, pid, login FROM caller WHERE first <= ?1
        ORDER BY first DESC LIMIT 1";
    let mut statement = conn.prepare_cached(sql)?;
    let mut rows = statement.query([int(row)])?;
    let Some(found) = rows.next()? else { return Ok(None) };
    if seq(found.get(0)?) < row {
        return Ok(None);
    }
    Ok(Some(Caller { uid: found.get(1)?, pid: found.get(2)?, login: found.get(3)? }))
}
