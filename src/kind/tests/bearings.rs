//! Diameters, fits, sets and face offsets by hand, and what must hold of them whatever the readings.

use super::written::{changed, found, good};
use super::*;
use crate::figures::{Estimate, Side, Sits};
use crate::{Diameter, FaceOffset, Fit, Set, Size, Warm};
use judgement::{Heat, Known, Named, Reason, TouchedLength, Word, decide};
use num_rational::Ratio;

pub(super) fn um(text: &str) -> Length {
    Length::parse(text, Unit::Micrometre).unwrap()
}

pub(super) fn figure(text: &str) -> Figure {
    Figure::from(um(text))
}

/// A figure in micrometres.
fn micro(figure: Figure) -> f64 {
    figure.to_f64() / 1e6
}

pub(super) fn band(min: &str, max: &str) -> Limits {
    Limits::Band { min: um(min), max: um(max) }
}

fn bore(planes: u32, positions: u32) -> Check {
    let own = Diameter { side: Side::Bore, planes, size: Size::default() };
    let limits = Some(band("49990", "50010"));
    Check { positions, limits, closure: false, unit: Unit::Micrometre, ..check(own) }
}

/// The readings of a gauge that shows 0.1 µm: s 0.3, u 0.5, so that the rest is 0.4.
pub(super) fn fine() -> Doubt {
    let stated = Stated { uncertainty: Some(um("0.5")), repeatability: Some(um("0.3")) };
    Doubt::of(stated, um("0.1"), (Share::Plate, Part::stated(Length::ZERO)))
}

/// The sizes at each position, in tenths of a micrometre beside 50 mm or 0.
pub(super) fn series<'a>(check: &'a Check, base: &str, tenths: &[i64]) -> Series<'a> {
    let sum = |tenth: &i64| um(base).picometres() + tenth * 100_000;
    Series {
        check,
        parts: 1,
        sums: (0..).zip(tenths.iter().map(sum)).collect(),
        open: Vec::new(),
        reading: fine(),
        averaged: 1,
        resolution: um("0.1"),
        spread: um("0.3"),
        seatings: Vec::new(),
        returns: Vec::new(),
        drifted: Vec::new(),
        closure: None,
        zero_walk: None,
        tries: 1,
        watched: None,
        taps: None,
        rule: Rule::Guarded,
    }
}

#[test]
fn the_places_of_a_bore_lie_over_half_a_turn_in_each_plane() {
    let check = bore(2, 3);
    assert_eq!((check.total(), check.per_circle(), check.circles()), (6, 3, 2));
    let angles: Vec<f64> = (0..6).map(|at| check.angle_deg(at)).collect();
    for (found, expected) in angles.into_iter().zip([0.0, 60.0, 120.0, 0.0, 60.0, 120.0]) {
        near(found, expected, 1e-9);
    }
    assert_eq!(check.place_in_words(4).unwrap(), "plane 2, at 60");
    assert_eq!(bore(1, 3).place_in_words(2).unwrap(), "at 120");
    assert_eq!(bore(1, 8).place_in_words(1).unwrap(), "at 22.5");
    near(check.mark_pitch_deg(), 60.0, 1e-9);
    let offset = FaceOffset { load_n: 200.0, rounds: 2, repeat: um("0.2"), master_u: None };
    let offset = Check { positions: 4, ..super::check(offset) };
    assert_eq!(offset.place_in_words(3).unwrap(), "round 1, at 270");
    assert_eq!(offset.place_in_words(4).unwrap(), "round 2, load off and on again, at 0");
    assert_eq!(offset.place_in_words(5).unwrap(), "round 2, at 90");
}

