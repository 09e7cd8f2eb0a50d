//! Comma separated values that are safe to open in a spreadsheet.

use std::sync::LazyLock;

use jiff::tz::TimeZone;
use quantity::Wall;
use serde::Deserialize;
use serde_json::Value;
use wire::FiguresLine;
use words::{Columns, fields_of};

use crate::day_and_time;

/// The version of the columns below. Within a version their names and order do not change; a test compares
/// them with `docs/csv.md`.
pub const CSV_VERSION: u32 = 1;

/// How numbers and cells are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CsvStyle {
    /// `0.5`, cells between commas.
    Point,
    /// `0,5`, cells between semicolons.
    Comma,
}

/// How a file of separated values is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CsvForm {
    /// How numbers and cells are written.
    pub style: CsvStyle,
    /// For a file that a spreadsheet opens: the zone on whose clock times are told. Then a byte order mark stands in
    /// front, by which a spreadsheet knows that the letters are UTF-8. Without a zone times are in UTC.
    pub sheet: Option<TimeZone>,
}

impl From<CsvStyle> for CsvForm {
    fn from(style: CsvStyle) -> Self {
        Self { style, sheet: None }
    }
}

/// The columns of readings: the fields of `reading/1`.
pub static READING_COLUMNS: LazyLock<Vec<&'static str>> =
    LazyLock::new(columns_of::<wire::ReadingLine>);

/// The columns of alerts: the fields of `alert/1`.
pub static ALERT_COLUMNS: LazyLock<Vec<&'static str>> =
    LazyLock::new(columns_of::<wire::AlertLine>);

/// The column with the bench, behind all others, in a look-up over the whole shop.
pub const BENCH: &str = "bench";

/// The fields of a line, without the name of its schema, without its bench and without whose process asked.
fn columns_of<T: for<'de> Deserialize<'de>>() -> Vec<&'static str> {
    let told = |field: &&str| !["schema", BENCH].contains(field) && !field.ends_with("caller");
    fields_of::<T>().iter().copied().filter(told).collect()
}

/// The columns of verdicts: paths into `verdict/1`. The figures are in the order in which they are
/// described; a figure that was added later comes after all others.
pub static VERDICT_COLUMNS: LazyLock<Vec<&'static str>> = LazyLock::new(|| {
    let mut figures = Vec::new();
    FiguresLine::columns("figures", &mut figures);
    let added = |to: &[&str], path: &String| to.contains(&path.as_str());
    let newest = |path: &String| NEWEST.iter().any(|of| path.starts_with(of));
    let (newest, figures): (Vec<String>, Vec<String>) = figures.into_iter().partition(newest);
    let (last, figures): (Vec<String>, Vec<String>) =
        figures.into_iter().partition(|path| added(&LAST, path));
    let (later, figures): (Vec<String>, Vec<String>) =
        figures.into_iter().partition(|path| added(&LATER, path));
    // Done once in the whole program.
    let kept = |paths: Vec<String>| paths.into_iter().map(|path| &*path.leak()).collect::<Vec<_>>();
    [BEFORE, &kept(figures), BETWEEN, &kept(later), BEHIND, &kept(last), &kept(newest), LIMITS]
        .concat()
});

const BEFORE: &[&str] = &[
    "id",
    "at",
    "job",
    "part",
    "check",
    "attempt",
    "reason",
    "tries",
    "measures",
    "value",
    "unit",
    "tolerance",
    "tolerance.min",
    "tolerance.max",
    "uncertainty",
    "uncertainty_from",
    "rule",
    "verdict",
    "simple",
    "guarded",
    "positions",
    "taken",
    "skipped",
    "setup",
    "down",
    "remark",
    "answer",
    "good",
];
const BETWEEN: &[&str] = &[
    "advice",
    "reasons",
    "superseded_by",
    "standing",
    "k",
    "attempt_id",
    "combined",
    "means",
    "answers",
];
const BEHIND: &[&str] = &["by", "touches", "repeat_pairs", "repeat_df"];

/// Figures that were added after the columns were fixed, and those after them.
const LATER: [&str; 2] = ["figures.zero_walk", "figures.zero"];
const LAST: [&str; 3] = ["figures.as_read", "figures.drift", "figures.without_drift"];

