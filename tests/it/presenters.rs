//! A verdict is shown by the reply of a command, by `tail`, on the bench screen, in tables and in the report.
//! A hundred random ones are shown by all of them, and the printed numbers are compared. The readings are
//! invented.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use markup5ever_rcdom::Handle;
use serde_json::Value;

use self::plan::{Case, DIALS, KINDS, case, measured};
use self::told::{Told, of_reply, of_report, of_screen, of_table, of_tail};
use crate::digits::{Tail, decided, decimal};
use crate::report::html::{attribute, elements, parsed, text};
use crate::rig::{Bench, Dice, Make, RING_PLAN};
use crate::watch::Terminal;

mod plan;
mod told;

const PLATE: &str = "unit = \"in\"\nresolution = \"0.000001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0";

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
fn high_sides(line: &Value, screen: &str, page: &Handle, case: &Case) -> Result<bool, String> {
    if case.kind == "bar-runout" {
        return Ok(false);
    }
    let on_screen = degrees_behind(screen, "High near the ");
    let id = format!("c{}", line["id"]);
    let checks = elements(page, "div");
    let about = checks.iter().find(|check| {
        attribute(check, "class").as_deref() == Some("check")
            && elements(check, "h3")
                .iter()
                .any(|head| attribute(head, "id").as_deref() == Some(&id))
    });
    let said = text(about.ok_or("it is not on the page")?);
    let on_page = degrees_behind(&said, "High side at ")
        .or_else(|| degrees_behind(&said, "High reading at "));
    match (on_screen, on_page) {
        (None, None) => Ok(false),
        (Some(mark), Some(angle)) => {
            let pitch = 360.0 / line["positions"].as_f64().unwrap();
            let apart = (mark - angle).rem_euclid(360.0);
            // The page rounds to whole degrees.
            let near = apart.min(360.0 - apart) <= pitch / 2.0 + 0.5;
            near.then_some(true).ok_or_else(|| format!("mark {mark}, angle {angle}"))
        }
        (mark, angle) => Err(format!("screen {mark:?}, page {angle:?} {line}")),
    }
}

/// The rule of the job that a check is in.
fn rule(case: &Case) -> &'static str {
    if (case.number / KINDS.len()).is_multiple_of(2) { "guarded" } else { "simple" }
}

/// A bench that shows people one unit, with a plan for each rule.
fn bench(unit: &str, cases: &[Case]) -> Bench {
    let mut dials = String::new();
    for (name, more) in DIALS {
        write!(dials, "[[gauge]]\nname = \"{name}\"\nkind = \"dial\"\nunit = \"in\"\n{more}\n")
            .unwrap();
    }
    let mut bench = Bench::new(&Make { gauge: PLATE, more: &dials, plan: RING_PLAN });
    for agreed in ["guarded", "simple"] {
        let of = cases.iter().filter(|case| rule(case) == agreed);
        let parts: Vec<&str> = of.map(|case| case.plan.as_str()).collect();
        let head = format!("name = \"{agreed}\"\nunit = \"in\"\nrule = \"{agreed}\"\n");
        std::fs::write(bench.path(&format!("plans/{agreed}.toml")), head + &parts.concat())
            .unwrap();
    }
    let setup = std::fs::read_to_string(bench.path("bench.toml")).unwrap();
    let setup = setup.replacen("unit = \"in\"", &format!("unit = \"{unit}\""), 1);
    std::fs::write(bench.path("bench.toml"), setup).unwrap();
    bench.start();
    bench
}

