//! A bench in memory with the configuration and the plan of files: events go in, and what a person would be
//! told comes out.

use std::fs;

use bench::event::{Command, Event, Frame, Request};
use bench::row::{AlertKind, Body, Level};
use bench::series::{Touch, next_touch};
use bench::setup::Setup;
use bench::verdict::Verdict;
use bench::{Bench, Refusal};
use quantity::{Name, Quoted, Stamp, Unit, Wall};

/// What the configuration says of the gauge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Known {
    /// Nothing: everything is assumed.
    Nothing,
    /// Uncertainty and repeatability, as they are.
    Stated,
    /// Nothing, but the bench has its own record of many series.
    Seen,
}

impl Known {
    pub(crate) const ALL: [Self; 3] = [Self::Nothing, Self::Stated, Self::Seen];

    pub(crate) const fn text(self) -> &'static str {
        match self {
            Self::Nothing => "nothing",
            Self::Stated => "stated",
            Self::Seen => "from its record",
        }
    }
}

/// A check of the plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum What {
    Ring,
    Length,
    Turn,
    Bar,
}

impl What {
    pub(crate) const ALL: [Self; 4] = [Self::Ring, Self::Length, Self::Turn, Self::Bar];

    pub(crate) const fn text(self) -> &'static str {
        match self {
            Self::Ring => "ring",
            Self::Length => "length",
            Self::Turn => "turn",
            Self::Bar => "bar",
        }
    }

    /// `PART/CHECK`.
    pub(crate) const fn target(self) -> &'static str {
        match self {
            Self::Ring => "piece/face",
            Self::Length => "piece/length",
            Self::Turn => "shaft/nose",
            Self::Bar => "shaft/bar",
        }
    }

    /// Positions of one turn, or of one station of a bar.
    pub(crate) const fn positions(self) -> u32 {
        match self {
            Self::Ring => 8,
            Self::Length => 4,
            Self::Turn | Self::Bar => 10,
        }
    }
}

/// The plan of every series.
pub(crate) const PLAN: &str = r#"
name = "held"
unit = "in"
[[part]]
name = "piece"
kind = "spacer"
[[part.check]]
name = "face"
measures = "parallelism"
gauge = "plate"
setup = "plate"
moves = "ring"
positions = 8
radius = "1.5 in"
tolerance = "0.0001 in"
[[part.check]]
name = "length"
measures = "length"
gauge = "plate"
setup = "plate"
positions = 4
radius = "1.5 in"
nominal = "2 in"
min = "1.9999 in"
max = "2.0001 in"
master = "both"
master_size = "2 in"
master_uncertainty = "0.000004 in"
temperature_between = 0.1
off_20 = 1.0
expansion_uncertainty = 1e-6
[[part]]
name = "shaft"
kind = "shaft"
[[part.check]]
name = "nose"
measures = "runout"
gauge = "plate"
touch = "outside"
positions = 10
tolerance = "0.0001 in"
closure = true
[[part.check]]
name = "bar"
measures = "bar-runout"
gauge = "plate"
touch = "outside"
positions = 10
seatings = 4
stations = [ { at = "3 in", tolerance = "0.0002 in", seating = "0.000004 in" } ]
bar = "0.000004 in"
"#;

/// What the configuration says of a gauge that is touched with a scatter of `s`, µin.
pub(crate) fn gauge_lines(known: Known, s: f64) -> String {
    // Rounding to a count of 10 µin is part of what ten lifts show.
    let s = (s * s + 100.0 / 12.0).sqrt() / 1e6;
    let stated = format!("uncertainty = \"{s:.7} in\"\nrepeatability = \"{s:.7} in\"\n");
    let stated = if known == Known::Stated { stated } else { String::new() };
    let travel = "[\"-0.010 in\", \"0.010 in\"]";
    format!("unit = \"in\"\nresolution = \"0.00001 in\"\ntravel = {travel}\n{stated}")
}

/// What a person did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Did {
    /// Pressed the button: what the gauge sent.
    Touched(String),
    /// Said that the bar is seated.
    Seated,
}

/// A bench with one gauge.
#[derive(Clone)]
pub(crate) struct Shop {
    setup: Setup,
    bench: Bench,
    now_us: u64,
    /// What was raised since it was last asked for.
    raised: Vec<(AlertKind, Level, String)>,
    verdict: Option<Verdict>,
    jobs: u32,
    gauge: Name,
    /// What was done since the newest series began.
    pub(crate) did: Vec<Did>,
}

/// What one touch led to.
pub(crate) struct Told {
    /// Alerts that were raised.
    pub(crate) raised: Vec<(AlertKind, Level, String)>,
    /// The verdict, where it came.
    pub(crate) verdict: Option<Verdict>,
}

