//! One check of a plan.

use super::CheckLines;
use super::setting::{self, Setting};
use crate::bench::plan::{Check, Detail, MasterUse, Measures};
use crate::config::reader::{At, Table};
use crate::config::words::{Once, length, name, positive};
use crate::judgement::Limits;
use crate::quantity::{Length, Quoted, Unit};

/// The words of `measures = …`; without a figure, this version knows the word and cannot measure
/// it yet.
const MEASURES: [(&str, Option<Measures>); 10] = [
    ("length", Some(Measures::Length)),
    ("thickness-variation", Some(Measures::ThicknessVariation)),
    ("parallelism", Some(Measures::Parallelism)),
    ("flatness", Some(Measures::Flatness)),
    ("runout", None),
    ("bar-runout", None),
    ("difference", None),
    ("taper", None),
    ("confirm", None),
    ("entry", None),
];

/// The words of `master = …`.
const MASTERS: [(&str, MasterUse); 3] =
    [("none", MasterUse::None), ("opening", MasterUse::Opening), ("both", MasterUse::Both)];

/// Reads a check; a bare number is in `unit`.
pub(super) fn read(table: Table<'_>, unit: Unit, names: &mut Once) -> Option<(Check, CheckLines)> {
    let check_name = name(&table);
    if let Some(check_name) = &check_name {
        names.give(table.document(), check_name);
    }
    let measures = measures(&table)?;
    let setting = setting::read(&table, measures, unit);
    let limits = limits(&table, measures, unit);
    let nominal = nominal(&table, unit, limits.as_ref());
    let (master, master_size) = master(&table, measures, unit);
    table.finish();
    let (name, setting, limits) = (check_name?.value, setting?, limits?);
    let lines = CheckLines { gauge: setting.gauge.line, limits: limits.line };
    let Setting { gauge, holding, moves, surface, direction, advance, positions, radii, closure } =
        setting;
    let check = Check {
        name,
        measures,
        gauge: Some(gauge.value),
        setup: holding,
        moves,
        surface,
        direction,
        positions,
        passes: 1,
        radii,
        limits: Some(limits.limits),
        unit: limits.unit,
        aim: limits.aim,
        nominal,
        closure,
        master,
        master_size,
        advance,
        down: None,
        detail: Detail::Plain,
    };
    Some((check, lines))
}

/// The characteristic. `None` has left one finding, and the rest of the check is not looked at:
/// its keys would be those of another characteristic.
fn measures(table: &Table<'_>) -> Option<Measures> {
    table.must_have("measures", "write measures = \"parallelism\", say");
    let words = MEASURES.map(|(word, figure)| (word, (word, figure)));
    let found = table.one_of("measures", &words)?;
    let (word, figure) = found.value;
    if figure.is_none() {
        let able = MEASURES.iter().filter(|(_, figure)| figure.is_some());
        let able: Vec<_> = able.map(|(word, _)| *word).collect();
        let text = format!("this version cannot measure {word} yet");
        let hint = format!("it measures {}; take this check out", able.join(", "));
        table.document().error(found.line, text, hint);
    }
    figure
}

/// What is judged, and where it stands.
struct Judged {
    limits: Limits,
    unit: Unit,
    aim: Option<Length>,
    line: u32,
}

fn limits(table: &Table<'_>, measures: Measures, unit: Unit) -> Option<Judged> {
    match measures {
        Measures::Length => band(table, unit),
        Measures::ThicknessVariation | Measures::Parallelism | Measures::Flatness => {
            upper(table, measures, unit)
        }
        Measures::Runout
        | Measures::BarRunout
        | Measures::Difference
        | Measures::Taper
        | Measures::Confirm
        | Measures::Entry => None,
    }
}

/// A figure that can only be too large.
fn upper(table: &Table<'_>, measures: Measures, unit: Unit) -> Option<Judged> {
    table.must_have("tolerance", "write tolerance = \"0.0001 in\", say");
    for key in ["min", "max"] {
        if table.has(key) {
            let text = format!("{} has no {key}", measures.text());
            table.document().error(table.line_of(key), text, "write tolerance = …");
        }
    }
    let tolerance = positive(table, "tolerance", Some(unit));
    let aim = positive(table, "aim", Some(unit));
    let tolerance = tolerance?;
    if let Some(aim) = aim.filter(|aim| aim.value.length > tolerance.value.length) {
        let text =
            format!("the aim {} is looser than the tolerance {}", aim.value, tolerance.value);
        table.document().error(aim.line, text, "an aim is the tighter figure, and never judged");
    }
    let Quoted { length, unit, .. } = tolerance.value;
    let aim = aim.map(|aim| aim.value.length);
    Some(Judged { limits: Limits::Max(length), unit, aim, line: tolerance.line })
}

/// A size between two limits.
fn band(table: &Table<'_>, unit: Unit) -> Option<Judged> {
    table.must_have("min", "a length is held between two sizes: write min = \"1.4990 in\", say");
    table.must_have("max", "a length is held between two sizes: write max = \"1.5010 in\", say");
    for key in ["tolerance", "aim"] {
        if table.has(key) {
            let text = format!("a length has no {key}");
            table.document().error(table.line_of(key), text, "write min = … and max = …");
        }
    }
    let (min, max) = (length(table, "min", Some(unit)), length(table, "max", Some(unit)));
    let (min, max) = (min?, max?);
    if min.value.length >= max.value.length {
        let text = format!("min {} is not below max {}", min.value, max.value);
        table.document().error(min.line, text, "write the smaller size as min");
        return None;
    }
    let limits = Limits::Band { min: min.value.length, max: max.value.length };
    Some(Judged { limits, unit: min.value.unit, aim: None, line: min.line })
}

/// The drawing's size.
fn nominal(table: &Table<'_>, unit: Unit, judged: Option<&Judged>) -> Option<Length> {
    let nominal = length(table, "nominal", Some(unit))?;
    let size = nominal.value.length;
    if let Some(Judged { limits: Limits::Band { min, max }, .. }) = judged
        && !(*min..=*max).contains(&size)
    {
        let text = format!("nominal {} is not between min and max", nominal.value);
        table.document().error(nominal.line, text, "check the three sizes");
    }
    Some(size)
}

/// Which master touches are asked for, and the master's size.
fn master(table: &Table<'_>, measures: Measures, unit: Unit) -> (MasterUse, Option<Length>) {
    let written: Option<At<MasterUse>> = table.one_of("master", &MASTERS);
    let usual = if measures == Measures::Length { MasterUse::Both } else { MasterUse::None };
    let master = written.map_or(usual, |written| written.value);
    let size = length(table, "master_size", Some(unit)).map(|size| size.value.length);
    if master != MasterUse::None && !table.has("master_size") {
        let hint = "write master_size = \"1.5000 in\", say, or master = \"none\" for a gauge that \
                    reads the size itself";
        let text = match written {
            Some(_) => "a master is touched, and master_size is missing",
            None => "a length is held against a master, and master_size is missing",
        };
        table.document().error(table.line_of("master"), text, hint);
    }
    (master, size)
}
