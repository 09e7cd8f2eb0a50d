//! Acknowledged rows that are missing, and a record that begins.

use rusqlite::TransactionBehavior;

use super::feed::FeedOrigin;
use super::newest::Mark;
use super::seals::{self, Ink};
use super::write::{int, seq};
use super::writer::Store;
use super::{StoreError, counters, fact};
use bench::event::StorageNews;
use bench::row::Subject;
use bench::{Row, Seq};
use quantity::Wall;

/// When the newest fact happened.
const NEWEST: &str =
    "SELECT coalesce(max(wall), 0) FROM fact WHERE seq = (SELECT max(seq) FROM fact)";

/// Losses, the oldest first.
const LOSSES: &str = "SELECT first, last, since, until FROM lost ORDER BY first";

/// Whether an alert was raised for a loss.
const IS_TOLD: &str = "SELECT EXISTS (SELECT 1 FROM fact WHERE kind = 'alert-raised' AND key = ?1)";

impl Store {
    /// The news of a new record. `before` is what the folder shows of an earlier one.
    pub(super) fn begun(&mut self, before: Option<Mark>) -> Vec<StorageNews> {
        self.newest.begin_anew();
        let before = before.filter(|mark| mark.last > Seq(0));
        let before =
            before.map(|mark| format!("row {} of {} UTC", mark.last, mark.wall.to_the_second()));
        vec![StorageNews::Begun { before }]
    }

    /// Compares the end of the record with what was acknowledged, stores what is missing, and returns the
    /// losses that nobody was told of yet. `rows` are those from which a bench is rebuilt.
    pub(super) fn missing(
        &mut self,
        mark: Option<Mark>,
        rows: &[Row],
    ) -> Result<Vec<StorageNews>, StoreError> {
        if let Some(mark) =
            mark.filter(|mark| mark.last > self.end.last && counters::is_near(*mark))
        {
            self.write_down(mark, rows)?;
        }
        let mut losses = self.conn.prepare(LOSSES)?;
        let mut losses = losses.query([])?;
        let mut untold = Vec::new();
        while let Some(row) = losses.next()? {
            let number = |at: usize| row.get::<_, i64>(at).ok();
            // A value that is not a number is found by its seal.
            let [Some(first), Some(last), Some(since), Some(until)] = [0, 1, 2, 3].map(number)
            else {
                continue;
            };
            let (first, last) = (seq(first), seq(last));
            let about = fact::subject_text(&Subject::Rows { first, last });
            if !self.conn.query_row(IS_TOLD, [about], |row| row.get(0))? {
                let times = [since, until].map(Wall::from_micros);
                untold.push(lost((first, last), times.into()));
            }
        }
        Ok(untold)
    }

    /// The missing numbers are left out. Lines of the feed are missing too, so the feed is another one from
    /// here on.
    fn write_down(&mut self, mark: Mark, rows: &[Row]) -> Result<(), StoreError> {
        let mut end = self.end.clone();
        let tx = self.conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let newest: i64 = tx.query_row(NEWEST, [], |row| row.get(0))?;
        let since = rows.iter().map(|row| row.at.wall.micros()).chain([newest]).max();
        let first = end.last.next();
        let since = since.unwrap_or_default();
        let loss = [int(first), int(mark.last), since, mark.wall.micros()];
        let mut ink = Ink::default();
        seals::loss(&mut ink, loss);
        end.seals.take(&ink);
        end.seals.move_to(mark.last);
        end.last = mark.last;
        end.write(&tx)?;
        tx.execute("INSERT INTO lost (first, last, since, until) VALUES (?1, ?2, ?3, ?4)", loss)?;
        if mark.feed > end.feed {
            FeedOrigin::begin_anew(&tx)?;
        }
        tx.commit()?;
        self.end = end;
        self.feed_origin = FeedOrigin::made_sure(&self.conn)?;
        Ok(())
    }
}

fn lost((first, last): (Seq, Seq), (since, until): (Wall, Wall)) -> StorageNews {
    let count = last.0.saturating_sub(first.0) + 1;
    let rows = if count == 1 {
        "1 row that was stored is".into()
    } else {
        format!("{count} rows that were stored are")
    };
    let why = format!(
        "{rows} missing at the end of the record, from after {} UTC to {} UTC: the log beside the database is damaged, \
         or another copy was put in its place. Measure again what is missing",
        since.to_the_second(),
        until.to_the_second()
    );
    StorageNews::Lost { rows: (first, last), why }
}