impl Shop {
    /// A bench whose gauge is touched with a scatter of `s`, µin.
    pub(crate) fn new(known: Known, s: f64) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let at = folder.path();
        for name in ["plans", "profiles"] {
            fs::create_dir(at.join(name)).expect("a folder");
        }
        let text = format!(
            "[bench]\nname = \"bench\"\nunit = \"in\"\nplans = \"plans\"\nprofiles = \"profiles\"\n[[gauge]]\n\
             name = \"plate\"\nkind = \"indicator\"\n{}",
            gauge_lines(known, s)
        );
        fs::write(at.join("bench.toml"), text).expect("written");
        fs::write(at.join("plans/held.toml"), PLAN).expect("written");
        let checked = config::load(&at.join("bench.toml"));
        let findings: Vec<String> = checked.findings.iter().map(ToString::to_string).collect();
        let setup = checked.loaded.unwrap_or_else(|| panic!("{findings:?}")).bench;
        let gauge = Name::new("plate").expect("a name");
        let (bench, raised) = (Bench::default(), Vec::new());
        let (verdict, did) = (None, Vec::new());
        let mut shop =
            Self { setup, bench, now_us: 1_000_000, raised, verdict, jobs: 0, gauge, did };
        shop.event(&Event::Started { boot: 1 });
        shop
    }

    fn event(&mut self, event: &Event) -> Option<Result<bench::Done, Refusal>> {
        let wall = i64::try_from(self.now_us).expect("a short day");
        let at = Stamp { wall: Wall::from_micros(wall), mono_us: self.now_us };
        let decision = self.bench.decide(&self.setup, at, event);
        for row in &decision.rows {
            if let Body::AlertRaised(alert) = &row.body {
                self.raised.push((alert.kind, alert.level, alert.text.clone()));
            } else if let Body::Verdict(verdict) = &row.body {
                self.verdict = Some(Verdict::clone(verdict));
            }
        }
        self.bench = decision.after;
        decision.reply
    }

    fn ask(&mut self, command: Command) {
        let request = Request { station: None, by: None, login: None, command };
        if let Some(Err(refused)) = self.event(&Event::Request(request)) {
            panic!("{}", refused.text);
        }
    }

    /// Begins a series at a new piece.
    pub(crate) fn begin(&mut self, what: What) {
        if self.jobs > 0 {
            self.ask(Command::JobClose { name: None, why: Some("done".to_owned()) });
        }
        self.jobs += 1;
        self.ask(Command::JobOpen {
            name: format!("J{}", self.jobs),
            used: false,
            plan: "held".to_owned(),
            serial: None,
            customer: None,
            told: Vec::new(),
            rule: None,
        });
        self.ask(Command::Measure { target: what.target().to_owned(), remark: None });
        self.told();
        self.did.clear();
    }

    /// What is touched next.
    pub(crate) fn next(&self) -> Touch {
        let station = self.bench.stations.values().next();
        let attempt = station.and_then(|station| station.attempt);
        let Some((_, job, attempt)) = attempt.and_then(|id| self.bench.attempt(id)) else {
            return Touch::Nothing;
        };
        job.check_of(attempt).map_or(Touch::Nothing, |(_, check)| next_touch(check, attempt))
    }

    /// A person says that the bar is seated.
    pub(crate) fn seated(&mut self) {
        self.now_us += 20_000_000;
        self.did.push(Did::Seated);
        self.ask(Command::Take { frame: None });
    }

    /// The gauge sends so many steps of its display, `after_s` seconds after the touch before.
    pub(crate) fn touch(&mut self, counts: i64, unit: Unit, after_s: f64) -> Told {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "seconds")]
        let after_us = (after_s * 1e6) as u64;
        self.now_us += after_us;
        let places = if unit == Unit::Inch { 5 } else { 4 };
        let value = Quoted::from_count(i128::from(counts), places, unit).expect("a reading");
        let text = value.to_string();
        let text = text.split(' ').next().unwrap_or_default().to_owned();
        self.did.push(Did::Touched(text.clone()));
        let odd =
            (unit != Unit::Inch).then_some(gauge::Odd::Unit { expected: Unit::Inch, got: unit });
        let (gauge, repeat, low_battery) = (self.gauge.clone(), false, false);
        self.event(&Event::Frame(Frame { gauge, value, text, repeat, odd, low_battery }));
        self.told()
    }

    fn told(&mut self) -> Told {
        Told { raised: std::mem::take(&mut self.raised), verdict: self.verdict.take() }
    }
}
