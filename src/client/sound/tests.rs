use std::sync::atomic::AtomicBool;
use std::time::{Duration, Instant};

use super::player::{Patience, play};
use super::*;
use ::bench::row::{AlertKind, Level, State};
use config::Voice;
use judgement::{Reason, Word};
use quantity::Unit;
use wire::{
    LimitsTold, Next, PositionState, View, ViewAlert, ViewCheck, ViewGauge, ViewPosition,
    ViewTouch, ViewVerdict,
};

const EVERY: [Tone; 8] = [
    Tone::Taken,
    Tone::TakenBack,
    Tone::Refused,
    Tone::In,
    Tone::InButClose,
    Tone::Out,
    Tone::Question,
    Tone::Stop,
];

fn word(bytes: &[u8], at: usize) -> u32 {
    u32::from_le_bytes(bytes[at..at + 4].try_into().unwrap())
}

fn samples(wav: &[u8]) -> Vec<i16> {
    wav[44..].chunks(2).map(|pair| i16::from_le_bytes([pair[0], pair[1]])).collect()
}

/// Pitch of a stretch of samples, hertz, by counting where it rises through zero.
fn pitch(samples: &[i16]) -> f64 {
    let rises = samples.windows(2).filter(|pair| pair[0] < 0 && pair[1] >= 0).count();
    f64::from(u32::try_from(rises).unwrap()) * 8000.0
        / f64::from(u32::try_from(samples.len()).unwrap())
}

/// The layout of the file is that of "Multimedia Programming Interface and Data Specifications
/// 1.0" (IBM and Microsoft, 1991), format 1.
#[test]
fn a_tone_is_a_small_wav_file() {
    for tone in EVERY {
        let wav = wav(tone, Voice::default());
        assert_eq!(
            (&wav[..4], &wav[8..16], &wav[36..40]),
            (&b"RIFF"[..], &b"WAVEfmt "[..], &b"data"[..])
        );
        assert_eq!(word(&wav, 4) as usize, wav.len() - 8);
        assert_eq!(word(&wav, 16), 16);
        assert_eq!(&wav[20..24], &[1, 0, 1, 0], "plain numbers, one channel");
        assert_eq!((word(&wav, 24), word(&wav, 28)), (8000, 16_000));
        assert_eq!(&wav[32..36], &[2, 0, 16, 0]);
        assert_eq!(word(&wav, 40) as usize, wav.len() - 44);
        assert!(wav.len() < 16 * 1024, "{tone:?} has {} bytes", wav.len());
        let loudest = samples(&wav).iter().map(|s| s.unsigned_abs()).max().unwrap();
        assert!((20_000..=26_300).contains(&loudest), "{tone:?}: {loudest}");
        assert_eq!((samples(&wav)[0], *samples(&wav).last().unwrap()), (0, 0), "it does not click");
    }
}

#[test]
fn tones_rise_fall_and_last_as_they_should() {
    let of = |tone| samples(&wav(tone, Voice::default()));
    let taken = of(Tone::Taken);
    assert!(taken.len() < 800 && pitch(&taken) > 1700.0, "one short high");
    let (high, low) = (pitch(&of(Tone::TakenBack)[..720]), pitch(&of(Tone::TakenBack)[720..]));
    assert!(high > low * 1.2, "a falling pair: {high} {low}");
    assert!(pitch(&of(Tone::Refused)) < 150.0, "a low buzz");
    let part = |tone, note: usize| pitch(&of(tone)[note * 880..(note + 1) * 880]);
    let rising: Vec<f64> = (0..3).map(|note| part(Tone::In, note)).collect();
    assert!(rising.windows(2).all(|pair| pair[1] > pair[0] * 1.1), "rising three: {rising:?}");
    let close: Vec<f64> = (0..3).map(|note| part(Tone::InButClose, note)).collect();
    assert!(
        close[1] > close[0] * 1.1 && (close[2] - close[1]).abs() < 20.0,
        "two and flat: {close:?}"
    );
    let out = of(Tone::Out);
    assert!(out.len() > 7000 && pitch(&out[..3360]) < 240.0, "two long low");
    assert!(out[3400..4200].iter().all(|sample| *sample == 0), "with a gap between them");
}

#[test]
fn volume_and_pitch_are_the_stations() {
    let quiet = Voice { volume: 10, mute: false, pitch: 2.0 };
    let wav = samples(&wav(Tone::In, quiet));
    assert!(wav.iter().all(|sample| sample.unsigned_abs() <= 3277));
    assert!((pitch(&wav[..880]) - 1046.5).abs() < 20.0);
}

