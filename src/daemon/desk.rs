//! The deciding thread. It takes what arrived, decides and applies it in order, stores all its rows in one
//! commit, and only then lets anything out.

mod amiss;
mod asked;
mod dropped;
mod facts;
mod foot;
mod insist;
mod requests;
mod scans;
mod streams;
mod sweeps;

use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use tokio::sync::{mpsc, oneshot, watch};

use ::record::{Answer, SetAside};
use bench::event::{Frame, StorageNews};
use bench::row::Device;
use bench::setup::Setup;
use bench::{Bench, Decision, Event, Row, Seq};
use gauge::{Kind, Outcome};
use intake::{self, Arrival, Asks, Fate, Link, News};
use quantity::{Name, Stamp};
use wire::StorageState;

use super::input::Replied;
use super::input::{Input, NewSetup};
use super::pulse::Pulse;
use super::record::Record;
use super::shown::{Shown, Storage};
use super::tally::Tallies;
use streams::Streams;

/// The most inputs that are taken into one commit.
const BATCH: usize = 256;

/// How long a look at the free space of the disk counts, in microseconds.
const SPACE_KNOWN_US: u64 = 30_000_000;

/// How often run-ins under way are looked at, in microseconds.
const LOGS_SEEN_US: u64 = 1_000_000;

/// Why the deciding thread ended with an error.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct GivenUp {
    /// The error of the record.
    pub(super) why: String,
    /// Whether it is a bug of this program.
    pub(super) ours: bool,
    /// The number of rows that were decided and are not stored.
    pub(super) rows: usize,
    /// The number of inputs that nobody looked at.
    pub(super) waiting: usize,
}

/// The bench, the record, and what is on its way from one to the other.
pub(super) struct Desk<R> {
    pub(super) record: R,
    /// The bench after the newest decided row.
    pub(super) bench: Bench,
    setup: Arc<Setup>,
    pub(super) batch: Batch,
    /// What is shown, after the last commit.
    ledger: Shown,
    shown: watch::Sender<Arc<Shown>>,
    stopping: Arc<AtomicBool>,
    pulse: Pulse,
    /// The error of the record's newest refusal, until it has become an event.
    failed: Option<String>,
    space_seen_us: Option<u64>,
    /// When the run-ins under way were last looked at, microseconds of the monotonic clock.
    logs_seen_us: u64,
    /// What could not be read back at the start, until it has become an event.
    set_aside: Vec<SetAside>,
    news: Vec<StorageNews>,
    finished: scans::Finished,
    refusals: scans::Refusals,
    streams: Streams,
}

/// What was decided and is not stored yet.
#[derive(Default)]
pub(super) struct Batch {
    pub(super) rows: Vec<Row>,
    /// The answers, each with the place of its request among the events.
    pub(super) answers: Vec<(usize, Answer)>,
    /// Answers to refused requests, which would be kept if these are decided again.
    refused: Vec<(usize, Answer)>,
    after: Vec<After>,
    /// The events behind the rows, and every request. They are decided again if the rows contradict the
    /// record.
    events: Vec<(Stamp, Event)>,
}

/// Something to do after the commit.
enum After {
    Count(Name, Stamp, Outcome),
    /// This many samples that were counted idle became readings.
    Regain(Name, u64),
    Line(Vec<Name>, Link),
    Folder(Name, Option<String>),
    Waiting(Name, Vec<String>),
    Reply {
        to: oneshot::Sender<Replied>,
        reply: Replied,
        /// The place of the request among the events, if something was decided for it.
        of: Option<usize>,
    },
    File {
        drop: Name,
        rows: u32,
        fate: Fate,
        tell: oneshot::Sender<Fate>,
        /// The place of the file among the events, if it led to rows.
        of: Option<usize>,
    },
}

impl After {
    /// A reply to a request for which nothing was decided.
    const fn reply(to: oneshot::Sender<Replied>, reply: Replied) -> Self {
        Self::Reply { to, reply, of: None }
    }
}

/// What the deciding thread starts with.
pub(super) struct Start<R> {
    pub(super) record: R,
    pub(super) bench: Bench,
    pub(super) setup: NewSetup,
    pub(super) asks: Asks,
    pub(super) stopping: Arc<AtomicBool>,
    pub(super) pulse: Pulse,
    /// What could not be read back.
    pub(super) set_aside: Vec<SetAside>,
    /// What else has to be reported about the record.
    pub(super) news: Vec<StorageNews>,
}

