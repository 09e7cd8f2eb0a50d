//! The rules that must hold, each a small function of the world.

use std::cmp::Ordering;
use std::collections::BTreeMap;
use std::sync::Arc;

use super::asking::keep_pictures;
use super::refusing::Waiting;
use super::shop;
use super::world::World;
use crate::reload::parse_pinned_plan;
use ::record::{Reader, Store};
use bench::event::StorageNews;
use bench::row::{Body, Ending, FileSeen, Source, State};
use bench::{Attempt, Bench, Job, Row, Seq, Touched, judge};
use judgement::Word;

/// The sentence about a broken rule, if it is broken.
pub(super) type Held = Result<(), String>;

type Rule = fn(&World) -> Held;

/// The longest that somebody may wait for a gauge that was asked: as long as for both gauges of the line,
/// if neither answers.
const LONGEST_ASKED_US: u64 = 2 * shop::ANSWER_US + 100_000;

/// Checked after every step.
pub(super) const ALWAYS: [(&str, Rule); 4] = [
    ("nothing comes out before it is stored", nothing_early),
    ("rows run without a gap", rows_without_a_gap),
    ("stored rows and held rows make the running bench", stored_and_held_is_running),
    ("alerts of closed jobs are cleared", alerts_of_open_jobs),
];

/// Checked after every commit of a whole batch.
pub(super) const STORED: [(&str, Rule); 4] = [
    ("what is shown is the running bench", shown_is_running),
    ("everybody has an answer", everybody_answered),
    ("every frame is counted once", frames_add_up),
    ("what is counted as taken is stored", taken_is_stored),
];

/// Checked after some commits, because it reads all that is open.
pub(super) const READ_BACK: [(&str, Rule); 1] =
    [("a bench read back is the running bench", read_back_is_running)];

/// Checked now and then, because it reads every row.
pub(super) const ROWS: [(&str, Rule); 1] =
    [("the record holds every stored row, unchanged", record_is_complete)];

/// Checked seldom, because these read the whole record.
pub(super) const WHOLE: [(&str, Rule); 2] = [
    ("the feed runs 1, 2, 3 …", feed_without_a_gap),
    ("each row of a file is taken once", file_rows_once),
];

pub(super) fn check(rules: &[(&str, Rule)], world: &World) {
    for (name, rule) in rules {
        if let Err(what) = rule(world) {
            panic!("broken: {name}: {what}");
        }
    }
}

fn that(holds: bool, what: impl FnOnce() -> String) -> Held {
    if holds { Ok(()) } else { Err(what()) }
}

/// The first difference of two benches, short enough to read.
fn difference(a: &Bench, b: &Bench) -> String {
    let numbers = |bench: &Bench| (bench.last, bench.feed, bench.boot);
    if numbers(a) != numbers(b) || a.stations != b.stations || a.alerts != b.alerts {
        let shown = |x: &Bench| format!("{:?} {:?} {:#?}", numbers(x), x.stations, x.alerts);
        return format!("{}\n{}", shown(a), shown(b));
    }
    for (id, job) in &a.jobs {
        let Some(other) = b.jobs.get(id) else { return format!("job {id} is missing") };
        for (id, attempt) in &job.attempts {
            if other.attempts.get(id) != Some(attempt) {
                return format!("attempt {id}: {attempt:#?}\n{:#?}", other.attempts.get(id));
            }
        }
        let parts = |job: &Job| (job.found.clone(), job.built.clone(), job.replaced.clone());
        if parts(job) != parts(other) {
            return format!("the parts of job {id}: {:?}\n{:?}", parts(job), parts(other));
        }
    }
    "a job differs in how it was opened, or is there in one only".to_owned()
}

fn same_bench(world: &World, a: &Bench, b: &Bench) -> Held {
    let same = world.alike.borrow_mut().benches(a, b);
    that(same, || difference(a, b))
}

fn nothing_early(world: &World) -> Held {
    let broken = &world.outside.borrow().broken;
    that(broken.is_empty(), || broken.join("; "))
}

