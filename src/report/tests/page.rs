//! A whole page: what it shows for each check, and that it agrees with the record.

use bench::Command;
use bench::row::AttemptReason;
use judgement::Word;
use quantity::Unit;

use super::shop::Shop;

pub(super) const FACE: &str = r#"
[[part]]
name = "ring"
kind = "spacer"
[[part.check]]
name = "face"
measures = "parallelism"
gauge = "plate"
setup = "plate"
positions = 8
radius = "1.5 in"
closure = false
tolerance = "0.0001 in"
[[part.check]]
name = "metric"
measures = "thickness-variation"
gauge = "mute"
setup = "anvil"
positions = 8
radius = "1.5 in"
closure = false
tolerance = "5 um"
[[part.check]]
name = "seen"
measures = "confirm"
question = "burrs gone?"
answers = ["yes", "no"]
good = ["yes"]
[[part.check]]
name = "room"
measures = "entry"
question = "temperature of the room"
unit = "C"
[[part.check]]
name = "said"
measures = "entry"
question = "anything else?"
"#;

/// A face that is out, and the same ground flat.
pub(super) const OUT: &str = "0.00019 0.00026 0.00024 0.00016 0.00007 0.00000 0.00002 0.00010";
pub(super) const FLAT: &str = "0.00001 0.00003 0.00003 0.00002 0.00001 0.00000 0.00000 0.00001";

pub(super) fn face() -> Shop {
    let mut shop = Shop::with(FACE);
    shop.open("J-1", None);
    shop
}

#[test]
fn the_row_of_a_verdict_has_its_figures_word_positions_and_set_up() {
    let mut shop = face();
    shop.measure("ring/face", OUT);
    let rows = shop.page("J-1").verdicts();
    let row: Vec<&str> = rows[0].iter().map(String::as_str).collect();
    let facts = shop.facts("J-1");
    let [value, limit, u] = facts.verdicts[0].told(Unit::Inch).cells();
    assert_eq!((value.as_str(), limit.as_str()), ("0.00026", "0.0001"));
    assert_eq!(row[0], "ring/face parallelism to the plate");
    assert_eq!(row[1..7], ["–", &value, &limit, &u, "does not conform", "8"]);
    assert_eq!(row[7], "on the plate, ring moves");
    assert_eq!(row[8], "1, 1");
}

#[test]
fn a_regrind_stands_beside_what_was_before() {
    let mut shop = face();
    shop.measure("ring/face", OUT);
    shop.again(AttemptReason::Ground, "ring/face", FLAT);
    let page = shop.page("J-1");
    let rows = page.verdicts();
    assert_eq!(rows[0][1..3], ["0.00026", "0.00003"]);
    assert_eq!((rows[0][5].as_str(), rows[0][8].as_str()), ("conforms", "2, 1"));
    let aside = page.section("Touches taken back, attempts set aside").table(0);
    assert_eq!(aside[0][1], "1, first");
    assert!(aside[0][2].starts_with("does not conform, 0.00026"), "{aside:?}");
    assert_eq!(aside[0][3], "metal was taken off after it");
    let reached = page.reached("ring/face");
    let names: Vec<String> = reached.all("strong").iter().map(super::html::Element::text).collect();
    assert!(names.contains(&"Before".to_owned()) && names.contains(&"After".to_owned()));
    assert!(reached.text().contains("What the wheel took off"), "{}", reached.text());
}

#[test]
fn lengths_are_in_the_unit_of_the_page_and_the_record_is_in_the_markup() {
    let mut shop = face();
    shop.measure("ring/metric", "0.00010 0.00010 0.00020 0.00030 0.00040 0.00030 0.00020 0.00010");
    let page = shop.page_in(Unit::Millimetre, "J-1", &[]);
    let row = &page.verdicts()[0];
    assert_eq!(row[3], "0.005");
    assert!(row[4].ends_with(" assumed"), "{row:?}");
    assert_eq!(row[2], "0.0076");
    let data = page.section("Verdicts").all("data");
    let exact: Vec<String> = data.iter().filter_map(|one| one.attribute("value")).collect();
    assert_eq!(exact[0], "7.62", "in the unit of the limit, as the record's line has it");
}

