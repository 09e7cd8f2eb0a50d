use std::collections::BTreeSet;
use std::sync::Arc;

use super::*;
use ::record::StackRecord;
use bench::Seq;
use bench::plan::PinnedPlan;
use quantity::{Name, Wall};

fn name(text: &str) -> Name {
    Name::new(text).unwrap()
}

fn job(plan: &str) -> JobRecord {
    let parsed = config::parse_plan(plan, "plan").unwrap();
    JobRecord {
        callers: [None, None],
        id: Seq(7),
        name: name("J-1042"),
        plan_name: name("rebuild"),
        plan: Arc::new(PinnedPlan { text: plan.to_owned(), plan: parsed }),
        serial: Some("WH-77".to_owned()),
        customer: Some("Hartmann & Söhne".to_owned()),
        by: None,
        closed_by: None,
        rule: judgement::Rule::Guarded,
        rules: Vec::new(),
        signed: Vec::new(),
        told: Vec::new(),
        edits: Vec::new(),
        decided: Vec::new(),
        serials: Vec::new(),
        flow: None,
        opened_at: Wall::from_micros(0),
        closed_at: None,
        notes: Vec::new(),
        stack: StackRecord::default(),
        replaced: Vec::new(),
        went_on: Vec::new(),
        attached: Vec::new(),
    }
}

fn rebuild() -> JobRecord {
    let plan = std::path::Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../.."))
        .join("config/plans/rebuild.toml");
    job(&std::fs::read_to_string(plan).unwrap())
}

/// Every picture of a page as modules, from its own path: what a printer would put on paper.
fn pictures(page: &str) -> Vec<Vec<Vec<bool>>> {
    let drawn = |svg: &str| {
        let side = svg.split("viewBox=\"0 0 ").nth(1).unwrap().split(' ').next().unwrap();
        let side: usize = side.parse().unwrap();
        let mut modules = vec![vec![false; side]; side];
        let path = svg.split(" d=\"").nth(1).unwrap().split('"').next().unwrap();
        for bar in path.split('M').skip(1) {
            let (place, rest) = bar.split_once('h').unwrap();
            let (x, y) = place.split_once(' ').unwrap();
            let (x, y): (usize, usize) = (x.parse().unwrap(), y.parse().unwrap());
            let run: usize = rest.split('v').next().unwrap().parse().unwrap();
            modules[y][x..x + run].fill(true);
        }
        modules
    };
    page.split("<svg").skip(1).map(|svg| drawn(svg.split("</svg>").next().unwrap())).collect()
}

/// What an independent decoder reads on a picture, printed 4 dots to a module.
fn decoded(modules: &[Vec<bool>]) -> String {
    let dots = modules.len() * 4;
    let ink = |x: usize, y: usize| if modules[y / 4][x / 4] { 0 } else { 255 };
    let mut image = rqrr::PreparedImage::prepare_from_greyscale(dots, dots, ink);
    let grids = image.detect_grids();
    assert_eq!(grids.len(), 1, "one code in a picture");
    grids[0].decode().unwrap().1
}

/// The texts under the pictures, in their order.
fn texts(page: &str) -> Vec<String> {
    page.split("aria-label=\"code ")
        .skip(1)
        .map(|rest| rest.split('"').next().unwrap().to_owned())
        .collect()
}

#[test]
fn every_printed_code_is_read_back_by_another_decoder() {
    let job = rebuild();
    let page = sheet(&job, &[]);
    let read: Vec<String> = pictures(&page).iter().map(|modules| decoded(modules)).collect();
    assert_eq!(read, texts(&page), "what is drawn is what stands beside it");
    let codes: Vec<Code> = read.iter().map(|text| Code::parse(text).unwrap()).collect();
    let tag = JobTag::of(&job.name);
    assert_eq!(codes[0], Code::Job(tag));
    // Every check once, in plan order.
    let checks: Vec<CheckAt> = codes
        .iter()
        .filter_map(
            |code| if let Code::Check { job, at } = code { Some((*job, *at)) } else { None },
        )
        .map(|(job, at)| {
            assert_eq!(job, tag);
            at
        })
        .collect();
    assert_eq!(checks, job.plan.plan.places().collect::<Vec<_>>());
    // Every answer of every question, beside it.
    for at in job.plan.plan.places() {
        let (_, check) = job.plan.plan.at(at).unwrap();
        if let Some(ask) = check.measures.asks().filter(|_| check.traits().is_chosen()) {
            let answers = codes
                .iter()
                .filter(|code| matches!(code, Code::Answer { at: of, .. } if *of == at));
            assert_eq!(answers.count(), ask.answers.len(), "{}", ask.question);
        }
    }
    for action in Action::ALL {
        assert_eq!(codes.iter().filter(|code| **code == Code::Action(action)).count(), 1);
    }
    for blocked in Blocked::ALL {
        assert!(codes.contains(&Code::Skip(blocked)));
    }
    for count in -10..=10 {
        assert!(codes.contains(&Code::Value(count)));
    }
    let once: BTreeSet<&String> = read.iter().collect();
    assert_eq!(once.len(), read.len(), "no code is printed twice");
}

