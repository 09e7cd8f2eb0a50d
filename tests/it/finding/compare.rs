//! Jobs side by side.

use super::*;

fn part(name: &str, checks: &[String]) -> String {
    format!("[[part]]\nname = \"{name}\"\nkind = \"other\"\n{}", checks.join(""))
}

fn measured(name: &str, measures: &str, tolerance: &str) -> String {
    let setup = if measures == "thickness-variation" { "anvil" } else { "plate" };
    format!(
        "[[part.check]]\nname = \"{name}\"\nmeasures = \"{measures}\"\ngauge = \"plate\"\nsetup = \"{setup}\"\n\
         positions = 8\nradius = \"1.5 in\"\ntolerance = \"{tolerance}\"\nclosure = false\n"
    )
}

fn bar(second: &str) -> String {
    format!(
        "[[part.check]]\nname = \"run\"\nmeasures = \"bar-runout\"\ngauge = \"plate\"\npositions = 8\n\
         stations = [{{ at = \"0.25 in\", tolerance = \"0.0001 in\" }}, {{ at = \"3 in\", tolerance = \"{second}\" }}]\n"
    )
}

fn asked() -> String {
    "[[part.check]]\nname = \"blued\"\nmeasures = \"confirm\"\nquestion = \"Blue all round?\"\n\
     answers = [\"yes\", \"no\"]\ngood = [\"yes\"]\n"
        .to_owned()
}

/// Two plans: `held` and, a year later, `later` in millimetres with another limit on one face, one
/// check less, one more, and one that measures something else under the old name.
fn bench() -> Bench {
    let head = |name: &str, unit: &str| format!("name = \"{name}\"\nunit = \"{unit}\"\n");
    let faces = |limit: &str| [measured("face", "parallelism", limit)];
    let held = [
        head("held", "in"),
        part("ring", &[faces("0.0001 in").concat(), measured("back", "parallelism", "0.0001 in")]),
        part(
            "cap",
            &[faces("0.0001 in").concat(), measured("odd", "parallelism", "0.0001 in"), asked()],
        ),
        part("bar", &[bar("0.0002 in")]),
    ];
    let later = [
        head("later", "mm"),
        part("ring", &[faces("0.00508 mm").concat(), measured("bore", "parallelism", "0.0001 in")]),
        part(
            "cap",
            &[
                faces("0.0001 in").concat(),
                measured("odd", "thickness-variation", "0.0001 in"),
                asked(),
            ],
        ),
        part("bar", &[bar("0.0004 in")]),
    ];
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &held.concat() });
    std::fs::write(bench.path("plans/later.toml"), later.concat()).unwrap();
    bench.start();
    bench
}

/// Eight touches of which the highest is so high, the others nothing.
fn enter(bench: &Bench, target: &str, highest: &str) {
    bench.ok(&["measure", target]);
    enter_turn(bench, highest);
}

/// A bar whose turns swing by so much at either station.
fn enter_bar(bench: &Bench, one: &str, other: &str) {
    bench.ok(&["measure", "bar/run"]);
    for highest in [one, other] {
        enter_turn(bench, highest);
    }
}

/// With the unit of the gauge: one of the plans is in another one.
fn enter_turn(bench: &Bench, highest: &str) {
    let highest = format!("{highest} in");
    let low = "0 in";
    bench.ok(&["enter", low, low, &highest, low, low, low, low, low]);
}

