//! Points in, lines and sentences out. Invented numbers; the figures themselves are tested in the room that
//! works them out.

use super::*;
use wire::EvaluationLine;

const PLAIN: Screen = Screen { colour: false, width: None };

fn asked(measures: Characteristic, tolerance: &str, uncertainty: &str) -> Evaluate {
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
    let points = Points::read(file.as_bytes(), |_, _| ())?;
    let shown = args.shown(false).unwrap();
    let evaluation = evaluate(points, args.wanted(shown))?;
    let word = evaluation.verdict.map(|verdict| verdict.word);
    Ok((line_of(&evaluation, shown), word))
}

fn of(measures: Characteristic, file: &str) -> EvaluationLine {
    evaluated(&asked(measures, "", ""), file).unwrap_or_else(|why| panic!("{file}: {why}")).0
}

/// A saddle: opposite corners at one height, no plane does better than half of it either way.
const SADDLE: &str = "x_mm,y_mm,z_um\n0,0,0\n10,0,2.54\n10,10,0\n0,10,2.54\n";

#[test]
fn what_shows_as_nothing_points_nowhere() {
    let line = of(Characteristic::Flatness, SADDLE);
    assert_eq!(
        (line.value.as_str(), line.slope_urad, line.high_side_deg),
        ("2.54", Some(0.0), None)
    );
    let tilted = "angle_deg,radius_mm,z_um\n0,10,1\n90,10,0\n180,10,-1\n270,10,0\n45,0,0\n";
    let line = of(Characteristic::Parallelism, tilted);
    assert_eq!((line.slope_urad, line.high_side_deg), (Some(100.0), Some(0.0)));
    let round =
        (0..8).fold("angle_deg,r_um\n".to_owned(), |file, k| file + &format!("{},5\n", 45 * k));
    let line = of(Characteristic::Runout, &round);
    assert_eq!((line.eccentricity.as_deref(), line.high_side_deg), (Some("0"), None));
}

#[test]
fn an_oval_has_the_same_digits_as_deviations_and_as_radii() {
    for (base, taken) in [(0.0, "deviations"), (25_000.0, "radii")] {
        let rows = (0..16).map(|k| 22.5 * f64::from(k)).map(|deg| {
            let t = deg.to_radians();
            format!("{deg},{:.12}\n", base + (2.0 * t).cos() + 0.5 * t.cos())
        });
        let line = of(
            Characteristic::Roundness,
            &("angle_deg,r_um\n".to_owned() + &rows.collect::<String>()),
        );
        assert_eq!((line.value.as_str(), line.taken_as), ("2", Some(taken)));
        let circle = line.circle.unwrap();
        for width in [circle.least_squares, circle.minimum_zone, circle.minimum_circumscribed] {
            assert_eq!(width.as_deref(), Some("2"), "{taken}");
        }
        assert_eq!(circle.maximum_inscribed.as_deref(), Some("2.765"), "{taken}");
        assert_eq!(line.harmonics[1].amplitude, "1");
    }
}

#[test]
fn points_on_half_a_turn_have_no_circle_inside_and_say_so() {
    let line = of(Characteristic::Roundness, "x_mm,y_mm\n10,0\n8,6\n6,8\n0,10\n");
    assert_eq!(line.circle.and_then(|circle| circle.maximum_inscribed), None);
    let open = "the points go round too little of the turn for a circle inside them";
    assert_eq!(line.advice, [open, "4 points are few: what lies between them was not touched"]);
}

#[test]
fn a_line_has_what_each_rule_says() {
    let word = |tolerance: &str, uncertainty: &str| {
        let args = asked(Characteristic::Flatness, tolerance, uncertainty);
        let line = evaluated(&args, SADDLE).unwrap().0;
        (line.verdict, line.simple, line.guarded)
    };
    let (yes, no, open) = (Some(Word::Conforms), Some(Word::DoesNotConform), Some(Word::Undecided));
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
fn three_points_prove_nothing_and_say_so() {
    let three = "x_mm,y_mm,z_um\n0,0,1\n1,0,2\n0,1,5\n";
    let (line, word) =
        evaluated(&asked(Characteristic::Flatness, "1 um", "0.1 um"), three).unwrap();
    assert_eq!((word, line.verdict), (Some(Word::Undecided), Some(Word::Undecided)));
    assert_eq!((line.simple, line.guarded), (None, None));
    let why = "three places fit exactly, whatever the form: they prove nothing";
    assert_eq!(line.advice, [why]);
}

#[test]
fn a_person_reads_sentences() {
    let (line, _) = evaluated(&asked(Characteristic::Flatness, "2.539999 um", ""), SADDLE).unwrap();
    assert_eq!(
        words::told(&line, PLAIN),
        "Flatness of 4 points: 2.54 um by the minimum zone: no two parallel planes hold them \
         closer, proved.\nBy least squares 2.54 um, tilt 0 um per m.\nNote: 4 points are few: \
         what lies between them was not touched.\nDOES NOT CONFORM. 2.54 um, limit 2.539999 um, \
         by the figure alone, no uncertainty given.\n"
    );
    let saddle = SADDLE.replace("2.54", "2.5400001");
    let (line, _) = evaluated(&asked(Characteristic::Flatness, "2.54 um", ""), &saddle).unwrap();
    let text = words::told(&line, PLAIN);
    assert_eq!(text.matches("2.5400001 um").count(), 3, "{text}");
}

#[test]
fn lines_break_between_words_where_the_terminal_ends() {
    let screen = Screen { colour: false, width: Some(40) };
    let found = evaluated(&asked(Characteristic::Flatness, "", ""), SADDLE).unwrap();
    let told = screen.wrapped(&words::told(&found.0, screen), 2);
    assert!(told.lines().all(|line| line.len() <= 40), "{told}");
    assert!(told.starts_with("Flatness of 4 points: 2.54 um by the\n  minimum zone: "), "{told}");
}
