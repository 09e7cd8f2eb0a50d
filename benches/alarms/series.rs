//! One series from its first touch to its end, and what came of it.

use bench::row::{AlertKind, Level};
use bench::series::Touch;
use judgement::Word;
use quantity::{Figure, Unit};

use super::shop::{Shop, What};
use super::world::{Dice, World};

/// What came of one series.
#[derive(Default)]
pub(crate) struct Outcome {
    /// A person was interrupted: asked for another touch, or called by an alert other than "out".
    pub(crate) asked: bool,
    /// How many touches after it happened.
    pub(crate) touches: Option<u32>,
    /// What called, in order.
    pub(crate) said: Vec<(AlertKind, String)>,
    pub(crate) word: Option<Word>,
    /// µin.
    pub(crate) uncertainty: f64,
    /// What the standard uncertainty was multiplied by.
    pub(crate) k: f64,
}

/// One series, from its first touch to its end.
pub(crate) fn series(shop: &mut Shop, what: What, mut world: World, dice: &mut Dice) -> Outcome {
    let mut outcome = Outcome::default();
    shop.begin(what);
    for _ in 0..200 {
        let next = shop.next();
        outcome.asked |= matches!(next, Touch::Asked(_));
        match next {
            Touch::Nothing | Touch::Answer | Touch::Sweep => break,
            Touch::Seat { seating, .. } => {
                world.seat(seating);
                shop.seated();
                continue;
            }
            Touch::Master
            | Touch::Position(_)
            | Touch::Middle
            | Touch::Closure
            | Touch::Asked(_) => {}
        }
        let reading = world.touch(next, dice);
        let unit = if reading.in_mm { Unit::Millimetre } else { Unit::Inch };
        let told = shop.touch(reading.counts, unit, reading.after_s);
        for (kind, level, text) in told.raised {
            let calls = level == Level::Interrupt && kind != AlertKind::Out;
            outcome.asked |= calls;
            if calls && outcome.said.is_empty() {
                let since = world.touches().saturating_sub(world.from);
                outcome.touches = world.has_happened().then_some(since);
            }
            if calls {
                outcome.said.push((kind, text));
            }
        }
        if let Some(verdict) = told.verdict {
            outcome.word = Some(verdict.word);
            let uncertainty = verdict.uncertainty.map(Figure::from);
            outcome.k = verdict.k.map_or(0.0, judgement::Coverage::to_f64);
            outcome.uncertainty = uncertainty.map_or(0.0, |u| u.to_f64() / 25_400.0);
        }
        if outcome.said.iter().any(|(kind, _)| needs_a_hand(*kind)) {
            break;
        }
    }
    outcome
}

/// Whether nothing is taken until a person has set the gauge anew.
const fn needs_a_hand(kind: AlertKind) -> bool {
    matches!(kind, AlertKind::UnitMixed | AlertKind::EndOfTravel)
}
