//! How a check is touched: gauge, set-up, positions; and whether that set-up can prove its figure.

use crate::bench::plan::{Advance, Direction, Holding, Measures, Moves, Surface};
use crate::config::reader::{At, Table};
use crate::config::words::positive;
use crate::judgement::{Reason, too_few_positions};
use crate::quantity::{Length, Name, Quoted, Unit};

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
    pub(super) advance: Advance,
    pub(super) positions: u32,
    pub(super) radii: Vec<Length>,
    pub(super) closure: bool,
}

/// Reads how a check is touched.
pub(super) fn read(table: &Table<'_>, measures: Measures, unit: Unit) -> Option<Setting> {
    table.must_have("gauge", "write gauge = \"…\", a gauge of bench.toml");
    table.must_have("setup", "write setup = \"plate\", \"anvil\" or \"supports\"");
    table.must_have("positions", "write positions = 8, say");
    let gauge = table.parsed("gauge", Name::new);
    let holding = table.one_of("setup", &HOLDINGS);
    let moves = table.one_of("moves", &MOVES).map_or(Moves::Ring, |at| at.value);
    let surface = table.one_of("touch", &SURFACES).map_or(Surface::NearFace, |at| at.value);
    let direction =
        table.one_of("direction", &DIRECTIONS).map_or(Direction::CounterClockwise, |at| at.value);
    let advance = table.one_of("advance", &ADVANCES).map_or(Advance::Hold, |at| at.value);
    let closure = table.boolean("closure").map(|at| at.value);
    let positions = positions(table);
    let radii = radii(table, measures, unit);
    if let Some(holding) = holding {
        proves(table, measures, holding);
    }
    if let (Some(positions), Some(radii)) = (&positions, &radii) {
        enough(table, measures, *positions, radii.len());
    }
    let holding = holding?.value;
    // Rings touched one by one come back to where they began; elsewhere it is asked for.
    let usual = matches!(holding, Holding::Plate | Holding::Anvil);
    let (gauge, positions, radii) = (gauge?, positions?.value, radii?);
    let closure = closure.unwrap_or(usual);
    Some(Setting { gauge, holding, moves, surface, direction, advance, positions, radii, closure })
}

fn positions(table: &Table<'_>) -> Option<At<u32>> {
    let found = table.integer("positions", 1..=MOST_POSITIONS)?;
    Some(At { value: u32::try_from(found.value).ok()?, line: found.line })
}

/// The measuring radii; empty where none is given and none is needed.
fn radii(table: &Table<'_>, measures: Measures, unit: Unit) -> Option<Vec<Length>> {
    let document = table.document();
    match (table.has("radius"), table.has("radii")) {
        (true, true) => {
            let text = "both radius and radii are given";
            document.error(table.line_of("radius"), text, "write one of them");
            None
        }
        (true, false) => Some(vec![positive(table, "radius", Some(unit))?.value.length]),
        (false, true) => several_radii(table, unit),
        (false, false) if matches!(measures, Measures::Parallelism | Measures::Flatness) => {
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

/// Whether the set-up can prove the figure at all (what a reading is in each set-up).
fn proves(table: &Table<'_>, measures: Measures, holding: At<Holding>) {
    let (why, hint) = match (measures, holding.value) {
        (Measures::ThicknessVariation, Holding::Anvil)
        | (Measures::Parallelism, Holding::Plate)
        | (Measures::Flatness, Holding::Plate | Holding::Supports)
        | (Measures::Length, Holding::Plate | Holding::Anvil) => return,
        (
            Measures::Runout
            | Measures::BarRunout
            | Measures::Difference
            | Measures::Taper
            | Measures::Confirm
            | Measures::Entry,
            _,
        ) => return,
        (_, Holding::Turning) => (
            "a part that turns under a fixed stylus shows its runout",
            "measure it on the plate, over the anvil or on supports",
        ),
        (Measures::ThicknessVariation, Holding::Plate | Holding::Supports) => (
            "thickness is read over an anvil right under the stylus",
            "write setup = \"anvil\", or measures = \"parallelism\" on the plate",
        ),
        (Measures::Parallelism, Holding::Anvil) => (
            "over an anvil a reading is the local thickness, not a height above the plate",
            "write measures = \"thickness-variation\", or setup = \"plate\"",
        ),
        (Measures::Parallelism | Measures::Length, Holding::Supports) => (
            "on three supports the height is above a plane of the supports' own",
            "write setup = \"plate\"; supports can prove flatness",
        ),
        (Measures::Flatness, Holding::Anvil) => (
            "a thickness includes the opposite face: a ring bent alike on both faces shows nothing",
            "write setup = \"plate\" or \"supports\"",
        ),
    };
    let (setup, figure) = (holding.value.text(), measures.text());
    let text = format!("setup \"{setup}\" cannot prove {figure}: {why}");
    table.document().error(holding.line, text, hint);
}

/// Whether there are enough touches, and not all on one line.
fn enough(table: &Table<'_>, measures: Measures, positions: At<u32>, rings: usize) {
    let document = table.document();
    if measures == Measures::Length {
        return;
    }
    let rings = u32::try_from(rings.max(1)).unwrap_or(u32::MAX);
    let total = positions.value.saturating_mul(rings);
    let few = too_few_positions(usize::try_from(total).unwrap_or(usize::MAX));
    let figure = measures.text();
    let (line, hint) = (positions.line, "8 positions in the middle of the land are usual");
    if total == 1 {
        document.error(line, format!("one touch says nothing about {figure}"), hint);
    } else if measures == Measures::Flatness && total < 4 {
        let text = format!("{total} touches cannot prove flatness: three points are always flat");
        document.error(line, text, hint);
    } else if positions.value < 3 && (measures == Measures::Flatness || !few) {
        let text = format!("all {total} touches lie on one line across the face");
        document.error(line, text, "3 positions on each radius at least");
    } else if few {
        let code = Reason::TooFewPositions.text();
        let text = format!("{code}: {total} touches may fail {figure}, never pass it");
        document.warning(line, text, hint);
    }
}
