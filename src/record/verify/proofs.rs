//! Judges each proof of a gauge again from its touches.

use crate::StoreError;
use crate::compact;
use crate::pieces::Pieces;
use crate::read::{Book, Read};
use crate::write::{int, seq};
use bench::row::{Body, ProofEnding, Proved};
use bench::{ENGINE, Lift, Proving, Seq};

use super::Verified;

/// Looks at each proof that came to its end, up to the row `last`.
pub(super) fn all(pieces: Pieces<'_>, last: Seq, found: &mut Verified) -> Result<(), StoreError> {
    const PROOFS: &str = "SELECT seq FROM fact WHERE kind = 'proved' AND seq <= ?1 ORDER BY seq";
    let all = pieces.moment(|book| book.select(PROOFS, [int(last)], |row| Ok(seq(row.get(0)?))))?;
    for proof in all {
        match pieces.moment(|book| differs(book, proof)) {
            Ok(Some(what)) => found.add_of("fact", Some(proof), what),
            Err(error) if error.passes() => return Err(error),
            // A row that cannot be read was named with its block.
            Ok(None) | Err(_) => {}
        }
    }
    Ok(())
}

/// What of a proof comes out differently from its touches.
fn differs(book: Book<'_>, id: Seq) -> Read<Option<&'static str>> {
    let Body::Proved(proved) = book.fact(id)?.body else { return Ok(None) };
    if proved.ending != ProofEnding::Complete || proved.engine != ENGINE {
        return Ok(None);
    }
    let Body::ProofBegan(began) = book.fact(proved.proof)?.body else {
        return Ok(Some("what it says to have begun it is no proof"));
    };
    let mut touches = Vec::with_capacity(proved.readings.len());
    for reading in &proved.readings {
        touches.extend(touch(book, *reading)?);
    }
    let proving = Proving { id: proved.proof, began, touches, voided: 0, hand: None };
    Ok((!is_the_same(&proving, &proved)).then_some("its touches give another proof"))
}

fn touch(book: Book<'_>, reading: Seq) -> Read<Option<Lift>> {
    let its = format!("{} WHERE t.job = 0 AND t.nth = ?1", compact::READINGS);
    let row = book.select(&its, [int(reading)], compact::reading)?.pop();
    let Some(Body::Reading(reading)) = row.as_ref().map(|row| &row.body) else { return Ok(None) };
    let keyed = reading.keyed().is_some();
    Ok(row.as_ref().map(|row| Lift { id: row.seq, value: reading.value, keyed }))
}

fn is_the_same(proving: &Proving, proved: &Proved) -> bool {
    let Some((shows, proof)) = proved.shows.as_ref().zip(proving.shows()) else { return false };
    shows.s == proof.repeat.map(|(s, _)| s)
        && shows.df == proof.repeat.map(|(_, df)| df)
        && shows.step == proof.step
        && shows.uncertainty == proof.uncertainty
        && shows.may_differ == proof.may_differ
        && shows.came_back == proof.came_back
        && shows.may_be_off == proof.may_be_off
        && shows.stands_off == proof.stands_off
        && shows.faults == proof.faults
        && (proving.began.lifts == 1 || proved.lifts == proving.lifts())
}
