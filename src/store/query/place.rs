//! Where on a part a position lies.

use bench::plan::{Check, Detail};
use quantity::Length;

/// Whether positions of a check lie at angles: not those along a taper, and not a turn of which
/// only the total was read.
pub(super) const fn has_angles(check: &Check) -> bool {
    match &check.detail {
        Detail::Taper(_) | Detail::Pair(_) | Detail::Confirm(_) | Detail::Entry(_) => false,
        Detail::Turn(turn) => !turn.total_only,
        Detail::Plain | Detail::Length(_) | Detail::Bar(_) => true,
    }
}

/// The distance along the axis at which a position lies, where the check has stations.
pub(super) fn station_of(check: &Check, position: u32) -> Option<Length> {
    let at = |station: u32| usize::try_from(station).ok();
    match &check.detail {
        Detail::Taper(taper) => taper.stations.get(at(position)?).copied(),
        Detail::Bar(bar) => {
            let station = at(position.checked_div(check.positions)?)?;
            // Once along the bar for each seating.
            bar.stations.get(station.checked_rem(bar.stations.len())?).map(|station| station.at)
        }
        Detail::Plain
        | Detail::Length(_)
        | Detail::Turn(_)
        | Detail::Pair(_)
        | Detail::Confirm(_)
        | Detail::Entry(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::some_check;
    use bench::plan::{BarRun, BarStation, Seatings, Taper, Turn};
    use judgement::Limits;
    use quantity::Unit;

    fn inch(text: &str) -> Length {
        Length::parse(text, Unit::Inch).unwrap()
    }

    #[test]
    fn positions_on_a_bar_run_round_a_station_then_along_the_bar_for_each_seating() {
        let limits = Limits::Max(inch("0.0001"));
        let station = |at| BarStation { at: inch(at), limits, seating: Length::ZERO };
        let bar = BarRun {
            stations: vec![station("0.25"), station("3")],
            seatings: Seatings::Three,
            predict: Vec::new(),
            stand: Length::ZERO,
            bar: Length::ZERO,
        };
        let check = Check { positions: 12, detail: Detail::Bar(bar), ..some_check() };
        for (position, at) in
            [(0, "0.25"), (11, "0.25"), (12, "3"), (23, "3"), (24, "0.25"), (71, "3")]
        {
            assert_eq!(station_of(&check, position), Some(inch(at)), "{position}");
        }
        assert!(has_angles(&check));
    }

    #[test]
    fn along_a_taper_there_are_distances_and_no_angles() {
        let stations = vec![inch("0.5"), inch("2"), inch("3")];
        let taper =
            Taper { rate: num_rational::Ratio::new(7, 24), stations, station_u: Length::ZERO };
        let check = Check { positions: 1, detail: Detail::Taper(taper), ..some_check() };
        assert_eq!(station_of(&check, 1), Some(inch("2")));
        assert_eq!(station_of(&check, 3), None);
        assert!(!has_angles(&check));
    }

    #[test]
    fn a_keyed_total_reading_has_no_angle() {
        let turn = |total_only| Check {
            detail: Detail::Turn(Turn { total_only, ..Turn::default() }),
            ..some_check()
        };
        assert!(has_angles(&turn(false)) && !has_angles(&turn(true)));
        assert_eq!(station_of(&turn(false), 3), None);
    }
}
