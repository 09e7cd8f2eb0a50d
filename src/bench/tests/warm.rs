//! Parts that shrink while they are measured. Times are made up; each figure was worked out by hand.

use crate::event::Command;
use crate::fact::row::{AlertKind, AttemptReason, Level};
use crate::plan::{Check, CheckAt, Entry, Holding, MasterUse, Size};
use crate::tests::kit::{Kit, face, inch};
use judgement::{Limits, Reason, Word};

const MINUTE: u64 = 60_000_000;

/// 2 in between ±0.0001 in, against a master; with the temperatures of both where that is wanted.
fn length(temperatures: bool) -> Check {
    let temperatures = temperatures.then(|| [1, 2].map(|check| CheckAt { part: 0, check }));
    Check {
        measures: Size { temperatures, ..Size::default() }.into(),
        positions: 4,
        limits: Some(Limits::Band { min: inch("1.9999"), max: inch("2.0001") }),
        master: MasterUse::Both,
        master_size: Some(inch("2.0000")),
        ..face("length")
    }
}

fn entry(name: &str) -> Check {
    let asked = Entry { question: name.to_owned(), unit: Some("C".to_owned()) };
    Check {
        measures: asked.into(),
        gauge: None,
        setup: Holding::Plate,
        positions: 0,
        radii: Vec::new(),
        limits: None,
        ..face(name)
    }
}

/// A try: the master, the positions, the master. In millionths of an inch.
fn touch(kit: &mut Kit, microinches: &[i32]) {
    for count in microinches {
        kit.frame("plate", &format!("{:.5}", f64::from(*count) / 1e6), false);
    }
}

fn again(kit: &mut Kit, target: &str) {
    kit.ask(Command::Remeasure {
        reason: AttemptReason::Again,
        target: Some(target.to_owned()),
        remark: None,
    })
    .unwrap();
}

/// Three tries five minutes apart, 20 shorter each time: 4.0 a minute. A position is one spot: three
/// touches, Σ(t − mean)² = 50 at each of four. s² counts for each touch and for the master's, 1 + 4 times:
/// u = √5·6/√200 = 0.95 a minute.
#[test]
fn a_length_that_shrinks_from_try_to_try_is_called_with_its_rate() {
    let mut kit = Kit::new(vec![length(false)]);
    kit.measure("ring/length").unwrap();
    for shorter in [0, 20, 40] {
        if shorter > 0 {
            kit.clock_us += 5 * MINUTE - 7_000_000;
            again(&mut kit, "ring/length");
        }
        let on = 40 - shorter;
        touch(&mut kit, &[0, on, on, on, on, 0]);
    }
    let verdict = kit.verdict();
    assert_eq!((verdict.word, &verdict.reasons[..]), (Word::Undecided, &[Reason::Warm][..]));
    let said = "Still shrinking: 0.000004 a minute.";
    assert!(verdict.advice.iter().any(|one| one == said), "{:?}", verdict.advice);
    let calls = kit.bench.alerts.values().find(|open| open.alert.kind == AlertKind::Warm).unwrap();
    assert_eq!(calls.alert.text, "ring/length: still shrinking: 0.000004 a minute.");
    assert_eq!(calls.alert.level, Level::Interrupt);
    // Ground: what was seen of the metal before says nothing of this one.
    kit.ask(Command::Remeasure {
        reason: AttemptReason::Ground,
        target: Some("ring/length".to_owned()),
        remark: None,
    })
    .unwrap();
    touch(&mut kit, &[0, -10, -10, -10, -10, 0]);
    assert!(!kit.verdict().reasons.contains(&Reason::Warm));
    assert!(kit.alerts(AlertKind::Warm).is_empty());
}

/// What holds still is not called; nor is it said to be ready: a length is ready by its temperatures alone.
#[test]
fn a_length_that_holds_still_is_not_said_to_be_ready() {
    let mut kit = Kit::new(vec![length(false)]);
    kit.measure("ring/length").unwrap();
    for try_no in 0..6 {
        if try_no > 0 {
            kit.clock_us += 5 * MINUTE;
            again(&mut kit, "ring/length");
        }
        let on = 20 + 10 * (try_no % 2);
        touch(&mut kit, &[0, on, on, on, on, 0]);
    }
    let verdict = kit.verdict();
    assert!(!verdict.reasons.contains(&Reason::Warm), "{:?}", verdict.reasons);
    assert!(kit.alerts(AlertKind::Warm).is_empty());
    let ready = |one: &String| one.contains("still") || one.to_lowercase().contains("ready");
    assert!(!verdict.advice.iter().any(ready), "{:?}", verdict.advice);
}

#[test]
fn a_length_that_shrinks_at_one_temperature_has_a_thermometer_that_is_stuck() {
    let mut kit = Kit::new(vec![length(true), entry("ring-c"), entry("master-c")]);
    let record = |kit: &mut Kit, target: &str, value: &str| {
        let (target, value) = (target.to_owned(), value.to_owned());
        kit.ask(Command::Record { target, value })
    };
    record(&mut kit, "ring/ring-c", "20.5").unwrap();
    record(&mut kit, "ring/master-c", "20.5").unwrap();
    kit.measure("ring/length").unwrap();
    for shorter in [0, 20, 40] {
        if shorter > 0 {
            kit.clock_us += 5 * MINUTE - 7_000_000;
            again(&mut kit, "ring/length");
        }
        let on = 40 - shorter;
        touch(&mut kit, &[0, on, on, on, on, 0]);
    }
    let verdict = kit.verdict();
    assert_eq!(verdict.reasons, [Reason::Warm]);
    let said = "Still shrinking: 0.000004 a minute. By its temperatures it is ready: is a thermometer stuck?";
    assert!(verdict.advice.iter().any(|one| one == said), "{:?}", verdict.advice);
    let refused = record(&mut kit, "ring/ring-c", "200").unwrap_err();
    assert_eq!(
        refused.text,
        "ring/ring-c: 200 C is no temperature of a part that is measured; nothing was written"
    );
}

/// A ring on the plate: its zero may be another one in each try, so only what came back in one try counts:
/// 0, -30, -60 in eight minutes. It is written down, and withholds nothing by itself.
#[test]
fn a_ring_that_walks_is_written_down_and_calls_nobody() {
    let walked = |tolerance: &str| {
        let mut kit = Kit::new(vec![Check {
            closure: true,
            middle: true,
            limits: Some(Limits::Max(inch(tolerance))),
            ..face("face")
        }]);
        kit.measure("ring/face").unwrap();
        let heights = [0, -10, -10, -20, -30, -30, -40, -50, -50, -60];
        for (touches, height) in heights.into_iter().enumerate() {
            if touches > 0 {
                kit.clock_us += MINUTE - 1_000_000;
            }
            touch(&mut kit, &[height]);
        }
        kit
    };
    let kit = walked("0.0004");
    assert!(kit.alerts(AlertKind::Warm).is_empty(), "6.7 a minute are 33 in five, a tenth is 40");
    let kit = walked("0.0001");
    let verdict = kit.verdict();
    assert_eq!(verdict.reasons, [], "the drift is even, and taken out");
    let said = "Readings fall by 0.000007 a minute: the part still shrinks, or the gauge drifts.";
    assert!(verdict.advice.iter().any(|one| one == said), "{:?}", verdict.advice);
    let open = kit.bench.alerts.values().find(|open| open.alert.kind == AlertKind::Warm).unwrap();
    assert_eq!(open.alert.level, Level::Log);
}
