//! Lines of verdicts, for the tests of this room and of those behind it.

use wire::{FiguresLine, LimitsLine, LimitsTold, StationLine, VerdictLine};

/// A face that was judged.
pub fn line() -> VerdictLine {
    VerdictLine {
        caller: None,
        began_caller: None,
        schema: "verdict/1".to_owned(),
        id: 50,
        at: "2027-03-01T14:30:00.250Z".to_owned(),
        job: "J-1042".to_owned(),
        part: "inner-spacer".to_owned(),
        check: "face-a".to_owned(),
        attempt: 1,
        attempt_id: 30,
        reason: "first".to_owned(),
        tries: 1,
        combined: vec![30],
        measures: "parallelism".to_owned(),
        value: Some("0.00034".to_owned()),
        unit: "in".to_owned(),
        tolerance: Some(LimitsTold::Max("0.0001".to_owned())),
        limits: LimitsLine::default(),
        uncertainty: Some("0.00002545587".to_owned()),
        uncertainty_from: "stated".to_owned(),
        k: Some(2.0),
        rule: "guarded".to_owned(),
        verdict: "does-not-conform".to_owned(),
        simple: Some("does-not-conform".to_owned()),
        guarded: Some("does-not-conform".to_owned()),
        positions: 8,
        taken: 8,
        skipped: 0,
        setup: Some("plate".to_owned()),
        down: None,
        remark: None,
        answer: None,
        answers: Vec::new(),
        good: Vec::new(),
        means: Vec::new(),
        figures: FiguresLine::default(),
        advice: Vec::new(),
        cautions: Vec::new(),
        reasons: Vec::new(),
        superseded_by: None,
        standing: "stands".to_owned(),
        by: None,
    }
}

/// A bar that was judged at two stations.
pub fn bar() -> VerdictLine {
    let station = |at: &str, value: &str, tolerance: &str| StationLine {
        at: at.to_owned(),
        value: value.to_owned(),
        tolerance: LimitsTold::Max(tolerance.to_owned()),
        uncertainty: "0.0000457".to_owned(),
        verdict: "undecided".to_owned(),
        seatings: vec![value.to_owned()],
        eccentricity: None,
        high_side_deg: None,
        axis_deg: None,
        bar: None,
        repeat: None,
        mean_of_seatings: None,
        mean_of_totals: None,
        mean_sweep: None,
    };
    let stations = vec![station("0.25", "0.00006", "0.0001"), station("3", "0.00016", "0.0002")];
    VerdictLine {
        measures: "bar-runout".to_owned(),
        value: Some("0.00016".to_owned()),
        tolerance: Some(LimitsTold::Max("0.0002".to_owned())),
        uncertainty: Some("0.0000457".to_owned()),
        verdict: "undecided".to_owned(),
        setup: Some("turning".to_owned()),
        positions: 24,
        taken: 24,
        figures: FiguresLine { stations, ..FiguresLine::default() },
        ..line()
    }
}
