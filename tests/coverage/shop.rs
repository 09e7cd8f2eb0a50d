//! A bench in memory: each check of a plan is touched once, and then judged again and again with other
//! readings in place of those, by the arithmetic of the service.

use std::fs;
use std::sync::Arc;

use bench::event::{Command, Event, Frame, Request};
use bench::row::{Shown, State};
use bench::series::{Touch, next_touch};
use bench::setup::Setup;
use bench::verdict::Verdict;
use bench::{Bench, Job, Seq, judge};
use quantity::{Length, Name, Quoted, Stamp, Unit, Wall};

/// A touch of a series, as it was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Made {
    /// What it counts as.
    pub(crate) state: State,
    /// Its position.
    pub(crate) position: u32,
}

/// Checks that were measured, to be measured again with other readings.
pub(crate) struct Shop {
    job: Job,
    /// The attempts that are touched, in order.
    touched: Vec<Seq>,
    /// The one that is judged.
    judged: Seq,
}

impl Shop {
    /// Measures these checks of a plan, `PART/CHECK`, with a gauge of so many lines; the last is judged.
    pub(crate) fn new(gauge: &str, plan: &str, targets: &[&str]) -> Self {
        let mut room = Room::new(gauge, plan);
        let mut attempts = Vec::new();
        for target in targets {
            room.ask(Command::Measure { target: (*target).to_owned(), remark: None });
            room.touch_all();
            attempts.push(room.active());
        }
        let judged = *attempts.last().expect("a check");
        let (_, job, _) = room.bench.attempt(judged).expect("an open job");
        let job = Job::clone(job);
        attempts.retain(|id| job.attempts.get(id).is_some_and(|one| !one.readings.is_empty()));
        Self { job, touched: attempts, judged }
    }

    /// How many touches each of the checks took.
    pub(crate) fn touches(&self) -> Vec<u32> {
        let count = |id: &Seq| self.job.attempts.get(id).map_or(0, |one| one.readings.len());
        self.touched.iter().map(|id| u32::try_from(count(id)).expect("a few")).collect()
    }

    /// Gives every attempt this record of the gauge in the hand that touches.
    pub(crate) fn known_by(&mut self, shown: &Shown) {
        for attempt in self.job.attempts.values_mut() {
            Arc::make_mut(attempt).began.shown = Some(Arc::new(shown.clone()));
        }
    }

    /// The verdict on other readings, picometres: of each touched check its touches in order.
    pub(crate) fn read(&mut self, mut reading: impl FnMut(usize, Made) -> i64) -> Verdict {
        for (nth, id) in self.touched.iter().enumerate() {
            let attempt = Arc::make_mut(self.job.attempts.get_mut(id).expect("an attempt"));
            for touched in &mut attempt.readings {
                let made = Made { state: touched.state, position: touched.position.unwrap_or(0) };
                touched.value.length = Length::from_picometres(reading(nth, made));
            }
        }
        judge(&self.job, self.judged).expect("an attempt")
    }
}

/// The bench while the checks are touched.
struct Room {
    setup: Setup,
    bench: Bench,
    now_us: u64,
}

impl Room {
    fn new(gauge: &str, plan: &str) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let at = folder.path();
        for name in ["plans", "profiles"] {
            fs::create_dir(at.join(name)).expect("a folder");
        }
        let text = format!(
            "[bench]\nname = \"bench\"\nunit = \"in\"\nplans = \"plans\"\nprofiles = \"profiles\"\n[[gauge]]\n\
             name = \"plate\"\nkind = \"indicator\"\n{gauge}"
        );
        fs::write(at.join("bench.toml"), text).expect("written");
        fs::write(at.join("plans/held.toml"), plan).expect("written");
        let checked = config::load(&at.join("bench.toml"));
        let findings: Vec<String> = checked.findings.iter().map(ToString::to_string).collect();
        let setup = checked.loaded.unwrap_or_else(|| panic!("{findings:?}")).bench;
        let mut room = Self { setup, bench: Bench::default(), now_us: 1_000_000 };
        room.event(&Event::Started { boot: 1 });
        let (name, plan) = ("J1".to_owned(), "held".to_owned());
        room.ask(Command::JobOpen {
            name,
            used: false,
            plan,
            serial: None,
            customer: None,
            told: Vec::new(),
            rule: None,
        });
        room
    }

    fn event(&mut self, event: &Event) {
        let wall = i64::try_from(self.now_us).expect("a short day");
        let at = Stamp { wall: Wall::from_micros(wall), mono_us: self.now_us };
        let decision = self.bench.decide(&self.setup, at, event);
        if let Some(Err(refused)) = &decision.reply {
            panic!("{}", refused.text);
        }
        self.bench = decision.after;
        self.now_us += 5_000_000;
    }

    fn ask(&mut self, command: Command) {
        self.event(&Event::Request(Request { station: None, by: None, login: None, command }));
    }

    fn active(&self) -> Seq {
        let station = self.bench.stations.values().next();
        station.and_then(|station| station.attempt).expect("a check is active")
    }

    fn touch_all(&mut self) {
        loop {
            let (_, job, attempt) = self.bench.attempt(self.active()).expect("an open job");
            let next = job.check_of(attempt).map(|(_, check)| next_touch(check, attempt));
            match next {
                None | Some(Touch::Nothing | Touch::Answer | Touch::Sweep | Touch::Asked(_)) => {
                    return;
                }
                Some(Touch::Seat { .. }) => self.ask(Command::Take { frame: None }),
                Some(Touch::Master | Touch::Position(_) | Touch::Middle | Touch::Closure) => {
                    let value = Quoted::from_count(0, 5, Unit::Inch).expect("a reading");
                    let (gauge, text) = (Name::new("plate").expect("a name"), "0.00000".to_owned());
                    let (repeat, odd, low_battery) = (false, None, false);
                    self.event(&Event::Frame(Frame {
                        gauge,
                        value,
                        text,
                        repeat,
                        odd,
                        low_battery,
                    }));
                }
            }
        }
    }
}
