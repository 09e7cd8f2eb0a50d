//! Whether the set-up and the touches of a check can prove its figure.

use judgement::{Reason, too_few_positions};

use super::{At, Keys};
use crate::check::Holding;
use crate::traits::{Setting, Traits};

/// Reports a set-up that cannot prove the figure at all (docs/figures.md names the set-ups of each figure).
pub(crate) fn proves(keys: &impl Keys, traits: &Traits, holding: At<Holding>) {
    if let Some((why, hint)) = (traits.cannot_prove)(holding.value) {
        let (setup, figure) = (holding.value.text(), traits.word);
        let text = format!("setup \"{setup}\" cannot prove {figure}: {why}");
        keys.error(holding.line, text, hint);
    }
}

/// Why a turning part cannot prove a figure of a part at rest.
pub(crate) const AT_REST: (&str, &str) = (
    "a part that turns under a fixed stylus shows its runout",
    "measure it on the plate, over the anvil or on supports",
);

/// Why supports cannot prove a height.
pub(crate) const ON_SUPPORTS: (&str, &str) = (
    "on three supports the height is above a plane of the supports' own",
    "write setup = \"plate\"; supports can prove flatness",
);

/// Why any set-up other than turning cannot prove a runout.
pub(crate) fn only_turning(setup: Holding) -> Option<(&'static str, &'static str)> {
    (setup != Holding::Turning).then_some((
        "runout is read while the part turns under a fixed stylus",
        "write setup = \"turning\"",
    ))
}

/// Whether there are enough touches, not all on one line, and what they cannot see; the last two arguments
/// are radii and passes.
pub(crate) fn enough(
    keys: &impl Keys,
    traits: &Traits,
    positions: At<u32>,
    (rings, passes): (u32, u32),
) {
    if !traits.goes_round {
        return;
    }
    let (turns, plane) = (traits.by_circles(), traits.setting == Setting::Plane);
    // Each circle of a turn is judged by itself, all circles of a face together.
    let circles = if turns { passes } else { rings.saturating_mul(passes) };
    let total = positions.value.saturating_mul(circles);
    let few = too_few_positions(usize::try_from(total).unwrap_or(usize::MAX));
    let blind = blind(positions.value.saturating_mul(passes), turns);
    let figure = traits.word;
    let line = positions.line;
    let hint = if turns {
        "10 or 16 positions are usual on a turn, 8 on a face"
    } else {
        "8 positions in the middle of the land are usual"
    };
    if total == 1 {
        keys.error(line, format!("one touch says nothing about {figure}"), hint);
    } else if plane && total < 4 {
        let text = format!("{total} touches cannot prove flatness: three points are always flat");
        keys.error(line, text, hint);
    } else if positions.value < 3 && (plane || !few) {
        let text = format!("all {total} touches lie on one line across the face");
        keys.error(line, text, "3 positions on each radius at least");
    } else if few {
        let code = Reason::TooFewPositions.text();
        let blind = blind.map(|blind| format!("; {blind}")).unwrap_or_default();
        let text = format!("{code}: {total} touches may fail {figure}, never pass it{blind}");
        keys.warning(line, text, hint);
    } else if let Some(blind) = blind {
        keys.warning(line, blind, hint);
    }
}

/// What evenly spaced touches on a circle may miss: worked out for the worst phase of 2 or 3 waves against
/// the positions.
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
