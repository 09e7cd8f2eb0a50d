//! Any one value of the record is changed. What is then shown is as before, or a sentence says what is wrong,
//! or the check of the record finds it; and the other job is never held up.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;
use std::sync::atomic::{AtomicUsize, Ordering};

use rusqlite::Connection;
use rusqlite::types::Value;

use crate::rig::{Bench, Make};

/// A plan of the job that is damaged, with something of everything the record holds.
const DIRTY: &str = r#"
name = "dirty"
unit = "in"
[[part]]
name = "ring"
kind = "spacer"
[[part.check]]
name = "face"
measures = "parallelism"
gauge = "plate"
setup = "plate"
positions = 8
radius = "1.5 in"
tolerance = "0.0001 in"
closure = false
[[part.check]]
name = "clean"
measures = "confirm"
question = "Is it clean?"
answers = ["yes", "no"]
good = ["yes"]
[[part.check]]
name = "logged"
measures = "parallelism"
gauge = "logger"
setup = "plate"
positions = 240
radius = "1.5 in"
tolerance = "0.0001 in"
"#;

/// The plan of the job that must go on.
const CLEAN: &str = r#"
name = "clean"
unit = "in"
[[part]]
name = "ring"
kind = "spacer"
[[part.check]]
name = "face"
measures = "parallelism"
gauge = "dial"
setup = "plate"
positions = 8
radius = "2 in"
tolerance = "0.0003 in"
closure = false
"#;

const MORE: &str = r#"
[[gauge]]
name = "logger"
kind = "indicator"
resolution = "0.00001 in"
[[gauge]]
name = "dial"
kind = "dial"
resolution = "0.00002 in"
[[drop]]
name = "files"
folder = "{dir}/drop"
gauge = "logger"
tags = "name"
columns = { value = "v" }
"#;

const RING: [&str; 8] = ["0", "1", "2", "3", "2", "1", "0", "1"];

fn keyed(bench: &Bench, count: usize, by: &str) {
    let mut enter = vec!["enter", "--by", by, "--graduation", "0.00002in"];
    enter.extend(&RING[..count]);
    bench.ok(&enter);
}

/// Rows that were acknowledged and are gone: an older copy lies in the place of the record.
fn lose_some(bench: &mut Bench) {
    let (path, copy) = (bench.path("state/tenths.db"), bench.path("older.db"));
    for (person, put) in [("ann", false), ("bob", true)] {
        bench.start();
        bench.ok(&["person", person]);
        bench.stop();
        let (from, to) = if put { (&copy, &path) } else { (&path, &copy) };
        fs::copy(from, to).unwrap();
    }
}

/// A record with a row in every table, made by real work.
fn worked() -> Bench {
    let gauge = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.000009 in\"";
    let mut bench = Bench::new(&Make { gauge, more: MORE, plan: DIRTY });
    fs::write(bench.path("plans/clean.toml"), CLEAN).unwrap();
    bench.start();
    // A job that was handed over by another bench, so that what imports leave is there, too.
    bench.ok(&["job", "open", "CAME", "--plan", "held", "--by", "cora"]);
    bench.ok(&["measure", "ring/face"]);
    let values =
        ["0.00001", "0.00003", "0.00002", "0.00003", "0.00002", "0.00001", "0.00002", "0.00003"];
    bench.touches(&bench.plate, "plate", &values);
    bench.ok(&["job", "close", "CAME", "--why", "it goes on elsewhere"]);
    bench.ok(&["export", "CAME", "--out", bench.path("bundle").to_str().unwrap()]);
    bench.stop();
    fs::remove_dir_all(bench.path("state")).unwrap();
    fs::create_dir(bench.path("state")).unwrap();
    lose_some(&mut bench);
    bench.start();
    bench.ok(&["person", "ann"]);
    bench.ok(&[
        "job",
        "open",
        "DIRTY",
        "--plan",
        "held",
        "--serial",
        "S-1",
        "--customer",
        "Sedge",
        "--by",
        "ann",
    ]);
    bench.ok(&["measure", "ring/face", "--remark", "first look"]);
    bench.touches(&bench.plate, "plate", &values[..3]);
    bench.ok(&["void", "--why", "slipped"]);
    bench.touches(&bench.plate, "plate", &["0.00042"]);
    bench.touches(&bench.plate, "plate", &values[3..]);
    bench.touches(&bench.plate, "plate", &["0.00009"]);
    bench.ok(&["confirm", "ring/clean", "yes"]);
    // More than the 256 rows of a block that has a seal.
    let logged = ["0.00001\n", "0.00002\n", "0.00003\n"].concat().repeat(80);
    bench.drop_file("DIRTY__ring__logged.csv", &format!("v\n{logged}"));
    bench.until("the file is taken", || bench.drop_line("files")["files"] == 1);
    bench.drop_file("DIRTY__ring__nothing.csv", "v\nx\n");
    bench.until("the file is refused", || bench.drop_line("files")["refused"] == 1);
    bench.ok(&["note", "DIRTY", "came in wet"]);
    bench.ok(&["checked", "DIRTY", "--by", "cora", "--why", "the owner waits"]);
    let alert = bench.lines(&["alerts", "--state", "open"])[0]["id"].to_string();
    bench.ok(&["ack", &alert]);
    bench.ok(&["job", "open", "CLEAN", "--plan", "clean", "--by", "bob"]);
    bench.ok(&["measure", "ring/face", "--by", "bob"]);
    keyed(&bench, 8, "bob");
    // A turn of the job that goes on, for a touch while the other is damaged.
    bench.ok(&["remeasure", "again", "ring/face", "--by", "bob"]);
    keyed(&bench, 2, "bob");
    bench.stop();
    bench.ok(&["import", bench.path("bundle").to_str().unwrap()]);
    bench
}

