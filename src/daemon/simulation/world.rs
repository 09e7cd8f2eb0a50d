//! The world around the service: clock, cables, the running desk and its record, and the people.

use std::cell::RefCell;
use std::collections::{BTreeMap, VecDeque};
use std::path::PathBuf;
use std::rc::Rc;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use tokio::sync::oneshot;

use super::alike::Alike;
use super::asking::keep_pictures;
use super::cable::Cable;
use super::dice::Dice;
use super::disk::Image;
use super::handing::Handing;
use super::polled;
use super::refusing::{Letter, Outage, Outside, Refusing, Waiting};
use super::shop::Layout;
use crate::desk::{Desk, Start};
use crate::input::{Change, Input, NewSetup};
use crate::pulse::Pulse;
use crate::record::Kept;
use crate::reload::{new_setup, parse_pinned_plan};
use ::record::{NEWEST, ReadBack, Store};
use bench::event::StorageNews;
use bench::{Bench, Event, Request};
use config::Loaded;
use gauge::Kind;
use intake::{Arrival, Asks, News, ReadFile};
use quantity::{Name, Stamp, Wall};

/// The simulated clocks. Wall time may jump; the monotonic clock starts again with each boot.
#[derive(Debug, Clone, Copy)]
pub(super) struct Clock {
    pub(super) mono_us: u64,
    pub(super) wall_us: i64,
    pub(super) boot: u64,
}

impl Clock {
    pub(super) const fn now(self) -> Stamp {
        Stamp { wall: Wall::from_micros(self.wall_us), mono_us: self.mono_us }
    }
}

/// The frames of one gauge, counted here when they are given to the desk.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Counted {
    pub(super) frames: u64,
    pub(super) taken: u64,
    pub(super) repeats: u64,
    pub(super) damaged: u64,
    pub(super) foreign: u64,
    pub(super) resync: u64,
    pub(super) muted: u64,
    pub(super) idle: u64,
}

impl Counted {
    /// The same where it is not known outside which samples became readings.
    pub(super) const fn as_samples(self) -> Self {
        let idle = self.idle + self.taken + self.repeats;
        Self { idle, taken: 0, repeats: 0, ..self }
    }

    fn add(&mut self, kind: &Kind) {
        self.frames += 1;
        match kind {
            Kind::Reading { repeat, .. } if *repeat => self.repeats += 1,
            Kind::Reading { .. } => self.taken += 1,
            Kind::Damaged(_) => self.damaged += 1,
            Kind::Foreign(_) => self.foreign += 1,
            Kind::Resync => self.resync += 1,
            Kind::Muted { .. } => self.muted += 1,
            Kind::Idle => self.idle += 1,
        }
    }
}

/// Everything in one run.
pub(super) struct World {
    pub(super) dice: Dice,
    pub(super) clock: Clock,
    pub(super) layout: Layout,
    pub(super) loaded: Loaded,
    pub(super) cables: Vec<Cable>,
    pub(super) outside: Rc<RefCell<Outside>>,
    pub(super) counted: BTreeMap<Name, Counted>,
    /// The requests so far, with their keys.
    pub(super) asked: Vec<(String, Request)>,
    /// The files of each drop as they are now.
    pub(super) files: BTreeMap<(Name, String), String>,
    /// Every text that was ever in a file, by its digest.
    pub(super) texts: BTreeMap<[u8; 32], String>,
    /// How many jobs were asked for.
    pub(super) jobs: u64,
    /// By how much a face leans, and in which direction.
    pub(super) lean: (i64, i64),
    /// What the names of jobs begin with.
    pub(super) jobs_begin: &'static str,
    /// What can be restored and imported.
    pub(super) handing: Handing,
    /// How often the power was cut in the middle of a write.
    pub(super) cuts: u32,
    /// How much was given to the desk so far.
    pub(super) inputs: u64,
    pub(super) log: Rc<RefCell<VecDeque<String>>>,
    pub(super) folder: tempfile::TempDir,
    /// What was found equal so far.
    pub(super) alike: RefCell<Alike>,
    /// Configurations that were read before.
    layouts: BTreeMap<Layout, Loaded>,
    /// The record as it was opened after a cut of the power.
    opened: Option<(Store, ReadBack)>,
    asks: Asks,
    stopping: Arc<AtomicBool>,
    desk: Option<Desk<Refusing>>,
}

