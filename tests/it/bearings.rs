//! Bearings as they come in, through the real program: their diameters, how they fit, whether a set is alike,
//! and their face offsets. The readings are invented; figures are worked out beside them by hand, in µm.

use serde_json::{Value, json};

use crate::rig::{Bench, Make};
use crate::watch::Terminal;

/// 0.0001 mm readout, s 0.3 µm, u 0.4 µm: the rest is √(0.16 − 0.09), its square 0.07.
const GAUGE: &str = "unit = \"mm\"\nresolution = \"0.0001 mm\"\nuncertainty = \"0.0004 mm\"\n\
                     repeatability = \"0.0003 mm\"\nrepeat_ms = 0\nmax_rate = 0\n";

/// Nothing of heat is left to be assumed, and the master is known to 0.2 µm.
const EXACT: &str = "master_uncertainty = \"0.0002 mm\"\ntemperature_between = 0\n\
                     expansion_uncertainty = 0\n";

fn check(name: &str, keys: &str) -> String {
    format!("[[part.check]]\nname = \"{name}\"\n{keys}\n")
}

fn part(name: &str, kind: &str, checks: &[String]) -> String {
    format!("[[part]]\nname = \"{name}\"\nkind = \"{kind}\"\n{}", checks.concat())
}

/// A bore of 50 mm against its ring.
fn bore(more: &str) -> String {
    let keys = format!(
        "measures = \"diameter\"\nside = \"bore\"\ngauge = \"plate\"\npositions = 3\n\
         min = \"49.994 mm\"\nmax = \"50.000 mm\"\nmaster_size = \"50.0000 mm\"\n\
         material = \"steel\"\n{EXACT}{more}"
    );
    check("bore", &keys)
}

fn seat(more: &str) -> String {
    let keys = format!(
        "measures = \"diameter\"\nside = \"outside\"\ngauge = \"plate\"\npositions = 3\n\
         min = \"49.990 mm\"\nmax = \"50.015 mm\"\nmaster_size = \"50.0000 mm\"\n\
         material = \"steel\"\n{EXACT}{more}"
    );
    check("seat", &keys)
}

fn entry(name: &str) -> String {
    check(name, &format!("measures = \"entry\"\nquestion = \"{name}\"\nunit = \"C\""))
}

fn started(plan: &str) -> Bench {
    let plan = format!("name = \"held\"\nunit = \"mm\"\n{plan}");
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan });
    bench.start();
    bench.ok(&["job", "open", "J", "--plan", "held"]);
    bench
}

fn measured(bench: &Bench, target: &str, readings: &[&str]) -> Value {
    bench.ok(&["measure", target]);
    let all: Vec<&str> = ["enter", "--"].iter().chain(readings).copied().collect();
    bench.ok(&all);
    newest(bench, target)
}

fn worked_out(bench: &Bench, target: &str) -> Value {
    bench.ok(&["measure", target]);
    newest(bench, target)
}

fn newest(bench: &Bench, target: &str) -> Value {
    let (part, check) = target.split_once('/').unwrap();
    let verdicts = bench.lines(&["verdicts", "J", "--part", part, "--check", check]);
    verdicts.last().cloned().unwrap_or_default()
}

/// A length in millimetres against one in micrometres.
#[track_caller]
fn near(value: &Value, micrometres: f64, within: f64) {
    let found: f64 = value.as_str().unwrap_or_else(|| panic!("{value}")).parse().unwrap();
    assert!((found * 1000.0 - micrometres).abs() <= within, "{found} mm is not {micrometres} um");
}

#[track_caller]
fn says(verdict: &Value, sentence: &str) {
    let advice = verdict["advice"].as_array().unwrap();
    let told = advice.iter().any(|one| one.as_str().unwrap().contains(sentence));
    assert!(told, "{sentence:?} is not in {advice:?}");
}

fn said_of_config(bench: &Bench) -> String {
    let output = bench.run(&["config", "check"]);
    let [out, wrong] = [output.stdout, output.stderr];
    String::from_utf8_lossy(&out).into_owned() + &String::from_utf8_lossy(&wrong)
}

