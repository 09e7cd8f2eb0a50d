//! One turn of a surface under a fixed stylus.

use super::Around;
use crate::bench::plan::{PartKind, Surface, Turn};
use crate::config::reader::Table;
use crate::config::words::not_negative;
use crate::quantity::{Length, Unit};

/// Whether only the total reading is keyed in: `reads = "total"`.
pub(super) fn total_only(table: &Table<'_>) -> bool {
    let total = table.one_of("reads", &[("total", ())]).is_some();
    if total && table.has("positions") {
        let text = "one total reading has no positions";
        let hint = "take positions out, or reads = \"total\"";
        table.document().error(table.line_of("positions"), text, hint);
    }
    total
}

/// Reads what adds to the uncertainty of a turn.
pub(super) fn read(table: &Table<'_>, total_only: bool, unit: Unit) -> Turn {
    let [stand, seating, bar] =
        ["stand", "seating", "bar"].map(|key| uncertainty(table, key, unit));
    Turn { total_only, stand, seating, bar }
}

/// A standard uncertainty, zero where none is given.
pub(super) fn uncertainty(table: &Table<'_>, key: &str, unit: Unit) -> Length {
    not_negative(table, key, Some(unit)).map(|found| found.value.length).unwrap_or_default()
}

/// A bore touched as a journal, or the other way round, shows the axis on the wrong side.
pub(super) fn right_side(table: &Table<'_>, around: &Around<'_>, surface: Surface) {
    let (kind, said, other) = match (around.kind, surface) {
        (PartKind::Housing, Surface::Outside) => ("housing", "outside", "inside"),
        (PartKind::Shaft, Surface::Inside) => ("shaft", "inside", "outside"),
        (PartKind::Bar, Surface::Inside) => ("bar", "inside", "outside"),
        _ => return,
    };
    let text = format!("touch \"{said}\" on a {kind}: the axis would be shown on the wrong side");
    let hint = format!("write touch = \"{other}\", unless the {said} of it is meant");
    table.document().warning(table.line_of("touch"), text, hint);
}
