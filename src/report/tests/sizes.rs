//! Bearings, seats and fits: what their section tells of figures that were worked out by hand.

use std::sync::Arc;

use bench::plan::figures::{
    DiameterFigures, Estimate, FitFigures, MemberFigures, OffsetFigures, PlaneFigures, SetFigures,
    Side, Sits, UnbalanceFigures,
};
use bench::verdict::{Figures, Verdict};
use judgement::Word;
use quantity::{Figure, Unit};
use words::{Bound, Stated, Thousandth, ThousandthUp};

use super::html::{Element, Page};
use super::page::{FLAT, face};
use super::shop::page_of;
use crate::trial::{figure, length};

const SECTION: &str = "Bearings, seats and fits";

/// A page whose only verdict is changed to this.
fn page(change: impl FnOnce(&mut Verdict)) -> Page {
    let mut shop = face();
    shop.measure("ring/face", FLAT);
    let mut facts = shop.facts("J-1");
    change(Arc::make_mut(&mut facts.verdicts[0].verdict));
    page_of(&facts, Unit::Millimetre, &[])
}

/// What its section tells of these figures.
fn told(figures: Figures) -> Vec<(String, String)> {
    page(|verdict| verdict.figures = figures).section(SECTION).told()
}

#[track_caller]
fn says(told: &[(String, String)], head: &str, text: &str) {
    let found = told.iter().find(|(one, _)| one == head);
    assert_eq!(found.map(|(_, said)| said.as_str()), Some(text), "{head} in {told:?}");
}

fn silent(told: &[(String, String)], head: &str) {
    assert!(!told.iter().any(|(one, _)| one == head), "{head} in {told:?}");
}

fn diameter(planes: &[&str]) -> DiameterFigures {
    let plane = |(plane, mean): (u32, &&str)| PlaneFigures {
        plane,
        mean: figure(mean),
        out_of_round: None,
    };
    DiameterFigures {
        side: Side::Bore,
        planes: (1..).zip(planes).map(plane).collect(),
        out_of_round: Some(figure("0.0004 mm")),
        out_of_round_u: Some(Bound(length("0.000566 mm"))),
        between_planes: None,
        between_planes_u: None,
    }
}

fn fit(sits: Sits) -> FitFigures {
    FitFigures {
        seat: figure("50.0052 mm"),
        bore: figure("49.9975 mm"),
        at_20_c: true,
        sits,
        for_each_c: None,
    }
}

#[test]
fn a_page_without_sizes_has_no_section_of_them() {
    let page = page(|_| ());
    assert!(!page.headings().contains(&SECTION.to_owned()));
    assert_eq!(page.headings().iter().filter(|one| *one == "Verdicts").count(), 1);
}

#[test]
fn a_diameter_is_told_plane_by_plane_with_what_is_known_of_its_form() {
    let two = DiameterFigures {
        between_planes: Some(figure("0.001 mm")),
        between_planes_u: Some(Bound(length("0.000894 mm"))),
        ..diameter(&["49.998 mm", "49.997 mm"])
    };
    let two = told(Figures { diameter: Some(two), ..Figures::default() });
    says(&two, "Mean of plane 1", "49.998 mm");
    says(&two, "Mean of plane 2", "49.997 mm");
    // Uncertainties are rounded up: 2·√(½·(0.09 + 0.07)) = 0.566 and 2·√(2·(0.09/3 + 0.07)) = 0.894 µm.
    let out = "0.00040 ± 0.00057 mm, half of what the diameters of a plane differ by";
    says(&two, "Out of round", out);
    says(&two, "Between the planes", "0.00100 ± 0.0009 mm");
    // Of one plane the mean is the figure itself, and there is nothing between.
    let mut one = diameter(&["49.998 mm"]);
    one.out_of_round = None;
    let one = told(Figures { diameter: Some(one), ..Figures::default() });
    for head in ["Mean of plane 1", "Out of round", "Between the planes"] {
        silent(&one, head);
    }
}

#[test]
fn a_form_of_unknown_uncertainty_has_no_sign_of_one() {
    let mut one = diameter(&["49.998 mm"]);
    one.out_of_round_u = None;
    let one = told(Figures { diameter: Some(one), ..Figures::default() });
    says(&one, "Out of round", "0.0004 mm, half of what the diameters of a plane differ by");
}

#[test]
fn a_fit_says_how_it_sits_and_what_heat_does_to_it() {
    let of = |fit| told(Figures { fit: Some(fit), ..Figures::default() });
    let held = of(fit(Sits::Interference));
    says(&held, "Bore", "49.9975 mm");
    says(&held, "Seat", "50.0052 mm");
    says(&held, "It sits with", "Interference: the seat is larger");
    silent(&held, "For each °C warmer");
    // A bore of aluminium on steel: 50 mm · (23.1 − 11.5)·10⁻⁶ = 0.00058 mm.
    let warm = FitFigures {
        at_20_c: false,
        for_each_c: Some(figure("0.00058 mm")),
        ..fit(Sits::Clearance)
    };
    let warm = of(warm);
    says(&warm, "It sits with", "Clearance: the bore is larger; not brought to 20 °C");
    says(&warm, "For each °C warmer", "0.00058 mm, unlike metals");
    let open = FitFigures { for_each_c: Some(figure("-0.00058 mm")), ..fit(Sits::CannotSay) };
    let open = of(open);
    says(&open, "It sits with", "Cannot say: the two differ by no more than U");
    says(&open, "For each °C warmer", "−0.00058 mm, unlike metals");
    silent(
        &of(FitFigures { for_each_c: Some(Figure::ZERO), ..fit(Sits::Clearance) }),
        "For each °C warmer",
    );
}

