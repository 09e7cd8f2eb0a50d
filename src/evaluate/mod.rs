//! Evaluates points from a file. The file is read into columns; the columns become a face, a line or a
//! turn; these give figures. Lengths in the result are exact figures, no finer than a thousandth of a
//! picometre. The only text is the sentence about what cannot be taken.
//!
//! What is absent: a job, a record, a gauge; opening a file; the printing of digits and sentences.

mod cells;
mod characteristic;
mod ends;
mod evaluation;
mod figures;
mod points;
mod round;
mod scale;
pub mod study;

#[cfg(test)]
mod tests;

use quantity::{Figure, Length, Unit};

use judgement::{Decision, Limits, Word, decide};

pub use characteristic::Characteristic;
pub use evaluation::{
    Beside, Evaluation, Figures, FourCircles, LeastSquaresFigure, PlacedFigure, TakenAs, Verdict,
    WaveFigure, ZoneFigure,
};
pub use points::Points;

/// The largest figure allowed, and how well the figure is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limit {
    /// The largest figure allowed.
    pub tolerance: Length,
    /// The expanded uncertainty (k = 2) of the figure, where it is known.
    pub uncertainty: Option<Length>,
}

impl Limit {
    /// The values at which a verdict changes: T − U, T, T + U.
    fn borders(self) -> [Figure; 3] {
        let tolerance = Figure::from(self.tolerance);
        let guard = self.uncertainty.map_or(Figure::ZERO, Figure::from);
        [tolerance - guard, tolerance, tolerance + guard]
    }

    /// The verdict on a figure: guarded where an uncertainty is known, otherwise simple. Where the points
    /// prove nothing, no rule is asked.
    fn verdict(self, figures: &Figures) -> Verdict {
        if !figures.proves {
            return Verdict { word: Word::Undecided, rules: None };
        }
        let expanded = self.uncertainty.unwrap_or(Length::ZERO);
        let rules = decide(figures.value, expanded, Limits::Max(self.tolerance));
        let Decision { simple, guarded } = rules;
        let word = if self.uncertainty.is_some() { guarded } else { simple };
        Verdict { word, rules: Some(rules) }
    }
}

/// What points are evaluated for, and how.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted {
    /// What they are evaluated for.
    pub measures: Characteristic,
    /// The unit of coefficients, which are not lengths by themselves; without one, the unit of the heights.
    pub unit: Option<Unit>,
    /// The limit that the figure is compared with.
    pub limit: Option<Limit>,
}

/// The figures of the points, with the verdict where there is a limit.
///
/// # Errors
/// A sentence on why these points give no result.
pub fn evaluate(mut points: Points, wanted: Wanted) -> Result<Evaluation, String> {
    let Wanted { measures, unit, limit } = wanted;
    let rows = points.rows();
    let borders = limit.map(Limit::borders);
    let borders = borders.as_ref().map_or(&[][..], |borders| &borders[..]);
    let (figures, unit) = measures.figures(&mut points, unit, borders)?;
    let verdict = limit.map(|limit| limit.verdict(&figures));
    Ok(Evaluation { measures, points: rows, unit, figures, verdict })
}
