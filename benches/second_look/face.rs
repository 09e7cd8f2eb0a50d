//! Six rings of one batch that were mixed up.

use judgement::same_face::{Likely, Turns, likely};

use super::world::{Dice, Face};
use super::{CASES, Row, share};

/// Today one of six is guessed. Now its form names it, or nothing does. It misleads where the name is wrong.
pub(crate) fn tried(dice: &mut Dice, s: f64) -> Row {
    let (mut right, mut silent, mut misleads) = (0, 0, 0);
    for _ in 0..CASES {
        let rings: Vec<Vec<f64>> =
            (0..6).map(|_| Face::drawn(dice, &[40.0, 25.0, 15.0]).touched_at(8)).collect();
        let earlier: Vec<Vec<f64>> = rings.iter().map(|ring| dice.touched(ring, s)).collect();
        let candidates: Vec<&[f64]> = earlier.iter().map(Vec::as_slice).collect();
        let now = dice.touched(&rings[2], s);
        match likely(&now, &candidates, (Turns::Marked, s)) {
            Likely::The(2, _) => right += 1,
            Likely::The(..) => misleads += 1,
            Likely::None | Likely::CannotTell => silent += 1,
        }
    }
    Row {
        today: "one in 6 by chance".to_owned(),
        now: format!("named {:.1} %", 100.0 * share(right)),
        misleads: share(misleads),
        silent: share(silent),
    }
}
