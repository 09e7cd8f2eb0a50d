//! Rows as they are stored, read by their number, have the seals of the record.

use std::collections::BTreeSet;
use std::sync::Arc;

use crate::trial::{Home, Rows, as_stored, history, inch, parse, reading};
use crate::{
    Batch, Caller, Callers, Chain, DATABASE, Filter, Made, Origin, PapersAtHand, Reader, Store,
    StoredFact, StoredMore, StoredReading, StoredRow, StoredSeal, Tracks,
};
use bench::Seq;
use bench::row::{Body, Reading, State};
use quantity::Wall;

/// Several jobs that are measured in turn, some closed on the way, for a few thousand rows.
fn long() -> Rows {
    let mut rows = history();
    let mut jobs = Vec::new();
    for number in 0..40 {
        let job = rows.open(&format!("L-{number}"));
        jobs.push((job, rows.begin(job, (0, 0), 1)));
        for turn in 0..200 {
            let (job, attempt) = jobs[turn % jobs.len()];
            rows.touch(job, attempt, u32::try_from(turn % 8).unwrap());
            if turn % 40 == 7 {
                let why = Some("nobody asked".to_owned());
                let free = Reading {
                    state: State::Unclaimed,
                    why,
                    value: inch("0.0031"),
                    ..reading(None, None, 0)
                };
                rows.add(Body::Reading(free));
            }
        }
        if number % 3 == 1 {
            let (job, _) = jobs.remove(number % jobs.len());
            rows.close(job);
        }
    }
    rows
}

/// Everything after a number, in batches.
fn batches(reader: &Reader, after: Seq, most: usize) -> Vec<Batch> {
    let (mut tracks, mut at, mut all) = (Tracks::default(), after, Vec::new());
    loop {
        let batch = reader.stored_after(at, most, &mut tracks).unwrap();
        let Some(last) = batch.rows.last() else { return all };
        assert!(batch.rows.len() <= most);
        at = last.last();
        all.push(batch);
    }
}

/// Takes all batches into a chain that is held against the seals of the record; the seals of blocks.
fn sealed(chain: &mut Chain, batches: &[Batch]) -> Vec<StoredSeal> {
    let mut seals = Vec::new();
    for batch in batches {
        chain.take(&batch.rows);
        chain.compared(&batch.own).unwrap();
        seals.extend(chain.completed());
    }
    seals
}

/// The seals that the record has stored.
fn stored(store: &Store) -> Vec<StoredSeal> {
    let mut statement =
        store.connection().prepare("SELECT block, seal, tags FROM seal ORDER BY block").unwrap();
    let row = |row: &rusqlite::Row<'_>| {
        Ok(StoredSeal { block: row.get(0)?, seal: row.get(1)?, tags: row.get(2)? })
    };
    statement.query_map([], row).unwrap().map(Result::unwrap).collect()
}

/// Whether the rows of a record, read in batches, have its seals, whatever the batches are.
fn agrees(home: &Home, store: &Store) {
    let reader = home.reader();
    for most in [1, 7, 256, 1000, 100_000] {
        let (mut chain, all) = (Chain::default(), batches(&reader, Seq(0), most));
        assert_eq!(sealed(&mut chain, &all), stored(store), "{most} rows at a time");
        assert_eq!(chain.seal(), reader.seal().unwrap());
        let numbers: Vec<Seq> = all.iter().flat_map(|one| &one.rows).map(StoredRow::seq).collect();
        assert!(numbers.is_sorted_by(|one, next| one < next));
        assert_eq!(all.last().unwrap().newest, reader.newest_row().unwrap());
    }
}

