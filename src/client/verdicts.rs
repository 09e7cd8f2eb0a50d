//! `verdicts`: look up verdicts; by default the standing one of each attempt.

use jiff::tz::TimeZone;

use ::report::{
    Column, Spoken, Table, VERDICT_COLUMNS, metal_words, setup_words, spoken, word_now, word_of,
};
use judgement::Word;
use quantity::{Unit, Wall};
use store::VerdictRecord;
use wire::{VerdictLine, verdict_line};

use super::bench;
use super::failure::{Failure, REFUSED};
use super::global::Global;
use super::query::{self, Data, Form, Page};
use super::sought::{About, QueryArgs};

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
    let (record, unit) = bench::record(global)?;
    if form != Form::Table {
        query::gauge_is_known(global, sought, &record, true)?;
        let (columns, id) = (VERDICT_COLUMNS.as_slice(), |one: &VerdictRecord| one.id);
        let data = Data { form, sought, columns, id, line: verdict_line };
        query::print_data(&data, &filter, |filter| record.verdicts(filter))?;
        return bench::whole(&record);
    }
    let found = query::ask(&filter, form, |filter| record.verdicts(filter))?;
    query::gauge_is_known(global, sought, &record, found.is_empty())?;
    let (shown, more) = Page::of(sought, form).shown(&found, sought, |verdict| verdict.id.0);
    let mut notes: Vec<String> = more.into_iter().collect();
    if !sought.all {
        let attempts: Vec<_> = shown.iter().map(|one| one.verdict.attempt).collect();
        let superseded = record.superseded(&attempts).map_err(bench::no_record)?;
        notes.extend(superseded_words(superseded));
    }
    let one_job = shown.iter().all(|one| args.job.as_deref() == Some(one.job.as_str()));
    query::print_table(&of_records(shown, unit, one_job), "No verdicts.", &notes)?;
    bench::whole(&record)
}

fn superseded_words(count: usize) -> Option<String> {
    match count {
        0 => None,
        1 => Some("1 superseded verdict is not shown; --all shows it.".to_owned()),
        _ => Some(format!("{count} superseded verdicts are not shown; --all shows them.")),
    }
}

/// A table of verdicts in the person's zone.
pub(crate) fn of_records(records: &[VerdictRecord], unit: Unit, one_job: bool) -> Table {
    let lines: Vec<VerdictLine> = records.iter().map(VerdictLine::from).collect();
    table(&lines, unit, one_job, &TimeZone::system())
}

fn table(lines: &[VerdictLine], unit: Unit, one_job: bool, zone: &TimeZone) -> Table {
    let column = |title, right, spare| Column { title, right, spare };
    let mut table = Table::new(&[
        column("id", true, 6),
        column("time", false, 5),
        column("job", false, 2),
        column("check", false, 0),
        column("try", true, 4),
        column("verdict", false, 0),
        column(query::value_title(unit), true, 0),
        column("limit", true, 0),
        column("±U", true, 1),
        column("touches", true, 3),
        column("held", false, 7),
        column("rule", false, 8),
        column("by", false, 9),
        column("remarks", false, 2),
    ]);
    for line in lines {
        let Spoken { value, limit, uncertainty } = spoken(line, unit);
        let touches = if line.positions == 0 {
            String::new()
        } else if line.taken == line.positions {
            line.taken.to_string()
        } else {
            format!("{}/{}", line.taken, line.positions)
        };
        let cells = [
            line.id.to_string(),
            Wall::parse(&line.at).map_or_else(|_| line.at.clone(), |at| query::when(at, zone)),
            if one_job { String::new() } else { line.job.clone() },
            format!("{}/{}", line.part, line.check),
            line.attempt.to_string(),
            word_now(&line.verdict, &line.standing),
            value,
            limit,
            uncertainty,
            touches,
            line.setup.as_deref().map_or("", setup_words).to_owned(),
            line.rule.clone(),
            line.by.clone().unwrap_or_default(),
            remarks(line),
        ];
        table.push_as(&cells, line.standing != "stands");
    }
    table
}

/// Why a verdict is not what its figure suggests, and what else a person must know about it.
fn remarks(line: &VerdictLine) -> String {
    let mut remarks: Vec<String> =
        line.reasons.iter().map(|reason| reason.replace('-', " ")).collect();
    if metal_words(&line.standing).is_some() {
        remarks.insert(0, format!("was {}", word_of(&line.verdict)));
    }
    if line.uncertainty_from == "assumed" {
        remarks.push("±U assumed".to_owned());
    }
    if line.tries > 1 {
        remarks.push(format!("mean of {} tries", line.tries));
    }
    remarks.extend(answered_before(line));
    remarks.extend(line.cautions.iter().map(|said| said.trim_end_matches('.').to_owned()));
    if line.skipped > 0 {
        remarks.push(format!("{} left out", line.skipped));
    }
    remarks.extend(line.remark.clone());
    if let Some(newer) = line.superseded_by {
        remarks.push(format!("replaced by {newer}"));
    }
    remarks.join(", ")
}

/// The answers given before: `answered no, then no, before`.
fn answered_before(line: &VerdictLine) -> Option<String> {
    let (_, before) = line.answers.split_last()?;
    let before: Vec<&str> = before.iter().map(|one| one.answer.as_str()).collect();
    (!before.is_empty()).then(|| format!("answered {} before", before.join(", then ")))
}

#[cfg(test)]
mod tests {
    use super::*;
    use ::report::Fitted;
    use ::report::trial::{bar, line};

    #[test]
    fn a_table_of_verdicts_names_value_limit_uncertainty_touches_and_set_up() {
        let odd = VerdictLine {
            id: 60,
            taken: 6,
            skipped: 2,
            tries: 2,
            verdict: "undecided".to_owned(),
            reasons: vec!["not-closed".to_owned()],
            uncertainty_from: "assumed".to_owned(),
            superseded_by: Some(61),
            ..line()
        };
        let text = table(&[line(), odd], Unit::Inch, true, &TimeZone::UTC).fitted(None).text;
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
        let answered = VerdictLine {
            measures: "confirm".to_owned(),
            value: None,
            tolerance: None,
            uncertainty: None,
            positions: 0,
            taken: 0,
            setup: None,
            answer: Some("yes".to_owned()),
            good: vec!["yes".to_owned()],
            remark: Some("seen by two".to_owned()),
            verdict: "conforms".to_owned(),
            ..line()
        };
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
            table(&[line()], Unit::Inch, true, &TimeZone::UTC).fitted(Some(72));
        assert!(text.contains("DOES NOT CONFORM") && text.contains("0.00034"), "{text}");
        assert!(left_out.contains(&"rule"), "{left_out:?}");
    }
}
