//! Whether the record is unchanged, and whether every verdict follows from what is stored.

pub(super) mod blocks;
mod proofs;
mod whole;

use std::path::Path;

use ::words::Tell;
use bench::row::Body;
use bench::verdict::Verdict;
use bench::{Bench, ENGINE, Job, Row, Seq};

use super::counters::End;
use super::pending::Differs;
use super::pieces::Pieces;
use super::progress::{Progress, Step};
use super::read::{Book, Read, SetAside};
use super::seals::CHANGED;
use super::write::seq;
use super::{Seal, StoreError, answers, caller, papers};

/// Computes the verdict on an attempt from the state of its job, as `bench::judge` does; `None`
/// where the job has no such attempt.
pub type Judge<'a> = &'a dyn Fn(&Job, Seq) -> Option<Verdict>;

/// The result of a check of the record.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Verified {
    /// Rows of the record.
    pub rows: u64,
    /// Verdicts that were computed again.
    pub verdicts: u64,
    /// Verdicts of another version of the arithmetic, which were not computed again.
    pub older: u64,
    /// Whether verdicts were computed again at all.
    pub judged: bool,
    /// The seal after the newest row, as it is stored; `None` for a record without rows.
    pub seal: Option<Seal>,
    /// Whether the rows are those of a printed seal; `None` where none was given.
    pub sealed: Option<bool>,
    /// What is wrong; empty when all is well. At most [`TOLD`] differences.
    pub differences: Vec<Difference>,
    /// The number of further differences.
    pub more: u64,
    /// Files of pictures and papers that were read.
    pub papers: u64,
    /// What is wrong with them: the record itself is whole without them.
    pub papers_wrong: Vec<Difference>,
}

/// The most differences that are listed: a record may have a million.
pub const TOLD: usize = 1000;

/// How thoroughly a record is checked.
#[derive(Clone, Copy)]
pub(super) enum Depth<'a> {
    /// Everything that is stored: pages, every row against its seal, and what follows from the rows.
    Stored,
    /// The same, and every verdict is computed again.
    Judged(Judge<'a>),
}

/// A difference from what should be there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// The table, where it is about one.
    pub table: Option<String>,
    /// The row, where it is about one.
    pub row: Option<Seq>,
    /// The message.
    pub what: String,
}

impl Verified {
    pub(super) fn add(&mut self, row: Option<Seq>, what: impl Into<String>) {
        let what = what.into();
        let told = self.differences.iter_mut().find(|one| row.is_some() && one.row == row);
        match told {
            // A changed row is listed once, with what else is known of it.
            Some(told) if told.what == CHANGED => told.what = format!("{CHANGED}: {what}"),
            Some(_) | None => self.push(Difference { table: None, row, what }),
        }
    }

    /// Adds a difference in a table, where no row is known.
    pub(super) fn add_of(&mut self, table: &str, row: Option<Seq>, what: impl Into<String>) {
        let table = Some(table.to_owned());
        self.push(Difference { table, row, what: what.into() });
    }

    fn push(&mut self, difference: Difference) {
        if self.differences.len() < TOLD {
            self.differences.push(difference);
        } else {
            self.more += 1;
        }
    }
}

impl Verified {
    /// Reads the files that some facts name, and adds what is wrong with them.
    pub(super) fn papers_told(&mut self, facts: &papers::Facts, folder: &Path) {
        let told = |(row, what)| Difference {
            table: Some(papers::PAPERS.to_owned()),
            row: Some(row),
            what,
        };
        self.papers = facts.files().count() as u64;
        self.papers_wrong = facts.wrong(folder).into_iter().map(told).collect();
    }

    /// Whether everything is as it was stored.
    #[must_use]
    pub const fn is_well(&self) -> bool {
        self.differences.is_empty() && self.papers_wrong.is_empty()
    }
}

/// Reads the files that the facts of a record name, each whole and in pieces, and compares.
pub(super) fn files(pieces: Pieces<'_>, folder: &Path, found: &mut Verified) -> Read<()> {
    let facts = pieces.moment(|book| papers::Facts::read(book))?;
    found.papers_told(&facts, folder);
    Ok(())
}

/// The end of the record at one moment: rows up to there are checked, whatever is added meanwhile.
struct Until {
    end: End,
    /// The message where the counters say something else.
    counters: Option<SetAside>,
    /// Facts that are open and not listed so, or the other way round.
    not_pending: Vec<Seq>,
}

impl Until {
    fn now(book: Book<'_>) -> Read<Self> {
        let (end, counters) = End::read(book)?;
        let differs = Differs::look(book.conn, end.last)?;
        let not_pending = differs.iter().flat_map(Differs::facts).collect();
        Ok(Self { end, counters, not_pending })
    }
}

