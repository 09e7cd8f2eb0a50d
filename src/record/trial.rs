//! A bench with rows of every kind, for the tests beside this file.

#![allow(
    missing_docs,
    missing_debug_implementations,
    clippy::unwrap_used,
    clippy::missing_panics_doc,
    clippy::new_without_default,
    reason = "only tests see it"
)]

mod proofs;
mod verdicts;

use std::sync::Arc;

use tempfile::TempDir;

use crate::{ReadBack, Reader, Store};
use bench::Taps;
use bench::plan::{
    Advance, Check, CheckAt, Direction, Holding, MasterUse, Moves, Parallelism, Part, PartKind,
    PinnedPlan, Plan, Reads, Surface,
};
use bench::row::{
    Alert, AlertKind, Attached, AttemptBegan, AttemptReason, Body, Ending, FileSeen, HighSpot,
    IntakeItem, JobField, JobOpened, Lack, Level, LogWentOn, MarkOff, Outcome, Paper, PaperType,
    Pin, Pool, Question, Reading, Repeated, Role, Seated, Shown, Signed, Source, SpeedStep, Spot,
    StackItem, Stage, State, Subject, Temperature, WentOn,
};
use bench::setup::{GaugeKind, GaugeSetup, GaugeWire};
use bench::{Bench, ENGINE, Row, Seq};
use gauge::{Capture, Sign};
use judgement::{Limits, Rule};
use quantity::{Name, Quoted, Stamp, Unit, Wall};
pub use verdicts::{answer_verdict, as_stored, full_verdict, verdict};

pub fn name(text: &str) -> Name {
    Name::new(text).unwrap()
}

pub fn inch(text: &str) -> Quoted {
    Quoted::parse(text, Unit::Inch).unwrap()
}

/// Stands in for the reader of plan files: the text is the name of the plan, followed by those of its
/// parts; each part has the same two checks.
pub fn parse(text: &str) -> Result<Plan, String> {
    let mut words = text.split(' ');
    let name_of_plan = words.next().unwrap().to_owned();
    let part = |word: &str| Part {
        name: name(word),
        kind: PartKind::Spacer,
        checks: vec![
            check("face-a", Direction::Clockwise),
            check("face-b", Direction::CounterClockwise),
        ],
    };
    Ok(Plan {
        name: name_of_plan,
        unit: Unit::Inch,
        rule: None,
        parts: words.map(part).collect(),
        stack: Vec::new(),
    })
}

fn check(text: &str, direction: Direction) -> Check {
    Check {
        name: name(text),
        measures: Parallelism.into(),
        gauge: Some(name("plate")),
        setup: Holding::Plate,
        moves: Moves::Ring,
        surface: Surface::NearFace,
        direction,
        positions: 8,
        touches: 1,
        passes: 1,
        radii: vec![inch("1.5").length],
        limits: Some(Limits::Max(inch("0.0001").length)),
        unit: Unit::Inch,
        aim: None,
        nominal: None,
        closure: true,
        master: MasterUse::None,
        master_size: None,
        master_name: None,
        master_known: None,
        bar_name: None,
        bar_known: None,
        middle: false,
        odds: 100,
        traps: judgement::Traps::default(),
        advance: Advance::Hold,
        down: None,
        face: None,
        found: None,
        step: None,
        reads: Reads::Touches,
    }
}

/// A check of the face of a ring.
pub fn some_check() -> Check {
    check("face-a", Direction::Clockwise)
}

pub fn plan(text: &str) -> Arc<PinnedPlan> {
    Arc::new(PinnedPlan { text: text.to_owned(), plan: parse(text).unwrap() })
}

pub fn pin() -> Pin {
    let length = |text| inch(text).length;
    let gauge = GaugeSetup {
        name: name("plate"),
        kind: GaugeKind::Indicator,
        unit: Some(Unit::Inch),
        resolution: inch("0.00001"),
        uncertainty: Some(length("0.000009")),
        repeatability: None,
        travel: Some((length("-0.010"), length("0.010"))),
        serial: Some("8841-Ø".to_owned()),
        calibration_due: Some(Wall::parse("2027-03-01").unwrap()),
        lever_mdeg: 12_500,
        wire: Some(GaugeWire {
            port: "/dev/serial/by-id/one".to_owned(),
            profile: "counts".to_owned(),
            channel: Some("2".to_owned()),
            sign: Sign::Minus,
            scale: Some(inch("0.00002")),
            capture: Capture::Settle,
        }),
    };
    Pin {
        gauge: Some(gauge),
        rule: Rule::Guarded,
        engine: ENGINE,
        unproven: None,
        withheld: false,
        master: None,
        bar: None,
    }
}

