//! The card of a job: what was said when it came in, what was decided, who signed, and the step it is at.

use serde_json::Value;

use crate::rig::{Bench, Make};
use crate::watch::Terminal;

const GAUGE: &str = "resolution = \"0.00001 in\"\nuncertainty = \"0.000004 in\"\nrepeatability = \"0.000003 in\"\nrepeat_ms = 0\nmax_rate = 0";

const PLAN: &str = r#"
name = "held"
unit = "in"
[[part]]
name = "received"
kind = "shaft"
[[part.check]]
name = "nose"
measures = "runout"
gauge = "plate"
touch = "outside"
positions = 8
tolerance = "0.0001 in"
[[part]]
name = "spindle"
kind = "shaft"
[[part.check]]
name = "shoulder"
measures = "length"
gauge = "plate"
setup = "plate"
positions = 4
min = "0.9990 in"
max = "1.0010 in"
master = "none"
closure = false
[[part]]
name = "ring"
kind = "spacer"
[[part.check]]
name = "face"
measures = "parallelism"
gauge = "plate"
setup = "plate"
positions = 8
radius = "1.5 in"
tolerance = "0.0001 in"
closure = false
[[part]]
name = "front"
kind = "bearing"
[[part.check]]
name = "dots"
measures = "confirm"
question = "dots in line?"
good = ["yes"]
[[part]]
name = "nut"
kind = "nut"
[[part.check]]
name = "torque"
measures = "entry"
question = "torque"
unit = "Nm"
[[part]]
name = "final"
kind = "shaft"
[[part.check]]
name = "nose"
measures = "runout"
gauge = "plate"
touch = "outside"
positions = 8
tolerance = "0.0001 in"
found = "received/nose"
[[stack]]
part = "ring"
[[stack]]
part = "front"
"#;

const GOOD: [&str; 8] = ["0", "0", "0.00002", "0", "0", "0", "0", "0"];
const OUT: [&str; 8] = ["0", "0", "0.0005", "0", "0", "0", "0", "0"];
const INCH: [&str; 4] = ["1.00000", "1.00001", "1.00000", "1.00001"];

fn bench() -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    bench.start();
    bench
}

fn opened() -> Bench {
    let bench = bench();
    bench.ok(&["job", "open", "j", "--plan", "held"]);
    bench
}

fn measured(bench: &Bench, target: &str, values: &[&str], by: &str) {
    bench.ok(&["measure", target, "--by", by]);
    entered(bench, values, by);
}

fn entered(bench: &Bench, values: &[&str], by: &str) {
    let all: Vec<&str> = ["enter", "--by", by].iter().chain(values).copied().collect();
    bench.ok(&all);
}

fn job(bench: &Bench) -> Value {
    bench.lines(&["job", "show", "j"]).remove(0)
}

fn page(bench: &Bench) -> String {
    bench.ok(&["report", "j"])
}

/// The state of a step, and how much of it is done.
fn step(job: &Value, step: &str) -> (String, u64, u64) {
    let steps = job["steps"].as_array().unwrap();
    let one = steps.iter().find(|one| one["step"] == step).unwrap();
    let number = |field: &str| one[field].as_u64().unwrap();
    (one["state"].as_str().unwrap().to_owned(), number("done"), number("of"))
}

#[track_caller]
fn at(bench: &Bench, now: &str, hindered_by: &str) {
    let job = job(bench);
    assert_eq!(job["step"], now, "{}", job["steps"]);
    assert_eq!(job["hindered_by"], hindered_by);
    let listed = bench.lines(&["job", "list"]).remove(0);
    assert_eq!((&listed["step"], &listed["hindered_by"]), (&job["step"], &job["hindered_by"]));
}