#[test]
fn rows_read_by_number_have_the_seals_of_the_record() {
    for rows in [history(), long()] {
        let (home, store) = Home::holding(&rows);
        agrees(&home, &store);
        let all = batches(&home.reader(), Seq(0), 1000);
        let read: usize = all.iter().map(|one| one.rows.len()).sum();
        assert_eq!(read, rows.rows.len());
        for (row, stored) in rows.rows.iter().zip(all.iter().flat_map(|one| &one.rows)) {
            let wall = match stored {
                StoredRow::Fact(fact) => fact.wall,
                StoredRow::Reading(reading) => reading.wall,
                StoredRow::Lost(_) => panic!("nothing was lost"),
            };
            assert_eq!((stored.seq(), wall), (row.seq, row.at.wall.micros()));
        }
    }
}

#[test]
fn a_chain_begins_anywhere_and_goes_on_to_the_same_end() {
    let (home, store) = Home::holding(&long());
    let reader = home.reader();
    let all: Vec<StoredRow> =
        batches(&reader, Seq(0), 100_000).into_iter().flat_map(|one| one.rows).collect();
    let mut along = Chain::default();
    for (nth, row) in all.iter().enumerate() {
        along.take([row]);
        let near = nth % 997 == 0 || (nth < 600 && [0, 1, 254, 255].contains(&(row.seq().0 % 256)));
        if near || nth + 3 > all.len() {
            let at = reader.chain_at(row.seq()).unwrap().unwrap();
            assert_eq!(
                (at.last(), at.head(), at.tags()),
                (along.last(), along.head(), along.tags())
            );
            let mut on = Chain::after(at.last(), at.head(), at.tags().to_vec());
            let seals = sealed(&mut on, &batches(&reader, row.seq(), 5000));
            assert!(stored(&store).ends_with(&seals));
            assert_eq!(on.seal(), reader.seal().unwrap());
        }
    }
    assert_eq!(reader.chain_at(along.last().next()).unwrap(), None);
    assert_eq!(reader.chain_at(Seq(0)).unwrap(), Some(Chain::default()));
}

#[test]
fn the_tail_is_read_as_the_record_grows() {
    let rows = long();
    let (home, mut store) = Home::holding(&Rows::default());
    let (mut tracks, mut chain) = (Tracks::default(), Chain::default());
    let mut at = 0;
    for step in [1, 300, 1, 1, 6000, 2, 1, 50].into_iter().cycle() {
        let to = (at + step).min(rows.rows.len());
        if at == to {
            break;
        }
        store.commit(&rows.rows[at..to], &[]).unwrap();
        let reader = home.reader();
        let batch = reader.stored_after(chain.last(), 100_000, &mut tracks).unwrap();
        assert_eq!(batch.rows.len(), to - at);
        chain.take(&batch.rows);
        chain.compared(&batch.own).unwrap();
        assert!(chain.completed().len() <= 30);
        assert_eq!(chain.seal(), reader.seal().unwrap());
        at = to;
    }
}

/// A record that was put back to an earlier state and went on: the rows between are missing.
#[test]
fn rows_that_are_missing_are_a_row() {
    for lost in [3, 700] {
        let mut rows = history();
        let home = Home::new();
        let (mut store, _) = home.open();
        store.commit(&rows.rows, &[]).unwrap();
        drop(store);
        let (file, kept) = (home.0.path().join(DATABASE), home.0.path().join("kept"));
        std::fs::copy(&file, &kept).unwrap();
        let job = *rows.bench.jobs.keys().next_back().unwrap();
        let before = rows.rows.len();
        for number in 0..lost {
            rows.add(Body::Noted { job, text: format!("gone {number}") });
        }
        let (mut store, _) = home.open();
        store.commit(&rows.rows[before..], &[]).unwrap();
        drop(store);
        std::fs::copy(&kept, &file).unwrap();
        std::fs::remove_file(&kept).unwrap();
        let (mut store, _) = home.open();
        agrees(&home, &store);
        let first = Seq(u64::try_from(before).unwrap() + 1);
        let chain = home.reader().chain_at(first).unwrap().unwrap();
        assert_eq!((chain.last(), chain.seal()), (rows.bench.last, store.seal()));
        let after = rows.rows.len();
        for number in 0..400 {
            rows.add(Body::Noted { job, text: format!("here {number}") });
        }
        store.commit(&rows.rows[after..], &[]).unwrap();
        agrees(&home, &store);
        let batch = home.reader().stored_after(first, 1, &mut Tracks::default()).unwrap();
        assert_eq!(batch.rows[0].seq(), Seq(u64::try_from(after).unwrap() + 1));
    }
}

