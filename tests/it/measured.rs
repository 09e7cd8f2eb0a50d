//! How well each thing is described in one place, measured on the source itself.
//!
//! `cargo test --test it measured -- --nocapture` prints the table.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// A source file: the module it is and those it declares, its lines of code and those of its tests.
#[derive(Default)]
struct Source {
    module: Vec<String>,
    inner: Vec<String>,
    code: Vec<String>,
    tests: usize,
}

/// All sources by their path below `src/`.
struct House(BTreeMap<String, Source>);

impl House {
    fn read() -> Self {
        let mut house = Self(BTreeMap::new());
        let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
        for entry in fs::read_dir(&src).unwrap() {
            let root = entry.unwrap().path().join("mod.rs");
            if root.is_file() {
                house.file(&src, &root, &[], false);
            }
        }
        house
    }

    /// Reads a file and the modules it declares; those for tests alone count as tests.
    fn file(&mut self, src: &Path, path: &Path, module: &[String], for_tests: bool) {
        let text = fs::read_to_string(path).unwrap();
        let folder = match path.file_name().and_then(|name| name.to_str()) {
            Some("mod.rs") => path.parent().unwrap().to_path_buf(),
            _ => path.with_extension(""),
        };
        let mut source = Source { module: module.to_vec(), ..Source::default() };
        let (mut in_tests, mut gated) = (for_tests, false);
        for line in text.lines().map(str::trim) {
            if line.is_empty() || line.starts_with("//") {
                continue;
            }
            if line.starts_with("#[cfg(") && line.contains("test") {
                gated = true;
            } else if let Some(name) = declared(line) {
                let inner = [folder.join(format!("{name}.rs")), folder.join(&name).join("mod.rs")];
                source.inner.push(name.clone());
                let mut below = module.to_vec();
                below.push(name);
                if let Some(inner) = inner.iter().find(|path| path.is_file()) {
                    self.file(src, inner, &below, in_tests || gated);
                }
                gated = false;
            } else if gated && bare(line).starts_with("mod ") && line.ends_with('{') {
                in_tests = true;
            } else if !line.starts_with("#[") {
                gated = false;
            }
            if in_tests {
                source.tests += 1;
            } else {
                source.code.push(line.to_owned());
            }
        }
        let name = path.strip_prefix(src).unwrap().to_string_lossy().into_owned();
        self.0.insert(name, source);
    }

    fn code_lines(&self) -> usize {
        self.0.values().map(|source| source.code.len()).sum()
    }

    /// Files whose code names any of these, other than those below `but`.
    fn naming(&self, words: &[&str], but: &str) -> Vec<&str> {
        let names = |source: &Source| {
            source.code.iter().any(|line| words.iter().any(|word| has_word(line, word)))
        };
        let found = self.0.iter().filter(|(path, source)| !path.starts_with(but) && names(source));
        found.map(|(path, _)| path.as_str()).collect()
    }

    /// The types of the kinds of check, as they are listed.
    fn kinds(&self) -> Vec<&str> {
        let list =
            self.0["kind/mod.rs"].code.iter().skip_while(|line| *line != "measures::kinds! {");
        let lines = list.skip(1).take_while(|line| *line != "}");
        lines.filter_map(|line| Some(line.split_once("::")?.1.trim_end_matches(','))).collect()
    }

    /// Files outside `kind/` that match on a kind of check: on a value of what kinds are told apart by, on
    /// a kind by its type, or on its word.
    fn matching_on_a_kind(&self) -> Vec<&str> {
        let kinds = self.kinds();
        let values = self.naming(&KINDS_ARE_TOLD_BY, "kind/");
        let by_type = |source: &Source| {
            let text = source.code.join(" ");
            let names = text.match_indices("plan::").flat_map(|(at, _)| {
                let path = &text[at + 6..];
                let end = if path.starts_with('{') { '}' } else { ';' };
                let group = &path[..path.find(end).unwrap_or(path.len())];
                group.split(|c: char| !c.is_alphanumeric()).collect::<Vec<_>>()
            });
            let by_word = |line: &String| {
                ["traits().word ==", "traits().word {"].iter().any(|how| line.contains(how))
            };
            names.into_iter().any(|name| kinds.contains(&name)) || source.code.iter().any(by_word)
        };
        let outside = self.0.iter().filter(|(path, _)| !path.starts_with("kind/"));
        let found =
            outside.filter(|(path, source)| values.contains(&path.as_str()) || by_type(source));
        found.map(|(path, _)| path.as_str()).collect()
    }

    /// Of a hundred lines of these rooms so many are tests'.
    fn tests_share(&self, rooms: &[&str]) -> f64 {
        let of = |path: &str| rooms.contains(&path.split('/').next().unwrap());
        let those = || self.0.iter().filter(|(path, _)| of(path)).map(|(_, source)| source);
        let tests: usize = those().map(|source| source.tests).sum();
        let code: usize = those().map(|source| source.code.len()).sum();
        100.0 * f64::from(u32::try_from(tests).unwrap())
            / f64::from(u32::try_from(tests + code).unwrap())
    }

