//! `job show`: the progress of a job, its stack, and the parts that were replaced.

use std::fmt::Write as _;

use jiff::tz::TimeZone;

use super::card::{self, by_words};
use crate::failure::Failure;
use crate::global::{Global, WhereArgs};
use crate::query::Form;
use crate::whole_shop::Shop;
use crate::{bench, query, screen};
use ::bench::flow::Flow;
use ::bench::plan::{Check, CheckAt, Part};
use ::bench::words::card::field_words;
use ::bench::words::spots;
use ::bench::{Attempt, Job, Seq};
use ::record::{AttachmentRecord, Filter, JobRecord, Reader, Remark, StackedPart, VerdictRecord};
use ::report::{
    Column, Ink, Table, against_words, day_and_time, edit_words, metal_words, word_now, word_of,
};
use ::shop::database::OneJob;
use quantity::Unit;
use wire::{
    CallerLine, CheckStanding, JobShown, JobState, LeftOutLine, job_show_line, parts_now, printable,
};

pub(super) fn run(global: &Global, name: &str, whose: &WhereArgs) -> Result<u8, Failure> {
    if let Some(shop) = Shop::of(global, whose)? {
        let OneJob { bench, record } = shop.job(name)?;
        return shown(global, name, (&record, shop.unit), Some(&bench));
    }
    let (record, unit) = bench::record(global)?;
    shown(global, name, (&record, unit), None)
}

/// Shows a job of a record; `of` is its bench in a look-up over the whole shop.
fn shown(
    global: &Global,
    name: &str,
    (record, unit): (&Reader, Unit),
    of: Option<&str>,
) -> Result<u8, Failure> {
    let form = if global.json { Form::Json } else { Form::Table };
    let filter = Filter { job: Some(name.to_owned()), ..Filter::default() };
    let mut job =
        query::ask(&filter, form, |filter| record.job(filter.job.as_deref().unwrap_or_default()))?;
    let (_, state) = record.job_state(job.name.as_str()).map_err(bench::no_record)?;
    let filter = Filter { job: Some(job.name.to_string()), ..Filter::default() };
    job.flow = Some(Flow::of(&state, job.closed_at.is_some()));
    let verdicts = record.verdicts(&filter).map_err(bench::no_record)?;
    let standing = standing(&state, &verdicts);
    // The plans beside this configuration are those of this bench, whose job it may not be.
    let own = of.is_none().then(|| bench::plan_on_disk(global, &job.plan_name));
    let on_disk = own.flatten();
    let plan_changed = on_disk.map(|text| text != job.plan.text);
    if global.json {
        let (checks, left_out) = with_callers(record, standing, left_out(&state))?;
        let parts = parts_now(&state);
        let (checks, left_out, parts) = (&checks, &left_out, &parts);
        let shown = JobShown { checks, left_out, parts, plan_changed, bench: of };
        screen::line(&job_show_line(&job, &shown))?;
        return Ok(0);
    }
    let zone = TimeZone::system();
    if let Some(bench) = of {
        screen::sentence(&format!("Bench {}.", printable(bench)))?;
    }
    screen::told(&heading(&job, &zone))?;
    if let Some(flow) = &job.flow {
        screen::told(&card::steps(flow))?;
    }
    if plan_changed == Some(true) {
        screen::sentence("The plan file has changed since; the job keeps its own.")?;
    }
    query::print_table(&check_table(&standing, unit), "The plan has no checks.", &[])?;
    screen::told(&assembly(&job, &zone))?;
    for (_, one) in left_out(&state) {
        screen::sentence(&left_out_words(&one))?;
    }
    for Remark { at, by, text, .. } in &job.notes {
        let by = by_words(by.as_ref());
        screen::sentence(&format!(
            "note of {}{by}: {}",
            day_and_time(*at, &zone),
            printable(text)
        ))?;
    }
    for one in &job.attached {
        screen::sentence(&attached_words(one, &zone))?;
    }
    screen::told(&card::card(&job, &state, &zone))?;
    Ok(0)
}

/// `picture 61 of bearing-1, 2027-03-01 08:00 by Ada: pitting`.
fn attached_words(one: &AttachmentRecord, zone: &TimeZone) -> String {
    let of = one.place().map_or_else(String::new, |place| format!(" of {place}"));
    let noun = one.attached.paper.kind.noun();
    let (at, by) = (day_and_time(one.at, zone), by_words(one.by.as_ref()));
    let back = one.taken_back.as_ref();
    let back = back.map_or_else(String::new, |back| format!(" (taken back: {})", back.why));
    printable(&format!("{noun} {}{of}, {at}{by}: {}{back}", one.id, one.attached.what))
}

