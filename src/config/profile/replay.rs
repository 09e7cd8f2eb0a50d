//! Replays the logs of every shipped profile: bytes and times go in, and the outcomes must be those written
//! beside them.
//!
//! `fixtures/frames/README.md` says how a log is written.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::sync::{Arc, LazyLock};

use proptest::prelude::*;

use super::parse_profile;
use ::gauge::{Capture, GaugeLine, GaugeOnLine, Kind, LineSetup, Outcome, Profile, Sign};
use quantity::{Quoted, Unit};

const LOGS: [&str; 3] = ["clean.log", "damaged.log", "joined.log"];

#[test]
fn every_log_of_every_shipped_profile_gives_what_it_says() {
    let root = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../.."));
    let profiles = shipped();
    assert!(!profiles.is_empty());
    for profile in &profiles {
        let folder = root.join("fixtures/frames").join(&profile.name);
        let logs = files_in(&folder);
        for needed in LOGS {
            assert!(logs.iter().any(|log| log.ends_with(needed)), "{}: no {needed}", profile.name);
        }
        for log in logs {
            replay(&log, profile);
        }
    }
    let folders = files_in(&root.join("fixtures/frames"));
    let folders: Vec<_> = folders.into_iter().filter(|path| path.is_dir()).collect();
    assert_eq!(folders.len(), profiles.len(), "logs of a profile that is not shipped");
}

fn shipped() -> Vec<Arc<Profile>> {
    let root = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../.."));
    let read = |path: PathBuf| {
        let text = std::fs::read_to_string(&path).unwrap();
        Arc::new(parse_profile(&text, path.to_str().unwrap()).unwrap())
    };
    files_in(&root.join("config/profiles")).into_iter().map(read).collect()
}

fn files_in(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).unwrap_or_else(|_| panic!("{}", folder.display()));
    let mut paths: Vec<_> = entries.map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths
}

fn replay(path: &Path, profile: &Arc<Profile>) {
    let text = std::fs::read_to_string(path).unwrap();
    for head in ["# From:", "# Line:", "# Shows:"] {
        assert!(text.contains(head), "{} has no {head}", path.display());
    }
    let script: Vec<&str> = text.lines().map(str::trim).filter(|line| is_script(line)).collect();
    assert!(script.iter().any(|line| line.starts_with("=>")), "{} expects nothing", path.display());
    let gauges = script.iter().filter_map(|line| line.strip_prefix("gauge ")).map(gauge).collect();
    let mut line = GaugeLine::new(LineSetup { profile: Arc::clone(profile), gauges });
    let steps: Vec<_> = script.iter().filter(|line| !line.starts_with("gauge ")).collect();
    let moments: Vec<u64> = steps.iter().filter_map(|step| moment(step)).collect();
    let mut played = String::new();
    let mut index = 0;
    for step in steps.iter().filter(|step| !step.starts_with("=>")) {
        writeln!(played, "{step}").unwrap();
        let now = moments[index];
        index += 1;
        let mut out = Vec::new();
        act(&mut line, step, now, &mut out);
        run_until(&mut line, moments.get(index).copied().unwrap_or(now + 10_000_000), &mut out);
        for outcome in out {
            writeln!(played, "=> {}", line_of(&outcome)).unwrap();
        }
    }
    let wanted = steps.iter().fold(String::new(), |text, step| text + step + "\n");
    assert_eq!(played, wanted, "{} gives something else", path.display());
}

/// Good frames of every shipped profile. One count is the last place of the resolution.
const FRAMES: [&[u8]; 11] = [
    b"+0,00012\r",
    b"-12,345 mm\r",
    b"No. 12\r\nFACE UP\r\nH = +25.4012 mm\r\nT = 20.4 C\r\n====\r\n",
    b"+0.00012\r",
    b"-  0.0001\r\n",
    b"   1.23450 in \r\n",
    b"+31.3570 mm LB\r\n",
    b"2:+00012.345\r",
    b"+000124\r",
    b"A5800012351C\r",
    b"A5001234532C\r",
];

proptest! {
    /// Frames with bytes lost, doubled and changed. Whatever still reads as a value must consist of digits
    /// that were sent, in their order.
    #[test]
    fn damage_makes_no_digits(
        frames in proptest::collection::vec(proptest::sample::select(&FRAMES[..]), 1..6),
        edits in proptest::collection::vec((any::<usize>(), 0_u8..3, any::<u8>()), 0..8),
    ) {
        static PROFILES: LazyLock<Vec<Arc<Profile>>> = LazyLock::new(shipped);
        let mut bytes = frames.concat();
        for (place, what, byte) in edits {
            let place = place % bytes.len();
            match what {
                0 => bytes[place] = byte,
                1 => bytes.insert(place, bytes[place]),
                _ if bytes.len() > 1 => drop(bytes.remove(place)),
                _ => {}
            }
        }
        for profile in PROFILES.iter() {
            let gauge = gauge("resolution=\"0.00001 in\" scale=\"0.00001 in\"");
            let profile = Arc::clone(profile);
            let mut line = GaugeLine::new(LineSetup { profile, gauges: vec![gauge] });
            let mut out = Vec::new();
            line.opened(0);
            line.feed(&bytes, 1_000_000, &mut out);
            line.tick(2_000_000, &mut out);
            for outcome in out {
                let Kind::Reading { value, .. } = outcome.kind else { continue };
                let digits = value.number().replace(['.', '-'], "");
                let digits = digits.trim_start_matches('0');
                let sent = outcome.text.replace(['.', ','], "");
                prop_assert!(sent.contains(digits), "{value} from {:?}", outcome.text);
                let minus = outcome.text.contains('-') || outcome.text.contains('8');
                prop_assert!(minus || !value.number().starts_with('-'));
            }
        }
    }
}

