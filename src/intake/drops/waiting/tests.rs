use super::*;

const WRITTEN: Due = Due::Read(Read { written: true, settled: false });
const FOUND: Due = Due::Read(Read { written: false, settled: true });

fn shape(bytes: u64) -> Shape {
    Shape { bytes, ..Shape::default() }
}

#[test]
fn a_created_file_waits_for_its_close_however_long() {
    let (mut waiting, name) = (Waiting::new(10), OsStr::new("a.csv"));
    waiting.created(name);
    assert_eq!(waiting.due(1_000_000), None);
    assert_eq!(waiting.next_us(), None);
    waiting.complete(name);
    assert_eq!(waiting.due(1_000_001), Some((name.to_owned(), WRITTEN)));
    assert_eq!(waiting.due(1_000_001), None);
}

#[test]
fn a_found_file_must_stand_still() {
    let (mut waiting, name) = (Waiting::new(10), OsStr::new("a.csv"));
    waiting.found(name, shape(1), false, 100);
    assert_eq!(waiting.due(109), None);
    assert_eq!(waiting.due(110), Some((name.to_owned(), Due::Look)));
    waiting.looked(name, Some(shape(2)), 110);
    assert_eq!(waiting.next_us(), Some(120));
    waiting.looked(name, Some(shape(2)), 120);
    assert_eq!(waiting.due(120), Some((name.to_owned(), FOUND)));
}

#[test]
fn after_an_overflow_a_close_is_not_relied_on_any_more() {
    let (mut waiting, name) = (Waiting::new(10), OsStr::new("a.csv"));
    waiting.created(name);
    waiting.found(name, shape(5), false, 100);
    assert_eq!(waiting.next_us(), Some(110), "its close may have been among what was lost");
    waiting.looked(name, Some(shape(5)), 110);
    let read = Read { written: true, settled: true };
    assert_eq!(waiting.due(110), Some((name.to_owned(), Due::Read(read))), "it was seen made");
}

#[test]
fn files_are_read_in_the_order_they_were_completed() {
    let mut waiting = Waiting::new(10);
    for (name, modified) in [("new", (9, 0)), ("old", (3, 0))] {
        let shape = Shape { modified, ..Shape::default() };
        waiting.found(OsStr::new(name), shape, false, 0);
        waiting.looked(OsStr::new(name), Some(shape), 10);
    }
    waiting.complete(OsStr::new("z"));
    waiting.complete(OsStr::new("a"));
    let order: Vec<_> = std::iter::from_fn(|| waiting.due(10)).map(|(name, _)| name).collect();
    assert_eq!(order, ["old", "new", "z", "a"]);
}

#[test]
fn finding_it_again_does_not_begin_the_wait_anew() {
    let (mut waiting, name) = (Waiting::new(10), OsStr::new("a.csv"));
    waiting.found(name, shape(1), false, 100);
    waiting.found(name, shape(1), false, 109);
    assert_eq!(waiting.next_us(), Some(110));
}

#[test]
fn a_line_without_its_end_is_waited_for_until_it_comes_or_nothing_moves() {
    let (mut waiting, name) = (Waiting::new(10), OsStr::new("a.csv"));
    let read = |waiting: &mut Waiting, now| waiting.due(now).map(|(_, due)| due);
    waiting.complete(name);
    assert_eq!(read(&mut waiting, 100), Some(WRITTEN));
    waiting.no_end(name, shape(5), true, 100);
    assert_eq!(waiting.reasons().len(), 1);
    // Closed again, and nothing was written: the wait goes on.
    waiting.complete(name);
    assert_eq!(read(&mut waiting, 105), Some(WRITTEN));
    waiting.no_end(name, shape(5), true, 105);
    assert_eq!(waiting.next_us(), Some(110));
    // Something moved, still without the end: it begins anew.
    waiting.complete(name);
    assert_eq!(read(&mut waiting, 107), Some(WRITTEN));
    waiting.no_end(name, shape(6), true, 107);
    assert_eq!(waiting.next_us(), Some(117));
    assert_eq!(read(&mut waiting, 117), Some(Due::Look));
    waiting.looked(name, Some(shape(6)), 117);
    let settled = Read { written: true, settled: true };
    assert_eq!(read(&mut waiting, 117), Some(Due::Read(settled)));
    waiting.dealt_with(name);
    assert_eq!(waiting.reasons(), []);
}

#[test]
fn what_could_not_be_read_is_tried_again_ever_less_often() {
    let (mut waiting, name) = (Waiting::new(10), OsStr::new("a.csv"));
    let mut now = 0;
    for wait_s in [1, 2, 4, 8, 16, 30, 30] {
        assert_eq!(waiting.again(name, "too many files", true, now), wait_s == 1);
        now += wait_s * 1_000_000;
        assert_eq!(waiting.due(now - 1), None);
        assert_eq!(waiting.due(now), Some((name.to_owned(), WRITTEN)));
    }
}

#[test]
fn a_complete_file_that_goes_unread_is_told() {
    let (mut waiting, name) = (Waiting::new(10), OsStr::new("a.csv"));
    waiting.created(name);
    assert!(!waiting.forget(name), "nobody had closed it");
    waiting.complete(name);
    assert!(waiting.forget(name));
    waiting.complete(name);
    waiting.due(0).unwrap();
    waiting.no_end(name, shape(5), true, 0);
    assert!(waiting.forget(name));
    assert_eq!((waiting.next_us(), waiting.due(100)), (None, None));
}