#[test]
fn a_bore_is_led_plane_by_plane_and_comes_to_size_and_form() {
    let bench = started(&part("b1", "bearing", &[bore("off_20 = 0\nplanes = 2\n")]));
    bench.ok(&["measure", "b1/bore"]);
    let terminal = Terminal::with_watch(&bench, (80, 24), &["--station", "bench"]);
    bench.plate.send("0.0000\r\n");
    for (next, reading) in [
        ("plane 1, at 0", "-0.0020"),
        ("plane 1, at 60", "-0.0024"),
        ("plane 1, at 120", "-0.0016"),
        ("plane 2, at 0", "-0.0030"),
        ("plane 2, at 60", "-0.0034"),
        ("plane 2, at 120", "-0.0026"),
    ] {
        terminal.until(&[next]);
        bench.plate.send(&format!("{reading}\r\n"));
    }
    terminal.until(&["plane 2 of 2", "Touch the master."]);
    bench.plate.send("0.0000\r\n");
    terminal.until(&["limit 1.9", "between two points"]);
    let verdict = newest(&bench, "b1/bore");
    // 50 mm − (20 + 24 + 16 + 30 + 34 + 26)/6 tenths of a µm.
    near(&verdict["value"], 49_997.5, 0.001);
    // 2·√(0.09 + 0.07 + 0.09 + 0.07 + 0.2²): a touch, the touch on the master, the master.
    near(&verdict["uncertainty"], 1.2, 0.001);
    assert_eq!((&verdict["verdict"], &verdict["reasons"]), (&json!("conforms"), &json!([])));
    let figures = &verdict["figures"]["diameter"];
    assert_eq!(figures["side"], "bore");
    near(&figures["planes"][0]["mean"], 49_998.0, 0.001);
    near(&figures["planes"][1]["mean"], 49_997.0, 0.001);
    // Half of 2.4 − 1.6 µm; 2·√(½·(0.09 + 0.07)) = 0.566.
    near(&figures["out_of_round"], 0.4, 0.001);
    near(&figures["out_of_round_u"], 0.566, 0.001);
    // 2·√(2·(0.09/3 + 0.07)) = 0.894.
    near(&figures["between_planes"], 1.0, 0.001);
    near(&figures["between_planes_u"], 0.894, 0.001);
    says(&verdict, "Plane 1 is larger than plane 2 by 0.00100 ± 0.0009.");
    says(&verdict, "a three-lobed form does not show");
    // The shares by name, master and reading among them.
    let id = verdict["id"].to_string();
    let budget = bench.ok(&["budget", &id]);
    assert!(budget.contains("master") && budget.contains("repeatability"), "{budget}");
    let page = bench.ok(&["report", "J"]);
    assert!(page.contains("plane 2") && page.contains("diameter"), "the page has its planes");
    bench.ok(&["verify"]);
}

#[test]
fn heat_and_an_unstated_master_are_shares_of_a_diameter_by_name() {
    let keys = "measures = \"diameter\"\nside = \"bore\"\ngauge = \"plate\"\npositions = 3\n\
                min = \"49.994 mm\"\nmax = \"50.000 mm\"\nmaster_size = \"50.0000 mm\"\n";
    let bench = started(&part("b1", "bearing", &[check("bore", keys)]));
    // Keyed with fewer digits than the gauge shows: told after the first touches, before the verdict.
    bench.ok(&["measure", "b1/bore"]);
    let said = bench.ok(&["enter", "--", "0", "-0.003"]);
    assert!(said.contains("key every digit the gauge shows"), "{said}");
    bench.ok(&["enter", "--", "-0.003", "-0.003", "0"]);
    let verdict = newest(&bench, "b1/bore");
    // Assumed: master 0.254, 1 °C between the two 0.575, 1e-6 at 2 °C 0.1.
    // 2·√(0.32 + 0.0645 + 0.3306 + 0.01) = 1.703, k 2: what is assumed counts as exact.
    near(&verdict["uncertainty"], 1.703, 0.002);
    assert_eq!(verdict["uncertainty_from"], "assumed");
    let budget = bench.ok(&["budget", &verdict["id"].to_string()]);
    for share in ["master", "temperature", "expansion"] {
        assert!(budget.contains(share), "{share}: {budget}");
    }
}

