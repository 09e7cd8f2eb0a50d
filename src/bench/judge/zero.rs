//! The zero from which the readings of a try are taken.
//!
//! The zero of a length, and so of every difference that uses it, is a straight line in the order of
//! touches, from the opening to the closing touch on the master: the walk of the zero is spread evenly over
//! the touches in between. All other checks against a master use the opening touch alone: they are ranges,
//! and a line that nobody saw to be straight would change their form. Where three touches of one surface
//! show a drift to be even, it is taken out of them, too (`drift.rs`).

use num_rational::Ratio;

use judgement::Walk;
use quantity::{Figure, Length};

use crate::fact::row::State;
use crate::fact::seq::Seq;
use crate::judge::drift;
use crate::judge::even::Timed;
use crate::plan::{Check, MasterUse, Stand};
use crate::state::Attempt;

/// The zero of a try.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Zero {
    /// What the opening touch showed above the size of the master; `None` where no master is touched, so
    /// that the readings are used as they are.
    opening: Option<i64>,
    /// Closing minus opening touch; `None` without a closing one. Of other checks, the even drift that is
    /// taken out.
    walk: Option<Length>,
    /// How far the line may be bent, where a third touch showed that it is straight.
    bent: Option<Length>,
    /// The touches that count from the opening to the closing one, in order.
    order: Vec<Seq>,
    /// The same with their times, where the line is one in time.
    times: Option<Timed>,
}

impl Zero {
    pub(super) fn of_try(check: &Check, attempt: &Attempt) -> Self {
        let line = drift::taken_out(check, attempt);
        let bent = line.as_ref().map(|line| line.drift.bent_by());
        let (drift, drifts) = line
            .filter(|_| !check.traits().sizes)
            .map_or_else(|| (None, Vec::new()), |line| (Some(line.drift.far()), line.order));
        let opening = attempt.opening_touch().filter(|_| check.master != MasterUse::None);
        let Some(opening) = opening else {
            return Self { opening: None, walk: drift, bent, order: drifts, times: None };
        };
        let size = check.master_size.unwrap_or_default();
        let above = opening.value.length.picometres() - size.picometres();
        let lies = check.traits().sizes;
        // A single touch between two positions is no walk.
        let closing = attempt.closing_touch().filter(|closing| lies && closing.id > opening.id);
        let walk = closing.and_then(|last| last.value.length.checked_sub(opening.value.length));
        let order = closing.map_or(drifts, |closing| drift::order(attempt, opening.id, closing.id));
        Self { opening: Some(above), walk: walk.or(drift), bent, order, times: None }
    }

    /// The readings as they are, where a drift would be taken out of them.
    pub(super) fn without_drift(self, check: &Check) -> Self {
        let lies = check.traits().sizes;
        if lies { self } else { Self { walk: None, bent: None, order: Vec::new(), ..self } }
    }

    /// The same as if it had walked evenly by this much over these touches, in time where that is known.
    pub(super) fn walking(self, walk: Length, order: Vec<Seq>, times: Option<Timed>) -> Self {
        Self { walk: Some(walk), bent: None, order, times, ..self }
    }

    /// A reading minus the zero at its place; picometres, exact.
    pub(super) fn at(&self, reading: Seq) -> Figure {
        let opening = Figure::new(self.opening.unwrap_or_default().into(), 1);
        let Some(walk) = self.walk else { return opening };
        let place = self.place(reading);
        opening + Figure::new(i128::from(walk.picometres()) * place.numer(), *place.denom())
    }

    /// The mean size that the touches at a position show, to the nearest picometre, a half rounded up;
    /// `None` where the position holds no touch.
    pub(super) fn size_at(&self, attempt: &Attempt, position: u32) -> Option<Length> {
        if self.walk.is_none() {
            return self.standing_size_at(attempt, position);
        }
        let sizes = attempt
            .all_at(position)
            .map(|touched| Figure::from(touched.value.length) - self.at(touched.id));
        let (sum, count) =
            sizes.fold((Figure::ZERO, 0), |(sum, count), one| (sum + one, count + 1));
        let mean = (count > 0).then(|| sum / count)?;
        let nearest = -(-mean - Figure::new(1, 2)).ceil();
        i64::try_from(nearest).ok().map(Length::from_picometres)
    }

    /// The same where the zero does not walk: whole numbers are enough.
    fn standing_size_at(&self, attempt: &Attempt, position: u32) -> Option<Length> {
        let zero = i128::from(self.opening.unwrap_or_default());
        let sizes = attempt
            .all_at(position)
            .map(|touched| i128::from(touched.value.length.picometres()) - zero);
        let (sum, count) = sizes.fold((0_i128, 0_i128), |(sum, count), one| (sum + one, count + 1));
        let nearest = (2 * sum + count).checked_div_euclid(2 * count)?;
        i64::try_from(nearest).ok().map(Length::from_picometres)
    }

