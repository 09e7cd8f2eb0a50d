//! Lengths and their differences through the real program: one zero for both, what U includes, and advice in
//! the gauge's own digits. The readings are invented; expected figures are worked out beside them with a
//! pocket calculator, in millionths of an inch.

use std::fmt::Write;

use serde_json::{Value, json};

use crate::rig::{Bench, Make};

/// 0.00001 in readout, s 0.000006 in, u 0.0000084 in.
const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0\n";

/// Four touches on a ring of 1.5 in; nothing is left to be assumed, and nothing of heat and master
/// counts.
const LENGTH: &str = "measures = \"length\"\ngauge = \"plate\"\nsetup = \"plate\"\npositions = 4\n\
                      closure = true\nnominal = \"1.5000 in\"\nmin = \"1.4990 in\"\n\
                      max = \"1.5010 in\"\nmaster_size = \"1.5000 in\"\n";
const EXACT: &str = "master_uncertainty = \"0 in\"\ntemperature_between = 0\noff_20 = 0\n\
                     expansion_uncertainty = 0\n";
const MATCH: &str = "measures = \"difference\"\nof = [\"outer/length\", \"inner/length\"]\n\
                     tolerance = \"0.0001 in\"\ntemperature_between = 0\noff_20 = 0\n\
                     expansion_uncertainty = 0\n";

fn started(gauge: &str, checks: &[(&str, &str, &str)]) -> Bench {
    let mut plan = "name = \"held\"\nunit = \"in\"\n".to_owned();
    let mut before = "";
    for (part, check, keys) in checks {
        if *part != before {
            writeln!(plan, "[[part]]\nname = \"{part}\"\nkind = \"spacer\"").unwrap();
            before = part;
        }
        writeln!(plan, "[[part.check]]\nname = \"{check}\"\n{keys}").unwrap();
    }
    let mut bench = Bench::new(&Make { gauge, more: "", plan: &plan });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench
}

/// Measures a length: the touches as they are made, the master first and last.
fn length(bench: &Bench, part: &str, touches: &[&str]) -> Value {
    bench.ok(&["measure", &format!("{part}/length")]);
    let mut arguments = vec!["enter"];
    arguments.extend(touches);
    bench.ok(&arguments);
    newest(bench, part, "length")
}

fn pair(bench: &Bench) -> Value {
    bench.ok(&["measure", "pair/match"]);
    newest(bench, "pair", "match")
}

fn newest(bench: &Bench, part: &str, check: &str) -> Value {
    let verdicts = bench.lines(&["verdicts", "s1", "--part", part, "--check", check]);
    verdicts.last().cloned().unwrap_or_default()
}

fn number(value: &Value) -> f64 {
    value.as_str().unwrap().parse().unwrap()
}

/// A figure in inches against one in millionths.
#[track_caller]
fn near(value: &Value, millionths: f64, within: f64) {
    let found = number(value) * 1e6;
    assert!((found - millionths).abs() <= within, "{found} is not {millionths}");
}

fn advice(verdict: &Value) -> Vec<&str> {
    let advice = verdict["advice"].as_array().unwrap();
    advice.iter().map(|said| said.as_str().unwrap()).collect()
}

#[test]
fn a_length_stands_on_the_line_between_both_touches_on_the_master() {
    let bench = started(GAUGE, &[("ring", "length", &format!("{LENGTH}{EXACT}"))]);
    let touches = ["0", "0.00010", "0.00012", "0.00012", "0.00014", "0.00014", "0.00006"];
    let verdict = length(&bench, "ring", &touches);
    // Six steps from master to master, the touches at 1, 2, 3, 4: at 2.5/6 of the walk of 60 on the
    // mean. 120 − 25 = 95. The walk's share (7/12)·60/√3 = 20.2; 2·√(2·8.4² + 20.2²) = 46.9.
    near(&verdict["value"], 1_500_095.0, 0.001);
    near(&verdict["uncertainty"], 46.88, 0.01);
    assert_eq!(verdict["verdict"], "conforms", "a band of ±0.001 in holds that: {verdict}");
    assert_eq!(verdict["reasons"], json!([]));
    assert_eq!(verdict["uncertainty_from"], "stated");
    near(&verdict["figures"]["zero_walk"], 60.0, 0.001);
    near(&verdict["figures"]["zero"], 25.0, 0.001);
}

