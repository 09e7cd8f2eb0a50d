//! How a check is touched: gauge, set-up, positions.

use super::turn::Reads;
use super::{Around, proof, turn};
use crate::reader::{At, Table};
use crate::words::positive;
use bench::plan::{Advance, Direction, Holding, Moves, Surface, Traits};
use quantity::{Length, Name, Quoted, Unit};

const HOLDINGS: [(&str, Holding); 4] = [
    ("plate", Holding::Plate),
    ("anvil", Holding::Anvil),
    ("supports", Holding::Supports),
    ("turning", Holding::Turning),
];
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

/// Most positions on a radius, and most radii: more is a slip of the pen.
const MOST_POSITIONS: i64 = 1000;
const MOST_RADII: usize = 20;

/// How a check is touched.
pub(super) struct Setting {
    pub(super) gauge: At<Name>,
    pub(super) holding: Holding,
    pub(super) moves: Moves,
    pub(super) surface: Surface,
    pub(super) direction: Direction,
    pub(super) positions: u32,
    pub(super) passes: u32,
    pub(super) radii: Vec<Length>,
    pub(super) closure: bool,
    pub(super) down: Option<String>,
    pub(super) face: Option<String>,
}

/// What is read round a face or a turn, and what is not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Goes {
    /// Positions on circles.
    Round,
    /// Positions on a circle at each station.
    RoundStations,
    /// One reading at each station.
    Along,
    /// One reading in all.
    Once,
    /// The whole circle in one go.
    InOneGo,
}

/// Reads how a check is touched; of a turn perhaps in one go, or only the total.
pub(super) fn read(
    table: &Table<'_>,
    measures: &'static Traits,
    around: &Around<'_>,
    reads: Reads,
) -> Option<Setting> {
    let goes = match measures.word {
        "runout" if reads == Reads::Total => Goes::Once,
        "runout" if reads != Reads::Touches => Goes::InOneGo,
        "bar-runout" => Goes::RoundStations,
        "taper" => Goes::Along,
        _ => Goes::Round,
    };
    table.must_have("gauge", "write gauge = \"…\", a gauge of bench.toml");
    let gauge = table.parsed("gauge", Name::new);
    let holding = holding(table, measures);
    let moves = table.one_of("moves", &MOVES).map_or(Moves::Ring, |at| at.value);
    let surface = surface(table, measures, around);
    let direction =
        table.one_of("direction", &DIRECTIONS).map_or(Direction::CounterClockwise, |at| at.value);
    let closure = if goes == Goes::Once { None } else { table.boolean("closure") };
    let down = table.string("down").map(|face| face.value);
    let face = table.string("face").map(|face| face.value);
    let passes = if goes == Goes::Round { passes(table) } else { 1 };
    let positions = match goes {
        Goes::Round | Goes::RoundStations => {
            table.must_have("positions", "write positions = 8, say");
            positions(table)
        }
        Goes::Along | Goes::Once | Goes::InOneGo => Some(At { value: 1, line: table.line() }),
    };
    let radii = match goes {
        Goes::Round => radii(table, measures, around.unit),
        Goes::Once | Goes::InOneGo if table.has("radius") => {
            positive(table, "radius", Some(around.unit)).map(|radius| vec![radius.value.length])
        }
        Goes::RoundStations | Goes::Along | Goes::Once | Goes::InOneGo => Some(Vec::new()),
    };
    if let Some(holding) = holding.filter(|_| table.has("setup")) {
        proof::proves(table, measures, holding);
    }
    if let (Some(positions), Some(radii)) = (&positions, &radii)
        && matches!(goes, Goes::Round | Goes::RoundStations)
    {
        let rings = u32::try_from(radii.len().max(1)).unwrap_or(u32::MAX);
        proof::enough(table, measures, *positions, (rings, passes));
    }
    let holding = holding?.value;
    // Rings touched one by one come back to where they began, and so does a sweep; elsewhere it is
    // asked for.
    let ring = goes == Goes::Round && matches!(holding, Holding::Plate | Holding::Anvil);
    let usual = ring || goes == Goes::InOneGo;
    let (gauge, positions, radii) = (gauge?, positions?.value, radii?);
    let closure = closure.map_or(usual, |at| at.value);
    Some(Setting {
        gauge,
        holding,
        moves,
        surface,
        direction,
        positions,
        passes,
        radii,
        closure,
        down,
        face,
    })
}

