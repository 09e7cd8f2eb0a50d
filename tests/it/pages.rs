//! The page for a browser: what it shows, what it refuses, and that nothing at the bench waits for it.

mod limits;
mod names;
pub(crate) mod rig;
mod shop;
mod strangers;

use std::fmt::Write as _;
use std::time::Duration;

use sha2::{Digest, Sha256};

use rig::{Answer, Page, bench, measured};

const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; \
                      frame-ancestors 'none'; base-uri 'none'; form-action 'self'";

/// What every answer says, whatever else it is.
#[track_caller]
fn is_closed(path: &str, answer: &Answer) {
    for (name, value) in [
        ("x-content-type-options", "nosniff"),
        ("referrer-policy", "no-referrer"),
        ("x-frame-options", "DENY"),
        ("cross-origin-resource-policy", "same-origin"),
    ] {
        assert_eq!(answer.header(name), Some(value), "{path}");
    }
    for name in ["server", "x-powered-by", "access-control-allow-origin", "set-cookie"] {
        assert_eq!(answer.header(name), None, "{path}");
    }
}

#[test]
fn every_answer_has_its_policy_and_nothing_of_it_is_inline_or_from_elsewhere() {
    let bench = bench();
    bench.ok(&["job", "open", "J-1042", "--plan", "held", "--serial", "SP-77"]);
    let page = Page::of(&bench, &[]);
    assert!(page.said.contains("everyone on this machine can read"), "{}", page.said);
    assert!(page.said.ends_with("Nothing can be changed there.\n"), "{}", page.said);
    for (path, status) in [
        ("/", 200),
        ("/jobs", 200),
        ("/jobs?serial=nobody-has-this", 200),
        ("/job/J-1042", 200),
        ("/alerts", 200),
        ("/page.css", 200),
        ("/page.js", 200),
        ("/icon.svg", 200),
        ("/job/J-9", 404),
        ("/elsewhere", 404),
        ("/alerts?before=x", 400),
    ] {
        let answer = page.get(path);
        assert_eq!(answer.status, status, "{path}: {}", answer.body);
        assert_eq!(answer.header("content-security-policy"), Some(POLICY), "{path}");
        is_closed(path, &answer);
        if answer.header("content-type").unwrap().starts_with("text/html") {
            let body = &answer.body;
            for word in
                ["<style", " style=", " onclick", " onload", "javascript:", "http:", "https:", "//"]
            {
                assert!(!body.contains(word), "{path} has {word}: {body}");
            }
            assert_eq!(
                body.matches("<script").count(),
                body.matches("<script src=\"/page.js?").count()
            );
        }
    }
    let report = page.get("/job/J-1042/report");
    assert_eq!(report.status, 200);
    is_closed("report", &report);
    let printed = bench.ok(&["report", "J-1042"]);
    assert_eq!(report.body, printed, "the page is the one that `report` makes");
    let style = printed.split("<style>").nth(1).unwrap().split("</style>").next().unwrap();
    let policy = report.header("content-security-policy").unwrap();
    let digest = hex(&Sha256::digest(style.as_bytes()));
    let named = policy.split("'sha256-").nth(1).unwrap().split('\'').next().unwrap();
    assert_eq!(hex(&from_base64(named)), digest, "{policy}");
    assert!(!policy.contains("unsafe") && policy.contains("default-src 'none'"), "{policy}");
    assert!(
        !printed.contains(" style="),
        "the policy of the report has no room for a style at a place"
    );
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        write!(text, "{byte:02x}").unwrap();
        text
    })
}

fn from_base64(text: &str) -> Vec<u8> {
    const SIGNS: &str = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let (mut bits, mut held, mut bytes) = (0_u32, 0, Vec::new());
    for sign in text.chars().filter(|sign| *sign != '=') {
        bits = bits << 6 | u32::try_from(SIGNS.find(sign).unwrap()).unwrap();
        held += 6;
        if held >= 8 {
            held -= 8;
            bytes.push(u8::try_from(bits >> held & 0xff).unwrap());
        }
    }
    bytes
}

#[test]
fn it_is_only_looked_at() {
    let bench = bench();
    let page = Page::of(&bench, &[]);
    for method in ["POST", "PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "BREW"] {
        for path in ["/", "/jobs", "/live", "/page.css"] {
            let answer = page.ask(method, path, "");
            assert_eq!(answer.status, 405, "{method} {path}: {}", answer.body);
            assert_eq!(answer.header("allow"), Some("GET, HEAD"));
            is_closed(path, &answer);
        }
    }
    for lines in ["Content-Length: 3\r\n", "Transfer-Encoding: chunked\r\n"] {
        assert_eq!(page.ask("GET", "/", lines).status, 400, "{lines}");
    }
    let head = page.ask("HEAD", "/jobs", "");
    assert_eq!((head.status, head.body.as_str()), (200, ""));
    assert!(head.header("content-security-policy").is_some());
    // Nothing that the page does leaves a row.
    let before = bench.ok(&["status", "--json"]);
    page.get("/?station=bench&token=x&void=1");
    assert_eq!(bench.ok(&["status", "--json"]).len(), before.len());
}