/// A change of one value.
#[derive(Debug, Clone)]
struct Dirt {
    table: String,
    /// Which of its rows.
    which: String,
    column: String,
    /// The place of the row.
    row: Vec<Value>,
    key: Vec<String>,
    to: To,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum To {
    /// Another value of its type.
    Other,
    /// A far larger number, or an empty text.
    Far,
    /// Nothing.
    Null,
    /// A value of another type.
    Strange,
    /// A text that is no text.
    NoText,
}

impl To {
    const ALL: [Self; 5] = [Self::Other, Self::Far, Self::Null, Self::Strange, Self::NoText];

    fn of(self, was: &Value) -> Option<Value> {
        Some(match (self, was) {
            (Self::Other, Value::Integer(was)) => Value::Integer(was.wrapping_add(1)),
            (Self::Other, Value::Text(was)) => Value::Text(changed(was)),
            (Self::Other, Value::Blob(was)) => {
                let mut bytes = was.clone();
                *bytes.first_mut()? ^= 1;
                Value::Blob(bytes)
            }
            (Self::Far, Value::Integer(_)) => Value::Integer(i64::MAX - 7),
            (Self::Far, Value::Text(was)) if !was.is_empty() => Value::Text(String::new()),
            (Self::Null, Value::Integer(_) | Value::Text(_) | Value::Blob(_)) => Value::Null,
            (Self::Strange, Value::Integer(_)) => Value::Text("x".to_owned()),
            (Self::Strange, Value::Text(_) | Value::Null) => Value::Blob(vec![0xff, 1]),
            (Self::Strange, Value::Blob(_)) => Value::Integer(5),
            _ => return None,
        })
    }
}

/// A text with one letter or digit changed, in its middle where it is long.
fn changed(was: &str) -> String {
    let mut letters: Vec<char> = was.chars().collect();
    let from = letters.len() / 2;
    let at = (from..letters.len()).chain(0..from).find(|at| letters[*at].is_ascii_alphanumeric());
    let other = |letter: char| match letter {
        'q' => '1',
        '9' => '8',
        digit if digit.is_ascii_digit() => '9',
        _ => 'q',
    };
    match at {
        Some(at) => letters[at] = other(letters[at]),
        None => letters.push('q'),
    }
    letters.into_iter().collect()
}

/// Every table with its columns and the columns of its key.
fn tables(file: &Connection) -> Vec<(String, Vec<String>, Vec<String>)> {
    let sql = "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite%'";
    let mut statement = file.prepare(sql).unwrap();
    let names: Vec<String> =
        statement.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect();
    let columns = |name: &String| {
        let sql = format!("SELECT name, pk FROM pragma_table_info('{name}') ORDER BY cid");
        let mut statement = file.prepare(&sql).unwrap();
        let all: Vec<(String, i64)> = statement
            .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))
            .unwrap()
            .map(Result::unwrap)
            .collect();
        let key = all.iter().filter(|(_, pk)| *pk > 0).map(|(name, _)| name.clone()).collect();
        (name.clone(), all.into_iter().map(|(name, _)| name).collect(), key)
    };
    names.iter().map(columns).collect()
}

