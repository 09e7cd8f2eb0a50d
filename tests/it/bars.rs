//! A test bar with several seatings, through the real program: nothing is taken before a person confirms
//! that it is seated, and the seatings are compared with each other.

use serde_json::Value;

use crate::rig::{Bench, Make};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.000001 in\"\nrepeatability = \"0.000006 in\"\n\
                     uncertainty = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0\n";

/// A bar at one station, `positions` round it, seated so often, with a limit in µin.
fn bar_plan(positions: u32, seatings: u32, limit: u32, keys: &str) -> String {
    format!(
        "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"bar\"\nkind = \"bar\"\n\
         [[part.check]]\nname = \"out\"\nmeasures = \"bar-runout\"\ngauge = \"plate\"\n\
         positions = {positions}\nseatings = {seatings}\ntouch = \"outside\"\n\
         seating = \"0.000004 in\"\nbar = \"0.00001 in\"\nstand = \"0 in\"\n{keys}\
         stations = [{{ at = \"4 in\", tolerance = \"{:.6} in\" }}]\n",
        f64::from(limit) / 1e6
    )
}

fn started(plan: &str) -> Bench {
    started_with(GAUGE, plan)
}

fn started_with(gauge: &str, plan: &str) -> Bench {
    let mut bench = Bench::new(&Make { gauge, more: "", plan });
    bench.start();
    bench.until_gauge("plate", "live");
    bench.ok(&["job", "open", "j1", "--plan", "held"]);
    bench
}

/// A turn in whole µin: what the spindle shows at its marks, and a bar that stands at `seated`
/// degrees and is high, by its own mark, at 0.
fn turn(positions: u32, spindle: impl Fn(f64) -> f64, bar: f64, seated: f64) -> Vec<i32> {
    let angle = |at: u32| 360.0 * f64::from(at) / f64::from(positions);
    let shown = |at| (spindle(angle(at)) + bar * (angle(at) - seated).to_radians().cos()).round();
    #[expect(clippy::cast_possible_truncation, reason = "some µin")]
    (0..positions).map(|at| shown(at) as i32).collect()
}

fn enter(bench: &Bench, turn: &[i32]) -> String {
    let values: Vec<String> =
        turn.iter().map(|um| format!("{:.6}", f64::from(*um) / 1e6)).collect();
    let mut arguments = vec!["enter"];
    arguments.extend(values.iter().map(String::as_str));
    bench.ok(&arguments)
}

/// All seatings, each said before it is touched; the verdict.
fn measured(bench: &Bench, turns: &[Vec<i32>]) -> Value {
    bench.ok(&["measure", "bar/out"]);
    for (seating, turn) in turns.iter().enumerate() {
        if seating > 0 {
            bench.ok(&["take"]);
        }
        let said = enter(bench, turn);
        // What a verdict must not be read without is in the reply to the last touch.
        if let Some(told) = said.split_once("Done. ").map(|(_, told)| told) {
            let newest = bench.lines(&["verdicts"]).last().cloned().unwrap_or_default();
            let cautions = newest["cautions"].as_array().cloned().unwrap_or_default();
            assert!(cautions.iter().all(|one| told.contains(one.as_str().unwrap())), "{told}");
        }
    }
    newest(bench)
}

fn newest(bench: &Bench) -> Value {
    bench.lines(&["verdicts", "j1"]).pop().unwrap()
}

/// The spindle of the cases: 20 µin off, high at 45, between two marks.
fn spindle(angle: f64) -> f64 {
    20.0 * (angle - 45.0).to_radians().cos()
}

