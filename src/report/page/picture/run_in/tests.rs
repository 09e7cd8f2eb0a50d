//! Curves of made-up run-ins. The frame goes from x = 46 to 620 and from y = 230 up to 14: places in it are
//! worked out by hand beside each check.

use bench::plan::run_in::{Place, Speed, SpeedBegan};
use quantity::{Length, Name};

use super::*;

const MINUTE: u64 = 60_000;

/// A run-in of two steps with these places, each with a thermometer, and the room without one.
fn run_in(places: &[&str]) -> Course {
    let thermometer = Name::new("probe").ok();
    let place = |name: &&str| Place { name: (*name).to_owned(), thermometer: thermometer.clone() };
    let room = Place { name: "room".to_owned(), thermometer: None };
    Course {
        steps: vec![Speed { rpm: 1000, ms: 10 * MINUTE }, Speed { rpm: 4000, ms: 10 * MINUTE }],
        places: places.iter().map(place).chain([room]).collect(),
        max: None,
        rate: None,
        steady: None,
        ceiling: Length::from_picometres(120_000_000_000),
        gap_ms: Some(5 * MINUTE),
        frozen_ms: 10 * MINUTE,
        u: None,
    }
}

/// Readings as place, minute and tenths of a degree; the steps at 0 and 10, and the end at 20 minutes.
fn log(readings: &[(u16, u64, i64)]) -> Log {
    let noted = |&(place, minute, tenths): &(u16, u64, i64)| Noted {
        place,
        after_ms: minute * MINUTE,
        value: Length::from_picometres(tenths * 100_000_000),
    };
    let began = |(step, minute): (u16, u64)| SpeedBegan { step, after_ms: minute * MINUTE };
    Log {
        speeds: [(0, 0), (1, 10), (STANDS, 20)].map(began).to_vec(),
        readings: readings.iter().map(noted).collect(),
        by_plan: false,
    }
}

fn drawn(places: &[&str], readings: &[(u16, u64, i64)]) -> String {
    curve(&run_in(places), &log(readings)).into_string()
}

/// What stands between the first of these and the next quotation mark, for each time it is there.
fn each<'a>(text: &'a str, start: &str) -> Vec<&'a str> {
    text.split(start).skip(1).filter_map(|rest| rest.split('"').next()).collect()
}

/// The numbers of the scale in a row, with the place of each.
fn scale(text: &str, anchor: &str) -> Vec<(String, String, String)> {
    let texts = text.split("<text x=\"").skip(1);
    let of_it =
        texts.filter(|one| one.contains(&format!("font-size=\"11\" text-anchor=\"{anchor}\"")));
    let taken = |one: &str| {
        let (x, rest) = one.split_once("\" y=\"")?;
        let (y, rest) = rest.split_once('"')?;
        let said = rest.split_once('>')?.1.split('<').next()?;
        Some((said.to_owned(), x.to_owned(), y.to_owned()))
    };
    of_it.filter_map(taken).collect()
}

#[test]
fn temperatures_stand_at_their_times_and_degrees() {
    let warms = [(0, 0, 210), (0, 4, 250), (0, 8, 290), (0, 20, 290), (1, 0, 210)];
    let picture = drawn(&["front"], &warms[..3]);
    // From 20 to 30 °C, so 21.6 a degree; 20 minutes, so 28.7 a minute. 21 °C: 230 − 21.6 = 208.4.
    // 25 °C: 230 − 108 = 122; 29 °C: 230 − 194.4 = 35.6. Minutes 4 and 8: 46 + 114.8 and 46 + 229.6.
    assert!(picture.contains("d=\"M46.0,208.4 L160.8,122.0 L275.6,35.6\""), "{picture}");
    // What is warmer is higher up, and the room at 21 °C stands where the front began.
    let room = drawn(&["front"], &[warms[0], warms[4], warms[1], warms[2], (1, 20, 210)]);
    assert!(room.contains("d=\"M46.0,208.4 L620.0,208.4\" fill=\"none\" stroke=\"#7b828c\""));
}

#[test]
fn each_number_of_the_scale_is_where_it_says() {
    // 22.7 to 43.1 °C, so from 21 to 45 and on to 46: fifths of 25 degrees.
    let picture = drawn(&["front"], &[(0, 0, 227), (0, 3, 431)]);
    let degrees = scale(&picture, "end");
    let said: Vec<&str> = degrees.iter().map(|one| one.0.as_str()).collect();
    assert_eq!(said, ["21", "26", "31", "36", "41", "46"]);
    for (said, _, y) in &degrees {
        let (said, y): (f64, f64) = (said.parse().unwrap(), y.parse().unwrap());
        // The digits hang 3.5 below their line.
        let place = 230.0 - 216.0 * (said - 21.0) / 25.0 + 3.5;
        assert!((y - place).abs() < 0.06, "{said} at {y}, not {place}");
    }
    let minutes = scale(&picture, "middle");
    assert!(minutes.len() > 5, "{minutes:?}");
    for (said, x, _) in &minutes {
        let (said, x): (f64, f64) = (said.parse().unwrap(), x.parse().unwrap());
        assert!((x - (46.0 + 574.0 * said / 20.0)).abs() < 0.06, "{said} minutes at {x}");
    }
}

