//! Figures printed beside their limits, away from the bench: by `evaluate`, by jobs side by side, and for
//! predictions along a bar. The decisions are worked out again here from the printed texts alone.

use std::process::Command;

use serde_json::Value;

use crate::rig::{Bench, Dice, Make};

/// A decimal text in units of 1e-14.
fn decimal(text: &str) -> i128 {
    let text = text.trim_start_matches(['+', '±']);
    let (sign, digits) = text.strip_prefix('-').map_or((1, text), |rest| (-1, rest));
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
    assert!(fraction.len() <= 14, "{text}");
    let padded = format!("{whole}{fraction:0<14}");
    sign * padded.parse::<i128>().unwrap_or_else(|_| panic!("{text:?} is no decimal"))
}

/// How a figure lies to T − U, T and T + U.
fn sides(value: i128, limit: i128, u: i128) -> [bool; 3] {
    [value <= limit - u, value <= limit, value <= limit + u]
}

fn evaluated(file: &str, arguments: &[&str]) -> String {
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(dir.path().join("points.csv"), file).unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_tenths"));
    command.current_dir(dir.path()).args(["evaluate", "points.csv"]).args(arguments);
    let output = command.env_remove("TENTHS_CONFIG").output().unwrap();
    assert!(output.stderr.is_empty(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// The number before a unit, behind a word.
fn behind<'t>(text: &'t str, word: &str) -> &'t str {
    let rest = text.split_once(word).unwrap_or_else(|| panic!("no {word:?} in {text}")).1;
    rest.trim_start().split([' ', ',']).next().unwrap()
}

#[test]
fn evaluate_prints_no_figure_on_the_wrong_side_of_its_limit() {
    let mut dice = Dice::seeded(417);
    for number in 0..40 {
        // A range in millionths of a micrometre, and a limit some of them beside it, or U farther.
        let range = 2_000_000 + i128::from(dice.below(2_000_000));
        let u = 300_000 + i128::from(dice.below(300_000));
        let guard = [0, -u, u][number % 3];
        let limit = range - guard + i128::from(dice.below(7)) - 3;
        let um =
            |millionths: i128| format!("{}.{:06}", millionths / 1_000_000, millionths % 1_000_000);
        let low = i128::from(dice.below(1_000_000));
        let rows: Vec<i128> = vec![low, low + range, low + range / 2, low + range / 3, low + 5];
        let rows = rows.iter().cycle().take(10).enumerate();
        let rows: Vec<String> = rows.map(|(at, row)| format!("{},{}", 36 * at, um(*row))).collect();
        let file = format!("angle_deg,r_um\n{}\n", rows.join("\n"));
        let (tolerance, uncertainty) = (format!("{} um", um(limit)), format!("{} um", um(u)));
        let unit = ["um", "mm", "in"][number / 3 % 3];
        let mut arguments = vec!["--measures", "runout", "--unit", unit];
        arguments.extend(["--tolerance", &tolerance, "--uncertainty", &uncertainty]);
        let wanted = sides(range, limit, u);

        let text = evaluated(&file, &arguments);
        let first = behind(&text, "points:");
        let verdict = text.lines().last().unwrap();
        let (_, judged) = verdict.split_once(". ").unwrap();
        let (limit, doubt) = (behind(verdict, "limit "), behind(verdict, "uncertainty "));
        assert_eq!(behind(judged, ""), first, "{text}");
        let read = sides(decimal(first), decimal(limit), decimal(doubt));
        assert_eq!(read, wanted, "{tolerance} {uncertainty}\n{text}");

        arguments.push("--json");
        let line: Value = serde_json::from_str(&evaluated(&file, &arguments)).unwrap();
        let field = |name: &str| decimal(line[name].as_str().unwrap());
        let read = sides(field("value"), field("tolerance"), field("uncertainty"));
        assert_eq!(read, wanted, "{line}");
    }
}

/// A zone that ends nowhere, a hair above its limit: it is the same figure on every line.
#[test]
fn a_zone_a_hair_out_is_out_on_every_line_of_evaluate() {
    let file = "angle_deg,radius_in,z_in\n0,1.5,0.00005\n45,1.5,0.00002\n90,1.5,0.000105\n\
                135,1.5,0.000002\n180,1.5,0.000068\n225,1.5,0.000103\n270,1.5,0.000146\n\
                315,1.5,0.000051\n";
    let text = evaluated(file, &["--measures", "flatness", "--tolerance", "0.0001 in"]);
    assert_eq!(text.matches("0.000100004 in").count(), 2, "{text}");
    // It is half a picometre above this limit, which has no end in inches.
    let held = ["--measures", "flatness", "--tolerance", "2.540109 um", "--unit", "in"];
    let text = evaluated(file, &held);
    let (first, limit) = (behind(&text, "points:"), behind(&text, "limit "));
    assert!(text.contains("DOES NOT CONFORM"), "{text}");
    assert!(decimal(first) > decimal(limit), "{text}");
}

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.000001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0";

/// The U of a range is 2·√2·u, that of a change of it √2 times that: 4·u = 33.6 millionths.
const OF_A_CHANGE: i64 = 34;

#[test]
fn a_change_that_is_more_than_its_uncertainty_reads_as_more() {
    let check = |name: &str| {
        format!(
            "[[part.check]]\nname = \"{name}\"\nmeasures = \"thickness-variation\"\n\
             gauge = \"plate\"\nsetup = \"anvil\"\npositions = 8\nclosure = false\n\
             tolerance = \"0.0001 in\"\n"
        )
    };
    let names = ["a33", "a34", "a35", "b33", "b34"];
    let plan = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n";
    let plan = plan.to_owned() + &names.map(check).concat();
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan });
    bench.start();
    // "a" went up by so many millionths, "b" down.
    let came: [i64; 5] = [30, 30, 30, 63, 64];
    let found: [i64; 5] = [63, 64, 65, 30, 30];
    for (job, values) in [("J-1", came), ("J-2", found)] {
        bench.ok(&["job", "open", job, "--plan", "held", "--serial", "SP-1"]);
        for (name, high) in names.iter().zip(values) {
            bench.ok(&["measure", &format!("ring/{name}")]);
            let high = format!("0.{high:06}");
            bench.ok(&["enter", "0", "0", &high, "0", "0", "0", &high, "0"]);
        }
        bench.ok(&["job", "close", "--why", "a try"]);
    }
    let table = bench.ok(&["job", "compare", "J-1", "J-2"]);
    let lines = bench.lines(&["job", "compare", "J-1", "J-2"]);
    for ((name, came), found) in names.iter().zip(came).zip(found) {
        let by = (found - came).abs();
        let row = table
            .lines()
            .find(|row| row.contains(&format!("ring/{name}")) && row.contains("J-2"))
            .unwrap_or_else(|| panic!("no {name} in {table}"));
        let (change, doubt) = row
            .split_whitespace()
            .collect::<Vec<_>>()
            .windows(2)
            .find(|two| two[1].starts_with('±'))
            .map(|two| (two[0].to_owned(), two[1].to_owned()))
            .unwrap();
        let is_more = by >= OF_A_CHANGE;
        assert_eq!(row.contains("CHANGED"), is_more, "{row}");
        assert_eq!(decimal(&change).abs() > decimal(&doubt), is_more, "{row}");
        assert_eq!(change.starts_with('+'), found > came, "{row}");
        let one = lines[0]["characteristics"].as_array().unwrap();
        let one = one.iter().find(|one| one["check"] == *name).unwrap();
        let change = &one["changes"][0];
        let [value, u] = ["value", "uncertainty"].map(|key| change[key].as_str().unwrap());
        assert_eq!(decimal(value).abs() > decimal(u), change["result"] == "changed", "{change}");
    }
}

