//! How often the truth lies within U: made-up parts, hands and plates through the arithmetic that judges.
//! Not part of the ordinary tests; see DEVELOPERS.md.
//!
//! `cargo test --test coverage` draws every row 1000 times and writes the table into `docs/figures.md`.
//! `-- SEED` takes other draws, `-- SEED COUNT` so many of them; both then print the table and write nothing,
//! unless `write` is said, too. Other words choose rows by their names, which are printed only.

#![expect(clippy::print_stdout, clippy::expect_used, reason = "a table for the person who asked")]

mod draw;
mod plan;
mod shop;
mod table;

use std::path::Path;

fn main() {
    let given: Vec<u64> = std::env::args().skip(1).filter_map(|word| word.parse().ok()).collect();
    let seed = given.first().copied().unwrap_or(table::SEED);
    let count = given.get(1).and_then(|count| u32::try_from(*count).ok()).unwrap_or(table::COUNT);
    let known = |word: &String| word != "write" && word.parse::<u64>().is_err();
    let only: Vec<String> = std::env::args().skip(1).filter(known).collect();
    let found = table::all(seed, count, &only);
    let text = table::markdown(&found, seed, count);
    println!("{text}");
    if only.is_empty() && given.is_empty() || std::env::args().any(|word| word == "write") {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/figures.md");
        let page = std::fs::read_to_string(&path).expect("docs/figures.md");
        std::fs::write(&path, table::between(&page, &text)).expect("written");
    }
}
