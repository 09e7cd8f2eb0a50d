//! A study as its published line, and as what is drawn.

use ::evaluate::study::Readings;
use ::report::study::Picture;
use ::words::significant;
use judgement::study::{Anova, AverageAndRange, Components, Repeatability, Source};
use quantity::Unit;
use wire::{AnovaLine, RepeatabilityLine, SourceLine, SpreadLine, SpreadsLine, StudyLine};

use super::words;

/// The line of a study, held against a tolerance of this width.
pub(super) fn line_of(readings: &Readings, tolerance: Option<f64>) -> StudyLine {
    let crossed = &readings.crossed;
    let anova = Anova::of(crossed);
    let repeats = Repeatability::of(&anova);
    let mut line = StudyLine {
        unit: readings.unit.map(Unit::symbol),
        hands: readings.hands.clone(),
        parts: readings.parts.clone(),
        trials: crossed.trials(),
        n: crossed.parts() * crossed.hands() * crossed.trials(),
        mean: crossed.mean(),
        repeatability: RepeatabilityLine {
            s: repeats.s,
            freedom: repeats.freedom,
            at_most: repeats.at_most(),
        },
        anova: table(&anova),
        interaction_pooled: anova.interaction.freedom > 0.0 && anova.is_pooled(),
        components: by_anova(&anova.components(), tolerance, crossed.parts()),
        by_range: by_range(&AverageAndRange::of(crossed), tolerance, crossed.parts()),
        tolerance,
        text: Vec::new(),
    };
    line.text = words::sentences(&line, readings.unit, repeats);
    line
}

fn table(anova: &Anova) -> AnovaLine {
    let line = |source: Source, against: Option<Source>| {
        let held = against.and_then(|other| Anova::held_against(source, other));
        SourceLine {
            squares: source.squares,
            freedom: source.freedom,
            mean_square: source.mean(),
            f: held.map(|(f, _)| f),
            chance: held.map(|(_, chance)| chance),
        }
    };
    let free = |source: Source| source.freedom > 0.0;
    let error = anova.error();
    let pooled = free(anova.interaction) && anova.is_pooled();
    AnovaLine {
        part: free(anova.part).then(|| line(anova.part, Some(error))),
        hand: free(anova.hand).then(|| line(anova.hand, Some(error))),
        interaction: free(anova.interaction)
            .then(|| line(anova.interaction, Some(anova.repeatability))),
        repeatability: line(anova.repeatability, None),
        pooled: pooled.then(|| line(anova.pooled(), None)),
    }
}

/// The spreads of these variances, in the order of the line.
fn spreads(
    [repeatability, reproducibility, part]: [f64; 3],
    interaction: Option<f64>,
    tolerance: Option<f64>,
    categories: Option<u32>,
) -> SpreadsLine {
    let gauge = repeatability + reproducibility;
    let total = gauge + part;
    let one = |variance: f64| SpreadLine {
        s: variance.sqrt(),
        variance,
        percent_contribution: (total > 0.0).then(|| 100.0 * variance / total),
        percent_study: (total > 0.0).then(|| 100.0 * (variance / total).sqrt()),
        percent_of_tolerance: tolerance.map(|width| 600.0 * variance.sqrt() / width),
    };
    SpreadsLine {
        repeatability: one(repeatability),
        reproducibility: one(reproducibility),
        interaction: interaction.map(one),
        gauge: one(gauge),
        part: one(part),
        total: one(total),
        distinct_categories: categories,
    }
}

fn by_anova(found: &Components, tolerance: Option<f64>, parts: usize) -> SpreadsLine {
    let categories = found.distinct_categories().filter(|_| parts > 1);
    let all = [found.repeatability, found.reproducibility(), found.part];
    spreads(all, found.interaction, tolerance, categories)
}

fn by_range(found: &AverageAndRange, tolerance: Option<f64>, parts: usize) -> SpreadsLine {
    let categories = found.distinct_categories().filter(|_| parts > 1);
    let all = [found.repeatability, found.reproducibility, found.part].map(|s| s.powi(2));
    spreads(all, None, tolerance, categories)
}

/// What is drawn of a study.
pub(super) fn picture<'a>(readings: &'a Readings, line: &StudyLine) -> Picture<'a> {
    let crossed = &readings.crossed;
    let by_hand =
        |part: usize| (0..crossed.hands()).map(|hand| crossed.cell(part, hand)).collect::<Vec<_>>();
    let rows: Vec<Vec<&[f64]>> = (0..crossed.parts()).map(by_hand).collect();
    let all = || rows.iter().flatten().flat_map(|cell| cell.iter().copied());
    let ends = [all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max)];
    let unit = line.unit.map(|unit| format!(" {unit}")).unwrap_or_default();
    let [low, high] = ends.map(|end| significant(end, 6));
    let shares = line.components.named().into_iter();
    let shares = shares.filter_map(|(word, spread)| Some((word, spread.percent_study?)));
    Picture {
        hands: &readings.hands,
        parts: &readings.parts,
        shares: shares.collect(),
        ends: [low, high + &unit],
        readings: rows,
    }
}