#[test]
fn the_summary_counts_every_word() {
    let mut shop = face();
    shop.measure("ring/face", OUT);
    shop.answer("ring/seen", "yes");
    let said = shop.page("J-1").section("Summary").text();
    assert!(said.contains("2 checks have a verdict: conforms 1, does not conform 1."), "{said}");
    let facts = shop.facts("J-1");
    let words: Vec<Word> = facts.verdicts.iter().map(|one| one.verdict.word).collect();
    assert_eq!(words, [Word::DoesNotConform, Word::Conforms]);
}

#[test]
fn a_job_without_a_verdict_says_so_and_names_what_is_open() {
    let page = face().page("J-1");
    assert!(page.section("Verdicts").text().contains("There are no verdicts."));
    assert!(page.section("Summary").text().contains("No check of this job has a verdict."));
    let open = page.section("What was not measured").text();
    for check in ["ring/face", "ring/metric", "ring/seen", "ring/room"] {
        assert!(open.contains(&format!("{check}, ")), "{check} in {open}");
    }
    assert!(open.contains("ring/face, parallelism to the plate: not begun"), "{open}");
}

#[test]
fn what_was_begun_and_what_was_cut_short_is_told() {
    let mut shop = face();
    shop.measure("ring/face", "0.0001 0.0002");
    let open = shop.page("J-1").section("What was not measured").text();
    assert!(
        open.contains("ring/face, parallelism to the plate: begun, 2 of 8 positions"),
        "{open}"
    );
    shop.ask(Command::Stop);
    let page = shop.page("J-1");
    let row = &page.verdicts()[0];
    assert_eq!(row[5], "incomplete stopped before its last position");
    assert_eq!(row[6], "2 of 8");
    assert!(page.section("Annex: the other rule").text().contains("No figure was held"));
}

#[test]
fn answers_and_entries_are_listed_with_what_was_said_before() {
    let mut shop = face();
    shop.person("Ada");
    shop.answer("ring/seen", "no");
    shop.answer_again("ring/seen", "yes");
    shop.ask(Command::Record { target: "ring/room".to_owned(), value: "20.4".to_owned() });
    let page = shop.page("J-1");
    let rows = page.section("Entries and answers").table(0);
    assert_eq!(rows[0][0], "ring/seen");
    assert!(rows[0][2].starts_with("answered no by Ada at "), "{rows:?}");
    assert!(rows[0][2].ends_with(", then yes"), "{rows:?}");
    assert_eq!(rows[0][3], "conforms");
    assert_eq!((rows[1][2].as_str(), rows[1][3].as_str()), ("20.4 C", "kept, not judged"));
    assert!(page.section("The job").text().contains("temperature of the room: 20.4"));
    assert!(page.verdicts()[0][5].contains("answered no before"));
}

#[test]
fn the_annex_tells_what_the_other_rule_would_say() {
    let mut shop = face();
    // Within U of the limit: undecided by the guarded rule, in by the simple one.
    shop.measure("ring/face", "0.00009 0.00005 0 0.00005 0.00009 0.00005 0 0.00005");
    let page = shop.page("J-1");
    let row = &page.section("Annex: the other rule").table(0)[0];
    assert_eq!(row[1..], ["guarded", "undecided", "simple", "conforms"]);
    assert!(page.verdicts()[0][5].contains("the limit lies within ± U of the figure"));
}

#[test]
fn each_worked_line_comes_out_at_its_figure() {
    let mut shop = face();
    shop.measure("ring/face", OUT);
    let said = shop.page("J-1").reached("ring/face").text();
    let worked =
        "Highest at position 1, lowest at 5: 0.00026 − 0.00000 = 0.00026; limit 0.0001; U ";
    assert!(said.contains(worked), "{said}");
    assert!(said.contains(": 0.00026 > 0.0001 + 0.0000"), "{said}");
}
