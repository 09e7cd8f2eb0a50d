//! High spots that oppose each other: where the mark of the next part belongs, so that it evens out what is on
//! the shaft already.
//!
//! Total readings of one turn add as vectors on one arm: rings and seats that lie at different distances along
//! the shaft are told apart by the plan (`opposes`). Angles are hints to a person and no figures that are judged.

use geometry::Offset;
use judgement::direction_within;
use quantity::{Figure, Length, Name, Unit};

use crate::fact::row::{HighSpot, MarkOff, StackItem};
use crate::plan::StackPlace;
use crate::state::Job;

/// How far a mark may stand from where it belongs, degrees: a twelfth of a turn either way is as
/// near as a hand sets a ring by eye (common practice, no source).
pub(crate) const MARK_WITHIN_DEG: u16 = 15;

/// Beyond this a direction is not told, degrees (common practice, no source).
const UNTOLD_DEG: f64 = 90.0;

/// What the high spots of some parts come to together.
#[derive(Debug, Clone, PartialEq)]
pub enum Together {
    /// None is marked.
    Nothing,
    /// Several are marked, and of these the amount, or where its mark stands, is not known.
    Unknown(Vec<Name>),
    /// They even each other out as far as is known: no direction can be told.
    Even(Sum),
    /// They are highest towards an angle.
    Towards(Sum),
}

/// The sum of high spots.
#[derive(Debug, Clone, PartialEq)]
pub struct Sum {
    /// The parts.
    pub parts: Vec<Name>,
    /// The total reading that they make together; `None` where a single one has no amount.
    pub amount: Option<Length>,
    /// Its expanded uncertainty, k = 2.
    pub uncertainty: Length,
    /// Where it is highest, degrees from the index mark of the shaft, [0, 360).
    pub high_deg: f64,
    /// How well that direction is known: ± degrees, k = 2.
    pub within_deg: f64,
    /// The unit of the first amount.
    pub unit: Unit,
}

impl Sum {
    /// The direction opposite to it, degrees.
    #[must_use]
    pub fn opposite_deg(&self) -> f64 {
        (self.high_deg + 180.0) % 360.0
    }
}

/// Where the mark of a part belongs, so that its high spot opposes others.
#[derive(Debug, Clone, PartialEq)]
pub struct Opposing {
    /// What it opposes.
    pub sum: Sum,
    /// Where its mark belongs, whole degrees from the index mark of the shaft.
    pub mark_deg: u16,
    /// The nearest of its whole marks.
    pub whole_deg: u16,
    /// How far off the mark may stand, whole degrees: half the way to the next whole mark, what a hand sets by
    /// eye, or what is known of the direction, whichever is the most.
    pub within_deg: u16,
}

/// A high spot as it stands on the shaft.
struct Stands<'a> {
    name: &'a Name,
    spot: &'a HighSpot,
    /// Where it is highest, degrees from the index mark; `None` where its mark was not written down.
    high_deg: Option<f64>,
}

/// What the marked spots come to as the stack is built now: those of the shaft and of the parts on it.
#[must_use]
pub fn as_built(job: &Job) -> Together {
    together(&standing(job, |_| true))
}

/// What a part on the stack is to oppose: what the plan says, otherwise every seat of the shaft and every part
/// built before it. Nothing for a part that has no marked spot itself.
#[must_use]
pub fn to_oppose(job: &Job, part: u16) -> Together {
    if !job.spots.contains_key(&part) {
        return Together::Nothing;
    }
    let place = place_of(job, part);
    let asked = place.and_then(|place| place.opposes.as_deref());
    let before = |other: u16| {
        let built = job.built.iter().map(|item| item.part);
        built.take_while(|on| *on != part).any(|on| on == other) || !is_on_the_stack(job, other)
    };
    together(&standing(job, |other| match asked {
        Some(asked) => asked.contains(&other),
        None => other != part && before(other),
    }))
}

/// Where the mark of a part belongs that goes on, or is, with `towards_nose` towards the nose.
#[must_use]
pub fn opposing(job: &Job, part: u16, towards_nose: Option<&str>) -> Option<Opposing> {
    let (_, spot) = job.spots.get(&part)?;
    let Together::Towards(sum) = to_oppose(job, part) else { return None };
    let mark = sum.opposite_deg() - from_its_mark(spot, towards_nose);
    let marks = place_of(job, part).map_or(USUAL_MARKS, |place| place.marks).max(1);
    let pitch = 360.0 / f64::from(marks);
    let whole = (mark / pitch).round() * pitch;
    let within = f64::from(MARK_WITHIN_DEG).max(pitch / 2.0).max(sum.within_deg);
    let (mark_deg, whole_deg, within_deg) = (turned(mark), turned(whole), whole_up(within));
    Some(Opposing { sum, mark_deg, whole_deg, within_deg })
}

/// Whole marks of a part where the plan does not say: each is as near as a hand sets it.
pub const USUAL_MARKS: u16 = 360 / (2 * MARK_WITHIN_DEG);

