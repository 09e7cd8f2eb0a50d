//! What is done with the record while the service is down: an older copy is restored, or a job of another
//! bench is imported. Also the copies that are made while it runs.

use std::cell::RefCell;
use std::collections::{BTreeMap, VecDeque};
use std::path::PathBuf;
use std::rc::Rc;

use super::happenings::happen;
use super::world::World;
use crate::reload::parse_pinned_plan;
use ::record::{
    Caller, Callers, Handover, ImportError, Origin, Progress, Reader, Restored, Store, restore,
};
use bench::row::Body;
use bench::{Bench, Row, Seq, judge};
use wire::{RecordLines, record_line};

/// The steps of work on the other bench whose jobs are imported.
const STEPS_ELSEWHERE: u32 = 150;

/// The most copies and bundles that are kept.
const KEPT: usize = 4;

/// What can be restored and imported.
#[derive(Default)]
pub(super) struct Handing {
    copies: Vec<Copy>,
    bundles: Vec<Bundle>,
    /// Copies made so far.
    made: u32,
    pub(super) taken_over: u32,
    pub(super) restored: u32,
    /// Rows that were stored and are gone since a copy replaced the record.
    pub(super) gone: Vec<Row>,
}

/// A copy of the record, with what was known outside when it was made.
struct Copy {
    path: PathBuf,
    rows: Vec<Row>,
    bench: Bench,
    answers: BTreeMap<String, String>,
    came: Vec<(Seq, Seq)>,
}

/// The lines of an exported job.
struct Bundle {
    name: String,
    lines: Vec<String>,
}

/// The record, opened for reading.
fn reader(world: &World) -> Reader {
    Reader::open_with(&world.state(), parse_pinned_plan).unwrap()
}

/// Makes a copy while the service runs, and now and then exports a job.
pub(super) fn copy(world: &mut World) {
    let names = names(world);
    if world.dice.one_in(2) && !names.is_empty() {
        let name = world.dice.pick(&names).clone();
        let lines = lines_of(&reader(world), &name);
        world.handing.bundles.push(Bundle { name, lines });
    }
    world.handing.made += 1;
    let path = world.folder.path().join(format!("copy-{}.db", world.handing.made));
    let progress = Progress::default();
    // Its content is checked when it is restored.
    reader(world).backup(&path, None, &progress).unwrap();
    let outside = world.outside.borrow();
    let copy = Copy {
        path,
        rows: outside.rows.clone(),
        bench: outside.bench.clone(),
        answers: outside.answers.clone(),
        came: outside.came.clone(),
    };
    drop(outside);
    world.handing.copies.push(copy);
    if world.handing.copies.len() > KEPT {
        let oldest = world.handing.copies.remove(0);
        std::fs::remove_file(oldest.path).unwrap();
    }
}

/// The service ends or dies, something is done, and it starts again.
fn while_down(world: &mut World, done: impl FnOnce(&mut World)) {
    if world.dice.one_in(2) {
        world.end();
    } else {
        world.die();
    }
    done(world);
    world.start();
}

/// An older copy becomes the record. Rows stored after the copy was made are gone from the record, which is
/// reported, and are kept in the record that was replaced.
pub(super) fn restored(world: &mut World) {
    if world.handing.copies.is_empty() {
        return;
    }
    let copy = world.handing.copies.remove(world.dice.index(world.handing.copies.len()));
    let feed = |world: &World| world.desk().record.kept.store.feed_origin().clone();
    let (before, begins) = (feed(world), copy.bench.feed);
    while_down(world, |world| {
        let state = world.state();
        let now = world.clock.now().wall;
        let done = restore(&state, &copy.path, (parse_pinned_plan, &judge), now).unwrap();
        let Restored { verified, aside, newest, newest_before } = done;
        assert!(verified.differences.is_empty(), "broken: {:#?}", verified.differences);
        let mut outside = world.outside.borrow_mut();
        let known = newest_before.map(|(row, _)| row);
        assert_eq!(known, Some(outside.bench.last), "broken: what is gone is told");
        assert_eq!(newest, copy.bench.last, "broken: what is there is told");
        let aside = aside.expect("broken: the record that was there is kept");
        let kept = Reader::open_with(&aside, parse_pinned_plan).unwrap().all_rows().unwrap();
        same_rows(&kept, &outside.rows, "the record that was there is kept whole");
        let Copy { path, rows, bench, answers, came } = copy;
        let gone: Vec<_> =
            outside.replies.keys().filter(|key| !answers.contains_key(*key)).cloned().collect();
        for key in gone {
            outside.replies.remove(&key);
        }
        let both = outside.rows.iter().zip(&rows).take_while(|(row, other)| row == other).count();
        let gone = outside.rows.split_off(both);
        world.handing.gone.extend(gone);
        outside.rows = rows;
        (outside.bench, outside.answers, outside.came) = (bench, answers, came);
        std::fs::remove_file(&aside).unwrap();
        std::fs::remove_file(&path).unwrap();
    });
    let after = feed(world);
    assert_ne!(before.name, after.name, "broken: another feed is another one");
    assert_eq!(after.began, begins, "broken: the new feed begins where the copy ends");
    world.handing.restored += 1;
}

