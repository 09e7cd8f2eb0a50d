//! The pictures of the report: nothing is drawn that is not known.

use markup5ever_rcdom::Handle;

use super::html::{attribute, elements, parsed, text};
use super::{PLAN, enter, measure, rows, started};

/// The first picture of the page with a title that begins so, and its caption.
fn picture(tree: &Handle, title: &str) -> (Handle, String) {
    let figures = elements(tree, "figure");
    let named = |figure: &&Handle| text(&elements(figure, "title")[0]).starts_with(title);
    let figure = figures.iter().find(named).unwrap();
    (elements(figure, "svg")[0].clone(), text(&elements(figure, "figcaption")[0]))
}

#[test]
fn below_the_noise_floor_there_is_no_number_no_arrow_and_no_contact() {
    let bench = started(PLAN);
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    measure(
        &bench,
        "shield/flat",
        "0.00000 0.00001 0.00000 0.00000 0.00000 0.00001 0.00000 0.00000",
    );
    let verdict = &bench.lines(&["verdicts", "s1"])[0];
    let number = |name: &str| verdict["figures"][name].as_str().unwrap().parse::<f64>().unwrap();
    assert!(number("minimum_zone") < number("noise_floor"), "{verdict}");
    assert!(!verdict["figures"]["contacts_upper"].as_array().unwrap().is_empty(), "{verdict}");
    let tree = parsed(&bench.ok(&["report", "s1"]));
    assert!(text(&rows(&tree)[0].1[1]).starts_with("less than "));
    let (ring, caption) = picture(&tree, "As measured: heights");
    assert_eq!(elements(&ring, "circle").len(), 1, "only the middle");
    // A cell for each touch and the index mark: no stroke and head of an arrow.
    assert_eq!(elements(&ring, "path").len(), 9);
    assert!(!caption.contains("Dots") && !caption.contains("High side at"), "{caption}");
}

#[test]
fn a_known_high_side_has_its_arrow_and_contacts_their_dots() {
    let bench = started(PLAN);
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    measure(
        &bench,
        "shield/flat",
        "0.00020 0.00012 0.00004 -0.00012 -0.00020 -0.00012 0.00004 0.00012",
    );
    let verdict = &bench.lines(&["verdicts", "s1"])[0];
    let contacts = ["contacts_upper", "contacts_lower"];
    let many = contacts.map(|name| verdict["figures"][name].as_array().unwrap().len());
    let tree = parsed(&bench.ok(&["report", "s1"]));
    let (ring, caption) = picture(&tree, "As measured: heights");
    assert_eq!(elements(&ring, "circle").len(), 1 + many[0] + many[1]);
    assert_eq!(elements(&ring, "path").len(), 9 + 2, "an arrow");
    assert!(caption.contains("High side at 0°") && caption.contains("Dots"), "{caption}");
}

#[test]
fn what_was_not_touched_is_hatched_and_left_open() {
    let bench = started(PLAN);
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "nose/pilot"]);
    bench.ok(&["skip", "3", "--why", "keyway"]);
    enter(&bench, "0.00002 0.00004 0.00003 -0.00002 -0.00003 -0.00004 -0.00001");
    bench.ok(&["measure", "inner/face"]);
    bench.ok(&["skip", "2", "--why", "etched"]);
    enter(&bench, "0.00002 0.00004 0.00003 0.00001");
    bench.ok(&["measure", "--stop"]);
    let tree = parsed(&bench.ok(&["report", "s1"]));
    let (turn, caption) = picture(&tree, "As measured: one turn");
    assert!(caption.contains("Open: nothing was read at 135°. Left out: keyway."), "{caption}");
    assert!(text(&elements(&turn, "desc")[0]).contains("135°: not measured"));
    let lines: Vec<String> = elements(&turn, "path")
        .iter()
        .filter(|path| attribute(path, "stroke-linejoin").is_some())
        .map(|path| attribute(path, "d").unwrap())
        .collect();
    // Up to the gap, from it to the last position, and over the index mark.
    assert_eq!(lines[0].matches('M').count(), 3, "{lines:?}");
    let (ring, caption) = picture(&tree, "As measured: heights");
    assert!(caption.contains("Hatched: position 2, left out: etched."), "{caption}");
    assert!(caption.contains("Hatched: not taken: 5, 6, 7."), "{caption}");
    // Eight cells, four of them with their hatching, and the index mark.
    assert_eq!(elements(&ring, "path").len(), 8 + 4 + 1);
}
