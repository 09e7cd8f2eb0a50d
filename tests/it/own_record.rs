//! A bench that begins knowing nothing of its gauge, and what it knows after a month of work.

use std::fmt::Write as _;

use serde_json::Value;

use crate::rig::{Bench, Dice, Make};

const NOTHING_STATED: &str = "resolution = \"0.00001 in\"\nrepeat_ms = 0\nmax_rate = 0";

/// A journal that turns under the stylus: nothing of a plate is in its uncertainty.
const PLAN: &str = r#"
name = "held"
unit = "in"
[[part]]
name = "shaft"
kind = "shaft"
[[part.check]]
name = "journal"
measures = "runout"
gauge = "plate"
setup = "turning"
positions = 8
closure = true
tolerance = "0.0002 in"
stand = "0.000002 in"
"#;

/// A made-up hand: how far one of its touches is off, 0.000001 in.
struct Hand {
    dice: Dice,
    s: f64,
}

impl Hand {
    /// The sum of twelve even numbers is near enough to a normal one.
    fn off(&mut self) -> f64 {
        let sum: f64 = (0..12).map(|_| self.even()).sum();
        (sum - 6.0) * self.s
    }

    fn even(&mut self) -> f64 {
        f64::from(u32::try_from(self.dice.below(1_000_000)).unwrap()) / 1e6
    }

    /// Eight touches round a true journal and the return to the first mark, as the gauge shows them.
    fn series(&mut self) -> Vec<String> {
        let level = self.even() * 10.0;
        (0..9).map(|_| shown(level + self.off())).collect()
    }
}

fn shown(microinches: f64) -> String {
    format!("{:+.5}", (microinches / 10.0).round() / 100_000.0)
}

fn begun(gauge: &str) -> Bench {
    let mut bench = Bench::new(&Make { gauge, more: "", plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "j", "--plan", "held"]);
    bench
}

/// The verdict on a series of touches that are sent as a person presses, on new metal.
fn series(bench: &Bench, number: usize, touches: &[String]) -> Value {
    if number == 1 {
        bench.ok(&["measure", "shaft/journal"]);
    } else {
        bench.ok(&["remeasure", "ground", "shaft/journal"]);
    }
    for touch in touches {
        bench.plate.send(&format!("{touch}\r"));
    }
    let found = || {
        let all = bench.lines(&["verdicts", "j", "--all"]);
        all.into_iter().rev().find(|one| one["attempt"] == number)
    };
    bench.until("the verdict", || found().is_some());
    found().unwrap()
}

fn microinches(verdict: &Value) -> f64 {
    verdict["uncertainty"].as_str().unwrap().parse::<f64>().unwrap() * 1e6
}

#[test]
fn after_a_month_of_work_the_bench_knows_its_gauge() {
    let mut bench = begun(NOTHING_STATED);
    let mut hand = Hand { dice: Dice::seeded(20_311), s: 6.0 };
    let mut table = "series  pairs  df     k     U\n".to_owned();
    let mut all = Vec::new();
    for number in 1..=44 {
        let verdict = series(&bench, number, &hand.series());
        let (pairs, df) = (verdict["repeat_pairs"].as_u64(), verdict["repeat_df"].as_u64());
        let told = |of: Option<u64>| of.map_or("-".to_owned(), |of| of.to_string());
        let (k, u) = (verdict["k"].as_f64().unwrap(), microinches(&verdict));
        let (pairs, df) = (told(pairs), told(df));
        writeln!(table, "{number:6} {pairs:>6} {df:>3} {k:5.2} {u:5.1}").unwrap();
        all.push(verdict);
        if number == 20 {
            // What it knows is in the record: the service is started anew.
            bench.stop();
            bench.start();
        }
    }
    println!("{table}");
    // It begins with what is assumed: 12 µin known to 25 %. U = k·√(2·12² + 2² + closure²/3).
    let first = &all[0];
    assert_eq!(first["uncertainty_from"], "assumed", "{first}");
    assert_eq!(first["repeat_pairs"], Value::Null);
    assert!(microinches(first) > 39.0, "{table}");
    // The tenth series is judged by nine returns: 0.95·9 = 8 degrees of freedom.
    assert_eq!(all[8]["repeat_pairs"], Value::Null, "{table}");
    let tenth = &all[9];
    assert_eq!(
        [&tenth["uncertainty_from"], &tenth["repeat_pairs"], &tenth["repeat_df"]],
        [&Value::from("record"), &Value::from(9), &Value::from(8)],
        "{tenth}"
    );
    // At the end it knows it: 43 returns, 40 degrees. The hand has 6 µin, rounded readings √(36 + 8.3) =
    // 6.66: about 2.06·√(2·6.66² + 2²) = 19.8, and more where the return was off.
    let last = &all[43];
    assert_eq!([&last["repeat_pairs"], &last["repeat_df"]], [&Value::from(43), &Value::from(40)]);
    let settled: Vec<f64> = all[34..].iter().map(microinches).collect();
    let least = settled.iter().copied().fold(f64::MAX, f64::min);
    assert!((16.0..24.0).contains(&least), "{table}");
    assert!(settled.iter().all(|u| *u < microinches(first) * 0.75), "{table}");
    // Its budget is worked out again from the record, and the share of its hand is the record's.
    let budget = crate::budgets::of(&bench, last);
    crate::budgets::adds_up(last, &budget);
    let shares = budget["shares"].as_array().unwrap();
    let hand = shares.iter().find(|share| share["share"] == "repeatability").unwrap();
    assert_eq!(
        (&hand["known"], &hand["pairs"], &hand["df"]),
        (&"record".into(), &43.into(), &40.into())
    );
    let told = bench.ok(&["budget", &last["id"].to_string()]);
    assert!(told.contains("record, 43 pairs"), "{told}");
    let verified = bench.run(&["verify"]);
    assert!(verified.status.success(), "{verified:?}");
}

