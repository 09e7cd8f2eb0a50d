//! The first page of a report and of a sheet of codes as pictures: the very markup and style that the program writes,
//! on one page of A4. Days, times and seals, which are never the same twice, are those of an example.

use std::fs;
use std::process::Command;

use super::is_fresh;

/// A page of A4 at 96 dots to the inch, and the rim around it.
const PAGE: (u32, u32) = (794, 1123);
const RIM: u32 = 16;

/// What the demo handed on: its report and its sheet.
fn pages() -> [String; 2] {
    let folder = tempfile::tempdir().unwrap();
    let tenths = || Command::new(env!("CARGO_BIN_EXE_tenths"));
    let kept = folder.path().join("kept");
    let demo = tenths().args(["demo", "--fast", "--keep"]).arg(&kept).output().unwrap();
    assert!(demo.status.success(), "{}", String::from_utf8_lossy(&demo.stderr));
    let page = |command: &str| {
        let mut asked = tenths();
        asked.arg("--config").arg(kept.join("bench.toml")).args([command, "BS-118"]);
        let out = asked.output().unwrap();
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
        String::from_utf8(out.stdout).unwrap()
    };
    ["report", "sheet"].map(page)
}

/// The same with the day, the time and the seals of an example, and with the name of an example where the name of
/// whoever runs this stands.
fn of_an_example(page: &str) -> String {
    let login = Command::new("id").arg("-un").output().unwrap().stdout;
    let login = String::from_utf8(login).unwrap();
    let page = page.replace(&format!("<bdi>{}</bdi>", login.trim()), "<bdi>R. Aldous</bdi>");
    let chars: Vec<char> = page.chars().collect();
    let shape = |at: usize, shape: &str| {
        shape.chars().enumerate().all(|(nth, wanted)| {
            chars.get(at + nth).is_some_and(|found| match wanted {
                '0' => found.is_ascii_digit(),
                'x' => found.is_ascii_hexdigit(),
                other => *found == other,
            })
        })
    };
    let seal = "-xxxx-xxxx-xxxx-xxxx-xxxx-xxxx-xxxx-xxxx";
    let known = [
        ("0000-00-00", "2027-03-01"),
        ("00:00:00", "10:30:00"),
        (seal, "-1f0e-22d3-9c4b-70a8-5e61-b87d-0c39-4a12"),
    ];
    let (mut said, mut at) = (String::new(), 0);
    while let Some(letter) = chars.get(at) {
        let Some((form, example)) = known.iter().find(|(form, _)| shape(at, form)) else {
            said.push(*letter);
            at += 1;
            continue;
        };
        if *form == seal {
            // The number of its row stands before it.
            let row = said.trim_end_matches(|one: char| one.is_ascii_digit()).len();
            said.replace_range(row.., "511");
        }
        said.push_str(example);
        at += form.chars().count();
    }
    said
}

/// The rules of a style: those for any medium, and those for paper where `print` has them.
fn rules(style: &str) -> String {
    let mut all = String::new();
    let mut rest = style;
    while let Some(at) = rest.find('@') {
        all.push_str(&rest[..at]);
        let open = at + rest[at..].find('{').unwrap();
        let mut depth = 0;
        let inside = rest[open..].char_indices().find(|(_, letter)| {
            depth += match letter {
                '{' => 1,
                '}' => -1,
                _ => 0,
            };
            depth == 0
        });
        let end = open + inside.unwrap().0;
        if rest[at..open].trim() == "@media print" {
            all.push_str(&rest[open + 1..end]);
        }
        rest = &rest[end + 1..];
    }
    let all = all + rest;
    let line = |line: &str| {
        let line = line.trim();
        let ours = line.strip_prefix("body {").or(line.strip_prefix("html {"));
        ours.map_or_else(|| line.to_owned(), |rest| format!(".sheet {{{rest}"))
    };
    all.lines().map(line).filter(|line| !line.is_empty()).collect::<Vec<_>>().join("\n")
}

/// Markup that a reader of XML takes: what stands alone is closed.
fn closed(html: &str) -> String {
    let mut closed = html.replace("<wbr>", "<wbr/>").replace("</p>", "</p>\n");
    let mut from = 0;
    while let Some(at) = closed[from..].find("<img ") {
        let end = from + at + closed[from + at..].find('>').unwrap();
        closed.insert(end, '/');
        from = end + 2;
    }
    closed.replace("</tr>", "</tr>\n").replace("</div>", "</div>\n")
}

/// The style of a page, and what it shows.
fn parts(page: &str) -> (String, String) {
    let between = |from: &str, to: &str| {
        page.split(from).nth(1).and_then(|rest| rest.split(to).next()).unwrap().to_owned()
    };
    (rules(&between("<style>", "</style>")), between("<body>", "</body>"))
}

/// A page as a picture.
fn drawn(style: &str, body: &str, title: &str) -> String {
    let (wide, high) = (PAGE.0 + 2 * RIM, PAGE.1 + 2 * RIM);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {wide} {high}\" width=\"{wide}\" height=\"{high}\" role=\"img\">\n\
         <title>{title}</title>\n\
         <style>\n.desk{{fill:#e3e7eb}}@media(prefers-color-scheme:dark){{.desk{{fill:#23282d}}}}\n{style}\n\
         .sheet {{ box-sizing: border-box; width: {}px; height: {}px; max-width: none; margin: 0; padding: 14mm 13mm; overflow: hidden; background: #fff; }}\n</style>\n\
         <rect class=\"desk\" width=\"{wide}\" height=\"{high}\"/>\n\
         <foreignObject x=\"{RIM}\" y=\"{RIM}\" width=\"{}\" height=\"{}\">\n\
         <div xmlns=\"http://www.w3.org/1999/xhtml\" class=\"sheet\">\n{}\n</div>\n</foreignObject>\n</svg>\n",
        PAGE.0,
        PAGE.1,
        PAGE.0,
        PAGE.1,
        closed(body),
    )
}

/// What stands on the first page of a report.
fn before_the_annex(body: &str) -> String {
    body.split("<div class=\"annex\">").next().unwrap().to_owned() + "</main>"
}

/// The head of a sheet, with its one card, and eight rows of three.
fn first_cards(body: &str) -> String {
    let cards = body.split("<div class=\"card\">").take(1 + 1 + 8 * 3);
    cards.collect::<Vec<_>>().join("<div class=\"card\">") + "</div></main>"
}

#[test]
fn the_first_pages_of_report_and_sheet_are_those_of_the_demo() {
    let [report, sheet] = pages().map(|page| of_an_example(&page));
    let (style, body) = parts(&report);
    let page = drawn(&style, &before_the_annex(&body), "The first page of a report");
    is_fresh("report.svg", &page);
    let (style, body) = parts(&sheet);
    is_fresh("sheet.svg", &drawn(&style, &first_cards(&body), "A sheet of codes"));
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/pictures/report.svg");
    let kept = fs::read_to_string(file).unwrap();
    assert!(kept.contains("Tarn Lane Spindle Works") && kept.contains("Found and final"));
}
