//! The difference of two lengths and what it does.

use num_rational::Ratio;

use super::index::Named;
use super::size::{degrees, expansion};
use super::{Around, CheckLines};
use crate::reader::{Document, Table};
use crate::words::{decimal, not_negative, positive};
use bench::plan::{Arrangement, Check, CheckAt, MasterUse, NotStated, Pair, Part, Plan, steel};
use quantity::{Length, Unit};

const ARRANGEMENTS: [(&str, Arrangement); 3] = [
    ("back-to-back", Arrangement::BackToBack),
    ("face-to-face", Arrangement::FaceToFace),
    ("tandem", Arrangement::Tandem),
];

/// Reads what is peculiar to a difference.
pub(super) fn read(table: &Table<'_>, around: &Around<'_>) -> Option<Pair> {
    let arrangement = table.one_of("arrangement", &ARRANGEMENTS).map(|at| at.value);
    let preload = preload(table, around.unit);
    let offsets = offsets(table, around);
    let offset_u = not_negative(table, "offset_uncertainty", Some(around.unit));
    let between_c = degrees(table, "temperature_between");
    let off_20_c = degrees(table, "off_20");
    let expansion_u = expansion(table, "expansion_uncertainty");
    let own_expansion = expansion(table, "expansion").unwrap_or_else(steel);
    master_is_theirs(table);
    Some(Pair {
        of: halves(table, around)?,
        arrangement,
        preload,
        offsets,
        offset_u: offset_u.map(|u| u.value.length),
        // 0.2 degrees between the rings and 1 from 20, and 1e-6 between their expansions: common
        // practice, no source.
        between_c: between_c.unwrap_or_else(|| Ratio::new(1, 5)),
        off_20_c: off_20_c.unwrap_or_else(|| Ratio::from(1)),
        expansion: own_expansion,
        expansion_u: expansion_u.unwrap_or_else(|| Ratio::new(1, 1_000_000)),
        assumed: NotStated {
            between: between_c.is_none(),
            off_20: off_20_c.is_none(),
            expansion: expansion_u.is_none(),
        },
    })
}

/// The two lengths.
fn halves(table: &Table<'_>, around: &Around<'_>) -> Option<[CheckAt; 2]> {
    let hint = "write of = [\"outer-spacer/length\", \"inner-spacer/length\"], say";
    table.must_have("of", hint);
    let written = table.texts("of")?;
    let line = table.line_of("of");
    let [first, second] = written.as_slice() else {
        table.document().error(line, "a difference is taken of two lengths", hint);
        return None;
    };
    let one = |name| around.index.check(table.document(), name, "length").map(|named| named.at);
    let (first, second) = (one(first), one(second));
    let both = [first?, second?];
    if both[0] == both[1] {
        table.document().error(line, "a difference is taken of two different lengths", hint);
    }
    Some(both)
}

/// Preload of each bearing, newtons, and its deflection there.
fn preload(table: &Table<'_>, unit: Unit) -> Option<(f64, Length)> {
    let force = table.parsed_literal("preload", newtons);
    let deflection = positive(table, "deflection", Some(unit));
    for (key, other) in [("preload", "deflection"), ("deflection", "preload")] {
        if table.has(key) && !table.has(other) {
            let text = format!("{key} is given without {other}");
            let hint = "write preload = \"200 N\" and deflection = \"4 um\", say: one bearing at \
                        its nominal preload, from the maker's table";
            table.document().error(table.line_of(key), text, hint);
        }
    }
    Some((force?.value, deflection?.value.length))
}

/// A force above zero: `200 N`, `0.2 kN`; a bare number is in newtons.
fn newtons(text: &str) -> Result<f64, String> {
    let text = text.trim();
    let (number, factor) = match (text.strip_suffix("kN"), text.strip_suffix('N')) {
        (Some(number), _) => (number, 1000.0),
        (None, Some(number)) => (number, 1.0),
        (None, None) => (text, 1.0),
    };
    decimal(number.trim_end())
        .map_err(|_| format!("\"{text}\" is not a force such as \"200 N\""))?;
    let force = number.trim_end().parse::<f64>().unwrap_or(0.0) * factor;
    if force > 0.0 { Ok(force) } else { Err(format!("\"{text}\" is not above zero")) }
}

