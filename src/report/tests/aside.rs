//! Readings taken back, attempts set aside, parts replaced and positions left out are shown with their
//! reasons.

use bench::Command;
use bench::row::AttemptReason;

use super::page::{FACE, FLAT, OUT, face};
use super::shop::Shop;

const ASIDE: &str = "Touches taken back, attempts set aside";

#[test]
fn a_touch_taken_back_is_listed_with_its_reading_and_why() {
    let mut shop = face();
    shop.measure("ring/face", "0.00019 0.0141");
    shop.ask(Command::Void { id: None, why: Some("slipped".to_owned()) });
    shop.enter("0.00026 0.00024 0.00016 0.00007 0.00000 0.00002 0.00010");
    let page = shop.page("J-1");
    let said = page.section(ASIDE).text();
    assert!(said.contains("1 touch was taken back; the record keeps them."), "{said}");
    let row = &page.section(ASIDE).table(0)[0];
    assert_eq!(row[..4], ["ring/face", "1", "1", "0.0141"]);
    assert_eq!(row[6], "slipped");
    assert_eq!(page.verdicts()[0][2], "0.00026", "it does not count");
}

#[test]
fn nothing_taken_back_is_said_too() {
    let mut shop = face();
    shop.measure("ring/face", FLAT);
    let said = shop.page("J-1").section(ASIDE).text();
    assert!(said.contains("No touch was taken back."), "{said}");
    assert!(said.contains("No attempt was set aside."), "{said}");
}

#[test]
fn a_position_left_out_is_hatched_and_named() {
    let mut shop = face();
    shop.ask(Command::Measure { target: "ring/face".to_owned(), remark: None });
    shop.enter("0.00001 0.00002 0.00003");
    shop.ask(Command::Skip { position: Some(3), why: "an etch mark".to_owned() });
    shop.enter("0.00001 0.00000 0.00000 0.00001");
    let page = shop.page("J-1");
    assert_eq!(page.verdicts()[0][6], "7 of 8, 1 left out");
    let said = page.reached("ring/face").text();
    assert!(said.contains("Hatched: position 3, left out: an etch mark."), "{said}");
    assert!(said.contains("position 3 left out: an etch mark"), "{said}");
}

#[test]
fn tries_of_the_same_metal_count_together_and_cleaned_ones_do_not() {
    let mut shop = face();
    shop.measure("ring/face", OUT);
    shop.again(AttemptReason::Again, "ring/face", OUT);
    let page = shop.page("J-1");
    assert_eq!(page.verdicts()[0][8], "1, 2");
    assert!(page.section(ASIDE).text().contains("No attempt was set aside."));
    assert!(page.reached("ring/face").text().contains("means of 2 tries"));
    // Readings of every try are listed.
    let rows = page.reached("ring/face").table(0);
    let tries = rows.iter().filter(|row| row[0].contains("first") || row[0].contains("again"));
    assert_eq!(tries.count(), 2, "{rows:?}");
}

#[test]
fn a_new_part_takes_its_old_figures_with_it() {
    let mut shop = face();
    shop.measure("ring/face", OUT);
    shop.ask(Command::Replace {
        part: "ring".to_owned(),
        serial: Some("N-2".to_owned()),
        why: "worn through".to_owned(),
    });
    let page = shop.page("J-1");
    let stack = page.section("The stack").text();
    assert!(
        stack.contains("ring, new serial N-2, ") && stack.contains(": worn through"),
        "{stack}"
    );
    let aside = page.section(ASIDE).table(0);
    assert_eq!(aside[0][3], "measured on a part that was replaced since");
    assert!(page.section("Verdicts").text().contains("There are no verdicts."));
}

#[test]
fn a_stack_is_listed_from_the_nose() {
    let plan = format!("{FACE}\n[[stack]]\npart = \"ring\"\n");
    let mut shop = Shop::with(&plan);
    shop.open("J-1", None);
    for check in ["ring/face", "ring/metric"] {
        shop.measure(check, FLAT);
    }
    shop.answer("ring/seen", "yes");
    shop.ask(Command::Record { target: "ring/room".to_owned(), value: "20".to_owned() });
    shop.build("ring");
    let page = shop.page("J-1");
    assert!(page.section("The stack").text().contains("The stack was not written down."));
    // What the record lists of it is drawn as it is listed.
    let mut facts = shop.facts("J-1");
    facts.record.stack.built = vec![::record::StackedPart {
        part: super::shop::name("ring"),
        towards_nose: Some("face b".to_owned()),
        mark_deg: Some(90),
        serial: None,
        by: None,
        caller: None,
    }];
    let zone = jiff::tz::TimeZone::UTC;
    let unit = quantity::Unit::Inch;
    let told = crate::ReportFacts {
        job: &facts,
        earlier: &[],
        unit,
        zone: &zone,
        papers: &[],
        annex: false,
        shop: &crate::Letterhead::default(),
        samples: false,
        seal: None,
    };
    let page = super::html::Page::of(&crate::report_page(&told));
    assert_eq!(page.section("The stack").table(0), [["1", "ring", "face b", "90°", "—", "—"]]);
}
