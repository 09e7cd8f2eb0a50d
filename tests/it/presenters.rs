//! The same verdict is told by the reply of a command, by `tail`, on the bench screen, in tables and
//! in the report. A hundred random ones are taken through all of them, and the numbers taken out of
//! what each printed are compared. The readings are invented.

use std::fmt::Write as _;

use markup5ever_rcdom::Handle;
use serde_json::Value;

use crate::digits::{Tail, decided, decimal};
use crate::report::html::{attribute, elements, parsed, text};
use crate::rig::{Bench, Dice, Make};
use crate::watch::Terminal;

const PLATE: &str = "unit = \"in\"\nresolution = \"0.000001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0";

/// Dials that know their readings well, hardly, not at all, and no longer.
const DIALS: [(&str, &str); 5] = [
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

const KINDS: [&str; 9] = [
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

/// What one way of telling a verdict says of it, text by text; none where it tells no such thing.
#[derive(Debug, Clone, Default, PartialEq)]
struct Told {
    value: Option<String>,
    /// The limit, or both with ` to ` between; of a bar with the station behind; the good answers.
    limit: Option<String>,
    spread: Option<String>,
}

/// A check of its own for each verdict.
struct Case {
    kind: &'static str,
    number: usize,
    plan: String,
    readings: Vec<String>,
    answer: &'static str,
}

impl Case {
    fn target(&self) -> String {
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

fn case(dice: &mut Dice, number: usize) -> Case {
    let kind = KINDS[number % KINDS.len()];
    let (gauge, _) = DIALS[usize::try_from(dice.below(5)).unwrap()];
    // Some lie below what a perfect part would show.
    let high = if dice.below(4) == 0 { 4.0 + below(dice, 30) } else { 20.0 + below(dice, 400) };
    let few = dice.below(6) == 0;
    let marks = if few { 4 } else { 8 };
    let round = |dice: &mut Dice, count: usize| -> Vec<String> {
        // One wave, and some noise on it: most have a high side.
        let turned = below(dice, 360).to_radians();
        let marks = u32::try_from(count).unwrap();
        (0..marks)
            .map(|at| {
                let angle = f64::from(at) / f64::from(marks) * std::f64::consts::TAU;
                (high / 2.0 * (1.0 + (angle - turned).cos()) + below(dice, 9)).round()
            })
            .map(millionths)
            .collect()
    };
    let with = |setup: &str, more: String| {
        format!("gauge = \"{gauge}\"\nclosure = false\n{setup}\n{more}")
    };
    let ring = "radius = \"1.5 in\"";
    let (more, readings) = match kind {
        "parallelism" | "thickness-variation" | "flatness" => {
            let (setup, marks) = match kind {
                "parallelism" => ("plate", marks),
                "flatness" => ("supports", 8),
                _ => ("anvil", marks),
            };
            let setup = format!("setup = \"{setup}\"\npositions = {marks}\n{ring}");
            (with(&setup, limits(dice, high, false)), round(dice, marks))
        }
        "runout" => {
            let setup = format!("touch = \"outside\"\npositions = {marks}");
            (with(&setup, limits(dice, high, false)), round(dice, marks))
        }
        "bar-runout" => {
            let limit = [high, high + 30.0].map(|limit| format!("{:.7} in", limit * 1e-6));
            let stations = format!(
                "positions = 8\nbar = \"0.000004 in\"\nstations = [\n{{ at = \"0.5 in\", tolerance = \"{}\", \
                 seating = \"0.000004 in\" }},\n{{ at = \"4 in\", tolerance = \"{}\", seating = \"0.000008 in\" }}]",
                limit[0], limit[1]
            );
            let mut touches = round(dice, 8);
            touches.extend(round(dice, 8));
            (with("", stations), touches)
        }
        "length" | "difference" => {
            let setup = "setup = \"plate\"\npositions = 3\nmaster = \"none\"";
            let touches = [0.0, below(dice, 2), below(dice, 3)].map(|more| millionths(high + more));
            (with(setup, limits(dice, high, true)), touches.to_vec())
        }
        "taper" => {
            let off = high;
            let setup = "touch = \"inside\"\nrate = \"7/24\"\nstations = [\"0.5 in\", \"1.5 in\", \"2.5 in\"]\n\
                         station_uncertainty = \"0.0001 in\"";
            let touches = [1_750_000.0, 2_041_667.0 + off / 2.0, 2_333_333.0 + off];
            (
                with(setup, limits(dice, high, false)),
                touches.map(|one| millionths(one.round())).to_vec(),
            )
        }
        _ => {
            let asked = "question = \"which face?\"\nanswers = [\"face a\", \"face-b\", \"0.5\"]\n\
                         good = [\"face a\", \"0.5\"]";
            (asked.to_owned(), Vec::new())
        }
    };
    let check = |measures: &str, more: &str| {
        format!("[[part.check]]\nname = \"it\"\nmeasures = \"{measures}\"\n{more}\n")
    };
    let part = |name: &str| format!("[[part]]\nname = \"{name}\"\nkind = \"shaft\"\n");
    let mut plan = String::new();
    if kind == "difference" {
        let halves = ["a", "b"].map(|half| format!("{half}{number}"));
        for half in &halves {
            plan += &(part(half) + &check("length", &more));
        }
        let of = format!(
            "of = [\"{}/it\", \"{}/it\"]\narrangement = \"back-to-back\"",
            halves[0], halves[1]
        );
        let more = format!("{of}\n{}", limits(dice, high / 2.0, true));
        plan += &(part(&format!("p{number}")) + &check(kind, &more));
    } else {
        plan += &(part(&format!("p{number}")) + &check(kind, &more));
    }
    let answer = ["face a", "face-b", "0.5"][usize::try_from(dice.below(3)).unwrap()];
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

fn measured(bench: &Bench, case: &Case) -> String {
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

/// Takes `0.00034 in`, `± 0.000026 assumed`, `limit 0.0001 at 3`, in whichever order, out of a sentence.
fn sentence(said: &str) -> Told {
    let mut told = Told::default();
    let said = said.strip_suffix('.').unwrap_or(said);
    for piece in said.replace(" ±", ", ±").replace(",,", ",").split(", ") {
        let piece = piece.trim();
        if let Some(limit) = piece.strip_prefix("limit ") {
            told.limit = Some(limit.to_owned());
        } else if let Some(spread) = piece.strip_prefix('±') {
            told.spread = Some(spread.trim().to_owned());
        } else if told.value.is_none() {
            let value =
                piece.trim_end_matches(" in").trim_end_matches(" mm").trim_end_matches(" um");
            told.value = Some(value.to_owned());
        }
    }
    told
}

/// The sentence with the figures of a reply: `Done. CONFORMS. 0.00004 in ± 0.000026, limit 0.0001. …`.
fn of_reply(reply: &str) -> Told {
    let (_, done) = reply.split_once("Done. ").unwrap_or_else(|| ("", reply));
    if let Some((_, answer)) = done.split_once("The answer: ") {
        return Told { value: Some(ended(answer).to_owned()), ..Told::default() };
    }
    let word_end = done.find(". ").map_or(done.len(), |at| at + 2);
    let figures = ended(&done[word_end..]);
    if figures.contains(" limit ") { sentence(figures) } else { Told::default() }
}

/// The first sentence: a full stop within a number ends none.
fn ended(text: &str) -> &str {
    let text = text.split('\n').next().unwrap_or_default();
    text.find(". ").map_or_else(|| text.trim_end_matches('.'), |end| &text[..end])
}

/// `12:00:00  verdict    p1/it: CONFORMS. 0.00004 in, limit 0.0001, ±0.000026. 8 touches on the plate.`
fn of_tail(heard: &str, target: &str) -> Told {
    let row = heard
        .lines()
        .find(|row| row.contains("  verdict ") && row.contains(&format!(" {target}: ")));
    let row = row.unwrap_or_else(|| panic!("{target} is not told in\n{heard}"));
    of_reply(row.split_once(&format!("{target}: ")).unwrap().1)
}

/// The bench screen once it tells of a check, with its figures where the verdict has some; and the row
/// they stand in.
fn of_screen(screen: &Terminal, target: &str, figures: bool) -> (Told, String) {
    let is_told = |row: &&str| row.contains(", ±") || row.contains(", it should be");
    let start = std::time::Instant::now();
    loop {
        assert!(
            start.elapsed().as_secs() < 60,
            "{target} is not on the screen:\n{}",
            screen.text()
        );
        let text = screen.text();
        std::thread::sleep(std::time::Duration::from_millis(30));
        let title = text.lines().next().unwrap_or_default();
        let there = title.split_whitespace().any(|word| word == target);
        let row = text.lines().find(is_told);
        // Not while it is being drawn.
        if there && (row.is_some() || !figures) && text == screen.text() {
            let row = row.unwrap_or_default().trim();
            let told = if row.is_empty() { Told::default() } else { sentence(ended(row)) };
            return (told, row.to_owned());
        }
    }
}

/// The cells of a table by their headings. A column begins where nothing stands in any row.
fn of_table(table: &str, target: &str) -> Told {
    let rows: Vec<Vec<char>> = table.lines().map(|row| row.chars().collect()).collect();
    let width = rows.iter().map(Vec::len).max().unwrap();
    let blank = |at: usize| rows.iter().all(|row| row.get(at).is_none_or(|c| *c == ' '));
    let gaps: Vec<usize> = (1..width).filter(|at| blank(*at) && blank(at - 1)).collect();
    let cells = |row: &[char]| -> Vec<String> {
        let mut cells = Vec::new();
        let mut cell = String::new();
        for (at, c) in row.iter().enumerate() {
            if gaps.contains(&at) {
                cells.push(std::mem::take(&mut cell).trim().to_owned());
            } else {
                cell.push(*c);
            }
        }
        cells.push(cell.trim().to_owned());
        cells
    };
    let titles = cells(&rows[0]);
    let row = rows.iter().map(|row| cells(row)).find(|row| row.iter().any(|cell| cell == target));
    let row = row.unwrap_or_else(|| panic!("{target} is not in\n{table}"));
    let cell = |title: &str| {
        let at = titles.iter().position(|one| one.starts_with(title)).unwrap();
        row.get(at).filter(|cell| !cell.is_empty() && *cell != "–").cloned()
    };
    Told { value: cell("value"), limit: cell("limit"), spread: cell("±U") }
}

/// The row of the report, as a strict reader of HTML sees it.
fn of_report(page: &Handle, id: &Value) -> Told {
    let id = id.to_string();
    let rows = elements(page, "tr");
    let row = rows.iter().find(|row| attribute(row, "data-verdict").as_deref() == Some(&id));
    let row = row.unwrap_or_else(|| panic!("verdict {id} is not on the page"));
    let cell = |label: &str| {
        let cells = elements(row, "td");
        let cell =
            cells.iter().find(|cell| attribute(cell, "data-label").as_deref() == Some(label));
        Some(text(cell.unwrap()).replace('−', "-")).filter(|said| said != "–")
    };
    Told { value: cell("After"), limit: cell("Limit"), spread: cell("± U") }
}

/// The mark or angle behind some words, degrees.
fn degrees_behind(said: &str, words: &str) -> Option<f64> {
    let (_, at) = said.split_once(words)?;
    let digits: String = at.chars().take_while(|c| c.is_ascii_digit() || *c == '.').collect();
    digits.trim_end_matches('.').parse().ok()
}

/// Whether one decimal text is another rounded to fewer places, or to the same.
fn rounded(coarse: &str, fine: &str) -> bool {
    let places = coarse.split_once('.').map_or(0, |(_, fraction)| fraction.len());
    let step = 10_i128.pow(14 - u32::try_from(places).unwrap());
    (decimal(coarse) - decimal(fine)).abs() * 2 <= step
}

fn play(unit: &str, seed: u64, count: usize) {
    let mut dice = Dice::seeded(seed);
    let cases: Vec<Case> = (0..count).map(|number| case(&mut dice, number)).collect();
    let plan = |rule: &str, odd: usize| {
        let of = cases.iter().filter(|case| case.number / KINDS.len() % 2 == odd);
        let parts: Vec<&str> = of.map(|case| case.plan.as_str()).collect();
        format!("name = \"{rule}\"\nunit = \"in\"\nrule = \"{rule}\"\n{}", parts.concat())
    };
    let mut dials = String::new();
    for (name, more) in DIALS {
        write!(dials, "[[gauge]]\nname = \"{name}\"\nkind = \"dial\"\nunit = \"in\"\n{more}\n")
            .unwrap();
    }
    let mut bench = Bench::new(&Make { gauge: PLATE, more: &dials, plan: crate::rig::RING_PLAN });
    std::fs::write(bench.path("plans/guarded.toml"), plan("guarded", 0)).unwrap();
    std::fs::write(bench.path("plans/simple.toml"), plan("simple", 1)).unwrap();
    let setup = std::fs::read_to_string(bench.path("bench.toml")).unwrap();
    let setup = setup.replacen("unit = \"in\"", &format!("unit = \"{unit}\""), 1);
    std::fs::write(bench.path("bench.toml"), setup).unwrap();
    bench.start();
    let tail = Tail::of(&bench);
    let screen = Terminal::with_watch(&bench, (240, 50), &[]);
    let mut told = Vec::new();
    for rule in ["guarded", "simple"] {
        let job = format!("J-{rule}");
        bench.ok(&["job", "open", &job, "--plan", rule]);
        let odd = usize::from(rule == "simple");
        for case in cases.iter().filter(|case| case.number / KINDS.len() % 2 == odd) {
            let reply = measured(&bench, case);
            let figures = case.kind != "confirm" && of_reply(&reply).value.is_some();
            let shown = of_screen(&screen, &case.target(), figures);
            told.push((job.clone(), case, reply, shown));
        }
    }
    tail.until(&format!("{}: ", told.last().unwrap().1.target()));
    let heard = tail.text();
    let job = |job: &str| {
        let lines = bench.lines(&["verdicts", job]);
        let table = bench.ok(&["verdicts", job, "--all"]);
        let shown = bench.ok(&["job", "show", job]);
        let of_job = shown.lines().skip_while(|line| !line.starts_with("check "));
        let of_job: Vec<&str> = of_job.take_while(|line| !line.is_empty()).collect();
        (lines, table, of_job.join("\n"), bench.ok(&["report", job]))
    };
    let jobs = ["J-guarded", "J-simple"].map(|name| (name, job(name)));
    let mut disagree = String::new();
    let (mut words, mut sides) = (std::collections::BTreeSet::new(), 0);
    for (name, (lines, table, shown, page)) in &jobs {
        let page = parsed(page);
        for (_, case, reply, (on_screen, row)) in told.iter().filter(|(of, ..)| of == name) {
            let target = case.target();
            let part = target.split_once('/').unwrap().0;
            let line = lines.iter().rev().find(|line| line["part"] == part).unwrap();
            words.insert(format!("{} {}", line["rule"], line["verdict"]));
            let own = line["unit"] == unit;
            let of_reply = of_reply(reply);
            let of_tail = of_tail(&heard, &target);
            let all = [
                ("tail", of_tail.clone()),
                ("screen", on_screen.clone()),
                ("table", of_table(table, &target)),
                ("job", of_table(shown, &target)),
                ("report", of_report(&page, &line["id"])),
            ];
            let known = of_table(table, &target);
            let plain = |text: &Option<String>| {
                text.as_ref().map(|text| text.trim_end_matches(" assumed").to_owned())
            };
            let mut differ = |what: &str, one: &str| {
                writeln!(disagree, "{target} ({}) {what}: {one}\n  {all:?}\n  {reply}", case.kind)
                    .unwrap();
            };
            for (who, said) in &all {
                if case.kind == "confirm" && matches!(*who, "tail" | "screen") {
                    // An answer stands by itself there.
                    if *who == "tail" && said.value != known.value {
                        differ("answers", who);
                    }
                    continue;
                }
                for (what, one, other) in [
                    ("value", &said.value, &known.value),
                    ("limit", &said.limit, &known.limit),
                    ("uncertainty", &plain(&said.spread), &plain(&known.spread)),
                ] {
                    if one != other {
                        differ(what, who);
                    }
                }
            }
            if case.kind == "confirm" {
                continue;
            }
            if own && [&of_reply.value, &of_reply.limit] != [&known.value, &known.limit]
                || own && plain(&of_reply.spread) != plain(&known.spread)
            {
                differ("what is told", "reply");
            }
            // Where the figures are assumed each of them says so, or none.
            let assumed = line["uncertainty_from"] == "assumed" && known.spread.is_some();
            for (who, said) in [
                ("tail", &of_tail.spread),
                ("screen", &on_screen.spread),
                ("reply", &of_reply.spread),
            ] {
                if said.as_ref().is_some_and(|said| said.ends_with(" assumed") != assumed) {
                    differ("assumed", who);
                }
            }
            // The line for a script has the same figure with more digits, and decides the same.
            let text = |of: &Value| of.as_str().unwrap_or_default().to_owned();
            if let (true, Some(value)) = (own, &known.value) {
                let number = value.trim_start_matches("less than ");
                if number == value && !rounded(number, &text(&line["value"])) {
                    differ("value", "json");
                }
            }
            if let (Some(value), Some(limit), Some(u)) =
                (&known.value, &known.limit, plain(&known.spread))
            {
                let limit = limit.split(" at ").next().unwrap();
                let ends: Vec<&str> = limit.split(" to ").collect();
                let said = decided(value.trim_start_matches("less than "), &ends, &u);
                if said
                    != [text(&line["simple"]), text(&line["guarded"])]
                        .each_ref()
                        .map(String::as_str)
                {
                    differ("side of its limit", &format!("{said:?} {line}"));
                }
            }
            if case.kind == "runout"
                && let Err(why) = axis_off(line, &page, unit)
            {
                differ("how far the axis is off", &why);
            }
            sides += usize::from(high_sides(line, row, &page, case).is_some());
            if let Some(Err(why)) = high_sides(line, row, &page, case) {
                differ("high side", &why);
            }
        }
    }
    assert!(disagree.is_empty(), "{disagree}");
    assert!(words.len() >= 6, "{words:?}");
    assert!(sides >= count / 10, "only {sides} had a high side");
}

/// How far the axis of a turn is off, as the page has it: in the unit of the page like all of it.
fn axis_off(line: &Value, page: &Handle, unit: &str) -> Result<(), String> {
    let id = format!("turn-{}-", line["id"]);
    let figures = elements(page, "figure");
    let of_it = |figure: &&Handle| {
        let ids = elements(figure, "title");
        ids.iter().any(|one| attribute(one, "id").is_some_and(|one| one.starts_with(&id)))
    };
    let Some(figure) = figures.iter().find(of_it) else { return Err("it is not drawn".to_owned()) };
    let said = text(figure);
    let Some((before, _)) = said.split_once(" off; dashed") else { return Ok(()) };
    let mut words = before.rsplit(' ');
    let (own, off) = (words.next().unwrap(), words.next().unwrap());
    if own != unit {
        return Err(format!("{off} {own} on a page in {unit}"));
    }
    let recorded = line["figures"]["eccentricity"].as_str().unwrap();
    if line["unit"] == unit && !rounded(off, recorded) {
        return Err(format!("{off}, recorded {recorded}"));
    }
    Ok(())
}

/// Whether the screen names the mark that is nearest to the angle on the page.
fn high_sides(
    line: &Value,
    screen: &str,
    page: &Handle,
    case: &Case,
) -> Option<Result<(), String>> {
    if case.kind == "bar-runout" {
        return None;
    }
    let on_screen = degrees_behind(screen, "High near the ");
    let id = format!("c{}", line["id"]);
    let checks = elements(page, "div");
    let about = checks.iter().find(|check| {
        attribute(check, "class").as_deref() == Some("check")
            && elements(check, "h3")
                .iter()
                .any(|head| attribute(head, "id").as_deref() == Some(&id))
    })?;
    let said = text(about);
    let on_page = degrees_behind(&said, "High side at ")
        .or_else(|| degrees_behind(&said, "High reading at "));
    match (on_screen, on_page) {
        (None, None) => None,
        (Some(mark), Some(angle)) => {
            let pitch = 360.0 / line["positions"].as_f64().unwrap();
            let apart = (mark - angle).rem_euclid(360.0);
            // The page rounds to whole degrees.
            let near = apart.min(360.0 - apart) <= pitch / 2.0 + 0.5;
            Some(near.then_some(()).ok_or_else(|| format!("mark {mark}, angle {angle}")))
        }
        (mark, angle) => Some(Err(format!("screen {mark:?}, page {angle:?} {line}"))),
    }
}

#[test]
fn all_that_tell_a_verdict_tell_the_same_numbers_in_inches() {
    play("in", 7, 54);
}

#[test]
fn all_that_tell_a_verdict_tell_the_same_numbers_in_millimetres() {
    play("mm", 11, 54);
}
