use super::*;

fn findings(text: &str) -> Vec<String> {
    parse_profile(text, "profiles/x.toml").unwrap_err().iter().map(ToString::to_string).collect()
}

#[test]
fn every_shipped_profile_reads_its_own_examples() {
    let folder = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")).join("config/profiles");
    let mut names = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        let profile = parse_profile(&text, path.to_str().unwrap()).unwrap();
        assert!(text.contains("[examples]"), "{} shows no examples", profile.name);
        names.push(profile.name);
    }
    names.sort();
    let shipped = [
        "celsius",
        "channel-value",
        "counts",
        "decimal-comma",
        "height-block",
        "packed-hex",
        "signed-decimal",
        "value-unit",
    ];
    assert_eq!(names, shipped);
}

#[test]
fn every_mistake_is_told_at_once_with_its_line() {
    let text = r#"abuot = "x"
frames = "lines"
value = "decimal"
pattern = '(?<sgin>[+-])(?<digits>[0-9]+)'
unit = "furlong"
[places]
in = 5
cm = 2
[tokens]
blank = ["-+", "("]
[ask]
timeout_ms = 1
"#;
    assert_eq!(
        findings(text),
        [
            "profiles/x.toml:1: error: unknown key \"abuot\" — did you mean \"about\"?",
            "profiles/x.toml:2: error: \"frames\" is \"lines\" — write \"line\" or \"fixed\" or \"block\"",
            "profiles/x.toml:4: error: \"pattern\": group \"sgin\" means nothing here; groups are sign, digits, whole, fraction, unit, channel",
            "profiles/x.toml:5: error: \"unit\": \"furlong\" is no unit; units are in, mm and um",
            "profiles/x.toml:8: error: \"cm\" is no unit — units are in, mm and um",
            "profiles/x.toml:10: error: \"tokens.blank\": it is not a regular expression: unclosed group",
            "profiles/x.toml:11: error: \"ask.send\" is missing — write send = \"?\\r\", the bytes that ask for a value",
            "profiles/x.toml:12: error: \"ask.timeout_ms\" should be a whole number from 50 to 10000 — it is 1",
        ]
    );
}

#[test]
fn an_example_that_reads_otherwise_is_a_finding() {
    let text = r#"frames = "line"
value = "decimal"
pattern = '(?<digits>[0-9]+\.[0-9]+)'
[examples]
"1.25" = "1.25"
"1.5" = "1.50"
"-1.5" = "-1.5"
"#;
    let told = findings(text);
    assert_eq!(told.len(), 2, "{told:?}");
    assert!(told[0].starts_with("profiles/x.toml:6: error: the example \"1.5\" reads as \"1.5\""));
    assert!(told[1].contains(":7:") && told[1].contains("damaged"), "{told:?}");
}

#[test]
fn a_layout_is_checked() {
    for (layout, wrong) in [
        ("A5 s nnnnnn p C x", "a place \"u\" and the table"),
        ("A5 s nnnnnnnnn p u", "9 digits of the value"),
        ("A5 nnnnnn p u xx", "0 places for the sign"),
        ("A5 s nnnnnn p u", "11 digits; a frame has pairs"),
        ("A5 s nnnnnn q u C", "\"q\" means nothing here"),
    ] {
        let text = format!(
            "frames = \"line\"\nvalue = \"packed\"\n[packed]\nlayout = \"{layout}\"\nplus = \"0\"\nminus = \"8\"\nunits = {{ 1 = \"in\" }}\n"
        );
        let told = findings(&text);
        assert!(told.len() == 1 && told[0].contains(wrong), "{layout}: {told:?}");
        assert!(told[0].starts_with("profiles/x.toml:4: error"), "{told:?}");
    }
}
