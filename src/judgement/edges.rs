//! The exact points where a rule changes its answer: a step of one to either side must show. Most were
//! found by changing the rules on purpose (`.ci/mutants`) and looking for changes that no test noticed.

use num_rational::Ratio;

use super::floor::mean_range;
use super::*;
use quantity::{Figure, Length, Unit};

fn pm(picometres: i64) -> Length {
    Length::from_picometres(picometres)
}

fn uin(count: i64) -> Length {
    pm(count * 25_400)
}

fn doubt(u: Option<Length>, s: Option<Length>, step: Length) -> Doubt {
    let stated = Stated { uncertainty: u, repeatability: s };
    Doubt::of(stated, step, assumed_plate(false))
}

/// A share with a square of `square` square picometres and this many degrees of freedom.
fn share(square: u128, degrees: u32) -> Part {
    Part { square, freedom: Freedom::of_degrees(degrees), ..Part::assumed(Length::ZERO) }
}

#[test]
fn a_factor_of_coverage_is_shown_as_it_is() {
    assert!((Coverage::from_hundredths(223).to_f64() - 2.23).abs() < 1e-12);
    assert!((Coverage::TWO.to_f64() - 2.0).abs() < 1e-12);
}

#[test]
fn an_uncertainty_is_known_no_better_than_the_worst_of_it() {
    let stated = Budget::default().with(Share::Reading, Part::stated(pm(7)), 1, 1);
    assert_eq!(stated.known(), Known::Stated);
    let known = |budget: Budget, known| {
        budget.with(Share::Bar, Part { known, ..Part::stated(Length::ZERO) }, 1, 1)
    };
    let record = known(stated.clone(), Known::Record);
    assert_eq!(record.expanded().known, Known::Record);
    let assumed = known(known(record, Known::Assumed), Known::Stated);
    assert_eq!(assumed.expanded().known, Known::Assumed);
    assert_eq!(assumed.expanded().uncertainty, stated.expanded().uncertainty);
    assert!(assumed.has_assumed(Share::Bar) && !assumed.has_assumed(Share::Reading));
    // What is stated as nothing is no share; what is taken as nothing is one.
    let names = |budget: &Budget| budget.entered().map(|one| one.named.share).collect::<Vec<_>>();
    assert_eq!(names(&known(stated.clone(), Known::Stated)), [Share::Reading]);
    assert_eq!(names(&assumed), [Share::Reading, Share::Bar, Share::Bar]);
}

#[test]
fn degrees_of_freedom_stay_what_they_are() {
    // Welch and Satterthwaite: one share keeps its own; two alike of 8 count as one estimate; 100 of 8
    // and 100 without end make (200)²/(100²/8) = 32, and of 8 and 2: 200²/(100²/8 + 100²/2) = 6.4.
    for degrees in 1..=1000 {
        assert_eq!(
            Budget::default().with(Share::Return, share(81, degrees), 1, 1).freedom(),
            Freedom::of_degrees(degrees)
        );
    }
    let eight = Budget::default().with(Share::Return, share(100, 8), 1, 1);
    assert_eq!(
        eight.clone().with(Share::Return, share(100, 8), 1, 1).freedom(),
        Freedom::of_degrees(8)
    );
    let assumed = Part { freedom: Freedom::UNLIMITED, ..share(100, 1) };
    assert_eq!(eight.clone().with(Share::Plate, assumed, 1, 1).freedom(), Freedom::of_degrees(32));
    assert_eq!(eight.with(Share::Return, share(100, 2), 1, 1).freedom(), Freedom::of_degrees(6));
    assert_eq!(Budget::default().freedom(), Freedom::UNLIMITED);
    let nothing = Budget::default().with(Share::Return, share(0, 8), 1, 1);
    assert_eq!(nothing.freedom(), Freedom::UNLIMITED);
}

#[test]
fn a_weight_of_many_digits_never_makes_less_of_a_share() {
    // (2¹²⁰ − 1)/3 over 2¹²⁰ is a third but for less than anything here: 2⁶⁵/3 = 12297829382473034410.67.
    let third = Ratio::new(((1_i128 << 120) - 1) / 3, 1_i128 << 120);
    let square =
        Budget::default().weighing(Named::of(Share::Return, share(1 << 65, 8)), third).square();
    let exact = 12_297_829_382_473_034_411;
    assert!((exact..exact + 16).contains(&square), "{square}");
}

