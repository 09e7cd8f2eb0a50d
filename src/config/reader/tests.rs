use super::say::edits;
use super::*;

const TEXT: &str = r#"
name = "plate"
travel = ["-0.010 in", 3]
due = 2027-03-01
tolerance = 0.00010
baud = 960000000

[places]
in = 5
mm = 3

[[gauge]]
kind = "dail"

[[gauge]]
knid = "dial"
"#;

#[test]
fn values_come_with_their_lines_and_findings_all_at_once() {
    let document = Document::parse("bench.toml", TEXT);
    let root = document.root().unwrap();
    assert_eq!(root.string("name"), Some(At { value: "plate".to_owned(), line: 2 }));
    assert_eq!(root.literal("tolerance").unwrap().value, "0.00010");
    assert_eq!(root.date("due").unwrap().value, jiff::civil::date(2027, 3, 1));
    assert_eq!(root.strings("travel").len(), 1);
    assert_eq!(root.integer("baud", 50..=4_000_000), None);
    root.must_have("port", "write port = \"/dev/…\"");
    let places = root.table("places").unwrap();
    assert_eq!(places.line(), 8);
    assert_eq!(places.keys().len(), 2);
    assert_eq!(places.integer("in", 0..=9).unwrap().value, 5);
    places.finish();
    for gauge in root.tables("gauge") {
        gauge.one_of("kind", &[("dial", 1), ("height", 2)]);
        gauge.finish();
    }
    root.finish();
    let told: Vec<String> = document.findings().iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        [
            "bench.toml:1: error: \"port\" is missing — write port = \"/dev/…\"",
            "bench.toml:3: error: \"travel\" should be a text in quotes — it is 3",
            "bench.toml:6: error: \"baud\" should be a whole number from 50 to 4000000 — it is 960000000",
            "bench.toml:10: error: unknown key \"places.mm\" — known here: in",
            "bench.toml:13: error: \"gauge.kind\" is \"dail\" — write \"dial\" or \"height\"",
            "bench.toml:16: error: unknown key \"gauge.knid\" — did you mean \"kind\"?",
        ]
    );
    assert!(document.has_errors());
}

#[test]
fn a_file_that_is_not_toml_tells_every_line() {
    let document = Document::parse("x.toml", "a = \nb = 1\nc = = 2\n");
    assert!(document.root().is_none());
    let lines: Vec<_> = document.findings().iter().map(|finding| finding.line).collect();
    assert!(lines.contains(&Some(1)) && lines.contains(&Some(3)), "{lines:?}");
}

#[test]
fn edits_are_counted() {
    for (one, other, count) in [("", "", 0), ("kind", "knid", 2), ("a", "", 1), ("abc", "xbc", 1)] {
        assert_eq!(edits(one, other), count, "{one} {other}");
    }
}
