//! The comparison as text for people.

use super::chain::{Moved, Outcome};
use super::model::{Characteristic, Found, InJob, Model};
use crate::{Column, Ink, Table, metal_words, word_now, word_of};
use quantity::{Figure, Length, Name, Unit};

pub(super) fn table(model: &Model<'_>, unit: Unit) -> Table {
    let mut columns = vec![
        Column::words("check", 0),
        Column::words("job", 0),
        Column::number("came", 0),
        Column::words("came as", 3),
        Column::number("leaves", 0),
        Column::words("leaves as", 2),
        Column::number("limit", 5),
        Column::number("±U", 6),
        Column::number("change", 1),
        Column::words("since the job before", 0),
    ];
    let paired = model.characteristics.iter().any(|one| !one.within.is_empty());
    columns.extend(paired.then_some(Column::words("found to final", 0)));
    let mut table = Table::new(&columns);
    for one in &model.characteristics {
        for (at, job) in one.jobs.iter().enumerate() {
            let Some(job) = job else { continue };
            let moved = one.changes.iter().find(|moved| moved.to == at);
            let within = one.within.iter().find(|moved| moved.to == at);
            let (first, standing) = (job.first(), job.standing());
            // Where there is an "as found" check, only that one says how the spindle came.
            let came = first.or_else(|| standing.filter(|_| job.found_side.is_none()));
            let mut row = vec![
                name(one, unit),
                model.name(at).to_owned(),
                told(came, unit),
                first.map_or_else(String::new, word),
                told(standing, unit),
                standing.map_or_else(String::new, leaves_as),
                job.limits.map_or_else(dash, |limits| words::limits(limits, unit)),
                standing.or(first).map_or_else(dash, |found| uncertainty(found, unit)),
                moved.map_or_else(String::new, |moved| change(one, moved, unit)),
                moved.map_or_else(String::new, result),
            ];
            if paired {
                row.push(within.map_or_else(String::new, |moved| went(one, moved, unit)));
            }
            table.push(&row);
            for (title, found) in [("came as", first), ("leaves as", standing)] {
                if let Some(ink) = found.and_then(ink) {
                    table.ink(title, ink);
                }
            }
        }
    }
    table
}

pub(super) fn rounds(model: &Model<'_>, unit: Unit) -> Table {
    let mut table = Table::new(&[
        Column::words("check", 0),
        Column::words("job", 0),
        Column::number("try", 0),
        Column::words("reason", 0),
        Column::number("value", 0),
        Column::number("±U", 2),
        Column::words("verdict", 0),
        Column::words("remarks", 1),
    ]);
    for one in &model.characteristics {
        for (at, job) in one.jobs.iter().enumerate() {
            let found = job.iter().filter_map(|job| job.found_side.as_ref());
            let found = found.flat_map(|side| {
                let name = named(side.part.as_str(), side.check.as_str(), one.key.station, unit);
                side.rounds.iter().map(move |round| (name.clone(), round))
            });
            let own = job.iter().flat_map(|job| &job.rounds).map(|round| (name(one, unit), round));
            for (name, round) in found.chain(own) {
                table.push(&[
                    name,
                    model.name(at).to_owned(),
                    round.attempt.to_string(),
                    round.reason.text().to_owned(),
                    told(Some(round), unit),
                    uncertainty(round, unit),
                    word(round),
                    remark(round),
                ]);
                if let Some(ink) = ink(round) {
                    table.ink("verdict", ink);
                }
            }
        }
    }
    table
}

fn remark(round: &Found) -> String {
    let reasons = round.judged.iter().flat_map(|judged| &judged.reasons);
    let mut told: Vec<String> = reasons.map(|reason| reason.text().replace('-', " ")).collect();
    told.extend(round.remark.clone());
    if round.replaced_since() {
        told.push("on the part that was replaced".to_owned());
    }
    told.join(", ")
}

/// The standing verdict of a job; where its metal is gone, that fact instead.
fn leaves_as(found: &Found) -> String {
    let judged = found.judged.as_ref();
    judged.map_or_else(|| word(found), |judged| word_now(judged.word, judged.standing))
}

/// The colour of the word of a verdict that stands on metal that is still there.
fn ink(found: &Found) -> Option<Ink> {
    let judged = found.judged.as_ref()?;
    metal_words(judged.standing).is_none().then(|| Ink::of(judged.word))
}

fn dash() -> String {
    "–".to_owned()
}

