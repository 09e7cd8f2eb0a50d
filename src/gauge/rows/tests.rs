use proptest::prelude::*;

use super::*;

const PLAIN: &[u8] = include_bytes!("../../../fixtures/drops/plain.csv");
const SEMICOLON: &[u8] = include_bytes!("../../../fixtures/drops/semicolon.csv");
const POWER_CYCLED: &[u8] = include_bytes!("../../../fixtures/drops/power-cycled.csv");
const BAD_ROWS: &[u8] = include_bytes!("../../../fixtures/drops/bad-rows.csv");

fn format(named: &[(&str, &str)]) -> RowFormat {
    let get = |what: &str| named.iter().find(|(key, _)| *key == what).map(|(_, n)| (*n).to_owned());
    RowFormat {
        columns: Columns {
            value: get("value").unwrap_or_else(|| "Value".to_owned()),
            unit: get("unit"),
            time: get("time"),
            job: get("job"),
            part: get("part"),
            check: get("check"),
            position: get("position"),
        },
        delimiter: b',',
        decimal: b'.',
        skip_lines: 0,
        unit: None,
        time_zone: None,
    }
}

const ALL: [(&str, &str); 6] = [
    ("unit", "Unit"),
    ("time", "Time"),
    ("job", "Job"),
    ("part", "Part"),
    ("check", "Check"),
    ("position", "Pos"),
];

fn faults(file: &[u8], format: &RowFormat) -> Vec<String> {
    let faults = parse_rows(file, format).unwrap_err().faults;
    faults.iter().map(|fault| fault.to_string().replacen("line ", "", 1)).collect()
}

/// Line, tag, value, position and time of each row.
fn rows(file: &[u8], format: &RowFormat) -> Vec<String> {
    let rows = parse_rows(file, format).unwrap();
    let one = |row: &FileRow| {
        let tag = &rows.tags[row.tag as usize];
        let names: Vec<_> = [&tag.job, &tag.part, &tag.check].into_iter().flatten().collect();
        let names = names.iter().map(|name| name.as_str()).collect::<Vec<_>>().join("/");
        let position = row.position.map_or(String::new(), |position| format!(" @{position}"));
        let time = row.time.map_or(String::new(), |time| format!(" {time}"));
        format!("{} {names} {}{position}{time}", row.line, row.value)
    };
    rows.rows.iter().map(one).collect()
}

#[test]
fn a_plain_file() {
    assert_eq!(
        rows(PLAIN, &format(&ALL)),
        [
            "2 J-1/inner-spacer/length 1.50003 in @0 2027-03-01T14:30:00.000Z",
            "3 J-1/inner-spacer/length 1.50004 in @1 2027-03-01T14:30:04.250Z",
            "4 J-1/inner-spacer/length -0.00002 in @2 2027-03-01T14:30:09.000Z",
            // As `date -u -d @1804043415` says.
            "5 J-1/outer-spacer/length 38.1006 mm @0 2027-03-03T03:10:15.000Z",
        ]
    );
    let read = parse_rows(PLAIN, &format(&ALL)).unwrap();
    assert_eq!(read.tags.len(), 2, "one tag for each check");
    let sent = "J-1,inner-spacer,length,1,1.50004,in,2027-03-01T14:30:04.250Z";
    assert_eq!(read.rows[1].text(PLAIN), sent);
}

#[test]
fn semicolons_decimal_commas_and_local_times() {
    let format = RowFormat {
        delimiter: b';',
        decimal: b',',
        // Two hours east of Greenwich, the whole year.
        time_zone: Some(TimeZone::fixed(jiff::tz::offset(2))),
        ..format(&[("value", "Höhe"), ("time", "Zeit"), ("part", "Teil")])
    };
    let wanted = [
        "5 Ring 38.1006 mm 2027-03-01T12:30:00.000Z",
        "6 Ring -0.0004 mm 2027-07-01T12:30:00.500Z",
        "7 Buchse 38.1 mm",
    ];
    assert_eq!(rows(SEMICOLON, &format), wanted);
    assert_eq!(rows(SEMICOLON, &RowFormat { skip_lines: 3, ..format.clone() }), wanted);
    let read = parse_rows(SEMICOLON, &format).unwrap();
    assert_eq!(read.rows[2].text(SEMICOLON), ";38,1;Buchse;;");
}

