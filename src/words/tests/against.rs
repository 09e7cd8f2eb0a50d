//! A judged figure and its digits: limits on both sides, noise, no limit at all.

use super::*;

fn held(text: &str) -> Held {
    Held::of(inch(text), Unit::Inch)
}

fn band() -> Limits {
    Limits::Band { min: length("1.999", Unit::Inch), max: length("2.001", Unit::Inch) }
}

/// What a person with the printed texts alone would decide at two limits.
fn reads_band(told: &Told, unit: Unit) -> [bool; 6] {
    let read = |text: &str| Figure::parse(text.trim_start_matches('+'), unit).unwrap();
    let [min, max] = [0, 1].map(|at| read(&told.limits[at]));
    let value = read(told.value.as_ref().unwrap());
    let u = read(told.uncertainty.as_ref().unwrap());
    decides(value, u, [min, max])
}

fn decides(value: Figure, u: Figure, [min, max]: [Figure; 2]) -> [bool; 6] {
    [
        value <= max,
        value <= max - u,
        value <= max + u,
        value >= min,
        value >= min + u,
        value >= min - u,
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    /// Two limits of every size, on either side of nothing, figures right beside one of the six
    /// borders, with thirds and sevenths in them.
    #[test]
    fn printed_figures_between_two_limits_decide_as_the_exact_ones(
        own in prop::sample::select(vec![Unit::Inch, Unit::Millimetre, Unit::Micrometre]),
        page in prop::sample::select(vec![Unit::Inch, Unit::Millimetre, Unit::Micrometre]),
        low in -400_i128..400,
        wide in 1_i128..400,
        u in 0_i64..3_000_000,
        beside in 0_usize..6,
        off in -2_000_i128..2_000,
        part in prop::sample::select(vec![1_i128, 3, 7, 1000]),
    ) {
        let places = match own { Unit::Inch => 5, Unit::Millimetre => 4, Unit::Micrometre | Unit::Other(_) => 1 };
        let limit = |count| quantity::Quoted::from_count(count, places, own).unwrap().length;
        let [min, max] = [limit(low), limit(low + wide)];
        let expanded = Figure::new(u.into(), 1);
        let ends = [min, max].map(Figure::from);
        let border = [ends[0] - expanded, ends[0], ends[0] + expanded, ends[1] - expanded, ends[1], ends[1] + expanded];
        let exact = border[beside] + Figure::new(off, part);
        let held = Held::of(exact, own).against(Limits::Band { min, max }).known_within(expanded);
        let wanted = decides(exact, expanded, ends);
        for unit in [own, page] {
            let told = held.told(unit);
            prop_assert_eq!(reads_band(&told, unit), wanted, "{:?}", told);
            let signed = told.value.as_ref().unwrap().starts_with('+');
            let above = Figure::parse(told.number.as_ref().unwrap().trim_start_matches('+'), unit);
            prop_assert_eq!(signed, low < 0 && above > Some(Figure::ZERO), "{:?}", told);
        }
        // The record's lines, and what a script gets with all that is known.
        for held in [held.recorded(), held.known()] {
            let [Some(least), Some(most)] = held.limit_texts() else { panic!("{held:?}") };
            let (value, uncertainty) = (held.value_text(), held.uncertainty_text());
            let told = Told { value, uncertainty, limits: vec![least, most], ..Told::default() };
            prop_assert_eq!(reads_band(&told, own), wanted, "{:?}", told);
        }
    }
}

#[test]
fn the_guard_band_of_the_smallest_value_has_its_digits() {
    let told = |text: &str| {
        held(text).against(band()).known_within(inch("0.00002")).told(Unit::Inch).value.unwrap()
    };
    // Conforms from 1.99902 on, fails below 1.99898.
    assert_eq!([told("1.99902"), told("1.9990199996")], ["1.99902", "1.9990199996"]);
    assert_eq!([told("1.99898"), told("1.9989799996")], ["1.99898", "1.9989799996"]);
    assert_eq!([told("1.9990000004"), told("1.9989999996")], ["1.9990000004", "1.9989999996"]);
    assert_eq!([told("2.00098"), told("2.0009800004")], ["2.00098", "2.0009800004"]);
}

#[test]
fn a_size_known_badly_keeps_a_digit_more_than_its_limits() {
    let told = |value: &str, known: &str| {
        held(value).against(band()).known_within(inch(known)).told(Unit::Inch).value.unwrap()
    };
    assert_eq!(told("2.00042", "0.02"), "2.0004");
    assert_eq!(told("2.00042", "0.0003"), "2.0004");
    assert_eq!(told("2.000421", "0.00002"), "2.00042");
    assert_eq!(told("2.0004213", "0.000003"), "2.000421");
    // With one limit the uncertainty does not make it finer.
    let fine = held("0.000341").against(tenth()).known_within(inch("0.0000025"));
    assert_eq!(fine.told(Unit::Inch).value.as_deref(), Some("0.00034"));
}

#[test]
fn without_a_limit_a_figure_has_the_digits_there_are() {
    let told = |text: &str, unit| Held::of(inch(text), Unit::Inch).told(unit);
    let plain = told("0.000412", Unit::Inch);
    assert_eq!(plain.value.as_deref(), Some("0.000412"));
    assert_eq!((plain.limit, plain.limits, plain.uncertainty), (None, Vec::new(), None));
    assert_eq!(told("2", Unit::Inch).value.as_deref(), Some("2"));
    assert_eq!(told("0.000412", Unit::Micrometre).value.as_deref(), Some("10.465"));
    let known = held("0.000412").known_within(inch("0.000021")).told(Unit::Inch);
    assert_eq!(known.uncertainty.as_deref(), Some("0.000021"));
    let nothing = Held::of(None, Unit::Inch).against(tenth());
    let told = nothing.told(Unit::Inch);
    assert_eq!((told.value, told.number), (None, None));
    assert_eq!(told.limit.as_deref(), Some("0.0001"));
    assert_eq!((nothing.value_text(), nothing.uncertainty_text()), (None, None));
}

#[test]
fn a_smallest_value_alone_is_a_limit() {
    let least = held("1.5").between(Some(inch("1.4999")), None);
    let told = least.told(Unit::Inch);
    assert_eq!(
        (told.value.as_deref(), told.limit.as_deref()),
        (Some("1.50000"), Some("at least 1.4999"))
    );
    assert_eq!(least.limit_texts(), [Some("1.4999".to_owned()), None]);
    assert_eq!(LimitsTold::of(&least), Some(LimitsTold::Least { min: "1.4999".to_owned() }));
    let line = serde_json::to_string(&LimitsTold::of(&least)).unwrap();
    assert_eq!(line, "{\"min\":\"1.4999\"}");
    assert_eq!(serde_json::from_str::<LimitsTold>(&line).unwrap(), LimitsTold::of(&least).unwrap());
    // From nothing on there is no side below: no sign.
    let zero = held("0.00002").between(Some(Figure::ZERO), Some(inch("0.0001")));
    assert_eq!(zero.told(Unit::Inch).value.as_deref(), Some("0.00002"));
}

#[test]
fn the_noise_floor_is_claimed_below_it_only() {
    let told = |value: &str, floor: &str, signed: bool| {
        let held = held(value).against(tenth()).above_noise(inch(floor)).signed(signed);
        held.told(Unit::Inch)
    };
    let quiet = told("0.00001", "0.00002", false);
    assert_eq!(quiet.value.as_deref(), Some("less than 0.00002"));
    assert_eq!(quiet.number.as_deref(), Some("0.00001"), "the figure itself beside it");
    assert_eq!(told("0.00002", "0.00002", false).value.as_deref(), Some("0.00002"));
    assert_eq!(told("0.00001", "0.00002", true).value.as_deref(), Some("+0.00001"));
    // Within the floor, and a floor on the other side of the guard band.
    let guarded = held("0.00004").against(tenth()).known_within(inch("0.00004"));
    let guarded = |floor: &str| guarded.clone().above_noise(inch(floor)).told(Unit::Inch).value;
    assert_eq!(guarded("0.00005").as_deref(), Some("less than 0.00005"));
    assert_eq!(guarded("0.00007").as_deref(), Some("0.00004"));
    let none = Held::of(None, Unit::Inch).against(tenth()).above_noise(inch("0.00002"));
    assert_eq!(none.told(Unit::Inch).value, None);
}

#[test]
fn right_beside_a_limit_without_an_end_a_figure_is_told_on_its_side() {
    // 70 pm is 0.0000000027559055… in: rounded at fourteen places the limit lies above itself.
    let limit = Limits::Max(Length::from_picometres(70));
    let hair = Figure::new(1, 1_000_000_000);
    let told = |figure: Figure| {
        let told = Held::of(figure, Unit::Micrometre).against(limit).spoken(Unit::Inch);
        [told.value.unwrap(), told.limit.unwrap()].map(|text| inch(&text))
    };
    let at = Figure::new(70, 1);
    for (figure, order) in [
        (at - hair, std::cmp::Ordering::Less),
        (at, std::cmp::Ordering::Equal),
        (at + hair, std::cmp::Ordering::Greater),
    ] {
        let [value, limit] = told(figure);
        assert_eq!(
            value.cmp(&limit),
            order,
            "{} {}",
            value.fixed(Unit::Inch, 14),
            limit.fixed(Unit::Inch, 14)
        );
    }
}

#[test]
fn a_script_gets_all_that_is_known() {
    let third = Figure::new(2_540_000, 3);
    let held = Held::of(third, Unit::Micrometre).known_within(Figure::new(100_000, 7));
    let (known, recorded) = (held.known(), held.recorded());
    assert_eq!(known.value_text().as_deref(), Some("0.846666667"));
    assert_eq!(known.uncertainty_text().as_deref(), Some("0.014285715"), "rounded up");
    assert_eq!(recorded.value_text().as_deref(), Some("0.847"));
    assert_eq!(recorded.uncertainty_text().as_deref(), Some("0.014286"));
    // In inches, where nothing ends: half to even at fourteen places.
    let inches = Held::of(third, Unit::Inch).known();
    assert_eq!(inches.value_text().as_deref(), Some("0.00003333333333"));
}

#[test]
fn figures_as_large_and_as_fine_as_a_record_holds_are_told_in_every_unit() {
    let units = [Unit::Inch, Unit::Millimetre, Unit::Micrometre];
    // A face of 4 m as tall as any length that is taken; the finest and the largest that are read.
    let tall = Figure::from(Length::LARGEST) + Figure::new(1, (1 << 65) - 1);
    let fine = Figure::new((1 << 112) - 1, (1 << 76) - 1);
    let large = Figure::new((1 << 96) - 1, 1);
    for value in [tall, fine, large, -large] {
        for own in units {
            let held = Held::of(value, own).against(tenth()).known_within(value.abs());
            for unit in units {
                let told = held.told(unit);
                let read = Figure::parse(told.value.as_deref().unwrap(), unit).unwrap();
                assert_eq!(read <= inch("0.0001"), value < Figure::ZERO, "{told:?}");
                let doubt = Figure::parse(told.uncertainty.as_deref().unwrap(), unit).unwrap();
                assert!(doubt >= value.abs(), "{told:?}");
            }
            let known = held.known();
            assert!(known.value_text().is_some() && known.uncertainty_text().is_some());
            assert_eq!(
                known.recorded().limit_texts()[1].as_deref(),
                held.limit_texts()[1].as_deref()
            );
        }
    }
}
