//! What people read, through the real program: the same digits everywhere, and never on the wrong side of
//! a limit. The readings are invented; the decisions are worked out again here from the printed texts
//! alone.

use std::fmt::Write as _;

use std::io::Read as _;
use std::process::Child;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use serde_json::Value;

use crate::rig::{Bench, Dice, Make, Wire};

/// Steps of a millionth of an inch, so that figures come as near to a limit as they can.
const GAUGE: &str = "unit = \"in\"\nresolution = \"0.000001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0";

const FLAT: &str = r#"
name = "held"
unit = "in"
rule = "simple"
[[part]]
name = "ring"
kind = "spacer"
[[part.check]]
name = "flat"
measures = "flatness"
gauge = "plate"
setup = "supports"
positions = 8
radius = "1.5 in"
closure = false
tolerance = "0.0001 in"
"#;

/// The zone of these is 0.000100004311… in: 50·½ and the like with √½ between them, so that it ends
/// nowhere (worked out over all sets of four touches, outside the program).
const HAIR: [u32; 8] = [50, 20, 105, 2, 68, 103, 146, 51];

fn millionths(count: u32) -> String {
    format!("0.{count:06}in")
}

/// What is told of a station's check on the screen.
fn on_screen(bench: &Bench) -> Value {
    let view = Wire::to(&bench.state.join("tenths.sock")).unwrap();
    let mut view = view;
    view.ask(r#"{"request":"view"}"#).unwrap()["check"]["verdict"].clone()
}

#[test]
fn an_out_by_a_hair_is_an_out_wherever_it_is_read() {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: FLAT });
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    bench.ok(&["measure", "ring/flat"]);
    let mut typed = vec!["enter".to_owned()];
    typed.extend(HAIR.map(millionths));
    let typed: Vec<&str> = typed.iter().map(String::as_str).collect();
    let mut reply = bench.ok(&typed);
    if let Some((_, asked)) = reply.split_once("Touch position ") {
        // A touch that stands off is asked for once more, and comes back the same.
        let position: usize = asked.split(' ').next().unwrap().parse().unwrap();
        reply = bench.ok(&["enter", &millionths(HAIR[position])]);
    }

    let line = bench.verdict("J-1", 1);
    assert_eq!(line["verdict"], "does-not-conform");
    assert_eq!(line["value"], "0.000100004");
    assert_eq!(line["figures"]["minimum_zone"], "0.000100004");
    assert_eq!(line["limits"], serde_json::json!({"min": null, "max": "0.0001"}));
    assert_eq!(on_screen(&bench)["value"], "0.000100004");
    let tail = Tail::of(&bench);
    tail.until("DOES NOT CONFORM");
    let report = bench.path("report.html");
    bench.ok(&["report", "J-1", "--out", report.to_str().unwrap()]);
    let outputs = [
        ("reply", reply),
        ("table", bench.ok(&["verdicts", "J-1"])),
        ("csv", bench.ok(&["verdicts", "J-1", "--csv"])),
        ("job", bench.ok(&["job", "show", "J-1"])),
        ("alerts", bench.ok(&["alerts"])),
        ("tail", tail.text()),
        ("report", std::fs::read_to_string(report).unwrap()),
    ];
    for (what, text) in outputs {
        assert!(text.contains("0.000100004"), "{what}:\n{text}");
        assert!(!text.contains("0.00010 "), "{what} says that it is at its limit:\n{text}");
    }
}

/// What `tail` prints for a person.
pub(crate) struct Tail {
    child: Child,
    text: Arc<Mutex<String>>,
}

impl Tail {
    pub(crate) fn of(bench: &Bench) -> Self {
        let mut child = bench.spawn(&["tail", "--since", "0"]);
        let mut out = child.stdout.take().unwrap();
        let text = Arc::new(Mutex::new(String::new()));
        let into = Arc::clone(&text);
        std::thread::spawn(move || {
            let mut bytes = Vec::new();
            let mut chunk = [0; 4096];
            while let Ok(count @ 1..) = out.read(&mut chunk) {
                bytes.extend(&chunk[..count]);
                *into.lock().unwrap() = String::from_utf8_lossy(&bytes).into_owned();
            }
        });
        Self { child, text }
    }

