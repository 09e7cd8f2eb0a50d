//! A shoulder that stays and two rings that may be turned by eighths.

use geometry::{Member, clocking, seen_at_stations};

use super::world::Dice;
use super::{CASES, Row, share};

/// Today the rings go on as they come. Now the best way is taken where it gains more than U; the truth of
/// both is known.
pub(crate) fn tried(dice: &mut Dice, s: f64) -> Row {
    let (mut today, mut now, mut silent, mut misleads) = (0.0, 0.0, 0, 0);
    for _ in 0..CASES {
        let truth = [(20.0, None), (40.0, Some(8)), (40.0, Some(8))].map(|(most, marks)| Member {
            amount: most * (0.5 + dice.share()),
            at_deg: dice.angle(),
            marks,
            weights: vec![1.0],
            u: s,
        });
        let measured = truth.clone().map(|one| {
            let (sine, cosine) = one.at_deg.to_radians().sin_cos();
            let (x, y) = (one.amount * cosine + dice.normal(s), one.amount * sine + dice.normal(s));
            Member { amount: x.hypot(y), at_deg: y.atan2(x).to_degrees(), ..one }
        });
        let told = clocking(&measured).expect("a choice");
        let gain = told.found.seen[0] - told.best.seen[0];
        // Found and best rest on the same rings: what is not known of one ring enters both.
        let u = 2.0 * told.u[0];
        let built = |turned: &[usize]| seen_at_stations(&truth, turned)[0];
        let as_it_comes = built(&told.found.turned);
        today += as_it_comes;
        if gain <= u {
            silent += 1;
            now += as_it_comes;
            continue;
        }
        let better = built(&told.best.turned);
        misleads += u32::from(better > as_it_comes);
        now += better;
    }
    let mean = |sum: f64| sum / f64::from(CASES);
    Row {
        today: format!("bend as it comes {:.1}", mean(today)),
        now: format!("as advised {:.1}", mean(now)),
        misleads: share(misleads),
        silent: share(silent),
    }
}
