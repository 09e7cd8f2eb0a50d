//! Random days at the bench: whatever is asked and touched, in whatever order, what holds of every decision
//! holds. The kit compares after each event the running bench with one rebuilt from its rows.

use proptest::prelude::*;

use super::kit::*;
use crate::event::{AckOf, Command, Event, Frame, Request};
use crate::fact::row::{AttemptReason, Body, State};
use crate::fact::seq::Seq;
use crate::plan::{Check, MasterUse, Part, PartKind, StackPlace};
use crate::reply::Refusal;
use crate::state::row::Row;
use quantity::Quoted;

/// Two rings with faces of four touches, one of them with a closure and a master.
pub(super) fn two_rings() -> Kit {
    let short = |check: &str| Check { positions: 4, ..face(check) };
    let mastered = Check { closure: true, master: MasterUse::Both, ..short("face-b") };
    let part = |part: &str, checks| Part { name: name(part), kind: PartKind::Spacer, checks };
    let parts =
        vec![part("inner", vec![short("face-a"), mastered]), part("outer", vec![short("face-a")])];
    Kit::of(parts, Vec::<StackPlace>::new())
}

/// Something that happens.
#[derive(Debug, Clone)]
enum Happening {
    /// The gauge is pressed; a value in counts of its last place.
    Press(i64, bool),
    Ask(Command),
}

fn reason() -> impl Strategy<Value = AttemptReason> {
    prop_oneof![
        Just(AttemptReason::Ground),
        Just(AttemptReason::Cleaned),
        Just(AttemptReason::Again),
    ]
}

fn target() -> impl Strategy<Value = String> {
    let known = ["inner/face-a", "inner/face-b", "outer/face-a"].map(str::to_owned).to_vec();
    prop_oneof![9 => proptest::sample::select(known), 1 => "[a-z]{1,5}/[a-z]{1,5}"]
}

pub(super) fn command() -> impl Strategy<Value = Command> {
    let why = proptest::option::of("[a-z ]{0,8}");
    prop_oneof![
        4 => target().prop_map(|target| Command::Measure { target, remark: None }),
        3 => (reason(), proptest::option::of(target()))
            .prop_map(|(reason, target)| Command::Remeasure { reason, target, remark: None }),
        2 => Just(Command::Next),
        1 => Just(Command::Stop),
        2 => Just(Command::Take { frame: None }),
        3 => "-?0\\.0000[0-9]{1,2}|[a-z]{1,3}|1,5|99"
            .prop_map(|value| Command::Enter { values: vec![value], graduation: None }),
        2 => (proptest::option::of((1_u64..60).prop_map(Seq)), why.clone())
            .prop_map(|(id, why)| Command::Void { id, why }),
        1 => (proptest::option::of(0_u32..6), "[a-z]{0,4}")
            .prop_map(|(position, why)| Command::Skip { position, why }),
        1 => Just(Command::Master { gauge: None }),
        1 => (1_u64..60).prop_map(|id| Command::Ack(AckOf::One(Seq(id)))),
        1 => Just(Command::Ack(AckOf::All)),
        1 => Just(Command::Ack(AckOf::Job("j1".to_owned()))),
        1 => why.prop_map(|why| Command::JobClose { name: None, why }),
        1 => proptest::option::of("[a-z]{1,4}").prop_map(|name| Command::Person { name }),
        1 => "[a-z ]{0,9}"
            .prop_map(|text| Command::Note { job: "j1".to_owned(), text, closed: None }),
    ]
}

fn happening() -> impl Strategy<Value = Happening> {
    prop_oneof![
        3 => (-9_i64..10, proptest::bool::weighted(0.1))
            .prop_map(|(counts, repeat)| Happening::Press(counts, repeat)),
        2 => command().prop_map(Happening::Ask),
    ]
}

fn event_of(happening: &Happening) -> Event {
    match happening {
        Happening::Press(counts, repeat) => {
            let sign = if *counts < 0 { "-" } else { "" };
            let text = format!("{sign}0.0000{}", counts.abs());
            Event::Frame(Frame {
                gauge: name("plate"),
                value: Quoted::parse(&text, quantity::Unit::Inch).unwrap(),
                text,
                repeat: *repeat,
                odd: None,
                low_battery: false,
            })
        }
        Happening::Ask(command) => Event::Request(Request {
            station: None,
            by: None,
            login: None,
            command: command.clone(),
        }),
    }
}

/// A fact is the same after it was written and read; one that names a plan is read by who has it.
pub(super) fn comes_back(row: &Row) {
    if matches!(row.body, Body::JobOpened(_)) {
        return;
    }
    let written = serde_json::to_string(&row.body).unwrap();
    let mut from = serde_json::Deserializer::from_str(&written);
    let none = |_: &str| Err("no fact here has a plan".to_owned());
    let read = Body::read(row.body.kind(), &mut from, none).unwrap();
    assert_eq!(read.as_ref(), Some(&row.body), "{written}");
    assert!(Body::KINDS.contains(&row.body.kind()));
}

/// What a person can do something with.
pub(super) fn is_a_sentence(refusal: &Refusal) {
    let texts = [Some(&refusal.text), refusal.hint.as_ref()];
    for text in texts.into_iter().flatten() {
        assert!(!text.trim().is_empty() && !text.contains("  "), "{text:?}");
        assert!(!text.contains("Some(") && !text.contains("None"), "{text:?}");
    }
    assert!([1, 2].contains(&refusal.exit), "{refusal:?}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    #[test]
    fn whatever_a_day_brings(day in proptest::collection::vec(happening(), 1..60)) {
        let mut kit = two_rings();
        for happening in &day {
            let event = event_of(happening);
            let (before, readings) = (kit.bench.clone(), kit.readings().len());
            let decision = kit.event(&event);
            // The same bench decides the same of the same event.
            let stamp = decision.rows.first().map(|row| row.at);
            if let Some(at) = stamp {
                prop_assert_eq!(&before.decide(&kit.setup, at, &event), &decision);
            }
            for row in &decision.rows {
                comes_back(row);
            }
            if let Some(Err(refusal)) = &decision.reply {
                is_a_sentence(refusal);
                prop_assert!(decision.rows.is_empty(), "refused, and yet stored: {refusal:?}");
            }
            // A frame is never lost: it is a reading, whatever it counts as.
            if let Happening::Press(..) = happening {
                prop_assert_eq!(kit.readings().len(), readings + 1);
            }
            prop_assert!(kit.readings().len() >= readings);
        }
        // What is placed lies at a position of its check. One position holds two touches only where the
        // first was taken back although it alone put the part out: both count then.
        for job in kit.bench.jobs.values() {
            for attempt in job.attempts.values() {
                let total = job.check_of(attempt).map_or(0, |(_, check)| check.total());
                let placed = attempt.in_state(State::Placed).map(|touched| touched.position);
                let places: Vec<u32> = placed.flatten().collect();
                prop_assert!(places.iter().all(|position| *position < total), "{places:?}");
                let twice = (0..total).any(|one| places.iter().filter(|at| **at == one).count() > 1);
                let voided = kit.rows.iter().any(|row| matches!(row.body, Body::Marked { .. }));
                prop_assert!(!twice || voided, "{places:?}");
            }
        }
    }
}
