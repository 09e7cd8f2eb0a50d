//! The chain of seals: whatever value of a row changes, or of a seal, it is found; a seal that was printed
//! before proves it, and no text that is none is taken for one.

use std::fs;
use std::path::Path;

use ::record::{Callers, DATABASE, Origin, Progress, Reader, Seal, Store};
use bench::row::Body;
use bench::{Row, judge};
use config::parse_plan;
use proptest::prelude::*;
use quantity::{Stamp, Wall};
use rusqlite::Connection;
use rusqlite::types::Value;
use wire::RecordLines;

use crate::mutate::tried;

/// Tables that seals guard, and the seals themselves.
const TABLES: [&str; 6] = ["fact", "reading", "reading_more", "form", "seal", "counter"];

fn parse(text: &str) -> Result<bench::plan::Plan, String> {
    parse_plan(text, "plan").map_err(|_| "no plan".to_owned())
}

/// A record with a job that was handed over and remarks over some blocks, and the seal after them.
fn record(folder: &Path) -> Seal {
    let text = fs::read_to_string("fixtures/bundles/record.jsonl").unwrap();
    let mut lines = RecordLines::new(parse);
    let rows: Vec<Row> = text.lines().map(|line| lines.take(line).unwrap().0).collect();
    let (mut store, back) = Store::open_with(folder, parse).unwrap();
    let origin = Origin { wall: Wall::from_micros(1), digest: [7; 32] };
    store.import((&rows, &Callers::new()), origin, &judge).unwrap();
    let name = lines.job().unwrap().to_string();
    let job = Reader::open_with(folder, parse).unwrap().job(&name).unwrap().id;
    let first = back.last.0 + rows.len() as u64 + 1;
    let more = (first..first + 600).map(|seq| {
        let wall = Wall::from_micros(i64::try_from(seq).unwrap());
        let body = Body::Noted { job, text: format!("remark {seq}") };
        let at = Stamp { wall, mono_us: seq };
        Row { seq: bench::Seq(seq), at, by: None, body, restored: None }
    });
    let more: Vec<Row> = more.collect();
    for some in more.chunks(50) {
        store.commit(some, &[]).unwrap();
    }
    let seal = store.seal().unwrap();
    store.close().unwrap();
    seal
}

/// Another value in the place of one.
fn other(was: &Value, by: u64) -> Value {
    match was {
        Value::Integer(was) => Value::Integer(was.wrapping_add_unsigned(by % 1000 + 1)),
        Value::Text(was) => Value::Text(format!("{was}{}", by % 10)),
        Value::Blob(was) => {
            let mut bytes = was.clone();
            bytes.push(0);
            let at = usize::try_from(by).unwrap_or(0) % bytes.len();
            bytes[at] ^= 1 << (by % 8);
            Value::Blob(bytes)
        }
        Value::Null | Value::Real(_) => Value::Integer(5),
    }
}

/// Changes one value; whether the database let that be done.
fn change(file: &Connection, table: &str, (row, column, by): (u64, u64, u64)) -> bool {
    let columns = file.prepare(&format!("SELECT * FROM {table}")).unwrap();
    let columns: Vec<String> = columns.column_names().map(str::to_owned).collect();
    let column = &columns[usize::try_from(column).unwrap_or(0) % columns.len()];
    let count: u32 =
        file.query_row(&format!("SELECT count(*) FROM {table}"), [], |row| row.get(0)).unwrap();
    if count == 0 {
        return false;
    }
    let key = if table == "reading" { "(job, nth)" } else { "rowid" };
    let keys = if table == "reading" { "job, nth" } else { "rowid" };
    let place =
        format!("{key} = (SELECT {keys} FROM {table} LIMIT 1 OFFSET {})", row % u64::from(count));
    let sql = format!("SELECT {column} FROM {table} WHERE {place}");
    let was: Value = file.query_row(&sql, [], |row| row.get(0)).unwrap();
    let sql = format!("UPDATE {table} SET {column} = ?1 WHERE {place}");
    file.execute(&sql, [other(&was, by)]).is_ok()
}

#[test]
fn seals_of_a_record() {
    let folder = tempfile::tempdir().unwrap();
    let seal = record(folder.path());
    let whole = fs::read(folder.path().join(DATABASE)).unwrap();
    let path = folder.path().join("changed.db");
    let found = |path: &Path| {
        let reader = Reader::open_with(path, parse).map_err(|error| error.to_string())?;
        let found = reader.verify_sealed(&judge, Some(&seal), &Progress::default());
        found.map_err(|error| error.to_string())
    };
    fs::write(&path, &whole).unwrap();
    let well = found(&path).unwrap();
    assert_eq!((well.differences, well.sealed), (Vec::new(), Some(true)));
    let any = (0..TABLES.len(), any::<(u64, u64, u64)>());
    tried("seals", &any, |(table, at)| {
        fs::write(&path, &whole).unwrap();
        let file = Connection::open(&path).unwrap();
        let changed = change(&file, TABLES[table], at);
        file.close().unwrap();
        let (what, found) = (TABLES[table], found(&path));
        if let Ok(found) = found {
            prop_assert_eq!(found.differences.is_empty(), !changed, "{} {:?}", what, at);
            let is_row = !["seal", "counter"].contains(&what);
            if changed && is_row {
                prop_assert_eq!(found.sealed, Some(false), "{} {:?}", what, at);
            }
            // A seal that is not as it was is no row that is not as it was.
            if what == "seal" {
                prop_assert_eq!(found.sealed, Some(true), "{:?}", at);
            }
        }
        Ok(())
    });
}

#[test]
fn seals_on_paper() {
    let digits = "[0-9a-fA-F+ -]{0,45}";
    tried("seals on paper", &(any::<u64>(), digits), |(row, digits)| {
        for text in [format!("{row}-{digits}"), digits.clone(), format!("{row} {digits}x")] {
            match text.parse::<Seal>() {
                Ok(seal) => {
                    prop_assert_eq!(seal.to_string().parse(), Ok(seal));
                    let plain = |text: &str| text.replace([' ', '-'], "").to_lowercase();
                    prop_assert_eq!(plain(&seal.to_string()), plain(&text));
                }
                Err(why) => prop_assert!(why.contains("is not a seal"), "{why}"),
            }
        }
        Ok(())
    });
}
