//! The high side of a needle that was watched all the way round: the mark that was read off.

use ::words::Angle;
use judgement::Expanded;
use quantity::Figure;

use crate::fact::verdict::Figures;
use crate::judge::Tries;
use crate::state::watched::Watched;

/// Where the highest reading was read off, degrees, and how well that is known: the needle may
/// have stood highest anywhere up to half way to the next mark. Nothing where high and low are no
/// further apart than their uncertainty.
pub(super) fn tell_high_side(
    tries: &Tries,
    (value, expanded): (Option<Figure>, Option<Expanded>),
    figures: &mut Figures,
) {
    let apart =
        value.zip(expanded).is_some_and(|(value, known)| value > Figure::from(known.uncertainty));
    if tries.attempt.watched() != Some(Watched::HighAndLow) || !apart {
        return;
    }
    let Some((position, _)) = tries.sums.iter().max_by_key(|(_, sum)| *sum) else { return };
    let at = Angle::of(::words::degrees(tries.check.angle_deg(*position)));
    figures.lies_high_at(at, crate::judge::rounded_up(tries.check.mark_pitch_deg() / 2.0));
}
