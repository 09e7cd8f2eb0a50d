//! The published lines, word for word.

use std::sync::Arc;

use ::record::{
    AlertRecord, CheckPlace, FeedEvent, FeedRecord, Place, ReadingRecord, ReadingSource,
    VerdictRecord,
};
use bench::plan::{Holding, Measures, SizeJudged};
use bench::row::{Alert, AlertKind, AttemptReason, Level, State, Subject};
use bench::verdict::{
    Amount, AxisFigures, AxisName, BarFigures, Figures, Longer, Mean, NotMeasured, PairFigures,
    Predicted, Repeat, StationFigures, TookOff, Verdict, WaveFigure,
};
use bench::{Seq, Standing};
use judgement::{Coverage, Known, Limits, Reason, Rule, Word};
use quantity::{Figure, Length, Name, Quoted, Unit, Wall};
use words::{Bound, Stated};

use super::*;

fn name(text: &str) -> Name {
    Name::new(text).unwrap()
}

fn inch(text: &str) -> Length {
    Length::parse(text, Unit::Inch).unwrap()
}

fn at() -> Wall {
    Wall::parse("2027-03-01T14:30:00.25Z").unwrap()
}

fn place() -> Place {
    let check = CheckPlace {
        part: name("inner-spacer"),
        check: name("face-a"),
        attempt: Seq(30),
        number: 1,
    };
    Place { job: name("J-1042"), check: Some(check) }
}

fn reading() -> ReadingRecord {
    ReadingRecord {
        caller: None,
        id: Seq(41),
        at: at(),
        source: ReadingSource::Serial,
        gauge: name("plate"),
        place: Some(place()),
        position: Some(3),
        angle_deg: Some(135.0),
        radius: Some(inch("1.5")),
        station: None,
        value: Quoted::parse("-0.00012", Unit::Inch).unwrap(),
        as_sent: "-0.00012\u{1b}[2J".to_owned(),
        state: State::Placed,
        why: None,
        measured_at: None,
        by: Some(name("ann")),
        voided_by: None,
        voided_caller: None,
    }
}

fn verdict() -> VerdictRecord {
    let figures = Figures {
        max_minus_min: Some(inch("0.00034").into()),
        minimum_zone: Some(Figure::new(254_000 * 10, 3)),
        slope_urad: Some(12.345_678.into()),
        high_side_deg: Some(359.999_9.into()),
        noise_floor: Some(Bound(Length::from_picometres(1))),
        contacts_upper: vec![2],
        closure: Some(-Figure::from(inch("0.00001"))),
        ..Figures::default()
    };
    VerdictRecord {
        caller: None,
        began_caller: None,
        id: Seq(50),
        at: at(),
        by: Some(name("M. Weber")),
        job: name("J-1042"),
        part: name("inner-spacer"),
        check: name("face-a"),
        attempt: 1,
        reason: AttemptReason::First,
        measures: Measures::parse("parallelism").unwrap(),
        setup: Holding::Plate,
        gauge: Some(name("plate")),
        down: Some("face-b".to_owned()),
        remark: Some("chuck 2".to_owned()),
        good: Vec::new(),
        verdict: Arc::new(Verdict {
            attempt: Seq(30),
            tries: 1,
            combined: vec![Seq(30)],
            means: vec![Mean { position: 0, value: inch("0.00034").into() }],
            value: Some(inch("0.00034").into()),
            unit: Unit::Inch,
            limits: Some(Limits::Max(inch("0.00010"))),
            uncertainty: Some(Length::from_picometres(646_579)),
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
            figures,
            advice: vec!["OUT.".to_owned()],
            sayings: Vec::new(),
            cautions: Vec::new(),
            reasons: vec![Reason::GaugeTooCoarse],
        }),
        superseded_by: None,
        standing: Standing::Stands,
    }
}

fn alert(kind: AlertKind, about: Subject) -> AlertRecord {
    AlertRecord {
        acked_caller: None,
        id: Seq(51),
        at: at(),
        place: Some(place()),
        alert: Arc::new(Alert {
            level: Level::Interrupt,
            kind,
            job: Some(Seq(7)),
            attempt: Some(Seq(30)),
            about: Some(about),
            position: None,
            text: "OUT. 0.00034, limit 0.0001. High near the 90 mark.".to_owned(),
        }),
        cleared_at: None,
        acked_at: Some(at()),
        acked_by: Some(name("ann")),
        came_along: false,
    }
}

