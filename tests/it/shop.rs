//! The shop's record in a real PostgreSQL: its tables, its roles, what benches send on, and what is in the way.

mod certificates;
mod cut;
mod parted;
mod refused;
mod roles;
mod sent;

use std::fs::{self, File};
use std::path::Path;
use std::process::{Child, Stdio};

use rusqlite::types::ValueRef;
use rusqlite::{Connection, OpenFlags};
use serde_json::{Value, json};

use crate::postgres::{DATABASE, Postgres};
use crate::rig::{Bench, Make, Wire, in_time};

/// A round of eight and back to the first: a bench that keys in needs no gauge.
const PLAN: &str = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
                    [[part.check]]\nname = \"face\"\nmeasures = \"parallelism\"\ngauge = \"plate\"\n\
                    setup = \"plate\"\npositions = 8\nradius = \"1.5 in\"\ntolerance = \"0.0001 in\"\n";

const GAUGE: &str =
    "resolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\nrepeat_ms = 0\nmax_rate = 0";

/// A bench of a shop, running.
fn bench_of(server: &Postgres, name: &str) -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: &server.table(name), plan: PLAN });
    bench.start();
    bench
}

/// Keys in some rounds of one job, each an attempt of its own.
fn measured(bench: &Bench, job: &str, rounds: usize) {
    let mut wire = Wire::to(&bench.state.join("tenths.sock")).unwrap();
    let mut asked = 0;
    let mut ask = |mut request: Value| {
        asked += 1;
        request["key"] = json!(format!("{job}.{asked}"));
        let reply = wire.ask(&request.to_string()).unwrap();
        assert_ne!(reply["schema"], "error/1", "{request}: {reply}");
    };
    ask(
        json!({ "request": "job-open", "name": job, "plan": "held", "serial": format!("S-{job}") }),
    );
    for round in 0..rounds {
        ask(if round == 0 {
            json!({ "request": "measure", "target": "ring/face" })
        } else {
            json!({ "request": "remeasure", "reason": "ground", "target": "ring/face" })
        });
        let values = ["0", "1", "2", "3", "2", "1", "0", "1", "0"];
        ask(json!({ "request": "enter", "values": values, "graduation": "0.00001in" }));
    }
}

/// `tenths forward` of a bench, gone with this value.
pub(crate) struct Forward {
    child: Child,
}

impl Forward {
    pub(crate) fn of(bench: &Bench) -> Self {
        Self::by(bench.command(&["forward"]), bench)
    }

    fn by(mut command: std::process::Command, bench: &Bench) -> Self {
        let log =
            File::options().append(true).create(true).open(bench.path("forward.log")).unwrap();
        Self { child: command.stdout(Stdio::null()).stderr(log).spawn().unwrap() }
    }

    fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }

    /// SIGTERM; its exit code.
    pub(crate) fn ended(mut self) -> Option<i32> {
        let id = rustix::process::Pid::from_child(&self.child);
        rustix::process::kill_process(id, rustix::process::Signal::TERM).unwrap();
        self.child.wait().unwrap().code()
    }
}

impl Drop for Forward {
    fn drop(&mut self) {
        // One that ended by itself was looked at.
        let _gone = self.child.kill().and_then(|()| self.child.wait());
    }
}

fn forward_log(bench: &Bench) -> String {
    fs::read_to_string(bench.path("forward.log")).unwrap_or_default()
}

/// What the link says of itself.
fn link(bench: &Bench) -> Value {
    let text = fs::read_to_string(bench.state.join("forward/database.json")).unwrap_or_default();
    serde_json::from_str(&text).unwrap_or(Value::Null)
}

/// Waits for the sentence of what is in the way.
#[track_caller]
fn until_trouble(bench: &Bench, sentence: &str) -> Value {
    let says = || link(bench)["wrong"].as_str().is_some_and(|text| text.contains(sentence));
    assert!(in_time(says), "{sentence:?} is not told: {} {}", link(bench), forward_log(bench));
    link(bench)
}

