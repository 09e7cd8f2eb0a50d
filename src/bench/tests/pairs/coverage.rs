//! How often the true difference of a pair lies within U of the printed one, by the arithmetic that judges.
//! Touches are made up from a seed, rounded to the gauge's step, and put in place of those of a measured
//! pair.

use crate::judge::judge;
use crate::state::Job;
use crate::tests::pairs::*;

const SEED: u64 = 20_261_129;
/// A count of the gauge: ten millionths of an inch.
const STEP: f64 = 254_000.0;
/// A millionth of an inch.
const MILLIONTH: f64 = 25_400.0;

/// Numbers that look random and come again with the same seed (splitmix64).
struct Dice(u64);

impl Dice {
    #[expect(clippy::cast_precision_loss, reason = "53 bits")]
    fn even(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Normal, by Box and Muller.
    fn normal(&mut self) -> f64 {
        let (one, other) = (1.0 - self.even(), self.even());
        (-2.0 * one.ln()).sqrt() * (std::f64::consts::TAU * other).cos()
    }

    /// Evenly within ± `half`.
    fn within(&mut self, half: f64) -> f64 {
        (self.even() * 2.0 - 1.0) * half
    }
}

/// A hand and a gauge as they are, and what is stated of them, millionths of an inch.
struct Hand {
    /// Scatter of a lift, normal, before it is rounded.
    scatter: f64,
    /// What all touches on one ring have in common, normal.
    common: f64,
    /// u and s as stated.
    stated: Option<(&'static str, &'static str)>,
}

/// A pair that was measured, to be measured again with other readings.
struct Bench {
    job: Job,
    halves: [crate::Seq; 2],
    pair: crate::Seq,
}

impl Bench {
    fn with(stated: Option<(&str, &str)>) -> Self {
        let nothing = Some(Ratio::from_integer(0));
        let size = Size {
            master_u: Some(Length::ZERO),
            between_c: nothing,
            off_20_c: nothing,
            expansion_u: nothing,
            ..Size::default()
        };
        let ring = Check { measures: Measures::from(size), ..length("plate", "1.0000") };
        let none = Ratio::from_integer(0);
        let pair =
            Pair { between_c: none, off_20_c: none, assumed: NotStated::default(), ..pair() };
        let check = difference(pair, within("0.001"));
        let mut kit = bench(ring.clone(), ring, check, Vec::new());
        let gauge = kit.setup.gauges.get_mut("plate").unwrap();
        gauge.uncertainty = stated.map(|(u, _)| inch(u));
        gauge.repeatability = stated.map(|(_, s)| inch(s));
        let mut attempts = Vec::new();
        for target in ["outer-spacer/length", "inner-spacer/length"] {
            take(&mut kit, target, &["0", "0", "0", "0", "0", "0"]);
            attempts.push(kit.verdict().attempt);
        }
        let verdict = judged(&mut kit);
        let job = kit.bench.attempt(verdict.attempt).unwrap().1;
        Self { job: Job::clone(job), halves: [attempts[0], attempts[1]], pair: verdict.attempt }
    }

