//! Pictures and papers: shown, told where they cannot be, and never more than what is there.

use std::sync::Arc;

use ::record::{AttachmentRecord, TakenBack};
use bench::Seq;
use bench::row::{Attached, Paper, PaperType};
use jiff::tz::TimeZone;
use quantity::{Unit, Wall};

use super::html::{Element, Page};
use super::page::face;
use super::shop::name;
use crate::{AnnexFacts, PaperShown, ReportFacts, Shown, annex_page, report_page};

const SECTION: &str = "Pictures and papers";
const URI: &str = "data:image/jpeg;base64,/9j/";

fn at(text: &str) -> Wall {
    Wall::parse(text).expect("a time")
}

fn attached(kind: PaperType, what: &str, bytes: u64) -> AttachmentRecord {
    let paper = Paper { digest: [7; 32], bytes, kind };
    AttachmentRecord {
        id: Seq(40),
        at: at("2027-03-01T14:30:00Z"),
        by: Some(name("Ada")),
        caller: None,
        part: Some(name("ring")),
        check: Some(name("face")),
        attached: Arc::new(Attached {
            job: Seq(1),
            part: Some(0),
            check: Some(0),
            what: what.to_owned(),
            name: "camera.jpg".to_owned(),
            paper,
        }),
        taken_back: None,
    }
}

fn small(number: usize, what: &str) -> PaperShown {
    let shown = Shown::Small { uri: URI.to_owned(), width: 320, height: 240 };
    PaperShown { number, record: attached(PaperType::Jpeg, what, 2_000_000), shown }
}

fn missing(number: usize, kind: PaperType, why: &str) -> PaperShown {
    let record = attached(kind, "the race", 2_000_000);
    PaperShown { number, record, shown: Shown::Not(why.to_owned()) }
}

fn pdf(number: usize, bytes: u64) -> PaperShown {
    let record = attached(PaperType::Pdf, "the certificate", bytes);
    PaperShown { number, record, shown: Shown::Paper }
}

/// The page with these, and with what was taken back.
fn page(papers: &[PaperShown], back: Option<&str>, annex: bool) -> Page {
    let mut job = face().facts("J-1");
    job.record.attached = papers.iter().map(|one| one.record.clone()).collect();
    if let Some(why) = back {
        let taken = TakenBack { at: at("2027-03-02T08:00:00Z"), by: None, why: why.to_owned() };
        let mut one = attached(PaperType::Png, "another <spindle>", 9000);
        one.taken_back = Some(taken);
        job.record.attached.push(one);
    }
    let facts = ReportFacts {
        job: &job,
        earlier: &[],
        unit: Unit::Inch,
        zone: &TimeZone::UTC,
        papers,
        annex,
        shop: &crate::Letterhead::default(),
        samples: false,
        seal: None,
    };
    Page::of(&report_page(&facts))
}

fn captions(page: &Page) -> Vec<String> {
    page.all("figcaption").iter().map(Element::text).collect()
}

#[test]
fn without_pictures_there_is_no_section_of_them() {
    assert!(!page(&[], None, false).headings().contains(&SECTION.to_owned()));
}

#[test]
fn a_picture_is_shown_with_its_number_what_it_is_of_when_and_by_whom() {
    let page = page(&[small(1, "the burr"), small(2, "ground <off> \"now\"")], None, false);
    let pictures = page.section(SECTION).all("img");
    assert_eq!(pictures.len(), 2);
    let of = |name: &str| pictures[1].attribute(name).unwrap();
    assert_eq!((of("src"), of("width"), of("height")), (URI.into(), "320".into(), "240".into()));
    assert_eq!(of("alt"), "ground <off> \"now\"", "for whoever does not see it");
    let told = [
        "1 ring/face: the burr. 2027-03-01 14:30",
        "2 ring/face: ground <off> \"now\". 2027-03-01",
    ];
    for (caption, told) in captions(&page).iter().zip(told) {
        assert!(caption.starts_with(told) && caption.ends_with("by Ada"), "{caption}");
    }
    let said = page.section(SECTION).text();
    assert!(said.contains("Small pictures; the originals are kept with the record."), "{said}");
    assert!(!said.contains("The annex has them"), "{said}");
}