/// What a bench knew of a gauge, with every field set.
fn shown() -> Shown {
    let pool = Pool {
        s: inch("0.000006").length,
        degrees: 43,
        count: 46,
        drift: Some(inch("-0.000004").length),
    };
    let seatings = vec![Seated { at: inch("3").length, pool }];
    let by = Some(name("Ada"));
    Shown { by, lifts: Some(pool), returns: Some(pool), masters: Some(pool), seatings }
}

pub fn reading(job: Option<Seq>, attempt: Option<Seq>, position: u32) -> Reading {
    Reading {
        job,
        attempt,
        gauge: name("plate"),
        source: Source::Serial,
        value: inch("0.00012"),
        as_sent: "+0.00012".to_owned(),
        state: State::Placed,
        why: None,
        position: Some(position),
        measured_at: None,
    }
}

/// Rows as a bench would decide them: numbered, stamped, and applied.
#[derive(Default)]
pub struct Rows {
    pub rows: Vec<Row>,
    pub bench: Bench,
}

impl Rows {
    /// Adds a row, done by nobody or by one of two people.
    pub fn add(&mut self, body: Body) -> Seq {
        let row = self.next(body);
        self.take(row)
    }

    fn add_by(&mut self, body: Body, by: Option<Name>) -> Seq {
        let row = Row { by, ..self.next(body) };
        self.take(row)
    }

    /// The next row, by one after the other.
    fn next(&self, body: Body) -> Row {
        let by = match self.bench.last.0 % 3 {
            0 => None,
            1 => Some("Ada"),
            _ => Some("M. Weber"),
        };
        let seq = self.bench.last.next();
        let wall =
            Wall::from_micros(1_800_000_000_000_000 + i64::try_from(seq.0).unwrap() * 2_500_017);
        let at = Stamp { wall, mono_us: 5_000_000 + seq.0 * 2_500_000 };
        Row { seq, at, by: by.map(name), body, restored: None }
    }

    fn take(&mut self, row: Row) -> Seq {
        let seq = row.seq;
        self.bench.apply(&row);
        self.rows.push(row);
        seq
    }

    /// The signatures after a row.
    pub fn signatures_after(&self, row: Seq) -> Vec<Seq> {
        let signed = |one: &&Row| matches!(one.body, Body::Signed { .. }) && one.seq > row;
        self.rows.iter().filter(signed).map(|one| one.seq).collect()
    }

    pub fn open(&mut self, job: &str) -> Seq {
        self.open_as(job, Some("77".to_owned()), None, Some("Ada"))
    }

    pub fn open_as(
        &mut self,
        job: &str,
        serial: Option<String>,
        customer: Option<String>,
        by: Option<&str>,
    ) -> Seq {
        let opened = JobOpened {
            name: name(job),
            plan_name: name("wheelhead"),
            plan: plan("wheelhead inner outer"),
            serial,
            customer,
            rule: Rule::Guarded,
        };
        self.add_by(Body::JobOpened(Arc::new(opened)), by.map(name))
    }

    pub fn begin(&mut self, job: Seq, (part, check): (u16, u16), number: u32) -> Seq {
        let began = AttemptBegan {
            job,
            check: CheckAt { part, check },
            number,
            reason: if number == 1 { AttemptReason::First } else { AttemptReason::Ground },
            grinds: number > 1,
            pin: Arc::new(pin()),
            shown: None,
            remark: None,
        };
        self.add(Body::AttemptBegan(began))
    }

    pub fn touch(&mut self, job: Seq, attempt: Seq, position: u32) -> Seq {
        self.add(Body::Reading(reading(Some(job), Some(attempt), position)))
    }

    pub fn judge(&mut self, attempt: Seq) -> Seq {
        self.add(Body::Verdict(Arc::new(verdict(attempt))))
    }

    pub fn alert(&mut self, job: Option<Seq>, attempt: Option<Seq>) -> Seq {
        let alert = Alert {
            level: Level::Interrupt,
            kind: AlertKind::OutSoFar,
            job,
            attempt,
            about: Some(Subject::Gauge(Name::new("plate").unwrap())),
            position: None,
            text: "already out before the last touch".to_owned(),
        };
        self.add(Body::AlertRaised(Arc::new(alert)))
    }

    pub fn close(&mut self, job: Seq) {
        self.add(Body::JobClosed { job });
    }