impl<R: Record> Desk<R> {
    /// The state of a deciding thread, and the channel of what it shows.
    pub(super) fn new(start: Start<R>) -> (Self, watch::Receiver<Arc<Shown>>) {
        let Start { mut record, bench, setup: new, asks, stopping, pulse, set_aside, news } = start;
        let mut tallies = Tallies::default();
        tallies.follow(new.setup.gauges.keys(), &new.ported, &new.drops);
        let storage = Storage {
            state: StorageState::Fine,
            why: String::new(),
            database: record.database().display().to_string(),
            space: record.space().unwrap_or_default(),
            begun: None,
            seal: record.seal(),
        };
        let ledger = Shown {
            bench: Arc::new(bench.clone()),
            setup: Arc::clone(&new.setup),
            since: new.at.wall,
            tallies,
            storage,
        };
        let (shown, receiver) = watch::channel(Arc::new(ledger.clone()));
        let mut streams = Streams::new(asks);
        streams.follow(new.captures);
        let (setup, batch) = (new.setup, Batch::default());
        let (failed, space_seen_us) = (None, None);
        let desk = Self {
            record,
            bench,
            setup,
            batch,
            ledger,
            shown,
            stopping,
            pulse,
            failed,
            space_seen_us,
            logs_seen_us: 0,
            set_aside,
            news,
            finished: scans::Finished::new(),
            refusals: scans::Refusals::new(),
            streams,
        };
        (desk, receiver)
    }

    /// Tells the bench that the service started. To be called once, before anything arrives.
    pub(super) fn started(&mut self) -> Result<(), GivenUp> {
        let now = intake::now();
        self.happened(now, &Event::Started { boot: intake::boot_identity() });
        self.tell_lost_turns(now, "the service was stopped before it was whole");
        for SetAside { what, why } in std::mem::take(&mut self.set_aside) {
            tracing::error!("{}", what.told(&why));
            self.happened(intake::now(), &Event::Storage(StorageNews::Damaged { what, why }));
        }
        for news in std::mem::take(&mut self.news) {
            if let StorageNews::Begun { before } = &news {
                let now = intake::now().wall;
                self.ledger.storage.begun = Some(now);
                match before {
                    None => tracing::info!("a new record begins"),
                    Some(before) => tracing::error!(
                        "a new record begins, and the one that was here, up to {before}, is gone"
                    ),
                }
            } else if let StorageNews::Lost { rows: (first, last), why } = &news {
                tracing::error!("{why} (rows {first} to {last})");
            }
            self.happened(intake::now(), &Event::Storage(news));
        }
        self.commit()
    }

    /// Works until it is told to end, or until nobody is left who could send anything.
    pub(super) fn work(mut self, mut inputs: mpsc::Receiver<Input>) -> Result<(), GivenUp> {
        let mut given_up = match self.turn(&mut inputs) {
            Ok(()) => {
                self.close();
                return Ok(());
            }
            Err(given_up) => given_up,
        };
        inputs.close();
        while let Ok(input) = inputs.try_recv() {
            given_up.waiting += usize::from(matters(&input));
        }
        Err(given_up)
    }

    fn close(self) {
        // All rows are stored by now; only tidying up can be refused here.
        if let Err(refused) = self.record.close() {
            tracing::warn!("the record was not closed in order: {}", refused.why);
        }
    }

    fn turn(&mut self, inputs: &mut mpsc::Receiver<Input>) -> Result<(), GivenUp> {
        while let Some(first) = inputs.blocking_recv() {
            self.pulse.beat();
            let mut next = Some(first);
            let mut taken = 0;
            while let Some(input) = next {
                if matches!(input, Input::End) {
                    return self.commit();
                }
                self.take(input)?;
                taken += 1;
                next = if taken < BATCH { inputs.try_recv().ok() } else { None };
            }
            if !self.is_quiet() {
                self.commit()?;
            }
            self.record.tidy();
        }
        Ok(())
    }

    /// Whether nothing happened that is stored or reported: usually samples of streams.
    fn is_quiet(&self) -> bool {
        let Batch { rows, answers, after, .. } = &self.batch;
        rows.is_empty() && answers.is_empty() && after.is_empty() && self.space_is_known()
    }

    pub(super) fn take(&mut self, input: Input) -> Result<(), GivenUp> {
        match input {
            Input::Arrival(Arrival { at, news }) => {
                self.time_passes(at);
                self.news(at, news)
            }
            Input::Change(change) => {
                self.time_passes(change.at);
                self.change(*change)
            }
            Input::Setup(new) => self.follow(*new),
            Input::ReloadRefused { at, why } => {
                self.happened(at, &Event::ReloadRefused { why });
                Ok(())
            }
            Input::Socket { at, wrong } => {
                self.happened(at, &Event::Socket { wrong });
                Ok(())
            }
            Input::Dump => {
                self.dump();
                Ok(())
            }
            Input::Pulse => {
                self.time_passes(intake::now());
                Ok(())
            }
            Input::End => Ok(()),
        }
    }

