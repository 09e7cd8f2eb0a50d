//! The pictures of a face, and their descriptions for readers who do not see them.

use super::html::Element;
use super::page::{FLAT, OUT, face};
use super::shop::Shop;

fn drawn(shop: &Shop) -> Vec<Element> {
    shop.page("J-1").reached("ring/face").all("svg")
}

#[test]
fn a_face_that_leans_has_an_arrow_and_says_where_it_is_high() {
    let mut shop = face();
    shop.measure("ring/face", OUT);
    let facts = shop.facts("J-1");
    let (high, within) = facts.verdicts[0].verdict.high_side().unwrap();
    let said = shop.page("J-1").reached("ring/face").text();
    let told = format!("High side at {:.0}° ± {:.0}°", high.round() % 360.0, within.ceil());
    assert!(said.contains(&told), "{told} in {said}");
    assert!(said.contains(" across the face"), "{said}");
    // The arrow is what a flat face lacks.
    let mut flat = face();
    flat.measure("ring/face", "0 0 0 0 0 0 0 0");
    let paths = |shop: &Shop| drawn(shop)[0].all("path").len();
    assert!(paths(&shop) > paths(&flat), "{} and {}", paths(&shop), paths(&flat));
}

#[test]
fn every_height_is_told_at_its_angle() {
    let mut shop = face();
    shop.measure("ring/face", OUT);
    let pictures = drawn(&shop);
    assert_eq!(pictures.len(), 1);
    let said = pictures[0].all("desc")[0].text();
    // Tenths above the lowest touch.
    let heights = [
        "0°: 1.9",
        "45°: 2.6",
        "90°: 2.4",
        "135°: 1.6",
        "180°: 0.7",
        "225°: 0",
        "270°: 0.2",
        "315°: 1",
    ];
    for height in heights {
        assert!(said.contains(height), "{height} in {said}");
    }
}

#[test]
fn a_regrind_is_drawn_beside_what_was_before_at_one_scale() {
    let mut shop = face();
    shop.measure("ring/face", OUT);
    shop.again(bench::row::AttemptReason::Ground, "ring/face", FLAT);
    let page = shop.page("J-1");
    assert_eq!(page.reached("ring/face").all("svg").len(), 2);
    let captions = page.reached("ring/face").all("figcaption");
    let shades: Vec<String> = captions
        .iter()
        .map(|one| {
            one.text().split("darkest shade ").nth(1).unwrap().split('.').next().unwrap().to_owned()
        })
        .collect();
    assert_eq!(shades[0], shades[1], "one scale");
    let took = page.reached("ring/face").all("table");
    let took =
        took.iter().find(|table| table.attribute("class").as_deref() == Some("took")).unwrap();
    assert_eq!(took.all("tbody")[0].all("tr").len(), 8);
}

#[test]
fn the_pictures_of_a_page_have_names_of_their_own() {
    let mut shop = face();
    shop.measure("ring/face", OUT);
    shop.measure("ring/metric", OUT);
    let page = shop.page("J-1");
    let mut ids: Vec<String> = page.all("*").iter().filter_map(|one| one.attribute("id")).collect();
    let count = ids.len();
    ids.sort();
    ids.dedup();
    assert_eq!(ids.len(), count, "no id twice");
    for link in page.all("a") {
        let to = link.attribute("href").unwrap();
        assert!(ids.iter().any(|id| format!("#{id}") == to), "{to} leads nowhere");
    }
}