    /// The files of the largest circle of imports inside a room; `inner` also counts what a file uses of
    /// the modules it declares itself, without `self::`.
    fn largest_circle(&self, room: &str, inner: bool) -> Vec<&str> {
        let inside = self.0.iter().filter(|(path, source)| {
            path.starts_with(&format!("{room}/")) && !source.code.is_empty()
        });
        let by_module: BTreeMap<&[String], &str> =
            inside.clone().map(|(path, source)| (&source.module[..], path.as_str())).collect();
        let mut uses: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
        for (path, source) in inside {
            let of = imports(source, inner).into_iter().filter_map(|import| {
                let longest = (1..=import.len()).rev();
                longest.map(|len| &import[..len]).find_map(|module| by_module.get(module).copied())
            });
            uses.insert(path, of.filter(|other| other != path).collect());
        }
        let reach: BTreeMap<&str, BTreeSet<&str>> =
            uses.keys().map(|path| (*path, reached(&uses, path))).collect();
        let circles = reach.keys().map(|one| {
            let mutual =
                |other: &&&str| reach[one].contains(**other) && reach[**other].contains(one);
            reach.keys().filter(mutual).copied().collect::<Vec<_>>()
        });
        circles.max_by_key(Vec::len).unwrap_or_default()
    }
}

/// A line without its visibility.
fn bare(line: &str) -> &str {
    let bare = line.trim_start_matches("pub ").trim_start_matches("pub(crate) ");
    bare.trim_start_matches("pub(super) ")
}

/// The name in `mod name;`.
fn declared(line: &str) -> Option<String> {
    let name = bare(line).strip_prefix("mod ")?.strip_suffix(';')?;
    Some(name.to_owned())
}

/// Whether a line has this word; of one that ends in `::` a value of it, such as `Measures::Length`.
fn has_word(line: &str, word: &str) -> bool {
    line.match_indices(word).any(|(at, _)| {
        let part = |c: char| c.is_alphanumeric() || c == '_';
        let before = line[..at].chars().next_back().is_some_and(part);
        let mut after = line[at + word.len()..].chars();
        let fits = if word.ends_with("::") {
            let value = after.next().is_some_and(char::is_uppercase);
            value && after.next().is_some_and(char::is_lowercase)
        } else {
            !after.next().is_some_and(part)
        };
        !before && fits
    })
}

/// What a file imports from its own room: whole paths below the room, groups taken apart.
fn imports(source: &Source, inner: bool) -> Vec<Vec<String>> {
    let declared = if inner { &source.inner[..] } else { &[] };
    let text = source.code.join(" ");
    let mut found = Vec::new();
    for (at, _) in text.match_indices("use ") {
        let starts = text[..at].trim_end();
        let begins = starts.is_empty() || starts.ends_with([';', '}', '{', ']', ')']);
        if !(begins || starts.ends_with("pub")) {
            continue;
        }
        let Some(end) = text[at..].find(';') else { continue };
        trees(&text[at + 4..at + end], &mut Vec::new(), &mut found);
    }
    // Paths that stand in the code itself.
    let own_modules = declared.iter().map(|name| format!("{name}::"));
    for start in ["crate::".to_owned(), "super::".to_owned()].into_iter().chain(own_modules) {
        for (at, _) in text.match_indices(&start) {
            let own = |c: char| c.is_alphanumeric() || c == '_' || c == ':';
            let path: String = text[at..].chars().take_while(|c| own(*c)).collect();
            let inside = text[..at].chars().next_back().is_some_and(own);
            if !inside {
                let words = path.trim_end_matches(':').split("::").map(str::to_owned);
                found.push(words.collect());
            }
        }
    }
    let in_self = |path: Vec<String>| match path.first() {
        Some(first) if declared.contains(first) => [vec!["self".to_owned()], path].concat(),
        _ => path,
    };
    let paths = found.into_iter().map(in_self);
    paths.filter_map(|path| placed(&path, &source.module)).collect()
}

/// Takes `a::{b, c::d}` apart.
fn trees(text: &str, before: &mut Vec<String>, found: &mut Vec<Vec<String>>) {
    let (mut depth, mut start) = (0_i32, 0);
    let mut parts = Vec::new();
    for (at, c) in text.char_indices() {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 0 => {
                parts.push(&text[start..at]);
                start = at + 1;
            }
            _ => {}
        }
    }
    parts.push(&text[start..]);
    for part in parts.into_iter().map(str::trim).filter(|part| !part.is_empty()) {
        if let Some((path, group)) = part.split_once('{') {
            let kept = before.len();
            before
                .extend(path.trim_end_matches("::").split("::").map(|word| word.trim().to_owned()));
            trees(group.trim_end().trim_end_matches('}'), before, found);
            before.truncate(kept);
        } else {
            let mut whole = before.clone();
            let path = part.split(" as ").next().unwrap();
            whole.extend(path.split("::").map(|word| word.trim().to_owned()));
            found.push(whole);
        }
    }
}