#[test]
fn a_gauge_that_was_set_on_another_ring_is_called_out() {
    let bench = started(&part("b1", "bearing", &[bore("off_20 = 0\n")]));
    // Set on a ring of 49.5 mm, a bore of 49.998 reads 0.498 more: 50.498.
    let verdict = measured(&bench, "b1/bore", &["0", "0.4980", "0.4981", "0.4979", "0"]);
    says(&verdict, "was the gauge set on another ring");
    says(&verdict, "0.49800 mm outside its limits");
    // A bore that is merely bad is no wrong ring: 0.010 mm over limits 0.006 apart.
    bench.ok(&["remeasure", "ground", "b1/bore"]);
    bench.ok(&["enter", "0", "0.0100", "0.0101", "0.0099", "0"]);
    let bad = newest(&bench, "b1/bore");
    assert_eq!(bad["verdict"], "does-not-conform");
    let told = bad["advice"].to_string();
    assert!(!told.contains("another ring"), "{told}");
}

#[test]
fn nobody_measures_at_200_degrees() {
    let temperatures = "off_20 = 0\ntemperatures = [\"b1/bore-c\", \"b1/ring-c\"]\n";
    let checks =
        [bore(&temperatures.replace("off_20 = 0\n", "")), entry("bore-c"), entry("ring-c")];
    let bench = started(&part("b1", "bearing", &checks));
    let said = bench.refused(2, &["record", "b1/bore-c", "200"]);
    assert!(said.contains("200 C is no temperature of a part that is measured"), "{said}");
    assert!(said.contains("0 to 50 °C are believed"), "{said}");
    bench.ok(&["record", "b1/bore-c", "20.0"]);
    bench.ok(&["verify"]);
}

/// A bearing and its seat, each with temperatures of its own.
fn pair_plan(more: [&str; 3]) -> String {
    let at = |of: &str| format!("temperatures = [\"{of}-c\", \"{of}-master-c\"]\n");
    let checks =
        [bore(&format!("{}{}", at("b1/bore"), more[0])), entry("bore-c"), entry("bore-master-c")];
    let bearing = part("b1", "bearing", &checks);
    let checks = [
        seat(&format!("{}{}", at("shaft/seat"), more[1])),
        entry("seat-c"),
        entry("seat-master-c"),
    ];
    let shaft = part("shaft", "shaft", &checks);
    let fit = format!(
        "measures = \"fit\"\nbore = \"b1/bore\"\nseat = \"shaft/seat\"\nmin = \"-0.008 mm\"\n\
         max = \"0.000 mm\"\n{}",
        more[2]
    );
    let fits = part("fits", "other", &[check("front", &fit)]);
    bearing + &shaft + &fits
}

fn temperatures(bench: &Bench, all: [&str; 4]) {
    let places = ["b1/bore-c", "b1/bore-master-c", "shaft/seat-c", "shaft/seat-master-c"];
    for (place, temperature) in places.into_iter().zip(all) {
        bench.ok(&["record", place, temperature]);
    }
}

const BORE: [&str; 5] = ["0", "-0.0024", "-0.0025", "-0.0026", "0"];
const SEAT: [&str; 5] = ["0", "0.0030", "0.0031", "0.0029", "0"];

#[test]
fn a_fit_brings_bore_and_seat_to_20_degrees_each_by_itself() {
    let bench = started(&pair_plan([""; 3]));
    let said = bench.refused(2, &["measure", "fits/front"]);
    assert!(said.contains("fits/front needs b1/bore, which is not measured yet"), "{said}");
    // The shaft is 2 °C warmer than its master, the bearing is not.
    temperatures(&bench, ["20.0", "20.0", "22.0", "20.0"]);
    measured(&bench, "b1/bore", &BORE);
    measured(&bench, "shaft/seat", &SEAT);
    let fit = worked_out(&bench, "fits/front");
    // 50.003·11.5e-6·2 = 1.150 µm of heat in the seat: 49 997.5 − 50 001.85.
    near(&fit["figures"]["fit"]["seat"], 50_001.850, 0.001);
    near(&fit["value"], -4.350, 0.001);
    // Each: 0.09/3 + 0.09/2 + 2·0.07 + 0.04 = 0.255; 2·√0.51 = 1.428. No temperature is doubted.
    near(&fit["uncertainty"], 1.428, 0.002);
    assert_eq!(fit["verdict"], "conforms", "{fit}");
    assert_eq!(fit["figures"]["fit"]["sits"], "interference");
    assert_eq!(fit["figures"]["fit"]["at_20_c"], true);
    says(&fit, "Interference of 0.00435 mm: the seat is larger.");
    says(&fit, "Bore and seat are at 20 °C, each by its own temperature.");
    let page = bench.ok(&["report", "J"]);
    assert!(page.contains("Interference"), "the page says which it is");
    // A temperature that is put right puts the fit right.
    bench.ok(&["record", "shaft/seat-c", "21.0"]);
    near(&newest(&bench, "fits/front")["value"], -4.925, 0.001);
    bench.ok(&["verify"]);
}

