//! Random faces through the real program, each judged again here in whole millionths of an inch: value, ±,
//! both rules, and the verdict with what noise alone adds to a range. Readings are invented.
//!
//! Half the mean range of n normal values: half of d2 in the table of control chart constants of the
//! NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2 (1.128, 1.693, 2.059, 2.326, 2.534, 2.704,
//! 2.847, 2.970 for 2 to 9; from memory).

use serde_json::{Value, json};

use crate::rig::{Bench, Dice, Make};

const HALF_D2: [f64; 10] = [0.0, 0.0, 0.564, 0.8465, 1.0295, 1.163, 1.267, 1.352, 1.4235, 1.485];
/// Limit, standard uncertainty and repeatability, in millionths.
const LIMIT: f64 = 100.0;
const U_OF_ONE: f64 = 8.4;
const REPEATS: f64 = 6.0;
/// Figures printed to a tenth of a millionth differ from ours by no more than this.
const PRINTED: f64 = 0.1;

fn ready() -> Bench {
    let mut bench = Bench::new(&Make {
        gauge: "unit = \"in\"\nresolution = \"0.000001 in\"\nuncertainty = \"0.0000084 in\"\n\
                repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0",
        more: "",
        plan: "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
               [[part.check]]\nname = \"face\"\ngauge = \"plate\"\nmeasures = \"parallelism\"\n\
               setup = \"plate\"\nmoves = \"ring\"\nradius = \"1.5 in\"\npositions = 8\n\
               closure = false\ntolerance = \"0.0001 in\"\n",
    });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    bench
}

/// A ring whose highest and lowest touch are `span` apart.
fn heights(random: &mut Dice, span: i32) -> [i32; 8] {
    let within = u64::try_from(span).unwrap() + 1;
    let mut ring = [0; 8].map(|_: i32| i32::try_from(random.below(within)).unwrap());
    let at = usize::try_from(random.below(8)).unwrap();
    (ring[at], ring[(at + 3) % 8]) = (0, span);
    ring
}

fn measured(bench: &Bench, heights: &[i32], base: i32) -> Value {
    let keyed = heights.iter().map(|height| {
        let reading = base + height;
        format!("{}0.{:06}", if reading < 0 { "-" } else { "" }, reading.abs())
    });
    let all: Vec<String> = ["enter".to_owned()].into_iter().chain(keyed).collect();
    bench.ok(&all.iter().map(String::as_str).collect::<Vec<_>>());
    let verdict = bench.lines(&["verdicts", "s1"]).last().cloned().unwrap_or_default();
    bench.ok(&["remeasure", "ground", "ring/face"]);
    verdict
}

fn millionths(text: &Value) -> f64 {
    text.as_str().unwrap().parse::<f64>().unwrap() * 1e6
}

/// What the noise of touches that are alike adds to a range.
fn from_noise(heights: &[i32]) -> f64 {
    let alike = |end: i32| {
        heights.iter().filter(|height| f64::from((**height - end).abs()) <= 3.0 * REPEATS).count()
    };
    let ends = [heights.iter().max(), heights.iter().min()].map(|end| *end.unwrap());
    ends.iter().map(|end| REPEATS * HALF_D2[alike(*end)]).sum()
}

#[test]
fn random_faces_are_judged_exactly() {
    let bench = ready();
    let seed = std::env::var("TENTHS_SEED").ok().and_then(|seed| seed.parse().ok()).unwrap_or(5);
    let mut random = Dice::seeded(seed);
    let wide = 2.0 * 2.0_f64.sqrt() * U_OF_ONE;
    let mut met = [0_usize; 4];
    for _ in 0..60 {
        let span = i32::try_from(30 + random.below(130)).unwrap();
        let ring = heights(&mut random, span);
        let base = i32::try_from(random.below(800)).unwrap() - 400;
        let verdict = measured(&bench, &ring, base);
        let value = f64::from(span);
        assert!((millionths(&verdict["value"]) - value).abs() < 1e-6, "{ring:?}: {verdict}");
        assert!((millionths(&verdict["uncertainty"]) - wide).abs() < PRINTED, "{verdict}");
        assert_eq!(verdict["uncertainty_from"], "stated");
        let simple = if value <= LIMIT { "conforms" } else { "does-not-conform" };
        let guarded = match value {
            value if value <= LIMIT - wide => "conforms",
            value if value > LIMIT + wide => "does-not-conform",
            _ => "undecided",
        };
        let least = value - from_noise(&ring) - LIMIT - wide;
        let withheld = guarded == "does-not-conform" && least <= 0.0;
        if least.abs() < PRINTED {
            continue; // nearer to the border than the constants from memory are
        }
        assert_eq!((&verdict["simple"], &verdict["guarded"]), (&json!(simple), &json!(guarded)));
        let word = if withheld { "undecided" } else { guarded };
        assert_eq!(verdict["verdict"], word, "{ring:?}: {verdict}");
        let reasons = if withheld { json!(["near-noise"]) } else { json!([]) };
        assert_eq!(verdict["reasons"], reasons, "{ring:?}: {verdict}");
        let kinds = ["conforms", "undecided", "does-not-conform"];
        met[if withheld { 3 } else { kinds.iter().position(|kind| *kind == word).unwrap() }] += 1;
    }
    assert!(met.iter().all(|count| *count > 2), "too few of a kind were tried: {met:?}");
    bench.ok(&["verify"]);
}
