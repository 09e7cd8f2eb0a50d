//! Figures derived from lengths, as exact fractions of a picometre.

use std::ops::{Add, Div, Mul, Neg, Sub};

use num_rational::Ratio;
use serde::{Deserialize, Serialize, Serializer};

use super::length::{Length, Unit, decimal_text};

/// The largest numerator and denominator of a stored figure; no bench produces more. The largest
/// denominators come from the weights of a minimum zone (below 2^65 on a face of 4 m) and from
/// correcting a mean of some hundred touches for temperature (10^18 times their number). Within these
/// limits and that of its whole picometres 127 bits are enough to show a figure in any unit, at any
/// place down to the fourteenth of it, and to add any length below a kilometre.
const LARGEST: i128 = 1 << 112;
const FINEST: i128 = 1 << 76;
const TALLEST: i128 = 1 << 96;

/// An exact fraction of a picometre: a mean, a difference of means, a minimum zone.
///
/// Ordering and equality are exact. Arithmetic with lengths of a bench (below a kilometre) and
/// denominators below 2^40 stays far below the limit of 127 bits.
///
/// Stored as the text `numerator/denominator`, in picometres, so that nothing is rounded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(try_from = "String")]
pub struct Figure(Ratio<i128>);

/// Written without a general formatter: a verdict holds one figure for each position, nearly all of
/// them whole.
impl Serialize for Figure {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let (numerator, denominator) = (self.numerator(), self.denominator());
        let whole = i64::try_from(numerator).ok().filter(|_| denominator == 1);
        let mut room = [0; MOST_LETTERS];
        let text = whole.and_then(|whole| std::str::from_utf8(whole_text(whole, &mut room)).ok());
        match text {
            Some(text) => to.serialize_str(text),
            None => to.collect_str(&format_args!("{numerator}/{denominator}")),
        }
    }
}

/// The length of the longest [`whole_text`]: a sign, 19 digits, `/1`.
const MOST_LETTERS: usize = 22;

/// A whole number as the text of a fraction, written from its last letter to its first.
fn whole_text(whole: i64, room: &mut [u8; MOST_LETTERS]) -> &[u8] {
    let mut at = MOST_LETTERS - 2;
    room[at..].copy_from_slice(b"/1");
    let mut left = whole.unsigned_abs();
    loop {
        at -= 1;
        room[at] = b'0' + u8::try_from(left % 10).unwrap_or_default();
        left /= 10;
        if left == 0 {
            break;
        }
    }
    if whole < 0 {
        at -= 1;
        room[at] = b'-';
    }
    &room[at..]
}

impl TryFrom<String> for Figure {
    type Error = String;

    /// Reads the stored form. Refuses a fraction that no bench can have written.
    fn try_from(text: String) -> Result<Self, String> {
        let parse = || {
            let (numerator, denominator) = text.split_once('/')?;
            let numerator = numerator.parse().ok()?;
            let denominator = denominator.parse().ok()?;
            let fits = (1..=FINEST).contains(&denominator)
                && (-LARGEST..=LARGEST).contains(&numerator)
                && (-TALLEST..=TALLEST).contains(&(numerator / denominator));
            fits.then(|| Self::new(numerator, denominator))
        };
        parse().ok_or_else(|| format!("figure {text:?}"))
    }
}

impl Figure {
    /// Nothing.
    pub const ZERO: Self = Self(Ratio::new_raw(0, 1));

    /// The fraction `numerator / denominator` of a picometre.
    ///
    /// # Panics
    /// When the denominator is zero.
    #[must_use]
    pub fn new(numerator: i128, denominator: i128) -> Self {
        if denominator == 1 {
            Self::whole(numerator)
        } else {
            Self(Ratio::new(numerator, denominator))
        }
    }

    /// A whole number of picometres. Nearly all figures are whole, and looking for a common divisor with
    /// 1 would take longer than all other work on them.
    fn whole(picometres: i128) -> Self {
        Self(Ratio::from_integer(picometres))
    }

    /// Both figures as whole numbers of picometres; `None` when one of them is not whole.
    fn whole_pair(self, other: Self) -> Option<(i128, i128)> {
        let whole = self.denominator() == 1 && other.denominator() == 1;
        whole.then(|| (self.numerator(), other.numerator()))
    }

    /// The numerator in lowest terms, in picometres.
    #[must_use]
    pub const fn numerator(&self) -> i128 {
        *self.0.numer()
    }

    /// The denominator in lowest terms, always positive.
    #[must_use]
    pub const fn denominator(&self) -> i128 {
        *self.0.denom()
    }

    /// The mean of some lengths; `None` when there are none.
    #[must_use]
    pub fn mean(lengths: &[Length]) -> Option<Self> {
        let count = i128::try_from(lengths.len()).ok().filter(|&count| count > 0)?;
        let sum: i128 = lengths.iter().map(|length| i128::from(length.picometres())).sum();
        Some(Self::new(sum, count))
    }

    /// The absolute value.
    #[must_use]
    pub fn abs(self) -> Self {
        if self < Self::ZERO { -self } else { self }
    }

