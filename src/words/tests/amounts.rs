//! Lengths that are written alone, in every unit.

use super::*;

const UNITS: [Unit; 3] = [Unit::Inch, Unit::Millimetre, Unit::Micrometre];

fn unit() -> impl Strategy<Value = Unit> {
    prop::sample::select(UNITS.to_vec())
}

fn picometres(count: i64) -> Figure {
    Figure::from(Length::from_picometres(count))
}

/// What a printed text says, the sign of a change included.
fn read(text: &str, unit: Unit) -> Figure {
    Figure::parse(text.trim_start_matches('+'), unit).unwrap()
}

/// One of the last place of a text.
fn last_place(text: &str, unit: Unit) -> Figure {
    let places = text.split_once('.').map_or(0, |(_, fraction)| fraction.len());
    Figure::new(unit.picometres().into(), 10_i128.pow(u32::try_from(places).unwrap()))
}

fn is_nearest(text: &str, figure: Figure, unit: Unit) -> bool {
    (read(text, unit) - figure).abs() * 2 <= last_place(text, unit)
}

fn is_up(text: &str, figure: Figure, unit: Unit) -> bool {
    let told = read(text, unit);
    told >= figure && told - figure < last_place(text, unit)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1_000))]

    #[test]
    fn a_stated_length_is_told_wholly_or_to_the_places_of_its_unit(
        count in -4_000_000_000_000_i64..4_000_000_000_000, unit in unit(), own in unit(),
    ) {
        // In whole picometres, and in tenths of a thousandth of each unit as people state them.
        for length in [count, count / own.picometres() * own.picometres() / 10_000] {
            let text = size(Length::from_picometres(length), unit);
            let figure = picometres(length);
            if read(&text, unit) != figure {
                prop_assert_eq!(unit, Unit::Inch, "a picometre has its place in the others");
                prop_assert!(is_nearest(&text, figure, unit), "{}", text);
                prop_assert!((text.len() - text.find('.').unwrap_or(text.len())) <= 9, "{}", text);
            }
            prop_assert!(!text.contains('.') || !text.ends_with(['0', '.']), "{}", text);
            prop_assert_eq!(&text, &decimal(figure, unit));
        }
    }

    #[test]
    fn whoever_reads_a_figure_beside_its_limit_reads_the_side_it_is_on(
        count in 1_i128..400, off in -3_000_i128..3_000, part in 1_i128..2_000, unit in unit(),
    ) {
        // Told in the unit that the limit is stated in.
        let places = match unit { Unit::Inch => 5, Unit::Millimetre => 4, Unit::Micrometre | Unit::Other(_) => 1 };
        let limit = quantity::Quoted::from_count(count, places, unit).unwrap().length;
        let exact = Figure::from(limit);
        let figure = exact + Figure::new(off, part);
        let text = beside(figure, limit, unit);
        prop_assert_eq!(size(limit, unit), exact.trimmed_at(unit, 14));
        prop_assert_eq!(read(&text, unit).cmp(&exact), figure.cmp(&exact), "{}", text);
    }

    #[test]
    fn an_uncertainty_is_never_told_smaller_and_hides_no_amount(
        amount in -40_000_000_i64..40_000_000, near in -3_i64..=3, part in 0_usize..3,
        step in prop::sample::select(vec![0_i64, 254_000, 127_000, 1_270_000, 100_000, 1_000_000]),
        unit in unit(), places in 2_u32..7,
    ) {
        // Right beside the amount, half of it, or a small one.
        let expanded = [amount.abs() + near, amount.abs() / 2, near.abs() * 10_000][part].max(0);
        let (figure, u) = (picometres(amount), picometres(expanded));
        let is_more = figure.abs() > u;
        let text = with_doubt(figure, u, Length::from_picometres(step), unit);
        let (told, doubt) = text.split_once(" ± ").unwrap();
        let [change, of_change] = change(figure, u, places, unit);
        let [recorded, of_record] = recorded_change(figure, u, unit);
        for (told, doubt) in [(told, doubt), (&change, &of_change), (&recorded, &of_record)] {
            prop_assert!(is_up(doubt, u, unit) || read(doubt, unit) == u, "{} of {}", doubt, expanded);
            let off = (read(told, unit) - figure).abs() * 2;
            prop_assert!(off <= last_place(told, unit) || told == recorded, "{} of {}", told, amount);
            prop_assert_eq!(read(told, unit).abs() > read(doubt, unit), is_more, "{} {}", told, doubt);
        }
        prop_assert_eq!(change.starts_with('+'), read(&change, unit) > Figure::ZERO, "{}", change);
        prop_assert_eq!(change.starts_with('-'), read(&change, unit) < Figure::ZERO, "{}", change);
    }

    #[test]
    fn two_small_figures_read_in_their_order(
        one in 0_i64..400_000, off in -300_i128..300, part in 1_i128..50, unit in unit(),
    ) {
        let (figure, limit) = (picometres(one) + Figure::new(off, part), picometres(one));
        let [told, of_limit] = fine_beside(figure, limit, unit).map(|text| read(&text, unit));
        prop_assert_eq!(told.cmp(&of_limit), figure.cmp(&limit), "{:?}", fine_beside(figure, limit, unit));
        let [value, doubt] = fine_with_doubt(figure, limit, unit);
        prop_assert_eq!(&value, &fine(figure, unit));
        prop_assert!(is_nearest(&value, figure, unit));
        prop_assert!(read(&doubt, unit) >= limit);
    }
}

