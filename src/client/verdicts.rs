//! `verdicts`: look up verdicts; by default the standing one of each attempt.

use std::cell::RefCell;
use std::collections::BTreeMap;

use jiff::tz::TimeZone;

use ::bench::verdict::Verdict;
use ::bench::{Seq, Standing};
use ::record::{Filter, Reader, VerdictRecord};
use ::report::{
    Column, Ink, Table, VERDICT_COLUMNS, day_and_time, metal_words, setup_words, word_now, word_of,
};
use judgement::{Known, Word};
use quantity::Unit;
use wire::OfBench;

use super::bench;
use super::failure::{Failure, REFUSED};
use super::global::Global;
use super::query::{self, Form, Listed, LookUp};
use super::sought::{About, QueryArgs};
use super::whole_shop::{self, List, Shop};

/// The verdict that a typed word means.
pub(crate) fn word(typed: Option<&str>) -> Result<Option<Word>, Failure> {
    query::word_of("verdict", typed, &Word::ALL.map(|word| (word.text(), word)))
}

pub(crate) fn run(global: &Global, args: &QueryArgs) -> Result<u8, Failure> {
    let sought = &args.sought;
    sought.makes_sense(About::Verdicts)?;
    let form = Form::of(global, sought);
    let mut filter = query::filter(sought, args.job.as_ref(), form);
    let state = query::word_of(
        "state",
        sought.state.as_deref(),
        &Word::ALL.map(|word| (word.text(), word)),
    )?;
    let word = word(sought.verdict.as_deref())?;
    if state.is_some() && word.is_some() && state != word {
        let text = "a verdict has one word, and --state and --verdict ask for two";
        return Err(Failure::new(REFUSED, text, "leave one of them out"));
    }
    filter.word = word.or(state);
    let about = About::Verdicts;
    if let Some(shop) = Shop::of(global, &sought.whose)? {
        let list = List { sought, form, about, columns: &VERDICT_COLUMNS };
        return of_shop(&shop, &list, &filter, args.job.as_deref());
    }
    let (record, unit) = bench::record(global)?;
    let look_up =
        LookUp { global, sought, form, record: &record, about, columns: &VERDICT_COLUMNS };
    look_up.print(
        &filter,
        |filter| record.verdicts(filter),
        |shown, mut notes| {
            if !sought.all {
                let attempts: Vec<_> = shown.iter().map(|one| one.verdict.attempt).collect();
                let superseded = record.superseded(&attempts).map_err(bench::no_record)?;
                notes.extend(superseded_words(superseded));
            }
            let one_job = shown.iter().all(|one| args.job.as_deref() == Some(one.job.as_str()));
            let table = table(shown, unit, one_job, &TimeZone::system());
            Ok(Listed { table, none: "No verdicts.", notes })
        },
    )?;
    bench::whole(&record)
}

/// The verdicts of the whole shop.
fn of_shop(
    shop: &Shop,
    list: &List<'_>,
    filter: &Filter,
    job: Option<&str>,
) -> Result<u8, Failure> {
    let superseded: RefCell<BTreeMap<(String, Seq), usize>> = RefCell::default();
    let counted = list.form == Form::Table && !list.sought.all;
    let question = |bench: &str, record: &Reader, filter: &Filter| {
        let found = record.verdicts(filter)?;
        for one in found.iter().filter(|_| counted) {
            let attempt = one.verdict.attempt;
            let count = record.superseded(&[attempt])?;
            superseded.borrow_mut().insert((bench.to_owned(), attempt), count);
        }
        Ok(found)
    };
    shop.list(list, filter, (question, |one: &VerdictRecord| one.at), |shown, plain| {
        let known = superseded.borrow();
        let of = |one: &OfBench<VerdictRecord>| {
            known.get(&(one.bench.clone(), one.one.verdict.attempt)).copied().unwrap_or(0)
        };
        let notes = superseded_words(shown.iter().map(of).sum()).into_iter().collect();
        let one_job = plain.iter().all(|one| job == Some(one.job.as_str()));
        let table = table(plain, shop.unit, one_job, &TimeZone::system());
        whole_shop::Listed { table, none: "No verdicts.", notes }
    })
}

fn superseded_words(count: usize) -> Option<String> {
    match count {
        0 => None,
        1 => Some("1 superseded verdict is not shown; --all shows it.".to_owned()),
        _ => Some(format!("{count} superseded verdicts are not shown; --all shows them.")),
    }
}

