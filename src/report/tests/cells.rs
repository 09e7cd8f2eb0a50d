//! Separated values, of real lines and of any text.

use proptest::prelude::*;
use serde_json::json;
use wire::Published as _;

use super::page::{OUT, face};
use crate::{ALERT_COLUMNS, CsvStyle, READING_COLUMNS, VERDICT_COLUMNS, csv_text};

fn rows(text: &str, style: CsvStyle) -> Vec<Vec<String>> {
    let between = if style == CsvStyle::Comma { b';' } else { b',' };
    let mut reader = csv::ReaderBuilder::new().delimiter(between).from_reader(text.as_bytes());
    let row = |row: csv::StringRecord| row.iter().map(str::to_owned).collect();
    reader.records().map(|found| row(found.unwrap())).collect()
}

#[test]
fn readings_and_alerts_have_the_published_columns_in_their_order() {
    let readings = "id at gauge source file row job part check attempt position angle_deg radius \
                    station value unit as_sent state why by voided_by";
    assert_eq!(READING_COLUMNS.join(" "), readings);
    let alerts = "id at level kind job part check gauge text cleared_at acked_at acked_by";
    assert_eq!(ALERT_COLUMNS.join(" "), alerts);
}

#[test]
fn no_column_of_verdicts_is_there_twice_and_all_are_of_the_line() {
    let mut columns = VERDICT_COLUMNS.clone();
    columns.sort_unstable();
    columns.dedup();
    assert_eq!(columns.len(), VERDICT_COLUMNS.len());
    let fields = words::fields_of::<wire::VerdictLine>();
    for column in &columns {
        let field = column.split('.').next().unwrap();
        assert!(fields.contains(&field), "{column}");
    }
}

#[test]
fn a_verdict_has_the_same_figures_in_its_cells_as_on_its_line() {
    let mut shop = face();
    shop.measure("ring/face", OUT);
    let facts = shop.facts("J-1");
    let record = &facts.verdicts[0];
    let line = record.fields();
    for style in [CsvStyle::Point, CsvStyle::Comma] {
        let text = csv_text(&VERDICT_COLUMNS, [line.clone()], style).unwrap();
        let row = &rows(&text, style)[0];
        let cell = |column: &str| {
            let at = VERDICT_COLUMNS.iter().position(|one| *one == column).unwrap();
            if style == CsvStyle::Comma { row[at].replace(',', ".") } else { row[at].clone() }
        };
        assert_eq!(cell("value"), line["value"].as_str().unwrap());
        assert_eq!(cell("uncertainty"), line["uncertainty"].as_str().unwrap());
        assert_eq!(cell("tolerance"), "0.0001");
        assert_eq!(
            (cell("tolerance.min"), cell("verdict")),
            (String::new(), "does-not-conform".to_owned())
        );
        let high = line["figures"]["high_side_deg"].as_f64().unwrap();
        assert_eq!(cell("figures.high_side_deg").parse::<f64>().unwrap().to_bits(), high.to_bits());
        let means = row[VERDICT_COLUMNS.iter().position(|one| *one == "means").unwrap()].clone();
        assert_eq!(means.matches("position ").count(), 8, "{means}");
    }
}

proptest! {
    #[test]
    fn any_text_is_one_cell_that_runs_nothing(text in any::<String>(), comma in any::<bool>()) {
        let style = if comma { CsvStyle::Comma } else { CsvStyle::Point };
        let written = csv_text(&["a", "b"], [json!({ "a": text, "b": "end" })], style).unwrap();
        let rows = rows(&written, style);
        prop_assert_eq!(rows.len(), 1);
        prop_assert_eq!(&rows[0][1], "end");
        let cell = &rows[0][0];
        prop_assert!(!cell.starts_with(['=', '+', '-', '@']) || cell.parse::<f64>().is_ok(), "{cell:?}");
        prop_assert!(!cell.chars().any(char::is_control), "{cell:?}");
        // But for marks before formulas it is the text as it may be shown.
        let shown = wire::printable(&text);
        let strip = |text: &str| text.replace('\'', "");
        prop_assert_eq!(strip(cell), strip(&shown));
    }

    #[test]
    fn numbers_keep_their_digits_with_either_mark(whole in -99_999_i64..99_999, places in 0_usize..9) {
        let number = format!("{whole}.{:0places$}", 7);
        let line = json!({ "value": number, "job": number });
        for style in [CsvStyle::Point, CsvStyle::Comma] {
            let text = csv_text(&["value", "job"], [line.clone()], style).unwrap();
            let row = &rows(&text, style)[0];
            let expected = if style == CsvStyle::Comma { number.replace('.', ",") } else { number.clone() };
            prop_assert_eq!(&row[0], &expected);
            prop_assert_eq!(&row[1], &number, "a name is no number");
        }
    }
}
