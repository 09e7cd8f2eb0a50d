//! The sentences on a part that still shrinks or grows.

use ::words::fine;
use judgement::{Rate, Reason, Times, Traps};
use quantity::{Figure, Length, Quoted, Unit};

use crate::fact::verdict::{SaidOf, Saying};
use crate::judge::warm::duration;
use crate::plan::Check;
use crate::state::Attempt;

/// A temperature as a thermometer sent it: a degree is carried as a millimetre.
#[must_use]
pub fn number(carried: Quoted) -> String {
    Quoted { unit: Unit::Millimetre, ..carried }.to_string().trim_end_matches(" mm").to_owned()
}

/// The same with its unit: `21.4 °C`.
#[must_use]
pub fn degrees(carried: Quoted) -> String {
    format!("{} °C", number(carried))
}

/// `Still shrinking: 0.000004 a minute.` A rate never says that a length is ready.
pub(crate) fn still(check: &Check, rate: Rate) -> String {
    let how = if rate.shown() < Length::ZERO { "shrinking" } else { "growing" };
    format!("Still {how}: {} a minute.", fine(Figure::from(rate.shown().abs()), check.unit))
}

/// Why a length that changes is not judged; where its temperatures say that it is ready, one of them must
/// be wrong.
pub(crate) fn because(check: &Check, rate: Rate, ready: bool) -> Saying {
    let still = still(check, rate);
    let stuck = " By its temperatures it is ready: is a thermometer stuck?";
    let text = still + if ready { stuck } else { "" };
    Saying { of: SaidOf::Because(Reason::Warm), text }
}

/// The remark about a face or a turn whose readings still change, or no longer change enough to matter.
pub(crate) fn of_a_round(
    (check, attempt): (&Check, &Attempt),
    rate: Option<Rate>,
) -> Option<String> {
    let (rate, tolerance) = (rate?, check.half_width());
    if rate.alarms(tolerance, check.traps.heat) {
        return Some(of_a_round_that_walks(check, rate));
    }
    let still = rate.is_still(duration(attempt)?, tolerance, check.traps.heat);
    still.then(|| {
        let share = share_of_the_limit(check.traps.heat);
        format!("It holds still: over a round less than {share} of the limit.")
    })
}

/// `a tenth`, or `0.2`.
fn share_of_the_limit(heat: Times) -> String {
    if heat == Traps::default().heat { "a tenth".to_owned() } else { heat.to_f64().to_string() }
}

/// `Readings fall by 0.00001 a minute: the part still shrinks, or the gauge drifts.`
pub(crate) fn of_a_round_that_walks(check: &Check, rate: Rate) -> String {
    let (how, does) =
        if rate.shown() < Length::ZERO { ("fall", "shrinks") } else { ("climb", "grows") };
    let rate = fine(Figure::from(rate.shown().abs()), check.unit);
    format!("Readings {how} by {rate} a minute: the part still {does}, or the gauge drifts.")
}
