//! What a set-up can show: on supports a tilt only shows how they were adjusted.

use crate::rig::{Bench, Make};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nrepeatability = \"0.000006 in\"\n\
                     uncertainty = \"0.0000084 in\"\nrepeat_ms = 0\nmax_rate = 0\n";

const PLAN: &str = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
    [[part.check]]\nname = \"flat\"\nmeasures = \"flatness\"\ngauge = \"plate\"\nsetup = \"supports\"\n\
    positions = 8\nradius = \"1.5 in\"\ntolerance = \"0.0001 in\"\nclosure = false\n";

#[test]
fn a_face_on_supports_has_no_high_side_and_no_tilt() {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    bench.start();
    bench.until_gauge("plate", "live");
    bench.ok(&["job", "open", "j1", "--plan", "held"]);
    bench.ok(&["measure", "ring/flat"]);
    // Screwed up under 90 by two thousandths.
    bench.ok(&[
        "enter", "0.00000", "0.00141", "0.00200", "0.00142", "0.00000", "-0.00141", "-0.00200",
        "-0.00142",
    ]);
    let verdict = bench.verdict("j1", 1);
    assert_eq!(verdict["verdict"], "conforms", "{verdict}");
    let figures = &verdict["figures"];
    for claim in ["high_side_deg", "high_side_u_deg", "tilt", "slope_urad"] {
        assert!(figures.get(claim).is_none_or(serde_json::Value::is_null), "{claim}: {verdict}");
    }
    let page = bench.path("report.html");
    bench.ok(&["report", "j1", "--out", page.to_str().unwrap()]);
    let page = std::fs::read_to_string(page).unwrap();
    assert!(!page.contains("High side at") && !page.contains("across the face"));
    assert!(page.contains("the plane taken out: it is how the supports stood"));
    bench.ok(&["remeasure", "ground", "ring/flat"]);
    bench.ok(&[
        "enter", "0.00100", "0.00071", "0.00000", "-0.00071", "-0.00100", "-0.00071", "0.00000",
        "0.00071",
    ]);
    let verdict = bench.verdict("j1", 2);
    assert!(verdict["figures"].get("took_off").is_none(), "{verdict}");
    let alerts = bench.ok(&["alerts", "j1", "--all"]);
    assert!(!alerts.contains("The wheel took") && !alerts.contains("Past flat"), "{alerts}");
    bench.ok(&["verify"]);
    bench.stop();
}