#[test]
fn a_walk_of_more_than_half_the_tolerance_or_that_reaches_a_limit_withholds_a_length() {
    let touches = ["0", "0.00010", "0.00012", "0.00012", "0.00014", "0.00014", "0.00006"];
    for (band, reasons) in [
        // Half of T = 100 is 50, the walk 60.
        (["1.4999 in", "1.5001 in"], json!(["zero-moved"])),
        // Half of T = 120 is 60, a tie; but 95 + 46.9 reaches 120.
        (["1.49988 in", "1.50012 in"], json!(["zero-moved"])),
        // T = 145: 95 + 46.9 does not reach it, and 60 is less than 72.5. Position 0 came back 40
        // different, more than T/4 = 36.25, but the line takes 60·4/6 = 40 of it out.
        (["1.499855 in", "1.500145 in"], json!([])),
    ] {
        let keys = LENGTH.replace("1.4990 in", band[0]).replace("1.5010 in", band[1]);
        let bench = started(GAUGE, &[("ring", "length", &format!("{keys}{EXACT}"))]);
        let verdict = length(&bench, "ring", &touches);
        assert_eq!(verdict["reasons"], reasons, "{band:?}: {verdict}");
        let word = if reasons == json!([]) { "conforms" } else { "undecided" };
        assert_eq!(verdict["verdict"], word);
    }
}

#[test]
fn how_far_a_length_came_back_off_counts_in_its_uncertainty_and_in_that_of_its_pair() {
    let keys = format!("{LENGTH}{EXACT}");
    let bench = started(
        GAUGE,
        &[("outer", "length", &keys), ("inner", "length", &keys), ("pair", "match", MATCH)],
    );
    // Off by 240, less than a quarter of ±1000: nobody is asked. 2·√(2·8.4² + 240²/3) = 278.1.
    let off = ["0", "0.00010", "0.00010", "0.00010", "0.00010", "0.00034", "0"];
    let inner = length(&bench, "inner", &off);
    assert_eq!((&inner["verdict"], &inner["reasons"]), (&json!("conforms"), &json!([])));
    near(&inner["figures"]["closure"], 240.0, 0.001);
    near(&inner["uncertainty"], 278.2, 0.1);
    // The zero walked by 60, of which the line takes 60·4/6 = 40 out: 240 of 280 are left.
    let walked = ["0", "0.00010", "0.00010", "0.00010", "0.00010", "0.00038", "0.00006"];
    let outer = length(&bench, "outer", &walked);
    near(&outer["figures"]["closure"], 240.0, 0.001);
    // And the walk: 2·√(141.12 + (7/12·60)²/3 + 240²/3).
    near(&outer["uncertainty"], 2.0 * (141.12_f64 + 408.33 + 19_200.0).sqrt(), 0.1);
    // Of the pair each half's: 2·√(123.12 + 408.33 + 2·19200).
    let both = pair(&bench);
    near(&both["uncertainty"], 2.0 * (123.12_f64 + 408.33 + 38_400.0).sqrt(), 0.1);
    assert_eq!(both["reasons"], json!(["not-closed", "zero-moved"]), "{both}");
}

#[test]
fn a_length_and_its_pair_say_the_same_of_one_ring() {
    let keys = format!("{LENGTH}{EXACT}");
    let bench = started(
        GAUGE,
        &[("outer", "length", &keys), ("inner", "length", &keys), ("pair", "match", MATCH)],
    );
    let still = ["0", "0.00010", "0.00010", "0.00010", "0.00010", "0.00010", "0"];
    length(&bench, "outer", &still);
    // The master came back 0.00024 different, less than a quarter of the band of ±0.001 in.
    let walked = ["0", "0.00010", "0.00014", "0.00018", "0.00022", "0.00026", "0.00024"];
    let inner = length(&bench, "inner", &walked);
    assert_eq!(inner["verdict"], "conforms", "{inner}");
    // 160 − 240·2.5/6 = 60; 2·√(141.12 + (7/12·240/√3)²) = 163.4.
    near(&inner["value"], 1_500_060.0, 0.001);
    near(&inner["uncertainty"], 163.4, 0.05);
    let both = pair(&bench);
    assert_eq!(both["figures"]["pair"]["lengths"][1], inner["value"]);
    near(&both["value"], 40.0, 0.001);
    assert_eq!(both["reasons"], json!(["zero-moved"]), "{both}");
    // s²/4, s²/2, 8.4² − s² of each ring: 123.12, and the walk.
    near(&both["uncertainty"], 2.0 * (123.12_f64 + 80.829 * 80.829).sqrt(), 0.05);
}

