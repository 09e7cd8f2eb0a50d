use std::collections::BTreeMap;
use std::io::{BufRead as _, BufReader, Write as _};
use std::os::unix::net::UnixStream;

use super::*;
use bench::plan::PinnedPlan;
use bench::setup::{GaugeKind, GaugeSetup, Setup, StationSetup};
use bench::{Command, Request};
use gauge::{Kind, Outcome};
use intake::{self, Arrival, News};
use judgement::Rule;
use quantity::{Name, Quoted, Unit};

const PLAN: &str = r#"
name = "one face"
unit = "in"
[[part]]
name = "spacer"
kind = "spacer"
[[part.check]]
name = "face-a"
measures = "parallelism"
gauge = "plate"
setup = "plate"
moves = "ring"
positions = 8
radius = "1.5 in"
tolerance = "0.0001 in"
"#;

fn name(text: &str) -> Name {
    Name::new(text).unwrap()
}

/// A bench with one gauge and one plan.
pub(super) fn a_setup() -> Setup {
    let gauge = GaugeSetup {
        name: name("plate"),
        kind: GaugeKind::Indicator,
        unit: Some(Unit::Inch),
        resolution: Quoted::parse("0.00001", Unit::Inch).unwrap(),
        uncertainty: None,
        repeatability: None,
        travel: None,
        serial: None,
        calibration_due: None,
        lever_mdeg: 0,
        wire: None,
    };
    let plan = reload::parse_pinned_plan(PLAN).unwrap();
    let pinned = Arc::new(PinnedPlan { text: PLAN.to_owned(), plan });
    Setup {
        name: "grinding room".to_owned(),
        unit: Unit::Inch,
        rule: Rule::Guarded,
        gauges: BTreeMap::from([(name("plate"), gauge)]),
        stations: vec![StationSetup { name: name("bench"), gauges: vec![name("plate")] }],
        drops: Vec::new(),
        plans: BTreeMap::from([(name("face"), pinned)]),
        plans_aside: BTreeMap::new(),
        people: Vec::new(),
        withholds_unproven: false,
        proof_days: None,
        attached_bytes: 200_000_000,
    }
}

/// A good frame of the gauge `plate`: `+0.` and five digits.
pub(super) fn frame(number: u64) -> Input {
    let text = format!("+0.{number:05}");
    let value = Quoted::parse(&text, Unit::Inch).unwrap();
    let kind = Kind::Reading { value, repeat: false, low_battery: false, odd: None };
    let at = intake::now();
    let outcome = Outcome { gauge: 0, at_us: at.mono_us, text, kind };
    Input::Arrival(Arrival { at, news: News::Frame { gauge: name("plate"), outcome } })
}

/// The request to open a job with the plan of [`a_setup`].
pub(super) fn open_job(job: &str) -> Request {
    let command = Command::JobOpen {
        name: job.to_owned(),
        used: false,
        plan: "face".to_owned(),
        serial: None,
        customer: None,
        told: Vec::new(),
        rule: None,
    };
    Request { station: None, by: None, login: None, command }
}

/// A service with its socket and record in a folder of its own, without sources.
struct Served {
    folder: tempfile::TempDir,
    inputs: mpsc::Sender<Input>,
    switch: StopSwitch,
    serving: std::thread::JoinHandle<()>,
    ended: oneshot::Receiver<Result<(), GivenUp>>,
}

fn served() -> Served {
    let folder = tempfile::tempdir().unwrap();
    let (store, back) = Store::open_with(folder.path(), reload::parse_pinned_plan).unwrap();
    let setup = input::NewSetup {
        at: intake::now(),
        setup: Arc::new(a_setup()),
        ported: [name("plate")].into(),
        captures: [].into(),
        drops: [].into(),
    };
    let (desk, shown) = Desk::new(Start {
        set_aside: Vec::new(),
        news: Vec::new(),
        record: Kept::new(store, folder.path()),
        bench: Bench::rebuilt(&back.rows, back.last, back.feed),
        setup,
        asks: intake::Asks::new(),
        stopping: Arc::default(),
        pulse: Pulse::new(None),
    });
    let (inputs, arriving) = mpsc::channel(QUEUE);
    let ended = decide_on_own_thread(desk, arriving).unwrap();
    let (switch, stop) = StopSwitch::new();
    let state = folder.path().to_owned();
    let (followed, feeder) = Followed::new(shown.clone(), state, stop.clone());
    let server = Server {
        inputs: inputs.clone(),
        shown,
        followed,
        feed: Arc::default(),
        places: Places::default(),
        papers: Papers::new(folder.path().to_owned()),
        stop,
        reloads: tokio::sync::mpsc::channel(1).0,
    };
    let socket = folder.path().join(SOCKET);
    let (ready, is_ready) = std::sync::mpsc::channel();
    let serving = std::thread::spawn(move || {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
        runtime.block_on(async {
            let door = Door::open(&socket).unwrap();
            ready.send(()).unwrap();
            tokio::spawn(feeder.run());
            server.run(door).await;
        });
    });
    is_ready.recv().unwrap();
    Served { folder, inputs, switch, serving, ended }
}

