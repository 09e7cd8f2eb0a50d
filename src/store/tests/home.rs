//! A bench with rows of every kind, for the tests beside this file.

use std::sync::Arc;

use tempfile::TempDir;

use crate::bench::plan::SizeJudged;
use crate::bench::plan::{
    Advance, Check, CheckAt, Detail, Direction, Holding, MasterUse, Measures, Moves, Part,
    PartKind, PinnedPlan, Plan, Surface,
};
use crate::bench::row::{
    Alert, AlertKind, AttemptBegan, AttemptReason, Body, Ending, FileSeen, JobOpened, Lack, Level,
    Pin, Question, Reading, Source, StackItem, Stage, State, WentOn,
};
use crate::bench::setup::{GaugeKind, GaugeSetup, GaugeWire};
use crate::bench::sweep::Taps;
use crate::bench::verdict::{
    Answered, AxisFigures, Figures, Lobe, Longer, PairFigures, Predicted, StationFigures, TookOff,
    Verdict,
};
use crate::bench::{Bench, ENGINE, Job, Row, Seq};
use crate::gauge::{Capture, Sign};
use crate::judgement::{Coverage, Known, Limits, Reason, Rule, Word};
use crate::quantity::{Figure, Length, Name, Quoted, Stamp, Unit, Wall};
use crate::store::{ReadBack, Reader, Store};

pub(super) fn name(text: &str) -> Name {
    Name::new(text).unwrap()
}

pub(super) fn inch(text: &str) -> Quoted {
    Quoted::parse(text, Unit::Inch).unwrap()
}

/// Stands in for the reader of plan files: the text is the name of the plan and of its parts, each
/// with the same two checks.
#[expect(clippy::unnecessary_wraps, reason = "the shape of the real reader")]
pub(crate) fn parse(text: &str) -> Result<Plan, String> {
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
        measures: Measures::Parallelism,
        gauge: Some(name("plate")),
        setup: Holding::Plate,
        moves: Moves::Ring,
        surface: Surface::NearFace,
        direction,
        positions: 8,
        passes: 1,
        radii: vec![inch("1.5").length],
        limits: Some(Limits::Max(inch("0.0001").length)),
        unit: Unit::Inch,
        aim: None,
        nominal: None,
        closure: true,
        master: MasterUse::None,
        master_size: None,
        advance: Advance::Hold,
        down: None,
        face: None,
        found: None,
        detail: Detail::Plain,
    }
}

/// A check of the face of a ring.
pub(in crate::store) fn some_check() -> Check {
    check("face-a", Direction::Clockwise)
}

pub(super) fn plan(text: &str) -> Arc<PinnedPlan> {
    Arc::new(PinnedPlan { text: text.to_owned(), plan: parse(text).unwrap() })
}

pub(super) fn pin() -> Pin {
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
    Pin { gauge: Some(gauge), rule: Rule::Guarded, engine: ENGINE }
}

