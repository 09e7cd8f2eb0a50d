//! Files dropped by loggers, in every form: taken whole, or refused whole with every bad row named. The
//! values are invented.

use std::fs::{self, File};
use std::io::Write;
use std::ops::Range;
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::PathBuf;

use serde_json::Value;

use crate::rig::{Bench, Make, as_nobody, skipped};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nrepeat_ms = 0\nmax_rate = 0";

/// Five folders for the same height gauge, each of a logger with other habits.
const MORE: &str = r#"
[[gauge]]
name = "height"
kind = "height"
unit = "mm"
resolution = "0.0001 mm"
[[drop]]
name = "logger"
folder = "{dir}/drop"
gauge = "height"
tags = "columns"
columns = { value = "Value", unit = "Unit", job = "Job", part = "Part", check = "Check", position = "Pos" }
[[drop]]
name = "comma"
folder = "{dir}/comma"
gauge = "height"
tags = "columns"
columns = { value = "Wert", job = "Job", part = "Part", check = "Check" }
delimiter = ";"
decimal = ","
skip_lines = 2
[[drop]]
name = "named"
folder = "{dir}/named"
gauge = "height"
tags = "name"
columns = { value = "Value" }
[[drop]]
name = "active"
folder = "{dir}/active"
gauge = "height"
tags = "active"
columns = { value = "Value" }
[[drop]]
name = "share"
folder = "{dir}/share"
gauge = "height"
tags = "columns"
columns = { value = "Value", unit = "Unit", job = "Job", part = "Part", check = "Check", position = "Pos" }
complete = "quiet"
quiet_ms = 300
"#;

const FOLDERS: [&str; 4] = ["comma", "named", "active", "share"];

/// Checks `a` to `h`, eight positions each.
fn plan() -> String {
    let check = |name: char| {
        format!(
            "[[part.check]]\nname = \"{name}\"\nmeasures = \"parallelism\"\ngauge = \"height\"\n\
             setup = \"plate\"\nmoves = \"stand\"\npositions = 8\nradius = \"38 mm\"\n\
             tolerance = \"0.0025 mm\"\nclosure = false\n"
        )
    };
    let checks: String = ('a'..='h').map(check).collect();
    format!(
        "name = \"held\"\nunit = \"mm\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n{checks}\
         [[part.check]]\nname = \"plate-face\"\nmeasures = \"parallelism\"\ngauge = \"plate\"\n\
         setup = \"plate\"\nmoves = \"stand\"\npositions = 8\nradius = \"38 mm\"\n\
         tolerance = \"0.0025 mm\"\nclosure = false\n"
    )
}

fn prepared() -> Bench {
    let bench = Bench::new(&Make { gauge: GAUGE, more: MORE, plan: &plan() });
    for folder in FOLDERS {
        fs::create_dir(bench.path(folder)).unwrap();
    }
    bench
}

fn started() -> Bench {
    let mut bench = prepared();
    bench.start();
    bench.ok(&["job", "open", "d1", "--plan", "held"]);
    bench.until("folders watched", || {
        let all = ["logger", "comma", "named", "active", "share"];
        all.iter().all(|drop| bench.drop_line(drop)["state"] == "watching")
    });
    bench
}

const HEAD: &str = "Value,Unit,Job,Part,Check,Pos\n";

/// The invented readings, in 0.0001 mm, all within 0.0025 mm.
const COUNTS: [u32; 8] = [123_450, 123_452, 123_455, 123_461, 123_458, 123_455, 123_451, 123_449];

fn value(position: usize) -> String {
    format!("{}.{:04}", COUNTS[position] / 10_000, COUNTS[position] % 10_000)
}

fn rows_of(job: &str, check: &str, positions: Range<usize>) -> String {
    let row = |at| format!("{},mm,{job},ring,{check},{at}\n", value(at));
    positions.map(row).collect::<Vec<_>>().concat()
}

fn rows(check: &str, positions: Range<usize>) -> String {
    rows_of("d1", check, positions)
}

fn write(bench: &Bench, path: &str, text: &str) -> PathBuf {
    let path = bench.path(path);
    let mut file = File::create(&path).unwrap();
    file.write_all(text.as_bytes()).unwrap();
    path
}

