use super::*;
use ::bench::row::AlertKind;
use wire::{AsksLine, OpenAlertStatus, SetAsideStatus, StorageStatus, WorkKind, WorkStatus};

fn gauge(name: &str, state: GaugeState) -> GaugeStatus {
    GaugeStatus {
        name: name.to_owned(),
        state,
        why: None,
        frames: 0,
        taken: 0,
        damaged: 0,
        foreign: 0,
        repeats: 0,
        resync: 0,
        idle: 0,
        muted: 0,
        last: None,
        last_at: None,
        calibration_due: None,
        shows: Vec::new(),
    }
}

fn status() -> Status {
    Status {
        healthy: true,
        needs_a_hand: false,
        reload_refused: None,
        links: Vec::new(),
        bench: "grinding room".to_owned(),
        since: "2027-03-01T06:00:00.000Z".to_owned(),
        stations: vec![StationStatus {
            name: "bench".to_owned(),
            job: Some("J-1042".to_owned()),
            part: Some("inner-spacer".to_owned()),
            check: Some("face-a".to_owned()),
            attempt: Some(2),
            next: Some(Next::Position),
            next_position: Some(3),
            place: None,
            next_touch: None,
            touches: Some(1),
            taken: Some(3),
            of: Some(8),
            waits: None,
            next_mark_deg: None,
            person: None,
            by: None,
            asks: AsksLine::default(),
        }],
        gauges: vec![GaugeStatus {
            taken: 12,
            damaged: 1,
            last: Some("0.00012 in".to_owned()),
            last_at: Some("2027-03-01T08:59:48.000Z".to_owned()),
            ..gauge("plate", GaugeState::Live)
        }],
        drops: vec![DropStatus {
            waiting: Vec::new(),
            name: "height-logger".to_owned(),
            state: DropState::Watching,
            files: 2,
            rows: 18,
            refused: 0,
        }],
        storage: StorageStatus {
            state: StorageState::Fine,
            why: None,
            database: "/var/lib/tenths/tenths.db".to_owned(),
            wal_bytes: 0,
            free_bytes: 3_250_000_000,
            begun: None,
            seal: None,
        },
        work: Vec::new(),
        set_aside: Vec::new(),
        alerts_open: 0,
        work_alerts_open: 0,
        troubles: Vec::new(),
        unseen: Vec::new(),
    }
}

fn alert(id: u64, kind: AlertKind, text: &str) -> OpenAlertStatus {
    let (level, job) = (kind.nature().level, Some("J-7".to_owned()));
    OpenAlertStatus { id, level, kind, job, text: text.to_owned() }
}

fn at_nine() -> Wall {
    Wall::parse("2027-03-01T09:00:00Z").unwrap()
}

const PLAIN: Screen = Screen { colour: false, width: None };

#[test]
fn when_all_is_well_it_says_so_first() {
    let expected = "\
All well. grinding room, running for 3 hours.
bench: job J-1042, inner-spacer/face-a, attempt 2, 3 of 8 touched, position 3 next.
gauge plate: live, last 0.00012 in 12 seconds ago, 12 taken, 1 damaged.
folder height-logger: watched, 2 files with 18 rows taken.
record: fine, 3.2 GB free, /var/lib/tenths/tenths.db.
";
    assert_eq!(told(&status(), at_nine(), PLAIN), expected);
}

