//! Verdicts: what was found of one attempt.

use ::words::{Held, Told, size};
use judgement::{Coverage, Known, Limits, Reason, Rule, Word};
use quantity::{Figure, Length, Name, Unit, Wall};

use crate::fact::form::{no_numbers, stored};
use crate::fact::seq::Seq;
pub use kind::figures::{
    Amount, AmountLine, AxisFigures, AxisLine, AxisName, BarFigures, BarLine, Figures, FiguresLine,
    Longer, Mean, MeanLine, NotMeasured, PairFigures, PairLine, Predicted, PredictedLine, Repeat,
    RepeatLine, StationFigures, StationLine, TookOff, TookOffLine, WaveFigure, WaveFigureLine,
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
        /// The attempts whose readings it rests on: its tries, oldest first, itself the last; of a
        /// difference those of the first and then of the second length.
        pub combined: Vec<Seq>,
        /// The mean of the tries at each position that one of them touched, each without what its
        /// setting added; a length against a master is the size. Empty of a turn that was swept: its
        /// samples are in the record as they are.
        pub means: Vec<Mean>,
        /// The figure that is judged; `None` where too little was taken for one.
        pub value: Option<Figure>,
        /// The unit of the tolerance.
        pub unit: Unit,
        /// What it was held against; `None` where nothing is held against limits.
        pub limits: Option<Limits>,
        /// Expanded uncertainty, rounded up to a whole picometre.
        pub uncertainty: Option<Length>,
        /// What the standard uncertainty was multiplied by: 2 where all of it is stated.
        pub k: Option<Coverage>,
        /// Where the worst known share of the uncertainty is from.
        pub known: Known,
        /// The rule the job agreed on.
        pub rule: Rule,
        /// The verdict.
        pub word: Word,
        /// What the simple rule's arithmetic gives.
        pub simple: Option<Word>,
        /// What the guarded rule's arithmetic gives.
        pub guarded: Option<Word>,
        /// Positions of the check.
        pub positions: u32,
        /// Positions that hold a reading that counts.
        pub taken: u32,
        /// Positions left out with a reason.
        pub skipped: u32,
        /// The answer given to a question.
        pub answer: Option<String>,
        /// Every answer given to it for this piece, oldest first, this one the last.
        pub answers: Vec<Answered>,
        /// Everything derived beside the judged figure.
        pub figures: Figures,
        /// Sentences for the person, in the order they matter.
        pub advice: Vec<String>,
        /// Those of them that are told again elsewhere, by what they are of.
        pub sayings: Vec<Saying>,
        /// Those of them that a person must not miss: told wherever the word is told.
        pub cautions: Vec<String>,
        /// Why it was withheld, or may not pass.
        pub reasons: Vec<Reason>,
    }
}

impl Verdict {
    /// The judged figure beside what it was held against, for whoever prints it.
    #[must_use]
    pub fn held(&self) -> Held {
        Held::of(self.value, self.unit)
            .against(self.limits)
            .known_within(self.uncertainty.map(Figure::from))
            .above_noise(self.figures.noise_floor.map(|floor| Figure::from(floor.0)))
            .signed(self.figures.pair.is_some())
    }

    /// Its sentences that are of something.
    pub(crate) fn said_of(&self, of: SaidOf) -> impl Iterator<Item = &str> {
        self.sayings.iter().filter(move |said| said.of == of).map(|said| said.text.as_str())
    }

    /// The judged figure as a person reads it in `unit`; of a bar the limit is told with the station.
    #[must_use]
    pub fn told(&self, unit: Unit) -> Told {
        let told = self.held().told(unit);
        let at = |station: &StationFigures| format!(" at {}", size(station.at.0, unit));
        let at = self.judged_station().map_or_else(String::new, at);
        Told { limit: told.limit.map(|limit| limit + &at), ..told }
    }

    /// What a person reads of it in `unit`: the figures, or the answer given beside the good ones.
    #[must_use]
    pub fn told_beside(&self, good: &[String], unit: Unit) -> Told {
        let Some(answer) = &self.answer else { return self.told(unit) };
        let limit = (!good.is_empty()).then(|| good.join(" or "));
        Told { value: Some(answer.clone()), limit, ..Told::default() }
    }

    /// What the arithmetic of the rule that the job agreed on gives.
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

    /// Where the high side lies and how well that is known, degrees, where it is known well enough
    /// to be told and is more than noise.
    #[must_use]
    pub fn high_side(&self) -> Option<(f64, f64)> {
        self.figures.high_side().filter(|_| !self.is_below_floor())
    }

    /// The station of a bar whose figure is the judged one; nothing on other checks.
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
