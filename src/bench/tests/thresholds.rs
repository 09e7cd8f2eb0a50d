//! Each trap has a threshold that a plan may set: with the usual one it springs, with a wider one the same
//! touches are left alone. Touches are in millionths of an inch; s 6, u 8.4, a step 10, T 100.

use crate::event::Command;
use crate::fact::row::{AlertKind, AttemptReason, Question};
use crate::plan::{Check, MasterUse, Size};
use crate::tests::kit::{Kit, face, inch};
use judgement::{Limits, Reason, Times, Traps};

fn begun(check: Check) -> Kit {
    let target = format!("ring/{}", check.name);
    let mut kit = Kit::new(vec![check]);
    kit.measure(&target).unwrap();
    kit
}

fn touch(kit: &mut Kit, microinches: &[i32]) {
    for count in microinches {
        kit.frame("plate", &format!("{:.5}", f64::from(*count) / 1e6), false);
    }
}

fn again(kit: &mut Kit, reason: AttemptReason) {
    kit.ask(Command::Remeasure { reason, target: None, remark: None }).unwrap();
}

fn set(place: impl Fn(&mut Traps) -> &mut Times, times: u32) -> Traps {
    let mut traps = Traps::default();
    *place(&mut traps) = Times::of_hundredths(100 * times);
    traps
}

fn with(traps: Traps, check: Check) -> Check {
    Check { traps, ..check }
}

fn reasons(kit: &Kit) -> Vec<Reason> {
    kit.verdict().reasons.clone()
}

/// One touch 110 above the others: without it they are flat, so it is 110 off them, and T is 100. 14·u is
/// 118.
#[test]
fn wild() {
    let asked = |traps: Traps| {
        let mut kit = begun(with(traps, face("face")));
        touch(&mut kit, &[0, 0, 0, 0, 0, 110]);
        kit.alerts(AlertKind::WildTouch).len()
    };
    assert_eq!(asked(Traps::default()), 1);
    assert_eq!(asked(set(|traps| &mut traps.wild, 14)), 0);
}

/// Three touches that span 40: 4.7·6 = 28.2, 8·6 = 48.
#[test]
fn spread() {
    let asked = |traps: Traps| {
        let mut kit = begun(with(traps, Check { touches: 3, ..face("face") }));
        touch(&mut kit, &[0, 40, 20]);
        kit.alerts(AlertKind::WildTouch).len()
    };
    assert_eq!(asked(Traps::default()), 1);
    assert_eq!(asked(set(|traps| &mut traps.spread, 8)), 0);
}

/// Position 0 comes back 30 higher: 3·√2·6 = 25.5, 4·√2·6 = 33.9.
#[test]
fn returns() {
    let came_back = |traps: Traps| {
        let mut kit = begun(with(traps, Check { closure: true, ..face("face") }));
        touch(&mut kit, &[0, 0, 0, 0, 0, 0, 0, 0, 30]);
        reasons(&kit)
    };
    assert_eq!(came_back(Traps::default()), [Reason::NotClosed]);
    assert_eq!(came_back(set(|traps| &mut traps.returns, 4)), []);
}

/// Readings climb by 40 in nine steps, the middle touch after four of them: 4.2·6 = 25.2, 7·6 = 42. Where
/// all of it came before the middle, the bow is 22: 3.1·6 = 18.6, 4·6 = 24.
#[test]
fn drift_and_bow() {
    let climbed = |middle: i32, traps: Traps| {
        let check = Check { closure: true, middle: true, ..face("face") };
        let mut kit = begun(with(traps, check));
        touch(&mut kit, &[0, 0, 10, 10, middle, 20, 30, 30, 40, 40]);
        (reasons(&kit), kit.verdict().figures.drift.is_some())
    };
    let (taken_out, open) = ((vec![], true), (vec![Reason::NotClosed], false));
    assert_eq!(climbed(20, Traps::default()), taken_out);
    assert_eq!(climbed(20, set(|traps| &mut traps.drift, 7)), open);
    assert_eq!(climbed(40, Traps::default()), open);
    assert_eq!(climbed(40, set(|traps| &mut traps.bow, 4)), taken_out);
}