    pub fn reopen(&mut self, job: Seq) {
        let restored = Bench::rebuilt_job(&self.rows, job).unwrap();
        let row = Row { restored: Some(restored), ..self.next(Body::JobReopened { job }) };
        self.take(row);
    }
}

/// A history with every kind of row: one job closed, one closed and reopened, one open.
pub fn history() -> Rows {
    let mut rows = Rows::default();
    rows.add(Body::Started { boot: u64::MAX - 3 });
    let unclaimed = Reading {
        state: State::Unclaimed,
        position: None,
        why: Some("no job is active".to_owned()),
        ..reading(None, None, 0)
    };
    rows.add(Body::Reading(unclaimed));
    first_job(&mut rows);
    second_job(&mut rows);
    third_job(&mut rows);
    for person in [Some(name("M. Weber")), None, Some(name("Ada"))] {
        rows.add(Body::PersonAt { station: name("bench"), person });
    }
    let job = rows.bench.jobs.keys().next_back().copied().unwrap();
    papers(&mut rows, job);
    rows.add(Body::RuleChanged { job, rule: Rule::Simple, why: "agreed: by phone".to_owned() });
    for (spot, at) in [(Spot::Return, None), (Spot::Seating, Some(inch("3").length))] {
        let lengths = vec![inch("-0.00001").length, inch("0").length];
        let (gauge, serial) = (name("plate"), at.map(|_| "8841-Ø".to_owned()));
        let (setup, reading) = (Holding::Plate, Seq(7));
        let seen = Repeated { gauge, serial, spot, setup, at, lengths, reading };
        rows.add(Body::Repeated(Arc::new(seen)));
    }
    card(&mut rows, job);
    rows
}

/// What people write on the card of a job. The last signature is of an earlier state.
fn card(rows: &mut Rows, job: Seq) {
    for (what, text) in [
        (IntakeItem::Complaint, "whines above 6000 \"since the crash\""),
        (IntakeItem::Asked, "new bearings, nose under 0.0001 in"),
        (IntakeItem::Limits, "as drawing S-118"),
        (IntakeItem::Asked, "the same, and a new nut"),
    ] {
        rows.add(Body::Intake { job, what, text: text.to_owned() });
    }
    for (what, why) in [(JobField::Serial, None), (JobField::Customer, Some("a \"typing\" error"))]
    {
        let (text, why) = ("8841-Ø \"b\"".to_owned(), why.map(str::to_owned));
        rows.add(Body::JobEdited { job, what, text, why });
    }
    let (part, serial) = (0, "B7/Ø".to_owned());
    rows.add(Body::Serial { job, part, serial });
    for outcome in Outcome::ALL {
        rows.add(Body::Decided { job, part, outcome, why: "seat fretted".to_owned() });
    }
    for (role, why) in [(Role::Measured, None), (Role::Checked, Some("the owner waits"))] {
        let seal = seal_after(rows);
        let at = CheckAt { part: 0, check: 1 };
        let lacking = why.map(|_| (at, Lack::Undecided)).into_iter().collect();
        let of = rows.bench.jobs.get(&job).unwrap().card.changed;
        let signed = Signed { role, seal, of, lacking, why: why.map(str::to_owned) };
        rows.add_by(Body::Signed { job, signed: Arc::new(signed) }, Some(name("Ada")));
    }
    rows.add(Body::Intake { job, what: IntakeItem::Limits, text: "none".to_owned() });
}

/// The seal of a record with these rows.
fn seal_after(rows: &Rows) -> String {
    let (_home, store) = Home::holding(rows);
    store.seal().unwrap().to_string()
}

fn first_job(rows: &mut Rows) {
    let first = rows.open("S-1041");
    let station = name("bench");
    rows.add(Body::JobActive { station: station.clone(), job: Some(first) });
    let attempt = rows.begin(first, (0, 0), 1);
    rows.add(Body::CheckActive { station, attempt: Some(attempt) });
    rows.add(Body::MasterNext { attempt });
    let master = Reading {
        state: State::Master,
        source: Source::Keyed,
        position: None,
        ..reading(Some(first), Some(attempt), 0)
    };
    rows.add(Body::Reading(master));
    let touched: Vec<Seq> = (0..7).map(|position| rows.touch(first, attempt, position)).collect();
    let why = "wild".to_owned();
    rows.add(Body::Marked { reading: touched[2], attempt: Some(attempt), state: State::Void, why });
    rows.add(Body::Skipped { attempt, position: 7, why: "a slot".to_owned() });
    let seen = rows.alert(Some(first), Some(attempt));
    rows.add(Body::AlertSeen { alert: seen });
    for question in [
        Some(Question::Closure),
        Some(Question::Master),
        Some(Question::Touch(3)),
        Some(Question::HalfTurn { high: 2, low: 6 }),
        None,
    ] {
        rows.add(Body::Asked { attempt, question });
    }
    rows.add(Body::AttemptEnded { attempt, ending: Ending::Complete });
    rows.judge(attempt);
    rows.judge(attempt);
    rows.add(Body::AlertCleared { alert: seen });
    rows.add(Body::Noted { job: first, text: "fed with \u{1f527}".to_owned() });
    rows.close(first);
}