#[test]
fn bells_tell_the_tones_apart() {
    for (index, one) in EVERY.iter().enumerate() {
        for other in &EVERY[index + 1..] {
            assert_ne!(bell_times(*one), bell_times(*other), "{one:?} {other:?}");
        }
    }
}

fn touched(seq: u64, taken: u32, state: &str) -> View {
    let check = ViewCheck {
        attempt_id: 5,
        next: if taken < 8 { Next::Position } else { Next::Nothing },
        taken,
        of: 8,
        last_touch: Some(ViewTouch {
            id: seq,
            position: None,
            value: "0.00012 in".to_owned(),
            state: State::parse(state).unwrap(),
        }),
        ..ViewCheck::default()
    };
    View { seq, check: Some(check), ..View::default() }
}

fn judged(seq: u64, verdict: &str, simple: &str, guarded: &str) -> View {
    let mut view = touched(seq, 8, "closure");
    view.check.as_mut().unwrap().verdict = Some(ViewVerdict {
        id: seq,
        verdict: Word::parse(verdict).unwrap(),
        simple: Word::parse(simple),
        guarded: Word::parse(guarded),
        ..ViewVerdict::default()
    });
    view
}

fn alert(id: u64, kind: &str) -> ViewAlert {
    let kind = AlertKind::parse(kind).unwrap();
    ViewAlert { id, level: Level::Interrupt, kind, text: String::new() }
}

/// What is heard of a row of views.
fn heard(views: &[View]) -> Vec<Option<Tone>> {
    let mut hearing = Hearing::default();
    views.iter().map(|view| hearing.hear(view)).collect()
}

#[test]
fn a_foot_or_a_scan_that_came_to_nothing_is_a_buzz_once() {
    let note = |id, kind: &str| ViewAlert { level: Level::Note, ..alert(id, kind) };
    let with = |mut view: View, alerts: &[ViewAlert]| {
        view.alerts = alerts.to_vec();
        view
    };
    let (foot, scan) = (note(11, "foot"), note(13, "scan"));
    let nothing = |seq| View { seq, ..View::default() };
    let views = [
        touched(10, 1, "placed"),
        with(touched(10, 1, "placed"), &[]),
        with(View { seq: 11, ..touched(10, 1, "placed") }, std::slice::from_ref(&foot)),
        with(View { seq: 12, ..touched(10, 1, "placed") }, std::slice::from_ref(&foot)),
        with(View { seq: 13, ..touched(10, 1, "placed") }, &[foot, scan.clone()]),
        with(touched(15, 2, "placed"), &[scan]),
        with(nothing(17), &[note(17, "scan")]),
        with(nothing(18), &[note(18, "device-lost")]),
    ];
    let (buzz, taken) = (Some(Tone::Refused), Some(Tone::Taken));
    assert_eq!(heard(&views), [None, None, buzz, None, buzz, taken, buzz, None]);
}

#[test]
fn another_person_is_heard_once_with_and_without_a_check() {
    let with = |seq: u64, person: Option<&str>| View {
        person: person.map(str::to_owned),
        ..touched(seq, 3, "placed")
    };
    let views = [
        with(10, None),
        View { seq: 20, ..with(10, Some("Ada")) },
        View { seq: 30, ..with(10, Some("Ada")) },
        View { seq: 40, ..with(10, Some("Bo")) },
        View { seq: 50, ..with(10, None) },
    ];
    let taken = Some(Tone::Taken);
    assert_eq!(heard(&views), [None, taken, None, taken, None]);
    let idle = views.map(|view| View { check: None, ..view });
    assert_eq!(heard(&idle), [None, taken, None, taken, None]);
}

#[test]
fn a_touch_is_heard_once_and_looking_is_silent() {
    let views = [
        touched(10, 1, "placed"),
        touched(12, 2, "placed"),
        touched(12, 2, "placed"),
        touched(14, 2, "suspect"),
        touched(16, 2, "repeat"),
        touched(18, 2, "unclaimed"),
    ];
    let expected = [None, Some(Tone::Taken), None, Some(Tone::Refused), None, None];
    assert_eq!(heard(&views), expected);
}

#[test]
fn taking_back_is_heard() {
    let mut back = touched(10, 3, "void");
    back.check.as_mut().unwrap().voided = 1;
    back.seq = 12;
    assert_eq!(heard(&[touched(10, 4, "placed"), back])[1], Some(Tone::TakenBack));
}