    /// How far along the line a reading lies: 0 at the opening touch, 1 at the closing one and after it,
    /// since nothing shows a further walk there.
    fn place(&self, reading: Seq) -> Ratio<i128> {
        let at = self.times.as_ref().and_then(|times| times.place(reading));
        at.unwrap_or_else(|| drift::place(&self.order, reading))
    }

    /// Whether it is a line that is not level everywhere.
    pub(super) const fn walks(&self) -> bool {
        self.walk.is_some()
    }

    /// Whether the readings are taken from a master at all.
    pub(super) const fn is_touched(&self) -> bool {
        self.opening.is_some()
    }

    /// How many touches on the master it is taken from.
    pub(super) fn touches(&self) -> u32 {
        u32::from(self.opening.is_some()) + u32::from(self.walk.is_some())
    }

    /// How far off the zero may be at the mean place of these readings, because it need not have walked
    /// evenly: e·|walk| with e = max(f, 1 − f), f their mean place. Without a closing touch the walk is
    /// taken as `unseen`, since a walk up to that size would not have been noticed. Where a third touch
    /// showed that it walked evenly, it is how far the line may be bent. Zero without a master.
    fn doubt(&self, judged: &[Seq], unseen: Length) -> Figure {
        match (self.opening, self.walk) {
            (None, _) => Figure::ZERO,
            (Some(_), Some(_)) if let Some(bent) = self.bent => Figure::from(bent),
            (Some(_), None) => Figure::from(unseen),
            (Some(_), Some(walk)) => {
                let count = i128::try_from(judged.len().max(1)).unwrap_or(i128::MAX);
                let sum: Ratio<i128> = judged.iter().map(|id| self.place(*id)).sum();
                let mean = sum / Ratio::from_integer(count);
                let farther = mean.max(Ratio::from_integer(1) - mean);
                let walk = i128::from(walk.picometres()).abs();
                Figure::new(walk * farther.numer(), *farther.denom())
            }
        }
    }
}

/// The zero of the touches at some positions, with its uncertainty. `noise` is how far off noise alone may
/// bring a touch on the master.
pub(super) fn stand(check: &Check, tries: &[&Attempt], positions: &[u32], noise: Length) -> Stand {
    let zeros: Vec<(Zero, Vec<Seq>)> = tries
        .iter()
        .map(|one| {
            let judged = positions.iter().flat_map(|at| one.all_at(*at)).map(|touched| touched.id);
            (Zero::of_try(check, one), judged.collect())
        })
        .collect();
    let count = i64::try_from(zeros.len().max(1)).unwrap_or(i64::MAX);
    let mean = |figures: &mut dyn Iterator<Item = Figure>| {
        figures.fold(Figure::ZERO, |sum, one| sum + one) / count
    };
    let size = Figure::from(check.master_size.unwrap_or_default());
    let at_the_mean = |(zero, judged): &(Zero, Vec<Seq>)| {
        let touches = i64::try_from(judged.len().max(1)).unwrap_or(i64::MAX);
        judged.iter().fold(Figure::ZERO, |sum, id| sum + zero.at(*id)) / touches + size
    };
    // A walk that was seen to be even withholds nothing.
    let uneven = zeros.iter().filter(|(zero, _)| zero.bent.is_none());
    let walks = uneven.filter_map(|(zero, _)| zero.walk);
    let farthest = walks.max_by_key(|walk| walk.picometres().unsigned_abs()).unwrap_or_default();
    let fewest = zeros.iter().map(|(zero, _)| zero.touches()).min().unwrap_or(0);
    let tries = u32::try_from(zeros.len()).unwrap_or(u32::MAX);
    let touched = zeros.iter().all(|(zero, _)| zero.is_touched());
    Stand {
        zero: touched.then(|| mean(&mut zeros.iter().map(at_the_mean))),
        doubt: mean(&mut zeros.iter().map(|(zero, judged)| zero.doubt(judged, noise))),
        walk: Walk { farthest, noise },
        masters: fewest.saturating_mul(tries),
    }
}

/// How far the newest touch of a length is off its nominal, where that is so far that it may be
/// another part or face: more than `wrong_part`, usually ten, tolerances and more than 0.002 in (from memory
/// of the trade).
pub(crate) fn far_off(check: &Check, attempt: &Attempt) -> Option<Length> {
    const FAR: Length = Length::from_picometres(50_800_000);
    if !check.traits().sizes {
        return None;
    }
    let newest = attempt.in_state(State::Placed).next_back()?;
    let zero = Zero::of_try(check, attempt).at(newest.id);
    let off = Figure::from(newest.value.length) - zero - Figure::from(check.nominal?);
    let far = |limit: Figure| off.abs() > limit;
    let off = Length::from_picometres(i64::try_from(off.ceil()).ok()?);
    (far(Figure::from(FAR)) && far(check.traps.wrong_part.of(check.half_width()))).then_some(off)
}