#[test]
fn half_a_step_is_rounded_up() {
    assert_eq!(doubt(None, None, pm(1_000_001)).averaged(1).u(), pm(500_001));
    assert_eq!(doubt(None, None, pm(1_000_002)).averaged(1).u(), pm(500_001));
}

#[test]
fn a_dial_read_by_eye_scatters_by_half_its_step_where_nothing_is_stated() {
    let by_eye = doubt(None, None, uin(10)).by_eye(uin(100));
    assert_eq!(by_eye.averaged(1).u(), uin(50));
    assert_eq!(by_eye.averaged(1).freedom, Freedom::TO_A_QUARTER);
    // Half of 10 is less than what is believed of a hand: 12.
    assert_eq!(doubt(None, None, uin(10)).by_eye(uin(10)).averaged(1).u(), uin(12));
}

#[test]
fn a_step_as_coarse_as_what_is_stated_is_not_coarser() {
    // 3²/12 is 1, rounded up, and so is all that is stated; 4²/12 is 2.
    let known = |step| doubt(Some(pm(1)), None, pm(1)).by_eye(pm(step)).whole().known;
    assert_eq!((known(3), known(4)), (Known::Stated, Known::Assumed));
}

#[test]
fn of_two_put_together_neither_is_known_better_than_the_other() {
    // Stated and large beside nothing stated and small: the size of the one, known as the other.
    let (large, small) = (doubt(Some(uin(95)), Some(uin(40)), uin(10)), doubt(None, None, uin(10)));
    for both in [large.worse(small), small.worse(large)] {
        assert_eq!(both.whole().square, large.whole().square);
        assert_eq!((both.averaged(1).known, both.rest().known), (Known::Assumed, Known::Assumed));
    }
    // As large, and known from fewer tries: the same whichever comes first.
    let (sure, unsure) = (doubt(None, Some(uin(12)), uin(10)), small);
    assert_eq!(sure.whole().square, unsure.whole().square);
    assert_eq!(sure.worse(unsure), unsure.worse(sure));
    assert_eq!(sure.worse(unsure).whole().freedom, Freedom::TO_A_QUARTER);
}

#[test]
fn the_larger_of_two_shares_is_the_less_known_where_they_are_alike() {
    let (eight, four, more) = (share(100, 8), share(100, 4), share(101, 9));
    let stated = Part { known: Known::Stated, ..four };
    for (one, two, larger) in [(eight, four, four), (four, stated, four), (stated, more, more)] {
        assert_eq!((one.larger(two), two.larger(one)), (larger, larger));
    }
}

#[test]
fn two_touches_have_a_range() {
    // d2 of two is 1.128 (factors for control charts), to two decimals.
    let floor = |touches| noise_floor(Width::MaxMinusMin, touches, pm(100));
    assert_eq!((floor(0), floor(1), floor(2)), (None, None, Some(pm(113))));
}

#[test]
fn the_highest_of_a_few_stands_half_a_range_above_them() {
    // The mean range of so many is twice what noise adds to the highest: d2/2, by its integral; up to
    // eight to a thousandth, beyond that d2 is rounded to 0.002 first.
    for count in 1..=40 {
        let half = mean_range(count) / 2.0;
        let found = range_reads_high(count, 1, pm(1_000_000)).map_or(Figure::ZERO, Figure::from);
        let off = (found.to_f64() / 1e6 - half).abs();
        assert!(off <= if count <= 8 { 0.0005 } else { 0.001 }, "{count}: {found:?} beside {half}");
    }
    // 0.564 + 1.029.
    assert_eq!(range_reads_high(2, 4, pm(1000)), Some(pm(1593)));
    assert_eq!(range_reads_high(1, 1, pm(1000)), Some(pm(0)));
}

#[test]
fn a_zone_reads_high_by_the_floor_of_what_stands_near_its_planes() {
    let high = |touches| zone_reads_high(touches, pm(100)).map(Length::picometres);
    assert_eq!([3, 4, 5, 8, 16, 99].map(high), [0, 0, 127, 204, 294, 294].map(Some));
    let floor = noise_floor(Width::MinimumZone, 8, pm(100));
    assert_eq!(zone_reads_high(8, pm(100)), floor);
}

