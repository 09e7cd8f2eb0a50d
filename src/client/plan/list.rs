//! `plan list`: every plan of the bench, those with an error too.

use super::found::{lines, setup};
use crate::failure::Failure;
use crate::global::Global;
use crate::query;
use ::report::{Column, Table};
use wire::plan_line;

pub(super) fn run(global: &Global) -> Result<u8, Failure> {
    let lines = lines(&setup(global)?);
    if global.json {
        query::print_json(&lines.iter().map(plan_line).collect::<Vec<_>>())?;
        return Ok(0);
    }
    let mut table = Table::new(&[
        Column::words("plan", 0),
        Column::number("checks", 1),
        Column::words("parts", 2),
        Column::words("", 0),
    ]);
    for line in &lines {
        let mut parts: Vec<&str> = line.checks.iter().map(|check| check.part.as_str()).collect();
        parts.dedup();
        let wrong = line.error.as_ref().map_or_else(String::new, |error| format!("ERROR {error}"));
        table.push(&[line.plan.clone(), line.checks.len().to_string(), parts.join(", "), wrong]);
    }
    query::print_table(&table, "There is no plan. Write one with: tenths plan new NAME", &[])?;
    Ok(0)
}
