//! What follows from the facts and is stored beside them so that it is found at once: what is open, and the
//! words by which dropped files are found. It has no seal; `verify` works it out again and compares.

use std::collections::BTreeSet;

use rusqlite::{Connection, params};

use super::read::{Book, Read};
use super::write::{int, seq};
use bench::row::{Body, FileSeen};
use bench::{Row, Seq};

const OPENS: &str = "INSERT OR IGNORE INTO pending (kind, fact) VALUES (?1, ?2)";
const CLOSES: &str = "DELETE FROM pending WHERE kind = ?1 AND fact = ?2";

/// Updates both after a fact.
pub(super) fn follow(conn: &Connection, row: &Row) -> rusqlite::Result<()> {
    let run = |sql: &str, kind: &str, fact: Seq| {
        conn.prepare_cached(sql)?.execute(params![kind, int(fact)]).map(drop)
    };
    if let Body::JobOpened(_) | Body::AlertRaised(_) = row.body {
        run(OPENS, row.body.kind(), row.seq)?;
    } else if let Body::JobReopened { job } = row.body {
        run(OPENS, "job-opened", job)?;
    } else if let Body::JobClosed { job } = row.body {
        run(CLOSES, "job-opened", job)?;
    } else if let Body::AlertCleared { alert } = row.body {
        run(CLOSES, "alert-raised", alert)?;
    }
    found(conn, row)
}

/// Stores the words by which a file is found.
fn found(conn: &Connection, row: &Row) -> rusqlite::Result<()> {
    for word in words(&row.body) {
        let sql = "INSERT INTO found (word, fact) VALUES (?1, ?2)";
        conn.prepare_cached(sql)?.execute(params![word, int(row.seq)])?;
    }
    Ok(())
}

/// Makes both of a record that has its facts and nothing that follows from them.
pub(super) fn made(book: Book<'_>) -> Read<()> {
    if let Some(differs) = Differs::look(book.conn, Seq(i64::MAX.cast_unsigned()))? {
        differs.mend(book.conn)?;
    }
    let files = "SELECT * FROM fact WHERE kind IN ('file-taken', 'file-refused')";
    let files = book.select(files, [], |row| Ok(crate::fact::row(book, row).ok()))?;
    // A file that cannot be read has no words; whoever looks at rows tells it.
    files.iter().flatten().try_for_each(|row| Ok(found(book.conn, row)?))
}

/// A word by which files are found: 16 bytes of digest, followed by a part that is searched in order.
pub(super) type Word = Vec<u8>;

fn word(purpose: u8, parts: &[&[u8]]) -> Word {
    let mut hash = blake3::Hasher::new();
    hash.update(&[purpose]);
    for part in parts {
        hash.update(&(part.len() as u64).to_le_bytes()).update(part);
    }
    hash.finalize().as_bytes()[..16].to_vec()
}

/// The word for files of a name.
pub(super) fn of_name(seen: &FileSeen) -> Word {
    word(1, &[seen.drop.as_str().as_bytes(), seen.name.as_bytes()])
}

/// The word for files of a name with these bytes, refused ones included.
pub(super) fn of_itself(seen: &FileSeen) -> Word {
    word(2, &[seen.drop.as_str().as_bytes(), seen.name.as_bytes(), &seen.digest])
}

/// The word for files with these bytes, followed by where their rows went.
pub(super) fn of_bytes(seen: &FileSeen) -> Word {
    word(3, &[&seen.digest])
}

/// The word for files with these bytes whose rows went to these places.
pub(super) fn of_places(seen: &FileSeen) -> Word {
    [of_bytes(seen).as_slice(), &seen.went[..16]].concat()
}

/// The word for versions of a file that grows, followed by their lengths and digests.
pub(super) fn of_series(seen: &FileSeen) -> Word {
    word(4, &[seen.drop.as_str().as_bytes(), &seen.series])
}

/// The word for the versions of a file with this length.
pub(super) fn of_length(seen: &FileSeen, bytes: u64) -> Word {
    [of_series(seen).as_slice(), &bytes.to_be_bytes()].concat()
}

