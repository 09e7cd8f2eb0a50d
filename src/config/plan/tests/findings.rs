//! Every finding about what a plan says has its sentence.

use std::collections::BTreeMap;

use super::*;
use crate::bench::setup::{GaugeKind, GaugeSetup};
use crate::quantity::Quoted;

const HEAD: &str = "name = \"p\"\nunit = \"in\"\n";
const TURN: &str = "measures = \"runout\"\ngauge = \"g\"\n";
const BAR: &str = "measures = \"bar-runout\"\ngauge = \"g\"\npositions = 10\n";
const TAPER: &str = "measures = \"taper\"\ngauge = \"g\"\ntolerance = 0.0002\n";
const LENGTH: &str = "measures = \"length\"\ngauge = \"g\"\nsetup = \"plate\"\npositions = 4\n\
                      min = 1\nmax = 2\nmaster_size = 1\n";
const CONFIRM: &str = "measures = \"confirm\"\n";

/// Two lengths, two entries and one more check, whose own first line is line 1.
fn told_beside(check: &str) -> Vec<String> {
    told_beside_with(check, ["inner", "outer"], ["", ""])
}

fn told_beside_with(check: &str, parts: [&str; 2], masters: [&str; 2]) -> Vec<String> {
    let mut text = HEAD.to_owned();
    for (part, master) in parts.into_iter().zip(masters) {
        let master = if master.is_empty() { "master_size = 1\n" } else { master };
        let length = LENGTH.replace("master_size = 1\n", master);
        text +=
            &format!("[[part]]\nname = \"{part}\"\n[[part.check]]\nname = \"length\"\n{length}");
    }
    text += "[[part]]\nname = \"room\"\n";
    for (name, unit) in [("temp", "F"), ("off", "um"), ("free", "")] {
        text += &format!("[[part.check]]\nname = \"{name}\"\nmeasures = \"entry\"\n");
        text += &format!("question = \"?\"\nunit = \"{unit}\"\n");
    }
    text = text.replace("unit = \"\"\n", "");
    text += "[[part.check]]\nname = \"x\"\n";
    let head = u32::try_from(text.lines().count()).unwrap();
    let findings = read(&format!("{text}{check}"), "c").findings;
    let lesser = |finding: &Finding| Finding {
        line: finding.line.map(|line| line.saturating_sub(head)),
        ..finding.clone()
    };
    findings.iter().map(|finding| lesser(finding).to_string()).collect()
}

/// Checks that exactly one finding is there and that it begins and goes on so.
fn single(told: &[String], check: &str, words: &str) {
    assert!(told.len() == 1 && told[0].contains(words), "{check}\n{words}\n{told:#?}");
}

#[test]
fn a_turn_is_proved_only_while_it_turns() {
    for (kind, rest) in [
        ("runout", "positions = 10\ntolerance = 0.0001\n"),
        ("bar-runout", "positions = 10\nstations = [{ at = 1, tolerance = 0.0001 }]\n"),
    ] {
        for setup in ["plate", "anvil", "supports"] {
            let check =
                format!("measures = \"{kind}\"\nsetup = \"{setup}\"\ngauge = \"g\"\n{rest}");
            one(&check, &format!("c:2: error: setup \"{setup}\" cannot prove {kind}"));
        }
    }
    let turning = format!("{TAPER}setup = \"turning\"\nstations = [1, 2, 3]\n");
    one(&turning, "c:4: error: setup \"turning\" cannot prove taper: a stylus beside");
}

