use super::super::doubt::{Stated, assumed_plate};
use super::*;
use crate::Expanded;
use quantity::Unit;

fn um(text: &str) -> Length {
    Length::parse(text, Unit::Micrometre).unwrap()
}

/// Millionths of an inch, to a hundredth.
fn uin(text: &str) -> Length {
    let (whole, part) = text.split_once('.').unwrap_or((text, ""));
    Length::parse(&format!("0.{whole:0>6}{part}"), Unit::Inch).unwrap()
}

/// In millionths of an inch, to a hundredth.
fn in_uin(expanded: Expanded) -> String {
    format!("{:.2}", Figure::from(expanded.uncertainty).to_f64() / 25_400.0)
}

/// Stated u and s, a step of 10 millionths.
fn reading(u: &str, s: &str) -> Doubt {
    let stated = Stated { uncertainty: Some(uin(u)), repeatability: Some(uin(s)) };
    Doubt::of(stated, uin("10"), assumed_plate(false))
}

/// Without scatter and step.
fn fixed(u: &str) -> Doubt {
    let stated = Stated { uncertainty: Some(um(u)), repeatability: None };
    Doubt::of(stated, Length::ZERO, assumed_plate(false))
}

fn no_heat() -> Heat {
    let nothing = (Ratio::ZERO, Known::Stated);
    Heat {
        length: Length::parse("1.5", Unit::Inch).unwrap(),
        expansion: Ratio::new(115, 10_000_000),
        expansion_u: nothing,
        unlike: Ratio::ZERO,
        between_c: nothing,
        off_20_c: nothing,
    }
}

fn heat(length: &str) -> Heat {
    Heat {
        length: um(length),
        expansion_u: (Ratio::new(1, 1_000_000), Known::Stated),
        between_c: (Ratio::new(1, 5), Known::Stated),
        off_20_c: (Ratio::from_integer(1), Known::Stated),
        ..no_heat()
    }
}

fn touched(reading: Doubt, touches: u32, masters: u32) -> TouchedLength {
    TouchedLength { reading, touches, masters, zero: Figure::ZERO, master: None }
}

#[test]
fn a_length_against_a_master() {
    let plain = LengthShares {
        reading: reading("8.4", "6"),
        touches: 1,
        masters: 1,
        master: Some(Part::stated(Length::ZERO)),
        zero: Figure::ZERO,
        heat: no_heat(),
    };
    // 2·√2·8.4.
    assert_eq!(in_uin(plain.budget().expanded()), "23.76");
    assert_eq!(
        in_uin(LengthShares { masters: 0, master: None, ..plain }.budget().expanded()),
        "16.80"
    );
    // Three tries: 2·√(2·(12 + 34.56)).
    assert_eq!(
        in_uin(LengthShares { touches: 3, masters: 3, ..plain }.budget().expanded()),
        "19.30"
    );
    // A walk of 60, its farther end at 7/12: 2·√(141.12 + 35²/3).
    let walked = LengthShares { zero: Figure::from(uin("35")), ..plain };
    assert_eq!(in_uin(walked.budget().expanded()), "46.88");
    // The master to 10, 1.5 in of steel to 1 °C and 2 °C off 20 °C:
    // 2·√(141.12 + 100 + 17.25² + 3²).
    let assumed = Heat {
        expansion_u: (Ratio::new(1, 1_000_000), Known::Assumed),
        between_c: (Ratio::from_integer(1), Known::Assumed),
        off_20_c: (Ratio::from_integer(2), Known::Assumed),
        ..no_heat()
    };
    let master = Some(Part::assumed(ASSUMED_MASTER));
    let found = LengthShares { master, heat: assumed, ..plain }.budget().expanded();
    assert_eq!((in_uin(found).as_str(), found.known), ("46.81", Known::Assumed));
    // A carbide master on top: 1.5 in · 2 °C · 7.5e-6 = 22.5.
    let carbide = Heat { unlike: Ratio::new(75, 10_000_000), ..assumed };
    let found = LengthShares { master, heat: carbide, ..plain }.budget().expanded();
    assert_eq!(in_uin(found), "64.93");
}

#[test]
fn of_what_is_multiplied_by_nothing_nothing_is_assumed() {
    let heat = Heat { expansion_u: (Ratio::new(1, 1_000_000), Known::Assumed), ..no_heat() };
    let touched = [touched(reading("8.4", "6"), 4, 2); 2];
    assert_eq!(of_difference(touched, heat, None).expanded().known, Known::Stated);
}

