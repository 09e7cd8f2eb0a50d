//! `alerts`: look up alerts.

use jiff::tz::TimeZone;

use ::bench::row::{AlertKind, Level};
use ::record::{AlertRecord, AlertStage, Filter, Reader};
use ::report::{ALERT_COLUMNS, Column, Ink, Table, day_and_time};

use super::bench;
use super::failure::Failure;
use super::global::Global;
use super::query::{self, Form, Listed, LookUp};
use super::sought::Loudness;
use super::sought::{About, QueryArgs};
use super::whole_shop::{self, List, Shop};

const STAGES: [(&str, AlertStage); 3] =
    [("open", AlertStage::Open), ("seen", AlertStage::Seen), ("cleared", AlertStage::Cleared)];

pub(crate) fn run(global: &Global, args: &QueryArgs) -> Result<u8, Failure> {
    let sought = &args.sought;
    sought.makes_sense(About::Alerts)?;
    let form = Form::of(global, sought);
    let mut filter = query::filter(sought, args.job.as_ref(), form);
    filter.stage = query::word_of("state", sought.state.as_deref(), &STAGES)?;
    let kinds = AlertKind::ALL.map(|kind| (kind.text(), kind));
    filter.kind = query::word_of("kind", sought.kind.as_deref(), &kinds)?;
    filter.level = sought.level.map(Loudness::level);
    let about = About::Alerts;
    if let Some(shop) = Shop::of(global, &sought.whose)? {
        let list = List { sought, form, about, columns: &ALERT_COLUMNS };
        let question = |_: &str, record: &Reader, filter: &Filter| record.alerts(filter);
        return shop.list(&list, &filter, (question, |one| one.at), |_, shown| {
            let places = shown.iter().map(|one| one.place.as_ref());
            let one_job = query::of_one_job(args.job.as_deref(), places);
            let table = table(shown, one_job, &TimeZone::system());
            whole_shop::Listed { table, none: "No alerts.", notes: Vec::new() }
        });
    }
    let (record, _) = bench::record(global)?;
    let look_up = LookUp { global, sought, form, record: &record, about, columns: &ALERT_COLUMNS };
    look_up.print(
        &filter,
        |filter| record.alerts(filter),
        |shown, notes| {
            let places = shown.iter().map(|one| one.place.as_ref());
            let one_job = query::of_one_job(args.job.as_deref(), places);
            let table = table(shown, one_job, &TimeZone::system());
            Ok(Listed { table, none: "No alerts.", notes })
        },
    )?;
    bench::whole(&record)
}

pub(crate) fn table(records: &[AlertRecord], one_job: bool, zone: &TimeZone) -> Table {
    let mut table = Table::new(&[
        Column::number("id", 0),
        Column::words("time", 1),
        Column::words("level", 0),
        Column::words("state", 2),
        Column::words("job", 3).key(),
        Column::words("check", 4).key(),
        Column::words("about", 5),
        Column::words("seen by", 6),
        Column::words("what", 0),
    ]);
    for record in records {
        let place = record.place.as_ref();
        let check = place.and_then(|place| place.check.as_ref());
        let job = place.filter(|_| !one_job).map(|place| place.job.to_string());
        let state = STAGES.iter().find(|(_, known)| *known == record.stage());
        table.push(&[
            record.id.to_string(),
            day_and_time(record.at, zone),
            record.alert.level.text().to_owned(),
            state.map_or_else(String::new, |(word, _)| (*word).to_owned()),
            job.unwrap_or_default(),
            check.map_or_else(String::new, |check| format!("{}/{}", check.part, check.check)),
            record.alert.about.as_ref().map_or_else(String::new, ToString::to_string),
            record.acked_by.as_ref().map_or_else(String::new, ToString::to_string),
            record.alert.text.clone(),
        ]);
        let ink = match record.alert.level {
            Level::Interrupt => Some(Ink::Red),
            Level::Note => Some(Ink::Yellow),
            Level::Log => None,
        };
        if let Some(ink) = ink {
            table.ink("level", ink);
        }
    }
    table
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use ::bench::Seq;
    use ::bench::row::{Alert, Subject};
    use ::record::Place;
    use quantity::{Name, Wall};

    fn alert(seen: bool, cleared: bool) -> AlertRecord {
        let at = Wall::parse("2027-03-01T14:30:00Z").unwrap();
        AlertRecord {
            acked_caller: None,
            id: Seq(51),
            at,
            place: Some(Place { job: Name::new("J-7").unwrap(), check: None }),
            alert: Arc::new(Alert {
                level: Level::Note,
                kind: AlertKind::FileRefused,
                job: Some(Seq(7)),
                attempt: None,
                about: Some(Subject::File {
                    drop: Name::new("logger").unwrap(),
                    name: "ring\u{1b}.csv".to_owned(),
                }),
                position: None,
                text: "File ring.csv refused.".to_owned(),
            }),
            cleared_at: cleared.then_some(at),
            acked_at: seen.then_some(at),
            acked_by: None,
            came_along: false,
        }
    }

    #[test]
    fn an_alert_is_open_until_seen_and_seen_until_it_is_over() {
        assert_eq!(alert(false, false).stage(), AlertStage::Open);
        assert_eq!(alert(true, false).stage(), AlertStage::Seen);
        assert_eq!(alert(true, true).stage(), AlertStage::Cleared);
        assert_eq!(alert(false, true).stage(), AlertStage::Cleared);
        let came_along =
            AlertRecord { acked_caller: None, came_along: true, ..alert(false, false) };
        assert_eq!(came_along.stage(), AlertStage::Seen);
    }

    #[test]
    fn the_guide_names_every_kind_and_no_other() {
        let guide = include_str!("../../docs/scripts.md");
        let row = guide.lines().find(|line| line.contains("`--kind KIND`")).unwrap();
        let (_, listed) = row.split_once("of a kind: ").unwrap();
        let listed = listed.split('`').skip(1).step_by(2);
        let listed: std::collections::BTreeSet<&str> = listed.collect();
        assert_eq!(listed, AlertKind::ALL.map(AlertKind::text).into_iter().collect());
    }

    #[test]
    fn a_table_of_alerts_says_what_and_how_far() {
        let text = table(&[alert(true, false)], false, &TimeZone::UTC).fitted(None).text;
        let row = text.lines().nth(1).unwrap();
        let cells: Vec<_> =
            row.split("  ").map(str::trim).filter(|cell| !cell.is_empty()).collect();
        let expected = [
            "51",
            "2027-03-01 14:30:00",
            "note",
            "seen",
            "J-7",
            "logger/ring\\x1b.csv",
            "File ring.csv refused.",
        ];
        assert_eq!(cells, expected);
    }
}
