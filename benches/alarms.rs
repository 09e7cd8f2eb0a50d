//! How often good work is interrupted, and what is noticed of what goes wrong: made-up pieces with a known
//! form, touched by made-up hands, through the bench as it decides and judges in the service.
//!
//! `cargo bench --bench alarms` writes the tables into `docs/alarms.md`; `-- SEED` takes other draws, and
//! `-- SEED COUNT` so many series for each row; both then print the tables and write nothing.

#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]

#[path = "alarms/month.rs"]
mod month;
#[path = "alarms/series.rs"]
mod series;
#[path = "alarms/shop.rs"]
mod shop;
#[path = "alarms/traps.rs"]
mod traps;
#[path = "alarms/world.rs"]
mod world;

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;

use judgement::Word;

use series::series;
use shop::{Known, Shop, What};
use traps::{CASES, Case, Trap};
use world::{Dice, World};

/// Series for each row, and before the first row of a bench that goes by its record.
const COUNT: u32 = 1000;
const MONTH: u32 = 60;
const SEED: u64 = 20;
/// Scatter of one touch, µin.
const HANDS: [f64; 3] = [6.0, 12.0, 18.0];

fn main() {
    let given: Vec<u64> = std::env::args().skip(1).filter_map(|word| word.parse().ok()).collect();
    let seed = given.first().copied().unwrap_or(SEED);
    let count = given.get(1).map_or(COUNT, |count| u32::try_from(*count).unwrap_or(COUNT));
    let (month, drawing) = month::drawn(&HANDS, seed);
    let good = good_work(seed, count);
    let wrong = what_goes_wrong(seed, count);
    println!("{good}\n{wrong}\n{month}");
    if given.is_empty() {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/alarms.md");
        let text = std::fs::read_to_string(&path).expect("docs/alarms.md");
        let tables = [("good", good), ("wrong", wrong), ("month", month)];
        let text = tables.iter().fold(text, |text, (name, table)| between(&text, name, table));
        std::fs::write(&path, text).expect("written");
        std::fs::write(path.with_file_name("month.svg"), drawing).expect("written");
    }
}

/// The text with another table between two marks.
fn between(text: &str, name: &str, table: &str) -> String {
    let (begin, end) = (format!("<!-- {name} -->\n"), format!("<!-- /{name} -->"));
    let (head, rest) = text.split_once(&begin).expect("the first mark");
    let (_, tail) = rest.split_once(&end).expect("the second mark");
    format!("{head}{begin}{table}{end}{tail}")
}

/// The tolerance, µin: to zero for a range, to either side for a length.
const fn tolerance(what: What) -> f64 {
    match what {
        What::Ring | What::Turn | What::Length => 100.0,
        What::Bar => 200.0,
    }
}

/// A bench that knows its gauge in this way.
fn bench_that(known: Known, s: f64, dice: &mut Dice) -> Shop {
    let mut shop = Shop::new(known, s);
    if known != Known::Nothing {
        for index in 0..MONTH {
            let what = What::ALL[usize::try_from(index).unwrap_or(0) % 4];
            let world = World::new(what, 20.0, s, None, dice);
            series(&mut shop, what, world, dice);
        }
    }
    shop
}

fn percent(part: u32, of: u32) -> f64 {
    100.0 * f64::from(part) / f64::from(of.max(1))
}

