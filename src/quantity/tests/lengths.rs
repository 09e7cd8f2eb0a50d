//! Lengths from texts and back, in each unit and with any number of places.

use super::*;

/// Picometres of a decimal by moving its point: a millimetre has 9 zeros of them, a micrometre 6, an
/// inch is 254 tenths of a millimetre. `None` where digits are left below a picometre.
fn moved_point(whole: &str, fraction: &str, unit: Unit) -> Option<i128> {
    let (digits, places, zeros) = match unit {
        Unit::Millimetre | Unit::Other(_) => (format!("{whole}{fraction}"), fraction.len(), 9),
        Unit::Micrometre => (format!("{whole}{fraction}"), fraction.len(), 6),
        Unit::Inch => {
            let count: i128 = format!("{whole}{fraction}").parse().unwrap();
            (format!("{:0>30}", count * 254), fraction.len() + 1, 9)
        }
    };
    let moved = format!("{digits}{}", "0".repeat(zeros));
    let (kept, below) = moved.split_at(moved.len() - places);
    below.bytes().all(|digit| digit == b'0').then(|| kept.parse().unwrap())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn a_text_is_as_many_picometres_as_moving_its_point_gives_or_finer(
        sign in prop::sample::select(vec!["", "+", "-"]),
        whole in "[0-9]{0,6}",
        fraction in "[0-9]{1,11}",
        unit in unit(),
    ) {
        let text = format!("{sign}{whole}.{fraction}");
        let whole = if whole.is_empty() { "0" } else { &whole };
        match (Length::parse(&text, unit), moved_point(whole, &fraction, unit)) {
            (Ok(length), Some(expected)) => {
                let signed = if sign == "-" { -expected } else { expected };
                prop_assert_eq!(i128::from(length.picometres()), signed, "{}", text);
            }
            (Err(LengthError::TooFine(told)), None) => prop_assert_eq!(told, text),
            (Err(LengthError::OutOfRange(_)), Some(expected)) => {
                prop_assert!(expected > i128::from(Length::LARGEST.picometres()), "{}", text);
            }
            (got, expected) => prop_assert!(false, "{text} {unit}: {got:?}, {expected:?}"),
        }
    }

    #[test]
    fn a_length_is_printed_as_it_was_sent_and_reads_as_the_same(
        count in -99_999_999_i128..=99_999_999,
        places in 0_u8..=8,
        unit in unit(),
    ) {
        let Ok(quoted) = Quoted::from_count(count, places, unit) else { return Ok(()) };
        let (number, all) = (quoted.number(), quoted.to_string());
        let after = number.split_once('.').map_or(0, |(_, fraction)| fraction.len());
        prop_assert_eq!(after, usize::from(places), "{}", number);
        prop_assert_eq!(Quoted::parse(&number, unit), Ok(quoted));
        prop_assert_eq!(Quoted::parse_with_unit(&all, None), Ok(quoted));
        prop_assert_eq!(number.starts_with('-'), count < 0);
        // A figure reads the same text as the same length.
        let figure = Figure::from(quoted.length);
        prop_assert_eq!(Figure::parse(&number, unit), Some(figure));
        prop_assert_eq!(figure.fixed(unit, places.into()), number);
    }

    #[test]
    fn every_length_is_exact_in_micrometres_and_millimetres(picometres in any::<i32>()) {
        let figure = Figure::from(Length::from_picometres(picometres.into()));
        for (unit, places) in [(Unit::Millimetre, 9), (Unit::Micrometre, 6)] {
            let text = figure.fixed(unit, places);
            prop_assert_eq!(Length::parse(&text, unit).map(Figure::from), Ok(figure), "{}", text);
        }
    }

    #[test]
    fn what_is_stored_comes_back(count in any::<i32>(), places in 0_u8..=6, unit in unit()) {
        if let Ok(quoted) = Quoted::from_count(count.into(), places, unit) {
            let text = serde_json::to_string(&quoted).unwrap();
            prop_assert_eq!(serde_json::from_str::<Quoted>(&text).unwrap(), quoted, "{}", text);
        }
    }
}

#[test]
fn a_tenth_of_a_thousandth_of_an_inch_by_the_handbook() {
    // 0.0001 in is 2.54 um, 0.001 in is 25.4 um, half a tenth 1.27 um (conversion tables of every
    // machinist's handbook; 1 in = 25.4 mm, 1959).
    for (inches, micrometres) in [
        ("0.0001", "2.54"),
        ("0.001", "25.4"),
        ("0.00005", "1.27"),
        ("0.00001", "0.254"),
        ("0.000001", "0.0254"),
        ("12", "304800"),
    ] {
        let (inch, um) =
            (Length::parse(inches, Unit::Inch), Length::parse(micrometres, Unit::Micrometre));
        assert_eq!((inch.is_ok(), &inch), (true, &um), "{inches} in");
        assert_eq!(Figure::from(um.unwrap()).shown(Unit::Inch), inches);
    }
}

