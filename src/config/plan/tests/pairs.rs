//! Checks that refer to others: lengths with temperatures, differences.

use super::*;

const LENGTH: &str = "measures = \"length\"\ngauge = \"g\"\nsetup = \"plate\"\npositions = 4\n\
                      min = 1\nmax = 2\nmaster_size = 1\n";
const OF: &str = "measures = \"difference\"\nof = [\"outer/length\", \"inner/length\"]\n";

fn with(rest: &str) -> String {
    format!("{OF}tolerance = 0.0001\n{rest}")
}

/// Two lengths, two entries and one more check, whose own first line is line 1.
fn told_beside(check: &str) -> Vec<String> {
    told_beside_with(check, ["inner", "outer"], ["", ""])
}

fn told_beside_with(check: &str, parts: [&str; 2], masters: [&str; 2]) -> Vec<String> {
    let mut text = HEAD.to_owned();
    for (part, master) in parts.into_iter().zip(masters) {
        let master = if master.is_empty() { "master_size = 1\n" } else { master };
        let length = LENGTH.replace("master_size = 1\n", master);
        text.push_str(&["[[part]]\nname = \"", part, "\"\n[[part.check]]\n"].concat());
        text.push_str(&["name = \"length\"\n", &length].concat());
    }
    text += "[[part]]\nname = \"room\"\n";
    for (name, unit) in [("temp", "F"), ("off", "um"), ("free", "")] {
        text.push_str(&["[[part.check]]\nname = \"", name, "\"\nmeasures = \"entry\"\n"].concat());
        text.push_str(&["question = \"?\"\nunit = \"", unit, "\"\n"].concat());
    }
    text = text.replace("unit = \"\"\n", "");
    text += "[[part.check]]\nname = \"x\"\n";
    let head = u32::try_from(text.lines().count()).unwrap();
    let findings = read(&format!("{text}{check}"), "c").findings;
    let lesser = |finding: &Finding| Finding {
        line: finding.line.map(|line| line.saturating_sub(head)),
        ..finding.clone()
    };
    findings.iter().map(|finding| lesser(finding).to_string()).collect()
}

#[test]
fn a_length_is_told_about_its_temperatures() {
    let cases = [
        ("temperatures = [\"room/temp\"]\n", "c:8: error: temperatures should be two entries"),
        (
            "temperatures = [\"room/tmp\", \"room/free\"]\n",
            "c:8: error: there is no check \"room/tmp\" in this plan — did you mean \"room/temp\"?",
        ),
        (
            "temperatures = [\"inner/length\", \"room/free\"]\n",
            "c:8: error: \"inner/length\" measures length",
        ),
        (
            "temperatures = [\"room/temp\", \"room/free\"]\n",
            "c:8: error: \"room/temp\" is recorded in F",
        ),
        (
            "temperatures = [\"room/free\", \"room/free\"]\noff_20 = 1\n",
            "c:9: warning: off_20 changes nothing beside temperatures",
        ),
        ("off_20 = 51\n", "c:8: error: off_20 should be 0 to 50 degrees C"),
        (
            "temperature_between = -1\n",
            "c:8: error: temperature_between should be 0 to 50 degrees C",
        ),
        ("master_uncertainty = -1\n", "c:8: error: master_uncertainty is -1 in"),
        ("master_uncertainty = 0.011\n", "c:8: error: master_uncertainty is 0.011 in"),
        (
            "master = \"none\"\nmaster_uncertainty = 0\n",
            "c:9: error: master_uncertainty is given and no master is touched",
        ),
        (
            "temperatures = [\"room/free\", \"room/free\"]\nexpansion = 11.5\n",
            "c:9: error: expansion is 11.5 per degree C — steel is 11.5e-6",
        ),
        (
            "temperatures = [\"room/free\", \"room/free\"]\nmaster_expansion = \"x\"\n",
            "\"x\" is not a decimal number",
        ),
        ("judge = \"median\"\n", "\"part.check.judge\" is \"median\""),
        ("stand = 1\n", "unknown key \"part.check.stand\""),
    ];
    for (rest, words) in cases {
        let check = format!("{LENGTH}{rest}");
        single(&told_beside(&check), &check, words);
    }
}

#[test]
fn a_difference_is_taken_of_two_lengths() {
    let of = |of: &str| format!("measures = \"difference\"\ntolerance = 1\n{of}");
    let cases = [
        (of(""), "\"part.check.of\" is missing"),
        (of("of = [\"outer/length\"]\n"), "c:3: error: a difference is taken of two lengths"),
        (
            of("of = [\"outer/length\", \"outer/length\"]\n"),
            "c:3: error: a difference is taken of two different lengths",
        ),
        (
            of("of = [\"oter/length\", \"inner/length\"]\n"),
            "c:3: error: there is no check \"oter/length\" in this plan — did you mean \"outer/length\"?",
        ),
        (
            of("of = [\"outer/length\", \"room/temp\"]\n"),
            "c:3: error: \"room/temp\" measures entry — name a check with measures = \"length\"",
        ),
        (of("of = [\"outer/length\", 3]\n"), "should be a text in quotes"),
    ];
    for (check, words) in &cases {
        single(&told_beside(check), check, words);
    }
}

