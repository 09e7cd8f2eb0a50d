//! Single bytes of a record are changed, and the check of the record must not overlook it.

use std::fs;
use std::path::Path;

use ::record::{Filter, Reader};
use bench::{Row, judge};

use super::shop::{Shop, shop};
use crate::rig::Dice;

/// All that can be read out of a record.
#[derive(Debug, PartialEq)]
struct All {
    rows: Vec<Row>,
    text: String,
}

fn all(reader: &Reader) -> Result<All, String> {
    let said = |error: ::record::StoreError| error.to_string();
    let filter = Filter { all: true, ..Filter::default() };
    let text = format!(
        "{:?}{:?}{:?}{:?}{:?}",
        reader.readings(&filter).map_err(said)?,
        reader.verdicts(&filter).map_err(said)?,
        reader.alerts(&filter).map_err(said)?,
        reader.jobs().map_err(said)?,
        reader.feed_since(0, 9999).map_err(said)?,
    );
    Ok(All { rows: reader.all_rows().map_err(said)?, text })
}

/// What became of a changed record: told, or not, and then all that is read is as before.
#[derive(Debug, PartialEq)]
enum Fate {
    Unreadable(String),
    Told(Vec<(Option<String>, Option<u64>, String)>),
    Well,
}

fn fate(path: &Path, before: &All) -> Fate {
    let reader = match Reader::open(path) {
        Ok(reader) => reader,
        Err(error) => return Fate::Unreadable(error.to_string()),
    };
    let found = match reader.verify(&judge) {
        Ok(found) => found,
        Err(error) => return Fate::Unreadable(error.to_string()),
    };
    if found.differences.is_empty() {
        let after = all(&reader);
        assert_eq!(after.as_ref(), Ok(before), "all is well, and something else is read");
        return Fate::Well;
    }
    let told = |one: ::record::Difference| (one.table, one.row.map(|row| row.0), one.what);
    Fate::Told(found.differences.into_iter().map(told).collect())
}

/// A record at rest, and all that is in it.
fn at_rest() -> (Shop, Vec<u8>, All) {
    let Shop { mut bench } = shop();
    bench.stop();
    let path = bench.path("state/tenths.db");
    let before = all(&Reader::open(&path).unwrap()).unwrap();
    assert!(before.rows.len() > 60 && before.text.len() > 9999);
    let bytes = fs::read(&path).unwrap();
    (Shop { bench }, bytes, before)
}

/// A place on a page, rarely where there is nothing near it.
fn used(bytes: &[u8], page: usize, dice: &mut Dice) -> usize {
    for _ in 0..40 {
        let place = page + usize::try_from(dice.below(4096)).unwrap();
        let near = &bytes[place.saturating_sub(3)..(place + 4).min(bytes.len())];
        if near.iter().any(|byte| *byte != 0) {
            return place;
        }
    }
    page + usize::try_from(dice.below(4096)).unwrap()
}

#[test]
fn no_changed_byte_is_overlooked_wherever_it_is() {
    let (shop, bytes, before) = at_rest();
    let path = shop.bench.path("changed.db");
    let mut dice = Dice::seeded(20_270_301);
    let (mut told, mut unreadable, mut well) = (0, 0, 0);
    let pages = bytes.len() / 4096;
    for round in 0..400_usize {
        // Every page in turn, the first one more often.
        let page = if round % 20 == 0 { 0 } else { round % pages };
        let place = used(&bytes, page * 4096, &mut dice);
        let mut changed = bytes.clone();
        changed[place] ^= 1 << dice.below(8);
        fs::write(&path, &changed).unwrap();
        match fate(&path, &before) {
            Fate::Told(_) => told += 1,
            Fate::Unreadable(why) => {
                assert!(!why.is_empty());
                unreadable += 1;
            }
            Fate::Well => well += 1,
        }
    }
    assert!(told > 40 && well > 40, "{told} told, {unreadable} unreadable, {well} without effect");
}

/// Where a text stands in the file.
fn places(bytes: &[u8], text: &[u8]) -> Vec<usize> {
    bytes.windows(text.len()).enumerate().filter(|(_, at)| *at == text).map(|(at, _)| at).collect()
}

