//! A record that is made of stored rows: all of a bench in a new file, or some of them in memory, so that
//! every question to a record can be asked of them.

use std::collections::BTreeMap;
use std::fs::File;
use std::os::unix::fs::DirBuilderExt as _;
use std::path::{Path, PathBuf};

use rusqlite::{Connection, OpenFlags, params};

use super::{Beside, Chain, StoredRow, StoredSeal};
use crate::folder::failed;
use crate::owner::Owner;
use crate::papers::{self, PaperWrong};
use crate::read::{Book, ParsePlan, Shared, parse_pinned};
use crate::write::{Pen, int};
use crate::{FeedOrigin, PaperFact, Reader, StoreError, backup, folder, pending, schema};
use bench::Seq;
use bench::row::Paper;

/// The bytes of pictures and papers, by the names that their files have on a bench.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PapersAtHand(pub BTreeMap<String, Vec<u8>>);

impl PapersAtHand {
    /// The bytes of a paper, if they are the ones that were attached.
    pub(crate) fn bytes(&self, paper: &Paper) -> Result<Vec<u8>, PaperWrong> {
        let bytes = self.0.get(&paper.kept_as()).ok_or(PaperWrong::Missing)?;
        papers::are(bytes, paper).map(|()| bytes.clone())
    }
}

/// A record in the making.
#[derive(Debug)]
pub struct Made {
    conn: Connection,
    path: PathBuf,
    owner: Owner,
}

/// A folder in a state folder, in which a record is made before it takes the place of the one that is there.
const MAKING: &str = ".from-shop";

impl Made {
    /// Begins one in memory, for some rows of a bench; errors call it `name`.
    ///
    /// # Errors
    /// No memory.
    pub fn in_memory(name: &str) -> Result<Self, StoreError> {
        let mut conn = Connection::open_in_memory()?;
        schema::make(&mut conn)?;
        Ok(Self { conn, path: PathBuf::from(name), owner: Owner::SELF })
    }

    /// Makes room for a record that is to be restored into a state folder: the file to make it in, which is not
    /// there yet. What an earlier try left is removed.
    ///
    /// # Errors
    /// A service works with the folder, or the system refuses.
    pub fn room_in(state: &Path) -> Result<PathBuf, StoreError> {
        folder::make(state)?;
        let owner = Owner::of_folder(state)?;
        let _as_owner = owner.assumed()?;
        // Nothing is fetched for a folder that a service works with.
        drop(folder::FolderLock::take(state)?);
        let at = state.join(MAKING);
        Self::cleared(&at)?;
        std::fs::DirBuilder::new().mode(0o700).create(&at).map_err(failed("make", &at))?;
        Ok(at.join("record.db"))
    }

    /// Removes that room with everything in it.
    ///
    /// # Errors
    /// The system refuses.
    pub fn room_cleared(state: &Path) -> Result<(), StoreError> {
        let _as_owner = Owner::of_folder(state)?.assumed()?;
        Self::cleared(&state.join(MAKING))
    }

