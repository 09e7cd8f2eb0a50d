//! How much of two lobes (a saddle of a face or an oval of a turn) a few touches show at least.
//!
//! The touches are equally spaced on a circle, and the lobes are turned the worst way for them. The
//! share is of the true peak-to-valley.

use super::rank::Point;
use super::zone::minimum_zone;
use quantity::{Figure, Grid, Length, position_angle_deg};

/// With more touches than this on a circle, the share is above 0.999 in every case.
const NEARLY_ALL: u32 = 101;

/// The share of two lobes that the highest minus the lowest of `touches` on a circle shows at least; 0
/// where all of it can be missed.
///
/// Touches meet two lobes at `p` equally spaced phases: `p` is all of an odd number of touches, and
/// half of an even number, since opposite touches meet the same phase. In the worst case with p odd, a
/// crest is at a phase and the nearest valley is half a step away: cos²(π/2p). With p even all crests
/// are midway between phases: cos(π/p).
#[must_use]
pub fn range_share_of_two_lobes(touches: u32) -> f64 {
    let phases = if touches.is_multiple_of(2) { touches / 2 } else { touches };
    if phases < 3 {
        return 0.0;
    }
    let step = std::f64::consts::PI / f64::from(phases);
    if phases.is_multiple_of(2) { step.cos() } else { (step / 2.0).cos().powi(2) }
}

/// The share that the minimum zone of the touches keeps at least; 0 where all can be missed.
///
/// For an even number it is the same as that of the range: opposite touches read alike, so no tilt of
/// the planes brings them closer. For an odd number a plane takes up some of the lobes, so the zone is
/// worked out with a crest at a touch and with a valley at a touch: by symmetry these are the
/// extremes.
#[must_use]
pub fn zone_share_of_two_lobes(touches: u32) -> f64 {
    if touches.is_multiple_of(2) || touches > NEARLY_ALL {
        return range_share_of_two_lobes(touches);
    }
    let half_way = 90.0 / f64::from(touches.max(1));
    let shares = [0.0, half_way].map(|turned_deg| zone_share_at(touches, turned_deg));
    shares[0].min(shares[1])
}

/// The share of the lobes left in the zone when the first crest is at this angle.
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