/// Looks over the keys that mean the same whatever a check measures, for their findings.
pub(super) fn common(table: &Table<'_>) {
    table.parsed("gauge", Name::new);
    table.one_of("setup", &HOLDINGS);
    table.one_of("moves", &MOVES);
    table.one_of("touch", &SURFACES);
    table.one_of("direction", &DIRECTIONS);
    table.boolean("closure");
    for key in ["down", "face", "found"] {
        table.string(key);
    }
    table.integer("passes", 1..=2);
    table.integer("positions", 1..=MOST_POSITIONS);
    advance(table);
}

/// What happens after a verdict that conforms.
pub(super) fn advance(table: &Table<'_>) -> Advance {
    table.one_of("advance", &ADVANCES).map_or(Advance::Hold, |at| at.value)
}

/// How the part is held: said, but for turns, which turn, and diameters, which lie still.
fn holding(table: &Table<'_>, measures: &'static Traits) -> Option<At<Holding>> {
    let usual = match measures.word {
        "runout" | "bar-runout" => Some(Holding::Turning),
        "taper" => Some(Holding::Supports),
        _ => None,
    };
    if let Some(value) = usual.filter(|_| !table.has("setup")) {
        return Some(At { value, line: table.line() });
    }
    table.must_have("setup", "write setup = \"plate\", \"anvil\" or \"supports\"");
    table.one_of("setup", &HOLDINGS)
}

fn surface(table: &Table<'_>, measures: &'static Traits, around: &Around<'_>) -> Surface {
    let usual = if measures.word == "bar-runout" { Surface::Outside } else { Surface::NearFace };
    let surface = table.one_of("touch", &SURFACES).map_or(usual, |at| at.value);
    if matches!(measures.word, "runout" | "bar-runout") {
        turn::right_side(table, around, surface);
    }
    surface
}

/// How often the ring is gone round.
fn passes(table: &Table<'_>) -> u32 {
    let passes = table.integer("passes", 1..=2).map_or(1, |passes| passes.value);
    u32::try_from(passes).unwrap_or(1)
}

fn positions(table: &Table<'_>) -> Option<At<u32>> {
    let found = table.integer("positions", 1..=MOST_POSITIONS)?;
    Some(At { value: u32::try_from(found.value).ok()?, line: found.line })
}

/// The measuring radii; empty where none is given and none is needed.
fn radii(table: &Table<'_>, measures: &'static Traits, unit: Unit) -> Option<Vec<Length>> {
    let document = table.document();
    match (table.has("radius"), table.has("radii")) {
        (true, true) => {
            let text = "both radius and radii are given";
            document.error(table.line_of("radius"), text, "write one of them");
            None
        }
        (true, false) => Some(vec![positive(table, "radius", Some(unit))?.value.length]),
        (false, true) => several_radii(table, unit),
        (false, false) if matches!(measures.word, "parallelism" | "flatness") => {
            let text = format!("{} needs the radius it is touched on", measures.text());
            let hint = "write radius = \"1.5 in\", say, or radii = [\"1.2 in\", \"1.5 in\"]";
            document.error(table.line(), text, hint);
            None
        }
        (false, false) => Some(Vec::new()),
    }
}

fn several_radii(table: &Table<'_>, unit: Unit) -> Option<Vec<Length>> {
    let document = table.document();
    let written = table.literals("radii");
    let line = table.line_of("radii");
    if written.is_empty() || written.len() > MOST_RADII {
        let text = format!("radii should be 1 to {MOST_RADII} lengths");
        document.error(line, text, "write radii = [\"1.2 in\", \"1.5 in\"], say");
        return None;
    }
    let mut radii = Vec::new();
    for At { value, line } in &written {
        match Quoted::parse_with_unit(value, Some(unit)) {
            Ok(radius) if radius.length.picometres() <= 0 => {
                document.error(*line, format!("the radius {radius} is not above zero"), "");
            }
            Ok(radius) if radii.contains(&radius.length) => {
                let text = format!("the radius {radius} is there twice");
                document.error(*line, text, "each ring is touched once");
            }
            Ok(radius) => radii.push(radius.length),
            Err(error) => document.error(*line, format!("radii: {error}"), ""),
        }
    }
    (radii.len() == written.len()).then_some(radii)
}
