//! The place where a stylus rests free is never a touch: levers and plungers, with the rest stated or not, both
//! signs.

use std::fmt::Write as _;
use std::time::Duration;

use serde_json::Value;

use crate::rig::{Bench, Gauge, Make};
use crate::streams::{RING, Stretch, play_script, steps};

const PLAN: &str = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n";

/// One instrument: its name, how fast it sends, its lines in bench.toml, where it rests free, how far
/// a hand lifts it (0: it comes off onto its rest), and its sign.
struct Instrument {
    name: &'static str,
    hertz: u64,
    lines: &'static str,
    free: i64,
    lift: i64,
    sign: i64,
}

const NONE: [&str; 0] = [];

/// Rests are in steps of 0.00001 in as the bench reads them; the face lies about 0.
const INSTRUMENTS: [Instrument; 6] = [
    // A lever whose free stop lies 0.008 in below the face, told of.
    Instrument {
        name: "lever",
        hertz: 10,
        lines: "rest = \"-0.0080 in\"",
        free: -800,
        lift: 0,
        sign: 1,
    },
    Instrument {
        name: "fast-lever",
        hertz: 30,
        lines: "rest = \"-0.0080 in\"",
        free: -800,
        lift: 0,
        sign: 1,
    },
    // The same turned round: it rests above the face.
    Instrument {
        name: "turned",
        hertz: 10,
        lines: "rest = \"0.0080 in\"",
        free: 800,
        lift: 0,
        sign: 1,
    },
    // A plunger at its lower stop, lifted by a trembling hand.
    Instrument { name: "plunger", hertz: 30, lines: "", free: -1000, lift: 500, sign: 1 },
    // One that counts down, with its sign turned by the bench.
    Instrument { name: "down", hertz: 10, lines: "sign = \"-\"", free: -1000, lift: 0, sign: -1 },
    Instrument {
        name: "down-lever",
        hertz: 30,
        lines: "sign = \"-\"\nrest = \"-0.0080 in\"",
        free: -800,
        lift: 0,
        sign: -1,
    },
];

/// A ring measured with an instrument, made up: it rests free, comes onto the face for each touch and
/// off again, slides once, is knocked once, and rests free at the end.
fn ring(instrument: &Instrument) -> Vec<Stretch> {
    let Instrument { free, lift, .. } = *instrument;
    let still = |ms, at| Stretch { ms, from: at, to: at, tremor: 1 };
    let go = |ms, from, to| Stretch { ms, from, to, tremor: 0 };
    let mut script = vec![Stretch { ms: 2500, from: free, to: free, tremor: 0 }];
    let mut here = free;
    for (touch, height) in RING.into_iter().enumerate() {
        let away = if lift > 0 && touch > 0 { here + lift } else { free };
        let tremor = if away == free { 0 } else { 40 };
        script.push(go(250, here, away));
        script.push(Stretch { ms: 700, from: away, to: away, tremor });
        script.push(go(250, away, height));
        script.push(still(1700, height));
        if touch == 3 {
            script.push(go(500, height, height + 12));
            script.push(still(1200, height + 12));
        }
        if touch == 5 {
            script.push(Stretch { ms: 60, from: height + 600, to: height + 600, tremor: 0 });
            script.push(still(800, height));
        }
        here = height;
    }
    script.push(go(250, here, free));
    script.push(Stretch { ms: 3000, from: free, to: free, tremor: 0 });
    script
}

