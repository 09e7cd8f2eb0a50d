//! The reasons that withhold a difference: sittings, masters, tries, gauges.

use crate::tests::pairs::*;

#[test]
fn an_hour_apart_is_not_one_sitting() {
    for (minutes, reasons) in [(30, vec![]), (31, vec![Reason::Apart]), (61, vec![Reason::Apart])] {
        let check = difference(pair(), within("0.0001"));
        let mut kit =
            bench(length("plate", "1.2345"), length("plate", "1.2345"), check, Vec::new());
        take(&mut kit, "outer-spacer/length", &INNER);
        kit.measure("inner-spacer/length").unwrap();
        // The last touch was a second ago, the next event comes a second later.
        kit.clock_us += minutes * MINUTE - 2_000_000;
        kit.send(&INNER);
        let verdict = judged(&mut kit);
        assert_eq!(figures(&verdict).apart_min, u32::try_from(minutes).ok());
        assert_eq!(verdict.reasons, reasons);
        let sentence = format!(
            "outer-spacer and inner-spacer were measured {minutes} minutes apart; measure them in one sitting."
        );
        assert_eq!(says(&verdict, &sentence), minutes > 30, "{:?}", verdict.advice);
        let word = if minutes > 30 { Word::Undecided } else { Word::Conforms };
        assert_eq!(verdict.word, word);
    }
}

#[test]
fn by_turns_is_one_sitting() {
    let mut kit = two_units(pair());
    kit.clock_us += 50 * MINUTE;
    again(&mut kit, "inner-spacer/length", AttemptReason::Again);
    kit.send(&INNER);
    let verdict = judged(&mut kit);
    assert_eq!(figures(&verdict).apart_min, Some(0), "inner, outer, inner");
    assert!(verdict.reasons.is_empty());
}

#[test]
fn a_half_ground_again_makes_another_difference() {
    let mut kit = plain(difference(pair(), within("0.0001")), "1.00015", "1.00000", Vec::new());
    let first = judged(&mut kit);
    assert!(kit.measure("pair/match").is_err(), "nothing new to take");
    again(&mut kit, "outer-spacer/length", AttemptReason::Ground);
    kit.send(&["1.00001"; 4]);
    let second = judged(&mut kit);
    assert_ne!(first.attempt, second.attempt);
    let reason = kit.bench.attempt(second.attempt).unwrap().2.began.reason;
    assert_eq!((reason, second.word), (AttemptReason::Ground, Word::Conforms));
    assert_eq!(second.value, Some(Figure::from(inch("0.00001"))));
    let stands = kit.bench.attempt(first.attempt).unwrap().2.verdict.clone().unwrap().1;
    assert_eq!(stands.word, Word::DoesNotConform, "the first keeps its own");
}

#[test]
fn a_touch_taken_back_in_a_half_takes_the_difference_with_it() {
    let mut kit = two_units(pair());
    let attempt = judged(&mut kit).attempt;
    let inner = kit.readings().iter().find(|(_, r)| r.as_sent == "1.23452").unwrap().0;
    kit.ask(Command::Void { id: Some(inner), why: Some("chip".to_owned()) }).unwrap();
    let verdict = kit.verdict();
    assert_eq!((verdict.attempt, verdict.value), (attempt, None), "judged again");
    assert_eq!(verdict.word, Word::Undecided);
    let sentence = "inner-spacer/length has a position without a touch.";
    assert!(says(&verdict, sentence), "{:?}", verdict.advice);
    kit.measure("inner-spacer/length").unwrap();
    kit.send(&["1.23450"]);
    let verdict = kit.verdict();
    // The mean falls by half a hundred-thousandth of an inch: 0.573 + 0.127 µm.
    assert_eq!((verdict.attempt, verdict.value), (attempt, Some(Figure::from(um("0.7")))));
}

#[test]
fn what_withholds_a_half_withholds_the_difference() {
    let check = difference(pair(), within("0.0001"));
    let mut kit = bench(length("plate", "1.2345"), length("plate", "1.2345"), check, Vec::new());
    take(&mut kit, "outer-spacer/length", &INNER);
    // Less than a quarter of the length's tolerance of 0.001 in, but not of the pair's.
    let mut walked = INNER;
    walked[5] = "1.23460";
    take(&mut kit, "inner-spacer/length", &walked);
    assert_eq!(kit.verdict().word, Word::Conforms, "the length by itself");
    let verdict = judged(&mut kit);
    assert_eq!(verdict.reasons, [Reason::ZeroMoved]);
    assert_eq!((verdict.simple, verdict.word), (Some(Word::Conforms), Word::Undecided));
}

#[test]
fn a_gauge_may_be_fine_for_a_length_and_too_coarse_for_a_pair() {
    let check = difference(pair(), within("0.0001"));
    let mut kit = bench(length("plate", "1.2345"), length("plate", "1.2345"), check, Vec::new());
    kit.setup.gauges.get_mut("plate").unwrap().resolution =
        Quoted::parse("0.00005", Unit::Inch).unwrap();
    take(&mut kit, "outer-spacer/length", &["1.2345"; 6]);
    assert!(kit.verdict().reasons.is_empty());
    take(&mut kit, "inner-spacer/length", &["1.2345"; 6]);
    let verdict = judged(&mut kit);
    assert_eq!(
        (verdict.word, &verdict.reasons[..]),
        (Word::Undecided, &[Reason::GaugeTooCoarse][..])
    );
}

