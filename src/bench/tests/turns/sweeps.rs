//! Turns that pass under the stylus in one go.

use std::sync::Arc;

use crate::event::{Command, Event, Frame, SweptTurn};
use crate::fact::row::{AlertKind, AttemptReason, State};
use crate::plan::Taps;
use crate::plan::{Check, Direction, Reads, Swept};
use crate::reply::{Done, Refusal};
use crate::series::{Touch, next_touch};
use crate::tests::kit::{Kit, name};
use crate::tests::turns::{exact, fixed, near, turn};
use judgement::{Reason, Word};
use quantity::{Quoted, Stamp, Unit, Wall};

/// How long the turn lasts, microseconds.
const TURN_US: u64 = 10_000_000;

fn swept(marks: u32) -> Check {
    let reads = Reads::Sweep(Swept { marks, angles_deg: Vec::new() });
    Check { positions: 1, closure: true, reads, ..turn(1) }
}

fn measuring(check: Check) -> Kit {
    let mut kit = Kit::new(vec![check]);
    kit.measure("ring/nose").unwrap();
    kit
}

/// Where a hand whose speed varies by 20 % has the metal, degrees, a part of the turn after mark 0.
fn hand_deg(part: f64, phase: f64) -> f64 {
    let sway = |part: f64| (std::f64::consts::TAU * part + phase).sin();
    360.0 * (part + 0.2 / std::f64::consts::TAU * (sway(part) - sway(0.0)))
}

/// When that hand has the metal at an angle, a part of the turn.
fn when(deg: f64, phase: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if hand_deg(middle, phase) < deg { low = middle } else { high = middle }
    }
    low
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a part of ten seconds"
)]
fn at_us(part: f64) -> u64 {
    2_000_000 + (part * 10_000_000.0).round() as u64
}

fn marks_us(marks: u32, phase: f64) -> Vec<u64> {
    let tap = |mark: u32| match mark {
        0 => at_us(0.0),
        last if last == marks => at_us(1.0),
        mark => at_us(when(360.0 * f64::from(mark) / f64::from(marks), phase)),
    };
    (0..=marks).map(tap).collect()
}

/// Two waves and noise by formula: the scenario's stream, sampled in even time.
fn height(deg: f64, k: i64) -> f64 {
    let wave =
        2.2 * (deg - 130.0).to_radians().cos() + 1.4 * (2.0 * (deg - 35.0)).to_radians().cos();
    let noise = (((k * k * 37 + k * 11) % 101 - 50) * 4 * 254_000).div_euclid(101);
    let noise = f64::from(i32::try_from(noise).unwrap()) / 254_000.0;
    (wave + noise).round_ties_even()
}

fn frame(steps: f64) -> Frame {
    let text = format!("{:.5}", steps / 1e5);
    let value = Quoted::parse(&text, Unit::Inch).unwrap();
    let gauge = name("plate");
    Frame { gauge, value, text, repeat: false, odd: None, low_battery: false }
}

/// A whole turn with `samples` of it.
fn a_turn(samples: u32, (marks, phase): (u32, f64)) -> SweptTurn {
    let now = Stamp { wall: Wall::from_micros(99_000_000), mono_us: 99_000_000 };
    let sample = |k: u32| {
        let part = f64::from(k) / f64::from(samples - 1);
        let deg = hand_deg(part, phase);
        // The last sample is the first place again, without noise between them.
        let k = if k == samples - 1 { 0 } else { k };
        (now.back_at(at_us(part)), frame(height(deg, i64::from(k))))
    };
    SweptTurn { taps_us: marks_us(marks, phase), samples: (0..samples).map(sample).collect() }
}

fn sweep(kit: &mut Kit, turn: SweptTurn) -> Result<Done, Refusal> {
    kit.ask(Command::Swept(Box::new(turn)))
}