fn same_rows(found: &[Row], stored: &[Row], rule: &str) {
    let other = found.iter().zip(stored).find(|(found, stored)| found != stored);
    assert!(other.is_none(), "broken: {rule}: {other:#?}");
    assert_eq!(found.len(), stored.len(), "broken: {rule}");
}

/// The names of all jobs.
fn names(world: &World) -> Vec<String> {
    let outside = world.outside.borrow();
    let name = |row: &Row| {
        let Body::JobOpened(opened) = &row.body else { return None };
        Some(opened.name.to_string())
    };
    outside.rows.iter().filter_map(name).collect()
}

/// Every job, exported.
fn bundles_of(world: &World) -> Vec<Bundle> {
    let reader = reader(world);
    let bundle = |name: String| Bundle { lines: lines_of(&reader, &name), name };
    names(world).into_iter().map(bundle).collect()
}

fn lines_of(reader: &Reader, name: &str) -> Vec<String> {
    let Handover { rows, callers, .. } = reader.handover(name).unwrap();
    rows.iter().filter_map(|row| record_line(row, callers.get(&row.seq))).collect()
}

/// The content of lines, read as `import` reads them.
fn read(lines: &[String]) -> (Vec<Row>, Callers) {
    let mut record = RecordLines::new(parse_pinned_plan);
    let taken = lines.iter().map(|line| {
        let taken: Result<(Row, Option<Caller>), String> = record.take(line);
        taken.unwrap_or_else(|what| panic!("broken: what was handed on is taken: {what}: {line}"))
    });
    let (mut rows, mut callers) = (Vec::new(), Callers::new());
    for (row, caller) in taken {
        callers.extend(caller.map(|caller| (row.seq, caller)));
        rows.push(row);
    }
    (rows, callers)
}

/// The jobs of another bench that was used for a while.
fn from_elsewhere(world: &mut World) -> Vec<Bundle> {
    let log = Rc::new(RefCell::new(VecDeque::new()));
    let mut other = World::new(world.dice.below(u64::MAX), log);
    other.jobs_begin = *world.dice.pick(&["K", "L", "M"]);
    // There nothing is imported and no copy restored, or it would never end.
    for _ in 0..STEPS_ELSEWHERE {
        happen(&mut other);
        other.commit();
    }
    bundles_of(&other)
}

/// Imports an exported job: completely, once, and unchanged.
pub(super) fn taken_over(world: &mut World) {
    if world.jobs_begin != "J" {
        return;
    }
    if world.handing.bundles.is_empty() {
        world.handing.bundles = from_elsewhere(world);
    }
    if world.handing.bundles.is_empty() {
        return;
    }
    let bundle = world.handing.bundles.swap_remove(world.dice.index(world.handing.bundles.len()));
    world.note(format!("  {}, {} lines", bundle.name, bundle.lines.len()));
    while_down(world, |world| import(world, &bundle));
}

fn import(world: &mut World, bundle: &Bundle) {
    let (rows, callers) = read(&bundle.lines);
    let (mut store, _) = Store::open_unseen(&world.state(), parse_pinned_plan).unwrap();
    let (feed, last) = (store.feed_origin().clone(), world.outside.borrow().bench.last);
    let origin = Origin { wall: world.clock.now().wall, digest: [7; 32] };
    let known = |row: &Row| matches!(&row.body, Body::JobOpened(opened) if opened.name.as_str() == bundle.name);
    let used = world.outside.borrow().rows.iter().any(known);
    match store.import((&rows, &callers), origin, &judge) {
        Err(ImportError::Used { .. }) => {
            assert!(used, "broken: {} was never used", bundle.name);
            return;
        }
        Err(error) => panic!("broken: what was handed on is taken over: {error}"),
        Ok(imported) => {
            assert!(!used, "broken: {} is there twice", bundle.name);
            assert_eq!(imported.rows, rows.len() as u64, "broken: a job is taken over whole");
        }
    }
    let mut all = store.all_rows().unwrap();
    let mut outside = world.outside.borrow_mut();
    let new = all.split_off(outside.rows.len());
    same_rows(&all, &outside.rows, "what was there stays as it is");
    assert_eq!(new.len(), rows.len(), "broken: nothing is taken over twice");
    let back = store.looked_back().unwrap();
    assert_eq!(back.feed, outside.bench.feed, "broken: the feed tells nothing of it");
    assert_eq!(store.feed_origin(), &feed, "broken: it is the same feed");
    drop(store);
    let before = std::mem::take(&mut outside.bench);
    outside.bench = Bench::rebuilt(&back.rows, back.last, back.feed);
    for (id, job) in &before.jobs {
        assert!(outside.bench.jobs.get(id) == Some(job), "broken: job {id} stays as it is");
    }
    assert!(before.stations == outside.bench.stations, "broken: every screen stays as it is");
    outside.came.push((last.next(), back.last));
    outside.rows.extend(new);
    drop(outside);
    let again = lines_of(&reader(world), &bundle.name);
    assert!(again == bundle.lines, "broken: it is handed on as it came");
    world.handing.taken_over += 1;
}
