//! `shop`: the tables of the shop's record, and who may add to it or look into it.

use std::fs::OpenOptions;
use std::io::{self, Write as _};
use std::os::unix::fs::OpenOptionsExt as _;
use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};

use ::shop::database::{Migrated, Right, Trouble, TroubleKind, add, migrate};
use config::{Database, Links, Secret, links_of};
use wire::printable;

use super::failure::{Failure, REFUSED, UNREACHABLE};
use super::global::Global;
use super::{bench, screen};

/// What is set up at the database of the shop.
#[derive(Debug, Subcommand)]
pub(crate) enum ShopCommand {
    /// Make the tables of the shop's record in a database, or bring them forward
    #[command(
        after_help = "It needs PostgreSQL 15 or newer, an empty database with texts in UTF-8, and the role that \
owns it, which also may make roles. Server and database are those of [shop.database] in bench.toml.

Examples:
  tenths shop migrate --as owner --secret owner.secret
  tenths --config shop.toml shop migrate --as postgres   # as the user postgres, over the local socket"
    )]
    Migrate(Owner),
    /// Benches that add to the shop's record
    #[command(subcommand)]
    Bench(BenchCommand),
    /// People and programs that only look into the shop's record
    #[command(subcommand)]
    Reader(ReaderCommand),
}

#[derive(Debug, Subcommand)]
pub(crate) enum BenchCommand {
    /// Make the role of a bench, which may add and read, and never change or delete; writes its secret to a file
    #[command(
        after_help = "It needs the role that made the tables. The new role can add rows of its own name alone: \
the database itself fills in the bench. Take the file to the bench, name it there as secret = under [shop.database], \
and remove it here.

Examples:
  tenths shop bench add north --as owner --secret owner.secret
  tenths shop bench add south --as owner --to /media/stick/south.secret"
    )]
    Add(Added),
}

#[derive(Debug, Subcommand)]
pub(crate) enum ReaderCommand {
    /// Make a role that reads everything and adds nothing, for the office; writes its secret to a file
    #[command(after_help = "It needs the role that made the tables.

Examples:
  tenths shop reader add office --as owner --secret owner.secret
  tenths shop reader add page --as owner --to page.secret")]
    Add(Added),
}

/// Who sets it up.
#[derive(Debug, Args)]
pub(crate) struct Owner {
    /// The role that owns the database; if left out, the user of [shop.database]
    #[arg(long = "as", value_name = "ROLE")]
    pub(crate) role: Option<String>,
    /// The file with the secret of that role
    #[arg(long, value_name = "FILE", requires = "role")]
    pub(crate) secret: Option<PathBuf>,
}

/// A role that is made.
#[derive(Debug, Args)]
pub(crate) struct Added {
    /// Its name: a-z, 0-9 and _, first a letter; of a bench the same as bench = in its bench.toml
    pub(crate) name: String,
    /// The new file for its secret; if left out, NAME.secret in this folder
    #[arg(long, value_name = "FILE", conflicts_with = "no_secret")]
    pub(crate) to: Option<PathBuf>,
    /// Without a secret: the server knows it otherwise, as by the user on its own machine
    #[arg(long)]
    pub(crate) no_secret: bool,
    #[command(flatten)]
    pub(crate) owner: Owner,
}

pub(crate) fn run(global: &Global, command: &ShopCommand) -> Result<u8, Failure> {
    match command {
        ShopCommand::Migrate(owner) => migrated(&database(global, owner)?),
        ShopCommand::Bench(BenchCommand::Add(args)) => added(global, Right::Bench, args),
        ShopCommand::Reader(ReaderCommand::Add(args)) => added(global, Right::Reader, args),
    }
}

/// The database of the configuration, with another role where one is named.
fn database(global: &Global, owner: &Owner) -> Result<Database, Failure> {
    let mut database = configured(global)?;
    if let Some(role) = &owner.role {
        database.user.clone_from(role);
        database.secret = owner.secret.clone().map(Secret::File);
    }
    Ok(database)
}