#[test]
fn size_and_form_of_a_bore_by_hand() {
    let check = bore(2, 3);
    let judged = judged(&series(&check, "50000", &[-20, -24, -16, -30, -33, -27]));
    assert_eq!(judged.value, Some(figure("49997.5")));
    let form = judged.figures.diameter.unwrap();
    assert_eq!(form.planes.len(), 2);
    assert_eq!(form.planes[0].mean, figure("49998"));
    assert_eq!(form.planes[1].out_of_round, Some(figure("0.3")));
    assert_eq!((form.out_of_round, form.between_planes), (Some(figure("0.4")), Some(figure("1"))));
    // 2·√(½·(0.09 + 0.16)); 2·√(2·(0.09/3 + 0.16)).
    near(micro(Figure::from(form.out_of_round_u.unwrap())), 0.7072, 0.0002);
    near(micro(Figure::from(form.between_planes_u.unwrap())), 1.2329, 0.0002);
    let one = bore(1, 1);
    let judged = super::judged(&series(&one, "50000", &[5]));
    let form = judged.figures.diameter.unwrap();
    assert_eq!((form.out_of_round, form.between_planes), (None, None), "one reading has no form");
}

#[test]
fn three_angles_see_three_quarters_of_an_oval_and_nothing_of_three_lobes() {
    let check = bore(1, 3);
    for turned in 0..36 {
        let diameter = |lobes: f64| {
            let at = |angle: f64| {
                // Two opposite points of r(θ) = cos(lobes·θ), 10 tenths high.
                let r =
                    |deg: f64| 10.0 * (lobes * (deg - f64::from(turned) * 5.0)).to_radians().cos();
                r(angle) + r(angle + 180.0)
            };
            [0.0, 60.0, 120.0].map(at)
        };
        let seen = |lobes| {
            let tenths = diameter(lobes).map(|one| num(one.round()));
            let judged = judged(&series(&check, "50000", &tenths));
            micro(judged.figures.diameter.unwrap().out_of_round.unwrap())
        };
        // The true distance of radii is 2 µm.
        assert!((1.4..=1.8).contains(&seen(2.0)), "{turned}: {}", seen(2.0));
        near(seen(3.0), 0.0, 1e-9);
    }
}

#[expect(clippy::cast_possible_truncation, reason = "tens")]
fn num(of: f64) -> i64 {
    of as i64
}

#[test]
fn only_what_no_bad_part_can_be_asks_for_the_ring() {
    let check = bore(1, 3);
    // Limits 20 µm apart, so more than 200 beyond them.
    for (tenths, asked) in [(2_100, false), (2_101, true), (-2_100, false), (-2_101, true)] {
        let judged = judged(&series(&check, "50000", &[tenths; 3]));
        let told = judged.sayings.iter().any(|said| said.text.contains("another ring"));
        assert_eq!(told, asked, "{tenths}");
    }
}

/// One size that others are made of.
pub(super) struct Given {
    check: Check,
    measured: Figure,
    master: Option<&'static str>,
    reasons: Vec<Reason>,
}

pub(super) struct Sizes(pub(super) Vec<Given>);

pub(super) fn given(tenths: i64, size: Size) -> Given {
    let own = Diameter { side: Side::Bore, planes: 1, size };
    let measured = Figure::from(um("50000")) + figure("0.1") * tenths;
    let check = Check { master_size: Some(um("50000")), ..check(own) };
    Given { check, measured, master: None, reasons: Vec::new() }
}

impl Beside for Sizes {
    fn log(&self) -> Option<crate::run_in::Log> {
        None
    }

    fn entry(&self, _at: CheckAt) -> Option<String> {
        None
    }

    fn written(&self) -> Option<String> {
        None
    }

    fn name(&self, at: CheckAt) -> String {
        format!("p{}/size", at.part)
    }

    fn stand(&self, _positions: &[u32]) -> Stand {
        unreachable!("nothing is touched")
    }

    fn difference(&self, _pair: &Pair) -> Judged {
        unreachable!("another kind")
    }

