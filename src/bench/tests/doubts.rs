//! The shares of the uncertainty of a face or a turn, and their effect. Lengths are millionths of an inch;
//! expected figures are worked out by hand beside them.

use crate::event::Command;
use crate::fact::row::{AlertKind, AttemptReason, Body, Level, State};
use crate::plan::{Check, Holding, MasterUse, Measures, Moves, Turn};
use crate::tests::kit::{Kit, face, inch};
use judgement::{Known, Limits, Reason, Word};
use quantity::{Figure, Length, Unit};

const RING: [i32; 8] = [0, 30, 50, 40, 20, -10, -20, 0];

fn text(millionths: i32) -> String {
    let sign = if millionths < 0 { "-" } else { "" };
    format!("{sign}0.{:05}", millionths.abs() / 10)
}

fn millionths(length: Length) -> f64 {
    Figure::from(length).to_f64() / 25_400.0
}

fn closing(tolerance: &str) -> Check {
    Check { closure: true, limits: Some(Limits::Max(inch(tolerance))), ..face("face") }
}

fn touched(check: Check, readings: &[i32]) -> Kit {
    let mut kit = Kit::new(vec![check]);
    go_round(&mut kit, readings);
    kit
}

fn go_round(kit: &mut Kit, readings: &[i32]) {
    if kit.readings().is_empty() {
        kit.measure("ring/face").unwrap();
    }
    for reading in readings {
        kit.press(&text(*reading));
    }
}

/// U to a tenth of a millionth, and the word of it.
fn doubt(kit: &Kit) -> (f64, Known) {
    let verdict = kit.verdict();
    ((millionths(verdict.uncertainty.unwrap()) * 10.0).round() / 10.0, verdict.known)
}

fn again(kit: &mut Kit) {
    let reason = AttemptReason::Again;
    kit.ask(Command::Remeasure { reason, target: None, remark: None }).unwrap();
}

#[test]
fn of_tries_that_are_combined_the_scatter_alone_averages() {
    let mut kit = touched(face("face"), &RING);
    assert_eq!(doubt(&kit), (23.8, Known::Stated));
    for _ in 0..2 {
        again(&mut kit);
        go_round(&mut kit, &RING);
    }
    // 2·√(2·(36/3 + 70.56 − 36)) = 19.3; 23.8/√3 would be 13.7.
    assert_eq!((kit.verdict().tries, doubt(&kit)), (3, (19.3, Known::Stated)));
}

#[test]
fn without_a_split_no_try_makes_it_better() {
    let mut kit = Kit::new(vec![face("face")]);
    for gauge in kit.setup.gauges.values_mut() {
        gauge.repeatability = None;
    }
    for _ in 0..3 {
        go_round(&mut kit, &RING);
        again(&mut kit);
    }
    assert_eq!(doubt(&kit), (23.8, Known::Stated));
}

#[test]
fn what_is_not_stated_is_assumed_with_its_own_factor() {
    let unstated = |moves| {
        let mut kit = Kit::new(vec![Check { moves, ..face("face") }]);
        for gauge in kit.setup.gauges.values_mut() {
            (gauge.repeatability, gauge.uncertainty) = (None, None);
        }
        go_round(&mut kit, &RING);
        let k = kit.verdict().k.unwrap().hundredths();
        (doubt(&kit), k)
    };
    assert_eq!(unstated(Moves::Ring), ((42.0, Known::Assumed), 223));
    assert_eq!(unstated(Moves::Stand), ((49.2, Known::Assumed), 209));
}

#[test]
fn how_far_it_came_back_off_counts_though_nobody_is_asked() {
    let ring = [250, 280, 160, -40, -190, -190, -40, 190, 370];
    let kit = touched(closing("0.0005"), &ring);
    let verdict = kit.verdict();
    // T/4 = 125 asks nobody; 2·√(2·70.56 + 120²/3) = 140.6.
    assert_eq!(
        (doubt(&kit).0, verdict.word, &verdict.reasons[..]),
        (140.6, Word::Undecided, &[][..])
    );
    assert_eq!(verdict.value.unwrap().shown(Unit::Inch), "0.00047");
    assert!(kit.alerts(AlertKind::NotClosed).is_empty());
}

