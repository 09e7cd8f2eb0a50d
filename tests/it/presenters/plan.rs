//! A hundred checks of every kind, with limits close to their figures.

use crate::rig::{Bench, Dice};

/// Dials that know their readings well, hardly, not at all, and no longer.
pub(super) const DIALS: [(&str, &str); 5] = [
    (
        "fine",
        "resolution = \"0.000001 in\"\nuncertainty = \"0.0000001 in\"\nrepeatability = \"0.0000001 in\"",
    ),
    ("rough", "resolution = \"0.000001 in\"\nuncertainty = \"0.0002 in\""),
    ("mute", "resolution = \"0.000001 in\""),
    (
        "late",
        "resolution = \"0.000001 in\"\nuncertainty = \"0.000002 in\"\ncalibration_due = 2020-01-01",
    ),
    (
        "usual",
        "resolution = \"0.000001 in\"\nuncertainty = \"0.0000084 in\"\nrepeatability = \"0.000006 in\"",
    ),
];

pub(super) const KINDS: [&str; 9] = [
    "parallelism",
    "thickness-variation",
    "flatness",
    "runout",
    "bar-runout",
    "length",
    "taper",
    "confirm",
    "difference",
];

/// A check of its own for each verdict.
pub(super) struct Case {
    pub(super) kind: &'static str,
    pub(super) number: usize,
    pub(super) plan: String,
    readings: Vec<String>,
    answer: &'static str,
}

impl Case {
    pub(super) fn target(&self) -> String {
        format!("p{}/it", self.number)
    }
}

fn below(dice: &mut Dice, end: u64) -> f64 {
    f64::from(u32::try_from(dice.below(end)).unwrap())
}

/// Limits close to where the figure will be, to that less U and more U, written in one of three units.
fn limits(dice: &mut Dice, high: f64, two_sided: bool) -> String {
    let guard =
        [0.0, -24.0, 24.0, -250.0, 250.0, -1.0, 1.0][usize::try_from(dice.below(7)).unwrap()];
    let limit = (high + guard + (below(dice, 21) - 10.0) / 50.0).max(2.0);
    let unit = dice.below(3);
    let text = |millionths: f64| match unit {
        0 => format!("{:.8} in", millionths * 1e-6),
        1 => format!("{:.7} mm", millionths * 25.4e-6),
        _ => format!("{:.4} um", millionths * 0.0254),
    };
    if two_sided {
        format!("min = \"{}\"\nmax = \"{}\"", text(-limit), text(limit))
    } else {
        format!("tolerance = \"{}\"", text(limit))
    }
}

fn millionths(count: f64) -> String {
    format!("{:.6}in", count * 1e-6)
}

/// One wave around the circle, and some noise on it: most have a high side.
fn wave(dice: &mut Dice, high: f64, count: usize) -> Vec<String> {
    let turned = below(dice, 360).to_radians();
    let marks = u32::try_from(count).unwrap();
    (0..marks)
        .map(|at| {
            let angle = f64::from(at) / f64::from(marks) * std::f64::consts::TAU;
            (high / 2.0 * (1.0 + (angle - turned).cos()) + below(dice, 9)).round()
        })
        .map(millionths)
        .collect()
}

/// The keys of a check beside gauge and limits, and what is read of it.
fn keys(dice: &mut Dice, kind: &str, high: f64) -> (String, Vec<String>) {
    let ring = "radius = \"1.5 in\"";
    let marks = if dice.below(6) == 0 { 4 } else { 8 };
    match kind {
        "parallelism" | "thickness-variation" | "flatness" => {
            let (setup, marks) = match kind {
                "parallelism" => ("plate", marks),
                "flatness" => ("supports", 8),
                _ => ("anvil", marks),
            };
            let keys = format!("setup = \"{setup}\"\npositions = {marks}\n{ring}");
            (keys + "\n" + &limits(dice, high, false), wave(dice, high, marks))
        }
        "runout" => {
            let keys = format!("touch = \"outside\"\npositions = {marks}\n");
            (keys + &limits(dice, high, false), wave(dice, high, marks))
        }
        "bar-runout" => {
            let limit = [high, high + 30.0].map(|limit| format!("{:.7} in", limit * 1e-6));
            let stations = format!(
                "positions = 8\nbar = \"0.000004 in\"\nstations = [\n{{ at = \"0.5 in\", tolerance = \"{}\", \
                 seating = \"0.000004 in\" }},\n{{ at = \"4 in\", tolerance = \"{}\", seating = \"0.000008 in\" }}]",
                limit[0], limit[1]
            );
            (stations, [wave(dice, high, 8), wave(dice, high, 8)].concat())
        }
        "taper" => {
            let keys = "touch = \"inside\"\nrate = \"7/24\"\nstations = [\"0.5 in\", \"1.5 in\", \"2.5 in\"]\n\
                        station_uncertainty = \"0.0001 in\"\n";
            let touches = [1_750_000.0, 2_041_667.0 + high / 2.0, 2_333_333.0 + high];
            let touches = touches.map(|one: f64| millionths(one.round()));
            (keys.to_owned() + &limits(dice, high, false), touches.to_vec())
        }
        _ => {
            let keys = "setup = \"plate\"\npositions = 3\nmaster = \"none\"\n";
            let touches = [0.0, below(dice, 2), below(dice, 3)].map(|more| millionths(high + more));
            (keys.to_owned() + &limits(dice, high, true), touches.to_vec())
        }
    }
}

