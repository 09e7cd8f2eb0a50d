//! Points in, figures out. Invented numbers, figures worked out by hand.

mod files;
mod limits;
mod published;
mod shapes;

use std::f64::consts::FRAC_PI_2;

use super::*;
use quantity::Quoted;

fn um(text: &str) -> Figure {
    Figure::from(Quoted::parse_with_unit(text, Some(Unit::Micrometre)).unwrap().length)
}

/// A figure of float arithmetic at a thousandth of a micrometre.
fn thousandth(figure: Figure) -> f64 {
    (figure.to_f64() / 1000.0).round() / 1000.0
}

fn limit(tolerance: &str, uncertainty: Option<&str>) -> Limit {
    let length = |text| Quoted::parse_with_unit(text, None).unwrap().length;
    Limit { tolerance: length(tolerance), uncertainty: uncertainty.map(length) }
}

fn evaluated(
    measures: Characteristic,
    file: &str,
    limit: Option<Limit>,
) -> Result<Evaluation, String> {
    let points = Points::read(file.as_bytes(), |_, _| ())?;
    evaluate(points, Wanted { measures, unit: Some(Unit::Micrometre), limit })
}

fn evaluation_of(measures: Characteristic, file: &str) -> Evaluation {
    evaluated(measures, file, None).unwrap_or_else(|why| panic!("{file}: {why}"))
}

fn value(measures: Characteristic, file: &str) -> Figure {
    evaluation_of(measures, file).figures.value
}

#[track_caller]
fn refused(measures: Characteristic, file: &str, why: &str) {
    let told = evaluated(measures, file, None).err();
    assert_eq!(told.as_deref(), Some(why), "{file:?}");
}

/// A saddle: opposite corners at one height, no plane does better than half of it either way.
const SADDLE: &str = "x_mm,y_mm,z_um\n0,0,0\n10,0,2.54\n10,10,0\n0,10,2.54\n";

#[test]
fn a_saddle_is_as_wide_as_it_is_high() {
    let Evaluation { points, figures, .. } = evaluation_of(Characteristic::Flatness, SADDLE);
    let zone = figures.beside.zone.unwrap();
    assert_eq!((figures.value, zone.width, zone.certified), (um("2.54"), um("2.54"), true));
    assert_eq!((zone.upper, zone.lower), (vec![1, 3], vec![0, 2]));
    assert_eq!((points, figures.beside.rank, figures.proves), (4, 3, true));
    assert_eq!(figures.beside.least_squares.unwrap().coefficients, [1.27, 0.0, 0.0]);
}

#[test]
fn each_column_has_its_own_unit() {
    let inches = "x_in,y_in,z_in\n0,0,0\n1,0,1e-4\n1,1,0\n0,1,1E-4\n";
    assert_eq!(value(Characteristic::Flatness, inches), um("2.54"));
    let polar = "radius_in,angle_deg,z_mm\n1,0,0\n1,90,.00254\n1,180,0\n1,-90,+.00254\n";
    assert_eq!(value(Characteristic::Flatness, polar), um("2.54"));
}

#[test]
fn a_tilted_face_is_flat_and_not_parallel() {
    // 1 um rise over 10 mm of x is 100 urad; the high side is where the angle is counted from.
    let tilted = "angle_deg,radius_mm,z_um\n0,10,1\n90,10,0\n180,10,-1\n270,10,0\n45,0,0\n";
    let flat = evaluation_of(Characteristic::Flatness, tilted).figures;
    assert_eq!((flat.value, flat.beside.max_minus_min), (um("0"), Some(um("2"))));
    let parallel = evaluation_of(Characteristic::Parallelism, tilted).figures;
    assert_eq!((parallel.value, parallel.beside.zone), (um("2"), None));
    let (slope, high) = (parallel.beside.slope_urad, parallel.beside.high_side_deg);
    assert!((slope.unwrap() - 100.0).abs() < 1e-9, "{slope:?}");
    assert!((high.unwrap() + 180.0).rem_euclid(360.0) - 180.0 < 1e-9, "{high:?}");
    let [_, along, across] = parallel.beside.least_squares.unwrap().coefficients[..] else {
        panic!()
    };
    assert!((along - 0.1).abs() < 1e-12 && across.abs() < 1e-12, "{along} {across} um per mm");
}

