use super::*;
use crate::trial::{answered as asked, face_with, figure, length};
use judgement::{Limits, Reason, decide};
use quantity::Length;

fn told(record: &VerdictRecord) -> String {
    rule(record, Unit::Inch).unwrap()
}

/// A verdict against these limits with the words that the arithmetic gives.
fn held(value: &str, rule: Rule, limits: Limits) -> VerdictRecord {
    let u = Length::from_picometres(646_580);
    let found = decide(figure(value), u, limits);
    face_with(|verdict| {
        (verdict.value, verdict.limits, verdict.uncertainty) =
            (Some(figure(value)), Some(limits), Some(u));
        (verdict.guarded, verdict.simple) = (Some(found.guarded), Some(found.simple));
        verdict.rule = rule;
    })
}

fn judged(value: &str, rule: Rule) -> VerdictRecord {
    held(value, rule, Limits::Max(length("0.0001 in")))
}

#[test]
fn each_rule_is_written_out_with_its_numbers() {
    assert_eq!(
        told(&judged("0.00004 in", Rule::Guarded)),
        "limit 0.0001; U 0.000026: 0.00004 ≤ 0.0001 − 0.000026"
    );
    assert_eq!(
        told(&judged("0.00034 in", Rule::Guarded)),
        "limit 0.0001; U 0.000026: 0.00034 > 0.0001 + 0.000026"
    );
    assert_eq!(
        told(&judged("0.00009 in", Rule::Guarded)),
        "limit 0.0001; U 0.000026: 0.0001 − 0.000026 < 0.00009 ≤ 0.0001 + 0.000026"
    );
    assert_eq!(
        told(&judged("0.0001 in", Rule::Simple)),
        "limit 0.0001; U 0.000026: 0.00010 ≤ 0.0001"
    );
    assert_eq!(
        told(&judged("0.00010001 in", Rule::Simple)),
        "limit 0.0001; U 0.000026: 0.00010001 > 0.0001"
    );
}

#[test]
fn a_printed_comparison_holds_for_the_numbers_printed() {
    assert_eq!(
        told(&judged("0.0000742 in", Rule::Guarded)),
        "limit 0.0001; U 0.000026: 0.00007 ≤ 0.0001 − 0.000026"
    );
    // Just above the limit less U: five places would put it below.
    let close = judged("0.0000746 in", Rule::Guarded);
    assert_eq!(close.verdict.guarded, Some(Word::Undecided));
    assert_eq!(
        told(&close),
        "limit 0.0001; U 0.000026: 0.0001 − 0.000026 < 0.000075 ≤ 0.0001 + 0.000026"
    );
}

#[test]
fn a_band_is_held_against_both_its_ends() {
    let band = Limits::Band { min: length("-0.0001 in"), max: length("0.0001 in") };
    let pair = |value: &str| held(value, Rule::Guarded, band);
    assert_eq!(
        told(&pair("0.000015 in")),
        "limit −0.0001 to 0.0001; U 0.000026: (−0.0001) + 0.000026 ≤ 0.00002 ≤ 0.0001 − 0.000026"
    );
    assert_eq!(
        told(&pair("-0.00014 in")),
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
    let told = answered(&asked("no", &["yes"])).unwrap();
    assert_eq!(told, "Answered “no”; what conforms: yes.");
    assert_eq!(answered(&face_with(|verdict| verdict.value = None)), None);
}

#[test]
fn a_verdict_that_is_withheld_says_what_the_arithmetic_alone_would_not() {
    let warm = face_with(|verdict| {
        verdict.word = Word::Undecided;
        verdict.reasons = vec![Reason::Warm, Reason::NotClosed];
    });
    assert_eq!(
        withheld(&warm),
        "; but undecided all the same: the part was not at the temperature of the master, \
         position 0 did not come back to its first reading"
    );
    assert_eq!(withheld(&face_with(|_| ())), "");
}