#[test]
fn a_small_figure_has_a_millionth_of_an_inch_or_a_hundredth_of_a_micrometre() {
    // 0.0000015 in is 0.0381 um.
    let figure = inch("0.0000015");
    assert_eq!(UNITS.map(|unit| fine(figure, unit)), ["0.000002", "0.00004", "0.04"]);
    assert_eq!(UNITS.map(|unit| fine(Figure::ZERO, unit)), ["0.000000", "0.00000", "0.00"]);
    let [[_, in_inch], [_, in_mm], [_, in_um]] =
        UNITS.map(|unit| fine_with_doubt(figure, inch("0.00000101"), unit));
    assert_eq!([in_inch, in_mm, in_um], ["0.000002", "0.00003", "0.03"]);
}

#[test]
fn a_step_gives_its_places_in_the_unit_that_is_read() {
    let steps = |step: &str, own: Unit| {
        let step = length(step, own);
        UNITS.map(|unit| in_steps(inch("0.0123456789"), step, unit))
    };
    assert_eq!(steps("0.00001", Unit::Inch), ["0.01235", "0.3136", "313.6"]);
    assert_eq!(steps("0.0001", Unit::Inch), ["0.0123", "0.314", "314"]);
    assert_eq!(steps("0.001", Unit::Millimetre), ["0.01235", "0.314", "314"]);
    assert_eq!(steps("0.1", Unit::Micrometre), ["0.012346", "0.3136", "313.6"]);
    // One that is not known: the places of the record.
    assert_eq!(steps("0", Unit::Inch), ["0.01234568", "0.313580", "313.580"]);
}

#[test]
fn limits_read_as_one_or_as_two() {
    let band =
        Limits::Band { min: length("1.4990", Unit::Inch), max: length("1.5010", Unit::Inch) };
    assert_eq!(limits(band, Unit::Inch), "1.499 to 1.501");
    assert_eq!(limits(band, Unit::Millimetre), "38.0746 to 38.1254");
    assert_eq!(limits(tenth(), Unit::Micrometre), "2.54");
    let signed =
        Limits::Band { min: length("-3", Unit::Micrometre), max: length("3", Unit::Micrometre) };
    assert_eq!(limits(signed, Unit::Micrometre), "-3 to 3");
    assert_eq!(limits(signed, Unit::Inch), "-0.00011811 to 0.00011811");
}

#[test]
fn a_figure_beside_its_limit_has_one_digit_more_than_that() {
    let beside =
        |text: &str, limit: &str| beside(inch(text), length(limit, Unit::Inch), Unit::Inch);
    assert_eq!(beside("0.0000412", "0.0001"), "0.00004");
    assert_eq!(beside("0.0000412", "0.00025"), "0.000041");
    assert_eq!(beside("0.0001000001", "0.0001"), "0.0001000001");
    assert_eq!(beside("1.25", "2"), "1.25");
    assert_eq!(beside("3.25", "2"), "3.25");
}

