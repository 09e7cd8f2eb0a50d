//! Reads rows from the tables.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use rusqlite::{Connection, OptionalExtension};

use super::write::{int, seq};
use super::{StoreError, compact, fact, handover, query};
use bench::plan::{PinnedPlan, Plan};
use bench::row::{Body, Piece, Pin};
use bench::{Bench, Row, Seq};
use quantity::{Name, hexadecimal};

/// Reads the text of a pinned plan; the error says what is wrong with it.
pub use bench::ParsePlan;

/// Reads a pinned plan as the configuration reads plans.
pub(super) fn parse_pinned(text: &str) -> Result<Plan, String> {
    config::parse_plan(text, "its plan").map_err(|findings| {
        let findings: Vec<String> = findings.iter().map(ToString::to_string).collect();
        findings.join("; ")
    })
}

/// Plans and settings that were already read: many rows share one.
pub(super) struct Shared {
    parse: ParsePlan,
    /// Facts that many answers share.
    pub(super) known: query::Known,
    plans: RefCell<BTreeMap<String, Arc<PinnedPlan>>>,
    pins: RefCell<BTreeMap<String, Arc<Pin>>>,
    /// What answers about several jobs left out, until it is reported.
    left_out: RefCell<Vec<SetAside>>,
}

impl Shared {
    pub(super) const fn new(parse: ParsePlan) -> Self {
        let plans = RefCell::new(BTreeMap::new());
        let known = query::Known::new();
        let pins = RefCell::new(BTreeMap::new());
        Self { parse, known, plans, pins, left_out: RefCell::new(Vec::new()) }
    }

    pub(super) const fn parse(&self) -> ParsePlan {
        self.parse
    }

    /// What was left out of answers since the last call.
    pub(super) fn left_out(&self) -> Vec<SetAside> {
        self.left_out.take()
    }
}

/// A piece of the record that cannot be read at start, and is left out until the record is mended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SetAside {
    /// What it is.
    pub what: Piece,
    /// The message: table, row and what is wrong with it.
    pub why: String,
}

/// An open database, read as rows.
#[derive(Clone, Copy)]
pub(super) struct Book<'a> {
    pub(super) conn: &'a Connection,
    pub(super) shared: &'a Shared,
}

pub(super) type Read<T> = Result<T, StoreError>;
pub(super) type SqlRow<'a> = rusqlite::Row<'a>;

pub(super) fn damaged(row: Seq, what: impl Into<String>) -> StoreError {
    StoreError::Damaged { row, what: what.into() }
}

/// The value a stored word stands for.
pub(super) fn known<T>(row: Seq, what: &str, text: &str, found: Option<T>) -> Read<T> {
    found.ok_or_else(|| damaged(row, format!("{what} {text:?}")))
}

pub(super) fn name(row: Seq, text: &str) -> Read<Name> {
    Name::new(text).map_err(|error| damaged(row, format!("name {text:?}: {error}")))
}

pub(super) fn number<T: TryFrom<i64>>(row: Seq, what: &str, value: i64) -> Read<T> {
    T::try_from(value).map_err(|_| damaged(row, format!("{what} {value}")))
}

/// A column with a wrong value is damage to its row, not to the whole database.
pub(super) fn placed(error: StoreError, row: &SqlRow<'_>) -> StoreError {
    placed_at(error, row.get("seq").map_or(Seq(0), seq))
}

/// The same, where the number of the row is already known.
#[expect(clippy::wildcard_enum_match_arm, reason = "all other errors are told as they are")]
pub(super) fn placed_at(error: StoreError, id: Seq) -> StoreError {
    use rusqlite::Error::{
        FromSqlConversionFailure, IntegralValueOutOfRange, InvalidColumnType, QueryReturnedNoRows,
        Utf8Error,
    };
    match &error {
        StoreError::Database(
            column @ (FromSqlConversionFailure(..)
            | IntegralValueOutOfRange(..)
            | InvalidColumnType(..)
            | Utf8Error(..)),
        ) => damaged(id, column.to_string()),
        StoreError::Database(QueryReturnedNoRows) => {
            damaged(id, "something that it points to is missing")
        }
        _ => error,
    }
}