/// `J-1` a year ago, `J-2` now: the ring's face was ground in between, the cap is a new one.
fn two_jobs() -> Bench {
    let bench = bench();
    bench.ok(&["job", "open", "J-1", "--plan", "held", "--serial", "SP 7731"]);
    enter(&bench, "ring/face", "0.00034");
    bench.ok(&["remeasure", "ground", "ring/face", "--remark", "second wheel"]);
    bench.ok(&["enter", "0", "0", "0.00003", "0", "0", "0", "0", "0"]);
    enter(&bench, "ring/back", "0.00004");
    enter(&bench, "cap/face", "0.00005");
    enter(&bench, "cap/odd", "0.00002");
    bench.ok(&["confirm", "cap/blued", "yes"]);
    enter_bar(&bench, "0.00002", "0.00003");
    bench.verdict("J-1", 7);
    bench.ok(&["job", "close", "--why", "a try"]);
    bench.ok(&["job", "open", "J-2", "--plan", "later", "--serial", "sp 7731"]);
    bench.ok(&["replace", "cap", "--serial", "B8", "--why", "bore worn"]);
    enter(&bench, "ring/face", "0.00009");
    enter(&bench, "cap/face", "0.00006");
    enter(&bench, "cap/odd", "0.00002");
    bench.ok(&["confirm", "cap/blued", "no"]);
    enter_bar(&bench, "0.00002", "0.00030");
    bench.verdict("J-2", 5);
    bench
}

fn compared(bench: &Bench, more: &[&str]) -> Value {
    let all: Vec<_> = ["job", "compare"].iter().chain(more).copied().collect();
    let mut lines = bench.lines(&all);
    assert_eq!(lines.len(), 1);
    lines.remove(0)
}

/// A characteristic of a comparison, by its name.
fn characteristic<'a>(
    comparison: &'a Value,
    part: &str,
    check: &str,
    at: Option<&str>,
) -> &'a Value {
    let all = comparison["characteristics"].as_array().unwrap();
    let fits = |one: &&Value| {
        one["part"] == part && one["check"] == check && one["station"].as_str() == at
    };
    all.iter().find(fits).unwrap_or_else(|| panic!("{part}/{check}: {comparison}"))
}

#[test]
fn two_jobs_side_by_side_tell_a_change_from_measuring_again() {
    let bench = two_jobs();
    // Whatever the order they are typed in, and by serial too, the oldest comes first.
    let comparison = compared(&bench, &["J-2", "j-1"]);
    assert_eq!(comparison, compared(&bench, &["--serial", "SP 7731"]));
    assert_eq!(comparison["schema"], "comparison/1");
    assert_eq!((&comparison["unit"], &comparison["same_spindle"]), (&"in".into(), &true.into()));
    assert_eq!(values(comparison["jobs"].as_array().unwrap(), "job"), ["J-1", "J-2"]);
    assert_eq!(comparison["jobs"][1]["replaced"][0]["serial"], "B8");

    let face = characteristic(&comparison, "ring", "face", None);
    let (one, two) = (&face["jobs"][0], &face["jobs"][1]);
    assert_eq!(one["first"]["value"], "0.00034");
    assert_eq!(one["first"]["verdict"], "does-not-conform");
    assert_eq!(one["standing"]["value"], "0.00003");
    assert_eq!((&one["tolerance"], &two["tolerance"]), (&"0.0001".into(), &"0.0002".into()));
    assert_eq!(face["limits_differ"], true);
    let rounds = one["rounds"].as_array().unwrap();
    assert_eq!(values(rounds, "reason"), ["first", "ground"]);
    assert_eq!(rounds[1]["remark"], "second wheel");
    // u = 0.0000084 in: U = 2·√2·u each, together 4·u = 0.0000336 in, each rounded up.
    let change = &face["changes"][0];
    assert_eq!((&change["from"], &change["to"]), (&"J-1".into(), &"J-2".into()));
    assert_eq!(change["value"], "0.00006");
    assert_eq!(change["uncertainty"], "0.00003360008");
    assert_eq!((&change["result"], &change["same_piece"]), (&"changed".into(), &true.into()));

    let cap = &characteristic(&comparison, "cap", "face", None)["changes"][0];
    assert_eq!((&cap["value"], &cap["result"]), (&"0.00001".into(), &"cannot-tell".into()));
    assert_eq!(cap["same_piece"], false);
    let odd = characteristic(&comparison, "cap", "odd", None);
    assert_eq!(
        values(odd["jobs"].as_array().unwrap(), "measures"),
        ["parallelism", "thickness-variation"]
    );
    assert_eq!(
        (&odd["changes"][0]["result"], &odd["changes"][0]["value"]),
        (&"other-measure".into(), &Value::Null)
    );
    let blued = &characteristic(&comparison, "cap", "blued", None)["changes"][0];
    assert_eq!(blued["result"], "other-answer");
    let back = characteristic(&comparison, "ring", "back", None);
    assert_eq!(
        (&back["jobs"][1]["measures"], back["changes"].as_array().unwrap().len()),
        (&Value::Null, 0)
    );
    let bore = characteristic(&comparison, "ring", "bore", None);
    assert_eq!(bore["jobs"][0]["measures"], Value::Null);
    assert_eq!(bore["jobs"][1]["first"], Value::Null);
    // Each station of a bar by itself, however far the other is from its limit.
    let near = characteristic(&comparison, "bar", "run", Some("0.25"));
    let far = characteristic(&comparison, "bar", "run", Some("3"));
    assert_eq!(near["changes"][0]["result"], "cannot-tell");
    assert_eq!(near["jobs"][1]["standing"]["value"], "0.00002");
    assert_eq!(far["jobs"][1]["standing"]["value"], "0.0003");
    assert_eq!(far["changes"][0]["result"], "changed");
    assert_eq!((&near["limits_differ"], &far["limits_differ"]), (&false.into(), &true.into()));
}