#[test]
fn an_unbalance_is_an_estimate_in_gram_millimetres_and_not_judged() {
    // 180 g and half of 8 µm, at most half of 10 µm. G 2.5 at 18 000 rpm: 2.5 mm/s through 2π · 300/s, times
    // 6500 g, is 8.62 g·mm (the definition of the grade in ISO 21940-11).
    let unbalance = UnbalanceFigures {
        label: Estimate::Estimate,
        can_cause_g_mm: ThousandthUp::of(180.0 * 0.004),
        at_most_g_mm: ThousandthUp::of(180.0 * 0.005),
        permitted_g_mm: Thousandth::of(8.621),
        grade_mm_s: Thousandth::of(2.5),
        speed_rpm: Thousandth::of(18_000.0),
        mass_g: Thousandth::of(180.0),
        rotor_mass_g: Thousandth::of(6500.0),
    };
    let (fit, unbalance) = (Some(fit(Sits::Clearance)), Some(unbalance));
    let said = told(Figures { fit, unbalance, ..Figures::default() });
    says(
        &said,
        "Unbalance, an estimate",
        "0.72 g·mm can come of it, at most 0.9; 8.62 g·mm is what G 2.5 permits the rotor of 6.5 kg at \
         18000 rpm. Mass 180 g times half the clearance; not judged.",
    );
}

#[test]
fn of_a_set_the_odd_one_is_named_and_hostile_names_are_text() {
    let member = |name: &str, size| MemberFigures { name: name.to_owned(), size: figure(size) };
    let hostile = "b3/<img src=x>";
    let set = SetFigures {
        members: vec![
            member("b1/bore", "49.9975 mm"),
            member("b2/bore", "49.998 mm"),
            member(hostile, "50.002 mm"),
        ],
        odd: Some(hostile.to_owned()),
        without_it: Some(figure("0.0005 mm")),
    };
    let even = SetFigures { odd: None, without_it: None, ..set.clone() };
    let said = told(Figures { set: Some(set), ..Figures::default() });
    says(&said, "b1/bore", "49.9975 mm");
    says(&said, hostile, "50.002 mm, the odd one");
    says(&said, "Without the odd one", "0.0005 mm");
    let said = told(Figures { set: Some(even), ..Figures::default() });
    says(&said, hostile, "50.002 mm");
    silent(&said, "Without the odd one");
}

#[test]
fn a_face_offset_is_told_round_by_round_with_its_load() {
    let rounds = vec![figure("0.0122 mm"), figure("-0.0003 mm")];
    let offset = OffsetFigures {
        load_n: Thousandth::of(60.0),
        rounds,
        repeats_within: Some(figure("0.0125 mm")),
        may_differ: Stated(length("0.0005 mm")),
    };
    let once =
        OffsetFigures { rounds: vec![figure("0.0122 mm")], repeats_within: None, ..offset.clone() };
    let said = told(Figures { offset: Some(offset), ..Figures::default() });
    says(&said, "Load", "60 N");
    says(&said, "Round 1", "0.0122 mm");
    says(&said, "Round 2", "−0.0003 mm");
    says(&said, "Comes back within", "0.0125 mm, 0.0005 mm is allowed");
    let said = told(Figures { offset: Some(once), ..Figures::default() });
    silent(&said, "Round 2");
    silent(&said, "Comes back within");
}

#[test]
fn the_figure_has_its_limit_and_word_and_nothing_is_printed_where_nothing_is_known() {
    let whole = page(|verdict| {
        verdict.figures.fit = Some(fit(Sits::Clearance));
        verdict.value = Some(figure("0.0077 mm"));
    });
    let section = whole.section(SECTION);
    assert_eq!(section.all("h3").iter().map(Element::text).collect::<Vec<_>>(), ["ring/face"]);
    let row = whole.verdicts().remove(0);
    let said = section.told();
    assert_eq!((row[2].trim_end_matches('0'), said[0].0.as_str()), ("0.0077", "Figure"));
    // The same figure and the same ± as in the row of its verdict.
    assert_eq!(said[0].1, format!("{} ± {} mm, conforms", row[2], row[4]));
    says(&said, "Limit", &format!("{} mm", row[3]));
    let short = page(|verdict| {
        verdict.figures.fit = Some(fit(Sits::CannotSay));
        (verdict.value, verdict.uncertainty, verdict.limits) = (None, None, None);
        verdict.word = Word::Incomplete;
    });
    let said = short.section(SECTION).told();
    says(&said, "Figure", "incomplete");
    silent(&said, "Limit");
}
