use proptest::prelude::*;

use super::*;
use crate::quantity::Unit;

const ATTEMPT: u64 = 7;

const NONE: [i64; 0] = [];

/// 0.00001 in.
const STEP: Length = Length::from_picometres(254_000);

/// A hand on a stream: what it does is turned into samples, shown to the machine one by one.
struct Hand {
    settle: Settle,
    now_us: u64,
    period_us: u64,
    level: Option<Length>,
    armed: bool,
    taken: Vec<i64>,
    /// A small generator (Knuth's MMIX constants), so that a tremor is the same in every run.
    seed: u64,
}

impl Hand {
    fn at(hertz: u64) -> Self {
        Self {
            settle: Settle::new(STEP),
            now_us: 0,
            period_us: 1_000_000 / hertz,
            level: None,
            armed: true,
            taken: Vec::new(),
            seed: hertz,
        }
    }

    /// Something between −size and +size.
    fn tremor(&mut self, size: i64) -> i64 {
        self.seed = self
            .seed
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        let wide = i64::try_from(self.seed >> 33).unwrap();
        if size == 0 { 0 } else { wide % (2 * size + 1) - size }
    }

    /// One sample, in steps of the display.
    fn show(&mut self, steps: i64) {
        self.now_us += self.period_us;
        let value = Quoted::from_count(i128::from(steps), 5, Unit::Inch).unwrap();
        let (as_sent, at_us) = (format!("{steps}"), self.now_us);
        let sample = Sample { at_us, value, as_sent, odd: None, low_battery: false };
        let armed = self.armed.then_some(Armed { attempt: ATTEMPT, level: self.level });
        if let Some(taken) = self.settle.sample(sample, armed) {
            self.level = self.level.or(Some(taken.value.length));
            self.taken.push(taken.as_sent.parse().unwrap());
        }
    }

    /// Stays at a height for a time, trembling.
    fn stay(&mut self, steps: i64, tremor: i64, ms: u64) {
        let end_us = self.now_us + ms * 1000;
        while self.now_us < end_us {
            let off = self.tremor(tremor);
            self.show(steps + off);
        }
    }

    /// Moves evenly from one height to another.
    fn go(&mut self, from: i64, to: i64, ms: u64) {
        let (start_us, long_us) = (self.now_us, ms * 1000);
        while self.now_us < start_us + long_us {
            let gone = i64::try_from((self.now_us - start_us) * 1000 / long_us).unwrap();
            self.show(from + (to - from) * gone / 1000);
        }
    }

    /// A knock on the bench: one sample far off, or as many as it rings for 60 ms.
    fn knock(&mut self, steps: i64, far: i64) {
        let end_us = self.now_us + 60_000;
        while self.now_us < end_us {
            self.show(steps + far);
        }
    }

    fn lift(&mut self, from: i64, to: i64, hold_ms: u64, tremor: i64) {
        self.go(from, from + 3000, 300);
        self.stay(from + 3000, tremor, hold_ms);
        self.go(from + 3000, to, 200);
    }
}

#[test]
fn a_ring_of_eight_and_its_closure_is_nine_touches() {
    for hertz in [5, 10, 30, 1000] {
        let mut hand = Hand::at(hertz);
        let heights = [3, 12, 20, 31, 28, 17, 9, 1, 3];
        // The stylus rests on the part since before the check began.
        hand.stay(40, 1, 2000);
        let mut last = 40;
        for (position, height) in heights.into_iter().enumerate() {
            // Held high by hand, or parked by a lever; for the third touch five seconds long.
            let (hold_ms, tremor) = if position == 3 { (5000, 0) } else { (600, 40) };
            hand.lift(last, height, hold_ms, tremor);
            hand.stay(height, 1, 2000);
            assert_eq!(hand.taken.len(), position + 1, "{hertz} Hz, position {position}");
            if position == 1 {
                hand.knock(height, 900);
                hand.stay(height, 1, 1500);
                hand.knock(height, -900);
                hand.stay(height, 1, 1500);
            }
            if position == 4 {
                hand.go(height, height + 15, 1500);
                hand.stay(height + 15, 0, 2000);
                hand.go(height + 15, height - 700, 300);
                hand.stay(height - 700, 0, 2000);
                hand.go(height - 700, height, 300);
                hand.stay(height, 0, 2000);
            }
            last = height;
        }
        hand.lift(last, last, 5000, 0);
        hand.armed = false;
        let close = |(taken, height): (&i64, i64)| (taken - height).abs() <= 1;
        assert!(hand.taken.iter().zip(heights).all(close), "{hertz} Hz: {:?}", hand.taken);
        assert_eq!(hand.taken.len(), 9, "{hertz} Hz");
    }
}