fn rows_without_a_gap(world: &World) -> Held {
    let stored = world.outside.borrow().bench.last;
    let mut last = stored;
    for row in &world.desk().batch.rows {
        that(row.seq == last.next(), || format!("{} after {last}", row.seq))?;
        last = row.seq;
    }
    that(world.bench().last == last, || format!("{} and {last}", world.bench().last))
}

fn stored_and_held_is_running(world: &World) -> Held {
    let outside = world.outside.borrow();
    let held = &world.desk().batch.rows;
    if held.is_empty() {
        return same_bench(world, &outside.bench, world.bench());
    }
    let mut bench = outside.bench.clone();
    for row in held {
        bench.apply(row);
    }
    same_bench(world, &bench, world.bench())
}

fn alerts_of_open_jobs(world: &World) -> Held {
    let bench = world.bench();
    let closed = bench.alerts.iter().find(|(_, open)| {
        open.alert.job.is_some_and(|job| !bench.jobs.contains_key(&job))
            || open.alert.attempt.is_some_and(|attempt| bench.attempt(attempt).is_none())
    });
    that(closed.is_none(), || format!("{closed:?}"))
}

fn read_back_is_running(world: &World) -> Held {
    let back = world.desk().record.kept.store.looked_back().map_err(|error| error.to_string())?;
    same_bench(world, &Bench::rebuilt(&back.rows, back.last, back.feed), world.bench())
}

fn shown_is_running(world: &World) -> Held {
    let outside = world.outside.borrow();
    let shown = outside.shown.as_ref().map(|shown| Arc::clone(&shown.borrow().bench));
    shown.map_or(Ok(()), |shown| same_bench(world, &shown, world.bench()))
}

/// Only the answer of a gauge may be waited for, and only for a limited time.
fn everybody_answered(world: &World) -> Held {
    let outside = world.outside.borrow();
    let waits = |waiting: &&Waiting| world.clock.mono_us - waiting.since_us;
    let late = outside.waiting.iter().find(|waiting| waits(waiting) > LONGEST_ASKED_US);
    that(late.is_none(), || {
        format!("somebody still waits after {:?} us", late.map(|it| waits(&it)))
    })?;
    let (waiting, asked) = (outside.waiting.len(), world.desk().asked_by_people());
    that(waiting == asked, || format!("{waiting} still wait, {asked} of them for a gauge"))
}

fn frames_add_up(world: &World) -> Held {
    let outside = world.outside.borrow();
    let Some(shown) = outside.shown.as_ref().map(|shown| Arc::clone(&shown.borrow())) else {
        return Ok(());
    };
    for gauge in shown.status(quantity::Wall::from_micros(0)).gauges {
        let told = super::world::Counted {
            frames: gauge.frames,
            taken: gauge.taken,
            repeats: gauge.repeats,
            damaged: gauge.damaged,
            foreign: gauge.foreign,
            resync: gauge.resync,
            muted: gauge.muted,
            idle: gauge.idle,
        };
        let sent = world.counted.get(gauge.name.as_str());
        // The desk decides which samples of a stream are touches: each must be in exactly one count.
        let streams = by_the_desk(gauge.name.as_str());
        let (told, sent) = match sent {
            Some(sent) if streams => (told.as_samples(), Some(sent.as_samples())),
            sent => (told, sent.copied()),
        };
        that(sent == Some(told), || format!("{}: {told:?}, sent {sent:?}", gauge.name))?;
    }
    Ok(())
}

/// Whether only the desk decides which frames of a gauge are touches.
fn by_the_desk(gauge: &str) -> bool {
    gauge == shop::STREAM || shop::ASKED.contains(&gauge)
}

fn taken_is_stored(world: &World) -> Held {
    let outside = world.outside.borrow();
    let shown = outside.shown.as_ref().map(|shown| Arc::clone(&shown.borrow()));
    for (gauge, counted) in &world.counted {
        let stored = outside.serial.get(gauge).copied().unwrap_or_default();
        let taken = if by_the_desk(gauge.as_str()) {
            let told = shown.as_ref().and_then(|shown| shown.tallies.gauges.get(gauge));
            told.map_or(0, |told| told.taken + told.repeats)
        } else {
            counted.taken + counted.repeats
        };
        that(taken == stored, || format!("{gauge}: {taken} taken, {stored} stored"))?;
    }
    Ok(())
}

