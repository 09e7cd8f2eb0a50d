//! Dials that are watched instead of touched from mark to mark. Invented readings.

use super::kit::*;
use crate::bench::plan::{Check, Detail, Holding, Measures, Surface, Turn};
use crate::bench::{Command, Watched};
use crate::judgement::Word;
use crate::quantity::Unit;

fn turn() -> Check {
    Check {
        measures: Measures::Runout,
        setup: Holding::Turning,
        surface: Surface::Outside,
        radii: Vec::new(),
        detail: Detail::Turn(Turn::default()),
        ..face("run")
    }
}

fn high_low(high: &str, low: &str) -> Command {
    Command::EnterHighLow { high: high.to_owned(), low: low.to_owned() }
}

fn total(value: &str) -> Command {
    Command::EnterTotal { value: value.to_owned() }
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
    assert_eq!((verdict.figures.high_side_deg, verdict.figures.axis_deg), (None, None));
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
    length.measures = Measures::Length;
    let mut kit = Kit::new(vec![length]);
    kit.measure("ring/length").unwrap();
    assert!(kit.ask(total("0.00034")).is_err(), "a length has no total reading");
    let why = "only the total was read off".to_owned();
    assert!(kit.ask(Command::Skip { position: Some(1), why }).is_err(), "kept for dials");
}
