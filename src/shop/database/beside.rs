//! What goes along with rows: texts, who asked, where jobs came from, pictures and papers, and the words that jobs are
//! looked up by.

use bench::row::Paper;
use record::{Beside, PaperWrong, Reader, StoreError, StoredFact, StoredRow, StoredSeal};
use serde::Deserialize;
use sha2::{Digest as _, Sha256};
use tokio_postgres::Transaction;

use super::rows::Asked;

/// Writes what stands beside rows, but for pictures and papers.
pub(super) async fn written(tx: &Transaction<'_>, beside: &Beside) -> Asked<()> {
    for text in &beside.texts {
        let sql = "INSERT INTO pinned (digest, text) VALUES ($1, $2) ON CONFLICT DO NOTHING";
        tx.execute(sql, &[&text.digest.as_slice(), &text.text]).await?;
    }
    for one in &beside.callers {
        let sql = "INSERT INTO caller (first, last, uid, pid, login, elsewhere, sum)
            VALUES ($1, $2, $3, $4, $5, $6, $7)";
        let who = [&one.first, &one.last, &one.uid, &one.pid];
        let [first, last, uid, pid] = who;
        tx.execute(sql, &[first, last, uid, pid, &one.login, &one.elsewhere, &one.sum]).await?;
    }
    for one in &beside.imports {
        let sql = "INSERT INTO import (job, wall, digest, sum) VALUES ($1, $2, $3, $4)";
        tx.execute(sql, &[&one.job, &one.wall, &one.digest, &one.sum]).await?;
    }
    for run in &beside.runs {
        let sql = "INSERT INTO import_run (first, last, was, job) VALUES ($1, $2, $3, $4)";
        tx.execute(sql, &[&run.first, &run.last, &run.was, &run.job]).await?;
    }
    Ok(())
}

/// Writes the seals of blocks.
pub(super) async fn sealed(tx: &Transaction<'_>, seals: &[StoredSeal]) -> Asked<()> {
    for StoredSeal { block, seal, .. } in seals {
        tx.execute("INSERT INTO seal (block, seal) VALUES ($1, $2)", &[block, seal]).await?;
    }
    Ok(())
}

/// Writes the words that jobs are looked up by.
pub(super) async fn sought(tx: &Transaction<'_>, rows: &[StoredRow]) -> Asked<()> {
    for row in rows {
        let StoredRow::Fact(fact) = row else { continue };
        for Sought { job, what, word } in words(fact) {
            let sql = "INSERT INTO sought (seq, job, what, word) VALUES ($1, $2, $3, $4)";
            tx.execute(sql, &[&fact.seq, &job, &what, &word]).await?;
        }
    }
    Ok(())
}

/// What became of the file of a picture or a paper.
#[derive(Debug)]
pub(super) enum PaperSent {
    /// It is in the shop.
    There,
    /// The bench itself does not have it as it was attached.
    NotOnBench(PaperWrong),
    /// The database has other bytes under its name.
    Other,
}

/// Writes the file of a picture or a paper, unless it is there.
pub(super) async fn paper(
    tx: &Transaction<'_>,
    (bench, reader): (&str, &Reader),
    paper: &Paper,
) -> Result<Asked<PaperSent>, StoreError> {
    let kept_as = paper.kept_as();
    let there = "SELECT count(*) FROM paper WHERE bench = $1 AND kept_as = $2";
    match tx.query_one(there, &[&bench, &kept_as]).await.map(|row| row.get::<_, i64>(0)) {
        Ok(0) => {}
        Ok(_) => return Ok(Ok(PaperSent::There)),
        Err(error) => return Ok(Err(error)),
    }
    let bytes = match reader.paper(paper)? {
        Ok(bytes) => bytes,
        Err(wrong) => return Ok(Ok(PaperSent::NotOnBench(wrong))),
    };
    Ok(put(tx, bench, (&kept_as, bytes)).await)
}

