//! One line for each verdict, with the arithmetic that a person can do again by hand.

use super::model::{Go, Item};
use super::text::{bracketed, minus, reason, word};
use ::record::VerdictRecord;
use bench::plan::{Check, MasterUse, SizeJudged, Sum, Surface};
use bench::{Attempt, Watched};
use judgement::{Rule, Word};
use quantity::{Figure, Unit};
use words::size;

mod bar;
#[cfg(test)]
mod tests;
mod zone;

/// The arithmetic from the readings to the verdict, in `unit`.
pub(super) fn line(
    item: &Item<'_>,
    go: &Go<'_>,
    record: &VerdictRecord,
    unit: Unit,
) -> Option<String> {
    let verdict = &record.verdict;
    if verdict.value.is_none() {
        return answered(record);
    }
    let sums = sums(item, go, record, unit);
    let rule = if verdict.word == Word::Incomplete {
        Some("stopped before its last position, so held against nothing".to_owned())
    } else {
        rule(record, unit).map(|rule| format!("{rule}{}", withheld(record)))
    };
    let floor = verdict.figures.noise_floor.filter(|_| verdict.is_below_floor()).map(|floor| {
        let floor = Figure::from(floor).shown_up(unit);
        let [told, ..] = verdict.told(unit).cells();
        format!("below the {floor} that a perfect part would show, so told as “{told}”")
    });
    let said: Vec<String> = [sums, floor, rule].into_iter().flatten().collect();
    Some(format!("{}.", said.join("; ")))
}

/// What is added where the verdict differs from the arithmetic alone.
fn withheld(record: &VerdictRecord) -> String {
    let verdict = &record.verdict;
    if verdict.by_its_rule().is_none_or(|word| word == verdict.word) {
        return String::new();
    }
    let why: Vec<&str> = verdict.reasons.iter().map(|one| reason(*one)).collect();
    format!("; but {} all the same: {}", word(verdict.word), why.join(", "))
}

fn answered(record: &VerdictRecord) -> Option<String> {
    let answer = record.verdict.answer.as_ref()?;
    let good = record.good.join(" or ");
    (!good.is_empty()).then(|| format!("Answered “{answer}”; what conforms: {good}."))
}

fn sums(item: &Item<'_>, go: &Go<'_>, record: &VerdictRecord, unit: Unit) -> Option<String> {
    if item.check.total_only() || go.attempt.watched() == Some(Watched::Total) {
        let tries = record.verdict.tries;
        let of = if tries > 1 { format!(", mean of {tries} tries") } else { String::new() };
        return Some(format!("Total reading keyed in{of}: {}", printed(record, unit)?));
    }
    match item.check.traits().sum {
        Sum::Range => range(go, &go.heights, record, unit),
        Sum::Circles => turn(item, go, record, unit),
        Sum::Stations => bar::sum(item, go, record, unit),
        Sum::Zone => zone::sum(item, go, record, unit),
        Sum::Mean => length(item, go, record, unit),
        Sum::Minus => difference(record, unit),
        Sum::Rate => taper(item, record, unit),
        Sum::Ways => ways(item, go, record, unit),
        Sum::None => None,
    }
}

/// A height as it was read, where it is a single reading in the unit of the page.
fn height_text(go: &Go<'_>, (position, height): (u32, Figure), unit: Unit) -> String {
    let read = go.attempt.at(position).map(|touched| touched.value);
    match read {
        Some(value) if value.unit == unit && Figure::from(value.length) == height => value.number(),
        Some(_) | None => height.shown(unit),
    }
}

/// The unit of all readings of an attempt, or the unit of the page where they differ. Sums are done in it,
/// so that they contain no rounded figure.
fn unit_read(go: &Go<'_>, page: Unit) -> Unit {
    let mut units = go.heights.iter().filter_map(|(at, _)| Some(go.attempt.at(*at)?.value.unit));
    let Some(first) = units.next() else { return page };
    if units.all(|unit| unit == first) { first } else { page }
}

/// The judged figure with the digits of the record; in another unit, with the digits shown to people.
fn printed(record: &VerdictRecord, unit: Unit) -> Option<String> {
    let held = record.verdict.held();
    if record.verdict.unit == unit { held.recorded().value_text() } else { held.told(unit).number }
}

/// A result in the unit it was worked out in, and in that of the page; the judged figure has the digits of
/// the record.
fn result(figure: Figure, record: &VerdictRecord, (own, page): (Unit, Unit)) -> String {
    let value = record.verdict.value;
    let judged = value.is_some_and(|value| value.shown(page) == figure.shown(page));
    let text = |unit| {
        let text = printed(record, unit).filter(|_| judged);
        minus(&text.unwrap_or_else(|| figure.shown(unit)))
    };
    if own == page { text(own) } else { format!("{} {own} = {} {page}", text(own), text(page)) }
}

