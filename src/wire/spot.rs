//! High spots of the stack, as lines tell them.

use serde::Serialize;

use bench::row::{HighSpot, MarkOff};
use bench::spots::{Opposing, Sum, Together};
use quantity::{Figure, Length, Name, Unit};

/// The mark of a high or a low spot.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::length, "amount uncertainty"))
)]
pub(crate) struct SpotLine {
    /// Where the marked spot is, whole degrees from the part's own mark, on the shaft from its index mark.
    deg: u16,
    /// Whether the highest or the lowest spot is marked.
    spot: Marks,
    /// The total reading that it makes in a turn, in `unit`; `null` where it is not known.
    amount: Option<String>,
    /// The standard uncertainty of that, in `unit`.
    uncertainty: Option<String>,
    /// The unit of both; `null` without an amount.
    unit: Option<Unit>,
    /// The face that was towards the nose as the angle was counted; `null`: as the part will sit.
    towards_nose: Option<String>,
}

quantity::worded! {
    /// Which spot a mark is on.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub(crate) enum Marks {
        /// The highest.
        High = "high",
        /// The lowest.
        Low = "low",
    }
}

impl SpotLine {
    pub(crate) fn of(spot: &HighSpot) -> Self {
        let unit = spot.amount.map(|amount| amount.unit);
        let length = |length: Length| unit.map(|unit| ::words::size(length, unit));
        Self {
            deg: spot.deg,
            spot: if spot.is_low { Marks::Low } else { Marks::High },
            amount: spot.amount.and_then(|amount| length(amount.length)),
            uncertainty: spot.uncertainty.and_then(length),
            unit,
            towards_nose: spot.towards_nose.clone(),
        }
    }
}

/// What high spots come to together: total readings as vectors on one arm.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::length, "amount uncertainty"))
)]
pub(crate) struct TogetherLine {
    /// The parts whose high spots count.
    parts: Vec<String>,
    /// The parts of which the amount or the place is not known; then nothing else is.
    unknown: Vec<String>,
    /// The total reading that they make together, in `unit`; `null` where it is not known.
    amount: Option<String>,
    /// Its expanded uncertainty, k = 2, in `unit`.
    uncertainty: Option<String>,
    /// The unit of both.
    unit: Option<Unit>,
    /// Where it is highest, degrees from the index mark of the shaft; `null` where no direction can be told.
    high_deg: Option<f64>,
    /// How well that is known: ± degrees, k = 2.
    within_deg: Option<f64>,
    /// The direction opposite to it, degrees.
    opposite_deg: Option<f64>,
}

impl TogetherLine {
    /// Nothing where no high spot is marked.
    pub(crate) fn of(together: &Together) -> Option<Self> {
        match together {
            Together::Nothing => None,
            Together::Unknown(parts) => Some(Self {
                parts: Vec::new(),
                unknown: names(parts),
                amount: None,
                uncertainty: None,
                unit: None,
                high_deg: None,
                within_deg: None,
                opposite_deg: None,
            }),
            Together::Even(sum) => Some(Self::known(sum, false)),
            Together::Towards(sum) => Some(Self::known(sum, true)),
        }
    }

    fn known(sum: &Sum, directed: bool) -> Self {
        let angle = |deg: f64| directed.then(|| thousandth(deg));
        let length = |of: Length| Figure::from(of).known(sum.unit);
        Self {
            parts: names(&sum.parts),
            unknown: Vec::new(),
            amount: sum.amount.map(length),
            uncertainty: sum.amount.map(|_| length(sum.uncertainty)),
            unit: sum.amount.map(|_| sum.unit),
            high_deg: angle(sum.high_deg),
            within_deg: angle(sum.within_deg),
            opposite_deg: angle(sum.opposite_deg()),
        }
    }
}

/// Where the mark of a part belongs.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(
    feature = "schemas",
    derive(schemars::JsonSchema),
    schemars(transform = ::words::schema::forms().of(::words::schema::name, "part"))
)]
pub(crate) struct NextMark {
    /// The part.
    part: String,
    /// Where its mark belongs, whole degrees from the index mark of the shaft.
    mark_deg: u16,
    /// The nearest of its whole marks, degrees.
    whole_deg: u16,
    /// How far off it may stand, whole degrees.
    within_deg: u16,
    /// What its high spot opposes.
    opposes: TogetherLine,
}

impl NextMark {
    pub(crate) fn of(part: &Name, of: &Opposing) -> Self {
        Self {
            part: part.to_string(),
            mark_deg: of.mark_deg,
            whole_deg: of.whole_deg,
            within_deg: of.within_deg,
            opposes: TogetherLine::known(&of.sum, true),
        }
    }
}

fn names(parts: &[Name]) -> Vec<String> {
    parts.iter().map(Name::to_string).collect()
}

fn thousandth(deg: f64) -> f64 {
    (deg * 1000.0).round() / 1000.0
}

/// The mark of a part that went on the stack otherwise than its high spot asks for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub(crate) struct MarkOffLine {
    /// Where its mark belongs, whole degrees from the index mark of the shaft.
    #[serde(rename = "belongs_deg")]
    belongs: u16,
    /// How far off it may be, whole degrees.
    #[serde(rename = "within_deg")]
    within: u16,
    /// Where it stood; `null` where nobody said.
    #[serde(rename = "is_deg")]
    is: Option<u16>,
}

impl MarkOffLine {
    pub(crate) fn of(off: MarkOff) -> Self {
        Self { belongs: off.belongs_deg, within: off.within_deg, is: off.is_deg }
    }
}
