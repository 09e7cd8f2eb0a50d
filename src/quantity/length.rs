//! Lengths as whole picometres, the units people write, and values exactly as they were sent.

use std::fmt;

use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

use super::other_unit::Other;

/// A unit of length that a frame, a file or a plan may state. It is stored by its symbol.
///
/// A figure that is no length, such as a temperature, has one of the other units. One of it is carried as a
/// millimetre: its digits are exact in the same way, and it is judged and told by the same code.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Unit {
    /// Inch, exactly 25.4 mm.
    Inch,
    /// Millimetre.
    Millimetre,
    /// Micrometre.
    Micrometre,
    /// That of a figure that is no length.
    Other(Other),
}

impl Unit {
    /// Picometres in one of the unit (exact: the inch is 25.4 mm by definition).
    #[must_use]
    pub const fn picometres(self) -> i64 {
        match self {
            Self::Inch => 25_400_000_000,
            Self::Millimetre | Self::Other(_) => 1_000_000_000,
            Self::Micrometre => 1_000_000,
        }
    }

    /// The short text of the unit as this program prints it: `in`, `mm`, `um`, `mm/s`.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Inch => "in",
            Self::Millimetre => "mm",
            Self::Micrometre => "um",
            Self::Other(other) => other.symbol(),
        }
    }

    /// Whether it is a unit of length.
    #[must_use]
    pub const fn is_length(self) -> bool {
        !matches!(self, Self::Other(_))
    }

    /// The unit a figure in this one is shown in where `wished` is asked for: only lengths are converted.
    #[must_use]
    pub const fn shown_in(self, wished: Self) -> Self {
        if self.is_length() && wished.is_length() { wished } else { self }
    }

    /// Reads any unit that a figure may be judged in, as people write it.
    #[must_use]
    pub fn parse_any(text: &str) -> Option<Self> {
        Self::parse(text).or_else(|| Other::parse(text).map(Self::Other))
    }

    /// The unit as a word in a sentence: `inches`.
    #[must_use]
    pub const fn plural(self) -> &'static str {
        match self {
            Self::Inch => "inches",
            Self::Millimetre => "millimetres",
            Self::Micrometre => "micrometres",
            Self::Other(other) => other.symbol(),
        }
    }

    /// Reads a unit of length as gauges and people write it, in any letter case.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        match text.trim().to_ascii_lowercase().as_str() {
            "in" | "inch" | "\"" => Some(Self::Inch),
            "mm" => Some(Self::Millimetre),
            "um" | "µm" | "μm" => Some(Self::Micrometre),
            _ => None,
        }
    }

    /// Decimal places at which a derived figure is shown: 1e-8 in, 1e-6 mm, 1e-3 um.
    #[must_use]
    pub const fn shown_places(self) -> u32 {
        match self {
            Self::Inch => 8,
            Self::Millimetre | Self::Other(_) => 6,
            Self::Micrometre => 3,
        }
    }

    /// Decimal places that hold a thousandth of a picometre; in inches the number that comes closest.
    #[must_use]
    pub const fn known_places(self) -> u32 {
        match self {
            Self::Inch => 14,
            Self::Millimetre | Self::Other(_) => 12,
            Self::Micrometre => 9,
        }
    }

    /// Decimal places at which an uncertainty is shown, rounded up: 1e-11 in, 1e-9 mm, 1e-6 um.
    #[must_use]
    pub const fn uncertainty_places(self) -> u32 {
        match self {
            Self::Inch => 11,
            Self::Millimetre | Self::Other(_) => 9,
            Self::Micrometre => 6,
        }
    }
}

impl Serialize for Unit {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(self.symbol())
    }
}

impl<'de> Deserialize<'de> for Unit {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let text = <std::borrow::Cow<'de, str>>::deserialize(from)?;
        let found = Self::parse_any(&text).filter(|unit| unit.symbol() == text);
        found.ok_or_else(|| de::Error::custom(format!("there is no unit {text:?}")))
    }
}