/// Highest minus lowest.
fn range(
    go: &Go<'_>,
    heights: &[(u32, Figure)],
    record: &VerdictRecord,
    page: Unit,
) -> Option<String> {
    let unit = unit_read(go, page);
    let high = heights.iter().rev().max_by_key(|(_, height)| *height)?;
    let low = heights.iter().min_by_key(|(_, height)| *height)?;
    let of = if record.verdict.tries > 1 {
        format!(", means of {} tries", record.verdict.tries)
    } else {
        String::new()
    };
    let at = if go.check.swept().is_some() { "sample" } else { "position" };
    Some(format!(
        "Highest at {at} {}, lowest at {}{of}: {} − {} = {}",
        high.0,
        low.0,
        minus(&height_text(go, *high, unit)),
        bracketed(&height_text(go, *low, unit)),
        result(high.1 - low.1, record, (unit, page)),
    ))
}

/// The circle with the largest range.
fn turn(item: &Item<'_>, go: &Go<'_>, record: &VerdictRecord, unit: Unit) -> Option<String> {
    let check = item.check;
    let rings = u32::try_from(check.radii.len().max(1)).unwrap_or(1);
    let circles =
        (0..rings).map(|ring| circle(go, |at| (at / check.positions.max(1)) % rings == ring));
    let spread = |circle: &Vec<(u32, Figure)>| {
        let high = circle.iter().map(|(_, height)| *height).max();
        high.zip(circle.iter().map(|(_, height)| *height).min()).map(|(high, low)| high - low)
    };
    let worst = circles.rev().max_by_key(spread)?;
    let sum = range(go, &worst, record, unit)?;
    Some(match record.verdict.figures.unfiltered {
        None => sum,
        Some(_) => format!(
            "{sum} as read; {} after waves above the fifteenth were left out",
            printed(record, unit)?
        ),
    })
}

fn circle(go: &Go<'_>, on: impl Fn(u32) -> bool) -> Vec<(u32, Figure)> {
    go.heights.iter().copied().filter(|(at, _)| on(*at)).collect()
}

/// The mean above the master, and the share of heat.
fn length(item: &Item<'_>, go: &Go<'_>, record: &VerdictRecord, page: Unit) -> Option<String> {
    let unit = unit_read(go, page);
    let off = record.verdict.figures.to_20_c;
    let heat = off
        .map_or_else(String::new, |off| format!(" − {} (to 20 °C)", bracketed(&off.shown(unit))));
    let result = result(record.verdict.value?, record, (unit, page));
    if record.verdict.figures.judged == Some(SizeJudged::EveryTouch) {
        return Some(format!("The touch nearest to a limit{heat} = {result}"));
    }
    if record.verdict.tries > 1 {
        return Some(mean_of_tries(go, record, (unit, page), &heat));
    }
    let still = record.verdict.figures.zero_walk.is_none_or(|walk| walk == Figure::ZERO);
    let own = |at: u32| go.attempt.mean_at(at);
    let (of, stands, touches): (&str, String, Vec<(u32, Figure)>) = if still {
        let read = (0..go.attempt.past_highest()).filter_map(|at| Some((at, own(at)?)));
        ("", on_the_master(item.check, go.attempt, unit), read.collect())
    } else {
        let of = "Each touch on the line between both touches on the master: ";
        (of, String::new(), go.heights.clone())
    };
    let count = touches.len();
    let touches: Vec<String> = touches.into_iter().map(|one| height_text(go, one, unit)).collect();
    let sum = plus(&touches);
    Some(format!("{of}({sum}) / {count}{stands}{heat} = {result}"))
}

/// The mean of several tries: the values that the verdict holds at each position.
fn mean_of_tries(
    go: &Go<'_>,
    record: &VerdictRecord,
    (unit, page): (Unit, Unit),
    heat: &str,
) -> String {
    let sizes: Vec<String> = go.heights.iter().map(|(_, height)| height.shown(unit)).collect();
    let stands = if go.attempt.opening().is_some() { ", each above its own master" } else { "" };
    let value = record.verdict.value.unwrap_or(Figure::ZERO);
    format!(
        "Means of {} tries{stands}: ({}) / {}{heat} = {}",
        record.verdict.tries,
        plus(&sizes),
        sizes.len(),
        result(value, record, (unit, page))
    )
}

/// The terms for master and size, where the zero of the master did not move.
fn on_the_master(check: &Check, attempt: &Attempt, unit: Unit) -> String {
    let opening = attempt.opening().filter(|_| check.master != MasterUse::None);
    opening.map_or_else(String::new, |opening| {
        let opening = size(opening, unit);
        let size = size(check.master_size.unwrap_or_default(), unit);
        format!(" − {} (on the master) + {size} (its size)", bracketed(&opening))
    })
}

/// A sum in which negative numbers are written as subtractions.
fn plus(numbers: &[String]) -> String {
    let mut sum = String::new();
    for number in numbers {
        let (sign, size) =
            number.strip_prefix('-').map_or(("+", number.as_str()), |size| ("−", size));
        if sum.is_empty() {
            sum = minus(number);
        } else {
            sum = format!("{sum} {sign} {size}");
        }
    }
    sum
}

