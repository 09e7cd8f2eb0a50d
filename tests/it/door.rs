//! Readings that a check cannot read are refused when they arrive, and none of them is a touch.

use crate::rig::{Bench, Make};

/// A dial in inches beside a gauge in millimetres, both of the plan.
const DIAL: &str = "[[gauge]]\nname = \"dial\"\nkind = \"dial\"\nresolution = \"0.0001 in\"\n\
                    travel = [\"-0.010 in\", \"0.010 in\"]\n\
                    [[gauge]]\nname = \"metric\"\nkind = \"indicator\"\nunit = \"mm\"\n\
                    resolution = \"0.001 mm\"\n\
                    [[gauge]]\nname = \"height\"\nkind = \"height\"\nunit = \"in\"\n\
                    resolution = \"0.00005 in\"\n";

const GAUGE: &str =
    "unit = \"in\"\nresolution = \"0.00001 in\"\ntravel = [\"-0.010 in\", \"0.010 in\"]\n";

fn check(name: &str, gauge: &str) -> String {
    format!(
        "[[part.check]]\nname = \"{name}\"\nmeasures = \"parallelism\"\ngauge = \"{gauge}\"\n\
         setup = \"plate\"\nmoves = \"ring\"\npositions = 8\nradius = \"1.5 in\"\n\
         tolerance = \"0.0001 in\"\n"
    )
}

fn bench() -> Bench {
    let head = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n";
    let turn = "[[part.check]]\nname = \"turn\"\nmeasures = \"runout\"\ngauge = \"dial\"\n\
                setup = \"turning\"\npositions = 8\nradius = \"1.5 in\"\ntolerance = \"0.0002 in\"\n";
    let length = "[[part.check]]\nname = \"length\"\nmeasures = \"length\"\ngauge = \"height\"\n\
                  setup = \"plate\"\npositions = 4\nradius = \"1.5 in\"\nnominal = \"1.5 in\"\n\
                  min = \"1.4995 in\"\nmax = \"1.5005 in\"\nmaster = \"none\"\n";
    let checks =
        [check("plain", "plate"), check("read", "dial"), check("metric", "metric")].concat();
    let plan = format!("{head}{checks}{turn}{length}");
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: DIAL, plan: &plan });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench
}

/// Refused with a sentence that says this, and nothing is stored.
#[track_caller]
fn refuses(bench: &Bench, arguments: &[&str], sentence: &str) {
    let before = bench.readings("s1").len();
    let said = bench.refused(2, arguments);
    assert!(said.contains(sentence), "{arguments:?}: {said}");
    assert!(said.contains("nothing was entered"), "{arguments:?}: {said}");
    assert_eq!(bench.readings("s1").len(), before, "{arguments:?}: {said}");
}

#[test]
fn inch_deviations_keyed_on_a_metric_gauge_are_refused() {
    let mut bench = bench();
    bench.ok(&["measure", "ring/metric"]);
    // A ring that is out by 0.0002 in: taken as millimetres it would be a fifth of a micrometre.
    let ring = ["enter", "0", "0.0001", "0.0002", "0.0002", "0.0001", "0", "0", "0", "0"];
    refuses(&bench, &ring, "has no unit");
    refuses(&bench, &["enter", "0.0002in"], "is read in mm");
    refuses(&bench, &["enter", "0.0002mm"], "finer than metric shows");
    refuses(&bench, &["enter", "--graduation", "0.0001", "2"], "has no unit");
    bench.ok(&["enter", "0.002mm", "3um", "0mm"]);
    // A dial in inches that stands in for it says so itself.
    bench.ok(&["enter", "--graduation", "0.0001in", "2"]);
    assert_eq!(bench.placed("s1").len(), 4);
    bench.stop();
}

#[test]
fn what_lies_beyond_the_travel_is_refused() {
    let mut bench = bench();
    bench.ok(&["measure", "ring/plain"]);
    refuses(&bench, &["enter", "5"], "beyond the travel of plate");
    refuses(&bench, &["enter", "-0.0098"], "near its stop");
    refuses(&bench, &["enter", "0", "0.00001", "0.012"], "beyond the travel of plate");
    refuses(&bench, &["enter", "0.003mm"], "is read in in");
    refuses(&bench, &["enter", "0.000012"], "finer than plate shows");
    bench.ok(&["enter", "0", "0.00001"]);
    bench.stop();
}

