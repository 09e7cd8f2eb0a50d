//! The published lines, word for word.

use std::sync::Arc;

use crate::bench::Seq;
use crate::bench::plan::{Holding, Measures};
use crate::bench::row::{Alert, AlertKind, AttemptReason, Level, State};
use crate::bench::verdict::{Figures, Verdict};
use crate::judgement::{Limits, Reason, Rule, Word};
use crate::quantity::{Figure, Length, Name, Quoted, Unit, Wall};
use crate::store::{
    AlertRecord, CheckPlace, FeedEvent, FeedRecord, Place, ReadingRecord, ReadingSource,
    VerdictRecord,
};

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
        id: Seq(41),
        at: at(),
        source: ReadingSource::Serial,
        gauge: name("plate"),
        place: Some(place()),
        position: Some(3),
        angle_deg: Some(135.0),
        radius: Some(inch("1.5")),
        value: Quoted::parse("-0.00012", Unit::Inch).unwrap(),
        as_sent: "-0.00012\u{1b}[2J".to_owned(),
        state: State::Placed,
        why: None,
        measured_at: None,
    }
}

fn verdict() -> VerdictRecord {
    let figures = Figures {
        max_minus_min: Some(inch("0.00034").into()),
        minimum_zone: Some(Figure::new(254_000 * 10, 3)),
        slope_urad: Some(12.345_678),
        high_side_deg: Some(359.999_9),
        noise_floor: Some(Length::from_picometres(1)),
        contacts_upper: vec![2],
        closure: Some(-Figure::from(inch("0.00001"))),
        ..Figures::default()
    };
    VerdictRecord {
        id: Seq(50),
        at: at(),
        job: name("J-1042"),
        part: name("inner-spacer"),
        check: name("face-a"),
        attempt: 1,
        reason: AttemptReason::First,
        measures: Measures::Parallelism,
        setup: Holding::Plate,
        gauge: Some(name("plate")),
        verdict: Arc::new(Verdict {
            attempt: Seq(30),
            tries: 1,
            value: Some(inch("0.00034").into()),
            unit: Unit::Inch,
            limits: Some(Limits::Max(inch("0.00010"))),
            uncertainty: Some(Length::from_picometres(646_579)),
            assumed: false,
            rule: Rule::Guarded,
            word: Word::DoesNotConform,
            simple: Some(Word::DoesNotConform),
            guarded: Some(Word::DoesNotConform),
            positions: 8,
            taken: 8,
            skipped: 0,
            answer: None,
            figures,
            advice: vec!["OUT.".to_owned()],
            reasons: vec![Reason::GaugeTooCoarse],
        }),
        superseded_by: None,
    }
}

fn alert(kind: AlertKind, about: &str) -> AlertRecord {
    AlertRecord {
        id: Seq(51),
        at: at(),
        place: Some(place()),
        alert: Arc::new(Alert {
            level: Level::Interrupt,
            kind,
            job: Some(Seq(7)),
            attempt: Some(Seq(30)),
            about: Some(about.to_owned()),
            text: "OUT. 0.00034, limit 0.0001. High near the 90 mark.".to_owned(),
        }),
        cleared_at: None,
        acked_at: Some(at()),
    }
}

fn out() -> AlertRecord {
    alert(AlertKind::Out, "plate")
}

const VERDICT: &str = concat!(
    r#"{"schema":"verdict/1","id":50,"at":"2027-03-01T14:30:00.250Z","job":"J-1042","#,
    r#""part":"inner-spacer","check":"face-a","attempt":1,"reason":"first","tries":1,"#,
    r#""measures":"parallelism","value":"0.00034","unit":"in","tolerance":"0.0001","#,
    r#""uncertainty":"0.00002545587","uncertainty_from":"stated","rule":"guarded","#,
    r#""verdict":"does-not-conform","simple":"does-not-conform","guarded":"does-not-conform","#,
    r#""positions":8,"taken":8,"skipped":0,"setup":"plate","figures":{"max_minus_min":"0.00034","#,
    r#""minimum_zone":"0.00003333","slope_urad":12.346,"high_side_deg":0.0,"#,
    r#""noise_floor":"0.00000000004","contacts_upper":[2],"closure":"-0.00001"},"#,
    r#""advice":["OUT."],"reasons":["gauge-too-coarse"],"superseded_by":null}"#,
);

const ALERT: &str = concat!(
    r#"{"schema":"alert/1","id":51,"at":"2027-03-01T14:30:00.250Z","level":"interrupt","#,
    r#""kind":"out","job":"J-1042","part":"inner-spacer","check":"face-a","gauge":"plate","#,
    r#""text":"OUT. 0.00034, limit 0.0001. High near the 90 mark.","cleared_at":null,"#,
    r#""acked_at":"2027-03-01T14:30:00.250Z"}"#,
);