fn length() -> Check {
    Check {
        measures: Size::default().into(),
        limits: Some(Limits::Band { min: inch("1.4999"), max: inch("1.5001") }),
        nominal: Some(inch("1.5")),
        ..face("length")
    }
}

/// 0.003 off a size of ± 0.0001: thirty tolerances.
#[test]
fn wrong_part() {
    let asked = |traps: Traps| {
        let mut kit = begun(with(traps, length()));
        kit.press("1.50300");
        kit.alerts(AlertKind::WrongPart).len()
    };
    assert_eq!(asked(Traps::default()), 1);
    assert_eq!(asked(set(|traps| &mut traps.wrong_part, 31)), 0);
}

/// High minus low was 320, half a turn later 280: T/4 is 25, 4·8.4 = 33.6, 5·8.4 = 42.
#[test]
fn dirt() {
    let found = |traps: Traps| {
        let mut kit = begun(with(traps, face("face")));
        touch(&mut kit, &[50, 160, 140, 80, -50, -160, -140, -70]);
        let attempt = kit.verdict().attempt;
        let asked = kit.bench.attempt(attempt).unwrap().2.asked;
        assert_eq!(asked, Some(Question::HalfTurn { high: 1, low: 5 }));
        touch(&mut kit, &[140, -140]);
        kit.open().iter().any(|text| text.contains("It was dirt or a burr"))
    };
    assert!(found(Traps::default()));
    assert!(!found(set(|traps| &mut traps.dirt, 5)));
}

/// A second try 60 off at one position, 52.5 with its offset: T/2 is 50, 6·8.4 = 50.4, 7·8.4 = 58.8.
#[test]
fn tries() {
    let differ = |traps: Traps| {
        let mut kit = begun(with(traps, face("face")));
        touch(&mut kit, &[0; 8]);
        again(&mut kit, AttemptReason::Again);
        touch(&mut kit, &[0, 0, 0, 60, 0, 0, 0, 0]);
        reasons(&kit)
    };
    assert_eq!(differ(Traps::default()), [Reason::TriesDiffer]);
    assert_eq!(differ(set(|traps| &mut traps.tries, 7)), []);
}

/// High and low change places, 60 wide: four steps are 40, seven 70.
#[test]
fn turned() {
    let round = [60, 50, 30, 10, 0, 10, 30, 50];
    let asked = |traps: Traps| {
        let mut kit = begun(with(traps, face("face")));
        touch(&mut kit, &round);
        again(&mut kit, AttemptReason::Ground);
        touch(&mut kit, &round.map(|count| -count));
        kit.alerts(AlertKind::PastFlat).len()
    };
    assert_eq!(asked(Traps::default()), 1);
    assert_eq!(asked(set(|traps| &mut traps.turned, 7)), 0);
}

/// 4 a minute come to 20 in five minutes: a tenth of T is 10, three tenths 30.
#[test]
fn heat() {
    let shrinks = |traps: Traps| {
        let check = Check { master: MasterUse::Both, master_size: Some(inch("1.5")), ..length() };
        let mut kit = begun(with(traps, Check { positions: 4, ..check }));
        for shorter in [0, 20, 40] {
            if shorter > 0 {
                kit.clock_us += 5 * 60_000_000 - 7_000_000;
                again(&mut kit, AttemptReason::Again);
            }
            let on = 40 - shorter;
            touch(&mut kit, &[0, on, on, on, on, 0]);
        }
        reasons(&kit)
    };
    assert_eq!(shrinks(Traps::default()), [Reason::Warm]);
    let wide = Traps { heat: Times::of_hundredths(30), ..Traps::default() };
    assert_eq!(shrinks(wide), []);
}
