//! Lengths and angles as the outside sees them.

use crate::quantity::{Figure, Length, Quoted, Unit};

/// A stated length in `unit`, exactly, trailing zeros dropped. One that has no finite text at a
/// picometre's places in that unit (a millimetre figure told in inches) is rounded for show.
pub(super) fn exact(length: Length, unit: Unit) -> String {
    let places: u8 = match unit {
        Unit::Inch | Unit::Millimetre => 9,
        Unit::Micrometre => 6,
    };
    let text = Quoted { length, unit, places }.number();
    if Length::parse(&text, unit) == Ok(length) {
        trimmed(&text)
    } else {
        Figure::from(length).shown(unit)
    }
}

fn trimmed(text: &str) -> String {
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text.to_owned()
    }
}

/// Reads back a decimal text that this program wrote, exactly.
#[must_use]
pub fn figure_of(text: &str, unit: Unit) -> Option<Figure> {
    let (negative, digits) = match text.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, text),
    };
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
    if !digits.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.') {
        return None;
    }
    let count: i128 = format!("{whole}{fraction}").parse().ok()?;
    let scale = 10_i128.checked_pow(u32::try_from(fraction.len()).ok()?)?;
    let scaled = count.checked_mul(i128::from(unit.picometres()))?;
    Some(Figure::new(if negative { -scaled } else { scaled }, scale))
}

/// A derived number that is not a length, to a thousandth.
pub(super) fn thousandth(number: f64) -> f64 {
    (number * 1000.0).round() / 1000.0
}

/// A derived angle to a thousandth of a degree, in [0, 360).
pub(super) fn angle(degrees: f64) -> f64 {
    thousandth(degrees).rem_euclid(360.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stated_length_keeps_all_its_places() {
        let length = |text, unit| Length::parse(text, unit).unwrap();
        assert_eq!(exact(length("0.00010", Unit::Inch), Unit::Inch), "0.0001");
        assert_eq!(exact(length("0.000000005", Unit::Inch), Unit::Inch), "0.000000005");
        assert_eq!(exact(length("2.540001", Unit::Micrometre), Unit::Micrometre), "2.540001");
        assert_eq!(exact(length("1.5", Unit::Inch), Unit::Millimetre), "38.1");
        assert_eq!(exact(length("1", Unit::Millimetre), Unit::Inch), "0.03937008");
        assert_eq!(exact(length("100", Unit::Inch), Unit::Inch), "100");
    }

    #[test]
    fn what_was_written_is_read_back_exactly() {
        let one = Figure::new(1, 1);
        let shown = one.shown_up(Unit::Inch);
        assert_eq!(shown, "0.00000000004");
        assert_eq!(figure_of(&shown, Unit::Inch), Some(Figure::new(1016, 1000)));
        assert_eq!(figure_of("-0.5", Unit::Inch), Some(Figure::new(-12_700_000_000, 1)));
        assert_eq!(figure_of("1e5", Unit::Inch), None);
        assert_eq!(figure_of("--1", Unit::Inch), None);
    }

    #[test]
    #[expect(clippy::float_cmp, reason = "these thousandths have one nearest float each")]
    fn angles_stay_below_a_full_turn() {
        assert_eq!(angle(359.999_6), 0.0);
        assert_eq!(angle(-0.25), 359.75);
        assert_eq!(angle(51.428_571), 51.429);
        assert_eq!(thousandth(12.345_67), 12.346);
    }
}
