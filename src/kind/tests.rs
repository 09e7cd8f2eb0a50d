//! Each kind of check by itself: from plain readings to its figure, uncertainty and sentences. The series are
//! invented. Figures without a source were worked out by an independent program, or have their arithmetic
//! beside them.

mod bars;
mod bearings;
mod described;
mod end_floats;
mod faces;
mod gaps;
mod hostile;
mod invariances;
mod layouts;
mod lengths;
mod lines;
mod logs;
mod noise;
mod pairs;
mod places;
mod plans;
mod proofs;
mod readings;
mod rounding;
mod run_ins;
mod seatings;
mod squareness;
mod sweeps;
mod tapers;
mod touches;
mod turns;
mod warmth;
mod written;

use judgement::{Doubt, Limits, Part, Rule, Share, Stated, Walk};
use quantity::{Figure, Length, Name, Unit};

use super::plan::{Advance, Check, CheckAt, Direction, Holding, MasterUse, Moves, Reads, Surface};
use super::{Beside, Judged, Measures, Other, Pair, Series, Stand};

fn inch(text: &str) -> Length {
    Length::parse(text, Unit::Inch).unwrap()
}

/// A check of a face of 3 in with 8 positions and a tolerance of 0.0001 in.
fn check(measures: impl Into<Measures>) -> Check {
    Check {
        name: Name::new("top").unwrap(),
        measures: measures.into(),
        gauge: None,
        setup: Holding::Plate,
        moves: Moves::Ring,
        surface: Surface::NearFace,
        direction: Direction::CounterClockwise,
        positions: 8,
        touches: 1,
        passes: 1,
        radii: vec![inch("1.5")],
        limits: Some(Limits::Max(inch("0.0001"))),
        unit: Unit::Inch,
        aim: None,
        nominal: None,
        closure: true,
        master: MasterUse::None,
        master_size: None,
        master_name: None,
        master_known: None,
        bar_name: None,
        bar_known: None,
        middle: false,
        odds: 100,
        traps: judgement::Traps::default(),
        advance: Advance::Hold,
        down: None,
        face: None,
        found: None,
        step: None,
        reads: Reads::Touches,
    }
}

/// A gauge of 0.00001 in whose lifts scatter by 0.000006 in and whose readings are known to so much.
fn doubt(u: Option<&str>) -> Doubt {
    let stated = Stated { uncertainty: u.map(inch), repeatability: Some(inch("0.000006")) };
    Doubt::of(stated, inch("0.00001"), (Share::Plate, Part::stated(Length::ZERO)))
}

/// Readings in 0.00001 in, one at each position.
fn series<'a>(check: &'a Check, readings: &[i64]) -> Series<'a> {
    Series {
        check,
        parts: 1,
        sums: (0..).zip(readings).map(|(position, steps)| (position, steps * 254_000)).collect(),
        open: Vec::new(),
        reading: doubt(Some("0.0000084")),
        averaged: 1,
        resolution: inch("0.00001"),
        spread: inch("0.000006"),
        seatings: Vec::new(),
        returns: Vec::new(),
        drifted: Vec::new(),
        closure: None,
        zero_walk: None,
        tries: 1,
        watched: None,
        taps: None,
        rule: Rule::Guarded,
    }
}

/// What else is known of a job: some entries, and what a length stands on.
#[derive(Default)]
struct Room {
    entries: Vec<(CheckAt, String)>,
    zero: Option<Figure>,
    doubt: Option<Figure>,
    walk: Length,
    written: Option<String>,
    log: Option<crate::run_in::Log>,
}

const ENTRY: CheckAt = CheckAt { part: 3, check: 1 };
const OTHER: CheckAt = CheckAt { part: 3, check: 2 };

impl Beside for Room {
    fn entry(&self, at: CheckAt) -> Option<String> {
        self.entries.iter().find(|(place, _)| *place == at).map(|(_, text)| text.clone())
    }

    fn log(&self) -> Option<crate::run_in::Log> {
        self.log.clone()
    }

    fn written(&self) -> Option<String> {
        self.written.clone()
    }

    fn name(&self, at: CheckAt) -> String {
        format!("part-{}/check-{}", at.part, at.check)
    }

    fn stand(&self, _positions: &[u32]) -> Stand {
        Stand {
            zero: self.zero,
            doubt: self.doubt.unwrap_or(Figure::ZERO),
            walk: Walk { farthest: self.walk, noise: Length::ZERO },
            masters: 1,
        }
    }

    fn other(&self, at: CheckAt, _tolerance: Option<Figure>) -> Result<Other<'_>, String> {
        Err(format!("{} is missing.", self.name(at)))
    }

    fn difference(&self, _pair: &Pair) -> Judged {
        Judged { value: self.zero, ..Judged::default() }
    }
}

fn judged(series: &Series<'_>) -> Judged {
    series.check.measures.judge(series, &Room::default())
}

#[track_caller]
fn near(value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{value} is not {expected}");
}

/// A figure in 0.000001 in.
fn microinch(figure: Figure) -> f64 {
    figure.to_f64() / 25_400.0
}

/// The expanded uncertainty in 0.000001 in.
fn known(judged: &Judged) -> f64 {
    microinch(Figure::from(judged.expanded().unwrap().uncertainty))
}

#[track_caller]
fn says(judged: &Judged, text: &str) {
    assert!(judged.says.iter().any(|said| said.contains(text)), "{text:?} in {:?}", judged.says);
}
