//! The page in a real browser, driven at the width of a phone, a tablet and a desk: clicked through, by keys, without a
//! script, printed; what axe-core finds, what is wider than the screen and what its console says is a failure. The
//! script is `tests/browser/walk.mjs`. Its pictures are left under `target/browser/pictures`: look at them.

use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

use crate::pages::rig::{Page, WEDGE, bench, measured};
use crate::rig::skipped;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The folder with what drives the browser, where all of it is there; `.ci/run` puts it there.
fn modules() -> Option<PathBuf> {
    let folder = root().join("target/browser");
    let found = ["playwright-core", "axe-core"];
    let chromium = std::env::var_os("CHROMIUM")
        .map_or_else(|| PathBuf::from("/usr/bin/chromium"), PathBuf::from);
    let there = found.iter().all(|name| folder.join("node_modules").join(name).is_dir());
    let node = Command::new("node").arg("--version").output().is_ok();
    if there && node && chromium.exists() {
        return Some(folder);
    }
    skipped(
        "the page in a real browser",
        "node, chromium or target/browser is not there; .ci/run gets them",
    );
    None
}

fn walk(modules: &Path) -> Command {
    let mut node = Command::new("node");
    node.arg(root().join("tests/browser/walk.mjs")).arg(modules);
    node
}

const GROUND: [&str; 9] = [
    "0.00001", "0.00003", "0.00003", "0.00002", "0.00001", "0.00000", "0.00000", "0.00001",
    "0.00001",
];

#[test]
fn a_person_walks_through_it_at_three_widths() {
    let Some(modules) = modules() else { return };
    let bench = bench();
    for job in ["J-1041", "J-1042"] {
        let hostile = format!("{} <b>&\u{202e}", "Longname".repeat(12));
        measured(&bench, job, ("SP-77", &hostile));
        bench.touches(&bench.plate, "plate", &["0.00026", "0.00000"]);
        bench.ok(&["remeasure", "ground"]);
        bench.touches(&bench.plate, "plate", &GROUND);
        bench.verdict(job, 2);
    }
    let page = Page::of(&bench, &[]);
    let pictures = modules.join("pictures");
    let base = format!("http://{}", page.address);
    let mut command = walk(&modules);
    let output = command.args(["walk", &base]).arg(&pictures).arg("J-1042").output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}");
    assert!(String::from_utf8_lossy(&output.stdout).contains("all as it should be"));
}

/// A browser that stays open.
struct Open {
    child: Child,
    to: ChildStdin,
    from: BufReader<ChildStdout>,
}

impl Open {
    fn of(modules: &Path, base: &str) -> Self {
        let mut command = walk(modules);
        command.args(["live", base]).stdin(Stdio::piped()).stdout(Stdio::piped());
        let mut child = command.spawn().unwrap();
        let to = child.stdin.take().unwrap();
        let mut open = Self { to, from: BufReader::new(child.stdout.take().unwrap()), child };
        open.hears("ready");
        open
    }

    fn hears(&mut self, wanted: &str) {
        let mut line = String::new();
        self.from.read_line(&mut line).unwrap();
        assert_eq!(line.trim(), wanted, "the browser's script ended; it says why above");
    }

    fn step(&mut self, step: &str) {
        writeln!(self.to, "{step}").unwrap();
        self.hears("done");
    }

    fn ends_well(mut self) {
        drop(self.to);
        assert!(self.child.wait().unwrap().success(), "it says above what is wrong");
    }
}

#[test]
fn the_bench_is_followed_live_and_what_is_stale_never_looks_live() {
    let Some(modules) = modules() else { return };
    let mut bench = bench();
    let page = Page::of(&bench, &[]);
    let address = page.address.clone();
    let pictures = modules.join("pictures");
    std::fs::create_dir_all(&pictures).unwrap();
    let shot = |name: &str, size: &str| format!("shot {} {size}", pictures.join(name).display());
    let mut open = Open::of(&modules, &format!("http://{address}"));
    open.step("wait .bench.on");
    open.step("text #part-call No job");
    bench.ok(&["job", "open", "J-1042", "--plan", "held"]);
    bench.ok(&["person", "R. Aldous"]);
    bench.ok(&["measure", "ring/face-a"]);
    open.step("text #part-call TOUCH 0");
    bench.touches(&bench.plate, "plate", &WEDGE[..4]);
    open.step("text #part-value 0.00016");
    open.step("text #part-call TOUCH 4");
    open.step("wait .dial .next .halo");
    open.step(&shot("live-touch-1400.png", "1400 900"));
    open.step(&shot("live-touch-820.png", "820 1180 dark"));
    open.step(&shot("live-touch-1024.png", "1024 600"));
    bench.touches(&bench.plate, "plate", &WEDGE[4..]);
    bench.verdict("J-1042", 1);
    bench.touches(&bench.plate, "plate", &["0.00026", "0.00000"]);
    open.step("text .verdict OUT");
    open.step(&shot("live-out-1400.png", "1400 900"));
    open.step(&shot("live-out-390.png", "390 844"));
    open.step(&shot("live-out-820.png", "820 1180 dark"));
    bench.ok(&["remeasure", "ground"]);
    bench.touches(&bench.plate, "plate", &GROUND);
    bench.verdict("J-1042", 2);
    open.step("text .verdict CONFORMS");
    open.step(&shot("live-in-1400.png", "1400 900 dark"));
    // The service goes, then it is back; then the page itself goes, and is back at the same place.
    bench.stop();
    open.step("text #lost SERVICE IS AWAY");
    open.step("silent 0.00001");
    open.step(&shot("live-away-1024.png", "1024 600"));
    bench.start();
    open.step("wait .bench.on");
    open.step("text .verdict CONFORMS");
    open.step("quiet");
    drop(page);
    open.step("text #lost CONNECTION LOST");
    open.step("silent CONFORMS");
    open.step(&shot("live-lost-1024.png", "1024 600"));
    let page = Page::at(&bench, &address, &[]);
    open.step("wait .bench.on");
    open.step("text .verdict CONFORMS");
    open.ends_well();
    // Those of the guide are taken anew by hand, as its other pictures are: every browser draws letters its own way.
    if std::env::var_os("TENTHS_WRITE").is_some() {
        for (from, to) in [
            ("live-touch-1024.png", "page-touch.png"),
            ("live-lost-1024.png", "page-lost.png"),
            ("live-out-820.png", "page-out.png"),
        ] {
            std::fs::copy(pictures.join(from), root().join("docs/pictures").join(to)).unwrap();
        }
    }
    drop(page);
}