struct Client {
    writing: UnixStream,
    reading: BufReader<UnixStream>,
}

impl Served {
    fn client(&self) -> Client {
        let stream = UnixStream::connect(self.folder.path().join(SOCKET)).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(10))).unwrap();
        let reading = BufReader::new(stream.try_clone().unwrap());
        let mut client = Client { writing: stream, reading };
        let hello = client.line();
        assert!(hello.contains("\"hello/1\"") && hello.contains("\"protocol\":1"), "{hello}");
        client
    }

    fn end(self) {
        self.inputs.blocking_send(Input::End).unwrap();
        assert_eq!(self.ended.blocking_recv().unwrap(), Ok(()));
        self.switch.throw();
        self.serving.join().unwrap();
    }
}

impl Client {
    fn line(&mut self) -> String {
        let mut line = String::new();
        self.reading.read_line(&mut line).unwrap();
        line
    }

    fn ask(&mut self, line: &str) -> String {
        self.writing.write_all(format!("{line}\n").as_bytes()).unwrap();
        self.line()
    }
}

const OPEN: &str =
    r#"{"request":"job-open","key":"k1","name":"J1","plan":"face","serial":null,"customer":null}"#;
const MEASURE: &str = r#"{"request":"measure","key":"k2","target":"spacer/face-a"}"#;

