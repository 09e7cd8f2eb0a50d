//! Names and texts that would like to be something else are texts.

use super::rig::{Page, bench};

#[test]
fn hostile_names_are_texts_with_an_address_of_their_own() {
    let bench = bench();
    let hostile = "<script>alert(1)</script>\u{202e}\u{1b}[2J\"'&";
    let names = ["<b>J&'\"?#%", "..", "%2e%2e%2f", "ü 日本", "report", "a%00b", &"x".repeat(64)];
    for name in names {
        // A name has no slash; what else is written down at a job may have anything.
        let typed = if name.contains('/') { continue } else { name };
        bench.ok(&[
            "job",
            "open",
            typed,
            "--plan",
            "held",
            "--customer",
            hostile,
            "--serial",
            hostile,
        ]);
    }
    let page = Page::of(&bench, &[]);
    let jobs = page.get("/jobs");
    assert_eq!(jobs.status, 200);
    let is_text = |body: &str| {
        !body.contains("<script>")
            && !body.contains("<b>J")
            && !body.contains(['\u{202e}', '\u{1b}'])
    };
    assert!(is_text(&jobs.body), "{}", jobs.body);
    assert!(jobs.body.contains("&lt;script&gt;alert(1)&lt;/script&gt;\\u{202e}\\x1b[2J"));
    let links = jobs.body.split("href=\"/job").skip(1);
    let links: Vec<&str> = links
        .map(|rest| rest.split('"').next().unwrap())
        .filter(|link| !link.starts_with('s'))
        .collect();
    assert_eq!(links.len(), names.len(), "{links:?}");
    for (link, name) in links.iter().zip(names.iter().rev()) {
        let signs = |c: char| c.is_ascii_alphanumeric() || "/%-._~?=&;".contains(c);
        assert!(link.chars().all(signs), "{link}");
        let path = format!("/job{}", link.replace("&amp;", "&"));
        let job = page.get(&path);
        assert_eq!(job.status, 200, "{path}: {}", job.body);
        assert!(is_text(&job.body), "{path}: {}", job.body);
        let escaped = name
            .replace('&', "&amp;")
            .replace('<', "&lt;")
            .replace('>', "&gt;")
            .replace('"', "&quot;");
        assert!(
            job.body.contains(&format!("<h1><bdi>{escaped}</bdi></h1>")),
            "{name}: {}",
            job.body
        );
        let report =
            job.body.split("class=\"button\" href=\"").nth(1).unwrap().split('"').next().unwrap();
        let report = page.get(&report.replace("&amp;", "&"));
        assert_eq!(report.status, 200, "{name}");
        assert!(report.body.contains("class=\"letter\"") && is_text(&report.body), "{name}");
    }
    // What was typed comes back as text.
    let sought = page.get("/jobs?customer=%22%3E%3Cscript%3E&name=%E2%80%AE");
    assert!(sought.status == 200 && is_text(&sought.body), "{}", sought.body);
}

#[test]
fn addresses_of_nothing_are_told_so() {
    let bench = bench();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    let page = Page::of(&bench, &[]);
    for path in [
        "/job/..%2F..%2Fetc%2Fpasswd",
        "/job/%00",
        "/job/%ff%fe",
        "/job/J-1/../../page.toml",
        "/../../etc/passwd",
        "//etc/passwd",
        "/job/",
        "/job",
        "/job/J-1/report/more",
        "/job/%3Cscript%3E",
        "/?station=..%2F",
        "/live?station=nowhere",
        "/.well-known/x",
    ] {
        let answer = page.get(path);
        assert_eq!(answer.status, 404, "{path}: {}", answer.body);
        assert!(!answer.body.contains("root:") && !answer.body.contains("<script>"), "{path}");
    }
    for path in ["/jobs?before=-1", "/alerts?before=99999999999999999999"] {
        let status = page.get(path).status;
        assert!([200, 400].contains(&status), "{path}: {status}");
    }
    let long = page.get(&format!("/jobs?name={}", "x".repeat(4000)));
    assert_eq!(long.status, 414);
}