    /// The nearest binary float, in picometres, for figures that are shown and never judged.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "shown only; judgement uses the fraction")]
    pub fn to_f64(self) -> f64 {
        *self.0.numer() as f64 / *self.0.denom() as f64
    }

    /// Whole picometres, rounded up.
    #[must_use]
    pub fn ceil(self) -> i128 {
        *self.0.ceil().numer()
    }

    /// Decimal text in `unit`, rounded half to even at the places shown for that unit, trailing
    /// zeros dropped. Only for display: comparisons use the figure itself.
    #[must_use]
    pub fn shown(self, unit: Unit) -> String {
        let places = unit.shown_places();
        trimmed(decimal_text(self.rounded_half_even(unit, places), places))
    }

    /// Decimal text in `unit` to a thousandth of a picometre, trailing zeros dropped. A figure worked out
    /// in floats is rounded to that, so this is all that is known of it; an exact figure may need fewer
    /// digits.
    #[must_use]
    pub fn known(self, unit: Unit) -> String {
        let places = unit.known_places();
        trimmed(decimal_text(self.rounded_half_even(unit, places), places))
    }

    /// Decimal text in `unit`, rounded half to even at exactly `places`, zeros kept.
    #[must_use]
    pub fn fixed(self, unit: Unit, places: u32) -> String {
        decimal_text(self.rounded_half_even(unit, places), places)
    }

    /// Decimal text in `unit`, rounded half to even at `places`, trailing zeros dropped.
    #[must_use]
    pub fn trimmed_at(self, unit: Unit, places: u32) -> String {
        trimmed(self.fixed(unit, places))
    }

    /// The figure that [`Figure::fixed`] prints.
    #[must_use]
    pub fn rounded_at(self, unit: Unit, places: u32) -> Self {
        Self::of_count(self.rounded_half_even(unit, places), unit, places)
    }

    /// The figure that [`Figure::shown_up_at`] prints.
    #[must_use]
    pub fn rounded_up_at(self, unit: Unit, places: u32) -> Self {
        Self::of_count(self.rounded_up(unit, places), unit, places)
    }

    /// A figure of `count` units of the last decimal place.
    fn of_count(count: i128, unit: Unit, places: u32) -> Self {
        let unit = Ratio::new(i128::from(unit.picometres()), 10_i128.pow(places));
        Self(Ratio::from_integer(count) * unit)
    }

    /// Reads a decimal text that this program wrote, exactly; `None` for anything else.
    #[must_use]
    pub fn parse(text: &str, unit: Unit) -> Option<Self> {
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
        let one = Ratio::new(i128::from(unit.picometres()), scale);
        let scaled = count.checked_mul(*one.numer())?;
        Some(Self::new(if negative { -scaled } else { scaled }, *one.denom()))
    }

    /// Decimal text in `unit`, rounded up at the places an uncertainty is shown with, trailing
    /// zeros dropped.
    #[must_use]
    pub fn shown_up(self, unit: Unit) -> String {
        self.shown_up_at(unit, unit.uncertainty_places())
    }

    /// Decimal text in `unit`, rounded up at `places`, trailing zeros dropped.
    #[must_use]
    pub fn shown_up_at(self, unit: Unit, places: u32) -> String {
        trimmed(decimal_text(self.rounded_up(unit, places), places))
    }

    /// The whole units of the last decimal place, and the rest as a part of one, in [0, 1). Whole
    /// picometres and the rest are scaled apart, so that neither product leaves its range.
    fn scaled(self, unit: Unit, places: u32) -> (i128, Ratio<i128>) {
        let scale = Ratio::new(10_i128.pow(places), i128::from(unit.picometres()));
        let (numerator, denominator) = (self.numerator(), self.denominator());
        let counted = numerator.div_euclid(denominator) * scale.numer();
        let rest = counted.rem_euclid(*scale.denom()) * denominator
            + numerator.rem_euclid(denominator) * scale.numer();
        let of_one = denominator * scale.denom();
        let count = counted.div_euclid(*scale.denom()) + rest / of_one;
        (count, Ratio::new(rest % of_one, of_one))
    }

    fn rounded_up(self, unit: Unit, places: u32) -> i128 {
        let (floor, rest) = self.scaled(unit, places);
        floor + i128::from(rest > Ratio::new_raw(0, 1))
    }

    fn rounded_half_even(self, unit: Unit, places: u32) -> i128 {
        let (floor, rest) = self.scaled(unit, places);
        match rest.cmp(&Ratio::new_raw(1, 2)) {
            std::cmp::Ordering::Less => floor,
            std::cmp::Ordering::Greater => floor + 1,
            std::cmp::Ordering::Equal => floor + floor.rem_euclid(2),
        }
    }
}

impl From<Length> for Figure {
    fn from(length: Length) -> Self {
        Self(Ratio::from_integer(i128::from(length.picometres())))
    }
}

impl Add for Figure {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        let whole = self.whole_pair(other).map(|(one, other)| Self::whole(one + other));
        whole.unwrap_or_else(|| Self(self.0 + other.0))
    }
}

