//! The blocks of a proof, and the register they and the gauges stand in.

use super::{LIFTS, all, ask, press_all, prove};
use crate::event::Command;
use crate::fact::row::{Body, Equipment, Registered, Unproven};
use crate::plan::Measures;
use crate::reply::{ProvingNow, Refusal};
use crate::state::ProofTouch::{Back, High, Lift};
use crate::state::row::Row;
use crate::tests::kit::{Kit, face, inch, name};
use crate::words::proof as said;
use judgement::{Known, Reason};
use quantity::{Length, Quoted, Stamp, Unit, Wall};

/// A piece as it is written down, in use and with nothing more than its name.
fn entry(what: Equipment, of: &str) -> Registered {
    Registered {
        what,
        name: name(of),
        serial: None,
        certificate: None,
        dated: None,
        due: None,
        size: None,
        runout: None,
        uncertainty: None,
        retired: None,
    }
}

fn block(of: &str, size: &str) -> Registered {
    let size = Some(Quoted::parse(size, Unit::Inch).unwrap());
    Registered { size, uncertainty: Some(micrometres(30)), ..entry(Equipment::Block, of) }
}

/// Hundredths of a micrometre.
const fn micrometres(hundredths: i64) -> Length {
    Length::from_picometres(hundredths * 10_000)
}

fn register(kit: &mut Kit, entry: Registered) {
    kit.clock_us += 1_000_000;
    let wall = Wall::from_micros(i64::try_from(kit.clock_us).unwrap());
    let at = Stamp { wall, mono_us: kit.clock_us };
    let body = Body::Registered(entry.into());
    let row = Row { seq: kit.bench.last.next(), at, by: None, body, restored: None };
    kit.bench.apply(&row);
    kit.rows.push(row);
}

fn with(entries: impl IntoIterator<Item = Registered>) -> Kit {
    let mut kit = Kit::new(vec![face("face")]);
    for entry in entries {
        register(&mut kit, entry);
    }
    kit
}

fn between(kit: &mut Kit, low: &str, high: &str) -> Result<ProvingNow, Refusal> {
    let blocks = Some((low.to_owned(), high.to_owned()));
    let gauge = "plate".to_owned();
    ask(kit, Command::Prove { gauge, step: None, blocks, step_only: false })
}

#[test]
fn two_registered_blocks_give_the_step_and_its_uncertainty() {
    let mut kit = with([block("b100", "0.1000"), block("b102", "0.1020")]);
    let now = between(&mut kit, "b100", "b102").unwrap();
    let blocks = now.proving.unwrap().began.blocks.clone();
    assert_eq!((blocks.step, blocks.known), (inch("0.002"), Known::Stated));
    // √(0.30² + 0.30²) = 0.42426 µm.
    assert!((blocks.u.picometres() - 424_264).abs() <= 1, "{:?}", blocks.u);
    press_all(&mut kit, &all(LIFTS, 201, 1));
    let proved = super::newest(&kit);
    assert!(proved.is_good(), "{}", said::came_to(&proved));
    assert_eq!(proved.off_by(), Some(inch("0.000001")));
    assert_eq!(proved.blocks.low, Some(name("b100")));
}

#[test]
fn the_touches_are_asked_for_by_the_names_of_the_blocks() {
    let mut kit = with([block("b100", "0.1000"), block("b102", "0.1020")]);
    let began = between(&mut kit, "b100", "b102").unwrap().proving.unwrap().began.clone();
    let next = |touch| said::next(touch, &began);
    assert!(next(Lift(3)).starts_with("Lift 4 of 10: lift"), "{}", next(Lift(3)));
    assert!(next(Lift(0)).ends_with("of the low block (b100)."), "{}", next(Lift(0)));
    assert_eq!(next(High), "Now the high block (b102), 0.002 in higher.");
    assert_eq!(next(Back), "Back on the low block (b100).");
    let alone = crate::fact::row::ProofBegan { lifts: 1, ..(*began).clone() };
    assert_eq!(said::next(Lift(0), &alone), "Touch the low block (b100).");
}

#[test]
fn a_block_whose_size_nobody_doubted_is_assumed_to_be_of_the_usual_kind() {
    let unsure = Registered { uncertainty: None, ..block("b102", "0.1020") };
    let mut kit = with([block("b100", "0.1000"), unsure]);
    let blocks = between(&mut kit, "b100", "b102").unwrap().proving.unwrap().began.blocks.clone();
    assert_eq!(blocks.known, Known::Assumed, "one assumption makes the step an assumed one");
    // √(0.30² + 0.20²/3) = 0.3215 µm.
    assert!((blocks.u.picometres() - 321_455).abs() < 20, "{:?}", blocks.u);
}