#[test]
fn digits_too_many_to_count_say_what_is_wrong_with_them() {
    // However many zeros stand before it: what is far below a picometre is not "more than 100 m".
    let tiny = |zeros: usize| format!("0.{}1", "0".repeat(zeros));
    for zeros in [9, 20, 36, 37, 38, 39, 100, 300] {
        for unit in UNITS {
            let fine = Length::parse(&tiny(zeros), unit);
            assert_eq!(fine, Err(LengthError::TooFine(tiny(zeros))), "{zeros} {unit}");
        }
    }
    let many = format!("1.{}", "3".repeat(50));
    assert_eq!(Length::parse(&many, Unit::Inch), Err(LengthError::TooFine(many)));
    for digits in [15, 38, 39, 40, 200] {
        let large = "9".repeat(digits);
        let beyond = Length::parse(&large, Unit::Micrometre);
        assert_eq!(beyond, Err(LengthError::OutOfRange(large)), "{digits}");
    }
    // Zeros say nothing about the size, before the number and behind it.
    let zeros = "0".repeat(60);
    assert_eq!(Length::parse(&format!("{zeros}1.5"), Unit::Inch), Length::parse("1.5", Unit::Inch));
    assert_eq!(Quoted::from_count(1, 39, Unit::Inch), Err(LengthError::TooFine("1".to_owned())));
    let all = i128::MAX;
    assert_eq!(
        Quoted::from_count(all, 0, Unit::Inch),
        Err(LengthError::OutOfRange(all.to_string()))
    );
}

#[test]
fn the_largest_length_is_taken_and_no_picometre_more() {
    for (unit, places, text) in
        [(Unit::Millimetre, 9, "100000.000000000"), (Unit::Micrometre, 6, "100000000.000000")]
    {
        for (sign, factor) in [("", 1), ("-", -1)] {
            let largest = Length::LARGEST.picometres() * factor;
            let read = Quoted::parse(&format!("{sign}{text}"), unit).unwrap();
            assert_eq!(read.length.picometres(), largest);
            assert_eq!(read.number(), format!("{sign}{text}"));
            let beyond = i128::from(largest) + i128::from(factor);
            assert!(matches!(
                Quoted::from_count(beyond, places, unit),
                Err(LengthError::OutOfRange(_))
            ));
        }
    }
    // 100 m is 3937.007874… in: the last inch within is taken.
    assert!(Length::parse("3937", Unit::Inch).is_ok());
    assert!(matches!(Length::parse("3938", Unit::Inch), Err(LengthError::OutOfRange(_))));
}

#[test]
fn a_unit_is_read_as_people_write_it() {
    for (text, unit) in [
        ("in", Unit::Inch),
        (" INCH ", Unit::Inch),
        ("\"", Unit::Inch),
        ("Mm", Unit::Millimetre),
        ("UM", Unit::Micrometre),
        ("\u{b5}m", Unit::Micrometre),
        ("\u{3bc}m", Unit::Micrometre),
    ] {
        assert_eq!(Unit::parse(text), Some(unit), "{text:?}");
    }
    for text in ["", "m", "cm", "inches", "i n", "mm2", "0"] {
        assert_eq!(Unit::parse(text), None, "{text:?}");
    }
    for unit in UNITS {
        assert_eq!(Unit::parse(unit.symbol()), Some(unit));
        assert_eq!(unit.to_string(), unit.symbol());
        let stored = serde_json::to_string(&unit).unwrap();
        assert_eq!(stored, format!("\"{unit}\""));
        assert_eq!(serde_json::from_str::<Unit>(&stored).unwrap(), unit);
    }
}

#[test]
fn the_places_of_a_unit_are_as_fine_as_is_said_of_them() {
    for unit in UNITS {
        // A thousandth of a picometre, in this unit, at its known places: in inches the nearest.
        let thousandth = Figure::new(1, 1000);
        let told = thousandth.known(unit);
        if unit == Unit::Inch {
            assert_eq!(told, "0.00000000000004");
        } else {
            assert_eq!(Figure::parse(&told, unit), Some(thousandth), "{told}");
        }
        assert!(unit.shown_places() < unit.uncertainty_places());
        assert!(unit.uncertainty_places() < unit.known_places());
    }
    let shown = UNITS.map(|unit| Figure::new(1_234_567_891, 1).shown(unit));
    assert_eq!(shown, ["0.04860504", "1.234568", "1234.568"]);
}