fn turn(of: impl Fn(f64) -> f64) -> String {
    (0..16).map(|k| 22.5 * f64::from(k)).fold("angle_deg,r_um\n".to_owned(), |file, angle| {
        file + &format!("{angle},{:.12}\n", of(angle.to_radians()))
    })
}

#[test]
fn a_turn_off_centre_runs_out_and_is_round() {
    let file = turn(|t| 3.0 * (t - FRAC_PI_2).cos());
    let runout = evaluation_of(Characteristic::Runout, &file).figures;
    assert_eq!(runout.value, um("6"));
    assert!((thousandth(runout.beside.eccentricity.unwrap()) - 3.0).abs() < 1e-12);
    assert!((runout.beside.high_side_deg.unwrap() - 90.0).abs() < 1e-9);
    assert_eq!(runout.beside.waves.len(), 7);
    let round = evaluation_of(Characteristic::Roundness, &file).figures;
    assert_eq!(round.beside.taken_as, Some(TakenAs::Deviations));
    assert!(thousandth(round.value).abs() < 1e-12, "{round:?}");
}

#[test]
fn an_oval_is_an_oval_as_deviations_and_as_radii() {
    for (base, taken) in [(0.0, TakenAs::Deviations), (25_000.0, TakenAs::Radii)] {
        let oval = turn(|t| base + (2.0 * t).cos() + 0.5 * t.cos());
        let Figures { value, beside, .. } = evaluation_of(Characteristic::Roundness, &oval).figures;
        assert_eq!((thousandth(value), beside.taken_as), (2.0, Some(taken)));
        let widths = beside.widths.unwrap().map(thousandth);
        // The largest circle inside rests on the flats at 90 and 270 degrees and slides between
        // them until it meets the next point, at 67.5: by (1 − cos 45)/cos 67.5 = 0.7654.
        let expected = FourCircles {
            least_squares: Some(2.0),
            minimum_zone: Some(2.0),
            circumscribed: Some(2.0),
            inscribed: Some(2.765),
        };
        assert_eq!(widths, expected, "{taken:?}");
        assert!((thousandth(beside.waves[1].amplitude) - 1.0).abs() < 1e-12);
    }
}

#[test]
fn four_corners_and_a_dent_have_four_circles() {
    // Corners of a square 14.142 mm from its centre, and its sides' middles 10 mm from it.
    let file = "x_mm,y_mm\n10,10\n-10,10\n-10,-10\n10,-10\n10,0\n0,10\n-10,0\n0,-10\n";
    let beside = evaluation_of(Characteristic::Roundness, file).figures.beside;
    let width = Some(4142.136);
    let all = FourCircles {
        least_squares: width,
        minimum_zone: width,
        circumscribed: width,
        inscribed: width,
    };
    assert_eq!(beside.widths.unwrap().map(thousandth), all);
    let radii = beside.circles.unwrap().map(|circle| thousandth(circle.radius));
    assert_eq!((radii.circumscribed, radii.inscribed), (Some(14142.136), Some(10000.0)));
}

#[test]
fn straightness_by_its_three_lines() {
    // Through the ends: from 0 at the ends to 3; the zone leans and is 2.5 wide.
    let line =
        evaluation_of(Characteristic::Straightness, "x_mm,z_um\n0,0\n1,3\n2,1\n3,1\n4,0\n").figures;
    assert_eq!((line.beside.end_points, line.value), (Some(um("3")), um("3")));
    assert_eq!(line.beside.zone.unwrap().upper, [1]);
    let leaning =
        evaluation_of(Characteristic::Straightness, "x_mm,z_um\n0,0\n1,1\n2,0\n3,2\n").figures;
    // The pair 1 and 3 (slope 0.5) with 2 between them: 0.5·2 + 0.5 = 1.5.
    assert_eq!((leaning.value, leaning.beside.rank), (um("1.5"), 2));
}

#[test]
fn a_taper_is_told_on_the_diameter() {
    let taper = evaluation_of(Characteristic::Taper, "x_in,z_in\n0,1\n12,4.5\n24,8\n").figures;
    let rate = taper.beside.rate.unwrap();
    assert!((rate - 7.0 / 24.0).abs() < 1e-15, "{rate}");
    assert!((thousandth(taper.value) - 177_800.0).abs() < 1e-9);
    // Half of 16.594 289 9 degrees, the 7/24 taper of ISO 297.
    assert!((taper.beside.half_angle_deg.unwrap() - 8.297_144_96).abs() < 1e-6);
}

