//! Points in, figures and sentences out. Invented numbers, figures worked out by hand.

use super::*;
use wire::CircleLine;

const PLAIN: Screen = Screen { colour: false, width: None };

fn asked(measures: Measures, tolerance: &str, uncertainty: &str) -> Evaluate {
    let given = |text: &str| (!text.is_empty()).then(|| text.to_owned());
    Evaluate {
        file: PathBuf::new(),
        measures,
        tolerance: given(tolerance),
        uncertainty: given(uncertainty),
        unit: Some(Unit::Micrometre),
    }
}

fn evaluated(args: &Evaluate, file: &str) -> Result<(EvaluationLine, Option<Word>), String> {
    let columns = points::read(file.as_bytes(), |_, _| ())?;
    args.evaluate(columns, Asked::of(args).unwrap(), false)
}

fn of(measures: Measures, file: &str) -> EvaluationLine {
    evaluated(&asked(measures, "", ""), file).unwrap_or_else(|why| panic!("{file}: {why}")).0
}

#[track_caller]
fn refused(measures: Measures, file: &str, why: &str) {
    let told = evaluated(&asked(measures, "", ""), file).err();
    assert_eq!(told.as_deref(), Some(why), "{file:?}");
}

/// A saddle: opposite corners at one height, no plane does better than half of it either way.
const SADDLE: &str = "x_mm,y_mm,z_um\n0,0,0\n10,0,2.54\n10,10,0\n0,10,2.54\n";

#[test]
fn a_saddle_is_as_wide_as_it_is_high() {
    let line = of(Measures::Flatness, SADDLE);
    let zone = line.minimum_zone.unwrap();
    assert_eq!((line.value.as_str(), zone.width.as_str(), zone.certified), ("2.54", "2.54", true));
    assert_eq!((zone.contacts_upper, zone.contacts_lower), (vec![1, 3], vec![0, 2]));
    assert_eq!((line.n, line.rank, line.high_side_deg), (4, 3, None));
    assert_eq!(line.least_squares.unwrap().coefficients, [1.27, 0.0, 0.0]);
}

#[test]
fn each_column_has_its_own_unit() {
    let inches = "x_in,y_in,z_in\n0,0,0\n1,0,1e-4\n1,1,0\n0,1,1E-4\n";
    assert_eq!(of(Measures::Flatness, inches).value, "2.54");
    let polar = "radius_in,angle_deg,z_mm\n1,0,0\n1,90,.00254\n1,180,0\n1,-90,+.00254\n";
    assert_eq!(of(Measures::Flatness, polar).value, "2.54");
}

#[test]
fn a_tilted_face_is_flat_and_not_parallel() {
    // 1 um rise over 10 mm of x is 100 urad; the high side is where the angle is counted from.
    let tilted = "angle_deg,radius_mm,z_um\n0,10,1\n90,10,0\n180,10,-1\n270,10,0\n45,0,0\n";
    let flat = of(Measures::Flatness, tilted);
    assert_eq!((flat.value.as_str(), flat.max_minus_min.as_deref()), ("0", Some("2")));
    let parallel = of(Measures::Parallelism, tilted);
    assert_eq!((parallel.value.as_str(), parallel.slope_urad), ("2", Some(100.0)));
    assert_eq!((parallel.high_side_deg, parallel.minimum_zone), (Some(0.0), None));
    let [_, along, across] = parallel.least_squares.unwrap().coefficients[..] else { panic!() };
    assert!((along - 0.1).abs() < 1e-12 && across.abs() < 1e-12, "{along} {across} um per mm");
}

fn turn(of: impl Fn(f64) -> f64) -> String {
    (0..16).map(|k| 22.5 * f64::from(k)).fold("angle_deg,r_um\n".to_owned(), |file, angle| {
        file + &format!("{angle},{:.12}\n", of(angle.to_radians()))
    })
}

#[test]
fn a_turn_off_centre_runs_out_and_is_round() {
    let file = turn(|t| 3.0 * (t - std::f64::consts::FRAC_PI_2).cos());
    let runout = of(Measures::Runout, &file);
    assert_eq!((runout.value.as_str(), runout.eccentricity.as_deref()), ("6", Some("3")));
    assert_eq!((runout.high_side_deg, runout.harmonics.len()), (Some(90.0), 7));
    let round = of(Measures::Roundness, &file);
    assert_eq!((round.value.as_str(), round.taken_as), ("0", Some("deviations")));
}