#[test]
fn a_dial_counts_halves_and_refuses_what_it_cannot_show() {
    let mut bench = bench();
    bench.ok(&["measure", "ring/read"]);
    refuses(&bench, &["enter", "--graduation", "0.0001in", "1.55"], "not a count of graduations");
    refuses(&bench, &["enter", "--graduation", "0.0001in", "200"], "beyond the travel of dial");
    bench.ok(&["enter", "--graduation", "0.0001in", "1.5", "-0.5", "2"]);
    let values: Vec<String> =
        bench.placed("s1").iter().map(|one| one["value"].as_str().unwrap().to_owned()).collect();
    assert_eq!(values, ["0.00015", "-0.00005", "0.0002"]);
    bench.ok(&["measure", "ring/turn"]);
    refuses(&bench, &["enter", "--total", "5"], "apart cannot be of one surface");
    refuses(&bench, &["enter", "--total", "0.0034mm"], "is read in in");
    refuses(&bench, &["enter", "--high", "0.5@90", "--low", "0@270"], "beyond the travel of dial");
    bench.ok(&["enter", "--total", "0.0003"]);
    bench.stop();
}

#[test]
fn a_size_that_the_part_cannot_have_is_refused() {
    let mut bench = bench();
    bench.ok(&["measure", "ring/length"]);
    refuses(&bench, &["enter", "15"], "cannot be, 1.5 in is expected");
    refuses(&bench, &["enter", "0.15"], "cannot be, 1.5 in is expected");
    refuses(&bench, &["enter", "38.1"], "inch and millimetre look mixed");
    bench.ok(&["enter", "1.5001"]);
    bench.stop();
}

#[test]
fn a_face_whose_touches_are_inches_apart_is_refused_and_a_frame_of_it_is_suspect() {
    let gauge = "unit = \"in\"\nresolution = \"0.00001 in\"\n";
    let plan = format!(
        "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n{}",
        check("plain", "plate")
    );
    let drop = "[[drop]]\nname = \"logger\"\nfolder = \"{dir}/drop\"\ngauge = \"plate\"\n\
                tags = \"active\"\ncolumns = { value = \"Value\" }\n";
    let mut bench = Bench::new(&Make { gauge, more: drop, plan: &plan });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/plain"]);
    bench.ok(&["enter", "0.00002"]);
    refuses(&bench, &["enter", "5"], "apart cannot be of one surface");
    bench.drop_file("a.csv", "Value\n0.00003\n4.00001\n");
    bench.until("refused", || bench.drop_line("logger")["refused"] == 1);
    bench.touches(&bench.plate, "plate", &["+0.50000", "+0.00003"]);
    let states: Vec<String> =
        bench.readings("s1").iter().map(|one| one["state"].as_str().unwrap().to_owned()).collect();
    assert_eq!(states, ["placed", "suspect", "placed"]);
    bench.stop();
}

#[test]
fn a_dropped_value_beyond_the_travel_refuses_the_file() {
    let drop = "[[drop]]\nname = \"logger\"\nfolder = \"{dir}/drop\"\ngauge = \"plate\"\n\
                tags = \"active\"\ncolumns = { value = \"Value\" }\n";
    let plan = format!(
        "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n{}",
        check("plain", "plate")
    );
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: drop, plan: &plan });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.ok(&["measure", "ring/plain"]);
    bench.drop_file("a.csv", "Value\n0.00003\n0.01100\n");
    bench.until("refused", || bench.drop_line("logger")["refused"] == 1);
    bench.until("it says why", || bench.path("drop/a.csv.why").exists());
    let why = std::fs::read_to_string(bench.path("drop/a.csv.why")).unwrap();
    assert!(why.contains("line 3") && why.contains("beyond the travel of plate"), "{why}");
    assert!(bench.readings("s1").is_empty());
    bench.stop();
}