/// Figures of kinds that came after those, by the beginning of their paths.
const NEWEST: [&str; 8] = [
    "figures.rows",
    "figures.run_in.",
    "figures.each_way.",
    "figures.diameter.",
    "figures.fit.",
    "figures.unbalance.",
    "figures.set.",
    "figures.offset.",
];

/// Both limits in one shape, and what must not be missed: after all figures, since they came last.
const LIMITS: &[&str] = &["limits.min", "limits.max", "cautions"];

/// The columns of jobs: paths into `job/1`.
pub const JOB_COLUMNS: &[&str] =
    &["id", "name", "state", "plan", "serial", "customer", "by", "opened_at", "closed_at", "step"];

/// Columns that hold a length, an angle or another figure; besides everything under `figures`.
const FIGURES: [&str; 11] = [
    "angle_deg",
    "radius",
    "station",
    "value",
    "tolerance",
    "tolerance.min",
    "tolerance.max",
    "uncertainty",
    "limits.min",
    "limits.max",
    "k",
];

/// Published lines as one text of separated values, a line of headings first.
///
/// # Errors
/// Values that cannot be written: an error in this program.
pub fn csv_text(
    columns: &[&str],
    lines: impl IntoIterator<Item = Value>,
    form: impl Into<CsvForm>,
) -> Result<String, String> {
    let form = form.into();
    let fault = |error: &dyn std::fmt::Display| format!("cannot write the values: {error}");
    let between = if form.style == CsvStyle::Comma { b';' } else { b',' };
    let mark = if form.sheet.is_some() { BYTE_ORDER_MARK } else { "" };
    let bytes = mark.as_bytes().to_vec();
    let mut writer = csv::WriterBuilder::new().delimiter(between).from_writer(bytes);
    writer.write_record(columns).map_err(|error| fault(&error))?;
    for line in lines {
        let cells = columns.iter().map(|path| written(&line, path, &form));
        writer.write_record(cells).map_err(|error| fault(&error))?;
    }
    let bytes = writer.into_inner().map_err(|error| fault(&error))?;
    String::from_utf8(bytes).map_err(|error| fault(&error))
}

/// What a file in UTF-8 may begin with, so that no other alphabet is guessed.
const BYTE_ORDER_MARK: &str = "\u{feff}";

fn written(value: &Value, path: &str, form: &CsvForm) -> String {
    let cell = match &form.sheet {
        Some(zone) => column_text(value, path, zone),
        None => cell(value, path),
    };
    let text = safe(&cell);
    if form.style == CsvStyle::Comma && is_figure(path) && is_number(&text) {
        return text.replace('.', ",");
    }
    text
}

/// Whether a column holds figures, which are aligned and get a decimal comma where that is asked for.
#[must_use]
pub fn is_figure(path: &str) -> bool {
    FIGURES.contains(&path) || path.starts_with("figures.")
}

/// The value of a column as a person reads it: a time on the clock of a zone, a list with `; ` between its items.
#[must_use]
pub fn column_text(line: &Value, path: &str, zone: &TimeZone) -> String {
    let text = cell(line, path);
    let name = path.rsplit('.').next().unwrap_or(path);
    // A figure of the same name is a place, and no place is written with a T.
    let is_time = (name == "at" || name.ends_with("_at")) && text.contains('T');
    match Wall::parse(&text) {
        Ok(at) if is_time => day_and_time(at, zone),
        Ok(_) | Err(_) => text,
    }
}

fn cell(value: &Value, path: &str) -> String {
    let found = path.split('.').try_fold(value, |value, key| value.get(key));
    found.map_or_else(String::new, text)
}

fn text(value: &Value) -> String {
    match value {
        Value::Null | Value::Object(_) => String::new(),
        Value::String(text) => text.clone(),
        Value::Bool(_) | Value::Number(_) => value.to_string(),
        Value::Array(items) => items.iter().map(item).collect::<Vec<_>>().join("; "),
    }
}

/// An item of a list; an item with parts is written with their names: `position 3, amount 0.00012`.
fn item(value: &Value) -> String {
    let Value::Object(parts) = value else { return text(value) };
    let part = |(name, value): (&String, &Value)| format!("{name} {}", item(value));
    parts.iter().filter(|(_, value)| !value.is_null()).map(part).collect::<Vec<_>>().join(", ")
}

