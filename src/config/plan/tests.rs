mod findings;
mod gauges;
mod keys;
mod pairs;
mod shipped;
mod steps;

use super::*;
use bench::plan::{Advance, Direction, Flatness, Holding, MasterUse, Measures, Moves, Surface};
use judgement::{Limits, Rule};
use quantity::{Length, Name};

fn inch(text: &str) -> Length {
    Length::parse(text, Unit::Inch).unwrap()
}

/// The findings of a whole plan file, as a person reads them.
fn told(text: &str) -> Vec<String> {
    read(text, "p.toml").findings.iter().map(ToString::to_string).collect()
}

/// The findings of one check; its own first line is line 1.
fn told_of_check(check: &str) -> Vec<String> {
    let head = 6;
    let text = format!(
        "name = \"w\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\n[[part.check]]\nname = \"a\"\n{check}"
    );
    let lesser = |finding: &Finding| Finding {
        line: finding.line.map(|line| line.saturating_sub(head)),
        file: "c".to_owned(),
        ..finding.clone()
    };
    read(&text, "p.toml").findings.iter().map(|finding| lesser(finding).to_string()).collect()
}

/// Checks that exactly one finding is there and that it says these words.
fn one(check: &str, words: &str) {
    let told = told_of_check(check);
    assert!(told.len() == 1 && told[0].contains(words), "{check}\n{words}\n{told:#?}");
}

const HEAD: &str = "name = \"p\"\nunit = \"in\"\n";
const TURN: &str = "measures = \"runout\"\ngauge = \"g\"\n";
const BAR: &str = "measures = \"bar-runout\"\ngauge = \"g\"\npositions = 10\n";
const TAPER: &str = "measures = \"taper\"\ngauge = \"g\"\ntolerance = 0.0002\n";

/// Checks that exactly one finding is there and that it says these words.
fn single(told: &[String], check: &str, words: &str) {
    assert!(told.len() == 1 && told[0].contains(words), "{check}\n{words}\n{told:#?}");
}

const FULL: &str = r#"
name = "wheelhead"
unit = "in"
rule = "simple"
[[part]]
name = "inner-spacer"
kind = "spacer"
[[part.check]]
name = "face-a"
measures = "flatness"
gauge = "plate"
setup = "supports"
moves = "stand"
touch = "far-face"
direction = "cw"
positions = 8
radii = ["1.2 in", 1.5]
tolerance = "2.54 um"
aim = 0.00005
closure = true
advance = "auto"
[[part.check]]
name = "length"
measures = "length"
gauge = "height"
setup = "plate"
positions = 4
min = "1.4990 in"
nominal = 1.5
max = 1.5010
master_size = "1.5000 in"
"#;

#[test]
fn every_key_reaches_the_plan() {
    let plan = parse_plan(FULL, "p.toml").unwrap();
    assert_eq!(
        (plan.name.as_str(), plan.unit, plan.rule),
        ("wheelhead", Unit::Inch, Some(Rule::Simple))
    );
    let (part, face) = plan.at(plan.find("inner-spacer", "face-a").unwrap()).unwrap();
    assert_eq!(part.kind, PartKind::Spacer);
    assert_eq!(face.measures, Flatness.into());
    assert_eq!(face.gauge, Some(Name::new("plate").unwrap()));
    assert_eq!((face.setup, face.moves), (Holding::Supports, Moves::Stand));
    assert_eq!((face.surface, face.direction), (Surface::FarFace, Direction::Clockwise));
    assert_eq!((face.positions, face.total()), (8, 16));
    assert_eq!(face.radii, [inch("1.2"), inch("1.5")]);
    assert_eq!(face.limits, Some(Limits::Max(inch("0.0001"))));
    assert_eq!((face.unit, face.aim), (Unit::Micrometre, Some(inch("0.00005"))));
    assert_eq!((face.closure, face.master, face.master_size), (true, MasterUse::None, None));
    assert_eq!(face.advance, Advance::Auto);
}

