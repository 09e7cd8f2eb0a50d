//! A gauge is proved at the bench: its touches, what becomes of them, what a proof comes to, and what
//! happens beside it. Readings are invented; expected figures are worked out by hand beside them.

mod beside;
mod blocks;
mod charts;
mod days;
mod unproven;

use std::sync::Arc;

use crate::event::{Command, Event};
use crate::fact::row::{AlertKind, Body, ProofEnding, ProofShows, Proved, State};
use crate::fact::seq::Seq;
use crate::reply::{Done, ProvingNow, Refusal};
use crate::state::{ProofTouch, Proving};
use crate::tests::kit::{Kit, face, name};
use crate::words::proof as said;
use judgement::Fault;
use quantity::{Figure, Length, Name, Unit};

/// Ten lifts in counts of 0.00001 in: mean 0.8 counts, s = √(3.6/9) = 0.632 counts.
const LIFTS: [i64; 10] = [1, 0, 1, 2, 1, 0, 1, 1, 0, 1];

/// So many millionths of an inch.
fn micro(inches: i64) -> Figure {
    Figure::from(Length::from_picometres(25_400 * inches))
}

/// A reading of so many counts of 0.00001 in.
fn counts(count: i64) -> String {
    format!("{}0.{:05}", if count < 0 { "-" } else { "" }, count.abs())
}

/// All touches of a proof.
fn all(lifts: [i64; 10], high: i64, back: i64) -> Vec<String> {
    lifts.into_iter().chain([high, back]).map(counts).collect()
}

fn command(step: Option<&str>) -> Command {
    let gauge = "plate".to_owned();
    Command::Prove { gauge, step: step.map(str::to_owned), blocks: None, step_only: false }
}

/// A request about a proof, where it stands after it.
fn ask(kit: &mut Kit, command: Command) -> Result<ProvingNow, Refusal> {
    kit.ask(command).map(standing)
}

/// Where a proof stands after a request.
fn standing(done: Done) -> ProvingNow {
    if let Done::Proving(now) = done { *now } else { panic!("{done:?}") }
}

fn begin(kit: &mut Kit) -> ProvingNow {
    ask(kit, command(None)).unwrap()
}

fn press_all(kit: &mut Kit, readings: &[String]) {
    for reading in readings {
        kit.press(reading);
    }
}

/// Proves the gauge by its own line; what the proof came to.
fn prove(kit: &mut Kit, readings: &[String]) -> Arc<Proved> {
    begin(kit);
    press_all(kit, readings);
    newest(kit)
}

fn give_up(kit: &mut Kit, why: Option<&str>) -> ProvingNow {
    let gauge = "plate".to_owned();
    ask(kit, Command::ProveStop { gauge, why: why.map(str::to_owned) }).unwrap()
}

fn void(kit: &mut Kit, id: Option<Seq>) -> Result<ProvingNow, Refusal> {
    ask(kit, Command::Void { id, why: Some("slipped".to_owned()) })
}

fn enter(kit: &mut Kit, values: &[&str]) -> Result<ProvingNow, Refusal> {
    let values = values.iter().map(|value| (*value).to_owned()).collect();
    ask(kit, Command::Enter { values, graduation: None })
}

/// The proof under way at the first station.
fn proving(kit: &Kit) -> Option<Arc<Proving>> {
    kit.bench.stations[&name("bench")].proving.clone()
}

/// The proof that is over.
fn newest(kit: &Kit) -> Arc<Proved> {
    Arc::clone(&kit.bench.shop.proofs(&name("plate")).last().unwrap().proved)
}

/// The readings of a gauge with what each counts as and its place.
fn kept(kit: &Kit, gauge: &Name) -> Vec<(Option<Seq>, State, Option<u32>)> {
    let its = kit.readings().into_iter().filter(|(_, reading)| reading.gauge == *gauge);
    its.map(|(_, reading)| (reading.attempt, reading.state, reading.position)).collect()
}