#[test]
fn a_restored_record_is_no_news_and_what_follows_is_heard() {
    // Its numbers are smaller than the ones that were heard before.
    let other = |seq, taken| View { feed: "b2".to_owned(), ..touched(seq, taken, "placed") };
    let views = [touched(900, 1, "placed"), other(40, 3), other(41, 4)];
    assert_eq!(heard(&views), [None, None, Some(Tone::Taken)]);
}

#[test]
fn a_ring_ends_on_one_tone() {
    let end = |view: View| heard(&[touched(10, 7, "placed"), view])[1];
    let (yes, no, open) = ("conforms", "does-not-conform", "undecided");
    assert_eq!(end(judged(20, yes, yes, yes)), Some(Tone::In));
    assert_eq!(end(judged(20, open, yes, open)), Some(Tone::InButClose));
    assert_eq!(end(judged(20, yes, yes, open)), Some(Tone::InButClose), "by the simple rule");
    assert_eq!(end(judged(20, open, no, open)), Some(Tone::Out));
    let mut out = judged(20, no, no, no);
    out.alerts = vec![alert(21, "out")];
    assert_eq!(end(out), Some(Tone::Out), "its alert adds nothing");
    let mut withheld = judged(20, open, yes, yes);
    withheld.check.as_mut().unwrap().verdict.as_mut().unwrap().reasons = vec![Reason::Warm];
    assert_eq!(end(withheld), Some(Tone::Withheld));
    let mut asked = judged(20, no, no, no);
    asked.check.as_mut().unwrap().next = Next::HalfTurn;
    asked.alerts = vec![alert(21, "mostly-tilt"), alert(22, "out")];
    assert_eq!(end(asked), Some(Tone::OutAndAsked));
    let mut open_yet = judged(20, open, yes, open);
    let check = open_yet.check.as_mut().unwrap();
    check.next = Next::Closure;
    check.verdict.as_mut().unwrap().reasons = vec![Reason::NotClosed];
    assert_eq!(end(open_yet), Some(Tone::Question), "touch 0 again");
    assert_eq!(end(judged(20, "incomplete", no, no)), None);
}

#[test]
fn the_same_end_is_told_once_and_another_after_something_was_taken_back() {
    let yes = "conforms";
    let mut again = judged(30, yes, yes, yes);
    again.check.as_mut().unwrap().last_touch = None;
    let mut after = judged(40, yes, yes, yes);
    after.check.as_mut().unwrap().voided = 1;
    let mut hole = touched(35, 7, "void");
    let check = hole.check.as_mut().unwrap();
    check.voided = 1;
    check.last_touch.as_mut().unwrap().id = 20;
    let views = [touched(10, 7, "placed"), judged(20, yes, yes, yes), again, hole, after];
    let (ring, back) = (Some(Tone::In), Some(Tone::TakenBack));
    assert_eq!(heard(&views), [None, ring, None, back, ring]);
}

#[test]
fn what_makes_work_stop_goes_before_everything() {
    let mut view = touched(14, 2, "suspect");
    view.alerts = vec![alert(15, "unit-mixed")];
    view.seq = 15;
    assert!(is_stop(&view.alerts[0]) && !is_stop(&alert(1, "wild-touch")));
    assert_eq!(heard(&[touched(10, 2, "placed"), view])[1], Some(Tone::Stop));
}

#[test]
fn the_pitch_rises_an_octave_for_a_tolerance() {
    let shows = |last: &str| {
        let mut view = touched(10, 1, "placed");
        let check = view.check.as_mut().unwrap();
        check.gauge = Some("plate".to_owned());
        (check.limit, check.limit_unit) = (Some(LimitsTold::Max("0.0001".to_owned())), Unit::Inch);
        check.positions = vec![ViewPosition {
            position: 0,
            angle_deg: Some(0.0),
            state: PositionState::Taken,
            value: Some("0.00010 in".to_owned()),
        }];
        view.gauges = vec![ViewGauge {
            name: "plate".to_owned(),
            state: wire::GaugeState::Live,
            why: None,
            last: Some(last.to_owned()),
            last_age_ms: Some(1),
        }];
        follow_pitch(&view).unwrap()
    };
    let near = |a: f64, b: f64| (a - b).abs() < 1e-6;
    assert!(near(shows("0.00010 in"), 440.0));
    assert!(near(shows("0.00020 in"), 880.0));
    assert!(near(shows("0.00000 in"), 220.0));
    assert!(near(shows("1.00000 in"), 440.0 * 2_f64.powf(1.5)), "it stays within hearing");
    assert_eq!(follow_pitch(&View::default()), None);
}