/// Checks everything, as far as `depth` says, and whether the rows are those of a printed seal. Its memory
/// holds one large job or some small ones at a time. The record may grow meanwhile: what is checked is the
/// state after its pages were checked.
pub(super) fn verify(
    pieces: Pieces<'_>,
    (depth, sealed): (Depth<'_>, Option<&Seal>),
    progress: &Progress,
) -> Result<Verified, StoreError> {
    let judged = matches!(depth, Depth::Judged(_));
    let mut found = Verified { judged, ..Verified::default() };
    progress.begin(Step::File, 0);
    pieces.moment(|book| whole::pages(book, &mut found))?;
    if !found.differences.is_empty() {
        // In a damaged file every further request would only find the same damage.
        return Ok(found);
    }
    let until = pieces.moment(Until::now)?;
    if let Some(SetAside { why, .. }) = &until.counters {
        let what = why.rsplit_once("row 1: ").map_or(why.as_str(), |(_, what)| what);
        found.add_of("counter", None, what);
    }
    for fact in &until.not_pending {
        found.add_of(
            "pending",
            Some(*fact),
            "the list of what is open does not agree with the rows here",
        );
    }
    found.seal = until.end.seal();
    progress.begin(Step::Rows, until.end.last.0);
    blocks::all(pieces, (&until, sealed), (&mut found, progress))?;
    pieces.moment(|book| whole::texts(book, &mut found))?;
    pieces.moment(|book| whole::details(book, &mut found))?;
    if let Depth::Judged(judge) = depth {
        jobs(pieces, judge, (&until, &mut found))?;
        proofs::all(pieces, until.end.last, &mut found)?;
    }
    pieces.moment(|book| {
        for difference in &mut found.differences {
            if let (None, Some(row)) = (&difference.table, difference.row) {
                difference.table = Some(book.table_of(row).to_owned());
            }
        }
        Ok(())
    })?;
    answers::verify(pieces, |row| {
        found.add_of("answer", row, "it is not as it was stored");
    })?;
    caller::verify(pieces, |row| {
        found.add_of("caller", Some(row), "who asked for the row is not as it was stored");
    })?;
    Ok(found)
}

/// Plays each job again from its rows.
fn jobs(
    pieces: Pieces<'_>,
    judge: Judge<'_>,
    (until, found): (&Until, &mut Verified),
) -> Result<(), StoreError> {
    let sql = "SELECT seq FROM fact WHERE kind = 'job-opened' ORDER BY seq";
    let all = pieces.moment(|book| book.select(sql, [], |row| Ok(seq(row.get(0)?))))?;
    let mut all = all.into_iter();
    loop {
        let read = pieces.some(&mut all, Book::job_rows)?;
        if read.is_empty() {
            return Ok(());
        }
        for rows in read {
            match rows {
                Ok(mut rows) => {
                    rows.retain(|row| row.seq <= until.end.last);
                    replay(&rows, judge, found);
                }
                // A row that cannot be read is reported, and the rest is checked all the same.
                Err(StoreError::Damaged { row, what }) => found.add(Some(row), what),
                Err(error) => return Err(error),
            }
        }
    }
}

/// Plays one job again from its rows, and judges it where it was judged.
pub(super) fn replay(rows: &[Row], judge: Judge<'_>, found: &mut Verified) {
    let mut bench = Bench::default();
    for row in rows {
        if let Body::Verdict(stored) = &row.body {
            compare(&bench, (row.seq, stored), judge, found);
        }
        bench.apply(row);
    }
}

/// Compares a stored verdict with the one that the bench gives at that moment.
fn compare(bench: &Bench, (id, stored): (Seq, &Verdict), judge: Judge<'_>, found: &mut Verified) {
    let Some((_, job, attempt)) = bench.attempt(stored.attempt) else {
        found.add(Some(id), "the attempt of a verdict is missing");
        return;
    };
    if attempt.began.pin.engine != ENGINE {
        found.older += 1;
        return;
    }
    found.verdicts += 1;
    let Some(again) = judge(job, stored.attempt) else {
        found.add(Some(id), "it cannot be computed again");
        return;
    };
    let parts = different(stored, &again);
    if !parts.is_empty() {
        found.add(Some(id), format!("computed again, it differs in {}", parts.join(", ")));
    }
}

/// The parts in which two verdicts differ. Advice is left out: a better sentence does not make another
/// verdict.
fn different(stored: &Verdict, again: &Verdict) -> Vec<&'static str> {
    let same = [
        ("attempt", stored.attempt == again.attempt),
        ("tries", stored.tries == again.tries),
        ("combined", stored.combined == again.combined),
        ("means", stored.means == again.means),
        ("value", stored.value == again.value),
        ("unit", stored.unit == again.unit),
        ("tolerance", stored.limits == again.limits),
        ("uncertainty", stored.uncertainty == again.uncertainty),
        ("uncertainty_from", stored.known == again.known),
        ("k", stored.k == again.k),
        ("repeat_pairs", stored.repeat == again.repeat),
        ("rule", stored.rule == again.rule),
        ("verdict", stored.word == again.word),
        ("simple", stored.simple == again.simple),
        ("guarded", stored.guarded == again.guarded),
        ("positions", stored.positions == again.positions),
        ("taken", stored.taken == again.taken),
        ("skipped", stored.skipped == again.skipped),
        ("answer", stored.answer == again.answer),
        ("answers", stored.answers == again.answers),
        ("figures", stored.figures.alike(&again.figures)),
        ("reasons", stored.reasons == again.reasons),
    ];
    same.into_iter().filter(|(_, same)| !same).map(|(part, _)| part).collect()
}
