//! Sentences on what the bench has seen of its own repeatability.

use ::words::{fine, size};
use quantity::{Figure, Length, Unit};

use crate::fact::row::{Pool, Spot};
use crate::fact::verdict::Verdict;
use crate::plan::Check;
use crate::state::Attempt;
use crate::state::known::Witness;
use judgement::Known;

/// `46 pairs`, or of lifts `10 lifts`.
fn counted(pool: &Pool, spot: Spot) -> String {
    let (one, more) = match spot {
        Spot::Touch => ("lift", "lifts"),
        Spot::Return | Spot::Master | Spot::Seating => ("pair", "pairs"),
    };
    format!("{} {}", pool.count, if pool.count == 1 { one } else { more })
}

/// `stated 0.000006, this bench shows 0.000011 over 46 pairs`.
#[must_use]
pub fn shows(stated: Option<Length>, pool: &Pool, spot: Spot, unit: Unit) -> String {
    let stated =
        stated.map_or_else(String::new, |of| format!("stated {}, ", fine(Figure::from(of), unit)));
    let shown = fine(Figure::from(pool.s), unit);
    format!("{stated}this bench shows {shown} over {}", counted(pool, spot))
}

/// What a gauge shows in one hand, as a line of the status.
#[must_use]
pub fn witness(witness: &Witness, stated: Option<Length>, unit: Unit) -> String {
    let Witness { by, spot, setup, at, pool } = witness;
    let by = by.as_ref().map_or_else(String::new, |by| format!(" by {by}"));
    let of = match spot {
        Spot::Return => "returns",
        Spot::Master => "returns to the master",
        Spot::Seating => "seatings of a bar",
        Spot::Touch => "lifts",
    };
    let setup = setup.map_or_else(String::new, |setup| format!(", {}", setup.text()));
    let at = at.map_or_else(String::new, |at| format!(" at {} {}", size(at, unit), unit.symbol()));
    let stated = stated.filter(|_| *spot != Spot::Seating);
    let shows = shows(stated, pool, *spot, unit);
    let enough = if pool.is_enough() { "" } else { "; not enough to judge by yet" };
    let walks = walks(pool, unit).map_or_else(String::new, |walks| format!("; they {walks}"));
    format!("{of}{at}{by}{setup}: {shows}{enough}{walks}")
}

/// That the second reading is higher or lower on average than chance has it.
fn walks(pool: &Pool, unit: Unit) -> Option<String> {
    let drift = pool.drift?;
    let way = if drift > Length::ZERO { "higher" } else { "lower" };
    let by = fine(Figure::from(drift).abs(), unit);
    Some(format!("come back {by} {way} on average"))
}

/// What a verdict says of the bench's own record behind it.
pub(super) fn advice(verdict: &Verdict, check: &Check, attempt: &Attempt) -> Vec<String> {
    let Some(shown) = attempt.shown() else { return Vec::new() };
    let (unit, mut says) = (check.unit, Vec::new());
    let touches = shown.touches().filter(|_| verdict.repeat.is_some());
    let spot = |pool: Pool| if shown.lifts == Some(pool) { Spot::Touch } else { Spot::Return };
    let stated = attempt.gauge().and_then(|gauge| gauge.repeatability.or(gauge.uncertainty));
    let gauge = attempt.gauge().map(|gauge| gauge.name.to_string()).unwrap_or_default();
    if let Some((stated, pool)) = stated.zip(touches)
        && pool.is_beyond(stated)
    {
        let shows = shows(Some(stated), &pool, spot(pool), unit);
        says.push(format!("Repeatability of {gauge}: {shows}."));
    }
    if let Some(pool) = touches
        && verdict.known == Known::Assumed
    {
        let counted = counted(&pool, spot(pool));
        says.push(format!(
            "How touches scatter is known from {counted} of this bench; the rest of the uncertainty is assumed."
        ));
    }
    let pools = [("Returns", shown.returns), ("Returns to the master", shown.masters)];
    for (what, pool) in pools.into_iter().filter_map(|(what, pool)| Some((what, pool?))) {
        says.extend(walks(&pool, unit).map(|walks| {
            let counted = counted(&pool, Spot::Return);
            format!(
                "{what} with {gauge} {walks} over {counted}: a steady walk, which is no scatter."
            )
        }));
    }
    says
}
