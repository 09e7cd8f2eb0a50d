//! Random histories of jobs through the real service: rounds, grinds, cleans, repeats, touches
//! taken back, holes, moved zeros, replaced parts, answers. After each the page must say what
//! `verdicts --json` says, number by number, and no verdict may stand on metal that is gone.
//!
//! `TENTHS_HISTORIES=500 TENTHS_SEED=7 cargo test --test it histories` plays more of them.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use self::page::Page;
use crate::rig::{Bench, Dice, Make, Wire};

mod page;
mod sums;

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0";

const CHECKS: [&str; 10] = [
    "ring/face-a",
    "ring/face-b",
    "ring/length",
    "other/thick",
    "other/flat",
    "other/length",
    "pair/match",
    "nose/pilot",
    "nose/seen",
    "nose/room",
];

/// One job as it is played, and what the world knows of it beside the program.
struct Player<'a> {
    wire: Wire,
    dice: &'a mut Dice,
    job: String,
    keys: u64,
    /// What was done, for the person who reads a failure.
    told: Vec<String>,
    /// Rows at which a part became other metal, and the check it was ground at.
    metal: Vec<(String, String, u64)>,
    /// Set anew now and then, in 0.00001 in.
    zero: i64,
    /// Where the check on the screen stands, as the last reply told it.
    now: Option<Value>,
}