#[test]
fn a_turn_is_told_what_it_does_not_see() {
    let turn = |positions: u32, more: &str| {
        format!("{TURN}positions = {positions}\ntolerance = 0.0001\n{more}")
    };
    assert_eq!(told_of_check(&turn(8, "")), [""; 0]);
    assert_eq!(told_of_check(&turn(10, "")), [""; 0]);
    one(&turn(1, ""), "c:3: error: one touch says nothing about runout");
    one(&turn(5, ""), "c:3: warning: too-few-positions: 5 touches may fail runout, never pass it");
    // Each circle of a turn is judged by itself.
    one(&turn(5, "radii = [1, 2]\n"), "too-few-positions: 5 touches may fail runout");
    one(&turn(6, ""), "never pass it; three-lobe: 3 or 6 positions on a circle are blind");
    one(&turn(4, ""), "never pass it; saddle: 4 positions");
    one(&turn(12, ""), "c:3: warning: three-lobe: 12 positions on a circle are sure of only 0.71");
    let bar = "stations = [{ at = 1, tolerance = 0.0001 }]\n";
    one(&format!("{}{bar}", BAR.replace("10", "12")), "c:3: warning: three-lobe: 12");
    one(&format!("{}{bar}", BAR.replace("10", "6")), "c:3: warning: too-few-positions: 6");
    // Twelve on a face are not swept by hand, and a second time round fills the gaps.
    let face = "measures = \"flatness\"\nsetup = \"plate\"\ngauge = \"g\"\ntolerance = 0.0001\n";
    assert_eq!(told_of_check(&format!("{face}positions = 12\nradius = 1\n")), [""; 0]);
    assert_eq!(told_of_check(&format!("{face}positions = 4\npasses = 2\nradius = 1\n")), [""; 0]);
    one(
        &format!("{face}positions = 3\npasses = 2\nradii = [1, 2]\n"),
        "warning: three-lobe: 3 or 6",
    );
    one(&format!("{face}positions = 6\nradii = [1, 2]\n"), "c:5: warning: three-lobe: 3 or 6");
}

#[test]
fn the_axis_is_not_shown_on_the_wrong_side() {
    let told = |kind: &str, touch: &str| {
        told(&format!(
            "{HEAD}[[part]]\nname = \"a\"\nkind = \"{kind}\"\n[[part.check]]\nname = \"x\"\n{TURN}\
             positions = 10\ntolerance = 0.0001\ntouch = \"{touch}\"\n"
        ))
    };
    for (kind, wrong, right) in [
        ("housing", "outside", "inside"),
        ("shaft", "inside", "outside"),
        ("bar", "inside", "outside"),
    ] {
        let words = format!("p.toml:12: warning: touch \"{wrong}\" on a {kind}: the axis would");
        single(&told(kind, wrong), kind, &words);
        assert_eq!(told(kind, right), [""; 0]);
        assert_eq!(told(kind, "near-face"), [""; 0]);
    }
    assert_eq!(told("spacer", "inside"), [""; 0]);
}

#[test]
fn keys_of_turns_bars_and_tapers_are_checked() {
    let total = format!("{TURN}reads = \"total\"\ntolerance = 0.0001\n");
    let bar = |rest: &str| format!("{BAR}{rest}");
    let good = "stations = [{ at = 1, tolerance = 0.0001 }]\n";
    let cases = [
        (format!("{total}positions = 8\n"), "c:5: error: one total reading has no positions"),
        (format!("{total}closure = true\n"), "c:5: error: unknown key \"part.check.closure\""),
        (format!("{total}stand = -1\n"), "c:5: error: stand is -1 in"),
        (format!("{total}radius = 0\n"), "c:5: error: radius is 0 in"),
        (total.replace("total", "totl"), "\"part.check.reads\" is \"totl\""),
        (format!("{TURN}positions = 8\n"), "\"part.check.tolerance\" is missing"),
        (format!("{TURN}tolerance = 0.0001\n"), "\"part.check.positions\" is missing"),
        (format!("{TURN}positions = 8\ntolerance = 1\npasses = 3\n"), "from 1 to 2"),
        (format!("{TURN}positions = 8\ntolerance = 1\nmax = 2\n"), "runout has no max"),
        (format!("{TURN}positions = 8\ntolerance = 1\nstations = [1]\n"), "unknown key"),
        (bar(""), "\"part.check.stations\" is missing"),
        (bar("stations = []\n"), "c:4: error: stations should be 1 to 20 places"),
        (bar("stations = 3\n"), "c:4: error: \"part.check.stations\" is no list"),
        (bar("stations = [3]\n"), "should be a table"),
        (bar("stations = [{ at = 1 }]\n"), "\"part.check.stations.tolerance\" is missing"),
        (bar("stations = [{ tolerance = 1 }]\n"), "\"part.check.stations.at\" is missing"),
        (bar("stations = [{ at = -1, tolerance = 1 }]\n"), "c:4: error: at is -1 in"),
        (
            bar("stations = [\n{ at = 3, tolerance = 1 },\n{ at = 3, tolerance = 1 }]\n"),
            "c:6: error: the station at 3 in is not beyond the one before it",
        ),
        (bar("stations = [{ at = 1, tolerance = 1, aim = 1 }]\n"), "unknown key"),
        (
            bar(&format!("{good}tolerance = 1\n")),
            "c:5: error: bar-runout has no tolerance of its own",
        ),
        (bar(&format!("{good}seatings = 2\n")), "c:5: error: two seatings cannot show"),
        (bar(&format!("{good}seatings = 5\n")), "c:5: error: \"part.check.seatings\" should be"),
        (bar(&format!("{good}predict = [6]\n")), "c:5: error: a prediction needs two stations"),
        (bar(&format!("{good}passes = 2\n")), "unknown key \"part.check.passes\""),
        (bar(&format!("{good}radius = 1\n")), "unknown key \"part.check.radius\""),
        (TAPER.to_owned(), "\"part.check.stations\" is missing"),
        (format!("{TAPER}stations = [1]\n"), "c:4: error: stations should be 2 to 20 distances"),
        (
            format!("{TAPER}stations = [1, 2]\n"),
            "c:4: warning: two stations show the rate and no form",
        ),
        (
            format!("{TAPER}stations = [1, 3, 2]\n"),
            "c:4: error: the stations of a taper should rise",
        ),
        (
            format!("{TAPER}stations = [1, 2, 2]\n"),
            "c:4: error: the stations of a taper should rise",
        ),
        (format!("{TAPER}stations = [-1, 2, 3]\n"), "c:4: error: stations: -1 in is below zero"),
        (format!("{TAPER}stations = [1, 2, \"3 x\"]\n"), "c:4: error: stations: "),
        (
            format!("{TAPER}stations = [1, 2, 3]\nrate = \"7/0\"\n"),
            "c:5: error: \"part.check.rate\": \"7/0\" divides",
        ),
        (format!("{TAPER}stations = [1, 2, 3]\nrate = \"7/x\"\n"), "\"x\" is not a decimal number"),
        (format!("{TAPER}stations = [1, 2, 3]\nrate = 7\n"), "c:5: error: the rate is more than"),
        (
            format!("{TAPER}stations = [1, 2, 3]\npositions = 8\n"),
            "unknown key \"part.check.positions\"",
        ),
    ];
    for (check, words) in &cases {
        one(check, words);
    }
}

