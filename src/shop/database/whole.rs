//! The way back: everything that the shop has of a bench, as a record of its own.

use std::path::Path;

use bench::Seq;
use config::Database;
use record::{Chain, Made, NotAsSealed, ParsePlan, Progress, StoredSeal};

use super::fetch::{Of, col};
use super::look::{Look, LookError};
use super::position::BLOCK;
use super::rows::Forms;
use super::trouble::Trouble;

/// How many numbers of rows are fetched at once.
const AT_ONCE: i64 = 8192;

/// What was fetched.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fetched {
    /// The newest row; 0 where the shop has none of the bench.
    pub newest: Seq,
    /// Sentences about pictures and papers that the shop does not have as they were attached.
    pub papers_wrong: Vec<String>,
}

/// Makes a new file of all rows of a bench. The chain of seals is worked out over them and compared with the seals
/// that the shop has.
///
/// # Errors
/// The database cannot be reached or has no such bench, its rows do not fit its seals, or the file cannot be made.
pub fn fetch_whole(
    database: &Database,
    bench: &str,
    (to, parse): (&Path, ParsePlan),
    progress: &Progress,
) -> Result<Fetched, LookError> {
    let look = Look::begin(database, Some(bench))?;
    let of = look.of(bench);
    let newest = of.newest()?;
    let (mut made, mut chain, mut forms) = (Made::in_file(to)?, Chain::default(), Forms::default());
    let mut from = 1;
    while from <= newest {
        let to = from.saturating_add(AT_ONCE - 1);
        let rows = of.span((from, to), &mut forms)?;
        let beside = of.beside_span((from, to), &rows)?;
        chain.take(&rows);
        let seals = chain.completed();
        as_sealed(&of, &seals)?;
        made.take(&rows, &beside)?;
        made.seals(&seals)?;
        let last = i64::try_from(chain.last().0).unwrap_or(i64::MAX);
        // Numbers of rows that are missing may be many.
        from = to.max(last).saturating_add(1);
        progress.copied(last.unsigned_abs(), newest.unsigned_abs());
    }
    let mut papers_wrong = Vec::new();
    for paper in made.papers()? {
        let file = &paper.attached.paper;
        match of.paper(&file.kept_as())? {
            None => papers_wrong.push(format!("the shop does not have {}", file.kept_as())),
            Some(bytes) => {
                if let Err(wrong) = made.keep(file, &bytes)? {
                    papers_wrong.push(paper.told(&wrong));
                }
            }
        }
    }
    made.finished(&chain, parse)?;
    Ok(Fetched { newest: chain.last(), papers_wrong })
}

/// Compares seals that were worked out with those of the shop.
fn as_sealed(of: &Of<'_>, seals: &[StoredSeal]) -> Result<(), LookError> {
    let (Some(first), Some(last)) = (seals.first(), seals.last()) else { return Ok(()) };
    let sql =
        "SELECT block, seal FROM seal WHERE bench = $1 AND block BETWEEN $2 AND $3 ORDER BY block";
    let found = of.session.rows(sql, &[&of.bench, &first.block, &last.block])?;
    let found: Vec<(i64, Vec<u8>)> =
        found.iter().map(|row| Ok((col(row, 0)?, col(row, 1)?))).collect::<Result<_, Trouble>>()?;
    for (at, seal) in seals.iter().enumerate() {
        if found.get(at) != Some(&(seal.block, seal.seal.clone())) {
            let number = |number: i64| Seq(number.max(1).unsigned_abs());
            let first = seal.block.saturating_mul(BLOCK);
            return Err(
                NotAsSealed { first: number(first), last: number(first + BLOCK - 1) }.into()
            );
        }
    }
    Ok(())
}