    fn other(&self, at: CheckAt, _tolerance: Option<Figure>) -> Result<Other<'_>, String> {
        let name = self.name(at);
        let one =
            self.0.get(usize::from(at.part)).ok_or_else(|| format!("{name} is not measured."))?;
        Ok(Other {
            part: &one.check.name,
            name,
            check: &one.check,
            measured: one.measured,
            warm: Warm::NotAsked,
            touched: TouchedLength {
                reading: fine(),
                touches: 3,
                masters: 2,
                zero: Figure::ZERO,
                master: Some(Part::stated(um("0.2"))),
            },
            heat: Heat::NONE,
            returns: Vec::new(),
            walk: Walk { farthest: Length::ZERO, noise: Length::ZERO },
            step: um("0.1"),
            beside: Vec::<Named>::new(),
            reasons: one.reasons.clone(),
            cautions: Vec::new(),
            attempts: vec![u64::from(at.part)],
        })
    }
}

pub(super) const fn place(part: u16) -> CheckAt {
    CheckAt { part, check: 0 }
}

pub(super) fn worked_out(own: impl Into<Measures>, limits: Limits, sizes: &Sizes) -> Judged {
    let check = Check { limits: Some(limits), unit: Unit::Micrometre, ..check(own) };
    check.measures.judge(&series(&check, "0", &[]), sizes)
}

fn fit() -> Fit {
    Fit { bore: place(0), seat: place(1), loose: None }
}

fn two(bore: i64, seat: i64) -> Sizes {
    Sizes(vec![given(bore, Size::default()), given(seat, Size::default())])
}

#[test]
fn a_fit_has_the_sign_of_bore_minus_seat_and_the_shares_of_both() {
    for (bore, seat, sits) in [
        (-25, 30, Sits::Interference),
        (30, -25, Sits::Clearance),
        (3, 0, Sits::CannotSay),
        (0, 3, Sits::CannotSay),
    ] {
        let judged = worked_out(fit(), band("-8", "8"), &two(bore, seat));
        assert_eq!(judged.value, Some(figure("0.1") * (bore - seat)));
        assert_eq!(judged.figures.fit.as_ref().unwrap().sits, sits);
        // Each 0.09/3 + 0.09/2 + 2·0.16 + 0.04 = 0.435.
        let u = micro(Figure::from(judged.expanded().unwrap().uncertainty));
        near(u, 2.0 * 0.87_f64.sqrt(), 1e-5);
        assert_eq!(judged.rests_on, Some(vec![0, 1]));
    }
    let missing = worked_out(fit(), band("-8", "8"), &Sizes(vec![given(0, Size::default())]));
    assert_eq!((missing.value, missing.says), (None, vec!["p1/size is not measured.".to_owned()]));
}

#[test]
fn a_master_counts_once_only_where_its_name_is_the_same() {
    for (names, square) in [
        ([None, None], 0.87),
        ([Some("ring-50"), None], 0.87),
        ([Some("ring-50"), Some("block-50")], 0.87),
        ([Some("ring-50"), Some("ring-50")], 0.79),
    ] {
        let mut sizes = two(0, 0);
        for (one, name) in sizes.0.iter_mut().zip(names) {
            one.master = name;
            one.check.master_name = one.master.map(|name| Name::new(name).unwrap());
        }
        for judged in [
            worked_out(fit(), band("-8", "8"), &sizes),
            worked_out(Set { of: vec![place(0), place(1)] }, Limits::Max(um("4")), &sizes),
        ] {
            let u = micro(Figure::from(judged.expanded().unwrap().uncertainty));
            near(u, 2.0 * f64::sqrt(square), 1e-5);
        }
    }
}