/// The rows of a table that are alike in what they say, as conditions: of facts those of each kind, and
/// those of the job DIRTY where it has some.
fn alike(file: &Connection, table: &str) -> Vec<String> {
    let job = "(SELECT seq FROM fact WHERE key = 'DIRTY')";
    match table {
        "fact" => {
            let sql = format!("SELECT kind, max(job IS {job}) FROM fact GROUP BY kind");
            let mut statement = file.prepare(&sql).unwrap();
            let which = |row: &rusqlite::Row<'_>| -> rusqlite::Result<String> {
                let (kind, of_dirty): (String, bool) = (row.get(0)?, row.get(1)?);
                let job = if of_dirty { format!(" AND job = {job}") } else { String::new() };
                Ok(format!("kind = '{kind}'{job}"))
            };
            statement.query_map([], which).unwrap().map(Result::unwrap).collect()
        }
        "pinned" => {
            ["text LIKE '%name = \"dirty\"%'", "text LIKE '{%\"plate\"%'"].map(str::to_owned).into()
        }
        "form" => vec!["gauge = 'plate'".to_owned()],
        "reading" => vec![format!("job = {job}")],
        _ => vec!["1".to_owned()],
    }
}

/// Whether a kind of change is tried on a column of such rows. What all kinds of facts have in common is
/// tried on one of them, what they are searched by with another value on all.
fn is_tried(which: &str, column: &str, to: To) -> bool {
    !which.starts_with("kind = ")
        || which.starts_with("kind = 'verdict'")
        || column == "body"
        || (to == To::Other && ["key", "job", "attempt", "about"].contains(&column))
}

/// Each column with each kind of change: of the first row that holds a value there.
fn all_dirt(path: &Path) -> Vec<Dirt> {
    let file = Connection::open(path).unwrap();
    let mut all = Vec::new();
    for (table, columns, key) in tables(&file) {
        for which in alike(&file, &table) {
            for column in &columns {
                let keys = key.join(", ");
                let sql = format!(
                    "SELECT {column}, {keys} FROM {table} WHERE {which}
                     ORDER BY {column} IS NULL, {keys} LIMIT 1"
                );
                let row: Vec<Value> = file
                    .query_row(&sql, [], |row| (0..=key.len()).map(|at| row.get(at)).collect())
                    .unwrap_or_else(|error| panic!("{table} {which}: {error}"));
                for to in To::ALL.into_iter().filter(|to| is_tried(&which, column, *to)) {
                    let textual = matches!(row[0], Value::Text(_));
                    if to.of(&row[0]).is_some() || (to == To::NoText && textual) {
                        let (table, column, which) = (table.clone(), column.clone(), which.clone());
                        let (row, key) = (row.clone(), key.clone());
                        all.push(Dirt { table, which, column, row, key, to });
                    }
                }
            }
        }
    }
    all
}

impl Dirt {
    fn name(&self) -> String {
        format!("{}.{} to {:?} where {}", self.table, self.column, self.to, self.which)
    }

    /// Changes the value, whatever the schema has against it; whether that could be done.
    fn fall(&self, path: &Path) -> bool {
        let open = || {
            let file = Connection::open(path).unwrap();
            let careless = "PRAGMA synchronous = OFF; PRAGMA writable_schema = ON;
                PRAGMA foreign_keys = OFF; PRAGMA ignore_check_constraints = ON";
            file.execute_batch(careless).unwrap();
            file
        };
        let put = |file: &Connection, sql: &str| {
            let set = "UPDATE sqlite_schema SET sql = ?1 WHERE name = ?2";
            file.execute(set, [sql, &self.table]).unwrap();
        };
        let file = open();
        let sql = "SELECT sql FROM sqlite_schema WHERE name = ?1";
        let strict: String = file.query_row(sql, [&self.table], |row| row.get(0)).unwrap();
        let mut loose = strict.replace(") STRICT, WITHOUT", ") WITHOUT").replace(") STRICT", ")");
        if self.to == To::Null {
            loose = loose.replace("NOT NULL", "");
        }
        put(&file, &loose);
        file.close().unwrap();
        // The schema is read when a file is opened.
        let file = open();
        let set = if self.to == To::NoText { "CAST(x'ff41' AS TEXT)" } else { "?1" };
        let place = self.key.iter().enumerate();
        let place: Vec<String> = place.map(|(at, key)| format!("{key} = ?{}", at + 2)).collect();
        let place = place.join(" AND ");
        let (table, column) = (&self.table, &self.column);
        let sql = format!("UPDATE {table} SET {column} = {set} WHERE {place} AND ?1 IS ?1");
        let mut values = vec![self.to.of(&self.row[0]).unwrap_or(Value::Null)];
        values.extend(self.row[1..].iter().cloned());
        let done = file.execute(&sql, rusqlite::params_from_iter(values)).is_ok();
        put(&file, &strict);
        file.close().unwrap();
        done
    }
}

