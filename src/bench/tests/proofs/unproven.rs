//! A gauge that is not proven is told of before a check begins and on its verdict, and where the shop says
//! so, withholds it.

use super::{LIFTS, all, prove};
use crate::event::Command;
use crate::fact::row::{AttemptReason, Unproven};
use crate::reply::Done;
use crate::setup::{GaugeKind, GaugeSetup, GaugeWire};
use crate::tests::kit::{Kit, face, inch, name};
use crate::words::proof as said;
use gauge::{Capture, Sign};
use judgement::{Reason, Word};
use quantity::{Quoted, Unit, Wall};

const DAY_US: u64 = 86_400_000_000;

/// A face that is good beyond doubt.
const FLAT: &str = "0.00001";

/// What is said before the first touch, and the verdict after the last one.
fn measured(kit: &mut Kit) -> (Option<String>, std::sync::Arc<crate::fact::verdict::Verdict>) {
    let begun = if kit.job().attempts.is_empty() {
        kit.measure("ring/face").unwrap()
    } else {
        let target = Some("ring/face".to_owned());
        let reason = AttemptReason::Again;
        kit.ask(Command::Remeasure { reason, target, remark: None }).unwrap()
    };
    let Done::Measuring(measuring) = begun else { panic!("{begun:?}") };
    for _ in 0..8 {
        kit.press(FLAT);
    }
    (measuring.gauge_says, kit.verdict())
}

fn pinned(kit: &Kit) -> (Option<Unproven>, bool) {
    let job = kit.job();
    let pin = &job.attempts.values().last().unwrap().began.pin;
    (pin.unproven, pin.withheld)
}

fn plate(kit: &mut Kit) -> &mut GaugeSetup {
    kit.setup.gauges.get_mut(&name("plate")).unwrap()
}

fn good(kit: &mut Kit) {
    let proved = prove(kit, &all(LIFTS, 101, 1));
    assert!(proved.is_good(), "{}", said::came_to(&proved));
}

/// A bench whose gauge is not proven for this reason.
fn unproven_by(why: Unproven) -> Kit {
    let mut kit = Kit::new(vec![face("face")]);
    match why {
        Unproven::Never => {}
        Unproven::Failed => {
            prove(&mut kit, &all(LIFTS, -99, 1));
        }
        Unproven::OffChart => {
            for _ in 0..10 {
                good(&mut kit);
            }
            prove(&mut kit, &all(LIFTS, 103, 1));
        }
        Unproven::SetUpAnew => {
            good(&mut kit);
            plate(&mut kit).lever_mdeg = 12_000;
        }
        Unproven::TooOld => {
            good(&mut kit);
            kit.clock_us += 31 * DAY_US;
        }
        Unproven::OtherSerial => {
            good(&mut kit);
            plate(&mut kit).serial = Some("A1".to_owned());
            super::blocks::register_gauge(&mut kit, "B2");
        }
    }
    kit
}

#[test]
fn each_reason_is_told_before_the_check_and_on_the_verdict() {
    for why in Unproven::ALL {
        let mut kit = unproven_by(why);
        let (says, verdict) = measured(&mut kit);
        assert_eq!(pinned(&kit), (Some(why), false));
        assert_eq!(says, Some(said::to_prove(why, &name("plate"))));
        let told = said::unproven(why, &name("plate"));
        assert!(verdict.advice.contains(&told), "{why:?}: {:?}", verdict.advice);
        assert!(!verdict.reasons.contains(&Reason::Unproven), "it is only said");
        assert_eq!(verdict.word, Word::Conforms);
    }
}

#[test]
fn where_the_shop_says_so_the_verdict_is_withheld() {
    for why in Unproven::ALL {
        let mut kit = unproven_by(why);
        kit.setup.withholds_unproven = true;
        let (says, verdict) = measured(&mut kit);
        assert_eq!(pinned(&kit), (Some(why), true));
        let says = says.unwrap();
        assert!(says.ends_with("Until then its verdicts are withheld."), "{says}");
        assert_eq!(
            (verdict.word, &verdict.reasons[..]),
            (Word::Undecided, &[Reason::Unproven][..])
        );
        // What a rule would have said is kept beside it.
        assert_eq!(verdict.guarded, Some(Word::Conforms));
    }
}

