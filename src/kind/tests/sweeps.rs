//! Turns swept by hands that are not steady: what is told of the high side holds.

use super::*;
use crate::check::Swept;
use crate::{Taps, Turn};

/// A hand that turns on: for each part between two marks how long it took, ms, and where in it the hand
/// stood still and for how long.
struct Hand {
    parts_ms: Vec<u64>,
    stood: Option<(usize, f64, u64)>,
}

impl Hand {
    /// When each mark passed, and where the metal is at a moment, degrees in the order of the marks.
    fn taps(&self) -> Vec<u64> {
        let long = |part: usize| {
            let stood = self.stood.filter(|(at, ..)| *at == part).map_or(0, |(.., ms)| ms);
            (self.parts_ms[part] + stood) * 1000
        };
        let mut at_us = vec![1_000_000];
        for part in 0..self.parts_ms.len() {
            at_us.push(at_us[part] + long(part));
        }
        at_us
    }

    fn deg(&self, at_us: u64) -> f64 {
        let taps = self.taps();
        let part = taps.windows(2).position(|two| (two[0]..=two[1]).contains(&at_us)).unwrap();
        let since = float(at_us - taps[part]) / 1000.0;
        let moving = float(self.parts_ms[part]);
        let gone = match self.stood.filter(|(at, ..)| *at == part) {
            Some((_, after, ms)) => since.min(after * moving).max(since - float(ms)),
            None => since,
        };
        let index = u32::try_from(part).unwrap();
        let pitch = 360.0 / f64::from(u32::try_from(self.parts_ms.len()).unwrap());
        (f64::from(index) + gone / moving) * pitch
    }
}

#[expect(clippy::cast_precision_loss, reason = "some million microseconds")]
fn float(whole: u64) -> f64 {
    whole as f64
}

/// Where a swept turn with an eccentricity towards an angle is high, and how well that is known, as it is
/// judged: a sample each 40 ms.
fn high_side(hand: &Hand, direction: Direction, towards: f64) -> (f64, f64) {
    let at_us = hand.taps();
    let marks = u32::try_from(hand.parts_ms.len()).unwrap();
    let reads = Reads::Sweep(Swept { marks, angles_deg: Vec::new() });
    let base = check(Turn::default());
    let base = Check { setup: Holding::Turning, radii: Vec::new(), direction, reads, ..base };
    let moments: Vec<u64> = (at_us[0]..at_us[at_us.len() - 1]).step_by(40_000).collect();
    let taps = Taps { at_us, samples: u32::try_from(moments.len()).unwrap() };
    let mut check = taps.check_to_fill(&base);
    let mut sums = Vec::new();
    for (position, at_us) in (0..).zip(moments) {
        taps.place(&mut check, at_us);
        let counted = hand.deg(at_us);
        let metal = if direction == Direction::Clockwise { -counted } else { counted };
        #[expect(clippy::cast_possible_truncation, reason = "some million picometres")]
        let height = (5_080_000.0 * (metal - towards).to_radians().cos()).round() as i64;
        sums.push((position, height));
    }
    let found = judged(&Series { taps: Some(&taps), sums, ..series(&check, &[]) });
    let high = found.figures.high_side_deg.unwrap().get();
    (high, found.figures.high_side_u_deg.unwrap().get())
}

fn apart(one: f64, other: f64) -> f64 {
    ((one - other + 180.0).rem_euclid(360.0) - 180.0).abs()
}

/// Between two marks at an even speed, whatever it is: the high side is where it was planted, the more
/// samples of a slow part notwithstanding.
#[test]
fn a_hand_that_changes_its_speed_at_the_marks_is_followed() {
    for parts_ms in [
        vec![2_000, 2_000, 2_000, 2_000],
        vec![2_000, 2_900, 2_100, 2_600],
        vec![1_500, 2_000, 1_600, 1_900, 2_200, 1_700],
        vec![900, 1_000, 1_100, 1_200, 1_300, 1_200, 1_100, 1_000],
    ] {
        let hand = Hand { parts_ms, stood: None };
        for direction in [Direction::CounterClockwise, Direction::Clockwise] {
            for towards in [77.0, 359.0] {
                let (high, known) = high_side(&hand, direction, towards);
                assert!(apart(high, towards) < 0.5, "{:?} {towards} {high}", hand.parts_ms);
                assert!(apart(high, towards) < known);
            }
        }
    }
}

/// Where it stood nobody knows: the high side lies within what is told, wherever that was.
#[test]
fn a_hand_that_stood_anywhere_leaves_the_high_side_within_what_is_told() {
    let parts_ms = vec![2_000, 2_000, 2_000, 2_000];
    for (part, direction) in [(1, Direction::CounterClockwise), (3, Direction::Clockwise)] {
        for after in [0.0, 0.4, 1.0] {
            let hand = Hand { parts_ms: parts_ms.clone(), stood: Some((part, after, 3_000)) };
            for towards in [100.0, 290.0] {
                let (high, known) = high_side(&hand, direction, towards);
                let off = apart(high, towards);
                let case = format!("{part} {after} {direction:?} {towards}");
                assert!(off <= known, "{case}: {off} and {known} are told");
            }
        }
    }
}