#[test]
fn an_oval_is_an_oval_as_deviations_and_as_radii() {
    for (base, taken) in [(0.0, "deviations"), (25_000.0, "radii")] {
        let line = of(Measures::Roundness, &turn(|t| base + (2.0 * t).cos() + 0.5 * t.cos()));
        assert_eq!((line.value.as_str(), line.taken_as), ("2", Some(taken)));
        let circle = line.circle.unwrap();
        for width in [circle.least_squares, circle.minimum_zone, circle.minimum_circumscribed] {
            assert_eq!(width.as_deref(), Some("2"), "{taken}");
        }
        // The largest circle inside rests on the flats at 90 and 270 degrees and slides between
        // them until it meets the next point, at 67.5: by (1 − cos 45)/cos 67.5 = 0.7654.
        assert_eq!(circle.maximum_inscribed.as_deref(), Some("2.765"), "{taken}");
        assert_eq!(line.harmonics[1].amplitude, "1");
    }
}

#[test]
fn four_corners_and_a_dent_have_four_circles() {
    // Corners of a square 14.142 mm from its centre, and its sides' middles 10 mm from it.
    let file = "x_mm,y_mm\n10,10\n-10,10\n-10,-10\n10,-10\n10,0\n0,10\n-10,0\n0,-10\n";
    let line = of(Measures::Roundness, file);
    let width = Some("4142.136".to_owned());
    let all = CircleLine {
        least_squares: width.clone(),
        minimum_zone: width.clone(),
        minimum_circumscribed: width.clone(),
        maximum_inscribed: width,
    };
    assert_eq!(line.circle, Some(all));
    let circles = line.circles.unwrap();
    assert_eq!(circles.minimum_circumscribed.unwrap().radius, "14142.136");
    assert_eq!(circles.maximum_inscribed.unwrap().radius, "10000");
}

#[test]
fn straightness_by_its_three_lines() {
    // Through the ends: from 0 at the ends to 3; the zone leans and is 2.5 wide.
    let line = of(Measures::Straightness, "x_mm,z_um\n0,0\n1,3\n2,1\n3,1\n4,0\n");
    assert_eq!(line.end_points.as_deref(), Some("3"));
    assert_eq!(line.value, "3");
    assert_eq!(line.minimum_zone.unwrap().contacts_upper, [1]);
    let leaning = of(Measures::Straightness, "x_mm,z_um\n0,0\n1,1\n2,0\n3,2\n");
    // The pair 1 and 3 (slope 0.5) with 2 between them: 0.5·2 + 0.5 = 1.5.
    assert_eq!((leaning.value.as_str(), leaning.rank), ("1.5", 2));
}

#[test]
fn a_taper_is_told_on_the_diameter() {
    let line = of(Measures::Taper, "x_in,z_in\n0,1\n12,4.5\n24,8\n");
    assert!((line.rate.unwrap() - 7.0 / 24.0).abs() < 1e-15, "{:?}", line.rate);
    assert_eq!(line.value, "177800");
    assert!((line.half_angle_deg.unwrap() - 8.297_144_96).abs() < 1e-6);
}

#[test]
fn verdicts_by_both_rules_and_ties_inside() {
    let word = |tolerance: &str, uncertainty: &str| {
        let args = asked(Measures::Flatness, tolerance, uncertainty);
        let line = evaluated(&args, SADDLE).unwrap().0;
        (line.verdict, line.simple, line.guarded)
    };
    let (yes, no, open) = (Some("conforms"), Some("does-not-conform"), Some("undecided"));
    assert_eq!(word("", ""), (None, None, None));
    assert_eq!(word("", "0.6 um"), (None, None, None));
    assert_eq!(word("2.54 um", ""), (yes, yes, None));
    assert_eq!(word("0.0001 in", ""), (yes, yes, None));
    assert_eq!(word("2.539999 um", ""), (no, no, None));
    assert_eq!(word("3.14 um", "0.6 um"), (yes, yes, yes));
    assert_eq!(word("3.139999 um", "0.6 um"), (open, yes, open));
    assert_eq!(word("1.94 um", "0.6 um"), (open, no, open));
    assert_eq!(word("1.93 um", "0.6 um"), (no, no, no));
}

#[test]
fn three_points_prove_no_flatness() {
    let three = "x_mm,y_mm,z_um\n0,0,1\n1,0,2\n0,1,5\n";
    let (line, word) = evaluated(&asked(Measures::Flatness, "1 um", "0.1 um"), three).unwrap();
    assert_eq!((word, line.simple), (Some(Word::Undecided), None));
}

