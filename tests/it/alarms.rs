//! The tables of `docs/alarms.md` are made by a bench in memory. The same touches through the real program
//! give the same: the same verdicts and the same calls.

#![expect(dead_code, reason = "the bench that counts alarms uses the rest")]

#[path = "../../benches/alarms/series.rs"]
mod series;
#[path = "../../benches/alarms/shop.rs"]
mod shop;
#[path = "../../benches/alarms/traps.rs"]
mod traps;
#[path = "../../benches/alarms/world.rs"]
mod world;

use self::series::series;
use self::shop::{Did, Known, PLAN, Shop, What, gauge_lines};
use self::traps::{CASES, Happens, Trap};
use self::world::{Dice, World};
use crate::rig::{Bench, Make};

/// Scatter of a touch, µin.
const S: f64 = 6.0;

#[test]
fn the_tables_are_of_the_program() {
    let gauge = format!("{}repeat_ms = 0\nmax_rate = 0\n", gauge_lines(Known::Stated, S));
    let mut bench = Bench::new(&Make { gauge: &gauge, more: "", plan: PLAN });
    bench.start();
    let mut shop = Shop::new(Known::Stated, S);
    let mut dice = Dice::new(11);
    let good = What::ALL.map(|what| (what, 30.0, None));
    let of = |happens: Happens, size| {
        let case = CASES.iter().find(|case| case.happens == happens).unwrap();
        (case.what, case.value, Some(Trap { happens, size }))
    };
    let wrong = [
        of(Happens::Slip, 100.0),
        of(Happens::Chip, 300.0),
        of(Happens::Drift, 140.0),
        of(Happens::Bump, 60.0),
        of(Happens::ZeroAfterFirst, 1000.0),
        of(Happens::ZeroLater, 100.0),
        of(Happens::WrongPart, 3000.0),
        of(Happens::Unseated, 80.0),
    ];
    let mut called = 0;
    for (index, (what, value, trap)) in good.into_iter().chain(wrong).enumerate() {
        let world = World::new(what, value, S, trap, &mut dice);
        let outcome = series(&mut shop, what, world, &mut dice);
        let job = format!("J{}", index + 1);
        play(&bench, &job, what, &shop.did);
        let words: Vec<String> = bench
            .lines(&["verdicts", &job])
            .iter()
            .map(|line| line["verdict"].as_str().unwrap().to_owned())
            .collect();
        let word = outcome.word.map(|word| word.text().to_owned());
        assert_eq!(words.last(), word.as_ref(), "{what:?} {trap:?}");
        let alerts = bench.lines(&["alerts", &job]);
        let calls = alerts
            .iter()
            .rev()
            .filter(|line| line["level"] == "interrupt" && line["kind"] != "out");
        let mut calls: Vec<String> =
            calls.map(|line| line["text"].as_str().unwrap().to_owned()).collect();
        let mut meant: Vec<String> = outcome.said.into_iter().map(|(_, text)| text).collect();
        called += meant.len();
        calls.sort();
        meant.sort();
        assert_eq!(calls, meant, "{what:?} {trap:?}");
    }
    assert!(called >= 6, "traps are called: {called}");
}

/// The same series through the service: a new job, its frames, what a person says.
fn play(bench: &Bench, job: &str, what: What, did: &[Did]) {
    bench.ok(&["job", "open", job, "--plan", "held"]);
    bench.ok(&["measure", what.target()]);
    for one in did {
        match one {
            Did::Touched(text) => {
                let sign = if text.starts_with('-') { "" } else { "+" };
                bench.touches(&bench.plate, "plate", &[&format!("{sign}{text}")]);
            }
            Did::Seated => {
                bench.ok(&["take"]);
            }
        }
    }
    bench.ok(&["job", "close", "--why", "done"]);
}
