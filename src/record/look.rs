//! What a start checks before anybody measures on the record: as much of it as fits into a second.
//!
//! A record of usual size is checked completely, as `verify` does it, but without computing verdicts. In a
//! larger one the start checks how the file is made, both ends of each table and index, the newest rows,
//! and a share of all others against their seals. The next start takes the next share, so that after some
//! starts every row was checked. Nothing waits: a check that takes too long is ended.

use std::path::Path;
use std::time::{Duration, Instant};

use rusqlite::Connection;

use super::error::is_interrupted;
use super::folder;
use super::pieces::Pieces;
use super::progress::Progress;
use super::read::{Book, Read, SetAside};
use super::seals::{self, Off};
use super::verify::{self, Depth, Difference, Verified, blocks};
use super::writer::Store;
use super::{StoreError, papers, schema};
use bench::event::StorageNews;
use bench::row::{Paper, Piece};

/// How much a start checks.
#[derive(Debug, Clone, Copy)]
pub(super) struct Limits {
    /// The longest time.
    pub(super) time: Duration,
    /// A record with more rows is not checked completely.
    pub(super) whole_up_to: u64,
}

impl Limits {
    pub(super) const AT_START: Self =
        Self { time: Duration::from_millis(900), whole_up_to: 400_000 };
}

/// The number of blocks at the end of the record that each start checks.
const NEWEST_BLOCKS: u64 = 8;
/// The beginning of each sentence.
const DAMAGED: &str = "The record is damaged: ";
/// The most places that are named one by one.
const TOLD: usize = 5;
/// The clock is read after this many steps of the database.
const STEPS: i32 = 2000;

/// How far a check came.
#[derive(Debug, Default)]
struct Look {
    found: Verified,
    /// Whether everything was checked.
    whole: bool,
    /// The blocks that were checked, where not everything was.
    blocks: u64,
    /// The block with which the next share begins.
    next: u64,
}

impl Store {
    /// Checks the record. Damaged places are set aside; a record without damage is reported too, because a
    /// place may have been reported before.
    pub(super) fn look(&mut self, limits: Limits) -> (Vec<SetAside>, Vec<StorageNews>) {
        let began = Instant::now();
        let mut look = Look { next: self.newest.looked_at(), ..Look::default() };
        let part = |of: u32| began + limits.time * of / 10;
        if self.end.last.0 <= limits.whole_up_to {
            self.within(part(6), &mut look, &whole);
        }
        if !look.whole {
            look.found = Verified::default();
            let middle = if Instant::now() < part(5) { part(5) } else { part(8) };
            self.within(middle, &mut look, &always);
            self.within(part(10), &mut look, &|store, look| share(store, look, part(10)));
            self.newest.note_looked_at(look.next);
        }
        let (blocks, rows, took) = (look.blocks, self.end.last, began.elapsed().as_millis());
        if look.whole {
            tracing::debug!("the record was looked through in {took} ms");
        } else {
            tracing::info!(
                "{blocks} blocks of 256 rows were looked at in {took} ms, of {rows} rows; the next start \
                 goes on there"
            );
        }
        let well = look.whole && look.found.differences.is_empty();
        let news = if well { vec![StorageNews::FileFine] } else { Vec::new() };
        (told(&look.found), news)
    }

    /// Does something that the database ends when its time is over. A part that cannot be read becomes a
    /// finding.
    fn within(
        &mut self,
        until: Instant,
        look: &mut Look,
        act: &dyn Fn(&Self, &mut Look) -> Read<()>,
    ) {
        let limited =
            self.conn.progress_handler(STEPS, Some(move || Instant::now() >= until)).is_ok();
        let looked = if limited { act(self, look) } else { Ok(()) };
        if let Err(error) = self.conn.progress_handler(0, None::<fn() -> bool>) {
            tracing::warn!("the look at the record goes on: {error}");
        }
        match looked {
            Err(error) if !is_interrupted(&error) => look.found.add_unread("the file", &error),
            Ok(()) | Err(_) => {}
        }
    }
}

/// How long a start reads files of pictures and papers; all of them are looked for in any case.
const PAPERS_TIME: Duration = Duration::from_millis(150);

impl Store {
    /// Looks whether the files that facts name are there, reads some of them, and removes what a service that
    /// was killed has left. `sure`: every row of the record is there and can be read.
    pub(super) fn papers_looked_over(&self, sure: bool) -> Vec<SetAside> {
        let folder = papers::folder_of(self.database());
        let facts = match papers::Facts::read(self.book()) {
            Ok(facts) => facts,
            Err(error) => {
                tracing::warn!("files of pictures and papers were not looked at: {error}");
                return Vec::new();
            }
        };
        let left = Self::swept(&folder, &facts, sure);
        for name in left.iter().take(TOLD) {
            tracing::warn!(
                "{} is in the folder of attached files, and no row names it",
                folder.join(name).display()
            );
        }
        let wrong = facts.wrong_soon(&folder, Instant::now() + PAPERS_TIME);
        let aside = |(name, what)| SetAside { what: Piece::Paper(name), why: what };
        wrong.into_iter().map(aside).collect()
    }

