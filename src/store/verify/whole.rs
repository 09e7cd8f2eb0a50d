//! The file itself: its pages, its schema, its references, and texts that say the same thing twice.

use super::super::pieces::{Pieces, Span};
use super::super::read::{Book, Read};
use super::super::write::{int, seq};
use super::super::{FeedOrigin, StoreError};
use super::super::{body, numbers as imported, schema};
use super::{Verified, numbers};
use bench::Seq;

/// Pages, references and schema.
pub(super) fn file(pieces: Pieces<'_>, found: &mut Verified) -> Result<(), StoreError> {
    pieces.moment(|book| pages(book, found))?;
    for of in pieces.moment(references)? {
        pieces.spans((&of.table, "rowid"), |book, span| of.dangling(book, span, found))?;
    }
    Ok(())
}

/// The pages cannot be looked at in pieces: whether one has two owners only all of them tell.
fn pages(book: Book<'_>, found: &mut Verified) -> Read<()> {
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

/// A column that refers to another table.
struct Reference {
    table: String,
    column: String,
    target: String,
    /// What it refers to there.
    key: String,
}

fn references(book: Book<'_>) -> Read<Vec<Reference>> {
    let sql = "SELECT m.name, f.\"from\", f.\"table\", coalesce(f.\"to\", 'rowid')
        FROM sqlite_schema m, pragma_foreign_key_list(m.name) f WHERE m.type = 'table'";
    let mut statement = book.conn.prepare(sql)?;
    let found = statement.query_map([], |row| {
        let (table, column, target, key) = (row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?);
        Ok(Reference { table, column, target, key })
    })?;
    Ok(found.collect::<Result<_, _>>()?)
}

impl Reference {
    /// The rows of a piece whose target is missing.
    fn dangling(&self, book: Book<'_>, (first, last): Span, found: &mut Verified) -> Read<()> {
        let Self { table, column, target, key } = self;
        let sql = format!(
            "SELECT t.rowid FROM {table} t WHERE t.rowid BETWEEN ?1 AND ?2 AND t.{column} IS NOT NULL
             AND NOT EXISTS (SELECT 1 FROM {target} p WHERE p.{key} = t.{column})"
        );
        for row in numbers(book, &sql, [first, last])? {
            found.add_of(table, Some(row), format!("the {target} of its {table} is missing"));
        }
        Ok(())
    }
}

/// The table that a finding about a file names, by a page of it, an index or a column.
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

/// Digests of plans, the gauges that pins name, and the numbers that imported rows had.
pub(super) fn texts(book: Book<'_>, found: &mut Verified) -> Result<(), StoreError> {
    let sql = "SELECT p.digest, p.text, j.seq FROM plan p LEFT JOIN job j ON j.plan = p.id";
    let mut statement = book.conn.prepare(sql)?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let digest: Vec<u8> = row.get(0)?;
        let text = row.get_ref(1)?.as_bytes().map_err(rusqlite::Error::from)?;
        if digest != blake3::hash(text).as_bytes() {
            let job: Option<i64> = row.get(2)?;
            let of = job.map_or_else(String::new, |job| format!(" of job {job}"));
            found.add_of("plan", None, format!("the text{of} is not the one its digest is of"));
        }
    }
    let mut statement = book.conn.prepare("SELECT id, gauge, body FROM pin")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let (id, gauge, text): (i64, String, String) = (row.get(0)?, row.get(1)?, row.get(2)?);
        let pin = body::pin(&text).ok();
        // A name that nobody reads may have changed, too.
        let again = pin.as_ref().and_then(|pin| body::pin_text(pin).ok());
        if again.is_none_or(|again| again != text) {
            found.add_of("pin", Some(seq(id)), "its text is not as this program writes it");
        }
        let named = pin
            .map(|pin| pin.gauge.map_or_else(String::new, |gauge| gauge.name.as_str().to_owned()));
        if named.is_none_or(|named| named != gauge) {
            found.add_of("pin", Some(seq(id)), "it names another gauge than its text");
        }
    }
    if FeedOrigin::read(book.conn)?.is_none() {
        found.add_of("feed_origin", None, "which feed it is, is missing or not as it was stored");
    }
    for job in imported::changed(book)? {
        found.add_of("import", Some(job), "where its rows came from is not as it was stored");
    }
    Ok(())
}

const WITH_NUMBERS: [&str; 8] =
    ["job", "attempt", "mark", "verdict", "alert", "alert_step", "step", "file"];

/// Says of every row that something is about in which table it stands.
pub(super) fn name_tables(book: Book<'_>, found: &mut Verified) {
    for difference in &mut found.differences {
        if let (None, Some(row)) = (&difference.table, difference.row) {
            difference.table = table_of(book, row).map(str::to_owned);
        }
    }
}

pub(crate) fn table_of(book: Book<'_>, row: Seq) -> Option<&'static str> {
    let there = |table: &str| {
        let sql = format!("SELECT EXISTS (SELECT 1 FROM {table} WHERE seq = ?1)");
        book.conn.query_row(&sql, [int(row)], |row| row.get(0)).unwrap_or(false)
    };
    let found = WITH_NUMBERS.into_iter().find(|table| there(table));
    found.or_else(|| there("reading_seq").then_some("reading"))
}
