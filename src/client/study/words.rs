//! What a study shows, for a person.

use ::report::study::{Picture, mark};
use ::report::{Column, Table};
use ::words::significant;
use judgement::study::Repeatability;
use quantity::{Figure, Length, Unit};
use wire::study::{BETWEEN_HANDS, THE_PARTS};
use wire::{SpreadLine, StudyLine, printable};

/// The columns that a drawing takes where nobody says how many there are, and at most.
const COLUMNS: usize = 76;

/// A length as a number of units.
pub(super) fn in_unit(length: Length, unit: Unit) -> f64 {
    let one = Figure::new(i128::from(unit.picometres()), 1).to_f64();
    Figure::from(length).to_f64() / one
}

/// 0.0001 in, the tenth of the trade.
const TENTH: Length = Length::from_picometres(2_540_000);

/// The sentences of a study.
pub(super) fn sentences(
    line: &StudyLine,
    unit: Option<Unit>,
    repeats: Repeatability,
) -> Vec<String> {
    let mut said = vec![repeats_to(line, repeats)];
    said.extend(interaction(line));
    said.extend(categories(line));
    said.extend(line.components.gauge.percent_of_tolerance.map(of_the_tolerance));
    said.extend(unit.map(|unit| for_a_tenth(line, unit)));
    said
}

fn repeats_to(line: &StudyLine, repeats: Repeatability) -> String {
    let unit = line.unit.map(|unit| format!(" {unit}")).unwrap_or_default();
    if repeats.s <= 0.0 {
        return "No reading differs within a hand on one part: the steps of the gauge are too coarse \
                to show how well it repeats."
            .to_owned();
    }
    let (s, most) = (significant(repeats.s, 4), significant(repeats.at_most(), 3));
    let (freedom, unsure) = (repeats.freedom, 100.0 * repeats.unsure());
    format!(
        "One hand repeats to s = {s}{unit}, from {freedom} degrees of freedom: known to {unsure:.0} %, \
         and below {most}{unit} in 95 of 100 studies."
    )
}

fn interaction(line: &StudyLine) -> Option<String> {
    let chance = line.anova.interaction?.chance?;
    let times = (100.0 * chance).round();
    let often = if times < 1.0 {
        "less than once in 100".to_owned()
    } else {
        format!("{times:.0} times in 100")
    };
    Some(if line.interaction_pooled {
        format!("Hands by parts is pooled with repeatability: chance alone makes as much {often}.")
    } else {
        format!(
            "Some hands read some parts otherwise than others do (chance alone: {often}): look how \
             they hold the part, and where they touch it."
        )
    })
}

fn categories(line: &StudyLine) -> Option<String> {
    let found = line.components.distinct_categories?;
    let by_range = line.by_range.distinct_categories;
    let by_range = by_range.filter(|other| *other != found);
    let by_range = by_range.map_or_else(String::new, |other| format!(" ({other} by ranges)"));
    let enough = if found < 5 { ": fewer than 5 are too few to sort by" } else { "" };
    Some(format!("It tells {found} kinds of these parts apart{by_range}{enough}."))
}

/// Up to 10 % is good and above 30 % is not (common practice; AIAG, from memory).
fn of_the_tolerance(percent: f64) -> String {
    let good = match percent {
        percent if percent <= 10.0 => "good",
        percent if percent <= 30.0 => "usable where it matters less",
        _ => "too much to decide by one reading",
    };
    format!("Six s of the measurement are {percent:.0} % of the tolerance: {good}.")
}

/// What it means for a tenth.
fn for_a_tenth(line: &StudyLine, unit: Unit) -> String {
    let s = line.components.gauge.s;
    let tenth = in_unit(TENTH, unit);
    let percent = 600.0 * s / tenth;
    if s <= 0.0 {
        return "For a tenth (0.0001 in): nothing scatters, so the steps of the gauge decide."
            .to_owned();
    }
    let (one, three) = (significant(2.0 * s, 2), significant(2.0 * s / 3.0_f64.sqrt(), 2));
    let (symbol, only) = (unit.symbol(), line.components.repeatability.s >= s);
    // Only what scatters within a hand gets less by touching again.
    let mean = if only { format!(", the mean of three by {three}") } else { String::new() };
    let then = match percent {
        percent if percent <= 10.0 => "it decides a tenth",
        percent if percent <= 30.0 => "it decides a tenth, but for parts close to the limit",
        _ => "it does not decide a tenth by one reading",
    };
    format!(
        "For a tenth (0.0001 in): one reading is off by up to {one} {symbol}{mean} (2 s); six s are \
         {percent:.0} % of it: {then}."
    )
}

/// What stands above the table: what was touched how often, and the drawing.
pub(super) fn head(line: &StudyLine, drawing: &Picture<'_>, width: Option<usize>) -> String {
    let count = |many: usize, one: &str, more: &str| match many {
        1 => format!("1 {one}"),
        many => format!("{many} {more}"),
    };
    let (hands, parts) = (line.hands.len(), line.parts.len());
    let unit = line.unit.map_or_else(String::new, |unit| format!(", in {unit}"));
    let head = format!(
        "{} × {} × {} touches{unit}; mean {}.\n",
        count(hands, "hand", "hands"),
        count(parts, "part", "parts"),
        line.trials,
        significant(line.mean, 6),
    );
    let marked = line.hands.iter().enumerate();
    let marked: Vec<String> =
        marked.map(|(at, name)| format!("{} {}", mark(at), printable(name))).collect();
    let legend = (hands > 1).then(|| format!("{}; * several", marked.join(", ")));
    let mut lines = vec![head];
    lines.extend(legend);
    lines.push(printable_lines(&drawing.text(width.unwrap_or(COLUMNS).min(COLUMNS))));
    lines.join("\n")
}

/// A drawing with the names of parts in it, line by line.
fn printable_lines(drawn: &str) -> String {
    drawn.lines().map(|line| printable(line) + "\n").collect()
}

/// What scatters how much, with the width of the tolerance where there is one.
pub(super) fn table(line: &StudyLine) -> Table {
    let mut table = Table::new(&[
        Column::words("what scatters", 0).key(),
        Column::number("s", 0),
        Column::number("by ranges", 2),
        Column::number("% of tolerance", 1),
        Column::number("% of all", 0),
        Column::drawn("drawn", 3),
    ]);
    let ranges = line.by_range.named();
    // With one hand, or one part, there is nothing between them.
    let apart = |word: &str| match word {
        _ if word == BETWEEN_HANDS => line.hands.len() > 1,
        _ if word == THE_PARTS => line.parts.len() > 1,
        _ => true,
    };
    for (word, spread) in line.components.named().into_iter().filter(|(word, _)| apart(word)) {
        let by_range = ranges.iter().find(|(other, _)| *other == word).map(|(_, other)| other.s);
        let SpreadLine { s, percent_study, percent_of_tolerance, .. } = spread;
        let share = percent_study.unwrap_or(0.0);
        let percent = |percent: f64| format!("{percent:.1} %");
        table.push(&[
            word.to_owned(),
            significant(s, 4),
            by_range.map_or_else(String::new, |s| significant(s, 4)),
            percent_of_tolerance.map_or_else(String::new, percent),
            percent(share),
            Picture::bar(share),
        ]);
    }
    table
}