#[test]
fn a_length_is_told_about_its_temperatures() {
    let cases = [
        ("temperatures = [\"room/temp\"]\n", "c:8: error: temperatures should be two entries"),
        (
            "temperatures = [\"room/tmp\", \"room/free\"]\n",
            "c:8: error: there is no check \"room/tmp\" in this plan — did you mean \"room/temp\"?",
        ),
        (
            "temperatures = [\"inner/length\", \"room/free\"]\n",
            "c:8: error: \"inner/length\" measures length",
        ),
        (
            "temperatures = [\"room/temp\", \"room/free\"]\n",
            "c:8: error: \"room/temp\" is recorded in F",
        ),
        ("expansion = 12e-6\n", "c:8: warning: expansion changes nothing without temperatures"),
        (
            "temperatures = [\"room/free\", \"room/free\"]\nexpansion = 11.5\n",
            "c:9: error: expansion is 11.5 per degree C — steel is 11.5e-6",
        ),
        (
            "temperatures = [\"room/free\", \"room/free\"]\nmaster_expansion = \"x\"\n",
            "\"x\" is not a decimal number",
        ),
        ("judge = \"median\"\n", "\"part.check.judge\" is \"median\""),
        ("stand = 1\n", "unknown key \"part.check.stand\""),
    ];
    for (rest, words) in cases {
        let check = format!("{LENGTH}{rest}");
        single(&told_beside(&check), &check, words);
    }
}

