//! What is typed into the keys of bearings and of an end float, however wrong; and what their figures do not
//! depend on, for any readings.

use super::bearings::{band, figure, fine, given, place, series, um, worked_out};
use super::written::{changed, found, good, told};
use super::*;
use crate::figures::{Side, Sits};
use crate::{Diameter, EndFloat, FaceOffset, Fit, Set, Size};
use judgement::Reason;
use proptest::prelude::*;

const FIT: &str = "name = \"front\"\nbore = \"bearing/bore\"\nseat = \"shaft/seat\"\nmin = \"-8 um\"\n\
                   max = \"12 um\"\nmass = \"350 g\"\nrotor_mass = \"12 kg\"\nspeed = \"8000 rpm\"\n\
                   balance_grade = \"G 2.5\"\n";

const FLOAT: &str = "name = \"float\"\ngauge = \"dial\"\nload = \"50 N\"\nmax = \"0.0005 in\"\n";

const OFFSET: &str = "name = \"offset\"\ngauge = \"dial\"\nload = \"200 N\"\npositions = 4\n\
                      min = \"-5 um\"\nmax = \"5 um\"\n";

/// Fifteen digits and a power of fifteen are the largest number that is read.
#[test]
fn no_amount_is_too_large_or_too_small_to_be_read_or_refused() {
    for text in ["999999999999999e15", "1e-15", "0.00000000000001", "999999999999999", "1e15"] {
        for key in ["mass", "rotor_mass"] {
            told("fit", &changed(FIT, &[&format!("{key} = \"{text} kg\"")]));
        }
        for line in [format!("speed = \"{text} rpm\""), format!("balance_grade = \"G {text}\"")] {
            told("fit", &changed(FIT, &[&line]));
        }
        told("face-offset", &changed(OFFSET, &[&format!("load = \"{text} N\"")]));
        told("end-float", &changed(FLOAT, &[&format!("load = \"{text} N\"")]));
    }
}

#[test]
fn no_word_is_taken_for_a_number() {
    for text in
        ["nan", "NaN", "inf", "-inf", "infinity", "-0", "0", "-1", "", " ", "0x10", "1_000", "١"]
    {
        found("fit", &changed(FIT, &[&format!("mass = \"{text} g\"")]), "is not a mass such as");
        found(
            "fit",
            &changed(FIT, &[&format!("speed = \"{text} rpm\"")]),
            "is not a speed such as",
        );
        let grade = changed(FIT, &[&format!("balance_grade = \"G{text}\"")]);
        found("fit", &grade, "is not a balance grade such as");
        found(
            "end-float",
            &changed(FLOAT, &[&format!("load = \"{text} N\"")]),
            "no load above zero",
        );
        found("face-offset", &changed(OFFSET, &[&format!("load = \"{text} N\"")]), "error");
    }
    for load in ["50", "N", "50 Nm", "50 n", "5 0 N", "1.2.3 N", "50 N N", "50 mm"] {
        let said = format!("load is \"{load}\", which is no load above zero with its unit");
        found("end-float", &changed(FLOAT, &[&format!("load = \"{load}\"")]), &said);
    }
    for load in ["50 N", "0.05kN", "5 daN", "11 lbf", "11 lb", "5 kgf", "5 kg"] {
        let check = good("end-float", &changed(FLOAT, &[&format!("load = \"{load}\"")]));
        let own: EndFloat = check.measures.told();
        assert_eq!(own.load.replace(' ', ""), load.replace(' ', ""));
        assert_eq!(check.total(), 6, "three pushes and three pulls where nothing is said");
    }
    found("end-float", &changed(FLOAT, &["times = 2"]), "times");
    found("end-float", &changed(FLOAT, &["times = 11"]), "times");
    assert_eq!(good("end-float", &changed(FLOAT, &["times = 10"])).total(), 20);
}

#[test]
fn a_set_is_of_like_sizes_each_once() {
    for (of, said) in [
        ("[]", "a set is 2 to 32 sizes"),
        ("[\"bearing/bore\"]", "a set is 2 to 32 sizes"),
        ("[\"bearing/bore\", \"bearing/bore\"]", "a check is there twice"),
        ("[\"bearing/bore\", \"outer/length\"]", "a set of diameter has a length in it"),
        ("[\"bearing/bore\", \"old/top\"]", "old/top is no"),
        ("[\"bearing/bore\", \"room/part\"]", "room/part is no"),
        ("[\"bearing/bore\", \"bearing/none\"]", "bearing/none"),
    ] {
        found("match", &format!("name = \"set\"\ntolerance = \"2 um\"\nof = {of}\n"), said);
    }
    found("match", "name = \"set\"\ntolerance = \"2 um\"\n", "of is missing");
    let many = ["\"bearing/bore\""; 33].join(", ");
    let text = format!("name = \"set\"\ntolerance = \"2 um\"\nof = [{many}]\n");
    found("match", &text, "a set is 2 to 32 sizes");
    let two = "name = \"set\"\ntolerance = \"2 um\"\nof = [\"bearing/bore\", \"shaft/seat\"]\n";
    assert_eq!(good("match", two).measures.told::<Set>().of.len(), 2);
}