/// What was told of one verdict, by everything that tells it.
struct Heard<'a> {
    case: &'a Case,
    reply: Told,
    all: [(&'static str, Told); 5],
    /// The row of the screen.
    row: String,
    line: Value,
}

/// Everything that is wrong with how a verdict is told.
fn wrong(heard: &Heard<'_>, page: &Handle, unit: &str) -> Vec<String> {
    let Heard { case, reply, all, row, line } = heard;
    let [(_, tail), (_, screen), (_, table), ..] = all;
    if case.kind == "confirm" {
        // An answer stands by itself at the reply, in `tail` and on the screen.
        let others = [("reply", &reply.value), ("tail", &tail.value)];
        let others = others.into_iter().filter(|(_, value)| **value != table.value);
        return others.map(|(who, value)| format!("{who} answers {value:?}")).collect();
    }
    let mut wrong = Vec::new();
    let own = line["unit"] == unit;
    let others = all.iter().map(|(who, told)| (*who, told));
    for (who, told) in others.chain(own.then_some(("reply", reply))) {
        if told.plain() != table.plain() {
            wrong.push(format!("{who} tells other numbers: {told:?}"));
        }
    }
    // Where the uncertainty is assumed each of them says so, or none.
    let assumed = line["uncertainty_from"] == "assumed" && table.spread.is_some();
    for (who, told) in [("tail", tail), ("screen", screen), ("reply", reply)] {
        if told.spread.as_ref().is_some_and(|said| said.ends_with(" assumed") != assumed) {
            wrong.push(format!("{who} on what is assumed: {told:?}"));
        }
    }
    wrong.extend(on_its_side(&table.plain(), line, own).err());
    if case.kind == "runout" {
        wrong.extend(axis_off(line, page, unit).err());
    }
    wrong.extend(high_sides(line, row, page, case).err());
    wrong
}

/// The line for a script has the same figure with more digits, and what is printed decides the same.
fn on_its_side(told: &Told, line: &Value, own: bool) -> Result<(), String> {
    let text = |of: &Value| of.as_str().unwrap_or_default().to_owned();
    let Told { value: Some(value), limit, spread } = told else { return Ok(()) };
    let number = value.trim_start_matches("less than ");
    if own && number == value && !rounded(number, &text(&line["value"])) {
        return Err(format!("{number} is recorded as {}", line["value"]));
    }
    let Some((limit, u)) = limit.as_ref().zip(spread.as_ref()) else { return Ok(()) };
    let limit = limit.split(" at ").next().unwrap();
    let said = decided(number, &limit.split(" to ").collect::<Vec<_>>(), u);
    let recorded = [text(&line["simple"]), text(&line["guarded"])];
    if said == recorded.each_ref().map(String::as_str) {
        Ok(())
    } else {
        Err(format!("its printed numbers say {said:?}, the record {recorded:?}"))
    }
}

fn play(unit: &str, seed: u64, count: usize) {
    let mut dice = Dice::seeded(seed);
    let cases: Vec<Case> = (0..count).map(|number| case(&mut dice, number)).collect();
    let bench = bench(unit, &cases);
    let tail = Tail::of(&bench);
    let screen = Terminal::with_watch(&bench, (240, 50), &[]);
    let (mut disagree, mut words, mut sides) = (String::new(), BTreeSet::new(), 0);
    for agreed in ["guarded", "simple"] {
        let job = format!("J-{agreed}");
        bench.ok(&["job", "open", &job, "--plan", agreed]);
        let mut told = Vec::new();
        for case in cases.iter().filter(|case| rule(case) == agreed) {
            let reply = of_reply(&measured(&bench, case));
            let figures = case.kind != "confirm" && reply.value.is_some();
            told.push((case, reply, of_screen(&screen, &case.target(), figures)));
        }
        let last = told.last().unwrap().0.target();
        tail.until(&format!("{last}: "));
        let lines = bench.lines(&["verdicts", &job]);
        let table = bench.ok(&["verdicts", &job, "--all"]);
        let shown = bench.ok(&["job", "show", &job]);
        let (_, shown) = shown.split_once("\ncheck ").unwrap();
        let shown = format!("check {shown}");
        let page = parsed(&bench.ok(&["report", &job]));
        for (case, reply, (on_screen, row)) in told {
            let target = case.target();
            let part = target.split_once('/').unwrap().0;
            let line = lines.iter().rev().find(|line| line["part"] == part).unwrap().clone();
            words.insert(format!("{} {}", line["rule"], line["verdict"]));
            let all = [
                ("tail", of_tail(&tail.text(), &target)),
                ("screen", if case.kind == "confirm" { Told::default() } else { on_screen }),
                ("table", of_table(&table, &target)),
                ("job", of_table(&shown, &target)),
                ("report", of_report(&page, &line["id"])),
            ];
            let heard = Heard { case, reply, all, row, line };
            sides +=
                usize::from(matches!(high_sides(&heard.line, &heard.row, &page, case), Ok(true)));
            for wrong in wrong(&heard, &page, unit) {
                writeln!(disagree, "{target} ({}): {wrong}\n  {:?}", case.kind, heard.all[2])
                    .unwrap();
            }
        }
    }
    assert!(disagree.is_empty(), "{disagree}");
    assert!(words.len() >= 6, "{words:?}");
    assert!(sides >= count / 10, "only {sides} had a high side");
}

#[test]
fn all_that_tell_a_verdict_tell_the_same_numbers_in_inches() {
    play("in", 7, 54);
}

#[test]
fn all_that_tell_a_verdict_tell_the_same_numbers_in_millimetres() {
    play("mm", 11, 54);
}
