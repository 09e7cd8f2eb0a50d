//! The sentences on readings that walked while a part was touched.

use ::words::{beside, fine, in_steps};
use judgement::Reason;
use quantity::{Figure, Length};

use crate::fact::verdict::{SaidOf, Saying};
use crate::judge::drift;
use crate::judge::order::{self, Slip, ZeroSlip};
use crate::judge::returns::{self, closure_difference, zero_walk};
use crate::plan::{Check, Drifted, Judged};
use crate::state::Attempt;

/// Why a series that did not come back to its first touch, or to the master, is not judged: with what was
/// seen, its sign and what that does to the readings.
pub(crate) fn because((check, attempt): (&Check, &Attempt), reasons: &[Reason]) -> Vec<Saying> {
    let say = |reason: Reason, text: Option<String>| {
        let of = SaidOf::Because(reason);
        text.filter(|_| reasons.contains(&reason)).map(|text| Saying { of, text })
    };
    let closed = reasons.contains(&Reason::NotClosed);
    let not_closed = if closed { not_closed(check, attempt) } else { None };
    let zero = if reasons.contains(&Reason::ZeroMoved) { zero_moved(check, attempt) } else { None };
    [say(Reason::NotClosed, not_closed), say(Reason::ZeroMoved, zero)]
        .into_iter()
        .flatten()
        .collect()
}

fn not_closed(check: &Check, attempt: &Attempt) -> Option<String> {
    if let Some(slip) = order::slip(check, attempt) {
        return Some(slipped(slip));
    }
    let (first, again) = attempt.at(0).zip(attempt.closure_touch())?;
    if returns::closure_off(check, attempt) {
        let off = closure_difference(check, attempt)?;
        let minutes = drift::minutes_between(first, again);
        return Some(came_back("Position 0", (off, minutes), check, attempt));
    }
    let off = drift::middle_off(attempt)?;
    let off = in_steps(Figure::from(off.abs()), returns::resolution(attempt), check.unit);
    Some(format!("Position 0 was {off} off half way round, and back at the end: nothing even."))
}

fn zero_moved(check: &Check, attempt: &Attempt) -> Option<String> {
    let walk = zero_walk(attempt)?;
    let minutes = drift::minutes_between(attempt.opening_touch()?, attempt.closing_touch()?);
    let came_back = came_back("The master", (walk, minutes), check, attempt);
    let slip = order::zero_slip(check, attempt).map(|slip| match slip {
        ZeroSlip::ZeroedOnMaster => " Zeroed after the master was touched?",
        ZeroSlip::Outside => {
            " Position 0 came back the same: it happened before its first touch, or after its last."
        }
    });
    Some(came_back + slip.unwrap_or_default())
}

/// `The master came back 0.00008 higher: readings climbed, early positions are low.`
pub(crate) fn came_back(
    who: &str,
    (off, minutes): (Length, Option<i64>),
    check: &Check,
    attempt: &Attempt,
) -> String {
    let far = in_steps(Figure::from(off.abs()), returns::resolution(attempt), check.unit);
    let (side, went, early) =
        if off < Length::ZERO { ("lower", "fell", "high") } else { ("higher", "climbed", "low") };
    let rate = a_minute(off, minutes, check);
    let rate = rate.map_or_else(String::new, |rate| format!(", {rate} a minute"));
    format!("{who} came back {far} {side}: readings {went}{rate}, early positions are {early}.")
}

/// How far something went in a minute; `None` where the time is not known or too short to tell.
fn a_minute(off: Length, minutes: Option<i64>, check: &Check) -> Option<String> {
    /// Six seconds: a rate over less is noise.
    const LEAST: i64 = 100;
    let thousandths = minutes.filter(|minutes| *minutes >= LEAST)?;
    let rate = Figure::from(off.abs()) * 1000 / thousandths;
    Some(fine(rate, check.unit))
}

/// What happened, and what to do.
pub(crate) fn slipped(slip: Slip) -> String {
    match slip {
        Slip::ZeroedAfterFirst => {
            "Zeroed after the first touch? Touch position 0 again: that touch counts.".to_owned()
        }
        Slip::FirstStandsOff => {
            "Something moved after the first touch. Touch position 0 again: that touch counts."
                .to_owned()
        }
        Slip::Moved { after, until, zeroed } => {
            let place = match until {
                Some(until) if until == after => format!("while position {after} was touched"),
                Some(until) => format!("between {after} and {until}"),
                None => format!("between {after} and the return to 0"),
            };
            let what = if zeroed {
                "The gauge was zeroed, or something moved,"
            } else {
                "Something moved"
            };
            format!("{what} {place}. Go round again.")
        }
        Slip::Missed(at) => {
            format!(
                "Position {at} was passed over: the touches behind it lie one further on. Go round again."
            )
        }
        Slip::Doubled(at) => {
            format!(
                "Position {at} was touched twice: the touches behind it lie one back. Go round again."
            )
        }
    }
}

/// The sentence on an even drift that was taken out, with what the readings show as they are.
pub(crate) fn taken_out(
    judged: &Judged,
    (check, attempt): (&Check, &Attempt),
    drifted: &Drifted,
) -> String {
    let far = in_steps(Figure::from(drifted.far.abs()), returns::resolution(attempt), check.unit);
    let went = if drifted.far < Length::ZERO { "fell" } else { "climbed" };
    let rate = a_minute(drifted.far, drifted.minutes, check);
    let rate = rate.map_or_else(String::new, |rate| format!(", {rate} a minute"));
    let limit = super::upper(judged.limits);
    let as_read = judged.figures.as_read.map(|as_read| beside(as_read, limit, check.unit));
    let as_read = as_read.map_or_else(String::new, |as_read| format!(" As read it is {as_read}."));
    format!("Readings {went} evenly by {far}{rate}: taken out.{as_read}")
}

/// What the figure would be had readings walked evenly.
pub(crate) fn without_drift(judged: &Judged, check: &Check, without: Figure) -> String {
    let figure = beside(without, super::upper(judged.limits), check.unit);
    format!("Had all of it been an even drift, it would be {figure}. That is shown, not judged.")
}
