//! The first page: what was found, done and is now, and whose name stands at its head.

use bench::Command;
use bench::row::{AttemptReason, Outcome};
use jiff::tz::TimeZone;
use quantity::Unit;

use super::html::{Element, Page};
use super::page::{FACE, FLAT, OUT, face};
use super::shop::{Shop, page_of};
use crate::{Letterhead, MarkShown, ReportFacts, report_page};

/// The face as it came in, and the same as it leaves.
fn paired() -> Shop {
    let came = FACE.replace("name = \"face\"", "name = \"came\"");
    let came = came.split("[[part.check]]\nname = \"metric\"").next().unwrap();
    let leaves = FACE
        .replace("name = \"ring\"", "name = \"end\"")
        .replace("name = \"face\"\n", "name = \"face\"\nfound = \"ring/came\"\n");
    let mut shop = Shop::with(&format!("{came}{leaves}"));
    shop.open("J-1", Some("S-7"));
    shop
}

fn summary(shop: &Shop) -> Element {
    shop.page("J-1").section("Summary")
}

/// The marks of verdicts that call for attention.
fn red(of: &Element) -> usize {
    let class = |one: &Element| one.attribute("class").unwrap_or_default();
    let out = |of: &Element| of.all("strong").iter().filter(|one| class(one) == "v out").count();
    // What only says how it came in is pale, whatever its word.
    let then = of.all("*").into_iter().filter(|one| class(one).split(' ').any(|one| one == "then"));
    out(of) - then.map(|pale| out(&pale)).sum::<usize>()
}

#[test]
fn what_was_out_as_received_is_history() {
    let mut shop = paired();
    shop.measure("ring/came", OUT);
    let said = summary(&shop).text();
    assert!(said.contains("Only what it was like when it came in was measured."), "{said}");
    shop.measure("end/face", FLAT);
    let first = summary(&shop);
    let said = first.text();
    assert!(said.contains("1 check has a verdict: conforms 1."), "{said}");
    let came = "As it came in, 1 of 1 did not conform: ring/came.";
    assert!(said.contains(came), "{said}");
    let rows = first.table(first.all("table").len() - 1);
    assert_eq!(rows[0][..4], ["end/face", "0.0001", "0.00026", "0.00003"]);
    assert_eq!(rows[0][5], "conforms");
    assert_eq!(rows.len(), 1, "the check that was found is no row of its own");
    let page = shop.page("J-1");
    assert_eq!(red(&page.all("body")[0]), 0, "nothing on the whole page calls");
    let row = page.verdicts().into_iter().find(|row| row[0].starts_with("ring/came")).unwrap();
    assert_eq!(row[5], "does not conform as it came in");
}

#[test]
fn what_is_out_now_is_marked() {
    let mut shop = paired();
    shop.measure("ring/came", FLAT);
    shop.measure("end/face", OUT);
    let first = summary(&shop);
    let said = first.text();
    assert!(said.contains("As it came in, 1 of 1 conformed."), "{said}");
    assert!(said.contains("1 check has a verdict: does not conform 1."), "{said}");
    assert!(red(&first) >= 2, "in the sentence and in the tables");
}

#[test]
fn a_part_that_was_ground_stands_as_found_done_and_now() {
    let mut shop = face();
    shop.measure("ring/face", OUT);
    let (part, why) = ("ring".to_owned(), "0.00026 in <wedge>".to_owned());
    shop.ask(Command::Decide { part, outcome: Outcome::Reground, why });
    shop.again(AttemptReason::Ground, "ring/face", FLAT);
    let first = summary(&shop);
    let rows = first.table(0);
    assert_eq!(rows[0][..2], ["ring", "face does not conform"]);
    assert_eq!(rows[0][2], "reground: 0.00026 in <wedge>");
    assert!(rows[0][3].starts_with("1 conforms; "), "{rows:?}");
    let pairs = first.table(1);
    assert_eq!(pairs[0][..4], ["ring/face", "0.0001", "0.00026", "0.00003"]);
    assert_eq!(red(&first), 0);
}