#[test]
fn only_a_master_with_a_name_is_the_same_for_both() {
    // Of one size and yet two pieces: its share counts twice, 1.428 as above.
    let twice = started(&pair_plan([""; 3]));
    // By its name in the register it is one: 2·√(0.51 − 2·0.04) = 1.311.
    let named = |text: &str| {
        text.replace("master_size = \"50.0000 mm\"", "master_name = \"ring-50\"")
            .replace("master_uncertainty = \"0.0002 mm\"\n", "")
    };
    let once = started(&named(&pair_plan([""; 3])));
    let size = ["--size", "50.0000 mm", "--uncertainty", "0.0002 mm"];
    once.ok(&[&["register", "master", "ring-50"][..], &size].concat());
    for (bench, u) in [(twice, 1.428), (once, 1.311)] {
        temperatures(&bench, ["20", "20", "20", "20"]);
        let bore = measured(&bench, "b1/bore", &BORE);
        near(&bore["uncertainty"], 1.2, 0.002);
        measured(&bench, "shaft/seat", &SEAT);
        let fit = worked_out(&bench, "fits/front");
        near(&fit["value"], -5.5, 0.001);
        near(&fit["uncertainty"], u, 0.002);
    }
}

#[test]
fn a_fit_of_ground_metal_or_of_another_bearing_is_none_any_more() {
    let bench = started(&pair_plan([""; 3]));
    temperatures(&bench, ["20", "20", "20", "20"]);
    measured(&bench, "b1/bore", &BORE);
    measured(&bench, "shaft/seat", &SEAT);
    worked_out(&bench, "fits/front");
    bench.ok(&["remeasure", "ground", "shaft/seat"]);
    assert_eq!(newest(&bench, "fits/front")["standing"], "metal-changed");
    bench.ok(&[&["enter", "--"][..], &["0", "0.0010", "0.0011", "0.0009", "0"]].concat());
    let again = worked_out(&bench, "fits/front");
    near(&again["value"], -3.5, 0.001);
    assert_eq!(again["standing"], "stands");
    bench.ok(&["replace", "b1", "--serial", "B-2", "--why", "a cracked cage"]);
    assert_eq!(newest(&bench, "fits/front")["standing"], "metal-changed");
    let said = bench.refused(2, &["measure", "fits/front"]);
    assert!(said.contains("needs b1/bore"), "{said}");
    bench.ok(&["verify"]);
}

#[test]
fn what_withholds_a_diameter_withholds_the_fit_and_is_named() {
    let bench = started(&pair_plan([""; 3]));
    temperatures(&bench, ["20", "20", "20", "20"]);
    measured(&bench, "b1/bore", &BORE);
    // The master comes back 2.6 µm off: nothing for 25 µm, too much for 8.
    measured(&bench, "shaft/seat", &["0", "0.0030", "0.0031", "0.0029", "0.0026"]);
    assert_eq!(newest(&bench, "shaft/seat")["reasons"], json!([]));
    let fit = worked_out(&bench, "fits/front");
    assert_eq!((&fit["verdict"], &fit["reasons"]), (&json!("undecided"), &json!(["zero-moved"])));
    says(&fit, "shaft/seat: the master came back different");
}

#[test]
fn a_fit_asks_of_what_its_two_parts_are_made() {
    let plan = pair_plan([""; 3]).replacen("material = \"steel\"\n", "", 1);
    let plan = format!("name = \"held\"\nunit = \"mm\"\n{plan}");
    let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan });
    let said = said_of_config(&bench);
    assert!(said.contains("the material of b1/bore is not stated"), "{said}");
    assert!(said.contains("write material = \"steel\" there"), "{said}");
}