/// The table of good work.
fn good_work(seed: u64, count: u32) -> String {
    let mut table = String::from(
        "| piece | scatter of a touch, µin | of the gauge is known | ±, µin | interrupted, % | undecided, % | failed, % |\n\
         |---|---|---|---|---|---|---|\n",
    );
    for what in What::ALL {
        for s in HANDS {
            for known in Known::ALL {
                let mut dice = Dice::new(seed);
                let mut shop = bench_that(known, s, &mut dice);
                let world = World::new(what, 0.0, s, None, &mut dice);
                let u = series(&mut shop, what, world, &mut dice).uncertainty;
                // So far from the limit that a verdict is due.
                let most = tolerance(what) - u - 1.645 * std::f64::consts::SQRT_2 * s;
                let (mut asked, mut undecided, mut failed) = (0, 0, 0);
                for _ in 0..count {
                    let value = dice.between(0.0, most.max(0.0));
                    let value =
                        if what == What::Length && dice.whole(0, 1) == 0 { -value } else { value };
                    let world = World::new(what, value, s, None, &mut dice);
                    let outcome = series(&mut shop, what, world, &mut dice);
                    asked += u32::from(outcome.asked);
                    undecided += u32::from(outcome.word == Some(Word::Undecided));
                    failed += u32::from(outcome.word == Some(Word::DoesNotConform));
                }
                let due = if most > 0.0 {
                    format!("{:.1}", percent(undecided, count))
                } else {
                    "–".to_owned()
                };
                writeln!(
                    table,
                    "| {} | {s} | {} | {u:.0} | {:.1} | {due} | {:.1} |",
                    what.text(),
                    known.text(),
                    percent(asked, count),
                    percent(failed, count)
                )
                .expect("text");
            }
        }
    }
    table
}

/// The table of what goes wrong.
fn what_goes_wrong(seed: u64, count: u32) -> String {
    let mut table = String::from(
        "| what happens | to a | true figure, µin | size, µin | asked, % | touches later, median | undecided, % | called out, % | passed, % | said most often |\n\
         |---|---|---|---|---|---|---|---|---|---|\n",
    );
    for case in &CASES {
        let mut sizes = case.sizes.to_vec();
        sizes.dedup();
        for size in sizes {
            table.push_str(&row(case, size, seed, count));
        }
    }
    table
}

/// A row of it, touched with 6 µin and a stated gauge.
fn row(case: &Case, size: f64, seed: u64, count: u32) -> String {
    let mut dice = Dice::new(seed);
    let usual = bench_that(Known::Stated, HANDS[0], &mut dice);
    let (mut asked, mut undecided, mut out, mut passed) = (0, 0, 0, 0);
    let mut touches = Vec::new();
    let mut said: BTreeMap<String, u32> = BTreeMap::new();
    for _ in 0..count {
        let trap = Some(Trap { happens: case.happens, size });
        let world = World::new(case.what, case.value, HANDS[0], trap, &mut dice);
        // Each time on a bench that has seen good work alone: it would get used to what goes wrong.
        let outcome = series(&mut usual.clone(), case.what, world, &mut dice);
        touches.extend(outcome.touches);
        if let Some((_, text)) = outcome.said.first() {
            *said.entry(first_words(text)).or_default() += 1;
        }
        match (outcome.asked, outcome.word) {
            (true, _) => asked += 1,
            (false, Some(Word::DoesNotConform)) => out += 1,
            (false, Some(Word::Conforms)) => passed += 1,
            (false, _) => undecided += 1,
        }
    }
    touches.sort_unstable();
    let later = touches.get(touches.len() / 2).map_or("–".to_owned(), ToString::to_string);
    let most = said.into_iter().max_by_key(|(_, times)| *times);
    let size = if size > 0.0 { size.to_string() } else { "–".to_owned() };
    format!(
        "| {} | {} | {} | {size} | {:.0} | {later} | {:.0} | {:.0} | {:.0} | {} |\n",
        case.happens.text(),
        case.what.text(),
        case.value,
        percent(asked, count),
        percent(undecided, count),
        percent(out, count),
        percent(passed, count),
        most.map_or_else(|| "–".to_owned(), |(text, _)| text)
    )
}

/// The first sentence of a text, with every number as `#`.
fn first_words(text: &str) -> String {
    let sentence = text.split_inclusive(". ").next().unwrap_or(text).trim();
    let mut words = String::new();
    for one in sentence.split_whitespace() {
        let number = one.chars().any(|c| c.is_ascii_digit());
        if !words.is_empty() {
            words.push(' ');
        }
        words.push_str(if number { "#" } else { one });
    }
    words
}
