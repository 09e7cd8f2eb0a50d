//! Replies, as scripts and people read them.

use serde_json::{Value, json};

use super::words::next_sentence;
use super::*;
use bench::row::{Question, Stage, State};
use bench::series::Touch;
use bench::{JobNow, Measuring, Seq};
use judgement::Word;
use quantity::Name;
use quantity::Quoted;

fn name(text: &str) -> Name {
    Name::new(text).unwrap()
}

fn measuring(next: Touch) -> Measuring {
    Measuring {
        station: name("bench"),
        job: name("J-1042"),
        part: name("inner-spacer"),
        check: name("face-a"),
        attempt: 2,
        next,
        place: None,
        nth: None,
        taken: 3,
        of: 8,
        positions: 8,
        touches: 1,
        asks: None,
        left: Vec::new(),
        ground: None,
        mind: Vec::new(),
        came_to: None,
        gauge_says: None,
        raised: Vec::new(),
    }
}

#[track_caller]
fn line(done: Done, expected: &str) {
    assert_eq!(reply_line(&Ok(done)), expected);
}

const STANDS: &str = concat!(
    r#""station":"bench","job":"J-1042","part":"inner-spacer","check":"face-a","attempt":2,"#,
    r#""next":"position","next_position":3,"place":null,"next_touch":null,"touches":1,"taken":3,"of":8,"came_to":null,"#,
    r#""already":false,"text":"inner-spacer/face-a, attempt 2. Touch position 3 of 8 next.""#,
);

