//! Files of points: every way of writing one gives its numbers, and every wrong line its number.

use proptest::prelude::*;

use super::*;
use crate::points::Name::{X, Y, Z};

/// The numbers of a file with these three columns.
fn read(file: &[u8]) -> Result<[Vec<f64>; 3], String> {
    let mut points = Points::read(file, |_, _| ())?;
    Ok([X, Y, Z].map(|name| points.take(name).0))
}

fn cell() -> impl Strategy<Value = String> {
    let plain = (-99_999_i32..100_000, 0_i32..6).prop_map(|(count, places)| {
        format!("{:.*}", usize::try_from(places).unwrap(), f64::from(count) / 10_f64.powi(places))
    });
    prop_oneof![
        4 => plain,
        1 => "[+-]?[0-9]{1,6}\\.[0-9]{0,12}",
        1 => "[+-]?\\.[0-9]{1,9}",
        1 => "[0-9]{1,3}(\\.[0-9]{1,4})?[eE][+-]?[0-5]",
        1 => "[0-9]{1,3}\\.[0-9]{15,18}",
    ]
}

proptest! {
    #[test]
    fn numbers_are_those_that_were_written_however_the_file_ends_its_lines(
        rows in prop::collection::vec((cell(), cell(), cell()), 1..20),
        end in prop::sample::select(vec!["\n", "\r\n", "\r"]),
        empty in 0_usize..3,
        mark in any::<bool>(),
        quotes in any::<bool>(),
        last_end in any::<bool>(),
    ) {
        let write = |cell: &String| if quotes { format!(" \" {cell} \" ") } else { format!(" {cell}") };
        let mut file = if mark { "\u{feff}".to_owned() } else { String::new() };
        file.push_str("x_um,y_um,z_um");
        for (x, y, z) in &rows {
            file.push_str(&end.repeat(empty + 1));
            file.push_str(&[x, y, z].map(write).join(","));
        }
        if last_end {
            file.push_str(end);
        }
        // The standard library's own reading of each number.
        let expected = |of: fn(&(String, String, String)) -> &String| -> Vec<u64> {
            rows.iter().map(|row| of(row).parse::<f64>().unwrap().to_bits()).collect()
        };
        let bits = |column: &Vec<f64>| column.iter().map(|number| number.to_bits()).collect::<Vec<u64>>();
        match read(file.as_bytes()) {
            Ok([x, y, z]) => {
                prop_assert_eq!(bits(&x), expected(|row| &row.0), "{}", file);
                prop_assert_eq!(bits(&y), expected(|row| &row.1));
                prop_assert_eq!(bits(&z), expected(|row| &row.2));
            }
            Err(why) => prop_assert!(false, "{why}: {file:?}"),
        }
        // Who looks on hears of each row once, and of all bytes in the end.
        let mut heard = Vec::new();
        let points = Points::read(file.as_bytes(), |row, bytes| heard.push((row, bytes))).unwrap();
        prop_assert_eq!(points.rows(), rows.len());
        prop_assert_eq!(heard.iter().map(|(row, _)| *row).collect::<Vec<_>>(), (1..=rows.len()).collect::<Vec<_>>());
        prop_assert!(heard.windows(2).all(|two| two[0].1 <= two[1].1));
        let all = u64::try_from(file.len()).unwrap();
        let ahead = if last_end { u64::try_from(end.len()).unwrap() } else { 0 };
        let last = heard.last().unwrap().1;
        prop_assert!(last == all || last + ahead == all || end == "\r", "{last} of {all}");
    }

    #[test]
    fn the_first_wrong_line_is_named_whatever_ends_the_lines(
        good in 0_usize..30,
        empty in 0_usize..3,
        end in prop::sample::select(vec!["\n", "\r\n", "\r"]),
        wrong in prop::sample::select(vec!["1,2", "1,2,3,4", "1,x,3", "1,,3", "1,2,1e400", "1,2,nan", "", "1,2,3;"]),
    ) {
        let lines: Vec<&str> = std::iter::once("x_um,y_um,z_um")
            .chain(std::iter::repeat_n("1,2,3", good))
            .chain(std::iter::repeat_n("", empty))
            .chain([wrong, "1,2,3", "x"])
            .collect();
        let why = read(lines.join(end).as_bytes()).unwrap_err();
        // An empty line is none; the next that is wrong is the last.
        let line = if wrong.is_empty() { good + empty + 4 } else { good + empty + 2 };
        prop_assert!(why.starts_with(&format!("line {line}: ")), "{why} is not line {line}");
    }

    #[test]
    fn any_bytes_are_points_or_a_sentence_with_its_line(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        for file in [bytes.clone(), [b"x_um,y_um,z_um\n".to_vec(), bytes].concat()] {
            match Points::read(&file[..], |_, _| ()) {
                Ok(points) => prop_assert!(points.rows() > 0),
                Err(why) => prop_assert!(why.starts_with("line "), "{why}"),
            }
        }
    }
}

#[test]
fn a_header_names_each_column_once_with_its_unit_in_any_case() {
    let good =
        |header: &str| Points::read(format!("{header}\n1,2\n").as_bytes(), |_, _| ()).is_ok();
    for header in [
        "x_mm,z_um",
        "X_MM,Z_UM",
        " x_in , \"z_mm\" ",
        "x_\u{b5}m,z_\u{3bc}m",
        "angle_deg,r_um",
        "ANGLE_DEG,R_in",
    ] {
        assert!(good(header), "{header}");
    }
    for header in [
        "x_mm,x_um",
        "x,z_um",
        "x_,z_um",
        "x_cm,z_um",
        "angle,r_um",
        "angle_rad,r_um",
        "q_mm,z_um",
        "x mm,z_um",
        "x_mm,",
        "1,2",
        "x_mm;z_um",
        "x_mm\tz_um",
    ] {
        assert!(!good(header), "{header}");
    }
}

#[test]
fn the_largest_numbers_are_taken_and_no_larger_ones() {
    let good = |header: &str, cell: &str| {
        Points::read(format!("{header}\n{cell}\n").as_bytes(), |_, _| ()).map(|_| ()).is_ok()
    };
    // 9 000 km either way: 9e12 um, 9e9 mm.
    assert!(good("x_um", "9e12") && good("x_um", "-9e12") && !good("x_um", "9.1e12"));
    assert!(good("x_mm", "9000000000") && !good("x_mm", "9000000001"));
    assert!(good("x_in", "354330708") && !good("x_in", "354330709"));
    assert!(good("angle_deg", "-1000000") && !good("angle_deg", "1000000.1"));
}

#[test]
fn a_file_that_breaks_off_is_told_with_what_the_system_said() {
    struct Broken;
    impl std::io::Read for Broken {
        fn read(&mut self, _: &mut [u8]) -> std::io::Result<usize> {
            Err(std::io::Error::other("the disk is gone"))
        }
    }
    let why = Points::read(std::io::BufReader::new(Broken), |_, _| ()).unwrap_err();
    assert!(why.contains("the disk is gone"), "{why}");
}
