//! The schema, and how an older file becomes a newer one.

use rusqlite::{Connection, TransactionBehavior};

use super::StoreError;

/// One step from each version to the next; version 0 is an empty file.
const MIGRATIONS: [&str; 3] =
    [include_str!("schema.sql"), include_str!("schema_2.sql"), include_str!("schema_3.sql")];

/// The version this program writes.
pub(super) const VERSION: i64 = 3;
const _: () = assert!(MIGRATIONS.len() == 3, "a new step is a new version");

/// Marks the file as ours: "tnth" in ASCII.
const APPLICATION_ID: i64 = 0x746e_7468;

/// The version of an open database; an empty file has version 0.
pub(super) fn version(conn: &Connection) -> Result<i64, StoreError> {
    let found = conn.pragma_query_value(None, "user_version", |row| row.get(0))?;
    let owner: i64 = conn.pragma_query_value(None, "application_id", |row| row.get(0))?;
    let tables: i64 = conn.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
    if owner != APPLICATION_ID && tables > 0 {
        return Err(StoreError::Foreign);
    }
    if found > VERSION {
        return Err(StoreError::Newer { found, known: VERSION });
    }
    Ok(found)
}

/// Brings a database to the version of this program, each step whole or not at all.
pub(super) fn migrate(conn: &mut Connection) -> Result<(), StoreError> {
    let found = version(conn)?;
    let missing = MIGRATIONS.iter().zip(1_i64..).filter(|(_, to)| *to > found);
    for (sql, to) in missing {
        let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
        tx.execute_batch(sql)?;
        tx.pragma_update(None, "user_version", to)?;
        tx.pragma_update(None, "application_id", APPLICATION_ID)?;
        tx.commit()?;
    }
    Ok(())
}

/// What the schema of a database says otherwise than the one this program makes: the tables,
/// indexes and views it is about.
pub(super) fn differences(conn: &Connection) -> Result<Vec<String>, StoreError> {
    let mut fresh = Connection::open_in_memory()?;
    migrate(&mut fresh)?;
    let (expected, found) = (things(&fresh)?, things(conn)?);
    let differing = expected.iter().filter(|thing| !found.contains(thing));
    let strange = found.iter().filter(|thing| !expected.contains(thing));
    let mut names: Vec<String> =
        differing.chain(strange).map(|(_, name, _)| name.clone()).collect();
    names.sort();
    names.dedup();
    Ok(names)
}

type Thing = (String, String, String);

/// Type, name and text of everything in a schema, comments and spaces left out.
fn things(conn: &Connection) -> Result<Vec<Thing>, StoreError> {
    let sql = "SELECT type, name, tbl_name || ' ' || coalesce(sql, '') FROM sqlite_schema
               WHERE name NOT LIKE 'sqlite_stat%'";
    let mut statement = conn.prepare(sql)?;
    let found = statement.query_map([], |row| {
        let text: String = row.get(2)?;
        let lines = text.lines().map(|line| line.split("--").next().unwrap_or_default());
        let words: Vec<&str> = lines.flat_map(str::split_whitespace).collect();
        Ok((row.get(0)?, row.get(1)?, words.join(" ")))
    })?;
    Ok(found.collect::<Result<_, _>>()?)
}
