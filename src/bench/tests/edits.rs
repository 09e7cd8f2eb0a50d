//! What was mistyped when a job was opened, and alerts that somebody has seen.

use std::sync::Arc;

use crate::Bench;
use crate::event::{AckOf, Command};
use crate::fact::row::{AlertKind, Body, Changes, Ends, JobField};
use crate::fact::seq::Seq;
use crate::reply::{Done, Edit, Refusal};
use crate::state::row::Row;
use crate::tests::kit::{self, Kit, face};

type Edits<'e> = &'e [(JobField, &'e str)];

fn edit(kit: &mut Kit, edits: Edits<'_>, why: Option<&str>) -> Result<Vec<Edit>, Refusal> {
    edit_of(kit, ("j1", None), edits, why)
}

fn edit_of(
    kit: &mut Kit,
    (name, found): (&str, Option<Arc<Vec<Row>>>),
    edits: Edits<'_>,
    why: Option<&str>,
) -> Result<Vec<Edit>, Refusal> {
    let edits = edits.iter().map(|(what, text)| (*what, (*text).to_owned())).collect();
    let (name, why) = (name.to_owned(), why.map(str::to_owned));
    let done = kit.ask(Command::JobEdit { name, edits, why, found })?;
    let Done::Edited { edits, .. } = done else { panic!("{done:?}") };
    Ok(edits)
}

#[track_caller]
fn refused(kit: &mut Kit, edits: Edits<'_>, why: Option<&str>) -> String {
    kit::refused(kit, |kit| edit(kit, edits, why))
}

fn written(kit: &Kit) -> Vec<(JobField, String, Option<String>)> {
    let of = |row: &Row| {
        let Body::JobEdited { what, text, why, .. } = &row.body else { return None };
        Some((*what, text.clone(), why.clone()))
    };
    kit.rows.iter().filter_map(of).collect()
}

#[test]
fn each_correction_is_a_fact_and_the_newest_counts() {
    let mut kit = Kit::new(vec![face("face")]);
    let opened = kit.job().opened.clone();
    let before = |kit: &Kit, what| kit.job().head(what).map(str::to_owned);
    assert_eq!(before(&kit, JobField::Customer), opened.customer);

    let done = edit(&mut kit, &[(JobField::Serial, " SP-1 ")], Some(" a 7 read for a 1 ")).unwrap();
    assert_eq!(
        done,
        [Edit { what: JobField::Serial, was: opened.serial.clone(), now: "SP-1".to_owned() }]
    );
    let both = [(JobField::Serial, "SP-1"), (JobField::Customer, "Mill 4")];
    let done = edit(&mut kit, &both, None).unwrap();
    assert_eq!(done.len(), 1, "the serial has that already: {done:?}");
    let done = edit(&mut kit, &[(JobField::Serial, "SP-11")], None).unwrap();
    assert_eq!(done[0].was.as_deref(), Some("SP-1"));

    assert_eq!(kit.job().opened, opened, "what was written first stays");
    assert_eq!(before(&kit, JobField::Serial).as_deref(), Some("SP-11"));
    assert_eq!(before(&kit, JobField::Customer).as_deref(), Some("Mill 4"));
    let facts = written(&kit);
    assert_eq!(facts.len(), 3);
    assert_eq!(facts[0].2.as_deref(), Some("a 7 read for a 1"));
    // The bench that is rebuilt from its rows is the same one.
    let mut again = Bench::default();
    kit.rows.iter().for_each(|row| again.apply(row));
    assert_eq!(again, kit.bench);
}

#[test]
fn nothing_is_corrected_by_the_same_words_or_by_what_no_head_can_hold() {
    let mut kit = Kit::new(vec![face("face")]);
    edit(&mut kit, &[(JobField::Serial, "SP-1"), (JobField::Customer, "Mill 4")], None).unwrap();
    let same = [(JobField::Serial, "SP-1"), (JobField::Customer, " Mill 4\t")];
    let text = refused(&mut kit, &same, None);
    assert!(
        text.contains("has that already; nothing was corrected; see `tenths job show j1`"),
        "{text}"
    );
    let text = refused(&mut kit, &[], Some("why not"));
    assert!(text.contains("there is nothing to correct; add `--serial` or `--customer`"), "{text}");
    for wrong in ["", " \t", "A\u{1b}[2J", "A\nB", "A\u{7f}B", &"7".repeat(101)] {
        let text = refused(&mut kit, &[(JobField::Serial, wrong)], None);
        assert!(text.starts_with("a serial number is one line of 1 to 100 characters"), "{text}");
        // One that is right beside one that is not: neither is written.
        let both = [(JobField::Serial, "SP-2"), (JobField::Customer, wrong)];
        let text = refused(&mut kit, &both, None);
        assert!(text.starts_with("a customer is one line of 1 to 100 characters"), "{text}");
    }
    let long = "x".repeat(2001);
    let text = refused(&mut kit, &[(JobField::Serial, "SP-2")], Some(&long));
    assert!(text.contains("a reason has 2000 characters at most"), "{text}");
    let refusal = edit_of(&mut kit, ("j2", None), &[(JobField::Serial, "SP-2")], None).unwrap_err();
    assert!(refusal.text.contains("no open job is named \"j2\""), "{refusal:?}");
}

#[test]
fn a_closed_job_is_corrected_by_its_rows_and_comes_back_with_it() {
    let mut kit = Kit::new(vec![face("face")]);
    let job = kit.bench.jobs.keys().next().copied().unwrap();
    let close =
        Command::JobClose { name: Some("j1".to_owned()), why: Some("sent back".to_owned()) };
    kit.ask(close).unwrap();
    assert!(edit(&mut kit, &[(JobField::Serial, "SP-1")], None).is_err(), "nobody knows its rows");
    let found = || Some(Arc::new(kit.rows.clone()));
    let rows = found();
    let done = edit_of(&mut kit, ("j1", rows), &[(JobField::Serial, "SP-1")], None).unwrap();
    assert_eq!(done[0].now, "SP-1");
    assert!(kit.bench.jobs.is_empty(), "it stays closed");
    let rebuilt = Bench::rebuilt_job(kit.rows.iter(), job).unwrap();
    assert_eq!(rebuilt.head(JobField::Serial), Some("SP-1"));
    // The same again is refused, since the rows tell.
    let rows = Some(Arc::new(kit.rows.clone()));
    let again = edit_of(&mut kit, ("j1", rows), &[(JobField::Serial, "SP-1")], None).unwrap_err();
    assert!(again.text.contains("nothing was corrected"), "{again:?}");
}

#[test]
fn a_correction_changes_what_was_signed() {
    let mut kit = Kit::new(vec![face("face")]);
    let before = kit.job().card.changed;
    edit(&mut kit, &[(JobField::Customer, "Mill 4")], None).unwrap();
    let row = kit.rows.iter().rfind(|row| matches!(row.body, Body::JobEdited { .. })).unwrap();
    let job = kit.bench.jobs.keys().next().copied().unwrap();
    assert_eq!(row.body.changes(), Changes::Job(job));
    assert!(kit.job().card.changed > before);
    assert_eq!(kit.job().card.changed, row.seq);
}

/// Two jobs, each with a ring that is out, and a reading that nobody asked for.
fn with_alerts() -> (Kit, Seq) {
    let mut kit = Kit::new(vec![face("face")]);
    let out = ["0", "0.00040", "0", "-0.00040", "0", "0.00040", "0", "-0.00040"];
    kit.measure("ring/face").unwrap();
    kit.send(&out);
    let first = kit.bench.jobs.keys().next().copied().unwrap();
    let plan = kit.job().opened.plan_name.to_string();
    let opens = Command::JobOpen {
        name: "j2".to_owned(),
        used: false,
        plan,
        serial: None,
        customer: None,
        told: Vec::new(),
        rule: None,
    };
    kit.ask(opens).unwrap();
    kit.measure("ring/face").unwrap();
    kit.send(&out);
    (kit, first)
}

fn unseen(kit: &Kit) -> Vec<Seq> {
    kit.bench.alerts.iter().filter(|(_, open)| !open.seen).map(|(id, _)| *id).collect()
}

fn seen(kit: &mut Kit, of: AckOf) -> Result<Vec<Seq>, Refusal> {
    let done = kit.ask(Command::Ack(of))?;
    if let Done::Seen { alert } = done {
        return Ok(vec![alert]);
    }
    let Done::AllSeen { alerts, .. } = done else { panic!("{done:?}") };
    Ok(alerts)
}

#[test]
fn alerts_of_a_job_are_seen_together_and_those_of_another_stay() {
    let (mut kit, first) = with_alerts();
    let all = unseen(&kit);
    let of_first = |kit: &Kit| {
        let own =
            |id: &&Seq| kit.bench.alerts.get(id).is_some_and(|open| open.alert.job == Some(first));
        unseen(kit).iter().filter(own).copied().collect::<Vec<Seq>>()
    };
    let own = of_first(&kit);
    assert!(!own.is_empty() && own.len() < all.len(), "{own:?} of {all:?}");
    assert_eq!(seen(&mut kit, AckOf::Job("j1".to_owned())).unwrap(), own);
    assert_eq!(of_first(&kit), []);
    assert_eq!(unseen(&kit).len(), all.len() - own.len());
    // Again nothing is to be seen, and that is no error.
    let rows = kit.rows.len();
    assert_eq!(seen(&mut kit, AckOf::Job("j1".to_owned())).unwrap(), []);
    assert_eq!(kit.rows.len(), rows);
    assert!(seen(&mut kit, AckOf::Job("moon".to_owned())).is_err());
    assert_eq!(seen(&mut kit, AckOf::All).unwrap().len(), all.len() - own.len());
    assert_eq!(unseen(&kit), []);
    assert_eq!(seen(&mut kit, AckOf::All).unwrap(), []);
}

#[test]
fn an_alert_that_nothing_else_ends_is_over_when_all_are_seen() {
    let (mut kit, _) = with_alerts();
    let (mut one, _) = with_alerts();
    let all = unseen(&one);
    for id in &all {
        seen(&mut one, AckOf::One(*id)).unwrap();
    }
    seen(&mut kit, AckOf::All).unwrap();
    assert_eq!(kit.bench.alerts.len(), one.bench.alerts.len(), "one by one or all, it is the same");
    let lasting = kit.bench.alerts.values().all(|open| open.alert.kind.nature().ends != Ends::Seen);
    assert!(lasting && kit.bench.alerts.values().all(|open| open.seen));
}

#[test]
fn what_lasts_is_of_the_service_and_no_work_is_an_outage() {
    for kind in AlertKind::ALL {
        assert!(!kind.lasts() || kind.is_of_the_service(), "{kind:?}");
        assert!(!(kind.is_of_a_job() && kind.is_of_the_service()), "{kind:?}: a job is no outage");
    }
    let lasts: Vec<AlertKind> = AlertKind::ALL.into_iter().filter(|kind| kind.lasts()).collect();
    assert!(lasts.contains(&AlertKind::DeviceLost) && lasts.contains(&AlertKind::StreamStopped));
    assert!(!lasts.contains(&AlertKind::RecordDamaged), "known damage is lived with");
    assert!(!AlertKind::Out.is_of_the_service() && !AlertKind::NotProven.is_of_the_service());
}