#[test]
fn what_is_left_out_is_what_a_bench_expects() {
    let plan = parse_plan(FULL, "p.toml").unwrap();
    let (_, length) = plan.at(plan.find("inner-spacer", "length").unwrap()).unwrap();
    assert_eq!(length.limits, Some(Limits::Band { min: inch("1.499"), max: inch("1.501") }));
    assert_eq!((length.nominal, length.master_size), (Some(inch("1.5")), Some(inch("1.5"))));
    assert_eq!((length.moves, length.surface), (Moves::Ring, Surface::NearFace));
    assert_eq!((length.direction, length.advance), (Direction::CounterClockwise, Advance::Hold));
    // A master before and after, and back to position 0 at the end, unless the plan says no.
    assert_eq!((length.master, length.closure), (MasterUse::Both, true));
    assert!(length.radii.is_empty() && length.total() == 4);
    let open = FULL.replace("closure = true\n", "");
    let open = parse_plan(&open, "p.toml").unwrap();
    assert!(!open.parts[0].checks[0].closure, "supports are asked for it, not given it");
}

#[test]
fn every_mistake_of_a_file_is_told_at_once() {
    let text = r#"
unit = "inch"
rule = "gaurded"
nmae = "w"
[[part]]
name = "a/b"
kind = "spacre"
[[part.check]]
name = "x"
measures = "paralelism"
[[part]]
name = "ring"
[[part.check]]
name = "x"
measures = "flatness"
gauge = "plate"
setup = "anvil"
positions = 3
tolerance = -0.0001
radius = 0
[[part.check]]
name = "x"
measures = "run-out"
stations = 3
[[part]]
name = "ring"
"#;
    let told = told(text);
    let wanted = [
        "p.toml:1: error: \"name\" is missing",
        "p.toml:2: error: \"unit\" is \"inch\"",
        "p.toml:3: error: \"rule\" is \"gaurded\"",
        "p.toml:4: error: unknown key \"nmae\" — did you mean \"name\"?",
        "p.toml:6: error: \"part.name\": a name may hold no slash",
        "p.toml:7: error: \"part.kind\" is \"spacre\"",
        "p.toml:10: error: \"part.check.measures\" is \"paralelism\"",
        "p.toml:17: error: setup \"anvil\" cannot prove flatness",
        "p.toml:19: error: tolerance is -0.0001 in",
        "p.toml:20: error: radius is 0 in",
        "p.toml:22: error: two checks of this part are named \"x\", the first on line 14",
        "p.toml:23: error: \"part.check.measures\" is \"run-out\"",
        "p.toml:25: error: \"part.check\" is missing",
        "p.toml:26: error: two parts are named \"ring\", the first on line 12",
    ];
    assert_eq!(told.len(), wanted.len(), "{told:#?}");
    for (told, wanted) in told.iter().zip(wanted) {
        assert!(told.starts_with(wanted), "{told}\n{wanted}");
    }
}

#[test]
fn a_set_up_that_cannot_prove_its_figure_is_an_error() {
    // What a reading is in each set-up: plate, a height above it; anvil, local thickness;
    // supports, a height above a plane of their own; turning, runout.
    let provable = [
        ("length", "plate"),
        ("length", "anvil"),
        ("thickness-variation", "anvil"),
        ("parallelism", "plate"),
        ("flatness", "plate"),
        ("flatness", "supports"),
    ];
    for figure in ["length", "thickness-variation", "parallelism", "flatness"] {
        for setup in ["plate", "anvil", "supports", "turning"] {
            let limits = if figure == "length" {
                "min = 1\nmax = 2\nmaster = \"none\""
            } else {
                "tolerance = 0.0001\nradius = 1.5"
            };
            let check = format!(
                "measures = \"{figure}\"\nsetup = \"{setup}\"\ngauge = \"g\"\npositions = 8\n{limits}\n"
            );
            if provable.contains(&(figure, setup)) {
                assert_eq!(told_of_check(&check), [""; 0], "{figure} {setup}");
            } else {
                one(&check, &format!("c:2: error: setup \"{setup}\" cannot prove {figure}"));
            }
        }
    }
}