fn out() -> AlertRecord {
    alert(AlertKind::Out, Subject::Gauge(name("plate")))
}

const VERDICT: &str = concat!(
    r#"{"schema":"verdict/1","id":50,"at":"2027-03-01T14:30:00.250Z","job":"J-1042","#,
    r#""part":"inner-spacer","check":"face-a","attempt":1,"attempt_id":30,"#,
    r#""reason":"first","tries":1,"combined":[30],"#,
    r#""measures":"parallelism","value":"0.00034","unit":"in","tolerance":"0.0001","#,
    r#""limits":{"min":null,"max":"0.0001"},"#,
    r#""uncertainty":"0.00002545587","uncertainty_from":"stated","k":2.0,"repeat_pairs":null,"repeat_df":null,"rule":"guarded","#,
    r#""verdict":"does-not-conform","simple":"does-not-conform","guarded":"does-not-conform","#,
    r#""positions":8,"touches":1,"taken":8,"skipped":0,"setup":"plate","down":"face-b","#,
    r#""remark":"chuck 2","answer":null,"answers":[],"good":[],"#,
    r#""means":[{"position":0,"value":"0.00034"}],"figures":{"max_minus_min":"0.00034","#,
    r#""minimum_zone":"0.00003333","slope_urad":12.346,"high_side_deg":0.0,"#,
    r#""noise_floor":"0.00000000004","contacts_upper":[2],"closure":"-0.00001"},"#,
    r#""advice":["OUT."],"reasons":["gauge-too-coarse"],"superseded_by":null,"standing":"stands","by":"M. Weber"}"#,
);

const ALERT: &str = concat!(
    r#"{"schema":"alert/1","id":51,"at":"2027-03-01T14:30:00.250Z","level":"interrupt","#,
    r#""kind":"out","job":"J-1042","part":"inner-spacer","check":"face-a","gauge":"plate","#,
    r#""text":"OUT. 0.00034, limit 0.0001. High near the 90 mark.","cleared_at":null,"#,
    r#""acked_at":"2027-03-01T14:30:00.250Z","acked_by":"ann"}"#,
);

#[test]
fn a_reading_is_told_in_the_unit_and_with_the_places_sent() {
    let expected = concat!(
        r#"{"schema":"reading/1","id":41,"at":"2027-03-01T14:30:00.250Z","gauge":"plate","#,
        r#""source":"serial","file":null,"row":null,"job":"J-1042","part":"inner-spacer","#,
        r#""check":"face-a","attempt":1,"position":3,"angle_deg":135.0,"radius":"1.5","#,
        r#""station":null,"value":"-0.00012","unit":"in","as_sent":"-0.00012\u001b[2J","state":"placed","#,
        r#""why":null,"by":"ann","voided_by":null}"#,
    );
    assert_eq!(reading().line(), expected);
}

#[test]
fn a_row_of_a_file_nobody_asked_for_has_its_file_and_no_position() {
    let record = ReadingRecord {
        caller: None,
        source: ReadingSource::Drop { file: "ring.csv".to_owned(), line: 7 },
        place: None,
        position: None,
        angle_deg: None,
        radius: None,
        value: Quoted::parse("12.3450", Unit::Millimetre).unwrap(),
        as_sent: "12.3450".to_owned(),
        state: State::Unclaimed,
        why: Some("no check is active".to_owned()),
        ..reading()
    };
    let expected = concat!(
        r#"{"schema":"reading/1","id":41,"at":"2027-03-01T14:30:00.250Z","gauge":"plate","#,
        r#""source":"drop","file":"ring.csv","row":7,"job":null,"part":null,"check":null,"#,
        r#""attempt":null,"position":null,"angle_deg":null,"radius":null,"station":null,"value":"12.3450","#,
        r#""unit":"mm","as_sent":"12.3450","state":"unclaimed","why":"no check is active","by":"ann","voided_by":null}"#,
    );
    assert_eq!(record.line(), expected);
}

#[test]
fn a_verdict_has_every_key_and_only_the_figures_that_apply() {
    assert_eq!(verdict().line(), VERDICT);
}

