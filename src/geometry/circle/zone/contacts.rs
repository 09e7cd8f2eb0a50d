//! Which of the places that touch the two circles fix the centre between them.

use super::super::vector::Vector;
use super::reach::{Spread, beyond, size};

/// What touches, seen from the centre.
#[derive(Clone, Copy, PartialEq)]
enum Side {
    Outer,
    Inner,
}

/// Two outer and two inner contacts that alternate round the centre, where there are such. Of places
/// that touch equally well, the earlier ones in the list are taken.
pub(super) fn by_turns(
    places: &[Vector],
    centre: Vector,
    spread: &Spread,
    allowed: f64,
) -> ([usize; 2], [usize; 2]) {
    let mut touching: Vec<(f64, usize, Side)> = Vec::new();
    let far_away = centre.length() > FAR * size(places);
    let along = |place: Vector| bearing(place, centre, far_away);
    for (number, place) in places.iter().enumerate() {
        let beyond = beyond(*place, centre);
        let side = if beyond >= spread.high - allowed {
            Side::Outer
        } else if beyond <= spread.low + allowed {
            Side::Inner
        } else {
            continue;
        };
        touching.push((along(*place), number, side));
    }
    touching.sort_by(|one, other| one.0.total_cmp(&other.0).then(one.1.cmp(&other.1)));
    let mut turns: Vec<(usize, Side)> = Vec::new();
    for (_, number, side) in touching {
        match turns.last_mut() {
            Some((first, last)) if *last == side => *first = number.min(*first),
            Some(_) | None => turns.push((number, side)),
        }
    }
    if let ([first, .., last], true) = (&turns[..], turns.len() > 1)
        && first.1 == last.1
    {
        turns[0].0 = first.0.min(last.0);
        turns.pop();
    }
    let two = |side: Side, fallback: usize| {
        let mut of: Vec<usize> =
            turns.iter().filter(|turn| turn.1 == side).map(|turn| turn.0).take(2).collect();
        of.resize(2, of.first().copied().unwrap_or(fallback));
        of.sort_unstable();
        [of[0], of[1]]
    };
    (two(Side::Outer, spread.far), two(Side::Inner, spread.near))
}

/// The bearing of a place seen from a centre. From far away all places lie in one direction; then
/// their distance across that direction separates them better than their angles.
fn bearing(place: Vector, centre: Vector, far_away: bool) -> f64 {
    if far_away {
        return centre.times(1.0 / centre.length()).left().dot(place);
    }
    let from = place.minus(centre);
    from.y.atan2(from.x)
}

/// From a centre farther away than this many times the reach of the places, all lie in one direction.
const FAR: f64 = 1e3;
