//! Several touches at each position: what is left of the doubt of a figure of any kind, and what never
//! changes.

use super::invariances::{each, heights, sizes, word};
use super::*;
use judgement::Known;

/// A series of which each position is the mean of so many touches.
fn of_touches<'a>(check: &'a Check, readings: &[i64], touches: u32) -> Series<'a> {
    Series { averaged: touches, ..series(check, readings) }
}

/// With a gauge whose scatter and the rest of whose uncertainty are stated, in millionths of an inch.
fn with_gauge(series: Series<'_>, s: i64, u: i64) -> Series<'_> {
    let uin = |count: i64| Some(Length::from_picometres(25_400 * count));
    let stated = Stated { uncertainty: uin(u), repeatability: uin(s) };
    let reading = Doubt::of(stated, inch("0.00001"), (Share::Plate, Part::stated(Length::ZERO)));
    Series { reading, ..series }
}

fn u(series: &Series<'_>) -> Option<Length> {
    judged(series).expanded().map(|expanded| expanded.uncertainty)
}

#[test]
fn more_touches_change_no_figure_and_never_make_it_less_sure() {
    each(&[heights(), sizes()].concat(), |check, readings| {
        let one = judged(&of_touches(check, readings, 1));
        let mut before = one.expanded().map(|expanded| expanded.uncertainty);
        for touches in [2, 3, 4, 10, 1000] {
            let series = of_touches(check, readings, touches);
            let more = judged(&series);
            let case = format!("{} {readings:?} of {touches}", word(check));
            assert_eq!(more.value, one.value, "{case}");
            assert_eq!(more.figures.mean, one.figures.mean, "{case}");
            assert_eq!(more.figures.contacts_upper, one.figures.contacts_upper, "{case}");
            assert!(u(&series) <= before, "{case}");
            before = u(&series);
        }
    });
}

/// Averaging takes the scatter down to that of the last place, q/√12, and leaves all else: so a gauge whose
/// whole uncertainty is its scatter gains most, and none gains more than √n.
#[test]
fn what_touches_have_in_common_is_never_averaged_away() {
    each(&[heights(), sizes()].concat(), |check, readings| {
        let case = format!("{} {readings:?}", word(check));
        let whole = |touches: u32, s: i64, u_: i64| {
            u(&with_gauge(of_touches(check, readings, touches), s, u_))
        };
        let Some((one, nine)) = whole(1, 20, 20).zip(whole(9, 20, 20)) else { return };
        let parts = |length: Length| u128::from(length.picometres().unsigned_abs());
        assert!(nine <= one, "{case}");
        assert!(3 * parts(nine) + 3 >= parts(one), "{case}: no better than a third");
        // Of a gauge whose rest is large nine touches save little: u² = 20² + 60². On a turn it has no share.
        if check.setup == Holding::Plate {
            let Some((one, nine)) = whole(1, 20, 63).zip(whole(9, 20, 63)) else { return };
            assert!(nine <= one && parts(nine) * 100 >= parts(one) * 94, "{case}: 60/63 at least");
        }
        // A scatter below the last place is none: ten touches are as one.
        assert_eq!(whole(10, 1, 20), whole(1, 1, 20), "{case}");
    });
}

#[test]
fn without_a_split_no_touch_makes_it_better() {
    each(&[heights(), sizes()].concat(), |check, readings| {
        let unsplit = |touches: u32| {
            let stated = Stated { uncertainty: Some(inch("0.00002")), repeatability: None };
            let rest = (Share::Plate, Part::stated(Length::ZERO));
            let reading = Doubt::of(stated, inch("0.00001"), rest);
            let series = Series { reading, ..of_touches(check, readings, touches) };
            judged(&series).expanded()
        };
        assert_eq!(unsplit(9), unsplit(1), "{} {readings:?}", word(check));
    });
}

#[test]
fn how_well_it_is_known_does_not_depend_on_how_often_it_was_touched() {
    each(&[heights(), sizes()].concat(), |check, readings| {
        let assumed = |touches: u32| {
            let nothing = Stated { uncertainty: None, repeatability: None };
            let rest = (Share::Plate, Part::stated(Length::ZERO));
            let reading = Doubt::of(nothing, inch("0.00001"), rest);
            let series = Series { reading, ..of_touches(check, readings, touches) };
            judged(&series).expanded().map(|expanded| expanded.known)
        };
        if let Some(known) = assumed(1) {
            assert_eq!(known, Known::Assumed, "{}", word(check));
            assert_eq!(assumed(5), Some(known), "{}", word(check));
        }
    });
}