#[test]
fn the_touches_are_asked_for_one_after_the_other_and_none_goes_to_the_check() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    kit.press("0.00100");
    let (check, before) = (kit.job().attempts.clone(), kit.readings().len());
    let begun = begin(&mut kit);
    assert_eq!(begun.waits.as_deref(), Some("ring/face"), "what waits for the end of the proof");
    let mut asked = Vec::new();
    for reading in all(LIFTS, 101, 1) {
        asked.push(proving(&kit).unwrap().next());
        kit.press(&reading);
        assert_eq!(kit.job().attempts, check, "the check stands as it stood");
    }
    let lifts = (0..10).map(ProofTouch::Lift);
    assert_eq!(asked, lifts.chain([ProofTouch::High, ProofTouch::Back]).collect::<Vec<_>>());
    assert_eq!(proving(&kit), None, "it is over with its last touch");
    let readings = kit.readings();
    for (position, (_, reading)) in (0..).zip(&readings[before..]) {
        assert_eq!((reading.job, reading.attempt), (None, None), "of no job");
        assert_eq!((reading.state, reading.position), (State::Placed, Some(position)));
    }
    let proved = newest(&kit);
    let of: Vec<Seq> = readings[before..].iter().map(|(id, _)| *id).collect();
    assert_eq!((&proved.readings, proved.ending), (&of, ProofEnding::Complete));
    // The ring goes on at the position that it waited for.
    kit.press("0.00101");
    let placed = kept(&kit, &name("plate"));
    let (attempt, state, position) = placed[placed.len() - 1];
    assert!(attempt.is_some());
    assert_eq!((state, position), (State::Placed, Some(1)));
}

#[test]
fn what_ten_lifts_and_a_step_show_is_kept_with_the_proof() {
    let mut kit = Kit::new(vec![face("face")]);
    let proved = prove(&mut kit, &all(LIFTS, 101, 1));
    let shows = proved.shows.as_ref().unwrap();
    assert!(proved.is_good(), "{shows:?}");
    // s = 0.632456 counts of 254 000 pm; the step 1010 − (8 + 10)/2 = 1001 µin.
    assert_eq!((shows.s.unwrap().picometres(), shows.df), (160_644, Some(9)));
    assert_eq!((shows.step, shows.came_back), (micro(1001), micro(2)));
    assert_eq!(Figure::from(proved.off_by().unwrap()), micro(1));
    // Two blocks within ± 0.2 µm each (even over the width): 0.2·√(2/3) = 0.1633 µm.
    assert!((proved.blocks.u.picometres() - 163_300).abs() < 100, "{:?}", proved.blocks.u);
    // By hand, in µm²: 0.160644²·(5/4 + 1/40) + 0.02667 = 0.05957; √ = 0.2441; k = 2.
    let u = shows.uncertainty.picometres();
    assert!((488_000..520_000).contains(&u), "2·0.244 µm, or Student's t at 29 degrees: {u}");
    let told = said::came_to(&proved);
    assert!(
        told.starts_with("plate is PROVEN. One lift repeats to 0.000006 in (10 lifts, 9 degrees"),
        "{told}"
    );
    assert!(kit.alerts(AlertKind::NotProven).is_empty());
}

/// What a proof with these touches finds, and what is said of it.
fn found(lifts: [i64; 10], high: i64, back: i64) -> (Vec<Fault>, String) {
    let mut kit = Kit::new(vec![face("face")]);
    let proved = prove(&mut kit, &all(lifts, high, back));
    let told = said::came_to(&proved);
    let alert = kit.alerts(AlertKind::NotProven);
    assert_eq!(alert, std::slice::from_ref(&told), "whoever stands at the gauge hears the same");
    // A good proof ends the alert; one that is given up does not.
    begin(&mut kit);
    give_up(&mut kit, None);
    assert_eq!(kit.alerts(AlertKind::NotProven).len(), 1);
    prove(&mut kit, &all(LIFTS, 101, 1));
    assert!(kit.alerts(AlertKind::NotProven).is_empty());
    (proved.shows.as_ref().unwrap().faults.clone(), told)
}

