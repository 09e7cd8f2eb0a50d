//! A stream whose still values are touches, with hands drawn at random.

use super::*;

/// A stream that rests nowhere known, its stops 0.1 in away.
const STREAM: Stream = Stream {
    resolution: Length::from_picometres(254_000),
    travel: Some((Length::from_picometres(-2_540_000_000), Length::from_picometres(2_540_000_000))),
    rest: None,
};

const fn steps(count: i64) -> Length {
    Length::from_picometres(count * 254_000)
}

/// What a hand does next.
#[derive(Debug, Clone)]
enum Move {
    /// It holds the stylus up, trembling by so much, for so long.
    Lift { high: i64, tremor: i64, ms: u64 },
    /// It lets it down at this height of the surface, for so long.
    Touch { at: i64, ms: u64 },
    /// It slides it along the surface to this height.
    Slide { to: i64, ms: u64 },
    /// The bench is knocked.
    Knock { by: i64 },
}

fn moves() -> impl Strategy<Value = Vec<Move>> {
    let one = prop_oneof![
        3 => (500_i64..4_000, 5_i64..60, 400_u64..1_500).prop_map(|(high, tremor, ms)| Move::Lift { high, tremor, ms }),
        3 => (-40_i64..40, 50_u64..2_500).prop_map(|(at, ms)| Move::Touch { at, ms }),
        1 => (-40_i64..40, 300_u64..1_500).prop_map(|(to, ms)| Move::Slide { to, ms }),
        1 => prop_oneof![Just(900_i64), Just(-900), Just(60)].prop_map(|by| Move::Knock { by }),
    ];
    prop::collection::vec(one, 1..25)
}

/// The samples of these moves: time in microseconds, steps.
fn played(moves: &[Move], period_us: u64, seed: u64) -> Vec<(u64, i64)> {
    let mut seed = seed;
    let mut tremor = move |size: i64| {
        // Knuth's MMIX congruence.
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        i64::try_from(seed >> 33).unwrap() % (2 * size + 1) - size
    };
    let (mut at, mut now, mut all) = (0_i64, 0_u64, Vec::new());
    let mut show = |value: i64, now: &mut u64| {
        *now += period_us;
        all.push((*now, value));
    };
    for what in moves {
        let (ms, from) = match *what {
            Move::Lift { ms, .. } | Move::Touch { ms, .. } | Move::Slide { ms, .. } => (ms, at),
            Move::Knock { .. } => (60, at),
        };
        let end = now + ms * 1000;
        let start = now;
        while now < end {
            let value = match *what {
                Move::Lift { high, tremor: size, .. } => high + tremor(size),
                Move::Touch { at, .. } => at + tremor(1),
                Move::Slide { to, .. } => {
                    let gone = i64::try_from((now - start) / 1000).unwrap();
                    from + (to - from) * gone / i64::try_from(ms).unwrap()
                }
                Move::Knock { by } => at + by,
            };
            show(value, &mut now);
        }
        match *what {
            Move::Touch { at: to, .. } | Move::Slide { to, .. } => at = to,
            Move::Lift { .. } | Move::Knock { .. } => {}
        }
    }
    all
}

/// What is taken of a stream, in order: time and steps. The level is that of the first touch.
fn taken(samples: &[(u64, i64)], level: Option<i64>, shift: i64) -> Vec<(u64, i64)> {
    let mut settle = Settle::new(STREAM);
    let (mut level, mut all) = (level.map(|level| steps(level + shift)), Vec::new());
    for (at_us, value) in samples {
        let armed = Armed { attempt: 1, voided: 0, level };
        if let Some(found) = settle.sample(sample(*at_us, value + shift), Some(armed)) {
            level = level.or(Some(found.value.length));
            all.push((found.at_us, found.text.parse::<i64>().unwrap() - shift));
        }
    }
    all
}