#[test]
fn taps_at_the_quarters_find_the_high_side_of_an_uneven_hand() {
    for phase in [0.0, 1.0, 2.5, 4.0] {
        let mut kit = measuring(swept(4));
        let done = sweep(&mut kit, a_turn(301, (4, phase))).unwrap();
        assert!(matches!(done, Done::Swept { samples: 301, state: State::Placed, .. }), "{done:?}");
        let verdict = kit.verdict();
        assert_eq!((verdict.word, verdict.taken, verdict.positions), (Word::Conforms, 300, 300));
        // The metal is 56 millionths out, in even steps 65.81 come of it with the noise (scenario).
        let value = verdict.value.unwrap().to_f64() / 25_400.0;
        assert!((56.0..70.0).contains(&value), "{value} millionths of an inch");
        let high = verdict.figures.high_side_deg.unwrap().get();
        assert!((high - 130.0).abs() < 3.4, "{high} with the hand at {phase}");
        let known = verdict.figures.high_side_u_deg.unwrap().get();
        // 2·√(1.8² + (3.4/√3)²) for the taps alone: 50 ms of a turn of 10 s are 1.8 degrees.
        assert!((5.3..9.0).contains(&known), "{known}");
        assert_eq!(verdict.figures.closure, Some(exact("0")));
        assert!(verdict.reasons.is_empty() && verdict.figures.harmonics.len() == 15);
    }
}

#[test]
fn between_quarter_taps_an_uneven_hand_is_off_by_3_degrees_and_without_them_by_23() {
    // Figures of the trade handbook, simulated: here by the formula of the hand.
    let worst = |marks: u32| {
        let mut worst = 0.0_f64;
        for phase in (0..64).map(|step| f64::from(step) * std::f64::consts::TAU / 64.0) {
            let taps = Taps { at_us: marks_us(marks, phase), samples: 1 };
            for part in (0..1000).map(|step| f64::from(step) / 1000.0) {
                let told = taps.turned_deg(at_us(part)).unwrap();
                let apart = (told - hand_deg(part, phase)).rem_euclid(360.0);
                worst = worst.max(apart.min(360.0 - apart));
            }
        }
        worst
    };
    assert!((22.5..23.5).contains(&worst(1)), "{}", worst(1));
    assert!((3.0..4.5).contains(&worst(4)), "{}", worst(4));
}

#[test]
fn the_fewer_marks_are_tapped_the_less_is_known_of_the_side() {
    // The bound 36/π·(1 − cos(180°/m)) over √3, and 1.8 degrees of the tap, by hand.
    for (marks, known) in [(2, 6.856), (3, 3.766), (4, 2.645), (8, 1.869)] {
        let taps = Taps { at_us: marks_us(marks, 0.0), samples: 1 };
        assert!((taps.uncertainty_deg() - known).abs() < 0.001, "{}", taps.uncertainty_deg());
    }
}

#[test]
fn a_tap_that_is_late_on_a_shaft_far_out_is_no_open_turn() {
    // 0.0003 in out in a turn of 10 s: at 0 the surface climbs 0.000009 in while a tap is 0.1 s late.
    let mut kit = measuring(swept(4));
    let mut turn = a_turn(301, (4, 0.0));
    for (k, (_, one)) in turn.samples.iter_mut().enumerate() {
        let deg = f64::from(u16::try_from(k).unwrap()) * 1.2;
        *one = frame((150.0 * (deg - 90.0).to_radians().cos()).round());
    }
    turn.samples.last_mut().unwrap().1 = frame(9.0);
    sweep(&mut kit, turn).unwrap();
    assert_eq!((kit.verdict().word, kit.verdict().reasons.len()), (Word::DoesNotConform, 0));
}

#[test]
fn with_the_index_mark_alone_no_side_is_told() {
    let mut kit = measuring(swept(1));
    sweep(&mut kit, a_turn(301, (1, 1.0))).unwrap();
    let verdict = kit.verdict();
    assert_eq!(verdict.word, Word::Conforms);
    let figures = &verdict.figures;
    assert!(figures.high_side_deg.is_none() && figures.axis_deg.is_none());
    assert!(figures.harmonics.is_empty() && figures.eccentricity.is_none());
    assert!(verdict.advice.iter().any(|line| line.contains("taken as constant")));
}