/// What is predicted has a hundredth of a micrometre in the sentence and on the report alike, its
/// uncertainty is rounded up.
#[test]
fn what_is_predicted_has_the_same_digits_in_the_sentence_and_on_the_report() {
    let plan = "name = \"held\"\nunit = \"mm\"\n[[part]]\nname = \"bar\"\nkind = \"bar\"\n\
        [[part.check]]\nname = \"out\"\nmeasures = \"bar-runout\"\ngauge = \"plate\"\n\
        positions = 8\ntouch = \"outside\"\nclosure = false\nseating = \"0.0001 mm\"\n\
        bar = \"0.0001 mm\"\nstand = \"0 mm\"\npredict = [\"150 mm\"]\n\
        stations = [{ at = \"6 mm\", tolerance = \"0.01 mm\" }, { at = \"76 mm\", tolerance = \"0.01 mm\" }]\n";
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan });
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    bench.ok(&["measure", "bar/out"]);
    for turn in [[0, 14, 20, 14, 0, -14, -20, -14], [60, 42, 0, -42, -60, -42, 0, 42]] {
        let typed: Vec<String> = turn
            .iter()
            .map(|um: &i32| format!("{}0.{:06}in", if *um < 0 { "-" } else { "" }, um.abs()))
            .collect();
        let mut arguments = vec!["enter"];
        arguments.extend(typed.iter().map(String::as_str));
        bench.ok(&arguments);
    }
    let line = bench.verdict("J-1", 1);
    let predicted = &line["figures"]["predicted"][0];
    let advice = line["advice"].to_string();
    let (value, doubt) = (behind(&advice, "At 150 mm:"), behind(&advice, "±"));
    let record = |key: &str| decimal(predicted[key].as_str().unwrap());
    // 0.00001 mm in units of 1e-14.
    let hundredth = 1_000_000_000;
    assert_eq!(value.split_once('.').unwrap().1.len(), 5, "{advice}");
    assert!((decimal(value) - record("value")).abs() * 2 <= hundredth, "{advice} {predicted}");
    let above = decimal(doubt) - record("uncertainty");
    assert!((0..hundredth).contains(&above), "{advice} {predicted}");
    // The report is in inches: a millionth is a hundredth of a tenth.
    let page = bench.ok(&["report", "J-1"]);
    let row = page.split("<tr").find(|row| row.contains("predicted, not measured")).unwrap();
    let inches = |mm: i128| format!("0.{:06}", (mm * 10 / 254 + 5_000_000) / 100_000_000);
    assert!(row.contains(&inches(record("value"))), "{row} {predicted}");
}
