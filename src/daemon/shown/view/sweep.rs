//! A turn that is swept, on the screen: the marks to tap instead of positions to touch.

use crate::tally::Progress;
use bench::plan::{Check, Swept};
use wire::Next;
use wire::{PositionState, ViewCheck, ViewPosition};

/// Shows marks in place of positions, each numbered by its angle in degrees, and the mark to tap next in
/// place of the next touch; `progress` is that of a turn under way.
pub(super) fn show(
    shown: &mut ViewCheck,
    (check, swept): (&Check, &Swept),
    progress: Option<Progress>,
) {
    let whole = shown.next != Next::Sweep;
    let marks = swept.marks.max(1);
    let tapped = if whole { marks } else { progress.map_or(0, |progress| progress.tapped) };
    let marker = |mark: u32| {
        let position = check.mark_deg(mark)?;
        let state = if mark < tapped { PositionState::Taken } else { PositionState::Open };
        let angle_deg = Some(f64::from(position));
        Some(ViewPosition { position, angle_deg, state, value: None })
    };
    shown.per_circle = 360;
    shown.positions = (0..marks).filter_map(marker).collect();
    if whole {
        return;
    }
    (shown.taken, shown.of) = (tapped, marks + 1);
    shown.next_position = check.mark_deg(tapped);
    let next = shown.next_position.unwrap_or(0);
    shown.next_words = format!("TAP {next}");
    if let Some(Progress { samples, .. }) = progress {
        let then = if tapped == marks { "then the turn is whole" } else { "go on turning" };
        shown.why = Some(format!("Tap as mark {next} passes; {then}. {samples} samples."));
    }
}