/// Every position that a person left out, by attempt; positions that a watched dial passed over are not
/// listed.
fn left_out(job: &Job) -> Vec<(Seq, LeftOutLine)> {
    let by_hand = job.attempts.values().filter(|attempt| attempt.watched().is_none());
    let told = by_hand.filter_map(|attempt| Some((attempt, job.check_of(attempt)?)));
    let lines = told.flat_map(|(attempt, (part, check))| {
        attempt.skipped.iter().map(|(position, left_out)| {
            let line = LeftOutLine {
                at: left_out.at.to_string(),
                part: part.name.to_string(),
                check: check.name.to_string(),
                attempt: attempt.began.number,
                position: *position,
                why: left_out.why.clone(),
                by: left_out.by.as_ref().map(ToString::to_string),
                caller: None,
            };
            (left_out.row, line)
        })
    });
    lines.collect()
}

/// Adds what only JSON shows: whose process asked for each.
fn with_callers(
    record: &Reader,
    standing: Vec<Standing<'_>>,
    left_out: Vec<(Seq, LeftOutLine)>,
) -> Result<(Vec<CheckStanding>, Vec<LeftOutLine>), Failure> {
    let caller = |row: Seq| {
        let found = record.caller_of(row).map_err(bench::no_record)?;
        Ok::<_, Failure>(found.as_ref().map(CallerLine::from))
    };
    let checks = standing.into_iter().map(|(check, _, answered_in)| {
        let answer_caller = answered_in.map(caller).transpose()?.flatten();
        Ok(CheckStanding { answer_caller, ..check })
    });
    let checks = checks.collect::<Result<_, Failure>>()?;
    let left_out =
        left_out.into_iter().map(|(row, one)| Ok(LeftOutLine { caller: caller(row)?, ..one }));
    Ok((checks, left_out.collect::<Result<_, Failure>>()?))
}

/// `ring/face, attempt 1: position 5 left out by Ada: a slot`.
fn left_out_words(one: &LeftOutLine) -> String {
    let by = one.by.as_ref().map_or_else(String::new, |by| format!(" by {by}"));
    let LeftOutLine { part, check, attempt, position, why, .. } = one;
    printable(&format!(
        "{part}/{check}, attempt {attempt}: position {position} left out{by}: {why}"
    ))
}

/// A check, the standing verdict of its newest judged attempt, and the row of its answer.
type Standing<'a> = (CheckStanding, Option<&'a VerdictRecord>, Option<Seq>);

/// Every check in plan order. Verdicts on a part that was replaced since are not shown.
fn standing<'a>(job: &Job, verdicts: &'a [VerdictRecord]) -> Vec<Standing<'a>> {
    let plan = &job.opened.plan.plan;
    let of_check = |at: CheckAt| Some(of_check(job, at, plan.at(at)?, verdicts));
    plan.places().filter_map(of_check).collect()
}

fn of_check<'a>(
    job: &Job,
    at: CheckAt,
    (part, check): (&Part, &Check),
    verdicts: &'a [VerdictRecord],
) -> Standing<'a> {
    let present = || {
        job.attempts_at(at)
            .rev()
            .filter(|(id, _)| job.same_piece(at.part, *id, job.attempt_to_come()))
    };
    let told = |attempt: &Attempt| attempt.verdict.is_some() || attempt.answer.is_some();
    let newest = present().find(|(_, attempt)| told(attempt)).map(|(_, attempt)| attempt);
    let judged = newest.and_then(|attempt| attempt.verdict.as_ref());
    let standing = CheckStanding {
        part: part.name.to_string(),
        check: check.name.to_string(),
        measures: check.traits(),
        attempt: newest.map(|attempt| attempt.began.number),
        verdict: judged.map(|(_, verdict)| verdict.word),
        question: check.measures.asks().map(|asks| asks.question),
        answer: newest.and_then(|attempt| attempt.answer.clone()),
        standing: judged.map(|(_, verdict)| job.standing(verdict.attempt)),
        answer_caller: None,
    };
    let record = judged.and_then(|(id, _)| verdicts.iter().find(|record| record.id == *id));
    (standing, record, newest.and_then(|attempt| attempt.answered_in))
}

fn heading(job: &JobRecord, zone: &TimeZone) -> String {
    let told = |what: &str, text: &Option<String>| {
        text.as_ref().map_or_else(String::new, |text| format!(", {what} {}", printable(text)))
    };
    let closed = job.closed_at.map_or_else(String::new, |at| {
        format!(", closed {}{}", day_and_time(at, zone), by_words(job.closed_by.as_ref()))
    });
    format!(
        "{}: {}, plan {}{}{}{}\nopened {}{closed}, judged by the {} rule\n",
        printable(job.name.as_str()),
        JobState::of(job).text(),
        printable(job.plan_name.as_str()),
        told("serial", &job.serial),
        told("for", &job.customer),
        told("opened by", &job.by),
        day_and_time(job.opened_at, zone),
        job.rule_now().text(),
    )
}

