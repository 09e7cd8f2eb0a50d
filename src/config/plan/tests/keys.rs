//! Every key of every kind of check reaches the plan.

use num_rational::Ratio;

use super::*;
use bench::plan::{
    Arrangement, Ask, BarRun, BarStation, Check, CheckAt, Entry, NotStated, Pair, Seatings, Size,
    SizeJudged, StackPlace, Taper, Turn, steel,
};

const ALL: &str = r#"
name = "all"
unit = "in"
[[part]]
name = "room"
[[part.check]]
name = "part"
measures = "entry"
question = "temperature of the part"
unit = "C"
[[part.check]]
name = "master"
measures = "entry"
question = "temperature of the master"
[[part.check]]
name = "left"
measures = "entry"
question = "face offset"
unit = "um"
[[part.check]]
name = "right"
measures = "entry"
question = "face offset"
unit = "um"
[[part]]
name = "outer"
kind = "spacer"
[[part.check]]
name = "length"
measures = "length"
gauge = "plate"
setup = "plate"
positions = 4
passes = 2
min = 1.9990
max = 2.0010
master_size = 2
judge = "every-touch"
temperatures = ["room/part", "room/master"]
expansion = 23e-6
master_expansion = "4e-6"
master_uncertainty = "0.1 um"
temperature_between = 0.2
expansion_uncertainty = 0.5e-6
down = "face-b"
[[part]]
name = "inner"
kind = "spacer"
[[part.check]]
name = "length"
measures = "length"
gauge = "plate"
setup = "plate"
positions = 4
min = 1.9990
max = 2.0010
master = "opening"
master_size = 2
[[part.check]]
name = "match"
measures = "difference"
of = ["outer/length", "inner/length"]
arrangement = "face-to-face"
tolerance = "2 um"
aim = "1 um"
preload = "0.25 kN"
deflection = "4 um"
offsets_left = ["room/left", "room/right"]
offsets_right = ["room/right"]
offset_uncertainty = "0.2 um"
temperature_between = 0.1
off_20 = 2
expansion = 12e-6
expansion_uncertainty = 0.5e-6
advance = "auto"
[[part.check]]
name = "plain"
measures = "difference"
of = ["inner/length", "outer/length"]
nominal = 0.0002
tolerance = 0.0001
[[part.check]]
name = "banded"
measures = "difference"
of = ["outer/length", "inner/length"]
arrangement = "tandem"
nominal = "1 um"
min = "-1 um"
max = "2 um"
[[part]]
name = "spindle"
kind = "shaft"
[[part.check]]
name = "pilot"
measures = "runout"
gauge = "plate"
setup = "turning"
touch = "outside"
positions = 10
radii = [1, 2]
passes = 2
tolerance = 0.0001
aim = 0.00005
stand = "1 um"
seating = "2 um"
bar = "3 um"
[[part.check]]
name = "face"
measures = "runout"
gauge = "plate"
reads = "total"
radius = 1
tolerance = 0.0001
[[part.check]]
name = "bar"
measures = "bar-runout"
gauge = "plate"
positions = 10
stations = [{ at = 0.25, tolerance = "0.0001 in" }, { at = "3 in", tolerance = "2 um", seating = 0 }]
seatings = 3
predict = ["6 in", 12]
stand = "1 um"
seating = "2 um"
bar = "3 um"
[[part.check]]
name = "taper"
measures = "taper"
gauge = "plate"
rate = "7/24"
station_uncertainty = "0.0003 in"
stations = [0.5, "2 in", 3]
tolerance = 0.0002
[[part.check]]
name = "bore"
measures = "taper"
gauge = "plate"
setup = "plate"
rate = 0.0500
station_uncertainty = 0.001
stations = [1, 2, 3]
tolerance = 0.0002
[[part.check]]
name = "seat"
measures = "taper"
gauge = "plate"
stations = [1, 2, 3]
tolerance = 0.0002
[[part.check]]
name = "mark"
measures = "confirm"
question = "which face carries the mark?"
answers = ["a", "b", "none"]
good = ["a", "b"]
[[part.check]]
name = "clean"
measures = "confirm"
question = "are the faces clean?"
good = ["yes"]
[[stack]]
part = "inner"
ways = ["face-a", "face-b"]
towards_nose = "face-b"
mark_deg = 90
[[stack]]
part = "outer"
mark = true
[[stack]]
part = "room"
"#;

