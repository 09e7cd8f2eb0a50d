//! Which step of the job a check belongs to: as the plan writes it, otherwise by the rule.

use super::*;
use bench::plan::Step;

const REBUILD: &str = include_str!("../../../../config/plans/rebuild.toml");

/// The step of each check of a plan.
fn steps(text: &str) -> Vec<(String, &'static str)> {
    let plan = parse_plan(text, "p.toml").unwrap();
    let one = |at| {
        let (part, check) = plan.at(at)?;
        Some((format!("{}/{}", part.name, check.name), plan.step_of(at)?.text()))
    };
    plan.places().filter_map(one).collect()
}

fn step(text: &str, check: &str) -> &'static str {
    let all = steps(text);
    all.iter().find(|(name, _)| name == check).map(|(_, step)| *step).unwrap()
}

/// The order and place of the work are those of handbook 1.1, which is common practice without a source.
#[test]
fn the_checks_of_a_whole_rebuild_fall_into_their_steps_by_themselves() {
    for (check, expected) in [
        ("as-received/pilot", "intake"),
        ("as-received/float", "intake"),
        ("spindle/taper", "inspection"),
        ("temperature/rings", "inspection"),
        ("inner-spacer/mark", "grind"),
        ("inner-spacer/length", "grind"),
        ("spacers/match", "pair"),
        ("shield/flat", "grind"),
        ("front-pair/serial", "bearings"),
        ("nut/face", "nut"),
        ("nut/torque", "nut"),
        ("final/pilot", "final"),
        ("final/drag", "final"),
    ] {
        assert_eq!(step(REBUILD, check), expected, "{check}");
    }
}

#[test]
fn a_step_is_written_at_a_part_or_a_check_and_the_check_has_the_last_word() {
    let plan = |part: &str, check: &str| {
        format!(
            "{HEAD}[[part]]\nname = \"ring\"\nkind = \"spacer\"\n{part}\n[[part.check]]\n\
             name = \"a\"\n{check}\nmeasures = \"confirm\"\nquestion = \"clean?\"\ngood = [\"yes\"]\n"
        )
    };
    assert_eq!(step(&plan("", ""), "ring/a"), "grind");
    assert_eq!(step(&plan("step = \"inspection\"", ""), "ring/a"), "inspection");
    let both = plan("step = \"inspection\"", "step = \"assembly\"");
    assert_eq!(step(&both, "ring/a"), "assembly");
    for one in Step::ALL {
        assert_eq!(step(&plan("", &format!("step = \"{}\"", one.text())), "ring/a"), one.text());
    }
    single(
        &told(&plan("", "step = \"lunch\"")),
        "lunch",
        "\"part.check.step\" is \"lunch\" — write \"intake\" or \"teardown\"",
    );
    single(&told(&plan("step = 3", "")), "3", "\"part.step\"");
}

#[test]
fn found_sides_and_the_stack_move_a_check_to_another_step() {
    let face = |name: &str, more: &str| {
        format!(
            "[[part.check]]\nname = \"{name}\"\nmeasures = \"flatness\"\ngauge = \"g\"\n\
             setup = \"plate\"\npositions = 8\nradii = [1.2, 1.5]\ntolerance = 0.0001\n{more}\n"
        )
    };
    let ring = "[[part]]\nname = \"sleeve\"\nkind = \"other\"\n";
    let two =
        format!("{HEAD}{ring}{}{}", face("came", ""), face("left", "found = \"sleeve/came\""));
    assert_eq!(step(&two, "sleeve/came"), "inspection");
    assert_eq!(step(&two, "sleeve/left"), "inspection", "nobody grinds what is no ring");
    let stacked = format!("{two}[[stack]]\npart = \"sleeve\"\n");
    assert_eq!(step(&stacked, "sleeve/came"), "inspection");
    assert_eq!(step(&stacked, "sleeve/left"), "grind", "what is clamped is ground");
    let nut = format!("{HEAD}[[part]]\nname = \"nut\"\nkind = \"nut\"\n{}", face("face", ""));
    assert_eq!(step(&nut, "nut/face"), "grind", "off the shaft");
}
