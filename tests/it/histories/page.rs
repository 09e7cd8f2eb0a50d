//! The report as a strict reader finds it, held against `verdicts --json`.

use std::collections::BTreeMap;

use markup5ever_rcdom::Handle;
use serde_json::Value;

use super::sums;
use super::target;
use crate::report::html::{attribute, elements, parsed, text};

mod tables;

/// The main table, the worked lines, the maps and what was set aside.
pub(super) struct Page {
    tree: Handle,
    /// The verdict's row and its cells.
    pub(super) rows: Vec<(u64, Vec<Handle>)>,
    /// The verdict's row, its worked line, and the descriptions of its drawings.
    worked: BTreeMap<u64, (Option<String>, Vec<String>)>,
    aside: String,
    /// Target and attempt of each one that is listed as set aside.
    pub(super) listed: Vec<(String, String)>,
}

/// Shown lengths are rounded at 1e-8 in.
const SHOWN: f64 = 0.6e-8;

fn decimal(value: &Value) -> Option<f64> {
    value.as_str()?.parse().ok()
}

fn printed(text: &str) -> Option<f64> {
    text.trim().replace('−', "-").replace('+', "").parse().ok()
}

impl Page {
    pub(super) fn of(page: &str) -> Self {
        let tree = parsed(page);
        let rows = elements(&tree, "tr").into_iter().filter_map(|row| {
            let id = attribute(&row, "data-verdict")?.parse().unwrap();
            Some((id, elements(&row, "td")))
        });
        let checks = elements(&tree, "div").into_iter().filter(|one| class(one, "check"));
        let worked = checks.map(|check| {
            let id = attribute(&elements(&check, "h3")[0], "id").unwrap();
            let line = elements(&check, "p").into_iter().find(|one| class(one, "worked"));
            let drawn = elements(&check, "desc").iter().map(text).collect();
            (id[1..].parse().unwrap(), (line.map(|line| text(&line)), drawn))
        });
        let sections = elements(&tree, "section");
        let aside = sections
            .iter()
            .find(|one| attribute(one, "aria-labelledby").as_deref() == Some("aside"))
            .unwrap();
        let table = elements(aside, "table").into_iter().find(|table| {
            elements(table, "caption").first().is_some_and(|one| text(one).contains("no longer"))
        });
        let listed = table.iter().flat_map(|table| elements(table, "tr")).filter_map(|row| {
            let target =
                text(elements(&row, "th").first().filter(|_| !elements(&row, "td").is_empty())?);
            Some((target, text(&elements(&row, "td")[0])))
        });
        let (rows, worked, listed) = (rows.collect(), worked.collect(), listed.collect());
        let aside = text(aside);
        Self { tree, rows, worked, aside, listed }
    }

    /// Worked lines whose sum was done again.
    pub(super) fn lines_worked_out(&self) -> usize {
        self.worked.values().filter(|(line, _)| line.as_deref().and_then(summed).is_some()).count()
    }

    /// What differs from the record, in a sentence.
    pub(super) fn disagrees(
        &self,
        all: &[Value],
        standing: &BTreeMap<String, Value>,
    ) -> Option<String> {
        for (id, cells) in &self.rows {
            let Some(wire) = all.iter().find(|one| one["id"] == *id) else {
                return Some(format!("verdict {id} of the page is no standing row"));
            };
            let found = row(wire, cells)
                .or_else(|| self.worked_line(*id, wire))
                .or_else(|| self.drawing(*id, wire));
            if let Some(what) = found {
                return Some(format!("{what}: {wire}"));
            }
        }
        self.set_aside(all, standing)
    }