#[test]
fn unlike_metals_change_a_fit_with_each_degree() {
    // 50 mm of steel, 11.5e-6 (GUM, JCGM 100:2008, H.1, seen second hand), in aluminium, 23e-6 (from memory):
    // 50 000 µm · 11.5e-6 = 0.575 µm for each degree.
    let aluminium = Ratio::new(23, 1_000_000);
    let housing = Size { expansions: [aluminium, crate::steel()], ..Size::default() };
    let sizes = Sizes(vec![given(0, housing.clone()), given(0, Size::default())]);
    let judged = worked_out(fit(), band("-8", "8"), &sizes);
    near(micro(judged.figures.fit.as_ref().unwrap().for_each_c.unwrap()), 0.575, 1e-9);
    says(&judged, "the fit loosens by 0.58");
    let sizes = Sizes(vec![given(0, Size::default()), given(0, housing)]);
    says(&worked_out(fit(), band("-8", "8"), &sizes), "the fit tightens by 0.58");
    let alike = worked_out(fit(), band("-8", "8"), &two(0, 0));
    assert_eq!(alike.figures.fit.unwrap().for_each_c, None);
}

#[test]
fn the_ends_of_an_h6_h5_fit() {
    // ISO 286-1: IT6 of 30 to 50 mm is 16 µm, IT5 11 (table seen second hand); 50 H6 is 0 to +16, 50 h5 −11 to 0
    // (letters from memory): clearance 0 to 27 µm.
    let limits = band("0", "27");
    for (bore, seat, word) in [
        (160, -110, Word::Undecided),
        (0, 0, Word::Undecided),
        (80, -55, Word::Conforms),
        (160, -130, Word::DoesNotConform),
        (-20, 0, Word::DoesNotConform),
    ] {
        let judged = worked_out(fit(), limits, &two(bore, seat));
        let u = judged.expanded().unwrap().uncertainty;
        assert_eq!(decide(judged.value.unwrap(), u, limits).guarded, word, "{bore} {seat}");
    }
}

#[test]
fn what_withholds_one_of_two_withholds_the_fit_with_its_name() {
    let mut sizes = two(0, 0);
    sizes.0[1].reasons = vec![Reason::Warm];
    let judged = worked_out(fit(), band("-8", "8"), &sizes);
    assert_eq!(judged.reasons, [Reason::Warm]);
    assert!(judged.sayings.iter().any(|said| said.text.starts_with("p1/size is not at")));
    // Every reason that a size can have has its sentence.
    for reason in Reason::ALL {
        let said = crate::why_of_another(reason, "a/b");
        assert!(said.is_none_or(|said| said.starts_with("a/b")), "{reason:?}");
    }
}

#[test]
fn the_odd_one_is_the_same_in_whatever_order_they_come() {
    let limits = Limits::Max(um("2"));
    // U is 1.87: a gap has to exceed the other one by more.
    for (tenths, odd, without) in [
        (&[0, -2, -40][..], Some(-40), Some("0.2")),
        (&[0, 2, 40], Some(40), Some("0.2")),
        (&[0, 20, 40], None, None),
        (&[0, 18, 18], None, None),
        (&[0, 19, 19], Some(0), Some("0")),
        (&[0, 30], None, None),
        (&[0, 1, 2, 3, 50], Some(50), Some("0.3")),
        (&[-50, 0, 1, 2, 50], None, None),
    ] {
        for turned in 0..tenths.len() {
            let mut order = tenths.to_vec();
            order.rotate_left(turned);
            let sizes = Sizes(order.iter().map(|one| given(*one, Size::default())).collect());
            let of = (0..).take(order.len()).map(place).collect();
            let judged = worked_out(Set { of }, limits, &sizes);
            let range = tenths.iter().max().unwrap() - tenths.iter().min().unwrap();
            assert_eq!(judged.value, Some(figure("0.1") * range));
            let set = judged.figures.set.unwrap();
            let named = odd.map(|odd| order.iter().position(|one| *one == odd).unwrap());
            assert_eq!(set.odd, named.map(|at| format!("p{at}/size")), "{order:?}");
            assert_eq!(set.without_it, without.map(figure));
            assert_eq!(set.members.len(), order.len());
        }
    }
}

