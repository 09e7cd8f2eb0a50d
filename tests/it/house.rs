//! Those rules of the house that no lint can check.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// The rooms in their order: each may use those before it, and nothing after.
const ROOMS: [&str; 18] = [
    "quantity",
    "geometry",
    "gauge",
    "judgement",
    "words",
    "evaluate",
    "kind",
    "bench",
    "paper",
    "config",
    "record",
    "wire",
    "report",
    "intake",
    "shop",
    "page",
    "daemon",
    "client",
];

/// Rooms without I/O, clock, thread or environment.
const CORE: [&str; 7] = ["quantity", "geometry", "gauge", "judgement", "words", "kind", "bench"];

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

pub(crate) fn files_below(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files_below(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

/// Every source file of a room, with its text.
fn room(name: &str) -> BTreeMap<PathBuf, String> {
    let mut found = Vec::new();
    files_below(&root().join("src").join(name), &mut found);
    found.into_iter().map(|path| (path.clone(), fs::read_to_string(path).unwrap())).collect()
}

/// The lines of a file that are code.
fn code(text: &str) -> impl Iterator<Item = &str> {
    text.lines().map(str::trim_start).filter(|line| !line.starts_with("//"))
}

/// What the package of a room uses: its names under `[dependencies]` and `[dev-dependencies]`.
fn uses(name: &str) -> Vec<String> {
    let manifest = root().join("src").join(name).join("Cargo.toml");
    let text = fs::read_to_string(manifest).unwrap();
    let names = text.lines().filter_map(|line| line.split_once([' ', '.', '=']));
    names.map(|(name, _)| name.to_owned()).collect()
}

/// The packages hold the order when they are built; this holds that they are the rooms of the map.
#[test]
fn a_room_uses_only_the_rooms_before_it() {
    for (index, name) in ROOMS.iter().enumerate() {
        let used = uses(name);
        for later in &ROOMS[index..] {
            assert!(!used.iter().any(|room| room == later), "{name} uses the later room {later}");
        }
    }
}

#[test]
fn geometry_and_gauge_use_only_quantity() {
    for name in ["geometry", "gauge"] {
        for other in ROOMS.iter().filter(|other| **other != "quantity") {
            assert!(!uses(name).iter().any(|room| room == other), "{name} uses {other}");
        }
    }
}

#[test]
fn the_core_does_no_input_or_output() {
    let forbidden = [
        "std::fs",
        "std::net",
        "std::env",
        "std::thread",
        "std::process",
        "std::io",
        "tokio::",
        "rusqlite",
        "tracing::",
        "SystemTime",
        "Instant::",
        "HashMap",
        "HashSet",
        "serde_json",
    ];
    for name in CORE {
        for (path, text) in room(name) {
            let is_test = path.components().any(|part| part.as_os_str() == "tests")
                || path.file_name().is_some_and(|file| file == "tests.rs")
                || text.contains("#![cfg(feature = \"schemas\")]");
            let text = text.split("#[cfg(test)]\nmod tests {").next().unwrap();
            for word in forbidden.iter().filter(|_| !is_test) {
                let used = code(text).find(|line| line.contains(word));
                assert_eq!(used, None, "{} uses {word}", path.display());
            }
        }
        let top = fs::read_to_string(root().join("src").join(name).join("mod.rs")).unwrap();
        let denied = "#![deny(clippy::disallowed_methods, clippy::disallowed_types)]";
        assert!(top.contains(denied), "{name}/mod.rs does not deny clocks, files and hash order");
    }
}

#[test]
fn only_main_ends_the_process() {
    for name in ROOMS {
        for (path, text) in room(name) {
            let used = code(&text).find(|line| line.contains("process::exit"));
            assert_eq!(used, None, "{} ends the process", path.display());
        }
    }
}

#[test]
fn files_stay_readable() {
    for name in ROOMS {
        for (path, text) in room(name) {
            let lines = text.split("#[cfg(test)]\nmod tests {").next().unwrap().lines().count();
            assert!(lines <= 600, "{} has {lines} lines; split it by meaning", path.display());
        }
    }
}

#[test]
fn the_map_names_every_room_and_every_folder() {
    let map = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    for name in ROOMS {
        assert!(map.contains(&format!("`{name}/`")), "DEVELOPERS.md does not tell of {name}/");
    }
    for entry in fs::read_dir(root().join("src")).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let known = ROOMS.contains(&name.as_str()) || name == "main.rs";
        assert!(known, "src/{name} is no room of the map");
    }
}

#[test]
fn every_dependency_has_its_reason() {
    let manifest = fs::read_to_string(root().join("Cargo.toml")).unwrap();
    let map = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let section =
        manifest.split("\n[").find(|section| section.starts_with("workspace.dependencies]"));
    let own = |line: &&str| !line.contains("path = ");
    for line in section.unwrap().lines().filter(|line| line.contains(" = ")).filter(own) {
        let name = line.split(" = ").next().unwrap().trim();
        assert!(map.contains(&format!("`{name}`")), "DEVELOPERS.md gives no reason for {name}");
    }
}