fn record_is_complete(world: &World) -> Held {
    let all = world.desk().record.kept.store.all_rows().map_err(|error| error.to_string())?;
    let outside = world.outside.borrow();
    for (row, number) in all.iter().zip(1..) {
        that(row.seq == Seq(number), || format!("{} at place {number}", row.seq))?;
    }
    let other = all.iter().zip(&outside.rows).find(|(read, stored)| read != stored);
    that(other.is_none(), || format!("{other:#?}"))?;
    that(all.len() == outside.rows.len(), || {
        format!("{} rows read, {} stored", all.len(), outside.rows.len())
    })?;
    // Rows of an imported job have no lines in this feed, and its boots are not boots of this bench. For
    // these only what a start reads back equals the bench.
    if !outside.came.is_empty() {
        return Ok(());
    }
    let rebuilt = Bench::rebuilt(&all, outside.bench.last, outside.bench.feed);
    same_bench(world, &rebuilt, &outside.bench)
}

fn feed_without_a_gap(world: &World) -> Held {
    let store = &world.desk().record.kept.store;
    let lines = store.feed_since(0, usize::MAX).map_err(|error| error.to_string())?;
    for (line, number) in lines.iter().zip(1..) {
        that(line.seq == number, || format!("line {} at place {number}", line.seq))?;
    }
    let told = |row: &&Row| {
        matches!(
            row.body,
            Body::Verdict(_)
                | Body::AlertRaised(_)
                | Body::AlertSeen { .. }
                | Body::AlertCleared { .. }
        )
    };
    let outside = world.outside.borrow();
    let own = |row: &&Row| !outside.came_along(row.seq);
    let facts = outside.rows.iter().filter(own).filter(told).count();
    that(lines.len() == facts && outside.bench.feed == facts as u64, || {
        format!("{} lines, {facts} facts, {} counted", lines.len(), outside.bench.feed)
    })
}

/// A file that grew gives only its new rows; the same bytes give none; a refused file gives none. Rows that
/// a file gave on another bench came with the imported job and are not taken a second time here.
fn file_rows_once(world: &World) -> Held {
    let outside = world.outside.borrow();
    let mut given: BTreeMap<Seq, usize> = BTreeMap::new();
    let mut files: Vec<(Seq, &FileSeen)> = Vec::new();
    for row in &outside.rows {
        let own = !outside.came_along(row.seq);
        if let Body::FileTaken(seen) = &row.body
            && !own
        {
            files.push((row.seq, seen));
        } else if let Body::FileTaken(seen) = &row.body {
            let same = |taken: &FileSeen| (taken.digest, taken.went) == (seen.digest, seen.went);
            let twice = files.iter().find(|(_, taken)| same(taken));
            that(twice.is_none(), || {
                let first = twice.map(|(row, _)| *row);
                let came = &outside.came;
                format!("{seen:?} was taken twice, rows {first:?} and {}; came {came:?}", row.seq)
            })?;
            files.push((row.seq, seen));
        } else if let Body::Reading(reading) = &row.body
            && let Source::Drop { file, .. } = reading.source
            && own
        {
            *given.entry(file).or_default() += 1;
        }
    }
    for (index, (id, seen)) in files.iter().enumerate() {
        if outside.came_along(*id) {
            continue;
        }
        let text = &world.texts[&seen.digest];
        let of_this = |earlier: &&(Seq, &FileSeen)| {
            earlier.1.drop == seen.drop
                && (seen.drop.as_str() == "logger" || earlier.1.name == seen.name)
        };
        let before = files[..index].iter().filter(of_this).map(|(_, taken)| {
            // The same bytes for another attempt are other readings.
            let length = usize::try_from(taken.bytes).unwrap_or(usize::MAX);
            let head = text.as_bytes().get(..length).filter(|head| head.len() < text.len());
            let grew = head.is_some_and(|head| *blake3::hash(head).as_bytes() == taken.digest);
            if grew { taken.rows as usize } else { 0 }
        });
        let new = text.lines().count() - 1 - before.max().unwrap_or(0);
        let rows = given.remove(id).unwrap_or_default();
        that(rows == new, || format!("{seen:?} gave {rows} rows, {new} are new"))?;
    }
    that(given.is_empty(), || format!("rows of files that were not taken: {given:?}"))
}

