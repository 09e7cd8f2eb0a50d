//! Verdicts as text: whole, small where little was found, and every figure of them looked at.

use crate::trial::{Home, Rows, answer_verdict, full_verdict, verdict};
use bench::row::Body;
use bench::verdict::AxisName;
use bench::verdict::{Figures, Verdict};
use bench::{Job, Seq};
use quantity::{Figure, Length};
use words::Stated;

fn written(verdict: &Verdict) -> String {
    serde_json::to_string(verdict).unwrap()
}

fn read(text: &str) -> Result<Verdict, String> {
    serde_json::from_str(text).map_err(|error| error.to_string())
}

#[test]
fn every_verdict_comes_back_from_its_text() {
    let attempt = Seq(7);
    for stored in [verdict(attempt), full_verdict(attempt), answer_verdict(attempt)] {
        let text = written(&stored);
        assert_eq!(read(&text), Ok(stored));
    }
}

#[test]
fn a_verdict_on_an_answer_takes_little_room() {
    let text = written(&answer_verdict(Seq(7)));
    assert!(text.contains(r#""answer":"no","figures":{}"#), "{text}");
    assert!(text.len() < 300, "{} bytes: {text}", text.len());
}

#[test]
fn a_verdict_written_before_there_were_more_figures_is_still_read() {
    let text = concat!(
        r#"{"attempt":7,"tries":1,"combined":[3],"value":"864000/1","unit":"in","#,
        r#""limits":{"max":2540000},"uncertainty":646622,"k":200,"known":"stated","rule":"guarded","#,
        r#""word":"conforms","simple":"conforms","guarded":"conforms","positions":8,"touches":1,"taken":8,"#,
        r#""skipped":0,"figures":{"max_minus_min":"864000/1","tilt":"1/3","slope_urad":12.5,"#,
        r#""high_side_deg":90,"noise_floor":434000,"contacts_lower":[3],"closure":"-254000/1"},"#,
        r#""advice":["Fine."],"reasons":["not-closed"]}"#,
    );
    let found = read(text).unwrap();
    let figures = Figures {
        max_minus_min: Some(Figure::new(864_000, 1)),
        tilt: Some(Figure::new(1, 3)),
        slope_urad: Some(12.5.into()),
        high_side_deg: Some(90.0.into()),
        noise_floor: Some(words::Bound(Length::from_picometres(434_000))),
        contacts_lower: vec![3],
        closure: Some(Figure::new(-254_000, 1)),
        ..Figures::default()
    };
    assert_eq!((found.figures, found.answer), (figures, None));
}

#[test]
fn what_is_no_figure_is_told() {
    let stored = verdict(Seq(7));
    let text = written(&stored);
    for (good, bad) in
        [("7/8", "7/0"), ("7/8", "0.875"), ("0.30000000000000004", "\"about three\"")]
    {
        let damaged = text.replace(good, bad);
        let told = read(&damaged).unwrap_err();
        assert!(told.contains(bad.trim_matches('"')), "{told}");
    }
}

/// A change of one figure.
type Change = fn(&mut Figures);

fn verified_with(change: Change) -> Vec<String> {
    let mut rows = Rows::default();
    let job = rows.open("S-1");
    let attempt = rows.begin(job, (0, 0), 1);
    rows.add(Body::Verdict(std::sync::Arc::new(full_verdict(attempt))));
    let (home, _store) = Home::holding(&rows);
    let again = |_: &Job, attempt: Seq| -> Option<Verdict> {
        let mut verdict = full_verdict(attempt);
        change(&mut verdict.figures);
        Some(verdict)
    };
    let found = home.reader().verify(&again).unwrap().differences;
    found.into_iter().map(|difference| difference.what).collect()
}

#[test]
fn verify_looks_at_every_figure() {
    let changes: [Change; 39] = [
        |f| f.judged = None,
        |f| f.to_20_c = None,
        |f| f.zero_walk = None,
        |f| f.zero = Some(Figure::ZERO),
        |f| f.dish = Some(Figure::new(3, 7)),
        |f| f.saddle_factor = Some(1.415.into()),
        |f| f.harmonics[1].order = 3,
        |f| f.harmonics[1].amplitude = Figure::ZERO,
        |f| f.harmonics[2].phase_deg = 23.998.into(),
        |f| f.harmonics.truncate(2),
        |f| f.eccentricity = None,
        |f| f.axis_deg = None,
        |f| f.out_of_round = Some(Figure::new(77, 3)),
        |f| f.unfiltered = None,
        |f| f.stations[0].at = Stated(Length::ZERO),
        |f| f.stations[0].value = Figure::ZERO,
        |f| f.stations[0].verdict = judgement::Word::Undecided,
        |f| f.stations[1].seatings[0] = Figure::ZERO,
        |f| f.stations[1].high_side_deg = Some(200.1.into()),
        |f| f.stations[1].axis_deg = Some(340.0.into()),
        |f| f.stations[1].bar.as_mut().unwrap().high_side_deg = 358.5.into(),
        |f| f.stations[1].repeat = None,
        |f| f.stations[1].mean_of_seatings = None,
        |f| f.stations[1].mean_of_totals = None,
        |f| f.stations[1].mean_sweep = Some(Figure::new(1, 5)),
        |f| f.axis = None,
        |f| f.axis.as_mut().unwrap().name = AxisName::Bar,
        |f| f.axis.as_mut().unwrap().tilt_urad = 3.26.into(),
        |f| f.axis.as_mut().unwrap().tilt_deg = 91.0.into(),
        |f| f.predicted[0].factor = 1.8.into(),
        |f| f.predicted[0].axis_deg = 90.0.into(),
        |f| f.pair.as_mut().unwrap().preload_n = Some([190.0, 220.0].map(Into::into)),
        |f| f.pair.as_mut().unwrap().loads_n[1][1] = 201.0.into(),
        |f| f.pair.as_mut().unwrap().apart_min = None,
        |f| f.rate = Some(0.29.into()),
        |f| f.half_angle_deg = None,
        |f| f.take_off[1].amount = Figure::ZERO,
        |f| f.leaves = None,
        |f| f.took_off.as_mut().unwrap().more_deg = Some(46.0.into()),
    ];
    for (at, change) in changes.into_iter().enumerate() {
        let found = verified_with(change);
        assert_eq!(found, ["computed again, it differs in figures"], "change {at}");
    }
}

#[test]
fn verify_lets_the_last_digits_of_a_sine_pass() {
    let changes: [Change; 4] = [
        |f| f.harmonics[1].phase_deg = (360.0 - 1e-10).into(),
        |f| f.stations[1].high_side_deg = Some((200.0 + 1e-10).into()),
        |f| f.axis.as_mut().unwrap().tilt_urad = (3.25 * (1.0 + 1e-12)).into(),
        |f| f.rate = Some((7.0 / 24.0 + 1e-15).into()),
    ];
    for (at, change) in changes.into_iter().enumerate() {
        assert_eq!(verified_with(change), [""; 0], "change {at}");
    }
}
