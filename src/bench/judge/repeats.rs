//! Several touches at each position: whether those of one position belong together.

use judgement::{Repeats, Shown};
use quantity::{Figure, Length};

use crate::fact::seq::Seq;
use crate::judge::returns::{reading, resolution};
use crate::plan::Check;
use crate::state::{Attempt, Touched};

/// A position whose touches lie too far apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct ApartAt {
    /// The position.
    pub(crate) position: u32,
    /// How far apart they lie.
    pub(crate) by: Length,
}

/// The positions whose touches are all made and lie too far apart, the farthest first. Only a check that is
/// touched several times at each position has any.
pub(crate) fn apart(check: &Check, attempt: &Attempt) -> Vec<ApartAt> {
    if attempt.touches() < 2 {
        return Vec::new();
    }
    let scatter = reading(check, attempt).scatter();
    let limit = Repeats { scatter, resolution: resolution(attempt), times: check.traps.spread };
    let spots: Vec<(u32, Vec<Length>)> = (0..attempt.past_highest())
        .map(|position| (position, lengths(attempt.all_at(position))))
        .filter(|(_, touches)| !touches.is_empty())
        .collect();
    let shown = spots.iter().map(|(_, touches)| Shown::of_spot(touches));
    let all = shown.fold(Shown::default(), Shown::and);
    let full = spots.iter().filter(|(position, _)| attempt.is_full(*position));
    let mut found: Vec<ApartAt> = full
        .filter_map(|(position, touches)| {
            let others = all.without(Shown::of_spot(touches));
            let by = limit.or_as_shown(others).apart(touches)?;
            Some(ApartAt { position: *position, by })
        })
        .collect();
    found.sort_by_key(|one| (std::cmp::Reverse(one.by), one.position));
    found
}

/// How far apart the touches at one position lie, where that is too far.
pub(crate) fn apart_at(check: &Check, attempt: &Attempt, position: u32) -> Option<Length> {
    apart(check, attempt).into_iter().find(|one| one.position == position).map(|one| one.by)
}

/// The older touches at a position that was touched anew, each with why it does not count any more, once
/// the new ones are all made; `newest` is the last of them.
///
/// They do not count where they lay too far apart, since one of them was a slip, or where the new ones are
/// plainly elsewhere. Otherwise all of them count.
pub(crate) fn give_way(
    check: &Check,
    attempt: &Attempt,
    position: u32,
    newest: Length,
) -> Vec<(Seq, &'static str)> {
    let mut new = lengths(attempt.since_asked(position));
    new.push(newest);
    if new.len() < usize::try_from(attempt.touches()).unwrap_or(usize::MAX) {
        return Vec::new();
    }
    let asked: Vec<Seq> = attempt.since_asked(position).map(|touched| touched.id).collect();
    let older = || attempt.all_at(position).filter(|touched| !asked.contains(&touched.id));
    let before = lengths(older());
    let scatter = reading(check, attempt);
    let limit = Repeats {
        scatter: scatter.scatter(),
        resolution: resolution(attempt),
        times: check.traps.spread,
    };
    let why = if limit.apart(&before).is_some() {
        "touched anew: the touches lay too far apart"
    } else if are_elsewhere(&before, &new, scatter.averaged(attempt.touches()).square) {
        "touched anew"
    } else {
        return Vec::new();
    };
    older().map(|touched| (touched.id, why)).collect()
}

/// Whether two means differ by more than 3·√2 times the scatter of one, given as its square.
fn are_elsewhere(before: &[Length], new: &[Length], square: u128) -> bool {
    let Some((before, new)) = Figure::mean(before).zip(Figure::mean(new)) else { return false };
    let off = (new - before).abs().ceil().unsigned_abs();
    off.saturating_pow(2) > square.saturating_mul(18)
}

fn lengths<'a>(touches: impl Iterator<Item = &'a Touched>) -> Vec<Length> {
    touches.map(|touched| touched.value.length).collect()
}
