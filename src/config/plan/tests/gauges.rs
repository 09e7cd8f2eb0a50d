//! Plans compared with the gauges of a bench.

use std::collections::BTreeMap;

use super::*;
use bench::setup::{GaugeKind, GaugeSetup};
use quantity::Quoted;

/// What `config check` says of a check on a bench with one gauge: resolution 0.00001 in.
fn doubts(check: &str, repeatability: Option<&str>) -> Vec<String> {
    let text = format!("{HEAD}[[part]]\nname = \"a\"\n[[part.check]]\nname = \"x\"\n{check}");
    let read = read(&text, "p");
    assert!(read.findings.is_empty(), "{:#?}", read.findings);
    let name = Name::new("g").unwrap();
    let gauge = GaugeSetup {
        name: name.clone(),
        kind: GaugeKind::Indicator,
        unit: None,
        resolution: Quoted::parse("0.00001", Unit::Inch).unwrap(),
        uncertainty: Some(inch("0.0000084")),
        repeatability: repeatability.map(inch),
        travel: None,
        serial: None,
        calibration_due: None,
        lever_mdeg: 0,
        wire: None,
    };
    let gauges = BTreeMap::from([(name, Some(gauge))]);
    let findings = fit::findings("p", &read.plan.unwrap(), &read.lines, &gauges);
    findings.iter().map(ToString::to_string).collect()
}

#[test]
fn gauges_are_held_against_each_station_of_a_bar() {
    let bar = |near: &str, far: &str, rest: &str| {
        format!(
            "{BAR}stations = [\n{{ at = 0.25, tolerance = {near} }},\n{{ at = \"3 in\", tolerance = \
             {far} }}]\n{rest}"
        )
    };
    // U = 2·√(2·6² + (2·4)²) = 23.3 millionths, below a quarter of 0.0001; with 10 for a seating
    // U = 2·√(72 + 400) = 43.5, above it and below a quarter of 0.0002.
    let s = Some("0.000006");
    assert_eq!(doubts(&bar("0.0001", "0.0002", "seating = 0.000004\n"), s), [""; 0]);
    let near = "p:11: warning: seated once, the bar is known to ± 0.000044 in at 0.25 in, more than \
                a quarter of the tolerance — seat it four times: write seatings = 4";
    assert_eq!(doubts(&bar("0.0001", "0.0002", "seating = 0.00001\n"), s), [near]);
    assert_eq!(doubts(&bar("0.0001", "0.0002", "seating = 0.00001\nseatings = 4\n"), s), [""; 0]);
    // Without a repeatability the stated uncertainty stands in for it: U = 2·√(2·8.4² + 8²) = 28.6.
    let told = doubts(&bar("0.0001", "0.0002", "seating = 0.000004\n"), None);
    single(&told, "stated", "known to ± 0.000029 in at 0.25 in");
    let told = doubts(&bar("0.0001", "0.000039", "seatings = 4\n"), s);
    let far = "p:12: warning: gauge-too-coarse: a step of gauge \"g\", 0.00001 in, is more than a \
               quarter of the tolerance at 3 in; it may fail x, never pass it";
    single(&told, "far", far);
}

#[test]
fn gauges_are_held_against_turns_and_tapers_and_nothing_else() {
    let turn = format!("{TURN}positions = 10\ntolerance = 0.000039\n");
    single(&doubts(&turn, None), &turn, "p:10: warning: gauge-too-coarse");
    let closed = format!("{TURN}positions = 10\ntolerance = 0.00005\nclosure = true\n");
    single(
        &doubts(&closed, None),
        &closed,
        "p:10: warning: gauge \"g\" cannot check its own return",
    );
    let taper = format!("{}stations = [1, 2, 3]\n", TAPER.replace("0.0002", "0.000039"));
    single(&doubts(&taper, None), &taper, "p:9: warning: gauge-too-coarse");
    assert_eq!(doubts("measures = \"entry\"\nquestion = \"?\"\n", None), [""; 0]);
}
