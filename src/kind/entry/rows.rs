//! A table of a few values, each at a speed or a place: as it is typed, and as it is stored.

use quantity::{Unit, with_a_point};

/// The most rows of a table: more is a log, or a slip of the pen.
const MOST: usize = 40;
/// The most digits of a number.
const DIGITS: usize = 15;

/// A column: what stands in it, and its unit, which may be empty.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// What stands in it.
    pub name: String,
    /// Its unit, as the plan writes it.
    pub unit: String,
}

impl Column {
    /// Reads `speed rpm`: the last word is the unit where there are two or more.
    pub(crate) fn read(text: &str) -> Self {
        let (name, unit) = text.trim().rsplit_once(' ').unwrap_or((text.trim(), ""));
        Self { name: name.trim().to_owned(), unit: unit.to_owned() }
    }

    /// `speed, rpm`.
    #[must_use]
    pub fn title(&self) -> String {
        if self.unit.is_empty() {
            self.name.clone()
        } else {
            format!("{}, {}", self.name, self.unit)
        }
    }
}

/// The rows of a table: where, and the value there, both as digits.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Rows(pub Vec<(String, String)>);

impl Rows {
    /// Reads rows as a person types them: `1000=0.4 2000=0.6`, with or without units.
    ///
    /// # Errors
    /// The sentence about the first one that is wrong.
    pub fn typed(text: &str, columns: &[Column; 2]) -> Result<Self, String> {
        let mut pairs: Vec<String> = Vec::new();
        // A unit, or an equals sign, may stand apart from its number.
        for word in text.split(|c: char| c.is_whitespace() || matches!(c, ',' | ';')) {
            let begins = word.starts_with(|c: char| matches!(c, '0'..='9' | '.' | '+' | '-'));
            match pairs.last_mut() {
                Some(last) if !begins || last.ends_with('=') => last.push_str(word),
                Some(_) | None if !word.is_empty() => pairs.push(word.to_owned()),
                Some(_) | None => {}
            }
        }
        let mut rows: Vec<(String, String)> = Vec::new();
        for pair in pairs {
            let Some((at, value)) = pair.split_once('=') else {
                return Err(format!("{pair:?} is no row: it has no \"=\""));
            };
            let row = (number(at, &columns[0])?, number(value, &columns[1])?);
            if rows.iter().any(|(other, _)| same(other, &row.0)) {
                return Err(format!("{} {} is there twice", row.0, columns[0].unit));
            }
            rows.push(row);
        }
        match rows.len() {
            0 => Err("there is no row in it".to_owned()),
            1..=MOST => Ok(Self(rows)),
            many => Err(format!("these are {many} rows, and {MOST} are the most")),
        }
    }

    /// As it is stored and shown: `1000 rpm = 0.4 mm/s, 2000 rpm = 0.6 mm/s`.
    #[must_use]
    pub fn text(&self, columns: &[Column; 2]) -> String {
        let with = |number: &str, unit: &str| format!("{number} {unit}").trim().to_owned();
        let one = |(at, value): &(String, String)| {
            format!("{} = {}", with(at, &columns[0].unit), with(value, &columns[1].unit))
        };
        self.0.iter().map(one).collect::<Vec<_>>().join(", ")
    }

    /// Reads the stored form; what is no row of it is left out.
    #[must_use]
    pub fn stored(text: &str) -> Self {
        let number = |text: &str| text.split(' ').next().unwrap_or_default().to_owned();
        let one = |row: &str| row.split_once(" = ").map(|(at, value)| (number(at), number(value)));
        Self(text.split(", ").filter_map(one).collect())
    }
}

/// Whether two texts are the same number.
fn same(one: &str, other: &str) -> bool {
    let read = |text: &str| quantity::Length::parse(text, Unit::Millimetre).ok();
    read(one) == read(other)
}

/// The digits of a number in a column; its unit may be behind it.
fn number(text: &str, column: &Column) -> Result<String, String> {
    let end = text.find(|c: char| !matches!(c, '0'..='9' | '.' | '+' | '-'));
    let (digits, behind) = text.split_at(end.unwrap_or(text.len()));
    let of = if column.unit.is_empty() { &column.name } else { &column.unit };
    if let Some(point) = with_a_point(text)
        && number(&point, column).is_ok()
    {
        return Err(format!("{text:?} has a comma; write it with a decimal point: {point}"));
    }
    if digits.len() > DIGITS || quantity::Length::parse(digits, Unit::Millimetre).is_err() {
        return Err(format!("{text:?} is no number in {of}"));
    }
    let known =
        |text: &str| Unit::parse_any(text).map_or_else(|| text.to_owned(), |u| u.to_string());
    if !behind.is_empty() && known(behind) != known(&column.unit) {
        return Err(format!("{text:?} is not in {of}"));
    }
    Ok(digits.to_owned())
}
