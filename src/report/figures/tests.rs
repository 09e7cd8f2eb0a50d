use super::*;
use crate::trial::{answered, bar, face, face_with, figure, length};
use ::record::VerdictRecord;
use bench::verdict::Verdict;
use judgement::Limits;
use quantity::Unit;
use words::Bound;

fn cells(record: &VerdictRecord) -> [String; 3] {
    record.told(Unit::Inch).cells()
}

fn valued(value: &str) -> VerdictRecord {
    face_with(|verdict| verdict.value = Some(figure(value)))
}

#[test]
fn a_figure_has_one_digit_more_than_its_limit() {
    assert_eq!(cells(&face()), ["0.00034", "0.0001", "0.000026"]);
}

#[test]
fn a_size_is_told_as_fine_as_it_is_known() {
    let size = face_with(|verdict| {
        verdict.value = Some(figure("1.99982 in"));
        verdict.limits = Some(Limits::Band { min: length("1.999 in"), max: length("2.001 in") });
    });
    assert_eq!(cells(&size), ["1.99982", "1.999 to 2.001", "0.000026"]);
}

#[test]
fn rounding_never_carries_an_out_into_an_in() {
    for (exact, told) in [
        ("0.00010001 in", "0.00010001"),
        ("0.000104 in", "0.000104"),
        ("0.00009999 in", "0.00009999"),
        ("0.00009 in", "0.00009"),
        ("0.0001 in", "0.00010"),
    ] {
        assert_eq!(cells(&valued(exact))[0], told);
    }
}

#[test]
fn below_the_noise_floor_no_number_is_claimed_and_no_side_is_high() {
    let quiet = |value: &str| {
        face_with(|verdict| {
            verdict.value = Some(figure(value));
            verdict.figures.noise_floor = Some(Bound(length("0.000018 in")));
            verdict.figures.high_side_deg = Some(90.0.into());
            verdict.figures.high_side_u_deg = Some(7.0.into());
        })
    };
    let below = quiet("0.00001 in");
    assert_eq!(cells(&below)[0], "less than 0.000018");
    assert_eq!(below.verdict.high_side(), None);
    assert_eq!(quiet("0.00034 in").verdict.high_side(), Some((90.0, 7.0)));
}

#[test]
fn a_high_side_that_is_hardly_known_is_not_told() {
    let known = |within: f64| {
        let tell = |verdict: &mut Verdict| {
            verdict.figures.high_side_deg = Some(90.0.into());
            verdict.figures.high_side_u_deg = Some(within.into());
        };
        face_with(tell).verdict.high_side()
    };
    assert_eq!((known(30.0), known(30.001)), (Some((90.0, 30.0)), None));
}

#[test]
fn a_metric_limit_is_told_in_the_unit_of_the_bench() {
    let metric = face_with(|verdict| {
        verdict.value = Some(figure("2 um"));
        verdict.unit = Unit::Micrometre;
        verdict.limits = Some(Limits::Max(length("2.54 um")));
        verdict.uncertainty = None;
    });
    assert_eq!(cells(&metric), ["0.00008", "0.0001", "–"]);
}

#[test]
fn a_difference_has_its_sign() {
    let pair = |value: &str| {
        face_with(|verdict| {
            verdict.value = Some(figure(value));
            let band = Limits::Band { min: length("-0.0001 in"), max: length("0.0001 in") };
            verdict.limits = Some(band);
        })
    };
    assert_eq!(cells(&pair("0.00002256 in"))[..2], ["+0.00002", "-0.0001 to 0.0001"]);
    assert_eq!(cells(&pair("-0.00004 in"))[0], "-0.00004");
    assert_eq!(cells(&pair("0 in"))[0], "0.00000");
}

#[test]
fn an_answer_stands_for_the_value_and_the_good_ones_for_the_limit() {
    let asked = answered("blue all round", &["blue all round", "at the big end"]);
    assert_eq!(cells(&asked), ["blue all round", "blue all round or at the big end", "–"]);
    assert_eq!(cells(&answered("blue all round", &[])), ["blue all round", "–", "–"]);
}

#[test]
fn without_a_limit_a_figure_keeps_its_digits() {
    let free = face_with(|verdict| verdict.limits = None);
    assert_eq!(cells(&free), ["0.00034", "–", "0.000026"]);
}

#[test]
fn a_bar_names_the_station_it_was_judged_at() {
    assert_eq!(cells(&bar())[..2], ["0.00016", "0.0002 at 3"]);
    let metric = bar().told(Unit::Millimetre).cells();
    assert_eq!(metric[1], "0.00508 at 76.2");
    assert!(face().verdict.judged_station().is_none());
}

#[test]
fn what_rests_on_metal_that_is_gone_says_so_instead_of_its_word() {
    let told = |standing| word_now(Word::DoesNotConform, standing);
    assert_eq!(told(Standing::Stands), "DOES NOT CONFORM");
    assert_eq!(told(Standing::Superseded), "DOES NOT CONFORM");
    assert_eq!(told(Standing::MetalChanged), "METAL CHANGED");
    assert_eq!(told(Standing::PartReplaced), "PART REPLACED");
}
