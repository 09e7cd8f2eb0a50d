//! What stands on which metal, and what keeps a job from being closed: kept beside the program, from
//! what was said and done at the bench and the plan alone.

use std::collections::BTreeMap;

use serde_json::Value;

/// A check of the plan.
#[derive(Debug, Clone)]
pub(super) struct Check {
    pub(super) part: String,
    pub(super) target: String,
    kind: String,
    pub(super) measures: String,
    setup: String,
    face: Option<String>,
    pub(super) found: Option<String>,
    pub(super) of: Vec<String>,
}

/// One attempt.
#[derive(Debug, Clone)]
pub(super) struct Go {
    /// The program's number for it, where it was seen.
    pub(super) id: Option<u64>,
    pub(super) target: String,
    /// Whether metal was taken off right before it: a person said so.
    grinds: bool,
    reason: String,
    begun: u64,
    /// When it was first touched.
    touched: Option<u64>,
    /// What was answered or written down.
    answer: Option<String>,
}

/// A part on the shaft.
#[derive(Debug)]
struct On {
    part: String,
    from: u64,
    until: Option<u64>,
    in_spite: bool,
}

/// The bench as a careful person beside it knows it.
#[derive(Debug, Default)]
pub(super) struct Metal {
    pub(super) checks: Vec<Check>,
    stack: Vec<String>,
    step: u64,
    goes: Vec<Go>,
    replaced: Vec<(String, u64)>,
    shaft: Vec<On>,
    pub(super) grinds: usize,
}

fn part_of(target: &str) -> &str {
    target.split_once('/').unwrap().0
}

impl Metal {
    pub(super) fn of(plan: &str) -> Self {
        let plan: toml::Value = toml::from_str(plan).unwrap();
        let text = |of: &toml::Value, key: &str| {
            of.get(key).and_then(toml::Value::as_str).map(str::to_owned)
        };
        let list = |of: &toml::Value, key: &str| {
            of.get(key).and_then(toml::Value::as_array).cloned().unwrap_or_default()
        };
        let mut checks = Vec::new();
        for part in list(&plan, "part") {
            for check in list(&part, "check") {
                let name = text(&part, "name").unwrap();
                let measures = text(&check, "measures").unwrap();
                let turns = ["runout", "bar-runout"].contains(&measures.as_str());
                checks.push(Check {
                    target: format!("{name}/{}", text(&check, "name").unwrap()),
                    part: name,
                    kind: text(&part, "kind").unwrap(),
                    setup: text(&check, "setup")
                        .unwrap_or_else(|| if turns { "turning" } else { "" }.to_owned()),
                    face: text(&check, "face"),
                    found: text(&check, "found"),
                    of: list(&check, "of")
                        .iter()
                        .map(|one| one.as_str().unwrap().to_owned())
                        .collect(),
                    measures,
                });
            }
        }
        let stack = list(&plan, "stack").iter().map(|one| text(one, "part").unwrap()).collect();
        Self { checks, stack, ..Self::default() }
    }

    pub(super) fn check(&self, target: &str) -> &Check {
        self.checks.iter().find(|check| check.target == target).unwrap()
    }

    fn next_step(&mut self) -> u64 {
        self.step += 1;
        self.step
    }

    /// An attempt was seen on the screen; a new one is written down.
    pub(super) fn seen(&mut self, id: u64, target: &str, reason: &str, ground: bool) {
        if self.goes.iter().all(|go| go.id != Some(id)) {
            self.grinds += usize::from(ground);
            let begun = self.next_step();
            let (target, reason) = (target.to_owned(), reason.to_owned());
            let (touched, answer) = (None, None);
            let id = Some(id);
            self.goes.push(Go { id, target, grinds: ground, reason, begun, touched, answer });
        }
    }

    pub(super) fn touched(&mut self, id: u64) {
        let step = self.next_step();
        let go = self.goes.iter_mut().find(|go| go.id == Some(id)).unwrap();
        go.touched.get_or_insert(step);
    }

    /// An answer, or a value that was written down: of the attempt that waits for it, else of a new
    /// one.
    pub(super) fn answered(&mut self, target: &str, answer: &str) {
        let begun = self.next_step();
        let answer = Some(answer.to_owned());
        if let Some(at) = self.newest_at(target)
            && self.goes[at].answer.is_none()
        {
            self.goes[at].answer = answer;
            return;
        }
        let (target, reason) = (target.to_owned(), String::new());
        self.goes.push(Go {
            id: None,
            target,
            grinds: false,
            reason,
            begun,
            touched: None,
            answer,
        });
    }