#[test]
fn a_job_goes_through_its_steps_and_what_hinders_the_next_one_is_named() {
    let bench = opened();
    let all = job(&bench);
    assert_eq!(all["steps"].as_array().unwrap().len(), 12);
    for absent in ["pair", "run-in"] {
        assert_eq!(step(&all, absent).0, "not-part", "{absent}");
    }
    at(
        &bench,
        "intake",
        "Before the teardown: received/nose is not measured, nobody wrote down what is wrong and what was asked for.",
    );
    bench.ok(&["job", "intake", "j", "--complaint", "whines above 6000"]);
    assert_eq!(step(&job(&bench), "intake"), ("under-way".to_owned(), 1, 2));
    // As it came in it may be bad: that is no hindrance.
    measured(&bench, "received/nose", &OUT, "Ada");
    at(
        &bench,
        "teardown",
        "Before the inspection: ring is not written down as it was found, front is not written down as it was found.",
    );
    bench.ok(&["stack", "found", "ring"]);
    assert_eq!(step(&job(&bench), "teardown"), ("under-way".to_owned(), 1, 2));
    bench.ok(&["stack", "found", "front", "--serial", "B7"]);
    at(&bench, "inspection", "Before the decision: spindle/shoulder is not measured.");
    measured(&bench, "spindle/shoulder", &INCH, "Ada");
    at(
        &bench,
        "decide",
        "Before the grind: nobody decided whether spindle is kept, reground or replaced.",
    );
    bench.ok(&["decide", "spindle", "kept", "--why", "shoulder well inside"]);
    at(&bench, "grind", "Before the bearings: ring/face is not measured.");
    measured(&bench, "ring/face", &OUT, "Ada");
    assert_eq!(step(&job(&bench), "grind").0, "hindered");
    at(&bench, "grind", "Before the bearings: ring/face does not conform.");
    shown(&bench);
    assert!(bench.ok(&["job", "list"]).contains("grind, 0 of 1"));
    bench.ok(&["remeasure", "ground", "ring/face", "--by", "Ada"]);
    entered(&bench, &GOOD, "Ada");
    at(&bench, "bearings", "Before the assembly: front/dots is not measured.");
    bench.ok(&["confirm", "front/dots", "yes", "--by", "Ada"]);
    bench.ok(&["stack", "built", "ring"]);
    at(&bench, "assembly", "Before the nut: front is not built in.");
    bench.ok(&["stack", "built", "front", "--serial", "B7"]);
    bench.ok(&["record", "nut/torque", "45", "--by", "Ada"]);
    measured(&bench, "final/nose", &GOOD, "Ada");
    at(
        &bench,
        "hand-over",
        "Before the job is handed over: nobody signed as measured, nobody signed as checked, nobody signed as accepted, and 1 more.",
    );
    bench.ok(&["sign", "j", "measured", "--by", "Ada"]);
    bench.ok(&["sign", "j", "checked", "--by", "Bo"]);
    bench.ok(&["job", "close", "j"]);
    at_closed(&bench);
    bench.ok(&["sign", "j", "accepted", "--by", "Invented Machine Works"]);
    let done = job(&bench);
    assert_eq!((&done["step"], &done["hindered_by"]), (&Value::Null, &Value::Null), "{done}");
    assert!(bench.ok(&["job", "show", "j"]).contains("all 10 steps are done"));
    let page = page(&bench);
    assert_eq!(page.matches("<li class=\"done\"").count(), 10, "a strip of the steps");
    assert!(page.contains("Invented Machine Works"));
    assert!(bench.ok(&["verify"]).contains("All is as it was stored"));
}

/// What a person reads of it.
fn shown(bench: &Bench) {
    let shown = bench.ok(&["job", "show", "j"]);
    for line in [
        "step 5 of 10: grind, 0 of 1",
        "Before the bearings: ring/face does not conform.",
        "  done: intake, teardown, inspection, decision",
        "  hindered: grind (0 of 1)",
        "  open: bearings, assembly, nut, final inspection, hand-over",
    ] {
        assert!(shown.lines().any(|one| one == line), "{line}: {shown}");
    }
}

/// Closed and not accepted: the hand-over is still to come.
fn at_closed(bench: &Bench) {
    let job = job(bench);
    assert_eq!(job["step"], "hand-over");
    assert_eq!(job["hindered_by"], "Before the job is handed over: nobody signed as accepted.");
    assert_eq!(bench.lines(&["job", "list"])[0].get("step"), None, "a list has it of open jobs");
}