#[test]
fn a_difference_is_taken_of_two_lengths() {
    const OF: &str = "measures = \"difference\"\nof = [\"outer/length\", \"inner/length\"]\n";
    let of = |of: &str| format!("measures = \"difference\"\ntolerance = 1\n{of}");
    let with = |rest: &str| format!("{OF}tolerance = 0.0001\n{rest}");
    let cases = [
        (of(""), "\"part.check.of\" is missing"),
        (of("of = [\"outer/length\"]\n"), "c:3: error: a difference is taken of two lengths"),
        (
            of("of = [\"outer/length\", \"outer/length\"]\n"),
            "c:3: error: a difference is taken of two different lengths",
        ),
        (
            of("of = [\"oter/length\", \"inner/length\"]\n"),
            "c:3: error: there is no check \"oter/length\" in this plan — did you mean \"outer/length\"?",
        ),
        (
            of("of = [\"outer/length\", \"room/temp\"]\n"),
            "c:3: error: \"room/temp\" measures entry — name a check with measures = \"length\"",
        ),
        (of("of = [\"outer/length\", 3]\n"), "should be a text in quotes"),
        (OF.to_owned(), "error: a difference needs a tolerance"),
        (
            format!("{OF}tolerance = 1\nmin = 1\nmax = 2\n"),
            "c:3: error: both a tolerance and a min or max",
        ),
        (format!("{OF}min = 1\n"), "\"part.check.max\" is missing"),
        (format!("{OF}min = 2\nmax = 1\n"), "c:3: error: min 2 in is not below max 1 in"),
        (format!("{OF}min = 1\nmax = 2\nnominal = 3\n"), "c:5: error: nominal 3 in is not between"),
        (with("aim = 1\n"), "c:4: error: the aim 1 in is looser"),
        (with("arrangement = \"back-to-bak\"\n"), "\"part.check.arrangement\" is \"back-to-bak\""),
        (with("preload = \"200 N\"\n"), "c:4: error: preload is given without deflection"),
        (with("deflection = \"4 um\"\n"), "c:4: error: deflection is given without preload"),
        (with("preload = \"200 lb\"\ndeflection = \"4 um\"\n"), "is not a force such as \"200 N\""),
        (with("preload = \"0 N\"\ndeflection = \"4 um\"\n"), "\"0 N\" is not above zero"),
        (
            with("offsets_left = [\"room/off\"]\n"),
            "c:4: error: offsets_left is given without offsets_right",
        ),
        (
            with("offsets_right = [\"room/off\"]\n"),
            "c:4: error: offsets_right is given without offsets_left",
        ),
        (with("offset_uncertainty = -1\n"), "c:4: error: offset_uncertainty is -1 in"),
        (with("temperature_between = -1\n"), "c:4: error: temperature_between should be 0 to 50"),
        (with("off_20 = 68\n"), "c:4: error: off_20 should be 0 to 50 degrees C"),
        (
            with("expansion_uncertainty = 1\n"),
            "c:4: error: expansion_uncertainty is 1 per degree C",
        ),
        (
            with("master = \"both\"\n"),
            "c:4: warning: a difference touches nothing: master belongs to its two lengths",
        ),
        (with("gauge = \"plate\"\n"), "c:4: error: unknown key \"part.check.gauge\""),
        (with("positions = 8\n"), "c:4: error: unknown key \"part.check.positions\""),
    ];
    for (check, words) in &cases {
        single(&told_beside(check), check, words);
    }
    let sides = |left: &str, right: &str, rest: &str| {
        with(&format!("offsets_left = [{left}]\noffsets_right = [{right}]\n{rest}"))
    };
    let (off, tandem) = ("\"room/off\"", "arrangement = \"back-to-back\"\n");
    let cases = [
        (sides(off, off, ""), "c:4: error: offsets are given without the arrangement"),
        (
            sides(off, off, &format!("{tandem}nominal = 0\n")),
            "c:7: error: nominal and the offsets both say",
        ),
        (sides(off, "", tandem), "c:5: error: offsets_right should be one entry or more"),
        (
            sides(off, "\"room/temp\"", tandem),
            "c:5: error: \"room/temp\" is recorded in F, and an offset is a length",
        ),
        (sides(off, "\"outer/length\"", tandem), "c:5: error: \"outer/length\" measures length"),
    ];
    for (check, words) in &cases {
        single(&told_beside(check), check, words);
    }
    assert_eq!(told_beside(&sides(off, "\"room/free\"", tandem)), [""; 0]);
}

#[test]
fn a_pair_wants_one_master_and_the_outer_ring_first() {
    const PAIR: &str = "measures = \"difference\"\ntolerance = 0.0001\n";
    let of =
        |first: &str, second: &str| format!("of = [\"{first}/length\", \"{second}/length\"]\n");
    let check = format!("{PAIR}{}", of("outer", "inner"));
    let told = |masters: [&str; 2]| told_beside_with(&check, ["inner", "outer"], masters);
    assert_eq!(told(["", ""]), [""; 0]);
    single(
        &told(["", "master_size = 2\n"]),
        &check,
        "c:3: warning: the two lengths have masters of different sizes",
    );
    single(
        &told(["master = \"none\"\n", ""]),
        &check,
        "c:3: warning: inner/length touches no master",
    );
    single(
        &told(["master = \"none\"\n", "master = \"none\"\n"]),
        &check,
        "outer/length touches no master",
    );
    // The same size written otherwise is the same size.
    assert_eq!(told(["", "master_size = \"25.4 mm\"\n"]), [""; 0]);
    let round = format!("{PAIR}{}arrangement = \"tandem\"\n", of("inner", "outer"));
    single(
        &told_beside(&round),
        &round,
        "c:3: warning: the first of a pair with an arrangement is the ring between the outer rings",
    );
    assert_eq!(told_beside(&format!("{PAIR}{}", of("inner", "outer"))), [""; 0]);
}

