//! Several touches at each position, from a dropped file.

use super::{RING, attempt, each_thrice, ids, tenths, text, thrice};
use crate::fact::row::State;
use crate::plan::Check;
use crate::tests::files::{dropped, file, refused};
use crate::tests::kit::Kit;
use judgement::{Reason, Word};

type Rows = Vec<(Option<u32>, String)>;

fn drop_rows(kit: &mut Kit, rows: &Rows) {
    let rows: Vec<(Option<u32>, &str)> =
        rows.iter().map(|(position, value)| (*position, value.as_str())).collect();
    dropped(kit, file("face", &rows));
}

/// Rows in the order of touches, with their positions or without.
fn rows(readings: &[i32], named: bool) -> Rows {
    let row = |(nth, reading): (u32, &i32)| (named.then_some(nth / 3), text(*reading));
    (0..).zip(readings).map(row).collect()
}

#[test]
fn rows_fill_each_position_three_times_with_their_positions_or_without() {
    for named in [false, true] {
        let mut kit = Kit::new(vec![thrice()]);
        drop_rows(&mut kit, &rows(&each_thrice(&RING), named));
        assert_eq!(refused(&kit), Vec::<String>::new());
        let verdict = kit.verdict();
        assert_eq!((verdict.word, verdict.value.map(tenths)), (Word::Conforms, Some(70.0)));
        assert_eq!((verdict.taken, verdict.uncertainty.map(tenths)), (24, Some(19.3)));
        for position in 0..8 {
            assert_eq!(ids(&kit, position).len(), 3);
        }
    }
}

#[test]
fn rounds_one_after_the_other_are_as_good_as_spot_by_spot() {
    let mut kit = Kit::new(vec![thrice()]);
    let round = |off: i32| (0..).zip(RING).map(move |(at, height)| (Some(at), text(height + off)));
    drop_rows(&mut kit, &round(0).chain(round(10)).chain(round(-10)).collect());
    assert_eq!(refused(&kit), Vec::<String>::new());
    let verdict = kit.verdict();
    assert_eq!((verdict.word, verdict.value.map(tenths)), (Word::Conforms, Some(70.0)));
    assert_eq!(verdict.tries, 1, "it is one series");
}

#[test]
fn a_fourth_touch_at_a_position_is_refused_with_its_line_and_nothing_is_taken() {
    let mut kit = Kit::new(vec![thrice()]);
    let mut four = rows(&each_thrice(&RING), true);
    four.insert(6, (Some(1), text(30)));
    drop_rows(&mut kit, &four);
    assert_eq!(refused(&kit), ["line 7: position 1 is filled already"]);
    assert!(kit.readings().is_empty() && kit.job().attempts.is_empty());
}

#[test]
fn a_file_that_ends_early_leaves_the_rest_to_be_touched() {
    let mut kit = Kit::new(vec![thrice()]);
    drop_rows(&mut kit, &rows(&each_thrice(&RING)[..10], true));
    assert_eq!(refused(&kit), Vec::<String>::new());
    assert!(kit.verdicts().is_empty());
    assert_eq!((attempt(&kit).taken(), ids(&kit, 3).len()), (10, 1));
    kit.measure("ring/face").unwrap();
    assert_eq!(super::next(&kit), super::at(3, 2), "the hand goes on where the file ended");
    super::send(&mut kit, &each_thrice(&RING)[10..]);
    assert_eq!(kit.verdict().word, Word::Conforms);
}

#[test]
fn rows_that_lie_apart_withhold_and_are_all_kept() {
    let mut kit = Kit::new(vec![thrice()]);
    let mut readings = each_thrice(&RING);
    readings[10] += 60;
    drop_rows(&mut kit, &rows(&readings, true));
    let verdict = kit.verdict();
    assert_eq!(
        (verdict.word, &verdict.reasons[..]),
        (Word::Undecided, &[Reason::TouchesDiffer][..])
    );
    assert_eq!(kit.states(), [State::Placed; 24]);
}

#[test]
fn a_return_in_the_last_row_closes_it() {
    let mut kit = Kit::new(vec![Check { closure: true, ..thrice() }]);
    let mut all = rows(&each_thrice(&RING), true);
    all.push((Some(0), text(0)));
    drop_rows(&mut kit, &all);
    assert_eq!(refused(&kit), Vec::<String>::new());
    assert_eq!(kit.states()[24], State::Closure);
    assert_eq!(kit.verdict().word, Word::Conforms);
}
