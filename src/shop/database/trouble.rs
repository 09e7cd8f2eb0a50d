//! Why something could not be done at the database: what is wrong, and what to do about it.

use tokio_postgres::Error;
use tokio_postgres::error::SqlState;

use crate::tls;

/// What stands in the way.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{text}")]
pub struct Trouble {
    /// Whether it passes.
    pub kind: TroubleKind,
    /// What is wrong.
    pub text: String,
    /// What to do about it.
    pub hint: String,
}

/// Whether a trouble passes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TroubleKind {
    /// It may be over the next time.
    Away,
    /// Two sessions came into each other's way: the same once more.
    Again,
    /// A person has to set something up, or to mend it.
    Refused,
    /// The rows of the shop and of the bench do not continue each other.
    Apart,
}

impl Trouble {
    /// A trouble of a kind.
    pub fn new(kind: TroubleKind, text: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { kind, text: text.into(), hint: hint.into() }
    }

    /// The sentence for an error of the database at a place.
    pub(super) fn of(error: &Error, place: &Place) -> Self {
        if let Some(code) = error.code() {
            return Self::told(error, code, place);
        }
        let Place { shown, host, .. } = place;
        if let Some(what) = tls::wrong_certificate(error, host) {
            let text = format!("the certificate of {shown} is refused: {what}");
            return Self::new(TroubleKind::Refused, text, CERTIFICATE);
        }
        let why = deepest(error);
        if why.contains("does not support TLS") {
            let text = format!("{shown} does not speak TLS");
            return Self::new(TroubleKind::Refused, text, "set ssl = on there, with a certificate");
        }
        if error.is_closed() {
            let text = format!("the connection to {shown} is lost");
            return Self::new(TroubleKind::Away, text, ANSWERS);
        }
        if why.contains("password") || why.contains("authentication") {
            let text = format!("{shown} asks for a secret: {why}");
            return Self::new(TroubleKind::Refused, text, SECRET);
        }
        Self::new(TroubleKind::Away, format!("{shown} cannot be reached: {why}"), ANSWERS)
    }

    /// What the database itself says.
    fn told(error: &Error, code: &SqlState, place: &Place) -> Self {
        let Place { shown, user, database, .. } = place;
        let said = error.as_db_error().map_or("", |said| said.message());
        let new = |kind, text: String, hint: &str| Self::new(kind, text, hint);
        let (away, refused) = (TroubleKind::Away, TroubleKind::Refused);
        match code {
            code if *code == SqlState::INVALID_PASSWORD => {
                new(refused, format!("{shown} refuses the secret of {user}"), SECRET)
            }
            code if *code == SqlState::INVALID_AUTHORIZATION_SPECIFICATION => {
                new(refused, format!("{shown} does not let {user} in: {said}"), LETS_IN)
            }
            code if *code == SqlState::INVALID_CATALOG_NAME => {
                let hint = "make it there: createdb NAME, then tenths shop migrate";
                new(refused, format!("{shown} has no database {database}"), hint)
            }
            code if [SqlState::UNDEFINED_TABLE, SqlState::INVALID_SCHEMA_NAME].contains(code) => {
                let text = format!("database {database} at {shown} holds no record of a shop");
                new(refused, text, "make one there: tenths shop migrate --as OWNER")
            }
            code if *code == SqlState::INSUFFICIENT_PRIVILEGE => {
                new(refused, format!("{user} may not do that at {shown}: {said}"), RIGHTS)
            }
            code if *code == SqlState::DISK_FULL => {
                let hint = "make room there; nothing is lost, the rows wait on the bench";
                new(away, format!("the disk of {shown} is full"), hint)
            }
            code if *code == SqlState::TOO_MANY_CONNECTIONS => {
                let hint = "raise max_connections there; each bench needs one";
                new(away, format!("{shown} takes no more connections"), hint)
            }
            code if [SqlState::T_R_SERIALIZATION_FAILURE, SqlState::T_R_DEADLOCK_DETECTED]
                .contains(code) =>
            {
                new(TroubleKind::Again, format!("{shown} was busy with others"), ANSWERS)
            }
            code if *code == SqlState::UNIQUE_VIOLATION => {
                new(TroubleKind::Again, format!("{shown} has these rows already: {said}"), ANSWERS)
            }
            code if *code == SqlState::READ_ONLY_SQL_TRANSACTION => {
                let hint = "name the server that is written to, not a copy of it";
                new(refused, format!("{shown} only lets itself be read"), hint)
            }
            // Class 57: the server is stopped or starts (PostgreSQL, "PostgreSQL Error Codes").
            code if code.code().starts_with("57") => {
                new(away, format!("{shown} is being stopped or started: {said}"), ANSWERS)
            }
            code => new(away, format!("{shown} says: {said} ({})", code.code()), LOG),
        }
    }
}

pub(super) const ANSWERS: &str = "is PostgreSQL running there, and does the network reach it?";
const SECRET: &str =
    "write secret = \"FILE\" under [shop.database], the file that `tenths shop bench add` wrote";
const LETS_IN: &str = "let this role in there (pg_hba.conf), with scram-sha-256, from this machine";
const RIGHTS: &str = "benches get their rights by `tenths shop bench add NAME`, whoever looks by `tenths shop reader add`";
const CERTIFICATE: &str = "nothing was sent. `host` must be the name in the certificate, `ca` the certificate of who signed it";
const LOG: &str = "the log of PostgreSQL says more";

/// What an error is made of in the end.
fn deepest(error: &dyn std::error::Error) -> String {
    error.source().map_or_else(|| error.to_string(), deepest)
}

/// Where a session goes, as it is told.
#[derive(Debug, Clone)]
pub(super) struct Place {
    /// The server.
    pub(super) shown: String,
    /// The name its certificate must have; of a socket its folder.
    pub(super) host: String,
    pub(super) user: String,
    pub(super) database: String,
}
