use super::*;

/// The range of the lobes with the first crest at an angle.
fn range_at(touches: u32, crest_deg: f64) -> f64 {
    let lobes = |k| (2.0 * (position_angle_deg(k, touches) - crest_deg)).to_radians().cos();
    let seen: Vec<f64> = (0..touches).map(lobes).collect();
    crate::range(&seen) / 2.0
}

/// Every phase there is, in steps of half a degree.
fn worst(of: impl Fn(f64) -> f64) -> f64 {
    (0..360).map(|half| of(f64::from(half) / 2.0)).fold(f64::INFINITY, f64::min)
}

#[test]
fn turning_the_lobes_all_the_way_finds_nothing_worse() {
    // Shares of touches 4 to 24 by turning the lobes in half degrees, so within 0.01 from above.
    for touches in [4, 5, 6, 7, 8, 9, 10, 11, 12, 16, 24] {
        let (range, zone) =
            (worst(|deg| range_at(touches, deg)), worst(|deg| zone_share_at(touches, deg)));
        let (said_range, said_zone) =
            (range_share_of_two_lobes(touches), zone_share_of_two_lobes(touches));
        assert!((-1e-9..0.01).contains(&(range - said_range)), "{touches}: {range} {said_range}");
        assert!((-1e-7..0.01).contains(&(zone - said_zone)), "{touches}: {zone} {said_zone}");
    }
}

#[test]
fn the_shares_of_a_few_touches() {
    // Worst phase of two lobes for equally spaced touches, range and zone, to two decimals: worked
    // out by an independent program.
    let table = [
        (4, 0.0, 0.0),
        (5, 0.90, 0.77),
        (6, 0.75, 0.75),
        (7, 0.95, 0.83),
        (8, 0.71, 0.71),
        (9, 0.97, 0.92),
        (10, 0.90, 0.90),
        (12, 0.87, 0.87),
        (16, 0.92, 0.92),
        (24, 0.97, 0.97),
    ];
    for (touches, range, zone) in table {
        assert!((range_share_of_two_lobes(touches) - range).abs() <= 0.0051, "{touches}");
        assert!((zone_share_of_two_lobes(touches) - zone).abs() <= 0.0051, "{touches}");
    }
    assert!((range_share_of_two_lobes(3) - 0.75).abs() < 1e-12);
    for touches in 0..=3 {
        assert!(zone_share_of_two_lobes(touches) == 0.0, "three touches lie in a plane");
    }
}