impl World {
    pub(super) fn new(seed: u64, log: Rc<RefCell<VecDeque<String>>>) -> Self {
        let folder = quick_folder();
        let loaded = Layout::FIRST.load(folder.path());
        // 2027-02-28, so that a calibration expires during a run.
        let wall_us = Wall::parse("2027-02-28T18:00:00Z").unwrap().micros();
        let mut world = Self {
            dice: Dice::new(seed),
            clock: Clock { mono_us: 5_000_000, wall_us, boot: 1 },
            layout: Layout::FIRST,
            loaded,
            cables: Vec::new(),
            outside: Rc::default(),
            counted: BTreeMap::new(),
            asked: Vec::new(),
            files: BTreeMap::new(),
            texts: BTreeMap::new(),
            jobs: 0,
            lean: (0, 0),
            jobs_begin: "J",
            handing: Handing::default(),
            cuts: 0,
            inputs: 0,
            log,
            folder,
            alike: RefCell::default(),
            layouts: BTreeMap::new(),
            opened: None,
            asks: Asks::new(),
            stopping: Arc::default(),
            desk: None,
        };
        world.start();
        world
    }

    pub(super) fn note(&self, what: impl Into<String>) {
        let mut log = self.log.borrow_mut();
        if log.len() == 40 {
            log.pop_front();
        }
        log.push_back(what.into());
    }

    pub(super) fn state(&self) -> PathBuf {
        self.loaded.state.clone()
    }

    pub(super) fn desk(&self) -> &Desk<Refusing> {
        self.desk.as_ref().unwrap()
    }

    fn desk_mut(&mut self) -> &mut Desk<Refusing> {
        self.desk.as_mut().unwrap()
    }

    /// The bench as of the newest decided row.
    pub(super) fn bench(&self) -> &Bench {
        &self.desk().bench
    }

    fn setup_now(&self) -> NewSetup {
        NewSetup { at: self.clock.now(), ..new_setup(&self.loaded) }
    }

    /// Starts the service on the stored record.
    pub(super) fn start(&mut self) {
        let opened = self.opened.take();
        // Some starts look through the whole record, as those of the service do.
        let state = self.state();
        let whole = self.dice.one_in(8);
        let open = if whole { Store::open_with } else { Store::open_unseen };
        if whole {
            keep_pictures(&state);
        }
        let open = || open(&state, parse_pinned_plan).unwrap();
        let (store, back) = opened.unwrap_or_else(open);
        let lost = |news: &StorageNews| matches!(news, StorageNews::Lost { .. });
        assert!(!back.news.iter().any(lost), "nothing is lost: {:?}", back.news);
        assert!(back.set_aside.is_empty(), "nothing is damaged: {:?}", back.set_aside);
        let bench = Bench::rebuilt(&back.rows, back.last, back.feed);
        assert!(bench == self.outside.borrow().bench, "what is read back at a start is the bench");
        let kept = Kept::new(store, &self.state());
        let record = Refusing { kept, outside: Rc::clone(&self.outside) };
        let setup = self.setup_now();
        self.stopping = Arc::default();
        let stopping = Arc::clone(&self.stopping);
        self.asks = Asks::new();
        let asks = self.asks.clone();
        let start = Start {
            record,
            bench,
            setup,
            asks,
            stopping,
            pulse: Pulse::new(None),
            set_aside: Vec::new(),
            news: Vec::new(),
        };
        let (mut desk, shown) = Desk::new(start);
        self.counted = new_counts(&self.loaded);
        self.outside.borrow_mut().serial.clear();
        self.outside.borrow_mut().shown = Some(shown);
        let boot = self.clock.boot;
        desk.happened(self.clock.now(), &Event::Started { boot });
        self.desk = Some(desk);
        let (now_us, asks) = (self.clock.mono_us, &self.asks);
        self.cables = self.loaded.ports.iter().map(|port| Cable::new(port, asks, now_us)).collect();
        self.commit();
    }

