//! The feed across restarts: no gap, no repeat.

use std::io::{BufRead, BufReader};
use std::time::Duration;

use serde_json::Value;

use crate::rig::{Bench, Dice, Follower, Make};

pub(crate) const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeat_ms = 0\nmax_rate = 0";

pub(crate) const PLAN: &str = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
                    [[part.check]]\nname = \"face\"\nmeasures = \"parallelism\"\ngauge = \"plate\"\n\
                    setup = \"plate\"\nmoves = \"stand\"\npositions = 8\nradius = \"1.5 in\"\n\
                    tolerance = \"0.0001 in\"\nclosure = false\n";

pub(crate) const OUT: [&str; 8] =
    ["0.00000", "0.00005", "0.00034", "0.00002", "0.00001", "0.00003", "0.00002", "0.00001"];
const IN: [&str; 8] =
    ["0.00000", "0.00001", "0.00002", "0.00002", "0.00001", "0.00003", "0.00002", "0.00001"];

fn started(job: &str) -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", job, "--plan", "held"]);
    bench
}

/// One whole attempt; afterwards the job has a verdict more.
fn measured(bench: &Bench, job: &str, touches: &[&str]) {
    let before = bench.lines(&["verdicts", job]).len();
    if before == 0 {
        bench.ok(&["measure", "ring/face"]);
    } else {
        bench.ok(&["remeasure", "ground", "ring/face"]);
    }
    bench.touches(&bench.plate, "plate", touches);
    bench.verdict(job, before + 1);
}

fn tail(bench: &Bench, more: &[&str]) -> Follower {
    let mut arguments = vec!["tail", "--json"];
    arguments.extend(more);
    Follower::of(bench.spawn(&arguments))
}

fn seqs(seen: &[Value]) -> Vec<u64> {
    seen.iter().map(|line| line["seq"].as_u64().unwrap()).collect()
}

/// The number of the newest line of the feed, as a fresh listener finds it.
fn newest(bench: &Bench) -> u64 {
    let feed = tail(bench, &["--since", "0"]);
    let verdicts = bench.lines(&["verdicts"]).len();
    let count = |seen: &[Value]| seen.iter().filter(|line| line["event"] == "verdict").count();
    bench.until("the feed from its beginning", || count(&feed.seen()) >= verdicts);
    *seqs(&feed.seen()).last().unwrap()
}

#[test]
fn the_feed_goes_on_across_ends_and_kills() {
    let mut bench = started("t1");
    let feed = tail(&bench, &["--since", "0"]);
    for round in 0..6 {
        measured(&bench, "t1", if round % 2 == 0 { &OUT } else { &IN });
        match round {
            1 => {
                bench.stop();
                bench.start();
            }
            2 | 4 => {
                bench.kill();
                bench.start();
            }
            _ => {}
        }
    }
    let verdicts = || feed.seen().iter().filter(|line| line["event"] == "verdict").count();
    bench.until("six verdicts in the feed", || verdicts() == 6);
    let numbers = seqs(&feed.seen());
    let whole: Vec<u64> = (1..=numbers.len() as u64).collect();
    assert_eq!(numbers, whole, "a gap or a repeat");
    let raised = feed
        .seen()
        .iter()
        .any(|line| line["event"] == "raised" && line["alert"]["level"] == "interrupt");
    assert!(raised, "no alert for a face three times out");
    assert!(feed.said().contains("the service went away"), "{}", feed.said());
    assert!(feed.seen().iter().all(|line| line["schema"] == "feed/1"));
}

#[test]
fn kills_in_the_middle_of_the_news_make_no_gap_and_no_repeat() {
    let mut dice = Dice::seeded(3);
    let mut bench = started("t1");
    let feed = tail(&bench, &["--since", "0"]);
    // Only a follower that is connected waits out a restart.
    bench.plate.send("x\r0.00100\r");
    bench.until("the first news", || !feed.seen().is_empty());
    for _ in 0..20 {
        // A damaged frame raises an alert, the next good one clears it.
        for _ in 0..4 {
            bench.plate.send("x\r0.00100\r");
            std::thread::sleep(Duration::from_micros(dice.below(8_000)));
        }
        bench.kill();
        bench.plate.plug();
        bench.start();
    }
    bench.plate.send("x\r0.00100\r");
    bench.until("the last news", || newest_event(&bench, &feed));
    let numbers = seqs(&feed.seen());
    assert!(numbers.len() > 40, "hardly any news: {numbers:?}");
    assert_eq!(numbers, (1..=numbers.len() as u64).collect::<Vec<_>>(), "a gap or a repeat");
    // Everybody who asks from the beginning hears the same.
    let again = tail(&bench, &["--since", "0"]);
    bench.until("all of it again", || again.seen().len() == feed.seen().len());
    assert_eq!(again.seen(), feed.seen());
}