#[test]
fn each_fault_says_what_was_read_and_what_to_do() {
    use Fault::{
        Leans, Moved, Places, Scale, Scatters, Short, Sign, StandsOff, StepTooSmall, Still,
    };
    let told = |fault: Fault, (lifts, high, back), parts: &[&str]| {
        let (faults, told) = found(lifts, high, back);
        assert_eq!(faults, [fault], "{told}");
        for part in parts {
            assert!(told.contains(part), "{part:?} is not in: {told}");
        }
    };
    let step = |high: i64| (LIFTS, high, 1);
    told(Sign, step(-99), &["NOT PROVEN", "SIGN is wrong", "grows where the plunger goes in"]);
    // 25410 − 9 = 25401 µin: the gauge counts millimetres, and they are taken for inches.
    told(Fault::Unit, step(2541), &["0.025401", "counts in millimetres", "unit = \"mm\""]);
    // 50 − 9 = 41 µin, near 1000/25.4 = 39.4.
    told(Fault::Unit, step(5), &["0.000041", "counts in inches", "unit = \"in\""]);
    told(Places, step(1001), &["0.010001 in", "10 times as much", "decimal point"]);
    told(Places, step(201), &["0.002001 in", "2.001 times", "resolution and scale"]);
    // arccos(1/1.041) = 16.1 degrees.
    told(Leans, step(105), &["4.1 % too much", "lever_angle = 16"]);
    told(Short, step(96), &["4.9 % too little", "Wipe and wring"]);
    told(Scale, step(151), &["0.001501 in", "1.501 times", "Are these the blocks?"]);
    told(Still, step(1), &["does not follow", "not on hold"]);
    // 70 − 8 = 62 µin beside a step of 1030 − 39 = 991 that is right.
    told(Moved, (LIFTS, 103, 7), &["0.000062 in different", "moved, or warms"]);
    let chip = [1, 0, 1, 2, 30, 0, 1, 1, 0, 1];
    let (faults, text) = found(chip, 101, 1);
    assert_eq!(faults[0], StandsOff);
    // 30 counts beside a mean of 7/9 of the nine others: 29.2.
    assert!(text.contains("Lift 5 stands 0.000292 in off the others"), "{text}");
    // Squares 9·4 counts + 0 over 9: s = 2 counts = 20 µin, where 6 and a step of 10 are stated.
    let loose = [2, -2, 2, -2, 2, -2, 2, -2, 2, -2];
    let (faults, text) = found(loose, 100, 0);
    assert_eq!(faults, [Scatters], "{text}");
    assert!(text.contains("bench.toml states 0.000006"), "{text}");
    assert!(text.contains("repeatability = \"0.000022 in\""), "√(40/9) = 2.108 counts: {text}");
    let wild = [20, -20, 10, -10, 0, 0, 20, -20, 10, -10];
    let (faults, text) = found(wild, 100, 0);
    assert!(faults.contains(&StepTooSmall), "{faults:?}");
    assert!(text.contains("is too small for its scatter"), "{text}");
}

/// The last figure before a word, in inches.
fn figure_before(told: &str, word: &str) -> Length {
    let before = told.split(word).next().unwrap().trim_end();
    let last = before.rsplit(|one: char| !one.is_ascii_digit() && one != '.').next().unwrap();
    Length::parse(last, Unit::Inch).unwrap_or_else(|error| panic!("{error}: {told}"))
}

#[test]
fn the_blocks_that_a_small_step_asks_for_are_enough_whatever_the_scatter() {
    let mut asked_for = 0;
    for wild in 3..24 {
        let mut kit = Kit::new(vec![face("face")]);
        kit.setup.gauges.entry(name("plate")).and_modify(|plate| {
            (plate.uncertainty, plate.repeatability) = (None, None);
        });
        let lifts = [wild, -wild, 4, -4, 0, 1, wild, -wild, 4, -5];
        let small = prove(&mut kit, &all(lifts, 100, 0));
        if small.shows.as_ref().unwrap().faults != [Fault::StepTooSmall] {
            continue;
        }
        asked_for += 1;
        let told = said::came_to(&small);
        let needed = figure_before(&told, " in\".");
        assert!(told.contains("--step \""), "{told}");
        ask(&mut kit, command(Some(&::words::size(needed, Unit::Inch)))).unwrap();
        press_all(&mut kit, &all(lifts, needed.picometres() / 254_000, 0));
        let faults = newest(&kit).shows.as_ref().unwrap().faults.clone();
        assert!(!faults.contains(&Fault::StepTooSmall), "{told} {faults:?}");
    }
    assert!(asked_for > 10, "{asked_for}");
}

#[test]
fn what_is_told_of_a_block_that_did_not_come_back_is_more_than_what_may_be() {
    let mut moved = 0;
    for back in 0..9 {
        for wild in 0..6 {
            let mut kit = Kit::new(vec![face("face")]);
            let lifts = [wild, 0, 1, wild, 1, 0, 1, 0, 0, 1];
            let proved = prove(&mut kit, &all(lifts, 100 + back / 2, back));
            let told = said::came_to(&proved);
            let shows = proved.shows.as_ref().unwrap();
            if shows.faults.contains(&Fault::Moved) {
                moved += 1;
                let off = figure_before(&told, " in different");
                let may = figure_before(&told, " is all that its scatter");
                assert!(off > may, "{told}");
            }
            if let Some(s) = shows.s.filter(|_| proved.is_good()) {
                // 4·2·√2·s, not rounded down: it is what the gauge is good for.
                let good = figure_before(&told, " and more");
                let least = 128 * i128::from(s.picometres()).pow(2);
                assert!(i128::from(good.picometres()).pow(2) >= least, "{told}");
            }
        }
    }
    assert!(moved > 5, "{moved}");
    // Where both would be 0.000028 at a millionth of an inch, one more digit tells them apart.
    let mut kit = Kit::new(vec![face("face")]);
    let proved = prove(&mut kit, &all(LIFTS, 103, 7));
    let may_be_off = Length::from_picometres(25_400 * 277 / 10);
    let shows = ProofShows { came_back: micro(28), may_be_off, ..proved.shows.clone().unwrap() };
    let told = said::fault(Fault::Moved, (&proved, &shows));
    let off = figure_before(&told, " in different");
    assert!(off > figure_before(&told, " is all that its scatter"), "{told}");
}

