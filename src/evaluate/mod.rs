//! What points from a file come to: the file is read into columns, the columns become a face, a line or a
//! turn, and these become figures. Lengths leave as exact figures, at a thousandth of a picometre at
//! the finest; nothing is text but the sentence of what cannot be taken.
//!
//! What is absent: a job, a record, a gauge; opening a file; digits and sentences that are printed.

mod characteristic;
mod ends;
mod evaluation;
mod figures;
mod points;
mod round;
mod scale;

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
    /// Where a verdict turns over: T − U, T, T + U.
    fn borders(self) -> [Figure; 3] {
        let tolerance = Figure::from(self.tolerance);
        let guard = self.uncertainty.map_or(Figure::ZERO, Figure::from);
        [tolerance - guard, tolerance, tolerance + guard]
    }

    /// The verdict on a figure: guarded where an uncertainty is known, simple without. Where it
    /// proves nothing, no rule is asked.
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

/// What is wanted of points.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted {
    /// What they are evaluated for.
    pub measures: Characteristic,
    /// The unit of the figures that are no lengths by themselves (coefficients); without one that of
    /// the heights.
    pub unit: Option<Unit>,
    /// What the figure is held against.
    pub limit: Option<Limit>,
}

/// What points come to, with the verdict where there is a limit.
///
/// # Errors
/// The sentence of what these points cannot tell.
pub fn evaluate(mut points: Points, wanted: Wanted) -> Result<Evaluation, String> {
    let Wanted { measures, unit, limit } = wanted;
    let rows = points.rows();
    let borders = limit.map(Limit::borders);
    let borders = borders.as_ref().map_or(&[][..], |borders| &borders[..]);
    let (figures, unit) = measures.figures(&mut points, unit, borders)?;
    let verdict = limit.map(|limit| limit.verdict(&figures));
    Ok(Evaluation { measures, points: rows, unit, figures, verdict })
}