#[test]
fn an_incomplete_verdict_of_a_band_has_nulls_and_both_limits() {
    let first = verdict();
    let record = VerdictRecord {
        caller: None,
        verdict: Arc::new(Verdict {
            value: None,
            uncertainty: None,
            k: None,
            known: Known::Assumed,
            unit: Unit::Millimetre,
            limits: Some(Limits::Band { min: inch("1"), max: inch("1.0001") }),
            rule: Rule::Simple,
            word: Word::Incomplete,
            simple: None,
            guarded: None,
            figures: Figures::default(),
            advice: Vec::new(),
            sayings: Vec::new(),
            cautions: Vec::new(),
            reasons: Vec::new(),
            ..(*first.verdict).clone()
        }),
        superseded_by: Some(Seq(60)),
        standing: Standing::Superseded,
        ..first
    };
    let line = record.line();
    let expected = concat!(
        r#""value":null,"unit":"mm","tolerance":{"min":"25.4","max":"25.40254"},"#,
        r#""limits":{"min":"25.4","max":"25.40254"},"#,
        r#""uncertainty":null,"uncertainty_from":"assumed","k":null,"repeat_pairs":null,"repeat_df":null,"rule":"simple","#,
        r#""verdict":"incomplete","simple":null,"guarded":null,"#,
    );
    assert!(line.contains(expected), "{line}");
    assert!(
        line.ends_with(
            r#""figures":{},"advice":[],"reasons":[],"superseded_by":60,"standing":"superseded","by":"M. Weber"}"#
        ),
        "{line}"
    );
    let back: VerdictLine = serde_json::from_str(&line).unwrap();
    assert_eq!(back, VerdictLine::from(&record));
}

#[test]
fn a_verdict_on_an_answer_has_no_figures_no_tolerance_and_no_set_up() {
    let first = verdict();
    let asked = Verdict {
        value: None,
        means: Vec::new(),
        uncertainty: None,
        limits: None,
        word: Word::Conforms,
        simple: Some(Word::Conforms),
        guarded: Some(Word::Conforms),
        positions: 0,
        taken: 0,
        answer: Some("yes".to_owned()),
        figures: Figures::default(),
        advice: Vec::new(),
        sayings: Vec::new(),
        cautions: Vec::new(),
        reasons: Vec::new(),
        ..(*first.verdict).clone()
    };
    let record = VerdictRecord {
        caller: None,
        measures: Measures::parse("confirm").unwrap(),
        gauge: None,
        down: None,
        remark: None,
        good: vec!["yes".to_owned(), "no play".to_owned()],
        verdict: Arc::new(asked),
        ..first
    };
    let line = record.line();
    let expected = concat!(
        r#""measures":"confirm","value":null,"unit":"in","tolerance":null,"limits":{"min":null,"max":null},"uncertainty":null,"#,
        r#""uncertainty_from":"stated","k":2.0,"repeat_pairs":null,"repeat_df":null,"rule":"guarded","verdict":"conforms","simple":"conforms","#,
        r#""guarded":"conforms","positions":0,"touches":1,"taken":0,"skipped":0,"setup":null,"down":null,"#,
        r#""remark":null,"answer":"yes","answers":[],"good":["yes","no play"],"#,
        r#""means":[],"figures":{},"advice":[],"#,
    );
    assert!(line.contains(expected), "{line}");
}

