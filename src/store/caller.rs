//! Whose process asked for what: as the kernel says, beside the name that was given.

use rusqlite::{Connection, params};

use super::StoreError;
use super::answers::{Digest, digest_of};
use super::read::SqlRow;
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

/// What a row of the table is held against.
fn sum_of(first: i64, last: i64, Caller { uid, pid, login }: &Caller) -> Digest {
    let login = login.as_deref().map_or_else(String::new, |login| format!("={login}"));
    digest_of(&format!("{first} {last} {uid} {pid} {login}"))
}

/// Keeps who asked for some rows.
pub(super) fn keep(conn: &Connection, called: &Called) -> rusqlite::Result<()> {
    let Called { rows: (first, last), caller } = called;
    let (first, last) = (int(*first), int(*last));
    let sql = "INSERT OR REPLACE INTO caller (first, last, uid, pid, login, sum)
        VALUES (?1, ?2, ?3, ?4, ?5, ?6)";
    let Caller { uid, pid, login } = caller;
    let values = params![first, last, uid, pid, login, sum_of(first, last, caller)];
    conn.prepare_cached(sql)?.execute(values).map(drop)
}

/// The rows of a request and who asked, where they are as they were kept.
fn as_kept(row: &SqlRow<'_>) -> Option<(Seq, Caller)> {
    let read = || -> rusqlite::Result<_> {
        let caller = Caller { uid: row.get(2)?, pid: row.get(3)?, login: row.get(4)? };
        Ok((row.get::<_, i64>(0)?, row.get::<_, i64>(1)?, caller, row.get::<_, Digest>(5)?))
    };
    let (first, last, caller, sum) = read().ok()?;
    (sum == sum_of(first, last, &caller)).then(|| (seq(last), caller))
}

/// Who asked for a row; `None` where nobody did, as for what a gauge sent, and where what was kept is
/// damaged, which `verify` tells.
pub(super) fn of_row(conn: &Connection, row: Seq) -> rusqlite::Result<Option<Caller>> {
    let sql = "SELECT first, last, uid, pid, login, sum FROM caller WHERE first <= ?1
        ORDER BY first DESC LIMIT 1";
    let mut statement = conn.prepare_cached(sql)?;
    let mut rows = statement.query([int(row)])?;
    let found = rows.next()?.and_then(as_kept);
    Ok(found.filter(|(last, _)| *last >= row).map(|(_, caller)| caller))
}

/// Tells the rows that are not as they were kept, each by the first row it is about.
pub(super) fn verify(conn: &Connection, mut found: impl FnMut(Seq)) -> Result<(), StoreError> {
    let mut statement =
        conn.prepare("SELECT first, last, uid, pid, login, sum FROM caller ORDER BY first")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        if as_kept(row).is_none() {
            found(row.get(0).map_or(Seq(0), seq));
        }
    }
    Ok(())
}