#[test]
fn verdicts_by_both_rules_and_ties_inside() {
    use Word::{Conforms, DoesNotConform, Undecided};
    let words = |tolerance: &str, uncertainty: Option<&str>| {
        let found =
            evaluated(Characteristic::Flatness, SADDLE, Some(limit(tolerance, uncertainty)));
        let verdict = found.unwrap().verdict.unwrap();
        let rules = verdict.rules.unwrap();
        (verdict.word, rules.simple, rules.guarded)
    };
    let by_the_figure_alone = |tolerance: &str| {
        let (word, simple, _) = words(tolerance, None);
        (word, simple)
    };
    assert_eq!(evaluation_of(Characteristic::Flatness, SADDLE).verdict, None);
    assert_eq!(by_the_figure_alone("2.54 um"), (Conforms, Conforms));
    assert_eq!(by_the_figure_alone("0.0001 in"), (Conforms, Conforms));
    assert_eq!(by_the_figure_alone("2.539999 um"), (DoesNotConform, DoesNotConform));
    let known = |tolerance: &str| words(tolerance, Some("0.6 um"));
    assert_eq!(known("3.14 um"), (Conforms, Conforms, Conforms));
    assert_eq!(known("3.139999 um"), (Undecided, Conforms, Undecided));
    assert_eq!(known("1.94 um"), (Undecided, DoesNotConform, Undecided));
    assert_eq!(known("1.93 um"), (DoesNotConform, DoesNotConform, DoesNotConform));
}

#[test]
fn what_is_no_point_is_refused_with_its_line() {
    use Characteristic::{Flatness, Roundness, Runout, Straightness, Taper};
    let face = |rows: &str| format!("x_mm,y_mm,z_um\n0,0,1\n{rows}\n0,1,1\n1,1,0\n");
    refused(Flatness, "", "line 1: the file is empty; the first line names columns and units");
    refused(Flatness, "x_mm,y_mm,z_um\n", "line 2: no points follow the header");
    for word in ["NaN", "inf", "-Infinity", "a", "0x10", "1 mm", "1.2.3", "--1", "1e", "."] {
        let why = format!("line 3: z is {word:?}, not a number");
        refused(Flatness, &face(&format!("1,0,{word}")), &why);
    }
    refused(
        Flatness,
        &face("1,0,1e308"),
        "line 3: z is \"1e308\", beyond 9 000 km, the largest that is taken",
    );
    refused(
        Flatness,
        &face("-1e999,0,1"),
        "line 3: x is \"-1e999\", beyond 9 000 km, the largest that is taken",
    );
    refused(Flatness, &face("1,,1"), "line 3: y is missing");
    refused(Flatness, &face("1,0"), "line 3: 2 cells, where the header names 3 columns");
    let why = "line 1: the column \"x\" has no unit; write x_mm, _um or _in";
    refused(Flatness, "x,y,z\n0,0,1\n", why);
    let why = "line 1: x is in mm and y in in; both have to be in one unit";
    refused(Flatness, "x_mm,y_in,z_um\n0,0,1\n", why);
    refused(Flatness, "x_mm,x_mm,z_um\n", "line 1: the column x comes twice");
    let why = "line 1: the header does not name the columns that are needed";
    refused(Runout, "x_mm,y_mm\n0,0\n", why);
    refused(Flatness, "x_mm,y_mm,z_um\n0,0,1\n", "a plane needs three points, there is 1");
    let on_a_line = "all positions lie on one line";
    refused(Flatness, "x_mm,y_mm,z_um\n0,0,1\n.1,.1,2\n.3,.3,0\n", on_a_line);
    let polar = "angle_deg,radius_mm,z_um\n30,10,1\n210,10,2\n30,20,3\n210,7.3,4\n";
    refused(Flatness, polar, on_a_line);
    let tiny = "x_mm,y_mm,z_um\n0,0,1\n1e-300,0,3\n0,1e-300,5\n";
    refused(Flatness, tiny, "the positions are too close together to carry a figure");
    refused(Roundness, "x_mm,y_mm\n0,1\n1,2\n", "a circle needs three points, there are 2");
    let why = "a circle needs three places that are not on one line";
    refused(Roundness, "x_mm,y_mm\n0,1\n1,2\n2,3\n", why);
    let turn = "angle_deg,r_um\n30,10\n210,10\n30,20\n";
    refused(Runout, turn, "a turn needs readings at 3 different angles, there are 2");
    let why = "straightness needs 3 different places along x, there are 2";
    refused(Straightness, "x_mm,z_um\n0,1\n1,2\n1,3\n", why);
    refused(Taper, "x_mm,z_um\n1,2\n1,3\n", "taper needs 2 different places along x, there is 1");
}

