//! The other tables of the page: what was before, found and final, answers, the stations of a bar.

use markup5ever_rcdom::Handle;
use serde_json::Value;

use super::super::metal::Metal;
use super::super::target;
use super::{Page, class, decimal, printed};
use crate::report::html::{attribute, elements, text};

/// The exact figure in the markup of a cell.
fn exact(cell: &Handle) -> Option<String> {
    attribute(elements(cell, "data").first()?, "value")
}

/// Decimals in a text, in order, as they are printed.
fn decimals(text: &str) -> Vec<String> {
    let text = text.replace('−', "-");
    let words = text.split(|mark: char| !(mark.is_ascii_digit() || mark == '.' || mark == '-'));
    words.filter(|word| word.contains(|c: char| c.is_ascii_digit())).map(str::to_owned).collect()
}

fn numbers(text: &str) -> Vec<f64> {
    decimals(text).iter().filter_map(|one| printed(one)).collect()
}

/// Whether a printed number is the exact one, rounded to its own places; `up` for an uncertainty.
fn rounds(said: &str, exact: f64, up: bool) -> bool {
    let Some(number) = printed(said) else { return false };
    let places = said.trim().split_once('.').map_or(0, |(_, digits)| digits.len());
    let last = 10_f64.powi(-i32::try_from(places).unwrap());
    let off = number - exact;
    if up { (-1e-12..last + 1e-12).contains(&off) } else { off.abs() <= last / 2.0 + 1e-12 }
}

fn is_whole(one: &Value) -> bool {
    one["verdict"] != "incomplete" && !one["value"].is_null()
}

/// The judged figure with its uncertainty: of a bar that of a station.
fn figure(one: &Value, at: Option<&str>) -> Option<(String, f64)> {
    let Some(at) = at else {
        return Some((one["value"].as_str()?.to_owned(), decimal(&one["uncertainty"])?));
    };
    let stations = one["figures"]["stations"].as_array()?;
    let station = stations.iter().find(|one| one["at"] == at)?;
    Some((station["value"].as_str()?.to_owned(), decimal(&station["uncertainty"])?))
}

impl Page {
    pub(in super::super) fn befores(&self) -> usize {
        self.rows.iter().filter(|(_, cells)| exact(&cells[0]).is_some()).count()
    }

    /// Found and final with a figure on both sides.
    pub(in super::super) fn pairs_told(&self) -> usize {
        let both = |cells: &Vec<Handle>| exact(&cells[0]).and(exact(&cells[1])).is_some();
        self.pair_rows().iter().filter(|(_, cells)| both(cells)).count()
    }

    fn pair_rows(&self) -> Vec<(String, Vec<Handle>)> {
        let tables = elements(&self.tree, "table").into_iter().filter(|table| {
            elements(table, "th").iter().any(|head| text(head) == "Found to final")
        });
        let rows = tables.flat_map(|table| elements(&table, "tr"));
        rows.filter_map(|row| {
            let cells = elements(&row, "td");
            let name = elements(&row, "th").first().map(text)?;
            (!cells.is_empty()).then_some((name, cells))
        })
        .collect()
    }

    pub(in super::super) fn tables_disagree(&self, all: &[Value], metal: &Metal) -> Option<String> {
        self.before_column(all, metal)
            .or_else(|| self.found_and_final(all, metal))
            .or_else(|| self.entries(metal))
            .or_else(|| self.stations(all))
            .or_else(|| self.lengths_of_pairs(all))
    }

    /// The last whole attempt before metal was first taken off, where something was judged since.
    fn before_column(&self, all: &[Value], metal: &Metal) -> Option<String> {
        for (id, cells) in &self.rows {
            let wire = all.iter().find(|one| one["id"] == *id)?;
            let goes = metal.on_this_piece(&target(wire));
            let of = |id: u64| all.iter().find(move |one| one["attempt_id"] == id);
            let ground = goes.iter().position(|(_, reason)| *reason == "ground");
            let wanted = ground.and_then(|ground| {
                goes[ground..].iter().find_map(|(id, _)| of(*id))?;
                let mut earlier = goes[..ground].iter().rev().filter_map(|(id, _)| of(*id));
                earlier.find(|one| is_whole(one))?["value"].as_str()
            });
            let told = exact(&cells[0]);
            if told.as_deref() != wanted {
                return Some(format!("before is {told:?}, not {wanted:?}, of {wire}"));
            }
        }
        None
    }