#[test]
fn a_request_is_answered_and_the_status_knows_it_at_once() {
    let served = served();
    let mut client = served.client();
    assert!(client.ask(OPEN).contains("opened/1"));
    assert!(client.ask(MEASURE).contains("face-a"));
    let status = client.ask(r#"{"request":"status"}"#);
    for part in ["\"status/1\"", "\"job\":\"J1\"", "\"check\":\"face-a\"", "\"next_position\":0"] {
        assert!(status.contains(part), "{part} in {status}");
    }
    served.end();
}

#[test]
fn a_bad_line_harms_only_its_own_connection() {
    let served = served();
    let (mut bad, mut good) = (served.client(), served.client());
    assert!(bad.ask("{not json").contains("error/1"));
    assert!(bad.ask(r#"{"request":"fly"}"#).contains("unknown request"));
    assert!(bad.ask(r#"{"request":"status"}"#).contains("status/1"), "it may go on");
    let long = format!("{{\"request\":\"{}\"}}", "x".repeat(wire::MAX_LINE));
    assert!(bad.ask(&long).contains("bytes at most"));
    // Closed with bytes unread, the connection ends or is reset.
    assert!(!matches!(bad.reading.read_line(&mut String::new()), Ok(1..)));
    assert!(good.ask(r#"{"request":"status"}"#).contains("status/1"));
    served.end();
}

#[test]
fn the_feed_is_told_from_a_number_on_then_live_without_gap_or_repeat() {
    let served = served();
    let mut asks = served.client();
    asks.ask(OPEN);
    asks.ask(MEASURE);
    let stop = |asks: &mut Client, key: u32| {
        for number in 0..2 {
            served.inputs.blocking_send(frame(number)).unwrap();
        }
        asks.ask(&format!(r#"{{"request":"stop","key":"s{key}"}}"#));
        asks.ask(&format!(
            r#"{{"request":"remeasure","key":"r{key}","reason":"ground","target":"spacer/face-a"}}"#
        ));
    };
    stop(&mut asks, 1);
    let mut tail = served.client();
    let begins = tail.ask(r#"{"request":"tail","since":0}"#);
    assert!(begins.contains("tail/1"), "{begins}");
    stop(&mut asks, 2);
    stop(&mut asks, 3);
    let seq = |line: &str| {
        let value: serde_json::Value = serde_json::from_str(line).unwrap();
        assert_eq!(value["schema"], "feed/1", "{line}");
        value["seq"].as_u64().unwrap()
    };
    let mut verdicts = 0;
    let mut seen = 0;
    while verdicts < 3 {
        let line = tail.line();
        assert_eq!(seq(&line), seen + 1);
        seen += 1;
        verdicts += u32::from(line.contains("\"verdict/1\""));
    }
    let mut late = served.client();
    late.ask(&format!(r#"{{"request":"tail","since":{}}}"#, seen - 1));
    assert_eq!(seq(&late.line()), seen);
    served.end();
}

#[test]
fn the_record_goes_on_where_it_was_after_a_restart() {
    let first = served();
    first.client().ask(OPEN);
    for number in 0..30 {
        first.inputs.blocking_send(frame(number)).unwrap();
    }
    first.inputs.blocking_send(Input::End).unwrap();
    assert_eq!(first.ended.blocking_recv().unwrap(), Ok(()));
    let (store, back) = Store::open_with(first.folder.path(), reload::parse_pinned_plan).unwrap();
    let rows = store.all_rows().unwrap();
    let readings = rows.iter().filter(|row| matches!(row.body, bench::Body::Reading(_)));
    assert_eq!(readings.count(), 30);
    let bench = Bench::rebuilt(&back.rows, back.last, back.feed);
    assert!(bench.job_named("J1").is_some());
}

#[test]
fn a_state_folder_too_deep_for_a_socket_is_refused_with_a_way_out() {
    let deep = PathBuf::from("/").join("x".repeat(100));
    let error = socket_path(&deep).unwrap_err();
    assert_eq!(error.exit_code(), 2);
    assert!(error.to_string().contains("set [bench] state to a shorter folder"), "{error}");
}

/// Opens a job and ends this many attempts; each of them gives a verdict.
fn verdicts(served: &Served, asks: &mut Client, keys: std::ops::Range<u32>) {
    for key in keys {
        for number in 0..2 {
            served.inputs.blocking_send(frame(number)).unwrap();
        }
        asks.ask(&format!(r#"{{"request":"stop","key":"s{key}"}}"#));
        asks.ask(&format!(
            r#"{{"request":"remeasure","key":"r{key}","reason":"again","target":"spacer/face-a"}}"#
        ));
    }
}

/// The lines that a follower gets up to the verdict on that attempt.
fn until_attempt_300(mut tail: Client) -> Vec<String> {
    let mut got: Vec<String> = Vec::new();
    let is_last =
        |line: &String| line.contains(r#""event":"verdict""#) && line.contains(r#""attempt":300,"#);
    while !got.last().is_some_and(is_last) {
        let line = tail.line();
        assert!(!line.is_empty(), "ended after {} lines", got.len());
        got.push(line);
    }
    got
}

#[test]
fn many_followers_get_the_same_lines_and_one_that_does_not_read_holds_nobody_up() {
    const FOLLOWERS: usize = 30;
    let served = served();
    let mut asks = served.client();
    asks.ask(OPEN);
    asks.ask(MEASURE);
    verdicts(&served, &mut asks, 0..20);
    let mut idle = served.client();
    idle.ask(r#"{"request":"tail","since":0}"#);
    let mut tails: Vec<Client> = (0..FOLLOWERS).map(|_| served.client()).collect();
    for (number, tail) in tails.iter_mut().enumerate() {
        // Some clients begin at the first line, some in the middle, most of them now.
        let since = [r#","since":0"#, r#","since":7"#, "", ""][number % 4];
        let begins = tail.ask(&format!(r#"{{"request":"tail"{since}}}"#));
        assert!(begins.contains("tail/1"), "{begins}");
    }
    // They read all the time: whoever does not for long is left behind, as the idle one is.
    let tails: Vec<_> =
        tails.into_iter().map(|tail| std::thread::spawn(|| until_attempt_300(tail))).collect();
    verdicts(&served, &mut asks, 20..300);
    let mut whole = served.client();
    whole.ask(r#"{"request":"tail","since":0}"#);
    let seq = |line: &str| {
        let value: serde_json::Value = serde_json::from_str(line).unwrap();
        assert_eq!(value["schema"], "feed/1", "{line}");
        value["seq"].as_u64().unwrap()
    };
    let mut lines = vec![String::new()];
    while lines.iter().filter(|line| line.contains("\"event\":\"verdict\"")).count() < 300 {
        let line = whole.line();
        assert_eq!(seq(&line), lines.len() as u64, "no gap and no repeat");
        lines.push(line);
    }
    for tail in tails {
        let got = tail.join().unwrap();
        let first = usize::try_from(seq(&got[0])).unwrap();
        assert_eq!(got, lines[first..]);
    }
    served.end();
}
