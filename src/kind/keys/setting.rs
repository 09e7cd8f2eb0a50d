//! How a check is touched: gauge, set-up, positions.

use judgement::Traps;
use quantity::{Length, Name, Quoted};

use super::{At, Keys, positive, proof, traps};
use crate::check::{Advance, Direction, Holding, Moves, Reads, Surface};
use crate::plan::PartKind;
use crate::traits::Traits;

const MOVES: [(&str, Moves); 2] = [("ring", Moves::Ring), ("stand", Moves::Stand)];
const SURFACES: [(&str, Surface); 4] = [
    ("near-face", Surface::NearFace),
    ("far-face", Surface::FarFace),
    ("outside", Surface::Outside),
    ("inside", Surface::Inside),
];
const DIRECTIONS: [(&str, Direction); 2] =
    [("ccw", Direction::CounterClockwise), ("cw", Direction::Clockwise)];
const ADVANCES: [(&str, Advance); 2] = [("hold", Advance::Hold), ("auto", Advance::Auto)];

/// The most positions on a radius, and the most radii: more is taken for a slip of the pen.
const MOST_POSITIONS: i64 = 1000;
const MOST_RADII: usize = 20;

/// The most touches at each position. More average nothing that matters beside the plate.
const MOST_TOUCHES: i64 = 10;

/// How a check is touched.
pub(crate) struct Setting {
    pub(crate) gauge: At<Name>,
    pub(crate) holding: Holding,
    pub(crate) moves: Moves,
    pub(crate) surface: Surface,
    pub(crate) direction: Direction,
    pub(crate) positions: u32,
    pub(crate) touches: u32,
    pub(crate) passes: u32,
    pub(crate) radii: Vec<Length>,
    pub(crate) closure: bool,
    pub(crate) middle: bool,
    pub(crate) odds: u32,
    pub(crate) traps: Traps,
    pub(crate) down: Option<String>,
    pub(crate) face: Option<String>,
    pub(crate) reads: Reads,
}

/// Where on the part readings are taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Goes {
    /// Positions on circles.
    Round,
    /// Positions on circles, whose radii the figure needs.
    RoundOnRadii,
    /// The same positions, row after row.
    InRows,
    /// Positions on a circle at each station.
    RoundStations,
    /// One reading at each station.
    Along,
    /// One reading in all.
    Once,
    /// The whole circle in one go.
    InOneGo,
}

impl Goes {
    const fn on_circles(self) -> bool {
        matches!(self, Self::Round | Self::RoundOnRadii)
    }

    const fn has_positions(self) -> bool {
        self.on_circles() || matches!(self, Self::RoundStations | Self::InRows)
    }
}

/// The usual set-up where a plan says nothing about it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Usual {
    /// How the part is held; `None` where the plan has to say it.
    pub(crate) holding: Option<Holding>,
    /// Which surface is touched.
    pub(crate) surface: Surface,
}

impl Usual {
    /// A face towards the gauge; the plan has to say how it is held.
    pub(crate) const FACE: Self = Self { holding: None, surface: Surface::NearFace };
}

