//! Lengths at 20 °C, and which touch is judged.

use crate::tests::pairs::*;

fn warm(judge: SizeJudged) -> Kit {
    let size = Size {
        judge,
        temperatures: Some([1, 2].map(|check| CheckAt { part: 0, check })),
        ..Size::default()
    };
    let check = Check {
        limits: Some(Limits::Band { min: inch("1.9999"), max: inch("2.0001") }),
        measures: Measures::from(size),
        ..length("plate", "2.0000")
    };
    // Where the plan names no unit, anything can be written down.
    Kit::new(vec![check, entry("ring-c", ""), entry("master-c", "C")])
}

#[test]
fn a_warm_ring_is_brought_to_20_degrees() {
    let mut kit = warm(SizeJudged::Mean);
    take(&mut kit, "ring/length", &["0", "0.00014", "0.00014", "0.00014", "0.00014", "0"]);
    let verdict = kit.verdict();
    assert_eq!(verdict.figures.judged, Some(SizeJudged::Mean));
    assert_eq!(verdict.value, Some(Figure::from(inch("2.00014"))));
    let sentence = "Not at 20 °C: the temperatures are not written down.";
    assert!(says(&verdict, sentence), "{:?}", verdict.advice);
    record(&mut kit, "ring/ring-c", "26.5");
    record(&mut kit, "ring/master-c", "20.5");
    let verdict = kit.verdict();
    // 2.00014 in · 11.5e-6 · 6 = 0.00013800966 in; the independent program takes the master's
    // 2 in, which differs by a hundredth of a millionth.
    assert_eq!(verdict.figures.to_20_c, Some(Figure::from(inch("1380.0966")) / 10_000_000));
    let left = Figure::from(inch("2.00014")) - verdict.figures.to_20_c.unwrap();
    assert_eq!(verdict.value, Some(left));
    assert_eq!(left.fixed(Unit::Inch, 6), "2.000002");
    assert!(says(&verdict, "At 20 °C; 0.000138 taken off."), "{:?}", verdict.advice);
    record(&mut kit, "ring/ring-c", "70 F");
    let verdict = kit.verdict();
    assert_eq!(verdict.figures.to_20_c, None);
    let sentence = "Not at 20 °C: ring/ring-c says \"70 F\", which is no temperature in °C.";
    assert!(says(&verdict, sentence), "{:?}", verdict.advice);
    record(&mut kit, "ring/ring-c", "18.5");
    assert!(says(&kit.verdict(), "At 20 °C; 0.000046 added."), "{:?}", kit.verdict().advice);
    // As warm as the master: part and master of one steel are off by the same, to far below a digit.
    record(&mut kit, "ring/ring-c", "20.5");
    let nothing = "At 20 °C; nothing to take off.";
    assert!(says(&kit.verdict(), nothing), "{:?}", kit.verdict().advice);
}

#[test]
fn every_touch_is_judged_by_the_one_nearest_to_a_limit() {
    for (touches, value) in [
        (["0.00002", "-0.00003", "0.00001", "0.00000"], "1.99997"),
        (["0.00002", "-0.00003", "0.00012", "0.00013"], "2.00013"),
        (["0.00002", "0.00015", "-0.00016", "0.00013"], "1.99984"),
    ] {
        let mut kit = warm(SizeJudged::EveryTouch);
        kit.measure("ring/length").unwrap();
        kit.send(&["0"]);
        kit.send(&touches);
        kit.send(&["0"]);
        let verdict = kit.verdict();
        assert_eq!(verdict.figures.judged, Some(SizeJudged::EveryTouch));
        assert_eq!(verdict.value, Some(Figure::from(inch(value))), "{touches:?}");
    }
}

#[test]
fn at_20_degrees_another_touch_may_be_the_nearest() {
    let mut kit = warm(SizeJudged::EveryTouch);
    take(&mut kit, "ring/length", &["0", "0.00009", "0.00001", "0.00005", "0.00005", "0"]);
    assert_eq!(kit.verdict().value, Some(Figure::from(inch("2.00009"))));
    record(&mut kit, "ring/ring-c", "25");
    record(&mut kit, "ring/master-c", "20");
    // 0.000115 in comes off everywhere: the short touch is past its limit.
    let verdict = kit.verdict();
    assert_eq!(verdict.value.unwrap().fixed(Unit::Inch, 6), "1.999895");
    assert_eq!(verdict.simple, Some(Word::DoesNotConform));
}

#[test]
fn a_pair_is_brought_to_20_degrees_only_with_both_temperatures() {
    let with = |part: u16| {
        let temperatures = Some([1, 2].map(|check| CheckAt { part, check }));
        Check {
            measures: Measures::from(Size { temperatures, ..Size::default() }),
            ..length("plate", "1.2345")
        }
    };
    let ring = |name: &str, part_at: u16| {
        part(name, vec![with(part_at), entry("ring-c", "C"), entry("master-c", "C")])
    };
    let check = difference(pair(), within("0.0001"));
    let parts = vec![ring("outer-spacer", 0), ring("inner-spacer", 1), part("pair", vec![check])];
    let mut kit = Kit::of(parts, Vec::new());
    take(&mut kit, "outer-spacer/length", &INNER);
    take(&mut kit, "inner-spacer/length", &INNER);
    record(&mut kit, "outer-spacer/ring-c", "22");
    record(&mut kit, "outer-spacer/master-c", "20");
    let verdict = judged(&mut kit);
    assert_eq!(verdict.value, Some(Figure::ZERO));
    assert!(speaks_of(&verdict, "Not at 20 °C"), "{:?}", verdict.advice);
    record(&mut kit, "inner-spacer/ring-c", "21");
    record(&mut kit, "inner-spacer/master-c", "20");
    let verdict = kit.verdict();
    // One degree more on 1.234505 in of steel: 0.0000142 in shorter at 20 °C.
    assert_eq!(
        verdict.value.map(|value| value.fixed(Unit::Inch, 7)).as_deref(),
        Some("-0.0000142")
    );
    assert!(says(&verdict, "Both lengths are at 20 °C."), "{:?}", verdict.advice);
}

#[test]
fn readings_that_are_deviations_are_warm_over_the_whole_length() {
    let mut check = length("plate", "2.0000");
    check.limits = Some(within("0.0001"));
    check.master = MasterUse::None;
    check.master_size = None;
    check.measures = Measures::from(Size {
        temperatures: Some([1, 2].map(|check| CheckAt { part: 0, check })),
        ..Size::default()
    });
    let mut kit = Kit::new(vec![check, entry("ring-c", "C"), entry("master-c", "C")]);
    record(&mut kit, "ring/ring-c", "26.5");
    record(&mut kit, "ring/master-c", "20.5");
    take(&mut kit, "ring/length", &["0.00014"; 4]);
    assert!(says(&kit.verdict(), "At 20 °C; 0.000138 taken off."), "{:?}", kit.verdict().advice);
    assert_eq!(kit.verdict().value.unwrap().fixed(Unit::Inch, 6), "0.000002");
}