/// Whether the newest alert is over, and the feed has told it.
fn newest_event(bench: &Bench, feed: &Follower) -> bool {
    let counted = bench.gauge("plate");
    let Some(last) = bench.lines(&["alerts", "--all"]).pop() else { return false };
    let told = |line: &Value| line["event"] == "cleared" && line["alert"]["id"] == last["id"];
    counted["frames"] == 2 && !last["cleared_at"].is_null() && feed.seen().iter().any(told)
}

#[test]
fn what_happened_while_a_listener_was_cut_off_comes_late_but_comes() {
    let mut bench = started("t1");
    let mut feed = tail(&bench, &["--since", "0"]);
    measured(&bench, "t1", &IN);
    bench.until("the first verdict", || !feed.seen().is_empty());
    // The listener stands still while the service is restarted and works.
    let pid = rustix::process::Pid::from_raw(i32::try_from(feed.pid()).unwrap()).unwrap();
    rustix::process::kill_process(pid, rustix::process::Signal::STOP).unwrap();
    bench.kill();
    bench.start();
    measured(&bench, "t1", &OUT);
    bench.stop();
    bench.start();
    measured(&bench, "t1", &OUT);
    rustix::process::kill_process(pid, rustix::process::Signal::CONT).unwrap();
    let verdicts = || feed.seen().iter().filter(|line| line["event"] == "verdict").count();
    bench.until("three verdicts in the feed", || verdicts() == 3);
    let numbers = seqs(&feed.seen());
    assert_eq!(numbers, (1..=numbers.len() as u64).collect::<Vec<_>>(), "a gap or a repeat");
    assert!(feed.runs());
}

#[test]
fn since_begins_after_a_number_and_without_it_the_feed_begins_now() {
    let bench = started("t1");
    measured(&bench, "t1", &OUT);
    let last = newest(&bench);
    assert!(last >= 2);
    let after = tail(&bench, &["--since", &(last - 1).to_string()]);
    bench.until("one line", || !after.seen().is_empty());
    assert_eq!(seqs(&after.seen()), [last]);
    let now = tail(&bench, &[]);
    // Nothing tells when a listener that waits has begun, so something happens until it hears it.
    let mut rounds = 0;
    while now.seen().is_empty() {
        measured(&bench, "t1", &IN);
        rounds += 1;
        assert!(rounds < 50, "the feed from now on gives nothing");
    }
    assert!(seqs(&now.seen())[0] > last, "{:?}", now.seen());
    let heard = newest(&bench);
    bench.until("the same lines", || seqs(&after.seen()).last() == Some(&heard));
    assert_eq!(seqs(&after.seen()), (last..=heard).collect::<Vec<_>>());
}

#[test]
fn filters_leave_out_what_nobody_asked_for() {
    let bench = started("t1");
    measured(&bench, "t1", &OUT);
    bench.ok(&["job", "open", "t2", "--plan", "held"]);
    measured(&bench, "t2", &OUT);
    measured(&bench, "t2", &IN);
    let count = |feed: &Follower, event: &str| {
        feed.seen().iter().filter(|line| line["event"] == event).count()
    };
    let of_job = tail(&bench, &["--since", "0", "--job", "t2"]);
    bench.until("two verdicts", || count(&of_job, "verdict") == 2);
    for line in of_job.seen() {
        let body = if line["event"] == "verdict" { &line["verdict"] } else { &line["alert"] };
        assert_eq!(body["job"], "t2", "{line}");
    }
    let loud = tail(&bench, &["--since", "0", "--level", "interrupt"]);
    bench.until("two alerts", || count(&loud, "raised") >= 2);
    for line in loud.seen() {
        assert_eq!(line["alert"]["level"], "interrupt", "{line}");
    }
    assert_eq!(count(&loud, "verdict"), 0);
    let err = bench.refused_usage(&["tail", "--level", "shout"]);
    assert!(err.contains("shout"), "{err}");
}

