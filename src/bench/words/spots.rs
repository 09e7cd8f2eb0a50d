//! The sentences on high spots that oppose each other.

use ::words::fine_with_doubt;
use quantity::{Figure, Name};

use crate::fact::row::{HighSpot, MarkOff};
use crate::spots::{Opposing, Sum, Together, turned};

/// `front-seat and bearing-1`.
fn names(parts: &[Name]) -> String {
    match parts {
        [] => String::new(),
        [one] => one.to_string(),
        [all @ .., last] => {
            let all: Vec<&str> = all.iter().map(Name::as_str).collect();
            format!("{} and {last}", all.join(", "))
        }
    }
}

/// `0.00004 in`, or `0.00004 ± 0.00001 in`: a total reading of high spots.
#[must_use]
pub fn amount(sum: &Sum) -> Option<String> {
    let amount = Figure::from(sum.amount?);
    let u = Figure::from(sum.uncertainty);
    let unit = sum.unit;
    if sum.uncertainty == quantity::Length::ZERO {
        return Some(format!("{} {unit}", ::words::fine(amount, unit)));
    }
    let [amount, u] = fine_with_doubt(amount, u, unit);
    Some(format!("{amount} ± {u} {unit}"))
}

/// `high spot at 30 of its mark, 0.00004 in`: a mark as it was written down.
#[must_use]
pub fn spot(spot: &HighSpot) -> String {
    let what = if spot.is_low { "low spot" } else { "high spot" };
    let amount = spot.amount.map(|amount| {
        let u = spot.uncertainty.map(|u| format!(" (u {})", ::words::size(u, amount.unit)));
        format!(", {amount}{}", u.unwrap_or_default())
    });
    let way = spot.towards_nose.as_ref().map(|way| format!(", {way} towards the nose"));
    format!("{what} at {}{}{}", spot.deg, amount.unwrap_or_default(), way.unwrap_or_default())
}

/// What the high spots come to together, and where their opposite is; `None` where none is marked.
#[must_use]
pub fn together(of: &Together) -> Option<String> {
    match of {
        Together::Nothing => None,
        Together::Unknown(parts) => {
            let whose = names(parts);
            Some(format!(
                "What the high spots come to is not known: of {whose} the amount or the place is not written down."
            ))
        }
        Together::Even(sum) => {
            let amount = amount(sum)?;
            let of = names(&sum.parts);
            Some(format!("The high spots of {of} come to {amount}: too little for a direction."))
        }
        Together::Towards(sum) => {
            let (of, high) = (names(&sum.parts), turned(sum.high_deg));
            let opposite = turned(sum.opposite_deg());
            let within = within(sum);
            let come = amount(sum).map_or_else(
                || format!("The high spot of {of} is at {high}"),
                |amount| format!("The high spots of {of} come to {amount} at {high}"),
            );
            let come = if sum.parts.len() == 1 {
                come.replacen("high spots", "high spot", 1).replacen("come to", "is", 1)
            } else {
                come
            };
            Some(format!("{come}; opposite is {opposite}{within}."))
        }
    }
}

fn within(sum: &Sum) -> String {
    let within = sum.within_deg;
    if within > 0.0 { format!(" ± {}", turned(within.ceil())) } else { String::new() }
}

/// `Its mark belongs at 210 ± 12, nearest whole mark 210: opposite the high spots of front-seat.`
#[must_use]
pub fn opposing(part: &Name, of: &Opposing) -> String {
    let Opposing { sum, mark_deg, whole_deg, .. } = of;
    let (within, parts) = (within(sum), names(&sum.parts));
    let spots = if sum.parts.len() == 1 { "spot" } else { "spots" };
    format!(
        "The mark of {part} belongs at {mark_deg}{within} (nearest whole mark {whole_deg}): its high spot \
         opposite the high {spots} of {parts}."
    )
}

/// What speaks against a part as it goes on: `its mark stands at 30, not at 210`.
#[must_use]
pub fn mark_off(off: MarkOff) -> String {
    let MarkOff { belongs_deg, within_deg, is_deg } = off;
    match is_deg {
        Some(is) => format!(
            "its mark stands at {is}, and its high spot opposes the others at {belongs_deg} (within {within_deg})"
        ),
        None => format!(
            "where its mark stands is not said, and its high spot opposes the others at {belongs_deg} (within {within_deg})"
        ),
    }
}
