//! Changes that keep to the grammar: keys, values, tables and lines of JSON, each well formed and in
//! the wrong place. They get further into a reader than changed bytes do.

use std::os::unix::fs::symlink;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use proptest::prelude::*;
use proptest::sample::Index;

use crate::mutate::{Bytes, corpus, files, tried};
use ::record::{Callers, ImportError, Origin, Reader, Store};
use bench::{Body, Row, judge};
use config::{Finding, load, parse_plan, parse_profile};
use quantity::Wall;
use wire::{RecordLines, record_line};

/// Values of every type, and odd ones.
const VALUES: [&str; 33] = [
    "1",
    "0",
    "-1",
    "1e400",
    "inf",
    "nan",
    "9223372036854775807",
    "-9223372036854775808",
    "99999999999999999999",
    "0.1",
    "true",
    "\"\"",
    "\" \"",
    "\"0 in\"",
    "\"-1 in\"",
    "\"1e9 in\"",
    "\"0.00000000000001 in\"",
    "\"999999999 in\"",
    "\"1 um\"",
    "\"plate\"",
    "\"../../../etc\"",
    "\"a__b\"",
    "\"\\u0000\"",
    "\"\\u202e\"",
    "\"e\\u0301\u{301}\u{301}\"",
    "\"\u{1f527}\u{200d}\"",
    "[]",
    "[[[[[[[[[[[[[[[[[[[[1]]]]]]]]]]]]]]]]]]]]",
    "[1, \"1 in\", true]",
    "{}",
    "{ a = { b = { c = { d = 1 } } } }",
    "2027-03-01",
    "2027-02-30T00:00:00Z",
];

/// One change of a file of lines `key = value` below `[table]`.
#[derive(Debug, Clone)]
enum Edit {
    /// The value of a key becomes that of another key, or one of [`VALUES`].
    ValueOf(Index, Index),
    Odd(Index, Index),
    /// A key gets another one's name.
    Named(Index, Index),
    Twice(Index),
    Gone(Index),
    Moved(Index, Index),
    /// A table of another file, or of this one, comes along.
    Table(Index, Index, Index),
    Cut(Index),
    Deep(Index, usize),
}

fn edit() -> impl Strategy<Value = Edit> {
    let at = any::<Index>;
    prop_oneof![
        4 => (at(), at()).prop_map(|(one, other)| Edit::ValueOf(one, other)),
        5 => (at(), at()).prop_map(|(one, value)| Edit::Odd(one, value)),
        2 => (at(), at()).prop_map(|(one, other)| Edit::Named(one, other)),
        2 => at().prop_map(Edit::Twice),
        3 => at().prop_map(Edit::Gone),
        2 => (at(), at()).prop_map(|(from, to)| Edit::Moved(from, to)),
        2 => (at(), at(), at()).prop_map(|(which, table, to)| Edit::Table(which, table, to)),
        1 => at().prop_map(Edit::Cut),
        1 => (at(), 1..400_usize).prop_map(|(at, deep)| Edit::Deep(at, deep)),
    ]
}

/// The places of lines `key = value`.
fn pairs(lines: &[String]) -> Vec<usize> {
    let pair = |line: &String| {
        let key = line.split_once('=').map(|(key, _)| key.trim());
        key.is_some_and(|key| !key.is_empty() && !key.contains(['#', '[', '"', '{']))
    };
    (0..lines.len()).filter(|at| pair(&lines[*at])).collect()
}

fn key_and_value(line: &str) -> (String, String) {
    let (key, value) = line.split_once('=').unwrap_or((line, ""));
    (key.trim().to_owned(), value.trim().to_owned())
}

/// The lines of a table, from its head to the next one.
fn table(file: &str, which: Index) -> Vec<String> {
    let lines: Vec<&str> = file.lines().collect();
    let heads: Vec<usize> = (0..lines.len()).filter(|at| lines[*at].starts_with('[')).collect();
    if heads.is_empty() {
        return Vec::new();
    }
    let head = which.index(heads.len());
    let end = heads.get(head + 1).copied().unwrap_or(lines.len());
    lines[heads[head]..end].iter().map(|line| (*line).to_owned()).collect()
}