fn check_table(standing: &[Standing<'_>], unit: Unit) -> Table {
    let mut table = Table::new(&[
        Column::words("check", 0),
        Column::words("measures", 4),
        Column::words("verdict", 0),
        Column::number(query::value_title(unit), 0),
        Column::number("limit", 0),
        Column::number("±U", 1),
        Column::number("try", 2).key(),
        Column::words("question", 3),
    ]);
    for (check, verdict, _) in standing {
        let told = verdict.map(|verdict| verdict.told(unit).cells());
        let [value, limit, uncertainty] = told.unwrap_or_else(|| {
            // A written value is not judged.
            [check.answer.clone().unwrap_or_default(), String::new(), String::new()]
        });
        let cells = [
            format!("{}/{}", check.part, check.check),
            check.measures.text().to_owned(),
            word(check),
            value,
            limit,
            uncertainty,
            check.attempt.map_or_else(String::new, |attempt| attempt.to_string()),
            check.question.clone().unwrap_or_default(),
        ];
        let gone = check.standing.and_then(metal_words).is_some();
        table.push_as(&cells, gone);
        if let Some(word) = check.verdict {
            table.ink("verdict", Ink::of(word));
        }
    }
    table
}

fn word(check: &CheckStanding) -> String {
    match (check.verdict.zip(check.standing), &check.answer) {
        (Some((verdict, standing)), _) => {
            let now = word_now(verdict, standing);
            let was = metal_words(standing).map(|_| format!(", was {}", word_of(verdict)));
            now + &was.unwrap_or_default()
        }
        (None, Some(_)) => "written down".to_owned(),
        (None, None) => "not yet".to_owned(),
    }
}

/// Both lists of the stack and the parts that were replaced, a line each.
fn assembly(job: &JobRecord, zone: &TimeZone) -> String {
    let mut text = String::new();
    let mut line = |line: &str| writeln!(text, "{line}").expect("a String takes everything");
    for (stage, parts) in [("found", &job.stack.found), ("built", &job.stack.built)] {
        if !parts.is_empty() {
            let parts: Vec<String> = parts.iter().map(stacked).collect();
            line(&format!("stack as {stage}, from the nose: {}", parts.join(", ")));
        }
    }
    for marked in &job.stack.spots {
        let by = by_words(marked.by.as_ref());
        let at = day_and_time(marked.at, zone);
        let name = printable(marked.part.as_str());
        line(&format!("marked {at}{by}: {name}: {}", printable(&spots::spot(&marked.spot))));
    }
    if let Some(told) = job.stack.together.as_ref().and_then(spots::together) {
        line(&told);
    }
    for part in &job.replaced {
        let serial = part.serial.as_ref();
        let serial = serial.map_or_else(String::new, |s| format!(", serial {}", printable(s)));
        let name = printable(part.part.as_str());
        let at = day_and_time(part.at, zone);
        let by = by_words(part.by.as_ref());
        line(&format!("replaced {at}{by}: {name}{serial}: {}", printable(&part.why)));
    }
    for edit in &job.edits {
        let at = day_and_time(edit.at, zone);
        let by = by_words(edit.by.as_ref());
        let (field, told) = (field_words(edit.what), printable(&edit_words(edit)));
        let why = edit.why.as_ref().map_or_else(String::new, |why| format!(": {}", printable(why)));
        line(&format!("corrected {at}{by}: {field} {told}{why}"));
    }
    for change in &job.rules {
        let at = day_and_time(change.at, zone);
        let by = by_words(change.by.as_ref());
        let (rule, why) = (change.rule.text(), printable(&change.why));
        line(&format!("judged by the {rule} rule since {at}{by}: {why}"));
    }
    for went in &job.went_on {
        let at = day_and_time(went.at, zone);
        let told = printable(&against_words(went));
        let what = match &went.part {
            Some(part) => format!("{} on the stack", printable(part.as_str())),
            None => "closed".to_owned(),
        };
        let why = printable(&went.why);
        let by = by_words(went.by.as_ref());
        writeln!(text, "went on {at}{by}: {what} although {told}: {why}")
            .expect("a String takes everything");
    }
    text
}

/// `bearing-1 (thrust-side to the nose, mark at 0, serial B7)`.
fn stacked(part: &StackedPart) -> String {
    let told = [
        part.towards_nose.as_ref().map(|face| format!("{} to the nose", printable(face))),
        part.mark_deg.map(|deg| format!("mark at {deg}")),
        part.serial.as_ref().map(|serial| format!("serial {}", printable(serial))),
        part.by.as_ref().map(|by| format!("by {by}")),
    ];
    let told: Vec<String> = told.into_iter().flatten().collect();
    let name = printable(part.part.as_str());
    if told.is_empty() { name } else { format!("{name} ({})", told.join(", ")) }
}

#[cfg(test)]
mod tests;
