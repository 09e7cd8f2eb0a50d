//! Points from a file: a header that carries the units, then numbers.

use std::io::Read;

use csv::{ByteRecord, ReaderBuilder};

use crate::quantity::Unit;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Name {
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
pub(super) struct Column {
    pub(super) name: Name,
    /// The unit of the lengths; degrees where there is none.
    pub(super) unit: Option<Unit>,
    pub(super) values: Vec<f64>,
}

/// No length of a file is larger: ±9 000 km, what a stored length holds.
const LARGEST_PICOMETRES: f64 = 9e18;
/// No angle of a file is larger: beyond, the digits of a float no longer tell a place on the turn.
const LARGEST_DEGREES: f64 = 1e6;

impl Column {
    fn number(&self, cell: &[u8]) -> Result<f64, String> {
        let quoted = || format!("{:?}", String::from_utf8_lossy(cell));
        let name = self.name.text();
        if cell.is_empty() {
            return Err(format!("{name} is missing"));
        }
        let plain = |byte: &u8| byte.is_ascii_digit() || b"+-.eE".contains(byte);
        let text = std::str::from_utf8(cell).ok().filter(|_| cell.iter().all(plain));
        let number = text.and_then(|text| text.parse::<f64>().ok());
        let number = number.ok_or_else(|| format!("{name} is {}, not a number", quoted()))?;
        let (largest, what) = match self.unit {
            #[expect(clippy::cast_precision_loss, reason = "picometres of a unit are below 2^53")]
            Some(unit) => (LARGEST_PICOMETRES / unit.picometres() as f64, "9 000 km"),
            None => (LARGEST_DEGREES, "1 000 000 degrees"),
        };
        if number.abs() <= largest {
            Ok(number)
        } else {
            Err(format!("{name} is {}, beyond {what}", quoted()))
        }
    }
}

/// Reads all points, a row at a time; `look_on` is told of each row's end: rows and bytes so far.
///
/// # Errors
/// The sentence of the first line that cannot be taken, with its number.
pub(super) fn read(
    file: impl Read,
    mut look_on: impl FnMut(usize, u64),
) -> Result<Vec<Column>, String> {
    let mut reader = ReaderBuilder::new().has_headers(false).flexible(true).from_reader(file);
    let mut record = ByteRecord::new();
    let mut next = |record: &mut ByteRecord| {
        reader.read_byte_record(record).map_err(|error| unreadable(&error))
    };
    if !next(&mut record)? {
        return Err("line 1: the file is empty; the first line names columns and units".to_owned());
    }
    let mut columns = header(&record).map_err(|why| format!("line {}: {why}", line(&record)))?;
    let mut rows = 0;
    while next(&mut record)? {
        row(&mut columns, &record).map_err(|why| format!("line {}: {why}", line(&record)))?;
        rows += 1;
        look_on(rows, record.position().map_or(0, csv::Position::byte));
    }
    if rows == 0 {
        return Err("line 2: no points follow the header".to_owned());
    }
    Ok(columns)
}

fn unreadable(error: &csv::Error) -> String {
    format!("cannot be read: {error}")
}

fn line(record: &ByteRecord) -> u64 {
    record.position().map_or(1, csv::Position::line)
}

fn row(columns: &mut [Column], record: &ByteRecord) -> Result<(), String> {
    if record.len() != columns.len() {
        let (cells, named) = (record.len(), columns.len());
        return Err(format!("{cells} cells, where the header names {named} columns"));
    }
    for (column, cell) in columns.iter_mut().zip(record) {
        let number = column.number(cell.trim_ascii())?;
        column.values.push(number);
    }
    Ok(())
}

fn header(record: &ByteRecord) -> Result<Vec<Column>, String> {
    let mut columns: Vec<Column> = Vec::with_capacity(record.len());
    for (index, cell) in record.iter().enumerate() {
        let cell =
            if index == 0 { cell.strip_prefix(b"\xef\xbb\xbf").unwrap_or(cell) } else { cell };
        let column = column(String::from_utf8_lossy(cell).trim())?;
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
        _ => Ok(columns),
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
    Ok(Column { name, unit, values: Vec::new() })
}