/// The rules of attempts, for every attempt that changed since `before` and for those judged
/// together with it.
pub(super) fn check_attempts(world: &World, before: &Bench) {
    let bench = world.bench();
    stations(bench).unwrap_or_else(|what| panic!("broken: one attempt per station: {what}"));
    for (id, job) in &bench.jobs {
        let old = before.jobs.get(id);
        if old.is_some_and(|old| Arc::ptr_eq(old, job)) {
            continue;
        }
        for (attempt, state) in touched(job, old) {
            let held = positions(job, state)
                .and_then(|()| open_means_incomplete(job, state))
                .and_then(|()| newest_verdict_stands(job, attempt, state))
                .and_then(|()| one_under_way(job, attempt, state));
            held.unwrap_or_else(|what| panic!("broken: attempt {attempt}: {what}\n{state:#?}"));
        }
    }
}

/// Attempts at those checks at which any attempt changed.
fn touched<'a>(job: &'a Job, old: Option<&Arc<Job>>) -> Vec<(Seq, &'a Attempt)> {
    let same = |id: &Seq, state: &Arc<Attempt>| {
        let old = old.and_then(|old| old.attempts.get(id));
        old.is_some_and(|old| Arc::ptr_eq(old, state))
    };
    let changed: Vec<_> = job
        .attempts
        .iter()
        .filter(|(id, state)| !same(id, state))
        .map(|(_, state)| state.began.check)
        .collect();
    let of_these = |(_, state): &(&Seq, &Arc<Attempt>)| changed.contains(&state.began.check);
    job.attempts.iter().filter(of_these).map(|(id, state)| (*id, state.as_ref())).collect()
}

/// An attempt is on one screen at most, and it is of the job that the station works on.
fn stations(bench: &Bench) -> Held {
    let mut shown = Vec::new();
    for (name, station) in &bench.stations {
        let job = station.job.map(|job| bench.jobs.get(&job));
        that(job != Some(None), || format!("{name} works on a job that is not open"))?;
        let Some(attempt) = station.attempt else { continue };
        let of_job = job.flatten().is_some_and(|job| job.attempts.contains_key(&attempt));
        that(of_job, || format!("{name} shows attempt {attempt} of another job"))?;
        that(!shown.contains(&attempt), || format!("attempt {attempt} is on two screens"))?;
        shown.push(attempt);
    }
    Ok(())
}

fn positions(job: &Job, attempt: &Attempt) -> Held {
    let (_, check) = job.check_of(attempt).ok_or("it has no check")?;
    let total = check.total();
    let mut filled = BTreeMap::new();
    for touched in attempt.in_state(State::Placed) {
        let position = touched.position.ok_or("a placed reading has no position")?;
        that(position < total, || format!("there is no position {position}"))?;
        // A reading that was asked for again counts in addition; the newest of them stands for both.
        filled.insert(position, touched.id);
        that(!attempt.skipped.contains_key(&position), || {
            format!("position {position} is left out and holds a reading")
        })?;
    }
    for (position, newest) in &filled {
        let at = attempt.at(*position).map(|at| at.id);
        that(at == Some(*newest), || format!("{at:?} stands at position {position}"))?;
    }
    let closures = attempt.count(State::Closure);
    that(closures <= 1, || format!("{closures} closures count"))?;
    // What is touched once more than a position takes counts in its mean and fills nothing.
    let at = |position: u32| {
        let here = |touched: &&Touched| touched.position == Some(position);
        let count = attempt.in_state(State::Placed).filter(here).count();
        u32::try_from(count).unwrap().min(check.touches)
    };
    let held: u32 = filled.keys().map(|position| at(*position)).sum();
    that(attempt.taken() == held, || format!("{} taken, {held} count", attempt.taken()))?;
    let left_out = |position: &u32| attempt.skipped.contains_key(position);
    let open = (0..total).filter(|position| !left_out(position));
    let open: u32 = open.map(|position| check.touches - at(position)).sum();
    let told = attempt.open_touches(check);
    that(open == told, || format!("{open} are open, {told} are told"))
}

