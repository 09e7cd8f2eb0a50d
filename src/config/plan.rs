//! Plan files: the parts of a job and the checks on each.
//!
//! Everything a plan says by itself is checked here; `fit` holds it against the gauges of a bench.
//! A job's pinned plan is read back with [`parse_plan`], so what was once accepted must be accepted
//! for ever: a new error here needs a new key.

mod check;
pub(super) mod fit;
mod found;
mod index;
mod pair;
mod stack;

use self::index::Index;

use super::finding::Finding;
use super::reader::{At, Document, Table};
use super::words::{Once, RULES, UNITS, name};
use bench::plan::keys::CheckLines;
use bench::plan::{Part, PartKind, Plan, Step};
use quantity::Unit;

/// The words of `kind = …` of a part.
const KINDS: [(&str, PartKind); 8] = [
    ("spacer", PartKind::Spacer),
    ("shield", PartKind::Shield),
    ("nut", PartKind::Nut),
    ("shaft", PartKind::Shaft),
    ("housing", PartKind::Housing),
    ("bearing", PartKind::Bearing),
    ("bar", PartKind::Bar),
    ("other", PartKind::Other),
];

/// A plan file as far as it could be read.
#[derive(Debug)]
pub(super) struct ReadPlan {
    /// All that was found, errors and warnings, in the order of the lines.
    pub(super) findings: Vec<Finding>,
    /// The plan, when there was no error.
    pub(super) plan: Option<Plan>,
    /// Where its checks stand, part by part.
    pub(super) lines: Vec<Vec<CheckLines>>,
    /// The gauges that its checks name, and where, whatever else is wrong.
    pub(super) gauges: Vec<At<String>>,
}

/// What a check is read in.
struct Around<'a> {
    /// A bare number is in it.
    unit: Unit,
    /// What the part is.
    kind: PartKind,
    /// The step of its checks, where the part writes one.
    step: Option<Step>,
    /// Every name of the plan.
    index: &'a Index<'a>,
}

/// Reads a plan; `file` is what findings call it.
///
/// # Errors
/// Everything that is wrong with it, warnings included. Warnings alone are no error.
pub fn parse_plan(text: &str, file: &str) -> Result<Plan, Vec<Finding>> {
    let read = read(text, file);
    read.plan.ok_or(read.findings)
}

/// Reads a plan and says everything there is to say about it.
pub(super) fn read(text: &str, file: &str) -> ReadPlan {
    let document = Document::parse(file, text);
    let gauges = document.root().map(|root| gauges(&root)).unwrap_or_default();
    let read = document.root().and_then(whole);
    let (plan, lines) = read.unzip();
    document.all_is_described();
    let plan = plan.filter(|_| !document.has_errors());
    ReadPlan { findings: document.findings(), plan, lines: lines.unwrap_or_default(), gauges }
}

fn gauges(root: &Table<'_>) -> Vec<At<String>> {
    let parts = root.glance_at("part").into_iter();
    let checks = parts.flat_map(|part| part.glance_at("check"));
    let gauge = |check: Table<'_>| {
        let value = check.glance("gauge")?.to_owned();
        Some(At { value, line: check.line_of("gauge") })
    };
    checks.filter_map(gauge).collect()
}

fn whole(root: Table<'_>) -> Option<(Plan, Vec<Vec<CheckLines>>)> {
    root.must_have("unit", "write unit = \"in\" or unit = \"mm\": bare numbers are in it");
    root.must_have("part", "write [[part]] and its checks");
    let plan_name = name(&root);
    let unit = root.one_of("unit", &UNITS);
    let rule = root.one_of("rule", &RULES).map(|rule| rule.value);
    // Without a unit the rest is read all the same, for its findings.
    let bare = unit.map_or(Unit::Inch, |unit| unit.value);
    let index = Index::of(&root);
    let mut names = Once::new("parts");
    let read =
        root.tables("part").into_iter().filter_map(|table| part(table, bare, &index, &mut names));
    let (parts, lines): (Vec<_>, Vec<_>) = read.unzip();
    let stack = stack::read(&root, &index);
    let document = root.document();
    root.finish();
    let name = plan_name?.value.as_str().to_owned();
    let plan = Plan { name, unit: unit?.value, rule, parts, stack };
    if !document.has_errors() {
        pair::doubts(document, &plan, &lines);
        found::doubts(document, &plan, &lines);
    }
    Some((plan, lines))
}

fn part(
    table: Table<'_>,
    unit: Unit,
    index: &Index<'_>,
    names: &mut Once,
) -> Option<(Part, Vec<CheckLines>)> {
    let document = table.document();
    let part_name = name(&table);
    if let Some(part_name) = &part_name {
        names.give(document, part_name);
    }
    let kind = table.one_of("kind", &KINDS).map_or(PartKind::Other, |kind| kind.value);
    table.must_have("check", "write [[part.check]] below the part");
    let step = check::step(&table);
    let around = Around { unit, kind, step, index };
    let mut check_names = Once::new("checks of this part");
    let read = table.tables("check").into_iter();
    let (checks, lines) =
        read.filter_map(|check| check::read(check, &around, &mut check_names)).unzip();
    table.finish();
    Some((Part { name: part_name?.value, kind, checks }, lines))
}

#[cfg(test)]
mod tests;