#[test]
fn lines_keep_their_numbers_whatever_ends_them() {
    let rows =
        ["\u{feff}x_mm, \"y_mm\" ,z_um", "0,0,0", "", "10,0,\" 2.54 \"", "10,10,0", "0,10,2.54"];
    for end in ["\n", "\r\n", "\r"] {
        let good = rows.join(end);
        for file in [good.clone(), good.clone() + end, good.clone() + end + end] {
            let found = evaluation_of(Characteristic::Flatness, &file);
            assert_eq!((found.figures.value, found.points), (um("2.54"), 4), "{file:?}");
        }
        let bad = good + end + end + "5,5,NaN" + end + "a";
        refused(Characteristic::Flatness, &bad, "line 8: z is \"NaN\", not a number");
    }
    let mixed = "x_mm,y_mm,z_um\r\n0,0,1\n\r\n\r0,1,1,\n";
    let why = "line 5: 4 cells, where the header names 3 columns";
    refused(Characteristic::Flatness, mixed, why);
    let why = "line 1: the names are parted by commas and by semicolons; one of the two parts the cells of a file";
    refused(Characteristic::Flatness, "x_mm;y_mm,z_um\n0;0;0\n", why);
}

#[test]
fn semicolons_and_tabs_part_cells_too_and_let_numbers_have_a_comma() {
    let plain = "x_mm,y_mm,z_um\n0,0,0.5\n10,0,-2.25\n10,10,0\n0,10,2.54e0\n5.5,5,1\n";
    let expected = evaluation_of(Characteristic::Flatness, plain);
    let sheet = plain.replace(',', ";");
    for file in [
        sheet.clone(),
        sheet.replace('.', ","),
        sheet.replace(';', "\t"),
        sheet.replace(';', "\t").replace('.', ","),
        format!("\u{feff}{}", sheet.replace('.', ",").replace('\n', "\r\n")),
    ] {
        assert_eq!(evaluation_of(Characteristic::Flatness, &file), expected, "{file:?}");
    }
    let head = "x_mm;z_um\n0;1,5\n";
    for (row, why) in [
        (
            "1;2.5",
            "line 3: z: \"2.5\" has a point, and a number above has a comma; all numbers of a file have the same mark",
        ),
        (
            "1;1.234,5",
            "line 3: z: \"1.234,5\" has a point and a comma; write one of them, and no mark between thousands",
        ),
        ("1;1,234,5", "line 3: z is \"1,234,5\", not a number"),
        ("1,5;2;3", "line 3: 3 cells, where the header names 2 columns"),
        ("1;", "line 3: z is missing"),
    ] {
        refused(Characteristic::Straightness, &format!("{head}{row}\n"), why);
    }
}

#[test]
fn a_file_without_lines_is_not_read_to_its_end() {
    let endless = std::io::BufReader::new(std::io::repeat(b'7'));
    let why = Points::read(endless, |_, _| ()).err();
    assert_eq!(why.as_deref(), Some("line 1: longer than 16 MB: this is no file of points"));
}

#[test]
fn a_place_that_comes_twice_adds_no_proof() {
    let face = "x_mm,y_mm,z_um\n0,0,1\n1,0,2\n0,1,5\n0,0,1\n1,0,2\n0,1,5\n0,-0,1\n";
    let circle = "x_mm,y_mm\n0,1\n1,0\n-1,0\n0,1\n1,0\n-1,0\n0,1\n";
    let limit = Some(limit("1 um", None));
    for (measures, file) in [(Characteristic::Flatness, face), (Characteristic::Roundness, circle)]
    {
        let found = evaluated(measures, file, limit).unwrap();
        let nothing = Verdict { word: Word::Undecided, rules: None };
        assert_eq!((found.verdict, found.figures.proves), (Some(nothing), false), "{file}");
        // A fourth place and it is a measurement, twice touched or not.
        let fourth = if measures == Characteristic::Flatness { "1,1,6\n" } else { "0,-1\n" };
        let found = evaluated(measures, &(file.to_owned() + fourth), limit).unwrap();
        let word = found.verdict.map(|verdict| verdict.word);
        assert_eq!((word, found.figures.value), (Some(Word::Conforms), Figure::ZERO));
    }
}