/// The word for the version of a file with this length and digest.
pub(super) fn of_version(seen: &FileSeen, bytes: u64, digest: &[u8; 32]) -> Word {
    [of_length(seen, bytes).as_slice(), &digest[..16]].concat()
}

/// The words of a fact.
pub(super) fn words(body: &Body) -> Vec<Word> {
    if let Body::FileTaken(seen) = body {
        let version = of_version(seen, seen.bytes, &seen.digest);
        return vec![of_name(seen), of_itself(seen), of_places(seen), version];
    }
    if let Body::FileRefused(seen) = body { vec![of_itself(seen)] } else { Vec::new() }
}

/// What is open according to the facts up to one: jobs that were opened and not closed since, and alerts
/// that are not over.
const OPEN: &str = "SELECT f.kind, f.seq FROM fact f WHERE f.kind = 'job-opened' AND f.seq <= ?1
        AND NOT coalesce((SELECT s.kind = 'job-closed' FROM fact s
            WHERE s.job = f.seq AND s.kind IN ('job-closed', 'job-reopened') AND s.seq <= ?1
            ORDER BY s.seq DESC LIMIT 1), 0)
    UNION ALL SELECT f.kind, f.seq FROM fact f WHERE f.kind = 'alert-raised' AND f.seq <= ?1
        AND NOT EXISTS (SELECT 1 FROM fact s
            WHERE s.about = f.seq AND s.kind = 'alert-cleared' AND s.seq <= ?1)";

/// Facts, each with its kind.
type Facts = BTreeSet<(String, Seq)>;

fn facts(conn: &Connection, sql: &str, last: Seq) -> rusqlite::Result<Facts> {
    let mut statement = conn.prepare_cached(sql)?;
    let found = statement.query_map([int(last)], |row| {
        // A value that is not text is not a kind.
        Ok((row.get(0).unwrap_or_default(), row.get(1).map(seq)?))
    })?;
    found.collect()
}

/// What is open according to the table and according to the facts, where the two differ.
pub(super) struct Differs {
    by_table: Facts,
    by_facts: Facts,
}

impl Differs {
    /// Compares both, up to a fact.
    pub(super) fn look(conn: &Connection, last: Seq) -> rusqlite::Result<Option<Self>> {
        let table = "SELECT kind, fact FROM pending WHERE fact <= ?1 OR fact > 1 << 53";
        let by_table = facts(conn, table, last)?;
        let by_facts = facts(conn, OPEN, last)?;
        Ok((by_table != by_facts).then_some(Self { by_table, by_facts }))
    }

    /// The facts in which they differ.
    pub(super) fn facts(&self) -> impl Iterator<Item = Seq> + '_ {
        self.by_table.symmetric_difference(&self.by_facts).map(|(_, fact)| *fact)
    }

    /// Makes the table agree with the facts. An entry without a fact stays, because the fact is missing.
    pub(super) fn mend(&self, conn: &Connection) -> rusqlite::Result<()> {
        for (kind, fact) in self.by_facts.difference(&self.by_table) {
            conn.execute(OPENS, params![kind, int(*fact)])?;
        }
        let over = "DELETE FROM pending WHERE kind IS ?1 AND fact = ?2
            AND EXISTS (SELECT 1 FROM fact WHERE seq = ?2)";
        for (kind, fact) in self.by_table.difference(&self.by_facts) {
            conn.execute(over, params![kind, int(*fact)])?;
        }
        Ok(())
    }
}

/// Whether a fact is found by each of its words and by no other of this many.
pub(super) fn is_found(book: Book<'_>, row: &Row, count: &mut i64) -> Read<bool> {
    let mut all = true;
    let sql = "SELECT EXISTS (SELECT 1 FROM found WHERE word = ?1 AND fact = ?2)";
    let mut statement = book.conn.prepare_cached(sql)?;
    for word in words(&row.body) {
        *count += 1;
        all &= statement.query_row(params![word, int(row.seq)], |row| row.get::<_, bool>(0))?;
    }
    Ok(all)
}
