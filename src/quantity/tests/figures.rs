//! Figures: exact arithmetic, and what rounding may and may not do, over all units and places.

use std::cmp::Ordering;

use super::*;

fn figure() -> impl Strategy<Value = Figure> {
    let denominator = prop::sample::select(vec![1_i128, 2, 3, 7, 254, 1000, 1_000_003, 1 << 40]);
    (-1_000_000_000_000_000_i128..1_000_000_000_000_000, denominator)
        .prop_map(|(numerator, denominator)| Figure::new(numerator, denominator))
}

/// One of the last of these places, in this unit.
fn last_place(unit: Unit, places: u32) -> Figure {
    Figure::new(unit.picometres().into(), 10_i128.pow(places))
}

/// Compares by the rule of three, in whole numbers.
fn order(one: Figure, other: Figure) -> Ordering {
    (one.numerator() * other.denominator()).cmp(&(other.numerator() * one.denominator()))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn rounding_goes_to_the_nearest_and_ties_to_the_even_digit(
        figure in figure(), unit in unit(), places in 0_u32..=14,
    ) {
        let (rounded, step) = (figure.rounded_at(unit, places), last_place(unit, places));
        let off = (rounded - figure).abs() * 2;
        prop_assert!(off <= step, "{} at {}", figure.fixed(unit, 14), places);
        if off == step {
            let last = figure.fixed(unit, places).bytes().last().unwrap();
            prop_assert!((last - b'0').is_multiple_of(2), "{}", figure.fixed(unit, places));
        }
        // The text, with all its zeros or without, is the rounded figure.
        let (fixed, trimmed) = (figure.fixed(unit, places), figure.trimmed_at(unit, places));
        prop_assert_eq!(Figure::parse(&fixed, unit), Some(rounded));
        prop_assert_eq!(Figure::parse(&trimmed, unit), Some(rounded));
        prop_assert!(!trimmed.contains('.') || !trimmed.ends_with(['0', '.']), "{}", trimmed);
        prop_assert_eq!(rounded.rounded_at(unit, places), rounded, "rounded once is rounded");
    }

    #[test]
    fn rounding_up_never_makes_smaller_and_adds_less_than_one_of_the_last_place(
        figure in figure(), unit in unit(), places in 0_u32..=14,
    ) {
        let (up, step) = (figure.rounded_up_at(unit, places), last_place(unit, places));
        prop_assert!(up >= figure && up - figure < step, "{}", figure.fixed(unit, 14));
        prop_assert_eq!(Figure::parse(&figure.shown_up_at(unit, places), unit), Some(up));
        prop_assert_eq!(up.rounded_up_at(unit, places), up);
        // What is told of an uncertainty is this, at its own places.
        let shown = Figure::parse(&figure.shown_up(unit), unit);
        prop_assert_eq!(shown, Some(figure.rounded_up_at(unit, unit.uncertainty_places())));
    }

    #[test]
    fn order_is_kept_by_rounding_and_is_that_of_the_fractions(
        one in figure(), other in figure(), unit in unit(), places in 0_u32..=12,
    ) {
        prop_assert_eq!(one.cmp(&other), order(one, other));
        if one <= other {
            prop_assert!(one.rounded_at(unit, places) <= other.rounded_at(unit, places));
            prop_assert!(one.rounded_up_at(unit, places) <= other.rounded_up_at(unit, places));
        }
    }

    #[test]
    fn arithmetic_is_that_of_fractions(
        a in (-1_000_000_i128..1_000_000, 1_i128..1_000),
        b in (-1_000_000_i128..1_000_000, 1_i128..1_000),
        factor in -50_i64..50,
    ) {
        let [one, other] = [a, b].map(|(top, bottom)| Figure::new(top, bottom));
        prop_assert_eq!(one + other, Figure::new(a.0 * b.1 + b.0 * a.1, a.1 * b.1));
        prop_assert_eq!(one - other, Figure::new(a.0 * b.1 - b.0 * a.1, a.1 * b.1));
        prop_assert_eq!(one * factor, Figure::new(a.0 * i128::from(factor), a.1));
        prop_assert_eq!(-one, Figure::new(-a.0, a.1));
        prop_assert_eq!(one.abs(), Figure::new(a.0.abs(), a.1));
        prop_assert_eq!(one.abs(), (-one).abs());
        if factor != 0 {
            prop_assert_eq!(one / factor * factor, one);
        }
        // In lowest terms, the denominator above zero.
        let gcd = (1..=one.denominator()).rev().find(|n| one.denominator() % n == 0 && one.numerator() % n == 0);
        prop_assert_eq!((gcd, one.denominator() > 0), (Some(1), true));
    }

    #[test]
    fn a_figure_is_stored_exactly(figure in figure()) {
        let text = serde_json::to_string(&figure).unwrap();
        prop_assert_eq!(serde_json::from_str::<Figure>(&text).unwrap(), figure);
    }

    #[test]
    fn whole_picometres_up_are_the_next_whole_number(figure in figure()) {
        let up = Figure::new(figure.ceil(), 1);
        prop_assert!(up >= figure && up - figure < Figure::new(1, 1));
    }

    #[test]
    fn the_mean_times_their_number_is_the_sum(lengths in prop::collection::vec(any::<i64>(), 1..40)) {
        let sum: i128 = lengths.iter().map(|length| i128::from(*length)).sum();
        let count = i64::try_from(lengths.len()).unwrap();
        let all: Vec<Length> = lengths.into_iter().map(Length::from_picometres).collect();
        prop_assert_eq!(Figure::mean(&all).unwrap() * count, Figure::new(sum, 1));
    }
}

