//! Tables and sentences in windows of several widths, and the values of a look-up for a spreadsheet: which columns
//! stand there, what tells two rows apart, where words have colour.

use std::fs::File;
use std::io::Read;
use std::os::fd::OwnedFd;
use std::process::Stdio;
use std::sync::LazyLock;
use std::time::{SystemTime, UNIX_EPOCH};

use quantity::Wall;
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{Winsize, tcsetwinsize};

use crate::rig::{Bench, Follower, Make, as_told};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeat_ms = 0\nmax_rate = 0";

const PLAN: &str = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"inner-spacer\"\nkind = \"spacer\"\n\
                    [[part.check]]\nname = \"face-a\"\nmeasures = \"parallelism\"\ngauge = \"plate\"\n\
                    setup = \"plate\"\nmoves = \"stand\"\npositions = 8\nradius = \"1.5 in\"\n\
                    tolerance = \"0.0001 in\"\nclosure = false\n";

const IN: [&str; 9] =
    ["enter", "0", "0.00001", "0.00002", "0.00002", "0.00001", "0.00000", "-0.00001", "0.00001"];
const OUT: [&str; 9] =
    ["enter", "0", "0.00001", "0.00002", "0.00002", "0.00001", "0.00000", "-0.00001", "0.0009"];

/// A job with three tries at one check, out and in and in, and a second job with one.
fn tries() -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "J-1042", "--plan", "held", "--customer", "Sedge & Daughters"]);
    bench.ok(&["measure", "inner-spacer/face-a"]);
    bench.ok(&OUT);
    for _ in 0..2 {
        bench.ok(&["remeasure", "ground"]);
        bench.ok(&IN);
    }
    bench.ok(&["job", "open", "J-1043", "--plan", "held"]);
    bench.ok(&["measure", "inner-spacer/face-a"]);
    bench.ok(&IN);
    bench.verdict("J-1043", 1);
    bench
}

/// What a command sends to a terminal of so many columns, with these variables of the environment.
fn terminal(bench: &Bench, columns: u16, env: &[(&str, &str)], arguments: &[&str]) -> String {
    let flags = OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC;
    let master = openpt(flags).unwrap();
    grantpt(&master).unwrap();
    unlockpt(&master).unwrap();
    let name = ptsname(&master, Vec::new()).unwrap().into_string().unwrap();
    let slave: OwnedFd = File::options().read(true).write(true).open(&name).unwrap().into();
    let size = Winsize { ws_row: 24, ws_col: columns, ws_xpixel: 0, ws_ypixel: 0 };
    tcsetwinsize(&slave, size).unwrap();
    let mut command = bench.command(arguments);
    command.env_remove("NO_COLOR").env("TERM", "xterm").envs(env.iter().copied());
    command.stdout(Stdio::from(slave.try_clone().unwrap())).stderr(Stdio::from(slave));
    let mut child = command.spawn().unwrap();
    // The command holds the near end as well, and the read below ends when nobody does.
    drop(command);
    let (mut bytes, mut chunk, mut far) = (Vec::new(), [0; 4096], File::from(master));
    while let Ok(count @ 1..) = far.read(&mut chunk) {
        bytes.extend_from_slice(&chunk[..count]);
    }
    child.wait().unwrap();
    String::from_utf8(bytes).unwrap().replace("\r\n", "\n")
}

const PLAIN: [(&str, &str); 1] = [("NO_COLOR", "1")];

fn widest(text: &str) -> usize {
    text.lines().map(|line| line.chars().count()).max().unwrap_or(0)
}

/// The rows of a table, each in one line: what goes on below is added to the line it belongs to. A row begins where a
/// number stands, since each has a try.
fn rows(text: &str) -> Vec<String> {
    let mut rows: Vec<String> = Vec::new();
    for line in text.lines().take_while(|line| !line.starts_with("No room for")) {
        let words = line.split_whitespace().collect::<Vec<_>>().join(" ");
        if words.split(' ').any(|word| word.parse::<u32>().is_ok()) {
            rows.push(words);
        } else if let Some(row) = rows.last_mut() {
            row.push(' ');
            row.push_str(&words);
        }
    }
    rows
}

