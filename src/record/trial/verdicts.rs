//! Verdicts with every figure set.

use super::{inch, name};
use ::words::{Bound, Stated};
use bench::plan::SizeJudged;
use bench::verdict::{
    Amount, Answered, AxisFigures, AxisName, BarFigures, Figures, Longer, Mean, NotMeasured,
    PairFigures, Predicted, Repeat, Repeatability, StationFigures, TookOff, Verdict, WaveFigure,
};
use bench::{Job, Seq};
use judgement::{Coverage, Known, Limits, Reason, Rule, Word};
use quantity::{Figure, Length, Unit, Wall};

pub fn verdict(attempt: Seq) -> Verdict {
    let length = |text| inch(text).length;
    Verdict {
        attempt,
        tries: 2,
        combined: vec![attempt],
        means: [(0, Figure::new(2, 7)), (7, -Figure::new(3, 1))].map(Mean::from).to_vec(),
        value: Some(Figure::new(2_540_000, 3)),
        unit: Unit::Inch,
        limits: Some(Limits::Band { min: length("-0.0001"), max: length("0.0001") }),
        uncertainty: Some(Length::from_picometres(646_622)),
        k: Some(Coverage::TWO),
        known: Known::Assumed,
        repeat: None,
        rule: Rule::Guarded,
        word: Word::Undecided,
        simple: Some(Word::Conforms),
        guarded: None,
        positions: 8,
        touches: 1,
        taken: 7,
        skipped: 1,
        answer: None,
        answers: Vec::new(),
        figures: Figures {
            max_minus_min: Some(Figure::new(i128::from(i64::MAX) * 7, 9)),
            minimum_zone: Some(-Figure::new(1, 3)),
            least_squares: Some(Figure::ZERO),
            tilt: None,
            slope_urad: Some((0.1 + 0.2).into()),
            high_side_deg: Some(359.999_999_999_999_94.into()),
            high_side_u_deg: Some(f64::MIN_POSITIVE.into()),
            noise_floor: Some(Bound(length("0.00001"))),
            mean: Some(Figure::new(7, 8)),
            contacts_upper: vec![0, 4],
            contacts_lower: vec![2],
            closure: Some(Figure::new(-254_000, 1)),
            ..Figures::default()
        },
        advice: vec!["Touch position 0 again: \"it\" came back different.".to_owned()],
        sayings: Vec::new(),
        cautions: Vec::new(),
        reasons: vec![Reason::NotClosed, Reason::GaugeTooCoarse],
    }
}

/// A verdict with every field set.
pub fn full_verdict(attempt: Seq) -> Verdict {
    let figures = Figures { tilt: Some(Figure::new(5, 7)), ..verdict(attempt).figures };
    let figures = bar_figures(turn_figures(figures));
    let figures = ring_figures(figures);
    Verdict {
        figures,
        guarded: Some(Word::Undecided),
        repeat: Some(Repeatability { pairs: 46, degrees: 43 }),
        answer: Some("yes \"0.0001\"".to_owned()),
        answers: vec![Answered {
            attempt,
            text: "no".to_owned(),
            at: Wall::from_micros(7),
            by: Some(name("ada")),
        }],
        ..verdict(attempt)
    }
}

/// The verdict of judging again: for an answered attempt, the stored one.
pub fn as_stored(job: &Job, attempt: Seq) -> Option<Verdict> {
    let answered = job.attempts[&attempt].answer.is_some();
    Some(if answered { full_verdict(attempt) } else { verdict(attempt) })
}

/// A verdict on an answer: no value, no limits, no figures.
pub fn answer_verdict(attempt: Seq) -> Verdict {
    Verdict {
        value: None,
        limits: None,
        uncertainty: None,
        k: None,
        known: Known::Stated,
        positions: 0,
        taken: 0,
        skipped: 0,
        answer: Some("no".to_owned()),
        combined: Vec::new(),
        means: Vec::new(),
        figures: Figures::default(),
        advice: Vec::new(),
        sayings: Vec::new(),
        cautions: Vec::new(),
        reasons: Vec::new(),
        ..verdict(attempt)
    }
}