#[test]
fn a_header_that_comes_again_and_quoted_cells() {
    let wanted = ["2 face-a 12.5 um", "3 face-a 12.6 um", "6 face \"b\" -0.4 um"];
    assert_eq!(rows(POWER_CYCLED, &format(&[("check", "Check")])), wanted);
    let carriage_returns: Vec<u8> =
        POWER_CYCLED.iter().map(|&byte| if byte == b'\n' { b'\r' } else { byte }).collect();
    assert_eq!(rows(&carriage_returns, &format(&[("check", "Check")])), wanted);
}

#[test]
fn every_bad_row_is_named_with_its_line() {
    let columns = [("unit", "Unit"), ("position", "Pos"), ("part", "Part"), ("time", "Time")];
    let refused = "is not written 2027-03-01 14:30:00, 2027-03-01T14:30:00Z or as milliseconds \
                   since 1970; other orders of day and month are not guessed";
    assert_eq!(
        faults(BAD_ROWS, &format(&columns)),
        [
            "3: the value \"1.2.3\" has two decimal signs".to_owned(),
            "4: the value \"12O4\" is no decimal number".to_owned(),
            "5: the value \"1.23456789\" has more than eight digits".to_owned(),
            "6: the value \"1.\" has nothing after its decimal sign".to_owned(),
            "7: the value \"\" is empty".to_owned(),
            "8: it has 6 columns, the header has 5".to_owned(),
            "9: the position \"-1\" is no whole number".to_owned(),
            "10: it says in and mm".to_owned(),
            "11: \"furlong\" is no unit; units are in, mm and um".to_owned(),
            "12: it names no part".to_owned(),
            format!("13: the time \"01.03.2027 14:30\" {refused}"),
            "14: the time \"2027-03-01 14:30:00\" has no offset, and no time_zone is set"
                .to_owned(),
            "15: it holds a NUL byte".to_owned(),
            "16: the value \"1e3\" is no decimal number".to_owned(),
            "17: a quoted field goes on over the end of the line".to_owned(),
            "19: it has 2 columns, the header has 5".to_owned(),
            "20: the part \"r\\xffng\" is no plain text".to_owned(),
        ]
    );
}

#[test]
fn a_file_without_its_header_says_what_is_missing() {
    let wanted =
        "1: no line is the header: no column \"Unit\"; no column \"Time\"; no column \"Job\"";
    assert_eq!(faults(b"Value,Part,Check,Pos\n1,a,b,0\n", &format(&ALL)), [wanted]);
    assert_eq!(faults(b"", &format(&[])), ["1: the file has no header"]);
    let twice = "1: no line is the header: two columns \"Value\"";
    assert_eq!(faults(b"Value,value\n", &format(&[])), [twice]);
    assert_eq!(faults(b"Value_in,Value_mm\n", &format(&[])), [twice]);
    let millimetres = format(&[("value", "Value_mm")]);
    assert_eq!(rows(b"Value_in,Value_mm\n1,25.4\n", &millimetres), ["2  25.4 mm"]);
    let semicolons = faults(b"Value;Part\n1;a\n", &format(&[("part", "Part")]));
    assert!(semicolons[0].ends_with("(one column only: is it the right delimiter?)"));
    let utf16: Vec<u8> = "\u{feff}Value\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
    assert!(faults(&utf16, &format(&[]))[0].contains("UTF-16"));
}

#[test]
fn the_unit_may_stand_in_four_places_but_must_not_differ() {
    let row = |file: &str, unit| {
        let format = RowFormat { unit, ..format(&[]) };
        parse_rows(file.as_bytes(), &format).map(|rows| rows.rows[0].value.to_string())
    };
    assert_eq!(row("Value [mm]\n1.5\n", Some(Unit::Inch)).unwrap(), "1.5 mm");
    assert_eq!(row("Value\n1.5 um\n", Some(Unit::Inch)).unwrap(), "1.5 um");
    assert_eq!(row("Value\n- 1.5\n", Some(Unit::Inch)).unwrap(), "-1.5 in");
    assert!(row("Value\n1.5\n", None).is_err());
    assert!(row("Value_mm\n1.5 in\n", None).is_err());
    assert!(row("Value [um]\n0.1234567\n", None).is_err(), "finer than a picometre");
}

#[test]
fn beside_the_bad_rows_the_good_ones_are_there() {
    let bad = parse_rows(b"Value [mm]\n1.5\nx\n2.5\n", &format(&[])).unwrap_err();
    assert_eq!(bad.faults.iter().map(|fault| fault.line).collect::<Vec<_>>(), [3]);
    assert_eq!(bad.good.rows.iter().map(|row| row.line).collect::<Vec<_>>(), [2, 4]);
}