fn count(bench: &Bench, drop: &str, what: &str) -> u64 {
    bench.drop_line(drop)[what].as_u64().unwrap()
}

fn taken(bench: &Bench, drop: &str, files: u64) {
    bench.until(&format!("{files} files of {drop} taken"), || count(bench, drop, "files") >= files);
    assert_eq!(count(bench, drop, "files"), files);
}

/// Waits for the reasons beside a refused file.
fn why(bench: &Bench, path: &str) -> String {
    let beside = bench.path(&format!("{path}.why"));
    bench.until(&format!("{path}.why"), || beside.exists());
    fs::read_to_string(beside).unwrap()
}

fn of_check(bench: &Bench, check: &str) -> Vec<Value> {
    bench.lines(&["readings", "d1", "--part", "ring", "--check", check])
}

/// The check holds all eight readings, each at its position, and a verdict with the exact figure.
fn complete(bench: &Bench, check: &str) {
    let readings = of_check(bench, check);
    assert_eq!(readings.len(), 8, "{check}: {readings:?}");
    for (at, reading) in readings.iter().enumerate() {
        assert_eq!(reading["position"], Value::from(at), "{reading}");
        assert_eq!(reading["value"], value(at), "{reading}");
        assert_eq!((&reading["unit"], &reading["source"]), (&"mm".into(), &"drop".into()));
        assert_eq!(reading["state"], "placed");
    }
    let verdicts = bench.lines(&["verdicts", "d1", "--check", check]);
    assert_eq!(verdicts.len(), 1, "{verdicts:?}");
    assert_eq!(verdicts[0]["value"], "0.0012", "{}", verdicts[0]);
}

fn open_alerts(bench: &Bench, kind: &str) -> Vec<Value> {
    let alerts = bench.lines(&["alerts", "--all"]);
    alerts.into_iter().filter(|one| one["kind"] == kind && one["cleared_at"].is_null()).collect()
}

#[test]
fn habits_of_loggers() {
    let bench = started();
    // A byte order mark, two lines of chatter, a unit in the header, commas, CR LF, the header
    // once more in the middle, an empty line, blanks around a number.
    let line = |at: usize| format!("{};d1;ring;a\r\n", value(at).replace('.', ","));
    let head = "Wert [mm];Job;Part;Check\r\n";
    let first: String = (0..4).map(line).collect();
    let rest = format!(" {}", (4..8).map(line).collect::<Vec<_>>().join(" "));
    let text =
        format!("\u{feff}Logger 7; \"of the shop\r\nno table yet\r\n{head}{first}{head}\r\n{rest}");
    write(&bench, "comma/a.csv", &text);
    taken(&bench, "comma", 1);
    complete(&bench, "a");
    // The unit in each row, CR alone as line end, no end after the last line.
    let text = format!("{HEAD}{}", rows("b", 0..8)).replace('\n', "\r");
    write(&bench, "drop/b.csv", text.trim_end());
    taken(&bench, "logger", 1);
    complete(&bench, "b");
    // Each row its own unit: the gauge gives millimetres, so inch refuses the file.
    let text = format!("{HEAD}{}", rows("c", 0..8)).replace("12.3461,mm", "12.3461,in");
    write(&bench, "drop/c.csv", &text);
    let reasons = why(&bench, "drop/c.csv");
    assert!(reasons.contains("line 5") && reasons.contains("in"), "{reasons}");
    assert_eq!(of_check(&bench, "c").len(), 0);
    // Rows of several checks in one file, the job not in use.
    bench.ok(&["job", "open", "other", "--plan", "held"]);
    let text = format!("{HEAD}{}{}", rows("d", 0..8), rows("e", 0..8));
    write(&bench, "drop/d.csv", &text);
    taken(&bench, "logger", 2);
    complete(&bench, "d");
    complete(&bench, "e");
    // A network share without events.
    write(&bench, "share/f.csv", &format!("{HEAD}{}", rows("f", 0..8)));
    taken(&bench, "share", 1);
    complete(&bench, "f");
    assert!(FOLDERS.iter().all(|folder| !bench.path(folder).join("a.csv.why").exists()));
    bench.ok(&["verify"]);
}