fn turn_figures(figures: Figures) -> Figures {
    let lobe = |order, phase_deg: f64| {
        let phase_deg = phase_deg.into();
        WaveFigure { order, amplitude: Figure::new(1234, 1000), phase_deg }
    };
    Figures {
        harmonics: vec![lobe(1, 0.1 + 0.7), lobe(2, 0.0), lobe(15, 23.999)],
        eccentricity: Some(Figure::new(1, 1000)),
        axis_deg: Some(1e-9.into()),
        out_of_round: Some(Figure::new(77, 2)),
        unfiltered: Some(Figure::new(78, 1)),
        rate: Some((7.0 / 24.0).into()),
        half_angle_deg: Some(8.297_144.into()),
        ..figures
    }
}

fn bar_figures(figures: Figures) -> Figures {
    let length = |text| inch(text).length;
    let bare = StationFigures {
        at: Stated(length("0.25")),
        value: Figure::new(2_540_000, 1),
        tolerance: Limits::Max(length("0.0001")),
        uncertainty: Bound(Length::from_picometres(646_622)),
        verdict: Word::Conforms,
        seatings: vec![Figure::new(2_540_000, 1)],
        eccentricity: None,
        high_side_deg: None,
        axis_deg: None,
        bar: None,
        repeat: None,
        mean_of_seatings: None,
        mean_of_totals: None,
        mean_sweep: None,
    };
    let full = StationFigures {
        at: Stated(length("3")),
        verdict: Word::DoesNotConform,
        seatings: vec![Figure::new(1, 3), Figure::ZERO, Figure::new(2, 3)],
        eccentricity: Some(Figure::new(5, 2)),
        high_side_deg: Some(200.0.into()),
        axis_deg: Some(20.000_000_000_000_004.into()),
        bar: Some(BarFigures { eccentricity: Figure::new(9, 1), high_side_deg: 359.5.into() }),
        repeat: Some(Repeat { difference: Figure::new(-1, 3), limit: Figure::new(1, 2) }),
        mean_of_seatings: Some(Figure::new(1, 3)),
        mean_of_totals: Some(Figure::new(2, 7)),
        mean_sweep: Some(Figure::new(1, 7)),
        ..bare.clone()
    };
    let axis = AxisFigures {
        name: AxisName::Spindle,
        offset: Figure::new(11, 1000),
        offset_deg: 12.5.into(),
        tilt_urad: 3.25.into(),
        tilt_deg: 271.0.into(),
    };
    let predicted = Predicted {
        at: Stated(length("6")),
        value: Figure::new(13, 1000),
        uncertainty: Bound(Length::from_picometres(3)),
        factor: 1.7.into(),
        axis_deg: 90.25.into(),
        label: NotMeasured::Predicted,
    };
    Figures { stations: vec![bare, full], axis: Some(axis), predicted: vec![predicted], ..figures }
}

fn ring_figures(figures: Figures) -> Figures {
    let pair = PairFigures {
        lengths: [Figure::new(38_100_000_001, 3), Figure::new(12_700_000_000, 1)],
        longer: Longer::Barely,
        required: Some(Figure::new(-4_000_000, 1)),
        preload_n: Some([190.0, 210.0].map(Into::into)),
        loads_n: [[200.0, 0.1 + 0.2], [0.0, 200.0]].map(|load| load.map(Into::into)).to_vec(),
        apart_min: Some(95),
    };
    let took = TookOff {
        at: [(0, Figure::new(1, 1)), (4, Figure::new(-1, 7))].map(Amount::from).to_vec(),
        same_zero: true,
        tilt: Some(Figure::new(2, 1000)),
        more_deg: Some(45.0.into()),
    };
    Figures {
        judged: Some(SizeJudged::EveryTouch),
        to_20_c: Some(Figure::new(-127, 10)),
        zero_walk: Some(Figure::new(1_524_000, 1)),
        zero: Some(Figure::new(1_270_001, 2)),
        dish: Some(Figure::new(3, 8)),
        saddle_factor: Some(1.414.into()),
        pair: Some(pair),
        take_off: [(0, Figure::ZERO), (3, Figure::new(1, 3))].map(Amount::from).to_vec(),
        leaves: Some(Figure::new(12_699_999_999, 1)),
        took_off: Some(took),
        ..figures
    }
}
