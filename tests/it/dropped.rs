//! Dropped files that were once lost without a report, read too early, or mistaken for something else. Each is
//! taken, or refused with a file beside it, in the count and in the feed. Invented values.

use std::fs::{self, File};
use std::io::Write;
use std::os::unix::fs::{OpenOptionsExt as _, PermissionsExt as _, symlink};
use std::path::PathBuf;
use std::time::{Duration, Instant};

use rustix::fs::{CWD, Mode, OFlags, mkfifoat};
use rustix::process::{Pid, Resource, getrlimit, prlimit};
use serde_json::Value;

use crate::rig::{Bench, Make};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nrepeat_ms = 0\nmax_rate = 0";

const MORE: &str = r#"
[[gauge]]
name = "height"
kind = "height"
unit = "mm"
resolution = "0.0001 mm"
[[drop]]
name = "named"
folder = "{dir}/drop"
gauge = "height"
tags = "name"
columns = { value = "Value" }
quiet_ms = 700
[[drop]]
name = "active"
folder = "{dir}/active"
gauge = "height"
tags = "active"
columns = { value = "Value" }
quiet_ms = 700
[[drop]]
name = "columns"
folder = "{dir}/columns"
gauge = "height"
tags = "columns"
columns = { value = "Value", job = "Job", part = "Part", check = "Check" }
quiet_ms = 700
"#;

/// Three checks of four touches each.
fn plan() -> String {
    let check = |name: &str| {
        format!(
            "[[part.check]]\nname = \"{name}\"\nmeasures = \"parallelism\"\ngauge = \"height\"\n\
             setup = \"plate\"\nmoves = \"stand\"\npositions = 4\nradius = \"38 mm\"\n\
             tolerance = \"0.0025 mm\"\nclosure = false\n"
        )
    };
    let checks: String = ["len1", "len2", "len3"].map(check).concat();
    format!(
        "name = \"held\"\nunit = \"mm\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n{checks}"
    )
}

fn started() -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: MORE, plan: &plan() });
    for folder in ["active", "columns"] {
        fs::create_dir(bench.path(folder)).unwrap();
    }
    bench.start();
    bench.ok(&["job", "open", "J", "--plan", "held"]);
    watched(&bench);
    bench
}

fn watched(bench: &Bench) {
    bench.until("folders watched", || {
        ["named", "active", "columns"].iter().all(|d| bench.drop_line(d)["state"] == "watching")
    });
}

const FOUR: &str = "Value [mm]\n12.3450\n12.3452\n12.3455\n12.3453\n";

fn put(bench: &Bench, path: &str, text: &str) -> PathBuf {
    let path = bench.path(path);
    fs::write(&path, text).unwrap();
    path
}

fn append(bench: &Bench, path: &str, text: &str) {
    let mut file = File::options().append(true).open(bench.path(path)).unwrap();
    file.write_all(text.as_bytes()).unwrap();
}

fn count(bench: &Bench, drop: &str, what: &str) -> u64 {
    bench.drop_line(drop)[what].as_u64().unwrap()
}

/// Waits until so many files of a drop were taken and refused, and no other is waited for.
fn answered(bench: &Bench, drop: &str, taken: u64, refused: u64) {
    let sums = || (count(bench, drop, "files"), count(bench, drop, "refused"));
    bench
        .until(&format!("{taken} taken and {refused} refused of {drop}, not {:?}", sums()), || {
            sums().0 + sums().1 >= taken + refused
        });
    assert_eq!(sums(), (taken, refused), "{}", bench.log());
}

fn why(bench: &Bench, path: &str) -> String {
    let beside = bench.path(&format!("{path}.why"));
    bench.until(&format!("{path}.why"), || beside.exists());
    fs::read_to_string(beside).unwrap()
}

fn values(bench: &Bench, check: &str) -> Vec<String> {
    let readings = bench.lines(&["readings", "J", "--part", "ring", "--check", check]);
    readings.iter().map(|one| one["value"].as_str().unwrap().to_owned()).collect()
}

