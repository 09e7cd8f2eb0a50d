//! The feed of another record: after an older copy was restored, its numbers come again, and followers are
//! told so and start again.

use serde_json::Value;

use crate::rig::{Bench, Follower, Make, Wire};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeat_ms = 0\nmax_rate = 0";

const PLAN: &str = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
                    [[part.check]]\nname = \"face\"\nmeasures = \"parallelism\"\ngauge = \"plate\"\n\
                    setup = \"plate\"\nmoves = \"stand\"\npositions = 4\nradius = \"1.5 in\"\n\
                    tolerance = \"0.0001 in\"\nclosure = false\n";

const IN: [&str; 4] = ["0.00000", "0.00001", "0.00002", "0.00002"];

fn started(job: &str) -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", job, "--plan", "held"]);
    bench
}

/// One whole attempt; afterwards the job has a verdict more.
fn measured(bench: &Bench, job: &str) {
    let before = bench.lines(&["verdicts", job]).len();
    let again: &[&str] = if before == 0 { &["measure"] } else { &["remeasure", "ground"] };
    bench.ok(&[again, &["ring/face"]].concat());
    bench.touches(&bench.plate, "plate", &IN);
    bench.verdict(job, before + 1);
}

fn tail(bench: &Bench, more: &[&str]) -> Follower {
    Follower::of(bench.spawn(&[&["tail", "--json"], more].concat()))
}

fn verdicts(feed: &Follower) -> usize {
    feed.seen().iter().filter(|line| line["event"] == "verdict").count()
}

fn of_feed(seen: &[Value], feed: &str) -> Vec<u64> {
    let own = seen.iter().filter(|line| line["feed"] == feed);
    own.map(|line| line["seq"].as_u64().unwrap()).collect()
}

/// What the feed of the running service is called.
fn identity(bench: &Bench) -> String {
    let mut wire = Wire::to(&bench.state.join("tenths.sock")).unwrap();
    let begins = wire.ask(r#"{"request":"tail"}"#).unwrap();
    assert_eq!(begins["schema"], "tail/1");
    begins["feed"].as_str().expect("a feed has an identity").to_owned()
}

/// Three verdicts, of which a copy has the first; the copy is restored while `tail` waits.
fn restored(bench: &mut Bench) -> (u64, Follower, Follower) {
    measured(bench, "t1");
    let copy = bench.path("copy.db");
    bench.ok(&["backup", copy.to_str().unwrap()]);
    let all = tail(bench, &["--since", "0"]);
    // The copy says how many lines it has: behind the verdict there may come another one.
    let sql = "SELECT max(line) FROM fact";
    let rows = rusqlite::Connection::open(&copy).unwrap();
    let kept: i64 = rows.query_row(sql, [], |row| row.get(0)).unwrap();
    let kept = kept.unsigned_abs();
    drop(rows);
    bench.until("the first verdict", || {
        all.seen().last().is_some_and(|line| line["seq"].as_u64() >= Some(kept))
    });
    assert_eq!(verdicts(&all), 1);
    let news = tail(bench, &[]);
    while verdicts(&news) == 0 {
        measured(bench, "t1");
    }
    measured(bench, "t1");
    bench.until("both", || all.seen().last() == news.seen().last() && verdicts(&news) > 1);
    bench.stop();
    bench.ok(&["restore", copy.to_str().unwrap()]);
    bench.start();
    (kept, all, news)
}

#[test]
fn after_an_older_copy_was_restored_tail_starts_anew_and_says_so() {
    let mut bench = started("t1");
    let before = identity(&bench);
    let (kept, all, news) = restored(&mut bench);
    let now = identity(&bench);
    assert_ne!(before, now);
    let told = |feed: &Follower| feed.said().contains("the record was restored");
    bench.until("both are told", || told(&all) && told(&news));
    measured(&bench, "t1");
    let news_of = |feed: &Follower| of_feed(&feed.seen(), &now);
    bench.until("the new verdict", || {
        let last = |feed| news_of(feed).last().copied();
        last(&all) > Some(kept) && last(&all) == last(&news)
    });
    // Who wanted all of it gets all of the feed that is there now; who wanted news, what is new.
    let last = *news_of(&all).last().unwrap();
    assert_eq!(news_of(&all), (1..=last).collect::<Vec<_>>());
    assert_eq!(news_of(&news), (kept + 1..=last).collect::<Vec<_>>());
    // A plain restart changes nothing.
    bench.stop();
    bench.start();
    assert_eq!(identity(&bench), now);
}

#[test]
fn a_script_that_names_the_feed_it_knows_is_told_when_it_is_another() {
    let mut bench = started("t1");
    let before = identity(&bench);
    let (kept, _all, _news) = restored(&mut bench);
    let now = identity(&bench);
    let whole: Vec<u64> = (1..=kept).collect();
    // The number alone would pass: the feed has it, and it is another line.
    let since = kept.to_string();
    let other = tail(&bench, &["--feed", &before, "--since", &since]);
    bench.until("it starts anew", || of_feed(&other.seen(), &now) == whole);
    bench.until("why is said", || other.said().contains("the record was restored"));
    let same = tail(&bench, &["--feed", &now, "--since", &(kept - 1).to_string()]);
    bench.until("the last line", || of_feed(&same.seen(), &now) == [kept]);
    assert_eq!(same.said(), "");
    // A number that the feed does not have yet.
    for far in [kept + 1, u64::MAX] {
        let past = tail(&bench, &["--since", &far.to_string()]);
        bench.until("it starts anew", || of_feed(&past.seen(), &now) == whole);
        let why = format!("ends at number {kept}");
        bench.until("why is said", || past.said().contains(&why));
    }
    let err = bench.refused_usage(&["tail", "--feed", &now]);
    assert!(err.contains("--since"), "{err}");
}

#[test]
fn an_import_does_not_change_the_feed() {
    let from = started("t1");
    measured(&from, "t1");
    from.ok(&["job", "close", "t1", "--why", "handed on"]);
    let folder = from.path("t1-out");
    from.ok(&["export", "t1", "--out", folder.to_str().unwrap()]);
    let mut into = started("t2");
    let before = identity(&into);
    into.stop();
    into.ok(&["import", folder.to_str().unwrap()]);
    into.start();
    assert_eq!(identity(&into), before);
    assert_ne!(identity(&into), identity(&from), "two benches have two feeds");
}

#[test]
fn a_view_names_the_feed_so_that_a_screen_knows_another_record() {
    let mut bench = started("t1");
    let view = |bench: &Bench| {
        let mut wire = Wire::to(&bench.state.join("tenths.sock")).unwrap();
        wire.ask(r#"{"request":"view"}"#).unwrap()
    };
    let before = view(&bench);
    assert_eq!(before["feed"], identity(&bench).as_str(), "{before}");
    let _followers = restored(&mut bench);
    assert_ne!(view(&bench)["feed"], before["feed"]);
}