#[test]
fn a_difference_keeps_apart_what_averages_and_what_does_not() {
    let keys = format!("{LENGTH}{EXACT}");
    let checks =
        [("outer", "length", &*keys), ("inner", "length", &*keys), ("pair", "match", MATCH)];
    let flat = |off: &'static str| ["0", off, off, off, off, off, "0"];
    let bench = started(GAUGE, &checks);
    length(&bench, "outer", &flat("0.00002"));
    let single = length(&bench, "inner", &flat("0"));
    let both = pair(&bench);
    // 2·√(2·36/4 + 2·36/2 + 2·34.56) = 22.2, below the 23.8 of either length.
    near(&both["uncertainty"], 22.19, 0.01);
    near(&single["uncertainty"], 23.76, 0.01);
    // Readout only, q/√12 in each of four means: 2·√(4·100/12) = 11.55; one count says nothing.
    let coarse = GAUGE.replace("0.0000084", "0.00000289").replace("0.000006", "0.00000289");
    let bench = started(&coarse, &checks);
    length(&bench, "outer", &flat("0.00001"));
    length(&bench, "inner", &flat("0"));
    let both = pair(&bench);
    near(&both["uncertainty"], 11.55, 0.01);
    assert_eq!(both["figures"]["pair"]["longer"], "cannot-say", "{both}");
    assert!(advice(&both).contains(&"Cannot say which is longer."), "{both}");
}

#[test]
fn master_and_heat_are_in_the_uncertainty_of_a_length() {
    let still = ["0", "0.00010", "0.00010", "0.00010", "0.00010", "0.00010", "0"];
    // Not stated: the master to 10, 1 °C between, 2 °C off 20 °C, 1e-6 per °C:
    // 1.5001 in · 11.5e-6 · 1 = 17.251; 1.5001 in · 1e-6 · 2 = 3.0002.
    let bench = started(GAUGE, &[("ring", "length", LENGTH)]);
    let verdict = length(&bench, "ring", &still);
    let square = 141.12 + 100.0 + 17.251_f64.powi(2) + 3.0002_f64.powi(2);
    let at_least = 2.0 * square.sqrt();
    let found = number(&verdict["uncertainty"]) * 1e6;
    assert!(found >= at_least - 0.01 && found < at_least * 1.15, "{found} and {at_least}");
    assert_eq!(verdict["uncertainty_from"], "assumed", "{verdict}");
    let said = "Assumed: master to 0.00001 in, 1 °C between part and master, 2 °C off 20 °C, \
                1e-6 per °C.";
    assert!(advice(&verdict).contains(&said), "{verdict}");
    // Stated: 2·√(141.12 + 16 + (1.5001·11.5·0.2)² + (1.5001·0.5·1)²) = 26.1.
    let stated = "master_uncertainty = \"0.000004 in\"\ntemperature_between = 0.2\noff_20 = 1\n\
                  expansion_uncertainty = 0.5e-6\n";
    let bench = started(GAUGE, &[("ring", "length", &format!("{LENGTH}{stated}"))]);
    let verdict = length(&bench, "ring", &still);
    let square = 141.12 + 16.0 + 3.450_23_f64.powi(2) + 0.750_05_f64.powi(2);
    near(&verdict["uncertainty"], 2.0 * square.sqrt(), 0.01);
    assert_eq!(verdict["uncertainty_from"], "stated", "{verdict}");
}

#[test]
fn a_plan_may_state_how_well_the_master_is_known() {
    for (keys, said) in [
        ("master_uncertainty = \"-0.000004 in\"\n", "master_uncertainty"),
        ("master_uncertainty = \"0.1 in\"\n", "master_uncertainty"),
        ("master = \"none\"\nmaster_uncertainty = \"0.000004 in\"\n", "no master is touched"),
    ] {
        let plan = format!(
            "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
             [[part.check]]\nname = \"length\"\n{LENGTH}{keys}"
        );
        let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan });
        let output = bench.run(&["config", "check"]);
        let text = String::from_utf8([output.stdout, output.stderr].concat()).unwrap();
        assert!(text.contains(said), "{keys}: {text}");
    }
}

