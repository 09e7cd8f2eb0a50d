//! The shares of an uncertainty, added by hand: they come to the uncertainty of the verdict to the last
//! digit, for every kind of check.

use std::collections::BTreeMap;

use serde_json::Value;

use crate::rig::{Bench, Dice, Make};

const PLAN: &str = r#"
name = "held"
unit = "in"
[[part]]
name = "ring"
kind = "spacer"
[[part.check]]
name = "face"
measures = "parallelism"
gauge = "plate"
setup = "plate"
positions = 8
radius = "1.5 in"
tolerance = "0.0001 in"
[[part.check]]
name = "mean-of-three"
measures = "parallelism"
gauge = "plate"
setup = "plate"
positions = 4
touches = 3
radius = "1.5 in"
tolerance = "0.0001 in"
[[part.check]]
name = "thick"
measures = "thickness-variation"
gauge = "plate"
setup = "anvil"
touch = "far-face"
positions = 8
radius = "1.5 in"
tolerance = "0.0001 in"
[[part.check]]
name = "flat"
measures = "flatness"
gauge = "plate"
setup = "supports"
positions = 8
radii = ["1.2 in", "1.5 in"]
tolerance = "0.0001 in"
[[part.check]]
name = "length"
measures = "length"
gauge = "plate"
setup = "plate"
positions = 4
master = "both"
master_size = "2 in"
min = "1.9995 in"
max = "2.0005 in"
[[part]]
name = "other"
kind = "spacer"
[[part.check]]
name = "length"
measures = "length"
gauge = "plate"
setup = "plate"
positions = 4
master = "both"
master_size = "2 in"
master_uncertainty = "0.000003 in"
min = "1.9995 in"
max = "2.0005 in"
[[part]]
name = "pair"
kind = "other"
[[part.check]]
name = "match"
measures = "difference"
of = ["other/length", "ring/length"]
tolerance = "0.0001 in"
[[part]]
name = "shaft"
kind = "shaft"
[[part.check]]
name = "journal"
measures = "runout"
gauge = "plate"
touch = "outside"
positions = 8
tolerance = "0.0001 in"
stand = "0.000005 in"
[[part.check]]
name = "square"
measures = "squareness"
gauge = "plate"
positions = 8
radii = ["1 in", "1.5 in"]
tolerance = "0.0001 in"
[[part.check]]
name = "bar"
measures = "bar-runout"
gauge = "plate"
touch = "outside"
positions = 8
seatings = 3
bar = "0.00001 in"
stations = [{ at = "0.5 in", tolerance = "0.0001 in" }, { at = "4 in", tolerance = "0.0002 in", seating = "0.000008 in" }]
[[part.check]]
name = "taper"
measures = "taper"
gauge = "plate"
touch = "inside"
rate = "7/24"
stations = ["0.5 in", "1.5 in", "2.5 in"]
station_uncertainty = "0.0001 in"
tolerance = "0.0003 in"
"#;

const TARGETS: [&str; 11] = [
    "ring/face",
    "ring/mean-of-three",
    "ring/thick",
    "ring/flat",
    "ring/length",
    "other/length",
    "pair/match",
    "shaft/journal",
    "shaft/square",
    "shaft/bar",
    "shaft/taper",
];

/// What the configuration says of the gauge.
const GAUGES: [&str; 4] = [
    "",
    "uncertainty = \"0.0000084 in\"\nrepeatability = \"0.000006 in\"",
    "uncertainty = \"0.000009 in\"",
    "repeatability = \"0.000004 in\"",
];

/// Takes whatever is waited for until a check is over.
fn measured(bench: &Bench, target: &str, dice: &mut Dice) {
    bench.ok(&["measure", target]);
    for _ in 0..200 {
        let status = bench.status().unwrap();
        match status["stations"][0]["next"].as_str().unwrap_or("nothing") {
            "nothing" | "again" | "half-turn" => return,
            "seat" => drop(bench.ok(&["take"])),
            _ => {
                let value = format!("0.0000{}", dice.below(4));
                bench.ok(&["enter", &value]);
            }
        }
    }
    panic!("{target} does not end");
}

fn whole(of: &Value) -> u128 {
    of.as_str().unwrap().parse().unwrap()
}

/// A decimal of inches in picometres, to the nearest whole one.
fn picometres(of: &Value) -> u128 {
    let text = of.as_str().unwrap();
    let (whole, part) = text.split_once('.').unwrap_or((text, ""));
    let digits: u128 = format!("{whole}{part}").parse().unwrap();
    let over = 10_u128.pow(u32::try_from(part.len()).unwrap());
    (digits * 2 * 25_400_000_000 + over) / (2 * over)
}

