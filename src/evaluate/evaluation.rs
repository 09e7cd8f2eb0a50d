//! The results of an evaluation, as values.

use geometry::Method;
use judgement::{Decision, Word};
use quantity::{Figure, Unit};

use crate::Characteristic;

/// The results for points from a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Evaluation {
    /// What they were evaluated for.
    pub measures: Characteristic,
    /// How many points there are.
    pub points: usize,
    /// The unit of coefficients, and the one in which lengths are printed.
    pub unit: Unit,
    /// The figures.
    pub figures: Figures,
    /// The verdict, where there is a limit.
    pub verdict: Option<Verdict>,
}

impl Evaluation {
    /// Whether there are so few points that the result needs a remark.
    #[must_use]
    pub const fn has_few_points(&self) -> bool {
        self.points < self.measures.enough()
    }
}

/// The judged figure, and the others.
#[derive(Debug, Clone, PartialEq)]
pub struct Figures {
    /// The figure that meets the tolerance.
    pub value: Figure,
    /// Whether there were more points than coefficients. If not, the figure is zero whatever was measured.
    pub proves: bool,
    /// The other figures.
    pub beside: Beside,
}

/// The verdict of the limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Verdict {
    /// The verdict.
    pub word: Word,
    /// The answer of each rule; `None` where the points prove nothing. The guarded rule counts only where
    /// the uncertainty is known.
    pub rules: Option<Decision>,
}

/// The figures beside the judged one; `None` where one does not apply.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Beside {
    /// The number of coefficients that the positions determine: 3 for a plane, a circle or a first
    /// harmonic, 2 for a line.
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
    /// The direction of the high side, in degrees. It has no meaning where slope or eccentricity is shown
    /// as zero.
    pub high_side_deg: Option<f64>,
    /// The amplitude of the first wave of a turn.
    pub eccentricity: Option<Figure>,
    /// The waves of a turn, orders 1, 2, …
    pub waves: Vec<WaveFigure>,
    /// Whether the column `r` was read as radii or as deviations.
    pub taken_as: Option<TakenAs>,
    /// Roundness about the centre of each circle.
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
    /// How it was found.
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
    /// The meaning of the numbers in a column `r`.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum TakenAs {
        /// Distances from the centre.
        Radii = "radii",
        /// Deviations from a circle whose radius is not stated.
        Deviations = "deviations",
    }
}

/// A value for each of the four circles.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FourCircles<T> {
    /// The least-squares circle; `None` where a straight line fits better.
    pub least_squares: Option<T>,
    /// The two concentric circles closest together.
    pub minimum_zone: Option<T>,
    /// The smallest circle around all points.
    pub circumscribed: Option<T>,
    /// The largest circle inside; `None` where the points cover too little of the turn.
    pub inscribed: Option<T>,
}

impl<T> FourCircles<T> {
    /// Converts each of the values.
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

/// A circle with its centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlacedFigure {
    /// Its centre.
    pub x: Figure,
    /// Its centre.
    pub y: Figure,
    /// Its radius.
    pub radius: Figure,
}