#[test]
fn a_person_reads_what_came_what_leaves_and_what_differs() {
    let bench = two_jobs();
    let text = bench.ok(&["job", "compare", "J-1", "J-2", "--long"]);
    for said in [
        "J-1: plan held, serial SP 7731, opened ",
        "cap, serial B8: bore worn",
        "Lengths in inches.",
        "ring/back is only in the plan of J-1.",
        "ring/bore is only in the plan of J-2.",
        "cap/odd measures parallelism in J-1, thickness-variation in J-2.",
        "ring/face has different limits: 0.0001 in J-1; 0.0002 in J-2.",
        "bar/run at 3 has different limits: 0.0002 in J-1; 0.0004 in J-2.",
    ] {
        assert!(text.contains(said), "no {said:?} in:\n{text}");
    }
    let rows: Vec<Vec<&str>> = text
        .lines()
        .map(|line| line.split("  ").map(str::trim).filter(|cell| !cell.is_empty()).collect())
        .collect();
    let row = |check: &str, job: &str| {
        rows.iter().find(|row| row.len() > 1 && row[0] == check && row[1] == job).unwrap()
    };
    assert_eq!(
        row("ring/face", "J-1")[2..],
        ["0.00034", "DOES NOT CONFORM", "0.00003", "CONFORMS", "0.0001", "0.000024"]
    );
    let later = row("ring/face", "J-2");
    assert_eq!(later[later.len() - 2..], ["+0.00006 ±0.000034", "CHANGED"]);
    assert_eq!(row("cap/face", "J-2").last(), Some(&"cannot tell, another piece: new cap"));
    assert_eq!(row("cap/blued", "J-2").last(), Some(&"another answer, another piece: new cap"));
    assert_eq!(row("cap/odd", "J-2").last(), Some(&"measured otherwise, another piece: new cap"));
    assert!(row("ring/bore", "J-2").contains(&"not measured"));
    let ground = rows.iter().find(|row| row.contains(&"ground")).unwrap();
    assert_eq!(ground[..5], ["ring/face", "J-1", "2", "ground", "0.00003"]);
    assert_eq!(ground.last(), Some(&"second wheel"));
    let narrow = in_terminal(&bench, 80, &["job", "compare", "J-1", "J-2"]);
    assert!(narrow.contains("CHANGED") && narrow.contains("No room for"), "{narrow}");
    assert!(
        narrow.lines().filter(|line| line.starts_with("ring/face ")).all(|line| line
            .trim_end()
            .chars()
            .count()
            <= 80)
    );
}

