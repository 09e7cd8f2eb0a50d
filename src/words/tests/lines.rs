//! The published form of exact values, described once, and when two are the same.

#![expect(clippy::float_cmp, reason = "told numbers have one nearest float each")]

use super::*;
use judgement::Word;
use proptest::test_runner::TestCaseError;

/// What a number is told as.
fn told<T: Tell>(value: &T) -> T::Told {
    value.tell(&To::unit(Unit::Inch))
}

#[test]
fn each_kind_of_number_has_its_digits() {
    let number = 1.234_567_890_123_4;
    assert_eq!(told(&Thousandth::of(number)), 1.235);
    assert_eq!(told(&Thousandth::of(-number)), -1.235);
    assert_eq!(told(&Millionth::of(number)), 1.234_568);
    assert_eq!(told(&Billionth::of(number)), 1.234_567_89);
    assert_eq!(told(&Angle::of(-90.000_4)), 270.0);
    assert_eq!(told(&Angle::of(719.999_9)), 0.0);
    // Stored as exact as it was worked out.
    assert_eq!(f64::from(Thousandth::from(number)), number);
    assert_eq!(serde_json::to_string(&Angle::of(12.3456)).unwrap(), "12.3456");
    assert_eq!(serde_json::from_str::<Angle>("12.3456").unwrap().get(), 12.3456);
}

#[test]
fn what_bounds_something_is_never_told_smaller() {
    for (number, up) in
        [(1.234, 1.234), (1.234_01, 1.235), (1.235, 1.235), (0.000_1, 0.001), (0.0, 0.0)]
    {
        assert_eq!(told(&ThousandthUp::of(number)), up, "{number}");
    }
    let bound = Bound(Length::from_picometres(1));
    assert_eq!(told(&bound), "0.00000000004");
    assert_eq!(bound.tell(&To::unit(Unit::Micrometre)), "0.000001");
    let third = Stated(length("0.00010", Unit::Inch));
    assert_eq!(
        (told(&third), third.tell(&To::unit(Unit::Micrometre))),
        ("0.0001".to_owned(), "2.54".to_owned())
    );
    assert_eq!(Figure::from(bound), Figure::new(1, 1));
    assert_eq!(Figure::from(third), inch("0.0001"));
}

#[test]
#[should_panic(expected = "a figure is a finite number")]
fn a_number_that_is_none_is_a_mistake() {
    let _none = Angle::of(f64::NAN);
}

proptest! {
    #[test]
    fn a_number_worked_out_again_is_the_same_to_nine_digits(
        number in -1e6..1e6_f64, digits in 6..13_i32, degrees in 0.0..360.0_f64,
    ) {
        let again = number * (1.0 + 10_f64.powi(-digits));
        let same = digits > 9;
        prop_assume!(number.abs() > 1e-3 && digits != 9);
        let alike = [
            Thousandth::of(number).alike(&Thousandth::of(again)),
            Thousandth::of(again).alike(&Thousandth::of(number)),
            ThousandthUp::of(number).alike(&ThousandthUp::of(again)),
            Millionth::of(number).alike(&Millionth::of(again)),
            Billionth::of(number).alike(&Billionth::of(again)),
        ];
        prop_assert_eq!(alike, [same; 5]);
        // On a circle the same holds of the whole turn, over the index mark, too.
        let off = 360.0 * 10_f64.powi(-digits);
        for other in [degrees + off, degrees - off, degrees + off - 360.0, degrees - off + 360.0] {
            prop_assert_eq!(Angle::of(degrees).alike(&Angle::of(other)), same, "{}", other);
        }
    }

    #[test]
    fn what_is_rounded_up_is_the_next_thousandth(number in 0.0..1e6_f64) {
        let told = told(&ThousandthUp::of(number));
        prop_assert!(told >= number - 1.1e-9 && told - number < 0.001_000_1, "{told}");
    }
}