    fn worked_line(&self, id: u64, wire: &Value) -> Option<String> {
        let (line, _) = self.worked.get(&id)?;
        let line = line.as_deref()?;
        let value = decimal(&wire["value"])?;
        if wire["measures"] == "taper" {
            return tables::taper_line(line, wire).or_else(|| compared(line, wire));
        }
        // Tied contacts have no weights that a person could use: only the result is told.
        let untold = line.contains("parallel planes that hold all ") && !line.contains(" × ");
        let Some((text, found, result)) = summed(line) else {
            return (!untold).then(|| format!("no sum in {line:?}"));
        };
        // A sum of N printed heights is off by half a last place each.
        let near = |one: f64, other: f64| (one - other).abs() <= SHOWN * 2.0;
        // Weights are told with four digits.
        let weighted = text.contains('×') && (found - result).abs() < 2e-7;
        let found = if weighted { result } else { found };
        if !near(result, value) || !near(found, result) {
            return Some(format!("{text:?} gives {found}, it says {result}, the verdict {value}"));
        }
        let means: BTreeMap<u64, f64> = wire["means"]
            .as_array()?
            .iter()
            .filter_map(|one| Some((one["position"].as_u64()?, decimal(&one["value"])?)))
            .collect();
        if let Some(rest) = line.strip_prefix("Highest at position ") {
            let high: u64 = rest.split(',').next()?.parse().ok()?;
            let low = rest.split("lowest at position ").nth(1)?;
            let low: u64 = low.split([',', ':']).next()?.parse().ok()?;
            let (Some(high), Some(low)) = (means.get(&high), means.get(&low)) else {
                return Some(format!("{line:?} names a position without a mean"));
            };
            if !near(high - low, value) {
                return Some(format!("{line:?}: the means give {}", high - low));
            }
        }
        if wire["measures"] == "length" {
            let count = f64::from(u32::try_from(means.len()).ok()?);
            let mean = means.values().sum::<f64>() / count;
            if !near(mean, value) || !line.contains(&format!(") / {}", means.len())) {
                return Some(format!("{line:?}: the means give {mean}"));
            }
        }
        compared(line, wire)
    }

    /// The heights a map or a plot tells against the means of the record.
    fn drawing(&self, id: u64, wire: &Value) -> Option<String> {
        let (_, drawn) = self.worked.get(&id)?;
        let face = ["parallelism", "flatness", "thickness-variation"];
        if !face.contains(&wire["measures"].as_str()?) {
            return None;
        }
        let mut means: Vec<f64> =
            wire["means"].as_array()?.iter().filter_map(|one| decimal(&one["value"])).collect();
        if wire["setup"] == "supports" {
            means = after_plane(&means)?;
        }
        let low = means.iter().copied().fold(f64::INFINITY, f64::min);
        let told = drawn.last()?.rsplit_once("in): ")?.1.trim_end_matches('.');
        let told: Vec<f64> =
            told.split("; ").filter_map(|one| printed(one.split_once(": ")?.1)).collect();
        let same = told.len() == means.len()
            && told
                .iter()
                .zip(&means)
                .all(|(told, mean)| (told - (mean - low) * 1e4).abs() < 0.0051);
        (!same).then(|| format!("the map says {told:?}, the means are {means:?}"))
    }

    /// Every attempt that was touched is combined in the standing verdict or listed with a reason.
    fn set_aside(&self, all: &[Value], standing: &BTreeMap<String, Value>) -> Option<String> {
        for one in all.iter().filter(|one| one["positions"].as_u64() > Some(0)) {
            let target = target(one);
            let now = &standing[&target];
            let counts = now["combined"].as_array().unwrap().contains(&one["attempt_id"]);
            let stopped = one["verdict"] == "incomplete";
            let replaced = one["standing"] == "part-replaced";
            let number = format!("{}, ", one["attempt"]);
            let listed = self
                .listed
                .iter()
                .any(|(of, attempt)| *of == target && attempt.starts_with(&number));
            if listed != (!counts || stopped || replaced) {
                return Some(format!(
                    "{target}, attempt {number}listed {listed}, counts {counts}: {one}\n{}",
                    self.aside
                ));
            }
        }
        let none = self.aside.contains("No attempt was set aside.");
        (none != self.listed.is_empty()).then(|| self.aside.clone())
    }
}

/// What the least-squares plane leaves of a whole circle of even touches: on supports the tilt is
/// how they were screwed. `None` where a touch is missing.
fn after_plane(heights: &[f64]) -> Option<Vec<f64>> {
    let count = f64::from(u32::try_from(heights.len()).ok().filter(|count| *count == 8)?);
    let angle = |at: usize| std::f64::consts::FRAC_PI_4 * f64::from(u32::try_from(at).unwrap());
    let share = |wave: fn(f64) -> f64| {
        heights.iter().enumerate().map(|(at, one)| one * wave(angle(at))).sum::<f64>() * 2.0 / count
    };
    let (cosine, sine) = (share(f64::cos), share(f64::sin));
    let plane = |at: usize| cosine * angle(at).cos() + sine * angle(at).sin();
    Some(heights.iter().enumerate().map(|(at, one)| one - plane(at)).collect())
}

