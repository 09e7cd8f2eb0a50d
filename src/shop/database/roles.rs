//! The roles of a shop: what a bench may do, and what whoever looks may do.
//!
//! A bench may add rows and read all of them. It has no right to change or to delete one, and none to write the
//! column with its name, which the database fills with the login of the session.

use config::Database;
use tokio_postgres::error::SqlState;

use super::session::{Link, Session};
use super::trouble::{Trouble, TroubleKind};

/// The role with the rights of a bench; nobody logs in as it.
const BENCH: &str = "tenths_bench";
/// The role with the rights of whoever looks; nobody logs in as it.
const OFFICE: &str = "tenths_office";

/// What a login may do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Right {
    /// Add rows of the bench of its name, and read.
    Bench,
    /// Read.
    Reader,
}

impl Right {
    const fn group(self) -> &'static str {
        match self {
            Self::Bench => BENCH,
            Self::Reader => OFFICE,
        }
    }
}

/// Makes a login of a shop. `proof` is what the server keeps of its secret, never the secret itself; `None` for a
/// login that the server knows otherwise, as by the user of a local socket.
///
/// # Errors
/// The server cannot be reached, its tables are of another step, the name is taken, or the own login may not make
/// logins.
pub fn add(
    database: &Database,
    (right, name): (Right, &str),
    secret: Option<&str>,
) -> Result<(), Trouble> {
    let mut session = Session::open(database)?;
    let (runtime, link) = session.link_mut();
    runtime.block_on(added(link, (right, name), secret))
}

async fn added(
    link: &mut Link,
    (right, name): (Right, &str),
    secret: Option<&str>,
) -> Result<(), Trouble> {
    let (role, group) = (quoted(name), right.group());
    let name_of_database = quoted(&link.place.database);
    let proof = secret.map_or_else(String::new, |secret| {
        format!(" PASSWORD '{}'", postgres_protocol::password::scram_sha_256(secret.as_bytes()))
    });
    let place = link.place.clone();
    let failed = |error: tokio_postgres::Error| {
        if error.code() == Some(&SqlState::DUPLICATE_OBJECT) {
            return taken(name, &place.shown);
        }
        Trouble::of(&error, &place)
    };
    let tx = link.client.transaction().await.map_err(failed)?;
    let made = format!(
        "CREATE ROLE {role} LOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE INHERIT{proof};
        GRANT {group} TO {role};
        GRANT CONNECT ON DATABASE {name_of_database} TO {role}"
    );
    tx.batch_execute(&made).await.map_err(failed)?;
    tx.commit().await.map_err(failed)
}

fn taken(name: &str, shown: &str) -> Trouble {
    let text = format!("{shown} has a role {name} already");
    let hint = format!(
        "two benches never share a name: take another one. A new secret for the same bench is set there by \
        \\password {name} in psql"
    );
    Trouble::new(TroubleKind::Refused, text, hint)
}

/// Makes the two roles that carry the rights, where they are missing: they belong to the server, not to the database.
pub(super) async fn groups_made(link: &Link) -> Result<(), Trouble> {
    for group in [BENCH, OFFICE] {
        match link.client.batch_execute(&format!("CREATE ROLE {group} NOLOGIN")).await {
            Err(error) if error.code() == Some(&SqlState::DUPLICATE_OBJECT) => {}
            // Who may not make roles may find them made.
            Err(error) if error.code() == Some(&SqlState::INSUFFICIENT_PRIVILEGE) => {
                let sql = "SELECT count(*) FROM pg_roles WHERE rolname = $1";
                if link.value::<i64>(sql, &[&group]).await? == 0 {
                    return Err(link.trouble(&error));
                }
            }
            other => other.map_err(|error| link.trouble(&error))?,
        }
    }
    Ok(())
}

/// A name as SQL takes it.
pub(super) fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}