fn is_script(line: &str) -> bool {
    !line.is_empty() && !line.starts_with('#')
}

/// Moves the clock from one wake-up to the next.
fn run_until(line: &mut GaugeLine, end: u64, out: &mut Vec<Outcome>) {
    while let Some(wake) = line.wake_at().filter(|wake| *wake < end) {
        line.tick(wake, out);
        assert_ne!(line.wake_at(), Some(wake), "a wake-up that changes nothing comes for ever");
    }
}

fn act(line: &mut GaugeLine, step: &str, now: u64, out: &mut Vec<Outcome>) {
    let what = step.split_once(' ').unwrap().1.trim();
    match what.split_once(' ') {
        None if what == "open" => line.opened(now),
        None if what == "wait" => line.tick(now, out),
        None if what == "live" => {
            line.tick(now, out);
            assert!(line.live(), "not live at {now}");
        }
        Some(("send", bytes)) => line.feed(&unescaped(bytes), now, out),
        Some(_) | None => panic!("what is {step:?}?"),
    }
}

fn moment(step: &str) -> Option<u64> {
    let (seconds, _) = step.split_once(' ')?;
    let seconds: f64 = seconds.parse().ok()?;
    Some(std::time::Duration::from_secs_f64(seconds).as_micros().try_into().unwrap())
}

fn line_of(outcome: &Outcome) -> String {
    let kind = match &outcome.kind {
        Kind::Reading { value, repeat, low_battery, odd } => {
            let odd = odd.map(|odd| format!(" ({odd})"));
            let repeat = if *repeat { " (repeat)" } else { "" };
            let battery = if *low_battery { " (low battery)" } else { "" };
            format!("reading {value}{repeat}{battery}{}", odd.unwrap_or_default())
        }
        Kind::Damaged(why) => format!("damaged: {why}"),
        Kind::Foreign(why) => format!("foreign: {why}"),
        Kind::Resync => "resync".to_owned(),
        Kind::Muted { first } => format!("muted{}", if *first { " (first)" } else { "" }),
        Kind::Idle => "idle".to_owned(),
    };
    format!("{} {kind}", outcome.gauge)
}

/// `resolution="0.00001 in" unit="in" channel="1" sign="-" scale="0.00001 in"`
fn gauge(line: &str) -> GaugeOnLine {
    let parts: Vec<&str> = line.split('"').collect();
    let named: BTreeMap<&str, &str> =
        parts.chunks_exact(2).map(|pair| (pair[0].trim().trim_end_matches('='), pair[1])).collect();
    let known = ["resolution", "unit", "channel", "sign", "scale", "repeat_ms", "max_rate"];
    assert!(named.keys().all(|key| known.contains(key)), "{line}");
    let get = |key: &str| named.get(key).copied();
    let length = |text: &str| Quoted::parse_with_unit(text, None).unwrap();
    let number = |key: &str, default: u32| get(key).map_or(default, |text| text.parse().unwrap());
    GaugeOnLine {
        channel: get("channel").map(str::to_owned),
        unit: get("unit").map(|unit| Unit::parse(unit).unwrap()),
        resolution: length(get("resolution").unwrap()),
        scale: get("scale").map(length),
        sign: if get("sign") == Some("-") { Sign::Minus } else { Sign::Plus },
        repeat_us: u64::from(number("repeat_ms", 300)) * 1000,
        max_rate: number("max_rate", 5),
        capture: Capture::Send,
        button: false,
        rest: None,
        every_us: 0,
    }
}

/// `"+0.1\r\n\x00"`
fn unescaped(text: &str) -> Vec<u8> {
    let inner = text.strip_prefix('"').and_then(|text| text.strip_suffix('"')).unwrap();
    let mut bytes = Vec::new();
    let mut letters = inner.chars();
    while let Some(letter) = letters.next() {
        if letter != '\\' {
            bytes.push(u8::try_from(letter).unwrap());
            continue;
        }
        match letters.next().unwrap() {
            'r' => bytes.push(b'\r'),
            'n' => bytes.push(b'\n'),
            '"' => bytes.push(b'"'),
            'x' => {
                let pair: String = letters.by_ref().take(2).collect();
                bytes.push(u8::from_str_radix(&pair, 16).unwrap());
            }
            other => panic!("what is \\{other}?"),
        }
    }
    bytes
}