    /// The power is cut while rows are being written to the disk, or while the log is moved into the
    /// database. Nobody was told of those rows: afterwards all of them may be there, or none.
    pub(super) fn power_cut(&mut self) {
        let state = self.state();
        let (mut before, moves) = (Image::of_folder(&state), self.dice.below(3));
        let desk = self.desk.as_mut().unwrap();
        let rows = desk.batch.rows.clone();
        // For replies without rows nothing would show afterwards whether they were stored.
        let with_rows = desk.batch.answers.iter().filter(|_| !rows.is_empty());
        let answers: Vec<_> = with_rows.map(|(_, answer)| answer.clone()).collect();
        let store = &mut desk.record.kept.store;
        if moves == 0 {
            store.checkpoint().unwrap();
        } else {
            store.commit(&rows, &answers).unwrap();
        }
        if moves == 2 {
            // These rows are on the disk; the power is cut a moment later.
            before = Image::of_folder(&state);
            store.checkpoint().unwrap();
        }
        let after = Image::of_folder(&state);
        self.die();
        // The number of the newest row is written only once that row is on the disk.
        let image = before.torn(&after, &mut self.dice).with(NEWEST, &before);
        image.lay(&state);
        self.cuts += 1;
        self.note(format!("  the power goes, {} rows on their way, {moves}", rows.len()));
        let (stored, last) = (self.outside.borrow().bench.last, rows.last().map(|row| row.seq));
        let opened = Store::open_unseen(&state, parse_pinned_plan).unwrap();
        let found = opened.1.last;
        self.opened = Some(opened);
        assert!(moves != 2 || last.is_none_or(|last| found == last), "stored rows are gone");
        if Some(found) == last {
            self.outside.borrow_mut().store(&rows, &answers);
        }
        assert_eq!(found, self.outside.borrow().bench.last, "neither {stored} nor {last:?}");
    }

    /// The service dies, and whatever was not stored is lost.
    pub(super) fn die(&mut self) {
        self.outside.borrow_mut().shown = None;
        self.desk = None;
        self.outside.borrow_mut().look();
        assert!(self.outside.borrow().waiting.is_empty(), "nobody waits for the dead");
        self.outside.borrow_mut().outage = Outage::default();
    }

    /// The service ends in order, or gives up because the record refuses.
    pub(super) fn end(&mut self) {
        self.stopping.store(true, Ordering::Relaxed);
        let held = !self.desk().batch.rows.is_empty();
        let refuses = self.outside.borrow().outage.comes();
        match self.desk_mut().commit() {
            Ok(()) => self.outside.borrow_mut().look(),
            Err(given_up) => {
                assert!(refuses && !given_up.ours, "{given_up:?}");
                assert!(!held || given_up.rows > 0, "rows that are not stored are told");
            }
        }
        self.die();
    }

    pub(super) fn take(&mut self, input: Input) {
        self.inputs += 1;
        let taken = self.desk_mut().take(input);
        assert_eq!(taken, Ok(()), "only an end makes the desk give up");
    }

    /// Stores the batch.
    pub(super) fn commit(&mut self) {
        let committed = self.desk_mut().commit();
        assert_eq!(committed, Ok(()), "only an end makes the desk give up");
        crate::record::Record::tidy(&mut self.desk_mut().record);
    }

    pub(super) fn arrive(&mut self, arrivals: Vec<Arrival>) {
        for arrival in arrivals {
            if let News::Frame { gauge, outcome } = &arrival.news {
                self.note(format!("  {gauge}: {:?} {:?}", outcome.text, outcome.kind));
                if let Some(counted) = self.counted.get_mut(gauge) {
                    counted.add(&outcome.kind);
                }
            }
            self.take(Input::Arrival(arrival));
        }
    }

    /// Time passes; lines do what is due by itself.
    pub(super) fn pass(&mut self, us: u64) {
        let until_us = self.clock.mono_us + us;
        let next = |world: &Self| {
            let wakes = world.cables.iter().enumerate();
            wakes.filter_map(|(at, cable)| Some((cable.wakes_before(until_us)?, at))).min()
        };
        loop {
            self.hear_questions();
            let Some((wake_us, at)) = next(self) else { break };
            self.forward(wake_us.max(self.clock.mono_us));
            let now = self.clock.now();
            let told = self.cables[at].wake(now);
            self.arrive(told);
        }
        self.forward(until_us);
    }