#[test]
fn a_master_that_came_back_different_counts_in_a_range() {
    let is = |closure: bool, readings: &[i32], expected: f64| {
        let (master, master_size) = (MasterUse::Both, Some(inch("1.5")));
        let check = Check { closure, master, master_size, ..closing("0.0001") };
        let touched: Vec<i32> = [&[0][..], &RING, readings].concat();
        let found = doubt(&self::touched(check, &touched)).0;
        assert!((found - expected).abs() < 1e-9, "{found} is not {expected}");
    };
    // 2·√(2·70.56 + 20²/3) = 33.1.
    is(false, &[20], 33.1);
    // The farther of both: position 0 came back 10 off, the master 20; and the other way round.
    is(true, &[10, 20], 33.1);
    is(true, &[20, 10], 33.1);
    is(true, &[0, 0], 23.8);
}

#[test]
fn of_tries_each_with_its_closure_the_mean_drifts() {
    let ring: Vec<i32> = RING.into_iter().chain([20]).collect();
    let mut kit = touched(closing("0.0001"), &ring);
    again(&mut kit);
    go_round(&mut kit, &ring);
    // 2·√(2·(36/2 + 34.56) + 2·(20²/3)/4) = 2·√(105.12 + 66.67).
    assert_eq!(doubt(&kit), (26.2, Known::Stated));
}

#[test]
fn a_return_is_held_against_the_repeatability_alone() {
    // 3·√2·6 = 25.5 above T/4 = 25: 30 is asked about, with u = 40, too.
    for u in ["0.0000084", "0.00004"] {
        let mut kit = Kit::new(vec![closing("0.0001")]);
        for gauge in kit.setup.gauges.values_mut() {
            gauge.uncertainty = Some(inch(u));
        }
        go_round(&mut kit, &RING);
        assert!(kit.alerts(AlertKind::OwnReturn).is_empty(), "{u}");
        kit.press(&text(30));
        assert_eq!(kit.alerts(AlertKind::NotClosed).len(), 1, "{u}");
        kit.press(&text(30));
        assert_eq!(kit.verdict().reasons, [Reason::NotClosed], "{u}");
    }
}

#[test]
fn a_missing_return_counts_as_its_limit() {
    let mut kit = touched(closing("0.0001"), &RING);
    kit.press(&text(0));
    assert_eq!(doubt(&kit), (23.8, Known::Stated));
    kit.ask(Command::Void { id: None, why: None }).unwrap();
    // 2·√(2·70.56 + (3·√2·6)²/3) = 2·√(141.12 + 216).
    assert_eq!(doubt(&kit), (37.8, Known::Stated));
}

#[test]
fn a_missing_return_of_a_gauge_that_nobody_states_counts_as_little_known_as_its_touches() {
    let mut kit = Kit::new(vec![Check { moves: Moves::Ring, ..closing("0.001") }]);
    for gauge in kit.setup.gauges.values_mut() {
        (gauge.repeatability, gauge.uncertainty) = (None, None);
    }
    go_round(&mut kit, &RING);
    kit.press(&text(0));
    kit.ask(Command::Void { id: None, why: None }).unwrap();
    // c = 4.28·√2·12 with 8 degrees of freedom, so c²/3 = 1758.6; with 2·12² = 288 of the same 8 and
    // 2·10²/3 = 66.7 of the plate √2113.2 = 45.97; degrees of freedom 2113.2²/(2046.6²/8) = 8.5: 2.37.
    assert_eq!(doubt(&kit), (108.9, Known::Assumed));
    assert_eq!(kit.verdict().k.unwrap().hundredths(), 237);
}