#[test]
fn two_tries_are_told_apart_in_any_window() {
    let bench = tries();
    for columns in [50, 60, 80, 120] {
        for command in [&["verdicts"][..], &["verdicts", "J-1042"], &["readings", "J-1042"]] {
            let text = terminal(&bench, columns, &PLAIN, command);
            let heading = text.lines().next().unwrap();
            let told = |title: &str| heading.split_whitespace().any(|word| word == title);
            assert!(told("check") && told("try"), "{command:?} in {columns}:\n{text}");
            assert!(widest(&text) <= usize::from(columns), "{command:?} in {columns}:\n{text}");
        }
        // Without the number, the tries of one check and the same check of two jobs differ all the same.
        let text = terminal(&bench, columns, &PLAIN, &["verdicts"]);
        let rows = rows(&text);
        assert_eq!(rows.len(), 4, "{text}");
        for (at, row) in rows.iter().enumerate() {
            assert!(!rows[..at].contains(row), "two rows alike in {columns}:\n{text}");
        }
        let of = |job: &str| rows.iter().filter(|row| row.contains(job)).count();
        assert_eq!((of("J-1042"), of("J-1043")), (3, 1), "{text}");
        assert!(!text.contains('…'), "what tells rows apart is not cut:\n{text}");
    }
}

#[test]
fn what_was_left_out_first_comes_back_where_it_fits() {
    let bench = tries();
    // The number and the touches go before the remarks; without those there is room for both again.
    let text = terminal(&bench, 84, &PLAIN, &["verdicts", "J-1042"]);
    let left_out = text.lines().find(|line| line.starts_with("No room for: ")).unwrap();
    assert!(left_out.starts_with("No room for: by, rule, held, time, remarks."), "{text}");
    assert!(text.starts_with("id  check") && text.contains("  touches\n"), "{text}");
    let wide = terminal(&bench, 240, &PLAIN, &["verdicts", "J-1042"]);
    assert!(!wide.contains("No room for"), "{wide}");
}

#[test]
fn words_of_verdicts_have_colour_on_a_terminal_alone() {
    let bench = tries();
    let bare = |text: &str| {
        let mut text = text.to_owned();
        for code in ["\u{1b}[1;31m", "\u{1b}[1;32m", "\u{1b}[1;33m", "\u{1b}[2m", "\u{1b}[0m"] {
            text = text.replace(code, "");
        }
        text
    };
    for command in [
        &["verdicts"][..],
        &["job", "show", "J-1043"],
        &["job", "compare", "J-1042", "J-1043", "--long"],
        &["alerts", "--all"],
        &["status"],
    ] {
        let bright = terminal(&bench, 100, &[], command);
        let word =
            if command[0] == "verdicts" { "\u{1b}[1;32mCONFORMS\u{1b}[0m" } else { "\u{1b}[1;3" };
        assert!(bright.contains(word), "{command:?}: {bright:?}");
        for env in [&PLAIN[..], &[("TERM", "dumb")]] {
            let plain = terminal(&bench, 100, env, command);
            assert!(!plain.contains('\u{1b}'), "{command:?} {env:?}: {plain:?}");
            // An age may have gone on by a second.
            if command[0] != "status" {
                assert_eq!(bare(&bright), plain, "{command:?} {env:?}");
            }
        }
        assert!(!bench.run(command).stdout.contains(&0x1b), "{command:?} into a file");
    }
    // A row that counts no longer is faint as a whole: its word has no colour of its own.
    let text = terminal(&bench, 100, &[], &["verdicts", "J-1042"]);
    let out = text.lines().find(|line| line.contains("METAL CHANGED")).unwrap();
    assert!(out.starts_with("\u{1b}[2m") && out.matches('\u{1b}').count() == 2, "{out:?}");
}

