use num_rational::Ratio;

use crate::plan::{Measures, Moves, Taper};
use crate::tests::turns::*;
use judgement::{Known, Word};

fn taper(rate: (i128, i128), stations: &[&str]) -> Check {
    Check {
        setup: Holding::Turning,
        surface: Surface::Outside,
        positions: 1,
        radii: Vec::new(),
        measures: Measures::from(Taper {
            station_u: inch("0.0001"),
            rate: Ratio::new(rate.0, rate.1),
            stations: stations.iter().map(|at| inch(at)).collect(),
        }),
        ..face("cone")
    }
}

#[test]
fn a_cone_on_its_rate() {
    // 7/24 of 0.24, 1.2 and 2.4 in is 0.07, 0.35 and 0.7 in.
    let mut kit = measuring(taper((7, 24), &["0.24", "1.2", "2.4"]));
    kit.send(&["1.07000", "1.35000", "1.70000"]);
    let verdict = kit.verdict();
    assert_eq!((verdict.value, verdict.word), (Some(Figure::ZERO), Word::Conforms));
    near(verdict.figures.rate, 7.0 / 24.0, 1e-12);
    // Half angle 8 deg 17' 49.7" (from memory of the 7/24 taper).
    near(verdict.figures.half_angle_deg, 8.297_14, 5e-6);
    assert_eq!(verdict.advice, ["plate was never proved."]);
}

#[test]
fn a_cylinder_that_tapers_by_an_exact_fraction() {
    let mut kit = measuring(taper((0, 1), &["0.5", "2", "3"]));
    kit.send(&["1.00000", "1.00002", "1.00007"]);
    let verdict = kit.verdict();
    // x − 0.5 in half inches: 0, 3, 5; d in 0.00001 in: 0, 2, 7. Slope (3·41 − 8·9)/(3·34 − 64)
    // = 51/38 a step, over 5 steps 255/38.
    assert_eq!(verdict.value, Some(Figure::from(inch("0.00001")) * 255 / 38));
    // 2·u·5/√(38/3), u = 0.0000084 in: 23.6020 millionths.
    assert_eq!(fixed(verdict.uncertainty, 10), "0.0000236020");
    assert_eq!(verdict.word, Word::Conforms);
    near(verdict.figures.rate, 51.0 / 38.0 * 0.00001 / 0.5, 1e-15);
}

#[test]
fn two_stations_show_no_form() {
    let mut kit = measuring(taper((0, 1), &["1", "4"]));
    kit.send(&["1.00000", "0.99980"]);
    let verdict = kit.verdict();
    assert_eq!((verdict.value, verdict.word), (Some(exact("0.0002")), Word::DoesNotConform));
    // Two readings: 2·√2·u.
    assert_eq!(fixed(verdict.uncertainty, 8), "0.00002376");
    assert!(verdict.advice.contains(&"Two stations show no form.".to_owned()));
    assert!(verdict.figures.rate.unwrap().get() < 0.0);
}

#[test]
fn half_a_rate_is_a_radius() {
    let mut kit = measuring(taper((7, 24), &["0.24", "1.2", "2.4"]));
    kit.send(&["0.03500", "0.17500", "0.35000"]);
    let verdict = kit.verdict();
    // Half of 7/24 over 2.16 in is 0.315 in.
    assert_eq!(verdict.value, Some(exact("0.315")));
    assert!(verdict.advice.iter().any(|line| line.contains("half of the drawing's")));
}

#[test]
fn a_rate_along_the_side_is_one_percent_short() {
    let says = |rate: (i128, i128), diameters: [&str; 3]| {
        let mut kit = measuring(taper(rate, &["0", "1.2", "2.4"]));
        kit.send(&diameters);
        kit.verdict().advice.iter().any(|line| line.contains("along the side"))
    };
    // Along the side 7/24 comes out cos(8.297 deg) = 0.98953 times as large: 0.69267 over 2.4 in.
    assert!(says((7, 24), ["1", "1.34634", "1.69267"]));
    assert!(says((-7, 24), ["1.69267", "1.34634", "1"]), "whichever end is the large one");
    assert!(!says((7, 24), ["1", "1.35", "1.7"]));
    assert!(!says((1, 4), ["1", "1.29686", "1.59372"]), "another taper has another angle");
}

