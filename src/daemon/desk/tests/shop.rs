//! A desk with one gauge, what it stored, and a clock of the test's own.

use crate::input::Replied;
use tokio::sync::broadcast;

use super::*;
use crate::input::Captured;
use bench::Command;
use bench::row::State;
use bench::setup::StationSetup;
use gauge::Capture;
use intake::Asks;
use quantity::{Length, Quoted, Unit, Wall};
use wire::code::{Action, Code};

/// A desk, what it stored, and a clock of the test's own.
pub(super) struct Shop {
    pub(super) desk: Desk<StandIn>,
    pub(super) record: StandIn,
    pub(super) shown: watch::Receiver<Arc<Shown>>,
    pub(super) asked: broadcast::Receiver<Name>,
    pub(super) now_us: u64,
    pub(super) keys: u32,
}

pub(super) fn name(text: &str) -> Name {
    Name::new(text).unwrap()
}

fn inch(text: &str) -> Length {
    Quoted::parse(text, Unit::Inch).unwrap().length
}

/// One gauge captured like this, its check active, its line live.
pub(super) fn shop(capture: Capture) -> Shop {
    let asks = Asks::new();
    let captured = Captured {
        capture,
        resolution: Length::from_picometres(254_000),
        timeout_us: 1_000_000,
        button: false,
        // A hand that lifts by 0.04 in lifts to the end of it.
        travel: Some((inch("-0.04"), inch("0.04"))),
        rest: None,
    };
    let captures = BTreeMap::from([(name("plate"), captured)]);
    let captures = if capture == Capture::Send { BTreeMap::new() } else { captures };
    let mut setup = a_setup();
    setup.stations.push(StationSetup { name: name("other"), gauges: Vec::new() });
    let record = StandIn::default();
    let (desk, shown) = Desk::new(Start {
        set_aside: Vec::new(),
        news: Vec::new(),
        record: record.clone(),
        bench: Bench::default(),
        setup: NewSetup {
            at: Stamp::default(),
            setup: Arc::new(setup),
            ported: BTreeSet::from([name("plate")]),
            captures,
            drops: BTreeSet::new(),
        },
        asks: asks.clone(),
        stopping: Arc::default(),
        pulse: Pulse::new(None),
    });
    let mut shop = Shop { desk, record, shown, asked: asks.hear(), now_us: 5_000_000, keys: 0 };
    shop.desk.started().unwrap();
    shop.news(News::Line { gauges: vec![name("plate")], link: Link::Live });
    shop.done(open_job("J1").command);
    shop.done(Command::Measure { target: "spacer/face-a".to_owned(), remark: None });
    shop
}

impl Shop {
    pub(super) fn at(&self) -> Stamp {
        let micros = 1_800_000_000_000_000 + i64::try_from(self.now_us).unwrap();
        Stamp { wall: Wall::from_micros(micros), mono_us: self.now_us }
    }

    pub(super) fn take(&mut self, input: Input) {
        self.desk.take(input).unwrap();
        if !self.desk.is_quiet() {
            self.desk.commit().unwrap();
        }
    }

    pub(super) fn news(&mut self, news: News) {
        self.take(Input::Arrival(Arrival { at: self.at(), news }));
    }

    pub(super) fn kind(&mut self, text: &str, kind: Kind) {
        let outcome = Outcome { gauge: 0, at_us: self.now_us, text: text.to_owned(), kind };
        self.news(News::Frame { gauge: name("plate"), outcome });
    }

    pub(super) fn frame(&mut self, steps: i64) {
        let value = Quoted::from_count(i128::from(steps), 5, Unit::Inch).unwrap();
        let reading = Kind::Reading { value, repeat: false, low_battery: false, odd: None };
        self.kind(&steps.to_string(), reading);
    }

    /// A stream of 10 Hz that stays at a height.
    pub(super) fn stay(&mut self, steps: i64, samples: u32) {
        for _ in 0..samples {
            self.now_us += 100_000;
            self.frame(steps);
        }
    }

    pub(super) fn touch(&mut self, steps: i64) {
        self.stay(4000, 4);
        self.stay(steps, 8);
    }

    pub(super) fn foot_at(&mut self, station: &str, down: bool, after_ms: u64) {
        self.now_us += after_ms * 1000;
        self.news(News::Pedal { station: name(station), down });
    }

    pub(super) fn tap(&mut self) {
        self.foot_at("bench", true, 30);
        self.foot_at("bench", false, 200);
    }

    pub(super) fn ask(&mut self, command: Command) -> oneshot::Receiver<Replied> {
        self.keys += 1;
        let (reply, answer) = oneshot::channel();
        let request = Request { station: Some("bench".to_owned()), by: None, login: None, command };
        let key = format!("k{}", self.keys);
        self.take(Input::Change(Box::new(Change::new((self.at(), key), request, reply))));
        answer
    }

    #[track_caller]
    pub(super) fn done(&mut self, command: Command) -> String {
        let line = self.ask(command).try_recv().unwrap().line;
        assert!(!line.contains("error/1"), "{line}");
        line
    }

    #[track_caller]
    pub(super) fn refused(&mut self, sentence: &str) {
        let line = self.ask(Command::Take { frame: None }).try_recv().unwrap().line;
        assert!(line.contains("error/1") && line.contains(sentence), "{line}");
    }

    /// What is stored of readings, as sent, void ones marked.
    pub(super) fn readings(&self) -> Vec<(String, State)> {
        let kept = self.record.0.lock().unwrap();
        let mut readings: Vec<(Seq, String, State)> = Vec::new();
        for row in &kept.rows {
            if let Body::Reading(reading) = &row.body {
                readings.push((row.seq, reading.as_sent.clone(), reading.state));
            } else if let Body::Marked { reading, state, .. } = &row.body {
                readings.iter_mut().find(|(seq, ..)| seq == reading).unwrap().2 = *state;
            }
        }
        readings.into_iter().map(|(_, sent, state)| (sent, state)).collect()
    }

    pub(super) fn sent(&self) -> Vec<String> {
        self.readings().into_iter().map(|(sent, _)| sent).collect()
    }

    /// What each reading counts as.
    pub(super) fn states(&self) -> Vec<State> {
        self.readings().into_iter().map(|(_, state)| state).collect()
    }

    /// Frames, taken, idle; and that they add up.
    pub(super) fn counted(&self) -> (u64, u64, u64) {
        let status = self.shown.borrow().status(intake::now().wall);
        let plate = &status.gauges[0];
        let others = plate.damaged + plate.foreign + plate.repeats + plate.resync + plate.muted;
        assert_eq!(plate.frames, plate.taken + plate.idle + others);
        (plate.frames, plate.taken, plate.idle)
    }

    /// The sentences of open notes of a kind.
    pub(super) fn notes(&self, kind: AlertKind) -> Vec<String> {
        let open = self.desk.bench.alerts.values();
        open.filter(|open| open.alert.kind == kind).map(|open| open.alert.text.clone()).collect()
    }

    #[track_caller]
    pub(super) fn noted(&self, kind: AlertKind, sentence: &str) {
        assert_eq!(self.notes(kind), [sentence]);
    }

    pub(super) fn scan(&mut self, action: Action) {
        self.now_us += 800_000;
        let text = Code::Action(action).to_string();
        self.news(News::Scan { station: name("bench"), text });
    }

    pub(super) fn hold(&mut self) {
        self.foot_at("bench", true, 500);
        self.foot_at("bench", false, 1200);
    }

    pub(super) fn alerts(&self) -> Vec<AlertKind> {
        self.desk.bench.alerts.values().map(|open| open.alert.kind).collect()
    }
}