fn open_means_incomplete(job: &Job, attempt: &Attempt) -> Held {
    let (_, check) = job.check_of(attempt).ok_or("it has no check")?;
    let word = attempt.verdict.as_ref().map(|(_, verdict)| verdict.word);
    let open = attempt.open_touches(check);
    that(open == 0 || word.is_none_or(|word| word == Word::Incomplete), || {
        format!("{word:?} with {open} open positions")
    })?;
    let stopped = attempt.ending == Some(Ending::Stopped);
    that(!stopped || word == Some(Word::Incomplete), || format!("stopped and {word:?}"))?;
    // An entry is only written down and not judged.
    let written = !check.is_judged() && attempt.ending == Some(Ending::Complete);
    that(written || attempt.ending.is_some() == word.is_some(), || {
        format!("ended {:?}, verdict {word:?}", attempt.ending)
    })
}

fn newest_verdict_stands(job: &Job, id: Seq, attempt: &Attempt) -> Held {
    let Some((_, stored)) = &attempt.verdict else { return Ok(()) };
    let again = judge(job, id);
    that(again.as_ref() == Some(stored), || {
        format!("it says\n{stored:#?}\nits readings say\n{again:#?}")
    })
}

fn one_under_way(job: &Job, id: Seq, attempt: &Attempt) -> Held {
    if attempt.ending.is_some() {
        return Ok(());
    }
    let newest = job.newest_at(attempt.began.check).map(|(newest, _)| newest);
    that(newest == Some(id), || format!("it is under way beside the newer {newest:?}"))
}

/// The record, opened for reading.
pub(super) fn verified(world: &World) -> Held {
    let reader = Reader::open_with(&world.state(), parse_pinned_plan);
    let found = reader.and_then(|reader| reader.verify(&judge)).map_err(|e| e.to_string())?;
    let rows = world.outside.borrow().rows.len() as u64;
    that(found.rows == rows, || format!("{} rows verified, {rows} stored", found.rows))?;
    that(found.differences.is_empty(), || format!("{:#?}", found.differences))
}

/// What a start, a reader and `verify` find in a record whose disk did not keep all of it.
pub(super) enum Afterwards {
    Refused,
    Told,
    Short,
    Whole,
    /// It has something that was not stored, and nothing reports that.
    Wrong(String),
}

/// Checks the record as it is on the disk against what was stored.
pub(super) fn found(world: &World) -> Afterwards {
    keep_pictures(&world.state());
    let Ok((store, back)) = Store::open_with(&world.state(), parse_pinned_plan) else {
        return Afterwards::Refused;
    };
    let rows = store.all_rows();
    drop(store);
    let reader = Reader::open_with(&world.state(), parse_pinned_plan);
    let verified = reader.and_then(|reader| reader.verify(&judge));
    let (Ok(rows), Ok(verified)) = (rows, verified) else { return Afterwards::Told };
    let well = back.news.iter().all(|news| matches!(news, StorageNews::FileFine));
    if !well || !back.set_aside.is_empty() || !verified.differences.is_empty() {
        return Afterwards::Told;
    }
    let outside = world.outside.borrow();
    let other = rows.iter().zip(&outside.rows).find(|(read, stored)| read != stored);
    if let Some(other) = other {
        return Afterwards::Wrong(format!("{other:#?}"));
    }
    match rows.len().cmp(&outside.rows.len()) {
        Ordering::Less => Afterwards::Short,
        Ordering::Equal => Afterwards::Whole,
        Ordering::Greater => Afterwards::Wrong(format!("{} rows read", rows.len())),
    }
}