#[test]
fn a_long_list_of_bad_rows_is_cut_with_its_length() {
    let file = format!("Value [mm]\n{}", "x\n".repeat(250));
    let faults = parse_rows(file.as_bytes(), &format(&[])).unwrap_err().faults;
    assert_eq!(faults.len(), 101);
    let last = RowFault { line: 251, what: "and 150 more bad rows, this one the last".to_owned() };
    assert_eq!(faults[100], last);
}

#[test]
fn an_autumn_hour_that_comes_twice_is_the_first_and_the_calendar_is_kept() {
    // The zone of central Europe as a POSIX rule: back by an hour on the last Sunday of October.
    let zone = TimeZone::posix("CET-1CEST,M3.5.0,M10.5.0/3").unwrap();
    let mut clock = Clock::new(Some(&zone));
    let mut utc = |text: &str| clock.read(text).map(|wall| wall.to_string());
    assert_eq!(utc("2027-10-31 02:30:00").unwrap(), "2027-10-31T00:30:00.000Z");
    assert_eq!(utc("2027-10-31 03:30:00").unwrap(), "2027-10-31T02:30:00.000Z");
    assert_eq!(utc("2027-10-31 03:30").unwrap(), "2027-10-31T02:30:00.000Z");
    assert_eq!(utc("2027-07-01T00:00:01.5").unwrap(), "2027-06-30T22:00:01.500Z");
    assert_eq!(utc("2028-02-29T23:59:59.999Z").unwrap(), "2028-02-29T23:59:59.999Z");
    for wrong in
        ["2027-02-29T00:00:00Z", "2027-01-01T25:00:00Z", "03/01/2027 14:30", "1.3.27", "20270301"]
    {
        assert!(utc(wrong).is_err(), "{wrong}");
    }
}

proptest! {
    #[test]
    fn any_bytes_are_rows_or_faults(file in proptest::collection::vec(any::<u8>(), 0..400)) {
        let file = [b"Value [mm],Part\n".to_vec(), file].concat();
        let lines = u32::try_from(file.len()).unwrap();
        match parse_rows(&file, &format(&[("part", "Part")])) {
            Ok(read) => prop_assert!(read.rows.iter().all(|row| row.line <= lines)),
            Err(bad) => prop_assert!(!bad.faults.is_empty()),
        }
    }

    #[test]
    fn rows_come_back_as_they_were_written(
        values in proptest::collection::vec((any::<bool>(), 0_i64..1_000_000, 1_usize..5), 1..50),
        end in prop_oneof![Just("\n"), Just("\r\n"), Just("\r")],
    ) {
        let mut file = format!("Note,Value [mm]{end}");
        let mut wanted = Vec::new();
        for (minus, count, places) in values {
            let digits = format!("{count:0width$}", width = places + 1);
            let (whole, fraction) = digits.split_at(digits.len() - places);
            let sign = if minus && count != 0 { "-" } else { "" };
            let value = format!("{sign}{whole}.{fraction}");
            file.extend(["x,", value.as_str(), end]);
            wanted.push(value);
        }
        let read = parse_rows(file.as_bytes(), &format(&[])).unwrap();
        let got: Vec<_> = read.rows.iter().map(|row| row.value.number()).collect();
        prop_assert_eq!(&got, &wanted);
        for (index, row) in read.rows.iter().enumerate() {
            prop_assert_eq!(row.line as usize, index + 2);
            prop_assert_eq!(row.text(file.as_bytes()), format!("x,{}", wanted[index]));
        }
    }
}

#[test]
fn a_time_of_day_that_no_clock_shows_is_refused_and_its_ends_are_taken() {
    let named = [("time", "Time")];
    let with = |time: &str| {
        let mut format = format(&named);
        format.unit = Some(Unit::Inch);
        parse_rows(format!("Value,Time\n1.5,{time}\n").as_bytes(), &format)
            .map(|read| read.rows[0].time.unwrap().to_string())
    };
    let taken = |time: &str| with(time).unwrap();
    assert_eq!(taken("2027-03-01T23:59:59Z"), "2027-03-01T23:59:59.000Z");
    assert_eq!(taken("2027-03-01T00:00:00.5Z"), "2027-03-01T00:00:00.500Z");
    for none in ["2027-03-01T24:00:00Z", "2027-03-01T12:60:00Z", "2027-03-01T12:00:61Z"] {
        assert!(with(none).is_err(), "{none}");
    }
    // The second that is put in now and then: it is the last one of its minute.
    assert_eq!(taken("2027-03-01T12:00:60Z"), "2027-03-01T12:00:59.000Z");
}
