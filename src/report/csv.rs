//! Comma separated values that are safe to open in a spreadsheet.

use serde_json::Value;

/// The columns of readings: paths into `reading/1`.
pub const READING_COLUMNS: &[&str] = &[
    "id",
    "at",
    "gauge",
    "source",
    "file",
    "row",
    "job",
    "part",
    "check",
    "attempt",
    "position",
    "angle_deg",
    "radius",
    "station",
    "value",
    "unit",
    "as_sent",
    "state",
    "why",
];

/// The columns of verdicts: paths into `verdict/1`.
pub const VERDICT_COLUMNS: &[&str] = &[
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
    "figures.max_minus_min",
    "figures.minimum_zone",
    "figures.least_squares",
    "figures.tilt",
    "figures.slope_urad",
    "figures.high_side_deg",
    "figures.high_side_u_deg",
    "figures.noise_floor",
    "figures.mean",
    "figures.contacts_upper",
    "figures.contacts_lower",
    "figures.closure",
    "figures.judged",
    "figures.to_20_c",
    "figures.dish",
    "figures.saddle_factor",
    "figures.harmonics",
    "figures.eccentricity",
    "figures.axis_deg",
    "figures.out_of_round",
    "figures.unfiltered",
    "figures.stations",
    "figures.axis.name",
    "figures.axis.offset",
    "figures.axis.offset_deg",
    "figures.axis.tilt_urad",
    "figures.axis.tilt_deg",
    "figures.predicted",
    "figures.pair.lengths",
    "figures.pair.longer",
    "figures.pair.required",
    "figures.pair.preload_n",
    "figures.pair.loads_n",
    "figures.pair.apart_min",
    "figures.rate",
    "figures.half_angle_deg",
    "figures.take_off",
    "figures.leaves",
    "figures.took_off.at",
    "figures.took_off.same_zero",
    "figures.took_off.tilt",
    "figures.took_off.more_deg",
    "advice",
    "reasons",
    "superseded_by",
];

/// The columns of alerts: paths into `alert/1`.
pub const ALERT_COLUMNS: &[&str] = &[
    "id",
    "at",
    "level",
    "kind",
    "job",
    "part",
    "check",
    "gauge",
    "text",
    "cleared_at",
    "acked_at",
];

/// Lines of JSON as one text of comma separated values, a line of headings first.
///
/// # Errors
/// A line that is not JSON: a mistake in this program.
pub fn csv_text(columns: &[&str], lines: &[String]) -> Result<String, String> {
    let fault = |error: &dyn std::fmt::Display| format!("cannot write the values: {error}");
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(columns).map_err(|error| fault(&error))?;
    for line in lines {
        let value: Value = serde_json::from_str(line).map_err(|error| fault(&error))?;
        let cells = columns.iter().map(|path| safe(&cell(&value, path)));
        writer.write_record(cells).map_err(|error| fault(&error))?;
    }
    let bytes = writer.into_inner().map_err(|error| fault(&error))?;
    String::from_utf8(bytes).map_err(|error| fault(&error))
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

/// An item of a list; what has parts is told with their names: `position 3, amount 0.00012`.
fn item(value: &Value) -> String {
    let Value::Object(parts) = value else { return text(value) };
    let part = |(name, value): (&String, &Value)| format!("{name} {}", item(value));
    parts.iter().map(part).collect::<Vec<_>>().join(", ")
}

/// A cell that no spreadsheet takes for a formula: whatever begins like one and is not a plain
/// number gets an apostrophe in front. Control characters become visible.
fn safe(text: &str) -> String {
    let shown = crate::wire::printable(text);
    let begins = shown.starts_with(['=', '+', '-', '@']) || text.starts_with(['\t', '\r', '\n']);
    if begins && !is_number(&shown) { format!("'{shown}") } else { shown }
}

fn is_number(text: &str) -> bool {
    let digits = text.strip_prefix(['-', '+']).unwrap_or(text);
    digits.contains(|c: char| c.is_ascii_digit())
        && digits.chars().all(|c| c.is_ascii_digit() || c == '.')
        && digits.matches('.').count() <= 1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stay_numbers_and_formulas_become_texts() {
        assert_eq!(safe("-0.00012"), "-0.00012");
        assert_eq!(safe("+1"), "+1");
        assert_eq!(safe("=1+1"), "'=1+1");
        assert_eq!(safe("-1+cmd|' /C calc'!A0"), "'-1+cmd|' /C calc'!A0");
        assert_eq!(safe("@SUM(A1)"), "'@SUM(A1)");
        assert_eq!(safe("\t=1"), "'\\t=1");
        assert_eq!(safe("-"), "'-");
        assert_eq!(safe("\u{1b}[2J"), "\\x1b[2J");
    }

    #[test]
    fn a_list_of_things_with_parts_tells_their_names() {
        let lines = vec![
            r#"{"figures":{"take_off":[{"position":0,"amount":"0.00027"},{"position":4,"amount":"0"}],"pair":{"loads_n":[[197.3,258.4],[182.1,241.8]]}}}"#.to_owned(),
        ];
        let text = csv_text(&["figures.take_off", "figures.pair.loads_n"], &lines).unwrap();
        let row = text.lines().nth(1).unwrap();
        assert_eq!(
            row,
            r#""amount 0.00027, position 0; amount 0, position 4",197.3; 258.4; 182.1; 241.8"#
        );
    }

    #[test]
    fn lines_become_rows_with_the_nested_values() {
        let lines = vec![
            r#"{"id":1,"tolerance":"0.0001","figures":{"tilt":"0.1","contacts_upper":[1,5]},"advice":["a, b","=c"]}"#.to_owned(),
            r#"{"id":2,"tolerance":{"min":"1","max":"2"},"figures":{},"advice":[]}"#.to_owned(),
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
            csv_text(&columns, &lines).unwrap(),
            concat!(
                "id,tolerance,tolerance.min,figures.tilt,figures.contacts_upper,advice\n",
                "1,0.0001,,0.1,1; 5,\"a, b; =c\"\n",
                "2,,1,,,\n",
            )
        );
    }
}