pub(super) fn reading(job: Option<Seq>, attempt: Option<Seq>, position: u32) -> Reading {
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

pub(super) fn verdict(attempt: Seq) -> Verdict {
    let length = |text| inch(text).length;
    Verdict {
        attempt,
        tries: 2,
        combined: vec![attempt],
        means: vec![(0, Figure::new(2, 7)), (7, -Figure::new(3, 1))],
        value: Some(Figure::new(2_540_000, 3)),
        unit: Unit::Inch,
        limits: Some(Limits::Band { min: length("-0.0001"), max: length("0.0001") }),
        uncertainty: Some(Length::from_picometres(646_622)),
        k: Some(Coverage::TWO),
        known: Known::Assumed,
        rule: Rule::Guarded,
        word: Word::Undecided,
        simple: Some(Word::Conforms),
        guarded: None,
        positions: 8,
        taken: 7,
        skipped: 1,
        answer: None,
        answers: Vec::new(),
        figures: Figures {
            max_minus_min: Some(Figure::new(i128::from(i64::MAX) * 7, 9)),
            minimum_zone: Some(-Figure::new(1, 3)),
            least_squares: Some(Figure::ZERO),
            tilt: None,
            slope_urad: Some(0.1 + 0.2),
            high_side_deg: Some(359.999_999_999_999_94),
            high_side_u_deg: Some(f64::MIN_POSITIVE),
            noise_floor: Some(length("0.00001")),
            mean: Some(Figure::new(7, 8)),
            contacts_upper: vec![0, 4],
            contacts_lower: vec![2],
            closure: Some(Figure::new(-254_000, 1)),
            ..Figures::default()
        },
        advice: vec!["Touch position 0 again: \"it\" came back different.".to_owned()],
        cautions: Vec::new(),
        reasons: vec![Reason::NotClosed, Reason::GaugeTooCoarse],
    }
}

/// A verdict in which every field says something.
pub(super) fn full_verdict(attempt: Seq) -> Verdict {
    let figures = Figures { tilt: Some(Figure::new(5, 7)), ..verdict(attempt).figures };
    let figures = bar_figures(turn_figures(figures));
    let figures = ring_figures(figures);
    Verdict {
        figures,
        guarded: Some(Word::Undecided),
        answer: Some("yes \"0.0001\"".to_owned()),
        answers: vec![Answered {
            attempt,
            text: "no".to_owned(),
            at: Wall::from_micros(7),
            by: Some(name("ada")),
        }],
        ..verdict(attempt)
    }
}

/// What judging again gives: on an answered attempt all there is.
#[expect(clippy::unnecessary_wraps, reason = "the shape of the real one")]
pub(super) fn as_stored(job: &Job, attempt: Seq) -> Option<Verdict> {
    let answered = job.attempts[&attempt].answer.is_some();
    Some(if answered { full_verdict(attempt) } else { verdict(attempt) })
}

/// A verdict on an answer: no value, no limits, no figures.
pub(super) fn answer_verdict(attempt: Seq) -> Verdict {
    Verdict {
        value: None,
        limits: None,
        uncertainty: None,
        k: None,
        known: Known::Stated,
        positions: 0,
        taken: 0,
        skipped: 0,
        answer: Some("no".to_owned()),
        combined: Vec::new(),
        means: Vec::new(),
        figures: Figures::default(),
        advice: Vec::new(),
        cautions: Vec::new(),
        reasons: Vec::new(),
        ..verdict(attempt)
    }
}

fn turn_figures(figures: Figures) -> Figures {
    let lobe = |order, high_deg| Lobe { order, amplitude: Figure::new(1234, 1000), high_deg };
    Figures {
        harmonics: vec![lobe(1, 0.1 + 0.7), lobe(2, 0.0), lobe(15, 23.999)],
        eccentricity: Some(Figure::new(1, 1000)),
        axis_deg: Some(1e-9),
        out_of_round: Some(Figure::new(77, 2)),
        unfiltered: Some(Figure::new(78, 1)),
        rate: Some(7.0 / 24.0),
        half_angle_deg: Some(8.297_144),
        ..figures
    }
}

fn bar_figures(figures: Figures) -> Figures {
    let length = |text| inch(text).length;
    let bare = StationFigures {
        at: length("0.25"),
        value: Figure::new(2_540_000, 1),
        limits: Limits::Max(length("0.0001")),
        uncertainty: Length::from_picometres(646_622),
        word: Word::Conforms,
        seatings: vec![Figure::new(2_540_000, 1)],
        eccentricity: None,
        high_side_deg: None,
        axis_deg: None,
        bar: None,
        repeat: None,
        mean_of_seatings: None,
        mean_of_totals: None,
        mean_sweep: None,
    };
    let full = StationFigures {
        at: length("3"),
        word: Word::DoesNotConform,
        seatings: vec![Figure::new(1, 3), Figure::ZERO, Figure::new(2, 3)],
        eccentricity: Some(Figure::new(5, 2)),
        high_side_deg: Some(200.0),
        axis_deg: Some(20.000_000_000_000_004),
        bar: Some((Figure::new(9, 1), 359.5)),
        repeat: Some((Figure::new(-1, 3), Figure::new(1, 2))),
        mean_of_seatings: Some(Figure::new(1, 3)),
        mean_of_totals: Some(Figure::new(2, 7)),
        mean_sweep: Some(Figure::new(1, 7)),
        ..bare.clone()
    };
    let axis = AxisFigures {
        of_spindle: true,
        offset: Figure::new(11, 1000),
        offset_deg: 12.5,
        tilt_urad: 3.25,
        tilt_deg: 271.0,
    };
    let predicted = Predicted {
        at: length("6"),
        value: Figure::new(13, 1000),
        uncertainty: Length::from_picometres(3),
        factor: 1.7,
        axis_deg: 90.25,
    };
    Figures { stations: vec![bare, full], axis: Some(axis), predicted: vec![predicted], ..figures }
}

fn ring_figures(figures: Figures) -> Figures {
    let pair = PairFigures {
        lengths: [Figure::new(38_100_000_001, 3), Figure::new(12_700_000_000, 1)],
        longer: Longer::Barely,
        required: Some(Figure::new(-4_000_000, 1)),
        preload_n: Some((190.0, 210.0)),
        loads_n: vec![(200.0, 0.1 + 0.2), (0.0, 200.0)],
        apart_min: Some(95),
    };
    let took = TookOff {
        at: vec![(0, Figure::new(1, 1)), (4, Figure::new(-1, 7))],
        same_zero: true,
        tilt: Some(Figure::new(2, 1000)),
        more_deg: Some(45.0),
    };
    Figures {
        judged: Some(SizeJudged::EveryTouch),
        to_20_c: Some(Figure::new(-127, 10)),
        zero_walk: Some(Figure::new(1_524_000, 1)),
        zero: Some(Figure::new(1_270_001, 2)),
        dish: Some(Figure::new(3, 8)),
        saddle_factor: Some(1.414),
        pair: Some(pair),
        take_off: vec![(0, Figure::ZERO), (3, Figure::new(1, 3))],
        leaves: Some(Figure::new(12_699_999_999, 1)),
        took_off: Some(took),
        ..figures
    }
}

/// Rows as a bench would decide them: numbered, stamped, and applied.
#[derive(Default)]
pub(crate) struct Rows {
    pub(crate) rows: Vec<Row>,
    pub(super) bench: Bench,
}

impl Rows {
    /// A row that nobody in particular did, or one of two people.
    pub(super) fn add(&mut self, body: Body) -> Seq {
        let by = match self.bench.last.0 % 3 {
            0 => None,
            1 => Some("Ada"),
            _ => Some("M. Weber"),
        };
        self.add_by(body, by.map(name))
    }

    fn add_by(&mut self, body: Body, by: Option<Name>) -> Seq {
        let seq = self.bench.last.next();
        let wall =
            Wall::from_micros(1_800_000_000_000_000 + i64::try_from(seq.0).unwrap() * 2_500_017);
        let at = Stamp { wall, mono_us: 5_000_000 + seq.0 * 2_500_000 };
        let row = Row { seq, at, by, body };
        self.bench.apply(&row);
        self.rows.push(row);
        seq
    }

    pub(super) fn open(&mut self, job: &str) -> Seq {
        self.open_as(job, Some("77".to_owned()), None, Some("Ada"))
    }

    pub(super) fn open_as(
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

    pub(super) fn begin(&mut self, job: Seq, (part, check): (u16, u16), number: u32) -> Seq {
        let began = AttemptBegan {
            job,
            check: CheckAt { part, check },
            number,
            reason: if number == 1 { AttemptReason::First } else { AttemptReason::Ground },
            grinds: number > 1,
            pin: Arc::new(pin()),
            remark: None,
        };
        self.add(Body::AttemptBegan(began))
    }

    pub(super) fn touch(&mut self, job: Seq, attempt: Seq, position: u32) -> Seq {
        self.add(Body::Reading(reading(Some(job), Some(attempt), position)))
    }

    pub(super) fn judge(&mut self, attempt: Seq) -> Seq {
        self.add(Body::Verdict(Arc::new(verdict(attempt))))
    }

    pub(super) fn alert(&mut self, job: Option<Seq>, attempt: Option<Seq>) -> Seq {
        let alert = Alert {
            level: Level::Interrupt,
            kind: AlertKind::OutSoFar,
            job,
            attempt,
            about: Some("plate".to_owned()),
            text: "already out before the last touch".to_owned(),
        };
        self.add(Body::AlertRaised(Arc::new(alert)))
    }

    pub(super) fn close(&mut self, job: Seq) {
        self.add(Body::JobClosed { job });
    }

    pub(super) fn reopen(&mut self, job: Seq) {
        let restored = Bench::rebuilt_job(&self.rows, job).unwrap();
        self.add(Body::JobReopened { job, restored });
    }
}

/// A history with every kind of row: one job closed, one closed and reopened, one open.
pub(crate) fn history() -> Rows {
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
    rows.add(Body::Checked { job });
    rows.add(Body::RuleChanged { job, rule: Rule::Simple, why: "agreed: by phone".to_owned() });
    rows
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
    rows.add(Body::Marked { reading: touched[2], attempt, state: State::Void, why });
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
    rows.add(Body::Started { boot: 4 });
}

/// A question without a gauge that is answered, the stack, a part that is replaced, a verdict that
/// says all there is.
pub(super) fn assembled(rows: &mut Rows, job: Seq) {
    let began = AttemptBegan {
        job,
        check: CheckAt { part: 0, check: 0 },
        number: 1,
        reason: AttemptReason::First,
        grinds: false,
        pin: Arc::new(Pin { gauge: None, rule: Rule::Simple, engine: ENGINE }),
        remark: Some("face-b down, chuck 2".to_owned()),
    };
    let attempt = rows.add(Body::AttemptBegan(began));
    rows.add(Body::Answered { attempt, text: "no, \u{1f527}".to_owned() });
    rows.add(Body::AttemptEnded { attempt, ending: Ending::Complete });
    rows.add(Body::Verdict(Arc::new(full_verdict(attempt))));
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
    let lacking = vec![
        (CheckAt { part: 0, check: 0 }, Lack::DoesNotConform),
        (CheckAt { part: 1, check: 0 }, Lack::MetalChanged),
    ];
    for part in [Some(1), None] {
        let went = WentOn { part, lacking: lacking.clone(), why: "the owner \"waits\"".to_owned() };
        rows.add(Body::WentOn { job, went: Arc::new(went) });
    }
}

/// A state folder of its own.
pub(super) struct Home(pub(super) TempDir);

impl Home {
    pub(super) fn new() -> Self {
        Self(TempDir::new().unwrap())
    }

    pub(super) fn open(&self) -> (Store, ReadBack) {
        Store::open_with(self.0.path(), parse).unwrap()
    }

    pub(super) fn reader(&self) -> Reader {
        Reader::open_with(self.0.path(), parse).unwrap()
    }

    /// With the rows in it, and the store still open.
    pub(super) fn holding(rows: &Rows) -> (Self, Store) {
        let home = Self::new();
        let (mut store, _) = home.open();
        store.commit(&rows.rows, &[]).unwrap();
        (home, store)
    }
}
