//! A large file whose commit fails in the middle.

use std::fmt::Write as _;

use super::*;
use crate::record::Kept as OnDisk;
use crate::reload::parse_pinned_plan;
use ::record::Store;
use bench::event::DroppedFile;
use bench::row::FileSeen;
use bench::{Command, Row};
use gauge::{Columns, RowFormat, parse_rows};
use intake::{Fate, ReadFile};
use quantity::Unit;

/// Checks of the file, each with so many positions.
const CHECKS: u32 = 3;
const POSITIONS: u32 = 900;

/// A record on disk whose large commits break off after so many steps of the database, one after the
/// other, until none is left.
struct Breaks {
    kept: OnDisk,
    after: Vec<i32>,
    /// Large commits that failed, and that went in.
    came: (usize, usize),
}

impl Record for Breaks {
    fn commit(&mut self, rows: &[Row], answers: &[Answer]) -> Asked<()> {
        if rows.len() < 1000 {
            return self.kept.commit(rows, answers);
        }
        let before = self.kept.last_committed()?;
        self.kept.store.break_off(self.after.pop());
        let done = self.kept.commit(rows, answers);
        self.kept.store.break_off(None);
        if let Err(refused) = &done {
            assert!(!refused.ours && !refused.damaged, "{refused:?}");
            assert_eq!(self.kept.last_committed()?, before, "nothing half");
            let there = self.kept.store.all_rows().unwrap();
            assert_eq!(there.last().map_or(Seq(0), |row| row.seq), before, "nothing half");
            self.came.0 += 1;
        } else {
            self.came.1 += 1;
        }
        done
    }

    fn last_committed(&mut self) -> Asked<Seq> {
        self.kept.last_committed()
    }

    fn answer_of(&mut self, key: &str) -> Asked<Option<Answered>> {
        self.kept.answer_of(key)
    }

    fn name_used(&mut self, name: &str) -> Asked<bool> {
        self.kept.name_used(name)
    }

    fn job_rows(&mut self, name: &str) -> Asked<Option<Arc<Vec<Row>>>> {
        self.kept.job_rows(name)
    }

    fn closed_job(&mut self, name: &str) -> Asked<Option<Seq>> {
        self.kept.closed_job(name)
    }

    fn file_history(&mut self, look: FileLook<'_>) -> Asked<FileHistory> {
        self.kept.file_history(look)
    }

    fn space(&mut self) -> Asked<Space> {
        Ok(Space { wal_bytes: 0, free_bytes: 1 << 40, disk_bytes: 1 << 41 })
    }

    fn database(&self) -> PathBuf {
        self.kept.database()
    }

    fn tidy(&mut self) {}

    fn read_back(&mut self) -> Asked<ReadBack> {
        self.kept.read_back()
    }

    fn seal(&self) -> Option<::record::Seal> {
        self.kept.seal()
    }

    fn damaged_plan(&mut self, text: &str) -> Asked<Option<SetAside>> {
        self.kept.damaged_plan(text)
    }

    fn close(self) -> Asked<()> {
        self.kept.close()
    }
}

fn a_plan() -> String {
    let mut text =
        "name = \"large\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n"
            .to_owned();
    for check in 0..CHECKS {
        write!(
            text,
            "[[part.check]]\nname = \"scan-{check}\"\nmeasures = \"parallelism\"\ngauge = \"plate\"\n\
             setup = \"plate\"\nmoves = \"ring\"\npositions = {POSITIONS}\nradius = \"1.5 in\"\n\
             tolerance = \"0.0001 in\"\nclosure = false\n"
        )
        .unwrap();
    }
    text
}

/// A desk beside a record that breaks off like this, its job `J1` open.
fn desk(folder: &std::path::Path, after: &[i32]) -> (Desk<Breaks>, watch::Receiver<Arc<Shown>>) {
    let (store, back) = Store::open_with(folder, parse_pinned_plan).unwrap();
    let mut setup = a_setup();
    let text = a_plan();
    let plan = parse_pinned_plan(&text).unwrap();
    let pinned = bench::plan::PinnedPlan { text, plan };
    setup.plans.insert(Name::new("face").unwrap(), Arc::new(pinned));
    let (mut desk, shown) = Desk::new(Start {
        set_aside: Vec::new(),
        news: Vec::new(),
        record: Breaks {
            kept: OnDisk::new(store, folder),
            after: after.iter().rev().copied().collect(),
            came: (0, 0),
        },
        bench: Bench::rebuilt(&back.rows, back.last, back.feed),
        setup: NewSetup {
            at: Stamp::default(),
            setup: Arc::new(setup),
            ported: BTreeSet::from([Name::new("plate").unwrap()]),
            captures: BTreeMap::new(),
            drops: BTreeSet::from([Name::new("logger").unwrap()]),
        },
        asks: Asks::new(),
        stopping: Arc::default(),
        pulse: Pulse::new(None),
    });
    desk.started().unwrap();
    let (reply, mut answer) = oneshot::channel();
    let request = Request { command: large_job(), ..open_job("J1") };
    let change = Change::new((intake::now(), "k".to_owned()), request, reply);
    desk.take(Input::Change(Box::new(change))).unwrap();
    desk.commit().unwrap();
    assert!(answer.try_recv().unwrap().line.contains("opened/1"));
    (desk, shown)
}