#[test]
fn only_complete_files_are_read_and_the_same_bytes_count_once() {
    let bench = started();
    let whole = format!("{HEAD}{}", rows("a", 0..8));
    let mut half = File::create(bench.path("drop/a.csv")).unwrap();
    half.write_all(&whole.as_bytes()[..whole.len() / 2]).unwrap();
    half.flush().unwrap();
    // Another file goes through meanwhile; the half one does not.
    write(&bench, "drop/z1.csv", &format!("{HEAD}{}", rows("h", 0..2)));
    taken(&bench, "logger", 1);
    assert_eq!(of_check(&bench, "a").len(), 0, "a half-written file was read");
    half.write_all(&whole.as_bytes()[whole.len() / 2..]).unwrap();
    drop(half);
    taken(&bench, "logger", 2);
    complete(&bench, "a");
    // Written under a passing name, then renamed in.
    write(&bench, "drop/b.csv.tmp", &format!("{HEAD}{}", rows("b", 0..8)));
    write(&bench, "drop/z2.csv", &format!("{HEAD}{}", rows("h", 2..4)));
    taken(&bench, "logger", 3);
    assert_eq!(of_check(&bench, "b").len(), 0, "a passing file was read");
    fs::rename(bench.path("drop/b.csv.tmp"), bench.path("drop/b.csv")).unwrap();
    taken(&bench, "logger", 4);
    complete(&bench, "b");
    // The same bytes under another name, in the same folder and in another; renamed; written anew.
    write(&bench, "drop/a-copy.csv", &whole);
    write(&bench, "share/a-copy.csv", &whole);
    write(&bench, "drop/a.csv", &whole);
    fs::rename(bench.path("drop/b.csv"), bench.path("drop/b-moved.csv")).unwrap();
    write(&bench, "drop/z3.csv", &format!("{HEAD}{}", rows("h", 4..6)));
    taken(&bench, "logger", 5);
    write(&bench, "share/z4.csv", &format!("{HEAD}{}", rows("h", 6..8)));
    taken(&bench, "share", 1);
    complete(&bench, "a");
    complete(&bench, "b");
    complete(&bench, "h");
    // Nothing is taken from the copies, and each is told so.
    for copy in ["drop/a-copy.csv", "share/a-copy.csv", "drop/a.csv"] {
        let reasons = why(&bench, copy);
        assert!(reasons.contains("the same bytes were taken from"), "{copy}: {reasons}");
    }
    assert_eq!((count(&bench, "logger", "refused"), count(&bench, "share", "refused")), (2, 1));
    assert!(!bench.path("drop/b-moved.csv.why").exists(), "it is only called something else");
    assert!(bench.path("drop/a.csv").exists() && bench.path("drop/b-moved.csv").exists());
}

#[test]
fn a_whole_file_that_is_out_is_judged_and_nobody_is_told_to_go_on() {
    let bench = started();
    // One touch 0.01 mm too high, where 0.0025 mm is allowed.
    let high = |check, positions| rows(check, positions).replace("12.3461", "12.3561");
    write(&bench, "drop/a.csv", &format!("{HEAD}{}", high("a", 0..8)));
    taken(&bench, "logger", 1);
    let verdicts = bench.lines(&["verdicts", "d1", "--check", "a"]);
    assert_eq!((verdicts.len(), &verdicts[0]["value"]), (1, &"0.0112".into()), "{verdicts:?}");
    assert_eq!(open_alerts(&bench, "out-so-far"), [] as [Value; 0]);
    // Before the last position it is told.
    write(&bench, "drop/b.csv", &format!("{HEAD}{}", high("b", 0..6)));
    taken(&bench, "logger", 2);
    assert_eq!(open_alerts(&bench, "out-so-far").len(), 1);
}