/// Lines name a unit by its symbol and leave it at that.
#[cfg(feature = "schemas")]
impl schemars::JsonSchema for Unit {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Unit".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        let lengths = [Self::Inch, Self::Millimetre, Self::Micrometre].map(Self::symbol);
        let units: Vec<&str> = lengths.into_iter().chain(Other::symbols()).collect();
        schemars::json_schema!({ "type": "string", "enum": units })
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

/// Why a text is not a length.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LengthError {
    /// The text is not a plain decimal number.
    #[error("{0:?} is not a decimal number")]
    NotANumber(String),
    /// The value has digits below one picometre. It is refused, never rounded.
    #[error("{0:?} is finer than a picometre; it is refused, not rounded")]
    TooFine(String),
    /// The value is larger than [`Length::LARGEST`].
    #[error("{0:?} is more than 100 m, the largest length that is taken")]
    OutOfRange(String),
    /// The number has a decimal comma.
    #[error("{text:?} has a comma; write it with a decimal point: {point}")]
    Comma {
        /// The text.
        text: String,
        /// The same with a point.
        point: String,
    },
    /// The text names no unit and none is implied.
    #[error("{0:?} has no unit; write it as \"0.0001 in\", \"2.5 um\" or \"0.0025 mm\"")]
    NoUnit(String),
}

/// A length as a whole number of picometres. A length read from a text is at most
/// [`Length::LARGEST`]; sums and differences have room for tens of thousands of such lengths.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct Length(i64);

impl Length {
    /// No length at all.
    pub const ZERO: Self = Self(0);

    /// The largest length read from a text, positive or negative: 100 m. No part, gauge or stroke on a
    /// bench is that long, and the limit keeps a mistyped length from overflowing a sum.
    pub const LARGEST: Self = Self(100_000_000_000_000);

    /// A length of so many picometres.
    #[must_use]
    pub const fn from_picometres(picometres: i64) -> Self {
        Self(picometres)
    }

    /// The whole picometres.
    #[must_use]
    pub const fn picometres(self) -> i64 {
        self.0
    }

    /// Whether it may be read from a text: no further from nothing than [`Length::LARGEST`].
    #[must_use]
    pub const fn is_taken(self) -> bool {
        self.0.unsigned_abs() <= Self::LARGEST.0.unsigned_abs()
    }

    /// Reads a plain decimal number in `unit`: an optional sign, digits, at most one point.
    ///
    /// # Errors
    /// Anything else, a value finer than a picometre, or one out of range.
    pub fn parse(text: &str, unit: Unit) -> Result<Self, LengthError> {
        Quoted::parse(text, unit).map(|quoted| quoted.length)
    }

    /// Reads a number followed by its unit, such as `0.0001 in`.
    ///
    /// # Errors
    /// As [`Length::parse`], and a text without a unit.
    pub fn parse_with_unit(text: &str) -> Result<Self, LengthError> {
        Quoted::parse_with_unit(text, None).map(|quoted| quoted.length)
    }

    /// The absolute value.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// The difference of two lengths; `None` when it does not fit.
    #[must_use]
    pub const fn checked_sub(self, other: Self) -> Option<Self> {
        match self.0.checked_sub(other.0) {
            Some(difference) => Some(Self(difference)),
            None => None,
        }
    }
}

/// A length with the unit and the number of decimal places it was stated in, so that its text can be
/// printed as it came.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Quoted {
    /// The exact length.
    pub length: Length,
    /// The unit it was stated in.
    #[serde(deserialize_with = "of_length")]
    pub unit: Unit,
    /// The decimal places it was stated with.
    pub places: u8,
}

/// A length is stated in no other unit.
fn of_length<'de, D: Deserializer<'de>>(from: D) -> Result<Unit, D::Error> {
    let unit = Unit::deserialize(from)?;
    let other = || de::Error::custom(format!("{unit} is no unit of length"));
    unit.is_length().then_some(unit).ok_or_else(other)
}