#[test]
fn everybody_has_a_badge_with_the_name_under_it() {
    let people = ["Zoë Ångström", "M. Weber", "<b>O'Neil</b>"].map(|text| {
        // No name has a slash.
        name(&text.replace('/', ""))
    });
    let page = sheet(&rebuild(), &people);
    let read: Vec<String> = pictures(&page).iter().map(|modules| decoded(modules)).collect();
    assert_eq!(read, texts(&page));
    let badges: Vec<Code> = people.iter().map(|name| Code::Person(PersonTag::of(name))).collect();
    let codes: Vec<Code> = read.iter().map(|text| Code::parse(text).unwrap()).collect();
    // After the job, before the checks.
    assert_eq!(codes[1..4], badges);
    assert!(page.contains("<bdi>Zoë Ångström</bdi>") && page.contains("&lt;b&gt;O'Neil&lt;b&gt;"));
    assert!(!sheet(&rebuild(), &[]).contains("Who works here"));
}

#[test]
fn each_check_says_what_it_is_under_its_code() {
    let page = sheet(&rebuild(), &[]);
    for text in [
        "Job <bdi>J-1042</bdi>",
        "<bdi>WH-77</bdi>",
        "Hartmann &amp; Söhne",
        "runout, gauge plate",
        "8 touches counter-clockwise, 0 again",
        "limit 0.0001\u{a0}in",
        "Its value is typed: tenths record.",
    ] {
        assert!(page.contains(text), "{text}");
    }
}

#[test]
fn each_limit_of_the_plan_stands_on_the_card_of_its_check() {
    let job = rebuild();
    let page = sheet(&job, &[]);
    let plan = &job.plan.plan;
    let limited =
        plan.places().filter_map(|at| plan.at(at)).filter(|(_, one)| one.limits.is_some());
    let cards: Vec<&str> = page.split("<div class=\"card\">").collect();
    let mut count = 0;
    for (part, check) in limited {
        let names = format!("<bdi>{}</bdi></span><strong><bdi>{}</bdi>", part.name, check.name);
        let card = cards.iter().find(|card| card.contains(&names)).expect("a card");
        assert!(card.contains("<bdi>limit "), "{names}");
        count += 1;
    }
    // Of the plan in config/plans/rebuild.toml, counted by hand: all but the entries without min and max, and the
    // questions.
    assert!(count > 20, "{count}");
    // Each station has its own, and a value that is written down and judged has one, too.
    for text in ["limit 0.0001\u{a0}in at 0.25, 0.0002\u{a0}in at 3", "mm/s"] {
        assert!(page.contains(text), "{text}");
    }
}

const HOSTILE: &str = r#"
name = "h"
unit = "in"
[[part]]
name = "<img src=x onerror=alert(1)>"
kind = "nut"
[[part.check]]
name = "a\"><script>alert(1)<\\script>"
measures = "confirm"
question = "\u001b[2J\u202Eevil </style><script src='http://example.invalid/x.js'></script>"
answers = ["<b>yes</b>", "no & never"]
good = ["<b>yes</b>"]
[[part]]
name = "שלום"
kind = "nut"
[[part.check]]
name = "c"
measures = "entry"
question = "QQQQ"
"#;

#[test]
fn what_people_wrote_is_shown_and_never_run() {
    let mut job = job(&HOSTILE.replace("QQQQ", &"9".repeat(10_000)));
    job.serial = Some("<script>".repeat(2000));
    job.customer = Some("\u{7}\u{202e}x\n".to_owned());
    let page = sheet(&job, &[]);
    let lower = page.to_lowercase();
    for forbidden in ["<script", "<img", "<b>", "\u{1b}", "\u{202e}", "\u{7}"] {
        assert!(!lower.contains(forbidden), "{forbidden:?}");
    }
    assert_eq!(lower.matches("</style>").count(), 1);
    // The only address is the name of the picture format; nothing is loaded.
    let addresses = lower.matches("http://").count();
    let named = lower.matches("xmlns=\"http://www.w3.org/2000/svg\"").count();
    let shown = lower.matches("src='http://example.invalid").count();
    assert_eq!(addresses, named + shown);
    for loads in ["<link", "@import", "url(", "<iframe", " src=\"", "href="] {
        assert!(!lower.contains(loads), "{loads}");
    }
    assert!(page.len() < 200_000, "long texts are cut: {}", page.len());
    assert!(page.contains("&lt;b&gt;yes&lt;/b&gt;"));
}

#[test]
fn the_page_is_valid_html() {
    use html5ever::tendril::TendrilSink;
    let read = |page: String| {
        html5ever::parse_document(
            markup5ever_rcdom::RcDom::default(),
            html5ever::ParseOpts::default(),
        )
        .one(page)
    };
    let mut hostile = job(HOSTILE);
    hostile.serial = Some("<script>".to_owned());
    for page in [sheet(&rebuild(), &[]), sheet(&hostile, &[])] {
        let errors = read(page).errors.into_inner();
        assert!(errors.is_empty(), "{errors:?}");
    }
}
