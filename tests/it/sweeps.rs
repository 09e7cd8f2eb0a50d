//! A turn that is swept, through the real service: a stream, taps at its marks, one verdict.

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::{Duration, Instant};

use wire::code::{Action, Code};

use crate::hands::Keys;
use crate::rig::{Bench, Ends, Gauge, Make, Wire};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nrepeatability = \"0.000003 in\"\n\
                     uncertainty = \"0.000005 in\"\ncapture = \"sweep\"\ntravel = [\"-0.010 in\", \"0.010 in\"]\n";

const PLAN: &str = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"nose\"\nkind = \"shaft\"\n\
    [[part.check]]\nname = \"pilot\"\nmeasures = \"runout\"\ngauge = \"plate\"\nreads = \"sweep\"\n\
    touch = \"outside\"\ntolerance = \"0.0002 in\"\nstand = \"0.000005 in\"\n\
    [[part.check]]\nname = \"face\"\nmeasures = \"parallelism\"\ngauge = \"plate\"\nsetup = \"plate\"\n\
    moves = \"ring\"\npositions = 8\nradius = \"1.5 in\"\ntolerance = \"0.0001 in\"\n";

/// Turns a shaft that runs out while `body` taps its marks: 50 samples a second, the metal going
/// round as `turned` says (thousandths of a degree), 0.00012 in high at 130 degrees.
fn while_turning<T>(bench: &Bench, turned: &AtomicU64, body: impl FnOnce() -> T) -> T {
    let over = AtomicBool::new(false);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            while !over.load(Ordering::Relaxed) {
                let thousandths = u32::try_from(turned.load(Ordering::Relaxed)).unwrap();
                let angle = f64::from(thousandths) / 1000.0;
                let steps = 6.0 * (angle - 130.0).to_radians().cos();
                bench.plate.send(&format!("{:+.5}\r", steps.round() / 1e5));
                std::thread::sleep(Duration::from_millis(20));
            }
        });
        let _ends = Ends(&over);
        body()
    })
}

#[test]
#[should_panic(expected = "a failure while it turns")]
fn a_failure_while_it_turns_is_told_and_holds_nothing_up() {
    let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    while_turning(&bench, &AtomicU64::new(0), || panic!("a failure while it turns"));
}

/// Turns from one angle to another in a time, degrees and milliseconds.
fn turn(turned: &AtomicU64, (from, to): (u64, u64), ms: u64) {
    let start = Instant::now();
    loop {
        let gone = u64::try_from(start.elapsed().as_millis()).unwrap().min(ms);
        turned.store(from * 1000 + (to - from) * 1000 * gone / ms, Ordering::Relaxed);
        if gone == ms {
            return;
        }
        std::thread::sleep(Duration::from_millis(4));
    }
}

