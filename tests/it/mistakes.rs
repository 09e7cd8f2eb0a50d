//! What somebody who is no programmer writes into a configuration by mistake, and what is said to each: file, line,
//! the line itself with a mark under the place, and the sentence that mends it. The list is printed into
//! `docs/mistakes.md`.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use crate::rig::{Bench, Make, RING_PLAN};

/// A configuration that is right but for what a mistake changes in it.
const RIGHT: &str = r#"[bench]
name = "grinding room"
unit = "in"
state = "state"

[[gauge]]
name = "plate"
kind = "dial"
unit = "in"
resolution = "0.00001 in"
travel = ["-0.010 in", "0.010 in"]
"#;

/// A mistake: what it is, what is written, in place of what, and what is said.
struct Mistake {
    /// As a heading.
    what: &'static str,
    /// What is right.
    right: &'static str,
    /// What is written there instead.
    wrong: &'static str,
    /// The line it is found in.
    line: u32,
    /// What stands over the mark.
    marked: &'static str,
    /// The sentence that mends it.
    mends: &'static str,
}

const MISTAKES: [Mistake; 24] = [
    Mistake {
        what: "one bracket where there may be several",
        right: "[[gauge]]",
        wrong: "[gauge]",
        line: 6,
        marked: "[gauge]",
        mends: "write [[gauge]], with two brackets, before each of them",
    },
    Mistake {
        what: "a bracket too few",
        right: "[[gauge]]",
        wrong: "[[gauge]",
        line: 6,
        marked: "[[gauge]",
        mends: "write [[gauge]]",
    },
    Mistake {
        what: "curly quotes, as a word processor makes them",
        right: "\"plate\"",
        wrong: "“plate”",
        line: 7,
        marked: "“",
        mends: "write the plain quote of the keyboard: name = \"plate\"",
    },
    Mistake {
        what: "a word without quotes",
        right: "kind = \"dial\"",
        wrong: "kind = dial",
        line: 8,
        marked: "dial",
        mends: "write kind = \"dial\"",
    },
    Mistake {
        what: "several words without quotes",
        right: "\"grinding room\"",
        wrong: "grinding room",
        line: 2,
        marked: "grinding room",
        mends: "write name = \"grinding room\"",
    },
    Mistake {
        what: "a length without quotes",
        right: "\"0.00001 in\"",
        wrong: "0.00001 in",
        line: 10,
        marked: "0.00001 in",
        mends: "write resolution = \"0.00001 in\"",
    },
    Mistake {
        what: "a list without quotes",
        right: "[\"-0.010 in\", \"0.010 in\"]",
        wrong: "[-0.010 in, 0.010 in]",
        line: 11,
        marked: "[-0.010 in, 0.010 in]",
        mends: "write travel = [\"-0.010 in\", \"0.010 in\"]",
    },
    Mistake {
        what: "a comma in a number",
        right: "\"0.00001 in\"",
        wrong: "0,00001",
        line: 10,
        marked: "0,00001",
        mends: "write resolution = 0.00001, with a point",
    },
    Mistake {
        what: "a comma in a length in quotes",
        right: "\"0.00001 in\"",
        wrong: "\"0,00001 in\"",
        line: 10,
        marked: "\"0,00001 in\"",
        mends: "has a comma; write it with a decimal point: 0.00001 in",
    },
    Mistake {
        what: "a quote that is not closed",
        right: "\"plate\"",
        wrong: "\"plate",
        line: 7,
        marked: "\"plate",
        mends: "write name = \"plate\"",
    },
    Mistake {
        what: "a list that is not closed",
        right: "\"0.010 in\"]",
        wrong: "\"0.010 in\"",
        line: 11,
        marked: "[\"-0.010 in\", \"0.010 in\"",
        mends: "write ] behind its last item",
    },
    Mistake {
        what: "a colon in place of =",
        right: "name = \"plate\"",
        wrong: "name: plate",
        line: 7,
        marked: ":",
        mends: "write name = \"plate\"",
    },
    Mistake {
        what: "no = at all",
        right: "name = \"plate\"",
        wrong: "name plate",
        line: 7,
        marked: "name plate",
        mends: "write name = \"plate\"",
    },
    Mistake {
        what: "nothing behind =",
        right: "kind = \"dial\"",
        wrong: "kind =",
        line: 8,
        marked: "",
        mends: "write kind = and a number, or a text in quotes",
    },
    Mistake {
        what: "a remark as in another language",
        right: "kind = \"dial\"",
        wrong: "// the one on the plate\nkind = \"dial\"",
        line: 8,
        marked: "//",
        mends: "begin a remark with #",
    },
    Mistake {
        what: "two things on one line",
        right: "kind = \"dial\"\nunit = \"in\"",
        wrong: "kind = \"dial\", unit = \"in\"",
        line: 8,
        marked: ", unit = \"in\"",
        mends: "write each name on a line of its own",
    },
    Mistake {
        what: "the same thing twice",
        right: "kind = \"dial\"",
        wrong: "kind = \"dial\"\nkind = \"height\"",
        line: 9,
        marked: "kind",
        mends: "keep one of the two lines",
    },
    Mistake {
        what: "a mistyped name",
        right: "travel =",
        wrong: "travle =",
        line: 11,
        marked: "travle",
        mends: "did you mean \"travel\"?",
    },
    Mistake {
        what: "a word that is none of those that are known",
        right: "unit = \"in\"\nstate",
        wrong: "unit = \"inch\"\nstate",
        line: 3,
        marked: "\"inch\"",
        mends: "write \"in\" or \"mm\"",
    },
    Mistake {
        what: "a blank in a name",
        right: "kind = \"dial\"",
        wrong: "kind = \"dial\"\nrepeat ms = 300",
        line: 9,
        marked: "repeat ms",
        mends: "write repeat_ms = 300",
    },
    Mistake {
        what: "a path with backslashes",
        right: "\"state\"",
        wrong: "\"D:\\spindles\"",
        line: 4,
        marked: "\\",
        mends: "write state = 'D:\\spindles', in single quotes",
    },
    Mistake {
        what: "yes in place of true",
        right: "\"0.00001 in\"",
        wrong: "\"0.00001 in\"\nbutton = yes",
        line: 11,
        marked: "yes",
        mends: "write button = true",
    },
    Mistake {
        what: "a dash of typesetting in place of a minus",
        right: "kind = \"dial\"",
        wrong: "kind = \"dial\"\nrepeat_ms = –300",
        line: 9,
        marked: "–",
        mends: "write the plain - of the keyboard",
    },
    Mistake {
        what: "a number that begins with a zero",
        right: "kind = \"dial\"",
        wrong: "kind = \"dial\"\nbaud = 09600",
        line: 9,
        marked: "09600",
        mends: "write baud = 9600",
    },
];

