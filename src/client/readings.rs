//! `readings`: look up readings.

use jiff::tz::TimeZone;

use ::bench::row::State;
use ::record::{Filter, Reader, ReadingRecord};
use ::report::{Column, READING_COLUMNS, Table, day_and_time};
use quantity::Unit;

use super::failure::Failure;
use super::global::Global;
use super::query::{self, Form, Listed, LookUp};
use super::sought::{About, QueryArgs};
use super::whole_shop::{self, List, Shop};
use super::{bench, verdicts};
use ::words::{as_read, size};

pub(crate) fn run(global: &Global, args: &QueryArgs) -> Result<u8, Failure> {
    let sought = &args.sought;
    sought.makes_sense(About::Readings)?;
    let form = Form::of(global, sought);
    let mut filter = query::filter(sought, args.job.as_ref(), form);
    let states = State::ALL.map(|state| (state.text(), state));
    filter.state = query::word_of("state", sought.state.as_deref(), &states)?;
    filter.word = verdicts::word(sought.verdict.as_deref())?;
    let about = About::Readings;
    if let Some(shop) = Shop::of(global, &sought.whose)? {
        let list = List { sought, form, about, columns: &READING_COLUMNS };
        let question = |_: &str, record: &Reader, filter: &Filter| record.readings(filter);
        return shop.list(&list, &filter, (question, |one| one.at), |_, shown| {
            let places = shown.iter().map(|one| one.place.as_ref());
            let one_job = query::of_one_job(args.job.as_deref(), places);
            let table = table(shown, shop.unit, one_job, &TimeZone::system());
            whole_shop::Listed { table, none: "No readings.", notes: Vec::new() }
        });
    }
    let (record, unit) = bench::record(global)?;
    let look_up =
        LookUp { global, sought, form, record: &record, about, columns: &READING_COLUMNS };
    look_up.print(
        &filter,
        |filter| record.readings(filter),
        |shown, notes| {
            let places = shown.iter().map(|one| one.place.as_ref());
            let one_job = query::of_one_job(args.job.as_deref(), places);
            let table = table(shown, unit, one_job, &TimeZone::system());
            Ok(Listed { table, none: "No readings.", notes })
        },
    )?;
    bench::whole(&record)
}

pub(crate) fn table(
    records: &[ReadingRecord],
    unit: Unit,
    one_job: bool,
    zone: &TimeZone,
) -> Table {
    let mut table = Table::new(&[
        Column::number("id", 0),
        Column::words("time", 3),
        Column::words("job", 2).key(),
        Column::words("check", 0).key(),
        Column::number("try", 0).key(),
        Column::number("pos", 0),
        Column::number("station", 2).key(),
        Column::number(query::value_title(unit), 0),
        Column::words("counts as", 0),
        Column::words("gauge", 6),
        Column::words("by", 7),
        Column::words("taken back by", 8),
        Column::words("why", 4),
    ]);
    for record in records {
        let place = record.place.as_ref();
        let check = place.and_then(|place| place.check.as_ref());
        let job = place.filter(|_| !one_job).map(|place| place.job.to_string());
        table.push(&[
            record.id.to_string(),
            day_and_time(record.at, zone),
            job.unwrap_or_default(),
            check.map_or_else(String::new, |check| format!("{}/{}", check.part, check.check)),
            check.map_or_else(String::new, |check| check.number.to_string()),
            record.position.map_or_else(String::new, |position| position.to_string()),
            record.station.map_or_else(String::new, |at| size(at, unit)),
            as_read(record.value, unit),
            record.state.text().to_owned(),
            record.gauge.to_string(),
            record.by.as_ref().map_or_else(String::new, ToString::to_string),
            record.voided_by.as_ref().map_or_else(String::new, ToString::to_string),
            record.why.clone().unwrap_or_default(),
        ]);
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;
    use ::bench::Seq;
    use ::record::{CheckPlace, Place, ReadingSource};
    use quantity::{Name, Quoted, Wall};

    #[test]
    fn a_table_of_readings_is_in_the_unit_of_the_bench() {
        let name = |text| Name::new(text).unwrap();
        let check =
            CheckPlace { part: name("ring"), check: name("face"), attempt: Seq(3), number: 1 };
        let placed = ReadingRecord {
            caller: None,
            id: Seq(9),
            at: Wall::parse("2027-03-01T14:30:00Z").unwrap(),
            gauge: name("plate"),
            source: ReadingSource::Serial,
            place: Some(Place { job: name("J-7"), check: Some(check) }),
            position: Some(0),
            angle_deg: Some(0.0),
            radius: None,
            station: None,
            value: Quoted::parse("0.00010", Unit::Inch).unwrap(),
            as_sent: "+0.00010".to_owned(),
            state: State::Placed,
            why: None,
            measured_at: None,
            by: Name::new("ann").ok(),
            voided_by: None,
            voided_caller: None,
        };
        let loose = ReadingRecord {
            caller: None,
            id: Seq(10),
            place: None,
            position: None,
            value: Quoted::parse("2.54", Unit::Micrometre).unwrap(),
            state: State::Unclaimed,
            why: Some("nobody asked\u{1b}[2J".to_owned()),
            ..placed.clone()
        };
        let on_a_bar = ReadingRecord {
            caller: None,
            station: Some(quantity::Length::parse("76.2", Unit::Millimetre).unwrap()),
            ..placed.clone()
        };
        let bar = table(&[on_a_bar], Unit::Inch, true, &TimeZone::UTC).fitted(None).text;
        assert!(bar.contains("pos  station") && bar.contains(" 3    0.00010"), "{bar}");
        let records = [placed, loose];
        let text = table(&records, Unit::Inch, false, &TimeZone::UTC).fitted(None).text;
        let expected = "\
id  time                 job  check      try  pos  value, in  counts as  gauge  by  why
 9  2027-03-01 14:30:00  J-7  ring/face    1    0    0.00010  placed     plate  ann
10  2027-03-01 14:30:00                             0.0001  unclaimed  plate  ann  nobody asked\\x1b[2J
";
        let squeezed = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(squeezed(&text), squeezed(expected));
        let one = table(&records, Unit::Inch, true, &TimeZone::UTC).fitted(None).text;
        assert!(!one.contains("J-7") && !one.contains("job"), "{one}");
    }
}
