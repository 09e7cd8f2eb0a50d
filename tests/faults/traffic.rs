//! Threads that work like a shop, and remember what they sent and what was acknowledged.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::Write;
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::Duration;

use serde_json::{Value, json};

use crate::Outcome;
use crate::rig::{Dice, Wire};
use crate::shop::{JOB, Line, Pedal, ROWS, STATIONS, Shop};

/// The place above the part where the stylus of the stream rests free.
const REST: i64 = 3000;

/// `+0.00012` for 12.
pub(crate) fn frame(count: i64) -> String {
    let sign = if count < 0 { '-' } else { '+' };
    format!("{sign}{}.{:05}", count.abs() / 100_000, count.abs() % 100_000)
}

/// The same number whoever writes it: `+0.00012`, `0.00012 in`.
fn plain(text: &str) -> String {
    text.split(' ').next().unwrap().trim_start_matches('+').to_owned()
}

/// What a shop sent, and what came back.
#[derive(Default)]
pub(crate) struct Told {
    /// By gauge, the values that were sent, in order.
    sent: Mutex<BTreeMap<&'static str, Vec<String>>>,
    /// Readings that were shown or named, by their number: the gauge and the value.
    shown: Mutex<BTreeMap<u64, (&'static str, String)>>,
    /// Remarks with a reply.
    notes: Mutex<Vec<String>>,
    /// Dropped files: what is in each.
    files: Mutex<BTreeMap<String, Vec<String>>>,
    /// Replies that should not have come.
    amiss: Mutex<Vec<String>>,
    /// Grows with each acknowledgement.
    count: AtomicU64,
    /// The work goes on.
    over: AtomicBool,
}

fn lock<T>(of: &Mutex<T>) -> MutexGuard<'_, T> {
    of.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Told {
    fn goes_on(&self) -> bool {
        !self.over.load(Ordering::Relaxed)
    }

    fn pause(&self, ms: u64) {
        if self.goes_on() {
            std::thread::sleep(Duration::from_millis(ms));
        }
    }

    fn sends(&self, gauge: &'static str, text: &str) {
        lock(&self.sent).entry(gauge).or_default().push(plain(text));
    }

    fn shows(&self, gauge: &'static str, id: u64, value: &str) {
        if lock(&self.shown).insert(id, (gauge, plain(value))).is_none() {
            self.count.fetch_add(1, Ordering::Relaxed);
        }
    }

    /// Grows with each acknowledgement.
    pub(crate) fn count(&self) -> u64 {
        self.count.load(Ordering::Relaxed)
    }

    fn amiss(&self, what: String) {
        lock(&self.amiss).push(what);
    }
}

/// What had been acknowledged at a moment.
pub(crate) struct Before {
    shown: BTreeMap<u64, (&'static str, String)>,
    notes: Vec<String>,
}

/// What one of them does.
type Work = Box<dyn FnOnce(&Told, Dice) + Send>;

/// A shop at work.
pub(crate) struct Traffic {
    pub(crate) told: Arc<Told>,
    threads: Vec<JoinHandle<()>>,
}

impl Traffic {
    pub(crate) fn begin(shop: &Shop, seed: u64) -> Self {
        let told = Arc::new(Told::default());
        let mut threads = Vec::new();
        let mut run = |number: u64, work: Work| {
            let told = Arc::clone(&told);
            let dice = Dice::seeded(seed * 64 + number);
            threads.push(std::thread::spawn(move || work(&told, dice)));
        };
        let [press, stream, asked, scanner] =
            [&shop.press, &shop.stream, &shop.asked, &shop.scanner].map(Arc::clone);
        run(0, Box::new(move |told, dice| presses(told, dice, &press)));
        run(1, Box::new(move |told, dice| streams(told, dice, &stream)));
        run(2, Box::new(move |told, _| answers(told, &asked)));
        let pedal = Arc::clone(&shop.pedal);
        run(3, Box::new(move |told, dice| taps(told, dice, &pedal)));
        run(4, Box::new(move |told, dice| scans(told, dice, &scanner)));
        let folder = shop.bench.path("drop");
        run(5, Box::new(move |told, dice| drops(told, dice, &folder)));
        for client in 0..3 {
            let socket = shop.socket();
            run(6 + client, Box::new(move |told, dice| asks(told, dice, client, &socket)));
        }
        for (number, (station, gauge)) in (10..).zip(STATIONS) {
            let socket = shop.socket();
            run(number, Box::new(move |told, _| watches(told, station, gauge, &socket)));
        }
        Self { told, threads }
    }