fn patience(longest: Duration) -> Patience<'static> {
    static OVER: AtomicBool = AtomicBool::new(false);
    Patience { longest, over: &OVER }
}

fn command(words: &[&str]) -> Vec<String> {
    words.iter().map(|word| (*word).to_owned()).collect()
}

#[test]
fn a_player_is_fed_or_named_a_file() {
    let dir = tempfile::tempdir().unwrap();
    let wav = wav(Tone::Taken, Voice::default());
    let fed = dir.path().join("fed");
    let script = format!("cat > {}", fed.display());
    play(&command(&["sh", "-c", &script]), &wav, patience(Duration::from_secs(30))).unwrap();
    assert_eq!(std::fs::read(&fed).unwrap(), wav);
    let named = dir.path().join("named").display().to_string();
    play(&command(&["cp", "{file}", &named]), &wav, patience(Duration::from_secs(30))).unwrap();
    assert_eq!(std::fs::read(&named).unwrap(), wav);
}

#[test]
fn a_player_that_hangs_is_killed_and_one_that_fails_is_told() {
    let start = Instant::now();
    let hangs =
        play(&command(&["sleep", "60"]), b"", patience(Duration::from_millis(50))).unwrap_err();
    assert!(hangs.0.contains("sleep does not end and was killed"), "{hangs:?}");
    assert!(start.elapsed() < Duration::from_secs(30));
    let fails = play(&command(&["false"]), b"", patience(Duration::from_secs(30))).unwrap_err();
    assert!(fails.0.contains("failed"), "{fails:?}");
    let absent = play(&command(&["no-such-player-here"]), b"", patience(Duration::from_secs(1)))
        .unwrap_err();
    assert!(absent.0.contains("no-such-player-here fails"), "{absent:?}");
}

#[test]
fn what_is_wrong_with_a_player_is_said_once() {
    let (tell, told) = std::sync::mpsc::channel();
    let player = Player::new(command(&["false"]), move |said| drop(tell.send(said)));
    player.play(Vec::new());
    told.recv_timeout(Duration::from_secs(30)).unwrap();
    player.play(Vec::new());
    drop(player);
    assert!(told.recv_timeout(Duration::from_secs(30)).is_err(), "the thread ended without a word");
}

/// A program that writes its number into a file for each tone, starts another, and hangs.
fn hanging(dir: &std::path::Path) -> (Vec<String>, std::path::PathBuf) {
    let numbers = dir.join("numbers");
    let script = format!("echo $$ >> {}; sleep 600 & sleep 600", numbers.display());
    (command(&["sh", "-c", &script]), numbers)
}

/// Whether a program runs in the group that this number leads.
fn runs_in_group(group: &str) -> bool {
    let all = std::fs::read_dir("/proc").unwrap().filter_map(Result::ok);
    let stats = all.filter_map(|entry| std::fs::read_to_string(entry.path().join("stat")).ok());
    // proc(5): after the name come the state, the parent and the group.
    let of = |stat: String| {
        let (_, after) = stat.rsplit_once(')').unwrap();
        let fields: Vec<_> = after.split_whitespace().collect();
        fields[2] == group && fields[0] != "Z"
    };
    stats.into_iter().any(of)
}

#[test]
fn a_player_that_hangs_is_one_program_and_none_is_left() {
    let dir = tempfile::tempdir().unwrap();
    let (hangs, numbers) = hanging(dir.path());
    let player = Player::new(hangs, |_| {});
    for _ in 0..200 {
        player.play(Vec::new());
        std::thread::sleep(Duration::from_millis(1));
    }
    let started = || std::fs::read_to_string(&numbers).unwrap_or_default();
    let start = Instant::now();
    while started().lines().count() < 1 {
        assert!(start.elapsed() < Duration::from_secs(30), "it did not start");
        std::thread::sleep(Duration::from_millis(5));
    }
    let first = started().lines().next().unwrap().to_owned();
    assert!(runs_in_group(&first));
    let end = Instant::now();
    drop(player);
    assert!(end.elapsed() < Duration::from_secs(2), "the end does not wait for it");
    let all = started();
    assert!(all.lines().count() <= 2, "one at a time, and one that waited: {all}");
    for number in all.lines() {
        let start = Instant::now();
        while runs_in_group(number) {
            assert!(start.elapsed() < Duration::from_secs(20), "{number} is left behind");
            std::thread::sleep(Duration::from_millis(10));
        }
    }
}
