//! Dials that are watched instead of touched from mark to mark. Invented readings.

use crate::plan::{Check, Holding, Measures, Size, Surface, Turn};
use crate::tests::kit::*;
use crate::{Command, Watched};
use judgement::Word;
use quantity::Unit;

fn turn() -> Check {
    Check {
        setup: Holding::Turning,
        surface: Surface::Outside,
        radii: Vec::new(),
        measures: Measures::from(Turn::default()),
        ..face("run")
    }
}

fn high_low(high: &str, low: &str) -> Command {
    Command::EnterHighLow { high: high.to_owned(), low: low.to_owned(), graduation: None }
}

fn total(value: &str) -> Command {
    Command::EnterTotal { value: value.to_owned(), graduation: None }
}

#[test]
fn high_and_low_are_judged_and_tell_no_waves() {
    let mut kit = Kit::new(vec![turn()]);
    kit.measure("ring/run").unwrap();
    assert!(kit.ask(high_low("0.00003", "-0.00002@270")).is_err(), "a mark is missing");
    assert!(kit.ask(high_low("-0.00003@90", "0.00002@270")).is_err(), "the wrong way round");
    assert!(kit.ask(high_low("0.00003@400", "0.00002@270")).is_err(), "no such angle");
    // 85 degrees is nearest to the 90 mark.
    kit.ask(high_low("0.00003@85", "-0.00002@270")).unwrap();
    let verdict = kit.verdict();
    assert_eq!(verdict.word, Word::Conforms, "watched all round: not too few");
    assert_eq!(verdict.value.unwrap().shown(Unit::Inch), "0.00005");
    assert!(verdict.figures.harmonics.is_empty() && verdict.figures.eccentricity.is_none());
    // The mark that was read off, give or take half a pitch between marks.
    let figures = &verdict.figures;
    assert_eq!(
        (figures.high_side_deg, figures.high_side_u_deg),
        (Some(90.0.into()), Some(22.5.into()))
    );
    assert_eq!(figures.axis_deg, None);
    assert_eq!((verdict.taken, verdict.skipped), (2, 6));
    let said = "Only the high and the low were read off: no waves, no plane.".to_owned();
    assert!(verdict.advice.contains(&said), "{:?}", verdict.advice);
    let positions: Vec<_> = kit.readings().iter().map(|(_, r)| r.position).collect();
    assert_eq!(positions, [Some(2), Some(6)]);
}

#[test]
fn a_total_reading_has_a_verdict_and_nothing_else() {
    for check in [turn(), face("run")] {
        let mut kit = Kit::new(vec![check]);
        kit.measure("ring/run").unwrap();
        kit.ask(total("0.00034")).unwrap();
        let verdict = kit.verdict();
        assert_eq!(verdict.word, Word::DoesNotConform);
        assert_eq!(verdict.value.unwrap().shown(Unit::Inch), "0.00034");
        assert_eq!(verdict.figures.high_side_deg, None);
        let job = kit.job();
        let attempt = job.attempts.values().next().unwrap();
        assert_eq!(attempt.watched(), Some(Watched::Total));
    }
}

#[test]
fn a_dial_is_read_off_at_once_or_not_at_all() {
    let mut kit = Kit::new(vec![turn()]);
    kit.measure("ring/run").unwrap();
    kit.press("0.00001");
    assert!(kit.ask(total("0.00034")).is_err(), "a series of touches is under way");
    let mut length = face("length");
    length.measures = Size::default().into();
    let mut kit = Kit::new(vec![length]);
    kit.measure("ring/length").unwrap();
    assert!(kit.ask(total("0.00034")).is_err(), "a length has no total reading");
    let why = "only the total was read off".to_owned();
    assert!(kit.ask(Command::Skip { position: Some(1), why }).is_err(), "kept for dials");
}

