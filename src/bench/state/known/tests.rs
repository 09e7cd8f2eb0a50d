use super::*;
use crate::fact::seq::Seq;
use crate::tests::kit::{gauge, inch, name};

/// In 0.000001 in.
fn uin(count: i64) -> Length {
    Length::from_picometres(count * 25_400)
}

fn seen(spot: Spot, setup: Holding, serial: Option<&str>, off: &[i64]) -> Repeated {
    let lengths = off.iter().map(|off| uin(*off)).collect();
    let (gauge, serial) = (name("plate"), serial.map(str::to_owned));
    Repeated { gauge, serial, spot, setup, at: None, lengths, reading: Seq(1) }
}

/// The returns of the worked case: 20 of them, one of a bumped stand.
const RETURNS: [i64; 20] =
    [0, 10, -10, 0, 10, 0, -10, 10, 0, 0, 10, -10, 0, 10, 0, -10, 0, 10, 0, 200];

fn known(by: Option<&Name>, serial: Option<&str>) -> Known {
    let mut known = Known::default();
    for off in RETURNS {
        known.repeated(by, &seen(Spot::Return, Holding::Plate, serial, &[off]));
    }
    known
}

#[test]
fn returns_are_pooled_by_gauge_hand_and_set_up() {
    let ada = name("Ada");
    let known = known(Some(&ada), None);
    let shown = known.shown(&gauge("plate"), Some(&ada), Holding::Plate).unwrap();
    // Worked by hand: 6.13 µin, 0.95·20 = 19 degrees of freedom. The bumped stand is no repeatability.
    let pool = shown.returns.unwrap();
    let s = quantity::Figure::from(pool.s).to_f64() / 25_400.0;
    assert!((s - 6.13).abs() < 0.005, "{s}");
    assert_eq!((pool.degrees, pool.count, pool.drift), (19, 20, None));
    assert_eq!((shown.by.as_ref(), shown.lifts, shown.masters), (Some(&ada), None, None));
    assert_eq!(
        (shown.touches(), shown.of_returns(), shown.of_masters()),
        (Some(pool), Some(pool), None)
    );
    // Nobody else's, no other gauge's, no other set-up's.
    assert_eq!(known.shown(&gauge("plate"), None, Holding::Plate), None);
    assert_eq!(known.shown(&gauge("plate"), Some(&name("Bo")), Holding::Plate), None);
    assert_eq!(known.shown(&gauge("height"), Some(&ada), Holding::Plate), None);
    assert_eq!(known.shown(&gauge("plate"), Some(&ada), Holding::Turning), None);
}

#[test]
fn another_serial_number_begins_a_new_history_and_the_old_one_has_its_own() {
    let mut known = known(None, Some("A"));
    let with = |serial: &str| GaugeSetup { serial: Some(serial.to_owned()), ..gauge("plate") };
    assert!(known.shown(&with("A"), None, Holding::Plate).is_some());
    assert_eq!(known.shown(&with("B"), None, Holding::Plate), None);
    assert_eq!(known.shown(&gauge("plate"), None, Holding::Plate), None);
    for off in [40, -40, 30, -50] {
        known.repeated(None, &seen(Spot::Return, Holding::Plate, Some("B"), &[off]));
    }
    assert_eq!(known.shown(&with("B"), None, Holding::Plate), None, "not enough yet");
    let [witness] = known.witnesses(&with("B")).try_into().unwrap();
    assert_eq!((witness.spot, witness.setup), (Spot::Return, Some(Holding::Plate)));
    assert_eq!((witness.pool.count, witness.pool.is_enough()), (4, false));
}

#[test]
fn what_is_known_to_a_quarter_is_enough() {
    // 0.95·8 = 7.6 and 0.95·9 = 8.55, rounded down; known to 25 % is 8 (GUM G.4.2).
    let after = |count: usize| {
        let mut known = Known::default();
        for off in [10, -10].iter().cycle().take(count) {
            known.repeated(None, &seen(Spot::Master, Holding::Plate, None, &[*off]));
        }
        known.shown(&gauge("plate"), None, Holding::Anvil).and_then(|shown| shown.of_masters())
    };
    assert_eq!(after(8), None);
    let pool = after(9).unwrap();
    assert_eq!((pool.count, pool.degrees), (9, 8));
}

#[test]
fn ten_lifts_are_enough_and_serve_until_there_are_returns() {
    let mut known = Known::default();
    let lifts = [0, 10, 0, 10, 20, 10, 0, 10, 10, 20].map(uin);
    known.repeated(
        None,
        &Repeated { lengths: lifts.to_vec(), ..seen(Spot::Touch, Holding::Plate, None, &[]) },
    );
    let shown = known.shown(&gauge("plate"), None, Holding::Turning).unwrap();
    let pool = shown.lifts.unwrap();
    // s of the ten is 7.38, widened and clipped about their mean it stays near that.
    let s = quantity::Figure::from(pool.s).to_f64() / 25_400.0;
    assert!((6.9..7.9).contains(&s), "{s}");
    assert_eq!(pool.count, 10);
    assert_eq!(
        (shown.touches(), shown.of_returns(), shown.of_masters()),
        (Some(pool), Some(pool), Some(pool))
    );
    // Touches in a row at a position are lifts, too.
    known.repeated(None, &seen(Spot::Touch, Holding::Plate, None, &[0, 10, 10]));
    let shown = known.shown(&gauge("plate"), None, Holding::Turning).unwrap();
    assert_eq!(shown.lifts.unwrap().count, 13);
}

#[test]
fn seatings_are_kept_apart_by_their_distance() {
    let mut known = Known::default();
    for (at, size) in [("0.25", 4), ("3", 10)] {
        for sign in [1, -1, 1] {
            let apart = [size * sign, -size, size, -size];
            let seen = seen(Spot::Seating, Holding::Turning, None, &apart);
            known.repeated(None, &Repeated { at: Some(inch(at)), ..seen });
        }
    }
    let shown = known.shown(&gauge("plate"), None, Holding::Turning).unwrap();
    let seats: Vec<Length> = shown.seatings.iter().map(|seated| seated.at).collect();
    assert_eq!(seats, [inch("0.25"), inch("3")]);
    let s: Vec<i64> = shown.seatings.iter().map(|seated| seated.pool.s.picometres()).collect();
    assert!(s[0] * 2 < s[1], "{s:?}");
    assert_eq!(known.witnesses(&gauge("plate")).len(), 2);
}

#[test]
fn the_newest_are_kept() {
    let mut known = Known::default();
    for off in 0..1000 {
        let sign = if off % 2 == 0 { 10 } else { -10 };
        let off = if off < 500 { 100 } else { sign };
        known.repeated(None, &seen(Spot::Return, Holding::Plate, None, &[off]));
    }
    let shown = known.shown(&gauge("plate"), None, Holding::Plate).unwrap();
    let pool = shown.returns.unwrap();
    assert_eq!(usize::try_from(pool.count).unwrap(), NEWEST);
    assert!(pool.s < uin(9), "those of long ago are forgotten: {:?}", pool.s);
}

#[test]
fn a_stated_figure_is_contradicted_by_more_than_chance_alone() {
    // 43 degrees: 3/√86 = 0.3235.
    let pool = |s| Pool { s, degrees: 43, count: 46, drift: None };
    assert!(pool(uin(11)).is_beyond(uin(6)));
    assert!(!pool(uin(1323)).is_beyond(uin(1000)));
    assert!(pool(uin(1324)).is_beyond(uin(1000)));
    assert!(!pool(uin(5)).is_beyond(uin(6)));
}
