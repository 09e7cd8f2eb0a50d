//! Whether two sets of figures are the same.

use bench::verdict::Figures;

/// Exact figures exactly, those in binary floats to a relative 1e-9: another processor or library
/// may round a sine differently.
pub(super) fn same_figures(stored: &Figures, again: &Figures) -> bool {
    let (mut stored, mut again) = (stored.clone(), again.clone());
    let (plain, angles) = taken_out(&mut stored);
    let (other_plain, other_angles) = taken_out(&mut again);
    // Taking the floats out leaves zeros, so that all else is compared, and how many there were.
    stored == again
        && plain.iter().zip(&other_plain).all(|(a, b)| close(*a, *b, false))
        && angles.iter().zip(&other_angles).all(|(a, b)| close(*a, *b, true))
}

/// The numbers in binary floats, and of them apart those that are angles on a circle.
fn taken_out(figures: &mut Figures) -> (Vec<f64>, Vec<f64>) {
    let mut plain: Vec<&mut f64> = Vec::new();
    let mut angles: Vec<&mut f64> = Vec::new();
    plain.extend(&mut figures.slope_urad);
    angles.extend(&mut figures.high_side_deg);
    plain.extend(&mut figures.high_side_u_deg);
    plain.extend(&mut figures.saddle_factor);
    angles.extend(figures.harmonics.iter_mut().map(|lobe| &mut lobe.high_deg));
    angles.extend(&mut figures.axis_deg);
    for station in &mut figures.stations {
        angles.extend(&mut station.high_side_deg);
        angles.extend(&mut station.axis_deg);
        angles.extend(station.bar.as_mut().map(|(_, angle)| angle));
    }
    if let Some(axis) = &mut figures.axis {
        angles.extend([&mut axis.offset_deg, &mut axis.tilt_deg]);
        plain.push(&mut axis.tilt_urad);
    }
    for predicted in &mut figures.predicted {
        plain.push(&mut predicted.factor);
        angles.push(&mut predicted.axis_deg);
    }
    if let Some(pair) = &mut figures.pair {
        let loads = pair.preload_n.iter_mut().chain(&mut pair.loads_n);
        plain.extend(loads.flat_map(|(one, other)| [one, other]));
    }
    plain.extend(&mut figures.rate);
    plain.extend(&mut figures.half_angle_deg);
    if let Some(took) = &mut figures.took_off {
        angles.extend(&mut took.more_deg);
    }
    let taken = |floats: Vec<&mut f64>| floats.into_iter().map(std::mem::take).collect();
    (taken(plain), taken(angles))
}

fn close(stored: f64, again: f64, on_a_circle: bool) -> bool {
    let apart = (stored - again).abs();
    let apart = if on_a_circle { apart.min((360.0 - apart).abs()) } else { apart };
    let size = if on_a_circle { 360.0 } else { stored.abs().max(again.abs()) };
    apart <= 1e-9 * size || stored.to_bits() == again.to_bits()
}