impl Sub for Figure {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        let whole = self.whole_pair(other).map(|(one, other)| Self::whole(one - other));
        whole.unwrap_or_else(|| Self(self.0 - other.0))
    }
}

impl Mul<i64> for Figure {
    type Output = Self;
    fn mul(self, factor: i64) -> Self {
        Self(self.0 * Ratio::from_integer(i128::from(factor)))
    }
}

impl Div<i64> for Figure {
    type Output = Self;
    fn div(self, divisor: i64) -> Self {
        if divisor == 1 { self } else { Self(self.0 / Ratio::from_integer(i128::from(divisor))) }
    }
}

impl Neg for Figure {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

/// Drops trailing zeros, and a point with no digit after it.
fn trimmed(text: String) -> String {
    if text.contains('.') {
        let short = text.trim_end_matches('0').trim_end_matches('.');
        if short == "-0" { "0".to_owned() } else { short.to_owned() }
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn inch(text: &str) -> Figure {
        Figure::from(Length::parse(text, Unit::Inch).unwrap())
    }

    #[test]
    fn trailing_zeros_are_dropped_and_value_kept() {
        assert_eq!(inch("0.00004").shown(Unit::Inch), "0.00004");
        assert_eq!(inch("0.00004").shown(Unit::Micrometre), "1.016");
        assert_eq!(inch("-0.5").shown(Unit::Inch), "-0.5");
        assert_eq!(Figure::ZERO.shown(Unit::Inch), "0");
        assert_eq!((-Figure::new(1, 10)).shown(Unit::Millimetre), "0");
    }

    #[test]
    fn ties_go_to_the_even_digit() {
        // 1e-8 in is 254 pm, so 127 pm is half of the last place shown.
        assert_eq!(Figure::new(127, 1).shown(Unit::Inch), "0");
        assert_eq!(Figure::new(381, 1).shown(Unit::Inch), "0.00000002");
        assert_eq!(Figure::new(-127, 1).shown(Unit::Inch), "0");
        assert_eq!(Figure::new(-381, 1).shown(Unit::Inch), "-0.00000002");
    }

    #[test]
    fn an_uncertainty_is_never_rounded_down() {
        assert_eq!(Figure::new(1, 1).shown_up(Unit::Inch), "0.00000000004");
        assert_eq!(Figure::new(1, 3).shown_up(Unit::Micrometre), "0.000001");
        assert_eq!(inch("0.00002").shown_up(Unit::Inch), "0.00002");
    }

    #[test]
    fn a_mean_is_a_fraction() {
        let lengths = [1, 2].map(Length::from_picometres);
        assert_eq!(Figure::mean(&lengths), Some(Figure::new(3, 2)));
        assert_eq!(Figure::mean(&[]), None);
    }

    fn read(text: &str) -> Option<Figure> {
        Figure::try_from(text.to_owned()).ok()
    }

    #[test]
    fn a_figure_comes_back_and_the_largest_can_be_worked_with() {
        assert_eq!(read("-7/3"), Some(Figure::new(-7, 3)));
        for text in [
            format!("{TALLEST}/1"),
            format!("-{LARGEST}/{}", FINEST - 1),
            format!("{}/{}", LARGEST - 1, FINEST),
        ] {
            let figure = read(&text).unwrap();
            let kilometre = Figure::from(Length::from_picometres(1_000_000_000_000_000));
            for unit in [Unit::Inch, Unit::Millimetre, Unit::Micrometre] {
                assert!(!figure.shown(unit).is_empty());
                assert!(!figure.shown_up(unit).is_empty());
                assert!(!figure.fixed(unit, unit.uncertainty_places()).is_empty());
            }
            for other in [figure - kilometre, -figure - kilometre, figure.abs()] {
                assert!(other != Figure::ZERO);
            }
        }
    }

    #[test]
    fn a_figure_is_written_as_its_two_numbers() {
        let wholes = [0, 1, -1, 9, 10, -10, 120_000_000_000, i64::MAX.into(), i64::MIN.into()];
        let beyond = [i128::from(i64::MAX) + 1, i128::from(i64::MIN) - 1, LARGEST];
        for numerator in wholes.into_iter().chain(beyond) {
            for denominator in [1, 7, 1000] {
                let figure = Figure::new(numerator, denominator);
                let text = serde_json::to_string(&figure).unwrap();
                let (numerator, denominator) = (figure.numerator(), figure.denominator());
                assert_eq!(text, format!("\"{numerator}/{denominator}\""));
            }
        }
    }

    #[test]
    fn what_no_bench_can_have_written_is_refused() {
        for text in ["1/0", "1/-2", "0/0", "1", "1/", "/1", "a/1", "1.5/1", ""] {
            assert_eq!(read(text), None, "{text}");
        }
        for text in [
            format!("{}/1", TALLEST + 1),
            format!("{}/1", i128::MAX),
            format!("{}/1", i128::MIN),
            format!("1/{}", FINEST + 1),
            format!("1/{}", i128::MAX),
            format!("-{}/1", TALLEST + 1),
            format!("{}/{FINEST}", LARGEST + 1),
        ] {
            assert_eq!(read(&text), None, "{text}");
        }
    }
}