    pub(crate) fn text(&self) -> String {
        self.text.lock().unwrap().clone()
    }

    pub(crate) fn until(&self, part: &str) {
        let start = Instant::now();
        while !self.text().contains(part) {
            assert!(start.elapsed() < Duration::from_mins(1), "no {part:?} in {}", self.text());
            std::thread::sleep(Duration::from_millis(15));
        }
    }
}

impl Drop for Tail {
    fn drop(&mut self) {
        // It has ended, mostly.
        drop(self.child.kill());
        drop(self.child.wait());
    }
}

/// A decimal text in units of 1e-14.
pub(crate) fn decimal(text: &str) -> i128 {
    let text = text.trim_start_matches('+');
    let (sign, digits) = text.strip_prefix('-').map_or((1, text), |rest| (-1, rest));
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
    let padded = format!("{whole}{fraction:0<14}");
    sign * padded.parse::<i128>().unwrap_or_else(|_| panic!("{text:?} is no decimal"))
}

/// What both rules say of printed texts: a value, both limits, an uncertainty.
pub(crate) fn decided(value: &str, limits: &[&str], u: &str) -> [&'static str; 2] {
    let (value, u) = (decimal(value), decimal(u));
    let within = |guard: i128| match limits {
        [max] => value <= decimal(max) + guard,
        [min, max] => value >= decimal(min) - guard && value <= decimal(max) + guard,
        _ => panic!("{limits:?}"),
    };
    let simple = if within(0) { "conforms" } else { "does-not-conform" };
    let guarded = match (within(-u), within(u)) {
        (true, _) => "conforms",
        (false, true) => "undecided",
        (false, false) => "does-not-conform",
    };
    [simple, guarded]
}

/// A check of its own for each verdict, its limits in one of three units.
struct Case {
    measures: &'static str,
    limits: String,
    readings: Vec<String>,
}

/// Limits close to the figure, to the figure less U and to the figure more U, in each unit.
fn case(dice: &mut Dice, number: u64) -> Case {
    let unit = ["in", "mm", "um"][usize::try_from(number % 3).unwrap()];
    let high = 30 + u32::try_from(dice.below(270)).unwrap();
    let (measures, readings, millionths_in) = match number / 3 % 3 {
        // Two lobes: the range is `high`.
        0 => {
            let half = high / 2;
            let counts = [high, half, 0, half, high, half, 0, half];
            ("thickness-variation", counts.to_vec(), f64::from(high))
        }
        1 => {
            let counts: Vec<u32> =
                (0..8).map(|_| u32::try_from(dice.below(u64::from(high))).unwrap()).collect();
            ("flatness", counts, f64::from(high) * 0.6)
        }
        // A mean with a third in it.
        _ => {
            let counts = [high, high + 1, high + u32::try_from(dice.below(3)).unwrap()];
            let sum: u32 = counts.iter().sum();
            ("length", counts.to_vec(), f64::from(sum) / 3.0)
        }
    };
    // U is about 24 millionths for two readings, about 17 for one.
    let guard = [0.0, -24.0, 24.0, -17.0, 17.0][usize::try_from(dice.below(5)).unwrap()];
    let off = (f64::from(u32::try_from(dice.below(21)).unwrap()) - 10.0) / 50.0;
    let limit = (millionths_in + guard + off).max(6.0);
    let text = |millionths: f64| match unit {
        "in" => format!("{:.8} in", millionths * 1e-6),
        "mm" => format!("{:.7} mm", millionths * 25.4e-6),
        _ => format!("{:.4} um", millionths * 0.0254),
    };
    let limits = match measures {
        "length" => format!("min = \"{}\"\nmax = \"{}\"", text(-limit), text(limit)),
        _ => format!("tolerance = \"{}\"", text(limit)),
    };
    Case { measures, limits, readings: readings.into_iter().map(millionths).collect() }
}