/// The same journal, touched round with these returns.
fn returns(bench: &Bench, off: &[&str]) -> Vec<Value> {
    let one = |(at, off): (usize, &&str)| {
        let mut touches = vec!["+0.00000".to_owned(); 8];
        touches.push((*off).to_owned());
        series(bench, at + 1, &touches)
    };
    off.iter().enumerate().map(one).collect()
}

fn advice(verdict: &Value) -> String {
    verdict["advice"].to_string()
}

#[test]
fn a_stated_figure_is_held_against_what_the_bench_shows() {
    let stated =
        format!("{NOTHING_STATED}\nuncertainty = \"0.000006 in\"\nrepeatability = \"0.000006 in\"");
    let bench = begun(&stated);
    let off = ["+0.00002", "-0.00002", "+0.00001", "-0.00002", "+0.00002", "-0.00001"];
    let off: Vec<&str> = off.iter().chain(&off).copied().collect();
    let all = returns(&bench, &off);
    assert_eq!(all[8]["uncertainty_from"], "stated");
    let last = all.last().unwrap();
    // Eleven returns, eight of 20 µin and three of 10: √(3500/(0.9776·11)/2) = 12.76.
    assert_eq!(last["uncertainty_from"], "record", "{last}");
    assert_eq!(last["repeat_pairs"], 11, "{last}");
    // Beside the third, which came back as far: √(2·36 + 4 + 100/3)·2 = 20.9.
    assert!(microinches(last) > microinches(&all[2]) * 1.5, "{last}");
    let said = "stated 0.000006, this bench shows 0.000013 over 11 pairs";
    assert!(advice(last).contains(said), "{}", advice(last));
    assert!(!advice(&all[0]).contains("this bench shows"));
}

#[test]
fn a_steady_walk_is_no_scatter() {
    let bench = begun(NOTHING_STATED);
    let off = ["+0.00004", "+0.00005", "+0.00004", "+0.00003", "+0.00004", "+0.00004"];
    let off: Vec<&str> = off.iter().chain(&off).copied().collect();
    let all = returns(&bench, &off);
    let last = all.last().unwrap();
    assert!(advice(last).contains("come back 0.000040 higher on average over 11 pairs"), "{last}");
}

#[test]
fn what_was_touched_again_or_read_by_eye_is_no_witness() {
    let bench = begun(NOTHING_STATED);
    // The first return is off and is touched again: only the first counts.
    bench.ok(&["measure", "shaft/journal"]);
    let first: Vec<&str> = vec!["+0.00000"; 8];
    bench.touches(&bench.plate, "plate", &first);
    bench.touches(&bench.plate, "plate", &["+0.00030", "+0.00000"]);
    // Keyed in.
    bench.ok(&["remeasure", "ground", "shaft/journal"]);
    for _ in 0..9 {
        bench.ok(&["enter", "0.00000"]);
    }
    bench.ok(&["remeasure", "ground", "shaft/journal"]);
    let gauge = bench.gauge("plate");
    let seen = gauge["shows"].as_array().unwrap();
    assert_eq!(seen.len(), 1, "{gauge}");
    assert_eq!([&seen[0]["spot"], &seen[0]["setup"]], [&"return".into(), &Value::from("turning")]);
    assert_eq!(seen[0]["pairs"], 1, "{gauge}");
}

#[test]
fn another_serial_number_begins_a_new_history() {
    let with = |serial: &str| format!("{NOTHING_STATED}\nserial = \"{serial}\"");
    let mut bench = begun(&with("A-1"));
    let off = vec!["+0.00001"; 5];
    returns(&bench, &off);
    assert_eq!(bench.gauge("plate")["shows"][0]["pairs"], 5);
    let config = std::fs::read_to_string(bench.path("bench.toml")).unwrap();
    std::fs::write(bench.path("bench.toml"), config.replace("A-1", "A-2")).unwrap();
    bench.stop();
    bench.start();
    assert_eq!(bench.gauge("plate")["shows"], serde_json::json!([]));
    std::fs::write(bench.path("bench.toml"), config).unwrap();
    bench.stop();
    bench.start();
    assert_eq!(bench.gauge("plate")["shows"][0]["pairs"], 5);
}

