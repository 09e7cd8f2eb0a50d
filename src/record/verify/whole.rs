//! The file itself: its pages, its schema, and texts that are stored in two forms.

use super::Verified;
use crate::counters::End;
use crate::read::{Book, Read};
use crate::write::int;
use crate::{FeedOrigin, StoreError, numbers as imported, schema};

/// The pages cannot be checked in pieces: only all of them together show whether one has two owners.
pub(super) fn pages(book: Book<'_>, found: &mut Verified) -> Read<()> {
    let mut statement = book.conn.prepare("PRAGMA integrity_check")?;
    for line in statement.query_map([], |row| row.get::<_, String>(0))? {
        let line = line?;
        if line != "ok" {
            let what = format!("the file is damaged: {line}");
            match table(book, &line) {
                Some(table) => found.add_of(&table, None, what),
                None => found.add(None, what),
            }
        }
    }
    for name in schema::differences(book.conn)? {
        found.add_of(&name, None, "it is not made as this program makes it");
    }
    Ok(())
}

/// The table that a finding about a file refers to, by a page of it, an index or a column.
fn table(book: Book<'_>, line: &str) -> Option<String> {
    let of = |sql: &str, value: &dyn rusqlite::ToSql| {
        book.conn.query_row(sql, [value], |row| row.get::<_, String>(0)).ok()
    };
    let root = line.split_once("Tree ").and_then(|(_, rest)| rest.split(' ').next());
    let root: Option<i64> = root.and_then(|root| root.parse().ok());
    root.and_then(|root| of("SELECT tbl_name FROM sqlite_schema WHERE rootpage = ?1", &root))
        .or_else(|| {
            let words = line.split(|c: char| !c.is_ascii_alphanumeric() && c != '_').rev();
            let named = "SELECT tbl_name FROM sqlite_schema WHERE name = ?1";
            words.into_iter().find_map(|word| of(named, &word))
        })
}

/// Checks texts that are kept by their digests, the origin of the feed, and the old numbers of imported
/// rows.
pub(super) fn texts(book: Book<'_>, found: &mut Verified) -> Result<(), StoreError> {
    let mut statement = book.conn.prepare("SELECT digest, text FROM pinned")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let bytes =
            |at: usize| Ok::<_, rusqlite::Error>(row.get_ref(at)?.as_bytes().unwrap_or_default());
        let (digest, text) = (bytes(0)?, bytes(1)?);
        if digest != blake3::hash(text).as_bytes() {
            found.add_of("pinned", None, "a text is not the one its digest is of");
        }
    }
    if FeedOrigin::read(book.conn)?.is_none() {
        found.add_of("feed_origin", None, "which feed it is, is missing or not as it was stored");
    }
    for job in imported::changed(book)? {
        found.add_of("import", Some(job), "where its rows came from is not as it was stored");
    }
    let sql = "SELECT count(*) FROM (SELECT job FROM import_run EXCEPT SELECT job FROM import)";
    if book.conn.query_row(sql, [], |row| row.get::<_, i64>(0))? > 0 {
        found.add_of("import", None, "a job came from another record, and nothing says when");
    }
    Ok(())
}

/// Finds details of readings beyond the newest row, whose numbers were never given.
pub(super) fn details(book: Book<'_>, found: &mut Verified) -> Result<(), StoreError> {
    let (end, _) = End::read(book)?;
    let sql = "SELECT count(*) FROM reading_more WHERE reading > ?1";
    if book.conn.query_row(sql, [int(end.last)], |row| row.get::<_, i64>(0))? != 0 {
        found.add_of("reading_more", None, "there are details without a reading at its end");
    }
    Ok(())
}
