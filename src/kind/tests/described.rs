//! The descriptions of keys, held against what the kinds ask for.

use std::collections::BTreeSet;

use super::written::{found, good, read_asking};
use crate::Measures;
use crate::keys::{EVERY, LIMITS, MUST, TOUCHED, traps_in_words};
use crate::plan::PartKind;

/// Texts that together make each kind ask for all of its keys: nothing; a swept turn; tables with nothing in
/// them.
const TEXTS: [&str; 4] = [
    "",
    "reads = \"sweep\"",
    "stations = [{}]\ntraps = {}\nsteady = {}\nsteps = [{}]\nplaces = [{}]",
    "rate = \"7/24\"\nstations = [\"0.5 in\", \"1.5 in\"]",
];

/// The keys that a kind asks for; the file itself reads `name`, `measures` and `step`.
fn asked(word: &str) -> BTreeSet<String> {
    let all = TEXTS.into_iter().flat_map(|text| read_asking(PartKind::Spacer, word, text).2);
    all.chain(["name", "measures", "step"].map(str::to_owned)).collect()
}

#[test]
fn each_key_that_a_kind_asks_for_is_described() {
    let shared = || EVERY.iter().chain(TOUCHED).chain(LIMITS);
    let traps: BTreeSet<String> =
        traps_in_words().iter().map(|trap| format!("traps.{}", trap.key)).collect();
    for kind in Measures::KINDS {
        let own = kind.keys.concat();
        for key in asked(kind.word) {
            let known = own.iter().chain(shared()).any(|about| about.key == key);
            assert!(known || traps.contains(&key), "{}: nobody has described {key}", kind.word);
        }
    }
}

#[test]
fn each_described_key_is_asked_for() {
    for kind in Measures::KINDS {
        let asked = asked(kind.word);
        for about in kind.keys.concat() {
            assert!(asked.contains(about.key), "{} never asks for {}", kind.word, about.key);
        }
    }
    let any: BTreeSet<String> = Measures::KINDS.iter().flat_map(|kind| asked(kind.word)).collect();
    for about in EVERY.iter().chain(TOUCHED).chain(LIMITS) {
        assert!(any.contains(about.key), "no kind asks for {}", about.key);
    }
}

/// A key that must be written is missed where it is not, by the kinds for which it is described so.
#[test]
fn what_must_be_written_is_missed() {
    for kind in Measures::KINDS {
        let (_, told, _) = read_asking(PartKind::Spacer, kind.word, "");
        let top = kind.keys.concat();
        for about in top.iter().filter(|about| about.left_out == MUST && !about.key.contains('.')) {
            let missed = told.iter().any(|said| said.contains(about.key));
            assert!(missed, "{}: nothing is said without {}: {told:?}", kind.word, about.key);
        }
    }
}

/// A face with one threshold.
fn face_with(trap: &str, factor: &str) -> String {
    format!(
        "gauge = \"plate\"\nsetup = \"plate\"\npositions = 8\nradius = \"1.5 in\"\ntolerance = \"0.0001 in\"\n\
         traps = {{ {trap} = {factor} }}"
    )
}

#[test]
fn a_threshold_may_lie_anywhere_in_its_range_and_nowhere_else() {
    for trap in traps_in_words() {
        let [least, most] = &trap.range;
        for factor in [least, most, &trap.usual] {
            good("parallelism", &face_with(trap.key, factor));
        }
        let below = least.parse::<f64>().unwrap() - 0.01;
        let above = most.parse::<f64>().unwrap() + 0.01;
        for factor in [format!("{below:.2}"), format!("{above:.2}")] {
            let said = format!("{} should be {least} to {most}", trap.key);
            found("parallelism", &face_with(trap.key, &factor), &said);
        }
    }
}

#[test]
fn the_usual_threshold_is_what_a_plan_without_it_has() {
    let plain = good("parallelism", &face_with("wild", "6")).traps;
    for trap in traps_in_words() {
        let stated = good("parallelism", &face_with(trap.key, &trap.usual)).traps;
        assert_eq!(stated, plain, "{}", trap.key);
    }
}

/// The examples in a description of a key that takes one of a few words are words that it takes.
#[test]
fn words_in_descriptions_are_words_of_their_key() {
    let words = |key: &str| {
        let about = TOUCHED.iter().chain(EVERY).find(|about| about.key == key).unwrap();
        let quoted = about.says.split("`\"").skip(1).filter_map(|rest| rest.split_once("\"`"));
        quoted.map(|(word, _)| word.to_owned()).collect::<Vec<_>>()
    };
    for key in ["setup", "moves", "touch", "direction", "master", "advance"] {
        assert!(words(key).len() > 1, "{key}");
        for word in words(key) {
            let (_, told, _) =
                read_asking(PartKind::Spacer, "length", &format!("{key} = {word:?}"));
            let refused =
                told.iter().any(|said| said.contains(&format!("{key}: none of its words")));
            assert!(!refused, "{key} takes no {word}");
        }
    }
}
