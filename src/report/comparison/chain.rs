//! The changes from the end of one job to the start of the next, and from "as found" to final within a job.
//!
//! A replaced part breaks the chain: what came after it was measured on another piece.

use num_rational::Ratio;

use super::model::{Found, InJob, RestsOn, serial};
use crate::JobFacts;
use ::record::JobRecord;
use bench::Seq;
use judgement::Change;
use quantity::{Figure, Name};

/// The change from one measurement to a later one.
#[derive(Debug)]
pub(crate) struct Moved {
    pub(super) from: usize,
    pub(crate) to: usize,
    pub(crate) outcome: Outcome,
    /// Whether both were on the same piece, as far as the record shows.
    pub(super) same_piece: bool,
    /// Whether both jobs name their spindle.
    pub(super) spindle_known: bool,
    /// The parts replaced in between that make it another piece, in order, each once.
    pub(super) broken_by: Vec<Name>,
}

/// The change of a characteristic.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Outcome {
    /// Both have a figure.
    Change(Change),
    /// Both have an answer or a written value; whether they are the same.
    Answers(bool),
    /// One of the two has no figure.
    NoFigure,
    /// The two plans measure different things under one name.
    OtherMeasure,
}

/// The changes from each job that left it measured to the next one that found it.
pub(super) fn changes(
    jobs: &[&JobFacts],
    others: &[&JobRecord],
    found: &[Option<InJob>],
) -> Vec<Moved> {
    let mut changes = Vec::new();
    let mut left: Option<(usize, &InJob, &Found)> = None;
    for (to, job) in found.iter().enumerate() {
        let Some(job) = job else { continue };
        if let (Some((from, earlier, leaves)), Some(came)) = (left, job.first()) {
            let serials = [from, to].map(|at| jobs.get(at).and_then(|job| serial(job)));
            // Jobs that name no spindle may be about any.
            let spindle_known = serials.iter().all(Option::is_some);
            let mut news = new_parts(jobs.get(from), |row| row > leaves.id);
            news.extend(between(jobs, others, (from, to)));
            news.extend(new_parts(jobs.get(to), |row| row < came.id));
            let broken_by = of_it(news, &[earlier, job]);
            let same_piece = broken_by.is_empty() && spindle_known && serials[0] == serials[1];
            let outcome = outcome((earlier, leaves), (job, came));
            changes.push(Moved { from, to, outcome, same_piece, spindle_known, broken_by });
        }
        if let Some(standing) = job.standing() {
            left = Some((to, job, standing));
        }
    }
    changes
}

/// The change within each job, from "as found" to what the job leaves.
pub(super) fn within(jobs: &[&JobFacts], found: &[Option<InJob>]) -> Vec<Moved> {
    let one = |(at, job): (usize, &Option<InJob>)| {
        let job = job.as_ref()?;
        job.found_side.as_ref()?;
        let (came, leaves) = (job.first()?, job.standing()?);
        let news = new_parts(jobs.get(at), |row| came.id < row && row < leaves.id);
        let broken_by = of_it(news, &[job]);
        let outcome = outcome((job, came), (job, leaves));
        let same_piece = broken_by.is_empty();
        Some(Moved { from: at, to: at, outcome, same_piece, spindle_known: true, broken_by })
    };
    found.iter().enumerate().filter_map(one).collect()
}

/// The parts that were replaced in a job at some of its rows, in order.
fn new_parts(job: Option<&&JobFacts>, then: impl Fn(Seq) -> bool) -> Vec<Name> {
    let Some(job) = job else { return Vec::new() };
    let plan = &job.record.plan.plan;
    let mut rows: Vec<(Seq, u16)> = Vec::new();
    for (part, pieces) in &job.state.replaced {
        rows.extend(pieces.iter().map(|(since, _)| (*since, *part)));
    }
    rows.sort_unstable();
    let those = rows.into_iter().filter(|(since, _)| then(*since));
    those.filter_map(|(_, part)| Some(plan.parts.get(usize::from(part))?.name.clone())).collect()
}

/// The parts that were replaced in jobs between two others.
fn between(jobs: &[&JobFacts], others: &[&JobRecord], (from, to): (usize, usize)) -> Vec<Name> {
    let age = |at: usize| jobs.get(at).map(|job| job.record.age());
    let compared = jobs.iter().map(|job| &job.record);
    let between = compared
        .chain(others.iter().copied())
        .filter(|job| age(from) < Some(job.age()) && Some(job.age()) < age(to));
    between.flat_map(|job| job.replaced.iter().map(|new| new.part.clone())).collect()
}

/// Those of some replaced parts that make a figure one of another piece.
fn of_it(news: Vec<Name>, jobs: &[&InJob]) -> Vec<Name> {
    let mut broken_by: Vec<Name> = Vec::new();
    for part in news {
        let counts = jobs.iter().any(|job| match &job.rests_on {
            RestsOn::Everything => true,
            RestsOn::Parts(parts) => parts.contains(&part),
        });
        if counts && !broken_by.contains(&part) {
            broken_by.push(part);
        }
    }
    broken_by
}

fn outcome((earlier, leaves): (&InJob, &Found), (later, came): (&InJob, &Found)) -> Outcome {
    if earlier.measures != later.measures {
        return Outcome::OtherMeasure;
    }
    if !leaves.is_whole() || !came.is_whole() {
        return Outcome::NoFigure;
    }
    match (leaves.figure, came.figure) {
        (Some(one), Some(other)) if can_be_subtracted(one.0, other.0) => {
            Outcome::Change(Change::between(one, other))
        }
        (None, None) => Outcome::Answers(leaves.answer == came.answer),
        (Some(_), _) | (None, Some(_)) => Outcome::NoFigure,
    }
}

/// Whether the difference of two figures can be stored. It can for whatever a bench measures; a verdict of
/// another version from elsewhere may hold anything.
fn can_be_subtracted(one: Figure, other: Figure) -> bool {
    let shares = Ratio::new(one.denominator(), other.denominator());
    let left = one.numerator().checked_mul(*shares.denom());
    let right = other.numerator().checked_mul(*shares.numer());
    let fits = left.zip(right).and_then(|(left, right)| left.checked_sub(right)).is_some();
    fits && one.denominator().checked_mul(*shares.denom()).is_some()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_difference_that_fits_is_taken() {
        let zone = Figure::new((1 << 80) + 1, (1 << 59) - 1);
        assert!(can_be_subtracted(zone, zone));
        assert!(can_be_subtracted(Figure::new(2_540_000, 1), Figure::new(-7, 24)));
        for huge in [Figure::new(1 << 112, 1), Figure::new(1, (1 << 76) - 1)] {
            assert!(can_be_subtracted(huge, Figure::new(1, 24)));
        }
        let (wide, fine) = (Figure::new(1 << 112, 3), Figure::new(1, (1 << 76) - 3));
        assert!(!can_be_subtracted(wide, fine) && !can_be_subtracted(fine, wide));
    }
}
