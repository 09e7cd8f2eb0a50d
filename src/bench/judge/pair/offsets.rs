//! The face offsets of bearings that a difference is taken with: measured, or written down.

use judgement::{Budget, Part, Reason};
use quantity::{Figure, Length};

use crate::fact::verdict::Saying;
use crate::judge::figure::InJob;
use crate::plan::{Beside as _, CheckAt, Pair};

/// One face offset.
struct Offset {
    value: Figure,
    u: Part,
    /// Why it is no basis, with the sentences.
    reasons: Vec<Reason>,
    why: Vec<Saying>,
}

/// The face offsets of the bearings on the left and on the right.
pub(super) struct Offsets([Vec<Offset>; 2]);

impl Offsets {
    /// Reads all of them; fails with a sentence that names what is missing.
    pub(super) fn read(beside: &InJob<'_>, pair: &Pair) -> Result<Self, String> {
        let [left, right] = pair
            .offsets
            .as_ref()
            .map_or([&[][..], &[][..]], |sides| [&sides[0][..], &sides[1][..]]);
        let side = |side: &[CheckAt]| {
            side.iter().map(|at| read(beside, pair, *at)).collect::<Result<Vec<_>, _>>()
        };
        Ok(Self([side(left)?, side(right)?]))
    }

    fn all(&self) -> impl Iterator<Item = &Offset> {
        self.0.iter().flatten()
    }

    /// The offsets of each side.
    pub(super) fn values(&self) -> [Vec<Figure>; 2] {
        self.0.each_ref().map(|side| side.iter().map(|offset| offset.value).collect())
    }

    /// The difference that they require: the mean of the left ones plus the mean of the right ones.
    pub(super) fn required(&self) -> Figure {
        let mean = |side: Vec<Figure>| {
            let count = i64::try_from(side.len().max(1)).unwrap_or(i64::MAX);
            side.into_iter().fold(Figure::ZERO, |sum, one| sum + one) / count
        };
        let [left, right] = self.values();
        mean(left) + mean(right)
    }

    /// Their standard uncertainties.
    pub(super) fn uncertainties(&self) -> judgement::Offsets {
        self.0.each_ref().map(|side| side.iter().map(|offset| offset.u).collect())
    }

    /// Whether both sides have equally many bearings.
    pub(super) fn are_alike_many(&self) -> bool {
        self.0[0].len() == self.0[1].len()
    }

    pub(super) fn reasons(&self) -> Vec<Reason> {
        self.all().flat_map(|offset| offset.reasons.iter().copied()).collect()
    }

    pub(super) fn why(&self) -> Vec<Saying> {
        self.all().flat_map(|offset| offset.why.iter().cloned()).collect()
    }

    /// The remark about those of which nobody states how well they are known.
    pub(super) fn count_as_exact(&self) -> Option<String> {
        let nothing = |offset: &Offset| offset.u == Part::assumed(Length::ZERO);
        self.all()
            .any(nothing)
            .then(|| "The face offsets count as exact: their uncertainty is not stated.".to_owned())
    }
}

/// One offset: the value of an entry with the uncertainty that the plan states for such, or what was
/// measured with its own.
fn read(beside: &InJob<'_>, pair: &Pair, at: CheckAt) -> Result<Offset, String> {
    let check = beside.job.opened.plan.plan.at(at).map(|(_, check)| check);
    if check.is_some_and(|check| check.traits().is_touched()) {
        let tolerance = beside.tries.check.limits.map(judgement::Limits::half_width);
        let found = beside.other(at, tolerance)?;
        let budget = found.enter(Budget::default(), false);
        let known = budget.known();
        let u = Part { square: budget.square(), known, freedom: budget.freedom(), count: 0 };
        let why = found.why(&found.reasons);
        return Ok(Offset { value: found.size(), u, why, reasons: found.reasons });
    }
    let name = beside.name(at);
    let text = beside.entry(at).ok_or_else(|| format!("{name} is not written down."))?;
    let value = Length::parse_with_unit(&text)
        .map_err(|_| format!("{name} says {text:?}, which is no length with its unit."))?;
    let u = pair.offset_u.map_or(Part::assumed(Length::ZERO), Part::stated);
    Ok(Offset { value: Figure::from(value), u, reasons: Vec::new(), why: Vec::new() })
}