fn all() -> Plan {
    parse_plan(ALL, "p.toml").unwrap_or_else(|findings| panic!("{findings:#?}"))
}

fn at(plan: &Plan, part: &str, check: &str) -> CheckAt {
    plan.find(part, check).unwrap()
}

fn check(part: &str, check: &str) -> Check {
    let plan = all();
    plan.at(at(&plan, part, check)).unwrap().1.clone()
}

fn um(text: &str) -> Length {
    Length::parse(text, Unit::Micrometre).unwrap()
}

#[test]
fn nothing_is_wrong_with_any_key() {
    assert_eq!(told(ALL), [""; 0]);
}

#[test]
fn a_length_may_be_brought_to_twenty_degrees() {
    let plan = all();
    let length = check("outer", "length");
    let size: Size = length.measures.told();
    assert_eq!(size.judge, SizeJudged::EveryTouch);
    assert_eq!(size.temperatures, Some([at(&plan, "room", "part"), at(&plan, "room", "master")]));
    assert_eq!(size.expansions, [Ratio::new(23, 1_000_000), Ratio::new(4, 1_000_000)]);
    assert_eq!((size.master_u, size.between_c), (Some(um("0.1")), Some(Ratio::new(1, 5))));
    assert_eq!((size.off_20_c, size.expansion_u), (None, Some(Ratio::new(5, 10_000_000))));
    assert_eq!((length.passes, length.total()), (2, 8));
    assert_eq!(length.down.as_deref(), Some("face-b"));
    let plain = check("inner", "length");
    assert_eq!(plain.measures, Size::default().into());
    assert_eq!((plain.master, plain.passes, plain.down), (MasterUse::Opening, 1, None));
}

#[test]
fn a_turn_has_its_own_uncertainties() {
    let pilot = check("spindle", "pilot");
    let turn: Turn = pilot.measures.told();
    assert!(!pilot.total_only());
    assert_eq!((turn.stand, turn.seating, turn.bar), (um("1"), um("2"), um("3")));
    assert_eq!((pilot.setup, pilot.surface), (Holding::Turning, Surface::Outside));
    assert_eq!((pilot.passes, pilot.total(), pilot.closure), (2, 40, false));
    assert_eq!(pilot.limits, Some(Limits::Max(inch("0.0001"))));
    assert_eq!(pilot.aim, Some(inch("0.00005")));
    let face = check("spindle", "face");
    let turn: Turn = face.measures.told();
    assert!(face.total_only());
    assert_eq!((turn.stand, face.setup, face.total()), (Length::ZERO, Holding::Turning, 1));
    assert_eq!((face.radii, face.closure), (vec![inch("1")], false));
}

#[test]
fn a_bar_has_stations_and_seatings() {
    let check = check("spindle", "bar");
    let bar: BarRun = check.measures.told();
    let station = |at, tolerance, seating| BarStation {
        at: inch(at),
        limits: Limits::Max(tolerance),
        seating: um(seating),
    };
    let stations = [station("0.25", inch("0.0001"), "2"), station("3", um("2"), "0")];
    assert_eq!(bar.stations, stations);
    assert_eq!((bar.seatings, check.total()), (Seatings::Three, 60));
    assert_eq!(bar.predict, [inch("6"), inch("12")]);
    assert_eq!((bar.stand, bar.bar), (um("1"), um("3")));
    // The tightest station, in the unit of its tolerance.
    assert_eq!((check.limits, check.unit), (Some(Limits::Max(um("2"))), Unit::Micrometre));
    assert_eq!((check.setup, check.surface), (Holding::Turning, Surface::Outside));
}