#[test]
fn a_fit_far_beyond_a_wrong_one_asks_for_the_ring() {
    let bench = started(&pair_plan([""; 3]));
    temperatures(&bench, ["20", "20", "20", "20"]);
    measured(&bench, "b1/bore", &["0", "0.2000", "0.2000", "0.2000", "0"]);
    measured(&bench, "shaft/seat", &SEAT);
    let fit = worked_out(&bench, "fits/front");
    says(&fit, "was one of the gauges set on another ring");
}

#[test]
fn a_loose_spacer_is_estimated_beside_its_balance_grade_and_never_judged() {
    let loose = "mass = \"350 g\"\nrotor_mass = \"12 kg\"\nspeed = \"8000 rpm\"\n\
                 balance_grade = \"G 2.5\"\n";
    let plan = pair_plan(["", "", loose]).replace("max = \"0.000 mm\"", "max = \"0.012 mm\"");
    let bench = started(&plan);
    temperatures(&bench, ["20", "20", "20", "20"]);
    measured(&bench, "b1/bore", &BORE);
    measured(&bench, "shaft/seat", &["0", "-0.0124", "-0.0125", "-0.0126", "0"]);
    bench.ok(&["measure", "fits/front"]);
    let fit = newest(&bench, "fits/front");
    near(&fit["value"], 10.0, 0.001);
    let unbalance = &fit["figures"]["unbalance"];
    assert_eq!(unbalance["label"], "estimate");
    // 350 g · 0.005 mm; with the clearance larger by U 350 · 0.005714.
    assert_eq!(unbalance["can_cause_g_mm"], 1.75);
    let most = unbalance["at_most_g_mm"].as_f64().unwrap();
    assert!((most - 2.0).abs() < 0.002, "{most}");
    // G 2.5: 2.5 mm/s over 2π·8000/60 = 837.758 1/s is 2.98415 µm, times 12 000 g.
    assert!((unbalance["permitted_g_mm"].as_f64().unwrap() - 35.810).abs() < 0.001);
    says(&fit, "An estimate, not judged");
    says(&fit, "1.8 g·mm");
    let page = bench.ok(&["report", "J"]);
    assert!(page.contains("stimate") && page.contains("g·mm"), "the page has the estimate");
    // Without a clearance that is sure there is nothing to estimate.
    bench.ok(&["remeasure", "ground", "shaft/seat"]);
    bench.ok(&[&["enter", "--"][..], &SEAT].concat());
    assert_eq!(worked_out(&bench, "fits/front")["figures"]["unbalance"], Value::Null);
}

/// Three bearings whose bores have to be alike.
fn set_plan() -> String {
    let bearings = ["b1", "b2", "b3"].map(|name| part(name, "bearing", &[bore("off_20 = 0\n")]));
    let of = "measures = \"match\"\nof = [\"b1/bore\", \"b2/bore\", \"b3/bore\"]\n\
              tolerance = \"0.0020 mm\"\n";
    bearings.concat() + &part("set", "bearing", &[check("bores", of)])
}

#[test]
fn the_odd_one_of_a_set_is_named() {
    let bench = started(&set_plan());
    for (name, reading) in [("b1", "-0.0020"), ("b2", "-0.0022"), ("b3", "-0.0058")] {
        measured(&bench, &format!("{name}/bore"), &["0", reading, reading, reading, "0"]);
    }
    let set = worked_out(&bench, "set/bores");
    near(&set["value"], 3.8, 0.001);
    // Two of them: 2·√(2·(0.09/3 + 0.09/2 + 2·0.07 + 0.04)) = 1.428.
    near(&set["uncertainty"], 1.428, 0.002);
    assert_eq!(set["verdict"], "does-not-conform");
    assert_eq!(set["figures"]["set"]["odd"], "b3/bore");
    near(&set["figures"]["set"]["without_it"], 0.2, 0.001);
    says(
        &set,
        "b3/bore is the odd one: 0.00360 mm smaller than the next; the others differ by 0.00020.",
    );
    // Another bearing in its place, and the set is alike.
    bench.ok(&["replace", "b3", "--serial", "B-9", "--why", "its bore was small"]);
    measured(&bench, "b3/bore", &["0", "-0.0021", "-0.0021", "-0.0021", "0"]);
    let set = worked_out(&bench, "set/bores");
    near(&set["value"], 0.2, 0.001);
    assert_eq!(
        (&set["verdict"], &set["figures"]["set"]["odd"]),
        (&json!("conforms"), &Value::Null)
    );
    says(&set, "They are alike within what is known of them.");
    let page = bench.ok(&["report", "J"]);
    assert!(
        page.contains("b3/bore") && page.contains("B-9"),
        "the page has the set and the serial"
    );
    bench.ok(&["verify"]);
}

