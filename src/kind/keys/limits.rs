//! The limits a check is judged by.

use judgement::Limits;
use quantity::{Length, Name, Quoted, Unit};

use super::{At, Keys, length, positive};
use crate::check::MasterUse;
use crate::traits::Traits;

/// The words of `master = …`.
const MASTERS: [(&str, MasterUse); 3] =
    [("none", MasterUse::None), ("opening", MasterUse::Opening), ("both", MasterUse::Both)];

/// The limits, with the lines they are written on.
pub(crate) struct Judged {
    pub(crate) limits: Option<Limits>,
    pub(crate) unit: Unit,
    pub(crate) aim: Option<Length>,
    pub(crate) line: u32,
}

impl Judged {
    /// No limits.
    pub(crate) fn nothing(keys: &impl Keys) -> Self {
        Self { limits: None, unit: keys.unit(), aim: None, line: keys.line() }
    }
}

/// The limit of a figure that can only be too large.
pub(crate) fn upper(keys: &impl Keys, word: &str) -> Option<Judged> {
    keys.must_have("tolerance", "write tolerance = \"0.0001 in\", say");
    for key in ["min", "max"] {
        if keys.has(key) {
            let text = format!("{word} has no {key}");
            keys.error(keys.line_of(key), text, "write tolerance = …");
        }
    }
    let (tolerance, aim) = tolerance_and_aim(keys);
    let tolerance = tolerance?;
    let Quoted { length, unit, .. } = tolerance.value;
    Some(Judged { limits: Some(Limits::Max(length)), unit, aim, line: tolerance.line })
}

fn tolerance_and_aim(keys: &impl Keys) -> (Option<At<Quoted>>, Option<Length>) {
    let tolerance = positive(keys, "tolerance");
    let aim = positive(keys, "aim");
    if let Some((tolerance, aim)) = tolerance.zip(aim)
        && aim.value.length > tolerance.value.length
    {
        let text =
            format!("the aim {} is looser than the tolerance {}", aim.value, tolerance.value);
        keys.error(aim.line, text, "an aim is the tighter figure, and never judged");
    }
    (tolerance, aim.map(|aim| aim.value.length))
}

/// The two limits of a figure, which is a `what`.
pub(crate) fn band(keys: &impl Keys, what: &str) -> Option<Judged> {
    for (key, size) in [("min", "1.4990 in"), ("max", "1.5010 in")] {
        let hint = format!("a {what} is held between two sizes: write {key} = \"{size}\", say");
        keys.must_have(key, &hint);
    }
    for key in ["tolerance", "aim"] {
        if keys.has(key) {
            let text = format!("a {what} has no {key}");
            keys.error(keys.line_of(key), text, "write min = … and max = …");
        }
    }
    between(keys)
}

/// A largest figure, with a smallest one where the plan has one.
pub(crate) fn at_most_or_between(keys: &impl Keys, what: &str) -> Option<Judged> {
    let hint = "write max = \"0.0005 in\", say, and min = … where there is a smallest";
    for key in ["tolerance", "aim"] {
        if keys.has(key) {
            let text = format!("{what} has no {key}");
            keys.error(keys.line_of(key), text, hint);
        }
    }
    keys.must_have("max", hint);
    if keys.has("min") {
        return between(keys);
    }
    let At { value, line } = positive(keys, "max")?;
    Some(Judged { limits: Some(Limits::Max(value.length)), unit: value.unit, aim: None, line })
}

fn between(keys: &impl Keys) -> Option<Judged> {
    let (min, max) = (length(keys, "min"), length(keys, "max"));
    let (min, max) = (min?, max?);
    if min.value.length >= max.value.length {
        let text = format!("min {} is not below max {}", min.value, max.value);
        keys.error(min.line, text, "write the smaller size as min");
        return None;
    }
    let limits = Limits::Band { min: min.value.length, max: max.value.length };
    Some(Judged { limits: Some(limits), unit: min.value.unit, aim: None, line: min.line })
}