fn bench_of(instruments: &[Instrument]) -> (Bench, Vec<Gauge>) {
    let mut more = String::new();
    let mut plan = PLAN.to_owned();
    for Instrument { name, lines, .. } in instruments {
        write!(
            more,
            "[[gauge]]\nname = \"{name}\"\nkind = \"indicator\"\nport = \"{{dir}}/{name}\"\n\
             profile = \"signed-decimal\"\nunit = \"in\"\nresolution = \"0.00001 in\"\n\
             capture = \"settle\"\ntravel = [\"-0.010 in\", \"0.010 in\"]\n{lines}\n"
        )
        .unwrap();
        write!(
            plan,
            "[[part.check]]\nname = \"by-{name}\"\nmeasures = \"parallelism\"\ngauge = \"{name}\"\n\
             setup = \"plate\"\nmoves = \"ring\"\npositions = 8\nradius = \"1.5 in\"\n\
             tolerance = \"0.002 in\"\n"
        )
        .unwrap();
    }
    more += "[[station]]\nname = \"plate\"\ngauges = [\"plate\"]\n";
    for Instrument { name, .. } in instruments {
        write!(more, "[[station]]\nname = \"at-{name}\"\ngauges = [\"{name}\"]\n").unwrap();
    }
    let gauge = "unit = \"in\"\nresolution = \"0.00001 in\"\n";
    let mut bench = Bench::new(&Make { gauge, more: &more, plan: &plan });
    let lines = instruments.iter().map(|one| Gauge::plugged(bench.path(one.name))).collect();
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held", "--station", "plate"]);
    for Instrument { name, .. } in instruments {
        let station = format!("at-{name}");
        bench.ok(&["job", "use", "s1", "--station", &station]);
        bench.ok(&["measure", &format!("ring/by-{name}"), "--station", &station]);
    }
    (bench, lines)
}

#[test]
fn a_ring_is_nine_touches_wherever_the_stylus_rests_free() {
    let (mut bench, lines) = bench_of(&INSTRUMENTS);
    let sent: Vec<Vec<String>> = std::thread::scope(|scope| {
        let play =
            |(one, line): (&Instrument, &Gauge)| play_script(line, one.hertz, &ring(one), one.sign);
        let threads: Vec<_> =
            INSTRUMENTS.iter().zip(&lines).map(|pair| scope.spawn(move || play(pair))).collect();
        threads.into_iter().map(|one| one.join().unwrap()).collect()
    });
    for (Instrument { name, hertz, .. }, sent) in INSTRUMENTS.iter().zip(sent) {
        let count = sent.len() as u64;
        bench.until("all samples", || bench.gauge(name)["frames"] == count);
        let readings = bench.lines(&["readings", "s1", "--check", &format!("by-{name}")]);
        let heights: Vec<i64> = readings.iter().map(steps).collect();
        assert_eq!(readings.len(), 9, "{name} at {hertz} Hz: {heights:?}");
        for (height, wanted) in heights.iter().zip(RING) {
            assert!((height - wanted).abs() <= 1, "{name} at {hertz} Hz: {heights:?}");
        }
        let status = bench.gauge(name);
        assert_eq!((&status["taken"], &status["idle"]), (&9.into(), &(count - 9).into()));
    }
    // At the stop and at its rest is neither an alert nor a suspect.
    let kinds: Vec<Value> = bench.lines(&["alerts", "--all"]);
    assert!(kinds.iter().all(|line| line["kind"] != "end-of-travel"), "{kinds:?}");
    bench.balanced();
    bench.ok(&["verify"]);
    bench.stop();
}

/// What the station's line of the status says is waited for.
fn waits(bench: &Bench) -> String {
    let status = bench.heard().unwrap();
    let stations = status["stations"].as_array().unwrap();
    let at = stations.iter().find(|one| one["name"] == "at-lever").unwrap();
    at["waits"].as_str().unwrap_or("").to_owned()
}

#[test]
fn a_lever_that_tells_nothing_of_its_rest_is_asked_about_and_learned() {
    let silent = [Instrument { lines: "", ..INSTRUMENTS[0] }];
    let (mut bench, lines) = bench_of(&silent);
    let line = &lines[0];
    let still = |ms, at| {
        play_script(line, 10, &[Stretch { ms, from: at, to: at, tremor: 0 }], 1);
    };
    let taken = |wanted: &[&str]| {
        let readings = bench.readings("s1");
        let sent: Vec<&str> = readings.iter().map(|one| one["as_sent"].as_str().unwrap()).collect();
        assert_eq!(sent, wanted);
    };
    still(1500, 0);
    assert_eq!(waits(&bench), "same-spot");
    still(1500, -800);
    still(1500, 4);
    assert_eq!(waits(&bench), "unsure", "the part or the air?");
    taken(&NONE);
    let said = bench.run(&["status"]);
    let said = String::from_utf8(said.stdout).unwrap();
    assert!(said.contains("PART OR AIR?"), "{said}");
    // A tap says that this is the part.
    bench.ok(&["take", "--station", "at-lever"]);
    for height in [13, 25, 34] {
        still(1200, -800);
        still(1500, height);
    }
    taken(&["+0.00004", "+0.00013", "+0.00025", "+0.00034"]);
    // Taken back: the spot under the stylus is not taken before the next lift.
    bench.ok(&["void", "--station", "at-lever"]);
    still(2500, 34);
    taken(&["+0.00004", "+0.00013", "+0.00025", "+0.00034"]);
    assert_eq!(waits(&bench), "same-spot");
    // Begun again, it is known where it rests.
    bench.ok(&["remeasure", "again", "--station", "at-lever"]);
    still(1500, -800);
    assert_eq!(waits(&bench), "in-the-air");
    let said = bench.refused(2, &["take", "--station", "at-lever"]);
    assert!(said.contains("where the stylus rests free"), "{said}");
    still(1500, 6);
    taken(&["+0.00004", "+0.00013", "+0.00025", "+0.00034", "+0.00006"]);
    still(400, -400);
    assert_eq!(waits(&bench), "off-the-edge");
    std::thread::sleep(Duration::from_millis(50));
    bench.balanced();
    bench.stop();
}