#[test]
fn what_was_said_when_it_came_in_stays_beside_what_is_said_later() {
    let bench = bench();
    bench.ok(&[
        "job",
        "open",
        "j",
        "--plan",
        "held",
        "--complaint",
        "whines <above> 6000\u{1b}[31m",
        "--asked",
        "new bearings",
        "--rule",
        "simple",
        "--by",
        "Office",
    ]);
    bench.ok(&["job", "intake", "j", "--complaint", "whines, and runs warm", "--by", "Ada"]);
    // The same words again are no new fact.
    bench.ok(&["job", "intake", "j", "--asked", "new bearings", "--limits", "drawing S-118"]);
    let job = job(&bench);
    let told: Vec<(&str, &str, &str)> = job["intake"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| {
            let text = |field: &str| one[field].as_str().unwrap_or_default();
            (text("what"), text("text"), text("by"))
        })
        .collect();
    assert_eq!(
        told[..3],
        [
            ("complaint", "whines <above> 6000\u{1b}[31m", "Office"),
            ("asked", "new bearings", "Office"),
            ("complaint", "whines, and runs warm", "Ada"),
        ]
    );
    assert_eq!((told[3].0, told[3].1, told.len()), ("limits", "drawing S-118", 4));
    assert_eq!(job["rule"], "simple");
    assert_eq!(job["rules"][0]["why"], "agreed when the job was opened");
    let shown = bench.ok(&["job", "show", "j"]);
    assert!(
        shown.contains("what the customer says is wrong") && !shown.contains('\u{1b}'),
        "{shown}"
    );
    let page = page(&bench);
    assert!(page.contains("whines, and runs warm") && page.contains("whines &lt;above&gt; 6000"));
    for nothing in [&["job", "intake", "j"][..], &["job", "intake", "j", "--complaint", " "]] {
        let said = bench.refused(2, nothing);
        assert!(said.contains("nothing to write down") || said.contains("1 to 2000"), "{said}");
    }
    bench.refused_usage(&["job", "intake", "j", "--complaint", ""]);
    let long = "x".repeat(2001);
    assert!(bench.refused(2, &["job", "intake", "j", "--asked", &long]).contains("1 to 2000"));
    assert!(bench.refused(2, &["job", "intake", "k", "--asked", "x"]).contains("no open job"));
    // A job that cannot be opened leaves nothing behind.
    bench.refused(2, &["job", "open", "j", "--plan", "held", "--complaint", "again"]);
    assert_eq!(self::job(&bench)["intake"].as_array().unwrap().len(), 4);
}

#[test]
fn at_a_terminal_opening_a_job_asks_and_in_a_pipe_it_does_not() {
    let bench = bench();
    bench.ok(&["job", "open", "piped", "--plan", "held"]);
    let screen = Terminal::running(&bench, (80, 24), &["job", "open", "j", "--plan", "held"]);
    screen.until(&["Job j is open and in use.", "What does the customer say is wrong?"]);
    screen.press("whines above 6000\n");
    screen.until(&["What was asked for?"]);
    screen.press("\n");
    screen.until(&["Which limits were agreed"]);
    screen.press("nose under 0.0001 in\n");
    screen.until(&["guarded or simple?"]);
    screen.press("perhaps\n");
    screen.until(&["it is guarded or simple"]);
    screen.press("Simple\n");
    screen.until(&["judged by the simple rule"]);
    let told = job(&bench);
    let what: Vec<&Value> =
        told["intake"].as_array().unwrap().iter().map(|one| &one["what"]).collect();
    assert_eq!(what, ["complaint", "limits"]);
    assert_eq!(told["rule"], "simple");
    // One Enter ends it; whoever gave something as an option is asked nothing.
    let mut screen = Terminal::running(&bench, (80, 24), &["job", "open", "k", "--plan", "held"]);
    screen.until(&["What does the customer say is wrong?"]);
    screen.press("\n");
    screen.until_over();
    for (name, option) in [("l", "--no-questions"), ("m", "--asked=bearings")] {
        let open = ["job", "open", name, "--plan", "held", option];
        let mut screen = Terminal::running(&bench, (80, 24), &open);
        screen.until_over();
        assert!(!screen.text().contains("customer say"), "{}", screen.text());
    }
}

