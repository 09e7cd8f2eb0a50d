//! The head of a job corrected, alerts marked as seen together, and values keyed by hand as the bench takes them.

use proptest::prelude::*;

use super::kit::{Kit, face, gauge, refused};
use crate::event::{AckOf, Command};
use crate::fact::row::{Body, JobField};
use crate::plan::Check;
use crate::reply::{Done, Edit, Refusal};

fn edit(
    kit: &mut Kit,
    edits: &[(JobField, &str)],
    why: Option<&str>,
) -> Result<Vec<Edit>, Refusal> {
    let edits = edits.iter().map(|(what, text)| (*what, (*text).to_owned())).collect();
    let (name, why) = ("j1".to_owned(), why.map(str::to_owned));
    let done = kit.ask(Command::JobEdit { name, edits, why, found: None })?;
    let Done::Edited { edits, .. } = done else { panic!("{done:?}") };
    Ok(edits)
}

fn enter(kit: &mut Kit, values: &[&str]) -> Result<Done, Refusal> {
    let values = values.iter().map(|value| (*value).to_owned()).collect();
    kit.ask(Command::Enter { values, graduation: None })
}

#[test]
fn what_is_no_line_is_refused_with_what_to_write() {
    let long = "x".repeat(101);
    for (what, said) in [(JobField::Serial, "a serial number"), (JobField::Customer, "a customer")]
    {
        for text in ["", "  ", "two\nlines", "tab\there", "\u{1b}[31m", &long] {
            let mut kit = Kit::new(vec![face("top")]);
            let told = refused(&mut kit, |kit| edit(kit, &[(what, text)], None));
            assert!(
                told.contains(said) && told.contains("1 to 100 characters"),
                "{text:?}: {told}"
            );
        }
        let mut kit = Kit::new(vec![face("top")]);
        edit(&mut kit, &[(what, &"x".repeat(100))], None).unwrap();
    }
}

proptest! {
    /// Whatever is corrected in whatever order: the head is what was said last of each, and nothing is lost.
    #[test]
    fn the_head_is_what_was_said_last(
        said in proptest::collection::vec((any::<bool>(), "[A-Za-z0-9 äöü-]{0,12}"), 1..12)
    ) {
        let mut kit = Kit::new(vec![face("top")]);
        let mut last: [Option<String>; 2] = [None, None];
        for (serial, text) in &said {
            let what = if *serial { JobField::Serial } else { JobField::Customer };
            let before = last[usize::from(*serial)].clone();
            let done = edit(&mut kit, &[(what, text)], None);
            let trimmed = text.trim();
            if trimmed.is_empty() || before.as_deref() == Some(trimmed) {
                prop_assert!(done.is_err());
            } else {
                prop_assert_eq!(&done.unwrap()[0].was, &before);
                last[usize::from(*serial)] = Some(trimmed.to_owned());
            }
        }
        let job = kit.job();
        prop_assert_eq!(job.head(JobField::Customer), last[0].as_deref());
        prop_assert_eq!(job.head(JobField::Serial), last[1].as_deref());
    }
}

/// Alerts of two kinds: one of a gauge that ends when it is seen, one of a check.
fn with_alerts() -> Kit {
    let mut kit = Kit::new(vec![Check { positions: 4, ..face("top") }]);
    kit.measure("ring/top").unwrap();
    kit.send(&["0", "0.0003", "0.0006", "0.0003"]);
    kit
}

#[test]
fn all_alerts_are_seen_together_and_only_those_that_nobody_had_seen() {
    let mut kit = with_alerts();
    let open = kit.bench.alerts.len();
    assert!(open > 0, "an alert is open");
    let Done::AllSeen { alerts, job } = kit.ask(Command::Ack(AckOf::All)).unwrap() else {
        panic!("seen")
    };
    assert_eq!((alerts.len(), job), (open, None));
    let Done::AllSeen { alerts, .. } = kit.ask(Command::Ack(AckOf::All)).unwrap() else {
        panic!("seen")
    };
    assert_eq!(alerts, [], "nothing is left to see");
    let twice = kit.rows.iter().filter(|row| matches!(row.body, Body::AlertSeen { .. })).count();
    assert_eq!(twice, open);
}

#[test]
fn a_comma_is_refused_with_the_word_point() {
    let mut kit = Kit::new(vec![face("top")]);
    kit.measure("ring/top").unwrap();
    let told = refused(&mut kit, |kit| enter(kit, &["0,00012"]));
    assert!(told.contains("point") && told.contains("0.00012"), "{told}");
    // A whole ring with one comma in it enters nothing of it.
    let told = refused(&mut kit, |kit| enter(kit, &["0.00001", "0,00002", "0.00003"]));
    assert!(told.contains("nothing was entered"), "{told}");
}

/// Keyed to a tenth where the gauge shows a hundredth of it: that costs the verdict, and is said before.
#[test]
fn keyed_with_too_few_digits_is_said_before_it_costs_the_verdict() {
    let mut kit = Kit::new(vec![Check { positions: 4, ..face("top") }]);
    assert_eq!(gauge("plate").resolution.length.picometres(), 254_000);
    kit.measure("ring/top").unwrap();
    let told = refused(&mut kit, |kit| enter(kit, &["0.0000", "0.0001", "0.0001", "0.0000"]));
    assert!(told.contains("key every digit the gauge shows"), "{told}");
    enter(&mut kit, &["0.00000", "0.00001", "0.00001", "0.00000"]).unwrap();
    assert_eq!(kit.readings().len(), 4);
}

#[test]
fn halves_and_tenths_of_a_graduation_are_counts_and_a_comma_is_told() {
    let of = |values: &[&str]| Command::Enter {
        values: values.iter().map(|value| (*value).to_owned()).collect(),
        graduation: Some("0.00002in".to_owned()),
    };
    let mut kit = Kit::new(vec![face("top")]);
    kit.measure("ring/top").unwrap();
    kit.ask(of(&["1.5", "-0.5", "2"])).unwrap();
    let read: Vec<i64> =
        kit.readings().iter().map(|(_, one)| one.value.length.picometres()).collect();
    assert_eq!(read, [762_000, -254_000, 1_016_000]);
    let told = refused(&mut kit, |kit| kit.ask(of(&["1,5"])));
    assert!(told.contains("decimal point: 1.5"), "{told}");
    let told = refused(&mut kit, |kit| kit.ask(of(&["a"])));
    assert!(told.contains("not a count of graduations"), "{told}");
}

#[test]
fn more_values_than_are_open_are_counted_and_nothing_is_entered() {
    let mut kit = Kit::new(vec![Check { positions: 4, ..face("top") }]);
    kit.measure("ring/top").unwrap();
    let six = ["0.00000", "0.00001", "0.00002", "0.00001", "0.00000", "0.00001"];
    let told = refused(&mut kit, |kit| enter(kit, &six));
    assert!(told.starts_with("6 values are keyed, and 4 touches are still open"), "{told}");
    enter(&mut kit, &six[..3]).unwrap();
    let told = refused(&mut kit, |kit| enter(kit, &six[..2]));
    assert!(told.starts_with("2 values are keyed, and 1 touch is still open"), "{told}");
}