#[test]
fn a_changed_payload_of_any_table_is_named() {
    let (shop, bytes, before) = at_rest();
    let path = shop.bench.path("changed.db");
    for (table, text) in [
        ("reading", "+0.00013"),
        ("plan", "What is left of the plan"),
        ("job", "Sons"),
        ("pin", "\"kind\":\"indicator\""),
        ("attempt_remark", "face b down"),
        ("mark", "chip\\nunder"),
        ("verdict", "\"taken\":8"),
        ("verdict", "does-not-conform"),
        ("alert", "mostly tilt"),
        ("step", "goes on tomorrow"),
        ("step", "job-reopened"),
        ("file", "ring.csv"),
        ("form", "keyed"),
        ("feed", "verdict"),
    ] {
        let found = places(&bytes, text.as_bytes());
        // A place on a page that nobody uses any more has no effect; one at least is in use.
        let mut told = 0;
        for at in &found {
            let mut changed = bytes.clone();
            changed[at + text.len() / 2] ^= 1;
            fs::write(&path, &changed).unwrap();
            match fate(&path, &before) {
                Fate::Told(what) => {
                    let named = what.iter().any(|(table, row, _)| table.is_some() || row.is_some());
                    assert!(named, "{table} {text}: {what:?}");
                    told += 1;
                }
                Fate::Unreadable(_) | Fate::Well => {}
            }
        }
        assert!(told > 0, "{table}: {text} at {found:?}");
    }
}

#[test]
fn numbers_of_readings_are_found_and_named_even_where_no_verdict_rests_on_them() {
    let (shop, bytes, before) = at_rest();
    let path = shop.bench.path("changed.db");
    let place = |sent: &str| {
        let of = |row: &&Row| matches!(&row.body, bench::Body::Reading(one) if one.as_sent == sent);
        before.rows.iter().find(of).unwrap().seq.0
    };
    // An unclaimed reading before any job, one taken back, and one that a verdict rests on.
    for (sql, sent) in [
        ("UPDATE reading SET number = number + 1 WHERE job = 0", "+0.00001"),
        ("UPDATE reading SET number = number + 1 WHERE as_sent = '0.00900'", "0.00900"),
        ("UPDATE reading SET number = number + 1 WHERE as_sent = '-0.00013'", "-0.00013"),
        ("UPDATE reading SET place = place + 8 WHERE as_sent = '0.00900'", "0.00900"),
        ("UPDATE reading SET mono = mono + 1 WHERE as_sent = '0.00900'", "0.00900"),
    ] {
        fs::write(&path, &bytes).unwrap();
        let change = rusqlite::Connection::open(&path).unwrap();
        assert_eq!(change.execute(sql, []).unwrap(), 1, "{sql}");
        change.close().unwrap();
        let output = shop.bench.run(&["verify", path.to_str().unwrap()]);
        let text = String::from_utf8(output.stdout).unwrap();
        assert_eq!(output.status.code(), Some(1), "{text}");
        let row = place(sent);
        let expected = format!("DIFFERENT  reading, row {row}: it is not as it was stored");
        assert!(text.contains(&expected), "{sql}: {text}");
        let lines = shop.bench.run(&["verify", path.to_str().unwrap(), "--json"]).stdout;
        let line: serde_json::Value = serde_json::from_slice(&lines).unwrap();
        assert_eq!(
            line["differences"]
                .as_array()
                .unwrap()
                .iter()
                .filter(|one| one["row"] == row && one["table"] == "reading")
                .count(),
            1
        );
    }
}

#[test]
fn without_seals_no_change_of_a_reading_makes_the_check_fall_over() {
    let (shop, bytes, _) = at_rest();
    let path = shop.bench.path("changed.db");
    let mut dice = Dice::seeded(3);
    for round in 0..60 {
        fs::write(&path, &bytes).unwrap();
        let change = rusqlite::Connection::open(&path).unwrap();
        let number = match round % 3 {
            0 => i64::MAX - i64::try_from(dice.below(9)).unwrap(),
            1 => -i64::MAX,
            _ => i64::try_from(dice.below(1 << 31)).unwrap() << dice.below(31),
        };
        let at = dice.below(20);
        let form = if round % 2 == 0 { "counts = 'pm'" } else { "counts = counts" };
        change
            .execute_batch(&format!(
                "UPDATE counter SET head = zeroblob(32), tags = x'';
                 DELETE FROM seal; UPDATE form SET {form};
                 UPDATE reading SET number = {number} WHERE nth % 20 = {at}"
            ))
            .unwrap();
        change.close().unwrap();
        // Whether it is found depends on what the readings are for; falling over is never right.
        let found = Reader::open(&path).unwrap().verify(&judge).unwrap();
        assert!(!found.differences.is_empty(), "seals that are gone are a difference");
    }
}
