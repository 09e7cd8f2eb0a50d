//! Tables of a few values, row by row.

use bench::Command;

use super::html::Element;
use super::shop::Shop;

const PLAN: &str = r#"
[[part]]
name = "spindle"
kind = "other"
[[part.check]]
name = "vibration"
measures = "entry"
question = "vibration <front>"
columns = ["speed rpm", "vibration mm/s"]
max = "1 mm/s"
uncertainty = 0.1
[[part.check]]
name = "flow"
measures = "entry"
question = "air"
columns = ["speed rpm", "flow l/min"]
"#;

fn recorded(values: &[(&str, &str)]) -> Vec<Element> {
    let mut shop = Shop::with(PLAN);
    shop.open("J-1", None);
    for (target, value) in values {
        let (target, value) = ((*target).to_owned(), (*value).to_owned());
        shop.ask(Command::Record { target, value });
    }
    shop.page("J-1").section("Entries and answers").all("table")
}

#[test]
fn each_row_of_a_table_has_its_place_its_value_and_its_own_verdict() {
    let tables = recorded(&[("spindle/vibration", "1000=0.4 2000=1.05 3000=1.6")]);
    let heads: Vec<String> = tables[1].all("th").iter().map(Element::text).collect();
    assert_eq!(heads, ["speed, rpm", "vibration, mm/s", "Verdict"]);
    // U is 0.2: 0.4 + 0.2 is below 1, 1.05 lies within 0.2 of it, 1.6 − 0.2 is above.
    let rows: Vec<String> = tables[1].all("tr").iter().skip(1).map(Element::text).collect();
    assert_eq!(rows, ["1000 0.4 conforms", "2000 1.05 undecided", "3000 1.6 does not conform"]);
    let whole = tables[0].text();
    assert!(whole.contains("vibration <front>"), "{whole}");
}

#[test]
fn a_table_that_nobody_judges_has_no_column_of_verdicts() {
    let tables = recorded(&[("spindle/flow", "1000=12")]);
    let heads: Vec<String> = tables[1].all("th").iter().map(Element::text).collect();
    assert_eq!(heads, ["speed, rpm", "flow, l/min"]);
    assert!(tables[0].text().contains("kept, not judged"), "{}", tables[0].text());
}

#[test]
fn without_a_value_there_is_no_table() {
    assert!(recorded(&[]).is_empty());
}
