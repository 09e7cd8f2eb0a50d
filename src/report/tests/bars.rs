//! A test bar, station by station, a turn, and a pair of lengths.

use quantity::Unit;

use super::shop::Shop;

const BAR: &str = r#"
[[part]]
name = "nose"
kind = "shaft"
[[part.check]]
name = "bar"
measures = "bar-runout"
gauge = "plate"
positions = 8
closure = false
stations = [
    { at = "0.5 in", tolerance = "0.0001 in", seating = "0.000004 in" },
    { at = "4 in", tolerance = "0.0002 in", seating = "0.000008 in" },
]
predict = ["6 in"]
bar = "0.000004 in"
[[part.check]]
name = "pilot"
measures = "runout"
gauge = "plate"
touch = "outside"
positions = 8
closure = false
tolerance = "5 um"
"#;

const NEAR: &str = "0.00001 0.00003 0.00003 0.00001 -0.00001 -0.00003 -0.00003 -0.00001";
const FAR: &str = "0.00008 0.00005 0.00000 -0.00005 -0.00008 -0.00005 0.00000 0.00005";

fn bar() -> Shop {
    let mut shop = Shop::with(BAR);
    shop.open("J-1", None);
    shop.measure("nose/bar", &format!("{NEAR} {FAR}"));
    shop
}

#[test]
fn every_station_has_its_figure_limit_and_axis_and_what_is_predicted_says_so() {
    let shop = bar();
    let page = shop.page("J-1");
    let rows = page.reached("nose/bar").table(0);
    assert_eq!(rows.len(), 3);
    assert_eq!(rows[0][..3], ["0.5", "0.00006", "0.0001"]);
    assert_eq!(rows[1][..3], ["4", "0.00016", "0.0002"]);
    assert_eq!((rows[2][0].as_str(), rows[2][2].as_str()), ("6", "–"));
    assert!(rows[2][4].starts_with("predicted, not measured, "), "{rows:?}");
    // The whole is judged at the station that is nearest to its limit.
    let verdict = &shop.facts("J-1").verdicts[0];
    let judged = verdict.verdict.judged_station().unwrap();
    let at = words::size(judged.at.0, Unit::Inch);
    assert_eq!(page.verdicts()[0][3], format!("{} at {at}", rows[usize::from(at == "4")][2]));
}

#[test]
fn a_bar_is_told_in_the_unit_of_the_page() {
    let page = bar().page_in(Unit::Millimetre, "J-1", &[]);
    let rows = page.reached("nose/bar").table(0);
    assert_eq!(rows[1][..3], ["101.6", "0.004064", "0.00508"]);
    let said = page.reached("nose/bar").text();
    assert!(said.contains(" mm off at the nose face, towards "), "{said}");
    assert!(!said.contains(" in off"), "{said}");
}

#[test]
fn a_bar_is_drawn_with_a_line_for_each_station_and_its_axis() {
    let page = bar().page("J-1");
    let drawn = page.reached("nose/bar").all("svg");
    assert_eq!(drawn.len(), 2);
    for picture in &drawn {
        let told = picture.attribute("aria-labelledby").unwrap();
        for id in told.split(' ') {
            let named = picture
                .all("*")
                .into_iter()
                .filter(|one| one.attribute("id").as_deref() == Some(id));
            assert_eq!(named.count(), 1, "{id} names one thing of the picture");
        }
    }
    let said = drawn[0].all("desc")[0].text();
    assert!(said.contains("at 0.5 in: ") && said.contains("at 4 in: "), "{said}");
    let axis = drawn[1].all("desc")[0].text();
    assert!(
        axis.contains("measured") && axis.contains("at 6 in: ") && axis.contains("predicted"),
        "{axis}"
    );
}

#[test]
fn a_turn_tells_where_it_reads_high_and_how_far_its_axis_is_off() {
    let mut shop = bar();
    shop.measure("nose/pilot", FAR);
    let facts = shop.facts("J-1");
    let verdict = &facts.verdicts.iter().find(|one| one.check.as_str() == "pilot").unwrap().verdict;
    let (high, _) = verdict.high_side().unwrap();
    let off = verdict.figures.eccentricity.unwrap();
    for unit in [Unit::Inch, Unit::Millimetre] {
        let said = shop.page_in(unit, "J-1", &[]).reached("nose/pilot").text();
        assert!(
            said.contains(&format!("High reading at {:.0}° ± ", high.round() % 360.0)),
            "{said}"
        );
        assert!(said.contains(&format!(", {} {unit} off; dashed", off.shown(unit))), "{said}");
    }
}

const PAIR: &str = r#"
[[part]]
name = "outer"
kind = "spacer"
[[part.check]]
name = "length"
measures = "length"
gauge = "plate"
setup = "plate"
positions = 4
closure = false
master = "none"
min = "-0.001 in"
max = "0.001 in"
[[part]]
name = "inner"
kind = "spacer"
[[part.check]]
name = "length"
measures = "length"
gauge = "plate"
setup = "plate"
positions = 4
closure = false
master = "none"
min = "-0.001 in"
max = "0.001 in"
[[part]]
name = "pair"
kind = "other"
[[part.check]]
name = "match"
measures = "difference"
of = ["outer/length", "inner/length"]
arrangement = "back-to-back"
tolerance = "0.0001 in"
"#;

fn pair(outer: &str, inner: &str) -> Shop {
    let mut shop = Shop::with(PAIR);
    shop.open("J-1", None);
    shop.measure("outer/length", &[outer; 4].join(" "));
    shop.measure("inner/length", &[inner; 4].join(" "));
    let target = "pair/match".to_owned();
    shop.ask(bench::Command::Measure { target, remark: None });
    shop
}

#[test]
fn a_pair_says_which_is_the_longer_and_how_sure_that_is() {
    for (outer, inner, said) in [
        ("0.0008", "0.0002", "outer, sure: the difference is more than 2 U"),
        ("0.0002", "0.0008", "inner, sure: the difference is more than 2 U"),
        ("0.00020", "0.00020", "cannot say: the difference is within U"),
    ] {
        let shop = pair(outer, inner);
        let section = shop.page("J-1").section("Pairs").text();
        assert!(section.contains(said), "{section}");
        assert!(section.contains("back to back: a longer outer ring adds preload"), "{section}");
    }
}

#[test]
fn the_lengths_of_a_pair_and_their_difference_are_one_sum() {
    let shop = pair("0.0008", "0.0002");
    let page = shop.page("J-1");
    let row = page.verdicts().into_iter().find(|row| row[0].starts_with("pair/match")).unwrap();
    assert_eq!((row[2].as_str(), row[3].as_str()), ("+0.00060", "−0.0001 to 0.0001"));
    let said = page.reached("pair/match").text();
    assert!(said.contains("0.0008 − 0.0002 = 0.0006"), "{said}");
    let metric = shop.page_in(Unit::Millimetre, "J-1", &[]).section("Pairs").text();
    assert!(metric.contains("outer 0.02032 mm") && metric.contains("inner 0.00508 mm"), "{metric}");
}
