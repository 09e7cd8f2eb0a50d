//! Sets of bearings with face offsets: which ring is shortened, and by how much.

use crate::tests::pairs::*;

/// Two bearings on either side of the rings.
fn set_of_four() -> Pair {
    Pair {
        preload: Some((250.0, um("4.5"))),
        offsets: Some([vec![at(3), at(4)], vec![at(5), at(6)]]),
        offset_u: Some(um("0.2")),
        between_c: Ratio::new(1, 10),
        assumed: NotStated::default(),
        ..pair()
    }
}

fn bearings() -> Vec<Part> {
    ["b1", "b2", "b3", "b4"].map(|one| part(one, vec![entry("offset", "um")])).into()
}

const OFFSETS: [(&str, &str); 4] =
    [("b1/offset", "0.4"), ("b2/offset", "0.6"), ("b3/offset", "-0.2"), ("b4/offset", "0.2")];

#[test]
fn four_bearings_ask_for_a_shorter_inner_spacer() {
    let check = difference(set_of_four(), within("0.00002"));
    let mut kit = plain(check, "1.00002", "1.00006", bearings());
    for (bearing, offset) in OFFSETS {
        record(&mut kit, bearing, offset);
    }
    let verdict = judged(&mut kit);
    assert_eq!(verdict.value, Some(Figure::from(inch("-0.00004"))));
    // In µm²: 2·0.1524²/4 of the touches, 2·(0.21336² − 0.1524²) of the rest, (25.4·0.00115)² and
    // 0.0254² of heat, 0.04/2 of either side's offsets: twice the root of 0.0977.
    let expanded = Figure::from(verdict.uncertainty.unwrap()).to_f64() / 1e6;
    assert!((expanded - 0.6252).abs() < 0.0002, "{expanded}");
    let limits = Limits::Band { min: um("-0.008"), max: um("1.008") };
    assert_eq!(verdict.limits, Some(limits), "0.5 µm, give or take 0.508");
    assert_eq!(verdict.word, Word::DoesNotConform);
    let figures = figures(&verdict);
    assert_eq!(figures.required, Some(Figure::from(um("0.5"))));
    // 250·((9 - 1.516 ∓ 0.625)/9)^1.5 = 166 and 214 N.
    assert_eq!(figures.preload_n, Some([160.0, 220.0].map(Into::into)));
    let expected = [(197.3, 258.4), (182.1, 241.8), (204.9, 266.8), (174.5, 233.5)];
    assert_eq!(figures.loads_n.len(), 4);
    for (loads, (known_now, known_after)) in figures.loads_n.iter().zip(expected) {
        let [now, after] = loads.map(f64::from);
        assert!((now - known_now).abs() < 0.051 && (after - known_after).abs() < 0.051);
    }
    assert!(says(&verdict, "Shorten inner-spacer by 0.00006 ± 0.000025."), "{:?}", verdict.advice);
    assert!(speaks_of(&verdict, "then inner-spacer by 0.000020;"), "{:?}", verdict.advice);
    assert!(speaks_of(&verdict, "Preload about 160 to 220 N, rings lying free"));
    assert!(verdict.known == Known::Stated && !speaks_of(&verdict, "assumed"));
}

#[test]
fn face_to_face_the_same_ring_is_shortened_and_the_preload_is_too_high() {
    let pair = Pair { arrangement: Some(Arrangement::FaceToFace), ..set_of_four() };
    let mut kit = plain(difference(pair, within("0.00002")), "1.00002", "1.00006", bearings());
    for (bearing, offset) in OFFSETS {
        record(&mut kit, bearing, offset);
    }
    let verdict = judged(&mut kit);
    assert!(says(&verdict, "Shorten inner-spacer by 0.00006 ± 0.000025."), "{:?}", verdict.advice);
    assert!(speaks_of(&verdict, "in face-to-face that adds preload."), "{:?}", verdict.advice);
    // 250·((9 + 1.516 ∓ 0.625)/9)^1.5 = 288 and 344 N.
    assert_eq!(figures(&verdict).preload_n, Some([280.0, 350.0].map(Into::into)));
    let sum = |from: usize| -> f64 {
        figures(&verdict).loads_n[from..from + 2].iter().map(|load| load[0].get()).sum()
    };
    assert!((sum(0) - sum(2)).abs() < 0.01 && sum(0) > 600.0);
}

#[test]
fn a_missing_offset_gives_no_figure_until_it_is_written_down() {
    let check = difference(set_of_four(), within("0.00002"));
    let mut parts = bearings();
    // Where the plan names no unit, anything can be written down.
    parts[3] = part("b4", vec![entry("offset", "")]);
    let mut kit = plain(check, "1.00002", "1.00006", parts);
    for (bearing, offset) in &OFFSETS[..3] {
        record(&mut kit, bearing, offset);
    }
    let verdict = judged(&mut kit);
    assert_eq!((verdict.value, verdict.word), (None, Word::Undecided));
    assert!(says(&verdict, "b4/offset is not written down."), "{:?}", verdict.advice);
    record(&mut kit, "b4/offset", "a bit");
    assert!(speaks_of(&kit.verdict(), "b4/offset says \"a bit\", which is no length"));
    record(&mut kit, "b4/offset", "0.2 um");
    assert_eq!(kit.verdict().value, Some(Figure::from(inch("-0.00004"))));
    let attempt = kit.verdict().attempt;
    assert_eq!(attempt, verdict.attempt, "the same attempt, judged again");
}

#[test]
fn an_offset_of_a_bearing_that_was_replaced_is_nobodys() {
    let check = difference(set_of_four(), within("0.00002"));
    let mut kit = plain(check, "1.00002", "1.00006", bearings());
    for (bearing, offset) in OFFSETS {
        record(&mut kit, bearing, offset);
    }
    kit.ask(Command::Replace { part: "b2".to_owned(), serial: None, why: "noisy".to_owned() })
        .unwrap();
    let verdict = judged(&mut kit);
    assert_eq!(verdict.value, None);
    assert!(says(&verdict, "b2/offset is not written down."), "{:?}", verdict.advice);
}

#[test]
fn a_tandem_whose_faces_stand_off_asks_for_the_difference_that_shares_the_load() {
    let pair = Pair { arrangement: Some(Arrangement::Tandem), preload: None, ..set_of_four() };
    let mut kit = plain(difference(pair, within("0.00002")), "1.00002", "1.00002", bearings());
    for (bearing, offset) in OFFSETS {
        record(&mut kit, bearing, offset);
    }
    let verdict = judged(&mut kit);
    // The required 0.5 µm are 0.0000197 in; rings of equal length are short of it.
    let sentence = "Tandem: the lengths change no preload; the load is shared with outer-spacer \
                    longer than inner-spacer by 0.000020.";
    assert!(says(&verdict, sentence), "{:?}", verdict.advice);
    assert!(!speaks_of(&verdict, "equal lengths"), "{:?}", verdict.advice);
}