#[test]
fn sentences_are_broken_between_words() {
    let bench = tries();
    let words = |text: &str| text.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
    for command in [
        &["job", "show", "J-1042"][..],
        &["measure", "inner-spacer/face-b"],
        &["verdicts", "--gauge", "plaet"],
        &["job", "compare", "J-1042", "J-1043"],
    ] {
        let wide = terminal(&bench, 400, &PLAIN, command);
        for columns in [60, 80] {
            let text = terminal(&bench, columns, &PLAIN, command);
            assert!(widest(&text) <= usize::from(columns), "{command:?} in {columns}:\n{text}");
            if command[0] == "measure" || command[0] == "verdicts" {
                assert_eq!(words(&text), words(&wide), "{command:?} in {columns}");
            }
        }
    }
    // Nothing is broken on its way into a file, and no line for a script ever.
    let err = String::from_utf8(bench.run(&["verdicts", "--gauge", "plaet"]).stderr).unwrap();
    assert_eq!(err.lines().count(), 2, "{err}");
    let json = terminal(&bench, 60, &PLAIN, &["verdicts", "--json", "--last", "1"]);
    assert_eq!(json.lines().count(), 1, "{json}");
}

#[test]
fn a_time_may_be_so_long_ago() {
    let bench = tries();
    let count = |since: &str| bench.lines(&["readings", "--since", since]).len();
    for since in ["1h", "90m", "1h30m", "2d", "2 days ago", "1 week"] {
        assert_eq!(count(since), 32, "{since}");
    }
    assert_eq!(bench.lines(&["readings", "--until", "1h"]).len(), 0);
    assert_eq!(bench.lines(&["job", "list", "--since", "1h", "--until", "now"]).len(), 2);
    // The feed begins at a time, too: with its first line, and with none that is older.
    let mut feed = Follower::of(bench.spawn(&["tail", "--json", "--since", "1h"]));
    bench.until("the feed from its first line", || feed.seen().len() >= 4);
    assert_eq!(feed.seen()[0]["seq"], 1);
    assert!(feed.runs());
    let micros = SystemTime::now().duration_since(UNIX_EPOCH).unwrap().as_micros();
    let now = Wall::from_micros(i64::try_from(micros).unwrap()).to_string();
    let feed = Follower::of(bench.spawn(&["tail", "--json", "--since", &now]));
    bench.ok(&["remeasure", "ground"]);
    bench.ok(&OUT);
    bench.until("what came since", || !feed.seen().is_empty());
    let first = feed.seen()[0]["seq"].as_u64().unwrap();
    assert!(first > 4, "{first}");
    assert!(
        as_told(bench.refused(2, &["tail", "--since", "someday"]))
            .contains("or as a number of the feed")
    );
    for no_time in ["1", "h1", "an hour", "1x"] {
        let err = as_told(bench.refused(2, &["alerts", "--since", no_time]));
        assert!(err.contains("is not a time; write it as 1h, 30m, 2d"), "{err}");
    }
}