fn difference(record: &VerdictRecord, unit: Unit) -> Option<String> {
    let pair = record.verdict.figures.pair.as_ref()?;
    let [one, other] = pair.lengths;
    Some(format!(
        "{} − {} = {}",
        minus(&one.shown(unit)),
        bracketed(&other.shown(unit)),
        minus(&printed(record, unit)?)
    ))
}

/// The error of the rate over the full length.
fn taper(item: &Item<'_>, record: &VerdictRecord, unit: Unit) -> Option<String> {
    let check = item.check;
    let last = check.station_of(check.total().checked_sub(1)?)?;
    let span = Figure::from(last.checked_sub(check.station_of(0)?)?);
    let rate = record.verdict.figures.rate?.told();
    Some(format!(
        "The diameter changes by {rate} for 1 along the axis, the drawing asks for {}; over {} {unit} that is {}",
        check.rate()?,
        span.shown(unit),
        minus(&printed(record, unit)?)
    ))
}

/// The mean of the readings one way minus that of the other.
fn ways(item: &Item<'_>, go: &Go<'_>, record: &VerdictRecord, page: Unit) -> Option<String> {
    let unit = unit_read(go, page);
    let mean = |parity: u32| {
        let of_it = go.heights.iter().filter(|(at, _)| at % 2 == parity);
        let texts: Vec<String> = of_it.map(|one| height_text(go, *one, unit)).collect();
        (!texts.is_empty()).then(|| format!("({}) / {}", plus(&texts), texts.len()))
    };
    let [one, other] = [0, 1].map(|at| item.check.way_of(at).map_or("", |(way, _)| way));
    let value = record.verdict.value?;
    // What is touched from behind counts the other way.
    let (first, then) = match item.check.surface {
        Surface::FarFace => ((one, mean(0)?), (other, mean(1)?)),
        Surface::NearFace | Surface::Outside | Surface::Inside => {
            ((other, mean(1)?), (one, mean(0)?))
        }
    };
    Some(format!(
        "Mean after a {} minus mean after a {}: {} − {} = {}",
        first.0,
        then.0,
        first.1,
        then.1,
        result(value, record, (unit, page))
    ))
}

/// The figure against its limit by the agreed rule.
fn rule(record: &VerdictRecord, unit: Unit) -> Option<String> {
    let word = record.verdict.by_its_rule()?;
    let told = record.verdict.held().told(unit);
    let value = told.number?;
    let value = value.strip_prefix('+').unwrap_or(&value);
    let (u, limits) = (told.uncertainty?, told.limits);
    let said = format!("limit {}; U {u}: ", told.limit?);
    let compared = match record.verdict.rule {
        _ if told.at_least => compared_from_below((value, &u), &limits.join(""), record),
        Rule::Simple => compared_simply(value, &limits, word),
        Rule::Guarded => compared_guarded((value, &u), &limits, word),
    };
    Some(minus(&format!("{said}{compared}")))
}

/// Against a smallest value alone.
fn compared_from_below((value, u): (&str, &str), min: &str, record: &VerdictRecord) -> String {
    match (record.verdict.rule, record.verdict.by_its_rule()) {
        (Rule::Simple, Some(Word::Conforms)) => format!("{value} ≥ {min}"),
        (Rule::Simple, _) => format!("{value} < {min}"),
        (Rule::Guarded, Some(Word::Conforms)) => format!("{value} ≥ {min} + {u}"),
        (Rule::Guarded, Some(Word::DoesNotConform)) => format!("{value} < {min} − {u}"),
        (Rule::Guarded, _) => format!("{min} − {u} ≤ {value} < {min} + {u}"),
    }
}

fn compared_simply(value: &str, limits: &[String], word: Word) -> String {
    let inside = word == Word::Conforms;
    match limits {
        [min, max] if inside => format!("{min} ≤ {value} ≤ {max}"),
        [min, max] => format!("{value} is not from {min} to {max}"),
        [max] if inside => format!("{value} ≤ {max}"),
        _ => format!("{value} > {}", limits.join("")),
    }
}

fn compared_guarded((value, u): (&str, &str), limits: &[String], word: Word) -> String {
    match (limits, word) {
        ([max], Word::Conforms) => format!("{value} ≤ {max} − {u}"),
        ([max], Word::DoesNotConform) => format!("{value} > {max} + {u}"),
        ([max], _) => format!("{max} − {u} < {value} ≤ {max} + {u}"),
        ([min, max], Word::Conforms) => {
            format!("{} + {u} ≤ {value} ≤ {max} − {u}", bracketed(min))
        }
        ([min, max], Word::DoesNotConform) => {
            format!("{value} is not from {} − {u} to {max} + {u}", bracketed(min))
        }
        ([min, max], _) => format!(
            "{value} is from {} − {u} to {max} + {u}, but not from {} + {u} to {max} − {u}",
            bracketed(min),
            bracketed(min)
        ),
        _ => value.to_owned(),
    }
}