#[test]
fn without_a_service_there_is_no_feed() {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    let err = bench.refused(3, &["tail", "--json"]);
    assert!(err.contains("not running") && err.contains("\"hint\":\"start it"), "{err}");
    bench.start();
    bench.kill();
    let err = bench.refused(3, &["tail", "--json"]);
    assert!(err.contains("not running"), "{err}");
}

#[test]
fn a_closed_pipe_is_no_error() {
    let bench = started("t1");
    measured(&bench, "t1", &OUT);
    let mut child = bench.spawn(&["tail", "--json", "--since", "0"]);
    let mut out = BufReader::new(child.stdout.take().unwrap());
    let mut line = String::new();
    out.read_line(&mut line).unwrap();
    assert!(line.contains("feed/1"), "{line}");
    drop(out);
    let ended = child.wait_with_output().unwrap();
    assert_eq!(ended.status.code(), Some(0), "{}", String::from_utf8_lossy(&ended.stderr));
    assert!(ended.stderr.is_empty(), "{}", String::from_utf8_lossy(&ended.stderr));
    for arguments in [["readings", "t1"], ["readings", "--json"], ["verdicts", "t1"]] {
        let mut child = bench.spawn(&arguments);
        drop(child.stdout.take());
        let ended = child.wait_with_output().unwrap();
        assert_eq!(ended.status.code(), Some(0), "{arguments:?}");
        assert!(ended.stderr.is_empty(), "{arguments:?}");
    }
}

/// Bytes of a tone: a header of 44, 16 a millisecond.
const fn tone(ms: usize) -> usize {
    44 + 16 * ms
}

#[test]
fn tail_sounds_one_tone_a_ring_and_none_into_a_pipe_unless_asked() {
    let sound = "[sound]\nplayer = \"tee -a {dir}/heard\"\n";
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: sound, plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "t9", "--plan", "held"]);
    let heard = || std::fs::read(bench.path("heard")).map_or(0, |bytes| bytes.len());
    let silent = tail(&bench, &["--sound"]);
    bench.until("it says so", || silent.said().contains("this is no terminal; --sound=always"));
    measured(&bench, "t9", &IN);
    bench.until("the verdict is shown", || !silent.seen().is_empty());
    assert_eq!(heard(), 0);
    drop(silent);

    let feed = tail(&bench, &["--sound=always"]);
    // Whoever begins now hears nothing of before; wait until it follows.
    bench.ok(&["note", "t9", "begun"]);
    std::thread::sleep(Duration::from_millis(500));
    let mut lengths = Vec::new();
    // In: 110 + 110 + 170 ms. Out: two long lows; where something is asked because of it, they end
    // on the question.
    for touches in [&IN, &OUT, &IN] {
        let (before, shown) = (heard(), feed.seen().len());
        measured(&bench, "t9", touches);
        bench.until("a tone", || heard() > before);
        std::thread::sleep(Duration::from_millis(1200));
        let asked = feed.seen()[shown..].iter().any(|line| {
            let alert = &line["alert"];
            line["event"] == "raised" && alert["level"] == "interrupt" && alert["kind"] != "out"
        });
        lengths.push((heard() - before, asked));
    }
    let out = if lengths[1].1 { tone(1640) } else { tone(960) };
    assert_eq!(
        lengths.iter().map(|(length, _)| *length).collect::<Vec<_>>(),
        [tone(390), out, tone(390)]
    );
    // A reading in other places than the gauge has is one to stop for: again until it is seen.
    let before = heard();
    bench.ok(&["remeasure", "ground", "ring/face"]);
    bench.touches(&bench.plate, "plate", &["0.001"]);
    bench.until("it is called three times", || heard() - before >= 3 * tone(520));
    let id = bench.lines(&["alerts", "--state", "open"]).pop().unwrap()["id"].to_string();
    bench.ok(&["ack", &id]);
    std::thread::sleep(Duration::from_millis(800));
    let seen = heard();
    std::thread::sleep(Duration::from_secs(3));
    assert_eq!(heard(), seen, "it was seen");
    assert_eq!((seen - before) % tone(520), 0);
}
