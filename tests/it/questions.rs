//! A check that is answered: its question is shown wherever a person looks.

use crate::rig::{Bench, Make, Wire};
use crate::watch::Terminal;

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"";

const PLAN: &str = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
                    [[part.check]]\nname = \"mark\"\nmeasures = \"confirm\"\n\
                    question = \"which face carries the mark?\"\n\
                    answers = [\"face-a\", \"face-b\", \"neither of both\"]\ngood = [\"face-a\"]\n\
                    [[part.check]]\nname = \"torque\"\nmeasures = \"entry\"\n\
                    question = \"torque of the lock nut at the last pass\"\nunit = \"Nm\"\n\
                    [[part.check]]\nname = \"serial\"\nmeasures = \"entry\"\n\
                    question = \"serial number?\"\n";

fn bench() -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    bench
}

/// The text of a screen with its rows run together, as a person reads what is wrapped.
fn run_on(screen: &str) -> String {
    screen.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_screen_says_what_is_asked_and_what_may_be_answered() {
    let bench = bench();
    let sizes = [(80, 24), (120, 40), (40, 12)];
    let screens = sizes.map(|size| Terminal::with_watch(&bench, size, &["--mute"]));
    for (check, parts) in [
        (
            "ring/mark",
            vec![
                "which face carries the mark?",
                "face-a",
                "face-b",
                "neither of both",
                "tenths confirm ring/mark ANSWER",
            ],
        ),
        (
            "ring/torque",
            vec![
                "torque of the lock nut at the last pass",
                "Nm",
                "tenths record ring/torque NUMBER",
            ],
        ),
        ("ring/serial", vec!["serial number?", "tenths record ring/serial VALUE"]),
    ] {
        bench.ok(&["measure", check]);
        for screen in &screens {
            bench.until(&format!("{check}: {parts:?}"), || {
                let text = run_on(&screen.text());
                parts.iter().all(|part| text.contains(part))
            });
        }
        let text = screens[0].text();
        assert!(!text.contains("It waits for an answer or a value."), "{text}");
    }
    // What was asked stands beside what was answered.
    bench.ok(&["measure", "ring/mark"]);
    bench.ok(&["confirm", "ring/mark", "face-a"]);
    screens[0].until(&["which face carries the mark?", "face-a."]);
}

#[test]
fn a_short_question_is_as_large_as_the_screen_has_room_for() {
    let bench = bench();
    bench.ok(&["measure", "ring/serial"]);
    let screen = Terminal::with_watch(&bench, (120, 40), &["--mute"]);
    let text = screen.until(&["tenths record ring/serial"]);
    // `serial number?` in shapes of five rows, in one row of words or in two.
    let large = text.lines().filter(|line| line.matches('█').count() >= 12).count();
    assert!(large >= 10, "{text}");
}

#[test]
fn whoever_begins_a_question_and_whoever_asks_how_it_stands_is_told_what_is_asked() {
    let bench = bench();
    let told = bench.ok(&["measure", "ring/mark"]);
    let says = |told: &str| {
        told.contains("which face carries the mark?")
            && told.contains("face-a, face-b or 'neither of both'")
            && told.contains("tenths confirm ring/mark")
    };
    assert!(says(&told), "{told}");
    let told = bench.ok(&["status"]);
    assert!(says(&told), "{told}");
    let station = &bench.status().unwrap()["stations"][0];
    assert_eq!(station["question"], "which face carries the mark?");
    assert_eq!(station["answers"][2], "neither of both");
    let line = &bench.lines(&["measure", "ring/torque"])[0];
    assert_eq!(line["question"], "torque of the lock nut at the last pass");
    assert_eq!(line["answer_unit"], "Nm");
    let told = bench.ok(&["status"]);
    assert!(told.contains("torque of the lock nut at the last pass"), "{told}");
    assert!(told.contains("tenths record ring/torque NUMBER"), "{told}");
    let view = Wire::to(&bench.state.join("tenths.sock")).unwrap().ask(r#"{"request":"view"}"#);
    let check = &view.unwrap()["check"];
    assert_eq!(check["question"], "torque of the lock nut at the last pass");
    assert_eq!((&check["answer_unit"], &check["answers"]), (&"Nm".into(), &serde_json::json!([])));
}
