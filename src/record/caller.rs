//! Whose process asked for what: as the kernel reports it, in addition to the name that was given.

use rusqlite::{Connection, params};

use super::StoreError;
use super::answers::{Digest, digest_of};
use super::pieces::Pieces;
use super::read::SqlRow;
use super::write::{int, seq};
use bench::Seq;

/// The process that asked for something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caller {
    /// Its user number.
    pub uid: u32,
    /// Its process number; 0 where the kernel does not know it.
    pub pid: u32,
    /// The login name of that user at the time, where the system lists it.
    pub login: Option<String>,
    /// Whether it was a process of another bench from which the job came: the numbers mean nothing here.
    pub elsewhere: bool,
}

/// The rows of a request, and who asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Called {
    /// Its first and its last row.
    pub rows: (Seq, Seq),
    /// Who asked.
    pub caller: Caller,
}

/// The sum that a row of the table is checked against.
fn sum_of(first: i64, last: i64, Caller { uid, pid, login, elsewhere }: &Caller) -> Digest {
    let login = login.as_deref().map_or_else(String::new, |login| format!("={login}"));
    let whence = u8::from(*elsewhere);
    digest_of(&format!("{first} {last} {whence} {uid} {pid} {login}"))
}

/// Stores who asked for some rows.
pub(super) fn keep(conn: &Connection, called: &Called) -> rusqlite::Result<()> {
    let Called { rows: (first, last), caller } = called;
    let (first, last) = (int(*first), int(*last));
    let sql = "INSERT OR REPLACE INTO caller (first, last, uid, pid, login, elsewhere, sum)
        VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)";
    let Caller { uid, pid, login, elsewhere } = caller;
    let values = params![first, last, uid, pid, login, elsewhere, sum_of(first, last, caller)];
    conn.prepare_cached(sql)?.execute(values).map(drop)
}

/// The rows of a request and who asked; `None` where they are not as they were stored.
fn as_kept(row: &SqlRow<'_>) -> Option<(Seq, Caller)> {
    let read = || -> rusqlite::Result<_> {
        let (uid, pid, login, elsewhere) = (row.get(2)?, row.get(3)?, row.get(4)?, row.get(5)?);
        let caller = Caller { uid, pid, login, elsewhere };
        Ok((row.get::<_, i64>(0)?, row.get::<_, i64>(1)?, caller, row.get::<_, Digest>(6)?))
    };
    let (first, last, caller, sum) = read().ok()?;
    (sum == sum_of(first, last, &caller)).then(|| (seq(last), caller))
}

/// Who asked for a row. `None` where nobody did, as for a reading of a gauge, and where the entry is
/// damaged, which `verify` reports.
pub(super) fn of_row(conn: &Connection, row: Seq) -> rusqlite::Result<Option<Caller>> {
    let sql = "SELECT first, last, uid, pid, login, elsewhere, sum FROM caller
        WHERE first <= ?1 ORDER BY first DESC LIMIT 1";
    let mut statement = conn.prepare_cached(sql)?;
    let mut rows = statement.query([int(row)])?;
    let found = rows.next()?.and_then(as_kept);
    Ok(found.filter(|(last, _)| *last >= row).map(|(_, caller)| caller))
}

/// Stores who asked for rows from another bench, in order: one row of the table for each run of rows that
/// follow each other.
pub(super) fn keep_all(
    conn: &Connection,
    callers: impl Iterator<Item = (Seq, Caller)>,
) -> rusqlite::Result<()> {
    let mut open: Option<Called> = None;
    for (row, caller) in callers {
        match &mut open {
            Some(called) if called.rows.1.next() == row && called.caller == caller => {
                called.rows.1 = row;
            }
            _ => {
                let whole = open.replace(Called { rows: (row, row), caller });
                whole.iter().try_for_each(|called| keep(conn, called))?;
            }
        }
    }
    open.iter().try_for_each(|called| keep(conn, called))
}

/// Reports the rows that are not as they were stored, each by the first row it is about.
pub(super) fn verify(pieces: Pieces<'_>, mut found: impl FnMut(Seq)) -> Result<(), StoreError> {
    let sql = "SELECT first, last, uid, pid, login, elsewhere, sum FROM caller
        WHERE first BETWEEN ?1 AND ?2 ORDER BY first";
    pieces.spans(("caller", "first"), |book, (first, last)| {
        let mut statement = book.conn.prepare_cached(sql)?;
        let mut rows = statement.query([first, last])?;
        while let Some(row) = rows.next()? {
            if as_kept(row).is_none() {
                found(row.get(0).map_or(Seq(0), seq));
            }
        }
        Ok(())
    })
}
