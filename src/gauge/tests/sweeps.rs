//! One turn swept by hand: the limits of taps, gaps, time and samples.

use super::*;

const MARKS: (u64, u32) = (7, 4);

/// A stream of so many milliseconds a sample, from one moment to another.
fn flow(sweep: &mut Sweep, from_ms: u64, to_ms: u64, every_ms: u64) -> Vec<NoSweep> {
    let times = (from_ms..to_ms).step_by(usize::try_from(every_ms).unwrap());
    times.filter_map(|ms| sweep.sample(&sample(ms * 1000, 1))).collect()
}

/// The whole turn, or why there is none.
fn whole(tap: Result<Tap, NoSweep>) -> (Vec<u64>, Vec<u64>) {
    match tap {
        Ok(Tap::Whole { taps_us, samples }) => {
            (taps_us, samples.iter().map(|sample| sample.at_us).collect())
        }
        other => panic!("{other:?}"),
    }
}

proptest! {
    #[test]
    fn a_turn_holds_every_sample_between_its_first_and_last_tap_and_no_other(
        every_ms in 1_u64..80,
        marks in 1_u32..9,
        waits in prop::collection::vec(150_u64..1_800, 9),
        late_ms in 0_u64..900,
    ) {
        let mut sweep = Sweep::default();
        let (mut now, mut taps) = (2_000, Vec::new());
        flow(&mut sweep, 0, now, every_ms);
        let mut from = now.div_ceil(every_ms) * every_ms;
        let mut last = None;
        for wait in waits.iter().take(usize::try_from(marks + 1).unwrap()) {
            // A tap counts from when the foot came down, a moment ago.
            let to = now + wait;
            flow(&mut sweep, from, to, every_ms);
            from = to.div_ceil(every_ms) * every_ms;
            now = to;
            let tap = now - late_ms.min(140);
            taps.push(tap * 1000);
            last = Some(sweep.tap(tap * 1000, (7, marks)));
        }
        let (first, end) = (taps[0], *taps.last().unwrap());
        let inside: Vec<u64> = (0..from)
            .step_by(usize::try_from(every_ms).unwrap())
            .map(|ms| ms * 1000)
            .filter(|at| (first..=end).contains(at))
            .collect();
        prop_assert_eq!(whole(last.unwrap()), (taps, inside));
        prop_assert_eq!(sweep.under_way(), None);
    }
}

#[test]
fn a_tap_needs_a_tenth_of_a_second_from_the_one_before() {
    let mut sweep = Sweep::default();
    flow(&mut sweep, 0, 2_000, 10);
    assert_eq!(sweep.tap(1_000_000, MARKS), Ok(Tap::Mark(1)));
    assert_eq!(sweep.tap(1_099_999, MARKS), Err(NoSweep::TooSoon));
    assert_eq!(sweep.tap(1_100_000, MARKS), Ok(Tap::Mark(2)), "counted from the last that was one");
    assert_eq!(sweep.tap(1_000_000, MARKS), Err(NoSweep::TooSoon), "never backwards");
    assert_eq!(sweep.under_way(), Some((2, 100)));
}

#[test]
fn a_foot_that_was_held_finds_the_samples_from_when_it_came_down() {
    let mut sweep = Sweep::default();
    flow(&mut sweep, 0, 5_000, 100);
    // 1.4 s ago: they are kept for a second and a half.
    assert_eq!(sweep.tap(3_500_000, MARKS), Ok(Tap::Mark(1)));
    assert_eq!(sweep.under_way(), Some((1, 15)));
    let mut late = Sweep::default();
    flow(&mut late, 0, 5_000, 100);
    assert_eq!(late.tap(3_000_000, MARKS), Ok(Tap::Mark(1)));
    assert_eq!(late.under_way(), Some((1, 16)), "from 3.4 s on: older ones are gone");
}