/// What is asked of a damaged record: of the other job, of the damaged one, of all.
const OF_CLEAN: [&str; 3] = ["readings CLEAN --json", "verdicts CLEAN --json", "report CLEAN"];
const OF_ALL: [&str; 7] = [
    "job list --json",
    "readings --json",
    "verdicts --json",
    "alerts --json",
    "report DIRTY",
    "job show CAME --json",
    "readings CAME --json",
];

fn asked(bench: &Bench, config: &Path, what: &str) -> Output {
    let mut command = bench.command(&what.split(' ').collect::<Vec<_>>());
    command.env("TENTHS_CONFIG", config).output().unwrap()
}

/// A bench beside the other, with a state folder of its own.
struct Beside {
    config: PathBuf,
    record: PathBuf,
}

impl Beside {
    fn of(bench: &Bench, name: &str) -> Self {
        let text = fs::read_to_string(bench.path("bench.toml")).unwrap();
        let state = format!("state-{name}");
        fs::create_dir_all(bench.path(&state)).unwrap();
        let config = bench.path(&format!("bench-{name}.toml"));
        fs::write(&config, text.replace("state = \"state\"", &format!("state = \"{state}\"")))
            .unwrap();
        Self { config, record: bench.path(&state).join("tenths.db") }
    }
}

/// What the damage came to.
struct Found {
    dirt: String,
    wrong: Vec<String>,
    /// Neither an answer nor the check of the record knows of it.
    unguarded: bool,
}

fn told(output: &Output) -> bool {
    let err = String::from_utf8_lossy(&output.stderr);
    let code = output.status.code();
    matches!(code, Some(1..=3))
        && (err.contains("tenths: ") || err.contains("\"error/1\"") || code == Some(1))
}

fn tried(bench: &Bench, beside: &Beside, dirt: &Dirt, before: &[Output]) -> Option<Found> {
    fs::copy(bench.path("state/tenths.db"), &beside.record).unwrap();
    if !dirt.fall(&beside.record) {
        return None;
    }
    let mut found = Found { dirt: dirt.name(), wrong: Vec::new(), unguarded: false };
    let verified = asked(bench, &beside.config, "verify");
    if !matches!(verified.status.code(), Some(0 | 1)) && !told(&verified) {
        found.wrong.push(format!("verify: {verified:?}"));
    }
    let known = !verified.status.success();
    found.unguarded = !known;
    let whole = known && dirt.to != To::Other;
    for (what, before) in OF_CLEAN.iter().chain(&OF_ALL).zip(before) {
        let rotates = whole && OF_ALL.contains(what) && !dirt.column.len().is_multiple_of(2);
        if rotates && !["job list --json", "report DIRTY"].contains(what) {
            continue;
        }
        let now = asked(bench, &beside.config, what);
        let same = now.status.success() && now.stdout == before.stdout;
        // What the answer rests on may be shared by both: then it is told.
        let ok = same || told(&now) || (known && now.status.success());
        if !ok {
            let err = String::from_utf8_lossy(&now.stderr);
            found.wrong.push(format!("{what}: {:?}: {err}", now.status.code()));
        }
        // A report has a seal of the record on it, with the row that it is after.
        let sealed = ["counter", "seal"].contains(&dirt.table.as_str()) || dirt.column == "seq";
        let sealed = sealed && what.starts_with("report");
        if OF_CLEAN.contains(what) && !same && !sealed {
            found.wrong.push(format!(
                "the other job is touched: {what}: {}",
                String::from_utf8_lossy(&now.stderr)
            ));
        }
    }
    Some(found)
}

