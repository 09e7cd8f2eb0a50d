//! The checks of a whole rebuild through the real program: regrinds, pairs, turns, bars. The
//! readings are invented; the expected figures come from an independent program (exact fractions
//! where it decides).

use std::fmt::Write;

use serde_json::{Value, json};

use crate::rig::{Bench, Make};

/// 0.00001 in readout, s 0.000006 in, a lapped plate; beside it a height gauge in millimetres.
const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0\n\
                     [[gauge]]\nname = \"height\"\nkind = \"height\"\nunit = \"mm\"\n\
                     resolution = \"0.0001 mm\"\nuncertainty = \"0.21 um\"";

const FACE: &str = "measures = \"parallelism\"\nsetup = \"plate\"\nmoves = \"stand\"\n\
                    radius = \"1.5 in\"\npositions = 8\nclosure = false\ntolerance = \"0.0001 in\"";

fn started(checks: &[(&str, &str, &str)]) -> Bench {
    let mut plan = "name = \"held\"\nunit = \"in\"\n".to_owned();
    let mut before = "";
    for (part, check, keys) in checks {
        if *part != before {
            writeln!(plan, "[[part]]\nname = \"{part}\"\nkind = \"spacer\"").unwrap();
            before = part;
        }
        writeln!(plan, "[[part.check]]\nname = \"{check}\"\n{keys}").unwrap();
        let touched = !["difference", "entry", "confirm"]
            .iter()
            .any(|kind| keys.contains(&format!("measures = \"{kind}\"")));
        if touched && !keys.contains("gauge =") {
            plan.push_str("gauge = \"plate\"\n");
        }
    }
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench
}

fn enter(bench: &Bench, readings: &[&str]) {
    let mut arguments = vec!["enter"];
    arguments.extend(readings);
    bench.ok(&arguments);
}

/// The newest verdict of a check, standing.
fn newest(bench: &Bench, part: &str, check: &str) -> Value {
    let verdicts = bench.lines(&["verdicts", "s1", "--part", part, "--check", check]);
    verdicts.last().cloned().unwrap_or_default()
}

fn number(value: &Value) -> f64 {
    value.as_str().map_or_else(|| value.as_f64().unwrap(), |text| text.parse().unwrap())
}

#[track_caller]
fn near(value: &Value, expected: f64, within: f64) {
    assert!((number(value) - expected).abs() <= within, "{value} is not {expected}");
}

fn says(verdict: &Value, words: &str) -> bool {
    let advice = verdict["advice"].as_array().unwrap();
    advice.iter().any(|said| said.as_str().unwrap().contains(words))
}

