//! What a check is judged against.

use super::super::reader::Table;
use super::super::words::{length, positive};
use crate::reader::At;
use bench::plan::{MasterUse, Traits};
use judgement::Limits;
use quantity::{Length, Quoted, Unit};

/// The words of `master = …`.
const MASTERS: [(&str, MasterUse); 3] =
    [("none", MasterUse::None), ("opening", MasterUse::Opening), ("both", MasterUse::Both)];

/// What is judged, and where it stands.
pub(super) struct Judged {
    pub(super) limits: Option<Limits>,
    pub(super) unit: Unit,
    pub(super) aim: Option<Length>,
    pub(super) line: u32,
}

/// A figure that can only be too large.
pub(super) fn upper(table: &Table<'_>, measures: &'static Traits, unit: Unit) -> Option<Judged> {
    table.must_have("tolerance", "write tolerance = \"0.0001 in\", say");
    for key in ["min", "max"] {
        if table.has(key) {
            let text = format!("{} has no {key}", measures.text());
            table.document().error(table.line_of(key), text, "write tolerance = …");
        }
    }
    let (tolerance, aim) = tolerance_and_aim(table, unit);
    let tolerance = tolerance?;
    let Quoted { length, unit, .. } = tolerance.value;
    Some(Judged { limits: Some(Limits::Max(length)), unit, aim, line: tolerance.line })
}

fn tolerance_and_aim(table: &Table<'_>, unit: Unit) -> (Option<At<Quoted>>, Option<Length>) {
    let tolerance = positive(table, "tolerance", Some(unit));
    let aim = positive(table, "aim", Some(unit));
    if let Some((tolerance, aim)) = tolerance.zip(aim)
        && aim.value.length > tolerance.value.length
    {
        let text =
            format!("the aim {} is looser than the tolerance {}", aim.value, tolerance.value);
        table.document().error(aim.line, text, "an aim is the tighter figure, and never judged");
    }
    (tolerance, aim.map(|aim| aim.value.length))
}

/// A size between two limits.
pub(super) fn band(table: &Table<'_>, unit: Unit) -> Option<Judged> {
    table.must_have("min", "a length is held between two sizes: write min = \"1.4990 in\", say");
    table.must_have("max", "a length is held between two sizes: write max = \"1.5010 in\", say");
    for key in ["tolerance", "aim"] {
        if table.has(key) {
            let text = format!("a length has no {key}");
            table.document().error(table.line_of(key), text, "write min = … and max = …");
        }
    }
    between(table, unit)
}

fn between(table: &Table<'_>, unit: Unit) -> Option<Judged> {
    let (min, max) = (length(table, "min", Some(unit)), length(table, "max", Some(unit)));
    let (min, max) = (min?, max?);
    if min.value.length >= max.value.length {
        let text = format!("min {} is not below max {}", min.value, max.value);
        table.document().error(min.line, text, "write the smaller size as min");
        return None;
    }
    let limits = Limits::Band { min: min.value.length, max: max.value.length };
    Some(Judged { limits: Some(limits), unit: min.value.unit, aim: None, line: min.line })
}

/// A difference: as much either side of what is asked for, or between two limits.
pub(super) fn either_side(table: &Table<'_>, unit: Unit) -> Option<Judged> {
    let [one, min, max, _] = ["tolerance", "min", "max", "aim"].map(|key| table.has(key));
    let two = min || max;
    let hint = "write tolerance = \"0.0001 in\", say, for as much either side, or min and max";
    if one == two {
        let text = if one {
            "both a tolerance and a min or max are given"
        } else {
            "a difference needs a tolerance"
        };
        table.document().error(table.line_of("tolerance"), text, hint);
        return None;
    }
    if two {
        table.must_have("min", hint);
        table.must_have("max", hint);
        let aim = positive(table, "aim", Some(unit)).map(|aim| aim.value.length);
        return between(table, unit).map(|judged| Judged { aim, ..judged });
    }
    let (tolerance, aim) = tolerance_and_aim(table, unit);
    let asked = table.has("nominal").then(|| length(table, "nominal", Some(unit)));
    let middle = match asked {
        Some(nominal) => nominal?.value.length.picometres(),
        None => 0,
    };
    let At { value, line } = tolerance?;
    let wide = value.length.picometres();
    let Some((min, max)) = middle.checked_sub(wide).zip(middle.checked_add(wide)) else {
        table.document().error(line, "the limits are too large", hint);
        return None;
    };
    let (min, max) = (Length::from_picometres(min), Length::from_picometres(max));
    Some(Judged { limits: Some(Limits::Band { min, max }), unit: value.unit, aim, line })
}

/// The drawing's size.
pub(super) fn nominal(table: &Table<'_>, unit: Unit, judged: Option<&Judged>) -> Option<Length> {
    let nominal = length(table, "nominal", Some(unit))?;
    let size = nominal.value.length;
    if let Some(Judged { limits: Some(Limits::Band { min, max }), .. }) = judged
        && !(*min..=*max).contains(&size)
    {
        let text = format!("nominal {} is not between min and max", nominal.value);
        table.document().error(nominal.line, text, "check the three sizes");
    }
    Some(size)
}

/// Which master touches are asked for, and the master's size.
pub(super) fn master(
    table: &Table<'_>,
    measures: &'static Traits,
    unit: Unit,
) -> (MasterUse, Option<Length>) {
    let written: Option<At<MasterUse>> = table.one_of("master", &MASTERS);
    let usual = if measures.word == "length" { MasterUse::Both } else { MasterUse::None };
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
    if table.has("master_uncertainty") {
        let line = table.line_of("master_uncertainty");
        if measures.word != "length" {
            let text = format!(
                "master_uncertainty changes nothing: the size of the master is not in a {}",
                measures.text()
            );
            table.document().warning(line, text, "take it out; it belongs to lengths");
        } else if master == MasterUse::None {
            let text = "master_uncertainty is given and no master is touched";
            table.document().error(line, text, "take it out, or write master = \"both\"");
        }
    }
    (master, size)
}
