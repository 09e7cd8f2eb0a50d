//! Faces: the range over the plate or the anvil, flatness, and the figures of a plane through the heights.

use geometry::Zone;
use judgement::{Budget, Width};
use quantity::{Figure, Length, sine_cosine};
use words::{Angle, Bound, ThousandthUp, degrees};

use super::check::Check;
use super::figures::Figures;
use super::judged::{Judged, rounded, rounded_up, thousandths};
use super::series::{Series, Watched};

/// Highest minus lowest, with this uncertainty.
pub(crate) fn range(of: &Series<'_>, budget: Budget) -> Judged {
    let value = range_alone(of);
    let mut figures = plane_figures(of, of.reading.whole().u());
    figures.noise_floor =
        judgement::noise_floor(Width::MaxMinusMin, of.sums.len(), of.spread).map(Bound);
    figures.saddle_factor = whole(of).then(|| saddle_factor(of.check)).flatten();
    let budget = Some(budget);
    let s = of.noise();
    let reads_high =
        of.near_the_ends(s).and_then(|(high, low)| judgement::range_reads_high(high, low, s));
    let limits = of.check.limits;
    let mut judged = Judged { value, budget, limits, figures, reads_high, ..Judged::default() };
    judged.tell_watched_high_side(of);
    judged
}

/// The uncertainty of a range alone.
pub(crate) fn range_doubt(of: &Series<'_>) -> Budget {
    let budget = Budget::default().adding(of.scatter(), 2, 1).adding(of.reading.remains(), 2, 1);
    let [high, low] = of.highest_and_lowest();
    of.with_returns_between(budget, &high, &low)
}

/// The judged figure of a range alone.
pub(crate) fn range_alone(of: &Series<'_>) -> Option<Figure> {
    if of.watched == Some(Watched::Total) {
        return of.keyed_total();
    }
    of.max_minus_min().filter(|_| of.sums.len() > 1)
}

pub(crate) fn flatness(of: &Series<'_>) -> Judged {
    let mut figures = plane_figures(of, of.reading.whole().u());
    figures.noise_floor =
        judgement::noise_floor(Width::MinimumZone, of.sums.len(), of.spread).map(Bound);
    figures.saddle_factor = whole(of).then(|| flat_saddle_factor(of.check)).flatten();
    let limits = of.check.limits;
    let Some(zone) = zone(of) else {
        return Judged { limits, figures, ..Judged::default() };
    };
    let value = of.mean_of(at_their_angles(of).unwrap_or(zone.width));
    figures.minimum_zone = Some(value);
    figures.contacts_upper = of.positions(&zone.upper);
    figures.contacts_lower = of.positions(&zone.lower);
    let budget = Budget::default()
        .weighing(of.scatter(), zone.weights_squared)
        .weighing(of.reading.remains(), zone.weights_squared);
    let (upper, lower) = (&figures.contacts_upper, &figures.contacts_lower);
    let (value, budget) = (Some(value), Some(of.with_returns_between(budget, upper, lower)));
    let s = of.noise();
    let reads_high = judgement::zone_reads_high(near_the_planes(of, &zone, s), s);
    let mut judged = Judged { value, budget, limits, figures, reads_high, ..Judged::default() };
    judged.tell_watched_high_side(of);
    judged
}

/// The minimum zone; `None` for fewer than four points, which always lie in one plane.
pub(crate) fn zone(of: &Series<'_>) -> Option<Zone> {
    let points = of.points();
    if points.len() < 4 { None } else { geometry::minimum_zone(&points).ok() }
}

/// The width of the minimum zone with every touch at its exact angle, to a thousandth of a picometre.
///
/// The contacts and their weights come from positions on a grid of a nanometre, in whole numbers. The grid
/// can change the width by a thousandth of a millionth of the heights, which is enough to put a figure of
/// equal steps out of its limit: 9 touches of exactly 12 um gave 12.00000002.
fn at_their_angles(of: &Series<'_>) -> Option<Figure> {
    let check = of.check;
    let widest = Figure::from(*check.radii.iter().max()?).to_f64();
    let first = of.sums.first()?.1;
    let (mut x, mut y, mut heights) = (Vec::new(), Vec::new(), Vec::new());
    for (position, sum) in &of.sums {
        let (sine, cosine) = sine_cosine(check.angle_deg(*position));
        let radius = Figure::from(check.radius(*position)?).to_f64() / widest;
        x.push(radius * cosine);
        y.push(radius * sine);
        heights.push(Figure::new(i128::from(*sum) - i128::from(first), 1).to_f64());
    }
    let cloud = geometry::Cloud::new(&x, &y, &heights).ok()?;
    thousandths(geometry::minimum_zone_of_cloud(&cloud).ok()?.width)
}

