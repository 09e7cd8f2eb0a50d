//! Finding things in the record: filters, pages, tables that fit, values for a spreadsheet, and jobs
//! found by the number on the part.

use std::fs::File;
use std::io::Read;
use std::os::fd::OwnedFd;
use std::process::Stdio;

use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{Winsize, tcsetwinsize};
use serde_json::Value;

use crate::rig::{Bench, Make, as_told};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeat_ms = 0\nmax_rate = 0";

/// Turns text round, steers a terminal, ends a line, and looks like a formula.
const HOSTILE: &str = "=1+1;@x\u{1b}[2J\u{9b}31m\u{202e}\n\r\t\u{7f}|-1";

fn check(name: &str) -> String {
    format!(
        "[[part.check]]\nname = \"{name}\"\nmeasures = \"parallelism\"\ngauge = \"plate\"\n\
         setup = \"plate\"\nmoves = \"stand\"\npositions = 8\nradius = \"1.5 in\"\n\
         tolerance = \"0.0001 in\"\nclosure = false\n"
    )
}

fn plan() -> String {
    let part = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n";
    format!("{part}{}{}", check("face"), check("back"))
}

const IN: [&str; 9] =
    ["enter", "0", "0.00001", "0.00002", "0.00002", "0.00001", "0.00000", "-0.00001", "0.00001"];
const OUT: [&str; 9] =
    ["enter", "0", "0.00001", "0.00002", "0.00002", "0.00001", "0.00000", "-0.00001", "0.0009"];

/// Three jobs of two spindles: `J-1` and `J-3` of `SP 7731`, `J-2` of `0815`. Of `J-1` one face
/// conforms and one does not, of `J-2` and `J-3` one face conforms.
fn three_jobs() -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan() });
    bench.start();
    let open = |job: &str, serial: &str, customer: &str, by: &str| {
        let with = ["--serial", serial, "--customer", customer, "--by", by];
        let all: Vec<_> = ["job", "open", job, "--plan", "held"].into_iter().chain(with).collect();
        bench.ok(&all);
    };
    open("J-1", "SP 7731", "Sedge & Co", "ann");
    bench.ok(&["measure", "ring/face"]);
    bench.ok(&IN);
    bench.ok(&["measure", "ring/back"]);
    bench.ok(&OUT);
    open("J-2", "0815", "Rush GmbH", "bob");
    bench.ok(&["measure", "ring/face"]);
    bench.ok(&IN);
    open("J-3", "sp 7731", "Sedge & Co", "bob");
    bench.ok(&["measure", "ring/face"]);
    bench.ok(&IN);
    bench.verdict("J-3", 1);
    bench
}

/// The different values of a key, in the order they come.
fn values(lines: &[Value], key: &str) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for line in lines {
        let value = line[key].as_str().map_or_else(|| line[key].to_string(), str::to_owned);
        if !found.contains(&value) {
            found.push(value);
        }
    }
    found
}

#[test]
fn filters_combine() {
    let bench = three_jobs();
    let jobs = |arguments: &[&str]| values(&bench.lines(arguments), "job");
    assert_eq!(jobs(&["readings", "--serial", "SP 7731"]), ["J-1", "J-3"]);
    assert_eq!(jobs(&["readings", "--serial", "sp 7731 ", "--who", "Bob"]), ["J-3"]);
    assert_eq!(jobs(&["verdicts", "--customer", "sedge"]), ["J-1", "J-3"]);
    assert_eq!(jobs(&["verdicts", "--who", "bob", "--customer", "rush"]), ["J-2"]);
    assert_eq!(jobs(&["verdicts", "--who", "ann", "--customer", "rush"]), [""; 0]);
    assert_eq!(jobs(&["alerts", "--serial", "SP 7731", "--kind", "out"]), ["J-1"]);
    assert_eq!(jobs(&["alerts", "--level", "interrupt", "--check", "back"]), ["J-1"]);
    assert_eq!(jobs(&["alerts", "--serial", "0815", "--level", "interrupt"]), [""; 0]);
    let out = ["readings", "--verdict", "does-not-conform"];
    assert_eq!(values(&bench.lines(&out), "check"), ["back"]);
    assert_eq!(bench.lines(&out).len(), 8);
    assert_eq!(bench.lines(&["verdicts", "--verdict", "conforms"]).len(), 3);
    assert_eq!(bench.lines(&["verdicts", "--state", "conforms", "--part", "ring"]).len(), 3);
    let listed = |more: &[&str]| {
        let all: Vec<_> = ["job", "list"].iter().chain(more).copied().collect();
        values(&bench.lines(&all), "name")
    };
    assert_eq!(listed(&[]), ["J-1", "J-2", "J-3"]);
    assert_eq!(listed(&["--serial", "SP 7731", "--who", "bob"]), ["J-3"]);
    assert_eq!(listed(&["--since", "yesterday", "--last", "2"]), ["J-2", "J-3"]);
    assert_eq!(listed(&["--until", "yesterday"]), [""; 0]);
    bench.ok(&["job", "close", "J-2", "--why", "a try"]);
    assert_eq!(listed(&["--state", "closed"]), ["J-2"]);
    assert_eq!(listed(&["--state", "open"]), ["J-1", "J-3"]);
    assert_eq!(
        bench.lines(&["readings", "--since", "2001-01-01", "--until", "2001-01-02"]).len(),
        0
    );
    assert_eq!(bench.lines(&["readings", "J-1", "--since", "yesterday"]).len(), 16);
}