#[test]
fn a_stream_is_live_for_a_second_after_its_last_sample() {
    let tap = |at_us| {
        let mut sweep = Sweep::default();
        sweep.sample(&sample(1_000_000, 1));
        sweep.tap(at_us, MARKS)
    };
    assert_eq!(tap(2_000_000), Ok(Tap::Mark(1)));
    assert_eq!(tap(2_000_001), Err(NoSweep::Silent));
    // In the middle of a turn it has stopped, and the turn is gone.
    let mut sweep = Sweep::default();
    flow(&mut sweep, 0, 1_000, 10);
    assert_eq!(sweep.tap(900_000, MARKS), Ok(Tap::Mark(1)));
    assert_eq!(sweep.tap(2_000_000, MARKS), Err(NoSweep::Stopped));
    assert_eq!(sweep.tap(2_000_000, MARKS), Err(NoSweep::Silent));
}

#[test]
fn a_gap_of_more_than_a_second_spoils_the_turn_once() {
    let gap = |to_us: u64| {
        let mut sweep = Sweep::default();
        flow(&mut sweep, 0, 1_001, 10);
        sweep.tap(900_000, MARKS).unwrap();
        assert!(sweep.gathers_for(7) && !sweep.gathers_for(8));
        let told = sweep.sample(&sample(to_us, 1));
        (told, sweep.sample(&sample(to_us + 10_000, 1)), sweep.gathers_for(7))
    };
    assert_eq!(gap(2_000_000), (None, None, true));
    assert_eq!(gap(2_000_001), (Some(NoSweep::Stopped), None, false));
}

#[test]
fn a_turn_has_twelve_thousand_samples_and_ten_minutes_at_most() {
    let mut many = Sweep::default();
    many.sample(&sample(0, 1));
    many.tap(0, (7, 1)).unwrap();
    let told: Vec<_> = (1..=12_000).filter_map(|ms| many.sample(&sample(ms * 1000, 1))).collect();
    assert_eq!(told, [NoSweep::TooLong], "one more than there may be");
    assert_eq!(many.tap(12_000_000, (7, 1)), Err(NoSweep::TooLong));
    let mut just = Sweep::default();
    just.sample(&sample(0, 1));
    just.tap(0, (7, 1)).unwrap();
    assert!((1..12_000).all(|ms| just.sample(&sample(ms * 1000, 1)).is_none()));
    assert_eq!(whole(just.tap(11_999_000, (7, 1))).1.len(), 12_000);
    let mut slow = Sweep::default();
    slow.sample(&sample(0, 1));
    slow.tap(0, (7, 1)).unwrap();
    assert!((1..=600).all(|second| slow.sample(&sample(second * 1_000_000, 1)).is_none()));
    assert_eq!(slow.sample(&sample(600_000_001, 1)), Some(NoSweep::TooLong));
}

#[test]
fn a_turn_needs_two_samples_and_belongs_to_one_check() {
    let mut sweep = Sweep::default();
    sweep.sample(&sample(1_000_000, 1));
    sweep.tap(1_000_000, (7, 1)).unwrap();
    assert_eq!(sweep.tap(1_200_000, (7, 1)), Err(NoSweep::Empty), "one sample");
    sweep.tap(1_200_000, (7, 1)).unwrap();
    assert_eq!(sweep.under_way(), Some((1, 0)));
    sweep.sample(&sample(1_250_000, 1));
    sweep.sample(&sample(1_300_000, 1));
    // For another check it begins anew; a check without marks has the index mark.
    assert_eq!(sweep.tap(1_310_000, (8, 0)), Ok(Tap::Mark(1)));
    sweep.sample(&sample(1_350_000, 1));
    sweep.sample(&sample(1_400_000, 1));
    assert_eq!(whole(sweep.tap(1_420_000, (8, 0))).0, [1_310_000, 1_420_000]);
    // Lost between two taps: what came before is not taken for the next turn.
    sweep.tap(1_420_000, (8, 4)).unwrap();
    sweep.lost();
    assert_eq!(sweep.tap(1_600_000, (8, 4)), Err(NoSweep::Stopped));
    assert_eq!(sweep.tap(1_600_000, (8, 4)), Err(NoSweep::Silent));
    assert!(!sweep.drop_turn());
}

#[test]
fn every_reason_has_its_own_words() {
    let all =
        [NoSweep::Silent, NoSweep::TooSoon, NoSweep::Stopped, NoSweep::TooLong, NoSweep::Empty];
    let told: std::collections::BTreeSet<String> = all.iter().map(ToString::to_string).collect();
    assert_eq!(told.len(), all.len());
}
