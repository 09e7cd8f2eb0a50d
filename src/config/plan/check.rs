//! One check of a plan.

use super::limits::{self, Judged};
use super::setting::{self, Setting};
use super::{Around, CheckLines, bar, found, pair, question, size, taper, turn};
use crate::reader::{At, Table};
use crate::words::{Once, name};
use bench::plan::{
    Check, Direction, Flatness, Holding, MasterUse, Measures, Moves, Parallelism, Reads, Surface,
    Swept, ThicknessVariation, Traits,
};
use quantity::Name;

/// The words of `measures = …`.
fn every_kind() -> Vec<(&'static str, &'static Traits)> {
    let kind = |(word, _): &(&'static str, _)| Some((*word, Measures::parse(word)?));
    Measures::WORDS.iter().filter_map(kind).collect()
}

/// Reads a check.
pub(super) fn read(
    table: Table<'_>,
    around: &Around<'_>,
    names: &mut Once,
) -> Option<(Check, CheckLines)> {
    let name = name(&table);
    if let Some(name) = &name {
        names.give(table.document(), name);
    }
    table.must_have("measures", "write measures = \"parallelism\", say");
    let Some(measures) = table.one_of("measures", &every_kind()) else {
        // Which other keys belong here is not known without it.
        setting::common(&table);
        return None;
    };
    let measures = measures.value;
    let read = if measures.is_touched() {
        touched(&table, measures, around, name)
    } else {
        untouched(&table, measures, around, name)
    };
    table.finish();
    read
}

/// A check that a gauge takes readings for.
fn touched(
    table: &Table<'_>,
    measures: &'static Traits,
    around: &Around<'_>,
    name: Option<At<Name>>,
) -> Option<(Check, CheckLines)> {
    let reads = if measures.word == "runout" { turn::reads(table) } else { turn::Reads::Touches };
    let setting = setting::read(table, measures, around, reads);
    let advance = setting::advance(table);
    let found = found::read(table, measures, around);
    let mut stations = Vec::new();
    let (detail, judged) = match measures.word {
        "length" => {
            let size = Measures::from(size::read(table, around));
            (Some(size), limits::band(table, around.unit))
        }
        "runout" => {
            let turn = Measures::from(turn::read(table, around.unit));
            (Some(turn), limits::upper(table, measures, around.unit))
        }
        "taper" => {
            let taper = taper::read(table, around.unit).map(Measures::from);
            (taper, limits::upper(table, measures, around.unit))
        }
        "bar-runout" => match bar::read(table, around.unit) {
            Some((bar, judged, lines)) => {
                stations = lines;
                (Some(Measures::from(bar)), Some(judged))
            }
            None => (None, None),
        },
        word => (Some(face(word)), limits::upper(table, measures, around.unit)),
    };
    let nominal = limits::nominal(table, around.unit, judged.as_ref());
    let (master, master_size) = limits::master(table, measures, around.unit);
    let (name, setting, judged, detail) = (name?.value, setting?, judged?, detail?);
    let Judged { limits, unit, aim, line } = judged;
    let Setting { gauge, holding, moves, surface, direction, .. } = setting;
    let (of, found_at) = (table.line(), table.line_of("found"));
    let lines = CheckLines { gauge: gauge.line, limits: line, stations, of, found: found_at };
    let check = Check {
        name,
        measures: detail,
        gauge: Some(gauge.value),
        setup: holding,
        moves,
        surface,
        direction,
        positions: setting.positions,
        passes: setting.passes,
        radii: setting.radii,
        limits,
        unit,
        aim,
        nominal,
        closure: setting.closure,
        master,
        master_size,
        advance,
        down: setting.down,
        face: setting.face,
        found,
        reads: match reads {
            super::turn::Reads::Touches => Reads::Touches,
            super::turn::Reads::Total => Reads::Total,
            super::turn::Reads::Sweep { marks } => {
                Reads::Sweep(Swept { marks, angles_deg: Vec::new() })
            }
        },
    };
    Some((check, lines))
}

/// A face.
fn face(word: &str) -> Measures {
    match word {
        "flatness" => Flatness.into(),
        "parallelism" => Parallelism.into(),
        _ => ThicknessVariation.into(),
    }
}

/// A check that is worked out or answered.
fn untouched(
    table: &Table<'_>,
    measures: &'static Traits,
    around: &Around<'_>,
    name: Option<At<Name>>,
) -> Option<(Check, CheckLines)> {
    let unjudged = || Judged { limits: None, unit: around.unit, aim: None, line: table.line() };
    let mut nominal = None;
    let (detail, judged) = if measures.word == "difference" {
        let judged = limits::either_side(table, around.unit);
        nominal = limits::nominal(table, around.unit, judged.as_ref());
        (pair::read(table, around).map(Measures::from), judged)
    } else if measures.word == "confirm" {
        (question::confirm(table).map(Measures::from), Some(unjudged()))
    } else {
        (question::entry(table).map(Measures::from), Some(unjudged()))
    };
    let advance = setting::advance(table);
    let found = found::read(table, measures, around);
    let (name, judged, detail) = (name?.value, judged?, detail?);
    let Judged { limits, unit, aim, line } = judged;
    let own = table.line();
    let (of, found_at) = (table.line_of("of"), table.line_of("found"));
    let lines = CheckLines { gauge: own, limits: line, stations: vec![], of, found: found_at };
    let check = Check {
        name,
        measures: detail,
        gauge: None,
        setup: Holding::Plate,
        moves: Moves::Ring,
        surface: Surface::NearFace,
        direction: Direction::CounterClockwise,
        positions: 0,
        passes: 1,
        radii: Vec::new(),
        limits,
        unit,
        aim,
        nominal,
        closure: false,
        master: MasterUse::None,
        master_size: None,
        advance,
        down: None,
        face: None,
        found,
        reads: Reads::Touches,
    };
    Some((check, lines))
}
