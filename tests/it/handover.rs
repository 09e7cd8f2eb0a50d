//! A record is handed over and comes back: jobs between benches, and the record itself from a copy.

mod damage;
mod hostile;
mod order;
mod restore;
pub(crate) mod shop;

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use hostile::listed_anew;
use shop::{Shop, copied, other_bench, shop};

/// Every file of a folder.
pub(crate) fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(folder).unwrap().map(Result::unwrap);
    let file = |entry: fs::DirEntry| {
        (entry.file_name().into_string().unwrap(), fs::read(entry.path()).unwrap())
    };
    entries.map(file).collect()
}

#[track_caller]
fn same(one: &Path, other: &Path) {
    let (one, other) = (files(one), files(other));
    assert!(one.keys().eq(other.keys()), "{:?} {:?}", one.keys(), other.keys());
    // The list of what is in it last: it differs wherever another file does.
    let listed = one.iter().filter(|(name, _)| *name == "manifest.json");
    for (name, bytes) in one.iter().filter(|(name, _)| *name != "manifest.json").chain(listed) {
        let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
        let lines = text(bytes);
        let others = text(&other[name]);
        let differs = lines.lines().zip(others.lines()).find(|(one, other)| one != other);
        assert!(bytes == &other[name], "{name}: {differs:?}");
    }
}

fn export(bench: &crate::rig::Bench, job: &str, to: &str) -> std::path::PathBuf {
    let path = bench.path(to);
    bench.ok(&["export", job, "--out", path.to_str().unwrap()]);
    path
}

#[test]
fn a_bundle_is_the_same_whenever_and_wherever_it_is_made() {
    let Shop { mut bench } = shop();
    let running = export(&bench, "wh-1", "running");
    bench.stop();
    let stopped = export(&bench, "wh-1", "stopped");
    same(&running, &stopped);

    let mut elsewhere = bench.command(&["export", "wh-1", "--out", "folder/../there"]);
    fs::create_dir(bench.path("folder")).unwrap();
    elsewhere.env("TZ", "Asia/Tokyo").env("LANG", "de_DE.UTF-8").current_dir(bench.dir.path());
    assert!(elsewhere.output().unwrap().status.success());
    same(&running, &bench.path("there"));

    let names = [
        "alerts.csv",
        "manifest.json",
        "plan.toml",
        "readings.csv",
        "record.jsonl",
        "report.html",
        "verdicts.csv",
    ];
    let all = files(&running);
    assert!(all.keys().eq(names), "{:?}", all.keys());
    assert_eq!(all["plan.toml"], fs::read(bench.path("plans/held.toml")).unwrap());
    let csv = |list: &str| bench.ok(&[list, "wh-1", "--all", "--csv"]).into_bytes();
    for list in ["readings", "verdicts", "alerts"] {
        assert_eq!(all[&format!("{list}.csv")], csv(list), "{list}");
    }
    let left: Vec<_> = fs::read_dir(bench.dir.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.contains("part"))
        .collect();
    assert!(left.is_empty(), "{left:?}");
}

#[test]
fn jobs_go_from_bench_to_bench_and_back_byte_for_byte() {
    let Shop { mut bench } = shop();
    let (closed, open) = (export(&bench, "wh-1", "closed"), export(&bench, "wh-2", "open"));
    bench.stop();
    let told = bench.ok(&["export", "wh-2", "--out", bench.path("again").to_str().unwrap()]);
    assert!(told.contains("The job is still open"), "{told}");

    // An empty bench that knows neither the gauges nor the stations; the later job first.
    let empty = other_bench();
    for (job, bundle) in [("wh-2", &open), ("wh-1", &closed)] {
        let told = empty.ok(&["import", bundle.to_str().unwrap()]);
        assert!(told.contains("follow from its readings"), "{told}");
        same(bundle, &export(&empty, job, &format!("back-{job}")));
    }
    assert!(empty.ok(&["verify"]).contains("All is as it was stored"));

    // A bench with work of its own, which goes on.
    let mut busy = other_bench();
    busy.launch();
    busy.until_up();
    busy.ok(&["job", "open", "own-1", "--plan", "own"]);
    busy.ok(&["measure", "bar/length"]);
    busy.ok(&["enter", "1.001", "1.002"]);
    let said = busy.refused(3, &["import", closed.to_str().unwrap()]);
    assert!(said.contains("another service works with"), "{said}");
    assert!(said.contains("stop the service first"), "{said}");
    busy.stop();
    for bundle in [&closed, &open] {
        busy.ok(&["import", bundle.to_str().unwrap()]);
    }
    for round in 0..2 {
        busy.launch();
        busy.until_up();
        let status = busy.status().unwrap();
        assert_eq!(status["alerts_open"], 0, "what came along does not ring: {status}");
        let own = busy.lines(&["job", "show", "own-1"]).remove(0);
        assert_eq!(own["closed_at"], serde_json::Value::Null, "{own}");
        for (job, bundle) in [("wh-1", &closed), ("wh-2", &open)] {
            same(bundle, &export(&busy, job, &format!("{job}-{round}")));
        }
        busy.ok(&["verify"]);
        busy.stop();
    }
}

