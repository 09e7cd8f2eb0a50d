use super::*;
use crate::trial::line as verdict;
use judgement::{Limits, decide};
use quantity::Length;
use wire::LimitsTold;

fn told(line: &VerdictLine) -> String {
    rule(line, Unit::Inch).unwrap()
}

/// A verdict with the word that the arithmetic gives.
fn judged(value: &str, rule: &str) -> VerdictLine {
    let text = Some(value.to_owned());
    let mut line = VerdictLine { value: text, rule: rule.to_owned(), ..verdict() };
    let length = |text: &str| Length::parse(text, Unit::Inch).unwrap();
    let u = Length::from_picometres(646_580);
    let found = decide(Figure::parse(value, Unit::Inch).unwrap(), u, Limits::Max(length("0.0001")));
    line.uncertainty = Some(Figure::from(u).shown_up(Unit::Inch));
    line.guarded = Some(found.guarded.text().to_owned());
    line.simple = Some(found.simple.text().to_owned());
    line
}

#[test]
fn each_rule_is_written_out_with_its_numbers() {
    assert_eq!(
        told(&judged("0.00004", "guarded")),
        "limit 0.0001; U 0.000026: 0.00004 ≤ 0.0001 − 0.000026"
    );
    assert_eq!(
        told(&judged("0.00034", "guarded")),
        "limit 0.0001; U 0.000026: 0.00034 > 0.0001 + 0.000026"
    );
    assert_eq!(
        told(&judged("0.00009", "guarded")),
        "limit 0.0001; U 0.000026: 0.0001 − 0.000026 < 0.00009 ≤ 0.0001 + 0.000026"
    );
    assert_eq!(told(&judged("0.0001", "simple")), "limit 0.0001; U 0.000026: 0.00010 ≤ 0.0001");
    assert_eq!(
        told(&judged("0.00010001", "simple")),
        "limit 0.0001; U 0.000026: 0.00010001 > 0.0001"
    );
}

#[test]
fn a_printed_comparison_holds_for_the_numbers_printed() {
    assert_eq!(
        told(&judged("0.0000742", "guarded")),
        "limit 0.0001; U 0.000026: 0.00007 ≤ 0.0001 − 0.000026"
    );
    // Just above the limit less U: five places would put it below.
    let close = judged("0.0000746", "guarded");
    assert_eq!(close.guarded.as_deref(), Some("undecided"));
    assert_eq!(
        told(&close),
        "limit 0.0001; U 0.000026: 0.0001 − 0.000026 < 0.000075 ≤ 0.0001 + 0.000026"
    );
}

#[test]
fn a_band_is_held_against_both_its_ends() {
    let band = LimitsTold::Band { min: "-0.0001".to_owned(), max: "0.0001".to_owned() };
    let pair = |value: &str, word: &str| VerdictLine {
        tolerance: Some(band.clone()),
        measures: "difference".to_owned(),
        guarded: Some(word.to_owned()),
        ..judged(value, "guarded")
    };
    assert_eq!(
        told(&pair("0.000015", "conforms")),
        "limit −0.0001 to 0.0001; U 0.000026: (−0.0001) + 0.000026 ≤ 0.00002 ≤ 0.0001 − 0.000026"
    );
    assert_eq!(
        told(&pair("-0.00014", "does-not-conform")),
        "limit −0.0001 to 0.0001; U 0.000026: −0.00014 is not from (−0.0001) − 0.000026 to 0.0001 + 0.000026"
    );
}

#[test]
fn a_sum_takes_off_what_is_negative() {
    let numbers = ["-0.5", "0.25", "-1"].map(str::to_owned);
    assert_eq!(plus(&numbers), "−0.5 + 0.25 − 1");
}

#[test]
fn without_a_figure_the_answer_is_told() {
    let asked = VerdictLine {
        value: None,
        answer: Some("no".to_owned()),
        good: vec!["yes".to_owned()],
        ..verdict()
    };
    assert_eq!(answered(&asked).unwrap(), "Answered “no”; what conforms: yes.");
    assert_eq!(answered(&VerdictLine { value: None, ..verdict() }), None);
}
