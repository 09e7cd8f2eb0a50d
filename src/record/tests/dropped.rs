//! The look-ups of dropped files, compared with a search of all of them.

use std::sync::Arc;

use crate::trial::{Home, Rows, history};
use crate::{FileHistory, FileLook, Store};
use bench::row::{Body, FileSeen};
use quantity::Name;

fn seen(drop: &str, name: &str, text: &str, went: u8) -> FileSeen {
    let head = text.lines().nth(1).map_or(0, |row| row.len() + text.lines().next().unwrap().len());
    FileSeen {
        drop: Name::new(drop).unwrap(),
        name: name.to_owned(),
        digest: *blake3::hash(text.as_bytes()).as_bytes(),
        bytes: text.len() as u64,
        rows: u32::try_from(text.lines().count().saturating_sub(1)).unwrap(),
        series: *blake3::hash(&text.as_bytes()[..head]).as_bytes(),
        went: [went; 32],
        why: String::new(),
    }
}

fn known(store: &Store, seen: &FileSeen, text: &str) -> FileHistory {
    let bytes = text.as_bytes();
    store.file_history(FileLook { seen, bytes, renamed_from: None }).unwrap()
}

fn store_of(files: &[FileSeen]) -> (Home, Store, Vec<bench::Seq>) {
    let mut rows: Rows = history();
    let add = |file: &FileSeen| {
        let refused = !file.why.is_empty();
        let file = Arc::new(file.clone());
        rows.add(if refused { Body::FileRefused(file) } else { Body::FileTaken(file) })
    };
    let numbers = files.iter().map(add).collect();
    let (home, store) = Home::holding(&rows);
    (home, store, numbers)
}

#[test]
fn a_file_is_the_same_by_its_bytes_and_by_where_its_rows_go() {
    let text = "V\n1\n2\n";
    let refused = FileSeen { why: "no job".to_owned(), ..seen("d", "b.csv", text, 1) };
    let (_home, store, _) = store_of(&[seen("d", "a.csv", text, 1), refused]);
    let of = |drop, name, went| known(&store, &seen(drop, name, text, went), text);
    let same = of("d", "c.csv", 1);
    assert_eq!(same.same.map(|same| same.name).as_deref(), Some("a.csv"));
    assert!(!same.itself && same.refused.is_none());
    let other = of("d", "c.csv", 2);
    assert!(other.same.is_none() && other.twin.is_some(), "another place");
    assert!(of("d", "a.csv", 1).itself && !of("e", "a.csv", 1).itself);
    assert_eq!(of("d", "b.csv", 1).refused.as_deref(), Some("no job"));
    assert!(of("e", "b.csv", 1).refused.is_none());
}

#[test]
fn the_longest_earlier_file_is_found_as_by_a_search_of_all() {
    let mut dice = 7_u64;
    let mut draw = move |below: u64| {
        dice = dice.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (dice >> 33) % below
    };
    let mut text_of = || {
        let rows = 1 + draw(6);
        let mut text = "V\n".to_owned();
        for _ in 0..rows {
            text += if draw(3) == 0 { "2\n" } else { "1\n" };
        }
        text
    };
    let texts: Vec<String> = (0..60).map(|_| text_of()).collect();
    let files: Vec<FileSeen> =
        texts.iter().enumerate().map(|(n, text)| seen("d", &format!("{n}.csv"), text, 1)).collect();
    let (_home, store, _) = store_of(&files[..40]);
    for text in &texts {
        let begins = |before: &&String| before.len() < text.len() && text.starts_with(*before);
        let longest = texts[..40].iter().filter(begins).map(String::len).max();
        let found = known(&store, &seen("d", "new.csv", text, 1), text).grown;
        assert_eq!(found.map(|grown| grown.bytes), longest.map(|length| length as u64), "{text:?}");
    }
}

#[test]
fn what_lay_under_the_name_is_found_where_it_changed_or_was_cut_in_its_first_row() {
    let files = [seen("d", "a.csv", "V\n1\n", 1), seen("d", "a.csv", "V\n1\n2\n", 1)];
    let (_home, store, numbers) = store_of(&files);
    let of = |name, text: &str| known(&store, &seen("d", name, text, 1), text);
    let changed = of("a.csv", "V\n3\n2\n4\n");
    assert_eq!((changed.before, changed.grown), (vec![numbers[1], numbers[0]], None));
    let grown = of("a.csv", "V\n1\n2\n4\n");
    assert_eq!((grown.before.len(), grown.grown.map(|grown| grown.rows)), (0, Some(2)));
    assert_eq!(of("b.csv", "V\n3\n").before, []);
    let (_home, store, _) = store_of(&[seen("d", "a.csv", "V\n1.5", 1)]);
    let went_on = known(&store, &seen("d", "a.csv", "V\n1.50012\n", 1), "V\n1.50012\n");
    assert_eq!(went_on.grown.map(|grown| grown.bytes), Some(5));
}

#[test]
fn no_look_up_walks_through_all_files() {
    let (_home, store, _) = store_of(&[]);
    let plan = |sql: &str| -> String {
        let conn = store.connection();
        let mut statement = conn.prepare(&format!("EXPLAIN QUERY PLAN {sql}")).unwrap();
        let lines = statement.query_map([], |row| row.get::<_, String>(3)).unwrap();
        lines.map(Result::unwrap).collect::<Vec<_>>().join("; ")
    };
    for sql in [
        "SELECT f.* FROM found w JOIN fact f ON f.seq = w.fact
         WHERE w.word BETWEEN x'00' AND x'01' ORDER BY w.word DESC, w.fact DESC LIMIT 1",
        "SELECT word FROM found WHERE word >= x'00' AND word < x'01' ORDER BY word DESC LIMIT 1",
    ] {
        let plan = plan(sql);
        let by_key = plan.contains("PRIMARY KEY (word>? AND word<?)");
        assert!(by_key && !plan.contains("TEMP B-TREE"), "{sql}: {plan}");
    }
}