#[test]
fn questions_are_checked() {
    let asks = |rest: &str| format!("{CONFIRM}question = \"which way up?\"\n{rest}");
    let cases = [
        (format!("{CONFIRM}good = [\"yes\"]\n"), "\"part.check.question\" is missing"),
        (
            format!("{CONFIRM}question = \" \"\ngood = [\"yes\"]\n"),
            "c:2: error: the question is empty",
        ),
        (asks(""), "\"part.check.good\" is missing"),
        (asks("good = []\n"), "c:3: error: no answer is good"),
        (
            asks("good = [\"yse\"]\n"),
            "c:3: error: \"yse\" is none of the answers — known here: no, yes",
        ),
        (
            asks("answers = [\"up\", \"down\"]\ngood = [\"dwn\"]\n"),
            "c:4: error: \"dwn\" is none of the answers",
        ),
        (
            asks("answers = [\"up\"]\ngood = [\"up\"]\n"),
            "c:3: error: answers should be at least two",
        ),
        (
            asks("answers = [\"up\", \"up\"]\ngood = [\"up\"]\n"),
            "c:3: error: an answer is there twice",
        ),
        (asks("answers = [\"up\", \"\"]\ngood = [\"up\"]\n"), "c:3: error: an answer is empty"),
        (asks("good = [\"yes\"]\ntolerance = 1\n"), "unknown key \"part.check.tolerance\""),
        (asks("good = [\"yes\"]\nunit = \"in\"\n"), "unknown key \"part.check.unit\""),
        ("measures = \"entry\"\n".to_owned(), "\"part.check.question\" is missing"),
        (
            "measures = \"entry\"\nquestion = \"?\"\ngood = [\"a\"]\n".to_owned(),
            "unknown key \"part.check.good\"",
        ),
    ];
    for (check, words) in &cases {
        one(check, words);
    }
}

#[test]
fn a_question_asks_which_and_not_whether() {
    let asks = |question: &str, answers: &str| {
        format!("{CONFIRM}question = \"{question}\"\nanswers = [{answers}]\ngood = [\"Yes\"]\n")
    };
    let words = "c:2: warning: a question whether all is right is answered with yes by habit — ask \
                 which, where or how, not whether it is right";
    one(&asks("Is it right?", "\"Yes\", \"no\""), words);
    one(&asks("stack OK?", "\"no\", \"Yes\""), words);
    one(&asks("is the order correct", "\"Yes\", \"No\""), words);
    for (question, answers) in [
        ("Is it right?", "\"Yes\", \"no\", \"cannot see\""),
        ("is the mark bright?", "\"Yes\", \"no\""),
        ("are the faces clean?", "\"Yes\", \"no\""),
    ] {
        assert_eq!(told_of_check(&asks(question, answers)), [""; 0], "{question}");
    }
}

#[test]
fn the_stack_is_checked() {
    let stack = |stack: &str| {
        let part = "[[part]]\nname = \"ring\"\n[[part.check]]\nname = \"n\"\nmeasures = \"entry\"\n\
                    question = \"?\"\n";
        told(&format!("{HEAD}{part}[[stack]]\n{stack}"))
    };
    let ways = "part = \"ring\"\nways = [\"a\", \"b\"]\n";
    let cases = [
        ("mark = true\n".to_owned(), "p.toml:9: error: \"stack.part\" is missing"),
        (
            "part = \"rng\"\n".to_owned(),
            "p.toml:10: error: there is no part \"rng\" in this plan — did you mean \"ring\"?",
        ),
        (
            "part = \"ring\"\n[[stack]]\npart = \"ring\"\n".to_owned(),
            "p.toml:12: error: ring is on the stack twice, first on line 10",
        ),
        (
            "part = \"ring\"\nways = [\"a\"]\n".to_owned(),
            "p.toml:11: error: ways should be the names of its two faces",
        ),
        ("part = \"ring\"\nways = [\"a\", \"a\"]\n".to_owned(), "p.toml:11: error: ways should be"),
        (
            "part = \"ring\"\ntowards_nose = \"a\"\n".to_owned(),
            "p.toml:11: error: \"a\" is none of its ways",
        ),
        (
            format!("{ways}towards_nose = \"c\"\n"),
            "p.toml:12: error: \"c\" is none of its ways — known here: a, b",
        ),
        (
            format!("{ways}mark = false\nmark_deg = 90\n"),
            "p.toml:12: error: mark_deg is given, and mark = false",
        ),
        (format!("{ways}mark_deg = 360\n"), "a whole number from 0 to 359"),
        (format!("{ways}angle = 90\n"), "unknown key \"stack.angle\""),
    ];
    for (text, words) in &cases {
        single(&stack(text), text, words);
    }
}

