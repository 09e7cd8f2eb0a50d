//! Random days on which gauges are proved as well: whatever is asked and touched, in whatever order.

use std::collections::BTreeSet;

use proptest::prelude::*;

use super::{LIFTS, all};
use crate::event::{Command, Event, Frame, Request};
use crate::fact::row::{Body, ProofEnding, Proved, State};
use crate::fact::seq::Seq;
use crate::tests::days::{comes_back, command, is_a_sentence, two_rings};
use crate::tests::kit::{Kit, name};
use quantity::{Length, Quoted, Unit};

/// Something that happens.
#[derive(Debug, Clone)]
enum Happening {
    /// A gauge is pressed; counts of its last place, and whether the press bounced.
    Press(&'static str, i64, bool),
    /// Many touches with the plate gauge, as of a whole proof: the high and the last one.
    Touches(i64, i64),
    Ask(Command),
    /// The configuration is read again, with this angle of the lever of the plate gauge.
    Reload(u32),
}

fn gauge() -> impl Strategy<Value = String> {
    prop_oneof![8 => Just("plate"), 3 => Just("height"), 1 => Just("plat")].prop_map(str::to_owned)
}

fn of_a_proof() -> impl Strategy<Value = Command> {
    let step = prop_oneof![3 => Just(None), 1 => "0\\.00[0-9]|[a-z]{1,3}".prop_map(Some)];
    prop_oneof![
        4 => (gauge(), step, proptest::bool::weighted(0.3)).prop_map(|(gauge, step, step_only)| {
            Command::Prove { gauge, step, blocks: None, step_only }
        }),
        1 => (gauge(), proptest::option::of("[a-z]{1,4}"))
            .prop_map(|(gauge, why)| Command::ProveStop { gauge, why }),
        1 => (-9_i64..10).prop_map(|counts| Command::Take { frame: Some(frame("plate", counts, false)) }),
        2 => Just(Command::Void { id: None, why: None }),
    ]
}

fn happening() -> impl Strategy<Value = Happening> {
    let pressed = prop_oneof![4 => Just("plate"), 1 => Just("height")];
    prop_oneof![
        4 => (pressed, -9_i64..10, proptest::bool::weighted(0.1))
            .prop_map(|(gauge, counts, repeat)| Happening::Press(gauge, counts, repeat)),
        1 => (90_i64..112, 0_i64..4).prop_map(|(high, back)| Happening::Touches(high, back)),
        4 => of_a_proof().prop_map(Happening::Ask),
        2 => command().prop_map(Happening::Ask),
        1 => prop_oneof![Just(0_u32), Just(12_000)].prop_map(Happening::Reload),
    ]
}

fn frame(gauge: &str, counts: i64, repeat: bool) -> Frame {
    let text = super::counts(counts);
    let value = Quoted::parse(&text, Unit::Inch).unwrap();
    Frame { gauge: name(gauge), value, text, repeat, odd: None, low_battery: false }
}

fn events(happening: &Happening) -> Vec<Event> {
    match happening {
        Happening::Press(gauge, counts, repeat) => {
            vec![Event::Frame(frame(gauge, *counts, *repeat))]
        }
        Happening::Touches(high, back) => {
            let plate = |text: &String| {
                let value = Quoted::parse(text, Unit::Inch).unwrap();
                Event::Frame(Frame { value, text: text.clone(), ..frame("plate", 0, false) })
            };
            all(LIFTS, *high, *back).iter().map(plate).collect()
        }
        Happening::Ask(command) => {
            let command = command.clone();
            vec![Event::Request(Request { station: None, by: None, login: None, command })]
        }
        Happening::Reload(_) => vec![Event::Started { boot: 2 }],
    }
}

/// The proofs that are over, each with the number of the row that tells of it.
fn proofs(kit: &Kit) -> Vec<(Seq, &Proved)> {
    let rows = kit.rows.iter();
    rows.filter_map(|row| {
        let Body::Proved(proved) = &row.body else { return None };
        Some((row.seq, &**proved))
    })
    .collect()
}

/// The gauge that is being proved.
fn proved_now(kit: &Kit) -> Option<quantity::Name> {
    let station = kit.bench.stations.get(&name("bench"))?;
    Some(station.proving.as_ref()?.began.gauge.name.clone())
}

/// One event, and what must hold of it.
fn one(kit: &mut Kit, event: &Event) -> Result<(), TestCaseError> {
    let (proving, readings) = (proved_now(kit), kit.readings().len());
    let decision = kit.event(event);
    for row in &decision.rows {
        comes_back(row);
    }
    if let Some(Err(refusal)) = &decision.reply {
        is_a_sentence(refusal);
        prop_assert!(decision.rows.is_empty(), "refused, and yet stored: {refusal:?}");
    }
    let now = kit.readings();
    if let Event::Frame(frame) = event {
        prop_assert_eq!(now.len(), readings + 1, "a frame is never lost");
        let (id, reading) = &now[readings];
        if proving.as_ref() == Some(&frame.gauge) {
            prop_assert_eq!((reading.job, reading.attempt), (None, None));
        }
        let lifts = |station: &crate::state::Station| {
            station.proving.iter().any(|one| one.touches.iter().any(|lift| lift.id == *id))
        };
        let is_lift = kit.bench.stations.values().any(lifts);
        prop_assert!(!is_lift || proving == Some(frame.gauge.clone()));
    }
    if let Some(station) = kit.bench.stations.get(&name("bench"))
        && let Some(proving) = &station.proving
    {
        prop_assert!(proving.touches.len() < proving.began.touches() as usize, "it would be over");
    }
    Ok(())
}

/// What holds of the whole day.
fn in_the_end(kit: &Kit) -> Result<(), TestCaseError> {
    let readings = kit.readings();
    let value = |id: &Seq| readings.iter().find(|(other, _)| other == id).map(|(_, one)| one);
    let void: BTreeSet<Seq> = kit
        .rows
        .iter()
        .filter_map(|row| {
            let Body::Marked { reading, attempt: None, state: State::Void, .. } = &row.body else {
                return None;
            };
            Some(*reading)
        })
        .collect();
    let mut used = BTreeSet::new();
    for (id, proved) in proofs(kit) {
        prop_assert_eq!(proved.ending == ProofEnding::Complete, proved.shows.is_some());
        for reading in &proved.readings {
            prop_assert!(used.insert(*reading), "one reading in two proofs");
            prop_assert!(!void.contains(reading), "taken back, and yet it counts");
            let of = value(reading).unwrap();
            prop_assert!(*reading > proved.proof && *reading < id);
            prop_assert_eq!((&of.gauge, of.attempt), (proved.name(), None));
        }
        if proved.shows.is_some() {
            let lifts: Vec<Length> = proved
                .readings
                .iter()
                .filter_map(|id| Some(value(id)?.value.length))
                .take(proved.lifts.len())
                .collect();
            prop_assert_eq!(&lifts, &proved.lifts);
            prop_assert!([3, 12].contains(&proved.readings.len()));
        }
    }
    for job in kit.bench.jobs.values() {
        for attempt in job.attempts.values() {
            let ids = attempt.readings.iter().map(|touched| touched.id);
            prop_assert!(ids.into_iter().all(|id| !used.contains(&id)), "a lift in a check");
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    #[test]
    fn whatever_a_day_with_proofs_brings(day in proptest::collection::vec(happening(), 1..40)) {
        let mut kit = two_rings();
        for happening in &day {
            if let Happening::Reload(angle) = happening {
                kit.setup.gauges.get_mut(&name("plate")).unwrap().lever_mdeg = *angle;
            }
            for event in events(happening) {
                one(&mut kit, &event)?;
            }
        }
        in_the_end(&kit)?;
    }

    #[test]
    fn every_good_proof_is_judged_alike_wherever_the_zero_lies(
        zero in -900_i64..900, high in 70_i64..140, back in -6_i64..7,
    ) {
        let shown = |zero: i64| {
            let mut kit = Kit::new(vec![crate::tests::kit::face("face")]);
            let lifts = LIFTS.map(|lift| lift + zero);
            let proved = super::prove(&mut kit, &all(lifts, high + zero, back + zero));
            proved.shows.clone().unwrap()
        };
        prop_assert_eq!(shown(zero), shown(0));
    }
}