#[test]
fn a_turn_with_too_few_samples_or_a_gap_proves_nothing() {
    let mut kit = measuring(swept(4));
    sweep(&mut kit, a_turn(25, (4, 0.0))).unwrap();
    let verdict = kit.verdict();
    assert_eq!((verdict.word, verdict.reasons.clone()), (Word::Undecided, vec![Reason::GapInTurn]));
    let mut kit = measuring(swept(4));
    let mut turn = a_turn(301, (4, 0.0));
    turn.samples.drain(100..120);
    sweep(&mut kit, turn).unwrap();
    assert_eq!(kit.verdict().reasons, [Reason::GapInTurn]);
    // A turn of 60 samples is judged, and says that it is thin.
    let mut kit = measuring(swept(4));
    sweep(&mut kit, a_turn(61, (4, 0.0))).unwrap();
    assert!(kit.verdict().advice.iter().any(|line| line.starts_with("60 samples in the turn")));
}

#[test]
fn a_turn_that_does_not_come_back_is_not_closed_and_asks_for_no_touch() {
    let mut kit = measuring(swept(4));
    let mut turn = a_turn(301, (4, 0.0));
    let last = turn.samples.last_mut().unwrap();
    last.1 = frame(height(0.0, 0) + 7.0);
    sweep(&mut kit, turn).unwrap();
    let verdict = kit.verdict();
    assert_eq!(verdict.reasons, [Reason::NotClosed]);
    assert_eq!(verdict.figures.closure, Some(exact("0.00007")));
    let job = kit.job();
    let attempt = job.attempts.values().next().unwrap();
    assert_eq!(
        (attempt.asked, next_touch(job.check_of(attempt).unwrap().1, attempt)),
        (None, Touch::Nothing)
    );
}

#[test]
fn a_turn_is_taken_back_as_a_whole_and_swept_again() {
    let mut kit = measuring(swept(4));
    sweep(&mut kit, a_turn(301, (4, 0.0))).unwrap();
    let one = kit.readings()[40].0;
    let voided = kit.ask(Command::Void { id: Some(one), why: None }).unwrap();
    assert!(matches!(voided, Done::Swept { samples: 301, state: State::Void, .. }), "{voided:?}");
    assert_eq!((kit.verdict().word, kit.verdict().reasons.len()), (Word::Incomplete, 0));
    assert!(sweep(&mut kit, a_turn(201, (4, 2.0))).is_ok());
    let verdict = kit.verdict();
    assert_eq!((verdict.word, verdict.taken), (Word::Conforms, 200));
    assert!((verdict.figures.high_side_deg.unwrap().get() - 130.0).abs() < 3.4);
    // Afterwards it is finished: another turn needs a reason.
    assert!(sweep(&mut kit, a_turn(201, (4, 0.0))).is_err());
    let reason = AttemptReason::Again;
    kit.ask(Command::Remeasure { reason, target: None, remark: None }).unwrap();
    sweep(&mut kit, a_turn(301, (4, 0.0))).unwrap();
    assert_eq!(kit.verdict().tries, 1, "samples of two sweeps are not averaged");
}

#[test]
fn one_sample_that_cannot_belong_spoils_the_turn_and_nothing_is_lost() {
    let mut kit = measuring(swept(4));
    let mut turn = a_turn(101, (4, 0.0));
    let got = Unit::Millimetre;
    turn.samples[50].1.odd = Some(gauge::Odd::Unit { got, expected: Unit::Inch });
    let done = sweep(&mut kit, turn).unwrap();
    assert!(matches!(done, Done::Swept { state: State::Suspect, .. }), "{done:?}");
    assert_eq!(kit.states(), [State::Suspect; 101]);
    assert_eq!(kit.alerts(AlertKind::UnitMixed).len(), 1);
    assert!(kit.verdicts().is_empty());
    sweep(&mut kit, a_turn(101, (4, 0.0))).unwrap();
    assert!(kit.alerts(AlertKind::UnitMixed).is_empty());
    assert_eq!(kit.verdict().taken, 100);
}

