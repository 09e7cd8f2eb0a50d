//! Good work raises no questions: rings with real lobes, saddles and wedges inside their limit, touched one by
//! one through the real service, with a gauge's realistic noise.
//!
//! `TENTHS_RINGS=2000 cargo test --test it good_work -- --nocapture` touches more of them, and prints
//! how often each family was interrupted.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use crate::rig::{Bench, Dice, Make, Wire};

/// 0.00001 in readout, s 0.000006 in, all in 0.0000084 in.
const STATED: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                      repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0";

const PLAN: &str = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
                    [[part.check]]\nname = \"face\"\ngauge = \"plate\"\nmeasures = \"parallelism\"\n\
                    setup = \"plate\"\nmoves = \"ring\"\nradius = \"1.5 in\"\npositions = 8\n\
                    tolerance = \"0.0001 in\"\n";

/// What a family is called, and the fewest and the most waves of its rings.
const FAMILIES: [(&str, u64, u64); 3] = [("lobes", 2, 6), ("saddles", 2, 2), ("wedges", 1, 1)];

/// Rings of one job.
const A_JOB: u64 = 60;

fn even(dice: &mut Dice) -> f64 {
    f64::from(u32::try_from(dice.below(1 << 30)).unwrap()) / f64::from(1_u32 << 30)
}

/// What the gauge shows of a height in millionths: normal noise (twelve even throws added up) of 6,
/// and steps of 10.
fn shown(dice: &mut Dice, height: f64) -> String {
    let noise = (0..12).map(|_| even(dice)).sum::<f64>() - 6.0;
    format!("{:+.5}", ((height + 6.0 * noise) / 10.0).round() / 1e5)
}

/// A ring with so many waves, its touched range between 20 and 62 millionths, and its return.
fn ring(dice: &mut Dice, waves: u64) -> Vec<String> {
    let (range, phase) = (20.0 + 42.0 * even(dice), std::f64::consts::TAU * even(dice));
    let angle = |touch: u64| f64::from(u32::try_from(waves * touch % 8).unwrap()) / 8.0;
    let heights: Vec<f64> =
        (0..9).map(|touch| (angle(touch) * std::f64::consts::TAU + phase).cos()).collect();
    let high = heights.iter().copied().fold(f64::MIN, f64::max);
    let low = heights.iter().copied().fold(f64::MAX, f64::min);
    heights.iter().map(|height| shown(dice, height * range / (high - low))).collect()
}

/// One connection, each request with a key of its own.
struct Asker {
    wire: Wire,
    family: &'static str,
    keys: u64,
}

impl Asker {
    #[track_caller]
    fn ask(&mut self, what: &str, mut fields: Value) -> Value {
        self.keys += 1;
        fields["request"] = json!(what);
        fields["key"] = json!(format!("{}-{}", self.family, self.keys));
        let reply = self.wire.ask(&fields.to_string()).unwrap();
        assert_ne!(reply["schema"], "error/1", "{fields}: {reply}");
        reply
    }
}

/// How often somebody was called while the rings of a family were touched, by the kind of alert, and
/// the words of their verdicts.
fn family(
    bench: &Bench,
    dice: &mut Dice,
    (name, fewest, most): (&'static str, u64, u64),
    rings: u64,
) -> (BTreeMap<String, u64>, BTreeMap<String, u64>) {
    let wire = Wire::to(&bench.state.join("tenths.sock")).unwrap();
    let mut asker = Asker { wire, family: name, keys: 0 };
    let (mut loud, mut words) = (BTreeMap::new(), BTreeMap::new());
    let mut left = rings;
    while left > 0 {
        let job = format!("{name}-{left}");
        asker.ask("job-open", json!({ "name": job, "plan": "held" }));
        for number in 0..left.min(A_JOB) {
            if number == 0 {
                asker.ask("measure", json!({ "target": "ring/face" }));
            } else {
                asker.ask("remeasure", json!({ "reason": "ground", "target": "ring/face" }));
            }
            let waves = fewest + dice.below(most - fewest + 1);
            for touch in ring(dice, waves) {
                asker.ask("enter", json!({ "values": [touch] }));
            }
        }
        left -= left.min(A_JOB);
        for alert in bench.lines(&["alerts", &job, "--all"]) {
            if alert["level"] == "interrupt" {
                *loud.entry(alert["kind"].as_str().unwrap().to_owned()).or_default() += 1;
            }
        }
        for verdict in bench.lines(&["verdicts", &job]) {
            *words.entry(verdict["verdict"].as_str().unwrap().to_owned()).or_default() += 1;
        }
    }
    (loud, words)
}

#[test]
fn good_work_is_let_alone() {
    let number = |name: &str| std::env::var(name).ok().and_then(|text| text.parse().ok());
    let rings = number("TENTHS_RINGS").unwrap_or(A_JOB);
    let mut dice = Dice::seeded(number("TENTHS_SEED").unwrap_or(22));
    let mut bench = Bench::new(&Make { gauge: STATED, more: "", plan: PLAN });
    bench.start();
    for of in FAMILIES {
        let (loud, words) = family(&bench, &mut dice, of, rings);
        let all: u64 = loud.values().sum();
        println!("{}: {all} interrupts on {rings} rings {loud:?}; verdicts {words:?}", of.0);
        assert_eq!(words.values().sum::<u64>(), rings, "a verdict for each ring: {words:?}");
        // Fewer than 2 in 100; of few rings three more than that are chance, whatever the dice.
        let most = if rings < 1000 { rings / 50 + 3 } else { rings / 50 };
        assert!(all < most, "{}: {loud:?} on {rings} rings", of.0);
    }
    bench.ok(&["verify"]);
}