fn offset(rounds: u32) -> Check {
    let own = FaceOffset { load_n: 200.0, rounds, repeat: um("0.2"), master_u: Some(Length::ZERO) };
    let limits = Some(band("-5", "5"));
    Check { positions: 4, limits, closure: false, unit: Unit::Micrometre, ..check(own) }
}

#[test]
fn a_face_offset_comes_back_within_what_is_allowed_and_no_further() {
    let check = offset(2);
    for (second, reasons) in [(2, vec![]), (3, vec![Reason::DoesNotComeBack])] {
        let tenths = [0, 0, 0, 0, second, second, second, second];
        let judged = judged(&series(&check, "0", &tenths));
        assert_eq!(judged.reasons, reasons, "{second}");
        assert_eq!(judged.value, Some(figure("0.05") * second));
        let told = judged.figures.offset.unwrap();
        assert_eq!(told.repeats_within, Some(figure("0.1") * second));
        // 0.09/8 + 0.09 + 2·0.16 + r²/3, the master exact: r is 0.2, or the 0.3 that were seen.
        let r = if second == 2 { 0.2_f64 } else { 0.3 };
        let u = 2.0 * (0.09 / 8.0 + 0.09 + 0.32 + r * r / 3.0).sqrt();
        near(micro(Figure::from(judged.budget.unwrap().expanded().uncertainty)), u, 1e-5);
        assert_eq!(
            judged.beside.len(),
            1,
            "that it need not repeat goes with it into a difference"
        );
    }
    let once = offset(1);
    let judged = judged(&series(&once, "0", &[1, 2, 3, 2]));
    assert_eq!((judged.value, judged.reasons.len()), (Some(figure("0.2")), 0));
    says(&judged, "one round does not show whether it comes back");
    assert_eq!(judged.expanded().unwrap().known, Known::Stated);
}

const LOOSE: &str = "name = \"front\"\nbore = \"bearing/bore\"\nseat = \"shaft/seat\"\n\
                     min = \"-8 um\"\nmax = \"12 um\"\nmass = \"0.35 kg\"\n\
                     rotor_mass = \"12 kg\"\nspeed = 8000\nbalance_grade = \"G2.5\"\n";

#[test]
fn the_four_keys_of_a_loose_ring_go_together_and_are_above_zero() {
    for (key, said) in [
        ("mass", "rotor_mass is given without mass"),
        ("rotor_mass", "mass is given without rotor_mass"),
        ("speed", "mass is given without speed"),
        ("balance_grade", "mass is given without balance_grade"),
        ("mass = \"350\"", "\"350\" is not a mass such as"),
        ("mass = \"-1 g\"", "is not a mass such as"),
        ("mass = \"13 kg\"", "heavier than the rotor"),
        ("speed = \"fast\"", "is not a speed such as"),
        ("balance_grade = \"H 2\"", "is not a balance grade such as"),
        ("seat = \"bearing/bore\"", "bore and seat are the same check"),
        ("bore = \"room/part\"", "is no diameter"),
    ] {
        found("fit", &changed(LOOSE, &[key]), said);
    }
}

#[test]
fn the_estimate_of_a_loose_ring_is_that_of_the_balance_grade() {
    let fit: Fit = good("fit", LOOSE).measures.told();
    let fit = Fit { bore: place(0), seat: place(1), ..fit };
    let judged = worked_out(fit.clone(), band("-8", "12"), &two(0, -100));
    let of = judged.figures.unbalance.unwrap();
    assert_eq!(of.label, Estimate::Estimate);
    near(of.can_cause_g_mm.get(), 350.0 * 0.005, 1e-9);
    // The same in its other form, U_per = 9549·G·M/n with M in kg (from memory).
    near(of.permitted_g_mm.get(), 9549.3 * 2.5 * 12.0 / 8000.0, 0.001);
    assert!(of.at_most_g_mm > of.can_cause_g_mm);
    let tight = worked_out(fit, band("-8", "12"), &two(0, 10));
    assert!(tight.figures.unbalance.is_none(), "what is not surely loose has none");
}
