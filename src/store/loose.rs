//! Rows that are read one after the other, since there may be more of them than the memory holds.

use std::collections::BTreeMap;
use std::sync::Arc;

use rusqlite::CachedStatement;

use super::compact;
use super::pieces::Span;
use super::read::{
    Book, Head, Read, SqlRow, Which, alert_row, alert_step_row, damaged, file_row, placed, step_row,
};
use super::write::seq;
use bench::row::Body;
use bench::{Bench, Row, Seq};

/// Tables of rows that belong to no job, alerts and files of any job among them, and which of their rows
/// those are: there may be more of them than the memory holds.
pub(super) const LOOSE: [(&str, &str); 4] = [
    ("alert", "true"),
    ("alert_step", "true"),
    ("file", "true"),
    ("step", "kind IN ('started', 'job-active', 'person', 'check-active', 'job-closed')"),
];

impl Book<'_> {
    /// A piece of one of the tables of [`LOOSE`], a damaged row as its error.
    pub(super) fn each_loose(
        self,
        (table, only): (&str, &str),
        (first, last): Span,
        take: &mut dyn FnMut(Read<Row>) -> Read<()>,
    ) -> Read<()> {
        let decode = match table {
            "alert" => alert_row,
            "alert_step" => alert_step_row,
            "file" => file_row,
            _ => step_row,
        };
        let sql = format!("SELECT * FROM {table} WHERE seq BETWEEN ?1 AND ?2 AND {only}");
        self.each(&sql, [first, last], decode, take)
    }

    /// A piece of the readings of no job.
    pub(super) fn each_stray_reading(
        self,
        (first, last): Span,
        take: &mut dyn FnMut(Read<Row>) -> Read<()>,
    ) -> Read<()> {
        let sql = compact::readings_of_no_job();
        self.each(&sql, [first, last], compact::reading, take)
    }

    /// The rows of a block that begins with `first`, in any order, a damaged one as its error.
    pub(super) fn each_between(
        self,
        first: Seq,
        take: &mut dyn FnMut(Read<Row>) -> Read<()>,
    ) -> Read<()> {
        let span = "seq BETWEEN ?1 AND (?1 / 256) * 256 + 255";
        let which = Which(span, super::write::int(first));
        for row in self.of_jobs(which)? {
            take(Ok(row))?;
        }
        let readings = compact::readings_between();
        self.each(&readings, [which.1], compact::reading, take)?;
        let of = |table: &str| format!("SELECT * FROM {table} WHERE {span}");
        self.each(&of("alert"), [which.1], alert_row, take)?;
        self.each(&of("alert_step"), [which.1], alert_step_row, take)?;
        self.each(&of("file"), [which.1], file_row, take)?;
        let steps = format!("{} AND kind <> 'job-reopened'", of("step"));
        self.each(&steps, [which.1], step_row, take)?;
        self.each_reopened(which, take)
    }

    /// Rows one after the other, a damaged one as its error.
    fn each(
        self,
        sql: &str,
        values: impl rusqlite::Params,
        decode: impl Fn(&SqlRow<'_>) -> Read<Row>,
        take: &mut dyn FnMut(Read<Row>) -> Read<()>,
    ) -> Read<()> {
        let mut statement: CachedStatement<'_> = self.conn.prepare_cached(sql)?;
        let mut rows = statement.query(values)?;
        while let Some(row) = rows.next()? {
            take(decode(row).map_err(|error| placed(error, row)))?;
        }
        Ok(())
    }

    /// Reopenings, each with the job as it was then.
    pub(super) fn reopened(self, which: Which<'_>, rows: &mut Vec<Row>) -> Read<()> {
        self.each_reopened(which, &mut |row| row.map(|row| rows.push(row)))
    }

    /// Reopenings, each with the job as it was then, or as an error.
    pub(super) fn each_reopened(
        self,
        which: Which<'_>,
        take: &mut dyn FnMut(Read<Row>) -> Read<()>,
    ) -> Read<()> {
        let sql = format!("SELECT * FROM step WHERE kind = 'job-reopened' AND {}", which.0);
        let found = self.select(&sql, which.1, |row| Ok((Head::of(row)?, seq(row.get("job")?))))?;
        let mut of_job: BTreeMap<Seq, BTreeMap<Seq, Head>> = BTreeMap::new();
        for (head, job) in found {
            of_job.entry(job).or_default().insert(head.id, head);
        }
        for (job, reopenings) in of_job {
            // One way through the job, with a look at it where it was opened again.
            let own = match self.job_rows(job) {
                Ok(own) => own,
                Err(error) => {
                    take(Err(error))?;
                    continue;
                }
            };
            let mut own = own.iter().peekable();
            let mut bench = Bench::default();
            for (id, head) in reopenings {
                while let Some(row) = own.next_if(|row| row.seq < id) {
                    bench.apply(row);
                }
                let restored = bench.jobs.get(&job).map(Arc::clone);
                let restored =
                    restored.ok_or_else(|| damaged(id, format!("job {job} was never opened")));
                let reopened = |restored| Row {
                    restored: Some(restored),
                    ..head.row(Body::JobReopened { job })
                };
                take(restored.map(reopened))?;
            }
        }
        Ok(())
    }
}