#[test]
fn a_filter_without_sense_is_refused_and_a_slip_is_helped() {
    let bench = three_jobs();
    for (arguments, sentence) in [
        (&["readings", "--level", "note"][..], "--level does not tell readings apart"),
        (&["verdicts", "--kind", "out"], "it goes with: tenths alerts"),
        (&["alerts", "--verdict", "conforms"], "it goes with: tenths readings, tenths verdicts"),
        (&["job", "list", "--part", "ring"], "--part does not tell jobs apart"),
        (&["job", "list", "--gauge", "plate"], "--gauge does not tell jobs apart"),
        (&["job", "list", "--state", "placed"], "one of: open, closed"),
        (&["alerts", "--kind", "outt"], "one of: "),
        (&["verdicts", "--verdict", "good"], "one of: conforms, "),
        (&["verdicts", "--state", "conforms", "--verdict", "undecided"], "leave one of them out"),
        (&["readings", "--first", "3", "--last", "3"], "--last"),
        (&["readings", "--decimal", "comma"], "--csv"),
        (&["readings", "--since", "2027-02-30"], "is not a time"),
        (&["readings", "--since", "today", "--until", "yesterday"], "is later than --until"),
        (&["readings", "--last", "0"], "--last"),
        (&["readings", "--gauge", "plaet"], "there is no gauge \"plaet\"; there is plate"),
        (&["verdicts", "--gauge", "PLATE", "--json"], "there is plate"),
        (&["alerts", "--gauge", "lathe-seven"], "there is no gauge \"lathe-seven\""),
        (&["verdicts", "--verdict", "conform"], "did you mean conforms? one of: conforms, "),
        (&["readings", "--check", "ring/fcae"], "there is no check \"fcae\"; there is face"),
        (&["readings", "--after", "J-1"], "--after"),
        (&["readings", "--part", "rnig"], "there is no part \"rnig\"; there is ring"),
        (&["readings", "J-1", "--check", "fcae"], "there is no check \"fcae\"; there is face"),
        (&["verdicts", "--serial", "SP 7713"], "there is no serial \"SP 7713\"; there is SP 7731"),
        (&["alerts", "--who", "anne"], "there is no person \"anne\"; there is ann"),
        (&["job", "list", "--customer", "reed"], "there is no customer \"reed\""),
        (&["readings", "J-11"], "no job is named \"J-11\", nor is a spindle; there is J-1"),
        (&["job", "show", "0816"], "there is J-2 (serial 0815)"),
    ] {
        let err = as_told(bench.refused(2, arguments));
        assert!(err.contains(sentence), "{arguments:?}: {err}");
        assert!(err.contains("\nhint: "), "{arguments:?}: {err}");
    }
}

#[test]
fn what_a_table_prints_can_be_asked_for() {
    let bench = three_jobs();
    let ids = |arguments: &[&str]| values(&bench.lines(arguments), "id");
    let out = ids(&["verdicts", "--verdict", "does-not-conform"]);
    assert_eq!(out.len(), 1);
    assert_eq!(ids(&["verdicts", "--verdict", "DOES NOT CONFORM"]), out);
    assert_eq!(ids(&["verdicts", "--state", "Does Not Conform"]), out);
    let face = ids(&["readings", "J-1", "--part", "ring", "--check", "face"]);
    assert_eq!(face.len(), 8);
    assert_eq!(ids(&["readings", "J-1", "--check", "ring/face"]), face);
    assert_eq!(ids(&["readings", "--state", "VOID"]).len(), 0, "nothing was taken back");
}

