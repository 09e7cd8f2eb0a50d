//! Figures as people read them.

mod against;
mod amounts;
#[cfg(feature = "schemas")]
mod forms;
mod lines;

use proptest::prelude::*;

use super::*;
use judgement::{Limits, decide};
use quantity::{Figure, Length, Unit};

fn length(text: &str, unit: Unit) -> Length {
    Length::parse(text, unit).unwrap()
}

fn inch(text: &str) -> Figure {
    Figure::parse(text, Unit::Inch).unwrap()
}

fn tenth() -> Limits {
    Limits::Max(length("0.0001", Unit::Inch))
}

fn value(text: &str) -> String {
    Held::of(inch(text), Unit::Inch).against(tenth()).told(Unit::Inch).value.unwrap()
}

#[test]
fn a_figure_has_one_digit_more_than_its_limit() {
    let held =
        Held::of(inch("0.00034"), Unit::Inch).against(tenth()).known_within(inch("0.00002545587"));
    let told = held.told(Unit::Inch);
    assert_eq!(told.value.as_deref(), Some("0.00034"));
    assert_eq!(told.limit.as_deref(), Some("0.0001"));
    assert_eq!(told.uncertainty.as_deref(), Some("0.000026"));
}

#[test]
fn an_out_is_never_printed_as_an_in() {
    assert_eq!(value("0.0001000036"), "0.000100004");
    assert_eq!(value("0.00010001"), "0.00010001");
    assert_eq!(value("0.000104"), "0.000104");
    assert_eq!(value("0.00009999"), "0.00009999");
    assert_eq!(value("0.00009"), "0.00009");
    assert_eq!(value("0.0001"), "0.00010");
    // Below all places of the record: a picometre and less beside the limit.
    let hair = Figure::from(length("0.0001", Unit::Inch)) + Figure::new(1, 900_000_000);
    let held = Held::of(hair, Unit::Inch).against(tenth());
    assert_eq!(held.told(Unit::Inch).value.as_deref(), Some("0.00010000000001"));
    assert_eq!(held.recorded().value_text().as_deref(), Some("0.00010000000001"));
}

#[test]
fn the_record_has_the_same_digits_where_its_rounding_would_decide() {
    let text = |text: &str| {
        Held::of(inch(text), Unit::Inch).against(tenth()).recorded().value_text().unwrap()
    };
    assert_eq!(text("0.0001000036"), "0.000100004");
    assert_eq!(text("0.00004333333"), "0.00004333");
    assert_eq!(text("0.0001"), "0.0001");
}

#[test]
fn the_guard_band_has_its_digits_too() {
    // T - U is 0.00008; the exact figure lies above it by 2 parts in a million of an inch's tenth.
    let told = |text: &str| {
        let held = Held::of(inch(text), Unit::Inch).against(tenth()).known_within(inch("0.00002"));
        held.told(Unit::Inch).value.unwrap()
    };
    assert_eq!(told("0.00008"), "0.00008");
    assert_eq!(told("0.0000800002"), "0.0000800002");
    assert_eq!(told("0.0001200002"), "0.0001200002");
    assert_eq!(told("0.00012"), "0.00012");
}

#[test]
fn a_size_is_told_as_fine_as_it_is_known() {
    let band = Limits::Band { min: length("1.999", Unit::Inch), max: length("2.001", Unit::Inch) };
    let held =
        Held::of(inch("1.99982"), Unit::Inch).against(band).known_within(inch("0.00002545587"));
    let told = held.told(Unit::Inch);
    assert_eq!(told.value.as_deref(), Some("1.99982"));
    assert_eq!(told.limit.as_deref(), Some("1.999 to 2.001"));
    assert_eq!(told.uncertainty.as_deref(), Some("0.000026"));
}

#[test]
fn what_may_lie_on_both_sides_of_zero_has_its_sign() {
    let tenth = length("0.0001", Unit::Inch);
    let band = Limits::Band { min: Length::from_picometres(-tenth.picometres()), max: tenth };
    let told =
        |text: &str| Held::of(inch(text), Unit::Inch).against(band).told(Unit::Inch).value.unwrap();
    assert_eq!(told("0.00002256"), "+0.00002");
    assert_eq!(told("-0.00004"), "-0.00004");
    assert_eq!(told("0"), "0.00000");
    // What rounds to nothing has no sign.
    assert_eq!(told("0.000000001"), "0.00000");
    assert_eq!(told("-0.000000001"), "0.00000");
}

#[test]
fn below_the_noise_floor_no_number_is_claimed() {
    let told = |value: &str, floor: &str| {
        let held = Held::of(inch(value), Unit::Inch).against(tenth()).above_noise(inch(floor));
        held.told(Unit::Inch).value.unwrap()
    };
    assert_eq!(told("0.00001", "0.0000176"), "less than 0.000018");
    assert_eq!(told("0.00002", "0.0000176"), "0.00002");
    // "Less than" something above the limit would say nothing of an out, nor of an in.
    assert_eq!(told("0.00015", "0.0002"), "0.00015");
    assert_eq!(told("0.00005", "0.0002"), "0.00005");
}

