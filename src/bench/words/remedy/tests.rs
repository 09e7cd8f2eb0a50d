use std::collections::BTreeSet;

use super::*;
use crate::words::{WordOf, explained};

#[test]
fn every_alert_and_every_reason_has_one_remedy() {
    for kind in AlertKind::ALL {
        let found = OF_ALERTS.iter().filter(|(of, _)| *of == kind).count();
        assert_eq!(found, 1, "{}", kind.text());
    }
    for reason in Reason::ALL {
        let found = OF_REASONS.iter().filter(|(of, _)| *of == reason).count();
        assert_eq!(found, 1, "{}", reason.text());
    }
}

#[test]
fn a_remedy_is_whole_sentences_that_fit_a_cell_of_a_table() {
    for one in explained() {
        assert!(one.means.ends_with('.'), "{}: {}", one.word, one.means);
        let Some(remedy) = one.remedy else { continue };
        assert!(remedy.ends_with('.') && !remedy.contains(['\n', '|']), "{}: {remedy}", one.word);
        assert!(!remedy.contains("  "), "{}: {remedy}", one.word);
        assert_eq!(remedy.matches('`').count() % 2, 0, "{}: {remedy}", one.word);
    }
}

/// The service only listens: nothing that helps may tell it to start or stop a machine.
#[test]
fn no_remedy_tells_the_program_to_move_a_machine() {
    for one in explained().iter().filter_map(|one| one.remedy) {
        for command in one.split('`').skip(1).step_by(2).filter(|span| span.starts_with("tenths "))
        {
            let word = command.split(' ').nth(1).unwrap_or_default();
            assert!(!["start", "stop", "clear", "reset"].contains(&word), "{command}");
        }
    }
}

#[test]
fn a_word_stands_once_for_each_thing_that_it_is_a_word_of() {
    let mut seen = BTreeSet::new();
    for one in explained() {
        assert!(seen.insert((one.word, one.of)), "{} twice", one.word);
    }
    let of = |word: &str| explained().iter().filter(|one| one.word == word).count();
    assert_eq!([of("undecided"), of("ground"), of("parallelism")], [2, 1, 1]);
    assert_eq!([of("not-closed"), of("metal-changed"), of("same-spot")], [2, 1, 1]);
    let kinds = explained().iter().filter(|one| one.of == WordOf::Kind).count();
    assert_eq!(kinds, crate::plan::Measures::WORDS.len());
}
