//! High spots on the page: each as it was marked, and what they come to as the stack is built.

use ::record::MarkedSpot;
use bench::row::HighSpot;
use bench::spots::{Sum, Together};
use quantity::{Name, Quoted, Unit, Wall};

use super::html::Page;
use super::page::face;
use super::shop::{name, page_of};
use crate::trial::length;

fn marked(part: &str, spot: HighSpot, by: Option<Name>) -> MarkedSpot {
    let at = Wall::parse("2027-03-01T14:30:00Z").expect("a time");
    MarkedSpot { at, part: name(part), spot, by, caller: None }
}

fn at(deg: u16) -> HighSpot {
    HighSpot { deg, is_low: false, amount: None, uncertainty: None, towards_nose: None }
}

fn page(spots: Vec<MarkedSpot>, together: Option<Together>) -> Page {
    let mut facts = face().facts("J-1");
    (facts.record.stack.spots, facts.record.stack.together) = (spots, together);
    page_of(&facts, Unit::Inch, &[])
}

#[test]
fn without_a_mark_nothing_is_said_of_high_spots() {
    let said = page(Vec::new(), Some(Together::Nothing)).section("The stack").text();
    assert!(!said.contains("High spots") && !said.contains("As it is built:"), "{said}");
}

#[test]
fn each_mark_is_told_as_it_was_written_down() {
    let known = HighSpot {
        is_low: true,
        amount: Quoted::parse("0.00004", Unit::Inch).ok(),
        uncertainty: Some(length("0.00001 in")),
        towards_nose: Some("<b>".to_owned()),
        ..at(210)
    };
    let page =
        page(vec![marked("seat", at(30), Some(name("Ada"))), marked("ring", known, None)], None);
    let rows = page.section("The stack").table(0);
    assert_eq!(rows[0], ["seat", "high spot at 30", "Ada"]);
    let told = "low spot at 210, 0.00004 in (u 0.00001), <b> towards the nose";
    assert_eq!(rows[1], ["ring", told, "—"]);
    assert!(!page.section("The stack").text().contains("As it is built:"));
}

#[test]
fn what_they_come_to_is_told_as_a_vector_with_its_opposite() {
    // 3 at 0° and 4 at 90°, in hundred-thousandths of an inch: 5 at 53.13°.
    let sum = Sum {
        parts: vec![name("seat"), name("ring")],
        amount: Some(length("0.00005 in")),
        uncertainty: length("0 in"),
        high_deg: 4.0_f64.atan2(3.0).to_degrees(),
        within_deg: 0.0,
        unit: Unit::Inch,
    };
    let spots = || vec![marked("seat", at(0), None), marked("ring", at(90), None)];
    let said = page(spots(), Some(Together::Towards(sum.clone()))).section("The stack").text();
    let told = "As it is built: The high spots of seat and ring come to 0.000050 in at 53; opposite is 233.";
    assert!(said.contains(told), "{said}");
    assert!(said.contains("where the parts lie along the shaft is not in it"), "{said}");
    let even = page(spots(), Some(Together::Even(sum))).section("The stack").text();
    assert!(even.contains("too little for a direction") && !even.contains("opposite is"), "{even}");
    let unknown = Together::Unknown(vec![name("ring")]);
    let said = page(spots(), Some(unknown)).section("The stack").text();
    assert!(said.contains("is not known: of ring the amount or the place"), "{said}");
}
