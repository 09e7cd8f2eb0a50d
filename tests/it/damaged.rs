//! Records that are not as this program makes them: a sentence, and nothing else is held up.

use std::fs;

use crate::rig::{Bench, Make, RING_PLAN};

fn bench() -> Bench {
    Bench::new(&Make {
        gauge: "resolution = \"0.00001 in\"\nuncertainty = \"0.000009 in\"",
        more: "",
        plan: RING_PLAN,
    })
}

#[test]
fn a_record_of_an_earlier_version_is_refused_everywhere_and_left_as_it_is() {
    let mut bench = bench();
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    bench.stop();
    let path = bench.path("state/tenths.db");
    let file = rusqlite::Connection::open(&path).unwrap();
    file.pragma_update(None, "user_version", 3).unwrap();
    file.close().unwrap();
    let before = fs::read(&path).unwrap();
    let says = |said: &str| {
        assert!(said.contains("earlier version of tenths"), "{said}");
        assert!(said.contains("hint: "), "{said}");
    };
    says(&bench.refused_serve());
    for asked in ["readings", "verdicts", "alerts", "verify", "report J-1"] {
        says(&bench.refused(3, &asked.split(' ').collect::<Vec<_>>()));
    }
    let copy = bench.path("copy.db");
    fs::rename(&path, &copy).unwrap();
    says(&bench.refused(2, &["restore", copy.to_str().unwrap()]));
    assert_eq!(fs::read(&copy).unwrap(), before, "the file stays as it is");
    // What the hint says: with the file elsewhere a new record begins.
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
}
