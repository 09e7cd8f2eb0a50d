//! An evaluation in words for a person.

use crate::screen::{Ink, Screen};
use ::report::word_of;
use wire::{EvaluationLine, PlacedCircle, WaveLine};

/// The figure, the figures beside it, and the verdict, each sentence on a line of its own.
pub(super) fn told(line: &EvaluationLine, screen: Screen) -> String {
    let mut lines = vec![figure(line)];
    lines.extend(beside(line));
    lines.extend(circles(line));
    lines.extend(waves(line));
    lines.extend(line.advice.iter().map(|advice| format!("Note: {advice}.")));
    lines.extend(verdict(line, screen));
    lines.join("\n") + "\n"
}

fn figure(line: &EvaluationLine) -> String {
    let EvaluationLine { n, unit, value, .. } = line;
    let what = match line.measures {
        "flatness" => ": no two parallel planes hold them closer",
        "parallelism" => ", the highest minus the lowest reading",
        "runout" => ", the highest minus the lowest reading of the turn",
        "roundness" => ": no two circles about one centre hold them closer",
        "straightness" => ": no two parallel lines hold them closer",
        _ if line.rate.is_some_and(|rate| rate < 0.0) => {
            ", by which the diameter shrinks along x from end to end"
        }
        _ => ", by which the diameter grows along x from end to end",
    };
    let zone = line.minimum_zone.as_ref();
    let by_zone = if zone.is_some() { " by the minimum zone" } else { "" };
    let proved = match zone.map(|zone| zone.certified) {
        Some(true) => ", proved",
        Some(false) if line.measures == "roundness" => ", not proved: very many centres come close",
        Some(false) => ", not proved: the numbers have too many digits",
        None => "",
    };
    format!("{} of {n} points: {value} {unit}{by_zone}{what}{proved}.", capital(line.measures))
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn beside(line: &EvaluationLine) -> Option<String> {
    let unit = line.unit;
    let mut parts = Vec::new();
    let has_circle = line.circle.is_some();
    if let Some(fit) = line.least_squares.as_ref().filter(|_| !has_circle) {
        parts.push(match line.measures {
            "flatness" | "straightness" => format!("by least squares {} {unit}", fit.width),
            _ => format!("form about the least-squares fit {} {unit}", fit.width),
        });
    }
    if let Some(ends) = &line.end_points {
        parts.push(format!("from the line through the ends {ends} {unit}"));
    }
    if let Some(range) = line.max_minus_min.as_ref().filter(|range| **range != line.value) {
        parts.push(format!("highest minus lowest {range} {unit}"));
    }
    if let Some(rate) = line.rate {
        let one_in = if rate.abs() > 0.0 {
            format!(" (1 in {:.3})", 1.0 / rate.abs())
        } else {
            String::new()
        };
        parts.push(format!("rate {:.9}{one_in} on the diameter", rate.abs()));
    }
    if let Some(angle) = line.half_angle_deg {
        parts.push(format!("half angle {:.6} deg", angle.abs()));
    }
    // The rate of a taper is its slope, so it is not printed twice.
    if let Some(slope) = line.slope_urad {
        let what = if line.measures == "straightness" { "rise along x" } else { "tilt" };
        parts.push(format!("{what} {}", rise(slope, unit)));
    }
    if let Some(eccentricity) = &line.eccentricity {
        parts.push(format!("eccentricity {eccentricity} {unit}"));
    }
    if let Some(high) = line.high_side_deg {
        parts.push(format!("high side at {high:.1} deg"));
    }
    (!parts.is_empty()).then(|| format!("{}.", capital(&parts.join(", "))))
}

/// A slope as on a level: a microradian is a micrometre per metre.
fn rise(urad: f64, unit: &str) -> String {
    match unit {
        "um" => format!("{urad} um per m"),
        "mm" => format!("{} mm per m", rounded_to(urad / 1e3, 1e6)),
        _ => format!("{} in per in", plain(urad / 1e6)),
    }
}

fn rounded_to(number: f64, parts: f64) -> f64 {
    (number * parts).round() / parts
}

/// A number without exponent, to a thousandth of a millionth, without trailing zeros.
fn plain(number: f64) -> String {
    let text = format!("{number:.9}");
    let short = text.trim_end_matches('0').trim_end_matches('.');
    if short == "-0" { "0".to_owned() } else { short.to_owned() }
}

fn circles(line: &EvaluationLine) -> Vec<String> {
    let unit = line.unit;
    let Some(circle) = &line.circle else { return Vec::new() };
    let named = [
        ("least squares", &circle.least_squares),
        ("minimum zone", &circle.minimum_zone),
        ("smallest circle around", &circle.minimum_circumscribed),
        ("largest circle inside", &circle.maximum_inscribed),
    ];
    let told = named
        .iter()
        .filter_map(|(name, width)| width.as_ref().map(|width| format!("{name} {width} {unit}")));
    let mut lines = vec![format!("By each centre: {}.", told.collect::<Vec<_>>().join(", "))];
    let fit = line.circles.as_ref().and_then(|circles| circles.least_squares.as_ref());
    lines.extend(fit.map(|PlacedCircle { x, y, radius }| {
        format!(
            "Least-squares circle: radius {radius} {unit}, centre at x {x} {unit}, y {y} {unit}."
        )
    }));
    lines.extend(line.taken_as.map(|taken| format!("The column r was taken as {taken}.")));
    lines
}

/// The most waves shown to a person; JSON has all of them.
const WAVES_TOLD: usize = 4;

fn waves(line: &EvaluationLine) -> Option<String> {
    let others = line.harmonics.iter().skip(1).filter(|wave| wave.amplitude != "0");
    let height = |wave: &WaveLine| wave.amplitude.parse::<f64>().unwrap_or(0.0);
    let mut strongest: Vec<&WaveLine> = others.collect();
    strongest.sort_by(|one, other| height(other).total_cmp(&height(one)));
    let told = strongest.into_iter().take(WAVES_TOLD).map(|wave| {
        let WaveLine { order, amplitude, phase_deg } = wave;
        let high = shown_phase(*phase_deg, *order);
        format!("{order} in the turn of ±{amplitude} {}, first high at {high:.1} deg", line.unit)
    });
    let told: Vec<String> = told.collect();
    (!told.is_empty()).then(|| format!("Waves, the strongest first: {}.", told.join("; ")))
}

/// The first high spot, to a tenth of a degree. If it rounds to the angle of the next lobe, the first one is meant.
fn shown_phase(phase_deg: f64, order: usize) -> f64 {
    let shown = rounded_to(phase_deg, 10.0);
    let lobe = u32::try_from(order).map_or(360.0, |order| 360.0 / f64::from(order));
    if shown < lobe { shown } else { 0.0 }
}

fn verdict(line: &EvaluationLine, screen: Screen) -> Option<String> {
    let (word, tolerance) = (line.verdict?, line.tolerance.as_ref()?);
    let known = match &line.uncertainty {
        Some(uncertainty) => format!(", uncertainty ±{uncertainty} {}", line.unit),
        None => ", by the figure alone, no uncertainty given".to_owned(),
    };
    let word = screen.ink(&word_of(word), Ink::of(word));
    Some(format!(
        "{word}. {value} {0}, limit {tolerance} {0}{known}.",
        line.unit,
        value = line.value
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_high_spot_just_short_of_the_next_lobe_is_the_first() {
        let shown = [(179.996, 2), (179.9, 2), (0.0, 1), (359.99, 1), (23.97, 15)];
        let shown = shown.map(|(phase, order)| shown_phase(phase, order).to_string());
        assert_eq!(shown, ["0", "179.9", "0", "0", "0"]);
    }
}