fn apply(lines: &mut Vec<String>, edit: &Edit, corpus: &[String]) {
    let places = pairs(lines);
    if places.is_empty() {
        return;
    }
    let place = |at: &Index| places[at.index(places.len())];
    match edit {
        Edit::ValueOf(one, other) => {
            let (key, _) = key_and_value(&lines[place(one)]);
            let (_, value) = key_and_value(&lines[place(other)]);
            lines[place(one)] = format!("{key} = {value}");
        }
        Edit::Odd(one, value) => {
            let (key, _) = key_and_value(&lines[place(one)]);
            lines[place(one)] = format!("{key} = {}", VALUES[value.index(VALUES.len())]);
        }
        Edit::Named(one, other) => {
            let (_, value) = key_and_value(&lines[place(one)]);
            let (key, _) = key_and_value(&lines[place(other)]);
            lines[place(one)] = format!("{key} = {value}");
        }
        Edit::Twice(one) => lines.insert(place(one), lines[place(one)].clone()),
        Edit::Gone(one) => drop(lines.remove(place(one))),
        Edit::Moved(from, to) => {
            let line = lines.remove(place(from));
            lines.insert(to.index(lines.len() + 1), line);
        }
        Edit::Table(which, one, to) => {
            let new = table(&corpus[which.index(corpus.len())], *one);
            let at = to.index(lines.len() + 1);
            lines.splice(at..at, new);
        }
        Edit::Cut(at) => lines.truncate(place(at)),
        Edit::Deep(one, deep) => {
            let (key, value) = key_and_value(&lines[place(one)]);
            lines[place(one)] =
                format!("{key} = {}{value}{}", "[".repeat(*deep), "]".repeat(*deep));
        }
    }
}

/// A file of the corpus with some edits; two of them joined, now and then.
fn edited(corpus: &'static [String]) -> impl Strategy<Value = String> {
    let edits = prop::collection::vec(edit(), 0..5);
    (any::<Index>(), edits, prop::option::weighted(0.05, any::<Index>())).prop_map(
        move |(which, edits, joined)| {
            let mut lines: Vec<String> =
                corpus[which.index(corpus.len())].lines().map(str::to_owned).collect();
            for edit in &edits {
                apply(&mut lines, edit, corpus);
            }
            let more = joined.map(|other| corpus[other.index(corpus.len())].as_str());
            lines.join("\n") + "\n" + more.unwrap_or_default()
        },
    )
}

fn texts(folder: &str, ending: &str) -> &'static [String] {
    let texts = files(folder, ending).into_iter().map(|file| String::from_utf8(file).unwrap());
    Vec::leak(texts.collect())
}

/// Every finding says something, and where: a line of the file it names, if it names one of these.
fn findings_hold(findings: &[Finding], of: &[(&str, &str)]) -> Result<(), TestCaseError> {
    for finding in findings {
        prop_assert!(!finding.text.trim().is_empty() && !finding.file.is_empty(), "{finding}");
        let Some((_, text)) = of.iter().find(|(file, _)| finding.file.ends_with(file)) else {
            continue;
        };
        let lines = text.split('\n').count();
        let line = finding.line.map_or(1, |line| usize::try_from(line).unwrap());
        prop_assert!((1..=lines).contains(&line), "{finding} of {lines} lines");
    }
    Ok(())
}

#[test]
fn plans_of_wrong_values() {
    tried("plans, by keys", &edited(texts("config/plans", ".toml")), |text| {
        match parse_plan(&text, "plan") {
            // A job pins the text: it must be read back the same, for ever.
            Ok(plan) => prop_assert_eq!(parse_plan(&text, "again").ok(), Some(plan)),
            Err(findings) => {
                prop_assert!(findings.iter().any(Finding::is_error), "refused without a word");
                findings_hold(&findings, &[("plan", &text)])?;
            }
        }
        Ok(())
    });
}