    pub(super) fn replaced(&mut self, part: &str) {
        let step = self.next_step();
        self.replaced.push((part.to_owned(), step));
    }

    /// The part that goes on the stack next.
    pub(super) fn goes_on_next(&self) -> Option<&str> {
        let on = self.shaft.iter().filter(|on| on.until.is_none()).count();
        self.stack.get(on).map(String::as_str)
    }

    pub(super) fn built(&mut self, part: &str, in_spite: bool) {
        let from = self.next_step();
        self.shaft.push(On { part: part.to_owned(), from, until: None, in_spite });
    }

    pub(super) fn taken_off(&mut self) {
        let step = self.next_step();
        self.shaft.iter_mut().rev().find(|on| on.until.is_none()).unwrap().until = Some(step);
    }

    /// Parts that are on the shaft although something spoke against it.
    pub(super) fn on_in_spite(&self) -> Vec<&str> {
        let on = self.shaft.iter().filter(|on| on.until.is_none() && on.in_spite);
        on.map(|on| on.part.as_str()).collect()
    }

    /// Every answer given on the piece that is there now, in order.
    pub(super) fn answers(&self, target: &str) -> Vec<&str> {
        let now = self.goes.iter().filter(|go| go.target == target && !self.is_old(go));
        now.filter_map(|go| go.answer.as_deref()).collect()
    }

    /// Whether its part was replaced since.
    fn is_old(&self, go: &Go) -> bool {
        self.replaced.iter().any(|(part, at)| part == part_of(&go.target) && *at > go.begun)
    }

    fn newest_at(&self, target: &str) -> Option<usize> {
        let newest = self.goes.iter().rposition(|go| go.target == target)?;
        (!self.is_old(&self.goes[newest])).then_some(newest)
    }

    /// Whether a check was begun on the piece that is there now.
    pub(super) fn is_begun(&self, target: &str) -> bool {
        self.newest_at(target).is_some()
    }

    /// The attempts on the piece that is there now, oldest first, each with its reason.
    pub(super) fn on_this_piece(&self, target: &str) -> Vec<(u64, &str)> {
        let now = self.goes.iter().filter(|go| go.target == target && !self.is_old(go));
        now.filter_map(|go| Some((go.id?, go.reason.as_str()))).collect()
    }

    /// Parts that became new ones between two attempts, each once.
    pub(super) fn replaced_between(&self, ids: [u64; 2]) -> Vec<&str> {
        let [from, to] = ids.map(|id| self.go(id).map_or(0, |go| go.begun));
        let between = self.replaced.iter().filter(|(_, at)| from < *at && *at < to);
        let mut parts: Vec<&str> = between.map(|(part, _)| part.as_str()).collect();
        parts.sort_unstable();
        parts.dedup();
        parts
    }

    /// Whether metal that a touched attempt rests on is not there any more, its own piece apart.
    fn gone(&self, go: &Go) -> bool {
        let Some(since) = go.touched else { return false };
        let check = self.check(&go.target);
        let ground = self.goes.iter().filter(|other| other.grinds && other.begun > since);
        let own = |other: &Go| {
            let from = self.check(&other.target);
            let same = from.part == check.part;
            same && match check.measures.as_str() {
                "length" | "thickness-variation" | "parallelism" | "runout" | "bar-runout" => true,
                "flatness" => {
                    from.face.is_none() || check.face.is_none() || from.face == check.face
                }
                "taper" => from.target == check.target,
                _ => false,
            }
        };
        if ground.clone().any(own) {
            return true;
        }
        if check.setup != "turning" {
            return false;
        }
        // Shafts and housings carry all that turns; how it came stays so.
        let carries = |part: &str| {
            let of = self.checks.iter().find(|check| check.part == part).unwrap();
            ["shaft", "housing"].contains(&of.kind.as_str())
        };
        let new = self.replaced.iter().filter(|(_, at)| *at > since);
        let as_found =
            self.checks.iter().any(|check| check.found.as_deref() == Some(go.target.as_str()));
        let carrier = !as_found
            && (ground.clone().any(|other| carries(part_of(&other.target)))
                || new.clone().any(|(part, _)| carries(part)));
        // What turned on a stack turned on each part of it.
        let stack = self.shaft.iter().filter(|on| on.from < since).any(|on| {
            let then = |at: u64| at > since && on.until.is_none_or(|until| at <= until);
            on.until.is_some_and(|until| until > since)
                || ground.clone().any(|o| part_of(&o.target) == on.part && then(o.begun))
                || new.clone().any(|(part, at)| *part == on.part && then(*at))
        });
        carrier || stack
    }