impl Quoted {
    /// Reads a plain decimal number in `unit`, keeping its decimal places.
    ///
    /// # Errors
    /// A text that is not a plain decimal number; a value finer than a picometre; one out of range.
    pub fn parse(text: &str, unit: Unit) -> Result<Self, LengthError> {
        let trimmed = text.trim();
        let (negative, digits) = match trimmed.as_bytes().first() {
            Some(b'-') => (true, &trimmed[1..]),
            Some(b'+') => (false, &trimmed[1..]),
            _ => (false, trimmed),
        };
        let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
        let plain = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
        if whole.len() + fraction.len() == 0 || !plain(whole) || !plain(fraction) {
            return Err(LengthError::NotANumber(text.to_owned()));
        }
        // Digits of a fraction that cannot be counted any more lie far below a picometre.
        let counted = |digits: &str, count: i128| {
            digits.bytes().try_fold(count, |sum, digit| {
                sum.checked_mul(10)?.checked_add(i128::from(digit - b'0'))
            })
        };
        let whole = counted(whole, 0).ok_or_else(|| LengthError::OutOfRange(text.to_owned()))?;
        let finer = || LengthError::TooFine(text.to_owned());
        let count = counted(fraction, whole).ok_or_else(finer)?;
        let places = u8::try_from(fraction.len()).map_err(|_| finer())?;
        Self::from_count(if negative { -count } else { count }, places, unit)
            .map_err(|error| error.about(text))
    }

    /// A value given as a count of its last decimal place: 124 at 5 places is 0.00124.
    ///
    /// # Errors
    /// A value finer than a picometre, or one out of range.
    pub fn from_count(count: i128, places: u8, unit: Unit) -> Result<Self, LengthError> {
        let out_of_range = || LengthError::OutOfRange(count.to_string());
        let too_fine = || LengthError::TooFine(count.to_string());
        // A whole count has 39 digits at most: so many places and more are all below one of the unit.
        let scale = 10_i128.checked_pow(u32::from(places)).ok_or_else(too_fine)?;
        let whole =
            i64::try_from(count / scale).ok().and_then(|w| w.checked_mul(unit.picometres()));
        if whole.is_none() {
            return Err(out_of_range());
        }
        let scaled = count.checked_mul(i128::from(unit.picometres())).ok_or_else(too_fine)?;
        if scaled % scale != 0 {
            return Err(too_fine());
        }
        let picometres = i64::try_from(scaled / scale).map_err(|_| out_of_range())?;
        let length = Length(picometres);
        if length.is_taken() { Ok(Self { length, unit, places }) } else { Err(out_of_range()) }
    }

    /// Reads a number followed by its unit. A text without a unit is taken to be in `default`.
    ///
    /// # Errors
    /// As [`Quoted::parse`], and a text without a unit where there is no default.
    pub fn parse_with_unit(text: &str, default: Option<Unit>) -> Result<Self, LengthError> {
        Self::parse_plain(text, default).map_err(|error| match with_a_point(text) {
            // A comma is never guessed at; where a point in its place makes sense, the person is told.
            Some(point) if Self::parse_plain(&point, default).is_ok() => {
                LengthError::Comma { text: text.to_owned(), point }
            }
            _ => error,
        })
    }

    fn parse_plain(text: &str, default: Option<Unit>) -> Result<Self, LengthError> {
        let trimmed = text.trim();
        let split = trimmed
            .find(|c: char| !(c.is_ascii_digit() || matches!(c, '+' | '-' | '.')))
            .unwrap_or(trimmed.len());
        let (number, unit) = trimmed.split_at(split);
        let unit = if unit.trim().is_empty() {
            default.ok_or_else(|| LengthError::NoUnit(text.to_owned()))?
        } else {
            Unit::parse(unit).ok_or_else(|| LengthError::NotANumber(text.to_owned()))?
        };
        Self::parse(number, unit).map_err(|error| error.about(text))
    }

    /// Whether a text includes its own unit.
    #[must_use]
    pub fn states_unit(text: &str) -> bool {
        Self::parse_plain(text, None).is_ok()
    }

    /// The number alone, as it was stated: `-0.00012`.
    #[must_use]
    pub fn number(self) -> String {
        let picometres = i128::from(self.length.0);
        let count =
            picometres * 10_i128.pow(u32::from(self.places)) / i128::from(self.unit.picometres());
        decimal_text(count, u32::from(self.places))
    }
}

impl fmt::Display for Quoted {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.number(), self.unit)
    }
}

impl LengthError {
    /// The same error, quoting the whole text the person wrote.
    fn about(self, text: &str) -> Self {
        let text = text.to_owned();
        match self {
            Self::NotANumber(_) => Self::NotANumber(text),
            Self::TooFine(_) => Self::TooFine(text),
            Self::OutOfRange(_) => Self::OutOfRange(text),
            Self::NoUnit(_) => Self::NoUnit(text),
            Self::Comma { point, .. } => Self::Comma { text, point },
        }
    }
}

