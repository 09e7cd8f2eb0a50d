//! A bench for tests: one plate gauge, one station, a plan of given checks.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::event::{Command, Event, Frame, Request};
use crate::fact::row::{AlertKind, Body, Reading, State};
use crate::fact::seq::Seq;
use crate::fact::verdict::Verdict;
use crate::plan::{
    Advance, Check, Direction, Holding, MasterUse, Moves, Parallelism, Part, PartKind, PinnedPlan,
    Plan, Reads, StackPlace, Surface,
};
use crate::reply::{Decision, Done, Refusal};
use crate::series::{Touch, next_touch};
use crate::setup::{GaugeKind, GaugeSetup, Setup, StationSetup};
use crate::state::row::Row;
use crate::state::{Bench, Job, OpenAlert};
use judgement::{Limits, Rule};
use quantity::{Length, Name, Quoted, Stamp, Unit, Wall};

pub(crate) fn name(text: &str) -> Name {
    Name::new(text).unwrap()
}

pub(crate) fn inch(text: &str) -> Length {
    Length::parse(text, Unit::Inch).unwrap()
}

/// Parallelism to a tenth on eight positions of a 3 in circle, no closure: the base of the cases.
pub(super) fn face(check: &str) -> Check {
    Check {
        name: name(check),
        gauge: Some(name("plate")),
        setup: Holding::Plate,
        moves: Moves::Stand,
        surface: Surface::NearFace,
        direction: Direction::CounterClockwise,
        positions: 8,
        touches: 1,
        passes: 1,
        radii: vec![inch("1.5")],
        limits: Some(Limits::Max(inch("0.0001"))),
        unit: Unit::Inch,
        aim: None,
        nominal: None,
        closure: false,
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
        measures: Parallelism.into(),
    }
}

pub(crate) fn gauge(gauge: &str) -> GaugeSetup {
    GaugeSetup {
        name: name(gauge),
        kind: GaugeKind::Indicator,
        unit: Some(Unit::Inch),
        resolution: Quoted::parse("0.00001", Unit::Inch).unwrap(),
        uncertainty: Some(inch("0.0000084")),
        repeatability: Some(inch("0.000006")),
        travel: None,
        serial: None,
        calibration_due: None,
        lever_mdeg: 0,
        wire: None,
    }
}

/// A running bench, its rows as they would be stored, and a clock that ticks with each event.
pub(super) struct Kit {
    pub(super) setup: Setup,
    pub(super) bench: Bench,
    pub(super) rows: Vec<Row>,
    pub(super) clock_us: u64,
}

impl Kit {
    /// One ring with these checks.
    pub(super) fn new(checks: Vec<Check>) -> Self {
        Self::of(vec![Part { name: name("ring"), kind: PartKind::Spacer, checks }], Vec::new())
    }

    /// A bench with a job of this plan.
    pub(super) fn of(parts: Vec<Part>, stack: Vec<StackPlace>) -> Self {
        let plan = Plan { name: "held".to_owned(), unit: Unit::Inch, rule: None, parts, stack };
        let pinned = Arc::new(PinnedPlan { text: String::new(), plan });
        let setup = Setup {
            name: "test bench".to_owned(),
            unit: Unit::Inch,
            rule: Rule::Guarded,
            gauges: BTreeMap::from([
                (name("plate"), gauge("plate")),
                (name("height"), gauge("height")),
            ]),
            stations: vec![StationSetup {
                name: name("bench"),
                gauges: vec![name("plate"), name("height")],
            }],
            drops: Vec::new(),
            plans: BTreeMap::from([(name("held"), pinned)]),
            plans_aside: BTreeMap::new(),
            people: Vec::new(),
            withholds_unproven: false,
            proof_days: Some(30),
            attached_bytes: 30_000_000,
        };
        let mut kit =
            Self { setup, bench: Bench::default(), rows: Vec::new(), clock_us: 1_000_000 };
        kit.event(&Event::Started { boot: 1 });
        kit.ask(Command::JobOpen {
            name: "j1".to_owned(),
            used: false,
            plan: "held".to_owned(),
            serial: None,
            customer: None,
            told: Vec::new(),
            rule: None,
        })
        .unwrap();
        kit
    }

