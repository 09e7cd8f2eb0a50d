//! Long looks at a record that goes on being written, a piece at a time.
//!
//! As long as somebody reads, what is written meanwhile stays in the log, which then grows. So a look
//! that may take minutes has many short moments, with a rest after each in which the log can be moved
//! and begun anew. Each moment is one state of the record; several are not. What makes them one look:
//! rows are only ever added and never changed, so that all up to a row that was the newest at the first
//! moment is the same at every later one.
//!
//! What is absent: rests where nobody writes.

use std::time::{Duration, Instant};

use super::read::{Book, Read};

/// A moment is over after so long, as far as it is up to us.
const MOMENT: Duration = Duration::from_millis(30);
/// The rest after one: longer than the thread that moves the log waits between two tries, and moves.
const REST: Duration = Duration::from_millis(6);
/// Numbers of a piece: what a table has of them is looked at in some milliseconds.
const SPAN: i64 = 1 << 14;

/// The first and the last key of a piece.
pub(super) type Span = (i64, i64);

/// A record that is looked at in pieces.
#[derive(Clone, Copy)]
pub(super) struct Pieces<'a> {
    pub(super) book: Book<'a>,
    /// Others may write it.
    grows: bool,
}

impl<'a> Pieces<'a> {
    /// Of a record that nobody writes meanwhile.
    pub(super) const fn still(book: Book<'a>) -> Self {
        Self { book, grows: false }
    }

    /// Of a record that may be written.
    pub(super) const fn growing(book: Book<'a>) -> Self {
        Self { book, grows: true }
    }

    /// Looks at one state of the record, and rests.
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

    /// Reads of as many as fit into a moment; none at the end. What is done with it needs no moment.
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

    /// Looks at one after the other.
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

    /// Looks at a table by its whole numbers in `key`, whatever these are; what is added meanwhile is
    /// looked at, too.
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