#[test]
fn a_change_of_nothing_has_no_sign() {
    let u = inch("0.0000336");
    for text in ["0", "0.000001", "-0.000001", "0.0000049"] {
        assert_eq!(change(inch(text), u, 5, Unit::Inch)[0], "0.00000", "{text}");
    }
    assert_eq!(change(inch("0.0000051"), u, 5, Unit::Inch)[0], "+0.00001");
    assert_eq!(change(inch("-0.0000051"), u, 5, Unit::Inch)[0], "-0.00001");
    // A change of a thousandth of what it takes to show is a change where nothing is unsure.
    let [amount, doubt] = change(inch("0.00000001"), Figure::ZERO, 5, Unit::Inch);
    assert_eq!([amount.as_str(), doubt.as_str()], ["+0.00000001", "0"]);
}

proptest! {
    #[test]
    fn an_angle_is_told_within_its_turn_and_no_further_off_than_its_last_digit(
        degrees in -1_000.0..1_000.0_f64, order in 1_u32..16,
    ) {
        let apart = |one: f64, other: f64, period: f64| {
            let off = (one - other).rem_euclid(period);
            off.min(period - off)
        };
        let told = super::degrees(degrees);
        prop_assert!((0.0..360.0).contains(&told) && told.is_sign_positive());
        prop_assert!(apart(told, degrees, 360.0) <= 0.000_500_1);
        let text = mark(degrees);
        let read: f64 = text.parse().unwrap();
        prop_assert!((0.0..360.0).contains(&read) && !text.starts_with('-'), "{}", text);
        prop_assert!(apart(read, degrees, 360.0) <= 0.050_001, "{} {}", text, degrees);
        prop_assert!(text.split_once('.').is_none_or(|(_, tenth)| tenth.len() == 1), "{}", text);
        let period = 360.0 / f64::from(order);
        let first = first_high_spot(degrees, order);
        prop_assert!((0.0..period).contains(&first), "{first} {period}");
        prop_assert!(apart(first, degrees, period) <= 0.001, "{} {}", first, degrees);
    }
}

#[test]
fn a_mark_right_before_the_index_is_the_index() {
    for degrees in [-0.04, -0.0, 0.0, 0.04, 359.96, 360.0, 720.04, -360.0] {
        assert_eq!(mark(degrees), "0", "{degrees}");
    }
    assert_eq!([mark(-90.0), mark(-0.06), mark(405.25)], ["270", "359.9", "45.3"]);
    assert!(first_high_spot(90.0, 0) < 360.0, "an order that nobody has");
}

#[test]
fn a_calibration_ends_with_its_day_and_not_a_microsecond_before() {
    const DAY: i64 = 86_400_000_000;
    let at = |left: i64| {
        let due = quantity::Wall::from_micros(20_000 * DAY);
        Calibration::at(due, quantity::Wall::from_micros(20_000 * DAY - left))
    };
    for (left, said) in [
        (31 * DAY + 1, None),
        (31 * DAY, Some(Calibration::Soon(30))),
        (DAY + 1, Some(Calibration::Soon(1))),
        (DAY, Some(Calibration::Soon(0))),
        (1, Some(Calibration::Soon(0))),
        (0, Some(Calibration::Past(1))),
        (1 - DAY, Some(Calibration::Past(1))),
        (-DAY, Some(Calibration::Past(2))),
    ] {
        assert_eq!(at(left), said, "{left}");
    }
    let far = |due: i64, now: i64| {
        Calibration::at(quantity::Wall::from_micros(due), quantity::Wall::from_micros(now))
    };
    assert_eq!(far(i64::MAX, i64::MIN), None, "beyond all clocks");
    assert!(matches!(far(i64::MIN, i64::MAX), Some(Calibration::Past(days)) if days > 100_000_000));
    assert_eq!(Calibration::Soon(12).words(), "is due for calibration in 12 days");
}