    /// What is acknowledged by now.
    pub(crate) fn before(&self) -> Before {
        let (shown, notes) = (lock(&self.told.shown).clone(), lock(&self.told.notes).clone());
        Before { shown, notes }
    }

    /// Looks whether all that was acknowledged is there, with its value, once, in the order sent.
    pub(crate) fn check(&self, shop: &Shop, before: &Before, outcome: &mut Outcome) {
        let readings = shop.readings();
        let value = |one: &Value| plain(one["value"].as_str().unwrap());
        let stored: BTreeMap<u64, String> =
            readings.iter().map(|one| (one["id"].as_u64().unwrap(), value(one))).collect();
        for (id, (gauge, value)) in &before.shown {
            let found = stored.get(id);
            if found != Some(value) {
                outcome.lost += 1;
                outcome.wrong.push(format!("{gauge}: {value} was row {id}, now {found:?}"));
            }
        }
        for (gauge, sent) in lock(&self.told.sent).iter() {
            let of_gauge = readings.iter().filter(|one| one["gauge"] == *gauge);
            let mut left = sent.iter();
            for found in of_gauge.map(value) {
                if !left.any(|one| *one == found) {
                    outcome.doubled += 1;
                    outcome.wrong.push(format!("{gauge}: {found} is there and was not sent again"));
                    break;
                }
            }
        }
        let notes = shop.notes();
        for text in &before.notes {
            match notes.iter().filter(|note| *note == text).count() {
                1 => (),
                0 => outcome.lost += 1,
                _ => outcome.doubled += 1,
            }
        }
    }

