//! The readings of a study of hands and parts, from a file: a header that names the columns, then a row for
//! each reading.

use std::collections::BTreeMap;
use std::io::BufRead;

use judgement::study::Crossed;
use quantity::Unit;

use crate::cells::{Cells, without_mark};
use crate::points::Lines;

/// The most readings of a study; a larger file is of another kind.
const MOST: usize = 100_000;

/// The readings of a study, each hand on each part equally often.
#[derive(Debug, Clone, PartialEq)]
pub struct Readings {
    /// The unit of the readings, where it is stated.
    pub unit: Option<Unit>,
    /// The hands, as they first appear.
    pub hands: Vec<String>,
    /// The parts, as they first appear.
    pub parts: Vec<String>,
    /// The readings themselves.
    pub crossed: Crossed,
}

impl Readings {
    /// Of readings that are at hand, in the order in which they were made: the hand, the part and the value
    /// of each.
    ///
    /// # Errors
    /// A sentence about what makes no study.
    pub fn of(
        unit: Unit,
        readings: impl IntoIterator<Item = (String, String, f64)>,
    ) -> Result<Self, String> {
        let mut rows = Rows::default();
        for (hand, part, value) in readings {
            rows.add((hand, part), None, value)?;
        }
        rows.crossed(Some(unit))
    }

    /// Reads a file with the columns `hand`, `part`, `trial` and `value`, in any order; `value_in`,
    /// `value_mm` or `value_um` says the unit, too. A file without `hand` is of one hand, one without
    /// `part` of one part; without `trial` rows count in their order. Lines that begin with `#` are remarks.
    ///
    /// # Errors
    /// A sentence, with the line where there is one, about what cannot be taken.
    pub fn read(file: impl BufRead) -> Result<Self, String> {
        let mut lines = Lines::of(file);
        let mut columns = loop {
            match lines.next()? {
                None => {
                    return Err("line 1: the file is empty; the first line names columns".into());
                }
                Some(line) if line.starts_with(b"#") => {}
                Some(line) => {
                    let columns = Columns::of(line);
                    break columns.map_err(|why| format!("line {}: {why}", lines.number()))?;
                }
            }
        };
        let mut rows = Rows::default();
        while let Some(line) = lines.next()? {
            if line.starts_with(b"#") {
                continue;
            }
            let taken = rows.take(&mut columns, line);
            taken.map_err(|why| format!("line {}: {why}", lines.number()))?;
        }
        rows.crossed(columns.unit)
    }
}

/// Where the columns stand in a line.
struct Columns {
    hand: Option<usize>,
    part: Option<usize>,
    trial: Option<usize>,
    value: usize,
    unit: Option<Unit>,
    count: usize,
    /// What parts them.
    parted: Cells,
}

impl Columns {
    fn of(line: &[u8]) -> Result<Self, String> {
        let line = without_mark(line);
        let parted = Cells::of(line)?;
        let mut found: [Option<usize>; 3] = [None; 3];
        let mut value: Option<(usize, Option<Unit>)> = None;
        let mut count = 0;
        for (at, cell) in parted.cells(line).enumerate() {
            let name = String::from_utf8_lossy(cell).to_lowercase();
            let twice = || format!("the column {name} comes twice");
            if let Some(known) = ["hand", "part", "trial"].iter().position(|known| *known == name) {
                if found[known].replace(at).is_some() {
                    return Err(twice());
                }
            } else if let Some(unit) = unit_of(&name) {
                if value.replace((at, unit?)).is_some() {
                    return Err(twice());
                }
            } else {
                return Err(format!(
                    "no column is called {name:?}; there are hand, part, trial and value"
                ));
            }
            count += 1;
        }
        let [hand, part, trial] = found;
        let (value, unit) = value.ok_or("there is no column value")?;
        Ok(Self { hand, part, trial, value, unit, count, parted })
    }
}

/// The unit of the column `value`; `None` for another column.
fn unit_of(name: &str) -> Option<Result<Option<Unit>, String>> {
    let rest = name.strip_prefix("value")?;
    Some(match rest.strip_prefix('_') {
        None if rest.is_empty() => Ok(None),
        Some(unit) => Unit::parse(unit).map(Some).ok_or_else(|| {
            format!("the column {name:?} has an unknown unit; write value_in, _mm or _um")
        }),
        None => return None,
    })
}

/// The readings so far.
#[derive(Default)]
struct Rows {
    hands: Vec<String>,
    parts: Vec<String>,
    /// By part and hand: each trial with its reading.
    cells: BTreeMap<(usize, usize), Vec<(String, f64)>>,
    count: usize,
}

