//! What another check came to: a fit, a set or a difference is worked out from such.

use judgement::{Budget, Heat, Limits, Reason, TouchedLength, Walk};
use quantity::{Figure, Length, Name};

use super::check::Check;
use super::judged::{SaidOf, Saying};
use super::length::Warm;
use super::series::with_returns;

/// The size that another check came to, with all that a figure made of it depends on.
#[derive(Debug)]
pub struct Other<'a> {
    /// Its part.
    pub part: &'a Name,
    /// `PART/CHECK`.
    pub name: String,
    /// The check.
    pub check: &'a Check,
    /// The mean over its touches, as measured.
    pub measured: Figure,
    /// What is known of its temperatures.
    pub warm: Warm,
    /// How it was touched.
    pub touched: TouchedLength,
    /// What heat does to it by itself.
    pub heat: Heat,
    /// How far off each of its tries was when it came back to its first spot.
    pub returns: Vec<judgement::Part>,
    /// How far its zero walked.
    pub walk: Walk,
    /// The largest step of its readings.
    pub step: Length,
    /// What its figure adds to its uncertainty beside touches, master and heat, as that it does not repeat.
    pub beside: Vec<judgement::Named>,
    /// What withholds a verdict on what is made of it.
    pub reasons: Vec<Reason>,
    /// The cautions of its own verdict.
    pub cautions: Vec<String>,
    /// The numbers of the attempts it comes from.
    pub attempts: Vec<u64>,
}

impl Other<'_> {
    /// Its size at 20 °C where its temperatures are known, otherwise as measured.
    #[must_use]
    pub fn size(&self) -> Figure {
        self.measured - self.warm.off(self.check, self.measured).unwrap_or(Figure::ZERO)
    }

    /// Whether its size is that at 20 °C.
    #[must_use]
    pub fn is_at_twenty(&self) -> bool {
        self.warm.off(self.check, self.measured).is_some()
    }

    /// Whether it stands on the very master of the other one. Two masters of one size are still two: only a
    /// name in the register says which piece it is.
    #[must_use]
    pub fn on_the_master_of(&self, other: &Self) -> bool {
        let both = [self, other].iter().all(|one| one.touched.masters > 0);
        both && self.check.master_name.is_some()
            && self.check.master_name == other.check.master_name
    }

    /// Adds its shares to a budget; that of its master unless it cancels.
    #[must_use]
    pub fn enter(&self, budget: Budget, master_cancels: bool) -> Budget {
        let master = self.touched.master.filter(|_| !master_cancels);
        let budget = judgement::of_size_by_itself(budget, TouchedLength { master, ..self.touched });
        let budget = judgement::of_heat(budget, self.heat);
        let beside = self.beside.iter();
        let budget = beside.fold(budget, |budget, named| budget.adding(*named, 1, 1));
        with_returns(budget, &self.returns)
    }

    /// The reasons that withhold a verdict of this value, a walk of the zero among them.
    #[must_use]
    pub fn withholds(&self, value: Figure, u: Length, limits: Option<Limits>) -> Vec<Reason> {
        let mut reasons = self.reasons.clone();
        let walked = limits.is_some_and(|limits| self.walk.withholds(value, u, limits));
        reasons.extend(walked.then_some(Reason::ZeroMoved));
        reasons.sort_unstable();
        reasons.dedup();
        reasons
    }

    /// A sentence for each of these reasons that says of which check it is.
    #[must_use]
    pub fn why(&self, reasons: &[Reason]) -> Vec<Saying> {
        let one = |reason: &Reason| {
            let text = why_of_another(*reason, &self.name)?;
            Some(Saying { of: SaidOf::Length(*reason), text })
        };
        reasons.iter().filter_map(one).collect()
    }

    /// Its cautions, in the words for what is made of it.
    #[must_use]
    pub fn told_cautions(&self) -> Vec<String> {
        self.cautions.iter().map(|caution| caution_of_another(&self.name, caution)).collect()
    }
}

/// The meaning of a reason for one check that another is made of, and what to do; `None` for a reason that
/// no size can have.
#[must_use]
pub fn why_of_another(reason: Reason, name: &str) -> Option<String> {
    let end = match reason {
        Reason::NotClosed => " was not closed at position 0: measure it again.",
        Reason::NotMastered => " was not held against the master: measure it again.",
        Reason::ZeroMoved => ": the master came back different: measure it again.",
        Reason::Warm => " is not at the temperature of the master: let both lie together.",
        Reason::Overdue => ": its gauge is past its calibration date.",
        Reason::TriesDiffer => ": its tries differ too much to be the same metal.",
        Reason::TouchesDiffer => ": the touches at one position lie too far apart: touch it anew.",
        Reason::GaugeTooCoarse => " was read in steps too coarse for the limit here.",
        Reason::SeatDoubted => ": dirt was found under it in this seating: measure it again.",
        Reason::UnitMixed => ": its units were mixed.",
        Reason::Unproven => ": its gauge is not proven.",
        Reason::DoesNotComeBack => " does not repeat: take it again.",
        Reason::TooFewPositions
        | Reason::OneRadius
        | Reason::CannotProve
        | Reason::Apart
        | Reason::SeatingMoved
        | Reason::NearNoise
        | Reason::NotSteady
        | Reason::CutShort
        | Reason::GapInLog
        | Reason::SensorFrozen
        | Reason::RoomUnknown
        | Reason::GapInTurn => return None,
    };
    Some(format!("{name}{end}"))
}

/// A caution about one check, in the words for what is made of it.
#[must_use]
pub fn caution_of_another(name: &str, caution: &str) -> String {
    format!("Of {name}: {caution}")
}
