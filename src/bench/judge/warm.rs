//! Whether a part still shrinks, or grows: touches on the same spots, minutes apart.

use std::collections::BTreeMap;

use judgement::{OnOneSpot, Part, Rate};
use quantity::{Figure, Length};

use crate::fact::row::State;
use crate::fact::seq::Seq;
use crate::judge::reading::{minutes, reading};
use crate::judge::tries::on_this_metal;
use crate::judge::zero::Zero;
use crate::plan::Check;
use crate::state::{Attempt, Job, Touched};

/// A touch, and the height that it shows.
type OneTouch<'a> = (&'a Touched, Length);

/// The rate that a part was seen to change at, by all tries on the same metal.
///
/// A length that stands above its master in every try has one zero in all of them, so each position is one
/// spot in all. Nothing else has: there only what was touched twice in one try tells of a rate.
pub(crate) fn rate(job: &Job, id: Seq) -> Option<Rate> {
    let attempt = job.attempts.get(&id)?;
    let (_, check) = job.check_of(attempt)?;
    if !check.traits().is_touched() || check.swept().is_some() || attempt.watched().is_some() {
        return None;
    }
    let tries = on_this_metal(job, id);
    let tries: Vec<(Seq, &Attempt)> =
        tries.iter().filter_map(|other| Some((*other, &**job.attempts.get(other)?))).collect();
    let mastered = |(_, one): &(Seq, &Attempt)| Zero::of_try(check, one).is_touched();
    let sized = check.traits().sizes && tries.iter().all(mastered);
    let mut spots: BTreeMap<(Option<Seq>, u32), Vec<OneTouch>> = BTreeMap::new();
    for (number, one) in &tries {
        let zero = Zero::of_try(check, one);
        for touched in on_the_part(one) {
            let Some(position) = touched.position else { continue };
            let height = if sized {
                nearest(Figure::from(touched.value.length) - zero.at(touched.id))?
            } else {
                touched.value.length
            };
            let of = (!sized).then_some(*number);
            spots.entry((of, position)).or_default().push((touched, height));
        }
    }
    spots.retain(|_, touches| touches.len() > 1);
    let first = spots.values().flatten().map(|(touched, _)| *touched).min_by_key(|one| one.id)?;
    let spots = spots.values().map(|touches| {
        let at = |(touched, height): &OneTouch| Some((minutes(first, touched)?, *height));
        touches.iter().map(at).collect::<Option<OnOneSpot>>()
    });
    Rate::of(&spots.collect::<Option<Vec<OnOneSpot>>>()?, scatter(check, &tries, sized))
}

/// How far one touch scatters about the line. All touches of a try on a size share what the touch on its
/// master scatters by: for n touches that is (1 + n)·s² each, if they are taken as independent.
fn scatter(check: &Check, tries: &[(Seq, &Attempt)], sized: bool) -> Part {
    let worst = tries.iter().map(|(_, one)| reading(check, one).scatter());
    let worst = worst.reduce(Part::larger).unwrap_or(Part::stated(Length::ZERO));
    let touches = tries.iter().map(|(_, one)| on_the_part(one).count()).max().unwrap_or(0);
    let shared = if sized { u128::try_from(touches).unwrap_or(u128::MAX) } else { 0 };
    Part { square: worst.square.saturating_mul(shared.saturating_add(1)), ..worst }
}

fn on_the_part(attempt: &Attempt) -> impl Iterator<Item = &Touched> {
    let counts =
        |one: &&Touched| matches!(one.state, State::Placed | State::Middle | State::Closure);
    attempt.readings.iter().filter(counts)
}

fn nearest(figure: Figure) -> Option<Length> {
    let whole = -(-figure - Figure::new(1, 2)).ceil();
    i64::try_from(whole).ok().map(Length::from_picometres)
}

/// How long a series took, from its first to its last touch on the part, thousandths of a minute.
pub(crate) fn duration(attempt: &Attempt) -> Option<i64> {
    let first = on_the_part(attempt).next()?;
    minutes(first, on_the_part(attempt).last()?)
}
