//! Numbers that lose nothing on their way to disk and back.

use serde::{Deserialize, Serialize, Serializer};

use quantity::{Figure, Length};

/// No figure of a bench is larger, nor finer. The finest denominators are the weights of a minimum
/// zone, below 2^65 on a face of 4 m, and what is taken off a mean of some hundred touches for its
/// temperature, 10^18 times their number. With both limits a figure can be shown in any unit, and
/// any length below a kilometre be added to it, within 127 bits.
const LARGEST: i128 = 1 << 112;
const FINEST: i128 = 1 << 76;

/// A figure as the text `numerator/denominator` of picometres.
#[derive(Clone, Copy, Deserialize)]
#[serde(try_from = "String")]
pub(super) struct Fraction(pub(super) Figure);

/// A verdict has one for each position, so that they are many, and nearly all of them whole.
impl Serialize for Fraction {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let (numerator, denominator) = (self.0.numerator(), self.0.denominator());
        let whole = i64::try_from(numerator).ok().filter(|_| denominator == 1);
        let mut room = [0; MOST_LETTERS];
        let text = whole.and_then(|whole| std::str::from_utf8(whole_text(whole, &mut room)).ok());
        match text {
            Some(text) => to.serialize_str(text),
            None => to.collect_str(&format_args!("{numerator}/{denominator}")),
        }
    }
}

/// The letters of the longest [`whole_text`]: a sign, 19 digits, `/1`.
const MOST_LETTERS: usize = 22;

/// A whole number as a fraction, written from its end.
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
    use quantity::Unit;

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
    fn a_figure_is_written_as_its_two_numbers() {
        let wholes = [0, 1, -1, 9, 10, -10, 120_000_000_000, i64::MAX.into(), i64::MIN.into()];
        let beyond = [i128::from(i64::MAX) + 1, i128::from(i64::MIN) - 1, LARGEST];
        for numerator in wholes.into_iter().chain(beyond) {
            for denominator in [1, 7, 1000] {
                let figure = Figure::new(numerator, denominator);
                let text = serde_json::to_string(&Fraction(figure)).unwrap();
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