    fn go(&self, id: u64) -> Option<&Go> {
        self.goes.iter().find(|go| go.id == Some(id))
    }

    /// Whether what a verdict says it rests on is not there any more.
    fn rests_on_gone(&self, verdict: &Value) -> bool {
        let combined = verdict["combined"].as_array().unwrap();
        let pair = verdict["measures"] == "difference";
        combined
            .iter()
            .filter_map(|id| self.go(id.as_u64().unwrap()))
            .any(|go| self.gone(go) || pair && self.is_old(go))
    }

    /// What a verdict is worth now, in the words of the record.
    pub(super) fn standing(&self, verdict: &Value) -> Option<&'static str> {
        let own = self.go(verdict["attempt_id"].as_u64()?)?;
        let newer = |go: &Go| go.target == own.target && go.begun > own.begun;
        Some(if self.is_old(own) {
            "part-replaced"
        } else if self.gone(own) || self.rests_on_gone(verdict) {
            "metal-changed"
        } else if self.goes.iter().any(newer) {
            "superseded"
        } else {
            "stands"
        })
    }

    /// What speaks against a check as things are, in the words that are said; `verdicts` are the
    /// newest of each attempt.
    fn lack(&self, check: &Check, verdicts: &[Value]) -> Option<&'static str> {
        const NOT: &str = "is not measured";
        let Some(newest) = self.newest_at(&check.target) else { return Some(NOT) };
        let newest = &self.goes[newest];
        if check.measures == "entry" || check.measures == "confirm" {
            let Some(answer) = &newest.answer else { return Some(NOT) };
            let bad = check.measures == "confirm" && answer != "yes";
            return bad.then_some("does not conform");
        }
        let verdict = verdicts.iter().find(|one| one["attempt_id"].as_u64() == newest.id);
        if self.gone(newest) || verdict.is_some_and(|verdict| self.rests_on_gone(verdict)) {
            return Some("was measured on metal that has changed since");
        }
        let Some(verdict) = verdict else {
            return Some(if newest.touched.is_some() { "is incomplete" } else { NOT });
        };
        match verdict["verdict"].as_str().unwrap() {
            "does-not-conform" => Some("does not conform"),
            "undecided" => Some("is undecided"),
            "incomplete" => Some("is incomplete"),
            _ if self.is_outdated(check, verdict, verdicts) => {
                Some("was taken before one of its lengths was measured again")
            }
            _ => None,
        }
    }

    /// Whether a difference rests on a length that was measured again since.
    fn is_outdated(&self, check: &Check, verdict: &Value, verdicts: &[Value]) -> bool {
        let combined = verdict["combined"].as_array().unwrap();
        check.of.iter().any(|length| {
            let whole = |go: &&Go| {
                let of = verdicts.iter().find(|one| one["attempt_id"].as_u64() == go.id);
                go.target == *length && of.is_some_and(|of| of["verdict"] != "incomplete")
            };
            let newest = self.goes.iter().rev().find(whole);
            newest.is_some_and(|go| !combined.iter().any(|id| id.as_u64() == go.id))
        })
    }

    fn lacking(
        &self,
        verdicts: &[Value],
        counts: impl Fn(&Check) -> bool,
    ) -> BTreeMap<String, &'static str> {
        let found =
            |target: &str| self.checks.iter().any(|check| check.found.as_deref() == Some(target));
        let asked = self.checks.iter().filter(|check| !found(&check.target) && counts(check));
        asked
            .filter_map(|check| Some((check.target.clone(), self.lack(check, verdicts)?)))
            .collect()
    }

    /// What keeps the job from being closed.
    pub(super) fn before_closing(&self, verdicts: &[Value]) -> BTreeMap<String, &'static str> {
        self.lacking(verdicts, |_| true)
    }

    /// What keeps a part from going on the stack.
    pub(super) fn before_building(
        &self,
        verdicts: &[Value],
        part: &str,
    ) -> BTreeMap<String, &'static str> {
        self.lacking(verdicts, |check| {
            let off_the_shaft = ["plate", "anvil", "supports"].contains(&check.setup.as_str());
            check.part == part && off_the_shaft
                || check.of.iter().any(|length| part_of(length) == part)
        })
    }
}

/// What a refusal names: the check, and what it says of it.
pub(super) fn named(refusal: &Value) -> BTreeMap<String, String> {
    let text = refusal["text"].as_str().unwrap();
    let list = text.split_once(": ").map_or("", |(_, list)| list);
    let pairs = list.split(", ").filter_map(|one| one.split_once(' '));
    pairs.map(|(target, said)| (target.to_owned(), said.to_owned())).collect()
}