/// Pictures and papers of a job.
fn papers(rows: &mut Rows, job: Seq) {
    let paper = |digest: u8, kind| Paper { digest: [digest; 32], bytes: 1_204_117, kind };
    let of = |part, check, paper| Attached {
        job,
        part,
        check,
        what: "pitting, \"thrust\" side".to_owned(),
        name: "Bild 7 Ø.jpg".to_owned(),
        paper,
    };
    rows.add(Body::Attached(Arc::new(of(None, None, paper(0x1f, PaperType::Pdf)))));
    let on_check = of(Some(0), Some(0), paper(0xa0, PaperType::Jpeg));
    let attached = rows.add(Body::Attached(Arc::new(on_check)));
    rows.add(Body::AttachedTakenBack { job, attached, why: "blurred".to_owned() });
}

fn second_job(rows: &mut Rows) {
    let second = rows.open("S-1042");
    rows.add(Body::JobActive { station: name("bench-2"), job: Some(second) });
    let attempt = rows.begin(second, (1, 1), 1);
    rows.add(Body::CheckActive { station: name("bench-2"), attempt: Some(attempt) });
    let seen = FileSeen {
        drop: name("height-logger"),
        name: "S-1042__outer__face-b.csv".to_owned(),
        digest: [7; 32],
        bytes: 1234,
        rows: 2,
        series: [5; 32],
        went: [6; 32],
        why: String::new(),
    };
    let refused = FileSeen { digest: [8; 32], why: "line 3: no unit".to_owned(), ..seen.clone() };
    rows.add(Body::FileRefused(Arc::new(refused)));
    let file = rows.add(Body::FileTaken(Arc::new(seen)));
    for line in 2..4 {
        let dropped = Reading {
            source: Source::Drop { file, line },
            measured_at: Some(Wall::from_micros(-5)),
            value: Quoted::parse("-12.3450", Unit::Millimetre).unwrap(),
            ..reading(Some(second), Some(attempt), line)
        };
        rows.add(Body::Reading(dropped));
    }
    rows.add(Body::AttemptEnded { attempt, ending: Ending::Stopped });
    rows.close(second);
    rows.reopen(second);
    let attempt = rows.begin(second, (1, 1), 2);
    rows.touch(second, attempt, 0);
    rows.close(second);
    rows.reopen(second);
    rows.add(Body::CheckActive { station: name("bench-2"), attempt: None });
}

fn third_job(rows: &mut Rows) {
    let station = name("bench");
    let third = rows.open("S-1043");
    let attempt = rows.begin(third, (0, 1), 1);
    rows.add(Body::JobActive { station: station.clone(), job: Some(third) });
    rows.add(Body::CheckActive { station, attempt: Some(attempt) });
    rows.touch(third, attempt, 0);
    assembled(rows, third);
    let open = rows.alert(None, None);
    rows.add(Body::AlertSeen { alert: open });
    rows.alert(Some(third), Some(attempt));
    let swept = rows.begin(third, (0, 0), 1);
    let taps = Taps { at_us: vec![1_000_000, u64::MAX - 7], samples: 300 };
    rows.add(Body::TurnUnderWay { attempt: swept, under_way: true });
    rows.add(Body::TurnUnderWay { attempt: swept, under_way: false });
    for (seating, taken_back) in [(3, false), (0, true), (u32::MAX, false)] {
        rows.add(Body::Seated { attempt: swept, seating, taken_back });
    }
    rows.add(Body::Swept { attempt: swept, taps: Arc::new(taps) });
    self::proofs::proofs(rows);
    self::proofs::register(rows);
    rows.add(Body::Started { boot: 4 });
}