#[test]
fn another_unit_shows_the_same_side() {
    let um = |text: &str| Figure::parse(text, Unit::Micrometre).unwrap();
    let limit = Limits::Max(length("3", Unit::Micrometre));
    let told = |text: &str| {
        let held = Held::of(um(text), Unit::Micrometre).against(limit).told(Unit::Inch);
        (held.value.unwrap(), held.limit.unwrap())
    };
    // 3 um is 0.000118110236… in.
    assert_eq!(told("2").0, "0.000079");
    assert_eq!(told("3"), ("0.00011811".to_owned(), "0.00011811".to_owned()));
    let (out, limit) = told("3.001");
    assert!(inch(&out) > inch(&limit), "{out} {limit}");
}

#[test]
fn amounts_have_the_places_of_the_gauge() {
    let step = length("0.00001", Unit::Inch);
    assert_eq!(in_steps(inch("0.00019"), step, Unit::Inch), "0.00019");
    assert_eq!(in_steps(inch("0.000152"), step, Unit::Inch), "0.00015");
    let doubt = with_doubt(inch("0.000152"), inch("0.0000375"), step, Unit::Inch);
    assert_eq!(doubt, "0.00015 ± 0.000038");
    let half = length("0.00005", Unit::Inch);
    assert_eq!(in_steps(inch("0.00015"), half, Unit::Inch), "0.00015");
}

#[test]
fn a_stated_length_keeps_all_its_places() {
    assert_eq!(size(length("0.00010", Unit::Inch), Unit::Inch), "0.0001");
    assert_eq!(size(length("0.000000005", Unit::Inch), Unit::Inch), "0.000000005");
    assert_eq!(size(length("2.540001", Unit::Micrometre), Unit::Micrometre), "2.540001");
    assert_eq!(size(length("1.5", Unit::Inch), Unit::Millimetre), "38.1");
    assert_eq!(size(length("1", Unit::Millimetre), Unit::Inch), "0.03937008");
    assert_eq!(size(length("100", Unit::Inch), Unit::Inch), "100");
}

#[test]
#[expect(clippy::float_cmp, reason = "these thousandths have one nearest float each")]
fn angles_stay_below_a_full_turn() {
    assert_eq!(degrees(359.999_6), 0.0);
    assert_eq!(degrees(-0.25), 359.75);
    assert_eq!(degrees(-0.000_01), 0.0);
    assert_eq!(degrees(51.428_571), 51.429);
    assert!(degrees(-0.0).is_sign_positive());
}

#[test]
#[expect(clippy::float_cmp, reason = "these thousandths have one nearest float each")]
fn the_first_high_spot_of_lobes_lies_before_the_second() {
    assert_eq!(first_high_spot(120.0, 3), 0.0);
    assert_eq!(first_high_spot(119.999_9, 3), 0.0);
    assert_eq!(first_high_spot(119.999, 3), 119.999);
    assert_eq!(first_high_spot(-0.000_01, 5), 0.0);
    assert_eq!(first_high_spot(51.428_571, 7), 0.0);
    assert_eq!(first_high_spot(130.0, 3), 10.0);
}

#[test]
fn marks_are_read_to_a_tenth_of_a_degree() {
    assert_eq!(mark(90.0), "90");
    assert_eq!(mark(51.428_571), "51.4");
    assert_eq!(mark(359.97), "0");
}

/// What a person with the printed texts alone would decide.
fn reads(told: &Told, unit: Unit) -> [bool; 3] {
    let text = |text: &Option<String>| Figure::parse(text.as_ref().unwrap(), unit).unwrap();
    let limit = text(&told.limit);
    let value = told.value.as_ref().unwrap().trim_start_matches('+').to_owned();
    let value = Figure::parse(&value, unit).unwrap();
    let u = text(&told.uncertainty);
    [value <= limit, value <= limit - u, value <= limit + u]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    /// Limits of every size and unit, uncertainties, figures right beside T, T − U and T + U, with
    /// thirds and sevenths in them: the printed texts decide as the exact figures do.
    #[test]
    fn printed_figures_decide_as_the_exact_ones(
        own in prop::sample::select(vec![Unit::Inch, Unit::Millimetre, Unit::Micrometre]),
        page in prop::sample::select(vec![Unit::Inch, Unit::Millimetre, Unit::Micrometre]),
        count in 1_i128..400,
        u in 0_i64..3_000_000,
        beside in 0_usize..3,
        off in -2000_i128..2000,
        part in prop::sample::select(vec![1_i128, 3, 7, 1000]),
    ) {
        let places = match own { Unit::Inch => 5, Unit::Millimetre => 4, Unit::Micrometre | Unit::Other(_) => 1 };
        let limit = quantity::Quoted::from_count(count, places, own).unwrap().length;
        let guard = [0, -u, u][beside];
        let exact = Figure::from(limit) + Figure::new(i128::from(guard), 1) + Figure::new(off, part);
        let held = Held::of(exact, own)
            .against(Limits::Max(limit))
            .known_within(Figure::from(Length::from_picometres(u)));
        let decided = decide(exact, Length::from_picometres(u), Limits::Max(limit));
        let u = Figure::new(i128::from(u), 1);
        let limit = Figure::from(limit);
        let wanted = [exact <= limit, exact <= limit - u, exact <= limit + u];
        for unit in [own, page] {
            let told = held.told(unit);
            prop_assert_eq!(reads(&told, unit), wanted, "{:?} {:?}", decided, told);
        }
        let recorded = held.recorded();
        let [_, limit] = recorded.limit_texts();
        let (value, uncertainty) = (recorded.value_text(), recorded.uncertainty_text());
        let told = Told { value, limit, uncertainty, ..Told::default() };
        prop_assert_eq!(reads(&told, own), wanted, "recorded: {:?}", told);
    }
}