fn alerts(bench: &Bench, kind: &str) -> Vec<String> {
    let all = bench.lines(&["alerts", "s1", "--all"]);
    let of_kind = all.iter().filter(|alert| alert["kind"] == kind);
    of_kind.map(|alert| alert["text"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn what_the_wheel_took_is_told_as_fine_as_the_gauge_reads() {
    let bench = started(GAUGE, &[("ring", "length", &format!("{LENGTH}{EXACT}"))]);
    let before = ["0", "0.00050", "0.00050", "0.00050", "0.00050", "0.00050", "0"];
    length(&bench, "ring", &before);
    bench.ok(&["remeasure", "ground", "ring/length"]);
    let mut arguments = vec!["enter"];
    arguments.extend(["0", "0.00035", "0.00031", "0.00036", "0.00035", "0.00035", "0"]);
    bench.ok(&arguments);
    let verdict = newest(&bench, "ring", "length");
    let said = "The wheel took 0.00019 at 90, 0.00014 at 180.";
    assert!(advice(&verdict).contains(&said), "{verdict}");
    // 1.5005 before; now 0.00035 + 0.00031 + 0.00036 + 0.00035, a quarter of it 0.0003425.
    let notes = alerts(&bench, "regrind");
    let note = format!("ring/length was 1.50050, now 1.50034. {said}");
    assert!(notes.contains(&note), "{notes:?}");
}

#[test]
fn what_a_ring_is_shortened_by_has_its_uncertainty_beside_it() {
    let keys = format!("{LENGTH}{EXACT}");
    let bench = started(
        GAUGE,
        &[("outer", "length", &keys), ("inner", "length", &keys), ("pair", "match", MATCH)],
    );
    length(&bench, "outer", &["0", "0.00017", "0.00016", "0.00015", "0.00016", "0.00017", "0"]);
    length(&bench, "inner", &["0", "0.00001", "0", "0", "0.00002", "0.00001", "0"]);
    let both = pair(&bench);
    // (17 + 16 + 15 + 16)/4 − (1 + 0 + 0 + 2)/4 = 15.25 counts, U 22.19 millionths.
    near(&both["value"], 152.5, 0.001);
    let said = "Shorten outer by 0.00015 ± 0.000023.";
    assert!(advice(&both).contains(&said), "{both}");
}

#[test]
fn a_walk_of_the_zero_is_asked_about_beyond_the_noise_and_told_as_fine_as_the_gauge_reads() {
    let bench = started(GAUGE, &[("ring", "length", &format!("{LENGTH}{EXACT}"))]);
    let walked = ["0", "0.00010", "0.00010", "0.00010", "0.00010", "0.00010", "0.00004"];
    let verdict = length(&bench, "ring", &walked);
    // c = max(3·√2·6, 2·10) = 25.5 millionths, though a quarter of the band is 250.
    let asked = "ring/length: The master came back 0.00004 different. Touch it once more.";
    assert!(alerts(&bench, "not-closed").contains(&asked.to_owned()), "{verdict}");
    bench.ok(&["enter", "0.00004"]);
    let verdict = newest(&bench, "ring", "length");
    assert_eq!(verdict["verdict"], "conforms", "counted in U, no reason to withhold: {verdict}");
    assert_eq!(verdict["reasons"], json!([]));
    let open = bench.lines(&["alerts", "s1"]);
    assert!(open.iter().all(|alert| !alert["cleared_at"].is_null()), "{open:?}");
}

/// A pair and its two rings, the second with what is asked of it.
fn ring_and_fellow(inner: &str) -> Bench {
    let outer = format!("{LENGTH}{EXACT}");
    let inner = format!("{LENGTH}{EXACT}{inner}");
    let checks =
        [("outer", "length", &*outer), ("inner", "length", &*inner), ("pair", "match", MATCH)];
    started(GAUGE, &checks)
}

/// Master, four touches, position 0 once more, master.
const STILL: [&str; 7] = ["0", "0.00010", "0.00011", "0.00010", "0.00011", "0.00010", "0"];

#[track_caller]
fn names(verdict: &Value, reason: &str, sentence: &str) {
    assert!(verdict["reasons"].to_string().contains(reason), "{reason}: {verdict}");
    let told = advice(verdict);
    assert!(told.contains(&sentence), "{sentence}: {told:?}");
}

#[test]
fn a_pair_names_the_ring_that_each_reason_comes_from() {
    // The zero of the inner ring walked by 80: more than half the tolerance of the difference.
    let bench = ring_and_fellow("");
    length(&bench, "outer", &STILL);
    let walked = ["0", "0.00010", "0.00012", "0.00013", "0.00014", "0.00016", "0.00008"];
    length(&bench, "inner", &walked);
    let sentence = "inner/length: the master came back different: measure it again.";
    let verdict = pair(&bench);
    names(&verdict, "zero-moved", sentence);
    assert!(!advice(&verdict).iter().any(|said| said.starts_with("outer/length")), "{verdict}");
    // In the table and in the reply it is that sentence, not one that leaves it open.
    assert!(!advice(&verdict).contains(&"The master came back different."), "{verdict}");
    assert!(bench.ok(&["alerts", "s1"]).contains("inner/length"));

    // Tries that are nothing to a length of ±0.001 in differ too much for a tenth.
    let bench = ring_and_fellow("");
    length(&bench, "outer", &STILL);
    bench.ok(&["remeasure", "again", "outer/length"]);
    let higher = ["0", "0.00030", "0.00031", "0.00030", "0.00031", "0.00030", "0"];
    bench.ok(&[&["enter"][..], &higher].concat());
    length(&bench, "inner", &STILL);
    let sentence = "outer/length: its tries differ too much to be the same metal.";
    names(&pair(&bench), "tries-differ", sentence);
}

#[test]
fn a_pair_of_which_one_ring_is_warm_is_withheld() {
    // The second ring came off the grinder 3 °C above the master: 1.5 · 11.5e-6 · 3 is 52 millionths,
    // nothing to a length of ±0.001 in and half the tolerance of the difference.
    let at = |ring: &str| format!("{LENGTH}{EXACT}temperatures = [\"of/{ring}\", \"of/master\"]\n");
    let entry = "measures = \"entry\"\nquestion = \"temperature\"\nunit = \"C\"\n";
    let (outer, inner) = (at("outer"), at("inner"));
    let checks = [
        ("of", "outer", entry),
        ("of", "inner", entry),
        ("of", "master", entry),
        ("outer", "length", &*outer),
        ("inner", "length", &*inner),
        ("pair", "match", MATCH),
    ];
    let bench = started(GAUGE, &checks);
    for (of, celsius) in [("of/outer", "20"), ("of/inner", "23"), ("of/master", "20")] {
        bench.ok(&["record", of, celsius]);
    }
    length(&bench, "outer", &STILL);
    length(&bench, "inner", &STILL);
    let sentence = "inner/length is not at the temperature of the master: let both lie together.";
    let verdict = pair(&bench);
    names(&verdict, "warm", sentence);
    assert!(!advice(&verdict).iter().any(|said| said.starts_with("outer/length")), "{verdict}");
}

#[test]
fn a_pair_says_what_its_lengths_must_not_be_read_without() {
    // Keyed to a tenth: the length says so, and so does the difference, of the ring it is.
    let bench = ring_and_fellow("");
    length(&bench, "outer", &STILL);
    let coarse = ["0", "0.0001", "0.0001", "0.0001", "0.0001", "0.0001", "0"];
    let verdict = length(&bench, "inner", &coarse);
    assert_eq!(
        verdict["cautions"],
        json!(["Keyed to 0.0001 in: key every digit the gauge shows."])
    );
    let verdict = pair(&bench);
    let caution = "Of inner/length: Keyed to 0.0001 in: key every digit the gauge shows.";
    assert_eq!(verdict["cautions"], json!([caution]), "{verdict}");
    let sentence = "inner/length was read in steps too coarse for the limit here.";
    names(&verdict, "gauge-too-coarse", sentence);
    let table = bench.ok(&["verdicts", "s1", "--part", "pair"]);
    assert!(
        table
            .replace(char::is_whitespace, "")
            .contains(&caution.trim_end_matches('.').replace(' ', "")),
        "{table}"
    );
}