/// Reads how a check is touched. A turn may be read in one go, or by its total alone.
pub(crate) fn read(
    keys: &impl Keys,
    traits: &Traits,
    (goes, reads): (Goes, Reads),
    usual: Usual,
) -> Option<Setting> {
    keys.must_have("gauge", "write gauge = \"…\", a gauge of bench.toml");
    let gauge = keys.parsed("gauge", Name::new);
    let holding = holding(keys, usual.holding);
    let moves = keys.one_of("moves", &MOVES).map_or(Moves::Ring, |at| at.value);
    let surface = keys.one_of("touch", &SURFACES).map_or(usual.surface, |at| at.value);
    if traits.turns {
        right_side(keys, surface);
        if moves == Moves::Stand {
            let text = "moves = \"stand\": this check reads a part that turns under a fixed stylus";
            // What turns with the earth's pull round it bends the other way half a turn later.
            let hint = "turn the part and leave moves out; an indicator swung round the part sags, and the part \
                 seems to run out by twice as much";
            keys.error(keys.line_of("moves"), text, hint);
        }
    }
    let direction =
        keys.one_of("direction", &DIRECTIONS).map_or(Direction::CounterClockwise, |at| at.value);
    let closure = if goes == Goes::Once { None } else { keys.boolean("closure") };
    let odds = odds(keys);
    let traps = traps::read(keys);
    let down = keys.string("down").map(|face| face.value);
    let face = keys.string("face").map(|face| face.value);
    let passes = if goes.on_circles() { passes(keys) } else { 1 };
    let positions = if goes.has_positions() {
        keys.must_have("positions", "write positions = 8, say");
        positions(keys)
    } else {
        Some(At { value: 1, line: keys.line() })
    };
    let radii = radii_of(keys, goes, traits);
    let touches = touches(keys, goes);
    if let Some(holding) = holding.filter(|_| keys.has("setup")) {
        proof::proves(keys, traits, holding);
    }
    if let (Some(positions), Some(radii)) = (&positions, &radii)
        && goes.has_positions()
    {
        let rings = u32::try_from(radii.len().max(1)).unwrap_or(u32::MAX);
        proof::enough(keys, traits, *positions, (rings, passes));
    }
    let holding = holding?.value;
    // Rings touched position by position return to where they began, and so does a sweep; other checks do
    // so only where the plan says it.
    let ring = goes.on_circles() && matches!(holding, Holding::Plate | Holding::Anvil);
    let closure = closure.map_or(ring || goes == Goes::InOneGo, |at| at.value);
    let middle = goes.on_circles() && keys.boolean("middle").is_some_and(|at| at.value);
    let (gauge, positions, radii) = (gauge?, positions?.value, radii?);
    Some(Setting {
        gauge,
        holding,
        moves,
        surface,
        direction,
        positions,
        touches,
        passes,
        radii,
        closure,
        middle,
        odds,
        traps,
        down,
        face,
        reads,
    })
}

/// The measuring radii of a check that goes so; none where its places do not lie on radii.
fn radii_of(keys: &impl Keys, goes: Goes, traits: &Traits) -> Option<Vec<Length>> {
    match goes {
        Goes::Round | Goes::RoundOnRadii => {
            radii(keys, (goes == Goes::RoundOnRadii).then_some(traits.word))
        }
        Goes::Once | Goes::InOneGo if keys.has("radius") => {
            positive(keys, "radius").map(|radius| vec![radius.value.length])
        }
        Goes::RoundStations | Goes::InRows | Goes::Along | Goes::Once | Goes::InOneGo => {
            Some(Vec::new())
        }
    }
}

/// Reads the keys that every kind of check shares, for their findings only.
pub fn common(keys: &impl Keys) {
    keys.parsed("gauge", Name::new);
    keys.one_of("setup", &Holding::ALL.map(|one| (one.text(), one)));
    keys.one_of("moves", &MOVES);
    keys.one_of("touch", &SURFACES);
    keys.one_of("direction", &DIRECTIONS);
    keys.boolean("closure");
    keys.boolean("middle");
    odds(keys);
    traps::read(keys);
    for key in ["down", "face", "found"] {
        keys.string(key);
    }
    keys.integer("passes", 1..=2);
    keys.integer("positions", 1..=MOST_POSITIONS);
    keys.integer("touches", 1..=MOST_TOUCHES);
    advance(keys);
}

/// What happens after a verdict that conforms.
pub(crate) fn advance(keys: &impl Keys) -> Advance {
    keys.one_of("advance", &ADVANCES).map_or(Advance::Hold, |at| at.value)
}

/// How the part is held: written in the plan, unless only one way is usual.
fn holding(keys: &impl Keys, usual: Option<Holding>) -> Option<At<Holding>> {
    if let Some(value) = usual.filter(|_| !keys.has("setup")) {
        return Some(At { value, line: keys.line() });
    }
    keys.must_have("setup", "write setup = \"plate\", \"anvil\" or \"supports\"");
    keys.one_of("setup", &Holding::ALL.map(|one| (one.text(), one)))
}

/// How often the ring is gone round.
fn passes(keys: &impl Keys) -> u32 {
    let passes = keys.integer("passes", 1..=2).map_or(1, |passes| passes.value);
    u32::try_from(passes).unwrap_or(1)
}