#[test]
fn a_calibration_is_spoken_of_a_month_before_its_date() {
    let at = |text: &str| quantity::Wall::parse(text).unwrap();
    let said = |now: &str| Calibration::at(at("2027-03-01"), at(now)).map(Calibration::words);
    // Its date is the last day of February.
    assert_eq!(said("2027-01-28T23:59:59Z"), None);
    assert_eq!(said("2027-01-29").as_deref(), Some("is due for calibration in 30 days"));
    assert_eq!(said("2027-02-27T12:00:00Z").as_deref(), Some("is due for calibration tomorrow"));
    assert_eq!(said("2027-02-28").as_deref(), Some("is due for calibration today"));
    assert_eq!(said("2027-03-01").as_deref(), Some("is 1 day past its calibration date"));
    assert_eq!(
        said("2027-03-28T12:00:00Z").as_deref(),
        Some("is 28 days past its calibration date")
    );
}

#[test]
fn a_change_reads_as_more_than_its_uncertainty_only_where_it_is() {
    let u = inch("0.0000336");
    assert_eq!(change(inch("0.00003"), u, 5, Unit::Inch), ["+0.00003", "0.000034"]);
    assert_eq!(change(inch("0.000034"), u, 5, Unit::Inch), ["+0.000034", "0.0000336"]);
    assert_eq!(change(inch("-0.000034"), u, 5, Unit::Inch), ["-0.000034", "0.0000336"]);
    assert_eq!(change(inch("-0.00012"), u, 5, Unit::Inch), ["-0.00012", "0.000034"]);
    // A tie cannot be told.
    assert_eq!(change(u, u, 5, Unit::Inch), ["+0.00003", "0.000034"]);
    let recorded = recorded_change(inch("0.00012"), u, Unit::Inch);
    assert_eq!(recorded, ["0.00012", "0.0000336"]);
}

#[test]
fn what_nothing_is_held_against_has_a_hundredth_of_a_micrometre() {
    let u = inch("0.00007701");
    assert_eq!(fine_with_doubt(inch("0.00025471"), u, Unit::Inch), ["0.000255", "0.000078"]);
    let beside = |limit: &str| fine_beside(inch("0.0000570104"), inch(limit), Unit::Inch);
    assert_eq!(beside("0.00005096"), ["0.000057", "0.000051"]);
    assert_eq!(beside("0.00005701"), ["0.0000570104", "0.0000570100"]);
    assert_eq!(beside("0.0000570104"), ["0.000057", "0.000057"]);
    let [value, doubt] = fine_with_doubt(inch("0.00025471"), u, Unit::Micrometre);
    assert_eq!([value, doubt], ["6.47", "1.96"]);
}

#[test]
fn a_figure_that_may_lie_on_either_side_has_its_sign() {
    let told = |text: &str, signed| {
        let held = Held::of(inch(text), Unit::Inch).against(tenth()).signed(signed);
        held.told(Unit::Inch).value.unwrap()
    };
    assert_eq!([told("0.00003", true), told("-0.00003", true)], ["+0.00003", "-0.00003"]);
    assert_eq!(told("0.00003", false), "0.00003");
}

#[test]
fn limits_that_have_no_end_in_a_unit_are_told_rounded_both_of_them() {
    // 1 mm is 0.0393700787… in, 1.0127 mm is 0.0398700787… in.
    let [min, max] = ["1", "1.0127"].map(|text| length(text, Unit::Millimetre));
    let value = Figure::from(length("1.005", Unit::Millimetre));
    let told =
        Held::of(value, Unit::Millimetre).against(Limits::Band { min, max }).told(Unit::Inch);
    assert_eq!(told.limit.as_deref(), Some("0.03937008 to 0.03987008"), "{told:?}");
}
