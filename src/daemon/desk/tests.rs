use crate::input::Replied;
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;
use std::sync::Mutex;
use std::sync::atomic::Ordering;
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use super::*;
use crate::input::Change;
use crate::record::{Asked, Refused, Space};
use crate::tests::{a_setup, frame, open_job};
use ::record::{Answered, FileHistory, FileLook, ReadBack};
use bench::row::AlertKind;
use bench::{Body, Request, Seq};

mod crowd;
mod hands;
mod large_file;
mod shop;

/// What the stand-in for the record does with a commit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Mood {
    #[default]
    Well,
    /// It refuses, and nothing is written.
    Refuses,
    /// It writes, and says that it did not.
    Lies,
}

#[derive(Debug, Default)]
struct Kept {
    mood: Mood,
    rows: Vec<Row>,
    answers: BTreeMap<String, Answer>,
    commits: usize,
}

/// A record in memory that fails when told to.
#[derive(Debug, Clone, Default)]
struct StandIn(Arc<Mutex<Kept>>);

impl StandIn {
    fn set(&self, mood: Mood) {
        self.0.lock().unwrap().mood = mood;
    }

    fn bodies(&self) -> Vec<Body> {
        self.0.lock().unwrap().rows.iter().map(|row| row.body.clone()).collect()
    }
}

impl Record for StandIn {
    fn commit(&mut self, rows: &[Row], answers: &[Answer]) -> Asked<()> {
        let mut kept = self.0.lock().unwrap();
        let refused = Refused { why: "the disk is full".to_owned(), ours: false, damaged: false };
        if kept.mood == Mood::Refuses {
            return Err(refused);
        }
        for row in rows {
            let expected = kept.rows.last().map_or(Seq(1), |last| last.seq.next());
            assert_eq!(row.seq, expected, "rows are stored once and in order");
            kept.rows.push(row.clone());
        }
        kept.answers.extend(answers.iter().map(|a| (a.key.clone(), a.clone())));
        kept.commits += 1;
        if kept.mood == Mood::Lies { Err(refused) } else { Ok(()) }
    }

    fn last_committed(&mut self) -> Asked<Seq> {
        Ok(self.0.lock().unwrap().rows.last().map_or(Seq(0), |row| row.seq))
    }

    fn answer_of(&mut self, key: &str) -> Asked<Option<Answered>> {
        let kept = self.0.lock().unwrap();
        let answered =
            |a: &Answer| Answered { digest: a.digest, at: a.at, reply: Some(a.reply.clone()) };
        Ok(kept.answers.get(key).map(answered))
    }

    fn name_used(&mut self, name: &str) -> Asked<bool> {
        let opened =
            |body: &Body| matches!(body, Body::JobOpened(job) if job.name.as_str() == name);
        Ok(self.bodies().iter().any(opened))
    }

    fn job_rows(&mut self, name: &str) -> Asked<Option<Arc<Vec<Row>>>> {
        let Some(job) = self.closed_job(name)? else { return Ok(None) };
        let rows = self.0.lock().unwrap().rows.clone();
        let opened = |row: &Row| row.seq == job;
        Ok(Some(Arc::new(rows.into_iter().filter(opened).collect())))
    }

    fn closed_job(&mut self, name: &str) -> Asked<Option<Seq>> {
        let rows = self.0.lock().unwrap().rows.clone();
        let named =
            |row: &&Row| matches!(&row.body, Body::JobOpened(job) if job.name.as_str() == name);
        let Some(job) = rows.iter().find(named).map(|row| row.seq) else { return Ok(None) };
        let mut closed = false;
        for row in &rows {
            closed |= matches!(row.body, Body::JobClosed { job: of } if of == job);
            closed &= !matches!(row.body, Body::JobReopened { job: of, .. } if of == job);
        }
        Ok(closed.then_some(job))
    }

    fn file_history(&mut self, look: FileLook<'_>) -> Asked<FileHistory> {
        let seen = look.seen;
        let mut history = FileHistory::default();
        for body in self.bodies() {
            if let Body::FileTaken(taken) = &body {
                history.itself |= (taken.digest, &taken.name) == (seen.digest, &seen.name);
            } else if let Body::FileRefused(not) = &body
                && (not.digest, &not.name) == (seen.digest, &seen.name)
            {
                history.refused = Some(not.why.clone());
            }
        }
        Ok(history)
    }

    fn space(&mut self) -> Asked<Space> {
        Ok(Space { wal_bytes: 0, free_bytes: 1 << 40, disk_bytes: 1 << 41 })
    }