#[test]
fn a_flat_line_looks_flat_and_one_moment_is_a_dot() {
    // 20 °C all the time: five degrees from 19 on, 43.2 each.
    let flat = drawn(&["front"], &[(0, 0, 200), (0, 5, 200)]);
    assert_eq!(scale(&flat, "end").len(), 6);
    assert!(flat.contains("d=\"M46.0,186.8 L189.5,186.8\""), "{flat}");
    let once = drawn(&["front"], &[(0, 10, 200)]);
    assert!(once.contains("<circle cx=\"333.0\" cy=\"186.8\""), "{once}");
}

#[test]
fn a_gap_is_left_open_and_what_stands_between_two_is_seen() {
    // Five minutes are no gap, six are.
    let readings = [(0, 0, 210), (0, 5, 220), (0, 11, 230), (0, 17, 240), (0, 18, 240)];
    let picture = drawn(&["front"], &readings);
    let lines: Vec<&str> = each(&picture, " d=\"")
        .into_iter()
        .filter(|d| d.contains(" L") || d.contains("L1"))
        .collect();
    assert_eq!(lines.len(), 1, "{lines:?}");
    assert_eq!((lines[0].matches('M').count(), lines[0].matches('L').count()), (2, 2), "{lines:?}");
    assert_eq!(picture.matches("<circle").count(), 1, "the reading at 11 minutes");
    assert!(picture.contains("<circle cx=\"361.7\""), "46 + 11 · 28.7: {picture}");
    // Of the room a reading now and then is enough.
    let room = drawn(&["front"], &[(0, 0, 210), (1, 0, 200), (0, 1, 210), (1, 20, 200)]);
    assert!(!room.contains("<circle"), "{room}");
}

#[test]
fn the_speeds_stand_below_as_high_as_they_were_fast() {
    let picture = drawn(&["front"], &[(0, 0, 210), (0, 4, 230)]);
    // 1000 of 4000 rpm is 12 of 48, from 310 up; each ran half of the width, 287.
    for (x, y, width, height, rpm) in [
        ("46.0", "298.0", "287.0", "12.0", ">1000<"),
        ("333.0", "262.0", "287.0", "48.0", ">4000<"),
    ] {
        let bar = format!("<rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\"");
        assert!(picture.contains(&bar) && picture.contains(rpm), "{bar} in {picture}");
    }
    // The end is a broken line through both.
    assert!(picture.contains("d=\"M620.0,14.0 V310.0\""), "{picture}");
    // A step that never ran has no bar.
    let mut short = log(&[(0, 0, 210), (0, 4, 230)]);
    short.speeds.truncate(1);
    let short = curve(&run_in(&["front"]), &short).into_string();
    assert_eq!(short.matches("<rect").count(), 1);
    assert!(!short.contains(">4000<") && !short.contains("3 3"), "{short}");
}

#[test]
fn the_legend_tells_lines_apart_without_colour_and_names_no_line_that_is_not_there() {
    let two = drawn(&["front", "rear"], &[(0, 0, 210), (0, 4, 230), (2, 0, 200)]);
    let said = "front: whole line; rear: no readings; room: grey. Temperature";
    assert!(two.contains(said), "{two}");
    assert_eq!(two.matches("stroke-width=\"1.6\"").count(), 1);
    let names = ["a", "b", "c", "d", "e"];
    let readings: Vec<(u16, u64, i64)> = [0, 1, 2]
        .iter()
        .flat_map(|at| (0..5).map(move |p| (p, *at, 200 + i64::from(p) * 10)))
        .collect();
    let many = drawn(&names, &readings);
    // The fifth is broken up as the first: only the numbers tell them apart.
    assert!(many.contains("a (1): whole line") && many.contains("e (5): whole line"), "{many}");
    for number in 1..=5 {
        assert!(many.contains(&format!(">{number}</text>")), "{number} in {many}");
    }
    let four = drawn(&names[..4], &readings);
    assert!(!four.contains("a (1)"), "{four}");
    assert_eq!(each(&four, "stroke-dasharray=\"")[..4], ["", "7 3", "2 2", "9 3 2 3"]);
}

#[test]
fn without_a_temperature_nothing_is_drawn_and_hostile_names_are_text() {
    assert_eq!(drawn(&["front"], &[]), "");
    let hostile = drawn(&["</figcaption><script>", "\u{202e}raer"], &[(0, 0, 210), (0, 1, 215)]);
    assert!(!hostile.contains("<script") && !hostile.contains('\u{202e}'), "{hostile}");
    assert!(hostile.contains("&lt;/figcaption&gt;&lt;script&gt;: whole line"), "{hostile}");
}
