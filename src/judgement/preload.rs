//! An estimate of the preload of a pair of angular contact bearings.
//!
//! `F ~ deflection^1.5` with a constant contact angle: point contact after Hertz, from memory of the
//! trade. It leaves out nut, fit and speed, so nothing here is shown with more than two digits. Lengths
//! are in picometres; "closing" is movement in the direction in which the bearings are squeezed.

/// The load of one bearing and its deflection under that load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Preload {
    /// The wanted preload, newtons.
    pub newtons: f64,
    /// The deflection of one bearing under it, in picometres, above zero.
    pub deflection_pm: f64,
}

impl Preload {
    /// The load of a bearing with this deflection, in newtons; zero where it is loose.
    #[must_use]
    pub fn at(self, deflection_pm: f64) -> f64 {
        self.newtons * (deflection_pm.max(0.0) / self.deflection_pm).powf(1.5)
    }

    /// The lower and upper end of the preload, in newtons, of a pair that closes by `more_pm` more than
    /// twice the wanted deflection, uncertain by ± `u_pm`. Two digits, the lower end rounded down and the
    /// upper end up; 0 where the pair is unloaded.
    #[must_use]
    pub fn band(self, more_pm: f64, u_pm: f64) -> (f64, f64) {
        let of_pair = |more: f64| self.at(self.deflection_pm + more / 2.0);
        let (low, high) = (of_pair(more_pm - u_pm), of_pair(more_pm + u_pm));
        (
            two_digits(low, |steps| (steps + NOTHING).floor()),
            two_digits(high, |s| (s - NOTHING).ceil()),
        )
    }

    /// The load on each bearing of two sets, left then right, in newtons.
    ///
    /// `offsets_pm` are the face offsets under the wanted preload, larger the farther the bearing is
    /// squeezed; `together_pm` is the sum of what both sides close by. The sets settle where both sides
    /// carry the same total load. In a set that settles at x, a bearing is deflected by `d0 + x − offset`.
    #[must_use]
    pub fn balanced(self, offsets_pm: [&[f64]; 2], together_pm: f64) -> Vec<f64> {
        let side = |side: usize, settled: f64| {
            let load = move |offset: &f64| self.at(self.deflection_pm + settled - offset);
            offsets_pm[side].iter().map(load)
        };
        // Below the first limit the left side is loose, above the second the right side.
        let least = |side: usize| {
            offsets_pm[side].iter().copied().fold(f64::INFINITY, f64::min) - self.deflection_pm
        };
        let (mut low, mut high) = (least(0), together_pm - least(1));
        for _ in 0..100 {
            let middle = f64::midpoint(low, high);
            let left_is_less =
                side(0, middle).sum::<f64>() < side(1, together_pm - middle).sum::<f64>();
            if left_is_less { low = middle } else { high = middle }
        }
        let settled = f64::midpoint(low, high);
        side(0, settled).chain(side(1, together_pm - settled)).collect()
    }
}

/// The rounding error of a float, in units of the last of two digits.
const NOTHING: f64 = 1e-9;

/// A load to two digits; `whole` rounds the number of steps up or down.
fn two_digits(newtons: f64, whole: fn(f64) -> f64) -> f64 {
    if newtons <= 0.0 || !newtons.is_finite() {
        return 0.0;
    }
    let step = 10_f64.powf((newtons.log10().floor() - 1.0).max(0.0));
    whole(newtons / step) * step
}

#[cfg(test)]
mod tests {
    use super::*;

    const UM: f64 = 1e6;

    fn near(found: f64, expected: f64) -> bool {
        (found - expected).abs() < 0.05
    }

    #[test]
    fn one_tenth_is_half_the_preload() {
        let preload = Preload { newtons: 200.0, deflection_pm: 4.0 * UM };
        // 200·((8 ± 2.54)/8)^1.5, worked out by hand: 302.5 and 112.8 N.
        let tenth = 2.54 * UM;
        let of_pair = |more: f64| preload.at(preload.deflection_pm + more / 2.0);
        assert!(near(of_pair(tenth), 302.5), "{}", of_pair(tenth));
        assert!(near(of_pair(-tenth), 112.8), "{}", of_pair(-tenth));
        assert_eq!(preload.band(0.0, 0.0), (200.0, 200.0));
        assert_eq!(preload.band(tenth, 0.0), (300.0, 310.0), "302.5 lies between");
        // 0.8 ± 0.53 µm: 200·(8.27/8)^1.5 = 210.2 and 200·(9.33/8)^1.5 = 251.9.
        assert_eq!(preload.band(0.8 * UM, 0.53 * UM), (210.0, 260.0));
        assert_eq!(preload.band(-8.0 * UM, 0.0), (0.0, 0.0), "unloaded");
        assert_eq!(preload.band(-20.0 * UM, 1.0), (0.0, 0.0), "and loose");
    }

    #[test]
    fn a_set_of_four_balances() {
        // Figures of an independent program with the same model: offsets 0.4 0.6 | -0.2 0.2 µm,
        // 250 N at 4.5 µm, a difference of -1.016 µm now and of 0.5 µm afterwards.
        let preload = Preload { newtons: 250.0, deflection_pm: 4.5 * UM };
        let (left, right) = ([0.4 * UM, 0.6 * UM], [-0.2 * UM, 0.2 * UM]);
        for (together, expected) in
            [(-1.016 * UM, [197.3, 182.1, 204.9, 174.5]), (0.5 * UM, [258.4, 241.8, 266.8, 233.5])]
        {
            let loads = preload.balanced([&left, &right], together);
            let fits = loads.iter().zip(expected).all(|(load, known)| near(*load, known));
            assert!(fits && loads.len() == 4, "{loads:?}");
            assert!((loads[0] + loads[1] - loads[2] - loads[3]).abs() < 1e-6);
        }
        let loose = preload.balanced([&left, &right], -30.0 * UM);
        assert_eq!(loose, [0.0; 4]);
    }

    #[test]
    fn a_band_never_ends_inside_its_loads() {
        for (newtons, low, high) in [
            (221.9, 220.0, 230.0),
            (229.9, 220.0, 230.0),
            (99.6, 99.0, 100.0),
            (4.4, 4.0, 5.0),
            (1234.0, 1200.0, 1300.0),
            (1200.0, 1200.0, 1200.0),
            (-1.0, 0.0, 0.0),
        ] {
            let preload = Preload { newtons, deflection_pm: UM };
            assert_eq!(preload.band(0.0, 0.0), (low, high), "{newtons}");
        }
    }
}