/// What neither seals nor digests nor recomputation guard: the replies that are kept so that a request
/// which comes again is done once. They are no part of the record.
const UNGUARDED: &str = "answer.";

#[test]
fn whatever_value_of_the_record_is_changed_it_is_told_and_the_other_job_goes_on() {
    let bench = worked();
    let path = bench.path("state/tenths.db");
    let all = all_dirt(&path);
    let here = Beside::of(&bench, "before");
    fs::copy(&path, &here.record).unwrap();
    let before: Vec<Output> =
        OF_CLEAN.iter().chain(&OF_ALL).map(|what| asked(&bench, &here.config, what)).collect();
    for (what, before) in OF_CLEAN.iter().chain(&OF_ALL).zip(&before) {
        assert!(before.status.success(), "{what}: {before:?}");
    }
    assert!(asked(&bench, &here.config, "verify").status.success());
    let next = AtomicUsize::new(0);
    let work = |name: &str| {
        let beside = Beside::of(&bench, name);
        let mut found = Vec::new();
        while let Some(dirt) = all.get(next.fetch_add(1, Ordering::Relaxed)) {
            found.extend(tried(&bench, &beside, dirt, &before));
        }
        found
    };
    let found: Vec<Found> = std::thread::scope(|scope| {
        let both = ["one", "two"].map(|name| scope.spawn(move || work(name)));
        both.into_iter().flat_map(|one| one.join().unwrap()).collect()
    });
    assert!(found.len() > 300, "{} of {} could be tried", found.len(), all.len());
    let wrong: Vec<String> = found
        .iter()
        .filter(|found| !found.wrong.is_empty())
        .map(|found| format!("{}: {}", found.dirt, found.wrong.join("\n    ")))
        .collect();
    let unguarded: BTreeSet<&str> =
        found.iter().filter(|found| found.unguarded).map(|found| found.dirt.as_str()).collect();
    let unguarded: Vec<&str> =
        unguarded.into_iter().filter(|dirt| !dirt.starts_with(UNGUARDED)).collect();
    assert!(
        wrong.is_empty() && unguarded.is_empty(),
        "{}\nunguarded: {unguarded:#?}",
        wrong.join("\n")
    );
}

#[test]
fn the_service_starts_with_any_damage_and_the_other_job_is_measured_on() {
    let mut bench = worked();
    let path = bench.path("state/tenths.db");
    let whole = fs::read(&path).unwrap();
    let all = all_dirt(&path);
    let before = bench.lines(&["readings", "CLEAN"]).len();
    // Every nineteenth: each kind of change falls on each table sooner or later.
    for dirt in all.iter().step_by(19) {
        fs::write(&path, &whole).unwrap();
        if !dirt.fall(&path) {
            continue;
        }
        let name = dirt.name();
        bench.launch();
        bench.until(&format!("{name}: the service answers"), || bench.heard().is_some());
        for what in ["status", "job use DIRTY", "note DIRTY wet", "next", "job list"] {
            let output = bench.run(&what.split(' ').collect::<Vec<_>>());
            let err = String::from_utf8_lossy(&output.stderr);
            assert!(matches!(output.status.code(), Some(0..=3)), "{name}: {what}: {err}");
        }
        bench.ok(&["job", "use", "CLEAN"]);
        bench.ok(&["measure", "ring/face"]);
        bench.ok(&["enter", "--graduation", "0.00002in", "2"]);
        let after = bench.run(&["readings", "CLEAN", "--json"]);
        assert!(after.status.success(), "{name}: {}", String::from_utf8_lossy(&after.stderr));
        let lines = String::from_utf8(after.stdout).unwrap().lines().count();
        assert_eq!(lines, before + 1, "{name}");
        assert_eq!(bench.heard().unwrap()["storage"]["state"], "fine", "{name}");
        let copy = bench.path("copy.db");
        // A copy that holds the damage says so by its name.
        let copied = bench.run(&["backup", copy.to_str().unwrap()]).status.code();
        let named = if copied == Some(0) { copy } else { bench.path("copy.db.damaged") };
        assert!(matches!(copied, Some(0 | 1 | 3)) && named.exists(), "{name}: {copied:?}");
        fs::remove_file(named).unwrap();
        bench.stop();
    }
}
