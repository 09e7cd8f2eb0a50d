//! Changes that do not change the figure of any kind: another zero, another first mark, the other direction,
//! another denominator of a mean.

use super::*;
use crate::figures::{Figures, FiguresLine, Side};
use crate::{
    BarRun, BarStation, Diameter, FaceOffset, Flatness, Parallelism, Seatings, Size, Squareness,
    Taper,
};
use crate::{ThicknessVariation, Turn};
use num_rational::Ratio;
use words::{Angle, Tell, To};

/// Whole numbers that follow no pattern, within ± so many steps.
fn wild(seed: i64, count: u32, within: i64) -> Vec<i64> {
    let mut state = seed * 7_919 + 1;
    let mut next = || {
        state = (state * 1_103_515_245 + 12_345) % (1 << 31);
        (state >> 8) % (2 * within + 1) - within
    };
    (0..count).map(|_| next()).collect()
}

/// Faces and turns: highest against lowest in one way or another.
pub(super) fn heights() -> Vec<Check> {
    let turning = |check| Check { setup: Holding::Turning, surface: Surface::Outside, ..check };
    let two = || vec![inch("1.2"), inch("1.8")];
    let station = |at: &str| BarStation {
        at: inch(at),
        limits: Limits::Max(inch("0.0002")),
        seating: inch("0.00001"),
    };
    let run = |seatings| BarRun {
        stations: vec![station("0.25"), station("3")],
        seatings,
        predict: vec![inch("6")],
        stand: inch("0.000005"),
        bar: inch("0.000005"),
    };
    vec![
        check(Parallelism),
        Check { passes: 2, ..check(Parallelism) },
        check(ThicknessVariation),
        check(Flatness),
        Check { radii: two(), ..check(Flatness) },
        turning(Check { radii: two(), ..check(Squareness { stand: inch("0.000005") }) }),
        turning(Check { positions: 16, ..check(Turn::default()) }),
        turning(Check { radii: two(), ..check(Turn::default()) }),
        turning(check(run(Seatings::One))),
        turning(check(run(Seatings::Three))),
        turning(check(run(Seatings::Four))),
    ]
}

/// Sizes: a length, a taper, a diameter and a face offset.
pub(super) fn sizes() -> Vec<Check> {
    let band = Limits::Band { min: inch("-0.001"), max: inch("0.001") };
    let stations = ["0.5", "2", "3"].map(inch).to_vec();
    let bore = Diameter { side: Side::Bore, planes: 2, size: Size::default() };
    let offset = FaceOffset { load_n: 200.0, rounds: 2, repeat: inch("0.00001"), master_u: None };
    let taper = Taper { rate: Ratio::new(7, 24), stations, station_u: inch("0.00001") };
    vec![
        Check { limits: Some(band), ..check(Size::default()) },
        Check { positions: 1, ..check(taper) },
        Check { limits: Some(band), ..check(bore) },
        Check { limits: Some(band), ..check(offset) },
    ]
}

/// The figures as a line tells them, in millimetres.
fn told(judged: &Judged) -> FiguresLine {
    judged.figures.tell(&To::unit(Unit::Millimetre))
}

pub(super) fn word(check: &Check) -> &'static str {
    check.traits().word
}

/// Each check with several sets of readings.
pub(super) fn each(checks: &[Check], tried: impl Fn(&Check, &[i64])) {
    for check in checks {
        for seed in 1..=12 {
            tried(check, &wild(seed, check.total(), 30));
        }
    }
}

/// Of three tries a mean is counted in thirds, of touches beside one another in as many parts as there
/// are: a figure is the same however its readings are counted.
#[test]
fn no_figure_depends_on_the_parts_its_means_are_counted_in() {
    each(&[heights(), sizes()].concat(), |check, readings| {
        let whole = series(check, readings);
        let sums = whole.sums.iter().map(|(at, sum)| (*at, sum * 6)).collect();
        let parts = Series { parts: 6, sums, ..whole.clone() };
        let (one, other) = (judged(&whole), judged(&parts));
        let same = |one: Option<Figure>, other: Option<Figure>| match (one, other) {
            (Some(one), Some(other)) => (one - other).abs() < Figure::new(1, 100),
            (one, other) => one == other,
        };
        assert!(same(one.value, other.value), "{} {readings:?}", word(check));
        assert_eq!(told(&one), told(&other), "{} {readings:?}", word(check));
        let figure = check.measures.figure(&whole, &Room::default());
        assert_eq!(figure, one.value, "{} {readings:?}", word(check));
        assert_eq!(one.expanded(), other.expanded(), "{} {readings:?}", word(check));
        assert_eq!(one.reads_high, other.reads_high, "{} {readings:?}", word(check));
        assert_eq!((one.says, one.reasons), (other.says, other.reasons), "{}", word(check));
        let so_far = |of: &Series<'_>| check.measures.so_far(of);
        assert!(same(so_far(&whole), so_far(&parts)), "{} {readings:?}", word(check));
        let alone = |of: &Series<'_>| check.measures.judge(of, &Room::default()).value;
        assert!(same(alone(&whole), alone(&parts)), "{} {readings:?}", word(check));
    });
}