    /// Decides one event. The bench has its rows from then on.
    pub(super) fn happened(&mut self, at: Stamp, event: &Event) -> Decision {
        let mut decision = self.bench.decide(&self.setup, at, event);
        self.bench = std::mem::take(&mut decision.after);
        // The reply to a request may rest on rows of others in the batch, even where it has none of its
        // own.
        if !decision.rows.is_empty() || matches!(event, Event::Request(_)) {
            self.batch.events.push((at, event.clone()));
        }
        let mut rows = std::mem::take(&mut decision.rows);
        if self.batch.rows.is_empty() {
            // A large file has many rows; they are not copied.
            self.batch.rows = rows;
        } else {
            self.batch.rows.append(&mut rows);
        }
        decision
    }

    fn news(&mut self, at: Stamp, news: News) -> Result<(), GivenUp> {
        match news {
            News::Frame { gauge, outcome } => self.frame(at, gauge, outcome),
            News::Stream { gauge, stopped } => {
                if stopped.is_some() {
                    self.stream_stopped(at, &gauge);
                }
                self.happened(at, &Event::Stream { gauge, stopped });
            }
            News::Unanswered { gauge } => self.unanswered(at, &gauge),
            News::Line { gauges, link } => {
                self.line_changed(at, &gauges, &link);
                for gauge in &gauges {
                    let why = link.why().unwrap_or_default().to_owned();
                    let live = link == Link::Live;
                    self.happened(at, &Event::Line { gauge: gauge.clone(), live, why });
                }
                self.batch.after.push(After::Line(gauges, link));
            }
            News::Folder { drop, missing } => {
                let (there, why) = (missing.is_none(), missing.clone().unwrap_or_default());
                self.happened(at, &Event::Folder { drop: drop.clone(), there, why });
                self.batch.after.push(After::Folder(drop, missing));
            }
            News::Waiting { drop, files } => self.batch.after.push(After::Waiting(drop, files)),
            News::File(read) => self.file(at, *read)?,
            News::Scan { station, text } => self.scan(at, station, &text)?,
            News::Device { station, what, missing } => {
                if what == Device::Pedal && missing.is_some() {
                    self.forget_foot(at, &station);
                }
                self.happened(at, &Event::Device { station, what, missing });
            }
            News::Pedal { station, down } => self.foot(at, &station, down),
        }
        Ok(())
    }

    fn frame(&mut self, at: Stamp, gauge: Name, outcome: Outcome) {
        let Some(outcome) = self.captured(at, &gauge, outcome) else { return };
        let event = match &outcome.kind {
            Kind::Reading { value, repeat, low_battery, odd } => Some(Event::Frame(Frame {
                gauge: gauge.clone(),
                value: *value,
                text: outcome.text.clone(),
                repeat: *repeat,
                odd: *odd,
                low_battery: *low_battery,
            })),
            Kind::Damaged(damage) => Some(Event::Damaged {
                gauge: gauge.clone(),
                text: outcome.text.clone(),
                why: damage.to_string(),
            }),
            Kind::Muted { first: true } => Some(Event::Flooding { gauge: gauge.clone() }),
            Kind::Muted { first: false } | Kind::Foreign(_) | Kind::Resync | Kind::Idle => None,
        };
        if let Some(event) = event {
            self.happened(at, &event);
        }
        self.batch.after.push(After::Count(gauge, at, outcome));
    }

    fn follow(&mut self, new: NewSetup) -> Result<(), GivenUp> {
        self.commit()?;
        self.ledger.tallies.follow(new.setup.gauges.keys(), &new.ported, &new.drops);
        self.ledger.setup = Arc::clone(&new.setup);
        self.streams.forget_changed(&self.setup, &new.setup);
        self.setup = new.setup;
        self.give_up_asking(new.at, "the configuration was read again");
        self.streams.live.retain(|gauge| new.ported.contains(gauge));
        self.streams.follow(new.captures);
        // A pedal that is set up differently is another pedal; until it reports, it counts as up.
        for station in self.streams.feet.keys().cloned().collect::<Vec<_>>() {
            self.forget_foot(new.at, &station);
        }
        self.happened(new.at, &Event::Started { boot: intake::boot_identity() });
        self.tell_lost_turns(new.at, "its gauge was set up differently");
        self.commit()
    }

