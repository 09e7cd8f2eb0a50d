//! The pictures of the guides: drawn by the program, and held against the files under `docs/pictures`.
//! `TENTHS_WRITE=1 cargo test --test it pictures` draws them anew. Look at them before they are kept.

mod paper;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::rig::{Bench, Make, skipped};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The lines of a picture, but for the one that tells how long ago a gauge sent something.
fn lines(svg: &str) -> Vec<&str> {
    let age = |line: &&str| line.contains(">plate now<") || line.contains(" s ago<");
    svg.lines().filter(|line| !age(line)).collect()
}

/// The picture under this name is the one that is drawn now.
#[track_caller]
fn is_fresh(name: &str, drawn: &str) {
    let file = root().join("docs/pictures").join(name);
    if std::env::var_os("TENTHS_WRITE").is_some() {
        fs::write(&file, drawn).unwrap();
    }
    let kept = fs::read_to_string(&file).unwrap_or_default();
    let stale = lines(&kept).into_iter().zip(lines(drawn)).find(|(kept, drawn)| kept != drawn);
    assert!(
        stale.is_none() && lines(&kept).len() == lines(drawn).len(),
        "docs/pictures/{name} is not what the program draws: {stale:?}; draw it with TENTHS_WRITE=1 \
         and look at it"
    );
    loads_nothing(name, drawn);
}

/// Nothing of a picture comes from elsewhere, and nothing in it runs.
#[track_caller]
fn loads_nothing(name: &str, svg: &str) {
    let own = ["http://www.w3.org/2000/svg", "http://www.w3.org/1999/xhtml"];
    let bare = own.iter().fold(svg.to_owned(), |svg, name| svg.replace(name, ""));
    for word in ["http:", "https:", "<script", "onload", "@import", "url(", "href=", "file:"] {
        assert!(!bare.contains(word), "{word} is in {name}");
    }
    assert!(svg.contains("prefers-color-scheme:dark") || name.contains("low-light"), "{name}");
}

#[test]
fn the_drawings_of_the_guides_are_those_of_the_program() {
    let folder = tempfile::tempdir().unwrap();
    let mut tenths = Command::new(env!("CARGO_BIN_EXE_tenths"));
    assert!(tenths.arg("pictures").arg(folder.path()).status().unwrap().success());
    let mut names: Vec<String> = fs::read_dir(folder.path())
        .unwrap()
        .map(|file| file.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    // A set-up each, as `setup` of a check knows them, the ring, and the path of a reading.
    let wanted = [
        "path-of-a-reading.svg",
        "ring.svg",
        "set-up-anvil.svg",
        "set-up-plate.svg",
        "set-up-supports.svg",
        "set-up-turning.svg",
    ];
    assert_eq!(names, wanted);
    for name in &names {
        is_fresh(name, &fs::read_to_string(folder.path().join(name)).unwrap());
    }
}

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0\n\
                     travel = [\"-0.010 in\", \"0.010 in\"]";

/// A wedge, out by far, and its closure; the same face ground.
const WEDGE: [&str; 9] = [
    "0.00019", "0.00026", "0.00024", "0.00016", "0.00007", "0.00000", "0.00002", "0.00010",
    "0.00019",
];
const GROUND: [&str; 9] = [
    "0.00001", "0.00003", "0.00003", "0.00002", "0.00001", "0.00000", "0.00000", "0.00001",
    "0.00001",
];

/// What the bench screen shows now; in low light without colours, on dark paper.
fn screen(bench: &Bench, low_light: bool) -> String {
    let file = bench.path("screen.svg");
    let mut watch = bench.command(&["watch", "--svg", file.to_str().unwrap()]);
    watch.env("TERM", "xterm");
    if low_light {
        watch.arg("--dark");
    } else {
        watch.env_remove("NO_COLOR");
    }
    assert!(watch.output().unwrap().status.success());
    fs::read_to_string(file).unwrap()
}

#[test]
fn the_bench_screen_is_drawn_from_its_own_cells() {
    let plan = fs::read_to_string(root().join("config/plans/ring.toml")).unwrap();
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan });
    let file = bench.path("bench.toml");
    let named = fs::read_to_string(&file).unwrap().replace("\"rig\"", "\"grinding room\"");
    fs::write(&file, named).unwrap();
    bench.start();
    bench.until_gauge("plate", "live");
    bench.ok(&["job", "open", "J-1042", "--plan", "held"]);
    bench.ok(&["person", "R. Aldous"]);
    bench.ok(&["measure", "ring/face-a"]);
    bench.touches(&bench.plate, "plate", &WEDGE[..5]);
    bench.until("five touches", || bench.placed("J-1042").len() == 5);
    let middle = screen(&bench, false);
    if middle.contains("Space for the record is running out") {
        // It stands on every screen then, and is no part of the pictures.
        return skipped(
            "the pictures of the screen",
            "the disk is nearly full, and the screen says so",
        );
    }
    is_fresh("watch.svg", &middle);
    bench.touches(&bench.plate, "plate", &WEDGE[5..]);
    bench.verdict("J-1042", 1);
    // It asks whether that is dirt: set back half a turn, the wedge is the same.
    bench.touches(&bench.plate, "plate", &["0.00026", "0.00000"]);
    bench.verdict("J-1042", 1);
    let out = screen(&bench, false);
    is_fresh("watch-out.svg", &out);
    assert!(out.contains("<rect class=\"r b\""), "the large letters of OUT are red");
    bench.ok(&["remeasure", "ground"]);
    bench.touches(&bench.plate, "plate", &GROUND);
    bench.verdict("J-1042", 2);
    let dark = screen(&bench, true);
    is_fresh("watch-low-light.svg", &dark);
    assert!(!dark.contains("prefers-color-scheme") && !dark.contains("<rect class=\"g b\""));
}

#[test]
fn every_picture_is_in_a_guide_and_every_guide_has_its_pictures() {
    let mut told = String::new();
    for guide in fs::read_dir(root().join("docs")).unwrap() {
        let path = guide.unwrap().path();
        if path.extension().is_some_and(|ending| ending == "md") {
            told += &fs::read_to_string(path).unwrap();
        }
    }
    let shown: Vec<&str> =
        told.split("](pictures/").skip(1).map(|rest| rest.split(')').next().unwrap()).collect();
    for picture in fs::read_dir(root().join("docs/pictures")).unwrap() {
        let name = picture.unwrap().file_name().into_string().unwrap();
        assert!(shown.contains(&name.as_str()), "no guide shows docs/pictures/{name}");
    }
    for name in shown {
        assert!(Path::new(&root()).join("docs/pictures").join(name).is_file(), "{name}");
    }
}
