//! What a shell completes: commands, options, and what there is at the moment of the key.

use std::collections::BTreeSet;
use std::path::Path;
use std::process::Command;

use crate::rig::{Bench, Make};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"";

const PLAN: &str = r#"
name = "held"
unit = "in"
[[part]]
name = "ring"
kind = "spacer"
[[part.check]]
name = "face-a"
measures = "parallelism"
gauge = "plate"
setup = "plate"
positions = 8
radius = "1.5 in"
tolerance = "0.0001 in"
[[part]]
name = "nut"
kind = "nut"
[[part.check]]
name = "slot"
measures = "entry"
question = "slot"
"#;

fn bench() -> Bench {
    let more = "[[station]]\nname = \"bench\"\ngauges = [\"plate\"]\n";
    let mut bench = Bench::new(&Make { gauge: GAUGE, more, plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "J-1042", "--plan", "held", "--serial", "SP-7"]);
    bench.ok(&["job", "open", "J-1043", "--plan", "held"]);
    bench
}

/// What bash offers behind these words, the last of which is being typed: the script is the one that the program
/// prints, and the shell a real one.
fn offered(bench: &Bench, typed: &[&str]) -> BTreeSet<String> {
    let words: Vec<String> = typed.iter().map(|word| format!("'{word}'")).collect();
    let last = typed.last().unwrap();
    let script = format!(
        "source <(tenths completions bash); COMP_WORDS=(tenths {}); COMP_CWORD={}; COMP_TYPE=9; \
         _clap_complete_tenths tenths '{last}'; printf '%s\\n' \"${{COMPREPLY[@]}}\"",
        words.join(" "),
        typed.len()
    );
    let program = Path::new(env!("CARGO_BIN_EXE_tenths")).parent().unwrap();
    let path = format!("{}:{}", program.display(), std::env::var("PATH").unwrap());
    let output = Command::new("bash")
        .args(["--norc", "--noprofile", "-c", &script])
        .env("PATH", path)
        .env("TENTHS_CONFIG", bench.path("bench.toml"))
        .output()
        .unwrap();
    let err = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(err.is_empty(), "{typed:?}: {err}");
    let text = String::from_utf8(output.stdout).unwrap();
    text.lines().map(str::trim).filter(|line| !line.is_empty()).map(str::to_owned).collect()
}

#[track_caller]
fn offers(bench: &Bench, typed: &[&str], all: &[&str]) {
    let found = offered(bench, typed);
    for one in all {
        assert!(found.contains(*one), "{typed:?} offers {one}: {found:?}");
    }
}

#[test]
fn a_shell_completes_commands_and_what_there_is_at_that_moment() {
    let bench = bench();
    offers(&bench, &["rem"], &["remeasure"]);
    offers(&bench, &["remeasure", ""], &["ground", "cleaned", "again"]);
    offers(&bench, &["job", "show", ""], &["J-1042", "J-1043"]);
    offers(&bench, &["job", "close", "J-10"], &["J-1042", "J-1043"]);
    offers(&bench, &["report", "J"], &["J-1042", "J-1043"]);
    offers(&bench, &["readings", ""], &["J-1042", "J-1043"]);
    offers(&bench, &["measure", ""], &["ring/face-a", "nut/slot"]);
    offers(&bench, &["measure", "r"], &["ring/face-a"]);
    offers(&bench, &["record", "nut/"], &["nut/slot"]);
    offers(&bench, &["verdicts", "--check", ""], &["ring/face-a", "nut/slot"]);
    offers(&bench, &["verdicts", "--verdict", ""], &["conforms", "does-not-conform", "undecided"]);
    offers(&bench, &["alerts", "--kind", "o"], &["out", "out-so-far", "overdue"]);
    offers(&bench, &["decide", ""], &["ring", "nut"]);
    offers(&bench, &["job", "open", "J-9", "--plan", ""], &["held"]);
    offers(&bench, &["plan", "show", ""], &["held"]);
    offers(&bench, &["prove", ""], &["plate"]);
    offers(&bench, &["readings", "--gauge", "p"], &["plate"]);
    offers(&bench, &["next", "--station", ""], &["bench"]);
    // A job that is opened is offered from then on; a name that is taken is not offered for a new one.
    assert!(!offered(&bench, &["job", "use", ""]).contains("J-2"));
    bench.ok(&["job", "open", "J-2", "--plan", "held"]);
    offers(&bench, &["job", "use", ""], &["J-2"]);
    assert!(!offered(&bench, &["job", "open", ""]).contains("J-2"));
    // No flag of its own comes where a value belongs.
    assert!(!offered(&bench, &["measure", "r"]).contains("nut/slot"));
}

#[test]
fn without_a_bench_a_shell_completes_commands_and_is_told_nothing_else() {
    let mut bench = bench();
    bench.stop();
    // The record is there although no service runs.
    offers(&bench, &["job", "show", ""], &["J-1042"]);
    std::fs::write(bench.path("bench.toml"), "no configuration").unwrap();
    offers(&bench, &["rem"], &["remeasure"]);
    let found = offered(&bench, &["job", "show", "J"]);
    assert!(found.is_empty(), "{found:?}");
}
