//! Lengths: their zero, their heat, what of them is judged.

use super::*;
use crate::{SaidOf, Size, SizeJudged};
use judgement::{Known, Reason};
use num_rational::Ratio;

/// A length between 1.4990 and 1.5010 in, of which nothing is left to assume.
fn stated() -> Size {
    let none = Some(Ratio::from_integer(0));
    Size {
        master_u: Some(Length::ZERO),
        between_c: none,
        off_20_c: none,
        expansion_u: none,
        ..Size::default()
    }
}

fn length(size: Size) -> Check {
    let limits = Some(Limits::Band { min: inch("1.4990"), max: inch("1.5010") });
    let master_size = Some(inch("1.5"));
    Check {
        positions: 4,
        limits,
        master: MasterUse::Both,
        master_size,
        radii: Vec::new(),
        ..check(size)
    }
}

/// Touches of a length, in 0.00001 in above 1.5 in.
fn touched(check: &Check, above: [i64; 4]) -> Series<'_> {
    let mut series = series(check, &above.map(|steps| 150_000 + steps));
    series.reading = doubt(None);
    series
}

/// A room whose master was touched: what it would have shown, and how far that may be off.
fn mastered(doubt: &str, walk: &str) -> Room {
    let doubt = Some(Figure::from(inch(doubt)));
    Room { zero: Some(Figure::ZERO), doubt, walk: inch(walk), ..Room::default() }
}

#[test]
fn a_length_is_the_mean_of_its_touches() {
    let check = length(stated());
    let series = touched(&check, [10, 12, 12, 14]);
    let found = check.measures.judge(&series, &Room::default());
    assert_eq!(found.value, Some(Figure::from(inch("1.50012"))));
    assert_eq!((found.figures.mean, found.figures.judged), (found.value, Some(SizeJudged::Mean)));
    assert_eq!(found.figures.max_minus_min, Some(Figure::from(inch("0.00004"))));
    assert_eq!((found.figures.zero, found.figures.to_20_c), (None, None));
    // Without a master and without heat only a touch is left: 2·6.
    near(known(&found), 12.0, 0.001);
    assert_eq!(found.expanded().unwrap().known, Known::Stated);
    assert!(found.says.is_empty() && found.reasons.is_empty(), "{:?}", found.says);
}

#[test]
fn the_zero_and_its_walk_are_in_the_uncertainty() {
    let check = length(stated());
    let mut series = touched(&check, [10, 12, 12, 14]);
    let found = check.measures.judge(&series, &mastered("0.000035", "0.00006"));
    // A touch on the part and one on the master, the zero within ± 35: 2·√(6² + 6² + 35²/3).
    near(known(&found), 2.0 * (72.0 + 1225.0 / 3.0_f64).sqrt(), 0.005);
    assert_eq!(found.figures.zero, Some(Figure::ZERO));
    assert!(found.reasons.is_empty(), "it is far from any limit");
    // Four touches at each position, two tries: 2·√(6²/4 + 6²/2 + 35²/3), s never below 2.9.
    (series.averaged, series.tries) = (4, 2);
    let found = check.measures.judge(&series, &mastered("0.000035", "0.00006"));
    near(known(&found), 2.0 * (9.0 + 18.0 + 1225.0 / 3.0_f64).sqrt(), 0.005);
    // A master of its own uncertainty; and one nobody states: 10.
    let own = length(Size { master_u: Some(inch("0.000008")), ..stated() });
    let series = touched(&own, [10, 12, 12, 14]);
    let found = own.measures.judge(&series, &mastered("0", "0"));
    near(known(&found), 2.0 * (72.0 + 64.0_f64).sqrt(), 0.005);
    let unknown = length(Size { master_u: None, ..stated() });
    let series = touched(&unknown, [10, 12, 12, 14]);
    let found = unknown.measures.judge(&series, &mastered("0", "0"));
    near(known(&found), 2.0 * (72.0 + 100.0_f64).sqrt(), 0.005);
    assert_eq!(found.expanded().unwrap().known, Known::Assumed);
    says(&found, "Assumed: master to 0.00001 in.");
}