pub(super) fn reference(row: &SqlRow<'_>, column: &str) -> Read<Option<Seq>> {
    Ok(row.get::<_, Option<i64>>(column)?.map(seq))
}

/// Facts that do not change the job itself: what a station worked on, closings and reopenings, boots and
/// alerts.
const BESIDE: &str = "('started', 'job-active', 'job-closed', 'job-reopened', 'alert-raised')";

impl Book<'_> {
    /// All rows, in order.
    pub(super) fn all_rows(self) -> Read<Vec<Row>> {
        let mut rows = self.facts("TRUE", [])?;
        rows.extend(self.select(compact::READINGS, [], compact::reading)?);
        rows.sort_by_key(|row| row.seq);
        self.restore(&mut rows)?;
        Ok(rows)
    }

    /// Adds the table of the damaged row to an error.
    pub(super) fn named(self, error: StoreError) -> StoreError {
        let StoreError::Damaged { row, what } = error else { return error };
        StoreError::DamagedIn { table: self.table_of(row), row, what }
    }

    /// The table of a row, if the row exists.
    pub(super) fn table_of(self, row: Seq) -> &'static str {
        let sql = "SELECT EXISTS (SELECT 1 FROM fact WHERE seq = ?1)";
        let is_fact = self.conn.query_row(sql, [int(row)], |row| row.get(0)).unwrap_or(true);
        if is_fact { "fact" } else { "reading" }
    }

    /// The rows from which a bench is rebuilt: open jobs, stations, open alerts, the boot. A job or an
    /// alert that cannot be read is set aside.
    pub(super) fn open_rows(self) -> Read<(Vec<Row>, Vec<SetAside>)> {
        let (mut rows, mut aside) = (Vec::new(), Vec::new());
        let mut take = |read: Read<Vec<Row>>, what: &dyn Fn() -> Piece| match read {
            Ok(read) => {
                rows.extend(read);
                Ok(())
            }
            Err(error) if error.passes() => Err(error),
            Err(error) => {
                aside.push(SetAside { what: what(), why: self.named(error).to_string() });
                Ok(())
            }
        };
        let open = "SELECT p.fact, f.seq IS NOT NULL, p.kind = 'alert-raised' FROM pending p
            LEFT JOIN fact f ON f.seq = p.fact";
        let open: Vec<(Seq, bool, bool)> =
            self.select(open, [], |row| Ok((seq(row.get(0)?), row.get(1)?, row.get(2)?)))?;
        for (fact, is_there, is_alert) in open {
            match (is_there, is_alert) {
                (false, _) => take(Err(damaged(fact, "it is missing")), &|| Piece::Row(fact))?,
                (true, true) => take(self.alert_rows(fact), &|| Piece::Alert(fact))?,
                (true, false) => take(self.job_rows(fact), &|| self.piece_of(fact))?,
            }
        }
        let newest = "SELECT max(seq) FROM fact
            WHERE kind = 'job-active' OR kind = 'person' OR kind = 'check-active' GROUP BY key, kind
            UNION SELECT max(seq) FROM fact WHERE kind = 'started' AND job IS NULL
            HAVING max(seq) IS NOT NULL";
        for fact in self.select(newest, [], |row| Ok(seq(row.get(0)?)))? {
            // Without it the station has no job in use; a person sees that and can correct it.
            take(self.facts("seq = ?1", [int(fact)]), &|| Piece::Stations)?;
        }
        for fact in self.shop_facts()? {
            // Without it the gauge has one proof less, or a name its entry before.
            take(self.facts("seq = ?1", [int(fact)]), &|| Piece::Stations)?;
        }
        take(self.lifts_under_way(), &|| Piece::Stations)?;
        // What a damaged one showed is missed: the others show the same.
        for fact in self.newest_of_gauges()? {
            take(self.facts("seq = ?1", [int(fact)]), &|| Piece::Row(fact))?;
        }
        rows.extend(handover::came_along(self)?);
        rows.sort_by_key(|row| row.seq);
        Ok((rows, aside))
    }

    /// The newest proofs of each gauge, as many as a bench has at hand, those under way, and the entries of
    /// the register.
    fn shop_facts(self) -> Read<Vec<Seq>> {
        const SHOP: &str = "SELECT seq FROM (SELECT seq, kind,
                row_number() OVER (PARTITION BY key, kind ORDER BY seq DESC) AS nth
            FROM fact WHERE kind = 'proved' OR kind = 'registered')
            WHERE nth <= iif(kind = 'proved', ?1, 1)
            UNION SELECT max(seq) FROM fact WHERE kind = 'proof-began' OR kind = 'proved'
            GROUP BY key HAVING max(seq) IS NOT NULL";
        let at_hand = i64::try_from(bench::proofs::PROOFS_AT_HAND).unwrap_or(i64::MAX);
        self.select(SHOP, [at_hand], |row| Ok(seq(row.get(0)?)))
    }

    /// The touches of proofs under way, and those of them that were taken back.
    fn lifts_under_way(self) -> Read<Vec<Row>> {
        const OPEN: &str = "SELECT max(seq) FROM fact WHERE kind = 'proof-began' OR kind = 'proved'
            GROUP BY key HAVING max(seq) IS NOT NULL";
        let mut rows = Vec::new();
        for fact in self.select(OPEN, [], |row| Ok(seq(row.get(0)?)))? {
            let Body::ProofBegan(began) = self.fact(fact)?.body else { continue };
            let its =
                format!("{} WHERE t.job = 0 AND t.nth > ?1 AND f.gauge = ?2", compact::READINGS);
            let gauge = began.gauge.name.as_str();
            for row in self.select(&its, rusqlite::params![int(fact), gauge], compact::reading)? {
                let marks = "about = ?1 AND kind = 'marked' AND job IS NULL";
                rows.extend(self.facts(marks, [int(row.seq)])?);
                rows.push(row);
            }
        }
        Ok(rows)
    }

    /// What was seen last of the repeatability of each gauge.
    fn newest_of_gauges(self) -> Read<Vec<Seq>> {
        let gauges = "SELECT DISTINCT key FROM fact WHERE kind = 'repeated'";
        let gauges: Vec<String> = self.select(gauges, [], |row| Ok(row.get(0)?))?;
        let newest = "SELECT seq FROM fact WHERE kind = 'repeated' AND key = ?1
            ORDER BY seq DESC LIMIT ?2";
        let most = i64::try_from(bench::NEWEST).unwrap_or(i64::MAX);
        let mut found = Vec::new();
        for gauge in gauges {
            let values = rusqlite::params![gauge, most];
            found.extend(self.select(newest, values, |row| Ok(seq(row.get(0)?)))?);
        }
        Ok(found)
    }

    /// Leaves a damaged job out of an answer and reports it; every other error is returned.
    pub(super) fn leave_out(self, job: Option<Seq>, error: StoreError) -> Read<()> {
        if error.passes() {
            return Err(error);
        }
        let what = job.map_or(Piece::Elsewhere, |job| self.piece_of(job));
        let aside = SetAside { what, why: self.named(error).to_string() };
        let mut left_out = self.shared.left_out.borrow_mut();
        if !left_out.iter().any(|known| known.why == aside.why) {
            left_out.push(aside);
        }
        Ok(())
    }

    /// A job that cannot be read, by its name if that can be read.
    fn piece_of(self, job: Seq) -> Piece {
        let sql = "SELECT key FROM fact WHERE seq = ?1 AND kind = 'job-opened'";
        let name = self.conn.query_row(sql, [int(job)], |row| row.get::<_, String>(0));
        let name = name.ok().and_then(|name| Name::new(&name).ok());
        name.map_or(Piece::Row(job), Piece::Job)
    }

    /// The rows of one job, in order, from the one that opened it. Left out are what a station worked on,
    /// closings and reopenings: they do not change the job itself.
    pub(super) fn job_rows(self, job: Seq) -> Read<Vec<Row>> {
        let its = format!("job = ?1 AND kind NOT IN {BESIDE}");
        let mut rows = self.facts(&its, [int(job)])?;
        let readings = format!("{} WHERE t.job = ?1", compact::READINGS);
        rows.extend(self.select(&readings, [int(job)], compact::reading)?);
        rows.sort_by_key(|row| row.seq);
        belong_together(job, &rows)?;
        Ok(rows)
    }

    /// The number of the newest row of a job.
    pub(super) fn newest_row(self, job: Seq) -> Read<Seq> {
        let sql = "SELECT max(?1, coalesce((SELECT max(seq) FROM fact WHERE job = ?1), 0),
            ?1 + coalesce((SELECT max(nth) FROM reading WHERE job = ?1), 0))";
        Ok(self.conn.query_row(sql, [int(job)], |row| row.get(0).map(seq))?)
    }

    /// An alert with its later rows.
    fn alert_rows(self, alert: Seq) -> Read<Vec<Row>> {
        let mut rows = self.facts("seq = ?1", [int(alert)])?;
        rows.extend(self.facts("about = ?1 AND kind <> 'marked'", [int(alert)])?);
        Ok(rows)
    }

    /// The facts that match a condition. A reopening comes without the state of the job.
    pub(super) fn facts(self, which: &str, values: impl rusqlite::Params) -> Read<Vec<Row>> {
        let sql = format!("SELECT * FROM fact WHERE {which}");
        self.select(&sql, values, |row| fact::row(self, row))
    }

    /// The fact with a number.
    pub(super) fn fact(self, id: Seq) -> Read<Row> {
        let found = self.facts("seq = ?1", [int(id)])?.pop();
        found.ok_or_else(|| damaged(id, "the fact with this number is missing"))
    }

    pub(super) fn select<T>(
        self,
        sql: &str,
        values: impl rusqlite::Params,
        mut decode: impl FnMut(&SqlRow<'_>) -> Read<T>,
    ) -> Read<Vec<T>> {
        let mut statement = self.conn.prepare_cached(sql)?;
        let mut rows = statement.query(values)?;
        let mut found = Vec::new();
        while let Some(row) = rows.next()? {
            found.push(decode(row).map_err(|error| placed(error, row))?);
        }
        Ok(found)
    }

    /// Adds to each reopening the state of the job at that time.
    pub(super) fn restore(self, rows: &mut [Row]) -> Read<()> {
        let mut of_job: BTreeMap<Seq, Vec<&mut Row>> = BTreeMap::new();
        for row in rows {
            if let Body::JobReopened { job } = row.body {
                of_job.entry(job).or_default().push(row);
            }
        }
        for (job, reopenings) in of_job {
            // One pass through the job, which keeps its state where it was opened again.
            let own = self.job_rows(job)?;
            let (mut own, mut bench) = (own.iter().peekable(), Bench::default());
            for reopened in reopenings {
                while let Some(row) = own.next_if(|row| row.seq < reopened.seq) {
                    bench.apply(row);
                }
                reopened.restored = bench.jobs.get(&job).map(Arc::clone);
                if reopened.restored.is_none() {
                    return Err(damaged(reopened.seq, format!("job {job} was never opened")));
                }
            }
        }
        Ok(())
    }

    /// A text by its digest, if it is the one stored under it; `what` names the text in the error.
    fn pinned(self, of: Seq, (what, digest): (&str, &str)) -> Read<String> {
        let wrong = |why: &str| damaged(of, format!("{what} {why}"));
        let sql = "SELECT text FROM pinned WHERE digest = unhex(?1)";
        let mut statement = self.conn.prepare_cached(sql)?;
        let found = statement.query_row([digest], |row| row.get(0)).optional();
        let found = found.map_err(|error| placed_at(error.into(), of))?;
        let text: String = found.ok_or_else(|| wrong("is missing"))?;
        let is_its = hexadecimal(blake3::hash(text.as_bytes()).as_bytes()) == digest;
        if is_its { Ok(text) } else { Err(wrong("is not the text that it was stored with")) }
    }

    /// A plan by its digest, parsed once.
    pub(super) fn plan(self, job: Seq, digest: &str) -> Read<Arc<PinnedPlan>> {
        if let Some(plan) = self.shared.plans.borrow().get(digest) {
            return Ok(Arc::clone(plan));
        }
        let text = self.pinned(job, ("its plan", digest))?;
        let wrong = |why| damaged(job, format!("its plan cannot be read: {why}"));
        let plan = (self.shared.parse)(&text).map_err(wrong)?;
        let pinned = Arc::new(PinnedPlan { text, plan });
        self.shared.plans.borrow_mut().insert(digest.to_owned(), Arc::clone(&pinned));
        Ok(pinned)
    }

    /// The settings of an attempt, read once.
    pub(super) fn pin(self, attempt: Seq, digest: &str) -> Read<Arc<Pin>> {
        if let Some(pin) = self.shared.pins.borrow().get(digest) {
            return Ok(Arc::clone(pin));
        }
        let text = self.pinned(attempt, ("what it is judged with", digest))?;
        let wrong = |why| damaged(attempt, format!("what it is judged with cannot be read: {why}"));
        let pin: Arc<Pin> = Arc::new(serde_json::from_str(&text).map_err(wrong)?);
        self.shared.pins.borrow_mut().insert(digest.to_owned(), Arc::clone(&pin));
        Ok(pin)
    }
}

