//! A ring whose verdict is undecided, limit 100.

use judgement::once_more::{Beside, Look, MOST_PAIRS, Touched, look, next_pair};

use super::world::{Dice, Face, range};
use super::{CASES, Row, share};

/// Today the whole ring is touched once more and both rounds are combined. Now the pair that decides is
/// touched. It misleads where it says the wrong word.
pub(crate) fn tried(dice: &mut Dice, s: f64) -> Row {
    let beside = Beside { limit: 100.0, s, rest: 0.0 };
    let (mut undecided, mut today_settled, mut today_touches) = (0_u32, 0_u32, 0_u32);
    let (mut settled, mut touches, mut silent, mut misleads) = (0_u32, 0_u32, 0, 0);
    for _ in 0..CASES {
        let ring = Face::drawn(dice, &[70.0, 20.0, 10.0]).touched_at(8);
        let first = dice.touched(&ring, s);
        let mut all: Vec<Touched> =
            first.iter().map(|mean| Touched { mean: *mean, touches: 1 }).collect();
        if look(&all, &beside, true) != Look::Undecided {
            continue;
        }
        undecided += 1;
        let again = dice.touched(&ring, s);
        let both: Vec<Touched> = first
            .iter()
            .zip(&again)
            .map(|(one, other)| Touched { mean: f64::midpoint(*one, *other), touches: 2 })
            .collect();
        today_touches += 8;
        today_settled += u32::from(look(&both, &beside, false) != Look::Undecided);
        let mut said = Look::Undecided;
        for _ in 0..MOST_PAIRS {
            let Some(pair) = next_pair(&all, &beside) else { break };
            for at in pair.positions {
                let one = &mut all[at];
                let many = f64::from(one.touches);
                one.mean = (one.mean * many + ring[at] + dice.normal(s)) / (many + 1.0);
                one.touches += 1;
            }
            touches += 2;
            said = look(&all, &beside, false);
            if said != Look::Undecided {
                break;
            }
        }
        let conforms = range(&ring) <= beside.limit;
        match said {
            Look::Undecided => silent += 1,
            Look::Conforms => misleads += u32::from(!conforms),
            Look::Fails => misleads += u32::from(conforms),
        }
        settled += u32::from(said != Look::Undecided);
    }
    let of = f64::from(undecided.max(1));
    let each = |count: u32| f64::from(count) / of;
    Row {
        today: format!(
            "of {:.1} % undecided {:.0} % settled by {:.0} touches",
            100.0 * share(undecided),
            100.0 * each(today_settled),
            each(today_touches)
        ),
        now: format!("{:.0} % by {:.1}", 100.0 * each(settled), each(touches)),
        misleads: each(misleads),
        silent: each(silent),
    }
}