const OFFSET: &str = "measures = \"face-offset\"\ngauge = \"plate\"\npositions = 4\nload = \"200 N\"\n\
                      master_size = \"0 mm\"\nmaster_uncertainty = \"0 mm\"\nmin = \"-0.002 mm\"\n\
                      max = \"0.002 mm\"\n";

#[test]
fn a_face_offset_is_claimed_only_where_it_comes_back() {
    let bench = started(&part("b1", "bearing", &[check("offset", OFFSET)]));
    bench.ok(&["measure", "b1/offset"]);
    let terminal = Terminal::with_watch(&bench, (80, 24), &["--station", "bench"]);
    bench.plate.send("0.0000\r\n");
    terminal.until(&["round 1, at 0"]);
    for reading in ["0.0004", "0.0006", "0.0006", "0.0004"] {
        bench.plate.send(&format!("{reading}\r\n"));
    }
    terminal.until(&["round 2, load off and on again, at 0"]);
    for reading in ["0.0005", "0.0007", "0.0006", "0.0005", "0.0000"] {
        bench.plate.send(&format!("{reading}\r\n"));
    }
    terminal.until(&["Under 200 N; it comes back"]);
    let verdict = newest(&bench, "b1/offset");
    // Rounds of 0.5 and 0.575 µm.
    near(&verdict["value"], 0.5375, 0.001);
    near(&verdict["figures"]["offset"]["repeats_within"], 0.075, 0.001);
    // 2·√(0.09/8 + 0.09/2 + 2·0.07 + 0.2²/3) = 0.916.
    near(&verdict["uncertainty"], 0.916, 0.001);
    assert_eq!(verdict["verdict"], "conforms", "{verdict}");
    says(&verdict, "Under 200 N; it comes back within 0.00008 mm, 0.0002 is allowed.");
    // The second round lies 0.5 µm higher.
    bench.ok(&["remeasure", "cleaned", "b1/offset"]);
    let rounds = ["0", "0", "0", "0", "0", "0.0005", "0.0005", "0.0005", "0.0005", "0"];
    bench.ok(&[&["enter", "--"][..], &rounds].concat());
    let verdict = newest(&bench, "b1/offset");
    assert_eq!(verdict["reasons"], json!(["does-not-come-back"]));
    assert_eq!(verdict["verdict"], "undecided");
    says(&verdict, "It does not come back: the rounds differ by 0.00050 mm, 0.0002 is allowed.");
    bench.ok(&["verify"]);
}

/// Two bearings with measured offsets on either side of a pair of spacers.
fn offsets_plan() -> String {
    let bearings = ["b1", "b2"].map(|name| part(name, "bearing", &[check("offset", OFFSET)]));
    let length = format!(
        "measures = \"length\"\ngauge = \"plate\"\nsetup = \"plate\"\npositions = 3\n\
         closure = false\nmin = \"19.99 mm\"\nmax = \"20.01 mm\"\nmaster_size = \"20.0000 mm\"\n\
         off_20 = 0\n{EXACT}"
    );
    let rings = ["outer", "inner"].map(|name| part(name, "spacer", &[check("length", &length)]));
    let pair = "measures = \"difference\"\nof = [\"outer/length\", \"inner/length\"]\n\
                tolerance = \"0.004 mm\"\narrangement = \"back-to-back\"\n\
                offsets_left = [\"b1/offset\"]\noffsets_right = [\"b2/offset\"]\n\
                temperature_between = 0\noff_20 = 0\nexpansion_uncertainty = 0\n";
    bearings.concat() + &rings.concat() + &part("pair", "other", &[check("match", pair)])
}

