//! A taper from diameters at stations, and the ways of measuring it wrongly.

use super::*;
use crate::{SaidOf, Taper};
use num_rational::Ratio;

/// The 7/24 of ISO 297, its large end first, limits of 0.0001 in over the length.
fn taper(stations: &[&str]) -> Check {
    let stations = stations.iter().map(|at| inch(at)).collect();
    let rate = Ratio::new(-7, 24);
    let limits = Some(Limits::Max(inch("0.0001")));
    let measures = Taper { rate, stations, station_u: inch("0.00001") };
    Check { setup: Holding::Turning, positions: 1, radii: Vec::new(), limits, ..check(measures) }
}

/// Diameters in 0.00001 in at the stations.
fn read<'a>(check: &'a Check, diameters: &[i64]) -> Series<'a> {
    series(check, diameters)
}

#[test]
fn the_error_of_a_taper_is_that_of_its_rate_over_the_whole_length() {
    // Over 2.4 in a 7/24 gets smaller by 0.7 in: here by 0.70008.
    let check = taper(&["0.6", "1.8", "3"]);
    let found = judged(&read(&check, &[275_000, 239_996, 204_992]));
    assert_eq!(found.value, Some(Figure::from(inch("0.00008"))));
    near(found.figures.rate.unwrap().get(), -0.70008 / 2.4, 1e-9);
    near(
        found.figures.half_angle_deg.unwrap().get(),
        -(0.70008_f64 / 4.8).atan().to_degrees(),
        1e-6,
    );
    // Readings at −1.2, 0 and 1.2: the rise over 2.4 in takes 2.4²/2.88 of the variance of each, that
    // of a station 7/24 of its uncertainty. 2·√(2·(8.4² + (10·7/24)²)).
    near(known(&found), 2.0 * (2.0 * (8.4_f64.powi(2) + (70.0 / 24.0_f64).powi(2))).sqrt(), 0.01);
    assert!(found.says.is_empty(), "{:?}", found.says);
    // The middle alone changes nothing: it lies in the middle.
    let bent = judged(&read(&check, &[275_000, 240_500, 204_992]));
    assert_eq!(bent.value, found.value);
    // A constant on all of them is no error.
    let larger = judged(&read(&check, &[275_100, 240_096, 205_092]));
    assert_eq!(larger.value, found.value);
}

#[test]
fn two_stations_show_no_form_and_fewer_show_nothing() {
    let check = taper(&["0.6", "3"]);
    let found = judged(&read(&check, &[275_000, 205_000]));
    assert_eq!(found.value, Some(Figure::ZERO));
    says(&found, "Two stations show no form");
    // 2·√(2·(8.4² + …)): both ends carry all of it.
    near(known(&found), 2.0 * (2.0 * (8.4_f64.powi(2) + (70.0 / 24.0_f64).powi(2))).sqrt(), 0.01);
    let one = judged(&read(&check, &[275_000]));
    assert_eq!((one.value, one.expanded()), (None, None));
    assert_eq!(judged(&read(&check, &[])).value, None);
}

#[test]
fn stations_taken_as_exact_are_said_to_be() {
    let mut exact = taper(&["0.6", "1.8", "3"]);
    let Taper { rate, stations, .. } = exact.measures.told();
    exact.measures = Taper { rate, stations: stations.clone(), station_u: Length::ZERO }.into();
    let found = judged(&read(&exact, &[275_000, 240_000, 205_000]));
    says(&found, "taken as exact");
    assert_eq!(found.expanded().unwrap().known, judgement::Known::Assumed);
    // A cylinder does not ask where it was touched.
    let none = Taper { rate: Ratio::from_integer(0), stations, station_u: Length::ZERO };
    let cylinder = Check { measures: none.into(), ..exact };
    let found = judged(&read(&cylinder, &[275_000, 275_001, 275_002]));
    assert!(found.says.is_empty());
    assert_eq!(found.value, Some(Figure::from(inch("0.00002"))));
}

#[test]
fn a_taper_measured_another_way_than_it_is_meant_is_found_out() {
    let check = taper(&["0.6", "1.8", "3"]);
    let said = |diameters: [i64; 3]| {
        let found = judged(&read(&check, &diameters));
        let mut sayings = found.sayings.into_iter();
        sayings.find(|said| said.of == SaidOf::Mistaken).map(|said| said.text)
    };
    assert_eq!(said([275_000, 240_000, 205_000]), None);
    // Radii, an axis that runs the other way, distances along the side (1.06 % short).
    assert!(said([137_500, 120_000, 102_500]).unwrap().contains("half of the drawing's"));
    assert!(said([205_000, 240_000, 275_000]).unwrap().contains("other sign"));
    let along = 70_000.0 * (7.0 / 48.0_f64).atan().cos();
    #[expect(clippy::cast_possible_truncation, reason = "some thousand steps")]
    let end = 275_000 - along.round() as i64;
    assert!(said([275_000, i64::midpoint(275_000, end), end]).unwrap().contains("along the side"));
    assert_eq!(said([275_000, 255_000, 235_000]), None, "merely wrong");
}

