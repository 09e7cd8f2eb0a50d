//! The table of what was drawn, and where it stands.

use super::draw::{Came, ROWS, Regime, Row, draw};

/// Draws of a row where nothing else is said.
pub(crate) const COUNT: u32 = 1000;
/// What the dice begin with.
pub(crate) const SEED: u64 = 20_261_130;

const BEGIN: &str = "<!-- coverage -->\n";
const END: &str = "<!-- /coverage -->";

/// A row under each regime.
pub(crate) type Found = Vec<(&'static Row, Vec<(Regime, Came)>)>;

/// Draws everything, on two threads; with words, the rows whose names have one of them.
pub(crate) fn all(seed: u64, count: u32, only: &[String]) -> Found {
    let chosen = |row: &&Row| only.is_empty() || only.iter().any(|word| row.name.contains(word));
    let rows: Vec<&'static Row> = ROWS.iter().filter(chosen).collect();
    let of = |row: &'static Row| {
        let regimes = Regime::ALL.map(|regime| (regime, draw(row, regime, seed, count)));
        (row, regimes.to_vec())
    };
    let half = rows.len() / 2;
    let (one, other) = rows.split_at(half);
    std::thread::scope(|scope| {
        let first = scope.spawn(|| one.iter().copied().map(of).collect::<Found>());
        let mut second: Found = other.iter().copied().map(of).collect();
        let mut all = first.join().expect("drawn");
        all.append(&mut second);
        all
    })
}

/// The table, with what it is held against.
pub(crate) fn markdown(found: &Found, seed: u64, count: u32) -> String {
    let head = format!(
        "{count} draws of each, seed {seed}. In a cell: how often the truth lies above value + U (unsafe) and below \
         value − U, percent; value − truth and U on average, millionths of an inch. **Bold**: not held, by more than two standard \
         errors of so many draws."
    );
    let names: Vec<String> = Regime::ALL.iter().map(|regime| regime.text()).collect();
    let line = |first: &str, cells: &[String]| format!("| {first} | {} |", cells.join(" | "));
    let rule = vec!["---".to_owned(); names.len()];
    let mut lines = vec![head, String::new(), line("figure", &names), line("---", &rule)];
    for (row, cells) in found {
        let contrast = if row.contrast { " °" } else { "" };
        let cells: Vec<String> =
            cells.iter().map(|(_, came)| cell(came, row.contrast, count)).collect();
        lines.push(line(&format!("{}{contrast}", row.name), &cells));
    }
    lines.join("\n") + "\n"
}

fn cell(came: &Came, contrast: bool, count: u32) -> String {
    let Came { above, below, bias, u } = came;
    let bold = if came.holds(contrast, count) { "" } else { "**" };
    format!("{bold}{above:.1} / {below:.1}{bold}; {bias:+.1}; {u:.0}")
}

/// A page with another table between its marks.
pub(crate) fn between(page: &str, table: &str) -> String {
    let (head, rest) = page.split_once(BEGIN).expect("the first mark");
    let (_, tail) = rest.split_once(END).expect("the second mark");
    format!("{head}{BEGIN}{table}{END}{tail}")
}