/// `bar/run at 3`.
fn name(one: &Characteristic, unit: Unit) -> String {
    named(one.key.part.as_str(), one.key.check.as_str(), one.key.station, unit)
}

fn named(part: &str, check: &str, station: Option<Length>, unit: Unit) -> String {
    let at = station.map(|at| format!(" at {}", words::size(at, unit)));
    format!("{part}/{check}{}", at.unwrap_or_default())
}

fn told(found: Option<&Found>, unit: Unit) -> String {
    let Some(found) = found else { return "not measured".to_owned() };
    let [value, ..] = found.told(unit).cells();
    value
}

fn uncertainty(found: &Found, unit: Unit) -> String {
    let [.., uncertainty] = found.told(unit).cells();
    uncertainty
}

fn word(found: &Found) -> String {
    let written = || "written down".to_owned();
    found.judged.as_ref().map_or_else(written, |judged| word_of(judged.word))
}

/// `+0.00003 ±0.000037`, with the digits of the two figures.
fn change(one: &Characteristic, moved: &Moved, unit: Unit) -> String {
    let Outcome::Change(change) = moved.outcome else { return String::new() };
    let job = |at: usize| one.jobs.get(at).and_then(Option::as_ref);
    let both = [job(moved.from).and_then(InJob::standing), job(moved.to).and_then(InJob::first)];
    let places = both.map(|found| places(&told(found, unit))).into_iter().max().unwrap_or(0);
    let [by, u] = words::change(change.value, Figure::from(change.uncertainty), places, unit);
    format!("{by} ±{u}")
}

/// `-0.00040 ±0.000037 CHANGED`.
pub(crate) fn went(one: &Characteristic, moved: &Moved, unit: Unit) -> String {
    let change = change(one, moved, unit);
    let space = if change.is_empty() { "" } else { " " };
    format!("{change}{space}{}", result(moved))
}

fn places(text: &str) -> u32 {
    let places = text.split_once('.').map_or(0, |(_, fraction)| fraction.len());
    u32::try_from(places).unwrap_or(0)
}

/// `CHANGED`, and what breaks the chain.
fn result(moved: &Moved) -> String {
    let result = match moved.outcome {
        Outcome::Change(change) if change.is_more_than_measured() => "CHANGED",
        Outcome::Change(_) => "cannot tell",
        Outcome::Answers(true) => "the same answer",
        Outcome::Answers(false) => "another answer",
        Outcome::NoFigure => "no figure to compare",
        Outcome::OtherMeasure => "measured otherwise",
    };
    let piece = match (moved.same_piece, moved.spindle_known) {
        (true, _) => "",
        (false, true) => ", another piece",
        (false, false) => ", perhaps another piece",
    };
    let parts: Vec<&str> = moved.broken_by.iter().map(Name::as_str).collect();
    let new = if parts.is_empty() { String::new() } else { format!(": new {}", parts.join(", ")) };
    format!("{result}{piece}{new}")
}

pub(super) fn remarks(model: &Model<'_>, unit: Unit) -> Vec<String> {
    model.characteristics.iter().flat_map(|one| of_one(model, one, unit)).collect()
}

fn of_one(model: &Model<'_>, one: &Characteristic, unit: Unit) -> Vec<String> {
    let name = name(one, unit);
    let having: Vec<(usize, &InJob)> =
        one.jobs.iter().enumerate().filter_map(|(at, job)| Some((at, job.as_ref()?))).collect();
    let mut remarks = Vec::new();
    if having.len() < one.jobs.len() {
        let jobs: Vec<&str> = having.iter().map(|(at, _)| model.name(*at)).collect();
        remarks.push(format!("{name} is only in the plan of {}.", jobs.join(", ")));
    }
    let differ = having.windows(2).any(|two| two[0].1.measures != two[1].1.measures);
    if differ {
        let of =
            |(at, job): &(usize, &InJob)| format!("{} in {}", job.measures.text(), model.name(*at));
        let told: Vec<String> = having.iter().map(of).collect();
        remarks.push(format!("{name} measures {}.", told.join(", ")));
    }
    if one.limits_differ() {
        let of = |(at, job): &(usize, &InJob)| {
            let limit = job.limits.map_or_else(dash, |limits| words::limits(limits, unit));
            format!("{limit} in {}", model.name(*at))
        };
        let told: Vec<String> = having.iter().map(of).collect();
        remarks.push(format!("{name} has different limits: {}.", told.join("; ")));
    }
    remarks
}