    /// As found and as it leaves, station by station.
    fn found_and_final(&self, all: &[Value], metal: &Metal) -> Option<String> {
        let rows = self.pair_rows();
        if rows.len() != 3 {
            return Some(format!("{} rows of found and final", rows.len()));
        }
        for (name, cells) in &rows {
            let (of, at) = match name.split_once(" at ") {
                Some((of, at)) => (of, Some(at)),
                None => (name.as_str(), None),
            };
            let side = metal.check(of).found.clone().unwrap();
            let came = all.iter().find(|one| target(one) == side && is_whole(one));
            let leaves =
                all.iter().rfind(|one| target(one) == of && one["standing"] != "part-replaced");
            let told = [exact(&cells[0]), exact(&cells[1])];
            let found = came.and_then(|one| figure(one, at));
            let last = leaves.filter(|one| is_whole(one)).and_then(|one| figure(one, at));
            let gone = leaves.is_some_and(|one| one["standing"] == "metal-changed");
            if text(&cells[1]).contains("stands no longer") != gone {
                return Some(format!("{name}: {} of {leaves:?}", text(&cells[1])));
            }
            let wanted = [&found, &last].map(|one| one.as_ref().map(|(value, _)| value.clone()));
            if told != wanted {
                return Some(format!("{name}: {told:?}, not {wanted:?}"));
            }
            let both = came.zip(leaves).filter(|(_, leaves)| is_whole(leaves));
            let Some(((came, leaves), (found, last))) = both.zip(found.zip(last)) else { continue };
            let said = text(&cells[2]).replace('−', "-");
            let words: Vec<&str> = said.split_whitespace().collect();
            let moved = last.0.parse::<f64>().unwrap() - found.0.parse::<f64>().unwrap();
            let known = last.1.hypot(found.1);
            let figures = rounds(words[0].trim_start_matches('+'), moved, false)
                && rounds(words[1].trim_start_matches('±'), known, true);
            let changed = said.contains("CHANGED") == (moved.abs() > known);
            let near = (moved.abs() - known).abs() < 2e-8;
            let ids = [came, leaves].map(|one| one["attempt_id"].as_u64().unwrap());
            let news = metal.replaced_between(ids);
            let broken = said.contains("another piece") != news.is_empty()
                && news.iter().all(|part| said.contains(part));
            if !figures || !(changed || near) || !broken {
                return Some(format!("{name}: {said}, not {moved} ± {known}, new {news:?}"));
            }
        }
        None
    }

    /// Questions and entries with all that was answered, in order.
    fn entries(&self, metal: &Metal) -> Option<String> {
        let sections = elements(&self.tree, "section");
        let section = sections
            .iter()
            .find(|one| attribute(one, "aria-labelledby").as_deref() == Some("entries"))?;
        let rows = elements(section, "tr");
        let told = |target: &str| {
            let row = rows
                .iter()
                .find(|row| elements(row, "th").first().is_some_and(|head| text(head) == target))?;
            Some(text(elements(row, "td").get(1)?))
        };
        for check in
            metal.checks.iter().filter(|one| one.measures == "confirm" || one.measures == "entry")
        {
            let given = metal.answers(&check.target);
            let said = told(&check.target).unwrap_or_default();
            let in_order: Vec<String> = said
                .split(", then ")
                .map(|one| one.trim_start_matches("answered ").trim_start_matches("written down "))
                .filter_map(|one| Some(one.split_whitespace().next()?.to_owned()))
                .collect();
            if in_order != given {
                return Some(format!("{}: answered {given:?}, told {said:?}", check.target));
            }
        }
        None
    }

    /// The stations of a bar, with every figure of a row.
    fn stations(&self, all: &[Value]) -> Option<String> {
        for check in elements(&self.tree, "div").into_iter().filter(|one| class(one, "check")) {
            let id: u64 = attribute(&elements(&check, "h3")[0], "id")?[1..].parse().unwrap();
            let wire = all.iter().find(|one| one["id"] == id)?;
            let Some(stations) = wire["figures"]["stations"].as_array() else { continue };
            let tables = elements(&check, "table");
            let table = tables.iter().find(|one| class(one, "reads")).unwrap();
            let rows: Vec<_> = elements(table, "tr").into_iter().skip(1).collect();
            for (station, row) in stations.iter().zip(&rows) {
                let cells: Vec<String> = elements(row, "td").iter().map(text).collect();
                if let Some(what) = station_row(station, &text(&elements(row, "th")[0]), &cells) {
                    return Some(format!("{what} of {cells:?}: {station}"));
                }
            }
        }
        None
    }