#[test]
fn a_difference_of_four_touches_each() {
    // 2·√(2·36/4 + 2·36/2 + 2·(8.4² − 36)).
    let found = of_difference([touched(reading("8.4", "6"), 4, 2); 2], no_heat(), None).expanded();
    assert_eq!(in_uin(found), "22.19");
    // Readout only: q²/12 in each of the four means, 2·√(4·100/12). One count of 10 says nothing.
    let step = Stated { uncertainty: Some(uin("2.89")), repeatability: Some(uin("2.89")) };
    let step = Doubt::of(step, uin("10"), assumed_plate(false));
    let found = of_difference([touched(step, 4, 2); 2], no_heat(), None).expanded();
    assert_eq!(in_uin(found), "11.55");
    // The same where only u is stated, so that nothing is known to average: 2·√(2·8.35 + 4·8.33).
    let whole = Stated { uncertainty: Some(uin("2.89")), repeatability: None };
    let whole = Doubt::of(whole, uin("10"), assumed_plate(false));
    let found = of_difference([touched(whole, 4, 2); 2], no_heat(), None).expanded();
    assert_eq!(in_uin(found), "14.15");
    // Two masters: their sizes do not cancel. 2·√(123.12 + 100 + 16).
    let mut unlike = [touched(reading("8.4", "6"), 4, 2); 2];
    unlike[0].master = Some(Part::assumed(ASSUMED_MASTER));
    unlike[1].master = Some(Part::stated(uin("4")));
    let found = of_difference(unlike, no_heat(), None).expanded();
    assert_eq!((in_uin(found).as_str(), found.known), ("30.93", Known::Assumed));
}

#[test]
fn heat_alone() {
    // 100 mm: 0.1·11.5e-6·0.2 = 0.23 µm and 0.1·1e-6·1 = 0.1 µm; 2·√(0.0529 + 0.01) µm.
    let found = of_difference([touched(fixed("0"), 1, 0); 2], heat("100000"), None).expanded();
    assert_eq!(found.uncertainty.picometres(), 501_598);
}

#[test]
fn offsets_alone() {
    // 2·√(0.2²/2 + 0.2²/2) = 0.4 µm.
    let offsets = |u: Part| -> Offsets { [vec![u; 2], vec![u; 2]] };
    let none = [touched(fixed("0"), 1, 0); 2];
    let found = of_difference(none, heat("0"), Some(offsets(Part::stated(um("0.2"))))).expanded();
    assert_eq!((found.uncertainty, found.known), (um("0.4"), Known::Stated));
    let found =
        of_difference(none, heat("0"), Some(offsets(Part::assumed(Length::ZERO)))).expanded();
    assert_eq!((found.uncertainty, found.known), (Length::ZERO, Known::Assumed));
}

#[test]
fn many_digits_cost_a_picometre_at_most() {
    let mut long = heat("100000");
    long.between_c.0 = Ratio::new(200_000_000_001, 1_000_000_000_000);
    long.expansion_u.0 = Ratio::new(100_000_000_001, 100_000_000_000_000_000);
    let found = of_difference([touched(fixed("0"), 1, 0); 2], long, None).expanded().uncertainty;
    assert!((501_598..=501_600).contains(&found.picometres()), "{found:?}");
}

#[test]
fn what_does_not_fit_is_never_small() {
    let mut hot = heat("10000000");
    hot.expansion = Ratio::new(i128::MAX / 7, 3);
    hot.between_c.0 = Ratio::from_integer(1);
    let found = of_difference([touched(fixed("1"), 1, 0); 2], hot, None).expanded();
    // The root of the most there is: more than a hundred thousand kilometres.
    assert!(found.uncertainty.picometres() > 100_000_000_000_000_000, "{found:?}");
}

#[test]
fn a_walk_withholds_beyond_half_the_tolerance_or_where_it_reaches_a_limit() {
    let limits =
        |t: &str| Limits::Band { min: Length::from_picometres(-uin(t).picometres()), max: uin(t) };
    let value = Figure::from(uin("95"));
    let walk = |farthest: &str| Walk { farthest: uin(farthest), noise: uin("25") };
    let withholds = |walk: Walk, t: &str| walk.withholds(value, uin("46.9"), limits(t));
    assert!(!withholds(walk("60"), "145"));
    assert!(withholds(walk("60"), "120"), "95 + 46.9 reaches 120");
    assert!(!withholds(walk("25"), "120"), "no farther off than the noise brings it");
    assert!(withholds(walk("26"), "120"));
    let far = Walk { farthest: Length::from_picometres(-uin("60").picometres()), noise: uin("70") };
    assert!(withholds(far, "119") && !withholds(far, "120"), "half the tolerance, a tie is inside");
}
