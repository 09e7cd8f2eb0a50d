//! The header of a file: the columns, and the unit it may state.

use csv::ByteRecord;

use super::{Columns, Lines};
use quantity::Unit;

/// The header is looked for in this many lines after the skipped ones.
const SEARCHED: u32 = 20;

/// The header as found in the file.
pub(super) struct Header {
    pub record: ByteRecord,
    pub places: Places,
}

/// The index of each column.
#[derive(Debug, Clone, Default)]
pub(super) struct Places {
    pub value: usize,
    pub unit: Option<usize>,
    pub time: Option<usize>,
    pub job: Option<usize>,
    pub part: Option<usize>,
    pub check: Option<usize>,
    pub position: Option<usize>,
    /// The number of columns in the header.
    pub width: usize,
    /// The last of the columns above.
    pub last_used: usize,
    /// The unit in the header of the value.
    pub header_unit: Option<Unit>,
}

impl Header {
    /// Reads lines up to and including the first that has all the columns.
    ///
    /// # Errors
    /// A line and a sentence, when no line has them all or a name occurs twice.
    pub(super) fn find(lines: &mut Lines<'_>, columns: &Columns) -> Result<Self, (u32, String)> {
        let mut nearest: Option<(usize, u32, String)> = None;
        for _ in 0..SEARCHED {
            if !lines.next() {
                break;
            }
            match Places::in_header(&lines.record, columns) {
                Ok(places) => return Ok(Self { record: lines.record.clone(), places }),
                Err(missing) => {
                    let count = missing.len();
                    let alone = lines.record.len() == 1 && count > 0;
                    let hint =
                        if alone { " (one column only: is it the right delimiter?)" } else { "" };
                    if nearest.as_ref().is_none_or(|(fewest, ..)| count < *fewest) {
                        nearest = Some((count, lines.line, missing.join("; ") + hint));
                    }
                }
            }
        }
        match nearest {
            Some((_, line, missing)) => Err((line, format!("no line is the header: {missing}"))),
            None => Err((1, "the file has no header".to_owned())),
        }
    }
}

impl Places {
    /// The columns named in this line, or what keeps it from being the header.
    fn in_header(record: &ByteRecord, columns: &Columns) -> Result<Self, Vec<String>> {
        let mut wrong = Vec::new();
        let mut place = |name: &str| {
            let all = |fits: fn(&str, &str) -> bool| -> Vec<usize> {
                (0..record.len()).filter(|&index| fits(&text(&record[index]), name)).collect()
            };
            let exact = all(is_same);
            let found = if exact.is_empty() { all(is_same_but_unit) } else { exact };
            match found.as_slice() {
                [one] => return Some(*one),
                [] => wrong.push(format!("no column \"{name}\"")),
                _ => wrong.push(format!("two columns \"{name}\"")),
            }
            None
        };
        let value = place(&columns.value);
        let mut optional = |name: &Option<String>| name.as_deref().and_then(&mut place);
        let mut places = Self {
            value: 0,
            unit: optional(&columns.unit),
            time: optional(&columns.time),
            job: optional(&columns.job),
            part: optional(&columns.part),
            check: optional(&columns.check),
            position: optional(&columns.position),
            width: record.len(),
            last_used: 0,
            header_unit: None,
        };
        let Some(value) = value.filter(|_| wrong.is_empty()) else { return Err(wrong) };
        places.value = value;
        places.last_used = places.used().max().unwrap_or(value);
        places.header_unit = split_unit(&text(&record[value])).1;
        Ok(places)
    }
}

impl Places {
    fn used(&self) -> impl Iterator<Item = usize> {
        let optional = [self.unit, self.time, self.job, self.part, self.check, self.position];
        optional.into_iter().flatten().chain([self.value])
    }
}

/// Whether a header cell is this name.
fn is_same(cell: &str, name: &str) -> bool {
    cell.to_lowercase() == name.trim().to_lowercase()
}

/// Whether a header cell is this name with a unit after it.
fn is_same_but_unit(cell: &str, name: &str) -> bool {
    is_same(split_unit(cell).0, name)
}

fn text(cell: &[u8]) -> String {
    String::from_utf8_lossy(cell).trim().to_owned()
}

/// Splits a name from its unit: `Value [mm]`, `Value (mm)`, `Value_mm` or `Value mm`.
fn split_unit(cell: &str) -> (&str, Option<Unit>) {
    let cut = match cell.chars().last() {
        Some(']') => cell.rfind('['),
        Some(')') => cell.rfind('('),
        _ => cell.rfind(['_', ' ']),
    };
    let Some(cut) = cut else { return (cell, None) };
    let inner = cell[cut + 1..].trim_end_matches([']', ')']);
    match Unit::parse(inner) {
        Some(unit) => (cell[..cut].trim_end(), Some(unit)),
        None => (cell, None),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_header_may_carry_the_unit() {
        for cell in ["Value [mm]", "Value (mm)", "Value_mm", "Value mm", "Value[MM]"] {
            assert_eq!(split_unit(cell), ("Value", Some(Unit::Millimetre)), "{cell}");
        }
        assert_eq!(split_unit("Höhe [µm]"), ("Höhe", Some(Unit::Micrometre)));
        for cell in ["Value", "Value [V]", "Time_of_day", "mm", ""] {
            assert_eq!(split_unit(cell), (cell, None));
        }
    }
}
