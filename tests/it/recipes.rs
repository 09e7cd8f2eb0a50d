//! The recipes of `docs/scripts.md`, each run as it stands there, against a bench with a job. A program that is not
//! there is said and its recipes are left out.

use std::fs;
use std::os::unix::fs::symlink;
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

use crate::rig::{Bench, Make, skipped};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeat_ms = 0\nmax_rate = 0";

fn plan() -> String {
    let check = |name: &str| {
        format!(
            "[[part.check]]\nname = \"{name}\"\nmeasures = \"parallelism\"\ngauge = \"plate\"\n\
             setup = \"plate\"\nmoves = \"stand\"\npositions = 8\nradius = \"1.5 in\"\n\
             tolerance = \"0.0001 in\"\nclosure = false\n"
        )
    };
    let part = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n";
    format!("{part}{}{}", check("face"), check("back"))
}

const IN: [&str; 9] =
    ["enter", "0", "0.00001", "0.00002", "0.00002", "0.00001", "0.00000", "-0.00001", "0.00001"];
const OUT: [&str; 9] =
    ["enter", "0", "0.00001", "0.00002", "0.00002", "0.00001", "0.00000", "-0.00001", "0.0009"];

/// A job of which one face conforms and the other does not.
fn bench() -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan() });
    bench.start();
    bench.ok(&["job", "open", "J-1042", "--plan", "held"]);
    for (check, touches) in [("ring/face", IN), ("ring/back", OUT)] {
        bench.ok(&["measure", check]);
        bench.ok(&touches);
    }
    bench.verdict("J-1042", 2);
    fs::create_dir(bench.path("bin")).unwrap();
    symlink(env!("CARGO_BIN_EXE_tenths"), bench.path("bin/tenths")).unwrap();
    bench
}

/// The blocks of the guide in a language, below a sentence that begins with these words.
fn recipe(language: &str, begins: &str) -> String {
    let guide = include_str!("../../docs/scripts.md");
    let below = guide
        .split_once(&format!("\n**{begins}"))
        .unwrap_or_else(|| panic!("no recipe {begins}"))
        .1;
    let fence = format!("```{language}\n");
    let block = below.split_once(&fence).unwrap().1.split_once("```").unwrap().0;
    block.to_owned()
}

/// Whether a program can be run here.
fn is_there(program: &str) -> bool {
    let tried =
        Command::new(program).arg("--version").stdout(Stdio::null()).stderr(Stdio::null()).status();
    let there = tried.is_ok();
    if !there {
        skipped(&format!("recipes with {program}"), "it is not installed");
    }
    there
}

/// A command that finds the program and the bench, in the folder of the bench, with its clock five hours behind UTC.
fn with_bench(bench: &Bench, program: &str, arguments: &[&str]) -> Command {
    let path = std::env::var("PATH").unwrap();
    let mut command = Command::new(program);
    command.args(arguments).current_dir(bench.dir.path());
    command.env("PATH", format!("{}:{path}", bench.path("bin").display()));
    command
        .env("TENTHS_CONFIG", bench.path("bench.toml"))
        .env("TZ", "<-05>5")
        .env("PYTHONUTF8", "1");
    command.stdin(Stdio::null());
    command
}

#[track_caller]
fn out(output: Output) -> String {
    let err = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success() && err.is_empty(), "{} {err}", output.status);
    String::from_utf8(output.stdout).unwrap()
}

fn shell(bench: &Bench, script: &str) -> String {
    out(with_bench(bench, "sh", &["-e", "-c", script]).output().unwrap())
}

fn python(bench: &Bench, begins: &str, arguments: &[&str]) -> Command {
    let script = bench.path("recipe.py");
    fs::write(&script, recipe("python", begins)).unwrap();
    // `-I -S`: neither what the user nor what the site has installed, the standard library alone.
    let script = script.display().to_string();
    let all: Vec<&str> =
        ["-I", "-S", &script].into_iter().chain(arguments.iter().copied()).collect();
    with_bench(bench, "python3", &all)
}

#[test]
fn jq_picks_what_was_out_and_counts_words() {
    if !is_there("jq") {
        return;
    }
    let bench = bench();
    let told = shell(&bench, &recipe("sh", "What was out, since yesterday"));
    assert_eq!(told, "J-1042\tring/back\t0.00091\t0.0001\tin\n");
    let told = shell(&bench, &recipe("sh", "How many verdicts of each word"));
    assert_eq!(told, "{\"conforms\":1,\"does-not-conform\":1}\n");
}

#[test]
fn python_reads_verdicts_with_all_their_digits() {
    if !is_there("python3") {
        return;
    }
    let bench = bench();
    let told = out(python(&bench, "Python**, with nothing but", &[]).output().unwrap());
    // 0.00003 and 0.00091 of 0.0001.
    assert_eq!(told, "ring/face: 30% used, conforms\nring/back: 910% used, does-not-conform\n");
    // What is refused ends it with the program's own sentence.
    let script = recipe("python", "Python**, with nothing but").replace("J-1042", "J-1043");
    let wrong = with_bench(&bench, "python3", &["-I", "-S", "-c", &script]).output().unwrap();
    let err = String::from_utf8_lossy(&wrong.stderr);
    assert!(!wrong.status.success() && err.starts_with("no job is named \"J-1043\""), "{err}");
}

