//! The flow of a whole job as steps, and the step that a check belongs to.

use super::check::Check;
use super::plan::{CheckAt, Part, PartKind, Plan};

quantity::worded! {
    /// A step of a job, in the order of the work: common practice, no source.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
    pub enum Step {
        /// What came in, and why; the figures as received.
        Intake = "intake",
        /// The stack comes apart, part by part.
        Teardown = "teardown",
        /// The parts as they were found.
        Inspection = "inspection",
        /// What is kept, reground or replaced.
        Decide = "decide",
        /// Grinding and measuring, until it is right.
        Grind = "grind",
        /// What is matched in pairs.
        Pair = "pair",
        /// The bearings that go in.
        Bearings = "bearings",
        /// The stack goes together.
        Assembly = "assembly",
        /// The nut.
        Nut = "nut",
        /// The run-in.
        RunIn = "run-in",
        /// The last inspection.
        Final = "final",
        /// Signatures, and the job is closed.
        HandOver = "hand-over",
    }
}

impl Plan {
    /// The step of a check: the one that the plan writes, otherwise the one that follows from kind, found
    /// sides and stack. `docs/figures.md` has the rule in words.
    #[must_use]
    pub fn step_of(&self, at: CheckAt) -> Option<Step> {
        let (part, check) = self.at(at)?;
        if let Some(written) = check.step {
            return Some(written);
        }
        let usual = match check.traits().step {
            // What is read on the whole spindle may have a side as it came in.
            Some(Step::Final) => Step::Final,
            Some(step) => return Some(step),
            None => self.usual_step(at, part, check),
        };
        if !self.is_found_side(at) {
            return Some(usual);
        }
        // What is read on the whole spindle is read as it comes in; the parts are inspected when they lie
        // on the bench.
        let whole = usual == Step::Final || check.traits().turns || check.traits().is_answered();
        Some(if whole { Step::Intake } else { Step::Inspection })
    }

    /// Whether a check is the "as found" side of another.
    #[must_use]
    pub fn is_found_side(&self, at: CheckAt) -> bool {
        self.parts.iter().flat_map(|part| &part.checks).any(|check| check.found == Some(at))
    }

    /// The step of a check that is no found side.
    fn usual_step(&self, at: CheckAt, part: &Part, check: &Check) -> Step {
        let traits = check.traits();
        let stacked = self.stack.iter().any(|place| place.part == at.part);
        match part.kind {
            PartKind::Bearing => Step::Bearings,
            PartKind::Bar => Step::Final,
            PartKind::Nut if traits.turns || traits.is_answered() => Step::Nut,
            PartKind::Spacer | PartKind::Shield | PartKind::Nut => Step::Grind,
            PartKind::Shaft | PartKind::Housing | PartKind::Other if traits.turns => Step::Final,
            PartKind::Shaft | PartKind::Housing | PartKind::Other if traits.is_answered() => {
                self.beside_it(at, part, check)
            }
            // Whatever lies in the clamped stack is ground like a spacer.
            PartKind::Other if stacked => Step::Grind,
            PartKind::Shaft | PartKind::Housing | PartKind::Other => Step::Inspection,
        }
    }

    /// What a person answers belongs to the measured checks of its part; where there is none, to the
    /// inspection.
    fn beside_it(&self, at: CheckAt, part: &Part, check: &Check) -> Step {
        if check.found.is_some() {
            // Its found side is read on the whole spindle, and so is this one.
            return Step::Final;
        }
        let places = (0_u16..).zip(&part.checks);
        let mut measured = places.filter(|(_, other)| !other.traits().is_answered());
        let step =
            measured.next().and_then(|(other, _)| self.step_of(CheckAt { check: other, ..at }));
        step.unwrap_or(Step::Inspection)
    }
}
