//! What points came to, as values.

use geometry::Method;
use judgement::{Decision, Word};
use quantity::{Figure, Unit};

use crate::Characteristic;

/// What points from a file come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Evaluation {
    /// What they were evaluated for.
    pub measures: Characteristic,
    /// How many there are.
    pub points: usize,
    /// The unit of coefficients, and the one to print lengths in.
    pub unit: Unit,
    /// What they come to.
    pub figures: Figures,
    /// What the limit says of it, where there is one.
    pub verdict: Option<Verdict>,
}

impl Evaluation {
    /// Whether there are so few points that this deserves a word.
    #[must_use]
    pub const fn has_few_points(&self) -> bool {
        self.points < self.measures.enough()
    }
}

/// The judged figure, and those beside it.
#[derive(Debug, Clone, PartialEq)]
pub struct Figures {
    /// The figure that meets the tolerance.
    pub value: Figure,
    /// Whether more points than coefficients were there, so that the figure could have been other
    /// than nothing.
    pub proves: bool,
    /// The others.
    pub beside: Beside,
}

/// What the limit says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Verdict {
    /// The verdict.
    pub word: Word,
    /// What each rule says; `None` where the points prove nothing. The guarded rule counts only where
    /// an uncertainty is known.
    pub rules: Option<Decision>,
}

/// The figures beside the judged one; what does not apply is `None`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Beside {
    /// How many coefficients the positions carry: 3 of a plane, a circle or a first harmonic, 2 of
    /// a line.
    pub rank: usize,
    /// The minimum zone.
    pub zone: Option<ZoneFigure>,
    /// The least-squares plane, line or circle.
    pub least_squares: Option<LeastSquaresFigure>,
    /// The width about the line through the ends.
    pub end_points: Option<Figure>,
    /// The highest minus the lowest.
    pub max_minus_min: Option<Figure>,
    /// The slope of the least-squares plane or line, microradians.
    pub slope_urad: Option<f64>,
    /// Where the high side lies, degrees. Where slope or eccentricity show as nothing it means
    /// nothing.
    pub high_side_deg: Option<f64>,
    /// The amplitude of the first wave of a turn.
    pub eccentricity: Option<Figure>,
    /// The waves of a turn, orders 1, 2, …
    pub waves: Vec<WaveFigure>,
    /// What the column `r` was taken as.
    pub taken_as: Option<TakenAs>,
    /// Roundness by the centre of each circle.
    pub widths: Option<FourCircles<Figure>>,
    /// The circles themselves.
    pub circles: Option<FourCircles<PlacedFigure>>,
    /// Change of diameter over distance along the axis.
    pub rate: Option<f64>,
    /// The angle between axis and side, degrees.
    pub half_angle_deg: Option<f64>,
}

/// A minimum zone with its contacts, rows counted from 0.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneFigure {
    /// Its width.
    pub width: Figure,
    /// Whether it is proved.
    pub certified: bool,
    /// How it was obtained.
    pub method: Method,
    /// The rows that touch its upper, or outer, side.
    pub upper: Vec<usize>,
    /// The rows that touch its lower, or inner, side.
    pub lower: Vec<usize>,
}

/// A least-squares plane, line or circle.
#[derive(Debug, Clone, PartialEq)]
pub struct LeastSquaresFigure {
    /// Largest minus smallest distance from it.
    pub width: Figure,
    /// `[a, b, c]` of the plane `a + b·x + c·y`, `[a, b]` of the line `a + b·x`, `[x, y, radius]`
    /// of a circle: lengths in the evaluation's unit, positions in that of the file's header.
    pub coefficients: Vec<f64>,
}

/// One wave of a turn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaveFigure {
    /// Waves in one turn.
    pub order: usize,
    /// Half its peak-to-valley.
    pub amplitude: Figure,
    /// Its first high spot, degrees.
    pub high_deg: f64,
}

quantity::worded! {
    /// What a column `r` holds.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum TakenAs {
        /// Distances from the centre.
        Radii = "radii",
        /// Deviations from a circle whose radius is not told.
        Deviations = "deviations",
    }
}

/// Something of each of the four circles.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FourCircles<T> {
    /// The least-squares circle; none where a straight line fits better.
    pub least_squares: Option<T>,
    /// The two concentric circles closest together.
    pub minimum_zone: Option<T>,
    /// The smallest circle around all points.
    pub circumscribed: Option<T>,
    /// The largest circle inside; none where the points go round too little of the turn.
    pub inscribed: Option<T>,
}

impl<T> FourCircles<T> {
    /// The same of something else.
    #[must_use]
    pub fn map<U>(self, to: impl Fn(T) -> U) -> FourCircles<U> {
        FourCircles {
            least_squares: self.least_squares.map(&to),
            minimum_zone: self.minimum_zone.map(&to),
            circumscribed: self.circumscribed.map(&to),
            inscribed: self.inscribed.map(&to),
        }
    }
}

/// A circle where it lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlacedFigure {
    /// Its centre.
    pub x: Figure,
    /// Its centre.
    pub y: Figure,
    /// Its radius.
    pub radius: Figure,
}