#[test]
fn what_was_changed_on_the_way_is_noticed() {
    let (home, _store) = Home::holding(&long());
    let batch = home.reader().stored_after(Seq(0), 100_000, &mut Tracks::default()).unwrap();
    let compared = |change: &dyn Fn(&mut StoredRow), at: usize| {
        let (mut chain, mut rows) = (Chain::default(), batch.rows.clone());
        change(&mut rows[at]);
        chain.take(&rows);
        chain.compared(&batch.own)
    };
    let of = |is: fn(&StoredRow) -> bool| batch.rows.iter().rposition(is).unwrap();
    let (fact, read) = (
        of(|row| matches!(row, StoredRow::Fact(_))),
        of(|row| matches!(row, StoredRow::Reading(_))),
    );
    compared(&|_| {}, 0).unwrap();
    let fact_changes: [fn(&mut StoredFact); 11] = [
        |one| one.wall += 1,
        |one| one.mono += 1,
        |one| one.by_whom = Some("Ida".to_owned()),
        |one| one.job = Some(one.job.unwrap_or(0) + 1),
        |one| one.attempt = Some(one.attempt.unwrap_or(0) + 1),
        |one| one.about = Some(77),
        |one| one.key = Some("other".to_owned()),
        |one| one.line = Some(77),
        |one| one.kind.push('x'),
        |one| one.body.push(' '),
        |one| one.seq += 0x100_0000,
    ];
    for change in fact_changes {
        let off = compared(
            &|row| {
                if let StoredRow::Fact(one) = row {
                    change(one);
                }
            },
            fact,
        );
        off.unwrap_err();
    }
    let reading_changes: [fn(&mut StoredReading); 10] = [
        |one| one.back += 1,
        |one| one.number += 1,
        |one| one.mono += 1,
        |one| one.drift += 1,
        |one| one.place += 1,
        |one| one.as_sent.push('0'),
        |one| one.more = Some(StoredMore { line: Some(1), ..Default::default() }),
        |one| Arc::make_mut(&mut one.form).gauge.push('x'),
        |one| Arc::make_mut(&mut one.form).places += 1,
        |one| one.job += 1,
    ];
    for change in reading_changes {
        let off = compared(
            &|row| {
                if let StoredRow::Reading(one) = row {
                    change(one);
                }
            },
            read,
        );
        off.unwrap_err();
    }
}

#[test]
fn what_stands_beside_rows_comes_along_once() {
    let (from, _store) = Home::holding(&history());
    let handed = from.reader().handover("S-1042").unwrap();
    let (home, mut store) = Home::holding(&Rows::default());
    let caller = Caller { uid: 7, pid: 70, login: Some("ada".to_owned()), elsewhere: false };
    let mut callers = Callers::new();
    for row in handed.rows.iter().step_by(2) {
        callers.insert(row.seq, caller.clone());
    }
    let origin = Origin { wall: Wall::from_micros(1_900_000_000_000_000), digest: [9; 32] };
    store.import((&handed.rows, &callers), origin, &as_stored).unwrap();
    agrees(&home, &store);
    let count = |table: &str| -> usize {
        let sql = format!("SELECT count(*) FROM {table}");
        let rows: i64 = store.connection().query_row(&sql, [], |row| row.get(0)).unwrap();
        rows.try_into().unwrap()
    };
    let all = batches(&home.reader(), Seq(0), 3);
    let sum = |of: fn(&Batch) -> usize| all.iter().map(of).sum::<usize>();
    assert_eq!(sum(|one| one.beside.callers.len()), count("caller"));
    assert_eq!(sum(|one| one.beside.runs.len()), count("import_run"));
    assert_eq!(sum(|one| one.beside.imports.len()), 1);
    let texts: BTreeSet<[u8; 32]> =
        all.iter().flat_map(|one| &one.beside.texts).map(|text| text.digest).collect();
    assert_eq!(texts.len(), count("pinned"));
    let papers = batches(&from.reader(), Seq(0), 5);
    assert_eq!(papers.iter().map(|one| one.beside.papers.len()).sum::<usize>(), 2);
}