    /// Gauges receive the questions, and will answer or not.
    fn hear_questions(&mut self) {
        for at in 0..self.cables.len() {
            while let Some(gauge) = self.cables[at].asked(self.clock.mono_us) {
                polled::answer(self, at, &gauge);
            }
        }
    }

    fn forward(&mut self, mono_us: u64) {
        self.clock.wall_us += (mono_us - self.clock.mono_us).cast_signed();
        self.clock.mono_us = mono_us;
    }

    /// Bytes arrive at a port, if it is plugged in.
    pub(super) fn bytes(&mut self, cable: usize, bytes: &[u8]) {
        let now = self.clock.now();
        if self.cables[cable].plugged {
            let told = self.cables[cable].arrivals(bytes, now);
            self.arrive(told);
        }
    }

    /// The port of a gauge.
    pub(super) fn cable_of(&self, gauge: &str) -> Option<usize> {
        let has = |cable: &Cable| cable.port.gauges.iter().any(|name| name.as_str() == gauge);
        self.cables.iter().position(has)
    }

    /// Somebody makes a request with a key, new or not.
    pub(super) fn ask(&mut self, key: &str, request: Request) {
        self.note(format!("  {key}: {request:?}"));
        let (reply, answer) = oneshot::channel();
        let change = Change::new((self.clock.now(), key.to_owned()), request, reply);
        self.take(Input::Change(Box::new(change)));
        let key = key.to_owned();
        self.wait_for(Letter::Reply { key, reply: answer });
    }

    fn wait_for(&mut self, letter: Letter) {
        let (decided, since_us) = (Some(self.bench().last), self.clock.mono_us);
        self.outside.borrow_mut().waiting.push(Waiting { letter, decided, since_us });
    }

    /// A source hands over a file that is in a drop.
    pub(super) fn hand_over(&mut self, drop: usize, name: &str) {
        let drop = self.loaded.drops[drop].clone();
        let read = intake::read_whole(&drop, name.as_ref());
        let (file, named) = read.unwrap();
        let (fate, became) = oneshot::channel();
        let found = self.dice.one_in(3);
        let news = News::File(Box::new(ReadFile { file, found, renamed_from: None, named, fate }));
        self.take(Input::Arrival(Arrival { at: self.clock.now(), news }));
        self.wait_for(Letter::Fate { became });
    }

    /// This is the configuration from now on. Each is read once.
    pub(super) fn set_up(&mut self, layout: Layout) {
        let read = || layout.load(self.folder.path());
        self.loaded = self.layouts.entry(layout).or_insert_with(read).clone();
        self.layout = layout;
    }

    /// The configuration was changed and is read again.
    pub(super) fn follow(&mut self, layout: Layout) {
        self.set_up(layout);
        self.take(Input::Setup(Box::new(self.setup_now())));
        let mut before = std::mem::replace(&mut self.counted, new_counts(&self.loaded));
        for (gauge, counted) in &mut self.counted {
            match before.remove(gauge) {
                Some(known) => *counted = known,
                None => drop(self.outside.borrow_mut().serial.remove(gauge)),
            }
        }
        if self.dice.one_in(2) {
            // Frames of a source that has not ended yet.
            let at = self.dice.index(self.cables.len());
            self.bytes(at, b"2:+00000.002\r+0.00001\r");
        }
        let mut cables = std::mem::take(&mut self.cables);
        for port in &self.loaded.ports {
            let same = cables.iter().position(|cable| cable.port.is_same(port));
            self.cables.push(match same {
                Some(at) => cables.swap_remove(at),
                None => Cable::new(port, &self.asks, self.clock.mono_us),
            });
        }
    }
}

/// A folder in memory where there is one: the run is about order, not about disks.
fn quick_folder() -> tempfile::TempDir {
    tempfile::tempdir_in("/dev/shm").or_else(|_| tempfile::tempdir()).unwrap()
}

fn new_counts(loaded: &Loaded) -> BTreeMap<Name, Counted> {
    loaded.bench.gauges.keys().map(|name| (name.clone(), Counted::default())).collect()
}