impl Rows {
    fn take(&mut self, columns: &mut Columns, line: &[u8]) -> Result<(), String> {
        let cells: Vec<String> = columns
            .parted
            .cells(line)
            .map(|cell| String::from_utf8_lossy(cell).into_owned())
            .collect();
        if cells.len() != columns.count {
            let (there, named) = (cells.len(), columns.count);
            let cells = if there == 1 { "cell" } else { "cells" };
            return Err(format!("{there} {cells}, where the header names {named} columns"));
        }
        let text = |at: Option<usize>, name: &str| match at.map(|at| cells[at].trim()) {
            Some("") => Err(format!("{name} is missing")),
            text => Ok(text.unwrap_or("1").to_owned()),
        };
        let (hand, part) = (text(columns.hand, "hand")?, text(columns.part, "part")?);
        let written = &cells[columns.value];
        let plain = columns.parted.with_a_point(written.as_bytes());
        let plain = plain.map_err(|why| format!("value: {why}"))?;
        let plain = String::from_utf8_lossy(&plain);
        let value = plain.parse::<f64>().ok().filter(|value| value.is_finite());
        // A word that a float is read from is no reading.
        let value = value.filter(|_| written.bytes().any(|byte| byte.is_ascii_digit()));
        let value = value.ok_or_else(|| match written.as_str() {
            "" => "value is missing".to_owned(),
            _ => format!("value is {written:?}, not a number"),
        })?;
        let trial = columns.trial.map(|_| text(columns.trial, "trial")).transpose()?;
        self.add((hand, part), trial, value)
    }

    /// Adds a reading; without a trial it is the next one of its hand on its part.
    fn add(
        &mut self,
        (hand, part): (String, String),
        trial: Option<String>,
        value: f64,
    ) -> Result<(), String> {
        self.count += 1;
        if self.count > MOST {
            return Err(format!("more than {MOST} readings: this is no study"));
        }
        let cell = (place_of(&mut self.parts, part), place_of(&mut self.hands, hand));
        let own = self.cells.entry(cell).or_default();
        let trial = trial.unwrap_or_else(|| (own.len() + 1).to_string());
        if own.iter().any(|(other, _)| *other == trial) {
            let (part, hand) = (&self.parts[cell.0], &self.hands[cell.1]);
            return Err(format!("trial {trial} of {hand} on part {part} stands above already"));
        }
        own.push((trial, value));
        Ok(())
    }

    fn crossed(self, unit: Option<Unit>) -> Result<Readings, String> {
        let Self { hands, parts, cells, .. } = self;
        let trials = cells.values().map(Vec::len).max().unwrap_or(0);
        let mut values = Vec::new();
        for (at, part) in parts.iter().enumerate() {
            for (by, hand) in hands.iter().enumerate() {
                let own = cells.get(&(at, by)).map_or(&[][..], |own| &own[..]);
                if own.len() != trials {
                    let own = times(own.len());
                    return Err(format!(
                        "{hand} touched part {part} {own}, where others have {trials}: in a study \
                         every hand touches every part equally often"
                    ));
                }
                values.extend(own.iter().map(|(_, value)| *value));
            }
        }
        let crossed = Crossed::new([parts.len(), hands.len(), trials], values);
        let crossed = crossed.ok_or("every hand touches every part twice at least")?;
        Ok(Readings { unit, hands, parts, crossed })
    }
}

fn times(count: usize) -> String {
    match count {
        0 => "never".to_owned(),
        1 => "once".to_owned(),
        count => format!("{count} times"),
    }
}

/// The place of a name in a list; a new one is put behind it.
fn place_of(names: &mut Vec<String>, name: String) -> usize {
    names.iter().position(|known| *known == name).unwrap_or_else(|| {
        names.push(name);
        names.len() - 1
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<Readings, String> {
        Readings::read(text.as_bytes())
    }

    #[test]
    fn rows_may_come_in_any_order() {
        let found = read(
            "# a remark\ntrial,value_um,Part,hand\n2,4.5,b,Ann\n1,1,a,Ann\n2,2,a,Ann\n1,4,b,Ann\n",
        )
        .unwrap();
        assert_eq!(
            (found.unit, &found.hands[..], &found.parts[..]),
            (
                Some(Unit::Micrometre),
                &["Ann".to_owned()][..],
                &["b".to_owned(), "a".to_owned()][..]
            )
        );
        assert_eq!(
            (found.crossed.cell(0, 0), found.crossed.cell(1, 0)),
            (&[4.5, 4.0][..], &[1.0, 2.0][..])
        );
        // Values alone are the trials of one hand on one part.
        let alone = read("value\n1e-1\n-0.2\n").unwrap();
        assert_eq!((alone.unit, alone.crossed.trials()), (None, 2));
    }

    #[test]
    fn what_cannot_be_taken_is_told_with_its_place() {
        for (text, why) in [
            ("", "line 1: the file is empty; the first line names columns"),
            (
                "hand,worth\n",
                "line 1: no column is called \"worth\"; there are hand, part, trial and value",
            ),
            ("hand,part\n", "line 1: there is no column value"),
            ("value,value_in\n", "line 1: the column value_in comes twice"),
            (
                "value_ft\n",
                "line 1: the column \"value_ft\" has an unknown unit; write value_in, _mm or _um",
            ),
            ("value\n1\nx\n", "line 3: value is \"x\", not a number"),
            ("value\n1\ninf\n", "line 3: value is \"inf\", not a number"),
            ("hand,value\na\n", "line 2: 1 cell, where the header names 2 columns"),
            ("hand,value\n,1\n", "line 2: hand is missing"),
            ("trial,value\n1,1\n1,2\n", "line 3: trial 1 of 1 on part 1 stands above already"),
            ("value\n1\n", "every hand touches every part twice at least"),
            ("value\n", "every hand touches every part twice at least"),
            (
                "hand,value\na,1\na,2\nb,1\n",
                "b touched part 1 once, where others have 2: in a study every hand touches every part equally often",
            ),
        ] {
            assert_eq!(read(text), Err(why.to_owned()), "{text:?}");
        }
    }
}
