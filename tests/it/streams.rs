//! Hands free: streams that settle, and gauges that are asked.

use std::fs;
use std::time::{Duration, Instant};

use serde_json::Value;

use crate::rig::{Bench, Dice, Gauge, Make};

/// The plate gauge and two more, each at a station of its own and each a stream.
const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\ncapture = \"settle\"\n\
                     travel = [\"-0.050 in\", \"0.050 in\"]\n";

const STATIONS: &str = r#"
[[gauge]]
name = "slow"
kind = "indicator"
port = "{dir}/slow"
profile = "signed-decimal"
unit = "in"
resolution = "0.00001 in"
capture = "settle"
travel = ["-0.050 in", "0.050 in"]
[[gauge]]
name = "fast"
kind = "indicator"
port = "{dir}/fast"
profile = "signed-decimal"
unit = "in"
resolution = "0.00001 in"
capture = "settle"
travel = ["-0.050 in", "0.050 in"]
[[station]]
name = "one"
gauges = ["plate"]
[[station]]
name = "two"
gauges = ["slow"]
[[station]]
name = "three"
gauges = ["fast"]
"#;

fn plan(gauges: &[&str]) -> String {
    let check = |gauge: &&str| {
        format!(
            "[[part.check]]\nname = \"by-{gauge}\"\nmeasures = \"parallelism\"\ngauge = \"{gauge}\"\n\
             setup = \"plate\"\nmoves = \"ring\"\npositions = 8\nradius = \"1.5 in\"\n\
             tolerance = \"0.002 in\"\n"
        )
    };
    let head = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n";
    head.to_owned() + &gauges.iter().map(check).collect::<String>()
}

/// Heights of the ring in steps of 0.00001 in, position 0 to 7 and 0 again.
pub(crate) const RING: [i64; 9] = [4, 13, 25, 34, 31, 22, 11, 2, 4];

/// A stretch of what a hand does: so long, from one height to another, trembling so much.
pub(crate) struct Stretch {
    pub(crate) ms: u64,
    pub(crate) from: i64,
    pub(crate) to: i64,
    pub(crate) tremor: u64,
}

/// A ring measured by hand, made up: the stylus rests on the part, is lifted for each touch and
/// trembles in the air, once it is held up by its lever for five seconds; it lands and stands; it is
/// slid along and back, and the bench is knocked.
fn hand() -> Vec<Stretch> {
    let mut script = vec![Stretch { ms: 1000, from: 60, to: 60, tremor: 1 }];
    let mut here = 60;
    let go = |script: &mut Vec<Stretch>, ms, from, to, tremor| {
        script.push(Stretch { ms, from, to, tremor });
    };
    for (touch, height) in RING.into_iter().enumerate() {
        let (held_ms, tremor) = if touch == 2 { (5000, 0) } else { (350, 60) };
        go(&mut script, 250, here, here + 3000, 0);
        go(&mut script, held_ms, here + 3000, here + 3000, tremor);
        go(&mut script, 200, here + 3000, height, 0);
        go(&mut script, 1800, height, height, 1);
        if touch == 1 {
            go(&mut script, 60, height + 1500, height + 1500, 0);
            go(&mut script, 500, height, height, 1);
        }
        if touch == 3 {
            go(&mut script, 500, height, height + 12, 0);
            go(&mut script, 1300, height + 12, height + 12, 0);
        }
        here = height;
    }
    go(&mut script, 300, here, here + 3000, 0);
    go(&mut script, 1000, here + 3000, here + 3000, 5);
    script
}

/// Where the stylus is at a time of the script; nothing after its end.
pub(crate) fn height_at(script: &[Stretch], ms: u64, dice: &mut Dice) -> Option<i64> {
    let mut begin = 0;
    for stretch in script {
        if ms < begin + stretch.ms {
            let (gone, all) =
                (i64::try_from(ms - begin).unwrap(), i64::try_from(stretch.ms).unwrap());
            let shake = dice.below(2 * stretch.tremor + 1);
            let shake = i64::try_from(shake).unwrap() - i64::try_from(stretch.tremor).unwrap();
            return Some(stretch.from + (stretch.to - stretch.from) * gone / all + shake);
        }
        begin += stretch.ms;
    }
    None
}

/// Plays the script on a line at a rate, in real time; the frames that were sent.
fn play(gauge: &Gauge, hertz: u64) -> Vec<String> {
    play_script(gauge, hertz, &hand(), 1)
}

/// The same with any script; `sign` is −1 for a gauge that counts down as its plunger goes in.
pub(crate) fn play_script(gauge: &Gauge, hertz: u64, script: &[Stretch], sign: i64) -> Vec<String> {
    let mut dice = Dice::seeded(hertz);
    let (start, mut sent) = (Instant::now(), Vec::new());
    for sample in 0.. {
        let ms = sample * 1000 / hertz;
        let Some(steps) = height_at(script, ms, &mut dice) else { break };
        let steps = steps * sign;
        let sign = if steps < 0 { '-' } else { '+' };
        let frame = format!("{sign}0.{:05}", steps.abs());
        std::thread::sleep(
            (start + Duration::from_millis(ms)).saturating_duration_since(Instant::now()),
        );
        gauge.send(&format!("{frame}\r"));
        sent.push(frame);
    }
    sent
}