#[test]
fn a_touch_that_is_taken_back_is_asked_for_again_and_never_judged() {
    let mut kit = Kit::new(vec![face("face")]);
    begin(&mut kit);
    let nothing = void(&mut kit, None).unwrap_err();
    assert!(nothing.text.contains("no touch of this proof to take back at bench"), "{nothing:?}");
    press_all(&mut kit, &all([1, 0, 1, 90, 1, 0, 1, 1, 0, 1], 101, 1)[..5]);
    let wild = proving(&kit).unwrap().touches[3].id;
    let now = void(&mut kit, Some(wild)).unwrap().proving.unwrap();
    assert_eq!((now.touches.len(), now.voided, now.next()), (4, 1, ProofTouch::Lift(4)));
    let again = void(&mut kit, Some(wild)).unwrap_err();
    assert!(again.text.contains("no touch of this proof"), "it is taken back already");
    // The newest one where none is named.
    kit.press("0.00080");
    void(&mut kit, None).unwrap();
    press_all(&mut kit, &all([2, 0, 1, 1, 0, 1, 0, 0, 0, 0], 101, 1)[..6]);
    press_all(&mut kit, &["0.00101".to_owned(), "0.00001".to_owned()]);
    let proved = newest(&kit);
    let lifts: Vec<i64> = proved.lifts.iter().map(|lift| lift.picometres() / 254_000).collect();
    assert_eq!(lifts, [1, 0, 1, 1, 2, 0, 1, 1, 0, 1], "in the order of the touches");
    assert!(proved.is_good() && !proved.readings.contains(&wild));
    let marked: Vec<(Seq, &State, &str)> = kit
        .rows
        .iter()
        .filter_map(|row| {
            let Body::Marked { reading, attempt: None, state, why } = &row.body else {
                return None;
            };
            Some((*reading, state, why.as_str()))
        })
        .collect();
    assert_eq!(marked.len(), 2);
    assert_eq!(marked[0], (wild, &State::Void, "slipped"));
}

#[test]
fn a_touch_of_a_check_is_not_taken_back_by_a_proof() {
    let mut kit = Kit::new(vec![face("face")]);
    kit.measure("ring/face").unwrap();
    kit.press("0.00100");
    let of_the_ring = kit.readings()[0].0;
    begin(&mut kit);
    kit.press("0.00001");
    assert!(void(&mut kit, Some(of_the_ring)).is_err());
    let lift = proving(&kit).unwrap().touches[0].id;
    give_up(&mut kit, None);
    // And the other way: a lift is no touch of the ring.
    let refused = kit.ask(Command::Void { id: Some(lift), why: None }).unwrap_err();
    assert_eq!(refused.exit, 2, "{refused:?}");
    assert_eq!(kit.job().attempts.values().next().unwrap().taken(), 1);
}

#[test]
fn a_proof_that_is_given_up_is_kept_and_leaves_what_was_known() {
    let mut kit = Kit::new(vec![face("face")]);
    let good = prove(&mut kit, &all(LIFTS, 101, 1));
    begin(&mut kit);
    press_all(&mut kit, &all(LIFTS, 101, 1)[..3]);
    let now = give_up(&mut kit, Some("phone"));
    assert_eq!(now.proving, None);
    let over = now.over.unwrap();
    assert_eq!((over.ending, over.why.as_deref()), (ProofEnding::GivenUp, Some("phone")));
    assert_eq!((over.readings.len(), &over.shows), (3, &None));
    assert_eq!(
        said::came_to(&over),
        "The proof of plate was given up (phone). Its touches are kept."
    );
    assert!(!over.is_good());
    let shop = &kit.bench.shop;
    let wall = quantity::Wall::from_micros(i64::try_from(kit.clock_us).unwrap());
    assert_eq!(shop.unproven(&good.gauge, wall, Some(30)), None, "the one before counts");
    let refused = ask(&mut kit, Command::ProveStop { gauge: "plate".to_owned(), why: None });
    assert_eq!(refused.unwrap_err().text, "plate is not being proved");
}

