//! Whether touches can prove a figure: the findings about them, compared with waves in every phase.

use super::plans::{TURN, face};
use super::written::{changed, told};

/// The least share of its range that a wave of so many lobes shows at so many touches, whatever its phase.
fn least_seen(touches: u32, lobes: u32) -> f64 {
    let pitch = 360.0 / f64::from(touches);
    let seen = |phase: f64| {
        let height =
            |touch| (f64::from(lobes) * pitch * f64::from(touch) + phase).to_radians().cos();
        let heights = || (0..touches).map(height);
        let [high, low] = [heights().fold(-1.0, f64::max), heights().fold(1.0, f64::min)];
        (high - low) / 2.0
    };
    (0..3600).map(|tenth| seen(f64::from(tenth) / 10.0)).fold(1.0, f64::min)
}

fn turn(positions: u32) -> Vec<String> {
    told("runout", &changed(TURN, &[&format!("positions = {positions}")]))
}

/// What is said of 3, 4, 6 and 12 positions is so, and nothing worse is kept from anybody.
#[test]
fn positions_that_are_blind_to_lobes_are_told_to_be() {
    for touches in 3..=24 {
        let said = turn(touches).join(" ");
        let face = told("parallelism", &face(&[&format!("positions = {touches}")])).join(" ");
        let [two, three] = [2, 3].map(|lobes| least_seen(touches, lobes));
        assert_eq!(said.contains("blind to a saddle"), two < 0.001, "{touches}: {said}");
        assert_eq!(face.contains("blind to a saddle"), two < 0.001, "{touches}: {face}");
        assert_eq!(said.contains("blind to three lobes"), three < 0.001, "{touches}: {said}");
        assert_eq!(face.contains("blind to three lobes"), three < 0.001, "{touches}: {face}");
        if said.contains("sure of only") {
            assert!(said.contains(&format!("only {three:.2} of three")), "{three} {said}");
            assert!(said.contains(&format!("and {two:.2} of two")), "{two} {said}");
            for more in [10, 16] {
                assert!(least_seen(more, 2) > two && least_seen(more, 3) > three, "{more}");
            }
        }
        assert_eq!(said.contains("sure of only"), touches == 12);
        assert!(!face.contains("sure of only"), "a face is judged otherwise");
        let few = touches < 7;
        assert_eq!(said.contains("too-few-positions"), few, "{touches}: {said}");
        assert_eq!(face.contains("too-few-positions"), few, "{touches}: {face}");
    }
}

/// Touches of all circles of a face count together, those of a turn circle by circle; going round twice
/// counts twice for both.
#[test]
fn touches_are_counted_where_they_are_judged() {
    for (positions, passes, rings) in (1..=8).flat_map(|one| {
        [1, 2].into_iter().flat_map(move |two| [1, 2, 3].map(|rings| (one, two, rings)))
    }) {
        let radii = ["1 in", "1.25 in", "1.5 in"].map(|radius| format!("{radius:?}"));
        let changes = [
            format!("positions = {positions}"),
            format!("passes = {passes}"),
            format!("radii = [{}]", radii[..rings].join(", ")),
        ];
        let changes: Vec<&str> = changes.iter().map(String::as_str).chain(["radius"]).collect();
        let few = |said: &str| said.contains("too-few-positions") || said.contains("one touch");
        let circles = u32::try_from(rings).unwrap();
        for (word, text, touches) in [
            ("parallelism", face(&changes), positions * passes * circles),
            ("flatness", face(&changes), positions * passes * circles),
            ("runout", changed(TURN, &changes), positions * passes),
        ] {
            let said = told(word, &text).join(" ");
            let case = format!("{word} {positions}·{passes}·{rings}: {said}");
            assert_eq!(said.contains("one touch says nothing"), touches == 1, "{case}");
            let plane = word == "flatness";
            let flat = plane && (2..4).contains(&touches);
            assert_eq!(said.contains("three points are always flat"), flat, "{case}");
            let line = positions < 3 && if plane { touches > 3 } else { touches > 6 };
            assert_eq!(said.contains("lie on one line"), line, "{case}");
            let few_told = touches < 7 && !flat && !line;
            assert_eq!(few(&said), few_told, "{case}");
        }
    }
}