#[test]
fn nothing_is_the_same_as_nothing_and_a_sign_of_zero_counts() {
    assert!(Thousandth::of(0.0).alike(&Thousandth::of(0.0)));
    assert!(Thousandth::of(0.0).alike(&Thousandth::of(-0.0)), "no distance");
    assert!(!Thousandth::of(0.0).alike(&Thousandth::of(1e-300)));
    assert!(!Angle::of(0.0).alike(&Angle::of(180.0)) && Angle::of(0.0).alike(&Angle::of(360.0)));
}

#[test]
fn the_judged_figure_has_its_digits_wherever_it_stands() {
    let judged = inch("0.00012");
    let to = To { unit: Unit::Inch, judged: Some((judged, "0.000120000001")) };
    assert_eq!(judged.tell(&to), "0.000120000001");
    assert_eq!(inch("0.00013").tell(&to), "0.00013");
    assert_eq!(told(&judged), "0.00012");
    assert_eq!(vec![judged, inch("1")].tell(&to), ["0.000120000001", "1"]);
    assert_eq!([judged, judged].tell(&to), ["0.000120000001"; 2]);
    assert_eq!(Some(judged).tell(&to).as_deref(), Some("0.000120000001"));
    assert_eq!(None::<Figure>.tell(&to), None);
    assert_eq!(
        (7_u32.tell(&to), true.tell(&to), "a".to_owned().tell(&to)),
        (7, true, "a".to_owned())
    );
    for word in Word::ALL {
        assert_eq!(word.tell(&to), word.text());
    }
}

/// The same values are alike, and every two different ones are not.
#[track_caller]
fn apart<T: Tell + std::fmt::Debug>(all: &[T]) {
    for (row, one) in all.iter().enumerate() {
        for (column, other) in all.iter().enumerate() {
            assert_eq!(one.alike(other), row == column, "{one:?} {other:?}");
        }
    }
}

#[test]
fn two_values_are_alike_where_all_of_them_is() {
    let [one, two] = ["1", "2"].map(inch);
    apart(&[one, two, one + Figure::new(1, 1 << 40)]);
    apart(&[None, Some(one), Some(two)]);
    apart(&[vec![], vec![one], vec![one, two], vec![two, one], vec![two]]);
    apart(&[[one, one], [one, two], [two, one], [two, two]]);
    apart(&Word::ALL);
    apart(&[1_u32, 2]);
    apart(&[true, false]);
    apart(&["a".to_owned(), "b".to_owned()]);
    let [less, more] = [1, 2].map(Length::from_picometres);
    apart(&[Bound(less), Bound(more)]);
    apart(&[Stated(less), Stated(more)]);
    apart(&[Limits::Max(more), Limits::Max(less), Limits::Band { min: less, max: more }]);
}