/// From this many times on a likelier explanation of a series that did not close is told: with it about one
/// explanation in fifty is wrong (simulated; see `judgement/order/tests.rs`).
pub(crate) const USUAL_ODDS: u32 = 100;

fn odds(keys: &impl Keys) -> u32 {
    let odds = keys.integer("odds", 2..=1_000_000).map(|odds| odds.value);
    odds.and_then(|odds| u32::try_from(odds).ok()).unwrap_or(USUAL_ODDS)
}

fn positions(keys: &impl Keys) -> Option<At<u32>> {
    let found = keys.integer("positions", 1..=MOST_POSITIONS)?;
    Some(At { value: u32::try_from(found.value).ok()?, line: found.line })
}

/// How often each position is touched. Where nothing is touched position by position there is no spot to
/// come back to.
fn touches(keys: &impl Keys, goes: Goes) -> u32 {
    let found = keys.integer("touches", 1..=MOST_TOUCHES);
    let many = found.filter(|found| found.value > 1);
    if let (Goes::Once | Goes::InOneGo, Some(found)) = (goes, many) {
        let text = "touches says how often each position is touched; here none is";
        keys.error(found.line, text, "leave it out, or touch position by position");
        return 1;
    }
    found.map_or(1, |found| u32::try_from(found.value).unwrap_or(1))
}

/// The measuring radii; empty where none is given and none is needed.
fn radii(keys: &impl Keys, needed_by: Option<&str>) -> Option<Vec<Length>> {
    match (keys.has("radius"), keys.has("radii")) {
        (true, true) => {
            let text = "both radius and radii are given";
            keys.error(keys.line_of("radius"), text, "write one of them");
            None
        }
        (true, false) => Some(vec![positive(keys, "radius")?.value.length]),
        (false, true) => several_radii(keys),
        (false, false) if needed_by.is_some() => {
            let word = needed_by.unwrap_or_default();
            let text = format!("{word} needs the radius it is touched on");
            let hint = "write radius = \"1.5 in\", say, or radii = [\"1.2 in\", \"1.5 in\"]";
            keys.error(keys.line(), text, hint);
            None
        }
        (false, false) => Some(Vec::new()),
    }
}

fn several_radii(keys: &impl Keys) -> Option<Vec<Length>> {
    let written = keys.literals("radii");
    let line = keys.line_of("radii");
    if written.is_empty() || written.len() > MOST_RADII {
        let text = format!("radii should be 1 to {MOST_RADII} lengths");
        keys.error(line, text, "write radii = [\"1.2 in\", \"1.5 in\"], say");
        return None;
    }
    let mut radii = Vec::new();
    for At { value, line } in &written {
        match Quoted::parse_with_unit(value, Some(keys.unit())) {
            Ok(radius) if radius.length.picometres() <= 0 => {
                keys.error(*line, format!("the radius {radius} is not above zero"), "");
            }
            Ok(radius) if radii.contains(&radius.length) => {
                let text = format!("the radius {radius} is there twice");
                keys.error(*line, text, "each ring is touched once");
            }
            Ok(radius) => radii.push(radius.length),
            Err(error) => keys.error(*line, format!("radii: {error}"), ""),
        }
    }
    (radii.len() == written.len()).then_some(radii)
}

/// Warns where a bore is touched as a journal, or the other way round: the axis would be shown on the wrong
/// side.
fn right_side(keys: &impl Keys, surface: Surface) {
    let (kind, said, other) = match (keys.part(), surface) {
        (PartKind::Housing, Surface::Outside) => ("housing", "outside", "inside"),
        (PartKind::Shaft, Surface::Inside) => ("shaft", "inside", "outside"),
        (PartKind::Bar, Surface::Inside) => ("bar", "inside", "outside"),
        _ => return,
    };
    let text = format!("touch \"{said}\" on a {kind}: the axis would be shown on the wrong side");
    let hint = format!("write touch = \"{other}\", unless the {said} of it is meant");
    keys.warning(keys.line_of("touch"), text, hint);
}
