//! The plans that come with the program.

use std::collections::BTreeSet;

use super::*;

const REBUILD: &str = include_str!("../../../../config/plans/rebuild.toml");
const NOSE: &str = include_str!("../../../../config/plans/nose.toml");
const RING: &str = include_str!("../../../../config/plans/ring.toml");

#[test]
fn the_whole_rebuild_uses_every_kind_of_check_but_squareness() {
    assert_eq!(told(REBUILD), [""; 0]);
    let plan = parse_plan(REBUILD, "p.toml").unwrap();
    let checks = || plan.parts.iter().flat_map(|part| &part.checks);
    let kinds: BTreeSet<&str> = checks().map(|check| check.traits().word).collect();
    let every: BTreeSet<&str> = Measures::WORDS.iter().map(|(word, _)| *word).collect();
    let without: BTreeSet<&str> = every.difference(&kinds).copied().collect();
    assert_eq!(without, ["squareness"].into(), "{without:?}");
    assert!(plan.places().count() <= 40, "{}", plan.places().count());
    assert_eq!(plan.stack.len(), 5);
    // No circle passes by being touched too seldom.
    for check in checks().filter(|check| check.traits().goes_round) {
        assert!((8..=10).contains(&check.positions), "{}", check.name);
    }
    assert!(checks().all(|check| check.name.as_str().to_lowercase() == check.name.as_str()));
}

#[test]
fn a_nose_face_is_touched_on_two_radii() {
    assert_eq!(told(NOSE), [""; 0]);
    let plan = parse_plan(NOSE, "p.toml").unwrap();
    let face = &plan.parts[0].checks[0];
    assert_eq!(
        (face.traits().word, face.setup, face.total()),
        ("squareness", Holding::Turning, 16)
    );
    let one = NOSE.replace("radii = [\"1 in\", \"1.5 in\"]", "radius = \"1.5 in\"");
    let said = told(&one);
    assert!(said.iter().any(|text| text.contains("one radius may fail squareness")), "{said:?}");
}

#[test]
fn one_ring_takes_three_checks() {
    assert_eq!(told(RING), [""; 0]);
    let plan = parse_plan(RING, "p.toml").unwrap();
    assert_eq!((plan.parts.len(), plan.places().count()), (1, 3));
    // The line that is left out of it may be put in.
    let twice = RING.replace("# passes = 2 ", "passes = 2 ");
    let plan = parse_plan(&twice, "p.toml").unwrap();
    assert_eq!(plan.parts[0].checks[0].total(), 16);
}

/// The source of every tolerance stands beside it.
#[test]
fn every_tolerance_says_where_it_comes_from() {
    for text in [REBUILD, RING] {
        for line in text.lines().filter(|line| line.contains("tolerance = ")) {
            assert!(line.contains("common practice"), "{line}");
        }
    }
}