/// The uncertainty of a face keyed in by graduations, closed, in the limit's unit.
fn keyed(graduations: &[(&str, &[&str])]) -> (Word, String) {
    let mut kit = Kit::new(vec![Check { closure: true, ..face("face") }]);
    kit.measure("ring/face").unwrap();
    for (graduation, values) in graduations {
        let values = values.iter().map(|&value| value.to_owned()).collect();
        let graduation = Some((*graduation).to_owned()).filter(|text| !text.is_empty());
        kit.ask(Command::Enter { values, graduation }).unwrap();
    }
    let verdict = kit.verdict();
    let (bench, rows) = (&kit.bench, &kit.rows);
    assert_eq!(crate::Bench::rebuilt(rows, bench.last, bench.feed), *bench);
    (verdict.word, verdict.uncertainty.map(quantity::Figure::from).unwrap().fixed(Unit::Inch, 6))
}

#[test]
fn a_dial_is_judged_by_its_graduation_whatever_its_last_decimal_place() {
    const ROUND: [&str; 9] = ["1", "0", "0", "0", "0", "0", "0", "0", "1"];
    // U = 2·√(2·(graduation²/12 + 0.0000084² − 0.000006²)) in, worked out by hand.
    for (graduation, word, expanded) in [
        ("0.00005in", Word::Undecided, "0.000044"),
        ("0.0002in", Word::Undecided, "0.000164"),
        ("0.0005in", Word::Undecided, "0.000409"),
        ("2um", Word::Undecided, "0.000066"),
        ("0.002mm", Word::Undecided, "0.000066"),
    ] {
        assert_eq!(keyed(&[(graduation, &ROUND)]), (word, expanded.to_owned()), "{graduation}");
    }
}

#[test]
fn of_readings_keyed_in_different_ways_the_coarsest_graduation_counts() {
    let eight = ["0"; 8];
    let dial: (&str, &[&str]) = ("0.0001in", &eight);
    let coarse = (Word::Undecided, "0.000083".to_owned());
    // It came back 0.00001 in off: 2·√(2·867.9 + 10²/3) = 84.1 millionths.
    let off = (Word::Undecided, "0.000084".to_owned());
    assert_eq!(keyed(&[dial, ("", &["0.00001"])]), off);
    assert_eq!(keyed(&[dial, ("0.00005in", &["0"])]), coarse);
}

#[test]
fn of_two_tries_the_coarser_steps_are_told_and_so_is_what_was_keyed_with_too_few_digits() {
    let mut kit = Kit::new(vec![face("face")]);
    let by = |kit: &mut Kit, value: &str, graduation: Option<&str>| {
        let (values, graduation) = (vec![value.to_owned(); 8], graduation.map(str::to_owned));
        kit.ask(Command::Enter { values, graduation }).unwrap();
        kit.verdict().cautions.clone()
    };
    let again = |kit: &mut Kit| {
        let reason = crate::fact::row::AttemptReason::Again;
        kit.ask(Command::Remeasure { reason, target: None, remark: None }).unwrap();
    };
    kit.measure("ring/face").unwrap();
    assert_eq!(by(&mut kit, "0", Some("0.0001in")), Vec::<String>::new());
    again(&mut kit);
    let coarse = "One of the tries was read in steps of 0.0001 in: all are judged by it.";
    assert_eq!(by(&mut kit, "0.00000", None), [coarse]);

    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    // A ring keyed whole is told before it is judged; one that is keyed touch by touch was told.
    let keyed = "Keyed to 0.0001 in: key every digit the gauge shows.";
    let enter = |values: Vec<String>| Command::Enter { values, graduation: None };
    let refused = kit.ask(enter(vec!["0.0001".to_owned(); 8])).unwrap_err();
    assert!(refused.text.contains("nothing was entered"), "{refused:?}");
    kit.ask(enter(vec!["0.0001".to_owned()])).unwrap();
    kit.ask(enter(vec!["0.0001".to_owned(); 7])).unwrap();
    assert_eq!(kit.verdict().cautions, [keyed]);
}