#[test]
fn limits_are_a_text_or_two() {
    let band =
        Limits::Band { min: length("1", Unit::Millimetre), max: length("1.5", Unit::Millimetre) };
    let json = |limits: Limits, unit| serde_json::to_string(&limits.tell(&To::unit(unit))).unwrap();
    assert_eq!(json(tenth(), Unit::Inch), "\"0.0001\"");
    assert_eq!(json(tenth(), Unit::Micrometre), "\"2.54\"");
    assert_eq!(json(band, Unit::Millimetre), r#"{"min":"1","max":"1.5"}"#);
    assert_eq!(json(band, Unit::Inch), r#"{"min":"0.03937008","max":"0.05905512"}"#);
    for limits in [tenth(), band] {
        let told = limits.tell(&To::unit(Unit::Millimetre));
        let text = serde_json::to_string(&told).unwrap();
        assert_eq!(serde_json::from_str::<LimitsTold>(&text).unwrap(), told);
    }
    assert_eq!(LimitsTold::of(&Held::of(None, Unit::Inch)), None);
    assert_eq!(LimitsTold::default(), LimitsTold::Max(String::new()));
}

#[expect(unreachable_pub, reason = "a line is described for other rooms")]
mod described {
    use super::super::{Angle, Stated, Tell, To};
    use quantity::Figure;

    crate::told! {
        /// A part.
        #[derive(Eq)]
        struct Part => PartLine {
            /// Its size.
            size: Figure,
        }

        /// Figures of a made-up check: more
        /// than one line.
        struct Figures => FiguresLine {
            /// The height.
            height: Figure,
            /// How many touches.
            touches: u32,
            /// Where, where that is known.
            towards: Option<Angle>,
            /// Some steps.
            steps: Vec<Stated>,
            /// Of both ends.
            ends: [Figure; 2],
            /// A part of its own.
            part: Option<Part>,
            /// Height and touches in one text.
            both: Figure as String = both,
        }
    }

    fn both(figures: &Figures, to: &To<'_>) -> String {
        format!("{} of {}", figures.both.tell(to), figures.touches)
    }
}

pub(super) use described::FiguresLine;
use described::{Figures, Part, PartLine};

fn figures() -> Figures {
    Figures {
        height: inch("0.00012"),
        touches: 8,
        towards: Some(Angle::of(45.000_04)),
        steps: vec![Stated(length("0.001", Unit::Inch))],
        ends: [Figure::new(1, 3), Figure::ZERO],
        part: Some(Part { size: inch("1.5") }),
        both: inch("2"),
    }
}

#[test]
fn one_description_gives_struct_line_and_columns() {
    let all = figures();
    let line = told(&all);
    let json = serde_json::to_string(&line).unwrap();
    let wanted = concat!(
        r#"{"height":"0.00012","touches":8,"towards":45.0,"steps":["0.001"],"ends":["0","0"],"#,
        r#""part":{"size":"1.5"},"both":"2 of 8"}"#
    );
    assert_eq!(json, wanted);
    assert_eq!(serde_json::from_str::<FiguresLine>(wanted).unwrap(), line);
    let mut columns = Vec::new();
    FiguresLine::columns("f", &mut columns);
    let wanted =
        ["f.height", "f.touches", "f.towards", "f.steps", "f.ends", "f.part.size", "f.both"];
    assert_eq!(columns, wanted);
    // Exact, it is stored as it is, and comes back as that.
    let stored = serde_json::to_string(&all).unwrap();
    assert!(stored.contains(r#""ends":["1/3","0/1"]"#), "{stored}");
    assert_eq!(serde_json::from_str::<Figures>(&stored).unwrap(), all);
}

#[test]
fn the_fields_of_a_line_are_those_it_was_described_with() {
    let all = ["height", "touches", "towards", "steps", "ends", "part", "both"];
    assert_eq!(fields_of::<FiguresLine>(), all);
    assert_eq!(fields_of::<Figures>(), all);
    assert_eq!(fields_of::<PartLine>(), ["size"]);
    // Each column stands below one of them, in their order.
    let mut columns = Vec::new();
    FiguresLine::columns("f", &mut columns);
    let mut tops: Vec<&str> = columns.iter().filter_map(|one| one.split('.').nth(1)).collect();
    tops.dedup();
    assert_eq!(tops, all);
}

#[test]
#[should_panic(expected = "a line is a plain struct")]
fn what_is_no_struct_has_no_fields() {
    assert!(fields_of::<Option<FiguresLine>>().is_empty());
}

#[test]
fn what_is_absent_is_left_out_and_what_nobody_knows_is_refused() {
    let bare = Figures { towards: None, steps: Vec::new(), part: None, ..figures() };
    for json in
        [serde_json::to_string(&bare).unwrap(), serde_json::to_string(&told(&bare)).unwrap()]
    {
        assert!(!["towards", "steps", "part"].iter().any(|name| json.contains(name)), "{json}");
    }
    let stored = serde_json::to_string(&bare).unwrap();
    assert_eq!(serde_json::from_str::<Figures>(&stored).unwrap(), bare);
    let more = stored.replacen('{', r#"{"newer":1,"#, 1);
    assert!(serde_json::from_str::<Figures>(&more).is_err(), "{more}");
    let line: PartLine = serde_json::from_str(r#"{"size":"1","newer":1}"#).unwrap();
    assert_eq!(line.size, "1", "a line may grow");
}

#[test]
fn figures_are_alike_only_where_every_one_of_them_is() -> Result<(), TestCaseError> {
    let all = figures();
    let changed: [fn(&mut Figures); 7] = [
        |f| f.height = f.height + Figure::new(1, 7),
        |f| f.touches = 9,
        |f| f.towards = Some(Angle::of(46.0)),
        |f| f.steps.push(Stated(Length::ZERO)),
        |f| f.ends[1] = Figure::new(1, 3),
        |f| f.part = None,
        |f| f.both = Figure::ZERO,
    ];
    for change in changed {
        let mut other = figures();
        change(&mut other);
        prop_assert!(!all.alike(&other) && !other.alike(&all), "{:?}", other);
    }
    let mut nearly = figures();
    nearly.towards = Some(Angle::of(45.000_04 + 1e-8));
    prop_assert!(all.alike(&nearly) && all != nearly);
    Ok(())
}

#[expect(unreachable_pub, reason = "a line is described for other rooms")]
mod following {
    use quantity::{Length, Unit};

    use crate::{Columns, Held, LimitsLine, Stated, Tell, To};

    crate::told! {
        /// A gap and what follows from it.
        struct Gap => GapLine {
            /// How wide it is.
            width: Stated,
            /// The same as a limit.
            told limits: LimitsLine = Gap::limits,
        }
    }

    impl Gap {
        fn limits(&self, to: &To<'_>) -> LimitsLine {
            let most = quantity::Figure::from(self.width);
            LimitsLine::of(&Held::of(None, to.unit).between(None, Some(most)))
        }
    }

    /// What follows stands on the line and in its columns, and is neither stored nor compared.
    #[test]
    fn what_follows_is_told_and_not_stored() {
        let gap = Gap { width: Stated(Length::parse("0.5", Unit::Millimetre).unwrap()) };
        let line = gap.tell(&To::unit(Unit::Millimetre));
        assert_eq!(line.limits, LimitsLine { min: None, max: Some("0.5".to_owned()) });
        assert_eq!(
            serde_json::to_string(&line).unwrap(),
            r#"{"width":"0.5","limits":{"min":null,"max":"0.5"}}"#
        );
        let stored = serde_json::to_string(&gap).unwrap();
        assert_eq!(stored, r#"{"width":500000000}"#);
        assert!(gap.alike(&serde_json::from_str(&stored).unwrap()));
        let mut columns = Vec::new();
        GapLine::columns("gap", &mut columns);
        assert_eq!(columns, ["gap.width", "gap.limits"]);
        // A line of a program that did not tell it yet is read all the same.
        let older: GapLine = serde_json::from_str(r#"{"width":"0.5"}"#).unwrap();
        assert_eq!(older.limits, LimitsLine::default());
    }

    #[test]
    fn limits_have_both_ends_whichever_there_are() {
        let length = |text: &str| Length::parse(text, Unit::Inch).unwrap();
        let limits = |min: Option<&str>, max: Option<&str>| {
            let figure = |text: Option<&str>| text.map(|text| quantity::Figure::from(length(text)));
            LimitsLine::of(&Held::of(None, Unit::Inch).between(figure(min), figure(max)))
        };
        for ends in [
            (None, None),
            (None, Some("0.0001")),
            (Some("-0.5"), None),
            (Some("1.4999"), Some("1.5001")),
        ] {
            let told = limits(ends.0, ends.1);
            assert_eq!((told.min.as_deref(), told.max.as_deref()), ends);
        }
    }
}
