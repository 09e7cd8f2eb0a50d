//! The shares of an uncertainty, as figures of a table.

use judgement::{Budget, Entered, Part, Share};
use num_rational::Ratio;
use quantity::{Figure, Length, Unit};

/// One share, in the unit of the budget.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShareTold {
    /// Its name.
    pub share: &'static str,
    /// The standard uncertainty of one touch, or of what it is.
    pub size: String,
    /// How many touches it is the mean of.
    pub touches: u32,
    /// How often its square counts: `2`, `4/9`, or a decimal.
    pub counts: String,
    /// What it adds: the root of what it adds to the sum of squares.
    pub adds: String,
    /// From where it is known: `stated`, `assumed`, `record, 46 pairs`, `stated: bar tb-7 of the register`.
    pub known: String,
    /// Its degrees of freedom; a dash where they have no end.
    pub df: String,
}

impl ShareTold {
    /// The heads of the columns.
    pub const HEADS: [&'static str; 7] =
        ["share", "u", "mean of", "square counts", "adds", "known", "df"];

    /// Its cells, in the order of the heads.
    #[must_use]
    pub fn cells(self) -> [String; 7] {
        let touches = if self.touches > 1 { self.touches.to_string() } else { String::new() };
        let Self { share, size, counts, adds, known, df, .. } = self;
        [share.to_owned(), size, touches, counts, adds, known, df]
    }
}

/// The shares of a budget for people: to a thousandth of a millionth of an inch, so that whoever adds the
/// squares by hand gets the uncertainty to the last digit that is shown of it. `source` names the piece that
/// a share is known from.
#[must_use]
pub fn shares(
    budget: &Budget,
    unit: Unit,
    source: impl Fn(Share) -> Option<String>,
) -> Vec<ShareTold> {
    budget.entered().map(|one| told(one, unit, source(one.named.share))).collect()
}

fn told(one: &Entered, unit: Unit, source: Option<String>) -> ShareTold {
    let part = one.named.part;
    let known = part.known.text();
    let known = match part.count {
        0 => known.to_owned(),
        count => format!("{known}, {count} pairs"),
    };
    let known = match source {
        Some(source) => format!("{known}: {source}"),
        None => known,
    };
    ShareTold {
        share: one.named.share.text(),
        size: small(root_of(one.named.of_one), unit),
        touches: one.named.touches,
        counts: weight(one.weight),
        adds: small(root_of(one.square), unit),
        known,
        df: degrees_of_freedom(part.freedom.degrees()),
    }
}

/// Degrees of freedom, with a dash for an endless number.
#[must_use]
pub fn degrees_of_freedom(degrees: Option<u32>) -> String {
    degrees.map_or_else(|| "–".to_owned(), |degrees| degrees.to_string())
}

/// The standard uncertainty of a budget, as [`shares`].
#[must_use]
pub fn standard_uncertainty(budget: &Budget, unit: Unit) -> String {
    small(root_of(budget.square()), unit)
}

/// The root of a square in square picometres, rounded up to a picometre.
#[must_use]
pub fn root_of(square: u128) -> Length {
    Part { square, ..Part::stated(Length::ZERO) }.u()
}

fn small(u: Length, unit: Unit) -> String {
    let places = match unit {
        Unit::Inch => 9,
        Unit::Millimetre => 8,
        Unit::Micrometre | Unit::Other(_) => 5,
    };
    Figure::from(u).fixed(unit, places)
}

/// `2`, `4/9`; a decimal where the fraction has large numbers.
fn weight(weight: Ratio<i128>) -> String {
    const LARGE: i128 = 1000;
    match (*weight.numer(), *weight.denom()) {
        (whole, 1) => whole.to_string(),
        (over, under) if over < LARGE && under < LARGE => format!("{over}/{under}"),
        (over, under) => format!("{:.4}", Figure::new(over, under).to_f64()),
    }
}
