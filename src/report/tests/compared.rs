//! Jobs of one spindle side by side.

use quantity::Unit;
use wire::ChangeWord;

use super::page::{FACE, FLAT, OUT};
use super::shop::Shop;
use crate::{Comparison, JobFacts};

/// Two jobs of one spindle: the face was left flat and came back out.
fn two() -> Shop {
    let mut shop = Shop::with(FACE);
    shop.open("J-1", Some("S-7"));
    shop.measure("ring/face", FLAT);
    shop.open("J-2", Some("S-7"));
    shop.measure("ring/face", OUT);
    shop
}

fn facts(shop: &Shop) -> Vec<JobFacts> {
    ["J-1", "J-2"].map(|job| shop.facts(job)).into()
}

#[test]
fn a_change_has_its_amount_its_uncertainty_and_whether_it_is_one() {
    let shop = two();
    let jobs = facts(&shop);
    let line = Comparison::of(&jobs, &[], Unit::Inch).line();
    let face = &line.characteristics[0];
    assert_eq!(
        (face.part.as_str(), face.check.as_str(), face.measures.text()),
        ("ring", "face", "parallelism")
    );
    let change = &face.changes[0];
    assert_eq!(change.value.as_deref(), Some("0.00023"));
    assert_eq!((change.from.as_str(), change.to.as_str()), ("J-1", "J-2"));
    assert_eq!((change.result, change.same_piece), (ChangeWord::Changed, true));
    // U of two figures of the same gauge: √2 times the one.
    let [u, both] = [
        face.jobs[1].standing.as_ref().unwrap().uncertainty.as_deref(),
        change.uncertainty.as_deref(),
    ]
    .map(|text| text.unwrap().parse::<f64>().unwrap());
    assert!((both / u - 2.0_f64.sqrt()).abs() < 0.01, "{both} of {u}");
}

#[test]
fn the_table_tells_what_came_and_what_leaves_with_the_digits_of_both() {
    let shop = two();
    let jobs = facts(&shop);
    let compared = Comparison::of(&jobs, &[], Unit::Inch);
    let text = compared.table().fitted(None).text;
    let rows: Vec<Vec<&str>> = text
        .lines()
        .map(|row| row.split("  ").map(str::trim).filter(|cell| !cell.is_empty()).collect())
        .collect();
    assert_eq!(rows[1][..5], ["ring/face", "J-1", "0.00003", "CONFORMS", "0.00003"]);
    assert_eq!(rows[2][..5], ["ring/face", "J-2", "0.00026", "DOES NOT CONFORM", "0.00026"]);
    assert!(text.contains("+0.00023 ±") && text.contains("CHANGED"), "{text}");
    let rounds = compared.rounds().fitted(None).text;
    assert!(rounds.contains("first") && rounds.contains("0.00026"), "{rounds}");
}

#[test]
fn what_only_one_plan_has_and_what_is_measured_otherwise_is_remarked() {
    let shop = two();
    let mut jobs = facts(&shop);
    let other = FACE.replace("tolerance = \"0.0001 in\"", "tolerance = \"0.0002 in\"");
    let mut second = Shop::with(&other);
    second.open("J-2", Some("S-7"));
    second.measure("ring/face", OUT);
    jobs[1] = second.facts("J-2");
    let compared = Comparison::of(&jobs, &[], Unit::Inch);
    let remarks = compared.remarks();
    assert_eq!(remarks, ["ring/face has different limits: 0.0001 in J-1; 0.0002 in J-2."]);
    assert!(!compared.nothing_in_common());
    assert_eq!(compared.same_spindle(), Some(true));
}

#[test]
fn jobs_that_name_no_spindle_may_be_of_any() {
    let shop = two();
    let mut jobs = facts(&shop);
    jobs[0].record.serial = None;
    let compared = Comparison::of(&jobs, &[], Unit::Inch);
    assert_eq!(compared.same_spindle(), None);
    let text = compared.table().fitted(None).text;
    assert!(text.contains("CHANGED, perhaps another piece"), "{text}");
}

#[test]
fn a_new_part_in_between_breaks_the_chain_and_is_named() {
    let mut shop = two();
    shop.ask(bench::Command::Replace {
        part: "ring".to_owned(),
        serial: None,
        why: "worn".to_owned(),
    });
    shop.measure("ring/face", FLAT);
    shop.open("J-3", Some("S-7"));
    shop.measure("ring/face", OUT);
    let jobs: Vec<JobFacts> = ["J-1", "J-2", "J-3"].map(|job| shop.facts(job)).into();
    let line = Comparison::of(&jobs, &[], Unit::Inch).line();
    let changes = &line.characteristics[0].changes;
    // What J-2 found first was still the old ring; what it left is the new one.
    assert!(changes[0].broken_by.is_empty() && changes[0].same_piece);
    assert!(changes[1].broken_by.is_empty() && changes[1].same_piece);
    let found = &line.characteristics[0].jobs[1];
    assert!(found.first.as_ref().unwrap().replaced_since);
    assert!(!found.standing.as_ref().unwrap().replaced_since);
    // Only J-1 and J-3: the ring became a new one between them.
    let others = [shop.facts("J-2").record];
    let jobs: Vec<JobFacts> = ["J-1", "J-3"].map(|job| shop.facts(job)).into();
    let compared = Comparison::of(&jobs, &others, Unit::Inch);
    let change = &compared.line().characteristics[0].changes[0];
    assert_eq!((change.broken_by.as_slice(), change.same_piece), (&["ring".to_owned()][..], false));
    assert!(compared.table().fitted(None).text.contains("another piece: new ring"));
    assert_eq!(compared.others().count(), 1);
}

#[test]
fn the_page_tells_what_earlier_jobs_left() {
    let shop = two();
    let page = shop.page_in(Unit::Inch, "J-2", &["J-1"]);
    let section = page.section("Earlier jobs of this serial");
    assert_eq!(section.table(0)[0][..4], ["ring/face", "0.00003", "0.00026", "0.00026"]);
    assert!(section.table(0)[0][4].contains("+0.00023 ±"), "{:?}", section.table(0));
    assert!(section.text().contains("Job J-1 ("), "{}", section.text());
    // With none before it there is nothing to tell.
    let alone = shop.page("J-2");
    let headings: Vec<String> = alone.all("h2").iter().map(super::html::Element::text).collect();
    assert!(!headings.contains(&"Earlier jobs of this serial".to_owned()));
}
