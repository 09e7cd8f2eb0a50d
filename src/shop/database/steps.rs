//! The steps that make the tables of a shop, and bring earlier ones forward.

use config::Database;
use tokio_postgres::error::SqlState;

use super::roles::{self, quoted};
use super::session::{Link, Session};
use super::trouble::{Trouble, TroubleKind};

/// The steps, the first for an empty database. A step that was ever taken anywhere is never changed.
const STEPS: &[&str] = &[include_str!("steps/001.sql")];

/// The number of the newest step.
fn newest() -> i32 {
    i32::try_from(STEPS.len()).unwrap_or(i32::MAX)
}

/// What [`migrate`] came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Migrated {
    /// The newest step before; 0 where there was none.
    pub before: i32,
    /// The newest step now.
    pub now: i32,
}

/// Makes the tables of a shop in a database, or takes the steps it has not taken yet: all or none.
///
/// # Errors
/// The server cannot be reached, the login may not do that, the database has other texts than UTF-8, or it has
/// taken a step that this program does not know.
pub fn migrate(database: &Database) -> Result<Migrated, Trouble> {
    let mut session = Session::open_as_it_is(database)?;
    let (runtime, link) = session.link_mut();
    runtime.block_on(steps_taken(link))
}

async fn steps_taken(link: &mut Link) -> Result<Migrated, Trouble> {
    let encoding: String = link.value("SHOW server_encoding", &[]).await?;
    if encoding != "UTF8" {
        let name = &link.place.database;
        let text = format!("the texts of database {name} are {encoding}, not UTF8");
        let hint = "make it anew: createdb --template=template0 --encoding=UTF8 NAME";
        return Err(Trouble::new(TroubleKind::Refused, text, hint));
    }
    roles::groups_made(link).await?;
    let name = quoted(&link.place.database);
    let place = link.place.clone();
    let failed = |error: tokio_postgres::Error| Trouble::of(&error, &place);
    let tx = link.client.transaction().await.map_err(failed)?;
    tx.batch_execute("CREATE SCHEMA IF NOT EXISTS tenths").await.map_err(failed)?;
    // Two who do this at once take their turns.
    let found = "CREATE TABLE IF NOT EXISTS step (
        number integer PRIMARY KEY, taken timestamptz NOT NULL DEFAULT now());
        LOCK TABLE step IN EXCLUSIVE MODE";
    tx.batch_execute(found).await.map_err(failed)?;
    let before = "SELECT coalesce(max(number), 0) FROM step";
    let before: i32 = tx.query_one(before, &[]).await.map_err(failed)?.get(0);
    if before > newest() {
        return Err(newer(before, &place.shown));
    }
    let done = usize::try_from(before).unwrap_or(0);
    for (number, step) in (before + 1..).zip(STEPS.iter().skip(done)) {
        tx.batch_execute(step).await.map_err(failed)?;
        let taken = "INSERT INTO step (number) VALUES ($1)";
        tx.execute(taken, &[&number]).await.map_err(failed)?;
    }
    // Whoever has a login of the server for something else has no business here.
    let closed = format!("REVOKE ALL ON DATABASE {name} FROM PUBLIC");
    tx.batch_execute(&closed).await.map_err(failed)?;
    tx.commit().await.map_err(failed)?;
    Ok(Migrated { before, now: newest() })
}

/// Whether the tables are those that this program knows.
pub(super) async fn fits(link: &Link) -> Result<(), Trouble> {
    let sql = "SELECT coalesce(max(number), 0) FROM step";
    let found = match link.client.query_one(sql, &[]).await {
        Ok(row) => row.get(0),
        // Without any right to look into the schema its tables are as if they were not there.
        Err(error) if error.code() == Some(&SqlState::INSUFFICIENT_PRIVILEGE) => 0,
        Err(error) => return Err(link.trouble(&error)),
    };
    let shown = &link.place.shown;
    match found {
        found if found == newest() => Ok(()),
        found if found > newest() => Err(newer(found, shown)),
        found => {
            let text = format!(
                "the record of the shop at {shown} is of step {found}, this program needs step {}",
                newest()
            );
            let hint = "bring it forward: tenths shop migrate --as OWNER";
            Err(Trouble::new(TroubleKind::Refused, text, hint))
        }
    }
}

fn newer(found: i32, shown: &str) -> Trouble {
    let text = format!(
        "the record of the shop at {shown} is of step {found}; this program knows {} and no later one",
        newest()
    );
    Trouble::new(TroubleKind::Refused, text, "install the newer version of tenths here, too")
}