/// A text with a point in the place of its only comma.
#[must_use]
pub fn with_a_point(text: &str) -> Option<String> {
    let one = text.matches(',').count() == 1 && !text.contains('.');
    one.then(|| text.trim().replace(',', "."))
}

/// An integer count of the last decimal place as plain decimal text.
///
/// # Panics
/// With more than 38 places.
#[must_use]
pub fn decimal_text(count: i128, places: u32) -> String {
    let sign = if count < 0 { "-" } else { "" };
    let digits = count.unsigned_abs();
    if places == 0 {
        return format!("{sign}{digits}");
    }
    let scale = 10_u128.pow(places);
    let width = usize::try_from(places).unwrap_or(usize::MAX);
    format!("{sign}{}.{:0width$}", digits / scale, digits % scale)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_inch_is_exactly_25_4_millimetres() {
        // International yard and pound agreement, 1959: 1 in = 25.4 mm exactly (from memory).
        assert_eq!(Length::parse("1", Unit::Inch), Length::parse("25.4", Unit::Millimetre));
        assert_eq!(Length::parse("0.0001", Unit::Inch).unwrap().picometres(), 2_540_000);
        assert_eq!(Length::parse("0.00001", Unit::Inch).unwrap().picometres(), 254_000);
        assert_eq!(Length::parse("1", Unit::Micrometre).unwrap().picometres(), 1_000_000);
    }

    #[test]
    fn a_difference_that_binary_floats_get_wrong_is_exact() {
        let inch = |text| Length::parse(text, Unit::Inch).unwrap();
        let tenth = inch("0.0001");
        assert_eq!(inch("1.2346").checked_sub(inch("1.2345")), Some(tenth));
        assert_eq!(inch("1.2349").checked_sub(inch("1.2348")), Some(tenth));
        assert!(std::hint::black_box(1.2349) - 1.2348 > 0.0001, "the float trap avoided here");
    }

    #[test]
    fn both_unit_systems_are_exact_to_the_last_allowed_place() {
        assert_eq!(Length::parse("0.00000001", Unit::Inch).unwrap().picometres(), 254);
        assert_eq!(Length::parse("0.000000001", Unit::Millimetre).unwrap().picometres(), 1);
        assert!(matches!(
            Length::parse("0.0000000001", Unit::Millimetre),
            Err(LengthError::TooFine(_))
        ));
    }

    #[test]
    fn what_is_no_number_is_refused() {
        for text in ["", "+", ".", "1.2.3", "1e5", "NaN", "inf", "0x1", "1,5", "- 1", "--1"] {
            assert!(Length::parse(text, Unit::Inch).is_err(), "{text:?}");
        }
        assert_eq!(Length::parse("100000", Unit::Millimetre), Ok(Length::LARGEST));
        let beyond = ["100000.000000001", "-100000.1"];
        let far = ["99999999999999999999999", "9999999999999", "-9999999999999"];
        for text in far.into_iter().chain(beyond) {
            let refused = Length::parse(text, Unit::Millimetre);
            assert!(matches!(refused, Err(LengthError::OutOfRange(_))), "{text}");
        }
    }

    #[test]
    fn text_comes_back_as_it_was_sent() {
        for (text, unit) in
            [("0.00012", Unit::Inch), ("-12.3450", Unit::Millimetre), ("3", Unit::Micrometre)]
        {
            assert_eq!(Quoted::parse(text, unit).unwrap().number(), text);
        }
        assert_eq!(Quoted::parse("+0.5", Unit::Inch).unwrap().number(), "0.5");
    }

    #[test]
    fn a_value_may_carry_its_unit() {
        let quoted = Quoted::parse_with_unit("3 um", Some(Unit::Inch)).unwrap();
        assert_eq!(quoted.length.picometres(), 3_000_000);
        assert_eq!(Quoted::parse_with_unit("0.5", Some(Unit::Inch)).unwrap().unit, Unit::Inch);
        assert!(matches!(Quoted::parse_with_unit("0.5", None), Err(LengthError::NoUnit(_))));
        assert!(Quoted::parse_with_unit("0.5 furlong", None).is_err());
    }
}