#[test]
fn a_third_has_no_end_and_is_told_to_its_places() {
    let third = Figure::new(1_000_000, 3);
    assert_eq!(third.shown(Unit::Micrometre), "0.333");
    assert_eq!(third.known(Unit::Micrometre), "0.333333333");
    assert_eq!(third.shown_up(Unit::Micrometre), "0.333334");
    assert_eq!((-third).shown_up(Unit::Micrometre), "-0.333333");
    assert_eq!(third.fixed(Unit::Micrometre, 0), "0");
    assert_eq!((third * 3).known(Unit::Micrometre), "1");
    assert_eq!(third.ceil(), 333_334);
    assert_eq!((-third).ceil(), -333_333);
    assert!((third.to_f64() - 333_333.333_333_333_3).abs() < 1e-9);
}

#[test]
fn only_a_text_this_program_wrote_is_a_figure() {
    for text in
        ["", ".", "-", "-.", "+1", "1e3", " 1", "1 ", "--1", "-+1", "1.2.3", "1,5", "\u{661}"]
    {
        assert_eq!(Figure::parse(text, Unit::Inch), None, "{text:?}");
    }
    let long = "1".repeat(39);
    let fine = format!("0.{}", "0".repeat(39));
    for text in [long.as_str(), fine.as_str(), "99999999999999999999999999999"] {
        assert_eq!(Figure::parse(text, Unit::Inch), None, "{text:?} does not fit");
    }
    assert_eq!(Figure::parse(".5", Unit::Millimetre), Some(Figure::new(500_000_000, 1)));
    assert_eq!(Figure::parse("-2.", Unit::Micrometre), Some(Figure::new(-2_000_000, 1)));
    assert_eq!(Figure::parse("-0", Unit::Inch), Some(Figure::ZERO));
}

#[test]
fn nothing_has_no_sign() {
    for places in 0..=8 {
        for figure in [Figure::ZERO, Figure::new(-1, 1000), Figure::new(1, 1000)] {
            let fixed = figure.fixed(Unit::Inch, places);
            assert!(
                !fixed.starts_with('-') && fixed.bytes().all(|c| c == b'0' || c == b'.'),
                "{fixed}"
            );
            assert_eq!(figure.trimmed_at(Unit::Inch, places), "0");
        }
    }
    // Rounded up, a little below nothing is nothing, too.
    assert_eq!(Figure::new(-1, 1000).shown_up(Unit::Inch), "0");
}

#[test]
#[should_panic(expected = "denominator == 0")]
fn a_fraction_of_nothing_is_a_mistake() {
    let _none = Figure::new(1, 0);
}

/// A figure in a unit by long division, digit by digit: its whole part, so many places, and what is left.
fn divided(figure: Figure, unit: Unit, places: u32) -> (String, bool) {
    let bottom = figure.denominator() * i128::from(unit.picometres());
    let top = figure.numerator();
    let (mut digits, mut rest) = ((top / bottom).to_string(), top % bottom);
    for place in 0..places {
        if place == 0 {
            digits.push('.');
        }
        rest *= 10;
        digits.push(char::from(b'0' + u8::try_from(rest / bottom).unwrap()));
        rest %= bottom;
    }
    (digits, rest > 0)
}

#[test]
fn figures_as_large_and_as_fine_as_any_are_shown_at_every_place() {
    // The zone of a face of 4 m has weights below 2^65; one that is as tall as any length that is taken.
    let tall = Figure::from(Length::LARGEST) + Figure::new(1, (1 << 65) - 1);
    let fine = Figure::new((1 << 112) - 1, (1 << 76) - 1);
    let large = Figure::new((1 << 96) - 1, 1);
    for figure in [tall, fine, large] {
        let stored = serde_json::to_string(&figure).unwrap();
        assert_eq!(serde_json::from_str::<Figure>(&stored).unwrap(), figure, "{stored}");
        for unit in UNITS {
            for places in 0..=14 {
                let (down, more) = divided(figure, unit, places);
                let step = last_place(unit, places);
                let below = Figure::parse(&down, unit).unwrap();
                let up = if more { below + step } else { below };
                assert_eq!(figure.rounded_up_at(unit, places), up, "{down}");
                assert_eq!(-(-figure).rounded_up_at(unit, places), below, "{down}");
                let nearest = figure.rounded_at(unit, places);
                assert!(nearest == below || nearest == below + step, "{down}");
                assert_eq!(Figure::parse(&figure.fixed(unit, places), unit), Some(nearest));
            }
        }
    }
    // Beyond that nothing is read that could not be shown.
    let beyond = format!("\"{}/1\"", (1_i128 << 96) + 1);
    assert!(serde_json::from_str::<Figure>(&beyond).is_err());
}