#[test]
fn a_grown_file_gives_only_its_new_rows() {
    let mut bench = started();
    let path = write(&bench, "drop/a.csv", &format!("{HEAD}{}", rows("a", 0..3)));
    taken(&bench, "logger", 1);
    assert_eq!(of_check(&bench, "a").len(), 3);
    let append = |text: &str| {
        let mut file = File::options().append(true).open(&path).unwrap();
        file.write_all(text.as_bytes()).unwrap();
    };
    append(&rows("a", 3..5));
    taken(&bench, "logger", 2);
    assert_eq!(of_check(&bench, "a").len(), 5);
    // The logger writes it all anew, one row longer, under another name.
    write(&bench, "drop/a-2.csv", &format!("{HEAD}{}", rows("a", 0..6)));
    taken(&bench, "logger", 3);
    assert_eq!(of_check(&bench, "a").len(), 6);
    // A row that was taken is changed: its position is filled.
    let changed = format!("{HEAD}{}", rows("a", 0..6)).replace("12.3450", "12.3449");
    write(&bench, "drop/a-3.csv", &changed);
    assert!(why(&bench, "drop/a-3.csv").contains("position 0 is filled already"));
    assert_eq!(of_check(&bench, "a").len(), 6);
    // It grows while the service is down.
    bench.stop();
    append(&rows("a", 5..8));
    bench.start();
    taken(&bench, "logger", 1);
    complete(&bench, "a");
}

#[test]
fn files_that_were_there_first_and_a_folder_that_comes_back() {
    let mut bench = prepared();
    write(&bench, "drop/a.csv", &format!("{HEAD}{}", rows("a", 0..8)));
    bench.start();
    // The job does not exist yet, so the file is refused; nothing is lost by that.
    let reasons = why(&bench, "drop/a.csv");
    assert!(reasons.contains("there is no job d1"), "{reasons}");
    bench.ok(&["job", "open", "d1", "--plan", "held"]);
    bench.stop();
    write(&bench, "drop/b.csv", &format!("{HEAD}{}", rows("b", 0..8)));
    bench.start();
    taken(&bench, "logger", 1);
    complete(&bench, "b");
    // The folder goes away, and is back with a file in it.
    fs::rename(bench.path("drop"), bench.path("elsewhere")).unwrap();
    bench.until("the folder is missed", || bench.drop_line("logger")["state"] == "absent");
    bench.until("an alert", || open_alerts(&bench, "folder-lost").len() == 1);
    assert_eq!(bench.run(&["status"]).status.code(), Some(1));
    // The other folders do not notice.
    write(&bench, "share/c.csv", &format!("{HEAD}{}", rows("c", 0..8)));
    taken(&bench, "share", 1);
    write(&bench, "elsewhere/d.csv", &format!("{HEAD}{}", rows("d", 0..8)));
    fs::rename(bench.path("elsewhere"), bench.path("drop")).unwrap();
    bench.until("the folder is back", || bench.drop_line("logger")["state"] == "watching");
    taken(&bench, "logger", 2);
    complete(&bench, "d");
    bench.until("the alert is over", || open_alerts(&bench, "folder-lost").is_empty());
    // Removed and made anew.
    fs::remove_dir_all(bench.path("drop")).unwrap();
    bench.until("the folder is missed", || bench.drop_line("logger")["state"] == "absent");
    fs::create_dir(bench.path("drop")).unwrap();
    bench.until("the folder is back", || bench.drop_line("logger")["state"] == "watching");
    write(&bench, "drop/e.csv", &format!("{HEAD}{}", rows("e", 0..8)));
    taken(&bench, "logger", 3);
    complete(&bench, "e");
}

#[test]
fn the_name_of_a_file_or_the_active_check_may_tag_it() {
    let bench = started();
    let plain = |positions: Range<usize>| -> String {
        let values = positions.map(|at| format!("{}\n", value(at)));
        std::iter::once("Value [mm]\n".to_owned()).chain(values).collect()
    };
    write(&bench, "named/d1__ring__a-1.csv", &plain(0..8));
    taken(&bench, "named", 1);
    complete(&bench, "a");
    write(&bench, "named/d1__ring__nosuch.csv", &plain(0..7));
    assert!(why(&bench, "named/d1__ring__nosuch.csv").contains("nosuch"));
    write(&bench, "named/notes.csv", &plain(0..6));
    assert!(why(&bench, "named/notes.csv").contains("JOB__PART__CHECK"));
    write(&bench, "named/d9__ring__a.csv", &plain(0..5));
    assert!(why(&bench, "named/d9__ring__a.csv").contains("there is no job d9"));
    // To the check that is active, and nowhere while none is.
    write(&bench, "active/1.csv", &plain(0..4));
    assert!(why(&bench, "active/1.csv").contains("no check is active"));
    bench.ok(&["measure", "ring/b"]);
    write(&bench, "active/2.csv", &plain(0..4));
    complete_active(&bench, &plain);
}

