//! The heat of a length, over all temperatures: what is taken off, from where on it withholds the length,
//! and that the degrees it tells are those at which it is ready.

use super::*;
use crate::{SaidOf, Size};
use judgement::Reason;
use num_rational::Ratio;
use proptest::prelude::*;

/// Twelve inches, T 500: a tenth is 50, of steel 138 µin a degree.
const SIZE: &str = "12";

fn length(expansions: [Ratio<i128>; 2], tolerance: &str) -> Check {
    let none = Some(Ratio::from_integer(0));
    let size = Size {
        master_u: Some(Length::ZERO),
        between_c: none,
        off_20_c: none,
        expansion_u: none,
        temperatures: Some([ENTRY, OTHER]),
        expansions,
        ..Size::default()
    };
    let (nominal, off) = (inch(SIZE).picometres(), inch(tolerance).picometres());
    let [min, max] = [nominal - off, nominal + off].map(Length::from_picometres);
    Check {
        positions: 4,
        limits: Some(Limits::Band { min, max }),
        master: MasterUse::Both,
        master_size: Some(inch(SIZE)),
        radii: Vec::new(),
        ..check(size)
    }
}

/// Tenths of a degree as they are written down.
fn written(tenths: i64) -> String {
    format!("{}.{}", tenths / 10, tenths % 10)
}

fn judge(check: &Check, temperatures: [i64; 2]) -> Judged {
    let [part, master] = temperatures.map(written);
    let entries = vec![(ENTRY, part), (OTHER, master)];
    let room = Room { entries, zero: Some(Figure::ZERO), ..Room::default() };
    let mut series = series(check, &[1_200_000; 4]);
    series.reading = doubt(None);
    check.measures.judge(&series, &room)
}

fn is_withheld(found: &Judged) -> bool {
    assert!(found.reasons.iter().all(|reason| *reason == Reason::Warm), "{:?}", found.reasons);
    !found.reasons.is_empty()
}

/// Of expansions in tenths of a millionth per degree.
fn expansion(tenths: i128) -> Ratio<i128> {
    Ratio::new(tenths, 10_000_000)
}

/// The number between two texts of a sentence, in tenths.
fn tenths_between(said: &str, before: &str, after: &str) -> Option<i64> {
    let number = said.split(before).nth(1)?.split(after).next()?.trim();
    let (whole, tenths) = number.split_once('.').unwrap_or((number, "0"));
    Some(whole.parse::<i64>().ok()? * 10 + tenths.parse::<i64>().ok()?)
}

fn because(found: &Judged) -> Option<String> {
    let of = SaidOf::Because(Reason::Warm);
    found.sayings.iter().find(|said| said.of == of).map(|said| said.text.clone())
}

fn temperature() -> impl Strategy<Value = i64> {
    prop_oneof![195_i64..206, 150_i64..300]
}