fn part(name: &str, measures: &str, keys: &str) -> String {
    format!(
        "[[part]]\nname = \"{name}\"\nkind = \"shaft\"\n[[part.check]]\nname = \"it\"\n\
         measures = \"{measures}\"\n{keys}\n"
    )
}

pub(super) fn case(dice: &mut Dice, number: usize) -> Case {
    let kind = KINDS[number % KINDS.len()];
    let (gauge, _) = DIALS[usize::try_from(dice.below(5)).unwrap()];
    // Some lie below what a perfect part would show.
    let high = if dice.below(4) == 0 { 4.0 + below(dice, 30) } else { 20.0 + below(dice, 400) };
    let answer = ["face a", "face-b", "0.5"][usize::try_from(dice.below(3)).unwrap()];
    let name = format!("p{number}");
    let (keys, readings) = keys(dice, kind, high);
    let keys = format!("gauge = \"{gauge}\"\nclosure = false\n{keys}");
    let plan = match kind {
        "confirm" => {
            let asked = "question = \"which face?\"\nanswers = [\"face a\", \"face-b\", \"0.5\"]\n\
                         good = [\"face a\", \"0.5\"]";
            part(&name, kind, asked)
        }
        "difference" => {
            let halves = ["a", "b"].map(|half| format!("{half}{number}"));
            let [one, other] = &halves;
            let of =
                format!("of = [\"{one}/it\", \"{other}/it\"]\narrangement = \"back-to-back\"\n");
            let pair = part(&name, kind, &(of + &limits(dice, high / 2.0, true)));
            halves.iter().map(|half| part(half, "length", &keys)).collect::<String>() + &pair
        }
        _ => part(&name, kind, &keys),
    };
    Case { kind, number, plan, readings, answer }
}

/// Enters readings and answers what is asked for once more, as a hand that reads the same again.
fn entered(bench: &Bench, readings: &[String]) -> String {
    let mut typed: Vec<&str> = vec!["enter"];
    typed.extend(readings.iter().map(String::as_str));
    let mut reply = bench.ok(&typed);
    for _ in 0..6 {
        if reply.contains("Done. ") {
            break;
        }
        let at = |text: &str| -> usize {
            let digits: String = text.chars().take_while(char::is_ascii_digit).collect();
            digits.parse().unwrap_or_else(|_| panic!("{reply}"))
        };
        let asked = if let Some((_, turned)) = reply.split_once("touch position ") {
            let (one, other) = turned.split_once(", then position ").unwrap();
            vec![at(one), at(other)]
        } else if let Some((_, again)) = reply.split_once("Touch position ") {
            vec![at(again)]
        } else {
            panic!("what is asked? {reply}")
        };
        let mut typed = vec!["enter"];
        typed.extend(asked.into_iter().map(|at| readings[at].as_str()));
        reply = bench.ok(&typed);
    }
    reply
}

/// The reply to the command with which the check is over.
pub(super) fn measured(bench: &Bench, case: &Case) -> String {
    let target = case.target();
    match case.kind {
        "confirm" => {
            bench.ok(&["measure", &target]);
            bench.ok(&["confirm", &target, case.answer])
        }
        "difference" => {
            for half in ["a", "b"] {
                bench.ok(&["measure", &format!("{half}{}/it", case.number)]);
                let shifted = |text: &String| {
                    let inch: f64 = text.trim_end_matches("in").parse().unwrap();
                    format!("{:.6}in", if half == "a" { inch } else { inch / 2.0 })
                };
                entered(bench, &case.readings.iter().map(shifted).collect::<Vec<_>>());
            }
            bench.ok(&["measure", &target])
        }
        _ => {
            bench.ok(&["measure", &target]);
            entered(bench, &case.readings)
        }
    }
}
