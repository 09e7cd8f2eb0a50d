//! Random days at a face with several touches at each position.

use proptest::prelude::*;

use super::thrice;
use crate::event::Command;
use crate::fact::row::State;
use crate::fact::seq::Seq;
use crate::plan::Check;
use crate::series::{Touch, next_nth, next_position, next_touch};
use crate::state::Attempt;
use crate::tests::days::{command, is_a_sentence};
use crate::tests::kit::Kit;

#[derive(Debug, Clone)]
enum Happening {
    Press(i64),
    Ask(Command),
}

fn happening() -> impl Strategy<Value = Happening> {
    let void = proptest::option::of((1_u64..90).prop_map(Seq));
    let again = Command::Measure { target: "ring/face".to_owned(), remark: None };
    prop_oneof![
        8 => (-4_i64..5).prop_map(Happening::Press),
        1 => Just(Happening::Press(40)),
        2 => void.prop_map(|id| Happening::Ask(Command::Void { id, why: None })),
        1 => (0_u32..5).prop_map(|position| {
            Happening::Ask(Command::Skip { position: Some(position), why: "chipped".to_owned() })
        }),
        1 => Just(Happening::Ask(again)),
        1 => command().prop_map(Happening::Ask),
    ]
}

/// What must hold of the counts of an attempt.
fn adds_up(check: &Check, attempt: &Attempt) -> Result<(), TestCaseError> {
    let touches = attempt.touches();
    let mut needed = 0;
    for position in 0..check.total() {
        let all: Vec<Seq> = attempt.all_at(position).map(|touched| touched.id).collect();
        let placed = attempt.in_state(State::Placed).filter(|one| one.position == Some(position));
        let mut placed: Vec<Seq> = placed.map(|one| one.id).collect();
        placed.sort_unstable();
        prop_assert_eq!(&all, &placed, "position {}", position);
        prop_assert_eq!(usize::try_from(attempt.touches_at(position)).unwrap(), all.len());
        needed += attempt.touches_at(position).min(touches);
        let left_out = attempt.skipped.contains_key(&position);
        prop_assert!(!left_out || all.is_empty(), "left out, and touched");
        let full = attempt.touches_at(position) >= touches;
        prop_assert_eq!(attempt.settled(position), left_out || full);
        prop_assert_eq!(attempt.mean_at(position).is_some(), !all.is_empty());
    }
    prop_assert_eq!(attempt.taken(), needed);
    let skipped = u32::try_from(attempt.skipped.len()).unwrap();
    let open = check.total() * touches - needed - skipped * touches;
    prop_assert_eq!(attempt.open_touches(check), open);
    prop_assert_eq!(next_position(check, attempt).is_some(), open > 0);
    let next = next_touch(check, attempt);
    if let Touch::Position(position) = next {
        prop_assert!(!attempt.settled(position), "nothing is open there");
        let nth = next_nth(attempt, next).unwrap();
        prop_assert_eq!((nth.touch, nth.of), (attempt.touches_at(position) + 1, touches));
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    #[test]
    fn whatever_happens_the_touches_add_up(day in proptest::collection::vec(happening(), 1..50)) {
        let check = Check { positions: 4, closure: true, ..thrice() };
        let mut kit = Kit::new(vec![check.clone()]);
        kit.measure("ring/face").unwrap();
        for happening in &day {
            match happening {
                Happening::Press(counts) => {
                    let before = kit.readings().len();
                    kit.press(&super::text(i32::try_from(10 * counts).unwrap()));
                    prop_assert_eq!(kit.readings().len(), before + 1);
                }
                Happening::Ask(command) => {
                    let before = kit.rows.len();
                    if let Err(refusal) = kit.ask(command.clone()) {
                        is_a_sentence(&refusal);
                        prop_assert_eq!(kit.rows.len(), before);
                    }
                }
            }
            for job in kit.bench.jobs.values() {
                for attempt in job.attempts.values() {
                    adds_up(&check, attempt)?;
                }
            }
        }
    }
}