#[test]
fn a_number_states_its_unit_or_is_asked_for_it() {
    let read = |text: &str| Quoted::parse_with_unit(text, None).map(|quoted| quoted.to_string());
    assert_eq!(read("0.0001in").as_deref(), Ok("0.0001 in"));
    assert_eq!(read("  -2.50  um ").as_deref(), Ok("-2.50 um"));
    assert_eq!(read("+.5\"").as_deref(), Ok("0.5 in"));
    let told = |text: &str| read(text).unwrap_err().to_string();
    assert_eq!(
        told("0.5"),
        "\"0.5\" has no unit; write it as \"0.0001 in\", \"2.5 um\" or \"0.0025 mm\""
    );
    // The whole text is told, not the part of it that was wrong.
    assert_eq!(told("1e3 mm"), "\"1e3 mm\" is not a decimal number");
    assert_eq!(told("in"), "\"in\" is not a decimal number");
    assert_eq!(
        told("0.0000001 um"),
        "\"0.0000001 um\" is finer than a picometre; it is refused, not rounded"
    );
    assert_eq!(
        told("101000 mm"),
        "\"101000 mm\" is more than 100 m, the largest length that is taken"
    );
    let stated = ["3 um", "3", "um", "3 furlong", "3 mm mm"].map(Quoted::states_unit);
    assert_eq!(stated, [true, false, false, false, false]);
    assert_eq!(Length::parse_with_unit("1 in"), Length::parse("25.4", Unit::Millimetre));
    assert!(Length::parse_with_unit("1").is_err());
}

#[test]
fn a_decimal_comma_is_told_and_never_guessed_at() {
    let told = |text: &str, unit| Quoted::parse_with_unit(text, unit).unwrap_err();
    for (text, point) in
        [("0,00012", "0.00012"), (" -0,5 ", "-0.5"), ("2,5 um", "2.5 um"), ("+,5in", "+.5in")]
    {
        let error = told(text, Some(Unit::Inch));
        let wanted = LengthError::Comma { text: text.to_owned(), point: point.to_owned() };
        assert_eq!(error, wanted);
        let sentence = format!("{text:?} has a comma; write it with a decimal point: {point}");
        assert_eq!(error.to_string(), sentence);
    }
    // What is no number with a point either is no number; two commas are anybody's guess.
    for text in ["1,000,000", "1,000.5", ",", "a,b", "1,5 furlong", "0,00012 0,00013"] {
        let error = told(text, Some(Unit::Inch));
        assert_eq!(error, LengthError::NotANumber(text.to_owned()), "{text}");
    }
    assert_eq!(
        told("0,5", None),
        LengthError::NotANumber("0,5".to_owned()),
        "it has no unit either"
    );
    assert_eq!(with_a_point("1,5").as_deref(), Some("1.5"));
    assert_eq!(["1.5", "1,5,", "1.000,5"].map(with_a_point), [None, None, None]);
}

#[test]
fn a_stored_length_with_anything_beside_it_is_refused() {
    let good = r#"{"length":2540000,"unit":"in","places":4}"#;
    let read: Quoted = serde_json::from_str(good).unwrap();
    assert_eq!(
        (read.to_string(), serde_json::to_string(&read).unwrap()),
        ("0.0001 in".to_owned(), good.to_owned())
    );
    for bad in [
        r#"{"length":2540000,"unit":"in","places":4,"more":1}"#,
        r#"{"length":2540000,"unit":"inch","places":4}"#,
        r#"{"length":1.5,"unit":"in","places":4}"#,
        r#"{"length":9223372036854775808,"unit":"in","places":4}"#,
        r#"{"length":2540000,"unit":"in"}"#,
    ] {
        assert!(serde_json::from_str::<Quoted>(bad).is_err(), "{bad}");
    }
}

#[test]
fn differences_of_lengths_end_where_their_range_does() {
    let [least, most] = [i64::MIN, i64::MAX].map(Length::from_picometres);
    assert_eq!(most.checked_sub(least), None);
    assert_eq!(least.checked_sub(Length::from_picometres(1)), None);
    assert_eq!(most.checked_sub(most), Some(Length::ZERO));
    assert_eq!(Length::from_picometres(-7).abs(), Length::from_picometres(7));
    assert_eq!(Length::default(), Length::ZERO);
}

#[test]
fn what_may_be_read_from_a_text_ends_at_a_hundred_metres_on_either_side() {
    let largest = Length::LARGEST.picometres();
    let taken = [0, 1, largest, -largest, largest + 1, -largest - 1, i64::MAX, i64::MIN]
        .map(|picometres| Length::from_picometres(picometres).is_taken());
    assert_eq!(taken, [true, true, true, true, false, false, false, false]);
}