/// A question without a gauge that is answered, the stack, a replaced part, and a verdict with every field
/// set.
pub fn assembled(rows: &mut Rows, job: Seq) {
    let began = AttemptBegan {
        job,
        check: CheckAt { part: 0, check: 0 },
        number: 1,
        reason: AttemptReason::First,
        grinds: false,
        pin: Arc::new(Pin {
            gauge: None,
            rule: Rule::Simple,
            engine: ENGINE,
            unproven: None,
            withheld: false,
            master: None,
            bar: None,
        }),
        shown: Some(Arc::new(shown())),
        remark: Some("face-b down, chuck 2".to_owned()),
    };
    let attempt = rows.add(Body::AttemptBegan(began));
    rows.add(Body::Answered { attempt, text: "no, \u{1f527}".to_owned() });
    rows.add(Body::AttemptEnded { attempt, ending: Ending::Complete });
    rows.add(Body::Verdict(Arc::new(full_verdict(attempt))));
    for body in run_in(attempt) {
        rows.add(body);
    }
    let bare = StackItem { part: 1, towards_nose: None, mark_deg: None, serial: None };
    let full = StackItem {
        part: 0,
        towards_nose: Some("thrust-side".to_owned()),
        mark_deg: Some(359),
        serial: Some("B\"7".to_owned()),
    };
    for item in [full.clone(), bare] {
        rows.add(Body::StackPlaced { job, stage: Stage::Found, item: Arc::new(item) });
    }
    rows.add(Body::StackPlaced { job, stage: Stage::Built, item: Arc::new(full.clone()) });
    rows.add(Body::StackTaken { job, stage: Stage::Built });
    rows.add(Body::StackPlaced { job, stage: Stage::Built, item: Arc::new(full) });
    for (part, serial, why) in [(1, Some("B8".to_owned()), "bore worn"), (0, None, "lost")] {
        rows.add(Body::PartReplaced { job, part, serial, why: why.to_owned() });
    }
    let spot = HighSpot {
        deg: 210,
        is_low: true,
        amount: Some(inch("0.00004")),
        uncertainty: Some(inch("0.000006").length),
        towards_nose: Some("thrust \"side\"".to_owned()),
    };
    let bare =
        HighSpot { deg: 0, is_low: false, amount: None, uncertainty: None, towards_nose: None };
    for (part, spot) in [(1, Some(spot)), (0, Some(bare.clone())), (1, None), (1, Some(bare))] {
        rows.add(Body::SpotMarked { job, part, spot: spot.map(Arc::new) });
    }
    let lacking = vec![
        (CheckAt { part: 0, check: 0 }, Lack::DoesNotConform),
        (CheckAt { part: 1, check: 0 }, Lack::MetalChanged),
    ];
    for part in [Some(1), None] {
        let mark = part.map(|_| MarkOff { belongs_deg: 187, within_deg: 15, is_deg: Some(7) });
        let why = "the owner \"waits\"".to_owned();
        let went = WentOn { part, lacking: lacking.clone(), mark, why };
        rows.add(Body::WentOn { job, went: Arc::new(went) });
    }
}

/// The facts of a run-in.
fn run_in(attempt: Seq) -> [Body; 4] {
    let boot = u64::MAX - 3;
    let value = Quoted::parse("31.5", Unit::Millimetre).unwrap();
    let (place, source) = (1, Source::Keyed);
    [
        Body::SpeedStep(SpeedStep { attempt, step: 0, after_ms: 0, boot, by_plan: false }),
        Body::Temperature(Temperature {
            attempt,
            place,
            after_ms: 900,
            value,
            source,
            gauge: None,
        }),
        Body::Temperature(Temperature {
            attempt,
            place: 0,
            after_ms: 60_000,
            value,
            source: Source::Serial,
            gauge: Some(Name::new("probe").unwrap()),
        }),
        Body::LogWentOn(LogWentOn { attempt, after_ms: 61_000, boot }),
    ]
}

/// A state folder of its own.
pub struct Home(pub TempDir);

impl Home {
    pub fn new() -> Self {
        Self(TempDir::new().unwrap())
    }

    pub fn open(&self) -> (Store, ReadBack) {
        Store::open_with(self.0.path(), parse).unwrap()
    }

    pub fn reader(&self) -> Reader {
        Reader::open_with(self.0.path(), parse).unwrap()
    }

    /// With the rows in it, and the store still open.
    pub fn holding(rows: &Rows) -> (Self, Store) {
        let home = Self::new();
        let (mut store, _) = home.open();
        store.commit(&rows.rows, &[]).unwrap();
        (home, store)
    }
}