async fn put(
    tx: &Transaction<'_>,
    bench: &str,
    (kept_as, bytes): (&str, Vec<u8>),
) -> Asked<PaperSent> {
    let digest = Sha256::digest(&bytes).to_vec();
    tx.execute("INSERT INTO paper (kept_as, bytes) VALUES ($1, $2)", &[&kept_as, &bytes]).await?;
    // It is large: what the database has is compared where it is.
    let sql = "SELECT sha256(bytes) FROM paper WHERE bench = $1 AND kept_as = $2";
    let found: Vec<u8> = tx.query_one(sql, &[&bench, &kept_as]).await?.try_get(0)?;
    Ok(if found == digest { PaperSent::There } else { PaperSent::Other })
}

/// A word that a fact gives to a job.
#[derive(Debug, PartialEq, Eq)]
struct Sought {
    job: i64,
    what: &'static str,
    word: String,
}

/// The form in which words are compared: a scanner or a person may add blanks and change capital letters.
#[must_use]
pub fn word(text: &str) -> String {
    text.trim().to_lowercase()
}

#[derive(Deserialize)]
struct Opened {
    name: String,
    serial: Option<String>,
    customer: Option<String>,
}

#[derive(Deserialize)]
struct Edited {
    what: String,
    text: String,
}

/// What has the serial number of a part.
#[derive(Deserialize)]
struct Part {
    serial: Option<String>,
    item: Option<Item>,
}

#[derive(Deserialize)]
struct Item {
    serial: Option<String>,
}

/// The words that a fact gives to its job. One that cannot be read gives none; it is stored all the same.
fn words(fact: &StoredFact) -> Vec<Sought> {
    let Some(job) = fact.job else { return Vec::new() };
    let mut all = Vec::new();
    let mut add = |what: &'static str, text: Option<&str>| {
        let word = text.map(word).filter(|word| !word.is_empty());
        all.extend(word.map(|word| Sought { job, what, word }));
    };
    match fact.kind.as_str() {
        "job-opened" => {
            if let Ok(opened) = serde_json::from_str::<Opened>(&fact.body) {
                add("name", Some(&opened.name));
                add("serial", opened.serial.as_deref());
                add("customer", opened.customer.as_deref());
            }
            add("person", fact.by_whom.as_deref());
        }
        "job-edited" => {
            if let Ok(Edited { what, text }) = serde_json::from_str(&fact.body) {
                let known = ["serial", "customer"].into_iter().find(|known| *known == what);
                if let Some(what) = known {
                    add(what, Some(&text));
                }
            }
        }
        "serial" | "stack-placed" | "part-replaced" => {
            if let Ok(Part { serial, item }) = serde_json::from_str(&fact.body) {
                let serial = serial.or_else(|| item.and_then(|item| item.serial));
                add("part-serial", serial.as_deref());
            }
        }
        _ => {}
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_job_is_found_by_what_it_is_called_and_by_what_is_in_it() {
        let fact = |kind: &str, body: &str| StoredFact {
            job: Some(7),
            by_whom: Some("Ada ".to_owned()),
            kind: kind.to_owned(),
            body: body.to_owned(),
            ..StoredFact::default()
        };
        let said = |kind: &str, body: &str| -> Vec<(&str, String)> {
            words(&fact(kind, body)).into_iter().map(|one| (one.what, one.word)).collect()
        };
        let opened =
            r#"{"name":"J-1","plan_name":"p","plan":"d","serial":" SN Ü9","rule":"guarded"}"#;
        let owned = |what, word: &str| (what, word.to_owned());
        assert_eq!(
            said("job-opened", opened),
            [owned("name", "j-1"), owned("serial", "sn ü9"), owned("person", "ada")]
        );
        assert_eq!(
            said("job-edited", r#"{"job":7,"what":"customer","text":"Mill","why":null}"#),
            [owned("customer", "mill")]
        );
        let placed = r#"{"job":7,"stage":"found","item":{"part":0,"serial":"B7"}}"#;
        assert_eq!(said("stack-placed", placed), [owned("part-serial", "b7")]);
        assert_eq!(said("part-replaced", r#"{"job":7,"part":0,"serial":null,"why":"x"}"#), []);
        // A body that cannot be read is no reason not to keep the fact.
        assert_eq!(said("job-opened", "{"), [owned("person", "ada")]);
        assert_eq!(said("verdict", "{}"), []);
    }
}
