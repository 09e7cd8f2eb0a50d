//! The keys that each kind reads from a plan, and every error in them.

use super::written::{changed, found, good, read, read_on, told};
use super::*;
use crate::plan::PartKind;
use crate::{BarRun, Seatings, Size, SizeJudged, Taper, Turn};
use num_rational::Ratio;

const FACE: &str = "gauge = \"G1\"\nsetup = \"plate\"\npositions = 8\nradius = \"1.5 in\"\ntolerance = \"0.0001 in\"\n";

/// A face with some of its lines changed: those that begin with the same key.
pub(super) fn face(changes: &[&str]) -> String {
    changed(FACE, changes)
}

#[test]
fn a_face_is_read_with_what_is_usual() {
    let check = good("parallelism", FACE);
    assert_eq!(check.measures.traits().word, "parallelism");
    assert_eq!(check.limits, Some(Limits::Max(inch("0.0001"))));
    assert_eq!((check.positions, check.passes, check.total()), (8, 1, 8));
    assert_eq!((check.setup, check.moves), (Holding::Plate, Moves::Ring));
    assert_eq!((check.surface, check.direction), (Surface::NearFace, Direction::CounterClockwise));
    assert_eq!((check.master, check.advance), (MasterUse::None, Advance::Hold));
    assert!(check.closure, "a ring that lies is come back to");
    assert_eq!((check.aim, check.nominal, check.found), (None, None, None));
    let more = face(&[
        "moves = \"stand\"",
        "touch = \"far-face\"",
        "direction = \"cw\"",
        "closure = false",
        "passes = 2",
        "radius",
        "radii = [\"1 in\", 1.25, \"38.1 mm\"]",
        "aim = \"0.00005 in\"",
        "advance = \"auto\"",
        "down = \"B\"",
        "face = \"A\"",
        "found = \"old/top\"",
    ]);
    let check = good("parallelism", &more);
    assert_eq!((check.moves, check.surface), (Moves::Stand, Surface::FarFace));
    assert_eq!((check.direction, check.closure), (Direction::Clockwise, false));
    assert_eq!(check.radii, ["1", "1.25", "1.5"].map(inch));
    assert_eq!((check.total(), check.aim), (48, Some(inch("0.00005"))));
    assert_eq!((check.advance, check.found), (Advance::Auto, Some(CheckAt { part: 2, check: 0 })));
    assert_eq!((check.down.as_deref(), check.face.as_deref()), (Some("B"), Some("A")));
    // A tolerance in another unit makes that the unit of the verdict.
    let metric = good("flatness", &face(&["tolerance = \"2.5 um\""]));
    assert_eq!(
        (metric.unit, metric.limits.unwrap()),
        (Unit::Micrometre, Limits::Max(Length::from_picometres(2_500_000)))
    );
    // On supports nothing is come back to.
    assert!(!good("flatness", &face(&["setup = \"supports\""])).closure);
}

#[test]
fn what_a_face_lacks_or_has_wrong_is_said() {
    for (change, said) in [
        ("gauge", "gauge is missing"),
        ("gauge = \"a/b\"", "gauge"),
        ("setup", "setup is missing"),
        ("setup = \"floor\"", "setup"),
        ("positions", "positions is missing"),
        ("positions = 1001", "positions"),
        ("positions = 0", "positions"),
        ("radius", "needs the radius it is touched on"),
        ("radius = \"0 in\"", "radius is 0"),
        ("radius = \"-1 in\"", "radius is -1"),
        ("radii = [\"1 in\"]", "both radius and radii"),
        ("tolerance", "tolerance is missing"),
        ("tolerance = \"0 in\"", "tolerance is 0"),
        ("tolerance = \"0.0000000001 mm\"", "picometre"),
        ("min = \"1 in\"", "has no min"),
        ("max = \"1 in\"", "has no max"),
        ("aim = \"0.0002 in\"", "looser than the tolerance"),
        ("aim = \"-1 in\"", "aim is -1"),
        ("passes = 3", "passes"),
        ("moves = \"both\"", "moves"),
        ("touch = \"left\"", "touch"),
        ("direction = \"up\"", "direction"),
        ("closure = 1", "closure"),
        ("advance = \"never\"", "advance"),
        ("found = \"old/none\"", "old/none is no parallelism"),
        ("master = \"both\"", "master_size is missing"),
        ("master_uncertainty = \"0.00001 in\"", "master_uncertainty changes nothing"),
        ("positions = 1", "one touch says nothing"),
        ("positions = 2", "may fail parallelism, never pass it"),
        ("positions = 4", "blind to a saddle"),
        ("positions = 6", "blind to three lobes"),
        ("setup = \"anvil\"", "cannot prove parallelism"),
        ("setup = \"supports\"", "cannot prove parallelism"),
        ("setup = \"turning\"", "cannot prove parallelism"),
    ] {
        found("parallelism", &face(&[change]), said);
    }
    for (radii, said) in [
        ("radii = []", "1 to 20 lengths"),
        ("radii = [\"1 in\", \"25.4 mm\"]", "there twice"),
        ("radii = [\"1 in\", \"0 in\"]", "not above zero"),
        ("radii = [\"1 in\", \"x\"]", "radii"),
    ] {
        found("parallelism", &face(&["radius", radii]), said);
    }
    found("flatness", &face(&["positions = 3"]), "three points are always flat");
    found("flatness", &face(&["positions = 2", "passes = 2"]), "lie on one line");
    found("flatness", &face(&["setup = \"anvil\""]), "cannot prove flatness");
    found("thickness-variation", FACE, "cannot prove thickness-variation");
    assert!(told("thickness-variation", &face(&["setup = \"anvil\"", "radius"])).is_empty());
    // Seven touches are enough to pass a face, of whatever circles.
    assert!(told("parallelism", &face(&["positions = 7"])).is_empty());
    assert!(
        told("parallelism", &face(&["radius", "radii = [\"1 in\", \"1.5 in\"]", "positions = 5"]))
            .is_empty()
    );
}

