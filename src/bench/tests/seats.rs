//! Dirt that was found under a part, and the lengths measured while it lay there.

use crate::event::Command;
use crate::fact::row::AttemptReason;
use crate::fact::seq::Seq;
use crate::plan::{Check, Part, PartKind, Size};
use crate::tests::kit::{Kit, face, inch, name};
use judgement::{Limits, Reason, Word};

/// A ring of which faces and length are measured, and another part.
fn rings() -> Kit {
    lying_on(None, None)
}

/// The same, where the plan says which face lies down while the length and the face are measured.
fn lying_on(length_on: Option<&str>, face_on: Option<&str>) -> Kit {
    let on = |face: Option<&str>, check| Check { down: face.map(str::to_owned), ..check };
    let length = Check {
        measures: Size::default().into(),
        positions: 4,
        radii: Vec::new(),
        limits: Some(Limits::Band { min: inch("1.499"), max: inch("1.501") }),
        ..face("length")
    };
    let part = |of: &str, checks| Part { name: name(of), kind: PartKind::Spacer, checks };
    let checks = vec![on(length_on, length), on(face_on, face("face")), face("back")];
    Kit::of(vec![part("ring", checks), part("other", vec![face("face")])], Vec::new())
}

fn measured(kit: &mut Kit, target: &str, readings: &[&str]) -> Seq {
    kit.measure(target).unwrap();
    kit.send(readings);
    kit.verdict().attempt
}

fn cleaned(kit: &mut Kit, target: &str) {
    let (reason, target) = (AttemptReason::Cleaned, Some(target.to_owned()));
    kit.ask(Command::Remeasure { reason, target, remark: None }).unwrap();
    kit.send(&["0"; 8]);
}

/// What stands of an attempt: the word and whether its seating is doubted.
fn stands(kit: &Kit, attempt: Seq) -> (Word, bool) {
    let verdicts = kit.verdicts();
    let newest = verdicts.iter().rfind(|verdict| verdict.attempt == attempt).unwrap();
    (newest.word, newest.reasons.contains(&Reason::SeatDoubted))
}

const FINE: (Word, bool) = (Word::Conforms, false);
const DOUBTED: (Word, bool) = (Word::Undecided, true);

const LENGTH: [&str; 4] = ["1.5"; 4];
/// High at 1 and low at 5, by 0.00032 in.
const TILTED: [&str; 8] =
    ["0.00005", "0.00016", "0.00014", "0.00008", "-0.00005", "-0.00016", "-0.00014", "-0.00007"];
/// Half a turn round, both spots: gone, so it was dirt; or still there, so it is the part.
const GONE: [&str; 2] = ["0.00002", "-0.00002"];
const STAYED: [&str; 2] = ["0.00016", "-0.00016"];

#[test]
fn a_length_that_stood_on_dirt_is_doubted_when_the_dirt_is_found_and_cleaned_away() {
    let mut kit = rings();
    let length = measured(&mut kit, "ring/length", &LENGTH);
    assert_eq!(stands(&kit, length), FINE);
    measured(&mut kit, "ring/face", &TILTED);
    kit.send(&GONE);
    cleaned(&mut kit, "ring/face");
    assert_eq!(stands(&kit, length), DOUBTED);
}

#[test]
fn a_wedge_or_a_ring_that_was_only_wiped_doubts_no_length() {
    let mut kit = rings();
    let length = measured(&mut kit, "ring/length", &LENGTH);
    measured(&mut kit, "ring/face", &TILTED);
    kit.send(&STAYED);
    cleaned(&mut kit, "ring/face");
    assert_eq!(stands(&kit, length), FINE, "it was the part");
    let mut kit = rings();
    let length = measured(&mut kit, "ring/length", &LENGTH);
    measured(&mut kit, "ring/face", &["0"; 8]);
    cleaned(&mut kit, "ring/face");
    assert_eq!(stands(&kit, length), FINE, "nobody showed dirt");
}

#[test]
fn only_the_seating_on_the_dirt_is_doubted_and_only_of_that_part() {
    let found_after = |between: &str| {
        let mut kit = rings();
        measured(&mut kit, "ring/back", &["0"; 8]);
        measured(&mut kit, "other/face", &["0"; 8]);
        let length = measured(&mut kit, "ring/length", &LENGTH);
        cleaned(&mut kit, between);
        measured(&mut kit, "ring/face", &TILTED);
        kit.send(&GONE);
        cleaned(&mut kit, "ring/face");
        stands(&kit, length)
    };
    assert_eq!(found_after("ring/back"), FINE, "it was cleaned in between");
    assert_eq!(found_after("other/face"), DOUBTED, "another part was");
    let mut kit = rings();
    measured(&mut kit, "ring/face", &TILTED);
    kit.send(&GONE);
    cleaned(&mut kit, "ring/face");
    let after = measured(&mut kit, "ring/length", &LENGTH);
    assert_eq!(stands(&kit, after), FINE, "measured when it was clean");
}

#[test]
fn a_plan_that_says_which_face_lies_down_tells_two_seatings_apart() {
    let found = |length_on, face_on| {
        let mut kit = lying_on(length_on, face_on);
        let length = measured(&mut kit, "ring/length", &LENGTH);
        measured(&mut kit, "ring/face", &TILTED);
        kit.send(&GONE);
        cleaned(&mut kit, "ring/face");
        stands(&kit, length)
    };
    assert_eq!(found(Some("a"), Some("a")), DOUBTED);
    assert_eq!(found(Some("a"), Some("b")), FINE);
    assert_eq!(found(None, Some("b")), DOUBTED, "it may be the same");
}
