//! The difference of two lengths, and its effect on the preload.

mod half;
mod offsets;
mod says;

use ::words::Thousandth;
use num_rational::Ratio;

use judgement::{self, Budget, Heat, Known, Limits, Preload, Reason, Word};
use quantity::{Figure, Length, Wall};

use crate::fact::verdict::{Figures, Longer, PairFigures, SaidOf, Saying};
use crate::judge::figure::InJob;
use crate::plan::{Arrangement, Check, Judged, Pair, rounded, why_of_another, with_returns};
use crate::state::pairs;
pub(super) use half::other;
use half::{Half, half};
use offsets::Offsets;

/// Two lengths touched further apart than this, minutes, were not measured in one sitting (common practice,
/// no source).
const ONE_SITTING_MIN: u32 = 30;

/// The first length minus the second, held against limits about the required difference.
///
/// A single limit T means ±T. Where face offsets are given, the limits of the plan, written about its
/// nominal difference or about 0, are moved to lie about the required one. A limit that would fall between
/// two picometres moves inwards.
pub(super) fn difference(beside: &InJob<'_>, pair: &Pair) -> Judged {
    let rests_on = Some(Vec::new());
    let nothing = |sentence: String| Judged { says: vec![sentence], rests_on, ..Judged::default() };
    let (job, id, check) = (beside.job, beside.id, beside.tries.check);
    let [Some(first), Some(second)] = pair.of.map(|of| pairs::used(job, of, id)) else {
        return Judged::default();
    };
    let offsets = match pair.offsets.as_ref().map(|_| Offsets::read(beside, pair)).transpose() {
        Ok(offsets) => offsets,
        Err(sentence) => return nothing(sentence),
    };
    match (half(job, first), half(job, second)) {
        (Ok(first), Ok(second)) => {
            let found = Found::new(pair, check, [first, second], offsets);
            let rule = job.attempts.get(&id).map(|attempt| attempt.began.pin.rule);
            found.judged(rule.unwrap_or_default())
        }
        (Err(sentence), _) | (_, Err(sentence)) => nothing(sentence),
    }
}

/// The results for a pair.
struct Found<'a> {
    pair: &'a Pair,
    check: &'a Check,
    halves: [Half<'a>; 2],
    offsets: Option<Offsets>,
    /// At 20 °C where both temperatures are known.
    lengths: [Figure; 2],
    /// First minus second.
    value: Figure,
    budget: Budget,
    uncertainty: Length,
    /// The difference that the bearings or the drawing require.
    required: Option<Figure>,
    limits: Option<Limits>,
    longer: Longer,
    apart_min: Option<u32>,
}