    fn dump(&self) {
        for (gauge, tally) in &self.ledger.tallies.gauges {
            for frame in tally.not_taken.iter() {
                let at = frame.at.wall;
                tracing::info!(
                    "gauge \"{gauge}\": {at}: not taken: {:?}: {}",
                    frame.text,
                    frame.why
                );
            }
        }
    }

    /// Stores the batch, then sends what waited for that.
    pub(super) fn commit(&mut self) -> Result<(), GivenUp> {
        loop {
            self.store_batch()?;
            self.heed();
            self.let_out();
            if let Some(why) = self.failed.take() {
                let at = intake::now();
                self.happened(at, &Event::Storage(StorageNews::Failing { why }));
                self.happened(at, &Event::Storage(StorageNews::Recovered));
            } else if !self.space_changed()? {
                return Ok(());
            }
        }
    }

    fn store_batch(&mut self) -> Result<(), GivenUp> {
        if self.batch.rows.is_empty() && self.batch.answers.is_empty() {
            return Ok(());
        }
        let batch = std::mem::take(&mut self.batch);
        let answers: Vec<Answer> = batch.answers.iter().map(|(_, answer)| answer.clone()).collect();
        if let Err(why) = self.stored(&batch.rows, &answers)? {
            return self.decide_again(batch, &why);
        }
        if !batch.rows.is_empty() {
            self.ledger.bench = Arc::new(self.bench.clone());
        }
        self.batch.after = batch.after;
        Ok(())
    }

    /// Stores rows. Returns the sentence if they contradict the record; then none of them is stored.
    fn stored(&mut self, rows: &[Row], answers: &[Answer]) -> Result<Result<(), String>, GivenUp> {
        let mut tried = false;
        let stored = self.insist(|record| {
            // A commit that was refused may have been done all the same.
            let last = rows.last().map_or(Seq(0), |row| row.seq);
            let again = std::mem::replace(&mut tried, true);
            if again && !rows.is_empty() && record.last_committed()? >= last {
                return Ok(Ok(()));
            }
            match record.commit(rows, answers) {
                Ok(()) => Ok(Ok(())),
                Err(refused) if refused.ours => Ok(Err(refused.why)),
                Err(refused) => Err(refused),
            }
        });
        stored.map_err(|given_up| GivenUp { rows: rows.len(), ..given_up })
    }

    fn let_out(&mut self) {
        let mut answers = Vec::new();
        for after in std::mem::take(&mut self.batch.after) {
            let tallies = &mut self.ledger.tallies;
            match after {
                After::Count(gauge, at, outcome) => tallies.frame(&gauge, at, outcome),
                After::Regain(gauge, samples) => tallies.regain(&gauge, samples),
                After::Line(gauges, link) => tallies.line(&gauges, &link),
                After::Folder(drop, missing) => tallies.folder(&drop, missing),
                After::Waiting(drop, files) => tallies.waiting(&drop, files),
                After::Reply { to, reply, .. } => answers.push(Let::Reply(to, reply)),
                After::File { drop, rows, fate, tell, .. } => {
                    tallies.file(&drop, rows, &fate);
                    answers.push(Let::Fate(tell, fate));
                }
            }
        }
        // Whoever gets an answer finds its effect when they ask for the status. Those who only watch are
        // woken after those who wait for an answer.
        self.ledger.storage.seal = self.record.seal();
        let now = Arc::new(self.ledger.clone());
        self.shown.send_if_modified(|shown| {
            *shown = now;
            false
        });
        answers.into_iter().for_each(Let::out);
        self.shown.send_modify(|_| ());
    }
}

/// An answer on its way out.
enum Let {
    Reply(oneshot::Sender<Replied>, Replied),
    Fate(oneshot::Sender<Fate>, Fate),
}

impl Let {
    fn out(self) {
        // A receiver that is gone by now will ask or look again.
        match self {
            Self::Reply(to, reply) => drop(to.send(reply)),
            Self::Fate(tell, fate) => drop(tell.send(fate)),
        }
    }
}

/// Whether an input that nobody looked at is worth counting.
fn matters(input: &Input) -> bool {
    match input {
        Input::Arrival(arrival) => matches!(arrival.news, News::Frame { .. } | News::File(_)),
        Input::Change(_) => true,
        Input::Setup(_)
        | Input::ReloadRefused { .. }
        | Input::Socket { .. }
        | Input::Dump
        | Input::Pulse
        | Input::End => false,
    }
}

#[cfg(test)]
mod tests;
