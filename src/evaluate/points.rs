//! Points from a file: a header that names the columns and their units, then numbers.

use std::io::{BufRead, Read};

use quantity::{Figure, Unit};

use crate::cells::{Cells, without_mark};
use crate::ends::Ends;

/// The points of a file, column by column. Columns are taken out one at a time.
#[derive(Debug, Clone, PartialEq)]
pub struct Points {
    columns: Vec<Column>,
    rows: usize,
}

impl Points {
    /// Reads all points, row by row, and keeps only their numbers. After each row, `look_on` gets the
    /// number of rows and of bytes so far.
    ///
    /// # Errors
    /// A sentence, with the line number, about the first line that cannot be taken.
    pub fn read(file: impl BufRead, look_on: impl FnMut(usize, u64)) -> Result<Self, String> {
        let columns = read(file, look_on)?;
        let rows = columns.first().map_or(0, |column| column.values.len());
        Ok(Self { columns, rows })
    }

    /// How many points there are.
    #[must_use]
    pub const fn rows(&self) -> usize {
        self.rows
    }

    /// Whether the header names exactly these columns.
    pub(crate) fn are(&self, names: &[Name]) -> bool {
        let has = |name: &Name| self.columns.iter().any(|column| column.name == *name);
        self.columns.len() == names.len() && names.iter().all(has)
    }

    /// The values of a column and their unit. For degrees the unit is given as millimetres and not used.
    pub(crate) fn take(&mut self, name: Name) -> (Vec<f64>, Unit) {
        let column = self.columns.iter_mut().find(|column| column.name == name);
        column.map_or((Vec::new(), Unit::Millimetre), |column| {
            (std::mem::take(&mut column.values), column.unit.unwrap_or(Unit::Millimetre))
        })
    }

    /// Largest minus smallest of a column of lengths, exactly.
    pub(crate) fn range(&self, name: Name) -> Option<Figure> {
        let column = self.columns.iter().find(|column| column.name == name)?;
        column.ends.range(column.unit?)
    }
}

/// The names of the columns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Name {
    X,
    Y,
    Z,
    Angle,
    Radius,
    R,
}

impl Name {
    const ALL: [Self; 6] = [Self::X, Self::Y, Self::Z, Self::Angle, Self::Radius, Self::R];

    const fn text(self) -> &'static str {
        match self {
            Self::X => "x",
            Self::Y => "y",
            Self::Z => "z",
            Self::Angle => "angle",
            Self::Radius => "radius",
            Self::R => "r",
        }
    }
}

/// One column of numbers.
#[derive(Debug, Clone, PartialEq)]
struct Column {
    name: Name,
    /// The unit of the lengths; `None` for degrees.
    unit: Option<Unit>,
    values: Vec<f64>,
    /// The largest and the smallest number, with the text they were written as.
    ends: Ends,
}

/// The largest length in a file: ±9 000 km, as much as a stored length holds.
const LARGEST_PICOMETRES: f64 = 9e18;
/// The largest angle in a file. Beyond it a float no longer has digits enough for a place on the turn.
const LARGEST_DEGREES: f64 = 1e6;

impl Column {
    /// Takes in a number that is written with a point.
    fn take(&mut self, cell: &[u8]) -> Result<(), String> {
        let number = self.number(cell)?;
        self.ends.look_at(number, cell);
        self.values.push(number);
        Ok(())
    }

    fn number(&self, cell: &[u8]) -> Result<f64, String> {
        let quoted = || format!("{:?}", String::from_utf8_lossy(cell));
        let name = self.name.text();
        if cell.is_empty() {
            return Err(format!("{name} is missing"));
        }
        let any = || std::str::from_utf8(cell).ok()?.parse::<f64>().ok();
        let number = short_decimal(cell).or_else(any);
        // A cell without digits that is not finite can only be a word ("inf", "NaN").
        let digits = || cell.iter().any(u8::is_ascii_digit);
        let number = number
            .filter(|number| number.is_finite() || digits())
            .ok_or_else(|| format!("{name} is {}, not a number", quoted()))?;
        let (largest, what) = match self.unit {
            #[expect(clippy::cast_precision_loss, reason = "picometres of a unit are below 2^53")]
            Some(unit) => (LARGEST_PICOMETRES / unit.picometres() as f64, "9 000 km"),
            None => (LARGEST_DEGREES, "1 000 000 degrees"),
        };
        if number.abs() <= largest {
            Ok(number)
        } else {
            Err(format!("{name} is {}, beyond {what}, the largest that is taken", quoted()))
        }
    }
}