#[test]
fn a_reading_is_told_in_the_unit_and_with_the_places_sent() {
    let expected = concat!(
        r#"{"schema":"reading/1","id":41,"at":"2027-03-01T14:30:00.250Z","gauge":"plate","#,
        r#""source":"serial","file":null,"row":null,"job":"J-1042","part":"inner-spacer","#,
        r#""check":"face-a","attempt":1,"position":3,"angle_deg":135.0,"radius":"1.5","#,
        r#""value":"-0.00012","unit":"in","as_sent":"-0.00012\u001b[2J","state":"placed","#,
        r#""why":null}"#,
    );
    assert_eq!(reading_line(&reading()), expected);
}

#[test]
fn a_row_of_a_file_nobody_asked_for_has_its_file_and_no_position() {
    let record = ReadingRecord {
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
        r#""attempt":null,"position":null,"angle_deg":null,"radius":null,"value":"12.3450","#,
        r#""unit":"mm","as_sent":"12.3450","state":"unclaimed","why":"no check is active"}"#,
    );
    assert_eq!(reading_line(&record), expected);
}

#[test]
fn a_verdict_has_every_key_and_only_the_figures_that_apply() {
    assert_eq!(verdict_line(&verdict()), VERDICT);
}

#[test]
fn an_incomplete_verdict_of_a_band_has_nulls_and_both_limits() {
    let first = verdict();
    let record = VerdictRecord {
        verdict: Arc::new(Verdict {
            value: None,
            uncertainty: None,
            assumed: true,
            unit: Unit::Millimetre,
            limits: Some(Limits::Band { min: inch("1"), max: inch("1.0001") }),
            rule: Rule::Simple,
            word: Word::Incomplete,
            simple: None,
            guarded: None,
            figures: Figures::default(),
            advice: Vec::new(),
            reasons: Vec::new(),
            ..(*first.verdict).clone()
        }),
        superseded_by: Some(Seq(60)),
        ..first
    };
    let line = verdict_line(&record);
    let expected = concat!(
        r#""value":null,"unit":"mm","tolerance":{"min":"25.4","max":"25.40254"},"#,
        r#""uncertainty":null,"uncertainty_from":"assumed","rule":"simple","#,
        r#""verdict":"incomplete","simple":null,"guarded":null,"#,
    );
    assert!(line.contains(expected), "{line}");
    assert!(
        line.ends_with(r#""figures":{},"advice":[],"reasons":[],"superseded_by":60}"#),
        "{line}"
    );
    let back: VerdictLine = serde_json::from_str(&line).unwrap();
    assert_eq!(back, VerdictLine::from(&record));
}

#[test]
fn an_alert_names_its_gauge_and_no_file_as_one() {
    assert_eq!(alert_line(&out()), ALERT);
    let file = alert(AlertKind::FileRefused, "height-logger");
    assert!(alert_line(&file).contains(r#""kind":"file-refused""#));
    assert!(alert_line(&file).contains(r#""gauge":null"#));
}

#[test]
fn the_feed_carries_whole_alerts_and_verdicts() {
    let record = |event| FeedRecord { seq: 9, at: at(), event };
    let head = |event| {
        format!(r#"{{"schema":"feed/1","seq":9,"at":"2027-03-01T14:30:00.250Z","event":"{event}","#)
    };
    let raised = feed_line(&record(FeedEvent::Raised(Box::new(out()))));
    assert_eq!(raised, format!("{}\"alert\":{ALERT}}}", head("raised")));
    let seen = feed_line(&record(FeedEvent::Seen(Box::new(out()))));
    assert_eq!(seen, format!("{}\"alert\":{ALERT}}}", head("seen")));
    let cleared = feed_line(&record(FeedEvent::Cleared(Box::new(out()))));
    assert_eq!(cleared, format!("{}\"alert\":{ALERT}}}", head("cleared")));
    let judged = feed_line(&record(FeedEvent::Verdict(Box::new(verdict()))));
    assert_eq!(judged, format!("{}\"verdict\":{VERDICT}}}", head("verdict")));
}

#[test]
fn a_connection_that_follows_the_feed_is_understood_line_by_line() {
    use super::feed::{Told, parse_told};
    assert_eq!(parse_told(&tail_line(12)), Ok(Some(Told::From(12))));
    let record = FeedRecord { seq: 9, at: at(), event: FeedEvent::Verdict(Box::new(verdict())) };
    match parse_told(&feed_line(&record)) {
        Ok(Some(Told::Feed(line))) => assert_eq!(*line, FeedLine::from(&record)),
        other => panic!("{other:?}"),
    }
    assert!(matches!(
        parse_told(&storage_line("failing", "the disk is full")),
        Ok(Some(Told::Storage(news))) if news.state == "failing"
    ));
    assert_eq!(parse_told(r#"{"schema":"weather/1"}"#), Ok(None));
    assert!(matches!(
        parse_told(&error_line("no such number", None, 2)),
        Ok(Some(Told::Refused(reply))) if reply.exit == 2
    ));
    assert!(parse_told(r#"{"schema":"feed/1","seq"#).is_err());
}