/// Whether the stylus was held more than 0.001 in from the level for 150 ms in some time.
fn was_lifted(samples: &[(u64, i64)], from_us: u64, to_us: u64, level: i64) -> bool {
    let away = |(_, value): &(u64, i64)| (value - level).abs() > 100;
    let within = samples.iter().filter(|(at, _)| (from_us..=to_us).contains(at));
    let within: Vec<_> = within.copied().collect();
    within.chunk_by(|one, other| away(one) == away(other)).any(|run| {
        let (first, last) = (run.first().unwrap(), run.last().unwrap());
        away(first) && last.0 - first.0 >= 150_000
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// With a level that is known: nothing in the air is taken, nothing without a lift before it, and
    /// only what stood still.
    #[test]
    fn what_is_taken_stood_still_on_the_surface_after_a_lift(
        moves in moves(), hertz in prop::sample::select(vec![8_u64, 10, 30, 100]), seed in any::<u64>(),
    ) {
        let samples = played(&moves, 1_000_000 / hertz, seed);
        let all = taken(&samples, Some(0), 0);
        let mut before = 0;
        for (at, value) in &all {
            prop_assert!(value.abs() <= 100, "in the air at {value}");
            prop_assert!(was_lifted(&samples, before, *at, 0), "no lift before {at}: {samples:?}");
            // It is a frame that was sent, one of the newest six or more, which all lie close together.
            prop_assert!(samples.contains(&(*at, *value)));
            let taken_at = samples.iter().position(|sample| sample.0 == *at).unwrap();
            let window = (0..=6).any(|ahead| {
                let end = (taken_at + ahead + 1).min(samples.len());
                end >= 6 && {
                    let six: Vec<i64> = samples[end - 6..end].iter().map(|sample| sample.1).collect();
                    let (low, high) = (six.iter().min().unwrap(), six.iter().max().unwrap());
                    high - low <= 2 && end > taken_at && six.contains(value)
                }
            });
            prop_assert!(window || hertz > 30, "{value} at {at} of {samples:?}");
            before = *at;
        }
        // Where the zero of the gauge lies changes nothing.
        prop_assert_eq!(taken(&samples, Some(0), 1_234), all);
    }

    #[test]
    fn a_person_gets_a_still_value_on_the_surface_or_a_reason(
        moves in moves(), seed in any::<u64>(), level in prop::option::of(-30_i64..30),
    ) {
        let samples = played(&moves, 100_000, seed);
        let mut settle = Settle::new(STREAM);
        let level = level.map(steps);
        for (row, (at, value)) in samples.iter().enumerate() {
            settle.sample(sample(*at, *value), None);
            let newest: Vec<i64> = samples[..=row].iter().rev().take(6).map(|sample| sample.1).collect();
            let still = newest.len() == 6 && newest.iter().max().unwrap() - newest.iter().min().unwrap() <= 2;
            let mut sorted = newest.clone();
            sorted.sort_unstable();
            match settle.settled(*at, level) {
                Ok(found) => {
                    prop_assert!(still, "{newest:?}");
                    prop_assert_eq!(found.value.length, steps(sorted[2]), "the lower middle one");
                    let off = level.map_or(0, |level| (found.value.length.picometres() - level.picometres()).abs());
                    prop_assert!(off <= steps(100).picometres());
                }
                Err(NotSettled::Moving { by }) => {
                    prop_assert!(by > steps(2) && !still, "{newest:?}");
                }
                Err(NotSettled::Silent) => prop_assert!(row < 5 || !still),
                Err(NotSettled::Air { by } | NotSettled::OffTheEdge { by }) => {
                    prop_assert!(still && by > steps(100) && level.is_some());
                }
                Err(other) => prop_assert!(false, "{other:?}"),
            }
        }
    }
}

/// A stream that stands at a height, a sample every so often, from one moment to another.
fn stands(settle: &mut Settle, at: i64, from_ms: u64, to_ms: u64) {
    for ms in (from_ms..to_ms).step_by(50) {
        settle.sample(sample(ms * 1000, at), None);
    }
}

#[test]
fn a_foot_takes_the_sample_from_a_fifth_of_a_second_before_it() {
    let mut settle = Settle::new(STREAM);
    stands(&mut settle, 7, 0, 1_001);
    // From then on the foot shakes the bench.
    for (ms, at) in [(1_050, 300), (1_100, -250)] {
        settle.sample(sample(ms * 1000, at), None);
    }
    let found = settle.before_foot(1_200_000, None).map(|found| (found.at_us, found.value.length));
    assert_eq!(found, Ok((1_000_000, steps(7))));
    let at = |us: u64| settle.before_foot(us, None).map(|found| found.at_us);
    assert_eq!(at(1_199_999), Ok(950_000));
    assert_eq!(at(2_300_000), Ok(1_100_000), "a second old and no older");
    assert_eq!(at(2_300_001), Err(NotSettled::Silent));
    assert_eq!(at(100_000), Err(NotSettled::Silent), "older samples are forgotten");
    assert_eq!(Settle::new(STREAM).before_foot(5, None), Err(NotSettled::Silent));
}

#[test]
fn a_touch_that_was_just_taken_is_not_taken_twice() {
    let mut settle = Settle::new(STREAM);
    stands(&mut settle, 7, 0, 1_001);
    settle.taken(1_000_000, steps(7));
    let again = |us: u64| settle.settled(us, None).map(|found| found.at_us);
    assert_eq!(again(1_299_999), Err(NotSettled::JustTaken));
    assert!(again(1_300_000).is_ok(), "three tenths of a second are no slip");
    assert_eq!(settle.before_foot(1_299_999, None), Err(NotSettled::JustTaken));
    assert!(settle.before_foot(1_300_000, None).is_ok());
    assert!(again(2_000_000).is_ok());
    assert_eq!(again(2_000_001), Err(NotSettled::Silent));
}

#[test]
fn a_foot_right_after_a_touch_that_was_taken_by_itself_means_that_one() {
    let mut settle = Settle::new(STREAM);
    let armed = Armed { attempt: 1, voided: 0, level: Some(steps(0)) };
    let mut taken = None;
    let mut show = |settle: &mut Settle, ms: u64, at: i64| {
        taken = taken.or(settle.sample(sample(ms * 1000, at), Some(armed)).map(|_| ms * 1000));
    };
    for ms in (0..400).step_by(50) {
        show(&mut settle, ms, 3_000 + i64::try_from(ms % 20).unwrap());
    }
    for ms in (400..1_701).step_by(50) {
        show(&mut settle, ms, 2);
    }
    let taken = taken.unwrap();
    assert!((600_000..700_000).contains(&taken), "{taken}");
    let foot = |at_us| settle.before_foot(at_us, None).map(|_| ());
    assert_eq!(foot(taken + 999_999), Err(NotSettled::JustTaken));
    assert_eq!(foot(taken + 1_000_000), Ok(()));
}

#[test]
fn another_unit_or_another_number_of_places_begins_anew() {
    let mut settle = Settle::new(STREAM);
    stands(&mut settle, 7, 0, 1_001);
    assert!(settle.settled(1_000_000, None).is_ok());
    let value = Quoted::parse("0.0018", Unit::Millimetre).unwrap();
    settle.sample(Sample { value, ..sample(1_050_000, 7) }, None);
    assert_eq!(settle.settled(1_050_000, None), Err(NotSettled::Silent), "one sample");
    stands(&mut settle, 7, 1_100, 1_400);
    assert!(settle.settled(1_350_000, None).is_ok(), "six of one kind again");
    // After a second without any, too.
    settle.sample(sample(2_350_000, 7), None);
    assert!(settle.settled(2_350_000, None).is_ok(), "a second is no gap");
    settle.sample(sample(3_350_001, 7), None);
    assert_eq!(settle.settled(3_350_001, None), Err(NotSettled::Silent));
}

#[test]
fn a_fast_stream_has_to_stand_still_for_its_time_and_a_coarse_one_for_its_step() {
    let settled = |every_us: u64, count: u64, spread: i64, resolution: i64| {
        let mut settle =
            Settle::new(Stream { resolution: steps(resolution), travel: None, rest: None });
        for row in 0..count {
            let at = if row == count / 2 { spread } else { 0 };
            settle.sample(sample(row * every_us, at), None);
        }
        settle.settled((count - 1) * every_us, None).map(|_| ())
    };
    // 1 kHz: 120 ms, not six samples.
    assert_eq!(settled(1_000, 120, 0, 1), Err(NotSettled::Silent));
    assert_eq!(settled(1_000, 121, 0, 1), Ok(()));
    assert_eq!(settled(100_000, 5, 0, 1), Err(NotSettled::Silent));
    assert_eq!(settled(100_000, 6, 0, 1), Ok(()));
    // Two steps of the display are still, three are not; 0.5 um always is.
    assert_eq!(settled(100_000, 6, 2, 1), Ok(()));
    assert_eq!(settled(100_000, 6, 3, 1), Err(NotSettled::Moving { by: steps(3) }));
    assert_eq!(settled(100_000, 6, 10, 5), Ok(()));
    assert_eq!(settled(100_000, 6, 11, 5), Err(NotSettled::Moving { by: steps(11) }));
    assert_eq!(settled(100_000, 6, 1, 0), Ok(()), "0.254 um");
    assert_eq!(settled(100_000, 6, 2, 0), Err(NotSettled::Moving { by: steps(2) }));
}

#[test]
fn the_air_begins_at_a_thousandth_of_an_inch_and_a_hundredth_of_the_travel() {
    let place = |at: i64, level: Option<i64>, rest: Option<i64>| {
        let mut settle = Settle::new(Stream { rest: rest.map(steps), ..STREAM });
        stands(&mut settle, at, 0, 1_001);
        settle.settled(1_000_000, level.map(steps)).map(|_| ())
    };
    assert_eq!(place(100, Some(0), None), Ok(()));
    assert_eq!(place(101, Some(0), None), Err(NotSettled::Air { by: steps(101) }));
    assert_eq!(place(-100, Some(0), None), Ok(()));
    assert_eq!(place(-101, Some(0), None), Err(NotSettled::OffTheEdge { by: steps(101) }));
    // The travel is 20 000 steps: 200 of them at either end.
    assert_eq!(
        [place(9_799, None, None), place(9_800, None, None)],
        [Ok(()), Err(NotSettled::AtItsStop)]
    );
    assert_eq!(
        [place(-9_799, None, None), place(-9_800, None, None)],
        [Ok(()), Err(NotSettled::AtItsStop)]
    );
    // Half a thousandth about its rest.
    assert_eq!(
        [place(-749, None, Some(-800)), place(-750, None, Some(-800))],
        [Ok(()), Err(NotSettled::AtRest)]
    );
    assert_eq!(
        [place(-851, None, Some(-800)), place(-850, None, Some(-800))],
        [Ok(()), Err(NotSettled::AtRest)]
    );
}

#[test]
fn every_reason_and_every_wait_has_its_own_word() {
    let by = steps(1);
    let all = [
        NotSettled::Silent,
        NotSettled::JustTaken,
        NotSettled::Moving { by },
        NotSettled::Air { by },
        NotSettled::OffTheEdge { by },
        NotSettled::AtItsStop,
        NotSettled::AtRest,
    ];
    let told: std::collections::BTreeSet<String> = all.iter().map(ToString::to_string).collect();
    assert_eq!(told.len(), all.len());
    assert_eq!(Waits::ALL.map(Waits::text), ["in-the-air", "off-the-edge", "same-spot", "unsure"]);
}