/// The entries of the face offsets on either side.
fn offsets(table: &Table<'_>, around: &Around<'_>) -> Option<[Vec<CheckAt>; 2]> {
    let keys = ["offsets_left", "offsets_right"];
    let given = keys.map(|key| table.has(key));
    let sides = keys.map(|key| offsets_of(table, around, key));
    let document = table.document();
    if let Some((missing, _)) = keys.into_iter().zip(given).find(|(_, given)| !given)
        && given.contains(&true)
    {
        let there = if missing == keys[0] { keys[1] } else { keys[0] };
        let text = format!("{there} is given without {missing}");
        document.error(table.line_of(there), text, "the bearings on both sides of the rings count");
    }
    if given == [true, true] {
        if !table.has("arrangement") {
            let text = "offsets are given without the arrangement of the bearings";
            let hint = "write arrangement = \"back-to-back\", say, the outer ring first";
            document.error(table.line_of(keys[0]), text, hint);
        }
        if table.has("nominal") {
            let text = "the offsets say what difference is required, not nominal";
            let hint = "the limits move along with it; take nominal out, or the offsets";
            document.warning(table.line_of("nominal"), text, hint);
        }
    }
    let [left, right] = sides;
    (given == [true, true]).then_some([left?, right?])
}

fn offsets_of(table: &Table<'_>, around: &Around<'_>, key: &str) -> Option<Vec<CheckAt>> {
    let written = table.texts(key)?;
    if written.is_empty() {
        let text = format!("{key} should be one entry or more");
        table.document().error(table.line_of(key), text, "write [\"bearing-1/offset\"], say");
        return None;
    }
    let one = |name| {
        let named: Named<'_> = around.index.check(table.document(), name, "entry")?;
        if let Some(unit) = named.unit.filter(|unit| Unit::parse(unit).is_none()) {
            let text =
                format!("\"{}\" is recorded in {unit}, and an offset is a length", name.value);
            table.document().error(name.line, text, "write unit = \"um\" at that entry");
        }
        Some(named.at)
    };
    let found: Vec<_> = written.iter().map(one).collect();
    found.into_iter().collect()
}

/// Its lengths touch the master; the difference itself touches nothing.
fn master_is_theirs(table: &Table<'_>) {
    for key in
        ["master", "master_size", "master_uncertainty"].into_iter().filter(|key| table.has(key))
    {
        let text = format!("a difference touches nothing: {key} belongs to its two lengths");
        table.document().warning(table.line_of(key), text, "write it there");
    }
}

/// What speaks against the differences of a plan, once all of its checks are known.
pub(super) fn doubts(document: &Document<'_>, plan: &Plan, lines: &[Vec<CheckLines>]) {
    let checks =
        plan.parts.iter().zip(lines).flat_map(|(part, lines)| part.checks.iter().zip(lines));
    for (check, lines) in checks {
        let Some(halves) = check.measures.halves() else { continue };
        let [Some(first), Some(second)] = halves.map(|of| plan.at(of)) else { continue };
        one_master(document, lines.of, [first, second]);
        let named = |(part, _): (&Part, &Check), word| part.name.as_str().contains(word);
        if check.measures.arrangement().is_some() && named(first, "inner") && named(second, "outer")
        {
            let text =
                "the first of a pair with an arrangement is the ring between the outer rings";
            let hint = "turn the two round, or preload would be told the wrong way round";
            document.warning(lines.of, text, hint);
        }
    }
}

/// Both halves against one master: only then does its size drop out of the difference.
fn one_master(document: &Document<'_>, line: u32, both: [(&Part, &Check); 2]) {
    let hint = "give both lengths the same master and master_size; its size then drops out";
    let without = both.iter().find(|(_, check)| check.master == MasterUse::None);
    if let Some((part, check)) = without {
        let text = format!(
            "{}/{} touches no master: a zero that walked would stand in the difference",
            part.name, check.name
        );
        document.warning(line, text, hint);
    } else if both[0].1.master_size != both[1].1.master_size {
        let text = "the two lengths have masters of different sizes, which the difference holds";
        document.warning(line, text, hint);
    }
}
