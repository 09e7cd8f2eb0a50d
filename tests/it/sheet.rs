//! The printed sheet, made by the program for a real job.

use wire::code::Code;

use crate::rig::{Bench, Make, RING_PLAN};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeat_ms = 0\nmax_rate = 0";

#[test]
fn the_sheet_of_a_job_is_one_page_of_codes() {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: RING_PLAN });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held", "--serial", "<b>7</b>"]);
    let page = bench.ok(&["sheet", "s1"]);
    assert!(page.starts_with("<!DOCTYPE html>") && page.contains("&lt;b&gt;7&lt;/b&gt;"));
    let codes = page.split("aria-label=\"code ").skip(1);
    let codes: Vec<Code> =
        codes.map(|rest| Code::parse(rest.split('"').next().unwrap()).unwrap()).collect();
    // The job, its check, 8 actions, 5 reasons to leave a position out, 21 graduations.
    assert_eq!(codes.len(), 1 + 1 + 8 + 5 + 21);
    let file = bench.path("s1.html");
    bench.ok(&["sheet", "s1", "--out", file.to_str().unwrap()]);
    assert_eq!(std::fs::read_to_string(file).unwrap(), page);
    bench.refused(2, &["sheet", "s2"]);
    let told = bench.refused(3, &["sheet", "s1", "--out", "/nowhere/s1.html"]);
    assert!(told.contains("cannot write"), "{told}");
    // The record is enough: no service is needed.
    bench.stop();
    assert_eq!(bench.ok(&["sheet", "s1"]), page);
}
