//! Whether a figure changed or was only measured again.
//!
//! The variance of a difference of two independent figures is the sum of both variances (GUM, JCGM
//! 100:2008, 5.1.2, with sensitivities 1 and −1; from memory). The root of the sum of the squares of two
//! expanded uncertainties has k = 2 where both have, and is on the safe side where one has more.

use super::uncertainty::root;
use quantity::{Figure, Length};

/// A change between two measurements of the same characteristic.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Change {
    /// The later figure minus the earlier one.
    pub value: Figure,
    /// Its expanded uncertainty, rounded up to a whole picometre.
    pub uncertainty: Length,
}

impl Change {
    /// From one figure to a later one, each with its expanded uncertainty.
    #[must_use]
    pub fn between(earlier: (Figure, Length), later: (Figure, Length)) -> Self {
        let square = |u: Length| u128::from(u.picometres().unsigned_abs()).saturating_pow(2);
        let sum = square(earlier.1).saturating_add(square(later.1));
        let uncertainty = root(Length::from_picometres(1), sum, 1);
        Self { value: later.0 - earlier.0, uncertainty }
    }

    /// Whether it is more than the two uncertainties together explain. A tie is not.
    #[must_use]
    pub fn is_more_than_measured(self) -> bool {
        self.value.abs() > Figure::from(self.uncertainty)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Unit;

    fn um(text: &str) -> Length {
        Length::parse(text, Unit::Micrometre).unwrap()
    }

    fn change(earlier: (&str, &str), later: (&str, &str)) -> Change {
        let figure = |(value, u): (&str, &str)| (Figure::from(um(value)), um(u));
        Change::between(figure(earlier), figure(later))
    }

    #[test]
    fn squares_of_both_uncertainties_add() {
        // √(0.3² + 0.4²) = 0.5 µm.
        let found = change(("1", "0.3"), ("1.5", "0.4"));
        assert_eq!((found.value, found.uncertainty), (Figure::from(um("0.5")), um("0.5")));
        assert!(!found.is_more_than_measured(), "a tie cannot be told");
        assert!(change(("1", "0.3"), ("1.500001", "0.4")).is_more_than_measured());
        // Smaller counts like larger.
        assert!(change(("1.500001", "0.3"), ("1", "0.4")).is_more_than_measured());
        assert!(!change(("1.5", "0.3"), ("1", "0.4")).is_more_than_measured());
    }

    #[test]
    fn the_uncertainty_is_rounded_up() {
        // √2 µm = 1.414213562… µm.
        assert_eq!(change(("0", "1"), ("0", "1")).uncertainty.picometres(), 1_414_214);
        assert_eq!(change(("0", "0"), ("0", "0")).uncertainty, Length::ZERO);
    }
}
