//! The drawings: as many positions as the check has, where the check says they lie, and words that a reader of the
//! drawing alone would miss.

use super::*;
use bench::plan::Direction;

/// A ring with so many positions.
fn ring(positions: u32, direction: &str) -> Check {
    let text = format!(
        "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n[[part.check]]\n\
         name = \"face\"\nmeasures = \"parallelism\"\ngauge = \"plate\"\nsetup = \"plate\"\n\
         positions = {positions}\nradius = \"1.5 in\"\ntolerance = \"0.0001 in\"\ndirection = \"{direction}\"\n"
    );
    let plan = config::parse_plan(&text, "held").expect("a plan");
    let (_, check) = plan.places().find_map(|at| plan.at(at)).expect("a check");
    check.clone()
}

fn named(all: &[Drawn], name: &str) -> String {
    all.iter().find(|one| one.name == name).expect("a drawing").svg.clone()
}

/// Where a number stands on the ring: across, and down.
fn place_of(svg: &str, position: u32) -> (f64, f64) {
    let end = format!(">{position}</text>");
    let before = svg.split(&end).next().expect("a number");
    let element = before.rsplit_once("<text").expect("a text").1;
    let number = |key: &str| -> f64 {
        let from = element.split(&format!(" {key}=\"")).nth(1).expect("a coordinate");
        from.split('"').next().expect("its end").parse().expect("a number")
    };
    (number("x"), number("y"))
}

#[test]
fn there_is_a_drawing_of_each_set_up_and_each_loads_nothing() {
    let all = drawings(&ring(8, "ccw"));
    assert_eq!(all.len(), Holding::ALL.len() + 2);
    for holding in Holding::ALL {
        let svg = named(&all, &format!("set-up-{}", holding.text()));
        assert!(svg.contains("<title") && svg.contains("<desc"), "{holding:?}");
    }
    for one in &all {
        let bare = one.svg.replace("http://www.w3.org/2000/svg", "");
        for word in ["http", "href", "url(", "<script", "NaN", "inf\""] {
            assert!(!bare.contains(word), "{word} in {}", one.name);
        }
        assert!(one.svg.contains("prefers-color-scheme:dark"), "{}", one.name);
    }
}

#[test]
fn positions_lie_where_the_check_says_they_do() {
    let svg = named(&drawings(&ring(8, "ccw")), "ring");
    // Handbook: position k at 360·k/N degrees from the index mark, counter-clockwise facing the measured face; so a
    // quarter of the way round lies to the left of the mark on top.
    let ((top_x, top_y), (left_x, _)) = (place_of(&svg, 0), place_of(&svg, 2));
    let ((bottom_x, bottom_y), (right_x, _)) = (place_of(&svg, 4), place_of(&svg, 6));
    assert!(left_x < top_x && top_x < right_x && (top_x - bottom_x).abs() < 0.2);
    assert!(top_y < bottom_y);
    assert!(svg.contains("follow counter-clockwise, 45 degrees apart"));
    let other = ring(8, "cw");
    assert_eq!(other.direction, Direction::Clockwise);
    let svg = named(&drawings(&other), "ring");
    assert!(place_of(&svg, 2).0 > place_of(&svg, 6).0, "the other way round");
    assert!(svg.contains("follow clockwise, 45 degrees apart"));
}

#[test]
fn the_ring_has_as_many_positions_as_the_check() {
    for count in [4, 8, 16] {
        let svg = named(&drawings(&ring(count, "ccw")), "ring");
        for position in 0..count {
            let (x, y) = place_of(&svg, position);
            assert!((0.0..400.0).contains(&x) && (0.0..384.0).contains(&y), "{position}");
        }
        assert!(!svg.contains(&format!(">{count}</text>")), "positions end at {}", count - 1);
        assert!(svg.contains(&format!("A ring with {count} positions")));
    }
}

#[test]
fn the_path_of_a_reading_leads_through_the_record() {
    let svg = named(&drawings(&ring(8, "ccw")), "path-of-a-reading");
    let at = |words: &str| svg.find(&format!(">{words}</text>")).expect("a place");
    let order = ["gauges", "tenths serve", "record", "screens", "papers"].map(at);
    assert!(order.windows(2).all(|two| two[0] < two[1]), "{order:?}");
    let arrows = svg.matches("class=\"ad\"").count();
    assert_eq!(arrows, 5, "two in, one to the record, two out of it");
}
