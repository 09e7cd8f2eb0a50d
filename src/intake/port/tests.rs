use std::fs::File;
use std::io::Write as _;
use std::os::fd::OwnedFd;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use rustix::fs::FlockOperation;
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use tokio::sync::mpsc;

use super::*;
use crate::{Arrival, StopSwitch};
use config::Parity;
use gauge::{
    Capture, Content, Framing, GaugeOnLine, Kind, LineSetup, Pattern, Profile, Sign, Tokens,
};
use quantity::{Name, Quoted, Unit};

/// The gauge's side of a pretended line.
struct Pretend {
    side: File,
    path: PathBuf,
}

fn pretend() -> Pretend {
    let flags = OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC;
    let side: OwnedFd = openpt(flags).unwrap();
    grantpt(&side).unwrap();
    unlockpt(&side).unwrap();
    let path = PathBuf::from(ptsname(&side, Vec::new()).unwrap().to_str().unwrap());
    Pretend { side: File::from(side), path }
}

impl Pretend {
    fn send(&mut self, bytes: &[u8]) {
        self.side.write_all(bytes).unwrap();
    }
}

fn port(path: &Path) -> Port {
    let content =
        Content::Decimal(Pattern::whole(r"(?<sign>[+-])(?<digits>[0-9]+\.[0-9]+)").unwrap());
    let profile = Profile {
        name: "test".to_owned(),
        about: String::new(),
        framing: Framing::Line,
        block: None,
        content,
        unit: None,
        spellings: std::collections::BTreeMap::new(),
        places: std::collections::BTreeMap::new(),
        tokens: Tokens::default(),
        ask: None,
    };
    let gauge = GaugeOnLine {
        channel: None,
        unit: Some(Unit::Inch),
        resolution: Quoted::parse("0.00001", Unit::Inch).unwrap(),
        scale: None,
        sign: Sign::Plus,
        repeat_us: 0,
        max_rate: 0,
        capture: Capture::Send,
        button: false,
        rest: None,
        every_us: 0,
    };
    Port {
        name: PortName::Serial(path.to_owned()),
        gauges: vec![Name::new("plate").unwrap()],
        baud: 9600,
        data_bits: 8,
        parity: Parity::None,
        stop_bits: 1,
        line: LineSetup { profile: Arc::new(profile), gauges: vec![gauge] },
    }
}

/// A listener that runs, and what it tells.
struct Heard {
    news: mpsc::Receiver<Arrival>,
    switch: StopSwitch,
    task: tokio::task::JoinHandle<()>,
}

fn start(path: &Path) -> Heard {
    let (sender, news) = mpsc::channel(8);
    let (switch, stop) = StopSwitch::new();
    let task = tokio::spawn(listen(port(path), Outlet::<Arrival>::new(sender), Asks::new(), stop));
    Heard { news, switch, task }
}

impl Heard {
    async fn next(&mut self) -> News {
        let news = tokio::time::timeout(Duration::from_secs(5), self.news.recv());
        news.await.expect("news within five seconds").unwrap().news
    }

    async fn link(&mut self) -> Link {
        let News::Line { link, .. } = self.next().await else { panic!("no news of the line") };
        link
    }

    async fn frame(&mut self) -> (String, Kind) {
        let News::Frame { outcome, .. } = self.next().await else { panic!("no frame") };
        (outcome.text, outcome.kind)
    }

    async fn end(mut self) {
        self.switch.throw();
        self.task.await.unwrap();
        assert!(self.news.recv().await.is_none(), "nothing untold is left");
    }
}

#[tokio::test]
async fn a_frame_arrives_with_its_time_after_the_line_is_live() {
    let mut gauge = pretend();
    let mut heard = start(&gauge.path);
    assert_eq!(heard.link().await, Link::Live);
    let before = crate::mono_us();
    gauge.send(b"+0.00012\r\n");
    let (text, kind) = heard.frame().await;
    assert_eq!(text, "+0.00012");
    let value = Quoted::parse("0.00012", Unit::Inch).unwrap();
    assert_eq!(kind, Kind::Reading { value, repeat: false, low_battery: false, odd: None });
    assert!(before <= crate::mono_us());
    heard.end().await;
}

#[tokio::test]
async fn what_was_waiting_before_opening_is_not_thrown_away() {
    let mut gauge = pretend();
    // The terminal is cooked until it is opened; a whole line waits in it.
    gauge.send(b"+0.00007\n");
    let mut heard = start(&gauge.path);
    let (text, kind) = heard.frame().await;
    assert_eq!((text.as_str(), kind), ("+0.00007", Kind::Resync), "counted, not lost");
    assert_eq!(heard.link().await, Link::Live);
    heard.end().await;
}

#[tokio::test]
async fn a_line_is_lost_and_comes_back_under_the_same_name() {
    let folder = tempfile::tempdir().unwrap();
    let name = folder.path().join("gauge");
    let mut heard = start(&name);
    let Link::Absent(why) = heard.link().await else { panic!("absent at first") };
    assert!(why.contains("is not there; plug the gauge in"), "{why}");

    let gauge = pretend();
    symlink(&gauge.path, &name).unwrap();
    assert_eq!(heard.link().await, Link::Live);

    drop(gauge);
    let Link::Lost(why) = heard.link().await else { panic!("lost") };
    assert!(why.contains("plug the gauge in again"), "{why}");

    // Another number of the same gauge: the kernel gives out terminals as it likes.
    let mut again = (pretend(), pretend()).1;
    std::fs::remove_file(&name).unwrap();
    symlink(&again.path, &name).unwrap();
    assert_eq!(heard.link().await, Link::Live);
    again.send(b"-0.00001\r\n");
    assert_eq!(heard.frame().await.0, "-0.00001");
    heard.end().await;
}