fn alerts(bench: &Bench, kind: &str) -> Vec<String> {
    let all = bench.lines(&["alerts", "s1", "--all"]);
    let of_kind = all.iter().filter(|alert| alert["kind"] == kind);
    of_kind.map(|alert| alert["text"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn a_chip_under_the_shield_is_cleaned_away() {
    let bench = started(&[("shield", "face", FACE)]);
    bench.ok(&["measure", "shield/face"]);
    enter(&bench, &["0.00005", "0.00016", "0.00014", "0.00008"]);
    enter(&bench, &["-0.00005", "-0.00016", "-0.00014", "-0.00007"]);
    let first = newest(&bench, "shield", "face");
    assert_eq!(
        (&first["verdict"], &first["value"]),
        (&json!("does-not-conform"), &json!("0.00032"))
    );
    near(&first["figures"]["tilt"], 0.000_325_37, 1e-8);
    near(&first["figures"]["high_side_deg"], 70.22, 0.01);
    assert!(alerts(&bench, "mostly-tilt")[0].contains("OUT and mostly tilt"));
    assert!(!says(&first, "comes off"), "no grinding before the half turn: {first}");
    enter(&bench, &["0.00002", "-0.00002"]);
    let turned = newest(&bench, "shield", "face");
    assert!(says(&turned, "It was dirt or a burr"), "{turned}");
    assert!(!says(&turned, "comes off"));
    bench.ok(&["remeasure", "cleaned", "--remark", "stoned, face b down"]);
    enter(&bench, &["0.00001", "0.00002", "0.00000", "0.00001"]);
    enter(&bench, &["-0.00001", "-0.00002", "0.00000", "-0.00001"]);
    let second = newest(&bench, "shield", "face");
    assert_eq!((&second["verdict"], &second["value"]), (&json!("conforms"), &json!("0.00004")));
    assert_eq!((&second["reason"], &second["tries"]), (&json!("cleaned"), &json!(1)));
    assert_eq!(second["remark"], "stoned, face b down");
    assert!(number(&second["figures"]["high_side_u_deg"]) > 30.0, "no arrow: {second}");
    bench.ok(&["verify"]);
}

#[test]
fn an_outer_spacer_is_ground_twice() {
    let bench = started(&[("outer", "face", &format!("{FACE}\nnominal = \"2 in\""))]);
    bench.ok(&["measure", "outer/face"]);
    enter(&bench, &["0.00031", "0.00027", "0.00017", "0.00007"]);
    enter(&bench, &["0.00004", "0.00008", "0.00019", "0.00028"]);
    enter(&bench, &["0.00030", "0.00004"]);
    let received = newest(&bench, "outer", "face");
    assert!(says(&received, "It is in the metal: a wedge."), "{received}");
    let off = received["figures"]["take_off"].as_array().unwrap().clone();
    let expected =
        ["0.00027", "0.00023", "0.00013", "0.00003", "0", "0.00004", "0.00015", "0.00024"];
    let amounts: Vec<&str> = off.iter().map(|one| one["amount"].as_str().unwrap()).collect();
    assert_eq!(amounts, expected);
    bench.ok(&["remeasure", "ground"]);
    enter(&bench, &["-0.00022", "-0.00024", "-0.00029", "-0.00033"]);
    enter(&bench, &["-0.00034", "-0.00031", "-0.00027", "-0.00023"]);
    let once = newest(&bench, "outer", "face");
    assert_eq!((&once["verdict"], &once["value"]), (&json!("undecided"), &json!("0.00012")));
    let took = once["figures"]["took_off"]["at"].as_array().unwrap().clone();
    let amounts: Vec<&str> = took.iter().map(|one| one["amount"].as_str().unwrap()).collect();
    let expected =
        ["0.00053", "0.00051", "0.00046", "0.0004", "0.00038", "0.00039", "0.00046", "0.00051"];
    assert_eq!(amounts, expected);
    assert!(says(&once, "The wheel took 0.00015 more at 0 than at 180."), "{once}");
    enter(&bench, &["-0.00023", "-0.00034"]);
    bench.ok(&["remeasure", "again"]);
    enter(&bench, &["-0.00023", "-0.00024", "-0.00029", "-0.00032"]);
    enter(&bench, &["-0.00034", "-0.00031", "-0.00027", "-0.00023"]);
    let twice = newest(&bench, "outer", "face");
    assert_eq!((&twice["tries"], &twice["value"]), (&json!(2), &json!("0.000115")));
    // Of two tries the scatter averages: 2·√(2·(36/2 + 8.4² − 36)) = 20.51.
    near(&twice["uncertainty"], 2.051e-5, 1e-8);
    bench.ok(&["remeasure", "ground"]);
    enter(&bench, &["-0.00047", "-0.00048", "-0.00049", "-0.00050"]);
    enter(&bench, &["-0.00051", "-0.00050", "-0.00048", "-0.00047"]);
    let last = newest(&bench, "outer", "face");
    assert_eq!((&last["verdict"], &last["value"]), (&json!("conforms"), &json!("0.00004")));
    let reasons: Vec<Value> =
        bench.lines(&["verdicts", "s1"]).iter().map(|line| line["reason"].clone()).collect();
    assert_eq!(reasons, ["first", "ground", "again", "ground"]);
    bench.ok(&["verify"]);
}

const LENGTH: &str = "measures = \"length\"\nsetup = \"plate\"\npositions = 4\nclosure = false\n\
                      min = \"1.2335 in\"\nmax = \"1.2355 in\"\nmaster_size = \"1.2345 in\"";

#[test]
fn a_pair_in_two_units_cannot_be_told_apart() {
    let pair = "measures = \"difference\"\nof = [\"outer/length\", \"inner/length\"]\n\
                tolerance = \"0.0001 in\"\naim = \"0.00005 in\"\narrangement = \"back-to-back\"\n\
                preload = \"200 N\"\ndeflection = \"4 um\"";
    let outer = format!("{LENGTH}\ngauge = \"height\"");
    let bench = started(&[
        ("inner", "length", LENGTH),
        ("outer", "length", &outer),
        ("pair", "match", pair),
    ]);
    let refused = bench.refused(2, &["measure", "pair/match"]);
    assert!(refused.contains("not measured yet"), "{refused}");
    bench.ok(&["measure", "inner/length"]);
    enter(&bench, &["1.23450", "1.23450", "1.23452"]);
    bench.ok(&["measure", "outer/length"]);
    let outer = ["31.3563", "31.3569", "31.3573", "31.3571", "31.3567", "31.3563"];
    let outer = outer.map(|value| format!("{value} mm"));
    enter(&bench, &outer.each_ref().map(String::as_str));
    bench.ok(&["measure", "inner/length"]);
    enter(&bench, &["1.23451", "1.23449", "1.23450"]);
    bench.ok(&["measure", "pair/match"]);
    let verdict = newest(&bench, "pair", "match");
    assert_eq!(verdict["verdict"], "conforms", "{verdict}");
    near(&verdict["value"], 2.256e-5, 1e-8);
    // In µm²: of the height gauge all of u² = 0.0441 stays, and 2·0.01/12 for its readout; of the
    // indicator 0.75·0.1524² + 0.21336² − 0.1524²; heat 0.0061847. Twice the root: 0.6055 µm.
    near(&verdict["uncertainty"], 2.384e-5, 1e-8);
    assert_eq!(verdict["figures"]["pair"]["longer"], "cannot-say");
    // 200·((8 + 0.573 ∓ 0.6055)/8)^1.5 = 199 and 246 N.
    assert_eq!(verdict["figures"]["pair"]["preload_n"], json!([190.0, 250.0]));
    assert!(says(&verdict, "Cannot say which is longer."), "{verdict}");
    assert_eq!(alerts(&bench, "pair").len(), 1);
    bench.ok(&["verify"]);
}

#[test]
fn four_bearings_ask_for_a_shorter_inner_spacer() {
    let offset = "measures = \"entry\"\nquestion = \"Offset under load\"\nunit = \"um\"";
    let length = "measures = \"length\"\nsetup = \"plate\"\npositions = 4\nclosure = false\n\
                  min = \"0.999 in\"\nmax = \"1.001 in\"\nmaster = \"none\"";
    let pair = "measures = \"difference\"\nof = [\"outer/length\", \"inner/length\"]\n\
                tolerance = \"0.00002 in\"\narrangement = \"back-to-back\"\npreload = \"250 N\"\n\
                deflection = \"4.5 um\"\noffsets_left = [\"b1/offset\", \"b2/offset\"]\n\
                offsets_right = [\"b3/offset\", \"b4/offset\"]\noffset_uncertainty = \"0.2 um\"";
    let bench = started(&[
        ("b1", "offset", offset),
        ("b2", "offset", offset),
        ("b3", "offset", offset),
        ("b4", "offset", offset),
        ("outer", "length", length),
        ("inner", "length", length),
        ("pair", "match", pair),
    ]);
    for (bearing, offset) in [("b1", "0.4"), ("b2", "0.6"), ("b3", "-0.2"), ("b4", "0.2")] {
        bench.ok(&["record", &format!("{bearing}/offset"), "--", offset]);
    }
    bench.ok(&["measure", "outer/length"]);
    enter(&bench, &["1.00002", "1.00002", "1.00002", "1.00002"]);
    bench.ok(&["measure", "inner/length"]);
    enter(&bench, &["1.00006", "1.00006", "1.00006", "1.00006"]);
    bench.ok(&["measure", "pair/match"]);
    let verdict = newest(&bench, "pair", "match");
    assert_eq!(
        (&verdict["verdict"], &verdict["value"]),
        (&json!("does-not-conform"), &json!("-0.00004"))
    );
    near(&verdict["figures"]["pair"]["required"], 1.969e-5, 1e-8);
    let loads = verdict["figures"]["pair"]["loads_n"].as_array().unwrap().clone();
    let expected = [(197.3, 258.4), (182.1, 241.8), (204.9, 266.8), (174.5, 233.5)];
    for (load, (now, after)) in loads.iter().zip(expected) {
        near(&load[0], now, 0.06);
        near(&load[1], after, 0.06);
    }
    assert!(says(&verdict, "0.00006"), "shorten the inner ring by 0.00006: {verdict}");
    bench.ok(&["verify"]);
}

const NOSE: [&str; 24] = [
    "-0.00001", "-0.00001", "0.00000", "0.00001", "0.00002", "0.00002", "0.00002", "0.00001",
    "0.00000", "0.00000", "0.00000", "0.00001", "0.00002", "0.00003", "0.00002", "0.00001",
    "-0.00000", "-0.00002", "-0.00003", "-0.00003", "-0.00003", "-0.00003", "-0.00002", "-0.00002",
];

#[test]
fn the_nose_turns_with_lobes_on_it() {
    let turn = "measures = \"runout\"\nsetup = \"turning\"\npositions = 24\nclosure = false\n\
                tolerance = \"0.0001 in\"\nstand = \"0.000005 in\"";
    let outside = format!("{turn}\ntouch = \"outside\"");
    let inside = format!("{turn}\ntouch = \"inside\"");
    let bench = started(&[("nose", "pilot", &outside), ("nose", "bore", &inside)]);
    for check in ["pilot", "bore"] {
        bench.ok(&["measure", &format!("nose/{check}")]);
        enter(&bench, &NOSE);
    }
    let verdict = newest(&bench, "nose", "pilot");
    assert_eq!((&verdict["verdict"], &verdict["value"]), (&json!("conforms"), &json!("0.00006")));
    near(&verdict["uncertainty"], 1.97e-5, 1e-8);
    let figures = &verdict["figures"];
    near(&figures["noise_floor"], 2.34e-5, 1e-7);
    near(&figures["eccentricity"], 2.057e-5, 1e-8);
    near(&figures["high_side_deg"], 129.9, 0.05);
    near(&figures["axis_deg"], 129.9, 0.05);
    near(&figures["high_side_u_deg"], 9.7, 0.1);
    near(&figures["out_of_round"], 4.181e-5, 1e-8);
    let waves = figures["harmonics"].as_array().unwrap();
    near(&waves[1]["amplitude"], 1.343e-5, 1e-8);
    near(&waves[1]["phase_deg"], 35.8, 0.05);
    near(&waves[2]["amplitude"], 8.69e-6, 1e-8);
    near(&waves[2]["phase_deg"], 80.8, 0.05);
    let bore = newest(&bench, "nose", "bore");
    near(&bore["figures"]["high_side_deg"], 129.9, 0.05);
    near(&bore["figures"]["axis_deg"], 309.9, 0.05);
}

#[test]
fn of_a_streamed_turn_fifteen_waves_are_judged() {
    let turn = "measures = \"runout\"\nsetup = \"turning\"\npositions = 300\nclosure = false\n\
                tolerance = \"0.0001 in\"\nstand = \"0.000005 in\"\ntouch = \"outside\"";
    let bench = started(&[("nose", "pilot", turn)]);
    bench.ok(&["measure", "nose/pilot"]);
    // 22 cos(t − 130) + 14 cos 2(t − 35) millionths of an inch, and a made-up noise.
    let readings: Vec<String> = (0..300_i32)
        .map(|k| {
            let t = f64::from(k) * 1.2;
            let round = 22.0 * (t - 130.0).to_radians().cos()
                + 14.0 * (2.0 * (t - 35.0)).to_radians().cos();
            let noise = f64::from(((37 * k * k + 11 * k) % 101) - 50) * 40.0 / 101.0;
            let count = ((round + noise) / 10.0).round();
            format!("{:.5}", count * 1e-5)
        })
        .collect();
    enter(&bench, &readings.iter().map(String::as_str).collect::<Vec<_>>());
    let verdict = newest(&bench, "nose", "pilot");
    near(&verdict["value"], 6.581e-5, 1e-7);
    near(&verdict["figures"]["unfiltered"], 9e-5, 1e-9);
    assert_eq!(verdict["verdict"], "conforms");
}

const BAR_NEAR: [&str; 12] = [
    "0.00002", "0.00003", "0.00003", "0.00002", "0.00001", "-0.00001", "-0.00002", "-0.00003",
    "-0.00003", "-0.00002", "-0.00001", "0.00001",
];
const BAR_FAR: [&str; 12] = [
    "-0.00008", "-0.00005", "-0.00001", "0.00003", "0.00006", "0.00008", "0.00008", "0.00005",
    "0.00001", "-0.00003", "-0.00006", "-0.00008",
];

#[test]
fn a_bar_at_two_stations_is_predicted_farther_out() {
    let bar = "measures = \"bar-runout\"\nsetup = \"turning\"\npositions = 12\nclosure = false\n\
               touch = \"outside\"\nstand = \"0.000005 in\"\nbar = \"0.000005 in\"\n\
               stations = [{ at = \"0.25 in\", tolerance = \"0.0001 in\", seating = \"0.000004 in\" }, \
               { at = \"3 in\", tolerance = \"0.0002 in\", seating = \"0.00001 in\" }]\n\
               predict = [\"6 in\"]";
    let bench = started(&[("bar", "nose", bar)]);
    bench.ok(&["measure", "bar/nose"]);
    enter(&bench, &BAR_NEAR);
    enter(&bench, &BAR_FAR);
    let verdict = newest(&bench, "bar", "nose");
    assert_eq!((&verdict["verdict"], &verdict["value"]), (&json!("undecided"), &json!("0.00016")));
    assert_eq!(verdict["tolerance"], "0.0002");
    let figures = &verdict["figures"];
    let stations = figures["stations"].as_array().unwrap();
    assert_eq!(
        (&stations[0]["verdict"], &stations[1]["verdict"]),
        (&json!("conforms"), &json!("undecided"))
    );
    near(&stations[0]["uncertainty"], 2.728e-5, 1e-8);
    near(&stations[1]["uncertainty"], 4.569e-5, 1e-8);
    near(&stations[0]["eccentricity"], 3.047e-5, 1e-8);
    near(&stations[1]["axis_deg"], 158.8, 0.05);
    near(&figures["axis"]["tilt_urad"], 35.54, 0.01);
    near(&figures["axis"]["offset"], 3.685e-5, 1e-8);
    assert_eq!(figures["axis"]["name"], "bar axis as seated");
    let predicted = &figures["predicted"][0];
    near(&predicted["value"], 3.7211e-4, 1e-8);
    near(&predicted["factor"], 2.358, 0.001);
    near(&predicted["uncertainty"], 9.458e-5, 2e-7);
    assert_eq!(predicted["label"], "predicted, not measured");
}

#[test]
fn missing_positions_pass_nothing_and_a_wild_touch_fails_nothing() {
    let turn = "measures = \"runout\"\nsetup = \"turning\"\npositions = 12\nclosure = false\n\
                tolerance = \"0.0002 in\"\ntouch = \"outside\"\nstand = \"0.000005 in\"\n\
                seating = \"0.00001 in\"\nbar = \"0.000005 in\"";
    let bench = started(&[("bar", "far", turn), ("bar", "wild", turn)]);
    for (check, first) in [("far", "-0.00000"), ("wild", "-0.00025")] {
        bench.ok(&["measure", &format!("bar/{check}")]);
        for position in ["3", "4", "8"] {
            bench.ok(&["skip", position, "--why", "key slot"]);
        }
        enter(&bench, &[first, "0.00003", "0.00005", "0.00004", "0.00002", "-0.00001"]);
        enter(&bench, &["-0.00007", "-0.00007"]);
        bench.ok(&["measure", "--stop"]);
    }
    let verdict = newest(&bench, "bar", "far");
    assert_eq!(verdict["verdict"], "incomplete", "{verdict}");
    assert!(!alerts(&bench, "out-so-far").is_empty());
    assert!(alerts(&bench, "wild-touch")[0].contains("Touch position 0 again."));
    assert_eq!(newest(&bench, "bar", "wild")["verdict"], "incomplete");
}

#[test]
fn three_positions_prove_no_flatness_and_a_second_pass_finds_the_saddle() {
    let flat = |more: &str| {
        format!(
            "measures = \"flatness\"\nsetup = \"plate\"\nmoves = \"stand\"\nradius = \"1.5 in\"\n\
             closure = false\ntolerance = \"0.0001 in\"\n{more}"
        )
    };
    let (four, eight) = (flat("positions = 4"), flat("positions = 8"));
    let twice = flat("positions = 8\npasses = 2");
    let bench = started(&[
        ("ring", "four", &four),
        ("ring", "four-on", &four),
        ("ring", "eight", &eight),
        ("ring", "eight-on", &eight),
        ("ring", "twice", &twice),
    ]);
    let judged = |check: &str, readings: &[&str]| {
        bench.ok(&["measure", &format!("ring/{check}")]);
        enter(&bench, readings);
        newest(&bench, "ring", check)
    };
    let node = judged("four", &["0.00000", "0.00000", "0.00000", "0.00000"]);
    assert_eq!((&node["verdict"], &node["guarded"]), (&json!("undecided"), &json!("conforms")));
    assert_eq!(node["reasons"], json!(["too-few-positions"]));
    let crest = judged("four-on", &["0.00006", "-0.00006", "0.00006", "-0.00006"]);
    assert_eq!(
        (&crest["verdict"], &crest["value"]),
        (&json!("does-not-conform"), &json!("0.00012"))
    );
    let lucky = ["0.00000", "0.00006", "0.00000", "-0.00006"];
    let lucky = judged("eight", &[lucky, lucky].concat());
    assert_eq!(lucky["verdict"], "does-not-conform", "{lucky}");
    let turned = ["0.00004", "0.00004", "-0.00004", "-0.00004"];
    let unlucky = judged("eight-on", &[turned, turned].concat());
    assert_eq!((&unlucky["verdict"], &unlucky["value"]), (&json!("conforms"), &json!("0.00008")));
    assert!(says(&unlucky, "1.42 times larger"), "{unlucky}");
    near(&unlucky["figures"]["saddle_factor"], std::f64::consts::SQRT_2, 0.01);
    let between = ["0.00006", "0.00000", "-0.00006", "0.00000"];
    let both = judged("twice", &[turned, turned, between, between].concat());
    assert_eq!((&both["verdict"], &both["value"]), (&json!("does-not-conform"), &json!("0.00012")));
    near(&both["uncertainty"], 1.68e-5, 1e-8);
}

const SEATED: [[&str; 12]; 5] = [
    [
        "0.00003", "0.00002", "0.00001", "-0.00001", "-0.00002", "-0.00003", "-0.00003",
        "-0.00002", "-0.00001", "0.00001", "0.00002", "0.00003",
    ],
    [
        "0.00006", "0.00008", "0.00008", "0.00006", "0.00002", "-0.00002", "-0.00006", "-0.00008",
        "-0.00008", "-0.00006", "-0.00002", "0.00002",
    ],
    [
        "0.00004", "0.00003", "0.00001", "-0.00001", "-0.00003", "-0.00004", "-0.00004",
        "-0.00003", "-0.00001", "0.00001", "0.00003", "0.00004",
    ],
    [
        "0.00007", "0.00008", "0.00006", "0.00003", "-0.00001", "-0.00005", "-0.00007", "-0.00008",
        "-0.00006", "-0.00003", "0.00001", "0.00005",
    ],
    [
        "0.00008", "0.00007", "0.00005", "0.00001", "-0.00003", "-0.00006", "-0.00008", "-0.00007",
        "-0.00005", "-0.00001", "0.00003", "0.00006",
    ],
];
const SEATED_270: [&str; 12] = [
    "0.00001", "0.00003", "0.00004", "0.00004", "0.00003", "0.00001", "-0.00001", "-0.00003",
    "-0.00004", "-0.00004", "-0.00003", "-0.00001",
];

#[test]
fn the_bar_is_split_from_the_spindle_only_where_it_seats_again() {
    let bar = |seatings: u32| {
        format!(
            "measures = \"bar-runout\"\nsetup = \"turning\"\npositions = 12\nclosure = false\n\
             touch = \"outside\"\nstand = \"0.000005 in\"\nbar = \"0.000005 in\"\n\
             seating = \"0.00001 in\"\nseatings = {seatings}\n\
             stations = [{{ at = \"3 in\", tolerance = \"0.0002 in\" }}]"
        )
    };
    let (three, four) = (bar(3), bar(4));
    let bench =
        started(&[("bar", "split", &three), ("bar", "loose", &three), ("bar", "four", &four)]);
    let judged = |check: &str, seatings: &[[&str; 12]]| {
        bench.ok(&["measure", &format!("bar/{check}")]);
        for (index, seating) in seatings.iter().enumerate() {
            if index > 0 {
                bench.ok(&["take"]);
            }
            enter(&bench, seating);
        }
        newest(&bench, "bar", check)
    };
    let split = judged("split", &SEATED[..3]);
    assert_eq!(split["verdict"], "conforms", "{split}");
    near(&split["value"], 1.0196e-4, 1e-8);
    near(&split["uncertainty"], 3.079e-5, 1e-8);
    let station = &split["figures"]["stations"][0];
    near(&station["eccentricity"], 5.098e-5, 1e-8);
    near(&station["axis_deg"], 30.0, 0.05);
    near(&station["bar"]["eccentricity"], 3.648e-5, 1e-8);
    near(&station["bar"]["high_side_deg"], 246.2, 0.05);
    near(&station["repeat"]["difference"], 1.115e-5, 1e-8);
    // 3.5·√2·√(seating² + 2 s²/N) = 3.5·√2·√(100 + 6), in millionths.
    near(&station["repeat"]["limit"], 5.0960e-5, 1e-8);
    let loose = judged("loose", &[SEATED[0], SEATED[1], SEATED[3]]);
    assert_eq!(loose["reasons"], json!(["seating-moved"]), "{loose}");
    assert_eq!(loose["verdict"], "undecided");
    near(&loose["figures"]["stations"][0]["repeat"]["difference"], 5.701e-5, 1e-8);
    let quarter = judged("four", &[SEATED[0], SEATED[4], SEATED[1], SEATED_270]);
    near(&quarter["value"], 1.0196e-4, 1e-8);
    near(&quarter["uncertainty"], 2.289e-5, 1e-8);
    near(&quarter["figures"]["stations"][0]["mean_of_seatings"], 1.1681e-4, 1e-8);
}

#[test]
fn a_dial_is_read_off_once_round() {
    let turn = "measures = \"runout\"\nsetup = \"turning\"\npositions = 8\nclosure = false\n\
                tolerance = \"0.0001 in\"\ntouch = \"outside\"";
    let bench = started(&[("nose", "pilot", turn), ("nose", "bore", turn)]);
    bench.ok(&["measure", "nose/pilot"]);
    bench.ok(&["enter", "--high", "0.00003@90", "--low", "-0.00002@270"]);
    let verdict = newest(&bench, "nose", "pilot");
    assert_eq!((&verdict["verdict"], &verdict["value"]), (&json!("conforms"), &json!("0.00005")));
    bench.ok(&["measure", "nose/bore"]);
    bench.ok(&["enter", "--total", "0.00034"]);
    let verdict = newest(&bench, "nose", "bore");
    assert_eq!(verdict["verdict"], "does-not-conform");
    assert!(says(&verdict, "Only the total was read off"), "{verdict}");
    bench.ok(&["verify"]);
}
