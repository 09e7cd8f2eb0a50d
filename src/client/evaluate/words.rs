//! An evaluation as a person reads it.

use crate::client::screen::{Ink, Screen};
use crate::report::word_of;
use crate::wire::EvaluationLine;

/// The figure, what stands beside it, and the verdict, a sentence a line.
pub(super) fn told(line: &EvaluationLine, value: &str, screen: Screen) -> String {
    let mut lines = vec![figure(line)];
    lines.extend(beside(line));
    lines.extend(circles(line));
    lines.extend(waves(line));
    lines.extend(line.advice.iter().map(|advice| format!("Note: {advice}.")));
    lines.extend(verdict(line, value, screen));
    lines.join("\n") + "\n"
}

fn figure(line: &EvaluationLine) -> String {
    let EvaluationLine { n, unit, value, .. } = line;
    let what = match line.measures {
        "flatness" => "the least distance of two parallel planes that hold them",
        "parallelism" => "the highest minus the lowest",
        "runout" => "the total reading",
        "roundness" => "the least distance of two circles about one centre that hold them",
        "straightness" => "the least distance of two parallel lines that hold them",
        _ => "the change of diameter from end to end",
    };
    let zone = line.minimum_zone.as_ref();
    let proved = match zone.map(|zone| zone.certified) {
        Some(true) => ", proved",
        Some(false) => ", not proved: the digits reach too far",
        None => "",
    };
    format!("{} of {n} points: {value} {unit}, {what}{proved}.", capital(line.measures))
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
        parts.push(format!("by least squares {} {unit}", fit.width));
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
        parts.push(format!("rate {rate:.9}{one_in} on the diameter"));
    }
    if let Some(angle) = line.half_angle_deg {
        parts.push(format!("half angle {angle:.6} deg"));
    }
    if let Some(slope) = line.slope_urad {
        parts.push(format!("slope {slope} urad"));
    }
    if let Some(eccentricity) = &line.eccentricity {
        parts.push(format!("eccentricity {eccentricity} {unit}"));
    }
    if let Some(high) = line.high_side_deg {
        parts.push(format!("high side at {high} deg"));
    }
    (!parts.is_empty()).then(|| format!("{}.", capital(&parts.join(", "))))
}

fn circles(line: &EvaluationLine) -> Option<String> {
    let circle = line.circle.as_ref()?;
    let named = [
        ("least squares", &circle.least_squares),
        ("minimum zone", &circle.minimum_zone),
        ("smallest circle around", &circle.minimum_circumscribed),
        ("largest circle inside", &circle.maximum_inscribed),
    ];
    let told = named.iter().filter_map(|(name, width)| {
        width.as_ref().map(|width| format!("{name} {width} {}", line.unit))
    });
    let taken = line.taken_as.map_or_else(String::new, |taken| format!(" r was taken as {taken}."));
    Some(format!("By each centre: {}.{taken}", told.collect::<Vec<_>>().join(", ")))
}

fn waves(line: &EvaluationLine) -> Option<String> {
    let others = line.harmonics.iter().skip(1).filter(|wave| wave.amplitude != "0");
    let told = others.take(4).map(|wave| {
        let (order, amplitude, phase) = (wave.order, &wave.amplitude, wave.phase_deg);
        format!("{order} a turn {amplitude} {}, high at {phase} deg", line.unit)
    });
    let told: Vec<String> = told.collect();
    (!told.is_empty()).then(|| format!("Waves: {}.", told.join("; ")))
}

fn verdict(line: &EvaluationLine, value: &str, screen: Screen) -> Option<String> {
    let (word, tolerance) = (line.verdict?, line.tolerance.as_ref()?);
    let ink = match word {
        "conforms" => Ink::Green,
        "does-not-conform" => Ink::Red,
        _ => Ink::Yellow,
    };
    let known = match &line.uncertainty {
        Some(uncertainty) => format!(", ±{uncertainty}"),
        None => ", by the figure alone: no uncertainty was given".to_owned(),
    };
    let word = screen.ink(&word_of(word), ink);
    Some(format!("{word}. {value} {}, limit {tolerance}{known}.", line.unit))
}
