//! `plan show`: the checks of a plan with limits, gauges and positions; a ring drawn with its positions.

use super::found::{line, named, setup};
use crate::failure::Failure;
use crate::global::Global;
use crate::{query, screen};
use ::bench::plan::{Check, Direction, Plan};
use ::report::{Column, Table};
use wire::{plan_line, printable};

pub(super) fn run(global: &Global, name: &str) -> Result<u8, Failure> {
    let setup = setup(global)?;
    let plan = named(&setup, name)?;
    let shown = line(name, &plan.plan);
    if global.json {
        screen::line(&plan_line(&shown))?;
        return Ok(0);
    }
    let mut table = Table::new(&[
        Column::words("check", 0),
        Column::words("measures", 0),
        Column::words("limits", 0),
        Column::words("unit", 1),
        Column::number("positions", 1),
        Column::words("gauge", 2),
        Column::words("set-up", 3),
        Column::words("step", 4),
    ]);
    for check in &shown.checks {
        let or_none = |text: &Option<String>| text.clone().unwrap_or_default();
        let unit = if check.limits_text.is_some() { check.unit.clone() } else { String::new() };
        let positions =
            if check.positions == 0 { String::new() } else { check.positions.to_string() };
        table.push(&[
            format!("{}/{}", check.part, check.check),
            check.measures.clone(),
            or_none(&check.limits_text),
            unit,
            positions,
            or_none(&check.gauge),
            or_none(&check.setup),
            or_none(&check.step),
        ]);
    }
    query::print_table(&table, "The plan has no checks.", &[])?;
    if let Some(drawn) = first_ring(&plan.plan) {
        screen::text(&format!("\n{drawn}"))?;
    }
    Ok(0)
}

/// The first check that goes round, drawn as it is touched.
fn first_ring(plan: &Plan) -> Option<String> {
    let mut all = plan.places().filter_map(|at| plan.at(at));
    let goes_round = |check: &Check| {
        check.traits().goes_round && !check.total_only() && (3..=24).contains(&check.per_circle())
    };
    let (part, check) = all.find(|(_, check)| goes_round(check))?;
    let way = match check.direction {
        Direction::CounterClockwise => "counter-clockwise",
        Direction::Clockwise => "clockwise",
    };
    let head = format!(
        "{}/{}: position 0 at the index mark, counted {way}, facing the measured face\n",
        part.name, check.name
    );
    Some(printable(head.trim_end()) + "\n" + &ring(check))
}

/// Rows and columns of the drawing; a character is about twice as high as it is wide.
const ROWS: usize = 11;
const COLUMNS: usize = 25;

/// The positions of a circle from above, the index mark on top.
fn ring(check: &Check) -> String {
    let mut cells = vec![vec![' '; COLUMNS + 4]; ROWS];
    let mut put = |angle_deg: f64, text: &str| {
        let (sin, cos) = angle_deg.to_radians().sin_cos();
        let half = |count: usize| f64::from(u32::try_from(count / 2).unwrap_or(0));
        let (column, row) = (half(COLUMNS) - half(COLUMNS) * sin, half(ROWS) - half(ROWS) * cos);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "inside the drawing"
        )]
        let (column, row) = (column.round() as usize, row.round() as usize);
        for (at, letter) in text.chars().enumerate() {
            if let Some(cell) = cells.get_mut(row).and_then(|row| row.get_mut(column + at)) {
                *cell = letter;
            }
        }
    };
    (0..72).for_each(|at| put(f64::from(at) * 5.0, "·"));
    for position in 0..check.per_circle() {
        put(check.angle_deg(position), &position.to_string());
    }
    let rows = cells.iter().map(|row| format!("  {}", row.iter().collect::<String>().trim_end()));
    rows.fold(String::new(), |text, row| text + &row + "\n")
}
