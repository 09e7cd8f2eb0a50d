//! Turns with marks left out, and what is taken from several turns of which some lack one.

use super::*;
use crate::circle::Circle;
use crate::{Ask, Entry, Pair, Turn};

fn turn(positions: u32) -> Check {
    Check { setup: Holding::Turning, positions, radii: Vec::new(), ..check(Turn::default()) }
}

/// A first wave of 20 steps towards an angle, at the marks that are kept.
fn kept(check: &Check, towards: f64, keep: impl Fn(u32) -> bool) -> Series<'_> {
    let height = |position: u32| {
        let off = (check.angle_deg(position) - towards).to_radians();
        #[expect(clippy::cast_possible_truncation, reason = "some million picometres")]
        let height = (20.0 * 254_000.0 * off.cos()).round() as i64;
        (position, height)
    };
    let sums = (0..check.total()).filter(|position| keep(*position)).map(height).collect();
    let open = (0..check.total()).filter(|position| !keep(*position)).collect();
    Series { sums, open, ..series(check, &[]) }
}

/// It is told of a high spot between two touches that are more than one mark apart, and of no other.
#[test]
fn a_high_spot_in_a_gap_is_said_to_lie_between_its_ends() {
    let check = turn(12);
    for left_out in [vec![3], vec![3, 4], vec![0], vec![11, 0]] {
        let series = |towards: f64| kept(&check, towards, |position| !left_out.contains(&position));
        let degrees = |position: u32| 30.0 * f64::from(position);
        let from = (degrees(left_out[0]) - 30.0).rem_euclid(360.0);
        let to = (degrees(left_out[left_out.len() - 1]) + 30.0).rem_euclid(360.0);
        let wide = (to - from).rem_euclid(360.0);
        let said = |towards: f64| {
            let says = judged(&series(towards.rem_euclid(360.0))).says;
            says.into_iter().find(|said| said.contains("high spot lies between"))
        };
        for share in [0.1, 0.5, 0.9] {
            let text = said(from + share * wide).unwrap();
            assert!(text.contains(&format!("between {from} and {to},")), "{left_out:?}: {text}");
        }
        for outside in [-15.0, -90.0, wide + 15.0, wide + 90.0] {
            assert_eq!(said(from + outside), None, "{left_out:?} {outside}");
        }
    }
    // Gone round twice, marks are half as far apart, and one left out is a gap all the same.
    let twice = Check { passes: 2, ..turn(8) };
    let found = judged(&kept(&twice, 90.0, |position| position != 2));
    says(&found, "between 67.5 and 112.5,");
    assert!(judged(&kept(&twice, 90.0, |_| true)).says.is_empty());
}

/// Half the turn untouched, or more, tells no direction.
#[test]
fn from_half_a_turn_nobody_knows_the_high_side() {
    let check = turn(12);
    for touched in 3..=12 {
        let found = judged(&kept(&check, 40.0, |position| position < touched));
        let open = touched <= 7;
        let said = found.says.iter().any(|said| said.contains("Half the turn or more"));
        assert_eq!(said, open, "{touched}: {:?}", found.says);
        assert_eq!(found.figures.high_side_deg.is_none(), open, "{touched}");
        if let Some(high) = found.figures.high_side_deg {
            near(high.get(), 40.0, 0.002);
        }
    }
    let two = judged(&kept(&check, 40.0, |position| position < 2));
    assert!(two.value.is_some() && two.says.is_empty(), "two touches are no turn to speak of");
}

/// The mean of turns has the marks that all of them have, and is as exact as they are.
#[test]
fn a_mean_turn_has_the_marks_of_all_its_turns() {
    let check = turn(36);
    let mut readings = series(&check, &[]);
    readings.parts = 2;
    // Three turns of 12: the second lacks mark 4, the third mark 7.
    readings.sums = (0..36_u32)
        .filter(|position| ![12 + 4, 24 + 7].contains(position))
        .map(|position| (position, i64::from(position % 12) * i64::from(1 + position / 12)))
        .collect();
    let turns = [0, 1, 2].map(|turn| Circle::of(&readings, |position| position / 12 == turn));
    let all: Vec<&Circle> = turns.iter().collect();
    let mean = Circle::mean_of(&all, 12).unwrap();
    assert_eq!((turns[0].touches(), mean.touches()), (12, 10));
    // Mark 11 is at 11, 22 and 33 halves, mark 0 at none: 66 of six.
    assert_eq!(mean.total(), Some(Figure::from(Length::from_picometres(11))));
    assert_eq!(Circle::mean_of(&all[..1], 12).unwrap().total(), turns[0].total());
    assert!(Circle::mean_of(&[], 12).is_none());
}

/// A streamed turn tells its total beside what the low-pass left of it, swept or not.
#[test]
fn what_was_read_stands_beside_what_was_filtered() {
    let check = turn(360);
    let mut series = kept(&check, 40.0, |_| true);
    // Every second sample a step higher: nothing of it passes.
    for (position, sum) in &mut series.sums {
        *sum += if *position % 2 == 0 { 254_000 } else { -254_000 };
    }
    let found = judged(&series);
    // Of a wave of n the Gaussian filter of ISO 16610-21 leaves ½ to the power of (n/15)².
    near(microinch(found.value.unwrap()), 400.0 * 0.5_f64.powf(1.0 / 225.0), 0.001);
    let read = found.figures.unfiltered.unwrap();
    near(microinch(read), 420.0, 0.5);
    assert_eq!(found.figures.max_minus_min, Some(read));
    // By hand nothing is filtered, up to thirty touches.
    for (positions, filtered) in [(30, false), (31, true)] {
        let check = turn(positions);
        let found = judged(&kept(&check, 40.0, |_| true)).figures;
        assert_eq!(found.unfiltered.is_some(), filtered, "{positions}");
        assert_eq!(found.harmonics.len(), if filtered { 15 } else { 7 });
    }
}

/// An answer and an entry are no figure; a difference is what its two lengths come to.
#[test]
fn what_nobody_touches_has_no_figure_of_its_own() {
    let ask = Ask { question: "on?".to_owned(), answers: Vec::new(), good: Vec::new() };
    let entry = Entry {
        question: "how warm?".to_owned(),
        unit: Some("C".to_owned()),
        thermometer: None,
        columns: None,
        u: None,
    };
    for check in [check(ask), check(entry)] {
        let found = judged(&series(&check, &[]));
        assert_eq!((found.value, found.expanded(), found.limits), (None, None, None));
        assert_eq!(check.measures.so_far(&series(&check, &[])), None);
        assert!(check.measures.asks().is_some() && check.measures.made_of().is_empty());
    }
    let pair = super::written::good("difference", super::pairs::PAIR);
    let room = Room { zero: Some(Figure::from(inch("0.0003"))), ..Room::default() };
    let none = series(&pair, &[]);
    assert_eq!(pair.measures.judge(&none, &room).value, room.zero);
    assert_eq!(pair.measures.so_far(&none), None, "it is told when both lengths are");
    let Pair { of, .. } = pair.measures.told();
    assert_eq!(pair.measures.made_of(), of);
}