#[test]
fn a_difference_knows_its_rings_and_bearings() {
    let plan = all();
    let check = check("inner", "match");
    let pair: Pair = check.measures.told();
    assert_eq!(pair.of, [at(&plan, "outer", "length"), at(&plan, "inner", "length")]);
    assert_eq!(pair.arrangement, Some(Arrangement::FaceToFace));
    assert_eq!(pair.preload, Some((250.0, um("4"))));
    let (left, right) = (at(&plan, "room", "left"), at(&plan, "room", "right"));
    assert_eq!(pair.offsets, Some([vec![left, right], vec![right]]));
    assert_eq!(pair.offset_u, Some(um("0.2")));
    assert_eq!((pair.between_c, pair.off_20_c), (Ratio::new(1, 10), Ratio::from(2)));
    assert_eq!(pair.expansion, Ratio::new(12, 1_000_000));
    assert_eq!(pair.expansion_u, Ratio::new(5, 10_000_000));
    assert_eq!(pair.assumed, NotStated::default());
    assert_eq!(check.limits, Some(Limits::Band { min: um("-2"), max: um("2") }));
    assert_eq!((check.aim, check.unit), (Some(um("1")), Unit::Micrometre));
    assert_eq!((check.gauge, check.advance), (None, Advance::Auto));
}

#[test]
fn what_is_left_out_of_a_difference_is_assumed() {
    let plain = check("inner", "plain");
    let pair: Pair = plain.measures.told();
    assert_ne!(pair.assumed, NotStated::default());
    assert_eq!((pair.between_c, pair.off_20_c), (Ratio::new(1, 5), Ratio::from(1)));
    assert_eq!((pair.expansion, pair.expansion_u), (steel(), Ratio::new(1, 1_000_000)));
    assert_eq!((pair.preload, pair.arrangement, &pair.offsets), (None, None, &None));
    // As much either side of what is asked for.
    assert_eq!(plain.limits, Some(Limits::Band { min: inch("0.0001"), max: inch("0.0003") }));
    assert_eq!(plain.nominal, Some(inch("0.0002")));
    let banded = check("inner", "banded");
    assert_eq!(banded.limits, Some(Limits::Band { min: um("-1"), max: um("2") }));
    assert_eq!((banded.nominal, banded.total()), (Some(um("1")), 0));
    // One figure of three left out is still an assumption.
    let one = ALL.replace("off_20 = 2\n", "");
    let plan = parse_plan(&one, "p.toml").unwrap();
    let (_, check) = plan.at(at(&plan, "inner", "match")).unwrap();
    assert_ne!(check.measures.told::<Pair>().assumed, NotStated::default());
}

#[test]
fn a_taper_has_a_rate_and_stations() {
    for (name, rate, setup) in [
        ("taper", Ratio::new(7, 24), Holding::Supports),
        ("bore", Ratio::new(1, 20), Holding::Plate),
        ("seat", Ratio::from(0), Holding::Supports),
    ] {
        let check = check("spindle", name);
        let taper: Taper = check.measures.told();
        assert_eq!((taper.rate, check.setup), (rate, setup), "{name}");
        assert_eq!((check.total(), check.closure), (3, false));
    }
    let check = check("spindle", "taper");
    let taper: Taper = check.measures.told();
    assert_eq!(taper.stations, [inch("0.5"), inch("2"), inch("3")]);
}

#[test]
fn questions_keep_their_words() {
    let texts = |texts: &[&str]| texts.iter().map(|&text| text.to_owned()).collect::<Vec<_>>();
    let mark = check("spindle", "mark");
    let question = "which face carries the mark?".to_owned();
    let (answers, good) = (texts(&["a", "b", "none"]), texts(&["a", "b"]));
    assert_eq!(mark.measures, Ask { question, answers, good }.into());
    assert_eq!((mark.limits, mark.total(), mark.gauge), (None, 0, None));
    let clean = check("spindle", "clean");
    let ask: Ask = clean.measures.told();
    assert_eq!(ask.answers, ["yes", "no"]);
    let entry = check("room", "part");
    let question = "temperature of the part".to_owned();
    let unit = Some("C".to_owned());
    assert_eq!(
        entry.measures,
        Entry { question, unit, thermometer: None, columns: None, u: None }.into()
    );
    assert_eq!(entry.total(), 0);
}

#[test]
fn the_stack_runs_from_the_nose_inwards() {
    let place = |part, marked| StackPlace {
        part,
        ways: Vec::new(),
        towards_nose: None,
        marked,
        mark_deg: None,
        opposes: None,
        marks: 12,
    };
    let inner = StackPlace {
        ways: vec!["face-a".to_owned(), "face-b".to_owned()],
        towards_nose: Some("face-b".to_owned()),
        mark_deg: Some(90),
        ..place(2, true)
    };
    assert_eq!(all().stack, [inner, place(1, true), place(0, false)]);
}