#[test]
fn what_is_no_pair_of_blocks_is_refused_with_what_to_do() {
    let due = |at: i64| Registered { due: Some(Wall::from_micros(at)), ..block("old", "0.1010") };
    let refused = |entries: Vec<Registered>, (low, high), told: &str| {
        let mut kit = with(entries);
        let before = kit.rows.len();
        let refused = between(&mut kit, low, high).unwrap_err();
        assert_eq!((refused.text.as_str(), refused.exit), (told, 2));
        assert!(refused.hint.is_some_and(|hint| !hint.is_empty()));
        assert_eq!(kit.rows.len(), before);
    };
    let b100 = || block("b100", "0.1000");
    let pair = ("b100", "old");
    refused(vec![b100()], pair, "there is no block \"old\" in the register");
    let retired = Registered { retired: Some("chipped".to_owned()), ..block("old", "0.1010") };
    refused(vec![b100(), retired], pair, "there is no block \"old\" in the register");
    let unsized_ = Registered { size: None, ..block("old", "0.1010") };
    let text = "old is registered without a size, as a block";
    refused(vec![b100(), unsized_], pair, text);
    let bar = Registered { what: Equipment::Bar, ..block("old", "0.1010") };
    refused(vec![b100(), bar], pair, "old is registered without a size, as a bar");
    // The kit's clock stands at some seconds.
    refused(vec![b100(), due(2_000_000)], pair, "old is past the date of its certificate");
    refused(vec![b100(), block("old", "0.0990")], pair, "old is not higher than b100");
    refused(vec![b100()], ("b100", "b100"), "b100 is not higher than b100");
    let mut kit = with([b100(), due(3_600_000_000)]);
    assert!(between(&mut kit, "b100", "old").is_ok(), "within its date");
    let master = Registered { what: Equipment::Master, ..block("ring", "0.1010") };
    assert!(between(&mut with([b100(), master]), "b100", "ring").is_ok(), "a master has a size");
}

#[test]
fn the_newest_entry_of_a_name_counts_and_one_that_is_back_in_use_is_found() {
    let first = block("b101", "0.1010");
    let mut kit = with([block("b100", "0.1000"), first.clone()]);
    register(&mut kit, Registered { retired: Some("lost".to_owned()), ..first.clone() });
    assert!(between(&mut kit, "b100", "b101").is_err());
    register(&mut kit, block("b101", "0.1011"));
    let blocks = between(&mut kit, "b100", "b101").unwrap().proving.unwrap().began.blocks.clone();
    assert_eq!(blocks.step, inch("0.0011"));
}

#[test]
fn the_register_says_which_instrument_the_gauge_is() {
    let of = |serial: &str| {
        let serial = Some(serial.to_owned());
        Registered { serial, ..entry(Equipment::Gauge, "plate") }
    };
    let mut kit = with([of("A1")]);
    let proved = prove(&mut kit, &all(LIFTS, 101, 1));
    assert_eq!(proved.serial(), Some("A1"));
    let unproven = |kit: &Kit| {
        let now = Wall::from_micros(i64::try_from(kit.clock_us).unwrap());
        kit.bench.shop.unproven(&kit.setup.gauges[&name("plate")], now, Some(30))
    };
    assert_eq!(unproven(&kit), None);
    // Another instrument has to be proved of itself, and its history begins anew.
    register(&mut kit, of("B2"));
    assert_eq!(unproven(&kit), Some(Unproven::Never));
    assert_eq!(kit.bench.shop.history(&name("plate"), Some("B2")).len(), 0);
    prove(&mut kit, &all(LIFTS, 101, 1));
    assert_eq!(unproven(&kit), None);
    // The first one comes back: what it did before it left says nothing of today.
    register(&mut kit, of("A1"));
    assert_eq!(unproven(&kit), Some(Unproven::Never));
    assert_eq!(kit.bench.shop.proofs(&name("plate")).len(), 2, "nothing is forgotten");
    kit.setup.gauges.get_mut(&name("plate")).unwrap().serial = Some("B2".to_owned());
    assert_eq!(unproven(&kit), Some(Unproven::OtherSerial));
    // An entry of another kind with the gauge's name is not the gauge's.
    register(&mut kit, Registered { what: Equipment::Bar, ..of("C3") });
    assert_eq!(unproven(&kit), None, "only bench.toml names a number: that of the newest proof");
}

#[test]
fn the_certificate_in_the_register_counts_for_a_check() {
    let due = |at: i64| Registered {
        due: Some(Wall::from_micros(at)),
        ..entry(Equipment::Gauge, "plate")
    };
    let overdue = |entry: Registered| {
        let mut kit = with([entry]);
        kit.measure("ring/face").unwrap();
        for _ in 0..8 {
            kit.press("0.00001");
        }
        let reasons = kit.verdict().reasons.clone();
        reasons.contains(&Reason::Overdue)
    };
    assert!(overdue(due(2_000_000)));
    assert!(!overdue(due(3_600_000_000)));
}

#[test]
fn what_has_no_gauge_is_no_matter_of_a_proof() {
    let mut question = face("mark");
    (question.gauge, question.positions, question.limits) = (None, 0, None);
    question.radii = Vec::new();
    question.measures = Measures::from(crate::plan::Ask {
        question: "Which mark is up?".to_owned(),
        answers: vec!["V".to_owned(), "dot".to_owned()],
        good: vec!["V".to_owned()],
    });
    let mut kit = Kit::new(vec![question]);
    kit.setup.withholds_unproven = true;
    let answer = Command::Confirm { target: "ring/mark".to_owned(), answer: "V".to_owned() };
    kit.ask(answer).unwrap();
    let verdict = kit.verdict();
    assert_eq!((verdict.word, verdict.reasons.as_slice()), (judgement::Word::Conforms, &[][..]));
    assert!(verdict.advice.iter().all(|said| !said.contains("prove")), "{:?}", verdict.advice);
}

/// The gauge of the kit is this instrument.
pub(super) fn register_gauge(kit: &mut Kit, serial: &str) {
    let serial = Some(serial.to_owned());
    register(kit, Registered { serial, ..entry(Equipment::Gauge, "plate") });
}
