//! A proof is judged again from its touches when the record is verified.

use std::sync::Arc;

use bench::row::{Blocks, Body, ProofBegan, ProofEnding, ProofShows, Proved, Reading, State};
use bench::{ENGINE, Lift, Proving, Seq};
use judgement::Known;
use quantity::{Quoted, Unit};

use crate::trial::{Home, Rows, as_stored, inch, name, pin, reading};

/// A proof as the bench would store it, with what it showed changed by `amiss`.
fn stored(amiss: impl Fn(&mut ProofShows)) -> (Rows, Seq) {
    let length = |text| inch(text).length;
    let blocks = Blocks {
        step: length("0.001"),
        unit: Unit::Inch,
        u: length("0.000003"),
        known: Known::Assumed,
        low: None,
        high: None,
    };
    let began = Arc::new(ProofBegan {
        station: name("bench"),
        gauge: pin().gauge.unwrap(),
        blocks: blocks.clone(),
        lifts: 3,
        scatter: length("0.000012"),
        scatter_known: Known::Assumed,
        scatter_df: Some(8),
    });
    let mut rows = Rows::default();
    rows.add(Body::Started { boot: 1 });
    let id = rows.add(Body::ProofBegan(Arc::clone(&began)));
    let mut touches = Vec::new();
    for (position, text) in (0..).zip(["0.00001", "0.00000", "0.00001", "0.00101", "0.00001"]) {
        let value = Quoted::parse(text, Unit::Inch).unwrap();
        let touch = Reading { state: State::Placed, value, ..reading(None, None, position) };
        touches.push(Lift { id: rows.add(Body::Reading(touch)), value, keyed: false });
    }
    let proving = Proving { id, began: Arc::clone(&began), touches, voided: 0, hand: None };
    let proof = proving.shows().unwrap();
    let mut shows = ProofShows {
        s: proof.repeat.map(|(s, _)| s),
        df: proof.repeat.map(|(_, df)| df),
        step: proof.step,
        uncertainty: proof.uncertainty,
        may_differ: proof.may_differ,
        came_back: proof.came_back,
        may_be_off: proof.may_be_off,
        stands_off: proof.stands_off,
        faults: proof.faults.clone(),
        off_chart: Vec::new(),
    };
    amiss(&mut shows);
    let proved = Proved {
        proof: id,
        station: name("bench"),
        gauge: began.gauge.clone(),
        blocks,
        ending: ProofEnding::Complete,
        why: None,
        readings: proving.touches.iter().map(|lift| lift.id).collect(),
        lifts: proving.lifts(),
        engine: ENGINE,
        shows: Some(shows),
    };
    let proved = rows.add(Body::Proved(Arc::new(proved)));
    (rows, proved)
}

fn found(amiss: impl Fn(&mut ProofShows)) -> Vec<(Option<Seq>, String)> {
    let (rows, _) = stored(amiss);
    let (home, _store) = Home::holding(&rows);
    let found = home.reader().verify(&as_stored).unwrap().differences;
    found.into_iter().map(|one| (one.row, one.what)).collect()
}

#[test]
fn a_proof_that_its_touches_do_not_give_is_named() {
    assert_eq!(found(|_| {}), []);
    let (_, proved) = stored(|_| {});
    let named = [(Some(proved), "its touches give another proof".to_owned())];
    assert_eq!(found(|shows| shows.s = Some(inch("0.000001").length)), named);
    assert_eq!(found(|shows| shows.faults.push(judgement::Fault::Sign)), named);
    assert_eq!(found(|shows| shows.step = shows.step * 2), named);
}
