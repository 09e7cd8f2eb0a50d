//! The schema, and the steps that bring an older record to it.

use rusqlite::{Connection, TransactionBehavior};

use super::StoreError;

/// The statements that make a new record.
const SCHEMA: &str = include_str!("schema.sql");

/// The steps from each version to the next, the first from version 1. There are none yet.
const STEPS: &[&str] = &[];

/// The version of [`SCHEMA`].
pub(super) const VERSION: i64 = 1;
const _: () = assert!(STEPS.len() as u64 + 1 == VERSION.unsigned_abs());

/// Marks the file as ours: "tnth" in ASCII.
const APPLICATION_ID: i64 = 0x746e_7468;

/// Marks a copy that is not finished: "tnpt" in ASCII. The mark of a record is in its first page, which is
/// written only after all others were read.
const UNFINISHED: i64 = 0x746e_7074;

/// Whether a mark belongs to this program.
pub(super) const fn is_mark(mark: i64) -> bool {
    mark == APPLICATION_ID || mark == UNFINISHED
}

/// Marks an empty file as a copy that is not finished.
pub(super) fn mark_unfinished(conn: &Connection) -> Result<(), StoreError> {
    Ok(conn.pragma_update(None, "application_id", UNFINISHED)?)
}

/// Whether an open database is a record of this program and of this version; an empty file is not one yet.
pub(super) fn is_record(conn: &Connection) -> Result<bool, StoreError> {
    let found: i64 = conn.pragma_query_value(None, "user_version", |row| row.get(0))?;
    let owner: i64 = conn.pragma_query_value(None, "application_id", |row| row.get(0))?;
    let tables: i64 = conn.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
    match found {
        _ if owner == UNFINISHED => Err(StoreError::Unfinished(conn.path().unwrap_or("it").into())),
        _ if tables == 0 => Ok(false),
        _ if owner != APPLICATION_ID => Err(StoreError::Foreign),
        VERSION => Ok(true),
        found if 0 < found && found < VERSION => Ok(false),
        found if found > VERSION => Err(StoreError::Newer { found, known: VERSION }),
        found => {
            let path = conn.path().unwrap_or("the record").into();
            Err(StoreError::Older { path, found, known: VERSION })
        }
    }
}

/// Makes an empty database a record, and brings one of an earlier version to this version, completely or
/// not at all.
pub(super) fn make(conn: &mut Connection) -> Result<(), StoreError> {
    if is_record(conn)? {
        return Ok(());
    }
    let found: i64 = conn.pragma_query_value(None, "user_version", |row| row.get(0))?;
    if found > 0 {
        return bring_forward(conn, found, STEPS);
    }
    let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
    tx.execute_batch(SCHEMA)?;
    tx.pragma_update(None, "user_version", VERSION)?;
    tx.pragma_update(None, "application_id", APPLICATION_ID)?;
    Ok(tx.commit()?)
}

/// Takes all steps from a version on, or none.
fn bring_forward(conn: &mut Connection, found: i64, steps: &[&str]) -> Result<(), StoreError> {
    let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let taken = usize::try_from(found - 1).unwrap_or(0);
    for step in steps.iter().skip(taken) {
        tx.execute_batch(step)?;
    }
    let version = found.max(1 + i64::try_from(steps.len()).unwrap_or(i64::MAX));
    tx.pragma_update(None, "user_version", version)?;
    Ok(tx.commit()?)
}

/// Where the schema of a database differs from the one this program makes: the tables, indexes and views
/// concerned.
pub(super) fn differences(conn: &Connection) -> Result<Vec<String>, StoreError> {
    let mut fresh = Connection::open_in_memory()?;
    make(&mut fresh)?;
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

/// Type, name and text of everything in a schema, without comments and spaces.
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

#[cfg(test)]
mod tests {
    use super::*;

    const MADE_UP: [&str; 2] = [
        "ALTER TABLE lost ADD COLUMN why TEXT NOT NULL DEFAULT ''",
        "CREATE TABLE more (x INTEGER) STRICT; INSERT INTO more SELECT last FROM counter",
    ];

    fn version(conn: &Connection) -> i64 {
        conn.pragma_query_value(None, "user_version", |row| row.get(0)).unwrap()
    }

    #[test]
    fn a_record_takes_the_steps_that_it_has_not_taken_yet() {
        for from in [1, 2] {
            let mut conn = Connection::open_in_memory().unwrap();
            make(&mut conn).unwrap();
            assert_eq!(version(&conn), VERSION);
            if from == 2 {
                bring_forward(&mut conn, 1, &MADE_UP[..1]).unwrap();
                assert_eq!(version(&conn), 2);
            }
            bring_forward(&mut conn, from, &MADE_UP).unwrap();
            assert_eq!(version(&conn), 3);
            let sql = "SELECT (SELECT count(why) FROM lost) + (SELECT count(*) FROM more)";
            assert_eq!(conn.query_row(sql, [], |row| row.get::<_, i64>(0)).unwrap(), 1);
        }
    }

    #[test]
    fn a_step_that_fails_leaves_the_record_as_it_was() {
        let mut conn = Connection::open_in_memory().unwrap();
        make(&mut conn).unwrap();
        let steps = [MADE_UP[0], "CREATE TABLE broken ("];
        assert!(bring_forward(&mut conn, 1, &steps).is_err());
        assert_eq!(version(&conn), 1);
        assert!(differences(&conn).unwrap().is_empty());
    }
}