/// Where the gauge was set to zero is in no figure but the mean, and of a length in the figure itself.
#[test]
fn only_means_and_sizes_depend_on_where_zero_is() {
    let off = inch("0.01234").picometres();
    let moved = |check: &Check, readings: &[i64]| {
        let series = series(check, readings);
        let sums = series.sums.iter().map(|(at, sum)| (*at, sum + off)).collect();
        (judged(&series), judged(&Series { sums, ..series }))
    };
    each(&heights(), |check, readings| {
        let (one, other) = moved(check, readings);
        assert_eq!((one.value, one.expanded()), (other.value, other.expanded()), "{}", word(check));
        let mean = |judged: &Judged| judged.figures.mean;
        let risen = mean(&one).map(|mean| mean + Figure::new(i128::from(off), 1));
        assert_eq!(risen, mean(&other), "{} {readings:?}", word(check));
        let line = FiguresLine { mean: told(&one).mean, ..told(&other) };
        assert_eq!(told(&one), line, "{} {readings:?}", word(check));
        assert_eq!((one.says, one.reasons), (other.says, other.reasons), "{}", word(check));
    });
    let [length, taper, others @ ..] = &sizes()[..] else { panic!() };
    let moving = [std::slice::from_ref(length), others].concat();
    each(&moving, |check, readings| {
        let (one, other) = moved(check, readings);
        assert_eq!(other.value.unwrap() - one.value.unwrap(), Figure::new(i128::from(off), 1));
    });
    each(std::slice::from_ref(taper), |check, readings| {
        let (one, other) = moved(check, readings);
        assert_eq!((one.value, one.figures.rate), (other.value, other.figures.rate));
    });
}

/// With every reading upside down the highest is the lowest: the figure is the same, its high side is
/// opposite, and what touched the upper plane touches the lower one.
#[test]
fn upside_down_a_figure_is_the_same_and_points_the_other_way() {
    let opposite = |deg: Option<f64>, other: Option<f64>| match (deg, other) {
        (Some(deg), Some(other)) => ((deg - other).rem_euclid(360.0) - 180.0).abs() < 0.0021,
        (deg, other) => deg == other,
    };
    each(&heights(), |check, readings| {
        let down: Vec<i64> = readings.iter().map(|one| -one).collect();
        let (one, other) = (judged(&series(check, readings)), judged(&series(check, &down)));
        let case = format!("{} {readings:?}", word(check));
        assert_eq!((one.value, one.expanded()), (other.value, other.expanded()), "{case}");
        let (up, down) = (&one.figures, &other.figures);
        let high = |figures: &Figures| figures.high_side_deg.map(Angle::get);
        assert!(opposite(high(up), high(down)), "{case}: {:?} {:?}", high(up), high(down));
        assert_eq!(up.high_side_u_deg, down.high_side_u_deg, "{case}");
        assert_eq!(up.contacts_upper, down.contacts_lower, "{case}");
        assert_eq!(up.contacts_lower, down.contacts_upper, "{case}");
        assert_eq!((up.tilt, up.eccentricity), (down.tilt, down.eccentricity), "{case}");
        assert_eq!(up.dish.map(|dish| -dish), down.dish, "{case}");
        assert_eq!(one.reasons, other.reasons, "{case}");
    });
}

/// A mark farther on is the first: the figure is the same, and what has a direction turns along.
#[test]
fn with_another_first_mark_a_figure_is_the_same_and_turns_along() {
    let once = |check: &Check| check.passes == 1 && check.stations().len() < 2;
    let checks: Vec<Check> = heights().into_iter().filter(once).collect();
    each(&checks, |check, readings| {
        let round = usize::try_from(check.positions).unwrap();
        for by in [1, 3] {
            let mut turned = readings.to_vec();
            turned.chunks_mut(round).for_each(|circle| circle.rotate_left(by));
            let (one, other) = (judged(&series(check, readings)), judged(&series(check, &turned)));
            let case = format!("{} {readings:?} by {by}", word(check));
            let (value, again) = (one.value.unwrap(), other.value.unwrap());
            assert!((value - again).abs() < Figure::new(1, 100), "{case}");
            let by = check.angle_deg(u32::try_from(by).unwrap());
            let high = |judged: &Judged| judged.figures.high_side_deg.map(Angle::get);
            match (high(&one), high(&other)) {
                (Some(one), Some(other)) => {
                    near((one - by - other + 180.0).rem_euclid(360.0), 180.0, 0.002);
                }
                (one, other) => assert_eq!(one, other, "{case}"),
            }
        }
    });
}

/// Steps twice as large: all of a figure in proportion, and no angle moves.
#[test]
fn a_figure_grows_with_its_readings() {
    each(&heights(), |check, readings| {
        let large: Vec<i64> = readings.iter().map(|one| one * 2).collect();
        let (one, other) = (judged(&series(check, readings)), judged(&series(check, &large)));
        let case = format!("{} {readings:?}", word(check));
        // A bar whose seatings disagree is not split, so that the figure is another one.
        if one.reasons != other.reasons {
            return;
        }
        let twice = |one: Option<Figure>, other: Option<Figure>| match (one, other) {
            (Some(one), Some(other)) => (one * 2 - other).abs() < Figure::new(1, 100),
            (one, other) => one == other,
        };
        let (small, large) = (&one.figures, &other.figures);
        assert!(twice(small.least_squares, large.least_squares), "{case}");
        assert!(twice(small.tilt, large.tilt), "{case}");
        assert!(twice(small.out_of_round, large.out_of_round), "{case}");
        assert!(twice(small.max_minus_min, large.max_minus_min), "{case}");
        let high = |figures: &Figures| figures.high_side_deg;
        if check.stations().is_empty() {
            assert!(twice(one.value, other.value), "{case}");
            assert_eq!(high(small), high(large), "{case}");
        }
    });
}
