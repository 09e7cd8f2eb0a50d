//! How well the hands repeat, and how well that itself is known.

use statrs::distribution::{ChiSquared, ContinuousCDF as _};

use super::{Anova, Source};

/// The scatter within a hand on one part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Repeatability {
    /// One standard deviation, in the unit of the readings.
    pub s: f64,
    /// Its degrees of freedom.
    pub freedom: f64,
}

impl Repeatability {
    /// What the trials of a study show, nothing pooled with them.
    #[must_use]
    pub fn of(anova: &Anova) -> Self {
        let Source { freedom, .. } = anova.repeatability;
        Self { s: anova.repeatability.mean().sqrt(), freedom }
    }

    /// How well it is known, as a share of itself: 1/√(2ν) (GUM, JCGM 100:2008, E.4.3; from memory).
    #[must_use]
    pub fn unsure(self) -> f64 {
        1.0 / (2.0 * self.freedom).sqrt()
    }

    /// The value that the true scatter is below in 95 of 100 studies: s·√(ν/χ²), with the 5 % point of χ².
    #[must_use]
    pub fn at_most(self) -> f64 {
        let lowest = ChiSquared::new(self.freedom).map(|chi| chi.inverse_cdf(0.05));
        lowest.map_or(f64::INFINITY, |lowest| self.s * (self.freedom / lowest).sqrt())
    }
}
