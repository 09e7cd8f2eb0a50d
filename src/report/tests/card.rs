//! What stands on the card of a job, as its page shows it.

use bench::Command;
use bench::row::{AttemptReason, IntakeItem, Outcome};

use super::html::Page;
use super::page::{FLAT, OUT, face};
use super::shop::Shop;

fn decide(shop: &mut Shop, outcome: Outcome, why: &str) {
    let (part, why) = ("ring".to_owned(), why.to_owned());
    shop.ask(Command::Decide { part, outcome, why });
}

/// The row of the only part: serial, found, done, why.
fn row(page: &Page) -> Vec<String> {
    let table = page.section("Found, done, why").table(0);
    table.last().unwrap().iter().skip(1).cloned().collect()
}

/// The state of each step on the strip.
fn steps(page: &Page) -> Vec<String> {
    let lists = page.all("ol");
    let strip = lists.iter().find(|list| list.attribute("class").as_deref() == Some("steps"));
    let state = |step: &super::html::Element| step.attribute("class").unwrap();
    strip.unwrap().all("li").iter().map(state).collect()
}

#[test]
fn a_page_without_decisions_has_no_table_of_them_and_room_for_ink_all_the_same() {
    let page = face().page("J-1");
    let headings: Vec<String> = page.all("h2").iter().map(super::html::Element::text).collect();
    assert!(!headings.contains(&"Found, done, why".to_owned()), "{headings:?}");
    let signatures = page.section("Signatures").text();
    assert_eq!(signatures.matches("not signed in the record").count(), 3);
    assert_eq!(signatures.matches("Signature and date").count(), 3);
}

#[test]
fn a_part_is_shown_as_found_as_done_and_why() {
    let mut shop = face();
    shop.measure("ring/face", OUT);
    decide(&mut shop, Outcome::Kept, "good <enough>");
    let told = row(&shop.page("J-1"));
    assert_eq!(told, ["—", "face does not conform", "kept as it was found", "good <enough>"]);
    shop.again(AttemptReason::Ground, "ring/face", FLAT);
    let told = row(&shop.page("J-1"));
    assert_eq!(told[1..3], ["face does not conform", "reground"], "as it was found");
    assert!(told[3].contains("decided before: kept, good <enough>"), "{told:?}");
    decide(&mut shop, Outcome::Reground, "0.00026 in at the 45 mark");
    assert_eq!(row(&shop.page("J-1"))[2..], ["reground", "0.00026 in at the 45 mark"]);
    let (part, serial) = ("ring".to_owned(), Some("R2".to_owned()));
    shop.ask(Command::Replace { part, serial, why: "cracked".to_owned() });
    let told = row(&shop.page("J-1"));
    assert_eq!((&*told[0], &*told[2]), ("R2", "replaced"));
}

#[test]
fn the_strip_has_the_steps_of_this_job_and_what_stands_before_the_next() {
    let mut shop = face();
    assert_eq!(steps(&shop.page("J-1")), ["open", "open"]);
    shop.measure("ring/face", OUT);
    let page = shop.page("J-1");
    assert_eq!(steps(&page), ["hindered", "open"]);
    let front = page.section("The job").text();
    assert!(front.contains("Before the hand-over: ring/face does not conform"), "{front}");
    let (name, told) = ("J-1".to_owned(), vec![(IntakeItem::Complaint, "whines".to_owned())]);
    shop.ask(Command::JobIntake { name, told });
    assert_eq!(steps(&shop.page("J-1")), ["done", "hindered", "open"]);
}
