//! Parts that shrink while they are measured. Times are made up; each figure was worked out by hand.

use crate::event::{Command, Event, Frame};
use crate::fact::row::{AlertKind, AttemptReason, Body, Level};
use crate::plan::{Check, CheckAt, Entry, Holding, MasterUse, Size};
use crate::setup::{GaugeKind, GaugeSetup};
use crate::state::row::Row;
use crate::tests::kit::{Kit, face, gauge, inch, name};
use judgement::{Limits, Reason, Word};
use quantity::{Quoted, Unit};

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

fn entry(called: &str) -> Check {
    let asked = Entry {
        question: called.to_owned(),
        unit: Some("C".to_owned()),
        thermometer: Some(name("probe")),
        columns: None,
        u: None,
    };
    Check {
        measures: asked.into(),
        gauge: None,
        setup: Holding::Plate,
        positions: 0,
        radii: Vec::new(),
        limits: None,
        ..face(called)
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

/// What a thermometer shows, carried as that many millimetres.
fn shows(kit: &mut Kit, degrees: &str) {
    kit.event(&Event::Frame(Frame {
        gauge: name("probe"),
        value: Quoted::parse(degrees, Unit::Millimetre).unwrap(),
        text: degrees.to_owned(),
        repeat: false,
        odd: None,
        low_battery: false,
    }));
}

fn with_a_probe() -> Kit {
    let mut kit = Kit::new(vec![length(true), entry("ring-c"), entry("master-c")]);
    let probe = GaugeSetup {
        kind: GaugeKind::Thermometer,
        unit: None,
        resolution: Quoted::parse("0.1", Unit::Millimetre).unwrap(),
        uncertainty: None,
        repeatability: None,
        ..gauge("probe")
    };
    kit.setup.gauges.insert(name("probe"), probe);
    kit.setup.stations[0].gauges.push(name("probe"));
    kit
}

fn written(kit: &Kit) -> Vec<String> {
    let answered = |row: &Row| {
        if let Body::Answered { text, .. } = &row.body { Some(text.clone()) } else { None }
    };
    kit.rows.iter().filter_map(answered).collect()
}

/// A length that is touched takes the temperatures of part and master by itself, once for each try.
#[test]
fn a_thermometer_writes_down_its_temperature_once_for_each_try() {
    let mut kit = with_a_probe();
    shows(&mut kit, "21.0");
    assert!(written(&kit).is_empty(), "nobody measures");
    kit.measure("ring/length").unwrap();
    shows(&mut kit, "21.1");
    assert!(written(&kit).is_empty(), "nothing is touched yet");
    touch(&mut kit, &[0]);
    shows(&mut kit, "21.2");
    assert_eq!(written(&kit), ["21.2 C", "21.2 C"], "part and master lie on one plate");
    shows(&mut kit, "21.3");
    touch(&mut kit, &[20, 20, 20, 20, 0]);
    assert_eq!(written(&kit).len(), 2);
    let verdict = kit.verdict();
    assert!(verdict.figures.to_20_c.is_some(), "{:?}", verdict.advice);
    assert!(kit.readings().iter().all(|(_, one)| one.gauge == name("plate")), "no reading of it");
    again(&mut kit, "ring/length");
    touch(&mut kit, &[0]);
    shows(&mut kit, "21.5");
    assert_eq!(written(&kit)[2..], ["21.5 C", "21.5 C"]);
}

#[test]
fn a_thermometer_fills_the_entry_on_the_screen_and_only_once() {
    let mut kit = with_a_probe();
    kit.measure("ring/ring-c").unwrap();
    shows(&mut kit, "20.4");
    shows(&mut kit, "20.5");
    assert_eq!(written(&kit), ["20.4 C"]);
    assert!(kit.open().is_empty(), "{:?}", kit.open());
}

#[test]
fn a_thermometer_that_shows_what_cannot_be_or_always_the_same_is_told() {
    let mut kit = with_a_probe();
    kit.measure("ring/ring-c").unwrap();
    shows(&mut kit, "200.0");
    assert!(written(&kit).is_empty());
    let said = "probe shows 200.0 °C: no temperature of a part that is measured. Not written down.";
    assert_eq!(kit.alerts(AlertKind::Thermometer), [said]);
    shows(&mut kit, "20.4");
    assert!(kit.alerts(AlertKind::Thermometer).is_empty());
    kit.measure("ring/length").unwrap();
    for try_no in 0..4 {
        if try_no > 0 {
            again(&mut kit, "ring/length");
        }
        touch(&mut kit, &[0, 20, 20]);
        kit.clock_us += 20 * MINUTE;
        shows(&mut kit, "20.4");
        touch(&mut kit, &[20, 20, 0]);
    }
    let said = "probe has shown 20.4 °C for 80 minutes: is it alive?";
    assert_eq!(kit.alerts(AlertKind::Thermometer), [said]);
    again(&mut kit, "ring/length");
    touch(&mut kit, &[0]);
    shows(&mut kit, "20.5");
    assert!(kit.alerts(AlertKind::Thermometer).is_empty());
}
