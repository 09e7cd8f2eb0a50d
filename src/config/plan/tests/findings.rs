//! Every finding about a plan has its message.

use super::*;

const CONFIRM: &str = "measures = \"confirm\"\n";

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