/// A record made again of all rows of another.
fn made_again(from: &Reader, to: &std::path::Path) {
    let (mut made, mut chain) = (Made::in_file(to).unwrap(), Chain::default());
    for batch in batches(from, Seq(0), 900) {
        chain.take(&batch.rows);
        made.take(&batch.rows, &batch.beside).unwrap();
        made.seals(&chain.completed()).unwrap();
    }
    made.finished(&chain, parse).unwrap();
}

#[test]
fn a_record_made_of_its_rows_is_the_same_record() {
    for rows in [history(), long(), Rows::default()] {
        let (home, store) = Home::holding(&rows);
        let (reader, folder) = (home.reader(), tempfile::tempdir().unwrap());
        let file = folder.path().join("again.db");
        made_again(&reader, &file);
        let again = Reader::open_with(&file, parse).unwrap();
        let found = again.verify(&as_stored).unwrap();
        assert_eq!(found.differences, []);
        assert_eq!(found.rows, rows.rows.len() as u64);
        assert_eq!(again.seal().unwrap(), store.seal());
        assert_eq!(again.all_rows().unwrap(), reader.all_rows().unwrap());
        for job in reader.jobs().unwrap() {
            let name = job.name.as_str();
            assert_eq!(again.handover(name).unwrap(), reader.handover(name).unwrap());
        }
        Made::in_file(&file).unwrap_err();
    }
}

#[test]
fn some_rows_in_memory_answer_as_the_record_does() {
    let (home, _store) = Home::holding(&history());
    let reader = home.reader();
    let all = batches(&reader, Seq(0), 100_000).pop().unwrap();
    let last = reader.newest_row().unwrap();
    for job in reader.jobs().unwrap() {
        let of_it = |row: &&StoredRow| match row {
            StoredRow::Fact(fact) => {
                let alert = fact.about.and_then(|about| {
                    all.rows.iter().find(|row| row.seq().0 == about.unsigned_abs())
                });
                let of = alert.and_then(|row| match row {
                    StoredRow::Fact(fact) => fact.job,
                    StoredRow::Reading(_) | StoredRow::Lost(_) => None,
                });
                [fact.job, of].contains(&Some(job.id.0.cast_signed())) || fact.kind == "file-taken"
            }
            StoredRow::Reading(reading) => reading.job == job.id.0.cast_signed(),
            StoredRow::Lost(_) => false,
        };
        let rows: Vec<StoredRow> = all.rows.iter().filter(of_it).cloned().collect();
        let mut made = Made::in_memory("the shop").unwrap();
        made.take(&rows, &all.beside).unwrap();
        let head = reader.chain_at(last).unwrap().unwrap().head();
        let slice = made.opened_with((last, head), PapersAtHand::default(), parse).unwrap();
        let of = Filter { job: Some(job.name.to_string()), all: true, ..Filter::default() };
        assert_eq!(slice.readings(&of).unwrap(), reader.readings(&of).unwrap());
        assert_eq!(slice.verdicts(&of).unwrap(), reader.verdicts(&of).unwrap());
        assert_eq!(slice.alerts(&of).unwrap(), reader.alerts(&of).unwrap());
        assert_eq!(slice.jobs().unwrap(), std::slice::from_ref(&job));
        assert_eq!(slice.seal_of(job.name.as_str()).unwrap(), reader.seal().unwrap());
        assert_eq!(slice.left_out(), []);
        let paper = &all.beside.papers[0].attached.paper;
        assert_eq!(slice.paper(paper).unwrap(), Err(crate::PaperWrong::Missing));
    }
}
