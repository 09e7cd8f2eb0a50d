//! Random histories of jobs through the real service: rounds, grinds, cleans, repeats, touches
//! taken back, holes, moved zeros, replaced parts, answers, a stack that is built and taken down, bars
//! seated right and wrong, a taper. After each the page must say what `verdicts --json` says, number by
//! number; no verdict may stand on metal that is gone, by what was said and done at the bench alone; and
//! nothing is built or closed in silence.
//!
//! `TENTHS_HISTORIES=500 TENTHS_SEED=7 cargo test --test it histories` plays more of them.

use std::collections::BTreeMap;

use serde_json::Value;

use self::metal::Metal;
use self::page::Page;
use self::player::Player;
use crate::rig::{Bench, Dice, Make, Wire};

mod metal;
mod page;
mod player;
mod sums;

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0";

const PLAN: &str = include_str!("histories/plan.toml");

/// The newest verdict of the newest attempt at each check that has one on the present piece.
fn standing(verdicts: &[Value]) -> BTreeMap<String, Value> {
    verdicts.iter().map(|one| (target(one), one.clone())).collect()
}

fn target(verdict: &Value) -> String {
    format!("{}/{}", verdict["part"].as_str().unwrap(), verdict["check"].as_str().unwrap())
}

fn histories(count: u64, seed: u64) -> Seen {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    bench.start();
    let mut dice = Dice::seeded(seed);
    let mut seen = Seen::default();
    for number in 0..count {
        let wire = Wire::to(&bench.state.join("tenths.sock")).unwrap();
        let mut player = Player::new(wire, &mut dice, number, PLAN);
        let found = one(&bench, &mut player, number, &mut seen);
        if let Err(why) = found {
            panic!("seed {seed}, job {number}: {why}\n{}", player.told.join("\n"));
        }
    }
    seen.all_more_than(usize::try_from(count / 4).unwrap());
    seen
}

/// Plays a job, looks at all that is said of it, and closes it.
fn one(bench: &Bench, player: &mut Player<'_>, number: u64, seen: &mut Seen) -> Result<(), String> {
    let verdicts = |job: &str| bench.lines(&["verdicts", job]);
    player.play(&verdicts);
    // Every third is put right at the end, and some of those are spoilt again.
    if number.is_multiple_of(3) {
        seen.tidied += usize::from(player.tidy(&verdicts));
        if number.is_multiple_of(2) {
            player.spoil();
        }
    }
    let told = verdicts(&player.job);
    let page = Page::of(&bench.ok(&["report", &player.job]));
    let wrong = page
        .disagrees(&told, &standing(&told))
        .or_else(|| page.tables_disagree(&told, &player.metal))
        .or_else(|| on_other_metal(&told, &player.metal))
        .or_else(|| answers_lost(&told, &player.metal))
        .or_else(|| seatings_believed(&told, player))
        .or_else(|| player.close(&verdicts))
        .or_else(|| on_other_metal(&verdicts(&player.job), &player.metal))
        .or_else(|| went_on_untold(bench, player))
        .or_else(|| player.wrong.take());
    seen.add(&page, &told, player);
    wrong.map_or(Ok(()), Err)
}

/// A verdict that is said to be worth something else than what the metal under it says.
fn on_other_metal(verdicts: &[Value], metal: &Metal) -> Option<String> {
    verdicts.iter().find_map(|one| {
        let wanted = metal.standing(one)?;
        (one["standing"] != wanted).then(|| format!("{} is {wanted}: {one}", target(one)))
    })
}

/// Answers that are not all told, in order.
fn answers_lost(verdicts: &[Value], metal: &Metal) -> Option<String> {
    for (target, one) in standing(verdicts) {
        let told: Vec<&str> =
            one["answers"].as_array()?.iter().filter_map(|one| one["answer"].as_str()).collect();
        let judged = one["measures"] == "confirm" && one["standing"] != "part-replaced";
        if judged && told != metal.answers(&target) {
            return Some(format!("{target}: answered {:?}: {one}", metal.answers(&target)));
        }
    }
    None
}