#[test]
fn profiles_of_wrong_values() {
    tried("profiles, by keys", &edited(texts("config/profiles", ".toml")), |text| {
        match parse_profile(&text, "profile") {
            // What it says of its own examples was looked at by reading it.
            Ok(_) => prop_assert!(parse_profile(&text, "again").is_ok()),
            Err(findings) => {
                prop_assert!(findings.iter().any(Finding::is_error), "refused without a word");
                findings_hold(&findings, &[("profile", &text)])?;
            }
        }
        Ok(())
    });
}

/// A folder with a configuration, and the plans, profiles and drops of the sample beside it.
fn bench_folder() -> tempfile::TempDir {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("config");
    let folder = tempfile::tempdir().unwrap();
    for name in ["plans", "profiles", "drops"] {
        symlink(root.join(name), folder.path().join(name)).unwrap();
    }
    folder
}

#[test]
fn configurations_of_wrong_values() {
    let folder = bench_folder();
    let path = folder.path().join("bench.toml");
    let benches = texts("config", "bench.toml");
    tried("configurations, by keys", &edited(benches), |text| {
        std::fs::write(&path, &text).unwrap();
        let checked = load(&path);
        let wrong = checked.findings.iter().any(Finding::is_error);
        prop_assert!(checked.loaded.is_some() || wrong, "refused without a word");
        findings_hold(&checked.findings, &[("bench.toml", &text)])
    });
}

/// Ends the service, however a case ends.
struct Served(Child);

impl Drop for Served {
    fn drop(&mut self) {
        let _gone = self.0.kill();
        let _reaped = self.0.wait();
    }
}

/// What `config check` accepts is what the service starts on: nothing is found out later.
#[test]
fn accepted_configurations_start() {
    let folder = bench_folder();
    let path = folder.path().join("bench.toml");
    let state = folder.path().join("state");
    let benches = texts("config", "bench.toml");
    let program = |arguments: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tenths"));
        command.args(arguments).env("TENTHS_CONFIG", &path).stdin(Stdio::null());
        command.stdout(Stdio::null()).stderr(Stdio::null());
        command
    };
    tried("accepted configurations", &edited(benches), |text| {
        // The state folder is this test's own, whatever the text says.
        let own = format!("state = {:?}\n", state.display().to_string());
        let text = text.replacen("[bench]\n", &format!("[bench]\n{own}"), 1);
        std::fs::write(&path, &text).unwrap();
        let Some(loaded) = load(&path).loaded else { return Ok(()) };
        // A start costs a tenth of a second: those that stand near the sample are left out.
        if loaded.state != state || text.len() % 7 != 0 {
            return Ok(());
        }
        let mut served = Served(program(&["serve"]).spawn().unwrap());
        let until = Instant::now() + Duration::from_mins(1);
        loop {
            let answers = program(&["status"]).status().unwrap().code();
            if answers < Some(2) && answers.is_some() {
                break;
            }
            let ended = served.0.try_wait().unwrap();
            prop_assert!(ended.is_none(), "accepted, and the service ends with {ended:?}");
            prop_assert!(Instant::now() < until, "accepted, and the service does not answer");
            std::thread::sleep(Duration::from_millis(20));
        }
        Ok(())
    });
}

/// The fields of a line of JSON, as they are written.
fn fields(line: &str) -> Vec<String> {
    let (mut depth, mut text, mut escaped, mut begin) = (0_u32, false, false, 0);
    let inner = line.trim_start_matches('{');
    let inner = inner.strip_suffix('}').unwrap_or(inner);
    let mut found = Vec::new();
    for (at, c) in inner.char_indices() {
        match c {
            _ if escaped => escaped = false,
            '\\' if text => escaped = true,
            '"' => text = !text,
            '{' | '[' if !text => depth += 1,
            '}' | ']' if !text => depth = depth.saturating_sub(1),
            ',' if !text && depth == 0 => {
                found.push(inner[begin..at].to_owned());
                begin = at + 1;
            }
            _ => {}
        }
    }
    found.push(inner[begin..].to_owned());
    found
}

