//! `tenths page --shop`: jobs and alerts of every bench, from a real PostgreSQL.

use std::collections::BTreeSet;

use super::rig::{Page, bench, measured};
use crate::postgres::Postgres;
use crate::rig::Bench;
use crate::whole_shop::{joins, sent};

/// A bench of the shop with one measured job and many that were only opened.
fn of_shop(server: &Postgres, name: &str) -> Bench {
    let mut bench = bench();
    joins(&bench, server, name);
    let own = format!("{name}-own");
    for job in ["both", &own] {
        measured(&bench, job, (name, "A & <b>"));
    }
    for number in 0..28 {
        bench.ok(&["job", "open", &format!("{name}-{number}"), "--plan", "held"]);
    }
    bench.stop();
    sent(server, name, &bench);
    bench
}

/// The addresses of the jobs on a page.
fn jobs(body: &str) -> Vec<String> {
    let links = body.split("href=\"/job/").skip(1);
    links.map(|rest| rest.split('"').next().unwrap().replace("&amp;", "&")).collect()
}

#[test]
fn jobs_and_alerts_of_all_benches_are_told_with_their_bench() {
    let mut server = Postgres::of_a_shop(&["north", "south"]);
    let north = of_shop(&server, "north");
    let _south = of_shop(&server, "south");
    let page = Page::of(&north, &["--shop"]);
    assert!(page.said.contains("the whole shop"), "{}", page.said);
    // Page by page each job comes once.
    let first = page.get("/jobs").body;
    assert_eq!(jobs(&first).len(), 50, "{first}");
    let older = first.split("<p class=\"pages\"><a href=\"").nth(1).unwrap();
    let older = older.split('"').next().unwrap().replace("&amp;", "&");
    let second = page.get(&older).body;
    let all: BTreeSet<String> = jobs(&first).into_iter().chain(jobs(&second)).collect();
    assert_eq!((all.len(), jobs(&second).len()), (60, 10), "{all:?}");
    assert!(all.contains("both?bench=north") && all.contains("both?bench=south"), "{all:?}");
    assert!(first.contains("<bdi>south</bdi>"), "{first}");
    let named = jobs(&page.get("/jobs?name=OWN").body);
    assert_eq!(named, ["south-own?bench=south", "north-own?bench=north"]);
    assert_eq!(jobs(&page.get("/jobs?serial=north&name=both").body), ["both?bench=north"]);
    assert!(page.get("/jobs?name=nobody").body.contains("no "));
    // A job by its bench, as that bench tells it; without a bench one must be meant.
    let told = page.get("/job/both?bench=south");
    assert_eq!(told.status, 200, "{}", told.body);
    assert!(
        told.body.contains("at bench <bdi>south</bdi>") && told.body.contains("ring-"),
        "{}",
        told.body
    );
    assert!(
        told.body.contains("A &amp; &lt;b&gt;")
            && told.body.contains("/job/both/report?bench=south")
    );
    assert_eq!(page.get("/job/both").status, 404);
    assert!(page.get("/job/north-own").body.contains("at bench <bdi>north</bdi>"));
    assert_eq!(page.get("/job/both?bench=%3Cb%3E").status, 404);
    let report = page.get("/job/north-own/report?bench=north");
    assert_eq!(report.body, north.ok(&["report", "north-own"]), "the same page as on the bench");
    let alerts = page.get("/alerts").body;
    for bench in ["north", "south"] {
        assert!(alerts.contains(&format!("<bdi>{bench}</bdi>")), "{alerts}");
    }
    // No bench is followed there, and a database that is away is told.
    assert!(page.get("/").body.contains("There is no station to follow here"));
    assert_eq!(page.get("/live?station=bench").status, 404);
    server.stop();
    let away = page.get("/jobs");
    assert!(away.status == 200 || away.status == 503, "{}", away.status);
    assert!(!away.body.contains("both") && away.body.contains("class=\"remark\""), "{}", away.body);
    assert_eq!(page.get("/alerts").status, 503);
}