fn heat(between: Ratio<i128>) -> Heat {
    let nothing = (Ratio::ZERO, Known::Stated);
    Heat {
        length: Length::parse("1.5", Unit::Inch).unwrap(),
        expansion: Ratio::new(115, 10_000_000),
        expansion_u: nothing,
        unlike: Ratio::ZERO,
        between_c: (between, Known::Assumed),
        off_20_c: nothing,
    }
}

#[test]
fn heat_that_is_assumed_makes_an_assumed_length() {
    let known = |between: Ratio<i128>| {
        let reading = doubt(Some(uin(9)), Some(uin(5)), uin(10));
        let of = LengthShares {
            reading,
            touches: 1,
            masters: 0,
            master: None,
            zero: Figure::ZERO,
            heat: heat(between),
        };
        of.budget().expanded().known
    };
    assert_eq!(known(Ratio::new(1, 5)), Known::Assumed);
    assert_eq!(
        known(Ratio::ZERO),
        Known::Stated,
        "of what is multiplied by nothing, nothing is assumed"
    );
}

#[test]
fn what_was_not_touched_has_no_share_in_a_difference() {
    let reading = doubt(Some(uin(9)), Some(uin(5)), uin(10));
    let one =
        |masters| TouchedLength { reading, touches: 1, masters, zero: Figure::ZERO, master: None };
    let square = |masters: u32, offsets| {
        of_difference([one(masters); 2], heat(Ratio::ZERO), offsets).square()
    };
    let scatter = reading.averaged(1).square;
    assert_eq!(square(1, None) - square(0, None), 2 * scatter);
    let sides = |counts: [usize; 2]| Some(counts.map(|count| vec![Part::stated(uin(3)); count]));
    let of_one = Part::stated(uin(3)).square;
    assert_eq!(square(0, sides([0, 1])) - square(0, None), of_one);
    assert_eq!(square(0, sides([0, 0])), square(0, None));
}

#[test]
fn what_is_no_temperature() {
    for text in ["", "C", ".", "1.2.3", "..", "20..5", "1234", "20.1234567", "20 F"] {
        assert_eq!(celsius(text), None, "{text:?}");
    }
    assert_eq!(celsius("20."), Some(Ratio::from_integer(20)));
    assert_eq!(celsius(".5 C"), Some(Ratio::new(1, 2)));
    assert_eq!(celsius("020.123456"), Some(Ratio::new(20_123_456, 1_000_000)));
}

#[test]
fn a_budget_keeps_its_shares_apart_by_name() {
    // s 6, q 10: three touches 36/3 = 12 µin², ten touches 3.6, below q²/12 = 8.33. The rest is
    // √(8.4² − 36).
    let reading = doubt(Some(pm(213_360)), Some(uin(6)), uin(10));
    let shares = |touches: u32| -> Vec<(Share, u32, Known, Ratio<i128>)> {
        let budget = Budget::default().adding(reading.mean(touches), 2, 1);
        let budget = budget.adding(reading.remains(), 1, 1).adding(reading.remains(), 1, 1);
        let told =
            |one: &Entered| (one.named.share, one.named.touches, one.named.part.known, one.weight);
        budget.entered().map(told).collect()
    };
    let two = Ratio::from_integer(2);
    let rest = (Share::Reading, 1, Known::Stated, two);
    assert_eq!(shares(3), [(Share::Repeatability, 3, Known::Stated, two), rest]);
    assert_eq!(shares(10), [(Share::Resolution, 1, Known::Stated, two), rest]);
    // Two shares of one name that are not alike stay two.
    let lengths = Budget::default().adding(reading.mean(4), 1, 1).adding(reading.mean(1), 1, 1);
    assert_eq!(lengths.entered().map(|one| one.named.touches).collect::<Vec<_>>(), [4, 1]);
    // Nothing stated: the plate, or where the stand moves the stand.
    for (moves, share) in [(false, Share::Plate), (true, Share::Stand)] {
        let nothing = Doubt::of(Stated::default(), uin(10), assumed_plate(moves));
        assert_eq!(nothing.remains().share, share);
        assert_eq!(nothing.scatters().share, Share::Repeatability);
    }
    // Less than the readout can show: the readout is the share.
    let coarse = doubt(Some(pm(1)), None, uin(10));
    assert_eq!(coarse.scatters().share, Share::Resolution);
    for share in Share::ALL {
        assert_eq!(Share::parse(share.text()), Some(share));
    }
}