#[test]
fn a_missing_station_leaves_the_span_of_the_plan() {
    let check = taper(&["0.6", "1.8", "3"]);
    let mut some = read(&check, &[275_000, 239_996, 204_992]);
    some.sums.pop();
    some.open = vec![2];
    // Half the length shows half the error; it is told over the whole.
    let found = judged(&some);
    assert_eq!(found.value, Some(Figure::from(inch("0.00008"))));
    assert!(known(&found) > 40.0, "and is known less");
}

/// Whole numbers that follow no pattern, from 0 up to below a bound.
fn wild(state: &mut i64, below: i64) -> i64 {
    *state = (*state * 1_103_515_245 + 12_345) % (1 << 31);
    (*state >> 8) % below
}

#[expect(clippy::cast_precision_loss, reason = "lengths of a few inches")]
fn float(whole: i64) -> f64 {
    whole as f64
}

/// Worked out in floats about the mean of the touched stations, an arithmetic of its own: the slope, the
/// error over the whole length of the plan, and √(span²/Sxx) of a reading and of a station on the cone.
#[test]
fn any_taper_is_its_least_squares_line() {
    let mut state = 20_210_817;
    for many in [2, 3, 4, 5, 7, 8, 12] {
        for missing in 0..=1 {
            let mut at = wild(&mut state, 500);
            // Thousandths of an inch, never two alike.
            let stations: Vec<i64> = (0..many)
                .map(|_| {
                    at += 100 + wild(&mut state, 900);
                    at
                })
                .collect();
            let lengths = stations.iter().map(|at| Length::from_picometres(at * 25_400_000));
            let measures = Taper {
                rate: Ratio::new(7, 24),
                stations: lengths.collect(),
                station_u: inch("0.00001"),
            };
            let check = Check { measures: measures.into(), ..taper(&["1", "2"]) };
            // Hundred-thousandths of an inch: 7/24 and up to 20 of them off.
            let diameter = |at: &i64| at * 100 * 7 / 24 + wild(&mut state, 41) - 20;
            let diameters: Vec<i64> = stations.iter().map(diameter).collect();
            let mut some = read(&check, &diameters);
            let out = usize::try_from(wild(&mut state, many)).unwrap();
            if missing == 1 {
                some.sums.remove(out);
            }
            let touched = (0..).zip(stations.iter().zip(&diameters));
            let touched = touched.filter(|(index, _)| missing == 0 || *index != out);
            let points: Vec<(f64, f64)> =
                touched.map(|(_, (x, d))| (float(*x) * 1e-3, float(*d) * 1e-5)).collect();
            let found = judged(&some);
            if points.len() < 2 {
                assert_eq!((found.value, found.figures.rate), (None, None));
                continue;
            }
            let count = float(i64::try_from(points.len()).unwrap());
            let mean = |of: fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / count;
            let (x, d) = (mean(|one| one.0), mean(|one| one.1));
            let squares: f64 = points.iter().map(|one| (one.0 - x).powi(2)).sum();
            let slope = points.iter().map(|one| (one.0 - x) * (one.1 - d)).sum::<f64>() / squares;
            let span = float(stations[stations.len() - 1] - stations[0]) * 1e-3;
            near(found.figures.rate.unwrap().get(), slope, 0.6e-9);
            let error = (slope - 7.0 / 24.0).abs() * span;
            near(microinch(found.value.unwrap()), error * 1e6, 1e-3);
            let weight = span * span / squares;
            let doubt = 2.0 * (weight * (8.4_f64.powi(2) + (70.0 / 24.0_f64).powi(2))).sqrt();
            near(known(&found), doubt, 1e-3);
            assert_eq!(
                found.says.contains(&"Two stations show no form.".to_owned()),
                points.len() == 2
            );
        }
    }
}

/// Half angles as tables print them, to a second: 7/24 is 8° 17′ 50″ (ISO 297), Morse 3 with its
/// 0.602 35 in a foot 1° 26′ 16″, the metric 1 : 20 is 1° 25′ 56″ (both DIN 228).
#[test]
fn a_rate_has_the_half_angle_that_tables_print() {
    for (rise, run_in, degrees, minutes, seconds) in [
        (70_000, "2.4", 8.0, 17.0, 50.0),
        (60_235, "12", 1.0, 26.0, 16.0),
        (5_000, "1", 1.0, 25.0, 56.0),
    ] {
        let check = taper(&["0", run_in]);
        let found = judged(&read(&check, &[0, rise])).figures;
        let half = degrees + minutes / 60.0 + seconds / 3600.0;
        near(found.half_angle_deg.unwrap().get(), half, 0.6 / 3600.0);
    }
}