/// Powers of ten that a float holds without rounding.
const TENS: [f64; 16] =
    [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];

/// Reads a decimal of up to 15 digits, as nearly every cell is one; `None` for any other text.
///
/// The digits and the power of ten are exact floats, and their quotient is rounded once. So the result is
/// the nearest float of the decimal, found in a third of the time of the general way.
fn short_decimal(cell: &[u8]) -> Option<f64> {
    let (negative, digits) = match cell {
        [b'-', rest @ ..] => (true, rest),
        [b'+', rest @ ..] => (false, rest),
        all => (false, all),
    };
    // A point may stand beside the digits. A text without digits is left to the general way, which names
    // it.
    if digits.len() > TENS.len() || !digits.first()?.is_ascii_digit() {
        return None;
    }
    let (mut whole, mut point) = (0_u64, None);
    for (place, byte) in digits.iter().enumerate() {
        match byte {
            b'0'..=b'9' => whole = whole * 10 + u64::from(byte - b'0'),
            b'.' if point.is_none() => point = Some(place),
            _ => return None,
        }
    }
    let places = point.map_or(0, |point| digits.len() - 1 - point);
    if whole >= 1 << 53 {
        return None;
    }
    #[expect(clippy::cast_precision_loss, reason = "below 2^53")]
    let number = whole as f64 / TENS[places];
    Some(if negative { -number } else { number })
}

/// The longest line of points. A file with a longer line is of another kind and is not read to its end.
const LONGEST_LINE: u64 = 1 << 24;

/// The lines of a file, one in memory at a time. They end in LF, CR LF or CR.
///
/// It is not a general CSV reader: a cell that holds a number has no line end. So every line keeps its number, also
/// after empty lines.
pub(crate) struct Lines<R> {
    file: R,
    /// The bytes read up to an LF.
    held: Vec<u8>,
    /// Where the next line starts in them.
    next: usize,
    /// The number of the current line.
    number: u64,
    /// Bytes read so far.
    bytes: u64,
}

impl<R: BufRead> Lines<R> {
    /// The lines of a file from its beginning.
    pub(crate) const fn of(file: R) -> Self {
        Self { file, held: Vec::new(), next: 0, number: 0, bytes: 0 }
    }

    /// The number of the current line.
    pub(crate) const fn number(&self) -> u64 {
        self.number
    }

    /// The next line that is not empty, without its end.
    pub(crate) fn next(&mut self) -> Result<Option<&[u8]>, String> {
        loop {
            if self.next >= self.held.len() && !self.fill()? {
                return Ok(None);
            }
            let start = self.next;
            let rest = &self.held[start..];
            let length = rest.iter().position(|byte| b"\r\n".contains(byte)).unwrap_or(rest.len());
            self.next += length + if rest[length..].starts_with(b"\r\n") { 2 } else { 1 };
            self.number += 1;
            if length > 0 {
                return Ok(Some(&self.held[start..start + length]));
            }
        }
    }

    fn fill(&mut self) -> Result<bool, String> {
        self.held.clear();
        self.next = 0;
        let read = (&mut self.file).take(LONGEST_LINE).read_until(b'\n', &mut self.held);
        let bytes = read.map_err(|error| format!("cannot be read: {error}"))? as u64;
        self.bytes += bytes;
        if bytes == LONGEST_LINE {
            return Err(format!(
                "line {}: longer than 16 MB: this is no file of points",
                self.number + 1
            ));
        }
        Ok(bytes > 0)
    }
}

fn read(file: impl BufRead, mut look_on: impl FnMut(usize, u64)) -> Result<Vec<Column>, String> {
    let mut lines = Lines::of(file);
    let Some(first) = lines.next()? else {
        return Err("line 1: the file is empty; the first line names columns and units".to_owned());
    };
    let columns = header(first);
    let (mut cells, mut columns) =
        columns.map_err(|why| format!("line {}: {why}", lines.number))?;
    let mut rows = 0;
    while let Some(line) = lines.next()? {
        let taken = row(&mut columns, &mut cells, line);
        taken.map_err(|why| format!("line {}: {why}", lines.number))?;
        rows += 1;
        look_on(rows, lines.bytes);
    }
    if rows == 0 {
        return Err(format!("line {}: no points follow the header", lines.number + 1));
    }
    Ok(columns)
}