    fn cleared(at: &Path) -> Result<(), StoreError> {
        match std::fs::remove_dir_all(at) {
            Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
                Err(failed("remove", at)(error))
            }
            Ok(()) | Err(_) => Ok(()),
        }
    }

    /// Begins one in a new file, for all rows of a bench. It is a record when [`Made::finished`] returns.
    ///
    /// # Errors
    /// The file is there already, or the system refuses.
    pub fn in_file(path: &Path) -> Result<Self, StoreError> {
        if folder::is_there(path)? {
            return Err(failed("make", path)(std::io::ErrorKind::AlreadyExists.into()));
        }
        let owner = Owner::of_new_file(path)?;
        let _as_owner = owner.assumed()?;
        folder::make_database(path)?;
        let mut conn = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
        // Half a file is thrown away, so nothing has to be kept of it on the way.
        conn.pragma_update(None, "journal_mode", "OFF")?;
        conn.pragma_update(None, "synchronous", "OFF")?;
        schema::make(&mut conn)?;
        Ok(Self { conn, path: path.to_owned(), owner })
    }

    /// Adds rows with what stands beside them. No row may come twice; what stands beside them may.
    ///
    /// # Errors
    /// The rows do not fit the tables, or the system refuses.
    pub fn take(&mut self, rows: &[StoredRow], beside: &Beside) -> Result<(), StoreError> {
        let tx = self.conn.transaction()?;
        let mut pen = Pen::new(&tx, 0, false);
        pen.stored(rows)?;
        drop(pen);
        self::beside(&tx, beside)?;
        Ok(tx.commit()?)
    }

    /// Adds seals of blocks, as they are stored.
    ///
    /// # Errors
    /// The system refuses.
    pub fn seals(&mut self, seals: &[StoredSeal]) -> Result<(), StoreError> {
        let sql = "INSERT OR IGNORE INTO seal (block, seal, tags) VALUES (?1, ?2, ?3)";
        for StoredSeal { block, seal, tags } in seals {
            self.conn.prepare_cached(sql)?.execute(params![block, seal, tags])?;
        }
        Ok(())
    }

    /// The end of the record: its newest row and the seal after it, whether or not that row is here.
    fn end(&self, last: Seq, head: [u8; 32], tags: &[u8]) -> Result<(), StoreError> {
        let sql = "UPDATE counter SET last = ?1, head = ?2, tags = ?3,
            feed = (SELECT coalesce(max(line), 0) FROM fact WHERE line IS NOT NULL)";
        self.conn.execute(sql, params![int(last), head, tags])?;
        Ok(())
    }

    /// A record to ask, of the rows that are here. `last` is the newest row of the bench and `head` the seal
    /// after it, which reports print.
    ///
    /// # Errors
    /// The rows cannot be read.
    pub fn opened(
        self,
        (last, head): (Seq, [u8; 32]),
        papers: PapersAtHand,
    ) -> Result<Reader, StoreError> {
        self.opened_with((last, head), papers, parse_pinned)
    }

    /// The same with another reader of plans.
    pub(crate) fn opened_with(
        self,
        (last, head): (Seq, [u8; 32]),
        papers: PapersAtHand,
        parse: ParsePlan,
    ) -> Result<Reader, StoreError> {
        self.end(last, head, &[])?;
        let shared = Shared::new(parse);
        pending::made(Book { conn: &self.conn, shared: &shared })?;
        Ok(Reader::in_memory(self.conn, (self.path, parse), papers))
    }

    /// The pictures and papers that its facts name, each once.
    ///
    /// # Errors
    /// The rows cannot be read.
    pub fn papers(&self) -> Result<Vec<PaperFact>, StoreError> {
        let shared = Shared::new(parse_pinned);
        let facts = papers::Facts::read(Book { conn: &self.conn, shared: &shared })?;
        Ok(facts.files().cloned().collect())
    }

    /// Keeps the bytes of a picture or a paper beside the file. Other bytes than those that were attached are
    /// not kept.
    ///
    /// # Errors
    /// The system refuses.
    pub fn keep(&self, paper: &Paper, bytes: &[u8]) -> Result<Result<(), PaperWrong>, StoreError> {
        if let Err(wrong) = papers::are(bytes, paper) {
            return Ok(Err(wrong));
        }
        let _as_owner = self.owner.assumed()?;
        papers::put(&papers::folder_of(&self.path), &mut &*bytes, paper)?;
        Ok(Ok(()))
    }

    /// Makes the file a whole record, which ends where the chain of its rows does, and waits until it is on
    /// disk. `parse` reads plans.
    ///
    /// # Errors
    /// The rows cannot be read, or the system refuses.
    pub fn finished(self, chain: &Chain, parse: ParsePlan) -> Result<(), StoreError> {
        let _as_owner = self.owner.assumed()?;
        self.end(chain.last(), chain.head(), chain.tags())?;
        let shared = Shared::new(parse);
        pending::made(Book { conn: &self.conn, shared: &shared })?;
        FeedOrigin::begin_anew(&self.conn)?;
        self.conn.close().map_err(|(_, error)| error)?;
        let file = File::open(&self.path).and_then(|file| file.sync_all());
        file.map_err(failed("write", &self.path))?;
        backup::sync_folder(self.path.parent().unwrap_or_else(|| Path::new(".")))
    }
}

/// Adds what stands beside rows.
fn beside(conn: &Connection, beside: &Beside) -> rusqlite::Result<()> {
    let sql = "INSERT OR IGNORE INTO pinned (digest, text) VALUES (?1, ?2)";
    for one in &beside.texts {
        conn.prepare_cached(sql)?.execute(params![one.digest, one.text])?;
    }
    let sql = "INSERT OR IGNORE INTO caller (first, last, uid, pid, login, elsewhere, sum)
        VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)";
    for one in &beside.callers {
        let values =
            params![one.first, one.last, one.uid, one.pid, one.login, one.elsewhere, one.sum];
        conn.prepare_cached(sql)?.execute(values)?;
    }
    let sql = "INSERT OR IGNORE INTO import (job, wall, digest, sum) VALUES (?1, ?2, ?3, ?4)";
    for one in &beside.imports {
        conn.prepare_cached(sql)?.execute(params![one.job, one.wall, one.digest, one.sum])?;
    }
    let sql = "INSERT OR IGNORE INTO import_run (first, last, was, job) VALUES (?1, ?2, ?3, ?4)";
    for one in &beside.runs {
        conn.prepare_cached(sql)?.execute([one.first, one.last, one.was, one.job])?;
    }
    Ok(())
}