/// The same bytes as a refused file are taken where they can be now; then the rest of the check.
fn complete_active(bench: &Bench, plain: &dyn Fn(Range<usize>) -> String) {
    taken(bench, "active", 1);
    assert_eq!(of_check(bench, "b").len(), 4);
    let rest = plain(4..8).replace('\n', "\r\n");
    write(bench, "active/3.csv", &rest);
    taken(bench, "active", 2);
    complete(bench, "b");
    bench.ok(&["measure", "ring/plate-face"]);
    write(bench, "active/4.csv", &plain(2..8));
    assert!(why(bench, "active/4.csv").contains("plate"));
}

#[test]
fn a_refused_file_names_every_bad_row_and_a_good_rewrite_mends_it() {
    let bench = started();
    bench.ok(&["job", "open", "shut", "--plan", "held"]);
    bench.ok(&["job", "close", "shut", "--why", "a try"]);
    write(&bench, "drop/a.csv", &format!("{HEAD}{}", rows("a", 0..2)));
    taken(&bench, "logger", 1);
    let bad = [
        (2, "12.3450,mm,shut,ring,a,0", "closed"),
        (4, "12.3450,mm,nojob,ring,a,0", "no job nojob"),
        (5, "12.3450,mm,d1,ring,nosuch,0", "nosuch"),
        (6, "12.3450,mm,d1,nopart,a,0", "nopart"),
        (7, "12.3450,mm,d1,ring,a,1", "filled"),
        (8, "12.3450,mm,d1,ring,a,8", "no position 8"),
        (9, "12.3450,mm,d1,ring,plate-face,0", "plate"),
        (10, "1.2345,in,d1,ring,a,2", "in"),
        (11, "12.34x0,mm,d1,ring,a,2", "12.34x0"),
        (12, "12.34.0,mm,d1,ring,a,2", "decimal signs"),
        (13, "123.456789,mm,d1,ring,a,2", "eight digits"),
        (14, "12.3450,mm,d1,ring,a,two", "two"),
        (15, "12.3450,furlong,d1,ring,a,2", "furlong"),
        (16, "12.3450,mm", "columns"),
        (17, ",mm,d1,ring,a,2", "empty"),
    ];
    let good = rows("b", 0..1);
    let text: String = (2..=17)
        .map(|line| bad.iter().find(|(at, ..)| *at == line))
        .map(|row| row.map_or_else(|| good.clone(), |(_, row, _)| format!("{row}\n")))
        .collect();
    write(&bench, "drop/b.csv", &format!("{HEAD}{text}"));
    let reasons = why(&bench, "drop/b.csv");
    for (line, _, about) in bad {
        let named = reasons.lines().find(|reason| reason.starts_with(&format!("line {line}:")));
        assert!(named.is_some_and(|reason| reason.contains(about)), "line {line}: {reasons}");
    }
    assert_eq!(reasons.lines().count(), bad.len(), "{reasons}");
    assert_eq!(of_check(&bench, "b").len(), 0, "part of a refused file was taken");
    assert_eq!(of_check(&bench, "a").len(), 2, "part of a refused file was taken");
    let alerts = open_alerts(&bench, "file-refused");
    assert_eq!(alerts.len(), 1, "{alerts:?}");
    assert!(alerts[0]["text"].as_str().unwrap().contains("b.csv"), "{}", alerts[0]);
    assert_eq!(count(&bench, "logger", "refused"), 1);
    write(&bench, "drop/b.csv", &format!("{HEAD}{}", rows("b", 0..8)));
    taken(&bench, "logger", 2);
    complete(&bench, "b");
    bench.until("the reasons are gone", || !bench.path("drop/b.csv.why").exists());
    assert!(open_alerts(&bench, "file-refused").is_empty());
}

