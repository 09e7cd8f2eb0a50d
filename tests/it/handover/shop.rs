//! Benches for the tests of handing over: one with two jobs that interleave, a closed and an open
//! one, and others that know nothing of them. The values are invented.

use std::fs;
use std::path::{Path, PathBuf};

use crate::rig::{Bench, Make};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeat_ms = 0\nmax_rate = 0";

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
columns = { value = "Value", unit = "Unit", time = "Time", job = "Job", part = "Part", check = "Check", position = "Pos" }
"#;

const PLAN: &str = r#"# What is left of the plan is kept: this line, too. µ
name = "held"
unit = "in"
[[part]]
name = "ring"
kind = "spacer"
[[part.check]]
name = "face"
measures = "parallelism"
gauge = "plate"
setup = "plate"
positions = 8
radius = "1.5 in"
tolerance = "0.0001 in"
[[part.check]]
name = "length"
measures = "thickness-variation"
gauge = "height"
setup = "anvil"
positions = 8
radius = "1.5 in"
tolerance = "0.0001 in"
closure = false
[[part]]
name = "nut"
kind = "nut"
[[part.check]]
name = "locked"
measures = "confirm"
question = "Is it locked?"
answers = ["yes", "no"]
good = ["yes"]
[[part.check]]
name = "torque"
measures = "entry"
question = "Torque"
unit = "Nm"
"#;

/// A bench whose record has something of everything.
pub(crate) struct Shop {
    pub(crate) bench: Bench,
}

/// The bench of the ring, with an empty record.
pub(crate) fn ring_bench() -> Bench {
    Bench::new(&Make { gauge: GAUGE, more: MORE, plan: PLAN })
}

const WEDGE: [&str; 9] = [
    "+0.00006", "+0.00013", "+0.00011", "+0.00003", "-0.00006", "-0.00013", "-0.00011", "-0.00003",
    "+0.00007",
];

/// Both jobs, the service running: `wh-1` closed, `wh-2` open with a ring under way.
pub(crate) fn shop() -> Shop {
    let mut bench = ring_bench();
    bench.start();
    bench.touches(&bench.plate, "plate", &["+0.00001"]);
    bench.ok(&[
        "job",
        "open",
        "wh-1",
        "--plan",
        "held",
        "--serial",
        "77",
        "--customer",
        "Müller & Sons",
        "--by",
        "Ada",
    ]);
    bench.ok(&["measure", "ring/face", "--remark", "face b down \u{1f527}"]);
    bench.touches(&bench.plate, "plate", &WEDGE);
    bench.verdict("wh-1", 1);
    bench.ok(&["job", "open", "wh-2", "--plan", "held", "--serial", "77"]);
    bench.ok(&["measure", "ring/face"]);
    bench.ok(&["enter", "0.00001", "0.00003"]);
    let row = |at: usize| {
        format!("wh-1,ring,length,{at},{}.{:04},mm,2027-03-01T09:30:0{at}Z\n", 12, 5000 + at % 3)
    };
    let rows = (0..8).map(row).collect::<String>();
    bench.drop_file("ring.csv", &format!("Job,Part,Check,Pos,Value,Unit,Time\n{rows}"));
    bench.until("the file", || bench.lines(&["verdicts", "wh-1"]).len() == 2);
    bench.ok(&["enter", "0.00002"]);
    bench.ok(&["job", "use", "wh-1"]);
    bench.ok(&["remeasure", "ground", "ring/face"]);
    bench.ok(&["enter", "0.00001", "0.00002", "0.00900"]);
    bench.ok(&["void", "--why", "chip\nunder it"]);
    bench.ok(&["enter", "0.00002", "0.00001", "0.00001", "0.00002"]);
    bench.ok(&["skip", "6", "--why", "key slot"]);
    bench.ok(&["enter", "0.00001", "0.00001"]);
    bench.verdict("wh-1", 3);
    bench.ok(&["confirm", "nut/locked", "no"]);
    bench.ok(&["record", "nut/torque", "40"]);
    bench.ok(&["replace", "nut", "--serial", "N8", "--why", "thread"]);
    bench.ok(&["note", "wh-1", "shimmed \u{202e}under 90"]);
    bench.ok(&["job", "close", "wh-1", "--why", "a try"]);
    bench.ok(&["job", "reopen", "wh-1"]);
    bench.ok(&["job", "close", "wh-1", "--why", "a try"]);
    bench.ok(&["note", "wh-2", "goes on tomorrow"]);
    Shop { bench }
}

/// A bench with another gauge and another plan, and an empty record.
pub(crate) fn other_bench() -> Bench {
    let bench = ring_bench();
    let text = "[bench]\nname = \"other\"\nunit = \"mm\"\nstate = \"state\"\nplans = \"plans\"\n\
                [[gauge]]\nname = \"dial\"\nkind = \"dial\"\nunit = \"mm\"\nresolution = \"0.001 mm\"\n";
    fs::write(bench.path("bench.toml"), text).unwrap();
    let plan = "name = \"own\"\nunit = \"mm\"\n[[part]]\nname = \"bar\"\nkind = \"bar\"\n\
                [[part.check]]\nname = \"length\"\nmeasures = \"length\"\ngauge = \"dial\"\n\
                setup = \"plate\"\npositions = 3\nradius = \"5 mm\"\nmin = \"0.9 mm\"\nmax = \"1.1 mm\"\nmaster = \"none\"\n";
    fs::remove_file(bench.path("plans/held.toml")).unwrap();
    fs::write(bench.path("plans/own.toml"), plan).unwrap();
    bench
}

/// A copy of a folder of files.
pub(crate) fn copied(from: &Path, to: &Path) -> PathBuf {
    fs::create_dir_all(to).unwrap();
    for (name, bytes) in super::files(from) {
        fs::write(to.join(name), bytes).unwrap();
    }
    to.to_owned()
}