/// A value of five decimal places in the last of them.
pub(crate) fn steps(reading: &Value) -> i64 {
    reading["value"].as_str().unwrap().replace('.', "").parse().unwrap()
}

#[test]
fn nine_touches_of_a_trembling_hand_at_5_10_and_30_hertz() {
    let plan = plan(&["plate", "slow", "fast"]);
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: STATIONS, plan: &plan });
    let slow = Gauge::plugged(bench.path("slow"));
    let fast = Gauge::plugged(bench.path("fast"));
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held", "--station", "one"]);
    for station in ["two", "three"] {
        bench.ok(&["job", "use", "s1", "--station", station]);
    }
    let lines = [
        ("one", "plate", 10, &bench.plate),
        ("two", "slow", 5, &slow),
        ("three", "fast", 30, &fast),
    ];
    for (station, gauge, ..) in lines {
        bench.ok(&["measure", &format!("ring/by-{gauge}"), "--station", station]);
    }
    let sent: Vec<Vec<String>> = std::thread::scope(|scope| {
        let played: Vec<_> =
            lines.iter().map(|(.., hertz, line)| scope.spawn(|| play(line, *hertz))).collect();
        played.into_iter().map(|one| one.join().unwrap()).collect()
    });
    for ((_, gauge, hertz, _), sent) in lines.iter().zip(sent) {
        let count = sent.len() as u64;
        bench.until("all samples", || bench.gauge(gauge)["frames"] == count);
        let status = bench.gauge(gauge);
        assert_eq!(
            (&status["taken"], &status["idle"]),
            (&9.into(), &(count - 9).into()),
            "{status}"
        );
        let readings = bench.lines(&["readings", "s1", "--check", &format!("by-{gauge}")]);
        assert_eq!(readings.len(), 9, "{hertz} Hz: {readings:?}");
        for (touch, (reading, height)) in readings.iter().zip(RING).enumerate() {
            let state = if touch == 8 { "closure" } else { "placed" };
            assert_eq!(reading["state"], state, "{hertz} Hz, touch {touch}");
            assert!((steps(reading) - height).abs() <= 1, "{hertz} Hz, touch {touch}: {reading}");
            let as_sent = reading["as_sent"].as_str().unwrap();
            assert!(sent.iter().any(|frame| frame == as_sent), "a frame that was sent: {as_sent}");
        }
    }
    let verdicts = bench.lines(&["verdicts", "s1"]);
    assert_eq!(verdicts.len(), 3, "{verdicts:?}");
    bench.balanced();
    bench.ok(&["verify"]);
    bench.stop();
}

/// A gauge that answers when it is asked, on a line that sends back what it is sent.
const ASKED: &str = r#"about = "asked by a question mark"
frames = "line"
value = "decimal"
pattern = '(?<sign>[+-])(?<digits>[0-9]+\.[0-9]+)'
[ask]
send = "?\r"
timeout_ms = 400
echo = true
"#;

const POLLED: &str = r#"
[[gauge]]
name = "polled"
kind = "indicator"
port = "{dir}/polled"
profile = "asked"
unit = "in"
resolution = "0.00001 in"
capture = "request"
"#;

#[test]
fn take_asks_a_gauge_and_writes_nothing_else() {
    let mut bench = Bench::new(&Make {
        gauge: "unit = \"in\"\nresolution = \"0.00001 in\"",
        more: POLLED,
        plan: &plan(&["polled"]),
    });
    fs::create_dir(bench.path("profiles")).unwrap();
    fs::write(bench.path("profiles/asked.toml"), ASKED).unwrap();
    let text = fs::read_to_string(bench.path("bench.toml")).unwrap();
    let own = |line: &str| line.starts_with("profiles = ");
    let lines = text.lines().map(|line| if own(line) { "profiles = \"profiles\"" } else { line });
    fs::write(bench.path("bench.toml"), lines.collect::<Vec<_>>().join("\n")).unwrap();
    let polled = Gauge::plugged(bench.path("polled"));
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/by-polled"]);
    assert_eq!(polled.hear_for(Duration::from_millis(300)), "", "nothing is written unasked");
    for answer in ["+0.00003", "+0.00004"] {
        let take = bench.spawn(&["take"]);
        assert_eq!(polled.hear_for(Duration::from_secs(10)), "?\r");
        polled.send(&format!("?\r{answer}\r"));
        let output = take.wait_with_output().unwrap();
        let said = String::from_utf8(output.stdout).unwrap();
        assert!(output.status.success() && said.contains("taken."), "{said}");
    }
    let began = Instant::now();
    let said = bench.refused(2, &["take"]);
    assert!(said.contains("polled did not answer within 400 ms"), "{said}");
    assert!(began.elapsed() < Duration::from_secs(20));
    assert_eq!(polled.hear_for(Duration::from_secs(10)), "?\r");
    let placed = bench.placed("s1");
    let sent: Vec<_> = placed.iter().map(|one| one["as_sent"].as_str().unwrap()).collect();
    assert_eq!(sent, ["+0.00003", "+0.00004"]);
    let status = bench.gauge("polled");
    assert_eq!((&status["frames"], &status["damaged"]), (&2.into(), &0.into()), "{status}");
    bench.stop();
}
