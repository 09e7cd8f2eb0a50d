//! Run-ins from plain logs: rise, steady, steps, gaps, frozen sensors, by hand values and made-up warming.

use super::*;
use crate::RunIn;
use crate::run_in::{Course, Log, Noted, Place, STANDS, Speed, SpeedBegan};
use judgement::Reason;
use quantity::Other;

fn celsius(text: &str) -> Length {
    Length::parse(text, Unit::Millimetre).unwrap()
}

const MINUTE: u64 = 60_000;

/// Two steps of ten and twenty minutes, at most 15 °C above the room, steady where no more than 0.5 °C in
/// ten minutes.
fn run_in() -> Course {
    let probe = |name: &str| Place { name: name.to_owned(), thermometer: Name::new("probe").ok() };
    Course {
        steps: vec![Speed { rpm: 1000, ms: 10 * MINUTE }, Speed { rpm: 2000, ms: 20 * MINUTE }],
        places: vec![probe("front"), probe("room")],
        max: None,
        rate: Some(celsius("2")),
        steady: Some((celsius("0.5"), 10 * MINUTE)),
        ceiling: celsius("120"),
        gap_ms: None,
        frozen_ms: 10 * MINUTE,
        u: Some(celsius("0.3")),
    }
}

fn check_of(run_in: &Course) -> Check {
    let unit = Unit::Other(Other::CELSIUS);
    let limits = Some(Limits::Max(celsius("15")));
    Check { unit, limits, positions: 0, closure: false, ..check(RunIn(run_in.clone())) }
}

/// Readings of `front` once a minute, with the room at 20 °C from the beginning on.
fn log(front: impl IntoIterator<Item = (u64, f64)>) -> Log {
    let speed = |step, minute| SpeedBegan { step, after_ms: minute * MINUTE };
    let speeds = vec![speed(0, 0), speed(1, 10), speed(STANDS, 30)];
    let mut log = Log { speeds, ..Log::default() };
    log.add(Noted { place: 1, after_ms: 0, value: celsius("20.0") });
    for (minute, degrees) in front {
        let value = celsius(&format!("{degrees:.1}"));
        log.add(Noted { place: 0, after_ms: minute * MINUTE, value });
    }
    log
}

/// 20 °C, and 10 °C more with a time constant of five minutes.
fn warming() -> impl Iterator<Item = (u64, f64)> {
    (0..=30_u32)
        .map(|minute| (u64::from(minute), 20.0 + 10.0 * (1.0 - (-f64::from(minute) / 5.0).exp())))
}

fn judge(run_in: &Course, log: Log) -> Judged {
    let check = check_of(run_in);
    let room = Room { log: Some(log), ..Room::default() };
    check.measures.judge(&series(&check, &[]), &room)
}

#[test]
fn the_rise_is_the_warmest_place_above_the_room_at_that_time() {
    let found = judge(&run_in(), log(warming()));
    // 30.0 − 20.0, in degrees carried as millimetres; U = 2·√(2·0.3²) = 0.84853.
    assert_eq!(found.value, Some(Figure::from(celsius("10"))));
    let u = found.expanded().unwrap().uncertainty;
    near(Figure::from(u).to_f64() / 1e9, 0.848_528, 1e-6);
    assert!(found.reasons.is_empty(), "{:?}", found.reasons);
    let shown = found.figures.run_in.unwrap();
    assert_eq!((shown.place.as_str(), shown.steady, shown.steps.len()), ("front", true, 2));
    near(shown.steps[1].ran_min.get(), 20.0, 1e-9);
    // A room that warms with the spindle takes its share away: 30.0 − 22.0 at the end, 29.8 − 20 before.
    let mut warmer = log(warming());
    warmer.add(Noted { place: 1, after_ms: 21 * MINUTE, value: celsius("22.0") });
    let found = judge(&run_in(), warmer);
    assert_eq!(
        found.value,
        Some(Figure::from(celsius("9.8"))),
        "at 20 minutes, before the room was 22"
    );
}

#[test]
fn without_a_room_there_is_no_rise() {
    let mut none = log(warming());
    none.readings.retain(|one| one.place == 0);
    let found = judge(&run_in(), none);
    assert_eq!((found.value, found.reasons), (None, vec![Reason::RoomUnknown]));
}

#[test]
fn what_still_warms_at_the_end_is_not_steady() {
    let slow = (0..=30_u32).map(|minute| (u64::from(minute), 20.0 + f64::from(minute) / 5.0));
    let found = judge(&run_in(), log(slow));
    assert_eq!(found.reasons, [Reason::NotSteady]);
    // From 24.0 at 20 minutes to 26.0 at 30.
    assert!(
        found.sayings[0].text.contains("front changed by 2 °C in the last 10 min"),
        "{:?}",
        found.sayings
    );
    let unruled = Course { steady: None, ..run_in() };
    let slow = (0..=30_u32).map(|minute| (u64::from(minute), 20.0 + f64::from(minute) / 5.0));
    assert!(judge(&unruled, log(slow)).reasons.is_empty());
}