#[test]
fn a_job_is_found_by_what_is_on_the_part() {
    let bench = three_jobs();
    for typed in ["J-2", "j-2", "0815", " 0815\r\n"] {
        let readings = bench.lines(&["readings", typed]);
        assert_eq!((readings.len(), values(&readings, "job")), (8, vec!["J-2".to_owned()]));
        assert_eq!(bench.lines(&["job", "show", typed])[0]["name"], "J-2");
        assert!(bench.ok(&["report", typed]).contains("J-2"), "{typed:?}");
        assert!(bench.ok(&["sheet", typed]).contains("J-2"), "{typed:?}");
    }
    // Several jobs: who looks is shown the newest and told; what is kept or read by a script has to
    // name one.
    for looks in
        [&["readings", "SP 7731"][..], &["verdicts", "SP 7731"], &["job", "show", "sp 7731"]]
    {
        let output = bench.run(looks);
        let err = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(0), "{looks:?}: {err}");
        assert!(err.contains("This is J-3, the newest of 2 jobs of serial"), "{looks:?}: {err}");
        assert!(err.contains("before it: J-1."), "{looks:?}: {err}");
        let out = String::from_utf8(output.stdout).unwrap();
        assert!(out.contains("J-3") && !out.contains("J-1"), "{out}");
    }
    for keeps in [
        &["report", "SP 7731"][..],
        &["sheet", "SP 7731"],
        &["readings", "SP 7731", "--json"],
        &["verdicts", "SP 7731", "--csv"],
        &["job", "show", "SP 7731", "--json"],
    ] {
        let err = as_told(bench.refused(2, keeps));
        assert!(err.contains("has 2 jobs, newest first: J-3, J-1"), "{keeps:?}: {err}");
        assert!(err.contains("\nhint: name the job that is meant; the newest is J-3"), "{err}");
    }
}

#[test]
fn pages_join_and_each_names_the_next() {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan() });
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face"]);
    bench.ok(&IN);
    for _ in 0..9 {
        bench.ok(&["remeasure", "ground", "ring/face"]);
        bench.ok(&IN);
    }
    let last = bench.verdict("J-1", 10);
    let newest = bench.placed("J-1").pop().unwrap()["id"].to_string();
    bench.ok(&["void", &newest]);
    bench.ok(&["enter", "0.00001"]);
    bench.until("another verdict", || bench.lines(&["verdicts", "J-1", "--all"]).len() > 11);
    let all: Vec<u64> =
        bench.readings("J-1").iter().map(|line| line["id"].as_u64().unwrap()).collect();
    assert_eq!(all.len(), 81, "a script gets everything");
    let table = |arguments: &[&str]| -> (Vec<u64>, String) {
        let output = bench.run(arguments);
        assert_eq!(output.status.code(), Some(0));
        let out = String::from_utf8(output.stdout).unwrap();
        let id = |line: &str| line.split_whitespace().next()?.parse().ok();
        (out.lines().skip(1).filter_map(id).collect(), String::from_utf8(output.stderr).unwrap())
    };
    let (ids, said) = table(&["readings", "J-1"]);
    assert_eq!(ids, all[31..]);
    let next = all[31].to_string();
    assert_eq!(said, format!("There are older ones; the next page: --before {next}\n"));
    let (ids, said) = table(&["readings", "J-1", "--before", &next]);
    assert_eq!((ids.as_slice(), said.as_str()), (&all[..31], ""));
    let (ids, said) = table(&["readings", "J-1", "--first", "10"]);
    assert_eq!(ids, all[..10]);
    let next = format!("There are newer ones; the next page: --after {} --first 10\n", all[9]);
    assert_eq!(said, next);
    let (ids, said) = table(&["readings", "J-1", "--after", &all[9].to_string()]);
    assert_eq!(ids, all[10..60]);
    assert!(said.ends_with(&format!("--after {}\n", all[59])), "{said}");
    let (ids, said) = table(&["readings", "J-1", "--all"]);
    assert_eq!((ids, said.as_str()), (all.clone(), ""));
    let page = bench.lines(&["readings", "--after", &all[3].to_string(), "--first", "5"]);
    let page: Vec<u64> = page.iter().map(|line| line["id"].as_u64().unwrap()).collect();
    assert_eq!(page, all[4..9]);
    let (_, said) = table(&["verdicts", "J-1"]);
    assert_eq!(said, "2 superseded verdicts are not shown; --all shows them.\n");
    let (ids, said) = table(&["verdicts", "J-1", "--all", "--last", "2"]);
    assert!(ids.len() == 2 && said.starts_with("There are older ones"), "{said}");
    assert!(ids[0] > last["id"].as_u64().unwrap());
}

