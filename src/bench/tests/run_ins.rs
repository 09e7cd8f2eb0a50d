//! Run-ins as a person and thermometers tell of them: steps, temperatures, calls, restarts, loggers' files.
//! All times and temperatures are made up; each expected one was worked out by hand.

use crate::event::{Command, Event, Frame, RunInAsked};
use crate::fact::row::{AlertKind, AttemptReason, Body, SpeedStep, Temperature};
use crate::plan::run_in::{Course, Place, RunIn, STANDS, Speed};
use crate::plan::{Check, Holding, Part, PartKind};
use crate::reply::{Done, Refusal};
use crate::setup::{GaugeKind, GaugeSetup};
use crate::state::Logged;
use crate::tests::files::{dropped, file, refused};
use crate::tests::kit::{Kit, face, gauge, name};
use gauge::FileRow;
use judgement::{Limits, Reason, Word};
use proptest::prelude::*;
use quantity::{Figure, Length, Other, Quoted, Stamp, Unit, Wall};
use std::sync::Arc;

const MINUTE: u64 = 60_000;

fn celsius(text: &str) -> Length {
    Length::parse(text, Unit::Millimetre).unwrap()
}

/// Two steps of 2 minutes; `front` is sent, `rear` and the room are keyed in; at most 15 °C above the room.
fn run_in() -> Course {
    let place =
        |of: &str, by: Option<&str>| Place { name: of.to_owned(), thermometer: by.map(name) };
    Course {
        steps: vec![Speed { rpm: 1000, ms: 2 * MINUTE }, Speed { rpm: 3000, ms: 2 * MINUTE }],
        places: vec![place("front", Some("probe")), place("rear", None), place("room", None)],
        max: Some(celsius("60")),
        rate: Some(celsius("2")),
        steady: None,
        ceiling: celsius("120"),
        gap_ms: None,
        frozen_ms: 10 * MINUTE,
        u: Some(celsius("0.3")),
    }
}

fn check(called: &str, of: Course) -> Check {
    Check {
        measures: RunIn(of).into(),
        gauge: None,
        setup: Holding::Plate,
        positions: 0,
        radii: Vec::new(),
        limits: Some(Limits::Max(celsius("15"))),
        unit: Unit::Other(Other::CELSIUS),
        ..face(called)
    }
}