#[test]
fn a_missing_picture_is_told_with_its_reason_and_nobody_is_told_that_it_is_kept() {
    let why = "the file is <gone>";
    let page = page(&[missing(1, PaperType::Jpeg, why)], None, false);
    let section = page.section(SECTION);
    assert!(section.all("img").is_empty());
    assert_eq!(section.all("figure")[0].all("p")[0].text(), "Not shown: the file is <gone>.");
    assert!(captions(&page)[0].starts_with("1 ring/face: the race."), "{:?}", captions(&page));
    assert!(!section.text().contains("are kept with the record"), "{}", section.text());
}

#[test]
fn a_paper_is_named_with_its_size_and_one_that_is_missing_is_told_too() {
    // 1 234 567 bytes and 900 bytes, in tenths of a megabyte, rounded up.
    let all = [pdf(1, 1_234_567), pdf(2, 900), missing(3, PaperType::Pdf, "damaged")];
    let page = page(&all, None, false);
    let section = page.section(SECTION);
    let said: Vec<String> = section.all("p").iter().map(Element::text).collect();
    assert!(
        said.iter().any(|one| one.starts_with("1 ring/face: the certificate.")
            && one.ends_with("(PDF, 1.3 MB)")),
        "{said:?}"
    );
    assert!(
        said.iter().any(|one| one.starts_with("2 ") && one.ends_with("(PDF, 0.1 MB)")),
        "{said:?}"
    );
    assert!(said.contains(&"Not shown: damaged.".to_owned()), "{said:?}");
    assert!(section.all("img").is_empty() && !section.text().contains("Small pictures"));
}

#[test]
fn what_was_taken_back_is_not_shown_but_told_with_its_reason() {
    let page = page(&[], Some("wrong </job>"), false);
    let section = page.section(SECTION);
    let said = section.text();
    assert!(section.all("img").is_empty(), "{said}");
    let told = "picture “another <spindle>”. Why: wrong </job>";
    assert!(said.contains("Taken back 2027-03-02 08:00") && said.contains(told), "{said}");
}

#[test]
fn the_page_says_that_there_is_an_annex_only_where_there_is_one() {
    let said = page(&[small(1, "the burr")], None, true).section(SECTION).text();
    assert!(said.contains("The annex has them in full, under the same numbers."), "{said}");
    assert!(said.contains("maker data of cameras were taken out"), "{said}");
    assert!(!said.contains("Small pictures;"), "{said}");
}

#[test]
fn the_annex_leads_to_each_file_under_the_number_of_the_report() {
    let file = |name: &str| Some(name.to_owned());
    let papers = [
        (small(1, "\"><script>burr</script>"), file("001.jpg")),
        (pdf(2, 1_234_567), file("002.pdf")),
        (missing(3, PaperType::Png, "its bytes are others"), None),
    ];
    let (job, zone) = ("J <1>", &TimeZone::UTC);
    let page = Page::with_files(&annex_page(&AnnexFacts { job, papers: &papers, zone }));
    let links: Vec<String> = page.all("a").iter().filter_map(|one| one.attribute("href")).collect();
    assert_eq!(links, ["001.jpg", "002.pdf"]);
    // In full, not the small one of the report.
    let pictures = page.all("img");
    assert_eq!(pictures.len(), 1);
    assert_eq!(pictures[0].attribute("src").unwrap(), "001.jpg");
    assert_eq!(pictures[0].attribute("alt").unwrap(), "\"><script>burr</script>");
    assert!(page.all("script").is_empty());
    assert_eq!(page.all("h1")[0].text(), "Job J <1>");
    let said = page.all("main")[0].text();
    assert!(said.contains("Not shown: its bytes are others."), "{said}");
    assert!(said.contains("PDF, 1.3 MB"), "{said}");
}
