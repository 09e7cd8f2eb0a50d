//! Look-ups over the whole shop, on a real PostgreSQL: what is asked there has the lines of the bench.

use std::fs;
use std::process::Output;

use serde_json::Value;

use crate::handover::shop::{Shop, ring_bench, shop};
use crate::postgres::{DATABASE, Postgres};
use crate::rig::Bench;
use crate::shop::{Forward, arrives};

/// Fifty questions. `JOB` is a job with something of everything.
const QUESTIONS: [&str; 50] = [
    "readings",
    "readings wh-1",
    "readings WH-1",
    "readings wh-2",
    "readings wh-1 --state void",
    "readings wh-1 --state placed",
    "readings --state unclaimed",
    "readings --gauge plate",
    "readings --gauge height",
    "readings --part ring",
    "readings --check face",
    "readings --check ring/length",
    "readings --verdict does-not-conform",
    "readings --verdict conforms",
    "readings --last 1",
    "readings --last 7",
    "readings --first 5",
    "readings --last 1000",
    "readings --after 20 --first 4",
    "readings --before 40 --last 4",
    "readings --serial 77",
    "readings --customer sons",
    "readings --who ada",
    "readings --since 2027-01-01",
    "readings --until 2001-01-01",
    "verdicts",
    "verdicts --all",
    "verdicts wh-1",
    "verdicts wh-1 --all",
    "verdicts wh-2",
    "verdicts --verdict incomplete",
    "verdicts --state does-not-conform",
    "verdicts --last 2",
    "verdicts --first 1 --all",
    "verdicts --gauge height",
    "verdicts --check ring/face",
    "verdicts --customer müller",
    "alerts",
    "alerts --state open",
    "alerts --state cleared",
    "alerts --level note",
    "alerts --level interrupt --last 3",
    "alerts wh-1",
    "job list",
    "job list --state open",
    "job list --state closed",
    "job list --serial 77",
    "job list --last 1",
    "job show wh-1",
    "job compare wh-1 wh-2",
];

/// The jobs of that bench, with pictures and an alert that was seen.
fn north(server: &Postgres) -> Bench {
    let Shop { bench } = shop();
    let picture = bench.path("as-it-came.png");
    image::RgbImage::new(9, 7).save(&picture).unwrap();
    let picture = picture.to_str().unwrap();
    bench.ok(&["attach", "wh-2", picture, "--to", "ring/face", "--what", "rust"]);
    bench.ok(&["job", "intake", "wh-2", "--complaint", "whines"]);
    bench.ok(&["job", "edit", "wh-2", "--customer", "Sons of Mills", "--why", "mistyped"]);
    bench.ok(&["note", "wh-2", "came in dirty"]);
    joins(&bench, server, "north");
    bench
}

/// Names the shop in the configuration of a bench.
pub(crate) fn joins(bench: &Bench, server: &Postgres, name: &str) {
    let file = bench.path("bench.toml");
    let text = fs::read_to_string(&file).unwrap() + "\n" + &server.table(name);
    fs::write(file, text).unwrap();
}

/// Everything of a bench is sent on.
pub(crate) fn sent(server: &Postgres, name: &str, bench: &Bench) {
    let forward = Forward::of(bench);
    arrives(server, bench, name);
    assert_eq!(forward.ended(), Some(0));
}

/// The questions as arguments.
fn asked(question: &str, more: &[&str]) -> Vec<String> {
    question.split(' ').chain(more.iter().copied()).map(str::to_owned).collect()
}

fn run(bench: &Bench, question: &str, more: &[&str]) -> Output {
    let arguments = asked(question, more);
    bench.run(&arguments.iter().map(String::as_str).collect::<Vec<_>>())
}

/// Exit code, standard output and standard error.
fn told(output: &Output) -> (Option<i32>, String, String) {
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    (output.status.code(), text(&output.stdout), text(&output.stderr))
}

