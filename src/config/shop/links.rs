//! `[shop.database]` and `[shop.broker]`: where the record of this bench, and its events, are sent on to.
//!
//! ```toml
//! [shop]
//! bench = "north"              # the name of this bench in the shop
//!
//! [shop.database]
//! host = "db.example"          # or the folder of a local socket: "/run/postgresql"
//! database = "tenths"
//! secret = "database.secret"   # a file beside this one, or "credential:database"
//! ca = "shop-ca.pem"           # who signed the server's certificate
//!
//! [shop.broker]
//! host = "broker.example"
//! user = "north"
//! secret = "broker.secret"
//! ca = "shop-ca.pem"
//! ```
//!
//! A secret never stands in the file itself. Nothing that measures depends on these tables.

use std::path::{Path, PathBuf, absolute};

use crate::finding::Finding;
use crate::profiles::beside;
use crate::reader::{At, Document, Table};

/// The port of PostgreSQL where none is written.
const DATABASE_PORT: u16 = 5432;
/// The port of a broker without and with TLS (OASIS MQTT 3.1.1, section 4.2), where none is written.
const BROKER_PORTS: (u16, u16) = (1883, 8883);
/// The most characters of a bench's name: it is the name of a role, of which PostgreSQL keeps 63 bytes.
const LONGEST_NAME: usize = 40;

/// Where a bench sends its record and its events on to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Links {
    /// The name of this bench in the shop: lower-case letters, digits and `_`, first a letter.
    pub bench: String,
    /// The record of the shop.
    pub database: Option<Database>,
    /// Where events are published.
    pub broker: Option<Broker>,
}

/// A PostgreSQL database.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Database {
    /// Where it is.
    pub reach: Reach,
    /// The name of the database.
    pub database: String,
    /// The role to log in as: the bench's name where nothing else is written.
    pub user: String,
    /// What proves who logs in.
    pub secret: Option<Secret>,
}

/// An MQTT broker.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Broker {
    /// Where it is.
    pub reach: Reach,
    /// The user to log in as.
    pub user: Option<String>,
    /// What proves who logs in.
    pub secret: Option<Secret>,
}

/// How a server is reached.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reach {
    /// The folder of a socket on this machine.
    Socket {
        /// The folder.
        folder: PathBuf,
        /// The number in the socket's name.
        port: u16,
    },
    /// Over the network, encrypted; the server's certificate must be of this name.
    Tls {
        /// Its name, or its address.
        host: String,
        /// The TCP port.
        port: u16,
        /// The file with who may have signed its certificate.
        ca: PathBuf,
    },
    /// In the clear; only to this machine itself.
    Loopback {
        /// `localhost` or an address of this machine.
        host: String,
        /// The TCP port.
        port: u16,
    },
}

/// Where a secret is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Secret {
    /// A file; what is in it without the end of its line.
    File(PathBuf),
    /// A credential that systemd gives the unit, by its name.
    Credential(String),
}

/// Reads both tables of `[shop]` and the name of the bench; `None` where neither is there.
pub(super) fn read(shop: &Table<'_>, base: &Path) -> Option<Links> {
    let bench = shop.string("bench");
    let document = shop.document();
    let (database, broker) = (shop.table("database"), shop.table("broker"));
    let wanted = database.as_ref().or(broker.as_ref()).map(Table::line);
    let name = bench.as_ref().map(|bench| bench.value.clone());
    let database = database.and_then(|table| self::database(table, name.as_deref(), base));
    let broker = broker.and_then(|table| self::broker(table, base));
    let bench = bench.filter(|bench| is_a_name(document, bench));
    if let (Some(line), None) = (wanted, &name) {
        document.error(
            line,
            "the shop has no name for this bench",
            "write bench = \"north\" under [shop]",
        );
    }
    wanted?;
    Some(Links { bench: bench?.value, database, broker })
}

/// Whether a text can be the name of a bench: of a role of the database, and a step of a topic.
fn is_a_name(document: &Document<'_>, name: &At<String>) -> bool {
    let well = is_bench_name(&name.value);
    if !well {
        let text = format!("shop.bench = \"{}\" is no name for a bench", name.value);
        let hint = format!("use a-z, 0-9 and _, first a letter, {LONGEST_NAME} characters at most");
        document.error(name.line, text, hint);
    }
    well
}

/// Whether a text can be the name of a bench in the shop, and so of its role.
#[must_use]
pub fn is_bench_name(name: &str) -> bool {
    let fits = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
    let begins = name.starts_with(|c: char| c.is_ascii_lowercase());
    begins && name.chars().all(fits) && name.len() <= LONGEST_NAME
}

fn database(table: Table<'_>, bench: Option<&str>, base: &Path) -> Option<Database> {
    let reach = reach(&table, base, (DATABASE_PORT, DATABASE_PORT), true);
    table.must_have("database", "write database = \"tenths\", the name of the shop's database");
    let database = table.string("database").map(|written| written.value);
    let user = table.string("user").map(|written| written.value);
    let user = user.or_else(|| bench.map(str::to_owned));
    let secret = secret(&table, base);
    table.finish();
    Some(Database { reach: reach?, database: database?, user: user?, secret })
}

fn broker(table: Table<'_>, base: &Path) -> Option<Broker> {
    let reach = reach(&table, base, BROKER_PORTS, false);
    let user = table.string("user").map(|written| written.value);
    let secret = secret(&table, base);
    table.finish();
    Some(Broker { reach: reach?, user, secret })
}