pub(super) const LENGTH: &str = "gauge = \"G1\"\nsetup = \"plate\"\npositions = 4\nmin = \"1.4990 in\"\nmax = \"1.5010 in\"\nmaster_size = \"1.5 in\"\n";

#[test]
fn a_length_is_read_with_its_master_and_its_heat() {
    let check = good("length", LENGTH);
    assert_eq!((check.master, check.master_size), (MasterUse::Both, Some(inch("1.5"))));
    assert_eq!(check.measures.told::<Size>(), Size::default());
    assert_eq!(check.radii, Vec::<Length>::new());
    let more = changed(
        LENGTH,
        &[
            "master = \"opening\"",
            "nominal = \"1.5 in\"",
            "judge = \"every-touch\"",
            "expansion = \"10.5e-6\"",
            "master_expansion = \"9e-6\"",
            "master_uncertainty = \"0.000002 in\"",
            "temperature_between = \"0.2\"",
            "off_20 = 1",
            "expansion_uncertainty = \"0.5e-6\"",
        ],
    );
    let check = good("length", &more);
    let size: Size = check.measures.told();
    assert_eq!((check.master, size.judge), (MasterUse::Opening, SizeJudged::EveryTouch));
    assert_eq!(size.expansions, [Ratio::new(105, 10_000_000), Ratio::new(9, 1_000_000)]);
    assert_eq!((size.master_u, size.between_c), (Some(inch("0.000002")), Some(Ratio::new(1, 5))));
    assert_eq!(
        (size.off_20_c, size.expansion_u),
        (Some(Ratio::from(1)), Some(Ratio::new(5, 10_000_000)))
    );
    let warm = good("length", &changed(LENGTH, &["temperatures = [\"room/part\", \"room/part\"]"]));
    let place = CheckAt { part: 3, check: 0 };
    assert_eq!(warm.measures.told::<Size>().temperatures, Some([place, place]));
    for (change, said) in [
        ("min", "min is missing"),
        ("max", "max is missing"),
        ("min = \"1.6 in\"", "is not below max"),
        ("tolerance = \"1 in\"", "a length has no tolerance"),
        ("aim = \"1 in\"", "a length has no aim"),
        ("nominal = \"1.6 in\"", "is not between min and max"),
        ("master_size", "master_size is missing"),
        ("judge = \"some\"", "judge"),
        ("expansion = \"11.5\"", "per degree C"),
        ("expansion = \"-1e-6\"", "per degree C"),
        ("temperature_between = 51", "0 to 50 degrees"),
        ("off_20 = -1", "0 to 50 degrees"),
        ("master_uncertainty = \"0.02 in\"", "master_uncertainty is 0.02"),
        ("master_uncertainty = \"-1 in\"", "master_uncertainty is -1"),
        ("temperatures = [\"room/part\"]", "two entries"),
        ("temperatures = [\"room/part\", \"room/none\"]", "room/none is no entry"),
        ("temperatures = [\"room/part\", \"room/master\"]", "recorded in F"),
        ("setup = \"supports\"", "cannot prove length"),
        ("setup = \"turning\"", "cannot prove length"),
    ] {
        found("length", &changed(LENGTH, &[change]), said);
    }
    let without = changed(LENGTH, &["master = \"none\"", "master_uncertainty = \"0.000002 in\""]);
    found("length", &without, "no master is touched");
    let twice = changed(LENGTH, &["off_20 = 1", "temperatures = [\"room/part\", \"room/part\"]"]);
    found("length", &twice, "off_20 changes nothing");
}