    /// Measures rings that are `off` from the master, and gives the verdict on their difference.
    fn measured(&mut self, dice: &mut Dice, hand: &Hand, off: [f64; 2]) -> Verdict {
        for (half, off) in self.halves.into_iter().zip(off) {
            // Where the master stands between two counts: the indicator was set anew.
            let zero = dice.within(STEP / 2.0);
            let common = dice.normal() * hand.common * MILLIONTH;
            let attempt = Arc::make_mut(self.job.attempts.get_mut(&half).unwrap());
            let last = attempt.readings.len() - 1;
            for (at, touched) in attempt.readings.iter_mut().enumerate() {
                let ring = if at == 0 || at == last { 0.0 } else { off + common };
                let lift = dice.normal() * hand.scatter * MILLIONTH;
                touched.value.length = rounded(zero + ring + lift);
            }
        }
        judge(&self.job, self.pair).unwrap()
    }
}

#[expect(clippy::cast_possible_truncation, reason = "a few hundred counts")]
fn rounded(picometres: f64) -> Length {
    Length::from_picometres((picometres / STEP).round() as i64 * 254_000)
}

/// How many of so many pairs, per cent: the difference told is above the true one by more than U,
/// below it by more than U; and one of two equal rings is called longer.
fn missed(hand: &Hand, pairs: u32) -> [f64; 3] {
    let mut dice = Dice(SEED);
    let mut bench = Bench::with(hand.stated);
    let [mut above, mut below, mut longer] = [0_u32; 3];
    for _ in 0..pairs {
        let off = [dice.within(100.0 * MILLIONTH), dice.within(100.0 * MILLIONTH)];
        let verdict = bench.measured(&mut dice, hand, off);
        let error = verdict.value.unwrap().to_f64() - (off[0] - off[1]);
        let expanded = Figure::from(verdict.uncertainty.unwrap()).to_f64();
        above += u32::from(error > expanded);
        below += u32::from(error < -expanded);
        let verdict = bench.measured(&mut dice, hand, [off[0]; 2]);
        longer += u32::from(figures(&verdict).longer != Longer::CannotSay);
    }
    [above, below, longer].map(|count| f64::from(count) * 100.0 / f64::from(pairs))
}

#[test]
fn the_true_difference_lies_within_u_nineteen_times_in_twenty() {
    // Much of u is common to all touches on a ring.
    for hand in [
        Hand { scatter: 6.0, common: 12.0, stated: Some(("0.00001372", "0.00000666")) },
        Hand { scatter: 3.0, common: 12.0, stated: Some(("0.0000127", "0.00000416")) },
    ] {
        let [above, below, longer] = missed(&hand, 3000);
        let (scatter, common) = (hand.scatter, hand.common);
        let covered = 100.0 - above - below;
        eprintln!("scatter {scatter}, common {common}: {covered} %; equal, longer: {longer} %");
        // k = 2 means 95.45 %.
        assert!((covered - 95.45).abs() <= 1.0, "scatter {scatter}, common {common}: {covered} %");
        assert!(longer <= 5.5, "scatter {scatter}, common {common}: {longer} %");
    }
}

#[test]
fn where_readout_or_scatter_dominates_u_errs_on_the_safe_side() {
    for hand in [
        // Touches scatter: of the zero's walk that which is mere scatter is counted, too.
        Hand { scatter: 12.0, common: 3.0, stated: Some(("0.0000127", "0.00001234")) },
        Hand { scatter: 6.0, common: 6.0, stated: Some(("0.00000896", "0.00000666")) },
        // Every touch on a ring shows one count, or one of two.
        Hand { scatter: 0.5, common: 0.0, stated: Some(("0.00000289", "0.00000289")) },
        Hand { scatter: 1.5, common: 0.0, stated: Some(("0.00000325", "0.00000325")) },
        Hand { scatter: 3.0, common: 0.0, stated: Some(("0.00000416", "0.00000416")) },
    ] {
        let [above, below, longer] = missed(&hand, 3000);
        let scatter = hand.scatter;
        eprintln!("scatter {scatter}: above {above} %, below {below} %; equal, longer: {longer} %");
        assert!(above <= 2.5 && below <= 2.5, "scatter {scatter}: {above} and {below} %");
        assert!(longer <= 4.5, "scatter {scatter}: {longer} %");
    }
}

#[test]
fn where_nothing_is_stated_equal_rings_are_seldom_called_longer() {
    for scatter in [1.0, 3.0, 6.0, 12.0, 18.0] {
        let hand = Hand { scatter, common: 5.77, stated: None };
        let [above, below, longer] = missed(&hand, 2000);
        eprintln!("scatter {scatter}: above {above} %, below {below} %, longer {longer} %");
        assert!(above <= 3.0 && below <= 3.0, "scatter {scatter}: {above} and {below} %");
        assert!(longer <= 6.0, "scatter {scatter}: {longer} %");
    }
}
