//! Numbers that lose nothing on their way to disk and back.

use serde::{Deserialize, Serialize};

use crate::quantity::{Figure, Length};

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
            let denominator = denominator.parse().ok().filter(|&of: &i128| of > 0)?;
            Some(Self(Figure::new(numerator.parse().ok()?, denominator)))
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