#[test]
fn the_keys_of_a_difference_are_checked() {
    let cases = [
        (OF.to_owned(), "error: a difference needs a tolerance"),
        (
            format!("{OF}tolerance = 1\nmin = 1\nmax = 2\n"),
            "c:3: error: both a tolerance and a min or max",
        ),
        (format!("{OF}min = 1\n"), "\"part.check.max\" is missing"),
        (format!("{OF}min = 2\nmax = 1\n"), "c:3: error: min 2 in is not below max 1 in"),
        (format!("{OF}min = 1\nmax = 2\nnominal = 3\n"), "c:5: error: nominal 3 in is not between"),
        (with("aim = 1\n"), "c:4: error: the aim 1 in is looser"),
        (with("arrangement = \"back-to-bak\"\n"), "\"part.check.arrangement\" is \"back-to-bak\""),
        (with("preload = \"200 N\"\n"), "c:4: error: preload is given without deflection"),
        (with("deflection = \"4 um\"\n"), "c:4: error: deflection is given without preload"),
        (with("preload = \"200 lb\"\ndeflection = \"4 um\"\n"), "is not a force such as \"200 N\""),
        (with("preload = \"0 N\"\ndeflection = \"4 um\"\n"), "\"0 N\" is not above zero"),
        (
            with("offsets_left = [\"room/off\"]\n"),
            "c:4: error: offsets_left is given without offsets_right",
        ),
        (
            with("offsets_right = [\"room/off\"]\n"),
            "c:4: error: offsets_right is given without offsets_left",
        ),
        (with("offset_uncertainty = -1\n"), "c:4: error: offset_uncertainty is -1 in"),
        (with("temperature_between = -1\n"), "c:4: error: temperature_between should be 0 to 50"),
        (with("off_20 = 68\n"), "c:4: error: off_20 should be 0 to 50 degrees C"),
        (
            with("expansion_uncertainty = 1\n"),
            "c:4: error: expansion_uncertainty is 1 per degree C",
        ),
        (
            with("master = \"both\"\n"),
            "c:4: warning: a difference touches nothing: master belongs to its two lengths",
        ),
        (with("gauge = \"plate\"\n"), "c:4: error: unknown key \"part.check.gauge\""),
        (with("positions = 8\n"), "c:4: error: unknown key \"part.check.positions\""),
    ];
    for (check, words) in &cases {
        single(&told_beside(check), check, words);
    }
}

#[test]
fn offsets_are_entries_of_both_sides() {
    let sides = |left: &str, right: &str, rest: &str| {
        with(&format!("offsets_left = [{left}]\noffsets_right = [{right}]\n{rest}"))
    };
    let (off, tandem) = ("\"room/off\"", "arrangement = \"back-to-back\"\n");
    let cases = [
        (sides(off, off, ""), "c:4: error: offsets are given without the arrangement"),
        (
            sides(off, off, &format!("{tandem}nominal = 0\n")),
            "c:7: warning: the offsets say what difference is required, not nominal",
        ),
        (sides(off, "", tandem), "c:5: error: offsets_right should be one entry or more"),
        (
            sides(off, "\"room/temp\"", tandem),
            "c:5: error: \"room/temp\" is recorded in F, and an offset is a length",
        ),
        (sides(off, "\"outer/length\"", tandem), "c:5: error: \"outer/length\" measures length"),
    ];
    for (check, words) in &cases {
        single(&told_beside(check), check, words);
    }
    assert_eq!(told_beside(&sides(off, "\"room/free\"", tandem)), [""; 0]);
}

#[test]
fn a_pair_wants_one_master_and_the_outer_ring_first() {
    const PAIR: &str = "measures = \"difference\"\ntolerance = 0.0001\n";
    let of =
        |first: &str, second: &str| format!("of = [\"{first}/length\", \"{second}/length\"]\n");
    let check = format!("{PAIR}{}", of("outer", "inner"));
    let told = |masters: [&str; 2]| told_beside_with(&check, ["inner", "outer"], masters);
    assert_eq!(told(["", ""]), [""; 0]);
    single(
        &told(["", "master_size = 2\n"]),
        &check,
        "c:3: warning: the two lengths have masters of different sizes",
    );
    single(
        &told(["master = \"none\"\n", ""]),
        &check,
        "c:3: warning: inner/length touches no master",
    );
    single(
        &told(["master = \"none\"\n", "master = \"none\"\n"]),
        &check,
        "outer/length touches no master",
    );
    // The same size written otherwise is the same size.
    assert_eq!(told(["", "master_size = \"25.4 mm\"\n"]), [""; 0]);
    let round = format!("{PAIR}{}arrangement = \"tandem\"\n", of("inner", "outer"));
    single(
        &told_beside(&round),
        &round,
        "c:3: warning: the first of a pair with an arrangement is the ring between the outer rings",
    );
    assert_eq!(told_beside(&format!("{PAIR}{}", of("inner", "outer"))), [""; 0]);
}