/// The headings of each sort of record as the document of version 1 has them.
fn documented() -> Vec<String> {
    let text = include_str!("../../docs/csv.md");
    assert!(text.contains("**This is version 1.**"));
    let blocks = text.split("```csv\n").skip(1);
    blocks.map(|block| block.lines().next().unwrap().to_owned()).collect()
}

#[test]
fn the_columns_of_version_1_stay_as_they_are() {
    let bench = three_jobs();
    let commands = [&["readings"][..], &["verdicts"], &["alerts"], &["job", "list"]];
    let documented = documented();
    assert_eq!(documented.len(), commands.len());
    for (command, headings) in commands.iter().zip(&documented) {
        let all: Vec<_> = command.iter().copied().chain(["--csv"]).collect();
        assert_eq!(bench.ok(&all).lines().next().unwrap(), headings);
    }
    // Beside the document: what a reader of files of version 1 was promised when it was written.
    assert_eq!(
        documented[0],
        "id,at,gauge,source,file,row,job,part,check,attempt,position,angle_deg,radius,station,value,\
         unit,as_sent,state,why,by,voided_by"
    );
    assert_eq!(
        documented[2],
        "id,at,level,kind,job,part,check,gauge,text,cleared_at,acked_at,acked_by"
    );
    assert_eq!(documented[3], "id,name,state,plan,serial,customer,by,opened_at,closed_at,step");
    assert!(documented[1].starts_with("id,at,job,part,check,attempt,reason,tries,measures,value,"));
    assert!(
        documented[1].contains(",figures.took_off.more_deg,advice,reasons,superseded_by,standing,")
    );
    let (promised, added) = documented[1].split_once(",touches,").unwrap();
    assert!(promised.ends_with(",figures.zero_walk,figures.zero,by"));
    assert_eq!(promised.split(',').count(), 82);
    // Later kinds of check put theirs behind.
    assert!(added.starts_with("repeat_pairs,repeat_df,figures.as_read,figures.drift,"), "{added}");
}

#[test]
fn values_for_a_spreadsheet_come_back_as_they_were() {
    let bench = three_jobs();
    bench.ok(&["void", "--why", HOSTILE]);
    let records = |arguments: &[&str], between: u8| -> Vec<csv::StringRecord> {
        let text = bench.ok(arguments);
        let mut reader = csv::ReaderBuilder::new().delimiter(between).from_reader(text.as_bytes());
        reader.records().map(Result::unwrap).collect()
    };
    let json = bench.lines(&["readings"]);
    let plain = records(&["readings", "--csv"], b',');
    let comma = records(&["readings", "--csv", "--decimal", "comma"], b';');
    assert_eq!((plain.len(), comma.len()), (json.len(), json.len()));
    let headings = documented()[0].split(',').map(str::to_owned).collect::<Vec<_>>();
    for ((line, plain), comma) in json.iter().zip(&plain).zip(&comma) {
        for (at, heading) in headings.iter().enumerate() {
            let told = match &line[heading] {
                Value::Null => String::new(),
                Value::String(text) => text.clone(),
                other
                @ (Value::Bool(_) | Value::Number(_) | Value::Array(_) | Value::Object(_)) => {
                    other.to_string()
                }
            };
            if heading == "why" && !told.is_empty() {
                assert!(plain[at].starts_with("'=1+1;'@x\\x1b[2J"), "{}", &plain[at]);
                assert!(plain[at].ends_with("|-1"), "{}", &plain[at]);
                assert_eq!(comma[at], plain[at]);
                continue;
            }
            assert_eq!(plain[at], told, "{heading}");
            let figure = ["angle_deg", "radius", "station", "value"].contains(&heading.as_str());
            let expected = if figure { told.replace('.', ",") } else { told };
            assert_eq!(comma[at], expected, "{heading}");
        }
    }
    let verdicts = records(&["verdicts", "--csv", "--decimal", ","], b';');
    assert!(verdicts.iter().all(|row| row[9].starts_with("0,") && row[11] == *"0,0001"));
    assert!(verdicts.iter().all(|row| row[1].contains('.') && !row[1].contains(',')));
}

