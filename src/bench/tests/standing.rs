//! What a verdict is worth after metal was taken off, a part replaced, or the stack taken apart.

use crate::event::Command;
use crate::fact::row::{AttemptReason, Stage};
use crate::fact::seq::Seq;
use crate::plan::{Check, Flatness, Holding, Part, PartKind, StackPlace, Turn};
use crate::state::metal::Standing;
use crate::tests::kit::{Kit, face, name};

fn part(of: &str, kind: PartKind, checks: Vec<Check>) -> Part {
    Part { name: name(of), kind, checks }
}

fn flat(of: &str, side: Option<&str>) -> Check {
    Check { measures: Flatness.into(), face: side.map(str::to_owned), ..face(of) }
}

/// Measures a check whole; its attempt.
fn whole(kit: &mut Kit, target: &str) -> Seq {
    kit.measure(target).unwrap();
    kit.send(&["0"; 8]);
    kit.verdict().attempt
}

fn grind(kit: &mut Kit, target: &str) {
    let (reason, target) = (AttemptReason::Ground, Some(target.to_owned()));
    kit.ask(Command::Remeasure { reason, target, remark: None }).unwrap();
    kit.send(&["0"; 8]);
}

#[test]
fn a_grind_takes_the_flatness_of_its_own_face_and_not_of_another() {
    let checks = || {
        vec![
            flat("a", Some("a")),
            flat("a-again", Some("a")),
            flat("b", Some("b")),
            flat("any", None),
        ]
    };
    let after = |ground: &str, looked: &str| {
        let mut kit = Kit::new(checks());
        whole(&mut kit, ground);
        let attempt = whole(&mut kit, looked);
        assert_eq!(kit.job().standing(attempt), Standing::Stands);
        grind(&mut kit, ground);
        kit.job().standing(attempt)
    };
    assert_eq!(after("ring/a", "ring/a-again"), Standing::MetalChanged);
    assert_eq!(after("ring/a", "ring/b"), Standing::Stands);
    assert_eq!(after("ring/b", "ring/a"), Standing::Stands);
    // Where nothing is said of the face it may be the same.
    assert_eq!(after("ring/any", "ring/a"), Standing::MetalChanged);
    assert_eq!(after("ring/a", "ring/any"), Standing::MetalChanged);
}

/// A spacer on the stack, and a turn that was measured with it there.
fn turned() -> (Kit, Seq) {
    let nose = Check { setup: Holding::Turning, measures: Turn::default().into(), ..face("nose") };
    let parts = vec![
        part("spindle", PartKind::Spacer, vec![nose]),
        part("ring", PartKind::Spacer, vec![face("face")]),
    ];
    let place = StackPlace {
        part: 1,
        ways: vec![],
        towards_nose: None,
        marked: false,
        mark_deg: None,
        opposes: None,
        marks: 12,
    };
    let mut kit = Kit::of(parts, vec![place]);
    whole(&mut kit, "ring/face");
    kit.ask(Command::StackPlace {
        stage: Stage::Built,
        part: "ring".to_owned(),
        towards_nose: None,
        mark_deg: None,
        serial: None,
        why: None,
    })
    .unwrap();
    let nose = whole(&mut kit, "spindle/nose");
    assert_eq!(kit.job().standing(nose), Standing::Stands);
    (kit, nose)
}

#[test]
fn a_turn_stands_until_something_on_its_stack_is_ground_replaced_or_taken_off() {
    let (mut kit, nose) = turned();
    grind(&mut kit, "ring/face");
    assert_eq!(kit.job().standing(nose), Standing::MetalChanged, "ground");

    let (mut kit, nose) = turned();
    let (part, why) = ("ring".to_owned(), "worn".to_owned());
    kit.ask(Command::Replace { part, serial: None, why }).unwrap();
    assert_eq!(kit.job().standing(nose), Standing::MetalChanged, "replaced");

    let (mut kit, nose) = turned();
    kit.ask(Command::StackBack { stage: Stage::Built }).unwrap();
    assert_eq!(kit.job().standing(nose), Standing::MetalChanged, "taken off");
}
