//! A face whose crests lie between the touches, limit 100.

use geometry::{Between, between_touches, waves_at};

use super::world::{Dice, Face, angles, range};
use super::{CASES, Row, share};

/// How many of the cases are made: the bound takes thousands of small programs each.
const FEWER: u32 = CASES / 20;

/// Today the range of the touches is judged. Now the form of three waves through them is, and the bound is
/// shown. It misleads where a face is wider than the bound; it is silent where no face of three waves fits.
pub(crate) fn tried(dice: &mut Dice, s: f64) -> Row {
    let (mut today, mut now, mut bound) = (0.0, 0.0, 0.0);
    let (mut silent, mut misleads) = (0_u32, 0_u32);
    let places = angles(8);
    for _ in 0..FEWER {
        let face = Face::drawn(dice, &[20.0, 40.0, 30.0]);
        let touched = dice.touched(&face.touched_at(8), s);
        let truth = face.range();
        today += (range(&touched) - truth).powi(2);
        let form = waves_at(&places, &touched, 3).expect("eight touches");
        let all: Vec<f64> = angles(720).into_iter().map(|angle| form.at(angle, 3)).collect();
        now += (range(&all) - truth).powi(2);
        match between_touches(&places, &touched, (3, 2.73 * s)).expect("eight touches") {
            Between::AtMost(most) => {
                bound += most / truth;
                misleads += u32::from(most < truth);
            }
            Between::MoreWaves => silent += 1,
        }
    }
    let of = f64::from(FEWER);
    let root = |sum: f64| (sum / of).sqrt();
    Row {
        today: format!("range off by {:.1}", root(today)),
        now: format!("form by {:.1}, bound at {:.2} of the truth", root(now), bound / of),
        misleads: share(misleads) * f64::from(CASES / FEWER),
        silent: share(silent) * f64::from(CASES / FEWER),
    }
}
