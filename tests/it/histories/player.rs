//! One job as it is played at the bench, and what the world knows of it beside the program.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use super::metal::{Metal, named};
use crate::rig::{Dice, Wire};

mod bar;

pub(super) use self::bar::disagree;

pub(super) struct Player<'a> {
    wire: Wire,
    dice: &'a mut Dice,
    pub(super) job: String,
    keys: u64,
    /// What was done, for the person who reads a failure.
    pub(super) told: Vec<String>,
    pub(super) metal: Metal,
    /// Set anew now and then, in 0.00001 in.
    zero: i64,
    /// Whether the hand slips, leaves out and moves the zero; it does not while it tidies up.
    slips: bool,
    /// What the screen shows, as last asked.
    screen: Value,
    /// What the bench did that it should not have.
    pub(super) wrong: Option<String>,
    /// Where the bar really stood in each seating of an attempt, degrees.
    pub(super) seated: BTreeMap<u64, [u32; 4]>,
    /// How often something was refused that had to be.
    pub(super) refused: usize,
    /// What spoke against it each time something went on all the same.
    pub(super) in_spite: Vec<BTreeMap<String, &'static str>>,
    /// Whether it was closed with nothing that spoke against it.
    pub(super) closed_in_peace: bool,
}

impl<'a> Player<'a> {
    pub(super) fn new(wire: Wire, dice: &'a mut Dice, number: u64, plan: &str) -> Self {
        Self {
            wire,
            dice,
            job: format!("j{number}"),
            keys: 0,
            told: Vec::new(),
            metal: Metal::of(plan),
            zero: 0,
            slips: true,
            screen: Value::Null,
            wrong: None,
            seated: BTreeMap::new(),
            refused: 0,
            in_spite: Vec::new(),
            closed_in_peace: false,
        }
    }

    fn ask(&mut self, what: &str, fields: Value) -> Value {
        self.keys += 1;
        let mut request = fields;
        request["request"] = json!(what);
        request["key"] = json!(format!("{}-{}", self.job, self.keys));
        request["by"] = json!("ada");
        let reply = self.wire.ask(&request.to_string()).unwrap();
        self.told.push(format!("{request} → {reply}"));
        reply
    }

    fn fault(&mut self, what: String) {
        self.wrong.get_or_insert(what);
    }