/// A table of verdicts.
pub(crate) fn table(
    records: &[VerdictRecord],
    unit: Unit,
    one_job: bool,
    zone: &TimeZone,
) -> Table {
    let mut table = Table::new(&[
        Column::number("id", 6),
        Column::words("time", 5),
        Column::words("job", 2).key(),
        Column::words("check", 0).key(),
        Column::number("try", 0).key(),
        Column::words("verdict", 0),
        Column::number(query::value_title(unit), 0),
        Column::number("limit", 0),
        Column::number("±U", 1),
        Column::number("touches", 3),
        Column::words("held", 7),
        Column::words("rule", 8),
        Column::words("by", 9),
        Column::words("remarks", 2),
    ]);
    for record in records {
        let verdict = &record.verdict;
        let [value, limit, uncertainty] = record.told(unit).cells();
        let touches = if verdict.positions == 0 {
            String::new()
        } else if verdict.taken == verdict.touches_in_all() {
            verdict.taken.to_string()
        } else {
            format!("{}/{}", verdict.taken, verdict.touches_in_all())
        };
        let cells = [
            record.id.to_string(),
            day_and_time(record.at, zone),
            if one_job { String::new() } else { record.job.to_string() },
            format!("{}/{}", record.part, record.check),
            record.attempt.to_string(),
            word_now(verdict.word, record.standing),
            value,
            limit,
            uncertainty,
            touches,
            record.held().map_or("", setup_words).to_owned(),
            verdict.rule.text().to_owned(),
            record.by.as_ref().map_or_else(String::new, ToString::to_string),
            remarks(record),
        ];
        table.push_as(&cells, record.standing != Standing::Stands);
        table.ink("verdict", Ink::of(verdict.word));
    }
    table
}

/// Why a verdict is not what its figure suggests, and what else a person must know about it.
fn remarks(record: &VerdictRecord) -> String {
    let verdict = &record.verdict;
    let reasons = verdict.reasons.iter();
    let mut remarks: Vec<String> = reasons.map(|reason| reason.text().replace('-', " ")).collect();
    if metal_words(record.standing).is_some() {
        remarks.insert(0, format!("was {}", word_of(verdict.word)));
    }
    if verdict.known == Known::Assumed {
        remarks.push("±U assumed".to_owned());
    }
    if verdict.tries > 1 {
        remarks.push(format!("mean of {} tries", verdict.tries));
    }
    remarks.extend(answered_before(verdict));
    remarks.extend(verdict.cautions.iter().map(|said| said.trim_end_matches('.').to_owned()));
    if verdict.skipped > 0 {
        remarks.push(format!("{} left out", verdict.skipped));
    }
    remarks.extend(record.remark.clone());
    if let Some(newer) = record.superseded_by {
        remarks.push(format!("replaced by {newer}"));
    }
    remarks.join(", ")
}

/// The answers given before: `answered no, then no, before`.
fn answered_before(verdict: &Verdict) -> Option<String> {
    let (_, before) = verdict.answers.split_last()?;
    let before: Vec<&str> = before.iter().map(|one| one.text.as_str()).collect();
    (!before.is_empty()).then(|| format!("answered {} before", before.join(", then ")))
}

#[cfg(test)]
mod tests {
    use super::*;
    use ::bench::Seq;
    use ::report::Fitted;
    use ::report::trial::{answered, bar, face, face_with, with};
    use judgement::Reason;

    #[test]
    fn a_table_of_verdicts_names_value_limit_uncertainty_touches_and_set_up() {
        let mut odd = face_with(|verdict| {
            (verdict.taken, verdict.skipped, verdict.tries) = (6, 2, 2);
            (verdict.word, verdict.known) = (Word::Undecided, Known::Assumed);
            verdict.reasons = vec![Reason::NotClosed];
        });
        (odd.id, odd.superseded_by) = (Seq(60), Some(Seq(61)));
        let text = table(&[face(), odd], Unit::Inch, true, &TimeZone::UTC).fitted(None).text;
        let rows: Vec<Vec<&str>> = text
            .lines()
            .map(|line| line.split("  ").map(str::trim).filter(|cell| !cell.is_empty()).collect())
            .collect();
        assert_eq!(
            rows[1],
            [
                "50",
                "2027-03-01 14:30:00",
                "inner-spacer/face-a",
                "1",
                "DOES NOT CONFORM",
                "0.00034",
                "0.0001",
                "0.000026",
                "8",
                "on the plate",
                "guarded",
            ]
        );
        assert_eq!(rows[2][4..6], ["UNDECIDED", "0.00034"]);
        assert_eq!(rows[2][8], "6/8");
        assert_eq!(
            rows[2].last(),
            Some(&"not closed, ±U assumed, mean of 2 tries, 2 left out, replaced by 61")
        );
    }

    #[test]
    fn answers_differences_and_bars_are_told_in_the_same_columns() {
        let mut answered = with(answered("yes", &["yes"]), |verdict| verdict.word = Word::Conforms);
        answered.remark = Some("seen by two".to_owned());
        let text = table(&[answered, bar()], Unit::Inch, true, &TimeZone::UTC).fitted(None).text;
        let rows: Vec<Vec<&str>> = text
            .lines()
            .map(|line| line.split("  ").map(str::trim).filter(|cell| !cell.is_empty()).collect())
            .collect();
        assert_eq!(rows[1][4..], ["CONFORMS", "yes", "yes", "–", "guarded", "seen by two"]);
        let bar =
            ["UNDECIDED", "0.00016", "0.0002 at 3", "0.000046", "24", "while turning", "guarded"];
        assert_eq!(rows[2][4..], bar);
    }

    #[test]
    fn the_verdict_stays_when_there_is_little_room() {
        let Fitted { text, left_out, .. } =
            table(&[face()], Unit::Inch, true, &TimeZone::UTC).fitted(Some(72));
        assert!(text.contains("DOES NOT CONFORM") && text.contains("0.00034"), "{text}");
        assert!(left_out.iter().any(|left| left == "rule"), "{left_out:?}");
    }
}
