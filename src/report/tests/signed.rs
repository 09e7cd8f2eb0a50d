//! Signatures and what was agreed: whatever a reader has to know of them stands beside them.

use ::record::{SignatureRecord, ToldRecord};
use bench::Seq;
use bench::row::{IntakeItem, Lack, Role};
use jiff::tz::TimeZone;
use quantity::{Unit, Wall};

use super::html::{Element, Page};
use super::page::{FLAT, face};
use super::shop::{name, page_of};
use crate::{JobFacts, Letterhead, ReportFacts, report_page};

fn at(text: &str) -> Wall {
    Wall::parse(text).expect("a time")
}

fn signed(role: Role, by: &str) -> SignatureRecord {
    SignatureRecord {
        id: Seq(90),
        at: at("2027-03-03T09:15:00Z"),
        role,
        by: name(by),
        seal: "12-ab<cd>".to_owned(),
        earlier: false,
        elsewhere: false,
        lacking: Vec::new(),
        why: None,
        caller: None,
    }
}

/// A face that Ada measured, with these signatures.
fn facts(signed: Vec<SignatureRecord>) -> JobFacts {
    let mut shop = face();
    shop.person("Ada");
    shop.measure("ring/face", FLAT);
    let mut facts = shop.facts("J-1");
    facts.record.signed = signed;
    facts
}

/// The three boxes, in the order of the roles.
fn boxes(page: &Page) -> Vec<String> {
    let boxes = page.section("Signatures").all("div");
    let of_one = |one: &&Element| one.attribute("class").as_deref() == Some("sign");
    boxes.iter().filter(of_one).map(Element::text).collect()
}

fn shown(signed: Vec<SignatureRecord>) -> Vec<String> {
    boxes(&page_of(&facts(signed), Unit::Inch, &[]))
}

#[test]
fn a_signature_has_its_name_time_and_seal_and_the_other_boxes_stay_empty() {
    let boxes = shown(vec![signed(Role::Measured, "Ada")]);
    assert_eq!(boxes.len(), 3);
    assert!(boxes[0].contains("Ada, 2027-03-03 09:15"), "{boxes:?}");
    assert!(boxes[0].contains("Seal of what was signed: 12-ab<cd>"), "{boxes:?}");
    assert!(!boxes[0].contains("not signed"), "{boxes:?}");
    for empty in &boxes[1..] {
        assert!(empty.contains("not signed in the record") && !empty.contains("Seal"), "{empty}");
    }
    assert!(!boxes[0].contains("although") && !boxes[0].contains("since"), "{boxes:?}");
}

#[test]
fn a_signature_of_an_earlier_state_is_said_to_be_one_wherever_it_is_shown() {
    let earlier = SignatureRecord { earlier: true, ..signed(Role::Accepted, "Bo") };
    let page = page_of(&facts(vec![earlier]), Unit::Inch, &[]);
    let warning = "something was measured or changed since";
    assert!(boxes(&page)[2].contains(warning), "{:?}", boxes(&page));
    let front = page.section("The job").told();
    let accepted = front.iter().find(|(head, _)| head == "Accepted by").unwrap();
    assert!(accepted.1.starts_with("Bo, 2027-03-03") && accepted.1.contains(warning), "{front:?}");
    // Only the newest of a role has the box; the page in front names them all.
    let again = SignatureRecord { earlier: true, ..signed(Role::Accepted, "Bo") };
    let both = facts(vec![again, signed(Role::Accepted, "Cy")]);
    let page = page_of(&both, Unit::Inch, &[]);
    assert!(boxes(&page)[2].contains("Cy") && !boxes(&page)[2].contains(warning));
    assert!(page.section("The job").text().contains("Bo, 2027-03-03"));
}

#[test]
fn whoever_checks_the_own_work_is_no_second_person() {
    let own = shown(vec![signed(Role::Checked, "Ada")]);
    assert!(own[1].contains("who measured it, too: no second person's check"), "{own:?}");
    let other = shown(vec![signed(Role::Checked, "Bo")]);
    assert!(other[1].contains("Bo") && !other[1].contains("second person"), "{other:?}");
    // Whoever measured is meant to sign for that.
    let measured = shown(vec![signed(Role::Measured, "Ada")]);
    assert!(!measured[0].contains("second person"), "{measured:?}");
}

#[test]
fn what_spoke_against_a_signature_stands_beside_it_with_the_reason() {
    let lacking = vec![
        (name("ring"), name("face"), Lack::Undecided),
        (name("ring"), name("metric"), Lack::NotMeasured),
    ];
    let why = Some("the customer <agrees>".to_owned());
    let boxes = shown(vec![SignatureRecord { lacking, why, ..signed(Role::Accepted, "Bo") }]);
    let told = "although ring/face is undecided, ring/metric is not measured. Reason given: the customer <agrees>";
    assert!(boxes[2].contains(told), "{boxes:?}");
}

#[test]
fn a_seal_of_another_bench_is_told_on_a_page_of_this_record_alone() {
    let elsewhere = SignatureRecord { elsewhere: true, ..signed(Role::Measured, "Ada") };
    let job = facts(vec![elsewhere]);
    let with = |seal: Option<&str>| {
        let (zone, seal) = (&TimeZone::UTC, seal.map(str::to_owned));
        let (earlier, papers, unit) = (&[], &[], Unit::Inch);
        let (shop, annex, samples) = (&Letterhead::default(), false, false);
        let job = &job;
        let facts = ReportFacts { job, earlier, unit, zone, papers, annex, shop, samples, seal };
        report_page(&facts)
    };
    let told = "cannot be checked in this record";
    let own = Page::of(&with(Some("13-ef")));
    assert!(boxes(&own)[0].contains(told), "{:?}", boxes(&own));
    assert!(own.section("Signatures").text().contains("Seal of the record: 13-ef."));
    let handed_on = Page::of(&with(None));
    assert!(!boxes(&handed_on)[0].contains(told), "{:?}", boxes(&handed_on));
    assert!(!handed_on.all("body")[0].text().contains("Seal of the record"));
}

#[test]
fn what_was_said_at_intake_stands_with_what_was_said_before() {
    let said = |what, text: &str, time: &str| ToldRecord {
        at: at(time),
        by: None,
        what,
        text: text.to_owned(),
        caller: None,
    };
    let mut job = facts(Vec::new());
    job.record.told = vec![
        said(IntakeItem::Complaint, "whines <loudly>", "2027-03-01T08:00:00Z"),
        said(IntakeItem::Limits, "as the plan", "2027-03-01T08:00:00Z"),
        said(IntakeItem::Complaint, "whines above 6000 rpm", "2027-03-02T10:20:00Z"),
    ];
    let front = page_of(&job, Unit::Inch, &[]).section("The job").told();
    let of = |head: &str| front.iter().find(|one| one.0 == head).map(|one| one.1.clone());
    let complaint = "whines above 6000 rpm earlier, of 2027-03-01 08:00:00: whines <loudly>";
    assert_eq!(of("Complaint").as_deref(), Some(complaint));
    assert_eq!(of("Limits agreed").as_deref(), Some("as the plan"));
    assert_eq!(of("Asked for"), None, "nobody said so");
}
