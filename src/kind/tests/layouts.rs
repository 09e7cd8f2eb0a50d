//! Where positions lie, and the words for it.

use super::*;
use crate::layout::BarStation;
use crate::{BarRun, Parallelism, Seatings, Taper, Turn};
use num_rational::Ratio;

/// A bar with stations at these distances, twelve touches round each.
fn bar(distances: &[&str], seatings: Seatings) -> Check {
    let station = |at: &&str| BarStation {
        at: inch(at),
        limits: Limits::Max(inch("0.0001")),
        seating: Length::ZERO,
    };
    let run = BarRun {
        stations: distances.iter().map(station).collect(),
        seatings,
        predict: Vec::new(),
        stand: Length::ZERO,
        bar: Length::ZERO,
    };
    Check { positions: 12, ..check(run) }
}

fn taper(distances: &[&str]) -> Check {
    let stations = distances.iter().map(|at| inch(at)).collect();
    let taper = Taper { rate: Ratio::new(7, 24), stations, station_u: Length::ZERO };
    Check { positions: 1, ..check(taper) }
}

/// Every touch of a bar in the order it is taken: seating by seating, along the bar, round it.
#[test]
fn a_bar_has_its_stations_once_in_each_seating() {
    let distances = ["0.25", "3", "11.875"];
    for (seatings, angles) in [
        (Seatings::One, &[0][..]),
        (Seatings::Three, &[0, 180, 0]),
        (Seatings::Four, &[0, 90, 180, 270]),
    ] {
        let check = bar(&distances, seatings);
        let mut position = 0;
        for (seating, deg) in (0..).zip(angles) {
            assert_eq!(check.seating_deg(seating), Some(*deg));
            for (along, at) in (0..).zip(distances) {
                let circle = seating * 3 + along;
                let row = match seatings {
                    Seatings::One => format!("at {at} in"),
                    Seatings::Three | Seatings::Four => {
                        format!("at {at} in, seating {}", seating + 1)
                    }
                };
                assert_eq!(check.row_in_words(position, Unit::Inch), row);
                for touch in 1..=12 {
                    let lies = (check.circle_of(position), check.surface_at(position));
                    assert_eq!(lies, (circle, circle), "{position}");
                    assert_eq!(check.station_of(position), Some(inch(at)), "{position}");
                    let seated = (angles.len() > 1).then_some((seating, *deg));
                    assert_eq!(check.seating(position), seated, "{position}");
                    let bar = seated.map(|_| format!("bar at {deg}, ")).unwrap_or_default();
                    let words = format!("station {at} in, {bar}touch {touch} of 12");
                    assert_eq!(check.place_in_words(position), Some(words));
                    position += 1;
                }
            }
        }
        assert_eq!(
            (check.total(), check.circles(), check.per_circle()),
            (position, position / 12, 12)
        );
        assert_eq!(check.seating_deg(seatings.count()), None);
        assert_eq!(check.seating(position), None, "behind the last");
        assert!(check.has_angles() && check.rate().is_none());
    }
}

#[test]
fn a_station_is_held_against_its_own_limits() {
    let check = bar(&["0.25", "3"], Seatings::One);
    let own = Some(Some(Limits::Max(inch("0.0001"))));
    assert_eq!(check.limits_at(Some(inch("3"))), own);
    assert_eq!((check.limits_at(Some(inch("2"))), check.limits_at(None)), (None, None));
    let face = super::check(Parallelism);
    assert_eq!((face.limits_at(None), face.limits_at(Some(inch("3")))), (own, None));
}

#[test]
fn along_a_taper_there_are_distances_and_no_angles() {
    let check = taper(&["0.5", "2", "3"]);
    assert_eq!((check.station_of(1), check.station_of(3)), (Some(inch("2")), None));
    assert_eq!((check.total(), check.per_circle(), check.has_angles()), (3, 1, false));
    assert_eq!(check.place_in_words(1).as_deref(), Some("station 2 in"));
    assert_eq!(check.row_in_words(1, Unit::Inch), "station");
    assert_eq!((check.surface_at(2), check.rate()), (2, Some(Ratio::new(7, 24))));
    assert_eq!((check.seating(1), check.seating_deg(0)), (None, None));
}

#[test]
fn a_keyed_total_reading_has_no_angle() {
    let total = |reads| Check { reads, ..check(Turn::default()) };
    assert!(total(Reads::Touches).has_angles() && !total(Reads::Total).has_angles());
    assert_eq!(total(Reads::Total).station_of(3), None);
    assert_eq!((total(Reads::Touches).total(), total(Reads::Total).total()), (8, 1));
}

/// Radius by radius, and all of them once more where the face is gone round twice.
#[test]
fn a_radius_is_named_where_there_are_several() {
    let names = ["first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth"];
    let sizes: Vec<String> = (1..=9).map(|tenths| format!("1.{tenths}")).collect();
    let radii: Vec<Length> = sizes.iter().map(|size| inch(size)).collect();
    let check = Check { radii, passes: 2, ..check(Parallelism) };
    let mut position = 0;
    for again in ["", ", second time round"] {
        for (circle, size) in (0..).zip(&sizes) {
            let name = match names.get(circle) {
                Some(name) => format!("{name} radius"),
                None => "radius 9".to_owned(),
            };
            assert_eq!(check.row_in_words(position, Unit::Inch), format!("radius {size} in"));
            for touch in 1..=8 {
                let words = format!("{name}, {size} in{again}, touch {touch} of 8");
                assert_eq!(check.place_in_words(position), Some(words));
                assert_eq!(usize::try_from(check.circle_of(position)), Ok(circle), "{position}");
                assert_eq!((check.surface_at(position), check.station_of(position)), (0, None));
                position += 1;
            }
        }
    }
    assert_eq!((check.total(), check.on_a_circle(), check.circles()), (position, 16, 9));
}

#[test]
fn one_circle_needs_no_words_until_it_is_gone_round_again() {
    let once = check(Parallelism);
    assert_eq!(
        (once.place_in_words(3), once.row_in_words(3, Unit::Inch)),
        (None, "position".into())
    );
    let twice = Check { passes: 2, ..check(Parallelism) };
    assert_eq!(twice.place_in_words(3).as_deref(), Some("touch 4 of 8"));
    assert_eq!(twice.place_in_words(11).as_deref(), Some("second time round, touch 4 of 8"));
}

/// No plan holds so much; a hostile one is refused for it, and not by a crash.
#[test]
fn counts_end_at_the_largest_number() {
    let positions = u32::MAX;
    let face = Check { positions, passes: 7, radii: vec![Length::ZERO; 3], ..check(Parallelism) };
    assert_eq!((face.total(), face.on_a_circle()), (u32::MAX, u32::MAX));
    let none = Check { positions: 0, ..bar(&["1"], Seatings::Four) };
    assert_eq!((none.total(), none.circles(), none.station_of(0)), (0, 0, None));
    assert_eq!((none.circle_of(5), none.per_circle()), (0, 0));
    let empty = bar(&[], Seatings::Three);
    assert_eq!((empty.total(), empty.station_of(7), empty.place_in_words(7)), (0, None, None));
}