#[test]
fn a_turn_without_a_stand_is_assumed() {
    let turn = |stand: &str| {
        let turn = Turn { stand: inch(stand), ..Turn::default() };
        Check { setup: Holding::Turning, measures: Measures::from(turn), ..face("face") }
    };
    assert_eq!(doubt(&touched(turn("0"), &RING)), (17.0, Known::Assumed));
    // 2·√(2·36 + 25) = 19.7.
    assert_eq!(doubt(&touched(turn("0.000005"), &RING)), (19.7, Known::Stated));
}

#[test]
fn near_the_noise_nothing_fails() {
    // Four within 3·s of either end: b = 6·(1.029 + 1.029) = 12.3; 130 − 12.3 < 123.8.
    let kit = touched(face("face"), &[130, 0, 130, 0, 120, 0, 130, 0]);
    let verdict = kit.verdict();
    assert_eq!((verdict.word, &verdict.reasons[..]), (Word::Undecided, &[Reason::NearNoise][..]));
    assert_eq!(verdict.simple, Some(Word::DoesNotConform));
    assert_eq!(verdict.guarded, Some(Word::DoesNotConform));
    assert_eq!(verdict.value.unwrap().shown(Unit::Inch), "0.00013", "the value is not corrected");
    // A wedge has one highest and one lowest.
    let kit = touched(face("face"), &[130, 110, 60, 20, 0, 20, 60, 110]);
    assert_eq!(kit.verdict().word, Word::DoesNotConform);
    // 140 − 12.3 is over.
    let kit = touched(face("face"), &[140, 0, 140, 0, 130, 0, 140, 0]);
    assert_eq!(kit.verdict().word, Word::DoesNotConform);
}

#[test]
fn one_touch_is_asked_about_where_nothing_else_speaks_against_the_part() {
    // Without 110 the range is 20: at most 100 − 23.8.
    let mut kit = touched(face("face"), &[0, 0, 10, 110, 10, 0, -10, 0]);
    assert_eq!(kit.alerts(AlertKind::WildTouch).len(), 1);
    // 90 is a slip off 110 by less than 3·√2·6 = 25.5: both count.
    kit.press(&text(90));
    assert_eq!(kit.verdict().value.unwrap().shown(Unit::Inch), "0.00011");
    let both = kit.states().iter().filter(|state| **state == State::Placed).count();
    assert_eq!(both, 9);
    // 10 is far off: the one before was a slip.
    let mut kit = touched(face("face"), &[0, 0, 10, 110, 10, 0, -10, 0]);
    kit.press(&text(10));
    assert_eq!(kit.verdict().value.unwrap().shown(Unit::Inch), "0.00002");
    assert_eq!(kit.bench.attempt(kit.verdict().attempt).unwrap().2.count(State::Void), 1);
}

#[test]
fn lobes_inside_the_limit_are_no_wild_touch() {
    // Three lobes of 70 on 8 touches, 35·cos 3t: 35 −25 0 25 −35 25 0 −25.
    let lobes = [30, -20, 0, 20, -40, 20, 0, -20];
    let kit = touched(face("face"), &lobes);
    let asked = |row: &crate::Row| matches!(&row.body, Body::AlertRaised(alert) if alert.level == Level::Interrupt);
    assert!(!kit.rows.iter().any(asked));
}

/// A throw of normal noise: twelve even ones added up.
struct Dice(u64);

impl Dice {
    fn even(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        f64::from(u32::try_from(self.0 >> 33).unwrap()) / f64::from(1_u32 << 31)
    }

    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.even()).sum::<f64>() - 6.0
    }

    /// What a gauge with steps of 10 and this scatter shows of a height.
    fn shown(&mut self, height: f64, scatter: f64) -> i32 {
        let steps = ((height + scatter * self.normal()) / 10.0).round();
        #[expect(clippy::cast_possible_truncation, reason = "a few hundred")]
        let steps = steps as i32;
        10 * steps
    }
}