#[test]
fn python_goes_on_where_it_stopped() {
    if !is_there("python3") {
        return;
    }
    let bench = bench();
    // Runs the script until it has printed so many lines.
    let heard = |count: usize| {
        let file = bench.path("heard");
        let mut script = python(&bench, "Python: do something for each verdict", &[]);
        let mut script = script.stdout(fs::File::create(&file).unwrap()).spawn().unwrap();
        let start = Instant::now();
        let text = || fs::read_to_string(&file).unwrap();
        while text().lines().count() < count && start.elapsed() < Duration::from_secs(20) {
            std::thread::sleep(Duration::from_millis(30));
        }
        // A moment more: nothing may come twice.
        std::thread::sleep(Duration::from_millis(400));
        script.kill().unwrap();
        script.wait().unwrap();
        text()
    };
    assert_eq!(heard(2), "J-1042 ring/face conforms\nJ-1042 ring/back does-not-conform\n");
    bench.ok(&["remeasure", "ground", "ring/back"]);
    bench.ok(&IN);
    bench.verdict("J-1042", 3);
    assert_eq!(heard(1), "J-1042 ring/back conforms\n");
}

#[test]
fn python_asks_the_service_over_its_socket() {
    if !is_there("python3") {
        return;
    }
    let bench = bench();
    let state = bench.state.display().to_string();
    let told = out(python(&bench, "Python: ask the service", &[&state]).output().unwrap());
    assert_eq!(told, "noted/1\n");
    assert!(bench.ok(&["job", "show", "J-1042"]).contains("came in dirty"));
}

#[test]
fn python_hands_points_on_without_a_file() {
    if !is_there("python3") {
        return;
    }
    let bench = bench();
    let told = out(python(&bench, "Python: points from another program", &[]).output().unwrap());
    // Three lobes of ±1.5 um: the two circles are 3 um apart, by hand.
    let width: f64 = told.trim().parse().unwrap();
    assert!((width - 3.0).abs() < 0.002, "{told}");
}

#[test]
fn a_file_for_a_spreadsheet_is_read_with_its_marks() {
    let bench = bench();
    assert_eq!(shell(&bench, &recipe("sh", "A file for a spreadsheet")), "");
    let text = fs::read_to_string(bench.path("verdicts.csv")).unwrap();
    let head = "\u{feff}job;part;check;at;value;limits.max;uncertainty;unit;verdict\n";
    assert!(text.starts_with(head) && text.contains(";0,00091;0,0001;0,00002"), "{text}");
    if is_there("python3") {
        let read = "import csv\nfor row in csv.DictReader(open('verdicts.csv', encoding='utf-8-sig'), delimiter=';'):\n    \
                    print(row['check'], row['value'].replace(',', '.'), row['verdict'])\n";
        let told = out(with_bench(&bench, "python3", &["-I", "-S", "-c", read]).output().unwrap());
        assert_eq!(told, "face 0.00003 conforms\nback 0.00091 does-not-conform\n");
    }
}

/// What two spreadsheets make of the file, where they are installed: a length is a number and a time is a time. Both
/// open it without a person; a person answers what they ask with what stands in `docs/scripts.md`.
#[test]
fn a_spreadsheet_takes_lengths_for_numbers_and_times_for_times() {
    let (office, gnumeric) = (is_there("soffice"), is_there("ssconvert"));
    if !office && !gnumeric {
        return;
    }
    let bench = bench();
    let script = recipe("sh", "A file for a spreadsheet");
    shell(&bench, &script);
    shell(&bench, &script.replace("comma", "point").replace("verdicts.csv", "point.csv"));
    if office {
        // Separator, quote, UTF-8, first line, formats, language of the numbers (German, American), as the window has them.
        for (file, language) in
            [("verdicts.csv", "59,34,76,1,,1031"), ("point.csv", "44,34,76,1,,1033")]
        {
            let profile =
                format!("-env:UserInstallation=file://{}", bench.path("office").display());
            let filter = format!("--infilter=Text - txt - csv (StarCalc):{language},false,true");
            let arguments = [&profile, "--headless", &filter, "--convert-to", "fods", file];
            let output = with_bench(&bench, "soffice", &arguments).output().unwrap();
            let book = bench.path(file).with_extension("fods");
            let book = fs::read_to_string(book).unwrap_or_else(|why| panic!("{why} {output:?}"));
            assert!(
                book.contains("office:value-type=\"float\" office:value=\"0.00091\""),
                "{book}"
            );
            let times = book.matches("office:value-type=\"date\" office:date-value=\"20").count();
            assert_eq!(times, 2, "{book}");
        }
    }
    if gnumeric {
        // By itself it parts the cells of such a file at commas.
        let mut convert = with_bench(&bench, "ssconvert", &["point.csv", "book.gnumeric"]);
        assert!(convert.env("LC_ALL", "C.UTF-8").output().unwrap().status.success());
        let book = out(with_bench(&bench, "gzip", &["-dc", "book.gnumeric"]).output().unwrap());
        assert!(book.contains("ValueType=\"40\">0.0009100000"), "{book}");
        assert_eq!(book.matches("ValueType=\"40\" ValueFormat=\"yyyy-mm-dd").count(), 2, "{book}");
    }
}
