//! The service under load, each figure beside a floor of the same run: several clients at once, many
//! open jobs, many followers, and commits while the log is moved, a copy is made or the record is
//! checked. Prints one line for each row; `README.md` explains them.
//!
//! `cargo bench --bench load -- clients` measures one part (`clients`, `jobs`, `followers`, `commits`);
//! `-- commits 20000` does it with a smaller record, `-- commits verify` in one state alone (`nothing`,
//! `without` a pause, `backup`, `verify`).

#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]

#[path = "load/shop.rs"]
mod shop;

use std::fs::{File, OpenOptions};
use std::io::{Read, Write};
use std::os::unix::fs::FileExt;
use std::os::unix::net::UnixStream;
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use rusqlite::Connection;
use shop::{Client, Made, Shop};

/// Clients at once, and what each asks for.
const CLIENTS: usize = 8;
const ASKED: usize = 60;
/// Open jobs beside one.
const JOBS: usize = 1_500;
/// Followers beside none.
const FOLLOWERS: usize = 60;
/// Requests timed on each side.
const TIMES: usize = 400;
/// Readings of the record that commits are made to.
const READINGS: usize = 200_000;
/// How often the small face of each of its jobs is gone round.
const ROUNDS: usize = 25;
/// What a commit of a note writes to the log: six to seven pages, each with its head of 24 bytes.
const A_NOTE: usize = 13 * (4096 + 24) / 2;
/// Touches timed in each state of the record.
const TOUCHES: usize = 1_500;

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    let wanted = |part: &str| words.is_empty() || words.iter().any(|word| word == part);
    if wanted("clients") {
        clients();
    }
    if wanted("jobs") {
        jobs();
    }
    if wanted("followers") {
        followers();
    }
    if wanted("commits") {
        let readings = words.iter().find_map(|word| word.parse().ok());
        let known = ["nothing", "without", "backup", "verify"];
        let among: Vec<&String> =
            words.iter().filter(|word| known.contains(&word.as_str())).collect();
        commits(readings.unwrap_or(READINGS), &among);
    }
}

/// What a disk needs to keep some bytes in a file that already has its blocks.
struct Floor {
    file: File,
    bytes: Vec<u8>,
}

impl Floor {
    /// Bytes of the file: the room that the log of the record has.
    const ROOM: usize = 8 << 20;

    /// So many bytes are written at once.
    fn new(folder: &Path, bytes: usize) -> Self {
        let path = folder.join("floor");
        std::fs::write(&path, vec![0; Self::ROOM]).expect("room");
        let file = OpenOptions::new().write(true).open(path).expect("a file");
        file.sync_all().expect("synced");
        Self { file, bytes: vec![0; bytes] }
    }

    fn once(&mut self, turn: usize) -> Duration {
        let places = Self::ROOM / self.bytes.len();
        self.bytes.fill(u8::try_from(turn % 251).expect("a byte"));
        let start = Instant::now();
        let at = turn % places * self.bytes.len();
        self.file.write_all_at(&self.bytes, at as u64).expect("written");
        self.file.sync_data().expect("synced");
        start.elapsed()
    }
}

fn at(times: &mut [Duration], percent: usize) -> Duration {
    times.sort_unstable();
    times[(times.len() - 1) * percent / 100]
}

/// How many took longer than twice their own p99.
fn stalls(times: &[Duration]) -> usize {
    let mut sorted = times.to_vec();
    let most = at(&mut sorted, 99) * 2;
    times.iter().filter(|time| **time > most).count()
}

fn over(one: Duration, other: Duration) -> f64 {
    one.as_secs_f64() / other.as_secs_f64()
}

#[expect(clippy::cast_precision_loss, reason = "counts are small")]
const fn float(count: usize) -> f64 {
    count as f64
}

