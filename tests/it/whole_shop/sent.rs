//! Puts a bench's record into the shop row by row, so that look-ups are tried by themselves, without what sends rows on.

use std::collections::BTreeMap;
use std::path::Path;

use record::{Chain, Reader, StoredForm, StoredReading, StoredRow, Tracks};
use serde_json::Value;
use tokio_postgres::types::ToSql;

use crate::postgres::{DATABASE, Postgres};

/// Everything in a state folder, as this bench.
pub(crate) fn sent(server: &Postgres, bench: &str, state: &Path) {
    let (runtime, client) = server.session(bench, DATABASE).unwrap();
    let run = |sql: &str, values: &[&(dyn ToSql + Sync)]| {
        runtime
            .block_on(client.execute(sql, values))
            .unwrap_or_else(|error| panic!("{sql}: {error:?}"));
    };
    runtime.block_on(client.batch_execute("SET search_path TO tenths")).unwrap();
    let reader = Reader::open(state).unwrap();
    let (mut tracks, mut chain, mut forms) = (Tracks::default(), Chain::default(), Forms::new());
    run("INSERT INTO bench DEFAULT VALUES ON CONFLICT DO NOTHING", &[]);
    loop {
        let batch = reader.stored_after(chain.last(), 300, &mut tracks).unwrap();
        if batch.rows.is_empty() {
            return;
        }
        for row in &batch.rows {
            match row {
                StoredRow::Fact(f) => {
                    let sql = "INSERT INTO fact (seq, wall, mono, by_whom, job, attempt, about, key, line, kind, body)
                        VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)";
                    let head: [&(dyn ToSql + Sync); 5] =
                        [&f.seq, &f.wall, &f.mono, &f.by_whom, &f.job];
                    let tail: [&(dyn ToSql + Sync); 6] =
                        [&f.attempt, &f.about, &f.key, &f.line, &f.kind, &f.body];
                    run(sql, &[&head[..], &tail[..]].concat());
                    for (what, word, job) in words(f.seq, &f.kind, &f.body, f.by_whom.as_deref()) {
                        let sql =
                            "INSERT INTO sought (seq, job, what, word) VALUES ($1, $2, $3, $4)";
                        run(sql, &[&f.seq, &job, &what, &word.trim().to_lowercase()]);
                    }
                }
                StoredRow::Reading(one) => reading(&run, one, &mut forms),
                StoredRow::Lost(one) => run(
                    "INSERT INTO lost (first, last, since, until) VALUES ($1, $2, $3, $4)",
                    &[&one.first, &one.last, &one.since, &one.until],
                ),
            }
        }
        chain.take(&batch.rows);
        chain.compared(&batch.own).unwrap();
        for seal in chain.completed() {
            run("INSERT INTO seal (block, seal) VALUES ($1, $2)", &[&seal.block, &seal.seal]);
        }
        for one in &batch.beside.texts {
            let sql = "INSERT INTO pinned (digest, text) VALUES ($1, $2) ON CONFLICT DO NOTHING";
            run(sql, &[&one.digest.as_slice(), &one.text]);
        }
        for one in &batch.beside.callers {
            let sql = "INSERT INTO caller (first, last, uid, pid, login, elsewhere, sum) VALUES ($1, $2, $3, $4, $5, $6, $7)";
            run(
                sql,
                &[&one.first, &one.last, &one.uid, &one.pid, &one.login, &one.elsewhere, &one.sum],
            );
        }
        for one in &batch.beside.imports {
            let sql = "INSERT INTO import (job, wall, digest, sum) VALUES ($1, $2, $3, $4)";
            run(sql, &[&one.job, &one.wall, &one.digest, &one.sum]);
        }
        for one in &batch.beside.runs {
            let sql = "INSERT INTO import_run (first, last, was, job) VALUES ($1, $2, $3, $4)";
            run(sql, &[&one.first, &one.last, &one.was, &one.job]);
        }
        for one in &batch.beside.papers {
            let paper = &one.attached.paper;
            let bytes = reader.paper(paper).unwrap().unwrap();
            let sql = "INSERT INTO paper (kept_as, bytes) VALUES ($1, $2) ON CONFLICT DO NOTHING";
            run(sql, &[&paper.kept_as(), &bytes]);
        }
    }
}

type Forms = BTreeMap<StoredForm, i32>;

fn reading(run: &impl Fn(&str, &[&(dyn ToSql + Sync)]), one: &StoredReading, forms: &mut Forms) {
    let next = i32::try_from(forms.len()).unwrap() + 1;
    let form = *forms.entry((*one.form).clone()).or_insert_with(|| {
        let f = &one.form;
        let sql = "INSERT INTO form (id, gauge, unit, places, counts, source, file, by_whom) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)";
        run(sql, &[&next, &f.gauge, &f.unit, &f.places, &f.counts, &f.source, &f.file, &f.by_whom]);
        next
    });
    let more = one.more.clone().unwrap_or_default();
    let sql = "INSERT INTO reading (seq, job, number, mono, drift, wall, back, place, form, as_sent, line, measured_at, why)
        VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)";
    let seq = one.seq();
    let head: [&(dyn ToSql + Sync); 7] =
        [&seq, &one.job, &one.number, &one.mono, &one.drift, &one.wall, &one.back];
    let tail: [&(dyn ToSql + Sync); 6] =
        [&one.place, &form, &one.as_sent, &more.line, &more.measured_at, &more.why];
    run(sql, &[&head[..], &tail[..]].concat());
}

/// What jobs are looked up by.
fn words(seq: i64, kind: &str, body: &str, by: Option<&str>) -> Vec<(&'static str, String, i64)> {
    let body: Value = serde_json::from_str(body).unwrap();
    let text = |value: &Value| value.as_str().map(str::to_owned);
    let of_job = body["job"].as_i64();
    let all = match kind {
        "job-opened" => vec![
            ("name", text(&body["name"])),
            ("serial", text(&body["serial"])),
            ("customer", text(&body["customer"])),
            ("person", by.map(str::to_owned)),
        ],
        "job-edited" if body["what"] == "serial" => vec![("serial", text(&body["text"]))],
        "job-edited" => vec![("customer", text(&body["text"]))],
        _ => Vec::new(),
    };
    let job = of_job.unwrap_or(seq);
    all.into_iter().filter_map(|(what, word)| Some((what, word?, job))).collect()
}