#[test]
fn a_zero_that_walked_far_withholds_the_verdict_near_a_limit() {
    let check = length(stated());
    let reasons = |above: [i64; 4], walk: &str| {
        let series = touched(&check, above);
        check.measures.judge(&series, &mastered(walk, walk)).reasons
    };
    // The limit lies at 100; what walked by 6 reaches it from 96 on.
    assert!(reasons([50; 4], "0.00006").is_empty());
    assert_eq!(reasons([98; 4], "0.00006"), [Reason::ZeroMoved]);
    // More than half of the tolerance is too much anywhere.
    assert_eq!(reasons([0; 4], "0.00051"), [Reason::ZeroMoved]);
    assert!(reasons([0; 4], "0.0005").is_empty());
}

#[test]
fn every_touch_is_judged_by_the_one_nearest_to_a_limit() {
    let check = length(Size { judge: SizeJudged::EveryTouch, ..stated() });
    for (above, judged) in [
        ([10, 12, -13, 14], 14),
        ([10, 12, -15, 14], -15),
        ([10, 12, -14, 14], -14),
        ([120, 130, -90, 14], 130),
        ([0, 0, 0, 0], 0),
    ] {
        let series = touched(&check, above);
        let found = check.measures.judge(&series, &Room::default());
        let expected = Length::from_picometres((150_000 + judged) * 254_000);
        assert_eq!(found.value, Some(Figure::from(expected)), "{above:?}");
        assert_eq!(found.figures.judged, Some(SizeJudged::EveryTouch));
        assert_ne!(found.figures.mean, None, "beside it");
    }
}

/// A length whose temperatures are written down.
fn warm(part: &str, master: &str) -> (Check, Room) {
    let check = length(Size { temperatures: Some([ENTRY, OTHER]), ..stated() });
    let entries = vec![(ENTRY, part.to_owned()), (OTHER, master.to_owned())];
    (check, Room { entries, ..mastered("0", "0") })
}

#[test]
fn a_warm_part_is_brought_to_twenty_degrees() {
    for (part, master, off) in [
        // 11.5e-6 · 1.5 in · (25 − 20) − the same of the master at 22: 34.5 microinch a degree and two.
        ("25", "20", 86.25),
        ("25 C", "22 °C", 51.75),
        ("18", "20", -34.5),
        ("20", "20", 0.0),
    ] {
        let (check, room) = warm(part, master);
        let series = touched(&check, [0; 4]);
        let found = check.measures.judge(&series, &room);
        near(microinch(found.figures.to_20_c.unwrap()), off, 0.01);
        near(microinch(found.value.unwrap()), 1_500_000.0 - off, 0.01);
        let said = match off {
            0.0 => "nothing to take off",
            off if off > 0.0 => "taken off",
            _ => "added",
        };
        says(&found, said);
        assert!(found.reasons.is_empty(), "less than a tenth of 0.001 in");
    }
    let (check, room) = warm("27", "20");
    let series = touched(&check, [0; 4]);
    assert_eq!(check.measures.judge(&series, &room).reasons, [Reason::Warm], "0.00012 in");
}

#[test]
fn temperatures_that_are_missing_or_none_are_said() {
    for (part, master, said) in [
        ("hot", "20", "part-3/check-1 says \"hot\""),
        ("21", "20 K", "part-3/check-2 says \"20 K\""),
    ] {
        let (check, room) = warm(part, master);
        let series = touched(&check, [0; 4]);
        let found = check.measures.judge(&series, &room);
        assert_eq!(found.figures.to_20_c, None);
        says(&found, said);
    }
    let (check, mut room) = warm("21", "20");
    room.entries.pop();
    let series = touched(&check, [0; 4]);
    let found = check.measures.judge(&series, &room);
    says(&found, "not written down");
    assert_eq!(found.value, Some(Figure::from(inch("1.5"))));
}

