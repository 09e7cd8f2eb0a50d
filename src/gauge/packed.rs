//! Packed digits: four bits each, which an adapter passes on as hexadecimal text.

use std::collections::BTreeMap;

use super::decode::Number;
use super::outcome::Damage;
use quantity::Unit;

/// Where the parts of a packed frame are. A place is the index of a hexadecimal digit of the frame,
/// from 0, counted once the halves of each pair are in order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Packed {
    /// Hexadecimal digits in a frame.
    pub length: usize,
    /// Whether the low half of each pair is sent first.
    pub low_half_first: bool,
    /// Places that always hold the same digit.
    pub fixed: Vec<(usize, u8)>,
    /// The place of the sign.
    pub sign: usize,
    /// The digits that mean plus.
    pub plus: Vec<u8>,
    /// The digits that mean minus.
    pub minus: Vec<u8>,
    /// The places of the digits, the most significant first; 1 to 8 of them.
    pub digits: Vec<usize>,
    /// The place that holds the number of decimal places.
    pub point: usize,
    /// The place of the unit, and the meaning of its digits.
    pub unit: Option<(usize, BTreeMap<u8, Unit>)>,
}

impl Packed {
    /// The number in a frame of hexadecimal text.
    pub(super) fn number(&self, frame: &[u8]) -> Result<Number, Damage> {
        let nibbles = self.nibbles(frame.trim_ascii()).ok_or(Damage::NotThePattern)?;
        let at = |place: usize| nibbles.get(place).copied().ok_or(Damage::NotThePattern);
        for &(place, wanted) in &self.fixed {
            if at(place)? != wanted {
                return Err(Damage::FixedPart);
            }
        }
        let sign = at(self.sign)?;
        let negative = self.minus.contains(&sign);
        if !negative && !self.plus.contains(&sign) {
            return Err(Damage::BadNibble);
        }
        let mut count = 0_i64;
        for &place in &self.digits {
            let digit = at(place)?;
            if digit > 9 {
                return Err(Damage::BadNibble);
            }
            count = count * 10 + i64::from(digit);
        }
        let places = at(self.point)?;
        if usize::from(places) > self.digits.len() {
            return Err(Damage::BadNibble);
        }
        let unit = match &self.unit {
            None => None,
            Some((place, meanings)) => {
                Some(*meanings.get(&at(*place)?).ok_or(Damage::UnknownUnit)?)
            }
        };
        Ok(Number { count: if negative { -count } else { count }, places, unit })
    }

    /// The hexadecimal digits in order; `None` when their number or a character is wrong.
    fn nibbles(&self, frame: &[u8]) -> Option<Vec<u8>> {
        if frame.len() != self.length {
            return None;
        }
        let digit = |&byte: &u8| char::from(byte).to_digit(16).and_then(|n| u8::try_from(n).ok());
        let mut nibbles: Vec<u8> = frame.iter().map(digit).collect::<Option<_>>()?;
        if self.low_half_first {
            nibbles.chunks_exact_mut(2).for_each(<[u8]>::reverse);
        }
        Some(nibbles)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `A5`, sign, six digits, decimal places, unit, `C`: a layout made up here.
    fn layout() -> Packed {
        Packed {
            length: 12,
            low_half_first: false,
            fixed: vec![(0, 10), (1, 5), (11, 12)],
            sign: 2,
            plus: vec![0],
            minus: vec![8],
            digits: (3..9).collect(),
            point: 9,
            unit: Some((10, BTreeMap::from([(1, Unit::Inch), (2, Unit::Millimetre)]))),
        }
    }

    #[test]
    fn each_digit_is_four_bits() {
        let number = layout().number(b"A5800012351C").unwrap();
        assert_eq!(number, Number { count: -123, places: 5, unit: Some(Unit::Inch) });
        let swapped = Packed { low_half_first: true, ..layout() };
        // The same digits with the halves of each pair changed over.
        assert_eq!(swapped.number(b"5A08002153C1").unwrap(), number);
        assert_eq!(swapped.number(b"A5800012351C").unwrap_err(), Damage::FixedPart);
    }

    #[test]
    fn a_frame_whose_fixed_parts_differ_is_refused() {
        for (frame, why) in [
            (&b"A4800012351C"[..], Damage::FixedPart),
            (b"A5800012351D", Damage::FixedPart),
            (b"A5700012351C", Damage::BadNibble),
            (b"A58000A2351C", Damage::BadNibble),
            (b"A5800012371C", Damage::BadNibble),
            (b"A5800012353C", Damage::UnknownUnit),
            (b"A5800012351", Damage::NotThePattern),
            (b"A58000123G1C", Damage::NotThePattern),
        ] {
            assert_eq!(layout().number(frame).unwrap_err(), why, "{}", frame.escape_ascii());
        }
    }
}