/// Adds the shares by hand and compares.
#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "degrees of freedom, and k in hundredths; the sum itself is whole numbers"
)]
pub(crate) fn adds_up(verdict: &Value, budget: &Value) {
    let shares = budget["shares"].as_array().unwrap();
    assert!(!shares.is_empty(), "{budget}");
    let mut sum = 0_u128;
    let mut alike: BTreeMap<(String, u64), f64> = BTreeMap::new();
    for share in shares {
        let square = whole(&share["square_pm2"]);
        sum += square;
        // What it adds is u² of the mean of its touches, as often as it counts. The last place of the
        // readout may be more than the mean.
        let u = picometres(&share["u"]) as f64;
        let of_mean = u * u / share["touches"].as_f64().unwrap();
        let by_hand = of_mean * share["counts"].as_f64().unwrap();
        assert!((by_hand / square as f64 - 1.0).abs() < 1e-4 || square < 1_000_000, "{share}");
        let adds = picometres(&share["adds"]);
        assert!(adds * adds >= square && adds.saturating_sub(1).pow(2) < square.max(1), "{share}");
        if let Some(df) = share["df"].as_u64() {
            let known = share["known"].as_str().unwrap().to_owned();
            *alike.entry((known, df)).or_default() += square as f64;
        }
    }
    assert_eq!(whole(&budget["square_pm2"]), sum, "{budget}");
    // Welch and Satterthwaite, over estimates that are known alike.
    let all = sum as f64;
    let over: f64 = alike.iter().map(|((_, df), part)| (part / all).powi(2) / *df as f64).sum();
    let df = (over > 0.0).then(|| (1.0 / over + 1e-9).floor() as u64);
    assert_eq!(budget["df"].as_u64().filter(|df| *df < 1_000_000), df.filter(|df| *df < 1_000_000));
    // U is the smallest whole number of picometres that is no less than k times the root.
    let k = (budget["k"].as_f64().unwrap() * 100.0).round() as u128;
    assert_eq!(df.is_none_or(|df| df >= 1000), k == 200, "{budget}");
    let u = picometres(&budget["uncertainty"]);
    let [less, enough] = [u.saturating_sub(1), u].map(|u| u.pow(2) * 10_000);
    assert!(less < sum * k * k && sum * k * k <= enough, "{u} pm: {budget}");
    // The verdict has the same, rounded up at its last place.
    let rounded = picometres(&verdict["uncertainty"]);
    assert_eq!(rounded, u, "{verdict} {budget}");
    for key in ["k", "uncertainty_from"] {
        assert_eq!(verdict[key], budget[key], "{budget}");
    }
    let worst = ["assumed", "record", "stated"];
    let worst = worst.into_iter().find(|one| shares.iter().any(|share| share["known"] == *one));
    assert_eq!(budget["uncertainty_from"].as_str(), worst, "{budget}");
}

/// The budget of a verdict.
pub(crate) fn of(bench: &Bench, verdict: &Value) -> Value {
    bench.lines(&["budget", &verdict["id"].to_string()]).pop().unwrap()
}

#[test]
fn the_shares_of_every_kind_of_check_come_to_its_uncertainty() {
    let mut dice = Dice::seeded(20_311);
    let mut kinds = BTreeMap::new();
    let mut names = std::collections::BTreeSet::new();
    for gauge in GAUGES {
        let gauge = format!("resolution = \"0.00001 in\"\nrepeat_ms = 0\nmax_rate = 0\n{gauge}");
        let mut bench = Bench::new(&Make { gauge: &gauge, more: "", plan: PLAN });
        bench.start();
        bench.ok(&["job", "open", "j", "--plan", "held"]);
        for target in TARGETS {
            measured(&bench, target, &mut dice);
        }
        for verdict in bench.lines(&["verdicts", "j", "--all"]) {
            assert!(verdict["uncertainty"].is_string(), "{verdict}");
            let budget = of(&bench, &verdict);
            adds_up(&verdict, &budget);
            *kinds.entry(verdict["measures"].to_string()).or_insert(0) += 1;
            let shares = budget["shares"].as_array().unwrap().iter();
            names.extend(shares.map(|share| share["share"].as_str().unwrap().to_owned()));
        }
    }
    assert_eq!(kinds.len(), 9, "{kinds:?}");
    for name in ["reading", "repeatability", "return", "plate", "seating", "bar", "master", "walk"]
    {
        assert!(names.contains(name), "{name}: {names:?}");
    }
    for name in ["temperature", "expansion", "stand", "station"] {
        assert!(names.contains(name), "{name}: {names:?}");
    }
}

#[test]
fn a_person_adds_the_table_up() {
    let gauge = format!("resolution = \"0.00001 in\"\nrepeat_ms = 0\nmax_rate = 0\n{}", GAUGES[1]);
    let mut bench = Bench::new(&Make { gauge: &gauge, more: "", plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "j", "--plan", "held"]);
    bench.ok(&["measure", "ring/mean-of-three"]);
    let mut values = vec!["0.00000"; 12];
    values.push("0.00001");
    bench.ok(&[&["enter"], values.as_slice()].concat());
    let verdict = bench.verdict("j", 1);
    let told = bench.ok(&["budget", &verdict["id"].to_string()]);
    // s 6 and u 8.4 µin, three touches a position, twice: 2·36/3 = 24 and 2·(8.4² − 36) = 69.12; the return
    // was 10 off: 100/3. √(24 + 69.12 + 33.33) = 11.245, twice that 22.49, told as 23.
    for part in [
        "repeatability  0.000006000  3",
        "0.000004899",
        "reading",
        "0.000008314",
        "return",
        "0.000005774",
        "Root of the sum of squares 0.000011245",
        "k = 2.00, U = 0.000023 in, stated.",
    ] {
        let plain = told.split_whitespace().collect::<Vec<_>>().join(" ");
        let part = part.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(plain.contains(&part), "{part}\n{told}");
    }
    let said = bench.refused(2, &["budget", "1"]);
    assert!(said.contains("there is no verdict 1"), "{said}");
}
