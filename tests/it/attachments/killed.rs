//! The service is killed while files come in.

use std::fs;
use std::time::Duration;

use super::{attach, bench, file, folder, kept, name_of, photo};
use crate::rig::Dice;

#[test]
fn what_was_acknowledged_is_there_after_a_kill_and_nothing_else_is() {
    let mut dice = Dice::seeded(88);
    let mut bench = bench();
    let mut acknowledged = std::collections::BTreeSet::new();
    for round in 0..12_u8 {
        // Large enough that the kill falls into the middle of it.
        let bytes = [photo(round), vec![round; 4_000_000]].concat();
        let path = file(&bench, "large.jpg", &bytes);
        let sending = bench.spawn(&["attach", "a1", &path, "--what", "x", "--json"]);
        std::thread::sleep(Duration::from_micros(dice.below(120_000)));
        bench.kill();
        bench.start();
        // The client comes back by itself and sends the same request again.
        let output = sending.wait_with_output().unwrap();
        if output.status.success() {
            acknowledged.insert(name_of(&bytes));
        }
        let lines = bench.lines(&["attachments", "a1"]);
        let named: std::collections::BTreeSet<String> =
            lines.iter().map(|one| one["digest"].as_str().unwrap().to_owned()).collect();
        assert!(named.is_superset(&acknowledged), "round {round}");
        assert_eq!(lines.len(), named.len(), "round {round}: none is there twice");
        assert!(kept(&folder(&bench)).is_superset(&named), "round {round}");
        assert!(bench.ok(&["verify"]).ends_with("All is as it was stored.\n"), "round {round}");
    }
    assert!(!acknowledged.is_empty());
    bench.kill();
    bench.start();
    let names = kept(&folder(&bench));
    let lines = bench.lines(&["attachments", "a1"]);
    let named = lines.iter().map(|one| one["digest"].as_str().unwrap().to_owned()).collect();
    assert_eq!(names, named, "what no row names is gone after a start");
}

#[test]
fn a_start_removes_what_a_killed_service_left_and_leaves_what_is_not_its_own() {
    let mut bench = bench();
    attach(&bench, "one.jpg", &photo(1), "ring");
    bench.stop();
    let at = |name: &str| folder(&bench).join(name);
    fs::write(at(".part-77-1"), b"half").unwrap();
    fs::write(at(&name_of(b"never acknowledged")), b"never acknowledged").unwrap();
    fs::write(at("notes.txt"), b"somebody's").unwrap();
    bench.start();
    assert_eq!(kept(&folder(&bench)), [name_of(&photo(1)), "notes.txt".to_owned()].into());
    let log = bench.log();
    assert!(log.contains("2 files that no row came to name were removed"), "{log}");
    assert!(
        log.contains("notes.txt is in the folder of attached files, and no row names it"),
        "{log}"
    );
}