    /// Removes files that no row came to name; returns what else is there.
    fn swept(folder: &Path, facts: &papers::Facts, sure: bool) -> Vec<String> {
        let sure = sure && facts.all_read;
        let papers::Swept { removed, left } = papers::sweep(folder, &facts.named, sure);
        if removed > 0 {
            let folder = folder.display();
            tracing::info!("{removed} files that no row came to name were removed from {folder}");
        }
        left
    }

    /// Removes files that no row came to name, after an import that was refused.
    pub fn drop_unnamed_papers(&self) {
        match papers::Facts::read(self.book()) {
            Ok(facts) => {
                let sure = self.has_lost_rows().is_ok_and(|lost| !lost);
                drop(Self::swept(&papers::folder_of(self.database()), &facts, sure));
            }
            Err(error) => tracing::warn!("files that came along stay where they are: {error}"),
        }
    }

    /// Keeps a file that an import brings, on disk, before the rows that name it.
    ///
    /// # Errors
    /// Its bytes are not those of the paper, or the system refuses.
    pub fn keep_paper(
        &self,
        from: &mut impl std::io::Read,
        paper: &Paper,
    ) -> Result<(), StoreError> {
        papers::put(&papers::folder_of(self.database()), from, paper).map(drop)
    }
}

fn whole(store: &Store, look: &mut Look) -> Read<()> {
    let book = store.book();
    match verify::verify(Pieces::still(book), (Depth::Stored, None), &Progress::default()) {
        Ok(found) => look.found = found,
        Err(error) if is_interrupted(&error) => return Err(error),
        Err(error) => look.found.add_unread("the file", &book.named(error)),
    }
    look.whole = true;
    Ok(())
}

/// What each start checks, whatever the size of the record.
fn always(store: &Store, look: &mut Look) -> Read<()> {
    let book = store.book();
    size(store, &mut look.found)?;
    for name in schema::differences(book.conn)? {
        look.found.add_of(&name, None, "it is not made as this program makes it");
    }
    ends(book, &mut look.found)?;
    newest(store).rev().try_for_each(|block| of_block(store, look, block))
}

/// The blocks at the end of the record.
fn newest(store: &Store) -> std::ops::RangeInclusive<u64> {
    let last = seals::block_of(store.end.last);
    last.saturating_sub(NEWEST_BLOCKS - 1)..=last
}

/// The blocks before those, from where the last start ended.
fn share(store: &Store, look: &mut Look, until: Instant) -> Read<()> {
    let end = *newest(store).start();
    for _ in 0..end {
        if Instant::now() >= until {
            break;
        }
        let block = if look.next < end { look.next } else { 0 };
        // The next start begins after a block that took too long, so that not only this block is ever
        // checked.
        look.next = block + 1;
        of_block(store, look, block)?;
    }
    Ok(())
}

/// Finds a file that is shorter than its first page says.
fn size(store: &Store, found: &mut Verified) -> Read<()> {
    let number = |name: &str| store.conn.pragma_query_value(None, name, |row| row.get::<_, i64>(0));
    let said = number("page_count")?.saturating_mul(number("page_size")?).cast_unsigned();
    let path = store.database();
    let has = std::fs::metadata(path).map_err(folder::failed("look at", path))?.len();
    // Pages in the log are not in the file yet.
    if has < said && store.log_is_empty() {
        found.add_of("the file", None, format!("it has {has} bytes, and says that it has {said}"));
    }
    Ok(())
}

/// Reads the first and the last entry of each table and each index: from the root down to both edges.
fn ends(book: Book<'_>, found: &mut Verified) -> Read<()> {
    for (table, query) in queries(book.conn)? {
        for order in ["ASC", "DESC"] {
            let sql = query.replace("{order}", order);
            let read = book.conn.prepare(&sql).and_then(|mut statement| {
                let mut rows = statement.query([])?;
                rows.next().map(drop)
            });
            match read.map_err(StoreError::from) {
                Err(error) if is_interrupted(&error) => return Err(error),
                Err(error) => found.add_unread(&table, &error),
                Ok(()) => {}
            }
        }
    }
    Ok(())
}