#[test]
fn each_change_has_its_reply() {
    let next = || measuring(Touch::Position(3));
    let job = |what| Done::Job {
        what,
        id: Seq(7),
        name: name("J-1042"),
        station: Some(name("bench")),
        active: None,
    };
    let of_job = r#""id":7,"job":"J-1042","station":"bench","text":"Job J-1042 is"#;
    line(job(JobNow::Opened), &format!(r#"{{"schema":"opened/1",{of_job} open and in use."}}"#));
    line(
        job(JobNow::InUse),
        &format!(
            r#"{{"schema":"in-use/1",{of_job} in use. No check is active: tenths next begins one."}}"#
        ),
    );
    line(job(JobNow::Closed), &format!(r#"{{"schema":"closed/1",{of_job} closed."}}"#));
    line(
        job(JobNow::Reopened),
        &format!(r#"{{"schema":"reopened/1",{of_job} open again and in use."}}"#),
    );
    line(Done::Measuring(next()), &format!(r#"{{"schema":"measuring/1",{STANDS}}}"#));
    line(
        Done::Already(next()),
        &format!(r#"{{"schema":"measuring/1",{STANDS}}}"#).replace("false", "true"),
    );
    line(Done::MasterNext { measuring: next() }, &format!(r#"{{"schema":"master/1",{STANDS}}}"#));
    line(
        Done::Entered { readings: vec![Seq(20), Seq(21)], measuring: next() },
        &format!(
            r#"{{"schema":"entered/1","ids":[20,21],"measuring":{{{STANDS}}},"text":"2 readings taken. Touch position 3 of 8 next."}}"#
        ),
    );
    let value = Quoted::parse("0.00012", quantity::Unit::Inch).unwrap();
    let taken = |state| Done::Taken { reading: Seq(20), value, state, measuring: next() };
    line(
        taken(State::Placed),
        &format!(
            r#"{{"schema":"taken/1","id":20,"value":"0.00012","unit":"in","state":"placed","measuring":{{{STANDS}}},"text":"0.00012 in taken. Touch position 3 of 8 next."}}"#
        ),
    );
    assert!(
        reply_line(&Ok(taken(State::Suspect))).contains(
            "0.00012 in is kept as suspect, and fills nothing. Touch position 3 of 8 next."
        )
    );
    line(
        Done::Voided { reading: Seq(20), position: Some(3), measuring: None },
        r#"{"schema":"voided/1","id":20,"position":3,"measuring":null,"text":"Reading 20 at position 3 is taken back."}"#,
    );
    line(
        Done::Skipped { position: 2, measuring: next() },
        &format!(
            r#"{{"schema":"skipped/1","position":2,"measuring":{{{STANDS}}},"text":"Position 2 is left out. Touch position 3 of 8 next."}}"#
        ),
    );
    line(
        Done::Stopped { station: name("bench"), incomplete: Some(Seq(11)), untouched: None },
        r#"{"schema":"stopped/1","station":"bench","incomplete":11,"text":"Stopped before the last position. It counts as incomplete."}"#,
    );
    line(Done::Noted { job: Seq(7) }, r#"{"schema":"noted/1","job_id":7,"text":"Written down."}"#);
    line(
        Done::Seen { alert: Seq(9) },
        r#"{"schema":"seen/1","id":9,"text":"Alert 9 is marked as seen."}"#,
    );
}

#[test]
fn answers_the_stack_and_new_parts_have_their_replies() {
    let answered = |text: &str, word| Done::Answered {
        target: "nut/locked".to_owned(),
        text: text.to_owned(),
        word,
    };
    line(
        answered("no", Some(Word::DoesNotConform)),
        r#"{"schema":"answered/1","target":"nut/locked","answer":"no","verdict":"does-not-conform","text":"nut/locked: no. DOES NOT CONFORM."}"#,
    );
    line(
        answered("40 Nm", None),
        r#"{"schema":"answered/1","target":"nut/locked","answer":"40 Nm","verdict":null,"text":"nut/locked: 40 Nm, written down."}"#,
    );
    let stacked = |placed, of| Done::Stacked {
        stage: Stage::Built,
        part: name("bearing-1"),
        placed,
        of,
        next: None,
    };
    line(
        stacked(2, Some(7)),
        r#"{"schema":"stacked/1","stage":"built","part":"bearing-1","placed":2,"of":7,"text":"bearing-1. The stack as built has 2 of 7 parts."}"#,
    );
    line(
        stacked(1, None),
        r#"{"schema":"stacked/1","stage":"built","part":"bearing-1","placed":1,"of":null,"text":"bearing-1. The stack as built has 1 part."}"#,
    );
    line(
        Done::Replaced { part: name("bearing-1") },
        r#"{"schema":"replaced/1","part":"bearing-1","text":"bearing-1 is a new one from now on; its checks begin afresh."}"#,
    );
}

#[test]
fn every_next_touch_has_a_sentence() {
    let says = |touch| next_sentence(&measuring(touch));
    assert_eq!(says(Touch::Master), "Touch the master next.");
    assert_eq!(says(Touch::Closure), "Touch position 0 again to close the round.");
    assert_eq!(says(Touch::Asked(Question::Touch(5))), "Touch position 5 again.");
    let half = Question::HalfTurn { high: 1, low: 5 };
    assert!(says(Touch::Asked(half)).ends_with("touch position 1 and position 5."));
    assert_eq!(says(Touch::Nothing), "Done. Nothing more to touch.");
}

#[test]
fn a_refusal_carries_its_exit_code_and_hint() {
    let refusal = Refusal::input("the name J-1042 was used before", "choose another");
    let line = reply_line(&Err(refusal));
    assert_eq!(
        line,
        r#"{"schema":"error/1","exit":2,"code":"refused","text":"the name J-1042 was used before","hint":"choose another"}"#
    );
    let reply = Reply::parse(&line).unwrap();
    assert_eq!((reply.exit, reply.hint.as_deref()), (2, Some("choose another")));
    let fine = Reply::parse(r#"{"schema":"noted/1","job_id":7,"text":"Written down."}"#).unwrap();
    assert_eq!((fine.exit, fine.text.as_str()), (0, "Written down."));
    assert!(Reply::parse("half a li").is_err());
}

#[test]
fn hello_names_version_and_protocol() {
    let hello: Value = serde_json::from_str(&hello_line()).unwrap();
    assert_eq!((&hello["schema"], &hello["protocol"]), (&json!("hello/1"), &json!(1)));
}