/// Eight clients that ask without pause; how many commits another connection sees meanwhile.
fn clients() {
    let shop = Shop::new(Made { jobs: CLIENTS, rounds: 1, open: true });
    let look = Connection::open(shop.state().join("tenths.db")).expect("the record");
    let (over_now, seen) = (Arc::new(AtomicBool::new(false)), Arc::new(AtomicUsize::new(0)));
    let (done, counted) = (Arc::clone(&over_now), Arc::clone(&seen));
    let looking = thread::spawn(move || {
        let version = || -> i64 {
            look.pragma_query_value(None, "data_version", |row| row.get(0)).expect("a number")
        };
        let mut before = version();
        while !done.load(Ordering::Relaxed) {
            let now = version();
            counted.fetch_add(usize::from(now != before), Ordering::Relaxed);
            before = now;
            thread::sleep(Duration::from_micros(50));
        }
    });
    let mut floor = Floor::new(shop.folder(), 4096);
    let bare: Duration = (0..200).map(|turn| floor.once(turn)).sum();
    let start = Instant::now();
    thread::scope(|scope| {
        for client in 0..CLIENTS {
            let mut asks = shop.client();
            scope.spawn(move || {
                for number in 0..ASKED {
                    let rest = format!(",\"job\":\"J-{client:05}\",\"text\":\"note {number}\"");
                    asks.ask("note", &rest);
                }
            });
        }
    });
    let took = start.elapsed();
    over_now.store(true, Ordering::Relaxed);
    looking.join().expect("looked");
    let (requests, commits) = (float(CLIENTS * ASKED), float(seen.load(Ordering::Relaxed)));
    let rate = requests / took.as_secs_f64();
    let floor = 200.0 / bare.as_secs_f64();
    println!(
        "{CLIENTS} clients at once       {rate:>7.0} requests/s   bare fdatasync {floor:>7.0}/s   ratio {:.2}   \
         commits seen a request {:.2}",
        rate / floor,
        commits / requests
    );
}

/// What a client asks for in a turn, with the name of its job.
type Asks<'a> = &'a dyn Fn(&mut Client, usize, &str);