/// What speaks against the mark of a part as it goes on. A mark that the plan fixes is not held against
/// anything else.
pub(crate) fn mark_off(job: &Job, item: &StackItem) -> Option<(Opposing, MarkOff)> {
    if place_of(job, item.part).is_some_and(|place| place.mark_deg.is_some()) {
        return None;
    }
    let way = item.towards_nose.as_deref();
    let opposing = opposing(job, item.part, way)?;
    let off = |is: u16| {
        let apart = is.abs_diff(opposing.mark_deg) % 360;
        apart.min(360 - apart) > opposing.within_deg
    };
    item.mark_deg.is_none_or(off).then(|| {
        let Opposing { mark_deg: belongs_deg, within_deg, .. } = opposing;
        let is_deg = item.mark_deg;
        (opposing, MarkOff { belongs_deg, within_deg, is_deg })
    })
}

fn place_of(job: &Job, part: u16) -> Option<&StackPlace> {
    job.opened.plan.plan.stack.iter().find(|place| place.part == part)
}

fn is_on_the_stack(job: &Job, part: u16) -> bool {
    place_of(job, part).is_some()
        || [&job.found, &job.built].into_iter().flatten().any(|item| item.part == part)
}

/// The marked spots of these parts, in the order of the plan: parts of the stack that are on the shaft, and
/// what does not belong to the stack, such as the seats of the shaft.
fn standing(job: &Job, wanted: impl Fn(u16) -> bool) -> Vec<Stands<'_>> {
    let one = |(part, (_, spot)): (&u16, &'_ (_, std::sync::Arc<HighSpot>))| {
        let name = &job.opened.plan.plan.parts.get(usize::from(*part))?.name;
        let item = job.built.iter().find(|item| item.part == *part);
        let high_deg = match item {
            Some(item) => item.mark_deg.map(|mark| {
                let way = item.towards_nose.as_deref();
                (f64::from(mark) + from_its_mark(spot, way)).rem_euclid(360.0)
            }),
            None if is_on_the_stack(job, *part) => return None,
            None => Some(f64::from(spot.high_deg())),
        };
        Some((name, high_deg))
    };
    let all = job.spots.iter().filter(|(part, _)| wanted(**part));
    all.filter_map(|(part, kept)| {
        let (name, high_deg) = one((part, kept))?;
        Some(Stands { name, spot: &kept.1, high_deg })
    })
    .collect()
}

/// Where a part is highest, degrees from its own mark. Turned over it is counted the other way round.
fn from_its_mark(spot: &HighSpot, towards_nose: Option<&str>) -> f64 {
    let deg = f64::from(spot.high_deg());
    let counted = spot.towards_nose.as_deref();
    let turned_over = counted.zip(towards_nose).is_some_and(|(one, other)| one != other);
    if turned_over { -deg } else { deg }
}

/// A vector for each; what of each is uncertain counts in every direction alike.
fn together(spots: &[Stands<'_>]) -> Together {
    let Some(first) = spots.first() else { return Together::Nothing };
    let alone = spots.len() == 1;
    let lacks = |one: &&Stands<'_>| one.high_deg.is_none() || (one.spot.amount.is_none() && !alone);
    let unknown: Vec<Name> = spots.iter().filter(lacks).map(|one| one.name.clone()).collect();
    if !unknown.is_empty() {
        return Together::Unknown(unknown);
    }
    let parts = spots.iter().map(|one| one.name.clone()).collect();
    let unit = spots.iter().find_map(|one| one.spot.amount).map_or(Unit::Inch, |one| one.unit);
    let Some(_) = first.spot.amount else {
        let high_deg = first.high_deg.unwrap_or_default();
        let uncertainty = Length::ZERO;
        return Together::Towards(Sum {
            parts,
            amount: None,
            uncertainty,
            high_deg,
            within_deg: 0.0,
            unit,
        });
    };
    let mut sum = Offset::default();
    let mut square = 0_u128;
    for one in spots {
        let amount = one.spot.amount.map_or(0.0, |amount| Figure::from(amount.length).to_f64());
        let part = Offset::towards(amount, one.high_deg.unwrap_or_default());
        sum = Offset { x: sum.x + part.x, y: sum.y + part.y };
        let u = one.spot.uncertainty.unwrap_or_default().picometres().unsigned_abs();
        square = square.saturating_add(u128::from(u).saturating_pow(2));
    }
    let u = judgement::Part { square, ..judgement::Part::stated(Length::ZERO) }.u();
    let within_deg = direction_within(u, sum.amount());
    #[expect(clippy::cast_possible_truncation, reason = "a few millimetres of picometres")]
    let amount = Length::from_picometres(sum.amount().round() as i64);
    let uncertainty = Length::from_picometres(u.picometres().saturating_mul(2));
    let found = Sum {
        parts,
        amount: Some(amount),
        uncertainty,
        high_deg: sum.towards_deg(),
        within_deg,
        unit,
    };
    if within_deg >= UNTOLD_DEG || amount == Length::ZERO {
        Together::Even(found)
    } else {
        Together::Towards(found)
    }
}

/// Whole degrees, [0, 360).
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "from 0 to 360, and 360 becomes 0"
)]
#[must_use]
pub fn turned(deg: f64) -> u16 {
    (deg.rem_euclid(360.0).round() as u16) % 360
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "from 15 to 90 degrees"
)]
fn whole_up(deg: f64) -> u16 {
    deg.ceil() as u16
}