#[test]
fn a_step_that_was_cut_short_or_left_out_is_told() {
    let mut short = log(warming());
    short.speeds[1].after_ms = 6 * MINUTE;
    let found = judge(&run_in(), short);
    assert_eq!(found.reasons, [Reason::CutShort]);
    assert_eq!(found.sayings[0].text, "The step at 1000 rpm ran 6 min of 10 min.");
    let mut left = log(warming());
    left.speeds.remove(1);
    let found = judge(&run_in(), left);
    assert_eq!(found.sayings[0].text, "The step at 2000 rpm was not run.");
    // A person is no clock: 9 minutes and 50 seconds are ten.
    let mut nearly = log(warming());
    nearly.speeds[1].after_ms = 10 * MINUTE - 10_000;
    assert!(judge(&run_in(), nearly).reasons.is_empty());
}

#[test]
fn a_gap_withholds_only_what_it_hides() {
    let without =
        |from: u64, to: u64| warming().filter(move |(minute, _)| !(from..to).contains(minute));
    // From 4 (25.5) to 9 (28.3), up by 2 °C a minute and down again: at most (25.5 + 28.3 + 10)/2 = 31.9,
    // less than 20 + 15 − 0.85.
    let early = judge(&run_in(), log(without(5, 9)));
    assert!(early.reasons.is_empty(), "{:?}", early.sayings);
    assert!(early.says.iter().any(|said| said.ends_with("It hides nothing.")), "{:?}", early.says);
    let gap = &early.figures.run_in.unwrap().gaps[0];
    assert_eq!((gap.from_min.get(), gap.minutes.get(), gap.hides), (4.0, 5.0, false));
    // From 4 to 14 (29.4): (25.5 + 29.4 + 20)/2 = 37.4 can have been too warm.
    let long = judge(&run_in(), log(without(5, 14)));
    assert_eq!(long.reasons, [Reason::GapInLog]);
    // In the last ten minutes it hides whether it is steady, however short.
    let late = judge(&run_in(), log(without(23, 27)));
    assert_eq!(late.reasons, [Reason::GapInLog]);
    assert!(
        !log(warming()).readings.is_empty() && judge(&run_in(), log(warming())).reasons.is_empty()
    );
}

#[test]
fn a_sensor_that_shows_the_same_although_the_speed_changed_is_frozen() {
    // From 5 minutes on it shows 26.3; the speed changes at 10.
    let stuck =
        warming().map(|(minute, degrees)| (minute, if minute < 5 { degrees } else { 26.3 }));
    let found = judge(&run_in(), log(stuck));
    assert_eq!(found.reasons, [Reason::SensorFrozen]);
    assert!(
        found.sayings[0].text.contains("has shown 26.3 °C for 15 min although the speed changed"),
        "{:?}",
        found.sayings
    );
    // Steady at the end of a long step is no fault.
    let steady =
        warming().map(|(minute, degrees)| (minute, if minute < 12 { degrees } else { 29.0 }));
    assert!(judge(&run_in(), log(steady)).reasons.is_empty());
}

#[test]
fn the_rate_is_that_of_the_last_minute() {
    let log = log([(0, 20.0), (1, 21.0), (2, 24.0)]);
    let now = Noted { place: 0, after_ms: 3 * MINUTE, value: celsius("26.5") };
    assert_eq!(log.rate(0, now), Some(Figure::from(celsius("2.5"))));
    let early = Noted { after_ms: MINUTE / 2, ..now };
    assert_eq!(log.rate(0, early), None, "half a minute is no minute");
    let late = Noted { after_ms: 9 * MINUTE, ..now };
    assert_eq!(log.rate(0, late), None, "after a gap nothing is known of the last minute");
}

/// Numbers that look random (splitmix64), normal by Box and Muller.
#[expect(clippy::cast_precision_loss, reason = "53 bits")]
fn even(state: &mut u64) -> f64 {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
}

#[test]
fn the_truth_lies_within_u_for_thermometers_as_stated() {
    let mut state = 20_261_130_u64;
    let mut normal = |s: f64| {
        let (one, other) = (1.0 - even(&mut state), even(&mut state));
        s * (-2.0 * one.ln()).sqrt() * (std::f64::consts::TAU * other).cos()
    };
    let (run_in, mut missed) = (run_in(), 0_u32);
    for _ in 0..1000 {
        // Each thermometer is off by so much, all the time: s 0.3.
        let (front, room) = (normal(0.3), normal(0.3));
        let mut one = log(warming().map(|(minute, degrees)| (minute, degrees + front)));
        one.readings[0].value = celsius("20.0");
        for reading in one.readings.iter_mut().filter(|reading| reading.place == 1) {
            reading.value = celsius(&format!("{:.1}", 20.0 + room));
        }
        let found = judge(&run_in, one);
        let value = found.value.unwrap().to_f64() / 1e9;
        let u = Figure::from(found.expanded().unwrap().uncertainty).to_f64() / 1e9;
        missed += u32::from((value - 9.975).abs() > u);
    }
    // 4.55 in 100 is what k = 2 promises.
    assert!((25..70).contains(&missed), "{missed} of 1000");
}