/// Where the configuration sends record and events on to, whatever else may be wrong there.
pub(crate) fn links(path: &Path) -> Result<Option<Links>, Failure> {
    let (links, findings) = links_of(path);
    if let Some(wrong) = findings.iter().find(|finding| finding.is_error()) {
        let text = format!("the configuration cannot be used: {wrong}");
        return Err(Failure::new(REFUSED, text, "see all errors with: tenths config check"));
    }
    Ok(links)
}

/// The database of the configuration, whatever else may be wrong there.
pub(crate) fn configured(global: &Global) -> Result<Database, Failure> {
    let path = bench::config_path(global)?;
    links(&path)?.and_then(|links| links.database).ok_or_else(|| {
        let text = format!("{} names no database of a shop", path.display());
        let hint = "write [shop.database] into it; `tenths config keys shop` shows how";
        Failure::new(REFUSED, text, hint)
    })
}

/// A trouble with the database, as a command tells it.
pub(crate) fn troubled(trouble: Trouble) -> Failure {
    let exit = match trouble.kind {
        TroubleKind::Away | TroubleKind::Again => UNREACHABLE,
        TroubleKind::Refused | TroubleKind::Apart => REFUSED,
    };
    Failure::new(exit, trouble.text, trouble.hint)
}

fn migrated(database: &Database) -> Result<u8, Failure> {
    let Migrated { before, now } = migrate(database).map_err(troubled)?;
    let name = printable(&database.database);
    screen::sentence(&match before {
        0 => format!("The database {name} is the record of a shop now (step {now})."),
        before if before == now => {
            format!("The record of the shop in {name} has taken every step already (step {now}).")
        }
        before => {
            format!("The record of the shop in {name} is brought from step {before} to step {now}.")
        }
    })?;
    if before == 0 {
        screen::sentence("Next: tenths shop bench add NAME, for each bench.")?;
    }
    Ok(0)
}

fn added(global: &Global, right: Right, args: &Added) -> Result<u8, Failure> {
    let name = &args.name;
    if !config::is_bench_name(name) {
        let hint = "use a-z, 0-9 and _, first a letter, 40 characters at most";
        return Err(Failure::new(REFUSED, format!("{name:?} is no name for this"), hint));
    }
    let database = database(global, &args.owner)?;
    let to = args.to.clone().unwrap_or_else(|| PathBuf::from(format!("{name}.secret")));
    let secret = if args.no_secret { None } else { Some(new_secret(&to)?) };
    if let Err(trouble) = add(&database, (right, name), secret.as_deref()) {
        if secret.is_some() {
            std::fs::remove_file(&to).map_err(|error| not_kept(&to, &error))?;
        }
        return Err(troubled(trouble));
    }
    screen::sentence(&match right {
        Right::Bench => {
            format!("The bench {name} may add to the record of the shop, and read all of it.")
        }
        Right::Reader => format!("{name} may read the record of the shop."),
    })?;
    if secret.is_some() {
        let to = printable(&to.to_string_lossy());
        screen::sentence(&format!("Its secret is in {to}: take it there, and remove it here."))?;
    }
    Ok(0)
}

/// How many random bytes a secret has.
const SECRET_BYTES: usize = 24;

/// Makes a secret and keeps it in a new file, which only its owner can read.
fn new_secret(to: &Path) -> Result<String, Failure> {
    let failed = |error: io::Error| not_kept(to, &error);
    let mut bytes = [0; SECRET_BYTES];
    let mut random = std::fs::File::open("/dev/urandom").map_err(failed)?;
    io::Read::read_exact(&mut random, &mut bytes).map_err(failed)?;
    let secret = quantity::hexadecimal(&bytes);
    let file = OpenOptions::new().write(true).create_new(true).mode(0o600).open(to);
    writeln!(file.map_err(failed)?, "{secret}").map_err(failed)?;
    Ok(secret)
}

fn not_kept(to: &Path, error: &io::Error) -> Failure {
    let text = format!("the secret cannot be kept in {}: {error}", to.display());
    Failure::new(REFUSED, text, "name a new file: --to FILE")
}
