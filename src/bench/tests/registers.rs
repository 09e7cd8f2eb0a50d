//! The register: what is written down of a piece, what a later entry keeps of it, and which master a check
//! stands on.

use std::sync::Arc;

use crate::event::{Command, RegisterAsked};
use crate::fact::row::{Equipment, PinnedMaster, Registered};
use crate::plan::{Check, MasterUse, Size};
use crate::reply::{Done, Refusal};
use crate::tests::kit::{Kit, face, inch, name};
use judgement::Limits;
use quantity::{Length, Wall};

fn asked(what: Equipment, of: &str) -> RegisterAsked {
    RegisterAsked {
        what,
        name: of.to_owned(),
        serial: None,
        certificate: None,
        dated: None,
        due: None,
        size: None,
        runout: None,
        uncertainty: None,
        expanded: None,
    }
}

fn register(kit: &mut Kit, asked: RegisterAsked) -> Result<Arc<Registered>, Refusal> {
    kit.ask(Command::Register(Box::new(asked))).map(|done| {
        if let Done::Registered { entry, .. } = done { entry } else { panic!("{done:?}") }
    })
}

fn block(size: &str) -> RegisterAsked {
    RegisterAsked { size: Some(size.to_owned()), ..asked(Equipment::Block, "b1") }
}

fn kit() -> Kit {
    Kit::new(vec![face("face")])
}

#[test]
fn what_is_not_said_again_is_kept_and_another_piece_begins_with_nothing() {
    let mut kit = kit();
    let first = RegisterAsked {
        uncertainty: Some("0.000002".to_owned()),
        due: Some("2027-03-01".to_owned()),
        certificate: Some("C-7".to_owned()),
        ..block("0.1000")
    };
    register(&mut kit, first).unwrap();
    // Its number is read from the box later: it is the same block.
    let serial =
        |of: &str| RegisterAsked { serial: Some(of.to_owned()), ..asked(Equipment::Block, "b1") };
    let known = register(&mut kit, serial("A-1")).unwrap();
    assert_eq!(known.size.map(|size| size.length), Some(inch("0.1")));
    assert_eq!((known.uncertainty, known.serial.as_deref()), (Some(inch("0.000002")), Some("A-1")));
    let dated =
        RegisterAsked { due: Some("2028-03-01".to_owned()), ..asked(Equipment::Block, "b1") };
    let dated = register(&mut kit, dated).unwrap();
    assert_eq!((&dated.serial, &dated.certificate), (&known.serial, &known.certificate));
    assert!(dated.due > known.due);
    // Another number is another block.
    let other = register(&mut kit, serial("B-2")).unwrap();
    assert_eq!((other.size, other.uncertainty, other.due), (None, None, None));
    assert_eq!(other.certificate, None);
}

/// k = 2: half of the expanded uncertainty of a certificate, rounded up to a picometre.
#[test]
fn an_expanded_uncertainty_is_halved_and_both_are_refused_together() {
    let mut kit = kit();
    let expanded = RegisterAsked { expanded: Some("0.000003 mm".to_owned()), ..block("0.1000") };
    let entry = register(&mut kit, expanded.clone()).unwrap();
    assert_eq!(entry.uncertainty, Some(Length::from_picometres(1_500)));
    let odd = RegisterAsked { expanded: Some("0.000000001 mm".to_owned()), ..block("0.1000") };
    assert_eq!(register(&mut kit, odd).unwrap().uncertainty, Some(Length::from_picometres(1)));
    let both = RegisterAsked { uncertainty: Some("0.000002".to_owned()), ..expanded };
    let refused = register(&mut kit, both).unwrap_err();
    assert!(refused.text.contains("a standard uncertainty and an expanded one"), "{refused:?}");
}

#[test]
fn what_cannot_be_meant_is_refused_and_nothing_is_written_down() {
    let block = |change: fn(&mut RegisterAsked)| {
        let mut asked = block("0.1000");
        change(&mut asked);
        asked
    };
    for (asked, said) in [
        (block(|one| one.size = Some("0".to_owned())), "a size of 0 is no size"),
        (block(|one| one.size = Some("-1".to_owned())), "is no size"),
        (block(|one| one.size = Some("large".to_owned())), "the size:"),
        // A hundredth of 0.1 in is 0.001.
        (
            block(|one| one.uncertainty = Some("0.00101".to_owned())),
            "more than a hundredth of the size",
        ),
        (block(|one| one.uncertainty = Some("-0.000001".to_owned())), "less than zero"),
        (block(|one| one.due = Some("1.3.2027".to_owned())), "is no day"),
        (block(|one| one.due = Some("2027-02-30".to_owned())), "is no day"),
        (block(|one| one.name = " ".to_owned()), "is no name"),
        (
            block(|one| {
                (one.dated, one.due) =
                    (Some("2027-03-02".to_owned()), Some("2027-03-01".to_owned()));
            }),
            "lies before the date of its certificate",
        ),
        (asked(Equipment::Gauge, "plat"), "there is no gauge \"plat\" on this bench"),
    ] {
        let mut kit = kit();
        let before = kit.rows.len();
        let refused = register(&mut kit, asked).unwrap_err();
        assert!(refused.text.contains(said), "{said}: {refused:?}");
        assert!(refused.hint.is_some_and(|hint| !hint.is_empty()), "{said}");
        assert_eq!(kit.rows.len(), before);
    }
    // At the limits themselves it is taken.
    let mut kit = kit();
    register(&mut kit, block(|one| one.uncertainty = Some("0.001".to_owned()))).unwrap();
    let one_day = block(|one| {
        (one.dated, one.due) = (Some("2027-03-01".to_owned()), Some("2027-03-01".to_owned()));
    });
    let entry = register(&mut kit, one_day).unwrap();
    // The last day counts to its end.
    assert_eq!(entry.due, Some(Wall::parse("2027-03-02").unwrap()));
}