    /// Both lengths of a difference.
    fn lengths_of_pairs(&self, all: &[Value]) -> Option<String> {
        let sections = elements(&self.tree, "section");
        let section = sections
            .iter()
            .find(|one| attribute(one, "aria-labelledby").as_deref() == Some("pairs"))?;
        let told: Vec<String> = elements(section, "dd").iter().map(text).collect();
        let ids: Vec<u64> = self.rows.iter().map(|(id, _)| *id).collect();
        let mut shown = all.iter().filter(|one| ids.iter().any(|id| one["id"] == *id));
        let pair = &shown.find(|one| one["measures"] == "difference")?["figures"]["pair"];
        let lengths = pair["lengths"].as_array()?;
        let same = lengths
            .iter()
            .zip(&told)
            .all(|(one, told)| numbers(told).first().copied() == decimal(one));
        (!same).then(|| format!("both lengths are told as {told:?}: {pair}"))
    }
}

/// What differs in the row of a station.
fn station_row(station: &Value, at: &str, cells: &[String]) -> Option<&'static str> {
    let all = |of: &Value| -> Vec<f64> {
        of.as_array().into_iter().flatten().filter_map(decimal).collect()
    };
    let mut wanted = all(&station["seatings"]);
    let more = ["mean_of_totals", "mean_of_seatings", "mean_sweep"].map(|key| &station[key]);
    let bar = [&station["bar"]["eccentricity"]];
    let repeat = ["difference", "limit"].map(|key| &station["repeat"][key]);
    wanted.extend(more.into_iter().chain(bar).chain(repeat).filter_map(decimal));
    let value = cells[0].trim_start_matches("less than ");
    if Some(at) != station["at"].as_str() {
        Some("the place")
    } else if !cells[0].contains("less") && !rounds(value, decimal(&station["value"])?, false) {
        Some("the figure")
    } else if printed(&cells[1]) != decimal(&station["tolerance"]) {
        Some("the limit")
    } else if !rounds(&cells[2], decimal(&station["uncertainty"])?, true) {
        Some("U")
    } else if !cells[3].replace(' ', "-").contains(station["verdict"].as_str()?) {
        Some("the word")
    } else {
        let told = decimals(&cells[5]);
        let rounded = told.iter().zip(&wanted).all(|(one, exact)| rounds(one, *exact, false));
        // Seatings that disagree by more than they may are printed so.
        let beyond = |of: &[f64]| matches!(of, [.., off, limit] if off > limit);
        let side = wanted.len() < 2
            || station["repeat"].is_null()
            || beyond(&numbers(&cells[5])) == beyond(&wanted);
        (told.len() != wanted.len() || !rounded || !side).then_some("what was read")
    }
}

/// The rate of a taper and what it comes to over its length, from the means of the record: the slope
/// of the line by least squares through diameters at 0.5, 1.5 and 2.5 in.
pub(super) fn taper_line(line: &str, wire: &Value) -> Option<String> {
    let means = wire["means"].as_array()?;
    let places: Vec<(f64, f64)> = means
        .iter()
        .filter_map(|one| Some((0.5 + one["position"].as_f64()?, decimal(&one["value"])?)))
        .collect();
    let count = f64::from(u32::try_from(places.len()).ok()?);
    let x = places.iter().map(|one| one.0).sum::<f64>() / count;
    let mean = places.iter().map(|one| one.1).sum::<f64>() / count;
    let rise: f64 = places.iter().map(|one| (one.0 - x) * (one.1 - mean)).sum();
    let run: f64 = places.iter().map(|one| (one.0 - x).powi(2)).sum();
    let error = (rise / run - 7.0 / 24.0).abs() * 2.0;
    let told = numbers(line.split("; limit ").next()?);
    // The rate, 1 along the axis, 7 and 24, 2 in, and what that is.
    let [rate, 1.0, 7.0, 24.0, 2.0, off] = told[..] else { return Some(format!("{line:?}")) };
    let fine = (rate - rise / run).abs() < 2e-8 && (off - error).abs() < 3e-8;
    (!fine || Some(off) != decimal(&wire["value"])).then(|| format!("{line:?}, not {error}"))
}
