//! How much of two lobes, a saddle of a face or an oval of a turn, a few touches are sure to see.
//!
//! Touches lie equally spaced on a circle and the lobes turned the unluckiest way. The share is of
//! the true peak-to-valley.

use super::rank::Point;
use super::zone::minimum_zone;
use quantity::{Figure, Grid, Length, position_angle_deg};

/// Above as many touches on a circle the share is above 0.999 either way.
const NEARLY_ALL: u32 = 101;

/// The share of two lobes that highest minus lowest of `touches` on a circle is sure to show; 0
/// where all of it can be missed.
///
/// Touches meet two lobes at `p` equally spaced phases: all of an odd number, half of an even one,
/// opposite touches meeting the same. The lobes stand worst with a crest on a phase (p odd), where
/// the nearest valley is half a step off: cos²(π/2p); or with all crests between phases (p even):
/// cos(π/p).
#[must_use]
pub fn range_share_of_two_lobes(touches: u32) -> f64 {
    let phases = if touches.is_multiple_of(2) { touches / 2 } else { touches };
    if phases < 3 {
        return 0.0;
    }
    let step = std::f64::consts::PI / f64::from(phases);
    if phases.is_multiple_of(2) { step.cos() } else { (step / 2.0).cos().powi(2) }
}

/// The share that the minimum zone of the touches is sure to keep; 0 where all can be missed.
///
/// Of an even number it is that of the range: opposite touches are alike, so no tilt of the planes
/// brings them closer. Of an odd number, where a plane takes some of the lobes with it, the zone is
/// worked out with a crest and with a valley at the first touch and half way between, which are the
/// extremes by symmetry.
#[must_use]
pub fn zone_share_of_two_lobes(touches: u32) -> f64 {
    if touches.is_multiple_of(2) || touches > NEARLY_ALL {
        return range_share_of_two_lobes(touches);
    }
    let half_way = 90.0 / f64::from(touches.max(1));
    let shares = [0.0, half_way].map(|turned_deg| zone_share_at(touches, turned_deg));
    shares[0].min(shares[1])
}

/// The share of the lobes that is left in the zone with the first crest at an angle.
pub(super) fn zone_share_at(touches: u32, crest_deg: f64) -> f64 {
    const HALF: f64 = 1e9;
    let radius = Length::from_picometres(1_000_000_000_000);
    let point = |position| {
        let angle = position_angle_deg(position, touches);
        let lobes = (2.0 * (angle - crest_deg)).to_radians().cos();
        #[expect(clippy::cast_possible_truncation, reason = "a thousand million at most")]
        let height = (HALF * lobes).round() as i64;
        Point { at: Grid::on_circle(radius, angle), height }
    };
    let points: Vec<Point> = (0..touches).map(point).collect();
    let zone = if touches < 4 { None } else { minimum_zone(&points).ok() };
    zone.map_or(0.0, |zone| Figure::to_f64(zone.width) / (2.0 * HALF))
}

#[cfg(test)]
mod tests;