/// Waves `order` round 8 touches, their range made `range`.
fn wave(order: u32, range: f64, phase: f64) -> Vec<f64> {
    let at = |k: u32| (f64::from(order) * f64::from(k) * std::f64::consts::FRAC_PI_4 + phase).cos();
    let heights: Vec<f64> = (0..8).map(at).collect();
    let high = heights.iter().copied().fold(f64::MIN, f64::max);
    let low = heights.iter().copied().fold(f64::MAX, f64::min);
    heights.iter().map(|height| height * range / (high - low)).collect()
}

/// How many of so many good rings with these waves interrupted somebody.
fn interrupted(orders: std::ops::RangeInclusive<u32>, rings: u32, dice: &mut Dice) -> u32 {
    let orders: Vec<u32> = orders.collect();
    let mut interrupted = 0;
    for ring in 0..rings {
        let order = orders[usize::try_from(ring).unwrap() % orders.len()];
        // Up to T − U − 1.645·√2·s, the part conforms nearly always.
        let (range, phase) = (20.0 + 42.0 * dice.even(), std::f64::consts::TAU * dice.even());
        let mut heights = wave(order, range, phase);
        heights.push(heights[0]);
        let readings: Vec<i32> = heights.iter().map(|height| dice.shown(*height, 6.0)).collect();
        let kit = touched(closing("0.0001"), &readings);
        let loud = kit.rows.iter().any(
            |row| matches!(&row.body, Body::AlertRaised(alert) if alert.level == Level::Interrupt),
        );
        interrupted += u32::from(loud);
    }
    interrupted
}

#[test]
fn good_rings_are_let_alone() {
    // With 2000 of each kind it was 8, 8 and 9.
    let rings = 300;
    let mut dice = Dice(20);
    for (what, orders) in [("lobes", 2..=6), ("saddles", 2..=2), ("wedges", 1..=1)] {
        let loud = interrupted(orders, rings, &mut dice);
        assert!(loud * 50 < rings, "{loud} of {rings} {what}");
    }
}

/// Share of rings whose true range lies within U of the value, through the bench.
fn coverage(check: &Check, dice: &mut Dice, ring: impl Fn(&mut Dice) -> (Vec<i32>, f64)) -> f64 {
    const RINGS: u32 = 400;
    let within = (0..RINGS).filter(|_| {
        let (readings, truth) = ring(dice);
        let verdict = touched(check.clone(), &readings).verdict();
        let value = verdict.value.unwrap().to_f64() / 25_400.0;
        (value - truth).abs() <= millionths(verdict.uncertainty.unwrap())
    });
    f64::from(u32::try_from(within.count()).unwrap()) / f64::from(RINGS)
}

/// A wedge of 540 over 8 touches: cosines by hand, one highest and one lowest.
fn wedge(range: f64) -> Vec<f64> {
    wave(1, range, 0.0)
}

#[test]
fn nineteen_times_in_twenty_the_truth_lies_within() {
    let mut dice = Dice(7);
    // Each touch scatters by 6, the plate by √(8.4² − 6²) = 5.88 more.
    let plain = coverage(&face("face"), &mut dice, |dice| {
        let shown = wedge(540.0).iter().map(|height| dice.shown(*height, 8.4)).collect();
        (shown, 540.0)
    });
    assert!((0.93..=0.985).contains(&plain), "{plain}");
    // The stand drifts evenly by up to 120 from the first touch to the last.
    let drifting = coverage(&closing("0.0005"), &mut dice, |dice| {
        let drift = 240.0 * dice.even() - 120.0;
        let heights = wedge(540.0);
        let all = heights.iter().chain([&heights[0]]).zip(0..);
        let shown =
            all.map(|(height, k)| dice.shown(height + drift * f64::from(k) / 8.0, 8.4)).collect();
        (shown, 540.0)
    });
    assert!(drifting >= 0.95, "{drifting}");
}