/// Characters that a spreadsheet may take for the beginning of a formula, with the wide forms of East Asian
/// keyboards.
const BEGINS_FORMULA: [char; 8] =
    ['=', '+', '-', '@', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}'];

/// Characters that a spreadsheet may take for the end of a cell, whatever the separator of the file is.
const ENDS_CELL: [char; 3] = [',', ';', '|'];

/// A cell that no spreadsheet takes for a formula. A text that begins like a formula and is not a plain
/// number gets an apostrophe in front, also after blanks or a separator. Control characters are made
/// visible.
fn safe(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for piece in text.split_inclusive(ENDS_CELL) {
        let own = piece.trim_end_matches(ENDS_CELL).trim();
        let bare = own.trim_start_matches(['"', '\'']);
        if bare.starts_with(BEGINS_FORMULA) && !is_number(own) {
            shown.push('\'');
        }
        shown.push_str(&wire::printable(piece));
    }
    shown
}

fn is_number(text: &str) -> bool {
    let digits = text.strip_prefix(['-', '+']).unwrap_or(text);
    digits.contains(|c: char| c.is_ascii_digit())
        && digits.chars().all(|c| c.is_ascii_digit() || c == '.')
        && digits.matches('.').count() <= 1
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn numbers_stay_numbers_and_formulas_become_texts() {
        assert_eq!(safe("-0.00012"), "-0.00012");
        assert_eq!(safe("+1"), "+1");
        assert_eq!(safe("=1+1"), "'=1+1");
        assert_eq!(safe("-1+cmd|' /C calc'!A0"), "'-1+cmd|' /C calc'!A0");
        assert_eq!(safe("@SUM(A1)"), "'@SUM(A1)");
        assert_eq!(safe("\t=1"), "'\\t=1");
        assert_eq!(safe("\n=1"), "'\\n=1");
        assert_eq!(safe("  =1"), "'  =1");
        assert_eq!(safe("\u{3000}\u{ff1d}1"), "'\u{3000}\u{ff1d}1");
        assert_eq!(safe("\u{ff0b}1+1"), "'\u{ff0b}1+1");
        assert_eq!(safe("\u{ff20}SUM(A1)"), "'\u{ff20}SUM(A1)");
        assert_eq!(safe("bore; =1+1"), "bore;' =1+1");
        assert_eq!(safe("bore,-cmd|+1"), "bore,'-cmd|+1");
        assert_eq!(safe("0.1; -0.2; +3"), "0.1; -0.2; +3");
        assert_eq!(safe("\"=1+1\""), "'\"=1+1\"");
        assert_eq!(safe("-"), "'-");
        assert_eq!(safe("\u{1b}[2J"), "\\x1b[2J");
    }

    #[test]
    fn a_list_of_things_with_parts_tells_their_names() {
        let lines = vec![
            json!({"figures":{"take_off":[{"position":0,"amount":"0.00027"},{"position":4,"amount":"0"}],"pair":{"loads_n":[[197.3,258.4],[182.1,241.8]]}}}),
        ];
        let text = csv_text(&["figures.take_off", "figures.pair.loads_n"], lines, CsvStyle::Point)
            .unwrap();
        let row = text.lines().nth(1).unwrap();
        assert_eq!(
            row,
            r#""amount 0.00027, position 0; amount 0, position 4",197.3; 258.4; 182.1; 241.8"#
        );
    }

    #[test]
    fn lines_become_rows_with_the_nested_values() {
        let lines = vec![
            json!({"id":1,"tolerance":"0.0001","figures":{"tilt":"0.1","contacts_upper":[1,5]},"advice":["a, b","=c"]}),
            json!({"id":2,"tolerance":{"min":"1","max":"2"},"figures":{},"advice":[]}),
        ];
        let columns = [
            "id",
            "tolerance",
            "tolerance.min",
            "figures.tilt",
            "figures.contacts_upper",
            "advice",
        ];
        assert_eq!(
            csv_text(&columns, lines, CsvStyle::Point).unwrap(),
            concat!(
                "id,tolerance,tolerance.min,figures.tilt,figures.contacts_upper,advice\n",
                "1,0.0001,,0.1,1; 5,\"a, b;' =c\"\n",
                "2,,1,,,\n",
            )
        );
    }

    #[test]
    fn a_decimal_comma_is_put_into_numbers_alone() {
        let line = json!({
            "id": 7, "at": "2027-03-01T14:30:00.250Z", "job": "1.5", "value": "-0.00012",
            "tolerance": {"min": "-1.5", "max": "1.5"}, "angle_deg": 51.4, "as_sent": "+0.00012",
            "figures": {"tilt": "0.1", "contacts_upper": [1, 5], "judged": "by 1.5"},
            "why": "a; b, c.d", "gauge": "=1.5",
        });
        let columns = [
            "id",
            "at",
            "job",
            "value",
            "tolerance.min",
            "tolerance.max",
            "angle_deg",
            "as_sent",
            "figures.tilt",
            "figures.contacts_upper",
            "figures.judged",
            "why",
            "gauge",
        ];
        let text = csv_text(&columns, [line], CsvStyle::Comma).unwrap();
        let mut reader = csv::ReaderBuilder::new().delimiter(b';').from_reader(text.as_bytes());
        assert_eq!(reader.headers().unwrap().iter().collect::<Vec<_>>(), columns);
        let row = reader.records().next().unwrap().unwrap();
        let expected = [
            "7",
            "2027-03-01T14:30:00.250Z",
            "1.5",
            "-0,00012",
            "-1,5",
            "1,5",
            "51,4",
            "+0.00012",
            "0,1",
            "1; 5",
            "by 1.5",
            "a; b, c.d",
            "'=1.5",
        ];
        assert_eq!(row.iter().collect::<Vec<_>>(), expected);
    }

    #[test]
    fn a_spreadsheet_gets_its_mark_and_the_time_on_the_clock_here() {
        let zone = TimeZone::fixed(jiff::tz::offset(-5));
        let line = json!({
            "at": "2027-03-01T14:30:00.250Z", "cleared_at": null, "value": "0.5", "why": "Höhe",
            "figures": {"took_off": {"at": "0.25"}}, "k": 2.13,
        });
        let columns = ["at", "cleared_at", "value", "why", "figures.took_off.at", "k"];
        let form = |style| CsvForm { style, sheet: Some(zone.clone()) };
        let text = csv_text(&columns, [line.clone()], form(CsvStyle::Comma)).unwrap();
        let expected = "\u{feff}at;cleared_at;value;why;figures.took_off.at;k\n\
                        2027-03-01 09:30:00;;0,5;Höhe;0,25;2,13\n";
        assert_eq!(text, expected);
        let text = csv_text(&columns, [line], form(CsvStyle::Point)).unwrap();
        assert!(text.ends_with("2027-03-01 09:30:00,,0.5,Höhe,0.25,2.13\n"), "{text}");
    }

    #[test]
    fn whatever_is_in_a_cell_comes_back_from_the_file() {
        let hostile = [
            "a\nb",
            "\"",
            "\"\"\",\"",
            ";;;",
            ",",
            "\r\n",
            "\u{feff}x",
            "\u{1b}[2J",
            "=\"a\"&b",
            "'",
            "",
            " blank ",
            "\u{202e}gnp",
            "µ, ±; Ø",
            "-1",
            "1e5",
            "0.00010",
        ];
        for style in [CsvStyle::Point, CsvStyle::Comma] {
            let separator = if style == CsvStyle::Comma { b';' } else { b',' };
            let line = |text: &&str| json!({ "a": text, "b": text, "c": "end" });
            let lines = hostile.iter().map(line);
            let text = csv_text(&["a", "b", "c"], lines, style).unwrap();
            assert_eq!(text.lines().count(), hostile.len() + 1, "a line a row");
            let mut reader =
                csv::ReaderBuilder::new().delimiter(separator).from_reader(text.as_bytes());
            for (row, hostile) in reader.records().zip(hostile) {
                let row = row.unwrap();
                let expected = safe(hostile);
                assert_eq!(
                    (&row[0], &row[1], &row[2]),
                    (expected.as_str(), expected.as_str(), "end")
                );
                // One of these begins a formula; nothing else gets a mark before it.
                let mark = if hostile.starts_with('=') { "'" } else { "" };
                assert_eq!(expected, format!("{mark}{}", wire::printable(hostile)));
            }
        }
    }
}