#[test]
fn measured_offsets_say_what_difference_a_pair_needs() {
    let bench = started(&offsets_plan());
    let rounds = |mean: &'static str| ["0", mean, mean, mean, mean, mean, mean, mean, mean, "0"];
    measured(&bench, "b1/offset", &rounds("0.0004"));
    for ring in ["outer/length", "inner/length"] {
        measured(&bench, ring, &["0", "0.0001", "0.0001", "0.0001", "0"]);
    }
    let missing = worked_out(&bench, "pair/match");
    says(&missing, "b2/offset is not measured.");
    // The second offset, measured after the difference, completes it.
    measured(&bench, "b2/offset", &rounds("0.0006"));
    let pair = newest(&bench, "pair/match");
    near(&pair["figures"]["pair"]["required"], 1.0, 0.001);
    // Rings: 2·(0.09/3 + 0.09/2 + 0.07); offsets: 2·(0.09/8 + 0.09/2 + 2·0.07 + 0.2²/3); 2·√0.709.
    near(&pair["uncertainty"], 1.684, 0.002);
    assert_eq!(pair["verdict"], "conforms", "{pair}");
    let told = pair["advice"].to_string();
    assert!(!told.contains("count as exact"), "{told}");
    // One that does not come back is no basis for grinding.
    bench.ok(&["remeasure", "cleaned", "b2/offset"]);
    let apart = ["0", "0", "0", "0", "0", "0.0005", "0.0005", "0.0005", "0.0005", "0"];
    bench.ok(&[&["enter", "--"][..], &apart].concat());
    let pair = newest(&bench, "pair/match");
    assert_eq!(pair["reasons"], json!(["does-not-come-back"]), "{pair}");
    says(&pair, "b2/offset does not repeat: take it again.");
    bench.ok(&["verify"]);
}

#[test]
fn a_bearing_goes_on_the_stack_once_its_thrust_side_and_order_are_confirmed() {
    let confirm = check(
        "thrust",
        "measures = \"confirm\"\nquestion = \"where does the V across the set point?\"\n\
         answers = [\"nose\", \"tail\"]\ngood = [\"nose\"]",
    );
    let plan = format!(
        "{}{}{}[[stack]]\npart = \"b1\"\nways = [\"thrust\", \"open\"]\ntowards_nose = \"thrust\"\n\
         [[stack]]\npart = \"ring\"\n",
        part("set", "bearing", &[confirm]),
        part("b1", "bearing", &[bore("off_20 = 0\n")]),
        part("ring", "spacer", &[entry("note")]),
    );
    let bench = started(&plan);
    measured(&bench, "b1/bore", &BORE);
    let on = ["stack", "built", "b1", "--towards-nose", "thrust"];
    let said = bench.refused(2, &on);
    assert!(said.contains("b1 does not go on the stack: set/thrust is not measured"), "{said}");
    bench.ok(&["confirm", "set/thrust", "tail"]);
    let said = bench.refused(2, &on);
    assert!(said.contains("set/thrust does not conform"), "{said}");
    bench.ok(&["remeasure", "again", "set/thrust"]);
    bench.ok(&["confirm", "set/thrust", "nose"]);
    bench.ok(&on);
    bench.ok(&["stack", "built", "ring"]);
    // With a reason it goes on all the same, which is kept.
    let bench = started(&plan);
    measured(&bench, "b1/bore", &BORE);
    bench.ok(&[&on[..], &["--why", "the V was worn off"]].concat());
    assert!(bench.ok(&["report", "J"]).contains("the V was worn off"));
}

#[test]
fn what_a_plan_can_get_wrong_of_bearings_has_its_line_and_a_way_out() {
    for (wrong, right, said, hint) in [
        ("", "side = \"bore\"\n", "side\" is missing", "write side = \"bore\""),
        (
            "positions = 1\n",
            "positions = 3\n",
            "one angle in a plane shows nothing of its form",
            "positions = 3",
        ),
        (
            "positions = 2\n",
            "positions = 3\n",
            "nothing of an oval that lies at 45 degrees",
            "positions = 3",
        ),
        ("material = \"wood\"\n", "material = \"steel\"\n", "wood", "steel"),
        (
            "material = \"steel\"\nexpansion = 11.5e-6\n",
            "material = \"steel\"\n",
            "both material and expansion are given",
            "write one of them",
        ),
        ("planes = 0\npositions = 3\n", "positions = 3\n", "planes", "1 to 20"),
    ] {
        let keys = bore("off_20 = 0\n").replacen(right, wrong, 1);
        let plan = format!("name = \"held\"\nunit = \"mm\"\n{}", part("b1", "bearing", &[keys]));
        let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan });
        let text = said_of_config(&bench);
        assert!(text.contains(said) && text.contains(hint), "{said:?}, {hint:?}: {text}");
    }
}