    /// Decides, applies, and checks what must hold after every step.
    pub(super) fn event(&mut self, event: &Event) -> Decision {
        self.clock_us += 1_000_000;
        let wall = i64::try_from(self.clock_us).unwrap();
        let at = Stamp { wall: Wall::from_micros(wall), mono_us: self.clock_us };
        let decision = self.bench.decide(&self.setup, at, event);
        for row in &decision.rows {
            if let Body::AlertRaised(alert) = &row.body {
                assert_eq!(alert.is_beside_its_kind(), None);
            }
            assert_eq!(row.seq, self.bench.last.next(), "numbers run without a gap");
            self.bench.apply(row);
        }
        self.rows.extend(decision.rows.iter().cloned());
        let lines = self.rows.iter().filter(|row| is_told(&row.body)).count();
        assert_eq!(self.bench.feed, u64::try_from(lines).unwrap(), "each has its line in the feed");
        let rebuilt = Bench::rebuilt(&self.rows, self.bench.last, self.bench.feed);
        assert_eq!(rebuilt, self.bench, "rebuilt from its rows");
        decision
    }

    pub(super) fn ask(&mut self, command: Command) -> Result<Done, Refusal> {
        let request = Request { station: None, by: None, login: None, command };
        self.event(&Event::Request(request)).reply.unwrap()
    }

    pub(super) fn measure(&mut self, target: &str) -> Result<Done, Refusal> {
        self.ask(Command::Measure { target: target.to_owned(), remark: None })
    }

    pub(super) fn send(&mut self, values: &[&str]) {
        for value in values {
            self.seat();
            self.frame("plate", value, false);
        }
    }

    /// Says that the bar is seated, where that is waited for.
    fn seat(&mut self) {
        let station = self.bench.stations.values().next().and_then(|station| station.attempt);
        let waits =
            station.and_then(|id| self.bench.attempt(id)).is_some_and(|(_, job, attempt)| {
                let check = job.check_of(attempt).map(|(_, check)| check);
                check.is_some_and(|check| matches!(next_touch(check, attempt), Touch::Seat { .. }))
            });
        if waits {
            self.ask(Command::Take { frame: None }).unwrap();
        }
    }

    pub(super) fn frame(&mut self, gauge: &str, value: &str, repeat: bool) {
        self.event(&Event::Frame(Frame {
            gauge: name(gauge),
            value: Quoted::parse(value, Unit::Inch).unwrap(),
            text: value.to_owned(),
            repeat,
            odd: None,
            low_battery: false,
        }));
    }

    pub(super) fn verdicts(&self) -> Vec<Arc<Verdict>> {
        let verdict = |row: &Row| {
            if let Body::Verdict(verdict) = &row.body { Some(Arc::clone(verdict)) } else { None }
        };
        self.rows.iter().filter_map(verdict).collect()
    }

    pub(super) fn verdict(&self) -> Arc<Verdict> {
        self.verdicts().pop().unwrap()
    }

    /// The readings as they were stored.
    pub(super) fn readings(&self) -> Vec<(Seq, Reading)> {
        let reading = |row: &Row| {
            if let Body::Reading(reading) = &row.body {
                Some((row.seq, reading.clone()))
            } else {
                None
            }
        };
        self.rows.iter().filter_map(reading).collect()
    }

    pub(super) fn states(&self) -> Vec<State> {
        self.readings().iter().map(|(_, reading)| reading.state).collect()
    }

    /// One touch with the plate gauge.
    pub(super) fn press(&mut self, value: &str) {
        self.frame("plate", value, false);
    }

    /// The job.
    pub(super) fn job(&self) -> Arc<Job> {
        Arc::clone(self.bench.jobs.values().next().unwrap())
    }

    /// Texts of the open alerts of a kind.
    pub(super) fn alerts(&self, kind: AlertKind) -> Vec<String> {
        let of_kind = self.bench.alerts.values().filter(|open| open.alert.kind == kind);
        of_kind.map(|open| open.alert.text.clone()).collect()
    }

    /// Texts of the alerts that are open.
    pub(super) fn open(&self) -> Vec<String> {
        self.bench.alerts.values().map(|open: &OpenAlert| open.alert.text.clone()).collect()
    }
}

/// Whether a row is one line of the feed.
const fn is_told(body: &Body) -> bool {
    matches!(
        body,
        Body::Verdict(_)
            | Body::AlertRaised(_)
            | Body::AlertSeen { .. }
            | Body::AlertCleared { .. }
    )
}

/// A refusal that stored nothing, in words.
#[track_caller]
pub(super) fn refused<T: std::fmt::Debug>(
    kit: &mut Kit,
    ask: impl FnOnce(&mut Kit) -> Result<T, Refusal>,
) -> String {
    let before = kit.rows.len();
    let refusal = ask(kit).unwrap_err();
    assert_eq!(kit.rows.len(), before, "a refused thing leaves nothing behind");
    format!("{}; {}", refusal.text, refusal.hint.unwrap_or_default())
}