pub(super) const TURN: &str =
    "gauge = \"G1\"\ntouch = \"outside\"\npositions = 10\ntolerance = \"0.0001 in\"\n";

#[test]
fn a_turn_is_touched_totalled_or_swept() {
    let check = good("runout", TURN);
    assert_eq!(
        (check.setup, check.surface, check.closure),
        (Holding::Turning, Surface::Outside, false)
    );
    assert_eq!(check.measures.told::<Turn>(), Turn::default());
    let shares = ["stand = \"0.000005 in\"", "seating = \"0.00001 in\"", "bar = \"0.000004 in\""];
    let turn: Turn = good("runout", &changed(TURN, &shares)).measures.told();
    assert_eq!(
        turn,
        Turn { stand: inch("0.000005"), seating: inch("0.00001"), bar: inch("0.000004") }
    );
    let total = good("runout", &changed(TURN, &["positions", "reads = \"total\""]));
    assert_eq!((total.reads.clone(), total.total(), total.closure), (Reads::Total, 1, false));
    let swept = good(
        "runout",
        &changed(TURN, &["positions", "reads = \"sweep\"", "marks = 6", "radius = \"1 in\""]),
    );
    assert_eq!((swept.swept().unwrap().marks, swept.closure), (6, true));
    assert_eq!(swept.radii, [inch("1")]);
    let usual = good("runout", &changed(TURN, &["positions", "reads = \"sweep\""]));
    assert_eq!(usual.swept().unwrap().marks, 4);
    for (changes, said) in [
        (&["reads = \"total\""][..], "one total reading has no positions"),
        (&["reads = \"sweep\""], "a swept turn has no positions"),
        (&["reads = \"sweep\"", "positions", "passes = 2"], "a swept turn has no positions"),
        (
            &["reads = \"sweep\"", "positions", "marks = 1"],
            "speed of the hand is taken as constant",
        ),
        (&["reads = \"sweep\"", "positions", "marks = 37"], "marks"),
        (&["reads = \"all\"", "positions"], "reads"),
        (&["setup = \"plate\""], "cannot prove runout"),
        (&["stand = \"-1 in\""], "stand is -1"),
        (&["positions = 6"], "blind to three lobes"),
        (&["positions = 12"], "sure of only 0.71"),
    ] {
        found("runout", &changed(TURN, changes), said);
    }
    // A bore of a housing, a journal of a shaft: the other way round the axis would be mirrored.
    for (part, touch, warned) in [
        (PartKind::Housing, "outside", true),
        (PartKind::Housing, "inside", false),
        (PartKind::Shaft, "inside", true),
        (PartKind::Shaft, "outside", false),
        (PartKind::Bar, "inside", true),
        (PartKind::Spacer, "inside", false),
    ] {
        let text = changed(TURN, &[&format!("touch = \"{touch}\"")]);
        let (_, told) = read_on(part, "runout", &text);
        assert_eq!(told.iter().any(|one| one.contains("wrong side")), warned, "{part:?} {touch}");
    }
}

const BAR: &str = "gauge = \"G1\"\npositions = 10\nstations = [{ at = \"0.25 in\", tolerance = \"0.0002 in\" }, { at = \"3 in\", tolerance = \"0.0001 in\", seating = \"0.00001 in\" }]\n";