/// Mistakes that are about the whole file: what it is, its bytes, and what is said.
fn of_whole_files() -> Vec<(&'static str, Vec<u8>, &'static str, &'static str)> {
    let latin = RIGHT.replace("grinding room", "Schleiferei M\u{1}ller");
    let latin: Vec<u8> = latin.bytes().map(|byte| if byte == 1 { 0xfc } else { byte }).collect();
    let utf16 = RIGHT.encode_utf16().flat_map(u16::to_le_bytes);
    let utf16: Vec<u8> = [0xff, 0xfe].into_iter().chain(utf16).collect();
    vec![
        (
            "Latin-1 in place of UTF-8",
            latin,
            "bench.toml:2: error: holds ü as Latin-1 (0xFC), which is no UTF-8",
            "save it as UTF-8: iconv -f latin1 -t utf-8 FILE > NEW",
        ),
        (
            "UTF-16, as some editors save it",
            utf16,
            "is UTF-16 text",
            "save it as UTF-8: iconv -f utf-16 -t utf-8 FILE > NEW",
        ),
        ("an empty file", b"\n".to_vec(), "is empty", "`tenths init` a configuration"),
        (
            "a file of 24 MB",
            vec![b'#'; 24 << 20],
            "has 24.0 MiB, and such a file has 1 MiB at most",
            "readings of a logger belong in a drop folder",
        ),
        (
            "a picture in its place",
            b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR".to_vec(),
            "no text",
            "saved as UTF-8",
        ),
    ]
}

fn bench() -> Bench {
    Bench::new(&Make {
        gauge: "unit = \"in\"\nresolution = \"0.00001 in\"",
        more: "",
        plan: RING_PLAN,
    })
}

/// What `config check` says, with the name of the file alone.
fn told(bench: &Bench, bytes: &[u8]) -> String {
    fs::write(bench.path("bench.toml"), bytes).unwrap();
    let output = bench.run(&["config", "check"]);
    let text = String::from_utf8(output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(2), "{text}");
    text.replace(&format!("{}/", bench.dir.path().display()), "")
}

/// The characters over the mark of the first finding.
fn over_the_mark(text: &str) -> String {
    let mut lines = text.lines().skip(1);
    let (line, mark) = (lines.next().unwrap(), lines.next().unwrap());
    let from = mark.find('^').unwrap_or_else(|| panic!("no mark: {text}"));
    line.chars().skip(from).take(mark.matches('^').count()).collect()
}

