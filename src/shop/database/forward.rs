//! Sends a bench's record on to the shop: in its order, each row once, for as long as the process runs.
//!
//! The shop says where to go on: nothing that this side remembers could be wrong about it. A batch is one transaction.
//! Its rows are written, read back, compared with what was sent and with the bench's own seals, and only then
//! committed. Whatever ends in between leaves no trace.

use std::os::unix::fs::MetadataExt as _;
use std::time::Duration;

use bench::Seq;
use config::Database;
use intake::Stop;
use record::{Batch, Chain, Reader, StoreError, StoredSeal, Tracks};
use tokio_postgres::{IsolationLevel, Transaction};

use super::beside::{self, PaperSent};
use super::position::{self, unread};
use super::rows::{self, Forms};
use super::session::{Link, in_time};
use super::steps;
use super::told::Told;
use super::trouble::{Place, Trouble, TroubleKind};
use crate::{Origin, standing};

/// How many rows go at most in one transaction. Few enough that the database remembers what was read page by page
/// and not by whole tables, in which case benches would come into each other's way.
const AT_ONCE: usize = 4096;
/// How often the record is looked at for new rows.
const LOOKS: Duration = Duration::from_millis(500);
/// How long a transaction may take before the connection is given up.
const PATIENCE: Duration = Duration::from_mins(2);
/// How long is waited before the next try, at first and at most.
const RESTS: [Duration; 2] = [Duration::from_secs(1), Duration::from_secs(30)];
/// How often two may come into each other's way before it is told.
const AGAIN: u32 = 20;
/// How far two clocks may be apart before that is told, in microseconds.
const CLOCKS: i64 = 60_000_000;

/// Sends the record on until it is stopped. A transaction that is under way then is taken back by the database.
///
/// # Panics
/// When the system gives no timer and no way to wait for a connection.
pub fn run(database: &Database, origin: &Origin, mut stop: Stop) {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
    let runtime = runtime.expect("a runtime needs what every program has");
    runtime.block_on(async {
        tokio::select! {
            () = stop.thrown() => {}
            () = forwarded(database, origin) => {}
        }
    });
}

async fn forwarded(database: &Database, origin: &Origin) {
    let mut told = Told::begun(origin, standing::server(&database.reach));
    let [first, longest] = RESTS;
    let mut rest = first;
    loop {
        let mut went = false;
        let trouble = session(database, origin, (&mut told, &mut went)).await;
        let Some(trouble) = trouble.err() else { continue };
        if went {
            rest = first;
        }
        let newest = origin.record().and_then(|record| record.newest_row()).ok();
        told.troubled(&trouble, newest);
        tokio::time::sleep(rest).await;
        rest = (rest * 2).min(longest);
    }
}

/// The record that is sent on, and the file it was opened from.
struct Own {
    reader: Reader,
    file: (u64, u64),
    tracks: Tracks,
}

impl Own {
    fn open(origin: &Origin) -> Result<Self, Trouble> {
        let file = Self::file(origin).map_err(|error| {
            let text = format!("there is no record in {}: {error}", origin.state.display());
            Trouble::new(TroubleKind::Away, text, "is the service running? It makes the record")
        })?;
        let reader = origin.record().map_err(|error| unread(&error))?;
        Ok(Self { reader, file, tracks: Tracks::default() })
    }

    fn file(origin: &Origin) -> std::io::Result<(u64, u64)> {
        let found = std::fs::metadata(origin.state.join(record::DATABASE))?;
        Ok((found.dev(), found.ino()))
    }

    /// Whether the record is still the one that was opened: a restore puts another one in its place.
    fn is_the_same(&self, origin: &Origin) -> bool {
        Self::file(origin).is_ok_and(|file| file == self.file)
    }
}