#[test]
fn nothing_else_fills_a_swept_turn() {
    let mut kit = measuring(swept(4));
    let values = vec!["0.00001".to_owned()];
    assert!(kit.ask(Command::Enter { values, graduation: None }).is_err());
    assert!(kit.ask(Command::EnterTotal { value: "0.0001".to_owned(), graduation: None }).is_err());
    let skipped = kit.ask(Command::Skip { position: Some(0), why: "slot".to_owned() });
    assert!(skipped.unwrap_err().text.contains("as a whole"));
    kit.event(&Event::Frame(frame(3.0)));
    assert_eq!(kit.states(), [State::Unclaimed], "a press is looking");
    let tapped = kit.ask(Command::Tapped { tapped: 2 }).unwrap();
    assert!(
        matches!(tapped, Done::Tapped { tapped: 2, marks: 4, next_deg: 180, .. }),
        "{tapped:?}"
    );
}

#[test]
fn clockwise_the_marks_pass_in_falling_order() {
    let check = Check { direction: Direction::Clockwise, ..swept(4) };
    assert_eq!([0, 1, 2, 3, 4].map(|tap| check.mark_deg(tap)), [0, 270, 180, 90, 0].map(Some));
    let taps = Taps { at_us: vec![0, 10, 20, 30, TURN_US], samples: 4 };
    assert_eq!(taps.angle_deg(Direction::Clockwise, 5), Some(315.0));
    assert_eq!(taps.angle_deg(Direction::CounterClockwise, 15), Some(135.0));
    assert_eq!((taps.turned_deg(TURN_US), taps.turned_deg(TURN_US + 1)), (Some(0.0), None));
}

#[test]
fn a_check_keeps_the_angles_of_its_samples() {
    let mut kit = measuring(swept(4));
    sweep(&mut kit, a_turn(301, (4, 1.0))).unwrap();
    let job = kit.job();
    let attempt: &Arc<_> = job.attempts.values().next().unwrap();
    let (_, check) = job.check_of(attempt).unwrap();
    assert_eq!(check.total(), 300);
    assert!(check.angle_deg(0).abs() < 1e-9);
    let rises = (1..300).all(|k| check.angle_deg(k) > check.angle_deg(k - 1));
    assert!(rises && check.angle_deg(299) < 360.0);
    assert_eq!(check.swept().unwrap().angles_deg.len(), 300);
    assert_eq!(fixed(kit.verdict().figures.mean, 6).len(), 8);
}

#[test]
fn a_swept_turn_has_its_total_as_read_beside_the_filtered_one() {
    let mut kit = measuring(swept(4));
    let turn = a_turn(301, (4, 0.0));
    let read = |(_, one): &(Stamp, Frame)| one.value.length;
    let heights = || turn.samples.iter().map(read);
    let total = heights().max().unwrap().checked_sub(heights().min().unwrap()).unwrap();
    sweep(&mut kit, turn.clone()).unwrap();
    let verdict = kit.verdict();
    assert_eq!(verdict.figures.unfiltered, Some(total.into()));
    assert!(verdict.value.unwrap() < total.into());
}

#[test]
fn a_part_of_the_turn_that_took_longer_is_told_with_its_marks() {
    let said = |taps_us: [u64; 5]| {
        let mut kit = measuring(swept(4));
        let mut turn = a_turn(301, (4, 0.0));
        turn.taps_us = taps_us.iter().map(|tap| 2_000_000 + tap * 1_000_000).collect();
        sweep(&mut kit, turn).unwrap();
        let verdict = kit.verdict();
        verdict.advice.iter().find(|line| line.contains("as long as the quickest")).cloned()
    };
    assert_eq!(said([0, 2, 5, 7, 10]), None, "half as long again is a hand's");
    let stood = said([0, 2, 4, 8, 10]).unwrap();
    assert!(stood.starts_with("From 180 to 270 it took 2.0 times as long as"), "{stood}");
    let first = said([0, 4, 6, 10, 12]).unwrap();
    assert!(first.starts_with("From 0 to 90 it took 2.0 times as long as"), "{first}");

    let taps = |at_us: &[u64]| Taps { at_us: at_us.to_vec(), samples: 1 };
    assert_eq!(taps(&[0, 2, 4, 8, 10]).slowest(), Some((2, 2.0)));
    assert_eq!(taps(&[0, 10]).slowest(), None, "there is nothing to hold a whole turn against");
    for (part, times) in [(0, 1.0), (1, 1.0), (2, 2.0), (3, 1.5)] {
        near(Some(taps(&[0, 2, 4, 8, 11]).times_the_quickest(part)), times, 1e-12);
    }
}
