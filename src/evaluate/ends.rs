//! The largest and the smallest number of a column, exactly as they were written.
//!
//! The range of heights of some metres is a difference of decimals whose floats no longer hold the digits
//! that matter: 4 000 000.000 1 um less 4 000 000 um. Floats never put two decimals in the wrong order, so
//! only decimals with the same float as the largest, or the smallest, are compared exactly.

use std::cmp::Ordering;

use quantity::{Figure, Unit};

/// One end of a column: its largest or its smallest number.
#[derive(Debug, Clone, PartialEq, Default)]
struct End {
    number: f64,
    cell: Vec<u8>,
}

/// Both ends of a column.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Ends {
    both: Option<[End; 2]>,
}

impl Ends {
    /// Takes in one more number and its text.
    pub(crate) fn look_at(&mut self, number: f64, cell: &[u8]) {
        let Some(ends) = &mut self.both else {
            let end = End { number, cell: cell.to_vec() };
            self.both = Some([end.clone(), end]);
            return;
        };
        for (end, beyond) in ends.iter_mut().zip([Ordering::Less, Ordering::Greater]) {
            let order = match number.partial_cmp(&end.number) {
                Some(Ordering::Equal) if cell != end.cell.as_slice() => compare(cell, &end.cell),
                order => order,
            };
            if order == Some(beyond) {
                end.number = number;
                end.cell.clear();
                end.cell.extend_from_slice(cell);
            }
        }
    }

    /// The largest minus the smallest; `None` where a number has too many digits to be held exactly.
    pub(crate) fn range(&self, unit: Unit) -> Option<Figure> {
        let [low, high] = self.both.as_ref()?;
        let (low, high) = (Decimal::read(&low.cell)?, Decimal::read(&high.cell)?);
        let places = low.places.max(high.places);
        let whole = high.at(places)?.checked_sub(low.at(places)?)?;
        let picometres = whole.checked_mul(i128::from(unit.picometres()))?;
        Some(Figure::new(picometres, 10_i128.checked_pow(places)?))
    }
}

fn compare(one: &[u8], other: &[u8]) -> Option<Ordering> {
    let (one, other) = (Decimal::read(one)?, Decimal::read(other)?);
    let places = one.places.max(other.places);
    Some(one.at(places)?.cmp(&other.at(places)?))
}

/// `whole · 10^(−places)`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Decimal {
    whole: i128,
    places: u32,
}

impl Decimal {
    fn read(cell: &[u8]) -> Option<Self> {
        let text = std::str::from_utf8(cell).ok()?;
        let (digits, power) = match text.split_once(['e', 'E']) {
            Some((digits, power)) => (digits, power.parse::<i32>().ok()?),
            None => (text, 0),
        };
        let negative = digits.starts_with('-');
        let (before, after) = digits
            .trim_start_matches(['+', '-'])
            .split_once('.')
            .unwrap_or((digits.trim_start_matches(['+', '-']), ""));
        let after = after.trim_end_matches('0');
        let mut whole = 0_i128;
        for digit in before.bytes().chain(after.bytes()) {
            whole = whole.checked_mul(10)?.checked_add(i128::from(digit.checked_sub(b'0')?))?;
        }
        let places = i32::try_from(after.len()).ok()?.checked_sub(power)?;
        let fits = if places < 0 { 10_i128.checked_pow(places.unsigned_abs())? } else { 1 };
        let whole = whole.checked_mul(fits)?;
        let places = u32::try_from(places.max(0)).ok()?;
        Some(Self { whole: if negative { -whole } else { whole }, places })
    }

    fn at(self, places: u32) -> Option<i128> {
        self.whole.checked_mul(10_i128.checked_pow(places.checked_sub(self.places)?)?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn range(cells: &[&str]) -> Option<Figure> {
        let mut ends = Ends::default();
        for cell in cells {
            ends.look_at(cell.parse().unwrap(), cell.as_bytes());
        }
        ends.range(Unit::Micrometre)
    }

    #[test]
    fn heights_of_metres_keep_their_last_digit() {
        let tall = ["4000000000.0000001", "4000000000.0000002", "4000000000.0", "4e9"];
        assert_eq!(range(&tall), Some(Figure::new(2, 10)));
        assert_eq!(range(&["-1.5", "+2.25", "0", "-1.50"]), Some(Figure::new(3_750_000, 1)));
        assert_eq!(range(&["1e-3", ".002"]), Some(Figure::new(1000, 1)));
        assert_eq!(range(&["7", "7.0", "7e0"]), Some(Figure::ZERO));
    }

    #[test]
    fn more_digits_than_fit_are_nothing() {
        assert_eq!(range(&["0.1234567890123456789012345678901234567891", "1"]), None);
        assert_eq!(range(&["1e-300", "1"]), None);
    }
}