#[test]
fn too_few_touches_are_told() {
    let face = |figure: &str, setup: &str, positions: u32, radii: &str| {
        format!(
            "measures = \"{figure}\"\nsetup = \"{setup}\"\ngauge = \"g\"\ntolerance = 0.0001\n\
             positions = {positions}\nradii = {radii}\n"
        )
    };
    let few = "c:5: warning: too-few-positions: 6 touches may fail parallelism, never pass it";
    one(&face("parallelism", "plate", 6, "[1.5]"), few);
    assert_eq!(told_of_check(&face("parallelism", "plate", 7, "[1.5]")), [""; 0]);
    let saddle = "c:5: warning: saddle: 4 positions on a circle are blind to a saddle";
    one(&face("flatness", "plate", 4, "[1.2, 1.5]"), saddle);
    one(&face("flatness", "plate", 3, "[1.5]"), "c:5: error: 3 touches cannot prove flatness");
    one(&face("flatness", "plate", 4, "[1.5]"), "c:5: warning: too-few-positions");
    one(&face("flatness", "plate", 2, "[1, 2, 3, 4]"), "c:5: error: all 8 touches lie on one line");
    one(&face("thickness-variation", "anvil", 1, "[1]"), "c:5: error: one touch says nothing");
    let length = "measures = \"length\"\nsetup = \"plate\"\ngauge = \"g\"\npositions = 1\nmin = 1\n\
                  max = 2\nmaster = \"none\"\n";
    assert_eq!(told_of_check(length), [""; 0]);
}

#[test]
fn an_indicator_that_is_swung_round_the_part_sags_and_is_refused() {
    let turn = "measures = \"runout\"\ngauge = \"g\"\npositions = 10\ntolerance = 0.0001\ntouch = \"outside\"\n";
    assert_eq!(told_of_check(turn), [""; 0]);
    assert_eq!(told_of_check(&format!("{turn}moves = \"ring\"\n")), [""; 0]);
    let swung =
        "c:6: error: moves = \"stand\": this check reads a part that turns under a fixed stylus";
    one(&format!("{turn}moves = \"stand\"\n"), swung);
}

#[test]
fn limits_masters_and_radii_are_checked() {
    let face = "measures = \"flatness\"\nsetup = \"plate\"\ngauge = \"g\"\npositions = 8\n";
    let length = "measures = \"length\"\nsetup = \"plate\"\ngauge = \"g\"\npositions = 4\n";
    let cases = [
        (face, "tolerance = 0.0001\n", "flatness needs the radius"),
        (face, "radius = 1\n", "\"part.check.tolerance\" is missing"),
        (face, "radius = 1\ntolerance = 0\n", "c:6: error: tolerance is 0 in"),
        (face, "radius = 1\ntolerance = \"1 furlong\"\n", "\"1 furlong\" is not a decimal number"),
        (face, "radius = 1\ntolerance = 1e-4\n", "\"1e-4\" is not a decimal number"),
        (face, "radius = 1\ntolerance = 1\naim = 2\n", "c:7: error: the aim 2 in is looser"),
        (face, "radius = 1\ntolerance = 1\nmax = 2\n", "c:7: error: flatness has no max"),
        (face, "radius = 1\nradii = [1]\ntolerance = 1\n", "both radius and radii"),
        (
            face,
            "radii = [1, \"1 in\"]\ntolerance = 1\n",
            "c:5: error: the radius 1 in is there twice",
        ),
        (face, "radii = [1, -1]\ntolerance = 1\n", "the radius -1 in is not above zero"),
        (face, "radii = []\ntolerance = 1\n", "radii should be 1 to 20 lengths"),
        (face, "radius = 1\ntolerance = 1\nmaster = \"both\"\n", "master_size is missing"),
        (length, "min = 1\nmax = 2\n", "error: a length is held against a master"),
        (length, "min = 1\nmaster_size = 1\n", "\"part.check.max\" is missing"),
        (
            length,
            "min = 2\nmax = 2\nmaster_size = 1\n",
            "c:5: error: min 2 in is not below max 2 in",
        ),
        (length, "min = 1\nmax = 2\nnominal = 3\nmaster_size = 1\n", "nominal 3 in is not between"),
        (length, "min = 1\nmax = 2\ntolerance = 3\nmaster_size = 1\n", "a length has no tolerance"),
    ];
    for (check, rest, words) in cases {
        let check = format!("{check}{rest}");
        one(&check, words);
    }
}