/// The queries that read one end of each table and index, with the table.
fn queries(conn: &Connection) -> Read<Vec<(String, String)>> {
    let sql = "SELECT type, name, tbl_name, coalesce(sql, '') FROM sqlite_schema
               WHERE type IN ('table', 'index') AND tbl_name NOT LIKE 'sqlite_%'";
    let mut statement = conn.prepare(sql)?;
    let things = statement.query_map([], |row| {
        Ok((row.get::<_, String>(0)?, row.get(1)?, row.get(2)?, row.get(3)?))
    })?;
    let things: Vec<(String, String, String, String)> = things.collect::<Result<_, _>>()?;
    let mut queries = Vec::new();
    for (kind, name, table, made) in things {
        let index = if kind == "index" {
            format!("INDEXED BY \"{name}\"")
        } else if made.contains("WITHOUT ROWID") {
            // Its only tree is the index of its key, which is in the list by itself.
            String::new()
        } else {
            "NOT INDEXED".to_owned()
        };
        let columns = if kind == "index" { columns(conn, &name)? } else { Vec::new() };
        let order: Vec<String> =
            columns.iter().map(|column| format!("\"{column}\" {{order}}")).collect();
        let order = match order.join(", ") {
            none if none.is_empty() && index.is_empty() => "1".to_owned(),
            none if none.is_empty() => "rowid {order}".to_owned(),
            some => some,
        };
        let only = made.split_once(" WHERE ").filter(|_| kind == "index").map(|(_, only)| only);
        let only = only.map_or_else(String::new, |only| format!("WHERE {only}"));
        let query = format!("SELECT * FROM \"{table}\" {index} {only} ORDER BY {order} LIMIT 1");
        queries.push((table, query));
    }
    Ok(queries)
}

fn columns(conn: &Connection, index: &str) -> Read<Vec<String>> {
    let mut statement = conn.prepare("SELECT name FROM pragma_index_info(?1)")?;
    let found = statement.query_map([index], |row| row.get(0))?;
    Ok(found.collect::<Result<_, _>>()?)
}

/// Reads the rows of a block and compares them with their seal.
fn of_block(store: &Store, look: &mut Look, block: u64) -> Read<()> {
    let (book, end) = (store.book(), &store.end);
    look.blocks += 1;
    let off = match blocks::one(book, (end.last, &end.seals.open), block) {
        Ok(off) => off,
        Err(error) if is_interrupted(&error) => return Err(error),
        Err(error) => {
            let (first, last) = seals::rows_of(block);
            look.found.add_unread(&format!("rows {first} to {last}"), &book.named(error));
            return Ok(());
        }
    };
    for off in off {
        match off {
            Off::Row(row, what) => look.found.add(Some(row), what),
            Off::Among(first, last, what) => {
                look.found.add_of(&format!("rows {first} to {last}"), None, what);
            }
        }
    }
    Ok(())
}

impl Verified {
    /// Adds a part that cannot be read at all.
    fn add_unread(&mut self, place: &str, error: &StoreError) {
        if let StoreError::Damaged { row, what } = error {
            return self.add(Some(*row), what.clone());
        }
        if let StoreError::DamagedIn { table, row, what } = error {
            return self.add_of(table, Some(*row), what.clone());
        }
        self.add_of(place, None, format!("it cannot be read: {error}"));
    }
}

/// Whether two sentences are equal, apart from a beginning that only one of them has.
pub(super) fn says_the_same(found: &SetAside, told: &SetAside) -> bool {
    let said = found.why.strip_prefix(DAMAGED).unwrap_or(&found.why);
    told.why.ends_with(said)
}

/// The sentences, place by place, so that a place is reported only once over all starts.
fn told(found: &Verified) -> Vec<SetAside> {
    let mut told: Vec<SetAside> = found.differences.iter().take(TOLD).map(aside).collect();
    let more = found.differences.len().saturating_sub(TOLD) as u64 + found.more;
    if more > 0 {
        let why = format!("{DAMAGED}{more} more places than those");
        told.push(SetAside { what: Piece::More, why });
    }
    told
}

fn aside(Difference { table, row, what }: &Difference) -> SetAside {
    let place = match (table, row) {
        (Some(table), Some(row)) => format!("{table}, row {row}"),
        (Some(table), None) => table.clone(),
        (None, Some(row)) => format!("row {row}"),
        (None, None) => what.lines().next().unwrap_or_default().chars().take(80).collect(),
    };
    let what = what.split_whitespace().collect::<Vec<_>>().join(" ");
    let why = if table.is_none() && row.is_none() { what } else { format!("{place}: {what}") };
    SetAside { what: Piece::Place(place), why: format!("{DAMAGED}{why}") }
}
