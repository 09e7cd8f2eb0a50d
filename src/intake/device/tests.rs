use std::os::fd::OwnedFd;
use std::path::Path;

use rustix::fs::{Mode, OFlags};
use tokio::sync::mpsc;

use super::super::StopSwitch;
use super::super::input_event::tests::event;
use super::*;
use quantity::Name;

/// A device that runs, and what it told.
struct Running {
    news: mpsc::Receiver<Arrival>,
    switch: StopSwitch,
    task: tokio::task::JoinHandle<()>,
}

fn running(kind: DeviceKind, path: &Path) -> Running {
    let (queue, news) = mpsc::channel(64);
    let (switch, stop) = StopSwitch::new();
    let device = Device { station: Name::new("bench").unwrap(), kind, path: path.to_owned() };
    let task = tokio::spawn(attend(device, Outlet::new(queue), stop));
    Running { news, switch, task }
}

impl Running {
    async fn next(&mut self) -> News {
        let news = tokio::time::timeout(Duration::from_secs(10), self.news.recv()).await;
        news.expect("news in time").expect("it runs").news
    }

    async fn missing(&mut self) -> Option<String> {
        let news = self.next().await;
        let News::Device { missing, .. } = news else { panic!("{news:?}") };
        missing
    }

    async fn end(mut self) {
        self.switch.throw();
        self.task.await.unwrap();
        assert!(self.news.recv().await.is_none(), "nothing more was told");
    }
}

/// A named pipe stands in for an input device: opened by a name, readable, bytes of events.
fn pipe(path: &Path) -> OwnedFd {
    let made = std::process::Command::new("mkfifo").arg(path).status().unwrap();
    assert!(made.success());
    rustix::fs::open(path, OFlags::RDWR | OFlags::NONBLOCK, Mode::empty()).unwrap()
}

fn press(pipe: &OwnedFd, key: u16, value: i32) {
    let bytes = [event(1, key, value), event(0, 0, 0)].concat();
    assert_eq!(rustix::io::write(pipe, &bytes).unwrap(), bytes.len());
}

#[tokio::test]
async fn a_pedal_is_pressed_lost_and_comes_back() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pedal");
    let mut pedal = running(DeviceKind::PedalKeys, &path);
    let why = pedal.missing().await.unwrap();
    assert!(why.contains("is not there; plug the pedal in"), "{why}");
    let far = pipe(&path);
    assert_eq!(pedal.missing().await, None, "the doorbell rang");
    for (value, down) in [(1, true), (0, false)] {
        press(&far, 48, 2);
        press(&far, 48, value);
        // Once when it comes, once when it is steady.
        for _ in 0..2 {
            let News::Pedal { station, down: told } = pedal.next().await else { panic!("?") };
            assert_eq!((station.as_str(), told), ("bench", down));
        }
    }
    std::fs::remove_file(&path).unwrap();
    drop(far);
    let why = pedal.missing().await.unwrap();
    assert!(why.contains("is gone"), "{why}");
    let far = pipe(&path);
    assert_eq!(pedal.missing().await, None);
    press(&far, 272, 1);
    assert!(matches!(pedal.next().await, News::Pedal { down: true, .. }));
    pedal.end().await;
}

#[tokio::test]
async fn a_scanner_that_types_gives_its_line() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("scanner");
    let far = pipe(&path);
    let mut scanner = running(DeviceKind::ScannerKeys, &path);
    assert_eq!(scanner.missing().await, None);
    press(&far, 42, 1);
    press(&far, 5, 1);
    press(&far, 42, 0);
    for key in [30, 12, 2] {
        press(&far, key, 1);
        press(&far, key, 0);
    }
    press(&far, 28, 1);
    let News::Scan { text, .. } = scanner.next().await else { panic!("no scan") };
    assert_eq!(text, "$a-1");
    scanner.end().await;
}

#[tokio::test]
async fn a_pedal_is_told_again_while_it_is_down_and_never_while_it_is_up() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pedal");
    let far = pipe(&path);
    let mut pedal = running(DeviceKind::PedalKeys, &path);
    assert_eq!(pedal.missing().await, None);
    press(&far, 48, 1);
    let since = Instant::now();
    for again in 0..4 {
        assert!(matches!(pedal.next().await, News::Pedal { down: true, .. }), "{again}");
        // A key that repeats by itself delays nothing.
        press(&far, 48, 2);
    }
    let took = since.elapsed();
    assert!(took >= STEADY + 2 * STILL_DOWN, "{took:?}");
    press(&far, 48, 0);
    for _ in 0..2 {
        assert!(matches!(pedal.next().await, News::Pedal { down: false, .. }));
    }
    let more = tokio::time::timeout(STILL_DOWN * 2, pedal.news.recv()).await;
    assert!(more.is_err(), "a pedal that is up is silent: {more:?}");
    pedal.end().await;
}

#[tokio::test]
async fn a_modem_line_of_what_has_none_is_told_and_tried_again() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pedal");
    let _far = pipe(&path);
    let mut pedal = running(DeviceKind::PedalLine(ModemLine::Cts), &path);
    let why = pedal.missing().await.unwrap();
    assert!(why.contains("cannot be used as a pedal"), "{why}");
    pedal.end().await;
}

#[test]
fn a_level_tells_its_changes() {
    let mut ear = Ear::for_kind(DeviceKind::PedalLine(ModemLine::Cts));
    assert_eq!(ear.hear(&[1, 1]), [], "closed from the start: nobody pressed");
    let heard: Vec<_> =
        [0, 0, 1, 1, 1, 0, 1].iter().flat_map(|level| ear.hear(&[*level])).collect();
    assert_eq!(heard, [false, true, false, true].map(Heard::Pedal));
}
