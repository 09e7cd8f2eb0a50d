//! The worst rows of the table of coverage, with fewer draws: the truth lies within U as often as is promised,
//! wherever the dice begin.

#[path = "../coverage/draw.rs"]
mod draw;
#[path = "../coverage/plan.rs"]
mod plan;
#[path = "../coverage/shop.rs"]
mod shop;
#[path = "../coverage/table.rs"]
mod table;

use self::draw::{ROWS, Regime, Row, draw};

/// Two standard errors of so few draws are allowed.
const DRAWS: u32 = 300;

fn row(name: &str) -> &'static Row {
    ROWS.iter().find(|row| row.name.starts_with(name)).unwrap()
}

#[test]
fn the_truth_lies_within_u_where_that_is_hardest() {
    for (name, regime) in [
        ("parallelism, 8 touches, wedge of 120", Regime::Stated),
        ("parallelism, 8 touches, wedge of 120", Regime::Nothing(18.0)),
        ("parallelism, 8 touches, wedge, 60 at once", Regime::Stated),
        ("parallelism, 3 touches at each of 8, wedge", Regime::Record(10)),
        ("taper", Regime::Nothing(12.0)),
        ("bar", Regime::Record(46)),
        ("length, 4 touches, even walk", Regime::Stated),
        ("difference", Regime::Stated),
        ("difference", Regime::Record(10)),
        ("diameter, 2 planes", Regime::Stated),
        ("fit", Regime::Stated),
        ("match", Regime::Nothing(12.0)),
        ("face offset", Regime::Stated),
    ] {
        let row = row(name);
        let came = draw(row, regime, table::SEED, DRAWS);
        let contrast = row.contrast && regime == Regime::Stated;
        assert!(came.holds(contrast, DRAWS), "{name}, {regime:?}: {came:?}");
        // It is no test that U is so wide that it says nothing.
        assert!(came.u < 100.0, "{name}, {regime:?}: {came:?}");
    }
}

#[test]
fn a_perfect_part_reads_high_and_never_low() {
    let came = draw(row("parallelism, 8 touches, perfect"), Regime::Stated, 7, DRAWS);
    // 2.85 times the scatter of one touch, with what lies under it: √(36 + 34.6) = 8.4; 23.9 on average.
    assert!((came.bias - 23.9).abs() < 3.0 && came.above == 0.0, "{came:?}");
}

#[test]
fn the_table_stands_between_its_marks() {
    let page = "a\n<!-- coverage -->\nold\n<!-- /coverage -->\nb\n";
    let with = table::between(page, "new\n");
    assert_eq!(with, "a\n<!-- coverage -->\nnew\n<!-- /coverage -->\nb\n");
    let docs = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/figures.md");
    let docs = std::fs::read_to_string(docs).unwrap();
    let drawn = format!(" draws of each, seed {}.", table::SEED);
    assert!(docs.contains(&drawn) && table::COUNT > DRAWS, "it has a table of other draws");
    // Every row can be drawn, and is in the table.
    let now = table::markdown(&table::all(1, 1, &[]), 1, 1);
    let first = |line: &str| line.split('|').nth(1).map(str::to_owned);
    for row in now.lines().filter_map(first) {
        assert!(
            docs.lines().filter_map(first).any(|one| one == row),
            "docs/figures.md lacks {row}"
        );
    }
    for regime in Regime::ALL {
        assert!(docs.contains(&regime.text()), "docs/figures.md lacks {regime:?}");
    }
}