#[test]
fn each_mistake_is_told_with_its_place_and_the_sentence_that_mends_it() {
    let bench = bench();
    for Mistake { what, right, wrong, line, marked, mends } in &MISTAKES {
        assert!(RIGHT.contains(right), "{what}");
        let text = told(&bench, RIGHT.replacen(right, wrong, 1).as_bytes());
        let first = text.lines().next().unwrap();
        assert!(first.starts_with(&format!("bench.toml:{line}: error: ")), "{what}: {text}");
        assert!(first.contains(mends), "{what}: {text}");
        assert_eq!(over_the_mark(&text), *marked, "{what}: {text}");
        // One slip is one finding about the file itself.
        let of_the_file = text.lines().filter(|line| line.starts_with("bench.toml:")).count();
        assert_eq!(of_the_file, 1, "{what}: {text}");
    }
    for (what, bytes, said, mends) in of_whole_files() {
        let text = told(&bench, &bytes);
        let first = text.lines().next().unwrap();
        assert!(first.contains(said) && first.contains(mends), "{what}: {text}");
    }
}

#[test]
fn a_plan_and_a_profile_are_told_in_the_same_way() {
    let bench = bench();
    let plan = RING_PLAN.replace("radius = \"1.5 in\"", "radius = 1,5 in");
    fs::write(bench.path("plans/held.toml"), plan).unwrap();
    let text = bench.run(&["config", "check"]);
    let text = String::from_utf8(text.stdout).unwrap();
    assert!(text.contains("write radius = \"1.5 in\""), "{text}");
    assert!(text.contains(" | radius = 1,5 in\n"), "{text}");
    // A gauge that the bench does not have is marked where the plan names it.
    fs::write(bench.path("plans/held.toml"), RING_PLAN.replace("\"plate\"\nset", "\"plat\"\nset"))
        .unwrap();
    let text = String::from_utf8(bench.run(&["config", "check"]).stdout).unwrap();
    assert!(text.contains("did you mean \"plate\"?\n"), "{text}");
    assert_eq!(over_the_mark(&text), "plat", "{text}");
    for bytes in [vec![b'#'; 24 << 20], vec![b'a', 0xfc], Vec::new()] {
        fs::write(bench.path("plans/held.toml"), bytes).unwrap();
        let text = String::from_utf8(bench.run(&["config", "check"]).stdout).unwrap();
        assert!(text.contains("plans/held.toml") && text.contains(" — "), "{text}");
    }
}

#[test]
fn scripts_get_the_line_and_its_columns() {
    let bench = bench();
    fs::write(bench.path("bench.toml"), RIGHT.replace("kind = \"dial\"", "kind = dial")).unwrap();
    let output = bench.run(&["config", "check", "--json"]);
    let line: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(line["excerpt"], "kind = dial", "{line}");
    assert_eq!((&line["from"], &line["to"]), (&8.into(), &12.into()), "{line}");
}

/// `docs/mistakes.md`, written anew with `TENTHS_WRITE=1`.
#[test]
fn the_list_is_printed_as_it_is_said() {
    let bench = bench();
    let mut page = String::from(
        "# Mistakes in a configuration\n\n\
         What `tenths config check` says to a slip in `bench.toml`, a plan or a profile: the file, the line, the line itself with\n\
         a mark under the place, and what to write. Nothing is guessed: a file with a mistake is not used, and a service that runs\n\
         goes on with the one before. This page is written by the test that makes each of these mistakes.\n",
    );
    let mut entry = |what: &str, bytes: &[u8]| {
        let text = told(&bench, bytes);
        let (said, _summary) = text.trim_end().rsplit_once('\n').unwrap();
        let mut letters = what.chars();
        let first: String = letters.next().unwrap().to_uppercase().collect();
        let heading = first + letters.as_str();
        write!(page, "\n**{heading}**\n\n```text\n{said}\n```\n").unwrap();
    };
    for Mistake { what, right, wrong, .. } in &MISTAKES {
        entry(what, RIGHT.replacen(right, wrong, 1).as_bytes());
    }
    for (what, bytes, _, _) in of_whole_files() {
        entry(what, &bytes);
    }
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/mistakes.md");
    if std::env::var_os("TENTHS_WRITE").is_some() {
        fs::write(&file, &page).unwrap();
    }
    let fresh = fs::read_to_string(&file).unwrap_or_default() == page;
    assert!(fresh, "docs/mistakes.md is not as it is said: TENTHS_WRITE=1 writes it anew");
}
