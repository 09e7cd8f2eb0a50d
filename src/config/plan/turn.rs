//! One turn of a surface under a fixed stylus.

use super::Around;
use crate::reader::Table;
use crate::words::not_negative;
use bench::plan::{PartKind, Surface, Turn};
use quantity::{Length, Unit};

/// Most marks in one turn: more than a hand can tap.
const MOST_MARKS: i64 = 36;

/// How a turn is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Reads {
    /// Position by position.
    Touches,
    /// Only the total reading is keyed in: `reads = "total"`.
    Total,
    /// In one go, with so many marks tapped in the turn: `reads = "sweep"`.
    Sweep {
        /// Marks in one turn, the index mark included.
        marks: u32,
    },
}

/// Reads how a turn is read.
pub(super) fn reads(table: &Table<'_>) -> Reads {
    // A slip in the word is a finding, and what else belongs to a total is read all the same.
    let written = table.has("reads");
    let word = table.one_of("reads", &[("total", false), ("sweep", true)]);
    let sweeps = word.is_some_and(|word| word.value);
    if written {
        let (text, hint) = if sweeps {
            ("a swept turn has no positions: every sample is one", "write marks = 4, say, instead")
        } else {
            ("one total reading has no positions", "take positions out, or reads = \"total\"")
        };
        for key in ["positions", "passes"].into_iter().filter(|key| table.has(key)) {
            if key == "positions" || sweeps {
                table.document().error(table.line_of(key), text, hint);
            }
        }
    }
    let marks = if sweeps { table.integer("marks", 1..=MOST_MARKS) } else { None };
    match (written, sweeps) {
        (false, _) => Reads::Touches,
        (true, false) => Reads::Total,
        (true, true) => {
            let marks = marks.map_or(4, |marks| u32::try_from(marks.value).unwrap_or(4));
            if marks == 1 {
                let text = "with one mark the speed of the hand is taken as constant: no high side \
                            is told";
                table.document().warning(table.line_of("marks"), text, "marks = 4 tells it");
            }
            Reads::Sweep { marks }
        }
    }
}

/// Reads what adds to the uncertainty of a turn.
pub(super) fn read(table: &Table<'_>, unit: Unit) -> Turn {
    let [stand, seating, bar] =
        ["stand", "seating", "bar"].map(|key| uncertainty(table, key, unit));
    Turn { stand, seating, bar }
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
