//! A ring on a stand that drifts, steadily and with a bend.

use judgement::there_and_back;

use super::world::{Dice, Face, range};
use super::{CASES, Row, share};

/// Today a round is closed at position 0 and a steady drift taken out by both touches of it. Now it is
/// touched there and back. It misleads where its range is off by more than its U.
pub(crate) fn tried(dice: &mut Dice, s: f64) -> Row {
    let (mut today, mut now, mut silent, mut misleads) = (0.0, 0.0, 0, 0);
    for _ in 0..CASES {
        let ring = Face::drawn(dice, &[50.0, 20.0, 10.0]).touched_at(8);
        let (steady, bend) = (dice.normal(30.0), dice.normal(30.0));
        let drift = |at: f64| steady * at + bend * at * at;
        let order: Vec<usize> = (0..8).chain([0]).chain((0..8).rev()).collect();
        let mut step = 0.0;
        let mut touched = Vec::new();
        for position in order {
            touched.push(ring[position] + drift(step / 16.0) + dice.normal(s));
            step += 1.0;
        }
        let closure = touched[8] - touched[0];
        let mut step = -1.0;
        let once: Vec<f64> = touched[..8]
            .iter()
            .map(|reading| {
                step += 1.0;
                reading - closure * step / 8.0
            })
            .collect();
        let truth = range(&ring);
        today += (range(&once) - truth).powi(2);
        let told = there_and_back(&touched).expect("a round");
        let off = range(&told.means) - truth;
        now += off * off;
        // Two means of two touches, what bends, and what noise adds to a range.
        let u = 2.0 * (s * s + told.u_of_bow().powi(2)).sqrt() + s;
        if told.bends(s) {
            silent += 1;
        } else {
            misleads += u32::from(off.abs() > u);
        }
    }
    let root = |sum: f64| (sum / f64::from(CASES)).sqrt();
    Row {
        today: format!("range off by {:.1}", root(today)),
        now: format!("by {:.1}", root(now)),
        misleads: share(misleads),
        silent: share(silent),
    }
}