#[test]
fn a_refused_file_that_now_holds_what_another_gave_is_told_that() {
    let bench = started();
    write(&bench, "drop/a.csv", &format!("{HEAD}12.34x0,mm,d1,ring,a,0\n"));
    why(&bench, "drop/a.csv");
    let good = format!("{HEAD}{}", rows("a", 0..8));
    write(&bench, "drop/b.csv", &good);
    taken(&bench, "logger", 1);
    write(&bench, "drop/a.csv", &good);
    bench.until("the other reason", || {
        why(&bench, "drop/a.csv").contains("taken from logger/b.csv")
    });
    assert_eq!(open_alerts(&bench, "file-refused").len(), 1);
    complete(&bench, "a");
}

#[test]
fn links_are_not_followed() {
    let bench = started();
    let outside = write(&bench, "outside.csv", &format!("{HEAD}{}", rows("a", 0..8)));
    for number in 0..100 {
        let target = match number % 3 {
            0 => outside.clone(),
            1 => PathBuf::from("/nowhere/at/all"),
            _ => PathBuf::from("/dev/zero"),
        };
        symlink(target, bench.path(&format!("drop/link-{number:02}.csv"))).unwrap();
    }
    symlink(&outside, bench.path("drop/passing.tmp")).unwrap();
    fs::rename(bench.path("drop/passing.tmp"), bench.path("drop/passing.csv")).unwrap();
    fs::create_dir(bench.path("drop/folder.csv")).unwrap();
    write(&bench, "drop/z.csv", &format!("{HEAD}{}", rows("b", 0..8)));
    taken(&bench, "logger", 1);
    complete(&bench, "b");
    assert_eq!(of_check(&bench, "a").len(), 0, "a link was followed");
    assert!(bench.log().lines().count() < 40, "{}", bench.log());
}

#[test]
fn a_file_of_two_gigabytes_is_refused_and_the_service_stays_small() {
    let bench = started();
    let file = File::create(bench.path("drop/big.csv")).unwrap();
    if let Err(error) = file.set_len(2 << 30) {
        return skipped("a file of two gigabytes", &error.to_string());
    }
    drop(file);
    let reasons = why(&bench, "drop/big.csv");
    assert!(reasons.contains("16 MiB") && reasons.contains("split it"), "{reasons}");
    let status = fs::read_to_string(format!("/proc/{}/status", bench.pid())).unwrap();
    let most = status.lines().find(|line| line.starts_with("VmHWM")).unwrap().to_owned();
    let most_kb: u64 = most.split_whitespace().nth(1).unwrap().parse().unwrap();
    assert!(most_kb < 150_000, "{most}");
    write(&bench, "drop/z.csv", &format!("{HEAD}{}", rows("b", 0..8)));
    taken(&bench, "logger", 1);
}

#[test]
fn a_read_only_folder_gives_an_alert_instead_of_the_reasons() {
    let mut bench = prepared();
    let Some(serve) = as_nobody(&bench, &["serve"]) else {
        return skipped(
            "a read-only drop folder",
            "root may write everywhere, and no setpriv here",
        );
    };
    let folder = bench.path("drop");
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o555)).unwrap();
    bench.launch_as(serve);
    bench.until_up();
    bench.ok(&["job", "open", "d1", "--plan", "held"]);
    bench.until("watched", || bench.drop_line("logger")["state"] == "watching");
    if rustix::process::geteuid().is_root() {
        write(&bench, "drop/a.csv", &format!("{HEAD}12.34x0,mm,d1,ring,a,0\n"));
    } else {
        fs::set_permissions(&folder, fs::Permissions::from_mode(0o755)).unwrap();
        let mut file = File::create(folder.join("a.csv")).unwrap();
        fs::set_permissions(&folder, fs::Permissions::from_mode(0o555)).unwrap();
        file.write_all(format!("{HEAD}12.34x0,mm,d1,ring,a,0\n").as_bytes()).unwrap();
    }
    bench.until("an alert", || open_alerts(&bench, "file-refused").len() == 1);
    bench.until("a line in the log", || bench.log().contains("a.csv"));
    assert!(!bench.path("drop/a.csv.why").exists());
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o755)).unwrap();
}