#[test]
fn nothing_of_a_seating_is_taken_before_a_person_says_that_the_bar_is_seated() {
    let plan = bar_plan(8, 4, 100, "")
        .replace("stations = [", "stations = [{ at = \"0.5 in\", tolerance = \"0.0001 in\" }, ");
    let mut bench = started(&plan);
    let said = bench.ok(&["measure", "bar/out"]);
    assert!(
        said.contains("Touch position 0 of 64 next: station 0.5 in, bar at 0, touch 1 of 8."),
        "{said}"
    );
    enter(&bench, &[1; 8]);
    let said = enter(&bench, &[0, 3, 0, 0, 0, 0, 0]);
    assert!(
        said.contains("position 15 of 64 next: station 4 in, bar at 0, touch 8 of 8."),
        "{said}"
    );
    let refused = bench.refused(2, &["enter", "0.000000", "0.000001"]);
    assert!(
        refused.contains("1 touch is still open with the bar seated at 0; 0.000001 belongs to the bar seated at 90; nothing was entered")
            && refused.contains("key in that one first; only then take the bar out"),
        "{refused}"
    );
    assert_eq!(
        bench.placed("j1").len(),
        15,
        "the line that reached past the seating is refused whole"
    );
    let said = enter(&bench, &[0]);
    assert!(said.contains("Take the bar out, turn it to 90, seat it"), "{said}");
    let status = bench.ok(&["status"]);
    assert!(status.contains("take the bar out, turn it and seat it, then take (station 0.5 in, bar at 90, touch 1 of 8)"), "{status}");

    // A frame before that is kept, and fills nothing.
    bench.plate.send("+0.000005\r");
    bench.until("the frame to be kept", || bench.readings("j1").len() == 17);
    let kept = bench.readings("j1").pop().unwrap();
    assert_eq!(kept["state"], "unclaimed", "{kept}");
    assert!(
        kept["why"].as_str().unwrap().contains("Nobody has said yet that the bar is seated at 90"),
        "{kept}"
    );
    let alerts = bench.ok(&["alerts", "j1", "--state", "open"]);
    assert!(alerts.contains("seated at 90"), "{alerts}");

    // What was said can be taken back, and a touch before it, and is asked for again.
    let said = bench.ok(&["take"]);
    assert!(
        said.contains(
            "The bar is seated at 90. Touch position 16 of 64 next: station 0.5 in, bar at 90"
        ),
        "{said}"
    );
    let said = bench.ok(&["void"]);
    assert!(said.contains("it is still at 0. Take the bar out, turn it to 90"), "{said}");
    let said = bench.ok(&["void"]);
    assert!(said.contains("at position 15 is taken back. Touch position 15 of 64 next"), "{said}");
    enter(&bench, &[0]);
    bench.ok(&["take", "--json"]);
    // It is a stored fact.
    bench.kill();
    bench.start();
    bench.until_gauge("plate", "live");
    bench.plate.send("+0.000001\r");
    bench.until("the touch", || bench.placed("j1").len() == 17);
    a_hole_of_an_earlier_seating(&bench);
    bench.ok(&["verify"]);
    bench.stop();
}

/// A touch that is taken back in a seating that is over.
fn a_hole_of_an_earlier_seating(bench: &Bench) {
    // It is asked for with the bar seated there again.
    let first = bench.placed("j1")[3]["id"].to_string();
    enter(bench, &[0; 15]);
    let said = bench.ok(&["void", &first]);
    assert!(said.contains("turn it to 180"), "{said}");
    bench.ok(&["take"]);
    enter(bench, &[0; 16]);
    bench.ok(&["take"]);
    let said = enter(bench, &[0; 16]);
    assert!(
        said.contains("Take the bar out, turn it to 0, seat it")
            && said.contains("station 0.5 in, bar at 0, touch 4 of 8"),
        "{said}"
    );
    bench.ok(&["take"]);
    let said = enter(bench, &[1]);
    assert!(said.contains("Done."), "{said}");
}

#[test]
fn a_bar_that_was_not_turned_as_asked_is_withheld() {
    // Spindle 20, bar 20, seated at 0, 0, 90, 90: the half sums agree, the half differences do not.
    let plan = bar_plan(12, 4, 100, "");
    let bench = started(&plan);
    let turns = |seated: [f64; 4]| seated.map(|at| turn(12, spindle, 20.0, at)).to_vec();
    let verdict = measured(&bench, &turns([0.0, 0.0, 90.0, 90.0]));
    assert_eq!(verdict["reasons"], serde_json::json!(["seating-moved"]), "{verdict}");
    assert_eq!(verdict["verdict"], "undecided");
    // And at 0, 90, 90, 180 the half sums do not.
    bench.ok(&["remeasure", "cleaned", "bar/out"]);
    let verdict = measured(&bench, &turns([0.0, 90.0, 90.0, 180.0]));
    assert_eq!(verdict["reasons"], serde_json::json!(["seating-moved"]), "{verdict}");
    // The other way round is said to be that.
    bench.ok(&["remeasure", "cleaned", "bar/out"]);
    let verdict = measured(&bench, &turns([0.0, 270.0, 180.0, 90.0]));
    assert_eq!(verdict["reasons"], serde_json::json!(["seating-moved"]), "{verdict}");
    assert!(verdict["advice"].to_string().contains("the other way round"), "{verdict}");
    // Turned as asked it is the spindle alone, and the bar is proven.
    bench.ok(&["remeasure", "cleaned", "bar/out"]);
    let verdict = measured(&bench, &turns([0.0, 90.0, 180.0, 270.0]));
    assert_eq!(
        (&verdict["verdict"], &verdict["reasons"]),
        (&"conforms".into(), &serde_json::json!([])),
        "{verdict}"
    );
    let value: f64 = verdict["value"].as_str().unwrap().parse().unwrap();
    assert!((value - 4e-5).abs() < 1e-6, "{verdict}");
    // u² = (2² · (seating² + 2 s²/N)) / 4 = 16 + 6, no bar in it: U = 9.4.
    let known = |verdict: &Value| verdict["uncertainty"].as_str().unwrap().parse::<f64>().unwrap();
    assert!((known(&verdict) - 2.0 * 22_f64.sqrt() * 1e-6).abs() < 1e-8, "{verdict}");
    // Never turned, it looks like a perfect bar: the bar's own uncertainty stays, and it is said.
    bench.ok(&["remeasure", "cleaned", "bar/out"]);
    let verdict = measured(&bench, &turns([0.0; 4]));
    assert_eq!(verdict["reasons"], serde_json::json!([]), "{verdict}");
    assert!(verdict["advice"].to_string().contains("perfect bar, or never turned"), "{verdict}");
    // Wherever the word is told.
    let told = "the seatings are alike: a perfect bar, or never turned";
    assert!(verdict["cautions"].to_string().contains(told), "{verdict}");
    assert!(
        bench
            .ok(&["verdicts", "j1"])
            .replace(char::is_whitespace, "")
            .contains(&told.replace(' ', ""))
    );
    // The mean turn reads a little more than the wave: u² = 2·6²/4 + 4² + 10².
    assert!((known(&verdict) - 2.0 * 134_f64.sqrt() * 1e-6).abs() < 1e-8, "{verdict}");
}