/// The open notes about dropped files.
fn notes(bench: &Bench) -> Vec<String> {
    let alerts = bench.lines(&["alerts", "--all"]);
    let open = |one: &&Value| one["kind"] == "file-refused" && one["cleared_at"].is_null();
    alerts.iter().filter(open).map(|one| one["text"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn equal_bytes_of_another_ring_are_its_readings() {
    let mut bench = started();
    for check in ["len1", "len2", "len3"] {
        put(&bench, &format!("drop/J__ring__{check}.csv"), FOUR);
    }
    answered(&bench, "named", 3, 0);
    for check in ["len1", "len2", "len3"] {
        assert_eq!(values(&bench, check).len(), 4, "{check}");
    }
    // Once more for the first: nothing is taken, and that is said beside it, counted and fed.
    put(&bench, "drop/J__ring__len1-copy.csv", FOUR);
    let reasons = why(&bench, "drop/J__ring__len1-copy.csv");
    let from = "the same bytes were taken from named/J__ring__len1.csv";
    assert!(reasons.contains(from) && reasons.contains("ring/len1"), "{reasons}");
    answered(&bench, "named", 3, 1);
    assert!(notes(&bench).iter().any(|note| note.contains("len1-copy")), "{:?}", notes(&bench));
    assert_eq!(values(&bench, "len1").len(), 4);
    // The same file written anew with the same bytes: a second measurement would look like that.
    put(&bench, "drop/J__ring__len2.csv", FOUR);
    assert!(why(&bench, "drop/J__ring__len2.csv").contains("taken from this file"));
    answered(&bench, "named", 3, 2);
    // What was answered is not answered again after a start, and its reasons are there.
    fs::remove_file(bench.path("drop/J__ring__len1-copy.csv.why")).unwrap();
    bench.stop();
    bench.start();
    watched(&bench);
    why(&bench, "drop/J__ring__len1-copy.csv");
    bench.until("settled", || !bench.path("drop/J__ring__len2.csv.why").exists());
    answered(&bench, "named", 0, 0);
    bench.ok(&["verify"]);
}

#[test]
fn a_log_with_rows_of_a_closed_job_is_taken_once() {
    let bench = started();
    bench.ok(&["job", "open", "K", "--plan", "held"]);
    let row = |job: &str, value: &str| format!("{value},{job},ring,len1\n");
    let rows = |job: &str| ["12.3450", "12.3452"].map(|value| row(job, value)).concat();
    put(&bench, "columns/log.csv", &format!("Value [mm],Job,Part,Check\n{}", rows("J")));
    answered(&bench, "columns", 1, 0);
    bench.ok(&["job", "close", "J", "--why", "sent away"]);
    append(&bench, "columns/log.csv", &rows("K"));
    answered(&bench, "columns", 2, 0);
    // Written anew with the same bytes, whatever became of the job that its first rows are of.
    let text = fs::read_to_string(bench.path("columns/log.csv")).unwrap();
    put(&bench, "columns/log.csv", &text);
    assert!(why(&bench, "columns/log.csv").contains("taken from this file"));
    answered(&bench, "columns", 2, 1);
    bench.ok(&["job", "reopen", "J"]);
    put(&bench, "columns/copy.csv", &text);
    assert!(why(&bench, "columns/copy.csv").contains("taken from columns/log.csv"));
    answered(&bench, "columns", 2, 2);
    let of = |job| bench.lines(&["readings", job]).len();
    assert_eq!((of("J"), of("K")), (2, 2));
}

#[test]
fn equal_bytes_for_another_attempt_are_its_readings() {
    let mut bench = started();
    bench.ok(&["measure", "ring/len1"]);
    put(&bench, "active/1.csv", FOUR);
    answered(&bench, "active", 1, 0);
    put(&bench, "active/2.csv", FOUR);
    assert!(why(&bench, "active/2.csv").contains("the same bytes were taken"));
    answered(&bench, "active", 1, 1);
    bench.ok(&["measure", "ring/len2"]);
    put(&bench, "active/3.csv", FOUR);
    answered(&bench, "active", 2, 1);
    bench.ok(&["remeasure", "again"]);
    put(&bench, "active/4.csv", FOUR);
    answered(&bench, "active", 3, 1);
    assert_eq!((values(&bench, "len1").len(), values(&bench, "len2").len()), (4, 8));
    // After a start the files that lie there are the ones that were taken, whatever is active now;
    // so is one that was only called something else.
    bench.ok(&["measure", "ring/len3"]);
    for (was, now) in [("1", "renamed"), ("4", "too"), ("3", "moved-too")] {
        let [was, now] = [was, now].map(|name| bench.path(&format!("active/{name}.csv")));
        fs::rename(was, now).unwrap();
    }
    std::thread::sleep(Duration::from_millis(300));
    answered(&bench, "active", 3, 1);
    bench.stop();
    fs::rename(bench.path("active/moved-too.csv"), bench.path("active/moved.csv")).unwrap();
    bench.start();
    watched(&bench);
    assert!(why(&bench, "active/moved.csv").contains("nobody was seen writing"));
    assert_eq!(values(&bench, "len3").len(), 0, "a file that lay there was taken anew");
}

#[test]
fn a_cut_number_is_no_reading() {
    let bench = started();
    let path = put(&bench, "drop/J__ring__len1.csv", "Value [mm]\n12.3450\n12.3452\n12.345");
    bench.until("told that it waits", || {
        let line = bench.drop_line("named");
        let waits = line["waiting"].as_array().unwrap();
        waits.iter().any(|file| file.as_str().unwrap().contains("len1.csv: its last line"))
    });
    assert!(bench.run(&["status"]).stdout.is_ascii());
    let status = String::from_utf8(bench.run(&["status"]).stdout).unwrap();
    assert!(status.contains("its last line has no end"), "{status}");
    assert_eq!(values(&bench, "len1").len(), 0);
    append(&bench, "drop/J__ring__len1.csv", "5\n12.3453\n");
    answered(&bench, "named", 1, 0);
    assert_eq!(values(&bench, "len1"), ["12.3450", "12.3452", "12.3455", "12.3453"]);
    assert_eq!(bench.drop_line("named")["waiting"].as_array().unwrap().len(), 0);
    assert!(!path.with_extension("csv.why").exists());
}

#[test]
fn a_row_that_goes_on_after_it_was_taken_refuses_the_file() {
    let bench = started();
    put(&bench, "columns/a.csv", "Value [mm],Job,Part,Check\n");
    answered(&bench, "columns", 1, 0);
    put(&bench, "drop/J__ring__len1.csv", "Value [mm]\n12.3450\n12.34");
    // Some loggers never end their last line: after a quiet while it is taken as it stands.
    answered(&bench, "named", 1, 0);
    append(&bench, "drop/J__ring__len1.csv", "52\n12.3453\n");
    let reasons = why(&bench, "drop/J__ring__len1.csv");
    assert!(reasons.contains("line 3: the row was taken as \"12.34\""), "{reasons}");
    assert!(reasons.contains("goes on now as \"12.3452\""), "{reasons}");
    answered(&bench, "named", 1, 1);
    assert_eq!(values(&bench, "len1"), ["12.3450", "12.34"]);
    assert_eq!(notes(&bench).len(), 1);
    // Only the end of the last line came: nothing is new and nothing wrong.
    put(&bench, "drop/J__ring__len2.csv", "Value [mm]\n12.3450\n12.3452");
    answered(&bench, "named", 2, 1);
    append(&bench, "drop/J__ring__len2.csv", "\r\n");
    append(&bench, "drop/J__ring__len2.csv", "12.3453\r\n12.3455\r\n");
    answered(&bench, "named", 3, 1);
    assert_eq!(values(&bench, "len2"), ["12.3450", "12.3452", "12.3453", "12.3455"]);
}

#[test]
fn a_cut_first_number_is_noticed_too() {
    let bench = started();
    put(&bench, "drop/J__ring__len1.csv", "Value [mm]\n1.5");
    answered(&bench, "named", 1, 0);
    append(&bench, "drop/J__ring__len1.csv", "0012\n12.3453\n");
    let reasons = why(&bench, "drop/J__ring__len1.csv");
    assert!(reasons.contains("line 2: the row was taken as \"1.5\""), "{reasons}");
    assert_eq!(values(&bench, "len1"), ["1.5"]);
}

#[test]
fn the_habits_of_writers_neither_double_nor_lose_a_row() {
    let bench = started();
    let four = ["12.3450", "12.3452", "12.3455", "12.3453"];
    // Closed after each line, and in the middle of lines.
    let path = "drop/J__ring__len1.csv";
    put(&bench, path, "Value [mm]\n");
    for value in four {
        append(&bench, path, &value[..4]);
        append(&bench, path, &value[4..]);
        append(&bench, path, "\n");
    }
    bench.until("four rows", || count(&bench, "named", "rows") == 4);
    assert_eq!(values(&bench, "len1"), four);
    // Written anew under a passing name and renamed in, longer each time, the last line unended.
    for rows in 1..=4 {
        let text = format!("Value [mm]\n{}", four[..rows].join("\n"));
        put(&bench, "drop/x.tmp", &text);
        fs::rename(bench.path("drop/x.tmp"), bench.path("drop/J__ring__len2.csv")).unwrap();
        std::thread::sleep(Duration::from_millis(if rows == 2 { 900 } else { 100 }));
    }
    bench.until("four more rows", || count(&bench, "named", "rows") == 8);
    assert_eq!(values(&bench, "len2"), four);
    assert_eq!(count(&bench, "named", "refused"), 0, "{}", bench.log());
}

#[test]
fn changed_rows_of_an_unfinished_attempt_refuse_the_file() {
    let bench = started();
    let path = "drop/J__ring__len1.csv";
    put(&bench, path, "Value [mm]\n12.3450\n12.3452\n");
    answered(&bench, "named", 1, 0);
    // Renamed over it, a taken row corrected and one more: the four would be filled by five.
    put(&bench, "drop/x.tmp", "Value [mm]\n12.3450\n12.3451\n");
    fs::rename(bench.path("drop/x.tmp"), bench.path(path)).unwrap();
    let reasons = why(&bench, path);
    assert!(reasons.contains("have changed or are gone"), "{reasons}");
    answered(&bench, "named", 1, 1);
    assert_eq!(values(&bench, "len1"), ["12.3450", "12.3452"]);
    // What the sentence says helps.
    bench.ok(&["remeasure", "again", "ring/len1"]);
    put(&bench, path, "Value [mm]\n12.3450\n12.3451\n12.3452\n12.3453\n");
    answered(&bench, "named", 2, 1);
    bench.until("the reasons are gone", || !bench.path(&format!("{path}.why")).exists());
    // A finished attempt is measured again by a file of the same name.
    put(&bench, path, "Value [mm]\n12.3450\n12.3454\n12.3452\n12.3453\n");
    answered(&bench, "named", 3, 1);
    assert_eq!(values(&bench, "len1").len(), 10);
}

#[test]
fn killed_in_each_state_nothing_is_lost_or_doubled() {
    let mut bench = started();
    put(&bench, "drop/J__ring__len1.csv", "Value [mm]\n12.3450\n12.3452\n12.345");
    bench.until("waits", || !bench.drop_line("named")["waiting"].as_array().unwrap().is_empty());
    bench.kill();
    // The rest came while nobody looked.
    append(&bench, "drop/J__ring__len1.csv", "5\n12.3453\n");
    put(&bench, "drop/J__ring__len2.csv", "Value [mm]\n12.3450\n12.34");
    bench.start();
    watched(&bench);
    answered(&bench, "named", 2, 0);
    assert_eq!(values(&bench, "len1"), ["12.3450", "12.3452", "12.3455", "12.3453"]);
    assert_eq!(values(&bench, "len2"), ["12.3450", "12.34"], "nothing moved for long enough");
    bench.kill();
    append(&bench, "drop/J__ring__len2.csv", "52\n");
    bench.start();
    watched(&bench);
    assert!(why(&bench, "drop/J__ring__len2.csv").contains("taken as \"12.34\""));
    bench.kill();
    fs::remove_file(bench.path("drop/J__ring__len2.csv.why")).unwrap();
    bench.start();
    watched(&bench);
    why(&bench, "drop/J__ring__len2.csv");
    answered(&bench, "named", 0, 0);
    assert_eq!(notes(&bench).len(), 1);
    bench.ok(&["verify"]);
}

#[test]
fn what_is_no_file_is_answered_once_and_never_opened() {
    let mut bench = started();
    let pipe = bench.path("drop/pipe.csv");
    mkfifoat(CWD, &pipe, Mode::from_raw_mode(0o666)).unwrap();
    let no_reader = || {
        let flags = OFlags::NONBLOCK.bits().cast_signed();
        let opened = File::options().write(true).custom_flags(flags).open(&pipe);
        assert!(opened.is_err(), "the pipe was opened");
    };
    symlink("/etc/shadow", bench.path("drop/shadow.csv")).unwrap();
    fs::create_dir(bench.path("drop/folder.csv")).unwrap();
    let _socket = std::os::unix::net::UnixListener::bind(bench.path("drop/socket.csv")).unwrap();
    while count(&bench, "named", "refused") < 4 {
        no_reader();
    }
    for (name, what) in [
        ("pipe", "it is a pipe"),
        ("shadow", "it is a link: links are not followed"),
        ("folder", "it is a folder: files in it are not looked at"),
        ("socket", "it is a socket"),
    ] {
        let reasons = why(&bench, &format!("drop/{name}.csv"));
        assert!(reasons.contains(what), "{reasons}");
    }
    assert_eq!(notes(&bench).len(), 4);
    // Each changes, and stays what it is.
    for mode in [0o600, 0o644, 0o666] {
        fs::set_permissions(&pipe, fs::Permissions::from_mode(mode)).unwrap();
        put(&bench, "drop/folder.csv/inside.csv", FOUR);
        fs::remove_file(bench.path("drop/folder.csv/inside.csv")).unwrap();
        no_reader();
    }
    put(&bench, "drop/J__ring__len1.csv", FOUR);
    answered(&bench, "named", 1, 4);
    bench.stop();
    bench.start();
    watched(&bench);
    put(&bench, "drop/J__ring__len2.csv", FOUR);
    answered(&bench, "named", 1, 0);
    no_reader();
    assert_eq!(notes(&bench).len(), 4);
}

#[test]
fn a_file_that_was_gone_before_it_could_be_read_is_told() {
    let bench = started();
    // It waits for its end when somebody takes it away.
    put(&bench, "drop/J__ring__len1.csv", "Value [mm]\n12.3450\n12.34");
    bench.until("waits", || !bench.drop_line("named")["waiting"].as_array().unwrap().is_empty());
    fs::rename(bench.path("drop/J__ring__len1.csv"), bench.path("elsewhere.csv")).unwrap();
    assert!(why(&bench, "drop/J__ring__len1.csv").contains("gone before it could be read"));
    answered(&bench, "named", 0, 1);
    // Only called something else in its folder, it is read as that.
    put(&bench, "drop/wrong.csv", "Value [mm]\n12.3450\n12.34");
    bench.until("waits", || !bench.drop_line("named")["waiting"].as_array().unwrap().is_empty());
    fs::rename(bench.path("drop/wrong.csv"), bench.path("drop/J__ring__len2.csv")).unwrap();
    answered(&bench, "named", 1, 1);
    assert_eq!(values(&bench, "len2"), ["12.3450", "12.34"]);
}

#[test]
fn a_file_that_could_not_be_read_is_tried_again_by_itself() {
    let bench = started();
    let pid = Pid::from_raw(bench.pid().cast_signed());
    let before = getrlimit(Resource::Nofile);
    let few = rustix::process::Rlimit { current: Some(3), ..before };
    prlimit(pid, Resource::Nofile, few).unwrap();
    put(&bench, "drop/J__ring__len1.csv", FOUR);
    let since = Instant::now();
    bench.until("told in the log", || bench.log().contains("cannot be read now"));
    assert!(since.elapsed() < Duration::from_secs(5));
    prlimit(pid, Resource::Nofile, before).unwrap();
    answered(&bench, "named", 1, 1);
    assert_eq!(values(&bench, "len1").len(), 4);
    assert_eq!(notes(&bench), Vec::<String>::new(), "it is over");
    assert!(!bench.path("drop/J__ring__len1.csv.why").exists());
}
