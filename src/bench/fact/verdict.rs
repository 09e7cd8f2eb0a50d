//! Verdicts: the result of one attempt.

use ::words::{Held, Told, size};
use judgement::{Coverage, Known, Limits, Reason, Rule, Word};
use quantity::{Figure, Length, Name, Unit, Wall};

use crate::fact::form::{no_numbers, stored};
use crate::fact::seq::Seq;
pub use kind::figures::{
    Amount, AmountLine, AxisFigures, AxisLine, AxisName, BarFigures, BarLine, EachWay, EachWayLine,
    EntryRow, EntryRowLine, Figures, FiguresLine, Longer, Mean, MeanLine, NotMeasured, PairFigures,
    PairLine, Predicted, PredictedLine, Repeat, RepeatLine, StationFigures, StationLine, TookOff,
    TookOffLine, WaveFigure, WaveFigureLine,
};
pub use kind::{SaidOf, Saying};

stored! {
    /// The verdict on one attempt at a check. The newest one of an attempt stands.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Verdict {
        /// The attempt.
        pub attempt: Seq,
        /// Tries that were combined, this one included.
        pub tries: u32,
        /// The attempts whose readings it uses: its tries, oldest first, itself the last; for a difference,
        /// those of the first and then of the second length.
        pub combined: Vec<Seq>,
        /// The mean of the tries at each position that one of them touched, each without what its setting
        /// added; for a length against a master, the size. Empty for a swept turn, whose samples are in the
        /// record.
        pub means: Vec<Mean>,
        /// The figure that is judged; `None` where too little was taken for one.
        pub value: Option<Figure>,
        /// The unit of the tolerance.
        pub unit: Unit,
        /// The limits it was compared with; `None` where there are none.
        pub limits: Option<Limits>,
        /// Expanded uncertainty, rounded up to a whole picometre.
        pub uncertainty: Option<Length>,
        /// The factor on the standard uncertainty: 2 where all of it is stated.
        pub k: Option<Coverage>,
        /// Where the least known share of the uncertainty comes from.
        pub known: Known,
        /// The bench's own record behind its repeatability; `None` where that has no share in it.
        pub repeat: Option<Repeatability>,
        /// The rule the job agreed on.
        pub rule: Rule,
        /// The verdict.
        pub word: Word,
        /// The result of the arithmetic of the simple rule.
        pub simple: Option<Word>,
        /// The result of the arithmetic of the guarded rule.
        pub guarded: Option<Word>,
        /// Positions of the check.
        pub positions: u32,
        /// How often each position is touched; the mean counts.
        pub touches: u32,
        /// Touches that count, at each position at most as many as it takes.
        pub taken: u32,
        /// Positions left out with a reason.
        pub skipped: u32,
        /// The answer given to a question.
        pub answer: Option<String>,
        /// Every answer to it for this piece, oldest first, this one the last.
        pub answers: Vec<Answered>,
        /// All figures other than the judged one.
        pub figures: Figures,
        /// Sentences for a person, the most important first.
        pub advice: Vec<String>,
        /// Those of them that other places need too, with their subject.
        pub sayings: Vec<Saying>,
        /// Those of them that a person must not miss: they are shown wherever the verdict is.
        pub cautions: Vec<String>,
        /// Why it was withheld, or cannot pass.
        pub reasons: Vec<Reason>,
    }
}

stored! {
    /// How much of its own record a bench knows its repeatability from.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub struct Repeatability {
        /// Pairs of readings of one spot, or lifts.
        pub pairs: u32,
        /// Degrees of freedom.
        pub degrees: u32,
    }
}

impl Verdict {
    /// The judged figure beside its limits, for printing.
    #[must_use]
    pub fn held(&self) -> Held {
        Held::of(self.value, self.unit)
            .against(self.limits)
            .known_within(self.uncertainty.map(Figure::from))
            .above_noise(self.figures.noise_floor.map(|floor| Figure::from(floor.0)))
            .signed(self.figures.pair.is_some())
    }

    /// How many touches the check takes, closure and master apart.
    #[must_use]
    pub const fn touches_in_all(&self) -> u32 {
        self.positions.saturating_mul(self.touches)
    }

    /// Its sentences with this subject.
    pub(crate) fn said_of(&self, of: SaidOf) -> impl Iterator<Item = &str> {
        self.sayings.iter().filter(move |said| said.of == of).map(|said| said.text.as_str())
    }

    /// The judged figure for a person, in `unit`; the limit of a bar names its station.
    #[must_use]
    pub fn told(&self, unit: Unit) -> Told {
        let told = self.held().told(unit);
        if !self.unit.is_length() && unit != self.unit {
            // Beside lengths, what is none names its own unit.
            return told.with_symbol(self.unit.symbol());
        }
        let at = |station: &StationFigures| format!(" at {}", size(station.at.0, unit));
        let at = self.judged_station().map_or_else(String::new, at);
        Told { limit: told.limit.map(|limit| limit + &at), ..told }
    }

    /// The result for a person, in `unit`: the figures, or the answer beside the good ones.
    #[must_use]
    pub fn told_beside(&self, good: &[String], unit: Unit) -> Told {
        let Some(answer) = self.answer.as_ref().filter(|_| self.value.is_none()) else {
            return self.told(unit);
        };
        let limit = (!good.is_empty()).then(|| good.join(" or "));
        Told { value: Some(answer.clone()), limit, ..Told::default() }
    }

    /// The result of the arithmetic of the job's rule.
    #[must_use]
    pub const fn by_its_rule(&self) -> Option<Word> {
        match self.rule {
            Rule::Simple => self.simple,
            Rule::Guarded => self.guarded,
        }
    }

    /// Whether the figure lies below what a perfect part would show.
    #[must_use]
    pub fn is_below_floor(&self) -> bool {
        let floor = self.figures.noise_floor.map(Figure::from);
        self.value.zip(floor).is_some_and(|(value, floor)| value < floor)
    }

    /// Where the high side lies and how well that is known, degrees, where it is known well enough to be
    /// shown and is more than noise.
    #[must_use]
    pub fn high_side(&self) -> Option<(f64, f64)> {
        self.figures.high_side().filter(|_| !self.is_below_floor())
    }

    /// The station of a bar whose figure is the judged one; `None` for other checks.
    #[must_use]
    pub fn judged_station(&self) -> Option<&StationFigures> {
        self.figures.stations.iter().find(|station| {
            Some(station.value) == self.value
                && Some(station.tolerance) == self.limits
                && Some(station.uncertainty.0) == self.uncertainty
        })
    }
}

stored! {
    /// An answer given to a question.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Answered {
        /// The attempt it was given in.
        pub attempt: Seq,
        /// The answer.
        pub text: String,
        /// When it was given.
        pub at: Wall,
        /// Who gave it.
        pub by: Option<Name>,
    }
}

no_numbers!(Figures, Mean, Saying);
