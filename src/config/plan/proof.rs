//! Whether a set-up and its touches can prove a figure.

use crate::reader::{At, Table};
use bench::plan::{Holding, Traits};
use judgement::{Reason, too_few_positions};

/// Whether the set-up can prove the figure at all (what a reading is in each set-up).
pub(super) fn proves(table: &Table<'_>, measures: &'static Traits, holding: At<Holding>) {
    let (why, hint) = match (measures.word, holding.value) {
        ("thickness-variation", Holding::Anvil)
        | ("parallelism", Holding::Plate)
        | ("flatness", Holding::Plate | Holding::Supports)
        | ("length", Holding::Plate | Holding::Anvil)
        | ("runout" | "bar-runout", Holding::Turning)
        | ("taper", Holding::Plate | Holding::Anvil | Holding::Supports)
        | ("difference" | "confirm" | "entry", _) => return,
        ("runout" | "bar-runout", _) => (
            "runout is read while the part turns under a fixed stylus",
            "write setup = \"turning\"",
        ),
        ("taper", Holding::Turning) => (
            "a stylus beside a turning part sees the radius, half the rate",
            "measure diameters on the part at rest: leave setup out",
        ),
        (_, Holding::Turning) => (
            "a part that turns under a fixed stylus shows its runout",
            "measure it on the plate, over the anvil or on supports",
        ),
        ("thickness-variation", Holding::Plate | Holding::Supports) => (
            "thickness is read over an anvil right under the stylus",
            "write setup = \"anvil\", or measures = \"parallelism\" on the plate",
        ),
        ("parallelism", Holding::Anvil) => (
            "over an anvil a reading is the local thickness, not a height above the plate",
            "write measures = \"thickness-variation\", or setup = \"plate\"",
        ),
        ("parallelism" | "length", Holding::Supports) => (
            "on three supports the height is above a plane of the supports' own",
            "write setup = \"plate\"; supports can prove flatness",
        ),
        ("flatness", Holding::Anvil) => (
            "a thickness includes the opposite face: a ring bent alike on both faces shows nothing",
            "write setup = \"plate\" or \"supports\"",
        ),
        _ => return,
    };
    let (setup, figure) = (holding.value.text(), measures.text());
    let text = format!("setup \"{setup}\" cannot prove {figure}: {why}");
    table.document().error(holding.line, text, hint);
}

/// Whether there are enough touches, not all on one line, and where they are blind; the last are
/// radii and passes.
pub(super) fn enough(
    table: &Table<'_>,
    measures: &'static Traits,
    positions: At<u32>,
    (rings, passes): (u32, u32),
) {
    let document = table.document();
    if !measures.goes_round {
        return;
    }
    let turns = matches!(measures.word, "runout" | "bar-runout");
    // Each circle of a turn is judged by itself, those of a face together.
    let circles = if turns { passes } else { rings.saturating_mul(passes) };
    let total = positions.value.saturating_mul(circles);
    let few = too_few_positions(usize::try_from(total).unwrap_or(usize::MAX));
    let blind = blind(positions.value.saturating_mul(passes), turns);
    let figure = measures.text();
    let line = positions.line;
    let hint = if turns {
        "10 or 16 positions are usual on a turn, 8 on a face"
    } else {
        "8 positions in the middle of the land are usual"
    };
    if total == 1 {
        document.error(line, format!("one touch says nothing about {figure}"), hint);
    } else if measures.word == "flatness" && total < 4 {
        let text = format!("{total} touches cannot prove flatness: three points are always flat");
        document.error(line, text, hint);
    } else if positions.value < 3 && (measures.word == "flatness" || !few) {
        let text = format!("all {total} touches lie on one line across the face");
        document.error(line, text, "3 positions on each radius at least");
    } else if few {
        let code = Reason::TooFewPositions.text();
        let blind = blind.map(|blind| format!("; {blind}")).unwrap_or_default();
        let text = format!("{code}: {total} touches may fail {figure}, never pass it{blind}");
        document.warning(line, text, hint);
    } else if let Some(blind) = blind {
        document.warning(line, blind, hint);
    }
}

/// What evenly spaced touches on a circle are not sure to see: worked out from the worst phase of
/// 2 or 3 waves against them.
fn blind(touches: u32, turns: bool) -> Option<&'static str> {
    match touches {
        3 | 6 => Some("three-lobe: 3 or 6 positions on a circle are blind to three lobes"),
        4 => Some("saddle: 4 positions on a circle are blind to a saddle on its nodes"),
        12 if turns => Some(
            "three-lobe: 12 positions on a circle are sure of only 0.71 of three lobes and 0.87 \
             of two; 10 or 16 see more",
        ),
        _ => None,
    }
}