#[test]
fn the_first_touch_is_what_a_lift_came_down_on() {
    let mut hand = Hand::at(10);
    hand.stay(9000, 0, 60_000);
    assert_eq!(hand.taken, NONE, "parked in the air");
    hand.stay(-2000, 0, 60_000);
    assert_eq!(hand.taken, [-2000], "it came down from there");

    let mut hand = Hand::at(10);
    hand.stay(-9000, 0, 10_000);
    hand.go(-9000, 0, 1000);
    hand.stay(0, 0, 60_000);
    assert_eq!(hand.taken, NONE, "hanging free, then on the part: nothing was ever above");
    hand.go(0, 80, 200);
    hand.stay(80, 0, 1000);
    hand.stay(0, 0, 5000);
    assert_eq!(hand.taken, NONE, "less than 0.001 in is no lift");
    hand.lift(0, 0, 500, 9);
    hand.stay(0, 0, 5000);
    assert_eq!(hand.taken, [0]);
}

#[test]
fn a_lift_from_before_belongs_to_something_else() {
    let mut hand = Hand::at(10);
    hand.armed = false;
    hand.lift(0, 0, 1000, 9);
    hand.stay(0, 0, 300);
    hand.armed = true;
    hand.stay(0, 0, 5000);
    assert_eq!(hand.taken, NONE);
    // Held up while the check begins: this one counts.
    hand.armed = false;
    hand.lift(0, 3000, 1000, 0);
    hand.armed = true;
    hand.stay(3000, 5, 500);
    hand.go(3000, 0, 300);
    hand.stay(0, 0, 2000);
    assert_eq!(hand.taken, [0]);
}

#[test]
fn an_hour_of_flicker_is_one_touch() {
    let mut hand = Hand::at(10);
    hand.lift(0, 0, 1000, 9);
    hand.stay(0, 1, 3_600_000);
    assert_eq!(hand.taken.len(), 1);
    let mut frozen = Hand::at(10);
    frozen.stay(0, 0, 3_600_000);
    assert_eq!(frozen.taken, NONE);
}

#[test]
fn the_median_is_a_frame_that_was_sent() {
    let mut hand = Hand::at(10);
    hand.stay(3000, 0, 1000);
    for steps in [4, 5, 6, 4, 5, 6] {
        hand.show(steps);
    }
    assert_eq!(hand.taken, [5], "4 4 5 5 6 6");
    let mut wide = Hand::at(10);
    wide.stay(3000, 0, 1000);
    for steps in [4, 5, 7, 4, 5, 7, 5, 4] {
        wide.show(steps);
    }
    assert_eq!(wide.taken, NONE, "three steps are more than two resolutions");
}

#[test]
fn a_line_that_was_lost_begins_anew() {
    let mut hand = Hand::at(10);
    hand.lift(0, 0, 1000, 9);
    hand.settle.lost();
    hand.stay(0, 0, 5000);
    assert_eq!(hand.taken, NONE);
    hand.lift(0, 0, 1000, 9);
    hand.now_us += 5_000_000;
    hand.stay(0, 0, 5000);
    assert_eq!(hand.taken, [0], "the lift was seen; the window begins after the pause");
}

#[test]
fn a_person_may_take_what_stands_still() {
    let mut hand = Hand::at(10);
    hand.stay(7, 0, 400);
    assert_eq!(hand.settle.settled(hand.now_us, None), Err(NotSettled::Silent));
    hand.stay(7, 0, 1000);
    let settled = |hand: &Hand, level| {
        hand.settle.settled(hand.now_us, level).map(|sample| sample.value.number())
    };
    assert_eq!(settled(&hand, None), Ok("0.00007".to_owned()), "no lift is needed");
    let low = Some(Length::from_picometres(STEP.picometres() * -94));
    assert!(matches!(settled(&hand, low), Err(NotSettled::Air { .. })));
    let high = Some(Length::from_picometres(STEP.picometres() * 108));
    assert!(matches!(settled(&hand, high), Err(NotSettled::OffTheEdge { .. })));
    assert_eq!(hand.settle.settled(hand.now_us + 1_000_001, None), Err(NotSettled::Silent));
    hand.go(7, 60, 500);
    assert!(matches!(settled(&hand, None), Err(NotSettled::Moving { .. })));
}

