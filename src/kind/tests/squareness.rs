//! Squareness of a face that leans and is dished by so much: its figure is geometry, its uncertainty
//! arithmetic by hand.

use judgement::{Known, Reason};

use super::*;
use crate::Squareness;

fn face_on(radii: &[&str], stand: &str) -> Check {
    Check {
        setup: Holding::Turning,
        radii: radii.iter().map(|radius| inch(radius)).collect(),
        ..check(Squareness { stand: inch(stand) })
    }
}

/// A face that leans by `lean` at the largest radius, its outer circle `dish` above the inner one;
/// millionths of an inch.
fn leaning(check: &Check, lean: f64, dish: f64) -> Series<'_> {
    let largest = Figure::from(*check.radii.iter().max().unwrap()).to_f64();
    let height = |position: u32| {
        let radius = Figure::from(check.radius(position).unwrap()).to_f64();
        let outer = f64::from(u8::from(radius >= largest));
        let tilt = lean * radius / largest * check.angle_deg(position).to_radians().cos();
        let picometres = picometres_of(tilt + dish * outer);
        (position, picometres)
    };
    let stated = Stated { uncertainty: None, repeatability: Some(inch("0.000006")) };
    Series {
        sums: (0..check.total()).map(height).collect(),
        reading: Doubt::of(stated, inch("0.000001"), check.assumed_rest()),
        ..series(check, &[])
    }
}

/// Millionths of an inch as picometres.
#[expect(clippy::cast_possible_truncation, reason = "a thousandth of an inch at most")]
fn picometres_of(millionths: f64) -> i64 {
    (millionths * 25_400.0).round() as i64
}

fn millionths(figure: Figure) -> f64 {
    figure.to_f64() / 25_400.0
}

/// 2·r·g by geometry: 20 µrad at 1.5 in are ±30 millionths.
#[test]
fn a_face_that_leans_shows_twice_the_radius_times_the_angle() {
    let check = face_on(&["1", "1.5"], "0.000005");
    let judged = check.measures.judge(&leaning(&check, 30.0, 0.0), &Room::default());
    assert!((millionths(judged.value.unwrap()) - 60.0).abs() < 1e-3);
    // 2·√(2·6² + 5²) = 19.698.
    let known = judged.expanded().unwrap();
    assert!((millionths(Figure::from(known.uncertainty)) - 19.6977).abs() < 1e-3);
    assert_eq!((known.known, judged.reasons), (Known::Stated, vec![]));
    let tilt = judged.figures.slope_urad.unwrap().get();
    assert!((tilt - 20.0).abs() < 1e-3, "{tilt}");
}

/// c + (R + r)·g, where the dish is more than the lean can hide: 100 + 30 + 20.
#[test]
fn a_dish_adds_to_what_the_face_leans() {
    let check = face_on(&["1", "1.5"], "0.000005");
    let series = leaning(&check, 30.0, 100.0);
    let judged = check.measures.judge(&series, &Room::default());
    assert!((millionths(judged.value.unwrap()) - 150.0).abs() < 1e-3);
    assert!((millionths(judged.figures.dish.unwrap()) - 100.0).abs() < 1e-3);
    assert_eq!(check.measures.so_far(&series), judged.value);
}

#[test]
fn one_radius_is_withheld_however_many_touches_it_has() {
    for radii in [&["1.5"][..], &["1", "1.5"]] {
        let check = face_on(radii, "0.000005");
        let mut series = leaning(&check, 30.0, 0.0);
        let all = check.measures.judge(&series, &Room::default()).reasons;
        assert_eq!(all.contains(&Reason::OneRadius), radii.len() == 1);
        series.sums.retain(|(position, _)| *position < 8);
        let reasons = check.measures.judge(&series, &Room::default()).reasons;
        assert_eq!(reasons, [Reason::OneRadius]);
    }
}

#[test]
fn a_stand_that_is_not_stated_is_assumed_to_add_nothing() {
    let check = face_on(&["1", "1.5"], "0");
    let known =
        check.measures.judge(&leaning(&check, 30.0, 0.0), &Room::default()).expanded().unwrap();
    assert_eq!(known.known, Known::Assumed);
    assert!((millionths(Figure::from(known.uncertainty)) - 16.9706).abs() < 1e-3);
}
