//! What the order of touches tells of a series that did not come back to its first touch: something moved,
//! the gauge was zeroed, a position was left out or touched twice.

use judgement::{Mishap, Spot, Sure, mishap, moved_so_far};
use quantity::{Figure, Length};

use crate::fact::row::{Question, State};
use crate::judge::returns::{closure_limit, closure_off};
use crate::plan::Check;
use crate::state::{Attempt, Touched};

/// What happened to a series.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Slip {
    /// The gauge was zeroed after the first touch: the return shows about nothing.
    ZeroedAfterFirst,
    /// All touches after the first one lie higher or lower than it.
    FirstStandsOff,
    /// Something moved between two touches at these positions.
    Moved {
        /// The position of the last touch that is certainly before it.
        after: u32,
        /// That of the first one that is certainly behind it; `None` for the return to position 0.
        until: Option<u32>,
        /// What followed was shifted by as much as the touch before showed: the gauge was zeroed on it.
        zeroed: bool,
    },
    /// A position was left out without a word.
    Missed(u32),
    /// A position was touched twice.
    Doubled(u32),
}

impl Slip {
    /// Whether a new first touch mends it.
    pub(crate) const fn first_again(self) -> bool {
        matches!(self, Self::ZeroedAfterFirst | Self::FirstStandsOff)
    }
}

/// What happened to a series that did not close, where one explanation is so many times likelier than every
/// other as the plan asks for. A hint to a person: the verdict is withheld in any case.
pub(crate) fn slip(check: &Check, attempt: &Attempt) -> Option<Slip> {
    if !tells(check, attempt) || !closure_off(check, attempt) {
        return None;
    }
    let touches = in_order(attempt);
    let closes = touches.last().is_some_and(|last| last.state == State::Closure);
    let begins = touches.first().is_some_and(|first| first.position == Some(0));
    if !closes || !begins {
        return None;
    }
    let spots: Vec<Spot> = touches.iter().map(|one| spot(check, one)).collect();
    let position = |at: usize| touches.get(at).and_then(|touched| touched.position);
    let last = touches.len() - 1;
    Some(match mishap(&spots, sure(check, attempt))? {
        Mishap::Moved { until: 1, .. } if shows_nothing(check, attempt, touches[last]) => {
            Slip::ZeroedAfterFirst
        }
        Mishap::Moved { until: 1, .. } => Slip::FirstStandsOff,
        // The return alone is off: it may be that touch, and only another one tells.
        Mishap::Moved { until, .. } if until == last && !asked_again(attempt) => return None,
        Mishap::Moved { after, until } => Slip::Moved {
            after: position(after)?,
            until: position(until).filter(|_| until < last),
            zeroed: zeroed_on(check, attempt, touches[after]),
        },
        Mishap::Missed(at) => Slip::Missed(position(at)?),
        Mishap::Doubled(at) => Slip::Doubled(position(at)?),
    })
}

/// The same during a series that is out already: between which positions everything moved.
pub(crate) fn moved_already(check: &Check, attempt: &Attempt) -> Option<Slip> {
    if !tells(check, attempt) || attempt.ending.is_some() {
        return None;
    }
    let touches = in_order(attempt);
    let spots: Vec<Spot> = touches.iter().map(|one| spot(check, one)).collect();
    let (after, until) = moved_so_far(&spots, sure(check, attempt))?;
    let position = |at: usize| touches.get(at).and_then(|touched| touched.position);
    // That the first touch alone stands off is asked about as of any touch.
    let moved = Slip::Moved { after: position(after)?, until: position(until), zeroed: false };
    (until > 1).then_some(moved)
}

/// Where the zero went between two touches on the master, as far as it can be told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ZeroSlip {
    /// Before position 0, or after the return to it: that return agrees.
    Outside,
    /// The same, and the closing touch shows about nothing while the opening one did not.
    ZeroedOnMaster,
}

/// What the return to position 0 tells of a master that came back different.
pub(crate) fn zero_slip(check: &Check, attempt: &Attempt) -> Option<ZeroSlip> {
    let limit = Figure::from(closure_limit(check, attempt).of_the_noise());
    let beyond = |off: Length| Figure::from(off).abs() > limit;
    let (opening, closing) = (attempt.opening_touch()?, attempt.closing_touch()?);
    let back = attempt.closure_touch()?.value.length.checked_sub(attempt.length_at(0)?)?;
    let walk = closing.value.length.checked_sub(opening.value.length)?;
    if !beyond(walk) || beyond(back) {
        return None;
    }
    let zeroed = beyond(opening.value.length) && !beyond(closing.value.length);
    Some(if zeroed { ZeroSlip::ZeroedOnMaster } else { ZeroSlip::Outside })
}

/// Whether the touches of a check have a form that tells anything: they go round, one by one.
fn tells(check: &Check, attempt: &Attempt) -> bool {
    /// More touches are not made by hand.
    const MOST: usize = 64;
    let by_hand = check.swept().is_none() && attempt.watched().is_none() && !check.total_only();
    check.traits().goes_round && by_hand && attempt.readings.len() <= MOST
}

/// The touches on the part that count, as they were made.
fn in_order(attempt: &Attempt) -> Vec<&Touched> {
    let on_the_part =
        |one: &&Touched| matches!(one.state, State::Placed | State::Middle | State::Closure);
    attempt.readings.iter().filter(on_the_part).collect()
}

fn spot(check: &Check, touched: &Touched) -> Spot {
    let position = touched.position.unwrap_or(0);
    Spot {
        circle: check.circle_of(position),
        angle_deg: check.angle_deg(position),
        height: Figure::from(touched.value.length).to_f64(),
    }
}

fn sure(check: &Check, attempt: &Attempt) -> Sure {
    let scatter = Figure::from(closure_limit(check, attempt).scatter.u()).to_f64();
    Sure { scatter, odds: f64::from(check.odds) }
}

/// Whether a touch shows zero, but for noise.
fn shows_nothing(check: &Check, attempt: &Attempt, touched: &Touched) -> bool {
    touched.value.length.abs() <= closure_limit(check, attempt).of_the_noise()
}

/// Whether what followed a touch was shifted by as much as it showed.
fn zeroed_on(check: &Check, attempt: &Attempt, touched: &Touched) -> bool {
    let back = attempt.closure().zip(attempt.length_at(0));
    let shift = back.and_then(|(closure, first)| closure.checked_sub(first));
    let shown = Figure::from(touched.value.length);
    let noise = Figure::from(closure_limit(check, attempt).of_the_noise());
    shift.is_some_and(|shift| (Figure::from(shift) + shown).abs() <= noise) && shown.abs() > noise
}

/// Whether position 0 was touched once more because it had come back off.
fn asked_again(attempt: &Attempt) -> bool {
    attempt.put.contains(&Question::Closure) && attempt.asked.is_none()
}