#[test]
fn an_oval_does_not_vanish_in_the_split() {
    // Totals 100, 100, 80 and 90 in four seatings against 80: ovals, and hardly a first wave.
    // u² = 2·3²/4 + 4² + 1²: U = 9.3.
    let fine = GAUGE.replace("repeatability = \"0.000006 in\"", "repeatability = \"0.000003 in\"");
    let plan = bar_plan(8, 4, 80, "").replace("bar = \"0.00001 in\"", "bar = \"0.000001 in\"");
    let bench = started_with(&fine, &plan);
    let verdict = measured(
        &bench,
        &[
            vec![50, -50, -50, -50, 40, -50, -50, -50],
            vec![47, -43, -43, -43, 57, -43, -43, -43],
            vec![40, -40, -40, -40, 40, -40, -40, -40],
            vec![35, -55, -55, -55, 35, -55, -55, -55],
        ],
    );
    assert_eq!(
        verdict["figures"]["stations"][0]["seatings"],
        serde_json::json!(["0.0001", "0.0001", "0.00008", "0.00009"]),
        "{verdict}"
    );
    assert_eq!(verdict["value"], "0.00009", "the mean sweep: {verdict}");
    assert_eq!(verdict["verdict"], "does-not-conform", "{verdict}");
    assert_eq!(verdict["figures"]["stations"][0]["mean_of_totals"], "0.0000925", "{verdict}");
}

/// How the page works out the judged station.
fn worked(bench: &Bench) -> String {
    let page = bench.ok(&["report", "j1"]);
    let line = page.split("<p class=\"worked\">").nth(1).unwrap_or_else(|| panic!("{page}"));
    line.split("; limit").next().unwrap().to_owned()
}

#[test]
fn the_page_works_a_bar_out_as_it_was_judged() {
    let bench = started(&bar_plan(8, 4, 100, ""));
    // A second wave of 30 on a spindle that is 5 off: 2 × 5 is not what was judged.
    let oval =
        |angle: f64| 5.0 * angle.to_radians().cos() + 30.0 * (2.0 * angle).to_radians().cos();
    let turns = [0.0, 90.0, 180.0, 270.0].map(|at| turn(8, oval, 20.0, at));
    let verdict = measured(&bench, &turns);
    // 5 + 30 at 0 against 0 − 30 at 90.
    assert_eq!(verdict["value"], "0.000065", "{verdict}");
    let said = worked(&bench);
    assert!(
        said.contains("the mean turn shows more, highest at mark 0, lowest at 2: 0.000035 − (−0.00003) = 0.000065"),
        "{said}"
    );
    // Round, and with the high reading between two marks, it is the first wave.
    bench.ok(&["remeasure", "cleaned", "bar/out"]);
    let between = |angle: f64| 40.0 * (angle - 22.5).to_radians().cos();
    measured(&bench, &[0.0, 90.0, 180.0, 270.0].map(|at| turn(8, between, 20.0, at)));
    let said = worked(&bench);
    assert!(
        said.contains("in the mean of 4 seatings") && said.contains("; 2 × 0.0000399"),
        "{said}"
    );
    // Seatings that disagree are not put together: the first one is shown.
    let bench = started(&bar_plan(8, 4, 100, ""));
    let apart = [0.0, 0.0, 90.0, 90.0].map(|at| turn(8, between, 40.0, at));
    let verdict = measured(&bench, &apart);
    assert_eq!(verdict["reasons"], serde_json::json!(["seating-moved"]), "{verdict}");
    let said = worked(&bench);
    let (high, low) = (apart[0].iter().max().unwrap(), apart[0].iter().min().unwrap());
    let told = verdict["value"].as_str().unwrap();
    let off = told.parse::<f64>().unwrap() - f64::from(high - low) / 1e6;
    assert!(off.abs() < 1e-9, "{verdict}");
    assert!(
        said.contains("as it was seated first. Highest at position") && said.ends_with(told),
        "{said}"
    );
}