/// Everything that is touched again has a pool of its own: the master, a position touched three times in a
/// row, a bar that is seated again.
const OTHERS: &str = r#"
name = "held"
unit = "in"
[[part]]
name = "ring"
kind = "spacer"
[[part.check]]
name = "length"
measures = "length"
gauge = "plate"
setup = "plate"
positions = 4
touches = 3
master = "both"
master_size = "2 in"
closure = false
min = "1.9995 in"
max = "2.0005 in"
[[part]]
name = "nose"
kind = "shaft"
[[part.check]]
name = "bar"
measures = "bar-runout"
gauge = "plate"
touch = "outside"
positions = 8
seatings = 3
bar = "0.000004 in"
stand = "0.000002 in"
closure = false
stations = [{ at = "3 in", tolerance = "0.0002 in" }]
"#;

/// Sends whatever is waited for, and says that the bar is seated, until the check is over.
fn whatever(bench: &Bench, hand: &mut Hand) {
    for _ in 0..100 {
        let status = bench.status().unwrap();
        let next = status["stations"][0]["next"].as_str().unwrap_or("nothing").to_owned();
        if next == "seat" {
            bench.ok(&["take"]);
        } else if next == "nothing" || next == "again" {
            return;
        } else {
            let (off, frames) = (hand.off(), status["gauges"][0]["frames"].as_u64().unwrap());
            bench.plate.send(&format!("{}\r", shown(off)));
            bench.until("the touch", || bench.gauge("plate")["frames"].as_u64().unwrap() > frames);
        }
    }
}

fn seen(bench: &Bench, spot: &str) -> Value {
    let gauge = bench.gauge("plate");
    let all = gauge["shows"].as_array().unwrap();
    all.iter().find(|one| one["spot"] == spot).cloned().unwrap_or_default()
}

#[test]
fn each_kind_has_a_pool_of_its_own() {
    let mut bench = Bench::new(&Make { gauge: NOTHING_STATED, more: "", plan: OTHERS });
    bench.start();
    bench.ok(&["job", "open", "j", "--plan", "held"]);
    let mut hand = Hand { dice: Dice::seeded(7), s: 6.0 };
    for target in ["ring/length", "nose/bar"] {
        bench.ok(&["measure", target]);
        whatever(&bench, &mut hand);
        for _ in 0..5 {
            bench.ok(&["remeasure", "ground", target]);
            whatever(&bench, &mut hand);
        }
    }
    // Six lengths: a return to the master each, and four positions of three lifts, 0.95·6·4·2 = 45 degrees.
    assert_eq!(seen(&bench, "master")["pairs"], 6);
    let lifts = seen(&bench, "touch");
    assert_eq!((&lifts["pairs"], &lifts["df"]), (&72.into(), &45.into()), "{lifts}");
    assert_eq!(seen(&bench, "return"), Value::Null);
    // Six bars: two axes each; the last of them is judged by the ten before.
    let seatings = seen(&bench, "seating");
    assert_eq!((&seatings["pairs"], &seatings["at"]), (&12.into(), &"3 in".into()), "{seatings}");
    let bars = bench.lines(&["verdicts", "j", "--check", "bar"]);
    let share = |verdict: &Value| {
        let budget = crate::budgets::of(&bench, verdict);
        crate::budgets::adds_up(verdict, &budget);
        let shares = budget["shares"].as_array().unwrap();
        let seating = shares.iter().find(|share| share["share"] == "seating").cloned();
        seating.unwrap_or_default()
    };
    assert_eq!(share(&bars[0])["known"], "assumed");
    let last = share(bars.last().unwrap());
    assert_eq!((&last["known"], &last["pairs"]), (&"record".into(), &10.into()), "{last}");
}

#[test]
fn each_hand_has_its_own_record() {
    let bench = begun(NOTHING_STATED);
    bench.ok(&["person", "Ada"]);
    let off = ["+0.00001", "-0.00001"];
    let off: Vec<&str> = off.iter().cycle().take(10).copied().collect();
    let all = returns(&bench, &off);
    assert_eq!(all.last().unwrap()["repeat_pairs"], 9);
    bench.ok(&["person", "Bo"]);
    let mut touches = vec!["+0.00000".to_owned(); 8];
    touches.push("+0.00001".to_owned());
    let other = series(&bench, 11, &touches);
    assert_eq!((&other["by"], &other["uncertainty_from"]), (&"Bo".into(), &"assumed".into()));
    assert_eq!(other["repeat_pairs"], Value::Null);
}