#[test]
fn what_was_done_to_a_part_beats_what_was_decided() {
    let bench = opened();
    let part = |name: &str| {
        let job = job(&bench);
        job["parts"].as_array().unwrap().iter().find(|one| one["part"] == name).unwrap().clone()
    };
    assert_eq!(part("ring")["outcome"], Value::Null);
    bench.ok(&["decide", "ring", "kept", "--why", "looks <good>", "--by", "Ada"]);
    assert_eq!((&part("ring")["outcome"], &part("ring")["done"]), (&"kept".into(), &false.into()));
    measured(&bench, "ring/face", &OUT, "Ada");
    bench.ok(&["remeasure", "ground", "ring/face"]);
    entered(&bench, &GOOD, "Ada");
    // The grind filled it in, and the decision that it overtook is still told.
    let ring = part("ring");
    assert_eq!(
        (&ring["outcome"], &ring["done"], &ring["why"]),
        (&"reground".into(), &true.into(), &Value::Null)
    );
    assert!(page(&bench).contains("decided before: kept, <bdi>looks &lt;good&gt;</bdi>"));
    let said = bench.refused(2, &["decide", "ring", "kept", "--why", "still good"]);
    assert!(said.contains("ring was ground in this job: it is reground, not kept"), "{said}");
    assert!(said.contains("tenths decide ring reground --why TEXT"), "{said}");
    bench.ok(&["decide", "ring", "reground", "--why", "0.0005 in at 90"]);
    assert_eq!(part("ring")["why"], "0.0005 in at 90");
    let told = page(&bench);
    let row = told.split("Found, done, why").nth(1).unwrap().split("</table>").next().unwrap();
    for cell in ["face", "does not conform", "reground", "0.0005 in at 90"] {
        assert!(row.contains(cell), "{cell}: {row}");
    }
    // A decision that is not carried out yet is told, and stands before the next step.
    let told = bench.ok(&["decide", "front", "replaced", "--why", "always"]);
    assert!(told.contains("No new front is on the record yet: `tenths replace front"), "{told}");
    assert_eq!(part("front")["to_do"], "replaced");
    let bearings = &job(&bench)["steps"][6];
    assert!(bearings["hindered_by"].to_string().contains("front is to be replaced"), "{bearings}");
    bench.ok(&["replace", "front", "--serial", "B8", "--why", "worn"]);
    let front = part("front");
    assert_eq!(
        (&front["to_do"], &front["done"], &front["serial"]),
        (&Value::Null, &true.into(), &"B8".into())
    );
    for outcome in ["kept", "replaced"] {
        let said = bench.refused(2, &["decide", "front", outcome, "--why", "x"]);
        assert!(said.contains("front was replaced by a new one already"), "{said}");
    }
    bench.refused_usage(&["decide", "ring", "scrapped", "--why", "x"]);
    bench.refused_usage(&["decide", "ring", "kept"]);
    bench.refused(2, &["decide", "ring", "reground", "--why", "  "]);
    assert!(bench.refused(2, &["decide", "moon", "kept", "--why", "x"]).contains("no part"));
    assert!(bench.ok(&["verify"]).contains("All is as it was stored"));
}

#[test]
fn a_received_part_has_its_serial_number_and_another_one_does_not_go_on_the_shaft() {
    let bench = opened();
    bench.ok(&["serial", "front", " B7-Ø "]);
    let said = bench.ok(&["serial", "front", "B9"]);
    assert!(said.contains("serial number B9 from now on. It was B7-Ø before."), "{said}");
    bench.ok(&["serial", "front", "B9"]);
    let told = job(&bench);
    assert_eq!(told["serials"].as_array().unwrap().len(), 2, "the same is not written twice");
    measured(&bench, "ring/face", &GOOD, "Ada");
    bench.ok(&["confirm", "front/dots", "yes"]);
    bench.ok(&["stack", "built", "ring"]);
    let said = bench.refused(2, &["stack", "built", "front", "--serial", "B7"]);
    assert!(said.contains("front should have the serial number B9, not B7"), "{said}");
    bench.ok(&["stack", "built", "front", "--serial", "B9"]);
    bench.refused(2, &["serial", "front", " "]);
    bench.refused(2, &["serial", "front", "a\nb"]);
    bench.refused(2, &["serial", "moon", "1"]);
}