fn kit_of(checks: Vec<Check>) -> Kit {
    let mut kit =
        Kit::of(vec![Part { name: name("spindle"), kind: PartKind::Shaft, checks }], Vec::new());
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

fn kit() -> Kit {
    kit_of(vec![check("run-in", run_in())])
}

/// A kit whose spindle runs; minutes are counted from then on.
struct Running {
    kit: Kit,
    began_us: u64,
}

impl Running {
    fn new(mut kit: Kit) -> Self {
        tell(&mut kit, RunInAsked::Start, None).unwrap();
        let began_us = kit.clock_us;
        Self { kit, began_us }
    }

    /// The next event happens so long after the first step began.
    fn at(&mut self, seconds: u64) -> &mut Kit {
        self.kit.clock_us = self.began_us + seconds * 1_000_000 - 1_000_000;
        &mut self.kit
    }

    fn logged(&self) -> Logged {
        let job = self.kit.job();
        job.attempts.values().next_back().unwrap().log.clone().unwrap()
    }
}

fn tell(kit: &mut Kit, asked: RunInAsked, target: Option<&str>) -> Result<Done, Refusal> {
    kit.ask(Command::RunIn { asked, target: target.map(str::to_owned) })
}

fn record(kit: &mut Kit, value: &str) -> Result<Done, Refusal> {
    kit.ask(Command::Record { target: "spindle/run-in".to_owned(), value: value.to_owned() })
}

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

/// What is kept: place, seconds after the first step, and the value as it was written.
fn kept(kit: &Kit) -> Vec<(u16, u64, String)> {
    let one = |row: &crate::Row| {
        let Body::Temperature(Temperature { place, after_ms, value, .. }) = &row.body else {
            return None;
        };
        let value = Figure::from(value.length).to_f64() / 1e9;
        Some((*place, after_ms / 1000, format!("{value:.1}")))
    };
    kit.rows.iter().filter_map(one).collect()
}

fn steps(kit: &Kit) -> Vec<(u16, u64, bool)> {
    let one = |row: &crate::Row| {
        let Body::SpeedStep(SpeedStep { step, after_ms, by_plan, .. }) = &row.body else {
            return None;
        };
        Some((*step, after_ms / 1000, *by_plan))
    };
    kit.rows.iter().filter_map(one).collect()
}

fn said(done: Done) -> String {
    let Done::Answered { text, .. } = done else { panic!("{done:?}") };
    text
}

/// A refusal as a whole; nothing was written.
#[track_caller]
fn refusal(kit: &mut Kit, ask: impl FnOnce(&mut Kit) -> Result<Done, Refusal>) -> String {
    let before = kit.rows.len();
    let refusal = ask(kit).unwrap_err();
    assert_eq!(kit.rows.len(), before, "a refused thing leaves nothing behind");
    assert_eq!(refusal.exit, 2);
    format!("{}; {}", refusal.text, refusal.hint.unwrap_or_default())
}

#[test]
fn a_run_in_goes_from_step_to_step_and_ends_with_its_verdict() {
    let mut kit = kit();
    let begun = said(tell(&mut kit, RunInAsked::Start, None).unwrap());
    assert!(begun.starts_with("step 1 of 2: 1000 rpm for 2 min. Guards on"), "{begun}");
    let mut run = Running { began_us: kit.clock_us, kit };
    record(run.at(1), "room=20.0 front=20.0 rear=20.0").unwrap();
    shows(run.at(60), "21.0");
    let next = said(tell(run.at(120), RunInAsked::Step, None).unwrap());
    assert!(next.starts_with("step 2 of 2: 3000 rpm for 2 min."), "{next}");
    shows(run.at(180), "22.5");
    let last = refusal(run.at(200), |kit| tell(kit, RunInAsked::Step, None));
    assert_eq!(
        last,
        "spindle/run-in is at its last step; stop the spindle by hand, then say so: `tenths run-in end`"
    );
    record(run.at(239), "rear=23.0").unwrap();
    let ended = said(tell(run.at(240), RunInAsked::End, None).unwrap());
    assert!(ended.starts_with("ended after 4 min."), "{ended}");
    assert_eq!(steps(&run.kit), [(0, 0, false), (1, 120, false), (STANDS, 240, false)]);
    let verdict = run.kit.verdict();
    // The rear at 23 with the room at 20; U = 2·√(2·0.3²) = 0.85, so 3 + 0.85 is below 15.
    assert_eq!(verdict.value, Some(Figure::from(celsius("3"))));
    assert_eq!((verdict.word, &verdict.reasons[..]), (Word::Conforms, &[][..]));
    let found = verdict.figures.run_in.clone().unwrap();
    assert_eq!((found.place.as_str(), found.readings), ("rear", 6));
    let after = refusal(&mut run.kit, |kit| tell(kit, RunInAsked::End, None));
    assert!(after.starts_with("a run-in of this job is not under way"), "{after}");
}

#[test]
fn what_was_not_begun_cannot_go_on_and_what_runs_is_not_begun_twice() {
    let mut kit = kit();
    for asked in [RunInAsked::Step, RunInAsked::End] {
        let text = refusal(&mut kit, |kit| tell(kit, asked, Some("spindle/run-in")));
        assert!(text.starts_with("spindle/run-in is not under way; set the first speed"), "{text}");
    }
    let text = refusal(&mut kit, |kit| record(kit, "front=20"));
    assert!(text.contains("is not under way"), "{text}");
    let mut run = Running::new(kit);
    let text = refusal(run.at(5), |kit| tell(kit, RunInAsked::Start, None));
    assert!(text.contains("spindle/run-in runs already; `tenths run-in step`"), "{text}");
    // Thermometers are read by no other check, and a second try is a new attempt.
    tell(run.at(10), RunInAsked::End, None).unwrap();
    tell(run.at(20), RunInAsked::Start, None).unwrap();
    let job = run.kit.job();
    let reasons: Vec<AttemptReason> = job.attempts.values().map(|one| one.began.reason).collect();
    assert_eq!(reasons, [AttemptReason::First, AttemptReason::Again]);
    assert_eq!(run.logged().log.speeds.len(), 1, "its time begins anew");
}

#[test]
fn the_check_is_named_where_the_plan_has_none_or_several() {
    let mut none = kit_of(vec![face("face")]);
    let text = refusal(&mut none, |kit| tell(kit, RunInAsked::Start, None));
    assert!(text.contains("the plan of job j1 has no run-in"), "{text}");
    let text = refusal(&mut none, |kit| tell(kit, RunInAsked::Start, Some("spindle/face")));
    assert!(text.contains("spindle/face is no run-in"), "{text}");
    let mut both = kit_of(vec![check("slow", run_in()), check("fast", run_in())]);
    let text = refusal(&mut both, |kit| tell(kit, RunInAsked::Start, None));
    assert!(text.contains("has several run-ins; name the one"), "{text}");
    tell(&mut both, RunInAsked::Start, Some("spindle/slow")).unwrap();
    let text = refusal(&mut both, |kit| tell(kit, RunInAsked::Step, Some("spindle/fast")));
    assert!(text.contains("spindle/fast is not under way"), "{text}");
    tell(&mut both, RunInAsked::Start, Some("spindle/fast")).unwrap();
    // Both name the probe, and both hear it; a step is that of the one on the screen.
    shows(&mut both, "21.0");
    assert_eq!(kept(&both).len(), 2);
    tell(&mut both, RunInAsked::Step, None).unwrap();
    let running: Vec<usize> = both
        .job()
        .attempts
        .values()
        .map(|one| one.log.as_ref().unwrap().log.speeds.len())
        .collect();
    assert_eq!(running, [1, 2], "slow is at its first step, fast at its second");
}

#[test]
fn what_is_keyed_in_is_taken_as_a_whole_or_not_at_all() {
    let mut run = Running::new(kit());
    for (text, why) in [
        ("", "there is no temperature in it"),
        ("front", "\"front\" has no \"=\""),
        ("front=", "\"\" is no temperature in °C"),
        ("front=NaN", "\"NaN\" is no temperature in °C"),
        ("front=inf", "\"inf\" is no temperature in °C"),
        ("front=1e9", "is no temperature in °C"),
        ("front=--3", "is no temperature in °C"),
        ("front=99999999999999999999999999", "is no temperature in °C"),
        ("front=20 back=21", "there is no place \"back\""),
        ("Front=20", "there is no place \"Front\""),
        ("front=20 rear=121", "rear shows 121 °C: no spindle has that (the ceiling is 120 °C)"),
        ("front=20 rear=-20.1", "rear shows -20.1 °C"),
        ("front=20 rear=21 front=22", "front is there twice"),
    ] {
        let said = refusal(run.at(30), |kit| record(kit, text));
        assert!(said.contains(why) && said.contains("nothing was written"), "{text:?}: {said}");
        assert!(said.contains("the places are front, rear, room"), "{said}");
    }
    let told = said(record(run.at(31), "rear=21.5C  room=-20 front=120°C").unwrap());
    assert_eq!(told, "rear 21.5 °C, room -20 °C, front 120 °C");
    let mut found = kept(&run.kit);
    found.sort();
    let expected = [(0, "120.0"), (1, "21.5"), (2, "-20.0")];
    assert_eq!(found, expected.map(|(place, value)| (place, 31, value.to_owned())));
}

#[test]
fn a_thermometer_that_flickers_is_kept_seldom_and_a_new_highest_at_once() {
    let mut run = Running::new(kit());
    shows(run.at(1), "20.0");
    shows(run.at(2), "20.1");
    // Neither a new end, nor five seconds on.
    shows(run.at(3), "20.0");
    shows(run.at(4), "20.1");
    shows(run.at(7), "20.0");
    // The same digits, once a minute.
    for second in 8..=67 {
        shows(run.at(second), "20.0");
    }
    let found = kept(&run.kit);
    let expected = [(0, 1, "20.0"), (0, 2, "20.1"), (0, 7, "20.0"), (0, 67, "20.0")];
    assert_eq!(found, expected.map(|(place, at, value)| (place, at, value.to_owned())));
    // The first digit is kept whole, and one that is pressed twice is none.
    run.kit.event(&Event::Frame(Frame {
        gauge: name("probe"),
        value: Quoted::parse("30", Unit::Millimetre).unwrap(),
        text: "30".to_owned(),
        repeat: true,
        odd: None,
        low_battery: false,
    }));
    assert_eq!(kept(&run.kit).len(), 4);
}

#[test]
fn too_warm_and_too_fast_call_a_person_once_and_end_by_themselves() {
    let mut run = Running::new(kit());
    shows(run.at(1), "57.9");
    shows(run.at(61), "59.9");
    assert!(
        run.kit.open().is_empty(),
        "2.0 in a minute is as much as may be: {:?}",
        run.kit.open()
    );
    shows(run.at(62), "60.1");
    assert_eq!(
        run.kit.alerts(AlertKind::TooWarm),
        [
            "spindle/run-in: front is at 60.1 °C, more than 60 °C. Stop the spindle by hand and look why."
        ]
    );
    // 2.2 in 61 seconds are 2.164 in a minute, told as 2.2.
    assert_eq!(
        run.kit.alerts(AlertKind::RisingFast),
        [
            "spindle/run-in: front rises by 2.2 °C in a minute, more than 2 °C. Stop the spindle by hand and \
          look why."
        ]
    );
    shows(run.at(63), "61.0");
    assert_eq!(run.kit.alerts(AlertKind::TooWarm).len(), 1, "the first sentence stands");
    assert!(run.kit.alerts(AlertKind::TooWarm)[0].contains("60.1 °C"));
    record(run.at(70), "rear=60.1").unwrap();
    assert_eq!(run.kit.alerts(AlertKind::TooWarm).len(), 2, "one for each place");
    shows(run.at(124), "60.0");
    assert_eq!(run.kit.alerts(AlertKind::TooWarm).len(), 1, "60 is no more than 60");
    assert!(run.kit.alerts(AlertKind::RisingFast).is_empty());
    // The room calls nobody, however warm.
    record(run.at(125), "rear=50 room=99").unwrap();
    assert!(run.kit.alerts(AlertKind::TooWarm).is_empty());
}

#[test]
fn a_value_that_no_spindle_has_is_not_written_down_and_calls() {
    let mut run = Running::new(kit());
    shows(run.at(1), "120.1");
    shows(run.at(2), "-20.1");
    assert!(kept(&run.kit).is_empty());
    assert_eq!(
        run.kit.alerts(AlertKind::Thermometer),
        ["front shows 120.1 °C: no spindle has that (the ceiling is 120 °C). Not written down."]
    );
    shows(run.at(3), "120.0");
    assert!(run.kit.alerts(AlertKind::Thermometer).is_empty(), "120 is possible");
}

#[test]
fn silence_is_called_and_ends_with_the_next_reading_and_a_step_that_has_run_is_due() {
    let mut run = Running::new(kit());
    shows(run.at(1), "20.0");
    run.at(119).event(&Event::TimePassed);
    assert!(run.kit.open().is_empty());
    run.at(120).event(&Event::TimePassed);
    assert_eq!(
        run.kit.alerts(AlertKind::StepDue),
        [
            "spindle/run-in: step 1 has run its 2 min. Set 3000 rpm by hand, then say so: `tenths run-in step`."
        ]
    );
    run.at(121).event(&Event::TimePassed);
    assert!(run.kit.alerts(AlertKind::SensorLost).is_empty(), "two minutes are no gap");
    run.at(122).event(&Event::TimePassed);
    assert_eq!(
        run.kit.alerts(AlertKind::SensorLost),
        ["spindle/run-in: no temperature of front for 2 min: look at probe."]
    );
    tell(run.at(123), RunInAsked::Step, None).unwrap();
    assert!(run.kit.alerts(AlertKind::StepDue).is_empty());
    shows(run.at(124), "20.0");
    assert!(run.kit.alerts(AlertKind::SensorLost).is_empty(), "the same digits are an answer, too");
    // What is keyed in may be silent for a quarter of an hour.
    run.at(901).event(&Event::TimePassed);
    let lost = run.kit.alerts(AlertKind::SensorLost);
    let rear = "spindle/run-in: no temperature of rear for 15 min: key it in, `tenths record spindle/run-in \
                rear=31.5`.";
    assert!(lost.iter().any(|text| text == rear), "{lost:?}");
    assert!(
        run.kit.alerts(AlertKind::StepDue)[0].contains("the last step has run its 2 min. Stop the")
    );
    tell(run.at(902), RunInAsked::End, None).unwrap();
    assert!(run.kit.open().iter().all(|text| !text.contains("no temperature")), "it stands still");
}

#[test]
fn a_sensor_that_shows_the_same_although_the_speed_changed_calls_until_it_moves() {
    let quick = Course { frozen_ms: MINUTE, ..run_in() };
    let mut run = Running::new(kit_of(vec![check("run-in", quick)]));
    shows(run.at(1), "25.0");
    shows(run.at(100), "25.0");
    tell(run.at(120), RunInAsked::Step, None).unwrap();
    shows(run.at(179), "25.0");
    assert!(run.kit.alerts(AlertKind::SensorFrozen).is_empty(), "59 seconds after the change");
    shows(run.at(180), "25.0");
    let said = run.kit.alerts(AlertKind::SensorFrozen);
    assert!(
        said[0].contains("front has shown 25 °C for 3 min although the speed changed"),
        "{said:?}"
    );
    shows(run.at(190), "25.1");
    assert!(run.kit.alerts(AlertKind::SensorFrozen).is_empty());
}

/// After another boot the wall says how long it was away; a clock that was set back takes nothing away.
#[test]
fn a_run_in_goes_on_after_a_start_and_says_what_it_missed() {
    for (boot, away_s, back_s, missed) in [
        (1, 60, 0, None),
        (2, 60, 0, None),
        (1, 600, 0, Some("nothing was written down for 10 min, from 1.5 min on.")),
        (2, 600, 0, Some("nothing was written down for 10 min, from 1.5 min on.")),
        (2, 600, 10_000, None),
    ] {
        let mut run = Running::new(kit());
        shows(run.at(90), "21.0");
        let last_us = run.kit.clock_us;
        run.kit.clock_us += (away_s - 1) * 1_000_000;
        let mut at = |mono_us: u64, event: &Event| {
            let wall = i64::try_from(last_us + away_s * 1_000_000).unwrap();
            let wall = Wall::from_micros(wall - i64::from(back_s) * 1_000_000);
            let decision = run.kit.bench.decide(&run.kit.setup, Stamp { wall, mono_us }, event);
            for row in &decision.rows {
                run.kit.bench.apply(row);
            }
            run.kit.rows.extend(decision.rows);
        };
        let mono_us = if boot == 1 { last_us + away_s * 1_000_000 } else { 5_000_000 };
        at(mono_us, &Event::Started { boot });
        let rebuilt = crate::Bench::rebuilt(&run.kit.rows, run.kit.bench.last, run.kit.bench.feed);
        assert_eq!(rebuilt, run.kit.bench, "boot {boot}");
        let expected = if back_s > 0 { 90 } else { 90 + away_s };
        assert_eq!(run.logged().newest_ms, expected * 1000, "boot {boot}, back {back_s}");
        let said = run.kit.alerts(AlertKind::LogGap);
        match missed {
            None => assert!(said.is_empty(), "{said:?}"),
            Some(missed) => assert!(said[0].ends_with(missed), "{said:?}"),
        }
        // From there on it counts on by the clock that runs.
        let now = Stamp { wall: Wall::from_micros(0), mono_us: mono_us + 30_000_000 };
        assert_eq!(run.logged().after(now, boot), expected * 1000 + 30_000);
    }
}

/// A row of a logger's file: seconds after 2026-03-02, its place, and degrees.
fn logger(rows: &[(i64, Option<u32>, &str)]) -> crate::event::DroppedFile {
    let values: Vec<(Option<u32>, &str)> = rows.iter().map(|row| (row.1, row.2)).collect();
    let mut file = file("run-in", &values);
    file.gauge = name("probe");
    let mut found = (*file.rows).clone();
    found.tags[0].part = Some("spindle".to_owned());
    for (row, (second, _, value)) in found.rows.iter_mut().zip(rows) {
        row.time = Some(Wall::from_micros(second * 1_000_000));
        row.value = Quoted::parse(value, Unit::Millimetre).unwrap();
    }
    file.rows = Arc::new(found);
    file
}

#[test]
fn a_loggers_file_alone_is_a_run_in_by_the_steps_of_the_plan_whatever_the_order_of_its_places() {
    let rows = [
        (1000, Some(0), "20.0"),
        (1000, Some(1), "20.0"),
        (1000, Some(2), "20.0"),
        (1060, Some(0), "21.0"),
        (1120, Some(0), "22.0"),
        (1180, Some(0), "23.0"),
        (1240, Some(0), "24.0"),
    ];
    for turned in 0..3 {
        let mut rows = rows;
        rows[..3].rotate_left(turned);
        let mut kit = kit();
        dropped(&mut kit, logger(&rows));
        assert_eq!(steps(&kit), [(0, 0, true), (1, 120, true), (STANDS, 240, true)]);
        let verdict = kit.verdict();
        assert_eq!(verdict.value, Some(Figure::from(celsius("4"))), "{turned}");
        assert!(verdict.reasons.is_empty(), "{:?}", verdict.reasons);
        assert!(verdict.advice.iter().any(|text| text.contains("taken from the plan")));
    }
    // One second short of both steps it is under way.
    let mut kit = kit();
    let mut short = rows;
    short[6].0 = 1239;
    dropped(&mut kit, logger(&short));
    assert_eq!(steps(&kit), [(0, 0, true), (1, 120, true)]);
    assert!(kit.verdicts().is_empty());
}

#[test]
fn a_row_of_a_logger_that_cannot_be_is_refused_with_its_file() {
    let good = [(10, Some(0), "20.0"), (20, Some(2), "20.0")];
    for (row, why) in [
        ((30, Some(3), "20.0"), "there is no place 3; the room is 2"),
        ((30, Some(65_535), "20.0"), "there is no place 65535; the room is 2"),
        ((30, Some(65_536), "20.0"), "there is no place 65536; the room is 2"),
        ((30, Some(u32::MAX), "20.0"), "there is no place 4294967295; the room is 2"),
        ((9, Some(0), "20.0"), "it is from before the run-in began"),
        ((i64::MIN / 1_000_000, Some(0), "20.0"), "it is from before the run-in began"),
        ((30, Some(0), "120.1"), "front shows 120.1 °C"),
        ((30, Some(0), "-273.2"), "front shows -273.2 °C"),
    ] {
        let mut kit = kit();
        let rows: Vec<_> = good.into_iter().chain([row]).collect();
        dropped(&mut kit, logger(&rows));
        let said = refused(&kit);
        assert!(said.len() == 1 && said[0].contains(why), "{row:?}: {said:?}");
        assert!(steps(&kit).is_empty() && kept(&kit).is_empty(), "all or nothing");
    }
    let mut kit = kit();
    let mut file = logger(&good);
    let mut rows = (*file.rows).clone();
    rows.rows.iter_mut().for_each(|row: &mut FileRow| row.time = None);
    file.rows = Arc::new(rows);
    dropped(&mut kit, file);
    assert!(refused(&kit)[0].contains("needs the time of each row"), "{:?}", refused(&kit));
}

/// The clock of a logger that is ahead would carry the time of the whole log with it.
#[test]
fn a_row_from_later_than_now_does_not_move_the_clock_of_a_run_in_under_way() {
    let mut run = Running::new(kit());
    let began = i64::try_from(run.began_us / 1_000_000).unwrap();
    dropped(run.at(100), logger(&[(began + 60, Some(0), "20.0"), (began + 7200, Some(0), "21.0")]));
    let said = refused(&run.kit);
    assert!(said.len() == 1 && said[0].contains("it is from later than now"), "{said:?}");
    assert!(kept(&run.kit).is_empty());
    dropped(run.at(101), logger(&[(began + 60, Some(0), "20.0"), (began + 90, Some(0), "21.0")]));
    assert_eq!(kept(&run.kit).len(), 2, "{:?}", refused(&run.kit));
    tell(run.at(120), RunInAsked::Step, None).unwrap();
    assert_eq!(steps(&run.kit)[1], (1, 120, false));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// Everything warmer by as much, room and spindle, is the same rise and the same rows.
    #[test]
    fn a_rise_does_not_depend_on_the_temperature_of_the_shop(
        front in proptest::collection::vec(0_i32..150, 1..20),
        by in -150_i32..150,
    ) {
        let told = |by: i32| {
            let degrees = |tenths: i32| format!("{:.1}", f64::from(200 + by + tenths) / 10.0);
            let calm = Course { max: None, ..run_in() };
            let mut run = Running::new(kit_of(vec![check("run-in", calm)]));
            record(run.at(1), &format!("room={} rear={}", degrees(0), degrees(0))).unwrap();
            for (second, tenths) in (2..).step_by(9).zip(&front) {
                shows(run.at(second), &degrees(*tenths));
            }
            tell(run.at(400), RunInAsked::End, None).unwrap();
            let at: Vec<(u16, u64)> = kept(&run.kit).into_iter().map(|one| (one.0, one.1)).collect();
            let verdict = run.kit.verdict();
            (verdict.value, verdict.reasons.clone(), at, run.kit.rows.len())
        };
        let (value, reasons, at, rows) = told(0);
        let most = front.iter().copied().max().unwrap_or(0);
        prop_assert_eq!(value, Some(Figure::from(celsius(&format!("{:.1}", f64::from(most) / 10.0)))));
        prop_assert!(reasons.contains(&Reason::CutShort));
        prop_assert_eq!(told(by), (value, reasons, at, rows));
    }

    /// A moment of the log is never before one that is written down, whatever the clocks do.
    #[test]
    fn time_in_a_log_never_goes_back(
        clocks in proptest::collection::vec((any::<i64>(), 0_u64..1 << 62, 0_u64..3), 1..12),
    ) {
        let first = clocks[0];
        let stamp = |(wall, mono_us, _): (i64, u64, u64)| Stamp { wall: Wall::from_micros(wall), mono_us };
        let step = |step, after_ms, boot| SpeedStep {
            attempt: crate::fact::seq::Seq(1),
            step,
            after_ms,
            boot,
            by_plan: false,
        };
        let mut logged = Logged::began(stamp(first), &step(0, 0, first.2));
        let mut before = 0;
        for (number, clock) in (1..).zip(&clocks[1..]) {
            let after = logged.after(stamp(*clock), clock.2);
            prop_assert!(after >= before);
            logged.step(stamp(*clock), &step(number, after, clock.2));
            prop_assert_eq!(logged.after(stamp(*clock), clock.2), after, "the same moment again");
            prop_assert_eq!(logged.newest_ms, after);
            before = after;
        }
    }
}

#[test]
fn what_nobody_ran_leaves_nothing_to_be_judged_by() {
    let mut run = Running::new(kit());
    tell(run.at(240), RunInAsked::End, None).unwrap();
    let verdict = run.kit.verdict();
    assert_eq!((verdict.value, verdict.word), (None, Word::Undecided));
    for reason in [Reason::RoomUnknown, Reason::CutShort] {
        assert!(verdict.reasons.contains(&reason), "{reason:?} in {:?}", verdict.reasons);
    }
}
