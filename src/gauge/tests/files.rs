//! Files that loggers drop: every way of writing one, and every hostile one.

use super::*;
use jiff::tz::TimeZone;

fn format(columns: Columns) -> RowFormat {
    RowFormat {
        columns,
        delimiter: b',',
        decimal: b'.',
        skip_lines: 0,
        unit: None,
        time_zone: None,
    }
}

/// Only a value, under this name.
fn values() -> Columns {
    Columns { value: "Value".to_owned(), ..Columns::default() }
}

fn with(columns: &[(&str, &str)]) -> Columns {
    let name =
        |what| columns.iter().find(|(key, _)| *key == what).map(|(_, name)| (*name).to_owned());
    Columns {
        value: name("value").unwrap_or_else(|| "Value".to_owned()),
        unit: name("unit"),
        time: name("time"),
        job: name("job"),
        part: name("part"),
        check: name("check"),
        position: name("position"),
    }
}

/// Line and value of each row.
fn read(file: &str, format: &RowFormat) -> Vec<(u32, String)> {
    let rows = parse_rows(file.as_bytes(), format).unwrap_or_else(|bad| panic!("{:?}", bad.faults));
    rows.rows.iter().map(|row| (row.line, row.value.to_string())).collect()
}

/// Line and sentence of each bad row.
fn wrong(file: &[u8], format: &RowFormat) -> Vec<(u32, String)> {
    let faults = parse_rows(file, format).unwrap_err().faults;
    faults.into_iter().map(|fault| (fault.line, fault.what)).collect()
}

