//! Numbers that lose nothing on their way to disk and back.

use serde::{Deserialize, Serialize};

use crate::quantity::{Figure, Length};

/// No figure of a bench is larger, nor finer. The finest denominators are the weights of a minimum
/// zone, below 2^65 on a face of 4 m, and what is taken off a mean of some hundred touches for its
/// temperature, 10^18 times their number. With both limits a figure can be shown in any unit, and
/// any length below a kilometre be added to it, within 127 bits.
const LARGEST: i128 = 1 << 112;
const FINEST: i128 = 1 << 76;

/// A figure as the text `numerator/denominator` of picometres.
#[derive(Clone, Copy, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
pub(super) struct Fraction(pub(super) Figure);

impl From<Fraction> for String {
    fn from(Fraction(figure): Fraction) -> Self {
        format!("{}/{}", figure.numerator(), figure.denominator())
    }
}

impl TryFrom<String> for Fraction {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        let parse = || {
            let (numerator, denominator) = text.split_once('/')?;
            let numerator = numerator.parse().ok()?;
            let denominator = denominator.parse().ok()?;
            let fits =
                (-LARGEST..=LARGEST).contains(&numerator) && (1..=FINEST).contains(&denominator);
            fits.then(|| Self(Figure::new(numerator, denominator)))
        };
        parse().ok_or_else(|| format!("figure {text:?}"))
    }
}

impl From<Figure> for Fraction {
    fn from(figure: Figure) -> Self {
        Self(figure)
    }
}

impl From<Fraction> for Figure {
    fn from(Fraction(figure): Fraction) -> Self {
        figure
    }
}

/// A binary number as the shortest decimal text that gives it back.
#[derive(Clone, Copy, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
pub(super) struct Shortest(pub(super) f64);

impl From<Shortest> for String {
    fn from(Shortest(number): Shortest) -> Self {
        number.to_string()
    }
}

impl TryFrom<String> for Shortest {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        text.parse().map(Self).map_err(|_| format!("number {text:?}"))
    }
}

impl From<f64> for Shortest {
    fn from(number: f64) -> Self {
        Self(number)
    }
}

impl From<Shortest> for f64 {
    fn from(Shortest(number): Shortest) -> Self {
        number
    }
}

/// A length as its picometres.
#[derive(Clone, Copy, Serialize, Deserialize)]
#[serde(transparent)]
pub(super) struct Picometres(pub(super) i64);

impl From<Length> for Picometres {
    fn from(length: Length) -> Self {
        Self(length.picometres())
    }
}

impl From<Picometres> for Length {
    fn from(Picometres(count): Picometres) -> Self {
        Self::from_picometres(count)
    }
}

/// Each part of something that may be absent or many, in its other form.
pub(super) fn each<From, To, All>(from: impl IntoIterator<Item = From>) -> All
where
    To: std::convert::From<From>,
    All: FromIterator<To>,
{
    from.into_iter().map(To::from).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Unit;

    fn read(text: &str) -> Option<Figure> {
        Fraction::try_from(text.to_owned()).ok().map(Figure::from)
    }

    #[test]
    fn a_figure_comes_back_and_the_largest_can_be_worked_with() {
        assert_eq!(read("-7/3"), Some(Figure::new(-7, 3)));
        for text in [
            format!("{LARGEST}/1"),
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
    fn what_no_bench_can_have_written_is_refused() {
        for text in ["1/0", "1/-2", "0/0", "1", "1/", "/1", "a/1", "1.5/1", ""] {
            assert_eq!(read(text), None, "{text}");
        }
        for text in [
            format!("{}/1", LARGEST + 1),
            format!("{}/1", i128::MAX),
            format!("{}/1", i128::MIN),
            format!("1/{}", FINEST + 1),
            format!("1/{}", i128::MAX),
            format!("-{}/1", LARGEST + 1),
        ] {
            assert_eq!(read(&text), None, "{text}");
        }
    }
}