    fn database(&self) -> PathBuf {
        PathBuf::from("memory")
    }

    fn tidy(&mut self) {}

    fn read_back(&mut self) -> Asked<ReadBack> {
        let rows = self.0.lock().unwrap().rows.clone();
        let last = rows.last().map_or(Seq(0), |row| row.seq);
        let told = |row: &&Row| {
            matches!(
                row.body,
                Body::Verdict(_)
                    | Body::AlertRaised(_)
                    | Body::AlertSeen { .. }
                    | Body::AlertCleared { .. }
            )
        };
        let feed = rows.iter().filter(told).count() as u64;
        Ok(ReadBack { rows, last, feed, set_aside: Vec::new(), news: Vec::new() })
    }

    fn seal(&self) -> Option<::record::Seal> {
        None
    }

    fn damaged_plan(&mut self, _text: &str) -> Asked<Option<SetAside>> {
        Ok(None)
    }

    fn close(self) -> Asked<()> {
        Ok(())
    }
}

/// A deciding thread at work on a stand-in.
struct Works {
    record: StandIn,
    inputs: mpsc::Sender<Input>,
    shown: watch::Receiver<Arc<Shown>>,
    stopping: Arc<AtomicBool>,
    thread: JoinHandle<Result<(), GivenUp>>,
}

fn works() -> Works {
    let record = StandIn::default();
    let stopping = Arc::new(AtomicBool::new(false));
    let setup = NewSetup {
        at: Stamp::default(),
        setup: Arc::new(a_setup()),
        ported: BTreeSet::from([Name::new("plate").unwrap()]),
        captures: BTreeMap::new(),
        drops: BTreeSet::from([Name::new("logger").unwrap()]),
    };
    let (mut desk, shown) = Desk::new(Start {
        set_aside: Vec::new(),
        news: Vec::new(),
        record: record.clone(),
        bench: Bench::default(),
        setup,
        asks: Asks::new(),
        stopping: Arc::clone(&stopping),
        pulse: Pulse::new(None),
    });
    desk.started().unwrap();
    let (inputs, arriving) = mpsc::channel(256);
    let thread = std::thread::spawn(move || desk.work(arriving));
    Works { record, inputs, shown, stopping, thread }
}

impl Works {
    fn ask(&self, key: &str, request: Request) -> oneshot::Receiver<Replied> {
        let (reply, answer) = oneshot::channel();
        let change = Change::new((intake::now(), key.to_owned()), request, reply);
        self.inputs.blocking_send(Input::Change(Box::new(change))).unwrap();
        answer
    }

    fn send(&self, input: Input) {
        self.inputs.blocking_send(input).unwrap();
    }

    /// Waits until what is shown is as wanted.
    fn until(&self, what: &str, wanted: impl Fn(&Shown) -> bool) {
        let start = Instant::now();
        while !wanted(&self.shown.borrow()) {
            assert!(start.elapsed() < Duration::from_secs(10), "never shown: {what}");
            std::thread::sleep(Duration::from_millis(5));
        }
    }

    fn until_failing(&self) {
        self.until("failing", |shown| shown.storage.state == StorageState::Failing);
    }

    fn end(self) -> (StandIn, Result<(), GivenUp>) {
        self.send(Input::End);
        (self.record, self.thread.join().unwrap())
    }
}

fn alerts(bodies: &[Body]) -> Vec<AlertKind> {
    let kind = |body: &Body| {
        if let Body::AlertRaised(alert) = body { Some(alert.kind) } else { None }
    };
    bodies.iter().filter_map(kind).collect()
}

#[test]
fn nothing_is_acknowledged_before_it_is_stored() {
    let works = works();
    let before = works.shown.borrow().bench.last;
    works.record.set(Mood::Refuses);
    let mut answer = works.ask("k1", open_job("J1"));
    works.until_failing();
    std::thread::sleep(Duration::from_millis(250));
    assert!(answer.try_recv().is_err(), "no reply while the record refuses");
    assert_eq!(works.shown.borrow().bench.last, before, "the bench as of the last commit");
    assert!(!works.shown.borrow().status(intake::now().wall).healthy);

    works.record.set(Mood::Well);
    let line = answer.blocking_recv().unwrap().line;
    assert!(line.contains("\"opened/1\"") && line.contains("J1"), "{line}");
    works.until("fine", |shown| shown.storage.state == StorageState::Fine);
    let shown = works.shown.clone();
    let (record, ended) = works.end();
    assert_eq!(ended, Ok(()));
    let bodies = record.bodies();
    let opened = bodies.iter().filter(|body| matches!(body, Body::JobOpened(_))).count();
    assert_eq!(opened, 1);
    assert_eq!(alerts(&bodies), [AlertKind::StorageFailing], "the alert got its row afterwards");
    assert!(bodies.iter().any(|body| matches!(body, Body::AlertCleared { .. })));
    let rows = record.0.lock().unwrap().rows.clone();
    let last = rows.last().unwrap().seq;
    let rebuilt = Bench::rebuilt(&rows, last, shown.borrow().bench.feed);
    assert_eq!(rebuilt, *shown.borrow().bench, "rebuilt from rows = running");
}

