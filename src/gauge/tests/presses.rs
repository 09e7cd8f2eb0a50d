//! Presses of a gauge's button, compared with the rules written as plain loops over all frames.

#![expect(clippy::wildcard_enum_match_arm, reason = "what is no press is shown as a question mark")]

use super::*;

const RULE: (u64, i64, u32) = (300_000, 2, 5);

/// A gauge with these rules, whose display steps by 0.00001 in.
fn on_line((repeat_us, _, max_rate): (u64, i64, u32)) -> GaugeLine {
    let gauge = GaugeOnLine { repeat_us, max_rate, ..gauge() };
    live(decimal(r"(?<sign>-?)(?<digits>[0-9.]+)"), vec![gauge])
}

/// What the program says of each frame `(time, steps)`: reading, repeat, first muted, muted.
fn told(rule: (u64, i64, u32), frames: &[(u64, i64)]) -> Vec<char> {
    let (mut line, mut out) = (on_line(rule), Vec::new());
    for (at_us, steps) in frames {
        let value = Quoted::from_count((*steps).into(), 5, Unit::Inch).unwrap().number();
        line.feed(format!("{value}\r").as_bytes(), 1_000_000 + at_us, &mut out);
    }
    let letter = |outcome: &Outcome| match outcome.kind {
        Kind::Reading { repeat: false, .. } => 'r',
        Kind::Reading { repeat: true, .. } => '=',
        Kind::Muted { first: true } => 'M',
        Kind::Muted { first: false } => 'm',
        _ => '?',
    };
    out.iter().map(letter).collect()
}

/// The same by the rules as they are told: a frame is fast where more than so many lie within a second
/// of it, a gauge is muted by three seconds of fast frames and heard again after three without.
fn by_the_rules((repeat_us, near, max_rate): (u64, i64, u32), frames: &[(u64, i64)]) -> Vec<char> {
    let allowed = usize::try_from(max_rate).unwrap();
    let is_fast = |row: usize| {
        max_rate > 0 && row >= allowed && frames[row].0 - frames[row - allowed].0 < 1_000_000
    };
    let (mut muted, mut began, mut until) = (false, None, 0);
    let mut last: Option<(u64, i64)> = None;
    let mut all = Vec::new();
    for (row, &(at, steps)) in frames.iter().enumerate() {
        let was = muted;
        if is_fast(row) {
            let since = *began.get_or_insert(frames[row - allowed].0);
            until = at;
            muted = muted || at - since >= 3_000_000;
        } else if !muted {
            began = None;
        } else if at - until >= 3_000_000 {
            muted = false;
            began = None;
        }
        let same =
            |&(then, value): &(u64, i64)| at - then <= repeat_us && (steps - value).abs() <= near;
        all.push(match (muted, was) {
            (true, false) => 'M',
            (true, true) => 'm',
            (false, _) if repeat_us > 0 && last.as_ref().is_some_and(same) => '=',
            (false, _) => {
                last = Some((at, steps));
                'r'
            }
        });
    }
    all
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn presses_are_told_by_the_rules_whatever_a_button_does(
        // Fast, at the limit, and slow, for long enough to mute and to be heard again.
        waits in prop::collection::vec(
            prop_oneof![5 => 40_000_u64..190_000, 2 => 199_999_u64..=200_001, 2 => 290_000_u64..400_000, 1 => 2_900_000_u64..3_100_000],
            1..90,
        ),
        values in prop::collection::vec(-4_i64..4, 90),
        max_rate in prop::sample::select(vec![0_u32, 1, 5, 12]),
        repeat_us in prop::sample::select(vec![0_u64, 100_000, 300_000]),
    ) {
        let mut at = 0;
        let frames: Vec<(u64, i64)> = waits.iter().zip(&values).map(|(wait, steps)| {
            at += wait;
            (at, *steps)
        }).collect();
        let rule = (repeat_us, 2, max_rate);
        prop_assert_eq!(told(rule, &frames), by_the_rules(rule, &frames), "{:?}", frames);
    }
}

#[test]
fn a_slow_drift_is_not_one_press_forever() {
    // Each frame lies within two steps of the one before it, and soon after it: what counts is the
    // last one that was taken.
    let frames: Vec<(u64, i64)> =
        (0..6).map(|k| (k * 200_000, i64::try_from(k).unwrap() * 2)).collect();
    assert_eq!(told((300_000, 2, 0), &frames), ['r', '=', 'r', '=', 'r', '=']);
    let same: Vec<(u64, i64)> = (0..6).map(|k| (k * 200_000, 0)).collect();
    assert_eq!(told((300_000, 2, 0), &same), ['r', '=', 'r', '=', 'r', '=']);
}

#[test]
fn frames_at_the_allowed_rate_are_never_muted_and_one_more_a_second_is() {
    let every =
        |us: u64| (0..80).map(|k| (k * us, i64::try_from(k % 2).unwrap() * 50)).collect::<Vec<_>>();
    assert!(!told(RULE, &every(200_000)).contains(&'M'));
    let fast = told(RULE, &every(199_000));
    assert_eq!(fast.iter().filter(|c| **c == 'M').count(), 1);
    // Three seconds after the first of them, 16 frames of 199 ms.
    assert_eq!(fast.iter().position(|c| *c == 'M'), Some(16));
}