impl Player<'_> {
    fn ask(&mut self, what: &str, fields: Value) -> Value {
        self.keys += 1;
        let mut request = fields;
        request["request"] = json!(what);
        request["key"] = json!(format!("{}-{}", self.job, self.keys));
        request["by"] = json!("ada");
        let reply = self.wire.ask(&request.to_string()).unwrap();
        self.told.push(format!("{request} → {reply}"));
        let measuring = if reply["schema"] == "measuring/1" { &reply } else { &reply["measuring"] };
        self.now = Some(measuring).filter(|now| now.is_object()).cloned();
        reply
    }

    /// The check on the screen and what is touched next, unless nothing is.
    fn next(&mut self) -> Option<(String, Option<u64>)> {
        let now = self.now.take();
        let now = now
            .or_else(|| self.wire.ask(r#"{"request":"view"}"#).map(|view| view["check"].clone()))?;
        let next = now["next"].as_str()?;
        let what = format!("{} {next}", now["check"].as_str().unwrap_or(""));
        let touched = !matches!(next, "nothing" | "answer");
        let position = now["next_position"].as_u64();
        self.now = Some(now.clone());
        touched.then_some((what, position))
    }

    fn pick(&mut self, end: u64) -> usize {
        usize::try_from(self.dice.below(end)).unwrap()
    }

    fn below(&mut self, end: u64) -> i64 {
        i64::try_from(self.dice.below(end)).unwrap()
    }

    /// A touch: shape, noise, now and then a wild one; in 0.00001 in.
    fn touch(&mut self) {
        let Some((what, position)) = self.next() else { return };
        let bumps = [0, 1, 2, 3, 4, 3, 2, 1];
        let at = usize::try_from(position.unwrap_or(0) % 8).unwrap();
        let shape = if what.contains("length") || what.contains("master") { 0 } else { bumps[at] };
        let noise = self.below(3) - 1;
        let wild = if self.dice.below(60) == 0 { 25 } else { 0 };
        let value = self.zero + shape + noise + wild;
        let sign = if value < 0 { "-" } else { "" };
        let text = format!("{sign}0.{:05}", value.abs());
        self.ask("enter", json!({ "values": [text] }));
    }

    fn round(&mut self) {
        for _ in 0..40 {
            if self.next().is_none() {
                return;
            }
            match self.dice.below(40) {
                0 => {
                    self.ask("void", json!({ "why": "slipped" }));
                }
                1 => {
                    let position = self.next().and_then(|(_, position)| position);
                    if let Some(position) = position {
                        self.ask("skip", json!({ "position": position, "why": "a slot" }));
                    }
                }
                2 => self.zero += self.below(60) - 30,
                3 if self.dice.below(3) == 0 => {
                    self.ask("stop", json!({}));
                    return;
                }
                _ => self.touch(),
            }
        }
    }

    fn answer(&mut self, target: &str) {
        let answer = ["yes", "no"][usize::from(self.dice.below(3) == 0)];
        if target == "nose/room" {
            let value = format!("{}.5", 18 + self.below(5));
            self.ask("record", json!({ "target": target, "value": value }));
        } else {
            self.ask("confirm", json!({ "target": target, "answer": answer }));
        }
    }

    fn again(&mut self, target: &str) {
        let reason = ["ground", "cleaned", "again", "again"][self.pick(4)];
        let reply = self.ask("remeasure", json!({ "reason": reason, "target": target }));
        let part = target.split_once('/').unwrap().0;
        if reason == "ground" && reply["schema"] == "measuring/1" {
            let row = self.wire.ask(r#"{"request":"view"}"#).unwrap();
            if let Some(row) = row["check"]["attempt_id"].as_u64() {
                self.metal.push((part.to_owned(), target.to_owned(), row));
            }
        }
        if target.starts_with("nose/se") {
            self.answer(target);
        } else {
            self.round();
        }
    }

    fn play(&mut self) {
        self.ask("job-open", json!({ "name": self.job.clone(), "plan": "held" }));
        // A few checks are come back to again and again.
        let often = [0, 1, 2].map(|_| CHECKS[self.pick(10)]);
        for _ in 0..14 {
            let target = match self.dice.below(5) {
                0 => CHECKS[self.pick(10)],
                _ => often[self.pick(3)],
            };
            match self.dice.below(14) {
                0 => {
                    let part = target.split_once('/').unwrap().0;
                    let reply = self.ask("replace", json!({ "part": part, "why": "worn" }));
                    if reply["schema"] == "replaced/1" {
                        self.metal.push((part.to_owned(), String::new(), u64::MAX));
                    }
                }
                1..=6 => self.again(target),
                7 => {
                    self.ask("next", json!({}));
                    self.round();
                }
                _ if target == "nose/seen" || target == "nose/room" => self.answer(target),
                _ => {
                    self.ask("measure", json!({ "target": target }));
                    self.round();
                }
            }
            if self.dice.below(4) == 0 {
                self.zero = self.below(80) - 40;
            }
        }
    }
}

/// The newest verdict of the newest attempt at each check that has one on the present piece.
fn standing(verdicts: &[Value]) -> BTreeMap<String, Value> {
    let mut newest = BTreeMap::new();
    for one in verdicts {
        let target =
            format!("{}/{}", one["part"].as_str().unwrap(), one["check"].as_str().unwrap());
        newest.insert(target, one.clone());
    }
    newest
}

fn histories(count: u64, seed: u64) {
    let mut bench =
        Bench::new(&Make { gauge: GAUGE, more: "", plan: include_str!("histories/plan.toml") });
    bench.start();
    let mut dice = Dice::seeded(seed);
    let mut seen = Seen::default();
    for number in 0..count {
        let wire = Wire::to(&bench.state.join("tenths.sock")).unwrap();
        let mut player = Player {
            wire,
            dice: &mut dice,
            job: format!("j{number}"),
            keys: 0,
            told: Vec::new(),
            metal: Vec::new(),
            zero: 0,
            now: None,
        };
        player.play();
        let verdicts = bench.lines(&["verdicts", &player.job]);
        let page = Page::of(&bench.ok(&["report", &player.job]));
        let why = page
            .disagrees(&verdicts, &standing(&verdicts))
            .or_else(|| on_old_metal(&verdicts, &player.metal));
        if let Some(why) = why {
            panic!("seed {seed}, job {number}: {why}\n{}", player.told.join("\n"));
        }
        seen.add(&page, &verdicts, &player.metal);
    }
    assert!(seen.all_more_than(usize::try_from(count / 4).unwrap()), "{seen:?}");
}

/// How often the histories came to what they are for.
#[derive(Debug, Default)]
struct Seen {
    rows: usize,
    worked: usize,
    combined: usize,
    aside: usize,
    grinds: usize,
    gone: usize,
    open: usize,
    answers: usize,
}

impl Seen {
    fn add(&mut self, page: &Page, verdicts: &[Value], metal: &[(String, String, u64)]) {
        let count =
            |holds: &dyn Fn(&Value) -> bool| verdicts.iter().filter(|one| holds(one)).count();
        self.rows += page.rows.len();
        self.worked += page.lines_worked_out();
        self.aside += page.listed.len();
        self.grinds += metal.iter().filter(|(.., row)| *row != u64::MAX).count();
        self.combined += count(&|one| one["tries"].as_u64() > Some(1));
        self.gone += count(&|one| one["standing"] == "metal-changed");
        self.open += count(&|one| {
            let reasons = one["reasons"].as_array().unwrap();
            reasons.iter().any(|code| code == "zero-moved" || code == "not-closed")
        });
        self.answers += count(&|one| one["answers"].as_array().unwrap().len() > 1);
    }

    fn all_more_than(&self, least: usize) -> bool {
        [self.rows, self.worked, self.aside, self.grinds].iter().all(|one| *one > least)
            && [self.combined, self.gone, self.open, self.answers]
                .iter()
                .all(|one| *one > least / 4)
    }
}

/// A verdict that stands although its part was ground elsewhere after its attempt began.
fn on_old_metal(verdicts: &[Value], metal: &[(String, String, u64)]) -> Option<String> {
    for one in verdicts.iter().filter(|one| one["standing"] == "stands") {
        let part = one["part"].as_str().unwrap();
        let target = format!("{part}/{}", one["check"].as_str().unwrap());
        let faces = ["parallelism", "thickness-variation", "flatness", "length", "difference"];
        if !faces.contains(&one["measures"].as_str().unwrap()) {
            continue;
        }
        for (ground, at, row) in metal.iter().filter(|(.., row)| *row != u64::MAX) {
            let mine = ground == part || (part == "pair" && ground != "nose" && ground != "pair");
            if mine && *at != target && one["attempt_id"].as_u64().unwrap() < *row {
                return Some(format!(
                    "{target} stands, and {ground} was ground at {at} after it: {one}"
                ));
            }
        }
    }
    None
}

#[test]
fn the_page_and_the_verdicts_say_the_same_after_any_history() {
    let number = |name: &str| std::env::var(name).ok().and_then(|text| text.parse().ok());
    histories(number("TENTHS_HISTORIES").unwrap_or(40), number("TENTHS_SEED").unwrap_or(1));
}