#[test]
fn frames_are_counted_once_after_their_commit() {
    let works = works();
    works.record.set(Mood::Refuses);
    for number in 0..20 {
        works.send(frame(number));
    }
    works.until_failing();
    let plate = |shown: &Shown| shown.tallies.gauges["plate"].clone();
    assert_eq!(plate(&works.shown.borrow()).frames(), 0, "told only after the commit");
    works.record.set(Mood::Well);
    works.until("twenty frames", |shown| plate(shown).frames() == 20);
    assert_eq!(plate(&works.shown.borrow()).taken, 20);
    let (record, ended) = works.end();
    assert_eq!(ended, Ok(()));
    let readings: Vec<String> =
        record
            .bodies()
            .into_iter()
            .filter_map(|body| {
                if let Body::Reading(reading) = body { Some(reading.as_sent) } else { None }
            })
            .collect();
    let sent: Vec<String> = (0..20).map(|number| format!("+0.{number:05}")).collect();
    assert_eq!(readings, sent, "none lost, none twice, in order");
}

#[test]
fn a_commit_that_happened_all_the_same_is_not_repeated() {
    let works = works();
    works.record.set(Mood::Lies);
    let answer = works.ask("k1", open_job("J1"));
    // The stand-in panics on rows that come twice; the look at the newest number prevents it.
    works.until_failing();
    works.record.set(Mood::Well);
    assert!(answer.blocking_recv().unwrap().line.contains("opened/1"));
    let (record, ended) = works.end();
    assert_eq!(ended, Ok(()));
    let opened = |body: &&Body| matches!(body, Body::JobOpened(_));
    assert_eq!(record.bodies().iter().filter(opened).count(), 1);
}

#[test]
fn a_repeated_request_is_done_once_and_answered_alike() {
    let works = works();
    let first = works.ask("k1", open_job("J1")).blocking_recv().unwrap().line;
    let again = works.ask("k1", open_job("J1")).blocking_recv().unwrap().line;
    assert_eq!(first, again);
    let other = works.ask("k2", open_job("J1")).blocking_recv().unwrap().line;
    assert!(other.contains("error/1"), "names live for ever: {other}");
    let (record, _) = works.end();
    let opened = |body: &&Body| matches!(body, Body::JobOpened(_));
    assert_eq!(record.bodies().iter().filter(opened).count(), 1);
}

#[test]
fn an_end_while_the_record_fails_counts_what_could_not_be_stored() {
    let works = works();
    works.record.set(Mood::Refuses);
    works.send(frame(1));
    works.until_failing();
    works.send(frame(2));
    let answer = works.ask("k1", open_job("J1"));
    works.stopping.store(true, Ordering::Relaxed);
    let given_up = works.thread.join().unwrap().unwrap_err();
    assert_eq!(given_up.why, "the disk is full");
    assert!(!given_up.ours);
    assert!(given_up.rows >= 1, "{given_up:?}");
    assert_eq!(given_up.waiting, 2, "a frame and a request");
    assert!(answer.blocking_recv().is_err(), "never acknowledged");
}

#[test]
fn a_burst_is_stored_in_few_commits() {
    let works = works();
    works.record.set(Mood::Refuses);
    works.send(frame(0));
    works.until_failing();
    for number in 1..200 {
        works.send(frame(number));
    }
    let before = works.record.0.lock().unwrap().commits;
    works.record.set(Mood::Well);
    works.until("all frames", |shown| shown.tallies.gauges["plate"].frames() == 200);
    let commits = works.record.0.lock().unwrap().commits - before;
    assert!(commits <= 6, "{commits} commits for 200 frames");
    assert_eq!(works.end().1, Ok(()));
}