#[test]
fn an_open_job_with_failed_or_unmeasured_checks_is_not_signed_in_silence() {
    let bench = opened();
    measured(&bench, "ring/face", &OUT, "Ada");
    let before = bench.heard().unwrap()["storage"]["seal"].clone();
    for role in ["measured", "checked", "accepted"] {
        let said = bench.refused(2, &["sign", "j", role, "--by", "Bo"]);
        for part in [
            format!("job j is not signed as {role}"),
            "ring/face does not conform".to_owned(),
            "final/nose is not measured".to_owned(),
            format!("tenths sign j {role} --by Bo --why TEXT"),
        ] {
            assert!(said.contains(&part), "{part}: {said}");
        }
    }
    bench.refused(2, &["checked", "j", "--by", "Bo"]);
    assert_eq!(bench.heard().unwrap()["storage"]["seal"], before, "nothing is left behind");
    let reply = bench.lines(&["checked", "j", "--by", "Bo", "--why", "the owner waits"]).remove(0);
    assert_eq!((&reply["schema"], &reply["role"]), (&"checked/1".into(), &"checked".into()));
    assert_eq!(reply["seal"], before, "the seal of that moment");
    assert!(reply["mind"][0].as_str().unwrap().contains("ring/face does not conform"), "{reply}");
    let signed = &job(&bench)["signed"][0];
    assert_eq!((&signed["by"], &signed["why"]), (&"Bo".into(), &"the owner waits".into()));
    assert_eq!(signed["checks"][0]["lack"], "not-measured", "{signed}");
    assert!(page(&bench).contains("although") && page(&bench).contains("the owner waits"));
    // A customer is not whoever stands at the bench.
    let said = bench.refused(2, &["sign", "j", "accepted", "--why", "x"]);
    assert!(said.contains("it is not known who accepts the job"), "{said}");
    bench.refused(2, &["sign", "k", "measured", "--by", "Bo"]);
    bench.refused_usage(&["sign", "j", "paid", "--by", "Bo"]);
    bench.refused(2, &["sign", "j", "measured", "--by", "", "--why", "x"]);
}

#[test]
fn a_signature_is_of_an_earlier_state_once_something_was_measured_or_changed() {
    let bench = opened();
    let earlier = || -> Vec<bool> {
        let job = job(&bench);
        let signed = job["signed"].as_array().unwrap().iter();
        let listed: Vec<Value> =
            bench.lines(&["job", "list"]).remove(0)["checked"].as_array().unwrap().clone();
        let checked = signed.clone().filter(|one| one["role"] == "checked");
        for (one, listed) in checked.zip(listed) {
            assert_eq!(one["of_an_earlier_state"], listed["of_an_earlier_state"]);
        }
        signed.map(|one| one["of_an_earlier_state"].as_bool().unwrap()).collect()
    };
    let sign = |role: &str| {
        bench.ok(&["sign", "j", role, "--by", "Bo", "--why", "on the way"]);
    };
    measured(&bench, "ring/face", &GOOD, "Ada");
    sign("checked");
    // A remark, another check on the screen and another signature change nothing that was signed.
    bench.ok(&["note", "j", "came in dirty"]);
    bench.ok(&["measure", "final/nose"]);
    sign("measured");
    assert_eq!(earlier(), [false, false]);
    for (count, change) in [
        &["enter", "0"][..],
        &["void"],
        &["confirm", "front/dots", "yes"],
        &["stack", "found", "ring"],
        &["stack", "found", "--back"],
        &["decide", "spindle", "kept", "--why", "good"],
        &["serial", "front", "B7"],
        &["job", "intake", "j", "--asked", "new bearings"],
        &["job", "rule", "j", "simple", "--why", "agreed"],
        &["replace", "front", "--why", "worn"],
    ]
    .into_iter()
    .enumerate()
    {
        bench.ok(change);
        let now = earlier();
        assert_eq!(now.len(), count + 2);
        assert!(now.iter().all(|earlier| *earlier), "{change:?}: {now:?}");
        sign("checked");
        assert_eq!(earlier().last(), Some(&false));
    }
    let shown = bench.ok(&["job", "show", "j"]);
    assert_eq!(shown.matches("of an earlier state").count(), 11, "{shown}");
    bench.ok(&["enter", "0"]);
    let told = job(&bench);
    assert!(told["steps"][11]["hindered_by"].to_string().contains("is of an earlier state"));
    assert!(page(&bench).contains("of an earlier state"));
    assert!(bench.ok(&["verify"]).contains("All is as it was stored"));
}