#[test]
fn columns_are_chosen_by_the_names_that_stand_above_them() {
    let bench = tries();
    let first = |arguments: &[&str]| bench.ok(arguments).lines().next().unwrap().to_owned();
    let verdicts = ["verdicts", "J-1042", "--columns"];
    let with = |names: &str, more: &[&str]| {
        let all: Vec<&str> =
            verdicts.iter().copied().chain([names]).chain(more.iter().copied()).collect();
        bench.ok(&all)
    };
    // In a table by its headings, in any letter case and without the unit; and by the names of the file.
    let text = with("try,Verdict,value,±U,figures.tilt,at", &[]);
    let heading: Vec<&str> =
        text.lines().next().unwrap().split("  ").filter(|one| !one.is_empty()).collect();
    assert_eq!(
        heading.iter().map(|one| one.trim()).collect::<Vec<_>>(),
        ["try", "verdict", "value, in", "±U", "figures.tilt", "at"]
    );
    assert_eq!(text.lines().count(), 4, "{text}");
    // In a file by the names of its first line, and in the order in which they were typed.
    let text = with("verdict,attempt,limits.max,figures.tilt", &["--csv"]);
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines[0], "verdict,attempt,limits.max,figures.tilt");
    assert!(lines[1].starts_with("does-not-conform,1,0.0001,0."), "{text}");
    assert!(lines[3].starts_with("conforms,3,0.0001,0."), "{text}");
    assert_eq!(first(&["readings", "--csv", "--columns", "value,unit,at"]), "value,unit,at");
    assert_eq!(first(&["alerts", "--csv", "--columns", "id,text"]), "id,text");
    assert_eq!(first(&["job", "list", "--csv", "--columns", "name,customer"]), "name,customer");
    assert_eq!(
        first(&["job", "list", "--columns", "customer,job"]).trim_end(),
        "customer           job"
    );
    // A column that says nothing stands there, too, when it was asked for.
    assert_eq!(first(&["readings", "--columns", "value,station"]).trim_end(), "value, in  station");
    for (arguments, said) in [
        (&["verdicts", "--columns", "verdikt"][..], "there is no column \"verdikt\""),
        (&["verdicts", "--columns", "verdikt"], "did you mean verdict"),
        (
            &["verdicts", "--csv", "--columns", "time"],
            "stand in the first line of: tenths verdicts --csv",
        ),
        (&["job", "list", "--columns", "value"], "the first line of: tenths job list --csv"),
        (&["verdicts", "--columns", "job,,check"], "write the names with commas"),
        (&["verdicts", "--columns", "job,job"], "job stands there twice"),
        (&["verdicts", "--columns", "job", "--json"], "--columns"),
    ] {
        let err = as_told(bench.refused(2, arguments));
        assert!(err.contains(said), "{arguments:?}: {err}");
    }
    // What was named last goes first, and is named.
    let text =
        terminal(&bench, 40, &PLAIN, &["verdicts", "--columns", "verdict,try,value,rule,held"]);
    assert!(text.contains("No room for: held"), "{text}");
}

/// The offset of a zone without a name, so that the test needs no list of zones.
const ZONE: (&str, &str) = ("TZ", "<-05>5");

/// What a look-up prints where the clock is five hours behind UTC.
static BEHIND: LazyLock<[(&str, &str); 1]> = LazyLock::new(|| [ZONE]);

#[test]
fn a_spreadsheet_opens_the_file_by_itself() {
    let bench = tries();
    let text = |arguments: &[&str]| {
        let output = bench.command(arguments).envs(*BEHIND).output().unwrap();
        assert!(output.status.success(), "{arguments:?} {output:?}");
        String::from_utf8(output.stdout).unwrap()
    };
    let columns = ["--columns", "id,at,value,uncertainty,k"];
    let plain = text(&[&["verdicts", "--csv"], &columns[..]].concat());
    for (mark, between) in [("point", b','), ("comma", b';')] {
        let sheet = text(&[&["verdicts", "--spreadsheet", mark], &columns[..]].concat());
        let sheet = sheet.strip_prefix('\u{feff}').expect("a byte order mark");
        assert!(!sheet.contains('\u{feff}'));
        let records = |text: &str, between: u8| -> Vec<csv::StringRecord> {
            let mut reader =
                csv::ReaderBuilder::new().delimiter(between).from_reader(text.as_bytes());
            reader.records().map(Result::unwrap).collect()
        };
        let (sheet, plain) = (records(sheet, between), records(&plain, b','));
        assert_eq!((sheet.len(), plain.len()), (4, 4));
        for (row, utc) in sheet.iter().zip(&plain) {
            assert_eq!(row[0], utc[0]);
            let at = Wall::parse(&utc[1]).unwrap().micros() - 5 * 3_600_000_000;
            let local = Wall::from_micros(at).to_string().replace('T', " ");
            assert_eq!(row[1], local[..19], "the clock here, without a zone");
            for at in 2..5 {
                let mark = if mark == "comma" { "," } else { "." };
                assert_eq!(row[at], utc[at].replace('.', mark));
            }
        }
    }
    for arguments in [
        &["verdicts", "--spreadsheet", "comma", "--json"][..],
        &["verdicts", "--spreadsheet", "comma", "--csv", "--decimal", "comma"],
        &["verdicts", "--spreadsheet"],
    ] {
        assert!(bench.refused(2, arguments).contains("--spreadsheet"), "{arguments:?}");
    }
}
