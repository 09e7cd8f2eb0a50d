//! Where the shop's record of a bench ends, and whether the bench's own record goes on there.

use bench::Seq;
use record::{Chain, Reader, StoreError};
use tokio_postgres::{GenericClient, Transaction};

use super::rows::{self, Asked, Forms};
use super::trouble::{Trouble, TroubleKind};

/// How many numbers a block of the seals has; `seal.block` counts them.
pub(super) const BLOCK: i64 = record::BLOCK.cast_signed();

/// The newest number of a bench in the shop; 0 where it has no rows there.
pub(super) async fn newest(client: &impl GenericClient, bench: &str) -> Asked<i64> {
    let sql = "SELECT greatest(
        coalesce((SELECT max(seq) FROM fact WHERE bench = $1), 0),
        coalesce((SELECT max(seq) FROM reading WHERE bench = $1), 0),
        coalesce((SELECT max(last) FROM lost WHERE bench = $1), 0))";
    client.query_one(sql, &[&bench]).await?.try_get(0)
}

/// Whether somebody else has added rows of this bench beyond a number. The transaction is serializable: of two that
/// find nothing there at the same time, one does not come through.
pub(super) async fn is_beyond(tx: &Transaction<'_>, bench: &str, last: i64) -> Asked<bool> {
    let sql = "SELECT EXISTS (SELECT 1 FROM fact WHERE bench = $1 AND seq > $2)
        OR EXISTS (SELECT 1 FROM reading WHERE bench = $1 AND seq > $2)
        OR EXISTS (SELECT 1 FROM lost WHERE bench = $1 AND last > $2)";
    tx.query_one(sql, &[&bench, &last]).await?.try_get(0)
}

/// The end of what a shop has of a bench.
#[derive(Debug, Clone, Default)]
pub(super) struct End {
    /// The chain of seals after the newest row.
    pub(super) chain: Chain,
    /// The number of that row; of rows that are missing the first.
    row: Seq,
}

impl End {
    /// The newest row, or the last of those that are missing there, and the seal after it.
    pub(super) fn sealed(&self) -> (Seq, [u8; 32]) {
        (self.chain.last(), self.chain.head())
    }
}

/// The end of what the shop has of a bench up to a row, as it follows from the seal before the row's block and from
/// the rows since.
pub(super) async fn end_at(
    client: &impl GenericClient,
    bench: &str,
    row: i64,
    forms: &mut Forms,
) -> Asked<End> {
    if row == 0 {
        return Ok(End::default());
    }
    // Of rows that are missing the first is sealed; they may fill whole blocks.
    let sql = "SELECT first FROM lost WHERE bench = $1 AND first <= $2 AND last >= $2";
    let first = client.query_opt(sql, &[&bench, &row]).await?;
    let numbered: i64 = first.map_or(Ok(row), |row| row.try_get(0))?;
    let block = numbered / BLOCK;
    let sql = "SELECT seal FROM seal WHERE bench = $1 AND block < $2 ORDER BY block DESC LIMIT 1";
    let before = client.query_opt(sql, &[&bench, &block]).await?;
    let before: Vec<u8> = before.map_or(Ok(vec![0; 32]), |row| row.try_get(0))?;
    let first = (block * BLOCK).max(1);
    let head = before.try_into().unwrap_or([0xff; 32]);
    let mut chain = Chain::after(Seq(first.cast_unsigned()), head, Vec::new());
    chain.take(&rows::between(client, bench, (first, row), forms).await?);
    Ok(End { chain, row: Seq(numbered.cast_unsigned()) })
}

/// Whether a bench's own record goes on after what the shop has of it.
///
/// # Errors
/// It does not: nothing may be sent. Or the record cannot be read.
pub(super) fn goes_on(record: &Reader, shop: &End, bench: &str) -> Result<(), Trouble> {
    let newest = record.newest_row().map_err(|error| unread(&error))?;
    let last = shop.chain.last();
    if last > newest {
        let text = format!(
            "the shop has rows of {bench} up to {last}, the record of this bench ends with row {newest}: it was \
             restored from an older copy, or another bench has the same name"
        );
        return Err(Trouble::new(TroubleKind::Apart, text, APART));
    }
    let own = record.chain_at(shop.row).map_err(|error| unread(&error))?;
    if own.is_some_and(|own| (own.last(), own.head()) == (last, shop.chain.head())) {
        return Ok(());
    }
    let text = format!(
        "the rows of {bench} up to {last} in the shop are not those of this bench: it was restored from an older \
         copy and went on, or another bench has the same name"
    );
    Err(Trouble::new(TroubleKind::Apart, text, APART))
}

/// What to do where the shop and the bench have parted.
const APART: &str = "nothing is sent, and nothing there is changed. If the record was restored: `tenths restore \
    --from-shop` brings back every row that the shop has. If two benches have one name: give this one its own";

/// The record of the bench cannot be read.
pub(super) fn unread(error: &StoreError) -> Trouble {
    let kind = if error.passes() { TroubleKind::Away } else { TroubleKind::Refused };
    let hint = "`tenths verify` says what is wrong with it";
    Trouble::new(kind, format!("the record of the bench cannot be read: {error}"), hint)
}
