//! The keys of a difference, a question and an entry, and the properties of each kind.

use super::plans::{LENGTH, TAPER};
use super::written::{changed, found, good, told};
use super::*;
use crate::{Arrangement, Ask, Entry, Pair, Size, Traits};
use num_rational::Ratio;

pub(super) const PAIR: &str =
    "of = [\"outer/length\", \"inner/length\"]\ntolerance = \"0.0001 in\"\n";

#[test]
fn a_difference_is_read_with_its_two_lengths() {
    let check = good("difference", PAIR);
    let pair: Pair = check.measures.told();
    assert_eq!(pair.of, [0, 1].map(|part| CheckAt { part, check: 0 }));
    let tenth = inch("0.0001").picometres();
    let band = |middle: i64| {
        Some(Limits::Band {
            min: Length::from_picometres(middle - tenth),
            max: Length::from_picometres(middle + tenth),
        })
    };
    assert_eq!(check.limits, band(0), "as much either side");
    assert_eq!(
        (check.gauge.clone(), check.total(), check.measures.made_of()),
        (None, 0, pair.of.to_vec())
    );
    // Of heat nothing is stated: 0.2 and 1 degree, steel and a millionth.
    assert_eq!((pair.between_c, pair.off_20_c), (Ratio::new(1, 5), Ratio::from(1)));
    assert_eq!((pair.expansion, pair.expansion_u), (crate::steel(), Ratio::new(1, 1_000_000)));
    assert!(pair.assumed.between && pair.assumed.off_20 && pair.assumed.expansion);
    let more = changed(
        PAIR,
        &[
            "nominal = \"0.0002 in\"",
            "arrangement = \"back-to-back\"",
            "preload = \"0.2 kN\"",
            "deflection = \"4 um\"",
            "temperature_between = \"0.1\"",
            "off_20 = 2",
            "expansion_uncertainty = \"2e-6\"",
        ],
    );
    let check = good("difference", &more);
    let pair: Pair = check.measures.told();
    assert_eq!(check.limits, band(2 * tenth));
    assert_eq!(pair.arrangement, Some(Arrangement::BackToBack));
    let (force, deflection) = pair.preload.unwrap();
    near(force, 200.0, 1e-9);
    assert_eq!(deflection, Length::from_picometres(4_000_000));
    assert!(!pair.assumed.between && !pair.assumed.off_20 && !pair.assumed.expansion);
    let sizes =
        good("difference", &changed(PAIR, &["tolerance", "min = \"0 in\"", "max = \"0.0001 in\""]));
    assert_eq!(sizes.limits, Some(Limits::Band { min: Length::ZERO, max: inch("0.0001") }));
}

#[test]
fn what_a_difference_lacks_or_has_wrong_is_said() {
    for (changes, said) in [
        (&["of"][..], "of is missing"),
        (&["of = [\"outer/length\"]"], "taken of two lengths"),
        (&["of = [\"outer/length\", \"outer/length\"]"], "two different lengths"),
        (&["of = [\"outer/length\", \"old/top\"]"], "old/top is no length"),
        (&["tolerance"], "needs a tolerance"),
        (&["min = \"0 in\""], "both a tolerance and a min or max"),
        (&["tolerance", "min = \"0 in\""], "max is missing"),
        (&["preload = \"200 N\""], "preload is given without deflection"),
        (&["deflection = \"4 um\""], "deflection is given without preload"),
        (&["preload = \"-1 N\"", "deflection = \"4 um\""], "not above zero"),
        (&["preload = \"200 kg\"", "deflection = \"4 um\""], "is not a force"),
        (&["arrangement = \"upside-down\""], "arrangement"),
        (&["offsets_left = [\"bearing/left\"]"], "offsets_left is given without offsets_right"),
        (&["offsets_left = []", "offsets_right = [\"bearing/left\"]"], "one entry or more"),
        (
            &["offsets_left = [\"bearing/left\"]", "offsets_right = [\"bearing/left\"]"],
            "without the arrangement",
        ),
        (
            &[
                "offsets_left = [\"bearing/left\"]",
                "offsets_right = [\"bearing/right\"]",
                "arrangement = \"back-to-back\"",
            ],
            "recorded in turns",
        ),
        (
            &[
                "offsets_left = [\"bearing/left\"]",
                "offsets_right = [\"bearing/left\"]",
                "arrangement = \"back-to-back\"",
                "nominal = \"0 in\"",
            ],
            "not nominal",
        ),
        (&["master = \"both\""], "master belongs to its two lengths"),
        (&["master_size = \"1 in\""], "master_size belongs to its two lengths"),
    ] {
        found("difference", &changed(PAIR, changes), said);
    }
}