/// A cell as a logger may write it: quoted where it must be, or anyway.
fn quoted(text: &str, delimiter: char, anyway: bool) -> String {
    if anyway || text.contains([delimiter, '"']) || text.trim() != text {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn every_way_of_writing_a_file_gives_the_same_rows(
        rows in prop::collection::vec(
            ("[a-z\";, ]{0,8}[a-z]", -9_999_i32..10_000, 0_u32..900, any::<bool>()), 1..20,
        ),
        delimiter in prop::sample::select(vec![',', ';', '\t']),
        comma in any::<bool>(),
        end in prop::sample::select(vec!["\n", "\r\n", "\r"]),
        mark in any::<bool>(),
        before in 0_usize..5,
        last_end in any::<bool>(),
        trailing in 0_usize..3,
    ) {
        let decimal = if comma { ',' } else { '.' };
        let empty = delimiter.to_string().repeat(trailing);
        let mut lines: Vec<String> = (0..before).map(|n| format!("logger {n}")).collect();
        let value_name = quoted("Value [mm]", delimiter, comma);
        lines.push(format!("Part{delimiter}{value_name}{delimiter}Pos{empty}"));
        let mut wanted = Vec::new();
        for (part, count, position, anyway) in &rows {
            let number = Quoted::from_count((*count).into(), 3, Unit::Millimetre).unwrap().number();
            let cell = quoted(&number.replace('.', &decimal.to_string()), delimiter, *anyway);
            let part_cell = quoted(part, delimiter, *anyway);
            lines.push(format!("{part_cell}{delimiter}{cell}{delimiter}{position}{empty}"));
            wanted.push((part.trim().to_owned(), number, *position));
        }
        let mut file = lines.join(end);
        if mark && before == 0 {
            file.insert(0, '\u{feff}');
        }
        if last_end {
            file.push_str(end);
        }
        let format = RowFormat {
            delimiter: u8::try_from(delimiter).unwrap(),
            decimal: u8::try_from(decimal).unwrap(),
            ..format(with(&[("part", "Part"), ("position", "Pos")]))
        };
        let read = parse_rows(file.as_bytes(), &format);
        let read = read.unwrap_or_else(|bad| panic!("{file:?}: {:?}", bad.faults));
        let got: Vec<(String, String, u32)> = read.rows.iter().map(|row| {
            let tag = &read.tags[usize::try_from(row.tag).unwrap()];
            (tag.part.clone().unwrap(), row.value.number(), row.position.unwrap())
        }).collect();
        prop_assert_eq!(got, wanted);
        // Each row keeps its line and its text; parts that come again have one tag.
        for (place, row) in read.rows.iter().enumerate() {
            let at = before + 1 + place;
            prop_assert_eq!(usize::try_from(row.line).unwrap(), at + 1);
            prop_assert_eq!(row.text(file.as_bytes()), lines[at].as_str());
        }
        let mut parts: Vec<&Tag> = read.tags.iter().collect();
        parts.sort();
        parts.dedup();
        prop_assert_eq!(parts.len(), read.tags.len());
    }

    #[test]
    fn whatever_stands_in_a_file_each_line_is_a_row_a_fault_or_nothing(
        lines in prop::collection::vec("[0-9a.,;+\"-]{0,12}", 0..30),
    ) {
        // Quotes may join lines: only files in which they are closed on their line.
        let lines: Vec<String> = lines.into_iter().filter(|line| !line.contains('"')).collect();
        let file = format!("Value [mm]\n{}", lines.join("\n"));
        let (good, bad) = match parse_rows(file.as_bytes(), &format(values())) {
            Ok(rows) => (rows, Vec::new()),
            Err(bad) => (bad.good, bad.faults),
        };
        let mut told: Vec<u32> = good.rows.iter().map(|row| row.line).chain(bad.iter().map(|bad| bad.line)).collect();
        told.sort_unstable();
        let kept = |line: &String| line.split(',').any(|cell| !cell.is_empty());
        let wanted: Vec<u32> = (2..).zip(&lines).filter(|(_, line)| kept(line)).map(|(line, _)| line).collect();
        prop_assert_eq!(told, wanted);
    }

    #[test]
    fn a_time_is_the_same_however_it_is_written(seconds in 0_i64..4_000_000_000, millis in 0_i64..1000) {
        let stamp = jiff::Timestamp::from_millisecond(seconds * 1000 + millis).unwrap();
        let wanted = Some(quantity::Wall::from_micros(stamp.as_microsecond()));
        let utc = TimeZone::UTC.to_datetime(stamp);
        let east = TimeZone::fixed(jiff::tz::offset(2));
        let local = east.to_datetime(stamp);
        let mut texts = vec![
            format!("{stamp:.3}"),
            format!("{utc:.6}Z"),
            format!("{local:.3}+02:00"),
            format!("{local:.3}"),
            format!("{local:.3}").replace('T', " "),
        ];
        let in_millis = (seconds * 1000 + millis).to_string();
        if in_millis.len() >= 12 {
            texts.push(in_millis);
        }
        for text in texts {
            let format = RowFormat { time_zone: Some(east.clone()), ..format(with(&[("time", "Time")])) };
            let file = format!("Time,Value_mm\n{text},1.5\n");
            let rows = parse_rows(file.as_bytes(), &format);
            prop_assert_eq!(rows.unwrap().rows[0].time, wanted, "{}", text);
        }
    }
}

#[test]
fn a_value_of_more_than_a_hundred_metres_is_a_slip_of_the_finger() {
    let mm = format(values());
    assert_eq!(read("Value_mm\n100000\n-100000\n", &mm).len(), 2);
    for (name, value) in [
        ("mm", "100001"),
        ("mm", "-100001"),
        ("in", "3938"),
        ("in", "99999999"),
        ("in", "-99999999"),
    ] {
        let told = wrong(format!("Value_{name}\n{value}\n").as_bytes(), &mm);
        assert_eq!(told, [(2, format!("the value \"{value}\" is more than 100 m"))]);
    }
}

#[test]
fn a_comma_is_a_decimal_sign_only_where_it_cannot_be_another() {
    let comma = RowFormat { decimal: b',', ..format(values()) };
    let semicolon = RowFormat { delimiter: b';', ..comma.clone() };
    assert_eq!(read("Value_mm\n\"1,5\"\n", &comma), [(2, "1.5 mm".to_owned())], "quoted");
    assert_eq!(read("Value_mm;Note\n1,5;a,b\n", &semicolon), [(2, "1.5 mm".to_owned())]);
    // Unquoted it is a cell too many, and as a point it is another sign than was said.
    assert_eq!(wrong(b"Value_mm\n1,5\n", &comma).len(), 1);
    assert_eq!(wrong(b"Value_mm;Note\n1.5;a\n", &semicolon).len(), 1);
    assert_eq!(wrong(b"Value_mm\n\"1,5\"\n", &format(values())).len(), 1);
    assert_eq!(wrong(b"Value_mm;Note\n1,234,5;a\n", &semicolon).len(), 1, "two of them");
}

#[test]
fn a_header_is_found_among_twenty_lines_after_those_left_out() {
    let file = |before: usize| format!("{}Value_mm\n1.5\n", "x,y\n".repeat(before));
    assert_eq!(read(&file(19), &format(values())), [(21, "1.5 mm".to_owned())]);
    assert_eq!(wrong(file(20).as_bytes(), &format(values()))[0].0, 1, "the nearest is named");
    let later = RowFormat { skip_lines: 5, ..format(values()) };
    assert_eq!(read(&file(24), &later), [(26, "1.5 mm".to_owned())]);
    // A header in a line that is left out is none; more lines left out than there are is no header.
    let skipping =
        |skip_lines| wrong(b"Value_mm\n1.5\n", &RowFormat { skip_lines, ..format(values()) });
    assert_eq!((skipping(1).len(), skipping(9).len()), (1, 1));
    // The line that lacks the least is named.
    let columns = with(&[("part", "Part"), ("check", "Check")]);
    let told = wrong(b"logger\nPart,Value_mm\nPart\n", &format(columns));
    assert_eq!(told.len(), 1);
    assert!(
        told[0].0 == 2 && told[0].1.contains("\"Check\"") && !told[0].1.contains("\"Part\""),
        "{told:?}"
    );
}

#[test]
fn a_column_is_the_one_that_is_named_in_any_case_with_or_without_its_unit() {
    let value = |header: &str, named: &str| {
        let file = format!("{header}\n1.5,2.5\n");
        parse_rows(
            file.as_bytes(),
            &RowFormat { unit: Some(Unit::Inch), ..format(with(&[("value", named)])) },
        )
        .map(|rows| rows.rows[0].value.to_string())
        .map_err(|bad| bad.faults.len())
    };
    assert_eq!(value("VALUE,other", "value"), Ok("1.5 in".to_owned()));
    assert_eq!(value("other, Value (mm) ", " Value "), Ok("2.5 mm".to_owned()));
    assert_eq!(value("Value_um,Value", "Value"), Ok("2.5 in".to_owned()), "the exact name first");
    assert_eq!(value("Value_um,Value_mm", "Value_um"), Ok("1.5 um".to_owned()));
    assert_eq!(value("Value_um,Value_mm", "Value"), Err(1));
    assert_eq!(value("Value [V],other", "Value"), Err(1), "volts are no unit");
    assert_eq!(value("\u{c4}NDERUNG,other", "\u{e4}nderung"), Ok("1.5 in".to_owned()));
}

#[test]
fn cells_beyond_the_header_must_be_empty_and_those_that_are_needed_there() {
    let columns = || format(RowFormatColumns::part());
    assert_eq!(read("Value_mm,Part,Note\n1.5,a,,,\n2.5,a\n", &columns()).len(), 2);
    let told = wrong(b"Value_mm,Part,Note\n1.5,a,b,c\n2.5\n", &columns());
    assert_eq!(told.iter().map(|fault| fault.0).collect::<Vec<_>>(), [2, 3]);
    assert!(told[0].1.contains("4 columns") && told[1].1.contains("1 columns"), "{told:?}");
}

struct RowFormatColumns;

impl RowFormatColumns {
    fn part() -> Columns {
        with(&[("part", "Part")])
    }
}

#[test]
fn a_unit_may_come_from_a_column_and_must_agree() {
    let columns = || format(with(&[("unit", "Unit")]));
    let rows = "Value,Unit\n1.5,mm\n1.5 in,\n1.5in,IN\n2.5,um\n";
    let told: Vec<String> = read(rows, &columns()).into_iter().map(|row| row.1).collect();
    assert_eq!(told, ["1.5 mm", "1.5 in", "1.5 in", "2.5 um"]);
    let bad = wrong(b"Value [mm],Unit\n1.5,in\n1.5 um,mm\n1.5 furlong,mm\n1.5,\n", &columns());
    assert_eq!(bad.iter().map(|fault| fault.0).collect::<Vec<_>>(), [2, 3, 4]);
    assert!(bad[0].1.contains("in and mm") && bad[1].1.contains("um and mm"), "{bad:?}");
}

#[test]
fn positions_are_small_whole_numbers() {
    let columns = || format(with(&[("position", "Pos")]));
    let of = |cell: &str| {
        parse_rows(format!("Value_mm,Pos\n1,{cell}\n").as_bytes(), &columns())
            .map(|rows| rows.rows[0].position)
            .map_err(|bad| bad.faults.len())
    };
    assert_eq!(
        [of("0"), of(" 07 "), of("999999999")],
        [Ok(Some(0)), Ok(Some(7)), Ok(Some(999_999_999))]
    );
    for cell in ["", "-1", "+1", "1.0", "1234567890", "a", "\u{663}"] {
        assert_eq!(of(cell), Err(1), "{cell:?}");
    }
}

#[test]
fn huge_and_hostile_fields_are_rows_or_named_faults() {
    let columns = || format(RowFormatColumns::part());
    let huge = "x".repeat(1_000_000);
    let file = format!("Value_mm,Part\n1.5,{huge}\n{huge},a\n2.5,a\n");
    let bad = parse_rows(file.as_bytes(), &columns()).unwrap_err();
    assert_eq!(bad.faults.iter().map(|fault| fault.line).collect::<Vec<_>>(), [3]);
    assert_eq!(bad.good.rows.iter().map(|row| row.line).collect::<Vec<_>>(), [2, 4]);
    assert_eq!(bad.good.tags[0].part.as_ref().map(String::len), Some(1_000_000));
    for (row, what) in [
        (&b"1.5,a\x1bb"[..], "a control character"),
        (b"1.5,\xff\xfe", "bytes that are no text"),
        (b"1.5,", "no part"),
        (b"1.5,  ", "no part"),
        (b"1.5,\"a\nb\"", "a line end in quotes"),
        (b"1.5\0,a", "a NUL"),
        (b"\"1.5,a\n2.5,b\n", "a quote that is never closed"),
        (b"1..5,a", "two points"),
        (b"+-1.5,a", "two signs"),
        (b"1 5,a", "a blank within"),
        (b"\xd9\xa1,a", "digits of another script"),
    ] {
        let file = [b"Value_mm,Part\n", row, b"\n"].concat();
        let told = wrong(&file, &columns());
        assert_eq!(told.iter().map(|fault| fault.0).collect::<Vec<_>>(), [2], "{what}");
        assert!(!told[0].1.contains(char::is_control), "{what}: {:?}", told[0].1);
    }
    let big_endian: Vec<u8> =
        "\u{feff}Value_mm\n".encode_utf16().flat_map(u16::to_be_bytes).collect();
    assert_eq!(wrong(&big_endian, &columns()).len(), 1);
}

#[test]
fn an_hour_the_clock_leaves_out_is_taken_as_the_calendar_has_it() {
    // Central Europe: on the last Sunday of March 02:00 becomes 03:00. What a clock never showed is
    // what it would have shown without the change.
    let zone = TimeZone::posix("CET-1CEST,M3.5.0,M10.5.0/3").unwrap();
    let format = RowFormat { time_zone: Some(zone), ..format(with(&[("time", "Time")])) };
    let times = ["01:59:59", "02:30:00", "03:00:00", "03:30:00"];
    let rows = times.map(|time| format!("2027-03-28 {time},1")).join("\n");
    let read = parse_rows(format!("Time,Value_mm\n{rows}").as_bytes(), &format).unwrap();
    let told: Vec<String> = read.rows.iter().map(|row| row.time.unwrap().to_the_second()).collect();
    let at = |time: &str| format!("2027-03-28 {time}");
    assert_eq!(told, [at("00:59:59"), at("01:30:00"), at("01:00:00"), at("01:30:00")]);
}

#[test]
fn an_empty_time_is_none_and_one_that_is_no_text_is_told() {
    let columns = || format(with(&[("time", "Time")]));
    let rows = parse_rows(b"Time,Value_mm\n,1.5\n", &columns()).unwrap();
    assert_eq!(rows.rows[0].time, None);
    for time in [
        &b"\xff"[..],
        b"14:30:00",
        b"12345678901",
        b"123456789012345",
        b"2027-03-01",
        b"2027-13-01T00:00:00Z",
    ] {
        let file = [b"Time,Value_mm\n", time, b",1.5\n"].concat();
        assert_eq!(wrong(&file, &columns()).len(), 1, "{}", time.escape_ascii());
    }
    let local = wrong(b"Time,Value_mm\n2027-03-01 14:30:00,1.5\n", &columns());
    assert!(local[0].1.contains("time_zone"), "{local:?}");
}

#[test]
fn line_ends_are_counted_as_an_editor_counts_them() {
    for (text, ends) in [
        ("", 0),
        ("a", 0),
        ("\n", 1),
        ("\r\n", 1),
        ("\r", 1),
        ("\n\r", 2),
        ("\r\r\n\n", 3),
        ("a\nb\r\nc\rd", 3),
    ] {
        assert_eq!(line_ends(text.as_bytes()), ends, "{text:?}");
    }
}

#[test]
fn lines_left_out_end_as_all_lines_do() {
    for end in ["\n", "\r\n", "\r"] {
        let file = ["logger", "", "started;", "Value_mm", "1.5", "2.5"].join(end);
        for (skip_lines, first) in [(0, 5), (1, 5), (2, 5), (3, 5)] {
            let told = read(&file, &RowFormat { skip_lines, ..format(values()) });
            let wanted = [(first, "1.5 mm".to_owned()), (first + 1, "2.5 mm".to_owned())];
            assert_eq!(told, wanted, "{skip_lines} of {file:?}");
        }
        // The header itself left out: nothing is one.
        let none = wrong(file.as_bytes(), &RowFormat { skip_lines: 4, ..format(values()) });
        assert_eq!(none[0].0, 5, "{end:?}: {none:?}");
    }
}

#[test]
fn an_inch_may_be_a_mark_behind_the_number() {
    let plain = format(values());
    let told = read("Value\n1.5\"\n\"2.5\"\"\"\n\"3.5\" \"\n", &plain);
    let told: Vec<&str> = told.iter().map(|row| row.1.as_str()).collect();
    assert_eq!(told, ["1.5 in", "2.5 in", "3.5 in"]);
}
