//! A ring on a plate that is worn.

use geometry::{Seating, part};

use super::world::{Dice, Face, range};
use super::{CASES, Row, share};

/// Today the range is that of one seating. Now ring and plate are parted by a quarter turn. It misleads
/// where it is further from the truth than one seating was.
pub(crate) fn tried(dice: &mut Dice, s: f64) -> Row {
    let (mut today, mut now, mut silent, mut misleads) = (0.0, 0.0, 0, 0);
    for _ in 0..CASES {
        let ring = Face::drawn(dice, &[40.0, 20.0, 10.0]).touched_at(8);
        let plate = Face::drawn(dice, &[20.0, 20.0, 10.0]).touched_at(8);
        let lies = |turned: usize| -> Vec<f64> {
            (0..8).map(|at| ring[at] + plate[(at + turned) % 8]).collect()
        };
        let first = dice.touched(&lies(0), s);
        let second = dice.touched(&lies(2), s);
        let seatings =
            [Seating { turned: 0, heights: &first }, Seating { turned: 2, heights: &second }];
        let parted = part(&seatings).expect("two seatings");
        let truth = range(&ring);
        let (once, twice) = (range(&first) - truth, range(&parted.ring) - truth);
        today += once * once;
        // A plate that is no larger than its own scatter says nothing.
        if range(&parted.plate) <= 3.0 * 2.0_f64.sqrt() * s {
            silent += 1;
            now += once * once;
            continue;
        }
        now += twice * twice;
        misleads += u32::from(twice.abs() > once.abs() + 2.0 * s);
    }
    let root = |sum: f64| (sum / f64::from(CASES)).sqrt();
    Row {
        today: format!("range off by {:.1}", root(today)),
        now: format!("by {:.1}", root(now)),
        misleads: share(misleads),
        silent: share(silent),
    }
}