#[test]
fn questions_and_entries_are_read() {
    let check = good(
        "confirm",
        "question = \"Which face carries the mark?\"\nanswers = [\"thrust side\", \"open side\"]\ngood = [\"thrust side\"]\n",
    );
    let ask: Ask = check.measures.told();
    assert_eq!((ask.answers.len(), ask.good), (2, vec!["thrust side".to_owned()]));
    assert_eq!((check.limits, check.gauge, check.closure), (None, None, false));
    let yes: Ask =
        good("confirm", "question = \"Is the lock on?\"\ngood = [\"yes\"]\n").measures.told();
    assert_eq!(yes.answers, ["yes", "no"]);
    let asks = |text: &str, said: &str| found("confirm", text, said);
    asks("good = [\"yes\"]", "question is missing");
    asks("question = \" \"\ngood = [\"yes\"]", "the question is empty");
    asks("question = \"q\"", "good is missing");
    asks("question = \"q\"\ngood = []", "no answer is good");
    asks("question = \"q\"\ngood = [\"maybe\"]", "\"maybe\" is none of the answers");
    asks("question = \"q\"\nanswers = [\"a\"]\ngood = [\"a\"]", "at least two");
    asks("question = \"q\"\nanswers = [\"a\", \"a\"]\ngood = [\"a\"]", "there twice");
    asks("question = \"q\"\nanswers = [\"a\", \" \"]\ngood = [\"a\"]", "an answer is empty");
    for question in ["Is it right?", "All OK?", "Is the order correct?"] {
        asks(&format!("question = \"{question}\"\ngood = [\"yes\"]"), "answered with yes by habit");
    }
    assert!(told("confirm", "question = \"Is it on the right-hand side?\"\nanswers = [\"left\", \"right\"]\ngood = [\"left\"]\n").is_empty());
    let entry = good("entry", "question = \"Torque of the nut?\"\nunit = \"Nm\"\n");
    assert_eq!(
        entry.measures.told::<Entry>(),
        Entry {
            question: "Torque of the nut?".to_owned(),
            unit: Some("Nm".to_owned()),
            thermometer: None,
            columns: None,
            u: None
        }
    );
    found("entry", "unit = \"Nm\"", "question is missing");
}

#[test]
fn every_kind_has_a_word_and_what_it_says_of_itself() {
    let mut words = std::collections::BTreeSet::new();
    for (word, about) in Measures::WORDS {
        let traits = Measures::parse(word).unwrap();
        assert!(words.insert(*word) && traits.word == *word && about.ends_with('.'), "{word}");
        assert!(!traits.named.is_empty() && !(traits.once_more)("part/check").is_empty());
        // Only what is touched can be said to be proved by a set-up.
        if traits.is_answered() {
            assert!(Holding::ALL.iter().all(|setup| (traits.cannot_prove)(*setup).is_none()));
        } else if !traits.named.contains("difference") {
            let proves =
                Holding::ALL.iter().filter(|setup| (traits.cannot_prove)(**setup).is_none());
            assert!(proves.count() > 0, "{word}");
        }
    }
    assert_eq!(words.len(), Measures::WORDS.len());
    assert!(Measures::parse("roundness").is_none());
}

/// Numbers of a plan have up to fifteen digits and any place of the point: what cannot be worked out with
/// them is told, and nothing breaks off.
#[test]
fn numbers_of_the_most_digits_are_worked_out_or_refused() {
    for (rate, said) in [
        ("99999999999999.9e16/1e-14", "too many digits"),
        ("-0.00000000000001/99999999999999.9e16", "too many digits"),
        ("1e14/3e-14", "more than the distance"),
        ("7/0.0", "divides by zero"),
        ("7/24/2", "is not a decimal number"),
    ] {
        found("taper", &changed(TAPER, &[&format!("rate = \"{rate}\"")]), said);
    }
    let fine = changed(TAPER, &["rate = \"0.29166666666667/1.0000000000001\""]);
    let check = good("taper", &fine);
    judged(&series(&check, &[100_000, 143_750, 172_917]));
    let digits = [
        "expansion = \"0.00001149999999\"",
        "master_expansion = \"11.499999999e-6\"",
        "off_20 = \"49.9999999999999\"",
        "temperature_between = \"0.19999999999999\"",
        "expansion_uncertainty = \"0.999999999e-6\"",
    ];
    let check = good("length", &changed(LENGTH, &digits));
    let mut size: Size = check.measures.told();
    size.temperatures = Some([ENTRY, OTHER]);
    let entries = [(ENTRY, "20.1234567890123"), (OTHER, "-19.9999999999999")];
    let entries = entries.map(|(at, text)| (at, text.to_owned())).to_vec();
    for room in [Room { entries, ..Room::default() }, Room::default()] {
        let check = Check { measures: size.clone().into(), ..check.clone() };
        let found = check.measures.judge(&series(&check, &[150_000; 4]), &room);
        assert!(found.expanded().is_some() && !found.says.is_empty(), "{:?}", found.says);
    }
}

/// How a figure is judged, so that whoever explains or draws it need not ask which kind it is.
#[test]
fn a_kind_says_whether_it_is_a_range_a_face_and_judged_circle_by_circle() {
    let said = |what: fn(&Traits) -> bool| {
        let kinds = Measures::WORDS.iter().filter_map(|(word, _)| Measures::parse(word));
        let mut words: Vec<&str> = kinds.filter(|kind| what(kind)).map(Traits::text).collect();
        words.sort_unstable();
        words
    };
    let ranges = said(Traits::is_range);
    assert_eq!(ranges, ["parallelism", "runout", "squareness", "thickness-variation"]);
    let faces = said(Traits::is_face);
    assert_eq!(faces, ["flatness", "parallelism", "squareness", "thickness-variation"]);
    assert_eq!(said(Traits::by_circles), ["bar-runout", "runout"]);
    let untouched = said(|kind| !kind.is_touched());
    // A run-in is written down as it runs.
    let each = [said(Traits::is_worked_out), said(Traits::is_answered), vec!["run-in"]].concat();
    assert!(untouched.iter().all(|kind| each.contains(kind)) && untouched.len() == each.len());
    assert_eq!(said(Traits::is_worked_out), ["difference", "fit", "match"]);
    // As it is stored: by its word, and no word but those.
    for (word, _) in Measures::WORDS {
        let kind = Measures::parse(word).unwrap();
        let text = serde_json::to_string(kind).unwrap();
        assert_eq!(text, format!("{word:?}"));
        assert_eq!(serde_json::from_str::<&Traits>(&text).unwrap(), kind);
    }
    let none = serde_json::from_str::<&Traits>("\"roundness\"").unwrap_err();
    assert!(none.to_string().contains("no kind of check \"roundness\""), "{none}");
}