impl<'a> Found<'a> {
    fn new(
        pair: &'a Pair,
        check: &'a Check,
        halves: [Half<'a>; 2],
        offsets: Option<Offsets>,
    ) -> Self {
        let lengths = lengths(&halves);
        let value = lengths[0] - lengths[1];
        let budget = budget(pair, &halves, offsets.as_ref());
        let uncertainty = budget.expanded().uncertainty;
        let means = offsets.as_ref().map(Offsets::required);
        let nominal = check.nominal.map(Figure::from);
        let required = means.or(nominal).or_else(|| equal_lengths(check.limits));
        let about = nominal.unwrap_or(Figure::ZERO);
        let limits = check.limits.map(|limits| moved(limits, means.unwrap_or(about) - about));
        let apart_min = apart(&halves);
        let longer = match value.abs() {
            off if off <= Figure::from(uncertainty) => Longer::CannotSay,
            off if off <= Figure::from(uncertainty) * 2 => Longer::Barely,
            _ => Longer::Sure,
        };
        Self {
            pair,
            check,
            halves,
            offsets,
            lengths,
            value,
            budget,
            uncertainty,
            required,
            limits,
            longer,
            apart_min,
        }
    }

    fn judged(self, rule: judgement::Rule) -> Judged {
        let (reasons, sayings) = self.reasons();
        let decision =
            self.limits.map(|limits| judgement::decide(self.value, self.uncertainty(), limits));
        let word =
            decision.map_or(Word::Undecided, |both| judgement::withheld(both.by(rule), &reasons));
        // A withheld figure is no basis for grinding.
        let grind = match word {
            Word::DoesNotConform => true,
            Word::Undecided => reasons.is_empty(),
            Word::Conforms | Word::Incomplete => false,
        };
        let pair = PairFigures {
            lengths: self.lengths,
            longer: self.longer,
            required: self.required,
            preload_n: self.preload_band(),
            loads_n: self.loads(),
            apart_min: self.apart_min,
        };
        Judged {
            value: Some(self.value),
            budget: Some(self.budget.clone()),
            limits: self.limits,
            says: self.says(&pair, grind),
            sayings,
            cautions: self.halves.iter().flat_map(Half::cautions).collect(),
            figures: Figures { pair: Some(pair), ..Figures::default() },
            reasons,
            rests_on: Some(
                self.halves.iter().flat_map(|half| half.combined.iter().map(|id| id.0)).collect(),
            ),
            ..Judged::default()
        }
    }

    /// The reasons to withhold the verdict, and for those that come from one of the lengths, which one.
    fn reasons(&self) -> (Vec<Reason>, Vec<Saying>) {
        let tolerance = self.limits.map(Limits::half_width);
        let mut named = Vec::new();
        let mut halves = Vec::new();
        let warmer = tolerance.and_then(|tolerance| warmer(&self.halves, tolerance));
        for (at, half) in self.halves.iter().enumerate() {
            let mut of_it = half.withheld_by(tolerance);
            // A walk that does not matter for the length may matter for the difference.
            let moved = self
                .limits
                .is_some_and(|limits| half.walk.withholds(self.value, self.uncertainty(), limits));
            of_it.extend(moved.then_some(Reason::ZeroMoved));
            of_it.extend((warmer == Some(at)).then_some(Reason::Warm));
            of_it.sort_unstable();
            of_it.dedup();
            let say = |reason: &Reason| {
                let text = why_of_another(*reason, &half.target)?;
                Some(Saying { of: SaidOf::Length(*reason), text })
            };
            named.extend(of_it.iter().filter_map(say));
            halves.extend(of_it);
        }
        let offsets = self.offsets.as_ref();
        halves.extend(offsets.into_iter().flat_map(Offsets::reasons));
        named.extend(offsets.into_iter().flat_map(Offsets::why));
        let apart = self.apart_min.is_some_and(|minutes| minutes > ONE_SITTING_MIN);
        let mut reasons: Vec<Reason> =
            halves.into_iter().chain(apart.then_some(Reason::Apart)).collect();
        reasons.sort_unstable();
        reasons.dedup();
        (reasons, named)
    }

    const fn uncertainty(&self) -> Length {
        self.uncertainty
    }

    /// How much larger the required difference is than the present one.
    fn change(&self) -> Option<Figure> {
        Some(self.required? - self.value)
    }

    /// +1 where a longer first ring squeezes the bearings, −1 where it loosens them; `None` where the rings
    /// do not change the preload, or where it is not known how the bearings sit.
    const fn squeeze(&self) -> Option<i64> {
        match self.pair.arrangement {
            Some(Arrangement::BackToBack) => Some(1),
            Some(Arrangement::FaceToFace) => Some(-1),
            Some(Arrangement::Tandem) | None => None,
        }
    }

    /// The wanted preload, where an estimate can be made from it: with different sets on the two sides the
    /// bearings do not all carry the same load.
    fn preload(&self) -> Option<(Preload, i64)> {
        let alike = self.offsets.as_ref().is_none_or(Offsets::are_alike_many);
        let (newtons, deflection) = self.pair.preload.filter(|_| alike)?;
        let deflection_pm = Figure::from(deflection).to_f64();
        let usable = newtons > 0.0 && deflection_pm > 0.0;
        usable.then_some(Preload { newtons, deflection_pm }).zip(self.squeeze())
    }

    /// The further closing of the bearings, beyond twice the wanted deflection, equals the difference
    /// beyond the required one: with the required one, each bearing is as deep as when its offset was
    /// measured. Face to face a longer outer ring opens the bearings instead.
    fn preload_band(&self) -> Option<[Thousandth; 2]> {
        let (preload, squeeze) = self.preload()?;
        let more = (self.value - self.required.unwrap_or(Figure::ZERO)) * squeeze;
        let (low, high) = preload.band(more.to_f64(), Figure::from(self.uncertainty()).to_f64());
        Some([low, high].map(Thousandth::of))
    }

    /// The load on each bearing of a set with face offsets, now and with the required difference, newtons
    /// to a thousandth. These are figures of a model; no sentence repeats them. Face to face the inner ring
    /// moves down under load, not up, so every sign is reversed.
    fn loads(&self) -> Vec<[Thousandth; 2]> {
        let (Some((preload, squeeze)), Some(offsets)) = (self.preload(), &self.offsets) else {
            return Vec::new();
        };
        let picometres = |figure: Figure| (figure * squeeze).to_f64();
        let [left, right] =
            offsets.values().map(|side| -> Vec<f64> { side.into_iter().map(picometres).collect() });
        let balanced = |together: Figure| {
            let loads = preload.balanced([&left, &right], picometres(together));
            loads.into_iter().map(rounded)
        };
        let required = balanced(self.required.unwrap_or(Figure::ZERO));
        balanced(self.value).zip(required).map(|(now, then)| [now, then]).collect()
    }
}

/// The ring that heat takes further from its length at 20 °C, where the two differ by more than a tenth of
/// the tolerance of the difference.
fn warmer(halves: &[Half; 2], tolerance: Figure) -> Option<usize> {
    let off = |half: &Half| half.warm.off(half.check, half.length);
    let (first, second) = (off(&halves[0])?, off(&halves[1])?);
    let much = (first - second).abs() * 10 > tolerance;
    much.then_some(usize::from(second.abs() > first.abs()))
}

/// Both lengths, at 20 °C where both temperatures are known: correcting only one would add to the
/// difference what both have in common.
fn lengths(halves: &[Half; 2]) -> [Figure; 2] {
    let measured = [halves[0].length, halves[1].length];
    let off = |half: &Half| half.warm.off(half.check, half.length);
    match (off(&halves[0]), off(&halves[1])) {
        (Some(first), Some(second)) => [measured[0] - first, measured[1] - second],
        _ => measured,
    }
}

fn budget(pair: &Pair, halves: &[Half; 2], offsets: Option<&Offsets>) -> Budget {
    let known = |assumed: bool| if assumed { Known::Assumed } else { Known::Stated };
    let not = pair.assumed;
    let heat = Heat {
        length: halves[0].largest().max(halves[1].largest()),
        expansion: pair.expansion,
        expansion_u: (pair.expansion_u, known(not.expansion)),
        unlike: Ratio::ZERO,
        between_c: (pair.between_c, known(not.between)),
        off_20_c: (pair.off_20_c, known(not.off_20)),
    };
    let mut lengths = [halves[0].touched, halves[1].touched];
    if halves[0].against().is_some() && halves[0].against() == halves[1].against() {
        // With one master for both, the uncertainty of its size drops out of the difference.
        for one in &mut lengths {
            one.master = None;
        }
    }
    let budget = judgement::of_difference(lengths, heat, offsets.map(Offsets::uncertainties));
    halves.iter().fold(budget, |budget, half| with_returns(budget, &half.returns))
}

/// The required difference from limits alone: limits evenly about 0 ask for equal lengths.
fn equal_lengths(limits: Option<Limits>) -> Option<Figure> {
    let even = match limits? {
        Limits::Max(_) => true,
        Limits::Min(_) => false,
        Limits::Band { min, max } => min.picometres().checked_neg() == Some(max.picometres()),
    };
    even.then_some(Figure::ZERO)
}

fn moved(limits: Limits, by: Figure) -> Limits {
    let (min, max) = match limits {
        Limits::Max(limit) | Limits::Min(limit) => (-Figure::from(limit), Figure::from(limit)),
        Limits::Band { min, max } => (Figure::from(min), Figure::from(max)),
    };
    let whole =
        |picometres: i128| Length::from_picometres(i64::try_from(picometres).unwrap_or(i64::MAX));
    Limits::Band { min: whole((min + by).ceil()), max: whole(-(-(max + by)).ceil()) }
}

/// Minutes, rounded up, from the last touch on the one to the first on the other; 0 where they were touched
/// in turns.
fn apart(halves: &[Half; 2]) -> Option<u32> {
    let ((first, last), (other_first, other_last)) =
        halves[0].touched_between().zip(halves[1].touched_between())?;
    let between = |from: Wall, to: Wall| to.micros().saturating_sub(from.micros());
    let gap = between(last, other_first).max(between(other_last, first)).max(0);
    u32::try_from(gap.unsigned_abs().div_ceil(60_000_000)).ok()
}
