//! Dropped files: taken as a whole or not at all, with the row that is wrong.

use std::collections::BTreeSet;
use std::sync::Arc;

use crate::event::{DroppedFile, Event};
use crate::fact::row::{AlertKind, Body, FileSeen, Source, State};
use crate::reply::Notice;
use crate::tests::kit::{Kit, face, name};
use gauge::{FileRow, FileRows, RowFault, Tag};
use judgement::Word;
use quantity::{Quoted, Unit};

/// A file of rows for one check of the job, each with its position where it has one.
pub(super) fn file(check: &str, rows: &[(Option<u32>, &str)]) -> DroppedFile {
    let bytes = rows.iter().map(|(_, value)| *value).chain([""]).collect::<Vec<_>>().join("\n");
    let mut start = 0;
    let row = |(line, (position, value)): (u32, &(Option<u32>, &str))| {
        let length = u32::try_from(value.len()).unwrap();
        let row = FileRow {
            line,
            tag: 0,
            value: Quoted::parse(value, Unit::Inch).unwrap(),
            position: *position,
            time: None,
            start,
            length,
        };
        start += length + 1;
        row
    };
    let tag = Tag {
        job: Some("j1".to_owned()),
        part: Some("ring".to_owned()),
        check: Some(check.to_owned()),
    };
    let found: Vec<FileRow> = (1..).zip(rows).map(row).collect();
    DroppedFile {
        seen: FileSeen {
            drop: name("logger"),
            name: "ring.csv".to_owned(),
            digest: [1; 32],
            bytes: bytes.len().try_into().unwrap(),
            rows: found.len().try_into().unwrap(),
            series: [2; 32],
            went: [3; 32],
            why: String::new(),
        },
        gauge: name("plate"),
        bytes: Arc::new(bytes.into_bytes()),
        rows: Arc::new(FileRows { tags: vec![tag], rows: found }),
        bad: Vec::new(),
        given_before: 0,
        before: Vec::new(),
        to_active: false,
        known: false,
        same: None,
        closed_jobs: BTreeSet::new(),
    }
}

pub(super) fn dropped(kit: &mut Kit, file: DroppedFile) -> Vec<Notice> {
    kit.event(&Event::File(Box::new(file))).notices
}

/// What stands in the record of why files were refused.
pub(super) fn refused(kit: &Kit) -> Vec<String> {
    let why = |row: &crate::Row| {
        let Body::FileRefused(seen) = &row.body else { return None };
        Some(seen.why.clone())
    };
    kit.rows.iter().filter_map(why).collect()
}

const ROUND: [(Option<u32>, &str); 8] = [
    (Some(0), "0"),
    (Some(1), "0.00001"),
    (Some(2), "0.00002"),
    (Some(3), "0.00002"),
    (Some(4), "0.00001"),
    (Some(5), "0"),
    (Some(6), "0"),
    (Some(7), "0"),
];

#[test]
fn a_whole_ring_is_taken_and_judged() {
    let mut kit = Kit::new(vec![face("face")]);
    let told = dropped(&mut kit, file("face", &ROUND));
    let taken = Notice::FileTaken { drop: name("logger"), name: "ring.csv".to_owned(), rows: 8 };
    assert_eq!(told, [taken]);
    assert_eq!((kit.verdict().word, kit.verdict().taken), (Word::Conforms, 8));
    let positions: Vec<_> = kit.readings().iter().map(|(_, one)| one.position).collect();
    assert_eq!(positions, ROUND.map(|(position, _)| position));
    let lines = kit.readings().into_iter().map(|(_, one)| match one.source {
        Source::Drop { line, .. } => line,
        Source::Serial | Source::Keyed => 0,
    });
    assert_eq!(lines.collect::<Vec<_>>(), [1, 2, 3, 4, 5, 6, 7, 8]);
}

#[test]
fn a_row_that_cannot_be_taken_refuses_the_file_and_is_named() {
    let none = "there is no position 8; they run 0 to 7";
    let twice = "position 3 is filled already";
    for (position, why) in [(8, none), (3, twice)] {
        let mut kit = Kit::new(vec![face("face")]);
        let mut rows = ROUND;
        rows[7].0 = Some(position);
        let told = dropped(&mut kit, file("face", &rows));
        let why = format!("line 8: {why}");
        let (drop, name) = (name("logger"), "ring.csv".to_owned());
        assert_eq!(told, [Notice::FileRefused { drop, name, why: why.clone() }]);
        assert_eq!(refused(&kit), std::slice::from_ref(&why), "the record says why");
        let alert = format!("ring.csv refused, nothing taken: {why}");
        assert_eq!(kit.alerts(AlertKind::FileRefused), [alert]);
        assert!(kit.readings().is_empty() && kit.job().attempts.is_empty(), "nothing is taken");
        dropped(&mut kit, file("face", &ROUND));
        assert_eq!(kit.alerts(AlertKind::FileRefused), Vec::<String>::new(), "it is put right");
    }
}

#[test]
fn of_many_rows_that_cannot_be_taken_the_first_is_told_and_the_others_are_counted() {
    let mut kit = Kit::new(vec![face("face")]);
    let mut many = file("face", &ROUND);
    many.bad = (2..5).map(|line| RowFault { line, what: "no number".to_owned() }).collect();
    dropped(&mut kit, many);
    let told = "ring.csv refused, nothing taken: line 2: no number (2 more)";
    assert_eq!(kit.alerts(AlertKind::FileRefused), [told]);
    assert_eq!(refused(&kit), ["line 2: no number\nline 3: no number\nline 4: no number"]);
}

#[test]
fn rows_without_positions_fill_the_ring_in_order_and_close_it() {
    let mut check = face("face");
    check.closure = true;
    let mut kit = Kit::new(vec![check]);
    let rows = [(None, "0"); 9];
    dropped(&mut kit, file("face", &rows));
    assert_eq!(kit.states().last(), Some(&State::Closure));
    assert_eq!((kit.verdict().word, kit.verdict().taken), (Word::Conforms, 8));
    // A second touch at position 0 is the closure, too.
    let mut rows: Vec<_> = ROUND.to_vec();
    rows.push((Some(0), "0"));
    dropped(&mut kit, DroppedFile { ..file("face", &rows) });
    assert_eq!(kit.states().last(), Some(&State::Closure));
}