#[test]
fn a_turn_tapped_at_its_quarters_is_one_verdict_with_a_high_side() {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    bench.start();
    bench.until_gauge("plate", "live");
    bench.ok(&["job", "open", "s1", "--plan", "held", "--serial", "SN-7"]);
    let said = bench.ok(&["measure", "nose/pilot"]);
    assert!(said.contains("Tap at mark 0 to begin the sweep."), "{said}");
    let silent = bench.refused(2, &["take"]);
    assert!(silent.contains("has sent nothing in the last second"), "{silent}");
    let turned = AtomicU64::new(0);
    let mut stands = String::new();
    let said = while_turning(&bench, &turned, || {
        std::thread::sleep(Duration::from_millis(300));
        let dropped = (bench.ok(&["take"]), bench.ok(&["void"]));
        assert!(dropped.1.contains("The sweep was dropped"), "{dropped:?}");
        let mut said = vec![bench.ok(&["take"])];
        // A hand that is far from even; it waits at each mark, as the tap takes a moment here.
        for (quarter, ms) in [(0, 900), (1, 2000), (2, 1200), (3, 1600)] {
            if quarter == 2 {
                stands = String::from_utf8(bench.run(&["status"]).stdout).unwrap();
            }
            turn(&turned, (quarter * 90, quarter * 90 + 90), ms);
            said.push(bench.ok(&["take"]));
        }
        said
    });
    assert!(stands.contains("being swept: tap at mark 270 next"), "{stands}");
    assert!(said[0].contains("Tap at mark 90."), "{said:?}");
    assert!(said[3].contains("it ends the turn"), "{said:?}");
    assert!(said[4].contains("samples of one turn taken. Done."), "{said:?}");
    let verdict = bench.verdict("s1", 1);
    assert_eq!(verdict["verdict"], "conforms", "{verdict}");
    let value: f64 = verdict["value"].as_str().unwrap().parse().unwrap();
    assert!((0.000_105..=0.000_125).contains(&value), "{verdict}");
    let high = verdict["figures"]["high_side_deg"].as_f64().unwrap();
    assert!((high - 130.0).abs() < 15.0, "{verdict}");
    let readings = bench.readings("s1");
    let samples = verdict["taken"].as_u64().unwrap();
    assert_eq!(
        (readings.len() as u64, &readings.last().unwrap()["state"]),
        (samples + 1, &"closure".into())
    );
    let angles: Vec<f64> = readings.iter().filter_map(|one| one["angle_deg"].as_f64()).collect();
    assert!(angles.windows(2).take(readings.len() - 2).all(|two| two[0] <= two[1]), "{angles:?}");
    let times: Vec<&str> = readings.iter().map(|one| one["at"].as_str().unwrap()).collect();
    assert!(times.windows(2).all(|two| two[0] <= two[1]) && times[0] < times[times.len() - 1]);
    bench.balanced();
    // Another check with the same gauge is touched, not swept.
    let said = bench.ok(&["measure", "nose/face"]);
    assert!(said.contains("Touch position 0 of 8 next."), "{said}");
    bench.kill();
    bench.start();
    assert_eq!(bench.readings("s1"), readings);
    bench.ok(&["verify"]);
    let report = bench.path("report.html");
    bench.ok(&["report", "s1", "--out", report.to_str().unwrap()]);
    let page = std::fs::read_to_string(&report).unwrap();
    assert!(page.contains("4 marks tapped") && page.contains("one turn, deviations magnified"));
    // Nobody reads samples but whoever asks for them.
    let listed = "each behind its angle";
    assert!(page.contains("samples; the record lists them") && !page.contains(listed));
    assert!(bench.ok(&["report", "s1", "--samples"]).contains(listed));
    bench.stop();
}

/// What the screen of the only station says is next.
fn next_words(bench: &Bench) -> String {
    let mut wire = Wire::to(&bench.state.join("tenths.sock")).unwrap();
    let view = wire.ask(r#"{"request":"view"}"#).unwrap();
    view["check"]["next_words"].as_str().unwrap().to_owned()
}

#[test]
fn a_foot_and_a_scanner_tap_the_marks_and_drop_a_turn() {
    let station = "[[station]]\nname = \"one\"\ngauges = [\"plate\"]\n\
                   pedal = \"keys:{dir}/pedal\"\nscanner = \"{dir}/scanner\"\n";
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: station, plan: PLAN });
    let (pedal, scanner) =
        (Keys::plugged(&bench.path("pedal")), Gauge::plugged(bench.path("scanner")));
    bench.start();
    bench.until_gauge("plate", "live");
    bench.until("both are read", || bench.lines(&["alerts", "--state", "open"]).is_empty());
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "nose/pilot"]);
    let turned = AtomicU64::new(0);
    let foot = |held_ms: u64| {
        pedal.foot(true);
        std::thread::sleep(Duration::from_millis(held_ms));
        pedal.foot(false);
    };
    let scan = |action| scanner.send(&format!("{}\r", Code::Action(action)));
    let says = |words: &str| bench.until(words, || next_words(&bench) == words);
    while_turning(&bench, &turned, || {
        std::thread::sleep(Duration::from_millis(400));
        foot(120);
        says("TAP 90");
        foot(1200);
        says("TAP 0");
        scan(Action::Take);
        says("TAP 90");
        scan(Action::Void);
        says("TAP 0");
        assert!(bench.readings("s1").is_empty(), "what was dropped is not stored");
        foot(120);
        for (quarter, words) in [(0, "TAP 180"), (1, "TAP 270"), (2, "TAP 0"), (3, "DONE")] {
            turn(&turned, (quarter * 90, quarter * 90 + 90), 900);
            if quarter % 2 == 0 {
                foot(120);
            } else {
                scan(Action::Take);
            }
            says(words);
        }
    });
    let verdict = bench.verdict("s1", 1);
    assert_eq!(verdict["verdict"], "conforms", "{verdict}");
    assert!(bench.lines(&["alerts", "--state", "open"]).is_empty(), "nothing is left to tell");
    bench.balanced();
    bench.stop();
}

