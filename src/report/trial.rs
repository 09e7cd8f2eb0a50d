//! Verdicts for the tests of this package and of those that use it.

#![expect(clippy::missing_panics_doc, reason = "what is made here is well made")]

use std::sync::Arc;

use ::record::VerdictRecord;
use bench::plan::{Holding, Measures};
use bench::row::AttemptReason;
use bench::verdict::{Figures, StationFigures, Verdict};
use bench::{Seq, Standing};
use judgement::{Coverage, Known, Limits, Rule, Word};
use quantity::{Figure, Length, Name, Unit, Wall};
use words::{Bound, Stated};

/// The length in a text with its unit behind it.
pub fn length(text: &str) -> Length {
    let (number, unit) = text.split_once(' ').expect("a number and its unit");
    Length::parse(number, Unit::parse(unit).expect("a unit")).expect("a length")
}

/// The figure in such a text.
pub fn figure(text: &str) -> Figure {
    let (number, unit) = text.split_once(' ').expect("a number and its unit");
    Figure::parse(number, Unit::parse(unit).expect("a unit")).expect("a figure")
}

/// A face that was judged: 0.00034 in, limit 0.0001 in, U 0.646580 um.
pub fn face() -> VerdictRecord {
    let name = |text| Name::new(text).expect("a name");
    let verdict = Verdict {
        attempt: Seq(30),
        tries: 1,
        combined: vec![Seq(30)],
        means: Vec::new(),
        value: Some(figure("0.00034 in")),
        unit: Unit::Inch,
        limits: Some(Limits::Max(length("0.0001 in"))),
        uncertainty: Some(Length::from_picometres(646_580)),
        k: Some(Coverage::TWO),
        known: Known::Stated,
        repeat: None,
        rule: Rule::Guarded,
        word: Word::DoesNotConform,
        simple: Some(Word::DoesNotConform),
        guarded: Some(Word::DoesNotConform),
        positions: 8,
        touches: 1,
        taken: 8,
        skipped: 0,
        answer: None,
        answers: Vec::new(),
        figures: Figures::default(),
        advice: Vec::new(),
        sayings: Vec::new(),
        cautions: Vec::new(),
        reasons: Vec::new(),
    };
    VerdictRecord {
        id: Seq(50),
        at: Wall::parse("2027-03-01T14:30:00.250Z").expect("a time"),
        by: None,
        job: name("J-1042"),
        part: name("inner-spacer"),
        check: name("face-a"),
        attempt: 1,
        reason: AttemptReason::First,
        measures: Measures::parse("parallelism").expect("a kind"),
        setup: Holding::Plate,
        gauge: None,
        down: None,
        remark: None,
        good: Vec::new(),
        verdict: Arc::new(verdict),
        superseded_by: None,
        caller: None,
        began_caller: None,
        standing: Standing::Stands,
    }
}

/// The face with a change in its verdict.
pub fn face_with(change: impl FnOnce(&mut Verdict)) -> VerdictRecord {
    with(face(), change)
}

/// A record with a change in its verdict.
pub fn with(mut record: VerdictRecord, change: impl FnOnce(&mut Verdict)) -> VerdictRecord {
    change(Arc::make_mut(&mut record.verdict));
    record
}

/// A question that was answered.
pub fn answered(answer: &str, good: &[&str]) -> VerdictRecord {
    let asked = VerdictRecord {
        measures: Measures::parse("confirm").expect("a kind"),
        good: good.iter().map(|&one| one.to_owned()).collect(),
        ..face()
    };
    with(asked, |verdict| {
        (verdict.value, verdict.limits, verdict.uncertainty) = (None, None, None);
        (verdict.positions, verdict.taken) = (0, 0);
        verdict.answer = Some(answer.to_owned());
    })
}

/// A bar that was judged at two stations.
pub fn bar() -> VerdictRecord {
    let bar = VerdictRecord {
        measures: Measures::parse("bar-runout").expect("a kind"),
        setup: Holding::Turning,
        ..face()
    };
    let station = |at: &str, value: &str, limit: &str| StationFigures {
        at: Stated(length(at)),
        value: figure(value),
        tolerance: Limits::Max(length(limit)),
        uncertainty: Bound(Length::from_picometres(1_160_780)),
        verdict: Word::Undecided,
        seatings: vec![figure(value)],
        eccentricity: None,
        high_side_deg: None,
        axis_deg: None,
        bar: None,
        repeat: None,
        mean_of_seatings: None,
        mean_of_totals: None,
        mean_sweep: None,
    };
    let stations = vec![
        station("0.25 in", "0.00006 in", "0.0001 in"),
        station("3 in", "0.00016 in", "0.0002 in"),
    ];
    with(bar, |verdict| {
        verdict.value = Some(figure("0.00016 in"));
        verdict.limits = Some(Limits::Max(length("0.0002 in")));
        verdict.uncertainty = Some(Length::from_picometres(1_160_780));
        (verdict.word, verdict.positions, verdict.taken) = (Word::Undecided, 24, 24);
        verdict.figures.stations = stations;
    })
}
