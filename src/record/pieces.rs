//! Long checks of a record that is still being written, one piece at a time.
//!
//! While a reader works, everything written stays in the log, which grows. So a check that may take minutes
//! consists of many short moments, with a rest after each in which the log can be moved and begun again.
//! Each moment sees one state of the record, but different moments see different states. They still give
//! one result because rows are only added and never changed: everything up to the newest row of the first
//! moment is the same at every later one.
//!
//! Where nobody writes there are no rests.

use std::time::{Duration, Instant};

use super::read::{Book, Read};

/// A moment ends after this time, as far as this code can end it.
const MOMENT: Duration = Duration::from_millis(30);
/// The rest after a moment: longer than the pause between two tries of the thread that moves the log, and
/// its move.
const REST: Duration = Duration::from_millis(6);
/// How many numbers a piece spans: the rows of a table with them are checked in a few milliseconds.
const SPAN: i64 = 1 << 14;

/// The first and the last key of a piece.
pub(super) type Span = (i64, i64);

/// A record that is checked in pieces.
#[derive(Clone, Copy)]
pub(super) struct Pieces<'a> {
    pub(super) book: Book<'a>,
    /// Whether others may write it.
    grows: bool,
}

impl<'a> Pieces<'a> {
    /// A record that nobody writes meanwhile.
    pub(super) const fn still(book: Book<'a>) -> Self {
        Self { book, grows: false }
    }

    /// A record that may be written meanwhile.
    pub(super) const fn growing(book: Book<'a>) -> Self {
        Self { book, grows: true }
    }

    /// Reads one state of the record, then rests.
    pub(super) fn moment<T>(self, look: impl FnOnce(Book<'a>) -> Read<T>) -> Read<T> {
        if !self.book.conn.is_autocommit() {
            return look(self.book);
        }
        let snapshot = self.book.conn.unchecked_transaction()?;
        let found = look(self.book)?;
        snapshot.finish()?;
        if self.grows {
            std::thread::sleep(REST);
        }
        Ok(found)
    }

    /// Reads as many as fit into a moment; an empty list at the end. They are used outside the moment.
    pub(super) fn some<T, F>(
        self,
        items: &mut impl Iterator<Item = T>,
        mut read: impl FnMut(Book<'a>, T) -> F,
    ) -> Read<Vec<F>> {
        self.moment(|book| {
            let (began, mut found) = (Instant::now(), Vec::new());
            while found.is_empty() || began.elapsed() < MOMENT {
                let Some(item) = items.next() else { break };
                found.push(read(book, item));
            }
            Ok(found)
        })
    }

    /// Handles one after the other.
    pub(super) fn each<T>(
        self,
        items: impl IntoIterator<Item = T>,
        mut look: impl FnMut(Book<'a>, T) -> Read<()>,
    ) -> Read<()> {
        let mut items = items.into_iter();
        loop {
            let looked = self.some(&mut items, &mut look)?;
            if looked.is_empty() {
                return Ok(());
            }
            looked.into_iter().collect::<Read<()>>()?;
        }
    }

    /// Reads a table by its whole numbers in `key`, whatever they are, including those added meanwhile.
    pub(super) fn spans(
        self,
        (table, key): (&str, &str),
        mut look: impl FnMut(Book<'a>, Span) -> Read<()>,
    ) -> Read<()> {
        let sql = format!("SELECT min({key}) FROM {table} WHERE {key} >= ?1");
        let mut from = Some(i64::MIN);
        while from.is_some() {
            self.moment(|book| {
                let mut first = book.conn.prepare_cached(&sql)?;
                let began = Instant::now();
                while let Some(at) = from.take() {
                    let Some(first) = first.query_row([at], |row| row.get::<_, Option<i64>>(0))?
                    else {
                        break;
                    };
                    let last = first.saturating_add(SPAN - 1);
                    look(book, (first, last))?;
                    from = last.checked_add(1);
                    if began.elapsed() >= MOMENT {
                        break;
                    }
                }
                Ok(())
            })?;
        }
        Ok(())
    }
}