#[test]
fn heat_nobody_states_is_assumed_and_in_the_uncertainty() {
    let check = length(Size { master_u: Some(Length::ZERO), ..Size::default() });
    let series = touched(&check, [0; 4]);
    let found = check.measures.judge(&series, &mastered("0", "0"));
    // 1 °C between them works on 1.5 in by 17.25, their expansions by 1e-6 on 2 °C by 3.
    near(known(&found), 2.0 * (72.0 + 17.25_f64.powi(2) + 9.0).sqrt(), 0.02);
    assert_eq!(found.expanded().unwrap().known, Known::Assumed);
    says(&found, "Assumed: 1 °C between part and master, 2 °C off 20 °C, 1e-6 per °C.");
    // With both temperatures half a degree is left between them, and what is off is known.
    let (known_temperatures, room) = warm("21", "20");
    let size = Size {
        temperatures: Some([ENTRY, OTHER]),
        master_u: Some(Length::ZERO),
        ..Size::default()
    };
    let check = Check { measures: size.into(), ..known_temperatures };
    let series = touched(&check, [0; 4]);
    let found = check.measures.judge(&series, &room);
    near(known(&found), 2.0 * (72.0 + 8.625_f64.powi(2) + 1.5_f64.powi(2)).sqrt(), 0.02);
    says(&found, "Assumed: 0.5 °C between part and master, 1e-6 per °C.");
}

#[test]
fn deviations_from_a_size_are_as_warm_as_the_whole_of_it() {
    let (check, room) = warm("25", "20");
    let limits = Some(Limits::Band { min: inch("-0.001"), max: inch("0.001") });
    let check = Check { limits, nominal: Some(inch("1.5")), ..check };
    let mut series = series(&check, &[0; 4]);
    series.reading = doubt(None);
    let found = check.measures.judge(&series, &room);
    near(microinch(found.figures.to_20_c.unwrap()), 86.25, 0.01);
    near(microinch(found.value.unwrap()), -86.25, 0.01);
    assert_eq!(check.whole_length(Figure::ZERO), inch("1.5"));
    assert_eq!(check.whole_length(Figure::from(inch("2.5"))), inch("2.5"));
}

#[test]
fn a_length_that_was_not_touched_has_no_value() {
    let check = length(stated());
    let mut none = touched(&check, [0; 4]);
    none.sums.clear();
    let found = check.measures.judge(&none, &Room::default());
    assert_eq!((found.value, found.limits), (None, check.limits));
    assert_eq!(check.measures.so_far(&none), None);
}

/// All shares together, in every combination of what a plan states: the law of propagation, worked out here
/// in floats.
#[test]
fn the_uncertainty_of_a_length_is_the_root_of_its_squares() {
    let ratio = |of: &str| crate::keys::decimal(of).unwrap();
    for (averaged, tries) in [(1, 1), (3, 1), (2, 2)] {
        for (master_u, zero) in [(0_u16, 0_u16), (8, 35), (25, 12)] {
            for (between, off, unlike, expansion_u) in [
                ("0", "0", "0", "0"),
                ("0.3", "0", "0", "0"),
                ("0", "1.5", "0", "0.7e-6"),
                ("0.2", "3", "2.5e-6", "0"),
                ("0.4", "2", "-1.5e-6", "1.2e-6"),
            ] {
                let size = Size {
                    master_u: Some(Length::from_picometres(25_400 * i64::from(master_u))),
                    between_c: Some(ratio(between)),
                    off_20_c: Some(ratio(off)),
                    expansion_u: Some(ratio(expansion_u)),
                    expansions: [crate::steel(), crate::steel() - ratio(unlike)],
                    ..Size::default()
                };
                let check = length(size);
                let series = Series { averaged, tries, ..touched(&check, [0; 4]) };
                let doubt = Some(Figure::new(25_400 * i128::from(zero), 1));
                let room = Room { zero: Some(Figure::ZERO), doubt, ..Room::default() };
                let found = check.measures.judge(&series, &room);
                let float = |text: &str| text.parse::<f64>().unwrap();
                let (off, long) = (float(off), 1.5e6);
                // Six on the part and six on the master; the zero anywhere within its doubt; heat that is
                // between them, works on unlike metals, and is off by so much either way.
                let squares = [
                    36.0 / f64::from(averaged),
                    36.0 / f64::from(tries),
                    f64::from(master_u).powi(2),
                    f64::from(zero).powi(2) / 3.0,
                    (long * 11.5e-6 * float(between)).powi(2),
                    (long * float(unlike) * off).powi(2),
                    (long * float(expansion_u) * off).powi(2),
                ];
                let expected = 2.0 * squares.iter().sum::<f64>().sqrt();
                let case = format!("{averaged} {tries} {master_u} {zero} {between} {off} {unlike}");
                let known = known(&found);
                assert!((known - expected).abs() < 0.01, "{case}: {known} is not {expected}");
            }
        }
    }
}