/// The number of touches within three standard deviations of one of the planes of a zone; where the planes
/// can still be tilted, of touches that lie on them.
fn near_the_planes(of: &Series<'_>, zone: &Zone, s: Length) -> usize {
    let Some(slopes) = zone.slopes else { return zone.upper.len() + zone.lower.len() };
    let points = of.points();
    let height = |of: i64| Figure::new(i128::from(of), 1).to_f64();
    let left: Vec<f64> =
        points.iter().map(|point| height(point.height) - slopes.rise(point.at)).collect();
    let highest = left.iter().copied().fold(f64::MIN, f64::max);
    let lowest = left.iter().copied().fold(f64::MAX, f64::min);
    let near = 3.0 * (Figure::from(s) * of.parts).to_f64();
    left.iter().filter(|one| highest - **one <= near || **one - lowest <= near).count()
}

/// All figures of the least-squares plane, where the positions determine one.
pub(crate) fn plane_figures(of: &Series<'_>, u: Length) -> Figures {
    let mut figures = Figures {
        max_minus_min: of.max_minus_min(),
        mean: of.mean(),
        closure: of.closure.map(Figure::from),
        zero_walk: of.zero_walk.map(Figure::from),
        ..Figures::default()
    };
    figures.dish = dish(of);
    let points = of.points();
    let angles: Vec<f64> = of.sums.iter().map(|(p, _)| of.check.angle_deg(*p)).collect();
    if points.len() < 3 || geometry::widest_gap_deg(&angles) >= 180.0 {
        return figures;
    }
    let Ok(plane) = geometry::least_squares(&points) else { return figures };
    let widest = of.check.radii.iter().max().copied().unwrap_or_default();
    let diameter_nm = 2.0 * Figure::from(widest).to_f64() / 1000.0;
    let tilt = plane.tilt_over(diameter_nm) / Figure::new(i128::from(of.parts), 1).to_f64();
    figures.least_squares = thousandths(plane.width()).map(|width| of.mean_of(width));
    if !of.check.tilt_is_the_parts() {
        return figures;
    }
    figures.tilt = thousandths(tilt);
    // A picometre over a nanometre is a thousandth; a microradian is a millionth.
    figures.slope_urad = (diameter_nm > 0.0).then(|| rounded(tilt / diameter_nm * 1000.0));
    if tilt > 0.0 {
        // The formula holds for touches at the diameter of the tilt. On several radii they lie nearer, on
        // average at the root mean square of the radii.
        let at_touches = tilt * root_mean_square(&of.check.radii) / Figure::from(widest).to_f64();
        let within = rounded_up(judgement::high_side_within(points.len(), u, at_touches));
        figures.lies_high_at(Angle::of(degrees(plane.high_side_deg())), within);
    }
    figures
}

/// Whether every position was touched, so that the touches are equally spaced.
fn whole(of: &Series<'_>) -> bool {
    u32::try_from(of.sums.len()) == Ok(of.check.total())
}

/// How many times larger a saddle may be than the range the touches show of it; `None` where they might
/// miss it altogether. For a turn the same holds for an oval, its two lobes.
pub(crate) fn saddle_factor(check: &Check) -> Option<ThousandthUp> {
    factor(geometry::range_share_of_two_lobes(check.on_a_circle()))
}

/// The same for what remains in the minimum zone. Inner circles can only help to see it.
fn flat_saddle_factor(check: &Check) -> Option<ThousandthUp> {
    factor(geometry::zone_share_of_two_lobes(check.on_a_circle()))
}

fn factor(share: f64) -> Option<ThousandthUp> {
    // To a millionth, so that its two decimals are rounded only once.
    (share > 0.0).then(|| ThousandthUp::of((1e6 / share).round() / 1e6))
}

/// Mean of the outermost circle minus mean of the innermost, both touched all round: with missing touches a
/// tilt would look like a dish.
fn dish(of: &Series<'_>) -> Option<Figure> {
    let check = of.check;
    let (outer, inner) = (check.radii.iter().max()?, check.radii.iter().min()?);
    let mean = |radius: &Length| {
        let on = |position: u32| check.radius(position) == Some(*radius);
        let all = (0..check.total()).filter(|position| on(*position)).count();
        let sums: Vec<i64> = of.sums.iter().filter(|(p, _)| on(*p)).map(|(_, sum)| *sum).collect();
        let sum: i128 = sums.iter().map(|sum| i128::from(*sum)).sum();
        let count = i64::try_from(all).ok().filter(|&count| count > 0)?;
        (sums.len() == all).then(|| of.mean_of(Figure::new(sum, 1)) / count)
    };
    if outer == inner { None } else { Some(mean(outer)? - mean(inner)?) }
}

/// The root mean square of some lengths, picometres.
fn root_mean_square(lengths: &[Length]) -> f64 {
    let square = |length: &Length| Figure::from(*length).to_f64().powi(2);
    let count = u32::try_from(lengths.len()).unwrap_or(u32::MAX);
    (lengths.iter().map(square).sum::<f64>() / f64::from(count.max(1))).sqrt()
}