/// Whether the rows of a job refer to each other as they do when they are written.
fn belong_together(job: Seq, rows: &[Row]) -> Read<()> {
    let (mut plan, mut readings) = (None, BTreeSet::new());
    let mut attempts = BTreeSet::new();
    for row in rows {
        if let Body::JobOpened(opened) = &row.body {
            plan = Some(&opened.plan.plan);
        } else if let Body::Reading(reading) = &row.body {
            readings.insert(row.seq);
            if reading.job != Some(job) {
                return Err(damaged(row.seq, "it is of another job"));
            }
        } else if let Body::AttemptBegan(began) = &row.body {
            attempts.insert(row.seq);
            if plan.is_none_or(|plan| plan.at(began.check).is_none()) {
                return Err(damaged(row.seq, "its check is not in the plan of its job"));
            }
        } else if let Body::Marked { reading, .. } = &row.body
            && !readings.contains(reading)
        {
            return Err(damaged(row.seq, "its reading is missing, or is of another job"));
        }
        if of_attempt(&row.body).is_some_and(|attempt| !attempts.contains(&attempt)) {
            return Err(damaged(row.seq, "its attempt is missing, or is of another job"));
        }
    }
    if plan.is_none() {
        return Err(damaged(job, "the row that opened the job is missing"));
    }
    Ok(())
}

/// The attempt that a row is about; `None` for what a station has on its screen.
fn of_attempt(body: &Body) -> Option<Seq> {
    if let Body::Reading(reading) = body {
        return reading.attempt;
    }
    if let Body::Verdict(verdict) = body {
        return Some(verdict.attempt);
    }
    if let Body::AttemptEnded { attempt, .. }
    | Body::Marked { attempt: Some(attempt), .. }
    | Body::Skipped { attempt, .. }
    | Body::Asked { attempt, .. }
    | Body::MasterNext { attempt }
    | Body::Seated { attempt, .. }
    | Body::TurnUnderWay { attempt, .. }
    | Body::Swept { attempt, .. }
    | Body::Answered { attempt, .. } = body
    {
        return Some(*attempt);
    }
    None
}