#[test]
fn an_imported_job_goes_on_and_news_of_it_are_news_here() {
    let Shop { mut bench } = shop();
    let open = export(&bench, "wh-2", "open");
    bench.stop();
    let mut here = shop::ring_bench();
    here.ok(&["import", open.to_str().unwrap()]);
    here.start();
    let follower = crate::rig::Follower::of(here.spawn(&["tail", "--since", "0", "--json"]));
    here.ok(&["job", "use", "wh-2"]);
    here.ok(&["measure", "ring/face"]);
    let before = here.readings("wh-2").len();
    here.ok(&["enter", "0.00001", "0.00002", "0.00001", "0.00002", "0.00001", "0.00001"]);
    assert_eq!(here.readings("wh-2").len(), before + 6);
    here.until("the verdict is told", || !follower.seen().is_empty());
    let first = follower.seen().remove(0);
    assert_eq!((&first["seq"], &first["event"]), (&1.into(), &"verdict".into()), "{first}");
    here.ok(&["job", "close", "wh-2", "--why", "a try"]);
    here.ok(&["job", "reopen", "wh-2"]);
    here.ok(&["verify"]);
    // And on to a third bench, with what was done on the second.
    let more = export(&here, "wh-2", "more");
    let third = other_bench();
    third.ok(&["import", more.to_str().unwrap()]);
    same(&more, &export(&third, "wh-2", "third"));
    let (shorter, longer) = (files(&open), files(&more));
    assert!(longer["record.jsonl"].starts_with(&shorter["record.jsonl"]));
}

#[test]
fn an_export_replaces_nothing() {
    let Shop { mut bench } = shop();
    bench.stop();
    let taken = bench.path("taken");
    fs::create_dir(&taken).unwrap();
    let out = taken.to_str().unwrap();
    bench.ok(&["export", "wh-1", "--out", out]);
    let before = files(&taken);
    let said = bench.refused(2, &["export", "wh-1", "--out", out]);
    assert!(said.contains("already there and not empty"), "{said}");
    assert_eq!(files(&taken), before);
    let file = bench.path("bench.toml");
    let said = bench.refused(2, &["export", "wh-1", "--out", file.to_str().unwrap()]);
    assert!(said.contains("is no folder"), "{said}");
    let said = bench.refused(2, &["export", "wh-9", "--out", bench.path("x").to_str().unwrap()]);
    assert!(said.contains("no job is named"), "{said}");
    assert!(!bench.path("x").exists());
    let deep = bench.path("no/such/folder");
    let said = bench.refused(3, &["export", "wh-1", "--out", deep.to_str().unwrap()]);
    assert!(said.contains("cannot make"), "{said}");
    // A half-written bundle of a killed export stands beside, never at the name.
    for pause in [0, 20, 40, 60, 80, 100] {
        let target = bench.path(&format!("killed-{pause}"));
        let mut child = bench.spawn(&["export", "wh-1", "--out", target.to_str().unwrap()]);
        std::thread::sleep(std::time::Duration::from_millis(pause));
        child.kill().unwrap();
        child.wait().unwrap();
        if target.exists() {
            same(&target, &copied(&taken, &bench.path(&format!("copy-{pause}"))));
        }
    }
}

#[test]
fn a_killed_import_leaves_all_of_the_job_or_nothing() {
    let Shop { mut bench } = shop();
    bench.stop();
    let bundle = export(&bench, "wh-1", "bundle");
    let here = other_bench();
    let mut dice = crate::rig::Dice::seeded(8);
    let (mut whole, mut nothing) = (0, 0);
    for round in 0..20 {
        fs::remove_dir_all(&here.state).unwrap();
        here.ok(&["import", export(&bench, "wh-2", &format!("open-{round}")).to_str().unwrap()]);
        let mut child = here.spawn(&["import", bundle.to_str().unwrap()]);
        std::thread::sleep(std::time::Duration::from_micros(dice.below(160_000)));
        child.kill().unwrap();
        child.wait().unwrap();
        here.ok(&["verify"]);
        if here.lines(&["job", "list"]).len() == 1 {
            nothing += 1;
            here.ok(&["import", bundle.to_str().unwrap()]);
        } else {
            whole += 1;
        }
        same(&bundle, &export(&here, "wh-1", &format!("back-{round}")));
    }
    assert!(nothing > 0, "{whole} whole, {nothing} nothing");
}