proptest! {
    /// What a length grows by is α·L·(t − 20); what its master grew by is taken for granted in the reading
    /// (ISO 1: the size of a piece is that at 20 °C).
    #[test]
    fn what_is_taken_off_is_the_growth_of_the_part_beyond_that_of_its_master(
        part in temperature(), master in temperature(), of_part in 50_i128..300, of_master in 50_i128..300,
    ) {
        let check = length([expansion(of_part), expansion(of_master)], "0.0005");
        let found = judge(&check, [part, master]);
        let growth = |tenths: i64, of: i128| {
            Figure::from(inch(SIZE)) * (tenths - 200) / 10 * i64::try_from(of).unwrap() / 10_000_000
        };
        let off = growth(part, of_part) - growth(master, of_master);
        let taken = found.figures.to_20_c.unwrap();
        prop_assert!((taken - off).abs() <= Figure::new(1, 100), "{taken:?} {off:?}");
        prop_assert_eq!(found.value.unwrap() + taken, Figure::from(inch(SIZE)));
        // More than a tenth of the tolerance withholds it, and nothing less does.
        prop_assert_eq!(is_withheld(&found), off.abs() > Figure::from(inch("0.00005")));
        prop_assert_eq!(because(&found).is_some(), is_withheld(&found));
    }

    #[test]
    fn the_degrees_that_are_told_are_those_at_which_it_is_ready(
        part in temperature(), master in temperature(), of in 50_i128..300,
    ) {
        let check = length([expansion(of); 2], "0.0005");
        let found = judge(&check, [part, master]);
        let degrees = if is_withheld(&found) {
            let said = because(&found).unwrap();
            let apart = tenths_between(&said, "The part is ", " °C").unwrap();
            prop_assert_eq!(apart, (part - master).abs(), "{}", said);
            prop_assert_eq!(said.contains("warmer"), part > master, "{}", said);
            tenths_between(&said, "Ready when they are within ", " °C").unwrap()
        } else {
            let ready = found.says.iter().find(|said| said.starts_with("Ready by temperature: "));
            tenths_between(ready.unwrap(), "apart, ", " at most").unwrap()
        };
        prop_assert!(!is_withheld(&judge(&check, [200 + degrees, 200])));
        prop_assert!(!is_withheld(&judge(&check, [200, 200 + degrees])));
        prop_assert!(is_withheld(&judge(&check, [201 + degrees, 200])));
    }

    /// At one temperature unlike metals hold the heat of the difference of their expansions.
    #[test]
    fn unlike_metals_are_ready_within_so_much_of_20_degrees(
        at in temperature(), of_part in 50_i128..300, of_master in 50_i128..300,
    ) {
        let check = length([expansion(of_part), expansion(of_master)], "0.0005");
        let found = judge(&check, [at, at]);
        if !is_withheld(&found) {
            return Ok(());
        }
        let said = because(&found).unwrap();
        prop_assert!(said.starts_with("Part and master are of unlike metal, and at "), "{said}");
        let degrees = tenths_between(&said, "Ready within ", " °C of 20").unwrap();
        let near = |tenths: i64| judge(&check, [200 + tenths, 200 + tenths]);
        prop_assert!(!is_withheld(&near(degrees)) && !is_withheld(&near(-degrees)), "{said}");
        prop_assert!(is_withheld(&near(degrees + 1)), "{said}");
    }

    #[test]
    fn a_wider_tolerance_never_withholds_more(part in temperature(), master in temperature()) {
        let steel = [crate::steel(); 2];
        let withheld = |tolerance: &str| is_withheld(&judge(&length(steel, tolerance), [part, master]));
        prop_assert!(!withheld("0.0005") || withheld("0.0001"));
        prop_assert!(!withheld("0.005") || withheld("0.0005"));
    }

    /// Both change places: what was taken off is added.
    #[test]
    fn warmer_and_colder_are_alike(one in temperature(), other in temperature(), of in 50_i128..300) {
        let check = length([expansion(of); 2], "0.0005");
        let (found, turned) = (judge(&check, [one, other]), judge(&check, [other, one]));
        prop_assert_eq!(is_withheld(&found), is_withheld(&turned));
        prop_assert_eq!(found.figures.to_20_c.unwrap(), turned.figures.to_20_c.unwrap() * -1);
    }
}

#[test]
fn a_length_without_a_limit_has_no_heat_that_withholds_it() {
    let check = Check { limits: None, ..length([crate::steel(); 2], "0.0005") };
    let found = judge(&check, [300, 200]);
    assert!(!is_withheld(&found) && because(&found).is_none());
    // 138 a degree over ten.
    near(microinch(found.figures.to_20_c.unwrap()), 1380.0, 0.01);
}

/// 0.4 °C are 55 µin; a tenth of the tolerance is 50, a fifth 100.
#[test]
fn how_much_heat_withholds_a_length_is_set_by_its_threshold() {
    let check = length([crate::steel(); 2], "0.0005");
    let found = |hundredths| {
        let heat = judgement::Times::of_hundredths(hundredths);
        let traps = judgement::Traps { heat, ..check.traps };
        is_withheld(&judge(&Check { traps, ..check.clone() }, [204, 200]))
    };
    assert!(found(10) && !found(20));
}