#[test]
fn keyed_lifts_are_taken_all_or_none() {
    let mut kit = Kit::new(vec![face("face")]);
    let mut all_of_them: Vec<String> = all(LIFTS, 101, 1);
    let texts = |all: &[String]| all.to_vec();
    begin(&mut kit);
    let refuse = |kit: &mut Kit, values: &[&str], said: &str| {
        let before = kit.rows.len();
        let refused = enter(kit, values).unwrap_err();
        assert!(refused.text.contains(said), "{refused:?}");
        assert!(refused.text.ends_with("nothing was entered"), "{refused:?}");
        assert_eq!((kit.rows.len(), proving(kit).unwrap().touches.len()), (before, 0));
    };
    refuse(&mut kit, &["0.00001", "0.000001"], "finer than plate shows");
    refuse(&mut kit, &["0.00001", "0.01 mm"], "0.01 mm is in mm, and plate is read in in");
    refuse(&mut kit, &["0.00001", "much"], "much");
    all_of_them.push("0.00001".to_owned());
    let thirteen = texts(&all_of_them);
    let thirteen: Vec<&str> = thirteen.iter().map(String::as_str).collect();
    refuse(&mut kit, &thirteen, "one value too many for this proof");
    let now = enter(&mut kit, &thirteen[..12]).unwrap();
    assert_eq!(now.readings.len(), 12);
    assert!(now.over.unwrap().is_good());
    assert!(kit.readings().iter().all(|(_, reading)| reading.keyed().is_some()));
}

#[test]
fn the_step_alone_is_a_touch_of_each_block_and_says_nothing_of_the_scatter() {
    let mut kit = Kit::new(vec![face("face")]);
    let gauge = "plate".to_owned();
    let step = Some("0.002".to_owned());
    ask(&mut kit, Command::Prove { gauge, step, blocks: None, step_only: true }).unwrap();
    press_all(&mut kit, &["0.00001", "0.00201", "0.00001"].map(str::to_owned));
    let proved = newest(&kit);
    assert!(proved.is_good(), "{proved:?}");
    let shows = proved.shows.as_ref().unwrap();
    assert_eq!((shows.s, shows.df, shows.stands_off), (None, None, None));
    assert_eq!((shows.step, proved.lifts.len()), (micro(2000), 0));
    let told = said::came_to(&proved);
    assert!(told.starts_with("plate is PROVEN. The step of 0.002 in reads 0.002"), "{told}");
    assert!(!told.contains("repeats"), "{told}");
}

#[test]
fn a_set_up_that_changes_ends_the_proof_and_another_gauges_does_not() {
    let restart = |change: fn(&mut Kit)| {
        let mut kit = Kit::new(vec![face("face")]);
        begin(&mut kit);
        press_all(&mut kit, &all(LIFTS, 101, 1)[..4]);
        change(&mut kit);
        kit.event(&Event::Started { boot: 2 });
        kit
    };
    let same = restart(|_| ());
    assert_eq!(proving(&same).unwrap().touches.len(), 4, "a restart changes nothing");
    let other = restart(|kit| {
        let height = kit.setup.gauges.get_mut(&name("height")).unwrap();
        height.lever_mdeg = 12_000;
    });
    assert!(proving(&other).is_some());
    let changes: [fn(&mut Kit); 3] = [
        |kit| kit.setup.gauges.get_mut(&name("plate")).unwrap().lever_mdeg = 12_000,
        |kit| kit.setup.gauges.get_mut(&name("plate")).unwrap().repeatability = None,
        |kit| {
            kit.setup.gauges.remove(&name("plate"));
        },
    ];
    for change in changes {
        let mut kit = restart(change);
        assert_eq!(proving(&kit), None);
        let proved = newest(&kit);
        assert_eq!((proved.ending, proved.readings.len()), (ProofEnding::SetupChanged, 4));
        let told = said::came_to(&proved);
        assert!(told.contains("ended before its last touch"), "{told}");
        assert!(told.ends_with("Begin again: tenths prove plate"), "{told}");
        // What comes after it is no lift.
        kit.press("0.00001");
        assert_eq!(kept(&kit, &name("plate")).last().unwrap().1, State::Unclaimed);
    }
}