#[test]
fn an_attempt_that_was_only_repeated_is_no_change() {
    let alone = FACE.split("[[part.check]]\nname = \"metric\"").next().unwrap();
    let mut shop = Shop::with(alone);
    shop.open("J-1", None);
    shop.measure("ring/face", FLAT);
    shop.again(AttemptReason::Again, "ring/face", FLAT);
    let first = summary(&shop);
    assert!(!first.text().contains("Found and final"), "{}", first.text());
    assert!(first.text().contains("In order as found, all checks conform: ring."));
}

#[test]
fn a_part_that_was_replaced_keeps_what_was_found_beside_the_new_one() {
    let mut shop = face();
    shop.measure("ring/face", OUT);
    let (part, serial) = ("ring".to_owned(), Some("R2".to_owned()));
    shop.ask(Command::Replace { part, serial, why: "cracked".to_owned() });
    let first = summary(&shop);
    assert_eq!(first.table(0)[0][2], "replaced: cracked");
    assert_eq!(first.table(1)[0][2..4], ["0.00026", "not measured"]);
    shop.measure("ring/face", FLAT);
    assert_eq!(summary(&shop).table(1)[0][2..4], ["0.00026", "0.00003"]);
}

#[test]
fn what_could_not_be_measured_is_named_and_a_long_list_is_cut() {
    let mut shop = face();
    shop.measure("ring/face", "0.0001 0.0002");
    shop.ask(Command::Stop);
    let said = summary(&shop).text();
    assert!(said.contains("Not decided: ring/face, stopped before its last position."), "{said}");
    assert!(said.contains("Not measured: ring/metric, ring/seen, ring/room, ring/said."), "{said}");
    let asked = "measures = \"confirm\"\nquestion = \"done?\"\ngood = [\"yes\"]\n";
    let one = |many: String, at| many + &format!("[[part.check]]\nname = \"c{at}\"\n{asked}");
    let many = (0..9).fold(String::new(), one);
    let mut shop = Shop::with(&format!("[[part]]\nname = \"p\"\nkind = \"other\"\n{many}"));
    shop.open("J-1", None);
    let said = summary(&shop).text();
    assert!(
        said.contains("Not measured: p/c0, p/c1, p/c2, p/c3, p/c4, p/c5 and 3 more."),
        "{said}"
    );
}

#[test]
fn a_long_text_is_cut_on_the_first_page_and_whole_behind_it() {
    let mut facts = face().facts("J-1");
    let long = "word ".repeat(400);
    facts.record.customer = Some(long.clone());
    let page = page_of(&facts, Unit::Inch, &[]);
    let said = page.section("Summary").text();
    assert!(said.len() < 800 && said.contains("word…"), "{said}");
    assert!(page.section("The job").text().contains(long.trim()));
}

#[test]
fn the_head_has_name_address_and_mark_of_the_shop_and_none_of_them_where_none_is() {
    let job = &face().facts("J-1");
    let with = |shop: &Letterhead| {
        let (unit, zone, papers, earlier) = (Unit::Inch, &TimeZone::UTC, &[], &[]);
        let (annex, samples, seal) = (false, false, None);
        Page::of(&report_page(&ReportFacts {
            job,
            earlier,
            unit,
            zone,
            papers,
            annex,
            shop,
            samples,
            seal,
        }))
    };
    let uri = "data:image/jpeg;base64,AAAA".to_owned();
    let shop = Letterhead {
        name: Some("Example <Works>".to_owned()),
        address: vec!["1 Sample Lane".to_owned(), "Exampletown".to_owned()],
        mark: Some(MarkShown { uri, width: 40, height: 20 }),
    };
    let head = with(&shop).all("header")[0].clone();
    assert_eq!(head.all("address")[0].text(), "Example <Works> 1 Sample Lane Exampletown");
    let mark = &head.all("img")[0];
    assert_eq!(mark.attribute("alt").as_deref(), Some("Mark of Example <Works>"));
    let head = with(&Letterhead::default()).all("header")[0].clone();
    assert!(head.all("address").is_empty() && head.all("img").is_empty());
    assert_eq!(head.text(), "Measuring report Job J-1");
}