#[test]
fn whoever_measured_is_no_second_person() {
    let bench = opened();
    let signed = |by: &str| {
        bench.lines(&["sign", "j", "checked", "--by", by, "--why", "x"]).remove(0)["mind"]
            .to_string()
    };
    measured(&bench, "ring/face", &GOOD, "Ada");
    assert!(signed("Ada").contains("Ada measured it, too: no second person's check"));
    bench.ok(&["confirm", "front/dots", "yes", "--by", "Bo"]);
    let said = signed("Bo");
    assert!(
        said.contains("Bo measured front/dots alone: no second person's check of that"),
        "{said}"
    );
    assert!(!signed("Cy").contains("no second person"));
    let page = page(&bench);
    assert!(page.contains("who <bdi>measured front/dots alone"), "{page}");
}

#[test]
fn verify_holds_a_signature_against_the_chain() {
    let mut bench = opened();
    measured(&bench, "ring/face", &GOOD, "Ada");
    bench.ok(&["sign", "j", "measured", "--by", "Ada", "--why", "x"]);
    let signed = job(&bench)["signed"][0]["seal"].as_str().unwrap().to_owned();
    bench.ok(&["note", "j", "goes on"]);
    assert!(bench.ok(&["verify", "--seal", &signed]).contains("All is as it was stored"));
    bench.stop();
    let file = rusqlite::Connection::open(bench.state.join("tenths.db")).unwrap();
    let sql = "UPDATE reading SET number = number + 1 WHERE nth = (SELECT min(nth) FROM reading)";
    assert_eq!(file.execute(sql, []).unwrap(), 1);
    drop(file);
    let output = bench.run(&["verify"]);
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(said.contains("not those that it was given under"), "{said}");
}

#[test]
fn a_signature_that_came_with_its_job_keeps_the_seal_of_its_first_bench() {
    let bench = opened();
    bench.ok(&["job", "intake", "j", "--complaint", "whines"]);
    bench.ok(&["serial", "front", "B7"]);
    bench.ok(&["decide", "spindle", "kept", "--why", "good"]);
    measured(&bench, "ring/face", &GOOD, "Ada");
    bench.ok(&["job", "close", "j", "--why", "the owner waits"]);
    bench.ok(&["sign", "j", "checked", "--by", "Bo"]);
    let bundle = bench.path("bundle");
    bench.ok(&["export", "j", "--out", bundle.to_str().unwrap()]);
    let other = self::bench();
    other.ok(&["job", "open", "first", "--plan", "held", "--no-questions"]);
    let mut other = other;
    other.stop();
    other.ok(&["import", bundle.to_str().unwrap()]);
    assert!(other.ok(&["verify"]).contains("All is as it was stored"));
    let (here, there) = (job(&bench), job(&other));
    let (one, came) = (&here["signed"][0], &there["signed"][0]);
    assert_eq!((&one["seal"], &one["at"]), (&came["seal"], &came["at"]));
    assert_eq!((&one["from_elsewhere"], &came["from_elsewhere"]), (&false.into(), &true.into()));
    assert_eq!(came["of_an_earlier_state"], false);
    for field in ["steps", "intake", "decided", "serials", "parts", "step", "hindered_by"] {
        let bare = |job: &Value| {
            let mut field = job[field].clone();
            for one in field.as_array_mut().into_iter().flatten().filter_map(Value::as_object_mut) {
                one.remove("caller");
            }
            field
        };
        assert_eq!(bare(&here), bare(&there), "{field}");
    }
    assert!(other.ok(&["job", "show", "j"]).contains("checked by Bo"));
    assert!(other.ok(&["job", "show", "j"]).contains("on another bench"));
    assert!(page(&other).contains("cannot be checked in this record"));
    assert!(!page(&bench).contains("cannot be checked in this record"));
}
