//! Alerts are found by their kind and what they are about, never by their sentence.

use proptest::prelude::*;
use quantity::Stamp;

use crate::draft::Draft;
use crate::event::Event;
use crate::fact::row::{Alert, AlertKind, Device, Ends, Of, Piece, Subject};
use crate::fact::seq::Seq;
use crate::tests::kit::{Kit, face, name};

/// Subjects of which many have the same text, or one that another begins with.
fn subjects() -> Vec<Option<Subject>> {
    let piece = |piece| Some(Subject::Record(piece));
    let mut all = vec![
        None,
        Some(Subject::Rows { first: Seq(1), last: Seq(5) }),
        Some(Subject::Rows { first: Seq(1), last: Seq(50) }),
        piece(Piece::Counters),
        piece(Piece::Stations),
        piece(Piece::More),
        piece(Piece::Row(Seq(1))),
        piece(Piece::Alert(Seq(1))),
        piece(Piece::Asked),
        piece(Piece::Happened),
    ];
    for text in ["a", "ab", "rows 1 to 5", "the counters", "row 1", "the file: a", "file a"] {
        all.extend([
            Some(Subject::Gauge(name(text))),
            Some(Subject::Drop(name(text))),
            Some(Subject::Station(name(text))),
            Some(Subject::Part(name(text))),
            Some(Subject::File { drop: name("a"), name: text.to_owned() }),
            Some(Subject::Device { station: name(text), device: Device::Pedal }),
            Some(Subject::Device { station: name(text), device: Device::Scanner }),
            piece(Piece::Job(name(text))),
            piece(Piece::Place(text.to_owned())),
            piece(Piece::Drop(name(text))),
            piece(Piece::PlanOf(text.to_owned())),
            piece(Piece::Reading(name(text))),
            piece(Piece::File(text.to_owned())),
        ]);
    }
    all
}

/// What is done with one kind and one subject.
#[derive(Debug, Clone, Copy)]
enum Step {
    Raise,
    ClearAbout,
    ClearFor,
    TellNow,
    ClearEnded,
}

/// What tells alerts apart.
type Key = (AlertKind, Option<Seq>, Option<Subject>);

fn key(alert: &Alert) -> Key {
    (alert.kind, alert.attempt, alert.about.clone())
}

/// The same on a list of keys: what has to be open after a step, which `draft` does.
fn follow(draft: &mut Draft<'_>, open: &mut Vec<Key>, (step, alert): (Step, &Alert)) {
    let (this, of) = (key(alert), alert.attempt);
    match step {
        Step::Raise => {
            draft.raise(alert.clone());
            if !open.contains(&this) {
                open.push(this);
            }
        }
        Step::ClearAbout => {
            draft.clear_about(alert.about.as_ref(), alert.kind);
            open.retain(|key| *key != (alert.kind, None, alert.about.clone()));
        }
        Step::ClearFor => {
            let attempt = of.unwrap_or(Seq(7));
            draft.clear_for(attempt, alert.kind);
            open.retain(|(kind, of, _)| (*kind, *of) != (alert.kind, Some(attempt)));
        }
        Step::TellNow => {
            draft.tell_now(of, |open| key(open) == this, [alert.clone()]);
            open.retain(|key| *key != this);
            open.push(this);
        }
        Step::ClearEnded => {
            let (attempt, by) = (of.unwrap_or(Seq(7)), alert.kind.nature().ends);
            draft.clear_ended(attempt, by);
            open.retain(|(kind, of, _)| *of != Some(attempt) || kind.nature().ends != by);
        }
    }
}

proptest! {
    #[test]
    fn what_is_raised_and_cleared_is_that_alone_whatever_the_sentences_say(
        steps in proptest::collection::vec((
            prop_oneof![
                4 => Just(Step::Raise),
                1 => Just(Step::ClearAbout),
                1 => Just(Step::ClearFor),
                1 => Just(Step::TellNow),
                1 => Just(Step::ClearEnded),
            ],
            (0..AlertKind::ALL.len(), 0..subjects().len(), 0..3_u64, 0..3_usize),
        ), 1..80),
        few in 1..6_usize,
    ) {
        let (kit, all) = (Kit::new(vec![face("face")]), subjects());
        let mut draft = Draft::new(&kit.bench, &kit.setup, Stamp::default());
        let mut open: Vec<Key> = Vec::new();
        for (step, (kind, about, attempt, text)) in steps {
            // Few kinds, so that many alerts are of the same one.
            let kind = AlertKind::ALL[kind % few * 7 % AlertKind::ALL.len()];
            let text = ["It is off.", "It is off. Go on.", ""][text].to_owned();
            let attempt = (attempt > 0).then_some(Seq(attempt + 6));
            let alert = Alert { attempt, ..Alert::new(all[about].clone(), kind, text) };
            follow(&mut draft, &mut open, (step, &alert));
            let now: Vec<Key> = draft.bench.alerts.values().map(|open| key(&open.alert)).collect();
            prop_assert_eq!(now.len(), open.len(), "{:?}: {:?}", step, &alert);
            prop_assert!(open.iter().all(|key| now.contains(key)), "{:?}: {:?}", step, &alert);
        }
    }
}