#[test]
fn a_gauge_that_sends_single_readings_cannot_sweep() {
    let gauge = "unit = \"in\"\nresolution = \"0.00001 in\"\n";
    let bench = Bench::new(&Make { gauge, more: "", plan: PLAN });
    let checked = bench.run(&["config", "check"]);
    assert_eq!(checked.status.code(), Some(2));
    let said = String::from_utf8(checked.stdout).unwrap();
    assert!(
        said.contains("the turn of pilot is swept, and gauge \"plate\" cannot do that"),
        "{said}"
    );
    assert!(said.contains("capture = \"sweep\""), "{said}");
}

/// A bench with the pilot of a nose on its screen.
fn at_the_pilot() -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    bench.start();
    bench.until_gauge("plate", "live");
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "nose/pilot"]);
    bench
}

#[test]
fn a_turn_lost_in_a_power_cut_is_said_and_begins_again() {
    let mut bench = at_the_pilot();
    let turned = AtomicU64::new(0);
    while_turning(&bench, &turned, || {
        std::thread::sleep(Duration::from_millis(300));
        bench.ok(&["take"]);
        turn(&turned, (0, 90), 600);
        bench.ok(&["take"]);
    });
    bench.kill();
    bench.start();
    bench.until_gauge("plate", "live");
    let alerts = bench.lines(&["alerts", "--state", "open"]);
    let lost = alerts.iter().find(|alert| alert["kind"] == "turn-lost").unwrap();
    assert_eq!(lost["level"], "interrupt", "it is sounded: {lost}");
    let text = lost["text"].as_str().unwrap();
    assert!(text.contains("nose/pilot: the turn under way is lost"), "{text}");
    assert!(text.ends_with("Begin it again: tap at mark 0."), "{text}");
    while_turning(&bench, &turned, || {
        std::thread::sleep(Duration::from_millis(300));
        let said = bench.ok(&["take"]);
        assert!(said.contains("Tap at mark 90."), "it begins at mark 0: {said}");
        for quarter in 0..4 {
            turn(&turned, (quarter * 90, quarter * 90 + 90), 900);
            bench.ok(&["take"]);
        }
    });
    let open = bench.ok(&["alerts", "--state", "open"]);
    assert!(!open.contains("turn under way"), "{open}");
    // A turn that was dropped by hand is not lost.
    bench.ok(&["remeasure", "again", "nose/pilot"]);
    while_turning(&bench, &turned, || {
        std::thread::sleep(Duration::from_millis(300));
        bench.ok(&["take"]);
        bench.ok(&["void"]);
    });
    bench.kill();
    bench.start();
    let open = bench.ok(&["alerts", "--state", "open"]);
    assert!(!open.contains("turn under way"), "{open}");
    bench.ok(&["verify"]);
    bench.stop();
}

#[test]
fn standing_still_in_one_quarter_widens_the_high_side() {
    let bench = at_the_pilot();
    let turned = AtomicU64::new(0);
    while_turning(&bench, &turned, || {
        std::thread::sleep(Duration::from_millis(300));
        bench.ok(&["take"]);
        for (quarter, ms) in [(0, 1000), (1, 1000), (2, 1000), (3, 1000)] {
            turn(&turned, (quarter * 90, quarter * 90 + 90), ms);
            if quarter == 2 {
                std::thread::sleep(Duration::from_secs(3));
            }
            bench.ok(&["take"]);
        }
    });
    let verdict = bench.verdict("s1", 1);
    let figures = &verdict["figures"];
    let high = figures["high_side_deg"].as_f64().unwrap();
    let known = figures["high_side_u_deg"].as_f64().unwrap();
    let off = (high - 130.0).abs();
    assert!(off <= known, "{off} beyond {known}: {verdict}");
    assert!(known > 10.0, "{verdict}");
    let advice = verdict["advice"].to_string();
    assert!(
        advice.contains("From 180 to 270 it took") && advice.contains("stood still or turned back"),
        "{advice}"
    );
}