fn row(columns: &mut [Column], parted: &mut Cells, line: &[u8]) -> Result<(), String> {
    let parts = *parted;
    let wrong = |named: usize| {
        let there = match parts.cells(line).count() {
            1 => "1 cell".to_owned(),
            cells => format!("{cells} cells"),
        };
        format!("{there}, where the header names {named} columns")
    };
    let named = columns.len();
    let mut cells = parts.cells(line);
    // In a line cut short the cells are wrong as well; the missing cells are reported first.
    let mut why = None;
    for column in columns {
        let cell = cells.next().ok_or_else(|| wrong(named))?;
        let taken = match parted.with_a_point(cell) {
            Ok(plain) => column.take(&plain),
            Err(error) => Err(format!("{}: {error}", column.name.text())),
        };
        if let Err(error) = taken {
            why = why.or(Some(error));
        }
    }
    if cells.next().is_some() {
        return Err(wrong(named));
    }
    why.map_or(Ok(()), Err)
}

fn header(line: &[u8]) -> Result<(Cells, Vec<Column>), String> {
    let line = without_mark(line);
    let cells = Cells::of(line)?;
    let mut columns: Vec<Column> = Vec::new();
    for cell in cells.cells(line) {
        let column = column(&String::from_utf8_lossy(cell))?;
        if columns.iter().any(|other| other.name == column.name) {
            return Err(format!("the column {} comes twice", column.name.text()));
        }
        columns.push(column);
    }
    let unit = |name| columns.iter().find(|column| column.name == name)?.unit;
    match (unit(Name::X), unit(Name::Y)) {
        (Some(x), Some(y)) if x != y => {
            Err(format!("x is in {x} and y in {y}; both have to be in one unit"))
        }
        _ => Ok((cells, columns)),
    }
}

fn column(cell: &str) -> Result<Column, String> {
    let lower = cell.to_lowercase();
    let (name, unit) = lower.split_once('_').map_or((lower.as_str(), None), |(n, u)| (n, Some(u)));
    let Some(name) = Name::ALL.into_iter().find(|known| known.text() == name) else {
        return Err(format!(
            "no column is called {cell:?}; there are x_mm, y_mm, z_um, angle_deg, radius_mm, r_um"
        ));
    };
    let text = name.text();
    let unit = match (name, unit) {
        (Name::Angle, Some("deg")) => None,
        (Name::Angle, _) => return Err(format!("{cell:?}: angles are in degrees, angle_deg")),
        (_, None) => {
            return Err(format!("the column {cell:?} has no unit; write {text}_mm, _um or _in"));
        }
        (_, Some(unit)) => Some(Unit::parse(unit).ok_or_else(|| {
            format!("the column {cell:?} has an unknown unit; write {text}_mm, _um or _in")
        })?),
    };
    Ok(Column { name, unit, values: Vec::new(), ends: Ends::default() })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn short_decimals_are_the_nearest_floats() {
        let mut state = 1_u64;
        let mut next = || {
            // Knuth's MMIX congruence: any digits will do.
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            state >> 16
        };
        let mut short = 0;
        for _ in 0..200_000 {
            let length = usize::try_from(next() % 17 + 1).unwrap();
            let mut text: Vec<u8> = format!("{:017}", next() % 10_u64.pow(17)).into_bytes();
            text.truncate(length);
            text.insert(usize::try_from(next()).unwrap() % (length + 1), b'.');
            match next() % 4 {
                0 => text.insert(0, b'-'),
                1 => text.insert(0, b'+'),
                2 => text.retain(|byte| *byte != b'.'),
                _ => {}
            }
            let Some(number) = short_decimal(&text) else { continue };
            let text = std::str::from_utf8(&text).unwrap();
            assert_eq!(number.to_bits(), text.parse::<f64>().unwrap().to_bits(), "{text}");
            short += 1;
        }
        assert!(short > 100_000, "{short}");
    }

    #[test]
    fn other_texts_go_the_general_way() {
        let sixteen = "9999999999999999";
        for text in ["", "-", "+", ".", "-.5", "1..2", "1.2.3", "1e5", "--1", "1-", " 1", sixteen] {
            assert_eq!(short_decimal(text.as_bytes()), None, "{text:?}");
        }
        assert_eq!(short_decimal(b"-0.25"), Some(-0.25));
        assert_eq!(short_decimal(b"5."), Some(5.0));
    }
}