#[test]
fn a_station_left_out_keeps_the_length_that_is_judged() {
    let mut kit = measuring(taper((0, 1), &["0", "1", "2", "4"]));
    kit.send(&["1.00000", "1.00001", "1.00002"]);
    skip(&mut kit, &[3]);
    // 0.00001 an inch, over the 4 in of the plan.
    assert_eq!(kit.verdict().value, Some(exact("0.00004")));
    let mut kit = measuring(taper((0, 1), &["0", "1"]));
    kit.send(&["1"]);
    skip(&mut kit, &[1]);
    assert_eq!((kit.verdict().value, kit.verdict().word), (None, Word::Undecided));
}

#[test]
fn a_cone_measured_from_the_other_end_is_told() {
    let mut kit = measuring(taper((7, 24), &["0", "1.2", "2.4"]));
    kit.send(&["1.7", "1.35", "1"]);
    let verdict = kit.verdict();
    assert_eq!((verdict.value, verdict.word), (Some(exact("1.4")), Word::DoesNotConform));
    assert!(verdict.advice.iter().any(|line| line.contains("from the other end")));
}

#[test]
fn tries_on_the_same_cone_are_combined() {
    let mut kit = measuring(taper((0, 1), &["0", "1", "2"]));
    kit.send(&["1.00000", "1.00001", "1.00002"]);
    let reason = crate::fact::row::AttemptReason::Again;
    kit.ask(Command::Remeasure { reason, target: None, remark: None }).unwrap();
    kit.send(&["1.00000", "1.00001", "1.00003"]);
    let verdict = kit.verdict();
    assert_eq!((verdict.tries, verdict.value), (2, Some(exact("0.000025"))));
}

#[test]
fn a_scatter_that_nobody_states_has_its_factor_on_a_taper() {
    let mut kit = Kit::new(vec![Check {
        setup: Holding::Plate,
        moves: Moves::Ring,
        ..taper((0, 1), &["0", "1", "2"])
    }]);
    for gauge in kit.setup.gauges.values_mut() {
        (gauge.repeatability, gauge.uncertainty) = (None, None);
    }
    kit.measure("ring/cone").unwrap();
    kit.send(&["1.00000", "1.00001", "1.00002"]);
    let verdict = kit.verdict();
    // s 12 with 8 degrees of freedom, the plate 10/√3, Sxx = 2 over a span of 2, so twice their
    // squares: 2·144 + 2·100/3 = 354.7, ν = 354.7²/(288²/8) = 12.1, t = 2.23: 2.23·18.83 = 42.0.
    let found = (verdict.k.unwrap().hundredths(), verdict.known);
    assert_eq!(found, (223, Known::Assumed));
    assert_eq!(fixed(verdict.uncertainty, 7), "0.0000420");
}

#[test]
fn how_far_a_taper_came_back_off_counts() {
    let mut kit = measuring(Check { closure: true, ..taper((0, 1), &["1", "4"]) });
    kit.send(&["1.00000", "1.00002", "1.00002"]);
    // 2·√(2·8.4² + 20²/3) = 2·√274.45.
    assert_eq!(fixed(kit.verdict().uncertainty, 8), "0.00003313");
}

#[test]
fn a_cone_has_its_mean_and_return_beside_the_figure_and_is_known_by_its_stations() {
    let known = |station_u: &str| {
        let mut check = taper((7, 24), &["0.24", "1.2", "2.4"]);
        check.closure = true;
        let station_u = inch(station_u);
        check.measures = Taper { station_u, ..check.measures.told() }.into();
        let mut kit = measuring(check);
        kit.send(&["1.07000", "1.35000", "1.70000", "1.07001"]);
        let verdict = kit.verdict();
        assert_eq!(verdict.figures.mean, Some(exact("4.12") / 3));
        assert_eq!(verdict.figures.closure, Some(exact("0.00001")));
        let said = "The distances of the stations are taken as exact.".to_owned();
        (verdict.known, verdict.advice.contains(&said))
    };
    assert_eq!(known("0.0001"), (Known::Stated, false));
    assert_eq!(known("0"), (Known::Assumed, true));
}