fn class(element: &Handle, name: &str) -> bool {
    attribute(element, "class").is_some_and(|all| all.split(' ').any(|one| one == name))
}

/// The sum of a worked line, its value done again, and the result it states.
fn summed(line: &str) -> Option<(String, f64, f64)> {
    let sums = line.split("; limit ").next()?.split("; below the ").next()?;
    let (sum, rest) = sums.split("; stopped").next()?.rsplit_once(" = ")?;
    let result = rest.trim_end_matches('.').split_whitespace().next()?;
    let sum = sum.rsplit_once(": ").map_or(sum, |(_, sum)| sum);
    // Of a bar the share of each seating is told before the sum.
    let sum = sum.rsplit_once("; ").map_or(sum, |(_, sum)| sum);
    let sum = sum
        .replace("(on the master)", "")
        .replace("(its size)", "")
        .replace(", before rounding,", "");
    let sum = sum.rsplit(" = ").next()?.to_owned();
    let found = sums::value(&sum)?;
    Some((sum, found, printed(result)?))
}

/// The rule's comparison as it is printed holds and gives the verdict's word by that rule.
fn compared(line: &str, wire: &Value) -> Option<String> {
    let rule = line.split("; ").find(|one| one.starts_with("U "))?;
    let sums = rule.split_once(": ")?.1.trim_end_matches('.');
    let parts: Vec<&str> = sums.split([';', ',']).next()?.split(" ≤ ").collect();
    let values: Option<Vec<f64>> = parts.iter().map(|one| sums::value(one)).collect();
    let holds = values?.windows(2).all(|two| two[0] <= two[1] + 1e-13);
    let conforms = wire["guarded"] == "conforms";
    (conforms && !holds).then(|| format!("{rule:?} does not hold"))
}

/// A row of the main table.
fn row(wire: &Value, cells: &[Handle]) -> Option<String> {
    let attempt =
        |cell: &Handle| elements(cell, "data").first().and_then(|data| attribute(data, "value"));
    let told = |what: &str, at: usize, exact: &Value| {
        let found = attempt(&cells[at]);
        let cells: Vec<String> = cells.iter().map(text).collect();
        (found.as_deref() != exact.as_str())
            .then(|| format!("{what} is {found:?}, not {exact}, in {cells:?}"))
    };
    let seen = |at: usize| text(&cells[at]);
    let numeric = |at: usize, exact: &Value, up: bool| {
        let (Some(exact), Some(data)) = (decimal(exact), elements(&cells[at], "data").pop()) else {
            return None;
        };
        let said = text(&data);
        let number = printed(said.trim_start_matches("less than "))?;
        let places = said.trim().split_once('.').map_or(0, |(_, digits)| digits.len());
        let last = 10_f64.powi(-i32::try_from(places).unwrap());
        let (most, least) = if up { (last, 0.0) } else { (last / 2.0, -last / 2.0) };
        let off = number - exact;
        let fine = said.starts_with("less") || (off <= most + 1e-12 && off >= least - 1e-12);
        (!fine).then(|| format!("{said} is printed for {exact}"))
    };
    let word = wire["verdict"].as_str().unwrap().replace('-', " ");
    let tries = format!(", {}", wire["tries"]);
    told("the value", 1, &wire["value"])
        .or_else(|| told("U", 3, &wire["uncertainty"]))
        .or_else(|| numeric(1, &wire["value"], false))
        .or_else(|| numeric(3, &wire["uncertainty"], true))
        .or_else(|| (!seen(4).contains(&word)).then(|| format!("the word is {}", seen(4))))
        .or_else(|| {
            let said = seen(5);
            let taken = wire["taken"].to_string();
            (!said.starts_with(&taken) && said != "–").then(|| format!("{said} positions"))
        })
        .or_else(|| {
            let said = seen(7);
            let after = said.split_once(", ").map(|(_, tries)| format!(", {tries}"));
            let fine = after.is_some_and(|after| after.starts_with(&tries));
            (!fine).then(|| format!("rounds and tries are {said}"))
        })
}
