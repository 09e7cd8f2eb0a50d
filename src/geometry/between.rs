//! How much higher and lower a face could stand where nobody touched it.

use super::least_cost::{Least, least_cost};
use super::turn::carries;
use super::{TurnError, count};

/// Places round the turn that are looked at, for each wave.
const PLACES_A_WAVE: usize = 24;

/// What the touches leave open of a face that has no wave above some order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Between {
    /// No such face has a larger difference between two of its places, in the unit of the heights.
    AtMost(f64),
    /// No such face comes as close to the touches as asked: it has waves of a higher order.
    MoreWaves,
}

/// The most that two places of a face can differ by: of every face `mean + Σ (a cos kt + b sin kt)` with
/// `k` up to `order` that lies within `within` of each touched height.
///
/// For each pair of places of a grid the largest difference is a linear program. Between the places of the
/// grid a sum of waves stays below its largest value on the grid divided by `cos(π·order / places)` (H.
/// Ehlich and K. Zeller, 1964, from memory), so the bound holds for all places.
///
/// # Errors
/// As for [`waves_at`](super::waves_at): too few angles, or a gap in which a wave could hide.
pub fn between_touches(
    angles_deg: &[f64],
    heights: &[f64],
    (order, within): (usize, f64),
) -> Result<Between, TurnError> {
    super::turn::checked(angles_deg, heights)?;
    carries(angles_deg, order)?;
    // The dual program: shares w of the touches that give the difference of two places, each at the cost of
    // its height and of what it may be off.
    let mut columns = Vec::with_capacity(2 * heights.len());
    let mut cost = Vec::with_capacity(2 * heights.len());
    let first = heights.first().copied().unwrap_or(0.0);
    for (angle, height) in angles_deg.iter().zip(heights) {
        let waves = waves(*angle, order);
        columns.push(waves.clone());
        cost.push(height - first + within);
        columns.push(waves.iter().map(|one| -one).collect());
        cost.push(first - height + within);
    }
    let places = PLACES_A_WAVE * order.max(1);
    let grid: Vec<Vec<f64>> =
        (0..places).map(|place| waves(360.0 * count(place) / count(places), order)).collect();
    let mut most = 0.0_f64;
    for (at, high) in grid.iter().enumerate() {
        for low in grid.iter().skip(at + 1) {
            for (high, low) in [(high, low), (low, high)] {
                let sum: Vec<f64> = high.iter().zip(low).map(|(high, low)| high - low).collect();
                match least_cost(&columns, &sum, &cost) {
                    Least::Cost(cost) => most = most.max(cost),
                    Least::Unbounded | Least::Impossible => return Ok(Between::MoreWaves),
                }
            }
        }
    }
    let widened = most / (std::f64::consts::PI * count(order) / count(places)).cos();
    Ok(Between::AtMost(widened))
}

/// What an angle gives to the mean and to each wave.
fn waves(angle_deg: f64, order: usize) -> Vec<f64> {
    let mut all = vec![1.0];
    for order in 1..=order {
        let (sine, cosine) = (count(order) * angle_deg).to_radians().sin_cos();
        all.extend([cosine, sine]);
    }
    all
}

/// How many touches, evenly round, see a face of waves up to `order` so well that what stands higher
/// between them is at most `share` of its difference.
///
/// Of a wave of order `k` seen by `N` touches the two nearest its crest stand at most `π·k/N` of its turn
/// away. `None` where no number is enough (`share` not above zero).
#[must_use]
pub fn touches_to_see(order: usize, share: f64) -> Option<usize> {
    if !(share > 0.0 && order > 0) {
        return None;
    }
    let angle = (1.0 - share.min(1.0)).acos();
    let wanted = (std::f64::consts::PI * count(order) / angle).ceil();
    (wanted < 1e6).then(|| {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "small, above zero"
        )]
        let wanted = wanted as usize;
        wanted.max(2 * order + 1)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn even(touches: usize) -> Vec<f64> {
        (0..touches).map(|at| 360.0 * count(at) / count(touches)).collect()
    }

    #[track_caller]
    fn at_most(heights: &[f64], asked: (usize, f64)) -> f64 {
        match between_touches(&even(heights.len()), heights, asked).unwrap() {
            Between::AtMost(most) => most,
            Between::MoreWaves => panic!("more waves"),
        }
    }

    #[test]
    fn an_oval_whose_crests_lie_between_the_touches() {
        // 40 40 -40 -40 twice is the second wave of 40·√2 seen half way up: 113 from crest to trough.
        let heights = [40.0, 40.0, -40.0, -40.0, 40.0, 40.0, -40.0, -40.0];
        let most = at_most(&heights, (3, 0.0));
        let true_difference = 80.0 * 2.0_f64.sqrt();
        assert!((true_difference..1.01 * true_difference).contains(&most), "{most}");
        // What the touches may be off can only add to it.
        let doubted = at_most(&heights, (3, 2.73 * 6.0));
        assert!(doubted > most + 2.0 * 2.73 * 6.0, "{doubted}");
    }

    #[test]
    fn the_bound_holds_for_forms_drawn_at_random_and_is_not_far_above() {
        let mut draw = 1_u64;
        let mut next = || {
            draw = draw
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            #[expect(clippy::cast_precision_loss, reason = "a draw")]
            let share = (draw >> 40) as f64 / f64::from(1_u32 << 24);
            200.0 * share - 100.0
        };
        for touches in [7, 8, 11] {
            for order in 1..=3 {
                let factors: Vec<f64> = (0..=2 * order).map(|_| next()).collect();
                let form = |angle: f64| {
                    waves(angle, order).iter().zip(&factors).map(|(one, by)| one * by).sum::<f64>()
                };
                let heights: Vec<f64> = even(touches).into_iter().map(form).collect();
                let all = (0..3600).map(|tenth| form(f64::from(tenth) / 10.0));
                let (low, high) = all
                    .fold((f64::MAX, f64::MIN), |(low, high), one| (low.min(one), high.max(one)));
                let most = at_most(&heights, (order, 0.0));
                assert!(most >= high - low, "{touches} {order}: {most} below {}", high - low);
                assert!(
                    most <= 1.02 * (high - low),
                    "{touches} {order}: {most} above {}",
                    high - low
                );
            }
        }
    }

    #[test]
    fn a_face_with_more_waves_is_told() {
        // The fourth wave of eight touches: no face of three waves comes closer than 40.
        let heights = [40.0, -40.0, 40.0, -40.0, 40.0, -40.0, 40.0, -40.0];
        let asked = |within| between_touches(&even(8), &heights, (3, within)).unwrap();
        assert_eq!(asked(39.0), Between::MoreWaves);
        assert!(matches!(asked(41.0), Between::AtMost(_)));
    }

    #[test]
    fn touches_are_refused_that_could_hide_a_wave() {
        assert!(matches!(
            between_touches(&even(6), &[0.0; 6], (3, 1.0)),
            Err(TurnError::TooFew { order: 3, angles: 6 })
        ));
        assert!(matches!(
            between_touches(&[0.0, 10.0, 20.0, 200.0], &[0.0; 4], (1, 1.0)),
            Err(TurnError::Gap { .. })
        ));
    }

    #[test]
    fn how_many_touches_are_enough() {
        // U 23.5 of a limit of 100.
        assert_eq!(touches_to_see(2, 0.235), Some(9));
        assert_eq!(touches_to_see(3, 0.235), Some(14));
        assert_eq!(touches_to_see(3, 1.5), Some(7));
        assert_eq!(touches_to_see(3, 0.0), None);
        assert_eq!(touches_to_see(3, f64::NAN), None);
    }
}