/// One change of a record that is handed over, line by line.
#[derive(Debug, Clone)]
enum Line {
    /// A field gets the value that the same field, or any, has in another line.
    Same(Index, Index, Index),
    Other(Index, Index, Index),
    /// A whole number becomes another one.
    Number(Index, Index, i64),
    Gone(Index),
    Twice(Index),
    Swapped(Index, Index),
    FieldGone(Index, Index),
    Called(Index),
}

fn line_edit() -> impl Strategy<Value = Line> {
    let at = any::<Index>;
    let near = prop_oneof![-3..4_i64, Just(i64::MAX), Just(i64::MIN), any::<i64>()];
    prop_oneof![
        4 => (at(), at(), at()).prop_map(|(line, field, of)| Line::Same(line, field, of)),
        1 => (at(), at(), at()).prop_map(|(line, field, of)| Line::Other(line, field, of)),
        5 => (at(), at(), near).prop_map(|(line, field, by)| Line::Number(line, field, by)),
        3 => at().prop_map(Line::Gone),
        1 => at().prop_map(Line::Twice),
        1 => (at(), at()).prop_map(|(one, other)| Line::Swapped(one, other)),
        1 => (at(), at()).prop_map(|(line, field)| Line::FieldGone(line, field)),
        3 => at().prop_map(Line::Called),
    ]
}

fn apply_line(record: &mut Vec<String>, edit: &Line) {
    if record.is_empty() {
        return;
    }
    let at = |index: &Index| index.index(record.len());
    let put = |fields: &[String]| format!("{{{}}}", fields.join(","));
    match edit {
        Line::Same(line, field, of) | Line::Other(line, field, of) => {
            let (mut own, others) = (fields(&record[at(line)]), fields(&record[at(of)]));
            let field = field.index(own.len());
            let name = own[field].split_once(':').map_or("", |(name, _)| name).to_owned();
            let same = others.iter().find(|other| other.starts_with(&format!("{name}:")));
            let any = || others[of.index(others.len())].clone();
            let new = match (edit, same) {
                (Line::Same(..), Some(same)) => same.clone(),
                _ => any(),
            };
            own[field] = new;
            let line = at(line);
            record[line] = put(&own);
        }
        Line::Number(line, field, by) => {
            let mut own = fields(&record[at(line)]);
            let whole = |text: &String| {
                text.split_once(':').is_some_and(|(_, value)| value.parse::<i64>().is_ok())
            };
            let numbers: Vec<usize> = (0..own.len()).filter(|at| whole(&own[*at])).collect();
            let Some(field) = numbers.get(field.index(numbers.len().max(1))) else { return };
            if let Some((name, value)) = own[*field].clone().split_once(':') {
                let value: i64 = value.parse().unwrap();
                own[*field] = format!("{name}:{}", value.wrapping_add(*by));
            }
            let line = at(line);
            record[line] = put(&own);
        }
        Line::Gone(line) => drop(record.remove(line.index(record.len()))),
        Line::Twice(line) => record.insert(at(line), record[at(line)].clone()),
        Line::Swapped(one, other) => {
            let (one, other) = (at(one), at(other));
            record.swap(one, other);
        }
        Line::FieldGone(line, field) => {
            let mut own = fields(&record[at(line)]);
            own.remove(field.index(own.len()));
            let line = at(line);
            record[line] = put(&own);
        }
        Line::Called(line) => {
            let line = at(line);
            let called = "\"caller\":{\"uid\":7,\"pid\":9},\"by\"";
            record[line] = record[line].replacen("\"by\"", called, 1);
            record[line] = with_caller_behind(&record[line]);
        }
    }
}