#[test]
fn what_a_station_shows_is_live_and_a_service_that_is_away_is_told_at_once() {
    let mut bench = bench();
    bench.ok(&["job", "open", "J-1042", "--plan", "held"]);
    bench.ok(&["measure", "ring/face-a"]);
    let page = Page::of(&bench, &[]);
    let mut stream = page.stream();
    let first = stream.until("event: beat");
    assert!(first.contains("text/event-stream") && first.contains("TOUCH 0"), "{first}");
    assert!(!first.contains("event: tone"), "what happened before is silent");
    bench.touches(&bench.plate, "plate", &["0.00019"]);
    let touched = stream.until("TOUCH 1");
    assert!(touched.contains("0.00019") || stream.until("0.00019").contains("0.00019"));
    // The sound of a touch comes as notes; the parts that stay the same do not come again.
    let touched = touched + &stream.hear_for(Duration::from_secs(2));
    assert!(touched.contains("event: tone") && touched.contains("[[1760.0,70]]"), "{touched}");
    assert!(!touched.contains(r#""alerts":"#), "{touched}");
    bench.stop();
    let away = stream.until("event: away");
    assert!(away.contains("event: away"), "{away}");
    let silent = stream.hear_for(Duration::from_secs(3));
    assert!(!silent.contains("event: beat"), "nothing beats while nothing is live: {silent}");
    let shown = page.get("/");
    assert_eq!(shown.status, 200);
    assert!(
        shown.body.contains("The service is away") && !shown.body.contains("0.00019"),
        "{}",
        shown.body
    );
    assert_eq!(page.get("/job/J-1042").status, 200, "the record is there without the service");
    bench.start();
    let back = stream.until("event: beat");
    assert!(back.contains("TOUCH 1") || back.contains("BACK TO"), "{back}");
}

#[test]
fn a_job_is_found_and_told_with_its_rings_its_rounds_and_the_job_before() {
    let bench = bench();
    for (job, customer) in [("J-1041", "Brandt Mill"), ("J-1042", "Brandt Mill"), ("K-7", "Hollow")]
    {
        measured(&bench, job, (if job == "K-7" { "SP-9" } else { "SP-77" }, customer));
    }
    let page = Page::of(&bench, &[]);
    let found = |path: &str| {
        let body = page.get(path).body;
        ["J-1041", "J-1042", "K-7"].map(|job| body.contains(&format!("href=\"/job/{job}\"")))
    };
    assert_eq!(found("/jobs"), [true; 3]);
    assert_eq!(found("/jobs?name=j-104"), [true, true, false]);
    assert_eq!(found("/jobs?serial=sp-9"), [false, false, true]);
    assert_eq!(found("/jobs?customer=mill"), [true, true, false]);
    assert_eq!(found("/jobs?name=j&customer=hollow"), [false; 3]);
    assert_eq!(found("/jobs?since=2020-01-01&until=2020-12-31"), [false; 3]);
    assert_eq!(found("/jobs?since=2020-01-01"), [true; 3]);
    assert_eq!(found("/jobs?state=closed"), [false; 3]);
    let none = page.get("/jobs?serial=SP-78").body;
    assert!(
        none.contains("SP-77") && none.contains("value=\"SP-78\""),
        "near ones are named: {none}"
    );
    assert!(page.get("/jobs?since=30.2.2027").body.contains("is no date"));
    let job = page.get("/job/J-1042").body;
    for word in [
        "ring-",
        "id=\"verdicts\"",
        "id=\"rounds\"",
        "Earlier jobs of this serial",
        "J-1041",
        "/job/J-1042/report",
        "data-verdict=",
    ] {
        assert!(job.contains(word), "{word} is not in {job}");
    }
    // The serial number leads to the one job that has it; with two it says which.
    assert!(page.get("/job/SP-9").body.contains("/job/K-7/report"));
    let several = page.get("/job/SP-77");
    assert!(several.status == 404 && several.body.contains("J-1041"), "{}", several.body);
    let alerts = page.get("/alerts").body;
    assert!(alerts.contains("href=\"/job/K-7\""), "{alerts}");
}
