use std::io::{BufRead, BufReader, Write};
use std::os::unix::net::UnixListener;

use super::*;
use ::bench::row::AlertKind;
use ::report::trial::face;
use quantity::Unit;
use wire::{Published, ToldLine, error_line, hello_line, tail_line};

fn alert(level: &str, job: Option<&str>) -> AlertLine {
    AlertLine {
        bench: None,
        acked_caller: None,
        schema: "alert/1".to_owned(),
        id: 51,
        at: "2027-03-01T14:30:00.250Z".to_owned(),
        level: Level::parse(level).unwrap(),
        kind: AlertKind::Out,
        job: job.map(str::to_owned),
        part: None,
        check: None,
        gauge: None,
        text: "OUT.\u{1b}[2J".to_owned(),
        cleared_at: None,
        acked_at: None,
        acked_by: None,
    }
}

fn feed(event: &str, alert: Option<AlertLine>) -> FeedLine {
    let verdict = alert.is_none().then(face);
    FeedLine {
        schema: "feed/1".to_owned(),
        feed: "a1".to_owned(),
        seq: 3,
        at: "2027-03-01T14:30:00.250Z".to_owned(),
        event: Happening::parse(event).unwrap(),
        alert,
        told: verdict.as_ref().map(|record| ToldLine::of(record, Unit::Inch)),
        verdict: verdict.as_ref().map(Published::published),
        text: None,
    }
}

fn show(level: Option<Loudness>, job: Option<&str>) -> Show {
    Show {
        json: false,
        level,
        job: job.map(str::to_owned),
        names_jobs: true,
        zone: TimeZone::UTC,
        screen: Screen { colour: false, width: None },
    }
}

#[test]
fn a_line_has_time_level_and_sentence() {
    let line = |feed: &FeedLine| show(None, None).line(feed, "").unwrap();
    let raised = feed("raised", Some(alert("interrupt", None)));
    assert_eq!(line(&raised), "14:30:00  interrupt  OUT.\\x1b[2J");
    let cleared = feed("cleared", Some(alert("note", None)));
    assert_eq!(line(&cleared), "14:30:00  note       no longer: OUT.\\x1b[2J");
    assert_eq!(
        line(&feed("verdict", None)),
        "14:30:00  verdict    J-1042: inner-spacer/face-a: DOES NOT CONFORM. 0.00034 in, limit 0.0001, \
         ±0.000026. 8 touches on the plate."
    );
}

#[test]
fn a_line_names_the_job_it_is_about() {
    let line = |event, job| show(None, None).line(&feed(event, Some(alert("note", job))), "");
    let of_job = |event| line(event, Some("J-7")).unwrap();
    assert_eq!(of_job("raised"), "14:30:00  note       J-7: OUT.\\x1b[2J");
    assert_eq!(of_job("seen"), "14:30:00  note       seen: J-7: OUT.\\x1b[2J");
    assert_eq!(line("raised", None).unwrap(), "14:30:00  note       OUT.\\x1b[2J");
    // A play of one job has no need of it.
    let json = serde_json::to_value(feed("raised", Some(alert("note", Some("J-7"))))).unwrap();
    assert_eq!(sentence(&json).unwrap(), "note       OUT.\\x1b[2J");
}

#[test]
fn filters_leave_only_what_was_asked_for() {
    let verdict = feed("verdict", None);
    let note = feed("raised", Some(alert("note", Some("J-1042"))));
    let level = |least, feed: &FeedLine| show(Some(least), None).wanted(feed);
    assert!(level(Loudness::Note, &note) && level(Loudness::Log, &note));
    assert!(!level(Loudness::Interrupt, &note) && !level(Loudness::Log, &verdict));
    let job = |name, feed: &FeedLine| show(None, Some(name)).wanted(feed);
    assert!(job("J-1042", &note) && job("J-1042", &verdict));
    assert!(!job("J-1", &note) && !job("J-1", &verdict));
    assert!(!job("J-1042", &feed("raised", Some(alert("note", None)))));
}

/// Serves one connection: hears the request for the feed, sends some lines, and hangs up.
fn serve_once(listener: &UnixListener, lines: &[String]) -> String {
    let (mut stream, _) = listener.accept().unwrap();
    writeln!(stream, "{}", hello_line()).unwrap();
    let mut asked = String::new();
    BufReader::new(&stream).read_line(&mut asked).unwrap();
    for line in lines {
        writeln!(stream, "{line}").unwrap();
    }
    // A client that was refused may be gone already.
    drop(write!(stream, "{{\"schema\":\"feed/1\",\"se"));
    asked
}

fn follower(path: PathBuf, show: Show) -> Tail {
    Tail { path, told: None, feed: None, whole: false, show, ear: None }
}

#[test]
fn after_a_restart_it_asks_for_what_was_not_told() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("s");
    let listener = UnixListener::bind(&path).unwrap();
    let line = |seq| serde_json::to_string(&FeedLine { seq, ..feed("verdict", None) }).unwrap();
    let begins = |from| tail_line(&Begins { from, feed: "a1".to_owned(), ..Begins::default() });
    let first = vec![begins(41), line(42), line(43)];
    let second = vec![begins(43), line(43), line(44)];
    let service = std::thread::spawn(move || {
        let asked = [serve_once(&listener, &first), serve_once(&listener, &second)];
        let refused = serve_once(&listener, &[error_line("no such number", None, 2)]);
        (asked, refused)
    });
    let mut tail = follower(path, show(Some(Loudness::Interrupt), None));
    let mut lines = tail.begin().unwrap();
    assert_eq!(tail.told, Some(41));
    assert_eq!(tail.follow(&mut lines).unwrap(), End::ServiceGone);
    assert_eq!(tail.told, Some(43));
    let mut lines = tail.begin().unwrap();
    assert_eq!(tail.follow(&mut lines).unwrap(), End::ServiceGone);
    assert_eq!(tail.told, Some(44));
    let Err(Failure::Told(said)) = tail.begin() else { panic!("it was refused") };
    assert_eq!((said.exit, said.text.as_str()), (2, "no such number"));
    let (asked, _) = service.join().unwrap();
    assert_eq!(asked[0].trim(), Incoming::Tail { since: None, feed: None }.to_line());
    assert_eq!(
        asked[1].trim(),
        Incoming::Tail { since: Some(43), feed: Some("a1".to_owned()) }.to_line()
    );
}

#[test]
fn without_a_service_it_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let mut tail = follower(folder.path().join("s"), show(None, None));
    let Err(Failure::Told(said)) = tail.begin() else { panic!("nobody is there") };
    assert_eq!(said.exit, UNREACHABLE);
    assert!(said.hint.is_some_and(|hint| hint.contains("systemctl status tenths")));
}
