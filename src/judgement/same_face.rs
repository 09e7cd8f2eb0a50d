//! Whether a face that lies on the bench is one that was measured before, by its form alone.
//!
//! `Q = Σ (d − mean d)² / (2 s²)` with the differences `d` to the earlier face is spread as chi-squared with
//! one degree of freedom less than there are positions, where it is the same face in the same state of its
//! metal. (Chi-squared test of a sum of squares, from memory; the rule of the one candidate is our own.)

use statrs::distribution::{ChiSquared, ContinuousCDF as _};

/// How two faces compare.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Likeness {
    /// By how many positions the earlier face has to be turned to fit best.
    pub turned: usize,
    /// The least `Q` of all turns.
    pub q: f64,
}

/// What the forms say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Likely {
    /// The candidate with this index, and no other.
    The(usize, Likeness),
    /// No candidate fits.
    None,
    /// More than one fits, or one that fits is no better than chance would make it: it cannot be told.
    CannotTell,
}

/// The 99 % limit of chi-squared with `freedom` degrees of freedom, 1 or more.
#[must_use]
pub fn limit(freedom: usize) -> f64 {
    let of = f64::from(u32::try_from(freedom.max(1)).unwrap_or(u32::MAX));
    ChiSquared::new(of).map_or(0.0, |spread| spread.inverse_cdf(0.99))
}

/// Which turns of the earlier face are tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turns {
    /// None: position 0 is marked on the ring.
    Marked,
    /// All by whole positions: the mark is gone.
    Any,
}

/// Compares a face with an earlier one, never mirrored. `None` where they have different numbers of
/// positions, fewer than four, or `s` is not above zero.
#[must_use]
pub fn likeness(now: &[f64], earlier: &[f64], (turns, s): (Turns, f64)) -> Option<Likeness> {
    let positions = now.len();
    if positions < 4 || earlier.len() != positions || s.is_nan() || s <= 0.0 {
        return None;
    }
    let tried = match turns {
        Turns::Marked => 1,
        Turns::Any => positions,
    };
    let at = |turned: usize| Likeness { turned, q: q(now, earlier, (turned, s)) };
    (0..tried).map(at).min_by(|one, other| one.q.total_cmp(&other.q))
}

fn q(now: &[f64], earlier: &[f64], (turned, s): (usize, f64)) -> f64 {
    let positions = now.len();
    let differences =
        || now.iter().enumerate().map(|(at, height)| height - earlier[(at + turned) % positions]);
    let mean = differences().sum::<f64>() / f64::from(u32::try_from(positions).unwrap_or(u32::MAX));
    differences().map(|one| (one - mean).powi(2)).sum::<f64>() / (2.0 * s * s)
}

/// Which of some earlier faces it is.
///
/// A face whose own form is no larger than the scatter fits anything, turned at will: then nothing is told.
/// `s` is the standard deviation of one touch.
#[must_use]
pub fn likely(now: &[f64], candidates: &[&[f64]], known: (Turns, f64)) -> Likely {
    let Some(freedom) = now.len().checked_sub(1) else { return Likely::CannotTell };
    let limit = limit(freedom);
    // A flat face that would pass for it, too, makes the form worth nothing.
    let flat = vec![0.0; now.len()];
    if likeness(now, &flat, known).is_none_or(|flat| flat.q <= limit) {
        return Likely::CannotTell;
    }
    let all = candidates.iter().enumerate();
    let fits: Vec<(usize, Likeness)> = all
        .filter_map(|(index, earlier)| Some((index, likeness(now, earlier, known)?)))
        .filter(|(_, found)| found.q <= limit)
        .collect();
    match fits[..] {
        [] => Likely::None,
        [(index, found)] => Likely::The(index, found),
        _ => Likely::CannotTell,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOW: [f64; 8] = [1.0, 3.0, 4.0, 4.0, 2.0, 0.0, -2.0, 0.0];
    const X: [f64; 8] = [0.0, 3.0, 5.0, 4.0, 2.0, -1.0, -2.0, 0.0];
    const Y: [f64; 8] = [0.0, 1.0, 2.0, 3.0, 3.0, 2.0, 1.0, 0.0];
    /// 6 µin, in counts of 10.
    const S: f64 = 0.6;

    /// With one decimal.
    fn shown(number: f64) -> String {
        format!("{number:.1}")
    }

    #[test]
    fn of_two_marked_rings_the_one_is_named() {
        assert_eq!(shown(q(&NOW, &X, (0, S))), "4.0");
        assert_eq!(shown(q(&NOW, &Y, (0, S))), "33.3");
        let Likely::The(0, found) = likely(&NOW, &[&X, &Y], (Turns::Marked, S)) else {
            panic!("X")
        };
        assert_eq!((found.turned, shown(found.q).as_str()), (0, "4.0"));
        // The order of the candidates is nothing.
        assert!(matches!(likely(&NOW, &[&Y, &X], (Turns::Marked, S)), Likely::The(1, _)));
    }

    #[test]
    fn without_its_mark_the_other_ring_fits_at_another_turn_and_nothing_is_told() {
        let other = likeness(&NOW, &Y, (Turns::Any, S)).unwrap();
        assert_eq!((other.turned, shown(other.q).as_str()), (1, "11.1"));
        assert_eq!(likely(&NOW, &[&X, &Y], (Turns::Any, S)), Likely::CannotTell);
        assert!(matches!(likely(&NOW, &[&X], (Turns::Any, S)), Likely::The(0, _)));
    }

    #[test]
    fn a_ring_that_was_turned_is_known_by_its_turn_and_a_mirrored_one_is_not() {
        let mut turned = X;
        turned.rotate_right(3);
        assert_eq!(likeness(&NOW, &turned, (Turns::Any, S)).unwrap().turned, 3);
        assert!(likeness(&NOW, &turned, (Turns::Marked, S)).unwrap().q > limit(7));
        let once = [9.0, 4.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0];
        let mut mirrored = once;
        mirrored.reverse();
        assert!(likeness(&once, &mirrored, (Turns::Any, S)).unwrap().q > limit(7));
    }

    #[test]
    fn where_scatter_is_as_large_as_the_form_nothing_is_told() {
        let told = |candidates: &[&[f64]], s| likely(&NOW, candidates, (Turns::Marked, s));
        assert_eq!(told(&[&X, &Y], 2.0), Likely::CannotTell);
        assert_eq!(told(&[&X, &X], S), Likely::CannotTell, "two alike");
        assert_eq!(told(&[&Y], S), Likely::None);
        assert_eq!(told(&[], S), Likely::None);
        assert_eq!(likely(&[], &[], (Turns::Any, S)), Likely::CannotTell);
        assert_eq!(likeness(&NOW, &X[..7], (Turns::Any, S)), None);
        assert_eq!(likeness(&NOW, &X, (Turns::Any, 0.0)), None);
    }

    #[test]
    fn the_limit_is_that_of_the_tables() {
        // Tables of chi-squared, 99 %: 5 → 15.086, 7 → 18.475, 15 → 30.578 (NIST/SEMATECH e-Handbook of
        // Statistical Methods, 1.3.6.7.4, from memory).
        for (freedom, table) in [(5, 15.086), (7, 18.475), (15, 30.578)] {
            assert!((limit(freedom) / table - 1.0).abs() < 0.005, "{freedom}: {}", limit(freedom));
        }
    }
}