#[test]
fn the_figures_of_a_turn_a_bar_a_pair_and_a_regrind_have_their_names() {
    let line = |figures: Figures| {
        let first = verdict();
        let verdict = Arc::new(Verdict { figures, ..(*first.verdict).clone() });
        let record = VerdictRecord { caller: None, verdict, ..first };
        let line = record.line();
        let back: VerdictLine = serde_json::from_str(&line).unwrap();
        assert_eq!(back, VerdictLine::from(&record));
        let from = line.find(r#""figures":"#).unwrap();
        let to = line.find(r#","advice""#).unwrap();
        line[from..to].to_owned()
    };
    assert_eq!(line(turn_figures()), TURN);
    assert_eq!(line(bar_figures()), BAR);
    assert_eq!(line(pair_figures()), PAIR);
}

fn figure(text: &str) -> Figure {
    inch(text).into()
}

fn turn_figures() -> Figures {
    let lobe = |order, amplitude, phase_deg: f64| {
        let phase_deg = phase_deg.into();
        WaveFigure { order, amplitude: figure(amplitude), phase_deg }
    };
    Figures {
        harmonics: vec![lobe(1, "0.00002057", 129.912_34), lobe(2, "0.00001343", 359.999_9)],
        eccentricity: Some(figure("0.00002057")),
        axis_deg: Some(309.912_34.into()),
        out_of_round: Some(figure("0.00004181") + Figure::new(1, 3)),
        unfiltered: Some(figure("0.00009")),
        judged: Some(SizeJudged::EveryTouch),
        to_20_c: Some(figure("-0.00001")),
        dish: Some(figure("0.00002")),
        saddle_factor: Some(std::f64::consts::SQRT_2.into()),
        rate: Some((7.0 / 24.0).into()),
        half_angle_deg: Some(8.297_144_96.into()),
        ..Figures::default()
    }
}

const TURN: &str = concat!(
    r#""figures":{"judged":"every-touch","to_20_c":"-0.00001","dish":"0.00002","#,
    r#""saddle_factor":1.415,"harmonics":[{"order":1,"amplitude":"0.00002057","#,
    r#""phase_deg":129.912},{"order":2,"amplitude":"0.00001343","phase_deg":0.0}],"#,
    r#""eccentricity":"0.00002057","axis_deg":309.912,"out_of_round":"0.00004181","#,
    r#""unfiltered":"0.00009","rate":0.291666667,"half_angle_deg":8.297145}"#,
);

fn bar_figures() -> Figures {
    let plain = StationFigures {
        at: Stated(inch("0.25")),
        value: figure("0.00006"),
        tolerance: Limits::Max(inch("0.0001")),
        uncertainty: Bound(Length::from_picometres(692_912)),
        verdict: Word::Conforms,
        seatings: vec![figure("0.00006")],
        eccentricity: None,
        high_side_deg: None,
        axis_deg: None,
        bar: None,
        repeat: None,
        mean_of_seatings: None,
        mean_of_totals: None,
        mean_sweep: None,
    };
    let split = StationFigures {
        at: Stated(inch("3")),
        seatings: vec![figure("0.00006"), figure("0.00016")],
        verdict: Word::Undecided,
        eccentricity: Some(figure("0.00005098")),
        high_side_deg: Some(30.0.into()),
        axis_deg: Some(30.0.into()),
        bar: Some(BarFigures { eccentricity: figure("0.00003648"), high_side_deg: 246.21.into() }),
        repeat: Some(Repeat { difference: figure("0.00001115"), limit: figure("0.00004243") }),
        mean_of_seatings: Some(figure("0.00011681")),
        mean_of_totals: Some(figure("0.000115")),
        mean_sweep: Some(figure("0.0001")),
        ..plain.clone()
    };
    let axis = AxisFigures {
        name: AxisName::Bar,
        offset: figure("0.00003685"),
        offset_deg: 12.5.into(),
        tilt_urad: 35.543_21.into(),
        tilt_deg: 200.0.into(),
    };
    let predicted = Predicted {
        at: Stated(inch("6")),
        value: figure("0.00037211"),
        uncertainty: Bound(Length::from_picometres(2_402_332)),
        factor: 2.358_2.into(),
        axis_deg: 158.8.into(),
        label: NotMeasured::Predicted,
    };
    Figures {
        stations: vec![plain, split],
        axis: Some(axis),
        predicted: vec![predicted],
        ..Figures::default()
    }
}

const BAR: &str = concat!(
    r#""figures":{"stations":[{"at":"0.25","value":"0.00006","tolerance":"0.0001","#,
    r#""uncertainty":"0.00002728","verdict":"conforms","seatings":["0.00006"],"#,
    r#""limits":{"min":null,"max":"0.0001"}},"#,
    r#"{"at":"3","value":"0.00006","tolerance":"0.0001","uncertainty":"0.00002728","#,
    r#""verdict":"undecided","seatings":["0.00006","0.00016"],"eccentricity":"0.00005098","#,
    r#""high_side_deg":30.0,"axis_deg":30.0,"bar":{"eccentricity":"0.00003648","#,
    r#""high_side_deg":246.21},"repeat":{"difference":"0.00001115","limit":"0.00004243"},"#,
    r#""mean_of_seatings":"0.00011681","mean_of_totals":"0.000115","mean_sweep":"0.0001","limits":{"min":null,"max":"0.0001"}}],"axis":{"name":"bar axis as seated","#,
    r#""offset":"0.00003685","offset_deg":12.5,"tilt_urad":35.543,"tilt_deg":200.0},"#,
    r#""predicted":[{"at":"6","value":"0.00037211","uncertainty":"0.00009458","factor":2.358,"#,
    r#""axis_deg":158.8,"label":"predicted, not measured"}]}"#,
);

fn pair_figures() -> Figures {
    let pair = PairFigures {
        lengths: [figure("1.00002"), figure("1.00006")],
        longer: Longer::Sure,
        required: Some(figure("0.00001969")),
        preload_n: Some([200.0, 240.0].map(Into::into)),
        loads_n: [[197.3, 258.4], [182.1, 241.8]].map(|load| load.map(Into::into)).to_vec(),
        apart_min: Some(95),
    };
    let took = TookOff {
        at: [(0, figure("0.00053")), (7, figure("0.00051"))].map(Amount::from).to_vec(),
        same_zero: true,
        tilt: Some(figure("0.00015")),
        more_deg: Some(0.0.into()),
    };
    Figures {
        pair: Some(pair),
        take_off: [(0, figure("0.00027")), (4, Figure::ZERO)].map(Amount::from).to_vec(),
        leaves: Some(figure("1.99996")),
        took_off: Some(took),
        ..Figures::default()
    }
}

const PAIR: &str = concat!(
    r#""figures":{"pair":{"lengths":["1.00002","1.00006"],"longer":"sure","#,
    r#""required":"0.00001969","preload_n":[200.0,240.0],"#,
    r#""loads_n":[[197.3,258.4],[182.1,241.8]],"apart_min":95},"#,
    r#""take_off":[{"position":0,"amount":"0.00027"},{"position":4,"amount":"0"}],"#,
    r#""leaves":"1.99996","took_off":{"at":[{"position":0,"amount":"0.00053"},"#,
    r#"{"position":7,"amount":"0.00051"}],"same_zero":true,"tilt":"0.00015","more_deg":0.0}}"#,
);

#[test]
fn an_alert_names_its_gauge_and_no_file_as_one() {
    assert_eq!(out().line(), ALERT);
    let file = alert(AlertKind::FileRefused, Subject::Drop(name("height-logger")));
    assert!(file.line().contains(r#""kind":"file-refused""#));
    assert!(file.line().contains(r#""gauge":null"#));
}

#[test]
fn the_feed_carries_whole_alerts_and_verdicts() {
    let record = |event| FeedRecord { feed: "a1".into(), seq: 9, at: Some(at()), event };
    let head = |event| {
        format!(
            r#"{{"schema":"feed/1","feed":"a1","seq":9,"at":"2027-03-01T14:30:00.250Z","event":"{event}","#
        )
    };
    let raised = feed_line(&record(FeedEvent::Raised(Box::new(out()))), Unit::Inch);
    assert_eq!(raised, format!("{}\"alert\":{ALERT}}}", head("raised")));
    let seen = feed_line(&record(FeedEvent::Seen(Box::new(out()))), Unit::Inch);
    assert_eq!(seen, format!("{}\"alert\":{ALERT}}}", head("seen")));
    let cleared = feed_line(&record(FeedEvent::Cleared(Box::new(out()))), Unit::Inch);
    assert_eq!(cleared, format!("{}\"alert\":{ALERT}}}", head("cleared")));
    let judged = feed_line(&record(FeedEvent::Verdict(Box::new(verdict()))), Unit::Inch);
    let told =
        r#""told":{"unit":"in","value":"0.00034","limit":"0.0001","uncertainty":"0.000026"}"#;
    assert_eq!(judged, format!("{}\"verdict\":{VERDICT},{told}}}", head("verdict")));
}

#[test]
fn a_connection_that_follows_the_feed_is_understood_line_by_line() {
    use super::feed::{Said, parse_said};
    let begins =
        super::Begins { from: 12, anew: Some(super::Anew::PastTheEnd), ..Default::default() };
    assert_eq!(parse_said(&tail_line(&begins)), Ok(Some(Said::Begins(begins))));
    let record = FeedRecord {
        feed: "a1".into(),
        seq: 9,
        at: Some(at()),
        event: FeedEvent::Verdict(Box::new(verdict())),
    };
    match parse_said(&feed_line(&record, Unit::Inch)) {
        Ok(Some(Said::Feed(line))) => assert_eq!(*line, FeedLine::of(&record, Unit::Inch)),
        other => panic!("{other:?}"),
    }
    assert!(matches!(
        parse_said(&storage_line(StorageState::Failing, "the disk is full")),
        Ok(Some(Said::Storage(news))) if news.state == StorageState::Failing
    ));
    assert_eq!(parse_said(r#"{"schema":"weather/1"}"#), Ok(None));
    assert!(matches!(
        parse_said(&error_line("no such number", None, 2)),
        Ok(Some(Said::Refused(reply))) if reply.exit == 2
    ));
    assert!(parse_said(r#"{"schema":"feed/1","seq"#).is_err());
}