    /// Looks at the screen; an attempt seen for the first time is written down. `ground` where a
    /// person just said that metal was taken off.
    fn look(&mut self, ground: bool) {
        let view = self.wire.ask(r#"{"request":"view"}"#).unwrap();
        self.screen = view["check"].clone();
        if let Some(id) = self.screen["attempt_id"].as_u64() {
            let target = self.target();
            let reason = self.screen["reason"].as_str().unwrap().to_owned();
            self.metal.seen(id, &target, &reason, ground);
        }
    }

    /// The check on the screen.
    fn target(&self) -> String {
        let text = |key: &str| self.screen[key].as_str().unwrap_or("");
        format!("{}/{}", text("part"), text("name"))
    }

    /// What is touched next, unless nothing is.
    fn next(&self) -> Option<&str> {
        let next = self.screen["next"].as_str()?;
        (!matches!(next, "nothing" | "answer")).then_some(next)
    }

    fn position(&self) -> Option<u64> {
        self.screen["next_position"].as_u64()
    }

    fn pick(&mut self, end: usize) -> usize {
        usize::try_from(self.dice.below(end.try_into().unwrap())).unwrap()
    }

    fn below(&mut self, end: u64) -> i64 {
        i64::try_from(self.dice.below(end)).unwrap()
    }

    fn once_in(&mut self, times: u64) -> bool {
        self.slips && self.dice.below(times) == 0
    }

    fn enter(&mut self, steps: &[i64]) -> Value {
        let text = |steps: &i64| {
            let sign = if *steps < 0 { "-" } else { "" };
            format!("{sign}{}.{:05}", steps.abs() / 100_000, steps.abs() % 100_000)
        };
        let values: Vec<String> = steps.iter().map(text).collect();
        let reply = self.ask("enter", json!({ "values": values }));
        if reply["schema"] == "entered/1" {
            let id = self.screen["attempt_id"].as_u64().unwrap();
            self.metal.touched(id);
        }
        reply
    }

    /// A touch: shape, noise, now and then a wild one.
    fn touch(&mut self) {
        let target = self.target();
        let bumps = [0, 1, 2, 3, 4, 3, 2, 1];
        let at = usize::try_from(self.position().unwrap_or(0) % 8).unwrap();
        let master = self.next() == Some("master");
        let shape = match target.as_str() {
            // A 7/24 an inch apart: 7/24 in = 0.29167 in.
            "cone/taper" => [175_000, 204_167, 233_333][at.min(2)],
            _ if target.ends_with("length") || master => 0,
            _ => bumps[at],
        };
        let noise = self.below(3) - 1;
        let wild = if self.once_in(60) { 25 } else { 0 };
        self.enter(&[self.zero + shape + noise + wild]);
    }

    /// A round as it comes, until nothing is touched any more.
    fn round(&mut self, ground: bool) {
        self.look(ground);
        if self.screen["measures"] == "bar-runout" {
            return self.bar_round();
        }
        for _ in 0..40 {
            if self.next().is_none() {
                return;
            }
            match self.dice.below(40) {
                0 if self.slips => {
                    self.ask("void", json!({ "why": "slipped" }));
                }
                1 if self.slips => {
                    if let Some(position) = self.position() {
                        self.ask("skip", json!({ "position": position, "why": "a slot" }));
                    }
                }
                2 if self.slips => self.zero += self.below(60) - 30,
                3 if self.once_in(3) => {
                    self.ask("stop", json!({}));
                    return;
                }
                _ => self.touch(),
            }
            self.look(false);
        }
    }

    fn is_question(&self, target: &str) -> bool {
        let check = self.metal.check(target);
        ["confirm", "entry"].contains(&check.measures.as_str())
    }

    fn answer(&mut self, target: &str) {
        let entry = self.metal.check(target).measures == "entry";
        let what = if entry { "record" } else { "confirm" };
        let bad = self.slips && self.dice.below(3) == 0;
        let (answer, kept) = match (entry, bad) {
            (true, _) => {
                let number = format!("{}.5", 18 + self.below(5));
                (number.clone(), number)
            }
            (false, true) => ("no".to_owned(), "no".to_owned()),
            (false, false) => ("yes".to_owned(), "yes".to_owned()),
        };
        let field = if entry { "value" } else { "answer" };
        let whole = self.metal.goes_on_next().is_none();
        let reply = self.ask(what, json!({ "target": target, field: answer }));
        if reply["schema"] == "answered/1" {
            if target.starts_with("nut/") && !whole {
                self.fault(format!("{target} before the stack is whole: {reply}"));
            }
            self.metal.answered(target, &kept);
        }
        self.look(false);
    }

    fn again(&mut self, target: &str, reason: &str) {
        let reply = self.ask("remeasure", json!({ "reason": reason, "target": target }));
        let ground = reason == "ground" && reply["schema"] == "measuring/1";
        if self.is_question(target) {
            self.look(ground);
            self.answer(target);
        } else if reply["schema"] == "measuring/1" {
            self.round(ground);
        }
    }

    fn measure(&mut self, target: &str) {
        if self.is_question(target) {
            return self.answer(target);
        }
        let at_the_nut = target == "nut/face";
        let fresh = !self.metal.is_begun(target);
        let whole = self.metal.goes_on_next().is_none();
        let reply = self.ask("measure", json!({ "target": target }));
        if reply["schema"] != "measuring/1" {
            return;
        }
        if at_the_nut && fresh && !whole {
            self.fault(format!("the nut's turn began before the stack was whole: {reply}"));
        }
        let text = reply["text"].as_str().unwrap();
        for part in self.metal.on_in_spite().into_iter().filter(|_| at_the_nut) {
            if !text.contains(&format!("{part} went on the stack although")) {
                self.wrong.get_or_insert(format!("{part} is on in spite of it: {text}"));
            }
        }
        self.round(false);
    }

    fn replace(&mut self, part: &str) {
        let reply = self.ask("replace", json!({ "part": part, "why": "worn" }));
        if reply["schema"] == "replaced/1" {
            self.metal.replaced(part);
        }
        self.look(false);
    }

    /// Builds the next part, or one at random: what speaks against it must be named, and all of it.
    fn build(&mut self, part: &str, verdicts: &[Value]) {
        let fits = self.metal.goes_on_next() == Some(part);
        let lacking = self.metal.before_building(verdicts, part);
        let place = json!({ "stage": "built", "part": part });
        let reply = self.ask("stack-place", place.clone());
        let went = reply["schema"] == "stacked/1";
        if fits {
            if let Some(why) = gate(&reply, went, &lacking) {
                self.fault(format!("{part} on the stack: {why}"));
            }
        } else if went {
            self.fault(format!("{part} went on out of order: {reply}"));
        }
        if went {
            self.metal.built(part, false);
            return;
        }
        self.refused += usize::from(fits);
        if fits && self.dice.below(2) == 0 {
            let mut place = place;
            place["why"] = json!("the owner waits");
            let reply = self.ask("stack-place", place);
            if reply["schema"] == "stacked/1" {
                self.metal.built(part, true);
                self.in_spite.push(lacking);
            } else {
                self.fault(format!("{part} with a reason: {reply}"));
            }
        }
    }

    fn take_off(&mut self) {
        let reply = self.ask("stack-back", json!({ "stage": "built" }));
        if reply["schema"] == "stacked/1" {
            self.metal.taken_off();
        }
    }

    pub(super) fn play(&mut self, verdicts: &dyn Fn(&str) -> Vec<Value>) {
        self.ask("job-open", json!({ "name": self.job.clone(), "plan": "held" }));
        let all: Vec<String> = self.metal.checks.iter().map(|one| one.target.clone()).collect();
        // A few checks are come back to again and again.
        let often = [0, 1, 2].map(|_| self.pick(all.len()));
        for _ in 0..16 {
            let at =
                if self.dice.below(5) == 0 { self.pick(all.len()) } else { often[self.pick(3)] };
            let target = all[at].clone();
            match self.dice.below(16) {
                0 => self.replace(target.split_once('/').unwrap().0),
                1..=6 => {
                    let reason = ["ground", "cleaned", "again", "again"][self.pick(4)];
                    self.again(&target, reason);
                }
                7 => {
                    self.ask("next", json!({}));
                    self.round(false);
                }
                8 => {
                    let part = ["ring", "other"][self.pick(2)];
                    let verdicts = verdicts(&self.job);
                    self.build(part, &verdicts);
                }
                9 if self.dice.below(3) == 0 => self.take_off(),
                _ => self.measure(&target),
            }
            if self.dice.below(4) == 0 {
                self.zero = self.below(80) - 40;
            }
        }
    }

    /// Puts right what speaks against closing, as a careful person would; whether nothing does.
    pub(super) fn tidy(&mut self, verdicts: &dyn Fn(&str) -> Vec<Value>) -> bool {
        self.slips = false;
        self.zero = 0;
        for turn in 0..60 {
            let now = verdicts(&self.job);
            let lacking = self.metal.before_closing(&now);
            if lacking.is_empty() {
                return true;
            }
            // From the rings to the stack to what turns on it.
            let rings = ["ring/", "other/", "pair/"];
            let in_plan = self.metal.checks.iter().map(|one| &one.target);
            let mut asked = in_plan.filter(|target| lacking.contains_key(*target));
            let first = asked.clone().next().cloned();
            let ring = asked.find(|target| rings.iter().any(|of| target.starts_with(of))).cloned();
            if ring.is_none()
                && let Some(part) = self.metal.goes_on_next().map(str::to_owned)
            {
                self.build(&part, &now);
                continue;
            }
            let target = ring.or(first).unwrap();
            let said = lacking[&target];
            let bad = matches!(said, "is undecided" | "does not conform");
            if target == "pair/match" && bad {
                self.again("ring/length", "cleaned");
                self.again("other/length", "cleaned");
                self.measure("pair/match");
            } else if bad {
                let reason = ["cleaned", "ground"][usize::from(turn % 5 == 4)];
                self.again(&target, reason);
            } else {
                self.measure(&target);
            }
        }
        false
    }

    /// Something that a job that was right does not survive, or does.
    pub(super) fn spoil(&mut self) {
        self.slips = true;
        let all: Vec<String> = self.metal.checks.iter().map(|one| one.target.clone()).collect();
        let target = all[self.pick(all.len())].clone();
        match self.dice.below(4) {
            0 => self.replace(target.split_once('/').unwrap().0),
            1 => self.take_off(),
            2 => self.again(&target, "again"),
            _ => self.again(&target, "ground"),
        }
    }

    /// Closes the job: in silence only where nothing speaks against it, else with a reason.
    pub(super) fn close(&mut self, verdicts: &dyn Fn(&str) -> Vec<Value>) -> Option<String> {
        let lacking = self.metal.before_closing(&verdicts(&self.job));
        // What `next` passes by is measured, and speaks against it only by its word.
        let all = self.ask("next", json!({}));
        if all["schema"] == "error/1" && all["exit"] == 1 {
            let judged = |said: &&str| matches!(*said, "is undecided" | "does not conform");
            if let Some((target, said)) = lacking.iter().find(|(_, said)| !judged(said)) {
                return Some(format!("`next` passes by {target}, which {said}"));
            }
        }
        // It may have taken a difference.
        self.look(false);
        let lacking = self.metal.before_closing(&verdicts(&self.job));
        let reply = self.ask("job-close", json!({ "name": self.job.clone() }));
        let closed = reply["schema"] == "closed/1";
        if let Some(why) = gate(&reply, closed, &lacking) {
            return Some(format!("closing: {why}"));
        }
        self.closed_in_peace = closed;
        if closed {
            return None;
        }
        self.refused += 1;
        let why = json!({ "name": self.job.clone(), "why": "fetched by the owner" });
        let reply = self.ask("job-close", why);
        self.in_spite.push(lacking);
        (reply["schema"] != "closed/1").then(|| format!("closing with a reason: {reply}"))
    }
}

/// Something goes on without a reason only where nothing speaks against it, and the refusal names
/// all that does.
fn gate(reply: &Value, went: bool, lacking: &BTreeMap<String, &'static str>) -> Option<String> {
    if went {
        return (!lacking.is_empty()).then(|| format!("in silence, although {lacking:?}"));
    }
    let named = named(reply);
    let same = named.len() == lacking.len()
        && named.iter().zip(lacking).all(|(one, other)| one.0 == other.0 && one.1 == other.1);
    (!same || lacking.is_empty()).then(|| format!("named {named:?}, not {lacking:?}: {reply}"))
}