#[test]
fn a_stream_has_to_say_how_far_it_reaches() {
    let gauge = "unit = \"in\"\nresolution = \"0.00001 in\"\ncapture = \"settle\"\n";
    let bench = Bench::new(&Make { gauge, more: "", plan: PLAN });
    let checked = bench.run(&["config", "check"]);
    assert_eq!(checked.status.code(), Some(2));
    let said = String::from_utf8(checked.stdout).unwrap();
    assert!(said.contains("does not say its travel"), "{said}");
    assert!(said.contains("write travel = "), "{said}");
}

/// Before the first touch, a stylus hanging at its free stop is knocked about: off for longer than a
/// lift and back, more than once, and never still elsewhere. A face under a trembling hand reads the
/// same, so only a stated rest tells the one from the other.
#[test]
fn a_stylus_that_is_knocked_about_at_its_free_stop_touches_nothing_where_its_rest_is_stated() {
    let knocked = |free: i64| {
        let still = || Stretch { ms: 1500, from: free, to: free, tremor: 0 };
        let knock = || Stretch { ms: 600, from: free + 400, to: free + 500, tremor: 60 };
        vec![still(), knock(), still(), knock(), still(), knock(), still()]
    };
    let face = |free: i64| {
        let still = |at| Stretch { ms: 1500, from: at, to: at, tremor: 0 };
        vec![still(4), still(free), still(12)]
    };
    let told = &INSTRUMENTS[1];
    let (mut bench, lines) = bench_of(std::slice::from_ref(told));
    let findings = bench.ok(&["config", "check"]);
    assert!(!findings.contains("rests free"), "{findings}");
    let mut script = knocked(told.free);
    script.extend(face(told.free));
    let sent = play_script(&lines[0], told.hertz, &script, told.sign).len() as u64;
    bench.until("all samples", || bench.gauge(told.name)["frames"] == sent);
    let heights: Vec<i64> = bench.readings("s1").iter().map(steps).collect();
    assert_eq!(heights, [4, 12]);
    bench.stop();

    // Not stated: the check of the file says what can happen, where, and what to write.
    let silent = Instrument { lines: "", ..INSTRUMENTS[1] };
    let (mut bench, lines) = bench_of(std::slice::from_ref(&silent));
    let findings = bench.ok(&["config", "check"]);
    let asked = findings.lines().find(|line| line.contains("rests free")).unwrap();
    assert!(asked.contains("warning") && asked.contains("in the air"), "{asked}");
    assert!(asked.contains("rest = \"-0.0080 in\""), "{asked}");
    // A person who taps the first touch is safe: from then on the level is known.
    play_script(&lines[0], silent.hertz, &face(silent.free)[..1], silent.sign);
    bench.ok(&["take", "--station", "at-fast-lever"]);
    play_script(&lines[0], silent.hertz, &knocked(silent.free), silent.sign);
    play_script(&lines[0], silent.hertz, &face(silent.free)[2..], silent.sign);
    bench.until("both touches", || bench.readings("s1").len() >= 2);
    let heights: Vec<i64> = bench.readings("s1").iter().map(steps).collect();
    assert_eq!(heights, [4, 12]);
    bench.stop();
}