#[test]
fn of_three_seatings_two_are_averaged_and_the_page_says_so() {
    let bench = started(&bar_plan(8, 3, 100, ""));
    let between = |angle: f64| 40.0 * (angle - 22.5).to_radians().cos();
    measured(&bench, &[0.0, 180.0, 0.0].map(|at| turn(8, between, 30.0, at)));
    let said = worked(&bench);
    assert!(said.contains("in the mean of 2 seatings"), "{said}");
}

/// Registered with a total reading of 20 and u 6, a bar may make the total reading of the spindle larger or
/// smaller by 20·cos of an angle that nobody knows: 20/√2, with u √(200 + 36) = 15.362. Seated once, s = 6,
/// seating 4: U = 2·√(72 + 4·16 + 236) = 38.57.
#[test]
fn a_bar_of_the_register_has_its_share_of_the_uncertainty() {
    let plan = bar_plan(8, 1, 200, "").replace("bar = \"0.00001 in\"", "bar_name = \"tb-7\"");
    let bench = started(&plan);
    let said = bench.refused(2, &["measure", "bar/out"]);
    assert!(said.contains("bar tb-7 is not in the register"), "{said}");
    assert!(said.contains("tenths register bar tb-7 --runout"), "{said}");
    let said = bench.refused(2, &["register", "block", "b1", "--runout", "0.00002 in"]);
    assert!(said.contains("only a bar has a run-out"), "{said}");
    let register = ["register", "bar", "tb-7", "--serial", "311", "--due", "2099-03-01"];
    bench.ok(&register);
    let said = bench.refused(2, &["measure", "bar/out"]);
    assert!(said.contains("the register does not say how true bar tb-7 is"), "{said}");
    bench
        .ok(&[&register[..], &["--runout", "0.00002 in", "--uncertainty", "0.000006 in"]].concat());
    let entry = &bench.lines(&["register"])[0];
    assert_eq!((&entry["runout"], &entry["uncertainty"]), (&"0.00002".into(), &"0.000006".into()));
    let verdict = measured(&bench, &[turn(8, spindle, 0.0, 0.0)]);
    let u = verdict["uncertainty"].as_str().unwrap().parse::<f64>().unwrap() * 1e6;
    assert!((u - 38.575).abs() < 0.01, "{u}");
    let id = verdict["id"].to_string();
    let budget = bench.lines(&["budget", &id]).pop().unwrap();
    let shares = budget["shares"].as_array().unwrap();
    let bar = shares.iter().find(|share| share["share"] == "bar").unwrap();
    let own = bar["u"].as_str().unwrap().parse::<f64>().unwrap() * 1e6;
    assert!((own - 15.362).abs() < 0.001, "{bar}");
    assert_eq!(
        (&bar["known"], &bar["source"]),
        (&"stated".into(), &"bar tb-7 (311) of the register".into())
    );
    assert!(bench.ok(&["budget", &id]).contains("stated: bar tb-7 (311) of the register"));
    assert!(bench.ok(&["report", "j1"]).contains("bar tb-7 (311) of the register"));
    // The entry is pinned with the attempt: another one later changes nothing of what was judged.
    bench.ok(&["register", "bar", "tb-7", "--runout", "0.0001 in"]);
    bench.ok(&["verify"]);
    assert_eq!(newest(&bench)["uncertainty"], verdict["uncertainty"]);
}

/// A certificate that has run out withholds what the bar tells, as that of a master does.
#[test]
fn a_bar_past_the_date_of_its_certificate_withholds_the_verdict() {
    let plan = bar_plan(8, 1, 200, "").replace("bar = \"0.00001 in\"", "bar_name = \"tb-7\"");
    let bench = started(&plan);
    bench.ok(&["register", "bar", "tb-7", "--runout", "0 in", "--due", "2020-03-01"]);
    let begun = bench.ok(&["measure", "bar/out"]);
    assert!(begun.contains("tb-7"), "{begun}");
    enter(&bench, &turn(8, spindle, 0.0, 0.0));
    let verdict = newest(&bench);
    assert_eq!(
        (&verdict["verdict"], &verdict["reasons"]),
        (&"undecided".into(), &serde_json::json!(["overdue"]))
    );
    let advice = verdict["advice"].to_string();
    assert!(advice.contains("The certificate of the bar tb-7 had run out."), "{advice}");
}