/// The same requests with one open job and with many, in turn: time on a processor of the deciding
/// thread, and until the reply.
fn jobs() {
    let shops = [1, JOBS].map(|jobs| Shop::new(Made { jobs, rounds: 1, open: true }));
    let mut clients = [shops[0].client(), shops[1].client()];
    let newest = ["J-00000".to_owned(), format!("J-{:05}", JOBS - 1)];
    let kinds: [(&str, Asks<'_>); 5] = [
        ("a touch keyed in", &|client, turn, _| {
            client.ask("enter", &format!(",\"values\":[\"12.34{:02}\"]", turn % 9));
        }),
        ("a note", &|client, _, job| {
            client.ask("note", &format!(",\"job\":\"{job}\",\"text\":\"x\""));
        }),
        ("a check of eight", &|client, turn, _| client.round(turn)),
        ("status", &|client, _, _| {
            client.say("{\"request\":\"status\"}\n");
            client.line();
        }),
        ("the screen", &|client, _, _| {
            client.say("{\"request\":\"view\"}\n");
            client.line();
        }),
    ];
    for client in &mut clients {
        client.ask("measure", ",\"target\":\"ring/long\"");
    }
    for (what, ask) in kinds {
        let mut times = [Vec::new(), Vec::new()];
        let before = shops.each_ref().map(|shop| (shop.ran("decide"), shop.ran("")));
        for turn in 0..TIMES {
            for side in 0..2 {
                let start = Instant::now();
                ask(&mut clients[side], turn, &newest[side]);
                times[side].push(start.elapsed());
            }
        }
        let each = u32::try_from(TIMES).expect("small");
        let ran = [0, 1].map(|side| {
            let (decide, all) = (shops[side].ran("decide"), shops[side].ran(""));
            let (decided, ran) =
                (decide.saturating_sub(before[side].0), all.saturating_sub(before[side].1));
            (decided / each, ran / each)
        });
        let [few, many] = times.each_mut().map(|times| at(times, 50));
        println!(
            "{JOBS} open jobs, {what:<18} {many:>9.1?}   one {few:>9.1?}   ratio {:.2}   on a processor {:>9.1?}, \
             {:>9.1?}, ratio {:.2}   deciding {:>9.1?}, {:>9.1?}",
            over(many, few),
            ran[1].1,
            ran[0].1,
            over(ran[1].1, ran[0].1),
            ran[1].0,
            ran[0].0,
        );
    }
}

/// Those who look on: how each asks, and what it asks again after a reply.
struct Onlookers {
    what: &'static str,
    first: &'static str,
    again: Option<&'static str>,
}

/// Reads away what followers are sent, on a thread of its own; how many lines that were.
fn drained(
    streams: Vec<UnixStream>,
    again: Option<&'static str>,
    over: Arc<AtomicBool>,
) -> thread::JoinHandle<usize> {
    thread::spawn(move || {
        for stream in &streams {
            stream.set_nonblocking(true).expect("set");
        }
        let (mut chunk, mut lines) = (vec![0; 1 << 16], 0);
        while !over.load(Ordering::Relaxed) {
            for mut stream in &streams {
                while let Ok(bytes @ 1..) = stream.read(&mut chunk) {
                    lines += chunk[..bytes].split(|byte| *byte == b'\n').count() - 1;
                    if let (Some(again), Some(b'\n')) = (again, chunk[..bytes].last()) {
                        stream.write_all(again.as_bytes()).expect("asked again");
                    }
                }
            }
            thread::sleep(Duration::from_millis(3));
        }
        lines
    })
}

/// Those who follow the feed, and those who have a screen.
fn followers() {
    let tails = "{\"request\":\"tail\"}\n";
    let screens = "{\"request\":\"view\",\"wait_ms\":5000}\n";
    followed(&Onlookers { what: "followers", first: tails, again: None });
    followed(&Onlookers { what: "screens", first: screens, again: Some(screens) });
}

/// One who measures, with and without onlookers, in turn.
fn followed(on: &Onlookers) {
    let shop = Shop::new(Made { jobs: 1, rounds: 1, open: true });
    let mut client = shop.client();
    let (mut alone, mut followed) = (Vec::new(), Vec::new());
    let (mut ran, mut heard) = ([Duration::ZERO; 2], 0);
    for phase in 0..8 {
        let with = phase % 2 == 1;
        let over = Arc::new(AtomicBool::new(false));
        let streams: Vec<_> = (0..if with { FOLLOWERS } else { 0 })
            .map(|_| {
                let mut tail = shop.client();
                tail.say(on.first);
                if on.again.is_none() {
                    tail.line();
                }
                tail.stream()
            })
            .collect();
        let draining = drained(streams, on.again, Arc::clone(&over));
        let before = shop.ran("");
        for turn in 0..TIMES / 4 {
            let start = Instant::now();
            client.round(turn + phase);
            if with { &mut followed } else { &mut alone }.push(start.elapsed());
            thread::sleep(Duration::from_millis(5));
        }
        ran[usize::from(with)] += shop.ran("").saturating_sub(before);
        thread::sleep(Duration::from_millis(200));
        over.store(true, Ordering::Relaxed);
        heard += draining.join().expect("drained");
    }
    let each = u32::try_from(TIMES).expect("small");
    let (with, without) = (at(&mut followed, 50), at(&mut alone, 50));
    println!(
        "{FOLLOWERS} {:<10} a check of eight {with:>9.1?}   none {without:>9.1?}   ratio {:.2}   p99 {:>9.1?}, {:>9.1?}   \
         on a processor {:>9.1?}, {:>9.1?}, ratio {:.2}   {heard} lines heard",
        on.what,
        over(with, without),
        at(&mut followed, 99),
        at(&mut alone, 99),
        ran[1] / each,
        ran[0] / each,
        over(ran[1], ran[0])
    );
}

/// Commits to a record of so many readings, in turn with as many bytes written and synced on the same
/// disk, while something else is done with the record.
fn commits(readings: usize, among: &[&String]) {
    let jobs = readings / (ROUNDS * shop::POSITIONS);
    let shop = Shop::new(Made { jobs, rounds: ROUNDS, open: false });
    let job = format!("J-{:05}", jobs - 1);
    let mut floor = Floor::new(shop.folder(), A_NOTE);
    let mut client = shop.client();
    let states: [(&str, Option<&str>, Duration); 4] = [
        ("nothing else", None, Duration::from_millis(3)),
        ("without a pause", None, Duration::ZERO),
        ("backup", Some("backup"), Duration::from_millis(3)),
        ("verify", Some("verify"), Duration::from_millis(3)),
    ];
    for (what, command, pause) in states {
        let key = what.split(' ').next().unwrap_or_default();
        if !among.is_empty() && !among.iter().any(|word| *word == key) {
            continue;
        }
        let (over_now, runs) = (AtomicBool::new(false), Mutex::new(0));
        let (mut touches, mut bare, mut ways) = (Vec::new(), Vec::new(), Vec::new());
        thread::scope(|scope| {
            scope.spawn(|| beside(&shop, command, &over_now, &runs));
            for turn in 0..TOUCHES {
                let start = Instant::now();
                client.ask("note", &format!(",\"job\":\"{job}\",\"text\":\"{turn}\""));
                touches.push(start.elapsed());
                thread::sleep(pause);
                bare.push(floor.once(turn));
                thread::sleep(pause);
                // The way there and back of what commits nothing.
                let start = Instant::now();
                client.refused("note", ",\"job\":\"nobody\",\"text\":\"lost\"");
                ways.push(start.elapsed());
                thread::sleep(pause);
            }
            over_now.store(true, Ordering::Relaxed);
        });
        let log =
            std::fs::metadata(shop.state().join("tenths.db-wal")).map_or(0, |found| found.len());
        let (p99, floor99) = (at(&mut touches, 99), at(&mut bare, 99));
        println!(
            "commit beside {what:<16} p50 {:>9.1?}  p99 {p99:>9.1?}  most {:>9.1?}   fdatasync p50 {:>9.1?}  p99 {floor99:>9.1?}  \
             most {:>9.1?}   ratio p50 {:.2}  p99 {:.2}   ran {} times   log {} kB",
            at(&mut touches, 50),
            at(&mut touches, 100),
            at(&mut bare, 50),
            at(&mut bare, 100),
            over(at(&mut touches, 50), at(&mut bare, 50)),
            over(p99, floor99),
            runs.lock().expect("counted"),
            log / 1000
        );
        println!(
            "  the way of a refusal  p50 {:>9.1?}  p99 {:>9.1?}   p99 over that of fdatasync {:>9.1?}   \
             longer than twice the p99: {} commits, {} fdatasyncs",
            at(&mut ways, 50),
            at(&mut ways, 99),
            p99.saturating_sub(floor99),
            stalls(&touches),
            stalls(&bare),
        );
    }
}

/// Runs a command on the record again and again.
fn beside(shop: &Shop, command: Option<&str>, over: &AtomicBool, runs: &Mutex<u32>) {
    let Some(command) = command else { return };
    let copies = shop.folder().join("copies");
    std::fs::create_dir_all(&copies).expect("a folder");
    while !over.load(Ordering::Relaxed) {
        let to = copies.join("copy.db");
        drop(std::fs::remove_file(&to));
        let to = to.display().to_string();
        let arguments: &[&str] = if command == "backup" { &[command, &to] } else { &[command] };
        let status = shop.command(arguments).status().expect("the command runs");
        assert!(status.success(), "{command}: {status}");
        *runs.lock().expect("counted") += 1;
    }
}