/// The newest row of a bench's record.
fn newest(bench: &Bench) -> u64 {
    let rows = own(bench, "SELECT last FROM counter");
    rows[0][0].parse().unwrap()
}

/// Waits until everything of a bench is in the shop, and compares all of it.
#[track_caller]
pub(crate) fn arrives(server: &Postgres, bench: &Bench, name: &str) {
    let all = || {
        let link = link(bench);
        link["wrong"].is_null() && link["waiting"] == 0 && link["newest"] == newest(bench)
    };
    assert!(in_time(all), "{} of {}: {}", link(bench), newest(bench), forward_log(bench));
    same(server, bench, name);
}

/// Every row of a bench is in the shop as it is in the record: nothing lost, nothing twice, nothing other.
#[track_caller]
fn same(server: &Postgres, bench: &Bench, name: &str) {
    let facts = "seq, wall, mono, by_whom, job, attempt, about, key, line, kind, body FROM fact";
    compared(server, bench, name, [facts, facts], "seq");
    let both = "t.number, t.mono, t.drift, t.place, t.back, t.as_sent, f.gauge, f.unit, f.places, f.counts,
        f.source, f.file, f.by_whom";
    let own = format!(
        "t.job + t.nth AS seq, t.job, {both}, m.line, m.measured_at, m.why FROM reading t JOIN form f ON f.id = t.form
        LEFT JOIN reading_more m ON m.reading = t.job + t.nth"
    );
    let shop = format!(
        "t.seq, t.job, {both}, t.line, t.measured_at, t.why FROM reading t JOIN form f ON f.bench = t.bench AND f.id = t.form"
    );
    compared(server, bench, name, [&own, &shop], "seq");
    compared(
        server,
        bench,
        name,
        [
            "block, hex(seal) AS seal FROM seal",
            "block, upper(encode(seal, 'hex')) AS seal FROM seal",
        ],
        "block",
    );
    for table in [
        "first, last, since, until FROM lost",
        "first, last, uid, pid, login, elsewhere FROM caller",
        "first, last, was, job FROM import_run",
        "job, wall FROM import",
        "text FROM pinned",
    ] {
        let by = table.split([',', ' ']).next().unwrap();
        compared(server, bench, name, [table, table], by);
    }
}

#[track_caller]
fn compared(server: &Postgres, bench: &Bench, name: &str, [own, shop]: [&str; 2], by: &str) {
    let mine = self::own(bench, &format!("SELECT {own} ORDER BY {by}"));
    let is_of = if shop.contains(" t JOIN ") { "t.bench" } else { "bench" };
    let theirs =
        server.sql(DATABASE, &format!("SELECT {shop} WHERE {is_of} = '{name}' ORDER BY {by}"));
    let other = mine.iter().zip(&theirs).find(|(mine, theirs)| mine != theirs);
    assert_eq!(other, None, "{own}");
    assert_eq!(mine.len(), theirs.len(), "{own}");
}

/// The rows of a query to the record of a bench, as texts.
fn own(bench: &Bench, sql: &str) -> Vec<Vec<String>> {
    of_file(&bench.state.join("tenths.db"), sql)
}

fn of_file(path: &Path, sql: &str) -> Vec<Vec<String>> {
    let conn = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY).unwrap();
    let mut statement = conn.prepare(sql).unwrap();
    let columns = statement.column_count();
    let text = |value: ValueRef<'_>| match value {
        ValueRef::Null => "-".to_owned(),
        ValueRef::Integer(number) => number.to_string(),
        ValueRef::Real(number) => number.to_string(),
        ValueRef::Text(text) => String::from_utf8(text.to_vec()).unwrap(),
        ValueRef::Blob(bytes) => format!("{bytes:?}"),
    };
    let row = |row: &rusqlite::Row<'_>| (0..columns).map(|at| row.get_ref(at).map(text)).collect();
    statement.query_map([], row).unwrap().map(Result::unwrap).collect()
}
