//! A foot on a pedal whose contact bounces.

use super::*;

const BOUNCE_US: u64 = 50_000;

/// One step of a foot: how long it is up, how long down, and the bounces after each change.
type Step = (u64, u64, Vec<u64>);

fn step() -> impl Strategy<Value = Step> {
    let down = prop_oneof![60_000_u64..900_000, 1_100_000_u64..4_000_000];
    let bounces = prop::collection::vec(1_u64..9_000, 0..5);
    (200_000_u64..3_000_000, down, bounces)
}

/// The contact changes and bounces for less than 50 ms; what the pedal said meanwhile.
fn edges(pedal: &mut Pedal, at_us: u64, down: bool, bounces: &[u64]) -> Vec<Foot> {
    let mut feet: Vec<Foot> = pedal.at(at_us).into_iter().collect();
    feet.extend(pedal.edge(at_us, down));
    let mut now = at_us;
    for (count, bounce) in bounces.iter().enumerate() {
        now += bounce;
        let open = count % 2 == 0;
        feet.extend(pedal.at(now));
        feet.extend(pedal.edge(now, down != open));
    }
    // It comes to rest where it was going.
    now += 1_000;
    feet.extend(pedal.at(now));
    feet.extend(pedal.edge(now, down));
    feet
}

proptest! {
    #[test]
    fn however_a_contact_bounces_each_step_is_a_press_and_a_take_or_a_hold(
        steps in prop::collection::vec(step(), 1..8),
    ) {
        let (mut pedal, mut now) = (Pedal::default(), 0);
        let (mut feet, mut wanted) = (Vec::new(), Vec::new());
        for (up, down, bounces) in &steps {
            now += up;
            feet.extend(edges(&mut pedal, now, true, bounces));
            wanted.push(Foot::Press);
            now += down;
            feet.extend(edges(&mut pedal, now, false, bounces));
            wanted.push(if *down < 1_000_000 { Foot::Take } else { Foot::Back });
        }
        feet.extend(pedal.at(now + 60_000_000));
        prop_assert_eq!(feet, wanted);
    }
}

/// A tap shorter than the bouncing ends when that is over, and its hold is told from there.
#[test]
fn a_very_short_tap_ends_when_the_bouncing_is_over() {
    for short in [1, 30_000, BOUNCE_US - 1] {
        let mut pedal = Pedal::default();
        assert_eq!(pedal.edge(1_000_000, true), Some(Foot::Press));
        assert_eq!(pedal.edge(1_000_000 + short, false), None, "{short}");
        assert_eq!(pedal.at(1_000_000 + BOUNCE_US - 1), None);
        assert_eq!(pedal.at(1_000_000 + BOUNCE_US), Some(Foot::Take));
        assert_eq!(pedal.at(9_000_000), None, "said once");
        // The moment it ended begins the next bouncing.
        let mut again = Pedal::default();
        again.edge(1_000_000, true);
        again.edge(1_000_000 + short, false);
        assert_eq!(again.at(1_200_000), Some(Foot::Take));
        assert_eq!(again.edge(1_200_000, true), Some(Foot::Press), "150 ms later");
    }
    let mut whole = Pedal::default();
    whole.edge(1_000_000, true);
    assert_eq!(
        whole.edge(1_000_000 + BOUNCE_US, false),
        Some(Foot::Take),
        "as long as a bounce is"
    );
}

#[test]
fn a_foot_that_never_lifts_is_stuck_and_a_stuck_one_takes_nothing() {
    let mut pedal = Pedal::default();
    assert_eq!(pedal.at(5_000_000), None, "nobody stood on it");
    pedal.edge(5_000_000, true);
    assert_eq!(pedal.at(34_999_999), None);
    assert_eq!(pedal.edge(34_999_999, false), Some(Foot::Back), "29.999999 s is a hold");
    pedal.edge(36_000_000, true);
    assert_eq!(pedal.at(66_000_000), Some(Foot::Stuck));
    assert_eq!(pedal.edge(66_000_001, false), Some(Foot::Freed), "neither taken nor taken back");
    // The next foot is a new one.
    assert_eq!(pedal.edge(67_000_000, true), Some(Foot::Press));
    assert_eq!(pedal.edge(67_200_000, false), Some(Foot::Take));
}