/// A path of an import below its room; `None` where it leads elsewhere.
fn placed(path: &[String], module: &[String]) -> Option<Vec<String>> {
    let mut at = match path.first()?.as_str() {
        "crate" => Vec::new(),
        "self" => module.to_vec(),
        "super" => module[..module.len().checked_sub(1)?].to_vec(),
        _ => return None,
    };
    for word in &path[1..] {
        if word == "super" {
            at.pop()?;
        } else {
            at.push(word.clone());
        }
    }
    Some(at)
}

fn reached<'a>(uses: &BTreeMap<&'a str, BTreeSet<&'a str>>, from: &'a str) -> BTreeSet<&'a str> {
    let (mut seen, mut open) = (BTreeSet::new(), vec![from]);
    while let Some(path) = open.pop() {
        for other in uses.get(path).into_iter().flatten() {
            if seen.insert(*other) {
                open.push(other);
            }
        }
    }
    seen
}

const CORE: [&str; 7] = ["quantity", "geometry", "gauge", "judgement", "words", "kind", "bench"];

/// What the traits of kinds are told apart by (`kind/traits.rs`, `kind/layout.rs`).
const KINDS_ARE_TOLD_BY: [&str; 7] =
    ["Setting::", "Wedge::", "Spoiled::", "Bar::", "Sum::", "Drawing::", "Layout::"];

#[test]
fn each_thing_is_described_in_few_places() {
    let house = House::read();
    let files: Vec<PathBuf> = house.0.keys().map(PathBuf::from).collect();
    assert!(files.len() > 300 && house.code_lines() > 20_000, "the source was not found");
    let figure = house.naming(&["high_side_u_deg"], "-");
    assert!(house.kinds().len() > 10, "the kinds of check were not found: {:?}", house.kinds());
    let kinds = house.matching_on_a_kind();
    let column = house.naming(&["as_sent"], "-");
    let circles = ["bench", "client"].map(|room| house.largest_circle(room, false));
    println!("| what | measured |\n|---|---|");
    println!("| files that name one figure (`high_side_u_deg`) | {} |", figure.len());
    println!("| files that match on a kind of check | {} |", kinds.len());
    println!("| files that name one column of a reading (`as_sent`) | {} |", column.len());
    println!("| lines of code | {} |", house.code_lines());
    println!(
        "| largest circle of imports in `bench/`, `client/` | {}, {} |",
        circles[0].len(),
        circles[1].len()
    );
    println!("| tests' share of the core | {:.0} % |", house.tests_share(&CORE));
    println!("| tests' share of `report/` | {:.0} % |", house.tests_share(&["report"]));
    println!("figure: {figure:?}\nkinds: {kinds:?}\ncolumn: {column:?}\ncircles: {circles:?}");
    assert!(house.tests_share(&CORE) > 44.5 && house.tests_share(&["report"]) > 30.0);
    assert!(figure.len() <= 1 && kinds.len() <= 11 && column.len() <= 9);
    assert!(circles[0].len() <= 4, "bench/ goes round in a larger circle: {:?}", circles[0]);
    let client = house.largest_circle("client", true);
    assert!(client.is_empty(), "these commands go round in a circle: {client:?}");
}

/// The layers of the bench, lowest first: a file uses its own layer and those before it.
const LAYERS: [&[&str]; 10] = [
    &["plan", "setup"],
    &["fact"],
    &["state"],
    &["series", "fate", "spots"],
    &["event", "reply"],
    &["judge", "questions", "seat", "words"],
    &["gate", "flow"],
    &["draft"],
    &["request"],
    &["decide"],
];

#[test]
fn the_bench_lies_in_layers() {
    let house = House::read();
    let layer = |module: &[String]| {
        let first = module.first()?;
        LAYERS.iter().position(|names| names.contains(&first.as_str()))
    };
    let (mut looked_at, mut upward) = (0, Vec::new());
    for (path, source) in &house.0 {
        let inside = path.starts_with("bench/") && !source.module.is_empty();
        if !inside || source.code.is_empty() {
            continue;
        }
        let own = layer(&source.module).unwrap_or_else(|| panic!("{path} has no layer"));
        // A group such as `crate::{…}` is also met as a path to the root itself: its members follow.
        for import in imports(source, false).into_iter().filter(|import| !import.is_empty()) {
            looked_at += 1;
            // What stands in the root of the room is handed on from everywhere, and decides nothing.
            let Some(other) = layer(&import) else {
                let constant = import == ["ENGINE"];
                assert!(constant, "{path} takes {import:?} by way of the root: name where it is");
                continue;
            };
            if other > own {
                upward.push(format!("{path} -> {}", import.join("::")));
            }
        }
    }
    assert!(looked_at > 300, "the imports were not found: {looked_at}");
    assert!(upward.is_empty(), "these use what stands above them: {upward:#?}");
}