/// What withholds a length for its heat, as a sentence.
fn because(found: &Judged) -> Vec<&str> {
    let of = SaidOf::Because(Reason::Warm);
    found.sayings.iter().filter(|said| said.of == of).map(|said| said.text.as_str()).collect()
}

/// 2 in of steel, T 100: a tenth is 10, 23 a degree: 0.43 °C.
fn two_inches(part: &str, master: &str, expansions: [Ratio<i128>; 2]) -> (Check, Room) {
    let (check, room) = warm(part, master);
    let size = Size { temperatures: Some([ENTRY, OTHER]), expansions, ..stated() };
    let limits = Some(Limits::Band { min: inch("1.9999"), max: inch("2.0001") });
    (Check { measures: size.into(), limits, master_size: Some(inch("2")), ..check }, room)
}

#[test]
fn a_warm_part_says_how_warm_and_when_it_is_ready() {
    let steel = [crate::steel(); 2];
    let (check, room) = two_inches("26.5", "20.5", steel);
    let mut series = series(&check, &[200_014; 4]);
    series.reading = doubt(None);
    let found = check.measures.judge(&series, &room);
    assert_eq!(found.reasons, [Reason::Warm]);
    let said = "The part is 6 °C warmer than its master: 0.000138 of heat, 0.000010 at most is allowed. Ready when they are within 0.4 °C.";
    assert_eq!(because(&found), [said]);
    assert_eq!(found.figures.as_read, Some(Figure::from(inch("2.00014"))), "it stands beside");
    let (check, room) = two_inches("20.5", "21", steel);
    assert_eq!(
        check.measures.judge(&series, &room).reasons,
        [Reason::Warm],
        "half a degree colder"
    );
    let (check, room) = two_inches("20.9", "20.5", steel);
    let found = check.measures.judge(&series, &room);
    assert!(found.reasons.is_empty() && because(&found).is_empty());
    says(&found, "Ready by temperature: 0.4 °C apart, 0.4 at most is allowed.");
}

/// Both at 22 °C: nothing between them, and yet 2·2 in·(23 − 11.5)e-6 = 46 of heat, 0.46 T. The allowed
/// tenth is 10/(2·11.5) = 0.43 °C off 20.
#[test]
fn aluminium_on_a_master_of_steel_holds_heat_at_one_temperature() {
    let aluminium = Ratio::new(23, 1_000_000);
    let (check, room) = two_inches("22", "22", [aluminium, crate::steel()]);
    let mut series = series(&check, &[200_000; 4]);
    series.reading = doubt(None);
    let found = check.measures.judge(&series, &room);
    near(microinch(found.figures.to_20_c.unwrap()), 46.0, 0.001);
    near(microinch(found.value.unwrap()), 2_000_000.0 - 46.0, 0.001);
    assert_eq!(found.reasons, [Reason::Warm]);
    let said = "Part and master are of unlike metal, and at 22 °C: 0.000046 of heat, 0.000010 at most is allowed. Ready within 0.4 °C of 20 °C, or against a master of its own metal.";
    assert_eq!(because(&found), [said]);
    let (check, room) = two_inches("20.4", "20.4", [aluminium, crate::steel()]);
    assert!(check.measures.judge(&series, &room).reasons.is_empty());
    let (check, room) = two_inches("23", "22", [aluminium, crate::steel()]);
    let found = check.measures.judge(&series, &room);
    assert_eq!(found.reasons, [Reason::Warm]);
    // 2·(23·3 − 11.5·2) = 92: no degrees are told, since both count.
    let said =
        "The part is 1 °C warmer than its master: 0.000092 of heat, 0.000010 at most is allowed.";
    assert_eq!(because(&found), [said]);
}
