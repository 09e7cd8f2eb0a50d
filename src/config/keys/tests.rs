use std::collections::BTreeSet;

use super::*;
use crate::plan::parse_plan;

#[test]
fn each_described_key_of_a_bench_or_a_part_is_read() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bench.toml");
    let heads = ["bench", "gauge", "drop", "station", "sound", "shop"];
    for section in sections().iter().filter(|section| heads.contains(&section.path)) {
        for about in section.keys.iter().filter(|about| !about.key.contains('.')) {
            let text = format!("{}\n{} = 1\n", section.head, about.key);
            std::fs::write(&file, text).unwrap();
            let unknown = format!("unknown key \"{}.{}\"", section.path, about.key);
            let findings = crate::check_all(&file);
            assert!(!findings.iter().any(|finding| finding.text == unknown), "{unknown}");
        }
    }
    for section in sections().iter().filter(|section| ["part", "stack"].contains(&section.path)) {
        for about in &section.keys {
            let text =
                format!("name = \"p\"\nunit = \"in\"\n{}\n{} = 1\n", section.head, about.key);
            let unknown = format!("unknown key \"{}.{}\"", section.path, about.key);
            let findings = parse_plan(&text, "p.toml").expect_err("one key is no plan");
            assert!(!findings.iter().any(|finding| finding.text == unknown), "{unknown}");
        }
    }
}

#[test]
fn a_key_is_described_once_and_in_a_line() {
    let mut words = BTreeSet::new();
    for section in sections() {
        assert!(words.insert(section.word), "{} twice", section.word);
        let mut keys = BTreeSet::new();
        for about in &section.keys {
            assert!(keys.insert(about.key), "{}: {} twice", section.word, about.key);
            for text in [about.says, about.left_out] {
                assert!(!text.contains(['\n', '|']), "{}: {text}", about.key);
            }
            assert!(!about.says.is_empty(), "{}", about.key);
        }
    }
}

#[test]
fn what_is_not_described_is_found() {
    assert!(is_described("gauge", "port") && is_described("part.check", "stations"));
    assert!(is_described("part.check.stations", "at") && is_described("", "places"));
    assert!(is_described("places", "in") && is_described("part.check.traps", "wild"));
    assert!(is_described("", "gauge") && is_described("drop", "columns"));
    for (path, key) in
        [("gauge", "por"), ("", "gau"), ("part.check.traps", "wil"), ("gauges", "port")]
    {
        assert!(!is_described(path, key), "{path} {key}");
    }
}