/// How a server is reached; `(clear, tls)` are the ports where none is written.
fn reach(table: &Table<'_>, base: &Path, (clear, tls): (u16, u16), socket: bool) -> Option<Reach> {
    let document = table.document();
    table.must_have("host", "write host = \"db.example\", the name that its certificate has");
    let host = table.string("host");
    let port = table.integer("port", 1..=65_535).and_then(|port| u16::try_from(port.value).ok());
    let ca = table.string("ca").map(|ca| beside(base, &ca.value));
    let host = host?;
    if socket && host.value.starts_with('/') {
        return Some(Reach::Socket { folder: host.value.into(), port: port.unwrap_or(clear) });
    }
    if let Some(ca) = ca {
        return Some(Reach::Tls { host: host.value, port: port.unwrap_or(tls), ca });
    }
    if is_this_machine(&host.value) {
        return Some(Reach::Loopback { host: host.value, port: port.unwrap_or(clear) });
    }
    let text = format!("{} would be reached in the clear", host.value);
    let hint = "write ca = \"shop-ca.pem\", the certificate of who signed the server's";
    document.error(host.line, text, hint);
    None
}

/// Whether a host can be nothing but this machine.
fn is_this_machine(host: &str) -> bool {
    let address = host.parse::<std::net::IpAddr>();
    host == "localhost" || address.is_ok_and(|address| address.is_loopback())
}

fn secret(table: &Table<'_>, base: &Path) -> Option<Secret> {
    let written = table.string("secret")?.value;
    Some(match written.strip_prefix("credential:") {
        Some(name) => Secret::Credential(name.to_owned()),
        None => Secret::File(beside(base, &written)),
    })
}

/// Reads only where a bench sends its record and its events on to, whatever else is wrong in the file; and
/// what is to be said of that.
#[must_use]
pub fn links_of(path: &Path) -> (Option<Links>, Vec<Finding>) {
    let shown = path.display().to_string();
    let text = match crate::text::read(path, &shown) {
        Ok(text) => text,
        Err(unread) => return (None, vec![unread.finding()]),
    };
    let full = absolute(path).unwrap_or_else(|_| path.to_owned());
    let document = Document::parse(&shown, &text);
    let base = full.parent().unwrap_or(Path::new("/"));
    let shop = document.root().and_then(|root| root.table("shop"));
    let links = shop.and_then(|shop| read(&shop, base));
    (links, document.findings())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> (Option<Links>, Vec<String>) {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("bench.toml");
        std::fs::write(&file, text).unwrap();
        let (links, findings) = links_of(&file);
        let told = |one: &Finding| one.to_string().rsplit_once("bench.toml:").unwrap().1.to_owned();
        (links, findings.iter().map(told).collect())
    }

    #[test]
    fn nothing_is_on_unless_a_table_says_so() {
        assert_eq!(read("[bench]\n"), (None, vec![]));
        assert_eq!(read("[shop]\nname = \"A\"\nbench = \"north\"\n"), (None, vec![]));
    }

    #[test]
    fn the_three_ways_to_a_server() {
        let links = |host: &str, more: &str| {
            let text = format!(
                "[shop]\nbench = \"north\"\n[shop.database]\nhost = \"{host}\"\ndatabase = \"t\"\n{more}"
            );
            let (links, findings) = read(&text);
            (links.and_then(|links| links.database), findings)
        };
        let (local, none) = links("/run/postgresql", "");
        let folder = PathBuf::from("/run/postgresql");
        assert_eq!(
            (local.clone().unwrap().reach, none),
            (Reach::Socket { folder, port: 5432 }, vec![])
        );
        let local = local.unwrap();
        assert_eq!((local.user.as_str(), local.secret), ("north", None));
        let (near, _) = links("127.0.0.1", "port = 5433\nsecret = \"credential:db\"\n");
        let near = near.unwrap();
        assert_eq!(near.reach, Reach::Loopback { host: "127.0.0.1".to_owned(), port: 5433 });
        assert_eq!(near.secret, Some(Secret::Credential("db".to_owned())));
        let (far, _) = links("db.example", "ca = \"/etc/shop.pem\"\nsecret = \"/etc/s\"\n");
        let far = far.unwrap();
        let ca = PathBuf::from("/etc/shop.pem");
        assert_eq!(far.reach, Reach::Tls { host: "db.example".to_owned(), port: 5432, ca });
        assert_eq!(far.secret, Some(Secret::File("/etc/s".into())));
        let (_, said) = links("db.example", "");
        assert_eq!(
            said,
            [
                "4: error: db.example would be reached in the clear — write ca = \"shop-ca.pem\", the \
              certificate of who signed the server's"
            ]
        );
    }

    #[test]
    fn a_bench_needs_a_name_that_a_role_and_a_topic_can_have() {
        for name in ["North", "9th", "a/b", "", "north#", &"n".repeat(41)] {
            let text = format!("[shop]\nbench = \"{name}\"\n[shop.broker]\nhost = \"localhost\"\n");
            let (links, said) = read(&text);
            assert_eq!(links, None, "{name}");
            assert!(said.iter().any(|one| one.contains("is no name for a bench")), "{said:?}");
        }
        let (links, said) = read("[shop]\n[shop.broker]\nhost = \"localhost\"\n");
        assert_eq!((links, said.len()), (None, 1), "{said:?}");
    }

    #[test]
    fn a_broker_has_the_ports_of_its_standard() {
        let port = |more: &str| {
            let text =
                format!("[shop]\nbench = \"n\"\n[shop.broker]\nhost = \"localhost\"\n{more}");
            match read(&text).0.unwrap().broker.unwrap().reach {
                Reach::Tls { port, .. }
                | Reach::Loopback { port, .. }
                | Reach::Socket { port, .. } => port,
            }
        };
        assert_eq!((port(""), port("ca = \"a.pem\"\n"), port("port = 9\n")), (1883, 8883, 9));
    }
}