/// What `config check` says of a check on a bench with one gauge: resolution 0.00001 in.
fn doubts(check: &str, repeatability: Option<&str>) -> Vec<String> {
    let text = format!("{HEAD}[[part]]\nname = \"a\"\n[[part.check]]\nname = \"x\"\n{check}");
    let read = read(&text, "p");
    assert!(read.findings.is_empty(), "{:#?}", read.findings);
    let name = Name::new("g").unwrap();
    let gauge = GaugeSetup {
        name: name.clone(),
        kind: GaugeKind::Indicator,
        unit: None,
        resolution: Quoted::parse("0.00001", Unit::Inch).unwrap(),
        uncertainty: Some(inch("0.0000084")),
        repeatability: repeatability.map(inch),
        travel: None,
        serial: None,
        calibration_due: None,
    };
    let gauges = BTreeMap::from([(name, Some(gauge))]);
    let findings = fit::findings("p", &read.plan.unwrap(), &read.lines, &gauges);
    findings.iter().map(ToString::to_string).collect()
}

#[test]
fn gauges_are_held_against_each_station_of_a_bar() {
    let bar = |near: &str, far: &str, rest: &str| {
        format!(
            "{BAR}stations = [\n{{ at = 0.25, tolerance = {near} }},\n{{ at = \"3 in\", tolerance = \
             {far} }}]\n{rest}"
        )
    };
    // U = 2·√(2·6² + (2·4)²) = 23.3 millionths, below a quarter of 0.0001; with 10 for a seating
    // U = 2·√(72 + 400) = 43.5, above it and below a quarter of 0.0002.
    let s = Some("0.000006");
    assert_eq!(doubts(&bar("0.0001", "0.0002", "seating = 0.000004\n"), s), [""; 0]);
    let near = "p:11: warning: seated once, the bar is known to ± 0.000044 in at 0.25 in, more than \
                a quarter of the tolerance — seat it four times: write seatings = 4";
    assert_eq!(doubts(&bar("0.0001", "0.0002", "seating = 0.00001\n"), s), [near]);
    assert_eq!(doubts(&bar("0.0001", "0.0002", "seating = 0.00001\nseatings = 4\n"), s), [""; 0]);
    // Without a repeatability the stated uncertainty stands in for it: U = 2·√(2·8.4² + 8²) = 28.6.
    let told = doubts(&bar("0.0001", "0.0002", "seating = 0.000004\n"), None);
    single(&told, "stated", "known to ± 0.000029 in at 0.25 in");
    let told = doubts(&bar("0.0001", "0.000039", "seatings = 4\n"), s);
    let far = "p:12: warning: gauge-too-coarse: a step of gauge \"g\", 0.00001 in, is more than a \
               quarter of the tolerance at 3 in; it may fail x, never pass it";
    single(&told, "far", far);
}

#[test]
fn gauges_are_held_against_turns_and_tapers_and_nothing_else() {
    let turn = format!("{TURN}positions = 10\ntolerance = 0.000039\n");
    single(&doubts(&turn, None), &turn, "p:10: warning: gauge-too-coarse");
    let closed = format!("{TURN}positions = 10\ntolerance = 0.00005\nclosure = true\n");
    single(
        &doubts(&closed, None),
        &closed,
        "p:10: warning: gauge \"g\" cannot check its own return",
    );
    let taper = format!("{}stations = [1, 2, 3]\n", TAPER.replace("0.0002", "0.000039"));
    single(&doubts(&taper, None), &taper, "p:9: warning: gauge-too-coarse");
    assert_eq!(doubts("measures = \"entry\"\nquestion = \"?\"\n", None), [""; 0]);
}