/// Sends what there is, and then what comes, until something is in the way or the record is another one.
async fn session(
    database: &Database,
    origin: &Origin,
    (told, went): (&mut Told<'_>, &mut bool),
) -> Result<(), Trouble> {
    let mut own = Own::open(origin)?;
    let mut link = Link::open(database, "tenths forward").await?;
    introduced(&link, origin, told).await?;
    let mut to = Shop { forms: Forms::default(), chain: Chain::default() };
    to.find_end(&link, origin, &own.reader).await?;
    let mut again = 0;
    loop {
        match looked(&mut link, (origin, &mut own), &mut to).await {
            // A record that nobody wrote is opened anew once somebody does.
            Ok(Look::Another) => return Ok(()),
            Ok(Look::Nothing(newest)) => {
                told.arrived(to.chain.last(), newest);
                *went = true;
                tokio::time::sleep(LOOKS).await;
            }
            Ok(Look::Sent(newest)) => {
                told.arrived(to.chain.last(), newest);
                (*went, again) = (true, 0);
            }
            Err(trouble) if trouble.kind == TroubleKind::Again && again < AGAIN => {
                again += 1;
                tokio::time::sleep(LOOKS / 20 * again).await;
                to.find_end(&link, origin, &own.reader).await?;
            }
            Err(trouble) => return Err(trouble),
        }
    }
}

/// What one look at the record came to.
enum Look {
    /// Rows arrived; the newest of the bench.
    Sent(Seq),
    /// All is there; the newest of the bench.
    Nothing(Seq),
    /// The record is another one.
    Another,
}

async fn looked(
    link: &mut Link,
    (origin, own): (&Origin, &mut Own),
    to: &mut Shop,
) -> Result<Look, Trouble> {
    if !own.is_the_same(origin) {
        return Ok(Look::Another);
    }
    let at = to.chain.last();
    let batch = match own.reader.newest_row() {
        Ok(newest) if newest <= at => {
            // Whoever has nothing to say finds out all the same.
            return if link.client.is_closed() {
                Err(link.lost())
            } else {
                Ok(Look::Nothing(newest))
            };
        }
        Ok(_) => own.reader.stored_after(at, AT_ONCE, &mut own.tracks),
        Err(error) => Err(error),
    };
    let batch = match batch {
        Ok(batch) => batch,
        Err(StoreError::Meanwhile) => return Ok(Look::Another),
        Err(error) => return Err(unread(&error)),
    };
    let place = link.place.clone();
    in_time(PATIENCE, &place, to.take(link, (&origin.bench, &own.reader), &batch)).await?;
    Ok(Look::Sent(batch.newest))
}

/// Makes sure that the shop is one, and that it will take the rows for those of this bench.
async fn introduced(link: &Link, origin: &Origin, told: &mut Told<'_>) -> Result<(), Trouble> {
    steps::fits(link).await?;
    let bench = &origin.bench;
    let user: String = link.value("SELECT session_user::text", &[]).await?;
    if user != *bench {
        let text = format!("{user} can only add rows of a bench {user}; this bench is {bench}");
        let hint = "leave user = out under [shop.database], or write the name of the bench";
        return Err(Trouble::new(TroubleKind::Refused, text, hint));
    }
    let there = "SELECT (extract(epoch FROM now()) * 1000000)::bigint";
    let ahead = intake::now().wall.micros() - link.value::<i64>(there, &[]).await?;
    told.remarked((ahead.abs() > CLOCKS).then(|| clocks(ahead, bench, &link.place)));
    link.run("INSERT INTO bench DEFAULT VALUES ON CONFLICT DO NOTHING").await?;
    // A look at a whole table would bring this bench into the way of all others.
    link.run("SET enable_seqscan = off").await
}

/// The remark about two clocks that differ. Nothing goes by them: order is given by numbers.
fn clocks(ahead: i64, bench: &str, place: &Place) -> String {
    let minutes = (ahead.unsigned_abs() + 30_000_000) / 60_000_000;
    let far = match minutes {
        0..120 => format!("{minutes} min"),
        120..2880 => format!("{} h", minutes / 60),
        _ => format!("{} days", minutes / 1440),
    };
    let how = if ahead > 0 { "ahead of" } else { "behind" };
    format!(
        "the clock of {bench} is {far} {how} that of {}; rows keep their order, times are told as this bench has them",
        place.shown
    )
}

/// What is known of the shop's record of this bench.
struct Shop {
    forms: Forms,
    /// The seals up to the newest row there.
    chain: Chain,
}

impl Shop {
    /// Looks where the shop's record ends, and makes sure that the bench's own goes on there.
    async fn find_end(
        &mut self,
        link: &Link,
        origin: &Origin,
        own: &Reader,
    ) -> Result<(), Trouble> {
        let failed = |error| link.trouble(&error);
        self.forms.forget();
        let newest = position::newest(&link.client, &origin.bench).await.map_err(failed)?;
        let end = position::end_at(&link.client, &origin.bench, newest, &mut self.forms).await;
        let end = end.map_err(failed)?;
        position::goes_on(own, &end, &origin.bench)?;
        self.chain = end.chain;
        Ok(())
    }

    /// Takes the next rows, all or none.
    async fn take(
        &mut self,
        link: &mut Link,
        (bench, own): (&str, &Reader),
        batch: &Batch,
    ) -> Result<(), Trouble> {
        let place = link.place.clone();
        let failed = |error: tokio_postgres::Error| Trouble::of(&error, &place);
        let begun = link.client.build_transaction().isolation_level(IsolationLevel::Serializable);
        let tx = begun.start().await.map_err(failed)?;
        let last = self.chain.last();
        if position::is_beyond(&tx, bench, last.0.cast_signed()).await.map_err(failed)? {
            let text = format!("somebody else adds rows as {bench}");
            return Err(Trouble::new(TroubleKind::Again, text, "two benches have one name"));
        }
        rows::written(&tx, bench, &batch.rows, &mut self.forms).await.map_err(failed)?;
        beside::written(&tx, &batch.beside).await.map_err(failed)?;
        beside::sought(&tx, &batch.rows).await.map_err(failed)?;
        papers(&tx, &place, (bench, own), batch).await?;
        let (chain, seals) = self.checked(&tx, (bench, &place), batch).await?;
        beside::sealed(&tx, &seals).await.map_err(failed)?;
        tx.commit().await.map_err(failed)?;
        self.chain = chain;
        Ok(())
    }

    /// Reads the rows back, and compares them with what was sent and with the bench's own seals; the chain after them,
    /// and the seals of blocks that are complete now.
    async fn checked(
        &mut self,
        tx: &Transaction<'_>,
        (bench, place): (&str, &Place),
        batch: &Batch,
    ) -> Result<(Chain, Vec<StoredSeal>), Trouble> {
        let mut chain = self.chain.clone();
        let Some(last) = batch.rows.last() else { return Ok((chain, Vec::new())) };
        let span = (chain.last().next().0.cast_signed(), last.last().0.cast_signed());
        let found = rows::between(tx, bench, span, &mut self.forms).await;
        let found = found.map_err(|error| Trouble::of(&error, place))?;
        if found != batch.rows {
            let of = found.iter().zip(&batch.rows).find(|(found, sent)| found != sent);
            let row = of.map_or(last.seq(), |(_, sent)| sent.seq());
            let text = format!("{} gave row {row} back other than it was sent", place.shown);
            return Err(Trouble::new(
                TroubleKind::Refused,
                text,
                "nothing was stored; see its log",
            ));
        }
        chain.take(&found);
        chain.compared(&batch.own).map_err(|wrong| {
            let text = format!("the record of the bench is damaged: {wrong}");
            Trouble::new(TroubleKind::Refused, text, "see with: tenths verify; nothing was sent")
        })?;
        let seals = chain.completed();
        Ok((chain, seals))
    }
}

/// Sends the files of pictures and papers that are attached in these rows.
async fn papers(
    tx: &Transaction<'_>,
    place: &Place,
    (bench, own): (&str, &Reader),
    batch: &Batch,
) -> Result<(), Trouble> {
    for fact in &batch.beside.papers {
        let sent = beside::paper(tx, (bench, own), &fact.attached.paper).await;
        let sent =
            sent.map_err(|error| unread(&error))?.map_err(|error| Trouble::of(&error, place))?;
        match sent {
            PaperSent::There => {}
            // The row goes all the same: it says what the file must be.
            PaperSent::NotOnBench(wrong) => {
                tracing::warn!("not in the shop: {}", fact.told(&wrong));
            }
            PaperSent::Other => {
                let name = fact.attached.paper.kept_as();
                let text =
                    format!("{} gave the file {name} back other than it was sent", place.shown);
                let hint = "nothing was stored; see its log";
                return Err(Trouble::new(TroubleKind::Refused, text, hint));
            }
        }
    }
    Ok(())
}
