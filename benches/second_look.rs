//! What a second look at the same readings is worth: each of its six ways beside today's practice, on
//! made-up rings whose truth is known.
//!
//! `cargo bench --bench second_look` prints the table for three levels of noise; `-- 7 20311` takes other
//! seeds. Lengths are µin. "Misleads" is how often it spoke and was worse than saying nothing; "silent" how
//! often it says that it cannot tell.

#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]

#[path = "second_look/between.rs"]
mod between;
#[path = "second_look/clock.rs"]
mod clock;
#[path = "second_look/face.rs"]
mod face;
#[path = "second_look/once.rs"]
mod once;
#[path = "second_look/seats.rs"]
mod seats;
#[path = "second_look/there.rs"]
mod there;
#[path = "second_look/world.rs"]
mod world;

use world::Dice;

/// The standard deviation of a touch at each level.
const NOISES: [f64; 3] = [3.0, 6.0, 12.0];
/// How many made-up cases stand behind a row.
const CASES: u32 = 4000;

/// What one way came to at one level of noise.
struct Row {
    /// What today's practice gives, and what the second look gives, in words with their figures.
    today: String,
    now: String,
    /// Shares of all cases.
    misleads: f64,
    silent: f64,
}

/// What a way is called, and how it is tried at a level of noise.
type Way = (&'static str, fn(&mut Dice, f64) -> Row);

const WAYS: [Way; 6] = [
    ("1 clock the stack", clock::tried),
    ("2 there and back", there::tried),
    ("3 two seatings", seats::tried),
    ("4 which touch decides", once::tried),
    ("5 between the touches", between::tried),
    ("6 a face is its name", face::tried),
];

fn main() {
    let asked = std::env::args().skip(1).filter(|argument| !argument.starts_with("--"));
    let mut seeds: Vec<u64> =
        asked.map(|seed| seed.parse().expect("a seed is a whole number above 0")).collect();
    if seeds.is_empty() {
        seeds = vec![1, 2, 3];
    }
    for (way, tried) in WAYS {
        println!("{way}");
        for noise in NOISES {
            for seed in &seeds {
                let row = tried(&mut Dice::new(*seed), noise);
                let Row { today, now, misleads, silent } = row;
                let (misleads, silent) = (100.0 * misleads, 100.0 * silent);
                println!(
                    "  s {noise:>2}, seed {seed}: {today}; {now}; misleads {misleads:.1} %, silent {silent:.1} %"
                );
            }
        }
    }
}

/// A share of all cases.
fn share(count: u32) -> f64 {
    f64::from(count) / f64::from(CASES)
}