/// A bar that stood elsewhere than asked, so that its seatings disagree by far, is believed.
fn seatings_believed(verdicts: &[Value], player: &Player<'_>) -> Option<String> {
    verdicts.iter().filter(|one| one["measures"] == "bar-runout").find_map(|one| {
        let id = one["attempt_id"].as_u64()?;
        let apart = player::disagree(*player.seated.get(&id)?);
        let alone = one["tries"] == 1 && one["verdict"] != "incomplete";
        // 3.5·√(4² + 2·6²/8) = 17.5 µin, and as much again for the noise of the touches.
        let held = one["reasons"].as_array()?.iter().any(|code| code == "seating-moved");
        (alone && apart > 35.0 && (!held || one["verdict"] == "conforms"))
            .then(|| format!("the seatings are {apart} µin apart: {one}"))
    })
}

/// What went on with a reason stands in the record with all that spoke against it.
fn went_on_untold(bench: &Bench, player: &Player<'_>) -> Option<String> {
    let shown = bench.lines(&["job", "show", &player.job]).remove(0);
    let told = |went: &Value| -> BTreeMap<String, String> {
        let checks = went["checks"].as_array().unwrap();
        checks
            .iter()
            .map(|one| (target(one), one["lack"].as_str().unwrap().replace('-', " ")))
            .collect()
    };
    let told: Vec<_> = shown["went_on"].as_array().unwrap().iter().map(told).collect();
    // "does not conform", "is not measured", "was measured on metal that …", "was taken before …".
    let code = |said: &str| match said.trim_start_matches("is ") {
        said if said.starts_with("was measured") => "metal changed".to_owned(),
        said if said.starts_with("was taken") => "outdated".to_owned(),
        said => said.to_owned(),
    };
    let wanted = |of: &BTreeMap<String, &str>| -> BTreeMap<String, String> {
        of.iter().map(|(target, said)| (target.clone(), code(said))).collect()
    };
    let wanted: Vec<_> = player.in_spite.iter().map(wanted).collect();
    (told != wanted).then(|| format!("went on: {wanted:?}, told {told:?}"))
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
    refused: usize,
    before: usize,
    pairs: usize,
    stations: usize,
    tapers: usize,
    moved: usize,
    tidied: usize,
    closed_in_peace: usize,
}

impl Seen {
    fn add(&mut self, page: &Page, verdicts: &[Value], player: &Player<'_>) {
        let count =
            |holds: &dyn Fn(&Value) -> bool| verdicts.iter().filter(|one| holds(one)).count();
        let coded = |one: &Value, codes: &[&str]| {
            let reasons = one["reasons"].as_array().unwrap();
            reasons.iter().any(|code| codes.iter().any(|one| code == one))
        };
        self.rows += page.rows.len();
        self.worked += page.lines_worked_out();
        self.aside += page.listed.len();
        self.before += page.befores();
        self.pairs += page.pairs_told();
        self.grinds += player.metal.grinds;
        self.refused += player.refused;
        self.closed_in_peace += usize::from(player.closed_in_peace);
        self.combined += count(&|one| one["tries"].as_u64() > Some(1));
        self.gone += count(&|one| one["standing"] == "metal-changed");
        self.open += count(&|one| coded(one, &["zero-moved", "not-closed"]));
        self.moved += count(&|one| coded(one, &["seating-moved"]));
        self.answers += count(&|one| one["answers"].as_array().unwrap().len() > 1);
        self.tapers += count(&|one| one["measures"] == "taper" && !one["value"].is_null());
        self.stations += verdicts
            .iter()
            .filter_map(|one| one["figures"]["stations"].as_array())
            .map(Vec::len)
            .sum::<usize>();
    }

    /// What a history of this kind comes to now and then, in so many of them.
    fn all_more_than(&self, quarter: usize) {
        let often = [self.rows, self.worked, self.aside, self.grinds, self.refused, self.stations];
        let now_and_then =
            [self.combined, self.gone, self.open, self.answers, self.before, self.pairs];
        let rare = [self.moved, self.tapers, self.tidied, self.closed_in_peace];
        assert!(often.iter().all(|one| *one > quarter), "{self:?}");
        assert!(now_and_then.iter().all(|one| *one > quarter / 4), "{self:?}");
        assert!(rare.iter().all(|one| *one > quarter / 10), "{self:?}");
    }
}

#[test]
fn the_page_and_the_verdicts_say_the_same_after_any_history() {
    let number = |name: &str| std::env::var(name).ok().and_then(|text| text.parse().ok());
    let count = number("TENTHS_HISTORIES").unwrap_or(40);
    let seed = number("TENTHS_SEED").unwrap_or(1);
    let seen = histories(count, seed);
    println!("{count} jobs, seed {seed}: {seen:?}");
}