/// The limits of a difference: the same on both sides of the required one, or a smallest and a largest.
pub(crate) fn either_side(keys: &impl Keys) -> Option<Judged> {
    let [one, min, max, _] = ["tolerance", "min", "max", "aim"].map(|key| keys.has(key));
    let two = min || max;
    let hint = "write tolerance = \"0.0001 in\", say, for as much either side, or min and max";
    if one == two {
        let text = if one {
            "both a tolerance and a min or max are given"
        } else {
            "a difference needs a tolerance"
        };
        keys.error(keys.line_of("tolerance"), text, hint);
        return None;
    }
    if two {
        keys.must_have("min", hint);
        keys.must_have("max", hint);
        let aim = positive(keys, "aim").map(|aim| aim.value.length);
        return between(keys).map(|judged| Judged { aim, ..judged });
    }
    let (tolerance, aim) = tolerance_and_aim(keys);
    let asked = keys.has("nominal").then(|| length(keys, "nominal"));
    let middle = match asked {
        Some(nominal) => nominal?.value.length.picometres(),
        None => 0,
    };
    let At { value, line } = tolerance?;
    let wide = value.length.picometres();
    let Some((min, max)) = middle.checked_sub(wide).zip(middle.checked_add(wide)) else {
        keys.error(line, "the limits are too large", hint);
        return None;
    };
    let (min, max) = (Length::from_picometres(min), Length::from_picometres(max));
    Some(Judged { limits: Some(Limits::Band { min, max }), unit: value.unit, aim, line })
}

/// The size on the drawing.
pub(crate) fn nominal(keys: &impl Keys, judged: Option<&Judged>) -> Option<Length> {
    let nominal = length(keys, "nominal")?;
    let size = nominal.value.length;
    if let Some(Judged { limits: Some(Limits::Band { min, max }), .. }) = judged
        && !(*min..=*max).contains(&size)
    {
        let text = format!("nominal {} is not between min and max", nominal.value);
        keys.error(nominal.line, text, "check the three sizes");
    }
    Some(size)
}

/// Which master touches are needed, and the size of the master.
pub(crate) fn master(
    keys: &impl Keys,
    traits: &Traits,
) -> (MasterUse, Option<Length>, Option<Name>) {
    let written: Option<At<MasterUse>> = keys.one_of("master", &MASTERS);
    let usual = if traits.sizes { MasterUse::Both } else { MasterUse::None };
    let master = written.map_or(usual, |written| written.value);
    let size = length(keys, "master_size").map(|size| size.value.length);
    let name = master_name(keys, master);
    let known = keys.has("master_size") || keys.has("master_name");
    if master != MasterUse::None && !known {
        let hint = "write master_size = \"1.5000 in\", say, or the master_name of one in the register, \
                    or master = \"none\" for a gauge that reads the size itself";
        let text = match written {
            Some(_) => "a master is touched, and master_size is missing",
            None => "a length is held against a master, and master_size is missing",
        };
        keys.error(keys.line_of("master"), text, hint);
    }
    if keys.has("master_uncertainty") {
        let line = keys.line_of("master_uncertainty");
        if !traits.sizes {
            let text = format!(
                "master_uncertainty changes nothing: the size of the master is not in a {}",
                traits.word
            );
            keys.warning(line, text, "take it out; it belongs to lengths");
        } else if master == MasterUse::None {
            let text = "master_uncertainty is given and no master is touched";
            keys.error(line, text, "take it out, or write master = \"both\"");
        }
    }
    (master, size, name)
}

/// The master's name in the register of the shop.
fn master_name(keys: &impl Keys, master: MasterUse) -> Option<Name> {
    let written = keys.string("master_name")?;
    if master == MasterUse::None {
        let text = "master_name is given and no master is touched";
        keys.error(written.line, text, "take it out, or write master = \"both\"");
    }
    match Name::new(&written.value) {
        Ok(name) => Some(name),
        Err(error) => {
            let text = format!("master_name {:?}: {error}", written.value);
            keys.error(written.line, text, "write the name it has in `tenths register`");
            None
        }
    }
}