#[test]
fn a_proven_gauge_is_not_spoken_of() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.setup.withholds_unproven = true;
    good(&mut kit);
    let (says, verdict) = measured(&mut kit);
    assert_eq!((says, pinned(&kit)), (None, (None, false)));
    assert_eq!((verdict.word, verdict.reasons.as_slice()), (Word::Conforms, &[][..]));
    assert!(verdict.advice.iter().all(|one| !one.contains("prove")), "{:?}", verdict.advice);
}

#[test]
fn a_check_keeps_what_was_known_when_it_began() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.setup.withholds_unproven = true;
    kit.measure("ring/face").unwrap();
    for _ in 0..4 {
        kit.press(FLAT);
    }
    good(&mut kit);
    for _ in 0..4 {
        kit.press(FLAT);
    }
    assert!(kit.verdict().reasons.contains(&Reason::Unproven), "it began with one not proven");
    // A second try begins with a proven gauge, but the first one still counts in the mean.
    let (says, both) = measured(&mut kit);
    assert_eq!((says, both.tries), (None, 2));
    assert!(both.reasons.contains(&Reason::Unproven), "{:?}", both.reasons);
}

#[test]
fn a_proof_counts_its_whole_last_day() {
    let mut kit = Kit::new(vec![face("face")]);
    good(&mut kit);
    let proved_at = kit.bench.shop.proofs(&name("plate"))[0].at.micros();
    let after = |days: Option<u32>, us: i64| {
        let now = Wall::from_micros(proved_at + us);
        kit.bench.shop.unproven(&kit.setup.gauges[&name("plate")], now, days)
    };
    let day = i64::try_from(DAY_US).unwrap();
    assert_eq!(after(Some(30), 31 * day - 1), None);
    assert_eq!(after(Some(30), 31 * day), Some(Unproven::TooOld));
    assert_eq!(after(Some(0), day - 1), None, "proved today");
    assert_eq!(after(Some(0), day), Some(Unproven::TooOld));
    assert_eq!(after(None, 10_000 * day), None, "where the shop sets no limit");
    assert_eq!(after(Some(30), -day), None, "a clock that was set back makes nothing old");
}

fn wire() -> GaugeWire {
    GaugeWire {
        port: "/dev/ttyUSB0".to_owned(),
        profile: "plain".to_owned(),
        channel: None,
        sign: Sign::Plus,
        scale: None,
        capture: Capture::Send,
    }
}

#[test]
fn only_what_changes_the_meaning_of_a_reading_needs_a_new_proof() {
    let after = |change: fn(&mut GaugeSetup)| {
        let mut kit = Kit::new(vec![face("face")]);
        plate(&mut kit).wire = Some(wire());
        good(&mut kit);
        change(plate(&mut kit));
        let now = Wall::from_micros(i64::try_from(kit.clock_us).unwrap());
        kit.bench.shop.unproven(&kit.setup.gauges[&name("plate")], now, Some(30))
    };
    let anew: [fn(&mut GaugeSetup); 9] = [
        |plate| plate.lever_mdeg = 1,
        |plate| plate.kind = GaugeKind::Height,
        |plate| plate.unit = None,
        |plate| plate.resolution = Quoted::parse("0.0001", Unit::Inch).unwrap(),
        |plate| plate.wire = None,
        |plate| plate.wire.as_mut().unwrap().sign = Sign::Minus,
        |plate| plate.wire.as_mut().unwrap().profile = "other".to_owned(),
        |plate| plate.wire.as_mut().unwrap().channel = Some("2".to_owned()),
        |plate| {
            plate.wire.as_mut().unwrap().scale =
                Some(Quoted::parse("0.00001", Unit::Inch).unwrap());
        },
    ];
    for (nth, change) in anew.into_iter().enumerate() {
        assert_eq!(after(change), Some(Unproven::SetUpAnew), "change {nth}");
    }
    let same: [fn(&mut GaugeSetup); 6] = [
        |plate| plate.repeatability = None,
        |plate| plate.uncertainty = Some(inch("0.00002")),
        |plate| plate.travel = Some((inch("-0.1"), inch("0.1"))),
        |plate| plate.calibration_due = Some(Wall::from_micros(1)),
        |plate| plate.wire.as_mut().unwrap().port = "/dev/ttyUSB1".to_owned(),
        |plate| plate.wire.as_mut().unwrap().capture = Capture::Settle,
    ];
    for (nth, change) in same.into_iter().enumerate() {
        assert_eq!(after(change), None, "change {nth}");
    }
}