#[test]
fn a_name_is_of_one_kind_until_it_is_put_out_of_use() {
    let mut kit = kit();
    register(&mut kit, block("0.1")).unwrap();
    let refused = register(&mut kit, asked(Equipment::Bar, "b1")).unwrap_err();
    assert_eq!(refused.text, "b1 is registered as a block already");
    let retire = |kit: &mut Kit, why: &str| {
        kit.ask(Command::Retire { name: "b1".to_owned(), why: why.to_owned() })
    };
    assert!(retire(&mut kit, "  ").unwrap_err().text.contains("the reason is empty"));
    retire(&mut kit, "dropped").unwrap();
    assert!(kit.bench.shop.registered("b1").is_none());
    assert!(retire(&mut kit, "dropped").is_err(), "it is out of use");
    // What stands under the name now is a new piece, without the size of the old one.
    let bar = register(&mut kit, asked(Equipment::Bar, "b1")).unwrap();
    assert_eq!((bar.size, &bar.retired), (None, &None));
}

#[test]
fn an_entry_of_the_gauge_that_is_proved_ends_its_proof() {
    for (number, ends) in [("A-1", true), ("", false)] {
        let mut kit = kit();
        let gauge = "plate".to_owned();
        kit.ask(Command::Prove { gauge, step: None, blocks: None, step_only: false }).unwrap();
        kit.press("0.00001");
        let serial = Some(number.to_owned());
        register(&mut kit, RegisterAsked { serial, ..asked(Equipment::Gauge, "plate") }).unwrap();
        let proving = kit.bench.stations[&name("bench")].proving.is_some();
        assert_eq!(proving, !ends, "{number:?}");
    }
}

fn length(planned: Option<&str>) -> Check {
    Check {
        measures: Size::default().into(),
        positions: 4,
        limits: Some(Limits::Band { min: inch("1.4999"), max: inch("1.5001") }),
        master: MasterUse::Both,
        master_size: planned.map(inch),
        master_name: Some(name("ring-1500")),
        ..face("face")
    }
}

/// The master that an attempt at a length stands on, with this entry in the register.
fn pinned(planned: Option<&str>, size: Option<&str>) -> Result<Option<PinnedMaster>, Refusal> {
    let mut kit = Kit::new(vec![length(planned)]);
    if let Some(size) = size {
        let size = Some(size.to_owned()).filter(|size| !size.is_empty());
        let asked = RegisterAsked { size, ..asked(Equipment::Master, "ring-1500") };
        register(&mut kit, asked).unwrap();
    }
    kit.measure("ring/face")?;
    let job = kit.job();
    let attempt = job.attempts.values().next().unwrap();
    Ok(attempt.began.pin.master.clone())
}

#[test]
fn a_check_stands_on_the_size_in_the_register_where_it_is_the_same_master() {
    let size = |found: Result<Option<PinnedMaster>, Refusal>| found.unwrap().map(|one| one.size);
    assert_eq!(size(pinned(None, Some("1.500012"))), Some(inch("1.500012")));
    assert_eq!(size(pinned(Some("1.5"), Some("1.500012"))), Some(inch("1.500012")));
    // A gauge block may be the master.
    let mut kit = Kit::new(vec![length(None)]);
    let block = RegisterAsked { name: "ring-1500".to_owned(), ..block("1.5") };
    register(&mut kit, block).unwrap();
    kit.measure("ring/face").unwrap();
    let pin = Arc::clone(&kit.job().attempts.values().next().unwrap().began.pin);
    assert_eq!(pin.master.as_ref().map(|one| one.size), Some(inch("1.5")));
    // What the register does not know, the plan says.
    assert_eq!(size(pinned(Some("1.5"), None)), None);
    assert_eq!(size(pinned(Some("1.5"), Some(""))), None);
    // A thousandth of the size apart is another master.
    assert_eq!(size(pinned(Some("1.5015"), Some("1.5"))), Some(inch("1.5")));
    let another = pinned(Some("1.50151"), Some("1.5")).unwrap_err();
    assert!(another.text.contains("the plan means a master of 1.50151 in"), "{another:?}");
    let refused = pinned(None, None).unwrap_err();
    assert_eq!(refused.text, "master ring-1500 is not in the register");
    let refused = pinned(None, Some("")).unwrap_err();
    assert_eq!(refused.text, "the register has no size of master ring-1500");
}