fn large_job() -> Command {
    let plan = "face".to_owned();
    Command::JobOpen {
        name: "J1".to_owned(),
        used: false,
        plan,
        serial: None,
        customer: None,
        told: Vec::new(),
        rule: None,
    }
}

/// The file, in which every position of every check stands.
fn text() -> String {
    let mut text = "Value,Job,Part,Check,Pos\n".to_owned();
    for (check, at) in (0..CHECKS).flat_map(|check| (0..POSITIONS).map(move |at| (check, at))) {
        writeln!(text, "0.{:05},J1,ring,scan-{check},{at}", (at * 7 + check) % 90).unwrap();
    }
    text
}

fn dropped(bytes: Vec<u8>) -> DroppedFile {
    let column = |name: &str| Some(name.to_owned());
    let format = RowFormat {
        columns: Columns {
            value: "Value".to_owned(),
            unit: None,
            time: None,
            job: column("Job"),
            part: column("Part"),
            check: column("Check"),
            position: column("Pos"),
        },
        delimiter: b',',
        decimal: b'.',
        skip_lines: 0,
        unit: Some(Unit::Inch),
        time_zone: None,
    };
    let rows = parse_rows(&bytes, &format).unwrap();
    DroppedFile {
        seen: FileSeen {
            drop: Name::new("logger").unwrap(),
            name: "scan.csv".to_owned(),
            digest: *blake3::hash(&bytes).as_bytes(),
            bytes: bytes.len() as u64,
            rows: u32::try_from(rows.rows.len()).unwrap(),
            series: [0; 32],
            went: [0; 32],
            why: String::new(),
        },
        gauge: Name::new("plate").unwrap(),
        rows: Arc::new(rows),
        bytes: Arc::new(bytes),
        bad: Vec::new(),
        given_before: 0,
        to_active: false,
        before: Vec::new(),
        known: false,
        same: None,
        closed_jobs: BTreeSet::new(),
    }
}

fn drop_it(desk: &mut Desk<Breaks>, at: Stamp) -> oneshot::Receiver<Fate> {
    let (fate, became) = oneshot::channel();
    let file = dropped(text().into_bytes());
    let read = ReadFile { file, found: false, renamed_from: None, named: false, fate };
    desk.take(Input::Arrival(Arrival { at, news: News::File(Box::new(read)) })).unwrap();
    became
}

#[test]
fn a_large_file_whose_commit_fails_in_the_middle_is_stored_once_and_acknowledged_once() {
    let at = intake::now();
    let undisturbed = tempfile::tempdir().unwrap();
    let (mut plain, _) = desk(undisturbed.path(), &[]);
    let first = plain.bench.last.next();
    let mut fate = drop_it(&mut plain, at);
    plain.commit().unwrap();
    assert_eq!(fate.try_recv(), Ok(Fate::Taken));
    let of_file = |desk: &Desk<Breaks>| {
        let rows = desk.record.kept.store.all_rows().unwrap();
        rows.into_iter().filter(|row| row.seq >= first).collect::<Vec<Row>>()
    };
    let wanted = of_file(&plain);
    let readings = wanted.iter().filter(|row| matches!(row.body, Body::Reading(_))).count();
    assert_eq!(u32::try_from(readings), Ok(CHECKS * POSITIONS));

    // Before its first row, in the middle, and near its end.
    let folder = tempfile::tempdir().unwrap();
    let (mut desk, shown) = desk(folder.path(), &[20, 900, 3000, 6000]);
    let mut fate = drop_it(&mut desk, at);
    assert_eq!(
        fate.try_recv(),
        Err(oneshot::error::TryRecvError::Empty),
        "not before it is stored"
    );
    desk.commit().unwrap();
    assert_eq!(desk.record.came, (4, 1), "it failed four times and went in once");
    assert_eq!(fate.try_recv(), Ok(Fate::Taken));
    let stored = of_file(&desk);
    assert_eq!(stored[..wanted.len()], wanted[..], "the same rows, nothing twice");
    let behind: Vec<AlertKind> =
        alerts(&stored[wanted.len()..].iter().map(|row| row.body.clone()).collect::<Vec<Body>>());
    assert_eq!(behind, [AlertKind::StorageFailing], "and what was wrong meanwhile");
    assert_eq!(shown.borrow().tallies.drops["logger"].rows, u64::from(CHECKS * POSITIONS));
    assert_eq!(*shown.borrow().bench, desk.bench);

    // The very file again is known, whatever happened on its way.
    let mut again = drop_it(&mut desk, intake::now());
    desk.commit().unwrap();
    assert!(matches!(again.try_recv(), Ok(Fate::Known | Fate::Refused(_))));
    assert_eq!(desk.record.came, (4, 1));
    desk.close();
    let (_store, back) = Store::open_with(folder.path(), parse_pinned_plan).unwrap();
    assert_eq!(Bench::rebuilt(&back.rows, back.last, back.feed), *shown.borrow().bench);
}