/// Runs a command with its output in a terminal of so many columns; what the terminal got.
fn in_terminal(bench: &Bench, columns: u16, arguments: &[&str]) -> String {
    let flags = OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC;
    let master = openpt(flags).unwrap();
    grantpt(&master).unwrap();
    unlockpt(&master).unwrap();
    let name = ptsname(&master, Vec::new()).unwrap().into_string().unwrap();
    let slave: OwnedFd = File::options().read(true).write(true).open(&name).unwrap().into();
    let size = Winsize { ws_row: 24, ws_col: columns, ws_xpixel: 0, ws_ypixel: 0 };
    tcsetwinsize(&slave, size).unwrap();
    let mut command = bench.command(arguments);
    command.stdout(Stdio::from(slave.try_clone().unwrap())).stderr(Stdio::from(slave));
    let mut child = command.spawn().unwrap();
    // The command holds the near end as well, and the read below ends when nobody does.
    drop(command);
    let mut bytes = Vec::new();
    let mut chunk = [0; 4096];
    let mut far = File::from(master);
    while let Ok(count @ 1..) = far.read(&mut chunk) {
        bytes.extend_from_slice(&chunk[..count]);
    }
    assert_eq!(child.wait().unwrap().code(), Some(0), "{arguments:?}");
    String::from_utf8(bytes).unwrap()
}

#[test]
fn hostile_text_in_every_free_field_breaks_no_table() {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan() });
    bench.start();
    let long = format!("{HOSTILE}{}{HOSTILE}", "long ".repeat(2_000));
    let free = ["--serial", &long, "--customer", &long, "--by", "=1+1;@x|-1"];
    let open: Vec<_> = ["job", "open", "J-1", "--plan", "held"].into_iter().chain(free).collect();
    bench.ok(&open);
    // A name stands in columns and on the page: it is short and plain.
    bench.refused(2, &["note", "J-1", "x", "--by", &long]);
    bench.ok(&["measure", "ring/face", "--remark", &long]);
    bench.ok(&IN);
    bench.verdict("J-1", 1);
    bench.ok(&["void", "--why", &long]);
    bench.ok(&["note", "J-1", &long]);
    bench.ok(&["replace", "ring", "--serial", &long, "--why", &long]);
    let commands = [
        &["job", "list"][..],
        &["job", "show", "J-1"],
        &["readings", "--all"],
        &["verdicts", "--all"],
        &["alerts", "--all"],
    ];
    for columns in [40, 80, 132] {
        for command in commands {
            let text = in_terminal(&bench, columns, command);
            let steers = |c: char| (c.is_control() && !"\r\n".contains(c)) || c == '\u{202e}';
            assert!(!text.contains(steers), "{command:?}: {text:?}");
            assert!(!text.replace("\r\n", "\n").contains('\r'), "{command:?}: {text:?}");
            if command != ["job", "show", "J-1"] {
                let table = text.lines().filter(|line| !line.starts_with("No room for"));
                let table = table.filter(|line| !line.contains("are cut"));
                let widest = table.map(|line| line.trim_end().chars().count()).max().unwrap_or(0);
                assert!(widest <= usize::from(columns), "{command:?} in {columns}:\n{text}");
            }
        }
    }
    let listed = in_terminal(&bench, 80, &["job", "list"]);
    assert!(
        listed.contains("J-1") && listed.contains('…') && listed.contains("are cut"),
        "{listed}"
    );
    let told = bench.lines(&["job", "list"]).remove(0);
    assert_eq!(told["serial"].as_str().unwrap(), long, "the record has it whole");
    // Nothing is close to ten thousand letters, and looking for it takes no time.
    bench.refused(2, &["job", "show", &long[..9_000]]);
    bench.refused(2, &["readings", "--part", &long]);
}

#[test]
fn a_narrow_window_names_what_it_leaves_out() {
    let bench = three_jobs();
    let text = in_terminal(&bench, 60, &["verdicts", "J-1"]);
    assert!(text.contains("DOES NOT CONFORM") && text.contains("CONFORMS"), "{text}");
    let left_out = text.lines().find(|line| line.starts_with("No room for: ")).unwrap();
    assert!(left_out.contains("rule") && left_out.contains("time"), "{left_out}");
    let wide = in_terminal(&bench, 240, &["verdicts", "J-1"]);
    assert!(!wide.contains("No room for"), "{wide}");
    assert!(wide.contains("rule") && wide.contains("time"), "{wide}");
}

mod compare;