#[test]
fn three_jobs_go_from_one_measuring_to_the_next() {
    let bench = two_jobs();
    bench.ok(&["job", "open", "J-3", "--plan", "held", "--serial", "SP 7731"]);
    enter(&bench, "ring/back", "0.00005");
    enter(&bench, "cap/face", "0.00006");
    bench.verdict("J-3", 2);
    let comparison = compared(&bench, &["--serial", "sp 7731"]);
    assert_eq!(values(comparison["jobs"].as_array().unwrap(), "job"), ["J-1", "J-2", "J-3"]);
    let back = &characteristic(&comparison, "ring", "back", None)["changes"][0];
    assert_eq!((&back["from"], &back["to"]), (&"J-1".into(), &"J-3".into()));
    assert_eq!((&back["result"], &back["same_piece"]), (&"cannot-tell".into(), &true.into()));
    let cap = characteristic(&comparison, "cap", "face", None);
    let same: Vec<_> =
        cap["changes"].as_array().unwrap().iter().map(|one| one["same_piece"].clone()).collect();
    assert_eq!(same, [false, true]);
    // The cap was replaced in a job in between that is not compared.
    let over = compared(&bench, &["J-1", "J-3"]);
    assert_eq!(characteristic(&over, "cap", "face", None)["changes"][0]["same_piece"], false);
    assert_eq!(characteristic(&over, "ring", "back", None)["changes"][0]["same_piece"], true);
    assert_eq!(values(over["not_compared"].as_array().unwrap(), "job"), ["J-2"]);
    let text = bench.ok(&["job", "compare", "J-1", "J-3"]);
    assert!(text.contains("not compared: J-2: plan later"), "{text}");
    // Another spindle is another piece altogether.
    bench.ok(&["job", "open", "J-4", "--plan", "held", "--serial", "0815"]);
    enter(&bench, "ring/back", "0.00005");
    bench.verdict("J-4", 1);
    let other = compared(&bench, &["J-3", "0815"]);
    assert_eq!(other["same_spindle"], false);
    assert_eq!(characteristic(&other, "ring", "back", None)["changes"][0]["same_piece"], false);
    let text = bench.ok(&["job", "compare", "J-3", "J-4"]);
    assert!(text.contains("These are different spindles."), "{text}");
    assert!(!text.contains("Nothing to compare"), "{text}");
}

#[test]
fn jobs_with_nothing_in_common_say_so_first() {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan() });
    let other = plan().replace("held", "other").replace("\"ring\"", "\"cap\"");
    std::fs::write(bench.path("plans/other.toml"), other).unwrap();
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    bench.ok(&["job", "open", "J-2", "--plan", "other"]);
    let text = bench.ok(&["job", "compare", "J-1", "J-2"]);
    let first = "Nothing to compare: no check has the same name in two of these jobs.\n";
    assert!(text.starts_with(first), "{text}");
}

#[test]
fn what_cannot_be_compared_is_refused() {
    let bench = two_jobs();
    bench.ok(&["job", "open", "J-9", "--plan", "held", "--serial", "0815"]);
    for (arguments, sentence) in [
        (&["job", "compare", "J-1"][..], "needs two jobs, and this is only J-1"),
        (&["job", "compare", "J-1", "j-1"], "needs two jobs, and this is only J-1"),
        (&["job", "compare", "--serial", "0815"], "needs two jobs, and this is only J-9"),
        (&["job", "compare", "--serial", "0816"], "there is no serial \"0816\"; there is 0815"),
        (&["job", "compare", "J-1", "J-11"], "no job is named \"J-11\""),
        (&["job", "compare", "J-1", "SP 7731"], "has 2 jobs, newest first: J-2, J-1"),
        (&["job", "compare", "J-1", "J-2", "--serial", "0815"], "--serial"),
        (&["job", "compare"], "required"),
    ] {
        let err = bench.refused(2, arguments);
        assert!(err.contains(sentence), "{arguments:?}: {err}");
    }
}
