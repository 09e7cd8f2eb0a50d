//! `alerts`: look up alerts.

use jiff::tz::TimeZone;

use crate::report::{ALERT_COLUMNS, Column, Table};
use crate::store::AlertRecord;
use crate::wire::alert_line;

use super::args::{Global, QueryArgs};
use super::bench;
use super::failure::Failure;
use super::query::{self, Form};

/// How far an alert is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stage {
    /// Neither seen nor over.
    Open,
    /// Seen, not over.
    Seen,
    /// Over.
    Cleared,
}

const STAGES: [(&str, Stage); 3] =
    [("open", Stage::Open), ("seen", Stage::Seen), ("cleared", Stage::Cleared)];

pub(crate) fn run(global: &Global, args: &QueryArgs) -> Result<u8, Failure> {
    let form = Form::of(global, args);
    let wanted = query::state_of(args.state.as_deref(), &STAGES)?;
    let mut filter = query::filter(args, form);
    if wanted.is_some() {
        // The newest N of a stage are counted after the others are left out.
        filter.last = None;
    }
    let (record, _) = bench::record(global)?;
    let mut found = record.alerts(&filter).map_err(bench::no_record)?;
    if let Some(wanted) = wanted {
        found.retain(|alert| stage(alert) == wanted);
        let last = args.last.and_then(|last| usize::try_from(last).ok());
        found.drain(..found.len().saturating_sub(last.unwrap_or(usize::MAX)));
    }
    let lines = || found.iter().map(alert_line).collect::<Vec<_>>();
    match form {
        Form::Json => query::print_json(&lines())?,
        Form::Csv => query::print_csv(ALERT_COLUMNS, &lines())?,
        Form::Table => {
            let (shown, older) = query::newest(&found, args);
            let table = table(shown, args.job.is_some(), &TimeZone::system());
            query::print_table(&table, "No alerts.", older)?;
        }
    }
    Ok(0)
}

fn stage(alert: &AlertRecord) -> Stage {
    match (alert.cleared_at, alert.acked_at) {
        (Some(_), _) => Stage::Cleared,
        (None, Some(_)) => Stage::Seen,
        (None, None) => Stage::Open,
    }
}

fn table(records: &[AlertRecord], one_job: bool, zone: &TimeZone) -> Table {
    let column = |title, right, spare| Column { title, right, spare };
    let mut table = Table::new(&[
        column("id", true, 0),
        column("time", false, 1),
        column("level", false, 0),
        column("state", false, 2),
        column("job", false, 3),
        column("check", false, 4),
        column("about", false, 5),
        column("what", false, 0),
    ]);
    for record in records {
        let place = record.place.as_ref();
        let check = place.and_then(|place| place.check.as_ref());
        let job = place.filter(|_| !one_job).map(|place| place.job.to_string());
        let state = STAGES.iter().find(|(_, known)| *known == stage(record));
        table.push(&[
            record.id.to_string(),
            query::when(record.at, zone),
            record.alert.level.text().to_owned(),
            state.map_or_else(String::new, |(word, _)| (*word).to_owned()),
            job.unwrap_or_default(),
            check.map_or_else(String::new, |check| format!("{}/{}", check.part, check.check)),
            record.alert.about.clone().unwrap_or_default(),
            record.alert.text.clone(),
        ]);
    }
    table
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::bench::Seq;
    use crate::bench::row::{Alert, AlertKind, Level};
    use crate::quantity::{Name, Wall};
    use crate::store::Place;

    fn alert(seen: bool, cleared: bool) -> AlertRecord {
        let at = Wall::parse("2027-03-01T14:30:00Z").unwrap();
        AlertRecord {
            id: Seq(51),
            at,
            place: Some(Place { job: Name::new("J-7").unwrap(), check: None }),
            alert: Arc::new(Alert {
                level: Level::Note,
                kind: AlertKind::FileRefused,
                job: Some(Seq(7)),
                attempt: None,
                about: Some("ring\u{1b}.csv".to_owned()),
                text: "File ring.csv refused.".to_owned(),
            }),
            cleared_at: cleared.then_some(at),
            acked_at: seen.then_some(at),
        }
    }

    #[test]
    fn an_alert_is_open_until_seen_and_seen_until_it_is_over() {
        assert_eq!(stage(&alert(false, false)), Stage::Open);
        assert_eq!(stage(&alert(true, false)), Stage::Seen);
        assert_eq!(stage(&alert(true, true)), Stage::Cleared);
        assert_eq!(stage(&alert(false, true)), Stage::Cleared);
    }

    #[test]
    fn a_table_of_alerts_says_what_and_how_far() {
        let (text, _) = table(&[alert(true, false)], false, &TimeZone::UTC).fitted(None);
        let row = text.lines().nth(1).unwrap();
        let cells: Vec<_> =
            row.split("  ").map(str::trim).filter(|cell| !cell.is_empty()).collect();
        let expected = [
            "51",
            "2027-03-01 14:30:00",
            "note",
            "seen",
            "J-7",
            "ring\\x1b.csv",
            "File ring.csv refused.",
        ];
        assert_eq!(cells, expected);
    }
}