#[test]
fn a_person_reads_sentences() {
    let (line, _) = evaluated(&asked(Measures::Flatness, "2.539999 um", ""), SADDLE).unwrap();
    assert_eq!(
        words::told(&line, PLAIN),
        "Flatness of 4 points: 2.54 um by the minimum zone: no two parallel planes hold them \
         closer, proved.\nBy least squares 2.54 um, tilt 0 um per m.\nNote: 4 points are few: \
         what lies between them was not touched.\nDOES NOT CONFORM. 2.54 um, limit 2.539999 um, \
         by the figure alone, no uncertainty given.\n"
    );
    let saddle = SADDLE.replace("2.54", "2.5400001");
    let (line, _) = evaluated(&asked(Measures::Flatness, "2.54 um", ""), &saddle).unwrap();
    let text = words::told(&line, PLAIN);
    assert_eq!(text.matches("2.5400001 um").count(), 3, "{text}");
}

#[test]
fn what_is_no_point_is_refused_with_its_line() {
    use Measures::{Flatness, Roundness, Runout, Straightness, Taper};
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
            let line = of(Measures::Flatness, &file);
            assert_eq!((line.value.as_str(), line.n), ("2.54", 4), "{file:?}");
        }
        let bad = good + end + end + "5,5,NaN" + end + "a";
        refused(Measures::Flatness, &bad, "line 8: z is \"NaN\", not a number");
    }
    let mixed = "x_mm,y_mm,z_um\r\n0,0,1\n\r\n\r0,1,1,\n";
    let why = "line 5: 4 cells, where the header names 3 columns";
    refused(Measures::Flatness, mixed, why);
    let why = "line 1: the columns are parted by semicolons; commas are needed";
    refused(Measures::Flatness, "x_mm;y_mm;z_um\n0;0;0\n", why);
}

#[test]
fn a_file_without_lines_is_not_read_to_its_end() {
    let endless = std::io::BufReader::new(std::io::repeat(b'7'));
    let why = points::read(endless, |_, _| ()).err();
    assert_eq!(why.as_deref(), Some("line 1: longer than 16 MB: this is no file of points"));
}

#[test]
fn a_place_that_comes_twice_adds_no_proof() {
    let face = "x_mm,y_mm,z_um\n0,0,1\n1,0,2\n0,1,5\n0,0,1\n1,0,2\n0,1,5\n0,-0,1\n";
    let circle = "x_mm,y_mm\n0,1\n1,0\n-1,0\n0,1\n1,0\n-1,0\n0,1\n";
    for (measures, file) in [(Measures::Flatness, face), (Measures::Roundness, circle)] {
        let found = evaluated(&asked(measures, "1 um", ""), file).unwrap();
        assert_eq!((found.1, found.0.simple), (Some(Word::Undecided), None), "{file}");
        let why = "three places fit exactly, whatever the form: they prove nothing";
        assert_eq!(found.0.advice, [why]);
        // A fourth place and it is a measurement, twice touched or not.
        let fourth = if measures == Measures::Flatness { "1,1,6\n" } else { "0,-1\n" };
        let fourth = file.to_owned() + fourth;
        let found = evaluated(&asked(measures, "1 um", ""), &fourth).unwrap();
        assert_eq!((found.1, found.0.value.as_str()), (Some(Word::Conforms), "0"));
    }
}

#[test]
fn lines_break_between_words_where_the_terminal_ends() {
    let screen = Screen { colour: false, width: Some(40) };
    let found = evaluated(&asked(Measures::Flatness, "", ""), SADDLE).unwrap();
    let told = words::told(&found.0, screen);
    assert!(told.lines().all(|line| line.len() <= 40), "{told}");
    assert!(told.starts_with("Flatness of 4 points: 2.54 um by the\n  minimum zone: "), "{told}");
}

#[test]
fn angles_at_quarters_are_exact() {
    for (degrees, expected) in
        [(0.0, (0.0, 1.0)), (90.0, (1.0, 0.0)), (-180.0, (0.0, -1.0)), (630.0, (-1.0, 0.0))]
    {
        let (sine, cosine) = sine_cosine(degrees);
        assert_eq!((sine + 0.0, cosine + 0.0), expected, "{degrees}");
    }
    let (sine, cosine) = sine_cosine(200.0);
    let angle = 200.0_f64.to_radians();
    assert!((sine - angle.sin()).abs() < 1e-15 && (cosine - angle.cos()).abs() < 1e-15);
}