/// Lines without what says on which bench they are; every one of them has it.
#[track_caller]
fn without_bench(text: &str, bench: &str) -> Vec<Value> {
    let line = |line: &str| {
        let mut line: Value = serde_json::from_str(line).unwrap();
        if line["schema"] == "comparison/1" {
            for job in line["jobs"].as_array_mut().unwrap() {
                assert_eq!(job.as_object_mut().unwrap().remove("bench"), Some(bench.into()));
            }
        } else {
            assert_eq!(line.as_object_mut().unwrap().remove("bench"), Some(bench.into()), "{line}");
        }
        line
    };
    text.lines().map(line).collect()
}

fn plain(text: &str) -> Vec<Value> {
    text.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

#[test]
fn the_same_questions_have_the_same_lines_on_the_bench_and_in_the_shop() {
    let server = Postgres::of_a_shop(&["north", "south"]);
    let mut bench = north(&server);
    bench.stop();
    sent(&server, "north", &bench);
    // What nobody but the bench can know is left out: whether its plan files changed since.
    let mut lines = 0;
    for question in QUESTIONS {
        let numbered = question.contains("--after") || question.contains("--before");
        let (code, here, err) = told(&run(&bench, question, &["--json"]));
        let mut here = plain(&here);
        for line in &mut here {
            if question.starts_with("job show") {
                line["plan_changed"] = Value::Null;
            }
        }
        for more in [&["--shop", "--bench", "north"][..], &["--shop"]] {
            if numbered && more.len() == 1 {
                continue;
            }
            let (found, there, said) = told(&run(&bench, question, &[more, &["--json"]].concat()));
            assert_eq!(found, code, "{question} {more:?}: {said} {err}");
            let there = without_bench(&there, "north");
            assert_eq!(there, here, "{question} {more:?}");
            lines += there.len();
        }
    }
    assert!(lines > 500, "{lines}");
    in_other_forms(&bench);
}

/// Separated values have one column more, tables too; a report is the same page.
fn in_other_forms(bench: &Bench) {
    for question in ["readings", "verdicts --all", "alerts", "job list", "readings wh-1 --last 3"] {
        let (_, here, _) = told(&run(bench, question, &["--csv"]));
        let (_, there, _) = told(&run(bench, question, &["--shop", "--csv"]));
        let cut = |line: &str| {
            line.rsplit_once(',').map(|(line, last)| (line.to_owned(), last.to_owned()))
        };
        let there: Vec<(String, String)> = there.lines().filter_map(cut).collect();
        assert_eq!(there[0].1, "bench", "{question}");
        assert!(there[1..].iter().all(|(_, bench)| bench == "north"), "{question}");
        let there: Vec<&str> = there.iter().map(|(line, _)| line.as_str()).collect();
        assert_eq!(there.join("\n"), here.trim_end(), "{question}");
        let (_, table, _) = told(&run(bench, question, &["--shop"]));
        let rows = table.lines().skip(1).filter(|line| line.starts_with("north")).count();
        assert!(table.starts_with("bench") && rows > 0, "{table}");
    }
    for job in ["wh-1", "wh-2", "WH-2"] {
        let (_, here, _) = told(&run(bench, "report", &[job]));
        let (code, there, said) = told(&run(bench, "report", &[job, "--shop"]));
        assert_eq!(code, Some(0), "{said}");
        assert!(here.contains("</html>") && there == here, "{job}");
    }
}

#[test]
fn a_record_comes_back_from_the_shop_as_it_was() {
    let server = Postgres::of_a_shop(&["north", "south"]);
    let mut bench = north(&server);
    // A block of 256 rows is complete, and has its seal in the shop.
    for number in 0..160 {
        bench.ok(&["note", "wh-2", &format!("remark {number}")]);
    }
    let busy = bench.refused(3, &["restore", "--from-shop", "north"]);
    assert!(busy.contains("stop the service first"), "{busy}");
    bench.stop();
    sent(&server, "north", &bench);
    let exported = |bench: &Bench, job: &str, to: &str| {
        let to = bench.path(to);
        bench.ok(&["export", job, "--out", to.to_str().unwrap()]);
        let mut files: Vec<_> = walk(&to);
        files.sort();
        files
            .iter()
            .map(|at| (at.strip_prefix(&to).unwrap().to_owned(), fs::read(at).unwrap()))
            .collect::<Vec<_>>()
    };
    let before = ["wh-1", "wh-2"].map(|job| exported(&bench, job, &format!("before-{job}")));
    // The disk of the bench is gone.
    fs::remove_dir_all(&bench.state).unwrap();
    fs::create_dir(&bench.state).unwrap();
    let told = bench.ok(&["restore", "--from-shop", "north"]);
    assert!(told.contains("is the record now"), "{told}");
    let left: Vec<_> =
        fs::read_dir(&bench.state).unwrap().map(|one| one.unwrap().file_name()).collect();
    assert!(!left.contains(&".from-shop".into()), "{left:?}");
    let after = ["wh-1", "wh-2"].map(|job| exported(&bench, job, &format!("after-{job}")));
    assert_eq!(before, after);
    let verified = bench.ok(&["verify"]);
    assert!(!verified.contains("NOT"), "{verified}");
    bench.start();
    bench.ok(&["note", "wh-2", "and on it goes"]);
    // A row of the shop that is not what the bench sealed is found before anything is put in place.
    bench.stop();
    server.sql(DATABASE, "UPDATE fact SET by_whom = 'Ida' WHERE bench = 'north' AND seq = 3");
    let refused = bench.refused(3, &["restore", "--from-shop", "north"]);
    assert!(refused.contains("the rows 1 to 255 are not those that the bench sealed"), "{refused}");
    let nobody = bench.refused(2, &["restore", "--from-shop", "west"]);
    assert!(nobody.contains("the shop has no bench \"west\"; there is north"), "{nobody}");
    assert_eq!(bench.ok(&["job", "show", "wh-2"]).matches("and on it goes").count(), 1);
}

fn walk(folder: &std::path::Path) -> Vec<std::path::PathBuf> {
    if folder.is_file() {
        return vec![folder.to_owned()];
    }
    let entries = fs::read_dir(folder).unwrap().map(|one| one.unwrap().path());
    entries.flat_map(|at| walk(&at)).collect()
}

#[test]
fn two_benches_have_a_job_of_the_same_name() {
    let server = Postgres::of_a_shop(&["north", "south"]);
    let mut bench = north(&server);
    let bundle = bench.path("bundle");
    bench.ok(&["export", "wh-1", "--out", bundle.to_str().unwrap()]);
    bench.stop();
    sent(&server, "north", &bench);
    let mut other = ring_bench();
    joins(&other, &server, "south");
    other.ok(&["import", bundle.to_str().unwrap()]);
    other.start();
    other.ok(&["job", "open", "s-9", "--plan", "held", "--serial", "77", "--by", "Bo"]);
    other.ok(&["measure", "ring/face"]);
    other.ok(&["enter", "0.00001", "0.00003"]);
    other.stop();
    sent(&server, "south", &other);
    for question in ["readings wh-1", "job show wh-1", "report wh-1"] {
        let (code, _, said) = told(&run(&bench, question, &["--shop"]));
        assert_eq!(code, Some(2), "{said}");
        assert!(
            said.contains("wh-1 of north, wh-1 of south") && said.contains("--bench NAME"),
            "{said}"
        );
    }
    // Each bench answers for itself, whoever asks.
    for (name, whose) in [("north", &bench), ("south", &other)] {
        for question in ["readings wh-1", "verdicts wh-1 --all", "alerts", "job list", "readings"] {
            let (_, here, _) = told(&run(whose, question, &["--json"]));
            let (_, there, said) =
                told(&run(&bench, question, &["--shop", "--bench", name, "--json"]));
            assert_eq!(without_bench(&there, name), plain(&here), "{question} {name}: {said}");
        }
    }
    // Whoever may only read is answered the same.
    let (office, secret) = (bench.path("office.toml"), server.path("office.secret"));
    server.admin(&["shop", "reader", "add", "office", "--to", secret.to_str().unwrap()]);
    let table =
        server.table("office").replace("[shop]\nbench = \"office\"", "[shop]\nbench = \"desk\"");
    fs::write(&office, table.replace("[shop.database]", "[shop.database]\nuser = \"office\""))
        .unwrap();
    let as_office = ["verdicts", "--shop", "--json", "--config", office.to_str().unwrap()];
    assert_eq!(bench.ok(&as_office), bench.ok(&["verdicts", "--shop", "--json"]));
    // The history of a spindle, on whichever bench it was; in the order of time.
    let (_, text, _) = told(&run(&bench, "job list", &["--shop", "--serial", "77", "--json"]));
    let jobs = plain(&text);
    let names: Vec<(&str, &str)> = jobs
        .iter()
        .map(|job| (job["bench"].as_str().unwrap(), job["name"].as_str().unwrap()))
        .collect();
    assert_eq!(names, [("north", "wh-1"), ("south", "wh-1"), ("north", "wh-2"), ("south", "s-9")]);
    let (code, text, said) =
        told(&run(&bench, "job compare", &["--shop", "--serial", "77", "--json"]));
    assert_eq!(code, Some(0), "{said}");
    assert_eq!(plain(&text)[0]["jobs"].as_array().unwrap().len(), 4);
    let (_, text, _) = told(&run(&bench, "job compare", &["--shop", "--serial", "77"]));
    assert!(text.contains("wh-1 (north)") && text.contains("wh-1 (south)"), "{text}");
    let (_, all, _) = told(&run(&bench, "readings", &["--shop", "--json"]));
    let (_, last, _) = told(&run(&bench, "readings", &["--shop", "--json", "--last", "12"]));
    let (all, last) = (plain(&all), plain(&last));
    assert_eq!(last, all[all.len() - 12..]);
    let at = |line: &Value| line["at"].as_str().unwrap().to_owned();
    assert!(all.is_sorted_by_key(at));
    what_cannot_be(&mut bench, server);
}

/// What is asked that nothing can answer, and a database that is not there.
fn what_cannot_be(bench: &mut Bench, mut server: Postgres) {
    for (arguments, exit, says) in [
        (&["readings", "--shop", "--after", "3"][..], 2, "each bench counts its rows by itself"),
        (&["readings", "--shop", "--bench", "west"], 2, "the shop has no bench \"west\""),
        (&["readings", "wh-11", "--shop"], 2, "no job is named \"wh-11\""),
        (&["job", "list", "--shop", "--serial", "79"], 2, "there is no serial \"79\""),
        (&["readings", "--shop", "--gauge", "plat"], 2, "no bench has a reading of gauge \"plat\""),
        (&["readings", "--shop", "--check", "ring/bore"], 2, "there is no check \"bore\""),
    ] {
        let said = bench.refused(exit, arguments);
        assert!(said.contains(says), "{said}");
    }
    assert!(bench.refused_usage(&["readings", "--bench", "north"]).contains("--shop"));
    // Damage is told with what could be read, and a job that is named is whole or an error.
    let damage =
        "UPDATE fact SET body = '{' WHERE bench = 'south' AND kind = 'job-opened' AND key = 's-9'";
    server.sql(DATABASE, damage);
    let (code, text, said) = told(&run(bench, "job list", &["--shop", "--json"]));
    assert_eq!((code, text.lines().count()), (Some(3), 3), "{said}");
    assert!(said.contains("job-opened") && said.contains("tenths verify there"), "{said}");
    let said = bench.refused(3, &["job", "show", "s-9", "--shop"]);
    assert!(said.contains("the record is damaged: fact, row") && said.contains("hint: "), "{said}");
    // A bench's own record is there without the shop.
    server.stop();
    for arguments in
        [&["readings", "--shop"][..], &["report", "wh-1", "--shop"], &["job", "list", "--shop"]]
    {
        let said = bench.refused(3, arguments);
        assert!(said.contains("cannot be reached") && said.contains("hint: "), "{said}");
    }
    bench.ok(&["readings"]);
}