/// `caller` stands behind `by`.
fn with_caller_behind(line: &str) -> String {
    let mut own = fields(line);
    let place = own.iter().position(|field| field.starts_with("\"caller\":"));
    if let Some(at) = place
        && at + 1 < own.len()
    {
        own.swap(at, at + 1);
    }
    format!("{{{}}}", own.join(","))
}

fn parse(text: &str) -> Result<bench::plan::Plan, String> {
    parse_plan(text, "plan").map_err(|_| "no plan".to_owned())
}

/// What `import` would be given; `None` where a line is refused.
fn taken(record: &[String]) -> Option<(Vec<Row>, Callers)> {
    let mut lines = RecordLines::new(parse);
    let (mut rows, mut callers) = (Vec::new(), Callers::new());
    for line in record {
        let (row, caller) = lines.take(line).ok()?;
        callers.extend(caller.map(|caller| (row.seq, caller)));
        rows.push(row);
    }
    lines.job().is_ok().then_some((rows, callers))
}

/// A record whose lines are well formed is taken whole, is handed on as the same lines, and then
/// nothing in it says what its readings do not; or it is refused, with a sentence, and nothing of it
/// is there.
fn import_holds(record: &[String]) -> Result<bool, TestCaseError> {
    let Some((rows, callers)) = taken(record) else { return Ok(false) };
    let folder = tempfile::tempdir_in("/dev/shm").or_else(|_| tempfile::tempdir()).unwrap();
    let (mut store, _) = Store::open_with(folder.path(), parse).unwrap();
    let origin = Origin { wall: Wall::from_micros(1), digest: [1; 32] };
    let done = store.import((&rows, &callers), origin, &judge);
    let there = store.all_rows().unwrap().len();
    drop(store);
    let reader = Reader::open_with(folder.path(), parse).unwrap();
    let found = reader.verify(&judge).unwrap();
    prop_assert!(found.differences.is_empty(), "{:?}", found.differences);
    match done {
        Err(ImportError::Store(error)) => prop_assert!(false, "the record is at fault: {error}"),
        Err(error) => {
            prop_assert!(!error.to_string().trim().is_empty());
            prop_assert_eq!(there, 0, "something of what was refused is there");
            return Ok(false);
        }
        Ok(imported) => {
            prop_assert_eq!(imported.rows, record.len() as u64);
            let opened = rows.iter().find_map(|row| {
                let Body::JobOpened(opened) = &row.body else { return None };
                Some(opened.name.to_string())
            });
            let back = reader.handover(&opened.unwrap()).unwrap();
            let line = |row| record_line(row, back.callers.get(&row.seq));
            let again: Vec<String> = back.rows.iter().filter_map(line).collect();
            prop_assert_eq!(&again[..], record);
        }
    }
    Ok(true)
}

#[test]
fn jobs_of_wrong_lines() {
    let record = String::from_utf8(files("fixtures/bundles", ".jsonl").remove(0)).unwrap();
    let record: Vec<String> = record.lines().map(str::to_owned).collect();
    assert!(import_holds(&record).unwrap(), "the sample itself is taken");
    let taken = std::cell::Cell::new(0_u32);
    let edits = prop::collection::vec(line_edit(), 1..4);
    tried("jobs, line by line", &edits, |edits| {
        let mut changed = record.clone();
        for edit in &edits {
            apply_line(&mut changed, edit);
        }
        taken.set(taken.get() + u32::from(import_holds(&changed)?));
        Ok(())
    });
    assert!(taken.get() > 0, "no changed record was taken: the changes are too wild");
    let bytes = corpus(vec![record.join("\n").into_bytes()]);
    tried("jobs, cut and joined", &(any::<Index>(), any::<Index>()), |(cut, from)| {
        let whole = &bytes[0];
        let (cut, from) = (cut.index(whole.len() + 1), from.index(whole.len() + 1));
        let joined = Bytes([&whole[..cut], &whole[from..]].concat());
        let text = String::from_utf8_lossy(&joined.0).into_owned();
        let lines: Vec<String> = text.lines().map(str::to_owned).collect();
        import_holds(&lines).map(drop)
    });
}