#[test]
fn two_masters_are_told() {
    let check = difference(pair(), within("0.0001"));
    let mut inner = length("plate", "1.2345");
    inner.master_size = Some(inch("1.2000"));
    let mut kit = bench(length("plate", "1.2345"), inner, check, Vec::new());
    take(&mut kit, "outer-spacer/length", &INNER);
    take(
        &mut kit,
        "inner-spacer/length",
        &["1.20000", "1.23450", "1.23452", "1.23451", "1.23449", "1.20000"],
    );
    let verdict = judged(&mut kit);
    let sentence = "outer-spacer and inner-spacer were not against one master.";
    assert!(says(&verdict, sentence), "{:?}", verdict.advice);
    assert_eq!(verdict.value, Some(Figure::ZERO));
}

#[test]
fn a_master_that_nobody_touched_is_not_told_apart_from_another() {
    let unmastered = |size: &str| Check {
        master: crate::plan::MasterUse::None,
        master_size: Some(inch(size)),
        ..length("plate", "1.2345")
    };
    let check = difference(pair(), within("0.0001"));
    let mut kit = bench(unmastered("1.2345"), unmastered("1.2"), check, Vec::new());
    for target in ["outer-spacer/length", "inner-spacer/length"] {
        take(&mut kit, target, &["1.23450", "1.23452", "1.23451", "1.23449"]);
    }
    let verdict = judged(&mut kit);
    let sentence = "outer-spacer and inner-spacer were not against one master.";
    assert!(!says(&verdict, sentence), "{:?}", verdict.advice);
}

/// A ring with its temperature and that of the master written down beside it.

#[test]
fn an_assumed_gauge_makes_an_assumed_difference() {
    let mut kit = bench(
        length("height", "1.2345"),
        length("plate", "1.2345"),
        difference(Pair { assumed: NotStated::default(), ..pair() }, within("0.0001")),
        Vec::new(),
    );
    kit.setup.gauges.get_mut("plate").unwrap().uncertainty = None;
    take(&mut kit, "inner-spacer/length", &INNER);
    kit.measure("outer-spacer/length").unwrap();
    send_mm(&mut kit, &["31.3563", "31.3569", "31.3573", "31.3571", "31.3567", "31.3563"]);
    let verdict = judged(&mut kit);
    assert!(verdict.known == Known::Assumed && !speaks_of(&verdict, "Assumed: "));
    let sentence = "The uncertainty of plate is assumed, not stated.";
    assert!(says(&verdict, sentence), "{:?}", verdict.advice);
    assert!(!speaks_of(&verdict, "height"));
}

#[test]
fn an_earlier_try_whose_zero_walked_is_left_out_of_length_and_pair() {
    let mut kit = two_units(pair());
    again(&mut kit, "inner-spacer/length", AttemptReason::Cleaned);
    let mut walked = INNER;
    walked[5] = "1.23460";
    kit.send(&walked);
    again(&mut kit, "inner-spacer/length", AttemptReason::Again);
    kit.send(&INNER);
    let length = kit.verdict();
    assert_eq!((length.tries, &length.reasons[..]), (1, &[][..]));
    let verdict = judged(&mut kit);
    assert!(verdict.reasons.is_empty(), "{:?}", verdict.reasons);
    assert_eq!(Some(figures(&verdict).lengths[1]), length.value);
}

#[test]
fn tries_that_differ_by_more_than_half_a_tenth_are_not_one_metal_for_a_pair() {
    let mut kit = two_units(pair());
    again(&mut kit, "inner-spacer/length", AttemptReason::Again);
    // 0.00006 in, above 6·u of 0.00005: nothing to a length of ±0.001 in.
    kit.send(&["1.23450", "1.23450", "1.23452", "1.23451", "1.23455", "1.23450"]);
    assert!(kit.verdict().reasons.is_empty(), "the length by itself");
    assert_eq!(judged(&mut kit).reasons, [Reason::TriesDiffer]);
}

#[test]
fn two_lengths_of_one_part_are_named_by_their_checks() {
    let check = |name_of: &str| Check { name: name(name_of), ..length("plate", "1.2345") };
    let both = Pair { of: [0, 1].map(|check| CheckAt { part: 0, check }), ..pair() };
    let checks = vec![check("left"), check("right"), difference(both, within("0.0001"))];
    let mut kit = Kit::of(vec![part("sleeve", checks)], Vec::new());
    take(&mut kit, "sleeve/left", &["1.23450"; 6]);
    let longer = ["1.23450", "1.23454", "1.23454", "1.23454", "1.23454", "1.23450"];
    take(&mut kit, "sleeve/right", &longer);
    kit.measure("sleeve/match").unwrap();
    let verdict = kit.verdict();
    assert!(says(&verdict, "sleeve/right is longer, barely."), "{:?}", verdict.advice);
}
