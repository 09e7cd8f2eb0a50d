//! A session with the database of a shop.

use std::future::Future;
use std::time::Duration;

use config::{Database, Reach};
use tokio::runtime::Runtime;
use tokio_postgres::config::SslMode;
use tokio_postgres::types::ToSql;
use tokio_postgres::{Client, Config, NoTls, Row};
use tokio_postgres_rustls::MakeRustlsConnect;

use super::steps;
use super::trouble::{ANSWERS, Place, Trouble, TroubleKind};
use crate::secret::secret;
use crate::tls;

/// How long a server may take to let a session in.
const CONNECTS: Duration = Duration::from_secs(10);
/// How long the other side's kernel may leave bytes without an answer.
const NO_ANSWER: Duration = Duration::from_secs(30);

/// A session with the database, closed with this value.
#[derive(Debug)]
pub(super) struct Link {
    pub(super) client: Client,
    pub(super) place: Place,
}

impl Link {
    /// Logs in. The tables are found without the name of their schema.
    pub(super) async fn open(database: &Database, what_for: &str) -> Result<Self, Trouble> {
        let place = place(database);
        let config = config(database, what_for)?;
        let failed = |error: tokio_postgres::Error| Trouble::of(&error, &place);
        let session = async {
            match &database.reach {
                Reach::Tls { ca, .. } => {
                    let trusting = tls::trusting(ca).map_err(|text| {
                        Trouble::new(TroubleKind::Refused, text, "see ca = under [shop.database]")
                    })?;
                    let connect = config.connect(MakeRustlsConnect::new(trusting));
                    let (client, connection) = connect.await.map_err(failed)?;
                    // An error of the connection comes back from what is asked next, too.
                    tokio::spawn(async { drop(connection.await) });
                    Ok(client)
                }
                Reach::Socket { .. } | Reach::Loopback { .. } => {
                    let (client, connection) = config.connect(NoTls).await.map_err(failed)?;
                    tokio::spawn(async { drop(connection.await) });
                    Ok(client)
                }
            }
        };
        let client = in_time(CONNECTS, &place, session).await?;
        let link = Self { client, place: place.clone() };
        link.run("SET search_path TO tenths, pg_temp").await?;
        Ok(link)
    }

    /// The sentence for an error.
    pub(super) fn trouble(&self, error: &tokio_postgres::Error) -> Trouble {
        Trouble::of(error, &self.place)
    }

    /// The sentence for a connection that is gone.
    pub(super) fn lost(&self) -> Trouble {
        let text = format!("the connection to {} is lost", self.place.shown);
        Trouble::new(TroubleKind::Away, text, ANSWERS)
    }

    /// Runs statements without values.
    pub(super) async fn run(&self, sql: &str) -> Result<(), Trouble> {
        self.client.batch_execute(sql).await.map_err(|error| self.trouble(&error))
    }

    /// The rows of a query.
    pub(super) async fn rows(
        &self,
        sql: &str,
        values: &[&(dyn ToSql + Sync)],
    ) -> Result<Vec<Row>, Trouble> {
        self.client.query(sql, values).await.map_err(|error| self.trouble(&error))
    }

    /// The first value of the only row of a query.
    pub(super) async fn value<T: for<'a> tokio_postgres::types::FromSql<'a>>(
        &self,
        sql: &str,
        values: &[&(dyn ToSql + Sync)],
    ) -> Result<T, Trouble> {
        let row = self.client.query_one(sql, values).await;
        row.and_then(|row| row.try_get(0)).map_err(|error| self.trouble(&error))
    }
}

/// A session for commands that look something up: each call waits for its answer.
pub struct Session {
    runtime: Runtime,
    link: Link,
}

impl std::fmt::Debug for Session {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Session").field("place", &self.link.place).finish_non_exhaustive()
    }
}

impl Session {
    /// Logs in to look something up, and makes sure that the tables are those that this program knows.
    ///
    /// # Errors
    /// The server cannot be reached, refuses the login, or has another schema.
    pub fn open(database: &Database) -> Result<Self, Trouble> {
        let session = Self::open_as_it_is(database)?;
        session.wait(steps::fits(&session.link))?;
        Ok(session)
    }

    /// Logs in, whatever is there.
    pub(super) fn open_as_it_is(database: &Database) -> Result<Self, Trouble> {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
        let runtime = runtime.map_err(|error| {
            let text = format!("cannot wait for a connection: {error}");
            Trouble::new(TroubleKind::Refused, text, "this machine has no descriptors left")
        })?;
        let link = runtime.block_on(Link::open(database, "tenths"))?;
        Ok(Self { runtime, link })
    }

    /// The rows of a query.
    ///
    /// # Errors
    /// What the database says, or that the connection is lost.
    pub fn rows(&self, sql: &str, values: &[&(dyn ToSql + Sync)]) -> Result<Vec<Row>, Trouble> {
        self.wait(self.link.rows(sql, values))
    }

    pub(super) const fn client(&self) -> &Client {
        &self.link.client
    }

    /// The sentence for an error.
    pub(super) fn trouble(&self, error: &tokio_postgres::Error) -> Trouble {
        self.link.trouble(error)
    }

    pub(super) fn wait<T>(&self, answer: impl Future<Output = T>) -> T {
        self.runtime.block_on(answer)
    }

    pub(super) const fn link_mut(&mut self) -> (&Runtime, &mut Link) {
        (&self.runtime, &mut self.link)
    }
}

/// What something comes to, unless it takes longer.
pub(super) async fn in_time<T>(
    time: Duration,
    place: &Place,
    answer: impl Future<Output = Result<T, Trouble>>,
) -> Result<T, Trouble> {
    let late = |_| {
        let text = format!("{} did not answer within {} s", place.shown, time.as_secs());
        Trouble::new(TroubleKind::Away, text, ANSWERS)
    };
    tokio::time::timeout(time, answer).await.map_err(late)?
}

fn place(database: &Database) -> Place {
    let (shown, host) = match &database.reach {
        Reach::Socket { folder, port } => {
            (format!("the server at {}/.s.PGSQL.{port}", folder.display()), String::new())
        }
        Reach::Tls { host, port, .. } | Reach::Loopback { host, port } => {
            (format!("{host}:{port}"), host.clone())
        }
    };
    Place { shown, host, user: database.user.clone(), database: database.database.clone() }
}

fn config(database: &Database, what_for: &str) -> Result<Config, Trouble> {
    let mut config = Config::new();
    config.user(&database.user).dbname(&database.database).application_name(what_for);
    config.connect_timeout(CONNECTS).tcp_user_timeout(NO_ANSWER).keepalives_idle(NO_ANSWER);
    config.keepalives_interval(CONNECTS).keepalives_retries(2);
    if let Some(of) = &database.secret {
        let secret = secret(of)
            .map_err(|wrong| Trouble::new(TroubleKind::Refused, wrong.to_string(), wrong.hint()))?;
        config.password(secret);
    }
    match &database.reach {
        Reach::Socket { folder, port } => {
            config.host_path(folder).port(*port).ssl_mode(SslMode::Disable)
        }
        Reach::Loopback { host, port } => config.host(host).port(*port).ssl_mode(SslMode::Disable),
        Reach::Tls { host, port, .. } => config.host(host).port(*port).ssl_mode(SslMode::Require),
    };
    Ok(config)
}