#[tokio::test]
async fn a_port_that_another_program_locked_is_refused_and_taken_when_free() {
    let mut gauge = pretend();
    let held = File::options().read(true).write(true).open(&gauge.path).unwrap();
    rustix::fs::flock(&held, FlockOperation::LockExclusive).unwrap();
    let mut heard = start(&gauge.path);
    let Link::Refused(why) = heard.link().await else { panic!("refused") };
    assert!(why.contains("in use by another program; end that program"), "{why}");
    // Closing the last other side of a terminal would hang it up, so it is only unlocked.
    rustix::fs::flock(&held, FlockOperation::Unlock).unwrap();
    assert_eq!(heard.link().await, Link::Live);
    gauge.send(b"+0.00003\r\n");
    assert_eq!(heard.frame().await.0, "+0.00003");
    heard.end().await;
}

#[tokio::test]
async fn what_is_no_serial_port_is_refused_with_a_sentence() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plain");
    std::fs::write(&path, "+0.1\n").unwrap();
    let mut heard = start(&path);
    let Link::Refused(why) = heard.link().await else { panic!("refused") };
    assert!(why.contains("cannot be opened as a serial port"), "{why}");
    heard.end().await;
}

#[tokio::test]
async fn a_full_queue_holds_the_port_back_and_loses_nothing() {
    let mut gauge = pretend();
    let mut heard = start(&gauge.path);
    assert_eq!(heard.link().await, Link::Live);
    for number in 0..50 {
        gauge.send(format!("+0.{number:05}\r\n").as_bytes());
        tokio::time::sleep(Duration::from_millis(1)).await;
    }
    for number in 0..50 {
        assert_eq!(heard.frame().await.0, format!("+0.{number:05}"));
    }
    heard.end().await;
}

/// How often the calling thread has gone to sleep.
fn slept() -> u64 {
    let status = std::fs::read_to_string("/proc/thread-self/status").unwrap();
    let line = status.lines().find(|line| line.starts_with("voluntary_ctxt_switches")).unwrap();
    line.split_whitespace().nth(1).unwrap().parse().unwrap()
}

/// Sends so many numbered samples to each line, 50 a second, on a thread of its own.
async fn sent(mut gauges: Vec<Pretend>, numbers: std::ops::Range<u32>) -> Vec<Pretend> {
    let send = move || {
        for number in numbers {
            for gauge in &mut gauges {
                gauge.send(format!("+0.{number:05}\r").as_bytes());
                std::thread::sleep(Duration::from_millis(5));
            }
        }
        gauges
    };
    tokio::task::spawn_blocking(send).await.unwrap()
}

/// The texts of the frames that wait to be heard, of each gauge.
fn waiting(news: &mut mpsc::Receiver<Arrival>) -> std::collections::BTreeMap<String, Vec<String>> {
    let mut frames = std::collections::BTreeMap::<_, Vec<_>>::new();
    while let Ok(arrival) = news.try_recv() {
        if let News::Frame { gauge, outcome } = arrival.news {
            frames.entry(gauge.to_string()).or_default().push(outcome.text);
        }
    }
    frames
}

#[tokio::test]
async fn a_sample_wakes_its_port_only_while_somebody_waits_for_it() {
    let (sender, mut news) = mpsc::channel(4096);
    let (switch, stop) = StopSwitch::new();
    let asks = Asks::new();
    let (mut gauges, mut tasks) = (Vec::new(), Vec::new());
    for number in 0..4 {
        let gauge = pretend();
        let mut port = port(&gauge.path);
        port.gauges = vec![Name::new(&format!("g{number}")).unwrap()];
        port.line.gauges[0].capture = Capture::Settle;
        let outlet = Outlet::<Arrival>::new(sender.clone());
        tasks.push(tokio::spawn(listen(port, outlet, asks.clone(), stop.clone())));
        gauges.push(gauge);
    }
    tokio::time::sleep(Duration::from_millis(300)).await;
    // Every number of the first samples but the one that a beginning may lack.
    let numbers = |range: std::ops::Range<u32>| range.map(|n| format!("+0.{n:05}")).collect();
    let before = slept();
    let gauges = sent(gauges, 0..100).await;
    tokio::time::sleep(Duration::from_millis(400)).await;
    let woken = slept() - before;
    assert!(woken < 60, "four hundred samples in two seconds woke the ports {woken} times");
    let heard = waiting(&mut news);
    let all: Vec<String> = numbers(0..100);
    assert!(heard.len() == 4 && heard.values().all(|frames| *frames == all), "{heard:?}");

    // Nothing is sent: nothing wakes up, this wait itself apart. Looks would come thirteen times.
    tokio::time::sleep(Duration::from_millis(300)).await;
    let before = slept();
    tokio::time::sleep(Duration::from_secs(2)).await;
    let woken = slept() - before;
    assert!(woken < 8, "{woken}");

    // Somebody begins to wait in the middle: what was left lying comes first, all in order, and each
    // sample by itself from then on.
    let (asks, before) = (asks, slept());
    let heed = async {
        tokio::time::sleep(Duration::from_millis(500)).await;
        asks.heed([Name::new("g0").unwrap()].into());
    };
    let (gauges, ()) = tokio::join!(sent(gauges, 100..200), heed);
    tokio::time::sleep(Duration::from_millis(400)).await;
    let woken = slept() - before;
    assert!((45..180).contains(&woken), "one of four is waited for: {woken}");
    let heard = waiting(&mut news);
    let all: Vec<String> = numbers(100..200);
    assert!(heard.len() == 4 && heard.values().all(|frames| *frames == all), "{heard:?}");

    drop(gauges);
    switch.throw();
    for task in tasks {
        task.await.unwrap();
    }
}