#[test]
fn the_foot_does_not_count() {
    let mut hand = Hand::at(10);
    for steps in 0..20 {
        hand.show(steps);
    }
    let before = |us| hand.settle.before_foot(hand.now_us + us, None).unwrap().as_sent.clone();
    assert_eq!(before(0), "17", "samples of 0 and 100 ms ago are shaken");
    assert_eq!(before(99_999), "17");
    assert_eq!(before(100_000), "18");
    let stale = hand.settle.before_foot(hand.now_us + 1_300_000, None);
    assert_eq!(stale, Err(NotSettled::Silent));
}

#[test]
fn a_foot_right_after_a_take_means_the_same_touch() {
    let mut hand = Hand::at(10);
    hand.lift(0, 0, 1000, 9);
    while hand.taken.is_empty() {
        hand.show(0);
    }
    let before = |hand: &Hand| hand.settle.before_foot(hand.now_us, None).err();
    assert_eq!(before(&hand), Some(NotSettled::JustTaken));
    hand.stay(0, 0, 1000);
    assert_eq!(before(&hand), None, "a second later it is another one");
}

/// One thing a hand may do between and on touches. Heights are in steps of 0.00001 in.
#[derive(Debug, Clone)]
enum Act {
    Touch { height: i64, hold_ms: u64, lift_tremor: i64, stay_ms: u64 },
    Slide { by: i64, ms: u64 },
    Knock { far: i64 },
    OffTheEdge { deep: i64, ms: u64 },
    Wait { ms: u64 },
}

fn act() -> impl Strategy<Value = Act> {
    prop_oneof![
        4 => (-45_i64..=45, 400_u64..4000, 0_i64..60, 1600_u64..3000).prop_map(
            |(height, hold_ms, lift_tremor, stay_ms)| Act::Touch {
                height,
                hold_ms,
                lift_tremor,
                stay_ms
            }
        ),
        1 => (-20_i64..=20, 500_u64..2000).prop_map(|(by, ms)| Act::Slide { by, ms }),
        1 => prop_oneof![-5000_i64..-50, 50_i64..5000].prop_map(|far| Act::Knock { far }),
        1 => (300_i64..5000, 200_u64..3000).prop_map(|(deep, ms)| Act::OffTheEdge { deep, ms }),
        1 => (500_u64..5000).prop_map(|ms| Act::Wait { ms }),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]

    /// Whatever a trembling hand does: one take for one touch, none for none, never air.
    #[test]
    fn one_take_for_one_touch(
        hertz in prop_oneof![Just(5_u64), Just(10), Just(30), 5_u64..=30, Just(100)],
        seed in any::<u64>(),
        acts in proptest::collection::vec(act(), 1..12),
    ) {
        let mut hand = Hand::at(hertz);
        hand.seed = seed;
        let (mut here, mut touches) = (0, Vec::new());
        hand.stay(here, 1, 1500);
        for act in acts {
            match act {
                Act::Touch { height, hold_ms, lift_tremor, stay_ms } => {
                    hand.lift(here, height, hold_ms, lift_tremor);
                    hand.stay(height, 1, stay_ms);
                    touches.push(height);
                    here = height;
                }
                Act::Slide { by, ms } => {
                    let to = (here + by).clamp(-45, 45);
                    hand.go(here, to, ms);
                    here = to;
                }
                Act::Knock { far } => {
                    hand.knock(here, far);
                    hand.stay(here, 1, 1000);
                }
                // Before the level is known, sliding off the part looks like coming down on it.
                Act::OffTheEdge { .. } if touches.is_empty() => {}
                Act::OffTheEdge { deep, ms } => {
                    hand.go(here, here - deep, 200);
                    hand.stay(here - deep, 0, ms);
                    hand.go(here - deep, here, 200);
                }
                Act::Wait { ms } => hand.stay(here, 1, ms),
            }
            prop_assert_eq!(hand.taken.len(), touches.len());
        }
        for (taken, height) in hand.taken.iter().zip(&touches) {
            prop_assert!((taken - height).abs() <= 1, "{} for {}", taken, height);
        }
    }
}