#[test]
fn the_worst_comes_first_and_nothing_steers_the_terminal() {
    let mut ill = Status {
        healthy: false,
        needs_a_hand: true,
        alerts_open: 2,
        work_alerts_open: 2,
        unseen: vec![alert(51, AlertKind::Out, "ring/face: OUT.\u{1b}[2J")],
        ..status()
    };
    ill.storage.state = StorageState::Failing;
    ill.gauges.push(GaugeStatus {
        why: Some("permission denied\u{1b}[2J".to_owned()),
        ..gauge("height", GaugeState::Refused)
    });
    ill.drops[0].state = DropState::Absent;
    let text = told(&ill, at_nine(), PLAIN);
    let expected = "\
NOT ALL WELL: the record cannot be written, 1 gauge cannot be read, 1 folder cannot be read. The work needs a hand: 2 alerts nobody has seen. grinding room, running for 3 hours.
  The record CANNOT BE WRITTEN. Nothing is taken until it can.
  Gauge height may not be opened.
  Folder height-logger is not there, or the service may not look into it.
  alert 51: J-7: ring/face: OUT.\\x1b[2J
  and 1 more: tenths alerts --state open; seen: tenths ack ID, or --all
bench: job J-1042";
    assert!(text.starts_with(expected), "{text}");
    let height = text.find("gauge height: may not be opened (permission denied\\x1b[2J)").unwrap();
    assert!(height < text.find("gauge plate").unwrap(), "{text}");
    assert!(!text.contains('\u{1b}'), "{text}");
}

#[test]
fn a_station_at_rest_is_told_in_words() {
    let mut quiet = status();
    quiet.stations[0].part = None;
    assert!(told(&quiet, at_nine(), PLAIN).contains("bench: job J-1042, no check active."));
    quiet.stations[0].job = None;
    assert!(told(&quiet, at_nine(), PLAIN).contains("bench: no job in use."));
}

#[test]
fn sizes_are_short() {
    assert_eq!(size(999), "999 bytes");
    assert_eq!(size(1_000), "1.0 kB");
    assert_eq!(size(52_300_000), "52.3 MB");
}

#[test]
fn what_is_not_well_and_what_is_to_be_done_stand_in_the_first_line() {
    let first = |status: &Status| told(status, at_nine(), PLAIN).lines().next().unwrap().to_owned();
    let running = "grinding room, running for 3 hours.";
    let mut some =
        Status { alerts_open: 411, work_alerts_open: 411, needs_a_hand: true, ..status() };
    let hand = "The service is well. The work needs a hand:";
    assert_eq!(first(&some), format!("{hand} 411 alerts nobody has seen. {running}"));
    some.work_alerts_open = 1;
    some.work = vec![
        WorkStatus {
            kind: WorkKind::Prove,
            what: "plate".to_owned(),
            text: "Gauge plate was never proved.".to_owned(),
        },
        WorkStatus {
            kind: WorkKind::Certify,
            what: "plate".to_owned(),
            text: "The gauge plate is 29 days past its calibration date.".to_owned(),
        },
    ];
    let all =
        "1 alert nobody has seen, 1 calibration is due or past its date, 1 gauge is to be proved.";
    assert_eq!(first(&some), format!("{hand} {all} {running}"));
    let text = told(&some, at_nine(), PLAIN);
    assert!(
        text.contains("  to do: The gauge plate is 29 days past its calibration date."),
        "{text}"
    );
}

/// What somebody has seen and lives with is named, and is no outage; what lasts is one.
#[test]
fn all_is_never_well_over_something_that_is_not() {
    let mut ill = Status { needs_a_hand: true, ..status() };
    ill.set_aside = vec![SetAsideStatus {
        kind: wire::AsideKind::Job,
        what: "J-7".to_owned(),
        text: "J-7 is set aside: damaged.".to_owned(),
    }];
    let text = told(&ill, at_nine(), PLAIN);
    assert!(text.starts_with("The service is well, but 1 job is set aside. grinding"), "{text}");
    ill.set_aside.clear();
    for kind in AlertKind::ALL.into_iter().filter(|kind| kind.is_of_the_service()) {
        ill.troubles = vec![alert(9, kind, "something is wrong")];
        ill.healthy = !kind.lasts();
        let text = told(&ill, at_nine(), PLAIN);
        let first = text.lines().next().unwrap();
        assert_eq!(first.starts_with("NOT ALL WELL: "), kind.lasts(), "{kind:?}: {first}");
        assert!(!first.contains("All well"), "{kind:?}: {first}");
        assert!(text.contains("\n  something is wrong\n"), "{kind:?}: {text}");
    }
}

#[test]
fn a_turn_under_way_names_the_mark_that_is_awaited() {
    let mut turning = status();
    turning.stations[0].next = Some(Next::Sweep);
    turning.stations[0].next_mark_deg = Some(270);
    let text = told(&turning, at_nine(), PLAIN);
    assert!(text.contains(", a turn is being swept: tap at mark 270 next."), "{text}");
}
