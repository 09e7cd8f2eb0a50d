use proptest::prelude::*;

use super::*;
use quantity::Unit;

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
    voided: u64,
    taken: Vec<i64>,
    /// A small generator (Knuth's MMIX constants), so that a tremor is the same in every run.
    seed: u64,
}

/// So many steps of the display.
const fn steps(count: i64) -> Length {
    Length::from_picometres(STEP.picometres() * count)
}

/// A stream whose stops are 0.1 in away and which may rest somewhere.
fn stream(rest: Option<i64>) -> Stream {
    let travel = Some((steps(-10_000), steps(10_000)));
    Stream { resolution: STEP, travel, rest: rest.map(steps) }
}

impl Hand {
    fn at(hertz: u64) -> Self {
        Self::on(stream(None), hertz)
    }

    fn on(stream: Stream, hertz: u64) -> Self {
        Self {
            settle: Settle::new(stream),
            now_us: 0,
            period_us: 1_000_000 / hertz,
            level: None,
            armed: true,
            voided: 0,
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
        let sample = Sample { at_us, value, text: as_sent, odd: None, low_battery: false };
        let armed = self.armed.then_some(Armed {
            attempt: ATTEMPT,
            voided: self.voided,
            level: self.level,
        });
        if let Some(taken) = self.settle.sample(sample, armed) {
            self.level = self.level.or(Some(taken.value.length));
            self.taken.push(taken.text.parse().unwrap());
        }
    }

    /// Stays at a height for a time, trembling. A hand goes to and fro: drawn freely, six samples would now
    /// and then agree by chance, and that is what standing still means.
    fn stay(&mut self, steps: i64, tremor: i64, ms: u64) {
        let end_us = self.now_us + ms * 1000;
        let mut to = 1;
        while self.now_us < end_us {
            let off = self.tremor(tremor - tremor / 2).abs() + tremor / 2;
            self.show(steps + to * off);
            to = -to;
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
                hand.go(height + 15, height, 1500);
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
fn the_first_touch_comes_out_of_known_air() {
    for (rest, free) in [(None, 10_000), (None, -9950), (Some(-800), -790), (Some(800), 820)] {
        let mut hand = Hand::on(stream(rest), 10);
        hand.stay(free, 0, 60_000);
        assert_eq!(hand.taken, NONE, "parked in the air at {free}");
        hand.stay(-200, 0, 60_000);
        assert_eq!(hand.taken, [-200], "it came there from {free}");
        hand.stay(free, 0, 60_000);
        assert_eq!(hand.taken, [-200]);
    }
}

#[test]
fn two_places_without_known_air_are_nobodys_touch() {
    for (one, other) in [(-800, 0), (0, -800), (5000, 0), (0, 5000)] {
        let mut hand = Hand::at(10);
        for _ in 0..5 {
            hand.stay(one, 0, 2000);
            hand.go(one, other, 300);
            hand.stay(other, 0, 2000);
            hand.go(other, one, 300);
        }
        assert_eq!(hand.taken, NONE, "{one} and {other}");
        let armed = Armed { attempt: ATTEMPT, voided: 0, level: None };
        hand.stay(one, 0, 2000);
        assert_eq!(hand.settle.waits(armed), Some(Waits::Unsure));
    }
}

#[test]
fn a_trembling_lift_is_told_from_a_place() {
    let mut hand = Hand::at(10);
    hand.stay(0, 0, 2000);
    hand.go(0, 80, 200);
    hand.stay(80, 0, 1000);
    hand.stay(0, 0, 5000);
    assert_eq!(hand.taken, NONE, "less than 0.001 in is no lift");
    hand.lift(0, 0, 500, 9);
    hand.stay(0, 0, 5000);
    assert_eq!(hand.taken, [0]);
}

#[test]
fn a_lift_is_one_in_either_direction() {
    for away in [-3000, 3000] {
        let mut hand = Hand::at(30);
        hand.level = Some(steps(5));
        for touch in 1..=4 {
            hand.go(5, 5 + away, 200);
            hand.stay(5 + away, 30, 600);
            hand.go(5 + away, 5, 200);
            hand.stay(5, 1, 1500);
            assert_eq!(hand.taken.len(), touch, "{away}");
        }
    }
}

#[test]
fn what_was_taken_back_needs_a_lift() {
    let mut hand = Hand::at(10);
    hand.level = Some(steps(0));
    hand.lift(0, 0, 500, 9);
    hand.stay(0, 0, 2000);
    assert_eq!(hand.taken, [0]);
    hand.voided += 1;
    hand.stay(0, 0, 10_000);
    assert_eq!(hand.taken, [0], "the spot under the stylus");
    hand.lift(0, 3, 500, 9);
    hand.stay(3, 0, 2000);
    assert_eq!(hand.taken, [0, 3]);
    // In the air while it is taken back counts as lifted.
    hand.go(3, 3000, 200);
    hand.stay(3000, 9, 500);
    hand.voided += 1;
    hand.stay(3000, 9, 300);
    hand.go(3000, 4, 200);
    hand.stay(4, 0, 2000);
    assert_eq!(hand.taken, [0, 3, 4]);
}

#[test]
fn a_rest_is_learned_when_it_came_back_three_times() {
    let mut hand = Hand::at(10);
    let armed = |hand: &Hand| Armed { attempt: ATTEMPT, voided: 0, level: hand.level };
    // The first one by hand: it cannot be told from the air.
    hand.stay(0, 0, 2000);
    hand.settle.taken(hand.now_us, steps(0));
    hand.level = Some(steps(0));
    for height in [4, 9, 2] {
        hand.stay(-800, 0, 1500);
        hand.stay(height, 0, 2500);
    }
    assert_eq!(hand.taken, [4, 9, 2]);
    // The next check begins while the stylus rests free, and its level is not known.
    hand.stay(-800, 0, 3000);
    hand.level = None;
    hand.voided = 1;
    hand.stay(-800, 0, 3000);
    assert_eq!(hand.settle.waits(armed(&hand)), Some(Waits::InTheAir));
    assert!(hand.settle.settled(hand.now_us, None).is_err(), "nor by hand");
    hand.stay(7, 0, 2000);
    assert_eq!(hand.taken, [4, 9, 2, 7]);
}

#[test]
fn it_says_why_nothing_is_taken() {
    let mut hand = Hand::on(stream(Some(-800)), 10);
    let armed = Armed { attempt: ATTEMPT, voided: 0, level: Some(steps(0)) };
    hand.level = armed.level;
    for (place, waits) in [
        (-800, Some(Waits::InTheAir)),
        (10_000, Some(Waits::InTheAir)),
        (2000, Some(Waits::InTheAir)),
        (-300, Some(Waits::OffTheEdge)),
    ] {
        hand.stay(place, 0, 1500);
        assert_eq!(hand.settle.waits(armed), waits, "at {place}");
    }
    hand.stay(0, 0, 1000);
    assert_eq!((hand.taken.len(), hand.settle.waits(armed)), (1, None));
    hand.stay(0, 0, 1500);
    assert_eq!(hand.settle.waits(armed), Some(Waits::SameSpot));
    assert_eq!(hand.settle.settled(hand.now_us, None).map(|_| ()), Ok(()), "a tap needs no lift");
    hand.stay(9990, 0, 1500);
    let settled = |hand: &Hand| hand.settle.settled(hand.now_us, None).map(|_| ());
    assert_eq!(settled(&hand), Err(NotSettled::AtItsStop));
    hand.stay(-801, 0, 1500);
    assert_eq!(settled(&hand), Err(NotSettled::AtRest));
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
    hand.lift(0, 3000, 1000, 9);
    hand.armed = true;
    hand.stay(3000, 9, 500);
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
    hand.stay(10_000, 0, 1000);
    for steps in [4, 5, 6, 4, 5, 6] {
        hand.show(steps);
    }
    assert_eq!(hand.taken, [5], "4 4 5 5 6 6");
    let mut wide = Hand::at(10);
    wide.stay(10_000, 0, 1000);
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
    let before = |us| hand.settle.before_foot(hand.now_us + us, None).unwrap().text.clone();
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
    Wait { ms: u64 },
}

/// A hand that holds the stylus up by less than this stands still by chance within some thousand tries:
/// six samples of it agree. Then nobody can tell it from the part, nothing is taken and that is said.
const TREMBLES: i64 = 30;

fn act() -> impl Strategy<Value = Act> {
    prop_oneof![
        4 => (-45_i64..=45, 400_u64..4000, TREMBLES..80, 1600_u64..3000).prop_map(
            |(height, hold_ms, lift_tremor, stay_ms)| Act::Touch {
                height,
                hold_ms,
                lift_tremor,
                stay_ms
            }
        ),
        1 => (-20_i64..=20, 500_u64..2000).prop_map(|(by, ms)| Act::Slide { by, ms }),
        1 => prop_oneof![-5000_i64..-50, 50_i64..5000].prop_map(|far| Act::Knock { far }),
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
                Act::Wait { ms } => hand.stay(here, 1, ms),
            }
            prop_assert_eq!(hand.taken.len(), touches.len());
        }
        for (taken, height) in hand.taken.iter().zip(&touches) {
            prop_assert!((taken - height).abs() <= 1, "{} for {}", taken, height);
        }
    }
}

/// An instrument: where it rests free, as it is told or not, and how it is taken off the part.
#[derive(Debug, Clone)]
struct Instrument {
    /// Where it rests free, in steps; the face lies about 0.
    free: i64,
    /// The bench is told where it rests.
    told: bool,
    /// It rests at the end of its travel.
    at_stop: bool,
    /// A hand lifts it further away from its rest, trembling; else it comes off onto its rest.
    by_hand: Option<i64>,
}

fn instrument() -> impl Strategy<Value = Instrument> {
    let free = prop_oneof![-4000_i64..-160, 160_i64..4000];
    let by_hand = prop_oneof![Just(None), (300_i64..3000).prop_map(Some)];
    (free, any::<bool>(), by_hand).prop_map(|(free, told, by_hand)| Instrument {
        free,
        told,
        at_stop: !told,
        by_hand,
    })
}

impl Instrument {
    fn stream(&self) -> Stream {
        let (below, above) = if self.free < 0 { (self.free, 9000) } else { (-9000, self.free) };
        let travel = if self.at_stop { (below, above) } else { (-10_000, 10_000) };
        let travel = Some((steps(travel.0), steps(travel.1)));
        Stream { resolution: STEP, travel, rest: self.told.then(|| steps(self.free)) }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    /// Levers and plungers, resting above or below the face, told of or at their stop: a ring and its
    /// closure is nine touches, and none of them is in the air.
    #[test]
    fn nine_touches_and_never_air(
        hertz in prop_oneof![Just(10_u64), Just(30), 5_u64..=30, Just(200)],
        seed in any::<u64>(),
        instrument in instrument(),
        begins_free in any::<bool>(),
        ring in proptest::collection::vec((-45_i64..=45, 400_u64..4000, 1600_u64..2600), 9),
    ) {
        let mut hand = Hand::on(instrument.stream(), hertz);
        hand.seed = seed;
        let mut here = if begins_free { instrument.free } else { 20 };
        hand.stay(here, 0, 3000);
        for (touch, (height, ms, stay_ms)) in ring.iter().enumerate() {
            let (away, tremor) = match instrument.by_hand {
                // The first touch of all comes out of what is known as air, or is lifted by hand.
                Some(far) if instrument.told || touch > 0 => {
                    // Lifted off the surface, wherever the stylus rested before.
                    let surface = if touch == 0 { 20 } else { here };
                    (if instrument.free < 0 { surface + far } else { surface - far }, 20)
                }
                _ => (instrument.free, 0),
            };
            hand.go(here, away, 250);
            hand.stay(away, tremor, *ms);
            hand.go(away, *height, 250);
            hand.stay(*height, 1, *stay_ms);
            prop_assert_eq!(hand.taken.len(), touch + 1);
            here = *height;
        }
        hand.go(here, instrument.free, 250);
        hand.stay(instrument.free, 0, 5000);
        prop_assert_eq!(hand.taken.len(), 9);
        for (taken, (height, ..)) in hand.taken.iter().zip(&ring) {
            prop_assert!((taken - height).abs() <= 1, "{} for {}", taken, height);
        }
    }
}