    /// Lets everybody come to an end, and looks at all of it. The service must be running.
    pub(crate) fn end(self, shop: &mut Shop, outcome: &mut Outcome) {
        self.told.over.store(true, Ordering::Relaxed);
        let (files, before) = {
            for thread in self.threads {
                if let Err(panic) = thread.join() {
                    let why = panic.downcast_ref::<String>().cloned().unwrap_or_default();
                    outcome.wrong.push(format!("a thread of the traffic panicked: {why}"));
                }
            }
            let told = &self.told;
            outcome.wrong.append(&mut lock(&told.amiss));
            let before =
                Before { shown: lock(&told.shown).clone(), notes: lock(&told.notes).clone() };
            (lock(&told.files).clone(), before)
        };
        let rows = files.len() * ROWS;
        let logged = || shop.bench.lines(&["readings", JOB, "--gauge", "logged"]);
        shop.bench.until("all files are stored", || logged().len() >= rows);
        let traffic = Self { told: Arc::clone(&self.told), threads: Vec::new() };
        traffic.check(shop, &before, outcome);
        each_file_once(&files, &logged(), outcome);
        let notes = shop.notes().len();
        outcome.must(notes == before.notes.len(), || {
            format!("{notes} remarks, {} were made", before.notes.len())
        });
        let lines = feed_without_a_gap(shop, outcome);
        for (gauge, _) in before.shown.values() {
            outcome.acknowledges(gauge, 1);
        }
        outcome.acknowledges("remarks", before.notes.len());
        outcome.acknowledges("files", files.len());
        outcome.acknowledges("lines of the feed", lines);
    }
}

fn each_file_once(files: &BTreeMap<String, Vec<String>>, logged: &[Value], outcome: &mut Outcome) {
    let mut found: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for one in logged {
        let file = one["file"].as_str().unwrap_or_default();
        found.entry(file).or_default().push(plain(one["value"].as_str().unwrap()));
    }
    for (name, rows) in files {
        match found.get(name.as_str()) {
            Some(stored) if stored == rows => (),
            Some(stored) if stored.len() > rows.len() => outcome.doubled += 1,
            other => {
                outcome.lost += 1;
                outcome.wrong.push(format!("{name}: {rows:?} is stored as {other:?}"));
            }
        }
    }
}

/// What was followed is the feed as it is told again: each line, once, in order.
fn feed_without_a_gap(shop: &mut Shop, outcome: &mut Outcome) -> usize {
    let again = crate::rig::Follower::of(shop.bench.spawn(&["tail", "--json", "--since", "0"]));
    let quiet = || {
        let last = |feed: &crate::rig::Follower| feed.seen().last().cloned();
        last(&again).is_some() && last(&again) == last(&shop.feed)
    };
    let began = std::time::Instant::now();
    while !quiet() && began.elapsed() < Duration::from_mins(1) {
        std::thread::sleep(Duration::from_millis(20));
    }
    let (followed, told) = (shop.feed.seen(), again.seen());
    let (runs, said) = (shop.feed.runs(), shop.feed.said());
    outcome.must(runs, || format!("the follower ended: {said}"));
    if followed != told {
        let seq = |lines: &[Value]| -> Vec<u64> {
            lines.iter().map(|line| line["seq"].as_u64().unwrap_or(0)).collect()
        };
        let (had, has) = (seq(&followed), seq(&told));
        outcome.lost += has.iter().filter(|one| !had.contains(one)).count();
        let differing = followed.iter().zip(&told).find(|(one, other)| one != other);
        let ends = (had.last(), has.last());
        outcome.wrong.push(format!(
            "followed {} lines, told again {}, ends {ends:?}, first that differ {differing:?}; it said {said:?}",
            had.len(), has.len()
        ));
    }
    followed.len()
}

/// A button is pressed, now and then so that the frame comes in two pieces.
fn presses(told: &Told, mut dice: Dice, line: &Line) {
    for count in 1.. {
        if !told.goes_on() {
            return;
        }
        let text = frame(count);
        told.sends("plate", &text);
        let whole = format!("{text}\r");
        let cut = if dice.below(8) == 0 {
            1 + usize::try_from(dice.below(7)).unwrap()
        } else {
            whole.len()
        };
        lock(line).send(&whole[..cut]);
        if cut < whole.len() {
            std::thread::sleep(Duration::from_millis(dice.below(15)));
            lock(line).send(&whole[cut..]);
        }
        told.pause(20 + dice.below(60));
    }
}

/// 30 Hz: the stylus rests free, comes down on another height each time, stands, is lifted.
fn streams(told: &Told, mut dice: Dice, line: &Line) {
    let mut heights: Vec<i64> = (-45..=45).collect();
    for at in (1..heights.len()).rev() {
        heights.swap(at, usize::try_from(dice.below(at as u64 + 1)).unwrap());
    }
    let send = |steps: i64| {
        lock(line).send(&format!("{}\r", frame(steps)));
        std::thread::sleep(Duration::from_millis(33));
    };
    for height in heights {
        // A touch that nobody saw the end of may be taken until the stylus is lifted.
        told.sends("stream", &frame(height));
        for step in 0..24 {
            if !told.goes_on() {
                return;
            }
            send(match step {
                0 | 8 => i64::midpoint(height, REST),
                1..8 => REST,
                _ => height,
            });
        }
    }
    while told.goes_on() {
        send(REST);
    }
}

/// A gauge that is asked; each answer is another one.
fn answers(told: &Told, line: &Line) {
    let mut count = 0;
    while told.goes_on() {
        let heard = lock(line).received();
        for _ in heard.iter().filter(|byte| **byte == b'?') {
            count += 1;
            told.sends("asked", &frame(count));
            lock(line).send(&format!("{}\r", frame(count)));
        }
        told.pause(5);
    }
}

fn taps(told: &Told, mut dice: Dice, pedal: &Pedal) {
    while told.goes_on() {
        pedal.foot(1);
        std::thread::sleep(Duration::from_millis(20 + dice.below(60)));
        pedal.foot(0);
        told.pause(350 + dice.below(300));
    }
}

/// Values off the strip of a sheet: from −10 to 10, each another one than the one before.
fn scans(told: &Told, mut dice: Dice, line: &Line) {
    let values = (-10..=10_i8).cycle();
    for value in values {
        if !told.goes_on() {
            return;
        }
        told.sends("scanned", &frame(value.into()));
        lock(line).send(&format!("{}\r", wire::code::Code::Value(value)));
        told.pause(80 + dice.below(300));
    }
}

/// Files of a logger: written in one go, in two pieces, or renamed into the folder when whole.
fn drops(told: &Told, mut dice: Dice, folder: &Path) {
    for number in 0_i64.. {
        if !told.goes_on() {
            return;
        }
        let rows: Vec<String> = (1..).take(ROWS).map(|row| frame(number * 10 + row)).collect();
        let of_row = |row: &String| format!("{row},{JOB},ring,logged\n");
        let lines = rows.iter().map(of_row).collect::<Vec<_>>().concat();
        let text = format!("Value,Job,Part,Check\n{lines}");
        let name = format!("log-{number}.csv");
        let plain_rows = rows.iter().map(|row| plain(row)).collect();
        write_file(&mut dice, &folder.join(&name), &text);
        lock(&told.files).insert(name, plain_rows);
        told.pause(200 + dice.below(400));
    }
}

fn write_file(dice: &mut Dice, path: &Path, text: &str) {
    match dice.below(3) {
        0 => fs::write(path, text).unwrap(),
        1 => {
            let mut file = File::create(path).unwrap();
            let cut = usize::try_from(dice.below(text.len() as u64)).unwrap();
            file.write_all(&text.as_bytes()[..cut]).unwrap();
            std::thread::sleep(Duration::from_millis(dice.below(60)));
            file.write_all(&text.as_bytes()[cut..]).unwrap();
        }
        _ => {
            let beside = path.parent().unwrap().parent().unwrap().join("being-written");
            fs::write(&beside, text).unwrap();
            fs::rename(beside, path).unwrap();
        }
    }
}

/// Sends a request until it has a reply, with the same key, however often the connection ends.
fn until_replied(wire: &mut Option<Wire>, socket: &Path, line: &str) -> Value {
    loop {
        if wire.is_none() {
            *wire = Wire::to(socket);
        }
        let reply = wire.as_mut().and_then(|there| there.ask(line));
        match reply {
            Some(reply) => return reply,
            None => *wire = None,
        }
        std::thread::sleep(Duration::from_millis(3));
    }
}

/// A client: two make remarks, one keys readings in.
fn asks(told: &Told, mut dice: Dice, client: u64, socket: &Path) {
    let mut wire = None;
    for number in 1.. {
        if !told.goes_on() {
            return;
        }
        let key = format!("c{client}-{number}");
        if client == 0 {
            let value = frame(number);
            told.sends("typed", &value);
            let line =
                json!({"request": "enter", "key": key, "station": "typed", "values": [value]});
            let reply = until_replied(&mut wire, socket, &line.to_string());
            match reply["ids"].get(0).and_then(Value::as_u64) {
                Some(id) => told.shows("typed", id, &value),
                // The last position was filled, and the station not set on again yet.
                None if reply["exit"] == 2 => told.pause(100),
                None => told.amiss(reply.to_string()),
            }
        } else {
            let text = format!("remark {key}");
            let line = json!({"request": "note", "key": key, "job": JOB, "text": text});
            let reply = until_replied(&mut wire, socket, &line.to_string());
            if reply["schema"] == "noted/1" {
                lock(&told.notes).push(text);
                told.count.fetch_add(1, Ordering::Relaxed);
            } else {
                told.amiss(reply.to_string());
            }
        }
        told.pause(30 + dice.below(200));
    }
}

/// Somebody in front of a screen: sees each touch, and sets the station on again when a check is
/// through.
fn watches(told: &Told, station: &'static str, gauge: &'static str, socket: &Path) {
    let mut wire = None;
    let mut number = 0;
    let view = json!({"request": "view", "station": station, "wait_ms": 300}).to_string();
    while told.goes_on() {
        let shown = until_replied(&mut wire, socket, &view);
        let check = &shown["check"];
        let touch = &check["last_touch"];
        if let (Some(id), Some(value)) = (touch["id"].as_u64(), touch["value"].as_str()) {
            told.shows(gauge, id, value);
        }
        if check["next"] == "nothing" {
            number += 1;
            let line = json!({"request": "remeasure", "key": format!("{station}-{number}"),
                "station": station, "reason": "ground"});
            let reply = until_replied(&mut wire, socket, &line.to_string());
            if reply["schema"] != "measuring/1" {
                told.amiss(reply.to_string());
            }
        }
    }
}
