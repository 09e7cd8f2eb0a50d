//! Whatever people typed is shown and never run.

use bench::Command;
use jiff::tz::TimeZone;
use proptest::prelude::*;
use quantity::Unit;

use super::html::Page;
use super::page::{OUT, face};
use crate::{ReportFacts, report_page};

const HOSTILE: [&str; 7] = [
    "<script>alert(1)</script>",
    "</td></tr></table><img src=x onerror=alert(1)>",
    "\"><svg onload=alert(1)>",
    "&amp;&lt;&#0;",
    "\u{202e}kcab\u{1b}[2J",
    "]]><!-- -->",
    "' onmouseover='alert(1)",
];

/// A page with a text in every place that takes one.
fn with(text: &str) -> (String, Page) {
    let mut shop = face();
    shop.measure("ring/face", OUT);
    shop.ask(Command::Void { id: None, why: Some(text.to_owned()) });
    shop.enter("0.0001");
    shop.ask(Command::Note { job: "J-1".to_owned(), text: text.to_owned(), closed: None });
    // What is written down is one line of words.
    let value: String = wire::printable(text).chars().take(200).collect();
    shop.ask(Command::Record { target: "ring/said".to_owned(), value });
    let mut facts = shop.facts("J-1");
    facts.record.serial = Some(text.to_owned());
    facts.record.customer = Some(text.to_owned());
    facts.verdicts[0].remark = Some(text.to_owned());
    let earlier = [];
    let shop = crate::Letterhead {
        name: Some(text.to_owned()),
        address: vec![text.to_owned()],
        mark: None,
    };
    let (unit, zone) = (Unit::Inch, &TimeZone::UTC);
    let page = report_page(&ReportFacts {
        job: &facts,
        earlier: &earlier,
        unit,
        zone,
        papers: &[],
        annex: false,
        shop: &shop,
        samples: false,
        seal: None,
    });
    (page.clone(), Page::of(&page))
}

/// How many elements of each name a page has.
fn shape(page: &Page) -> usize {
    page.all("*").len()
}

#[test]
fn what_people_typed_makes_no_element_and_is_there_to_read() {
    let plain = shape(&with("plain").1);
    for text in HOSTILE {
        let (source, page) = with(text);
        assert_eq!(shape(&page), plain, "{text:?} made elements");
        assert!(!source.contains("<script") && !source.contains("<img"), "{text:?}");
        assert!(!source.contains('\u{1b}') && !source.contains('\u{202e}'), "{text:?}");
        let shown = wire::printable(text);
        let said = page.all("body")[0].text();
        let words = shown.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(said.matches(&words).count() >= 5, "{words:?} in {said}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn any_text_leaves_the_page_as_it_is(text in "[^\\x00]{1,40}") {
        // A value that is all blanks is refused.
        prop_assume!(!text.trim().is_empty());
        let (_, page) = with(&text);
        prop_assert_eq!(shape(&page), shape(&with("plain").1));
    }
}