#[test]
fn a_subject_comes_back_from_what_is_stored_as_the_same_and_no_two_are_stored_alike() {
    let all: Vec<Subject> = subjects().into_iter().flatten().collect();
    let stored = |subject: &Subject| serde_json::to_string(subject).unwrap();
    for (at, subject) in all.iter().enumerate() {
        assert_eq!(&serde_json::from_str::<Subject>(&stored(subject)).unwrap(), subject);
        assert!(all[at + 1..].iter().all(|other| stored(other) != stored(subject)), "{subject:?}");
    }
    for bad in [
        "\"gauge\"",
        "{\"gauge\":\"\"}",
        "{\"rows\":{\"first\":1,\"last\":2,\"more\":3}}",
        "{\"knob\":\"a\"}",
    ] {
        assert!(serde_json::from_str::<Subject>(bad).is_err(), "{bad}");
    }
}

#[test]
fn what_a_subject_is_called_outside() {
    let called = |subject: Subject| subject.to_string();
    assert_eq!(called(Subject::Gauge(name("plate"))), "plate");
    assert_eq!(
        called(Subject::File { drop: name("logger"), name: "r.csv".into() }),
        "logger/r.csv"
    );
    let device = Subject::Device { station: name("bench"), device: Device::Pedal };
    assert_eq!(called(device), "bench/pedal");
    assert_eq!(called(Subject::Rows { first: Seq(3), last: Seq(9) }), "rows 3 to 9");
    let piece = |piece| called(Subject::Record(piece));
    assert_eq!(piece(Piece::Job(name("J-1"))), "J-1");
    assert_eq!(piece(Piece::Row(Seq(4))), "row 4");
    assert_eq!(piece(Piece::Place("job, row 4".into())), "the file: job, row 4");
    assert_eq!(piece(Piece::Counters), "the counters");
    assert_eq!(piece(Piece::Stations), "what stations worked on");
    assert_eq!(piece(Piece::Drop(name("logger"))), "drop folder logger");
}

/// A subject of each sort that what is of this takes.
fn of(of: Of) -> Vec<Option<Subject>> {
    subjects().into_iter().filter(|about| of.takes(about.as_ref())).collect()
}

#[test]
fn a_start_keeps_what_is_of_what_is_still_there_and_ends_the_rest() {
    let mut kit = Kit::new(vec![face("face")]);
    let there = |about: &Subject| match about {
        Subject::Gauge(gauge) => gauge.as_str() == "plate",
        Subject::Station(station) | Subject::Device { station, .. } => station.as_str() == "bench",
        Subject::Drop(_)
        | Subject::File { .. }
        | Subject::Record(Piece::Counters | Piece::Stations) => false,
        Subject::Record(Piece::Job(job)) => job.as_str() != "j1",
        Subject::Record(_) | Subject::Rows { .. } | Subject::Part(_) => true,
    };
    let mut expected = Vec::new();
    let raised: Vec<Alert> = AlertKind::ALL
        .into_iter()
        .flat_map(|kind| {
            let own = [
                Some(Subject::Gauge(name("plate"))),
                Some(Subject::Station(name("bench"))),
                Some(Subject::Device { station: name("bench"), device: Device::Scanner }),
                Some(Subject::Record(Piece::Job(name("j1")))),
            ];
            let own = own.into_iter().filter(move |about| kind.nature().of.takes(about.as_ref()));
            let all = of(kind.nature().of).into_iter().chain(own);
            all.map(move |about| Alert::new(about, kind, "It is off.".to_owned()))
        })
        .collect();
    for alert in raised {
        let ends = alert.kind.nature().ends == Ends::Start;
        let gone = !alert.kind.is_of_a_job() && alert.about.as_ref().is_some_and(|a| !there(a));
        if !ends && !gone {
            expected.push(key(&alert));
        }
        let mut draft = Draft::new(&kit.bench, &kit.setup, Stamp::default());
        draft.raise(alert);
        let decision = draft.finish(None);
        kit.bench = decision.after;
        kit.rows.extend(decision.rows);
    }
    kit.event(&Event::Started { boot: 2 });
    let left: Vec<Key> = kit.bench.alerts.values().map(|open| key(&open.alert)).collect();
    assert_eq!(left, expected);
}
