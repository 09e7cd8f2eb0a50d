//! Every key of the files that people write, and what it is for: for `tenths config keys`, for the
//! documentation, and to hold that no key is read that nobody has described.

mod bench_file;
mod plan_file;
mod profile_file;

use std::sync::LazyLock;

use bench::plan::Measures;
use bench::plan::keys::{About, EVERY, LIMITS, TOUCHED, traps_in_words};

/// A table of a file that people write.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Section {
    /// The word by which it is asked for.
    pub word: &'static str,
    /// How its head is written; empty for the keys at the top of a file.
    pub head: &'static str,
    /// What it is.
    pub is: &'static str,
    /// The names of its tables, with points between them.
    path: &'static str,
    /// Its keys, in the order in which they are usually written.
    pub keys: Vec<About>,
}

/// Where the checks of a plan stand.
const CHECK: &str = "part.check";

/// Every table of every file, those of `bench.toml` first.
#[must_use]
pub fn sections() -> &'static [Section] {
    static ALL: LazyLock<Vec<Section>> = LazyLock::new(all);
    &ALL
}

fn all() -> Vec<Section> {
    let described = |(word, head, is, path, keys): &Described| Section {
        word,
        head,
        is,
        path,
        keys: keys.to_vec(),
    };
    let files = bench_file::TABLES.iter().chain(&plan_file::TABLES).map(described);
    let of_checks: [(&str, &str, &[About]); 3] = [
        ("check", "every check has these", EVERY),
        ("touched", "a check that is touched", TOUCHED),
        ("limits", "limits, and the master", LIMITS),
    ];
    let checks = of_checks.into_iter().map(|(word, is, keys)| of_check(word, is, keys.to_vec()));
    let kinds = Measures::KINDS.iter().filter(|kind| !kind.keys.is_empty());
    let kinds = kinds.map(|kind| of_check(kind.word, kind.about, kind.keys.concat()));
    let profile = profile_file::TABLES.iter().map(described);
    files.chain(checks).chain(kinds).chain(profile).collect()
}

fn of_check(word: &'static str, is: &'static str, keys: Vec<About>) -> Section {
    Section { word, head: "[[part.check]]", is, path: CHECK, keys }
}

/// A table of a file: word, head, what it is, path and keys.
type Described = (&'static str, &'static str, &'static str, &'static str, &'static [About]);

/// Whether a key is described, or is the name of a table whose keys are; `path` is that of its table.
pub(super) fn is_described(path: &str, key: &str) -> bool {
    let full = joined(path, key);
    let is_trap = path == "part.check.traps" && traps_in_words().iter().any(|trap| trap.key == key);
    let meant = |section: &Section| {
        is_above(&full, section.path)
            || section.keys.iter().any(|about| {
                let described = joined(section.path, about.key);
                match described.strip_suffix(".*") {
                    // Its keys are names that people choose.
                    Some(table) => table == path || table == full,
                    None => is_above(&full, &described),
                }
            })
    };
    is_trap || sections().iter().any(meant)
}

/// Whether a name is the other one, or one of the tables that it stands in.
fn is_above(name: &str, other: &str) -> bool {
    other.strip_prefix(name).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
}

fn joined(path: &str, key: &str) -> String {
    if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") }
}

#[cfg(test)]
mod tests;