#[test]
fn a_bar_is_read_station_by_station() {
    let more = [
        "seating = \"0.000004 in\"",
        "stand = \"0.000005 in\"",
        "bar = \"0.000006 in\"",
        "seatings = 4",
        "predict = [\"6 in\", 8]",
    ];
    let check = good("bar-runout", &changed(BAR, &more));
    let bar: BarRun = check.measures.told();
    assert_eq!((check.setup, check.surface), (Holding::Turning, Surface::Outside));
    assert_eq!(check.limits, Some(Limits::Max(inch("0.0001"))), "the tightest");
    assert_eq!(bar.stations.iter().map(|one| one.at).collect::<Vec<_>>(), ["0.25", "3"].map(inch));
    assert_eq!(
        bar.stations.iter().map(|one| one.seating).collect::<Vec<_>>(),
        ["0.000004", "0.00001"].map(inch)
    );
    assert_eq!((bar.seatings, bar.predict), (Seatings::Four, vec![inch("6"), inch("8")]));
    assert_eq!((bar.stand, bar.bar, check.total()), (inch("0.000005"), inch("0.000006"), 80));
    let (_, lines) = read("bar-runout", BAR).0.unwrap();
    assert_eq!(lines.stations.len(), 2);
    for (seatings, read) in [(1, Seatings::One), (3, Seatings::Three)] {
        let bar: BarRun =
            good("bar-runout", &changed(BAR, &[&format!("seatings = {seatings}")])).measures.told();
        assert_eq!(bar.seatings, read);
    }
    for (change, said) in [
        ("stations", "stations is missing"),
        ("stations = []", "1 to 20 places"),
        ("stations = [{ at = \"3 in\" }]", "tolerance is missing"),
        ("stations = [{ tolerance = \"1 in\" }]", "at is missing"),
        ("stations = [{ at = \"-3 in\", tolerance = \"1 in\" }]", "at is -3"),
        (
            "stations = [{ at = \"3 in\", tolerance = \"1 in\" }, { at = \"3 in\", tolerance = \"1 in\" }]",
            "not beyond the one before",
        ),
        ("tolerance = \"1 in\"", "no tolerance of its own"),
        ("aim = \"1 in\"", "no aim of its own"),
        ("seatings = 2", "cannot show whether they repeat"),
        ("seatings = 5", "seatings"),
        ("predict = [\"-1 in\"]", "is below zero"),
        ("predict = [\"x\"]", "predict"),
        ("setup = \"plate\"", "cannot prove bar-runout"),
    ] {
        found("bar-runout", &changed(BAR, &[change]), said);
    }
    let one = "stations = [{ at = \"3 in\", tolerance = \"1 in\" }]";
    found("bar-runout", &changed(BAR, &[one, "predict = [\"6 in\"]"]), "needs two stations");
}

pub(super) const TAPER: &str = "gauge = \"G1\"\nsetup = \"plate\"\nrate = \"7/24\"\nstations = [\"0.5 in\", \"2 in\", \"3 in\"]\nstation_uncertainty = \"0.0003 in\"\ntolerance = \"0.0001 in\"\n";

#[test]
fn a_taper_is_read_with_its_rate() {
    let check = good("taper", TAPER);
    let taper: Taper = check.measures.told();
    assert_eq!((taper.rate, taper.station_u), (Ratio::new(7, 24), inch("0.0003")));
    assert_eq!(taper.stations, ["0.5", "2", "3"].map(inch));
    assert_eq!((check.total(), check.rate()), (3, Some(Ratio::new(7, 24))));
    for (rate, read) in [
        ("-0.25", Ratio::new(-1, 4)),
        (" 7 / 24 ", Ratio::new(7, 24)),
        ("0.2916666667", Ratio::new(2_916_666_667, 10_000_000_000)),
    ] {
        let taper: Taper =
            good("taper", &changed(TAPER, &[&format!("rate = \"{rate}\"")])).measures.told();
        assert_eq!(taper.rate, read);
    }
    let cylinder: Taper =
        good("taper", &changed(TAPER, &["rate", "station_uncertainty"])).measures.told();
    assert_eq!((cylinder.rate, cylinder.station_u), (Ratio::from(0), Length::ZERO));
    for (change, said) in [
        ("stations", "stations is missing"),
        ("stations = [\"1 in\"]", "2 to 20 distances"),
        ("stations = [\"2 in\", \"1 in\"]", "should rise"),
        ("stations = [\"1 in\", \"1 in\"]", "should rise"),
        ("stations = [\"-1 in\", \"1 in\"]", "below zero"),
        ("stations = [\"1 in\", \"2 in\"]", "two stations show the rate and no form"),
        ("rate = \"7/0\"", "divides by zero"),
        ("rate = \"25/24\"", "more than the distance itself"),
        ("rate = \"-1.01\"", "more than the distance itself"),
        ("rate = \"steep\"", "rate"),
        ("station_uncertainty", "count as exact"),
        ("station_uncertainty = \"-1 in\"", "station_uncertainty is -1"),
    ] {
        found("taper", &changed(TAPER, &[change]), said);
    }
}