fn float() -> Check {
    let measures = EndFloat { load: "50 N".to_owned() };
    let limits = Some(Limits::Max(inch("0.0005")));
    let setup = Holding::Supports;
    Check { setup, positions: 6, radii: Vec::new(), closure: false, limits, ..check(measures) }
}

fn bore(planes: u32) -> Check {
    let own = Diameter { side: Side::Bore, planes, size: Size::default() };
    let limits = Some(band("49990", "50010"));
    Check { positions: 3, limits, closure: false, unit: Unit::Micrometre, ..check(own) }
}

fn offset() -> Check {
    let own =
        FaceOffset { load_n: 200.0, rounds: 2, repeat: um("0.2"), master_u: Some(Length::ZERO) };
    let limits = Some(band("-5", "5"));
    Check { positions: 4, limits, closure: false, unit: Unit::Micrometre, ..check(own) }
}

/// What two judgements say of a part, but for where it lies.
fn same(one: &Judged, other: &Judged) -> bool {
    one.value == other.value
        && one.reasons == other.reasons
        && one.says == other.says
        && one.expanded().map(|u| u.uncertainty) == other.expanded().map(|u| u.uncertainty)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, ..ProptestConfig::default() })]

    /// An end float does not depend on the zero of the indicator, nor on which push came first; with the
    /// signs turned round, seen from behind the face, it is the same.
    #[test]
    fn an_end_float_has_no_zero_and_no_order(
        pushes in proptest::array::uniform3(-30_i64..30),
        pulls in proptest::array::uniform3(-30_i64..30),
        zero in -500_i64..500,
        turn in 0_usize..3,
    ) {
        let check = float();
        let in_turn = |[pushes, pulls]: [[i64; 3]; 2]| -> Vec<i64> {
            pushes.into_iter().zip(pulls).flat_map(<[i64; 2]>::from).collect()
        };
        let plain = in_turn([pushes, pulls]);
        let found = judged(&super::series(&check, &plain));
        let sum = |of: [i64; 3]| of.iter().sum::<i64>();
        prop_assert_eq!(found.value, Some(Figure::new(i128::from(sum(pulls) - sum(pushes)) * 254_000, 3)));
        let moved: Vec<i64> = plain.iter().map(|one| one + zero).collect();
        prop_assert!(same(&judged(&super::series(&check, &moved)), &found));
        let [mut other_pushes, mut other_pulls] = [pushes, pulls];
        other_pushes.rotate_left(turn);
        other_pulls.rotate_right(turn);
        let turned = in_turn([other_pushes, other_pulls]);
        prop_assert!(same(&judged(&super::series(&check, &turned)), &found));
        let behind = Check { surface: Surface::FarFace, ..float() };
        let mirrored: Vec<i64> = plain.iter().map(|one| -one).collect();
        prop_assert!(same(&judged(&super::series(&behind, &mirrored)), &found));
    }

    /// A larger bore is larger by as much, and of the same form; planes and angles have no order.
    #[test]
    fn the_form_of_a_bore_does_not_depend_on_its_size_or_on_what_came_first(
        planes in proptest::array::uniform2(proptest::array::uniform3(-60_i64..60)),
        by in -30_i64..30,
        turn in 0_usize..3,
    ) {
        let check = bore(2);
        let of = |planes: [[i64; 3]; 2]| judged(&series(&check, "50000", &planes.concat()));
        let found = of(planes);
        let larger = of(planes.map(|plane| plane.map(|one| one + by)));
        prop_assert_eq!(larger.value.unwrap() - found.value.unwrap(), figure("0.1") * by);
        let mut turned = planes.map(|mut plane| { plane.rotate_left(turn); plane });
        turned.reverse();
        let turned = of(turned);
        prop_assert_eq!(found.value, turned.value);
        let form = found.figures.diameter.unwrap();
        for other in [larger.figures.diameter.unwrap(), turned.figures.diameter.unwrap()] {
            prop_assert_eq!(form.out_of_round, other.out_of_round);
            prop_assert_eq!(form.between_planes, other.between_planes);
            prop_assert_eq!(form.out_of_round_u, other.out_of_round_u);
        }
        let apart = |plane: [i64; 3]| plane.iter().max().unwrap() - plane.iter().min().unwrap();
        let most = planes.map(apart).into_iter().max().unwrap();
        prop_assert_eq!(form.out_of_round, Some(figure("0.05") * most), "half of the difference");
    }

    /// Rounds and places of a face offset have no order, and it comes back by the means of its rounds alone.
    #[test]
    fn a_face_offset_does_not_depend_on_which_round_was_first(
        rounds in proptest::array::uniform2(proptest::array::uniform4(-20_i64..20)),
        turn in 0_usize..4,
    ) {
        let check = offset();
        let of = |rounds: [[i64; 4]; 2]| judged(&series(&check, "0", &rounds.concat()));
        let found = of(rounds);
        let mut turned = rounds.map(|mut round| { round.rotate_left(turn); round });
        turned.reverse();
        prop_assert!(same(&of(turned), &found));
        let sums = rounds.map(|round| round.iter().sum::<i64>());
        prop_assert_eq!(found.value, Some(figure("0.0125") * (sums[0] + sums[1])), "the mean of eight");
        let far = (sums[0] - sums[1]).abs() > 8;
        prop_assert_eq!(found.reasons.contains(&Reason::DoesNotComeBack), far, "0.2 µm are 8 of 0.1 / 4");
    }

    /// Bore and seat grown by as much are the same fit; exchanged, one with the other sign.
    #[test]
    fn a_fit_is_a_difference_and_nothing_else(bore in -200_i64..200, seat in -200_i64..200, by in -200_i64..200) {
        let fit = || Fit { bore: place(0), seat: place(1), loose: None };
        let of = |bore: i64, seat: i64| {
            let sizes = [bore, seat].map(|tenths| given(tenths, Size::default()));
            worked_out(fit(), band("-8", "8"), &super::bearings::Sizes(sizes.into()))
        };
        let found = of(bore, seat);
        prop_assert!(same(&of(bore + by, seat + by), &found));
        let exchanged = of(seat, bore);
        prop_assert_eq!(exchanged.value.unwrap() + found.value.unwrap(), Figure::ZERO);
        let [one, other] = [found, exchanged].map(|found| found.figures.fit.unwrap().sits);
        let expected = match one {
            Sits::Clearance => Sits::Interference,
            Sits::Interference => Sits::Clearance,
            Sits::CannotSay => Sits::CannotSay,
        };
        prop_assert_eq!(other, expected);
    }

    /// A set is the same grown by as much and in another order, and the odd one is never in its middle.
    #[test]
    fn a_set_has_no_zero_and_no_order(
        sizes in proptest::collection::vec(-100_i64..100, 2..7),
        by in -300_i64..300,
        turn in 0_usize..6,
    ) {
        let of = |sizes: &[i64]| {
            let all = sizes.iter().map(|tenths| given(*tenths, Size::default())).collect();
            let of = (0..).take(sizes.len()).map(place).collect();
            worked_out(Set { of }, Limits::Max(um("2")), &super::bearings::Sizes(all))
        };
        let found = of(&sizes);
        let grown: Vec<i64> = sizes.iter().map(|size| size + by).collect();
        prop_assert!(same(&of(&grown), &found));
        let mut turned = sizes.clone();
        turned.rotate_left(turn % sizes.len());
        let other = of(&turned);
        prop_assert_eq!(other.value, found.value);
        let odd = |found: &Judged, sizes: &[i64]| {
            let name = found.figures.set.clone().unwrap().odd?;
            let at: usize = name.strip_prefix('p')?.strip_suffix("/size")?.parse().ok()?;
            Some(sizes[at])
        };
        let named = odd(&found, &sizes);
        prop_assert_eq!(named, odd(&other, &turned));
        let ends = [sizes.iter().max().copied(), sizes.iter().min().copied()];
        prop_assert!(named.is_none() || ends.contains(&named));
        prop_assert!(named.is_none() || sizes.len() > 2, "of two neither is the odd one");
    }
}

/// The doubt of the readings is that of the gauge of these tests: half a micrometre, of which 0.3 scatters.
#[test]
fn one_reading_of_a_bore_is_known_to_its_gauge_and_no_better() {
    let check = bore(1);
    let mut one = series(&check, "50000", &[5]);
    one.open = vec![1, 2];
    one.reading = fine();
    let found = judged(&one);
    assert_eq!(found.value, Some(figure("50000.5")));
    assert!(found.figures.diameter.unwrap().out_of_round.is_none());
}