fn plan_of(cases: &[Case]) -> String {
    let mut plan = "name = \"held\"\nunit = \"in\"\nrule = \"guarded\"\n".to_owned();
    for (number, case) in cases.iter().enumerate() {
        let (setup, more) = match case.measures {
            "length" => ("plate", "positions = 3\nmaster = \"none\"\n"),
            "flatness" => ("supports", "positions = 8\nradius = \"1.5 in\"\n"),
            _ => ("anvil", "positions = 8\nradius = \"1.5 in\"\n"),
        };
        writeln!(
            plan,
            "[[part]]\nname = \"p{number}\"\nkind = \"spacer\"\n[[part.check]]\nname = \"it\"\n\
             measures = \"{}\"\ngauge = \"plate\"\nsetup = \"{setup}\"\nclosure = false\n{more}{}",
            case.measures, case.limits
        )
        .unwrap();
    }
    plan
}

/// The row of the report that tells of a verdict.
fn row_of_report(page: &str, id: &Value) -> String {
    let about = format!("data-verdict=\"{id}\"");
    let row = page.split("<tr").find(|row| row.contains(&about));
    row.unwrap_or_default().replace('−', "-")
}

#[test]
fn a_hundred_verdicts_have_the_same_digits_everywhere_and_stand_on_their_side() {
    let mut dice = Dice::seeded(20_271);
    let cases: Vec<Case> = (0..100).map(|number| case(&mut dice, number)).collect();
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan_of(&cases) });
    bench.start();
    let tail = Tail::of(&bench);
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    let mut told = Vec::new();
    for (number, case) in cases.iter().enumerate() {
        bench.ok(&["measure", &format!("p{number}/it")]);
        let mut typed = vec!["enter"];
        typed.extend(case.readings.iter().map(String::as_str));
        let reply = bench.ok(&typed);
        told.push((reply, on_screen(&bench)));
    }
    let lines = bench.lines(&["verdicts", "J-1"]);
    assert_eq!(lines.len(), 100);
    let table = bench.ok(&["verdicts", "J-1", "--last", "100"]);
    let page = bench.ok(&["report", "J-1"]);
    tail.until("p99/it");
    let heard = tail.text();
    let mut close = 0;
    for (number, (line, (reply, screen))) in lines.iter().zip(&told).enumerate() {
        let text = |of: &Value, key: &str| of[key].as_str().unwrap_or_default().to_owned();
        let decisions = [text(line, "simple"), text(line, "guarded")];
        let about = format!("{number}: {line}\n{screen}\n{reply}");
        // The record's own line.
        let limits: Vec<String> = ["min", "max"]
            .into_iter()
            .filter_map(|end| line["limits"][end].as_str().map(str::to_owned))
            .collect();
        let limits: Vec<&str> = limits.iter().map(String::as_str).collect();
        let (value, u) = (text(line, "value"), text(line, "uncertainty"));
        assert_eq!(decided(&value, &limits, &u), decisions, "record {about}");
        // The screen, in the unit of the bench.
        let shown = text(screen, "value");
        let limit = text(screen, "limit");
        let ends: Vec<&str> = limit.split(" to ").collect();
        let spread = text(screen, "uncertainty");
        if shown.starts_with("less than") {
            let most = shown.rsplit(' ').next().unwrap();
            assert_eq!(decided(most, &ends, &spread), decisions, "screen {about}");
        } else {
            assert_eq!(decided(&shown, &ends, &spread), decisions, "screen {about}");
            close += usize::from(shown.len() > 9);
        }
        // Whoever reads in the unit of the bench reads the same texts.
        let row = table.lines().find(|row| row.contains(&format!("p{number}/it "))).unwrap_or("");
        let row = if row.is_empty() { &table } else { row };
        assert!(row.contains(&shown) && row.contains(&limit), "table {row} {about}");
        let said = format!("p{number}/it: ");
        let said =
            heard.lines().find(|row| row.contains(&said) && row.contains(", limit ")).unwrap();
        assert!(said.contains(&format!(" {shown} in, limit {limit}, ±{spread}")), "{said} {about}");
        let row = row_of_report(&page, &line["id"]);
        assert!(row.contains(&shown) && row.contains(&spread), "report {row} {about}");
        // The reply, in the unit of the limit.
        if let Some((_, done)) = reply.split_once("Done. ")
            && text(line, "unit") == "in"
        {
            let same = format!(" {shown} in ± {spread}, limit {limit}.");
            let same = done.replace(" assumed", "").contains(&same);
            assert!(same, "reply {about}");
        }
    }
    assert!(close > 15, "only {close} of them needed more digits");
}
