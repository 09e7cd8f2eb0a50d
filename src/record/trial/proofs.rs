//! A proof under way, one that is over, and entries of the register.

use std::sync::Arc;

use bench::row::{
    Blocks, Body, Charted, Equipment, ProofBegan, ProofEnding, ProofShows, Proved, Reading,
    Registered, State,
};
use judgement::{Fault, Known};
use quantity::{Figure, Length, Unit, Wall};

use super::{Rows, inch, name, pin, reading};

/// A proof with everything that it may have, one that was given up, and one that is still open, with a
/// lift that was taken back.
pub(super) fn proofs(rows: &mut Rows) {
    let length = |text| inch(text).length;
    let blocks = Blocks {
        step: length("0.001"),
        unit: Unit::Inch,
        u: length("0.000003"),
        known: Known::Assumed,
        low: Some(name("b-1000")),
        high: Some(name("b-1001")),
    };
    let began = ProofBegan {
        station: name("bench"),
        gauge: pin().gauge.unwrap(),
        blocks: blocks.clone(),
        lifts: 10,
        scatter: length("0.000009"),
        scatter_known: Known::Record,
        scatter_df: Some(9),
    };
    let bare = Blocks { low: None, high: None, known: Known::Stated, ..blocks.clone() };
    let mut ended = |shows: Option<ProofShows>, ending, blocks: &Blocks| {
        let proof = rows.add(Body::ProofBegan(Arc::new(began.clone())));
        let lift = Reading { state: State::Placed, ..reading(None, None, 0) };
        let readings = vec![rows.add(Body::Reading(lift))];
        let whole = shows.is_some();
        let proved = Proved {
            proof,
            station: name("bench"),
            gauge: pin().gauge.unwrap(),
            blocks: blocks.clone(),
            ending,
            why: (!whole).then(|| "phone \"rang\"".to_owned()),
            readings,
            lifts: vec![length("0.00001"), Length::from_picometres(-1)],
            engine: bench::ENGINE,
            shows,
        };
        rows.add(Body::Proved(Arc::new(proved)));
    };
    let shows = ProofShows {
        s: Some(length("0.000006")),
        df: Some(9),
        step: Figure::new(-25_400_001, 3),
        uncertainty: length("0.000017"),
        may_differ: length("0.00003"),
        came_back: Figure::new(1, 11),
        may_be_off: length("0.00004"),
        stands_off: Some(7),
        faults: Fault::ALL.to_vec(),
        off_chart: Charted::ALL.to_vec(),
    };
    // Its figures are made up, so it may not be judged again.
    ended(Some(shows), ProofEnding::SetupChanged, &blocks);
    ended(None, ProofEnding::GivenUp, &bare);
    let open = ProofBegan { scatter_df: None, ..began };
    rows.add(Body::ProofBegan(Arc::new(open)));
    let lift = |position| Reading { state: State::Placed, ..reading(None, None, position) };
    let taken_back = rows.add(Body::Reading(lift(0)));
    let why = "slipped".to_owned();
    rows.add(Body::Marked { reading: taken_back, attempt: None, state: State::Void, why });
    rows.add(Body::Reading(lift(0)));
}

/// Two entries of one name, and one that is out of use.
pub(super) fn register(rows: &mut Rows) {
    let bare = Registered {
        what: Equipment::Block,
        name: name("b-1000"),
        serial: None,
        certificate: None,
        dated: None,
        due: None,
        size: None,
        runout: None,
        uncertainty: None,
        retired: None,
    };
    rows.add(Body::Registered(Arc::new(bare.clone())));
    let full = Registered {
        serial: Some("Z \"17\"".to_owned()),
        certificate: Some("C-2026/118".to_owned()),
        dated: Some("2026-03-01".to_owned()),
        due: Some(Wall::parse("2027-03-02").unwrap()),
        size: Some(inch("0.1000")),
        uncertainty: Some(inch("0.000002").length),
        ..bare.clone()
    };
    rows.add(Body::Registered(Arc::new(full)));
    let out = Registered {
        what: Equipment::Bar,
        name: name("bar-3"),
        runout: Some(inch("0.00002")),
        retired: Some("bent".to_owned()),
        ..bare
    };
    rows.add(Body::Registered(Arc::new(out)));
}
