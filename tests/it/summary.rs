//! The first page of a report through the real program: whose name stands at its head, what was found, done and is
//! now; and what a hostile `[shop]` does.

use std::fs;

use markup5ever_rcdom::Handle;

use crate::report::html::{attribute, elements, parsed, text};
use crate::rig::{Bench, Make};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0";

const PLAN: &str = r#"
name = "held"
unit = "in"
[[part]]
name = "came"
kind = "spacer"
[[part.check]]
name = "face"
measures = "parallelism"
gauge = "plate"
setup = "plate"
positions = 8
radius = "1.5 in"
closure = false
tolerance = "0.0001 in"
[[part]]
name = "leaves"
kind = "spacer"
[[part.check]]
name = "face"
found = "came/face"
measures = "parallelism"
gauge = "plate"
setup = "plate"
positions = 8
radius = "1.5 in"
closure = false
tolerance = "0.0001 in"
[[part.check]]
name = "turn"
measures = "runout"
gauge = "plate"
positions = 8
tolerance = "0.0001 in"
"#;

const OUT: [&str; 8] =
    ["0.00019", "0.00026", "0.00024", "0.00016", "0.00007", "0.00000", "0.00002", "0.00010"];
const FLAT: [&str; 8] =
    ["0.00001", "0.00003", "0.00003", "0.00002", "0.00001", "0.00000", "0.00000", "0.00001"];

fn measure(bench: &Bench, check: &str, readings: &[&str]) {
    bench.ok(&["measure", check]);
    bench.ok(&[&["enter"], readings].concat());
}

/// A face that came in out and leaves flat, on a bench with this `[shop]`.
fn job(shop: &str) -> Bench {
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: shop, plan: PLAN });
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held", "--customer", "Brook & Sons"]);
    measure(&bench, "came/face", &OUT);
    measure(&bench, "leaves/face", &FLAT);
    bench
}

/// The page, and what was said beside it.
fn report(bench: &Bench) -> (String, String) {
    let out = bench.run(&["report", "J-1"]);
    assert_eq!(out.status.code(), Some(0), "{}", String::from_utf8_lossy(&out.stderr));
    let told = String::from_utf8_lossy(&out.stderr).into_owned();
    (String::from_utf8(out.stdout).unwrap(), told)
}

fn section(page: &Handle, of: &str) -> Handle {
    let named = |one: &Handle| attribute(one, "aria-labelledby").as_deref() == Some(of);
    elements(page, "section").into_iter().find(named).unwrap()
}

fn png() -> Vec<u8> {
    fs::read(concat!(env!("CARGO_MANIFEST_DIR"), "/src/client/demo/crate.png")).unwrap()
}

#[test]
fn the_first_page_is_a_summary_with_found_and_final_side_by_side() {
    let shop = "[shop]\nname = \"Example Works\"\naddress = [\"1 Sample Lane\", \"Exampletown\"]\n\
                mark = \"mark.png\"\n";
    let bench = job(shop);
    fs::write(bench.path("mark.png"), png()).unwrap();
    bench.ok(&["config", "check"]);
    bench.ok(&["sign", "J-1", "measured", "--by", "Ada", "--why", "the turn comes later"]);
    let (page, told) = report(&bench);
    assert_eq!(told, "");
    let tree = parsed(&page);
    let head = &elements(&tree, "header")[0];
    assert!(text(head).contains("Example Works1 Sample LaneExampletown"), "{}", text(head));
    let mark = attribute(&elements(head, "img")[0], "src").unwrap();
    assert!(mark.starts_with("data:image/"), "{mark:.40}");
    // All of it stands before the annex.
    let first = page.split("<div class=\"annex\">").next().unwrap();
    for words in ["Found and final", "0.00026", "0.00003", "Not measured: <bdi>leaves/turn", "Ada"]
    {
        assert!(first.contains(words) || text(&parsed_part(first)).contains(words), "{words}");
    }
    assert!(first.contains("Seal of the record: <span class=\"seal\">"));
    // What came in out is history: nothing on the first page calls.
    assert!(
        text(&section(&tree, "summary"))
            .contains("As it came in, 1 of 1 did not conform: came/face.")
    );
    assert!(!first.contains("class=\"v out\""));
}

/// A part of a page, read as leniently as a browser does.
fn parsed_part(html: &str) -> Handle {
    use html5ever::tendril::TendrilSink as _;
    let dom = html5ever::parse_document(
        markup5ever_rcdom::RcDom::default(),
        html5ever::ParseOpts::default(),
    );
    dom.one(html).document
}

#[test]
fn a_hostile_shop_is_text_and_a_mark_that_is_none_is_told_and_left_out() {
    let script = "<script>alert(1)</script>";
    let shop = format!(
        "[shop]\nname = \"{script}\"\naddress = [\"</style><img src=x onerror=alert(1)>\", \"a\\u202eb\"]\nmark = \"mark.png\"\n"
    );
    let bench = job(&shop);
    let none = |told: &str| {
        let (page, said) = report(&bench);
        assert!(said.contains(told) && said.contains("reports come without it"), "{said}");
        let tree = parsed(&page);
        assert!(elements(&tree, "img").is_empty() && elements(&tree, "script").is_empty());
        assert!(text(&elements(&tree, "address")[0]).contains(script));
        assert!(!page.contains('\u{202e}') && page.matches("</style>").count() == 1);
        // It is a warning: nothing that measures depends on it.
        let checked = bench.run(&["config", "check"]);
        assert_eq!(checked.status.code(), Some(0));
        let said = [checked.stdout, checked.stderr].concat();
        assert!(String::from_utf8_lossy(&said).contains(told), "{told}");
    };
    none("it cannot be read: No such file");
    let mark = bench.path("mark.png");
    fs::write(&mark, "<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>").unwrap();
    none("it is an SVG drawing, which can hold a program");
    fs::write(&mark, vec![0x89; 40_000_000]).unwrap();
    none("it has 40.0 MB, too much for a mark");
    // A picture with 40 MB behind its end is no smaller.
    let mut long = png();
    long.resize(40_000_000, 0);
    fs::write(&mark, long).unwrap();
    none("it has 40.0 MB, too much for a mark");
    fs::write(&mark, &png()[..200]).unwrap();
    none("cut off");
    fs::remove_file(&mark).unwrap();
    let made = std::process::Command::new("mkfifo").arg(&mark).status().unwrap();
    assert!(made.success());
    none("it is no file");
}

#[test]
fn a_shop_that_is_written_wrong_is_an_error_with_its_line() {
    let bench = Bench::new(&Make {
        gauge: GAUGE,
        more: "[shop]\nname = 3\nadress = \"1 Sample Lane\"\n",
        plan: PLAN,
    });
    let checked = bench.run(&["config", "check"]);
    assert_eq!(checked.status.code(), Some(2));
    let said = [checked.stdout, checked.stderr].concat();
    let said = String::from_utf8_lossy(&said);
    assert!(said.contains("\"shop.name\" should be a text in quotes"), "{said}");
    assert!(said.contains("unknown key \"shop.adress\" — did you mean \"address\"?"), "{said}");
}
