//! The least cost of shares that have to add up to something: a small linear program, by the simplex method
//! (G. B. Dantzig; the rule against going in circles is that of R. G. Bland; both from memory).

/// Below this share of the largest entry a number counts as zero.
const TINY: f64 = 1e-11;

/// `min cost·x` over `x ≥ 0` with `columns[0]·x[0] + columns[1]·x[1] + … = sum`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Least {
    /// The least cost.
    Cost(f64),
    /// There is none: it can be made as low as one likes.
    Unbounded,
    /// No shares add up to that.
    Impossible,
}

/// The rows of a tableau: one for each entry of the sum, its last number what is still to add up.
struct Tableau {
    rows: Vec<Vec<f64>>,
    /// The unknown that each row stands for.
    basis: Vec<usize>,
}

/// The least cost. Every column has as many entries as `sum`.
pub(super) fn least_cost(columns: &[Vec<f64>], sum: &[f64], cost: &[f64]) -> Least {
    let unknowns = columns.len();
    let mut tableau = Tableau::new(columns, sum);
    // First the shares that are made up are driven out, then the cost counts.
    let made_up: Vec<f64> =
        (0..unknowns + sum.len()).map(|at| f64::from(u8::from(at >= unknowns))).collect();
    let largest = sum.iter().fold(1.0_f64, |most, one| most.max(one.abs()));
    match tableau.lowered(&made_up, unknowns + sum.len()) {
        Some(left) if left <= 1e-7 * largest => {}
        _ => return Least::Impossible,
    }
    tableau.without_made_up(unknowns);
    let mut whole = cost.to_vec();
    whole.resize(unknowns + sum.len(), 0.0);
    tableau.lowered(&whole, unknowns).map_or(Least::Unbounded, Least::Cost)
}

impl Tableau {
    /// With one made-up unknown for each row, so that there is something to begin with.
    fn new(columns: &[Vec<f64>], sum: &[f64]) -> Self {
        let unknowns = columns.len();
        let mut rows = Vec::with_capacity(sum.len());
        for (at, wanted) in sum.iter().enumerate() {
            let sign = if *wanted < 0.0 { -1.0 } else { 1.0 };
            let mut row: Vec<f64> = columns.iter().map(|column| sign * column[at]).collect();
            row.resize(unknowns + sum.len(), 0.0);
            row[unknowns + at] = 1.0;
            row.push(sign * wanted);
            rows.push(row);
        }
        Self { rows, basis: (unknowns..unknowns + sum.len()).collect() }
    }

    /// Goes on until no unknown of the first `open` lowers the cost; `None` where one lowers it without end.
    fn lowered(&mut self, cost: &[f64], open: usize) -> Option<f64> {
        loop {
            let Some(enters) = (0..open).find(|unknown| self.gain(cost, *unknown) < -1e-9) else {
                return Some(self.cost(cost));
            };
            let leaves = self.first_to_vanish(enters)?;
            self.exchange(leaves, enters);
        }
    }

    /// What the cost changes by for each unit of an unknown that enters.
    fn gain(&self, cost: &[f64], unknown: usize) -> f64 {
        let others = self.rows.iter().zip(&self.basis).map(|(row, of)| cost[*of] * row[unknown]);
        cost[unknown] - others.sum::<f64>()
    }

    fn cost(&self, cost: &[f64]) -> f64 {
        let all = self.rows.iter().zip(&self.basis);
        all.map(|(row, of)| cost[*of] * row.last().copied().unwrap_or(0.0)).sum()
    }

    /// The row whose unknown reaches zero first when another one enters; of several the one with the lowest
    /// number, so that it never goes in circles.
    fn first_to_vanish(&self, enters: usize) -> Option<usize> {
        let mut best: Option<(f64, usize, usize)> = None;
        for (at, row) in self.rows.iter().enumerate() {
            if row[enters] <= TINY.sqrt() {
                continue;
            }
            let ratio = row.last().copied().unwrap_or(0.0) / row[enters];
            let sooner = best.is_none_or(|(least, of, _)| {
                ratio < least - TINY || (ratio <= least + TINY && self.basis[at] < of)
            });
            if sooner {
                best = Some((ratio, self.basis[at], at));
            }
        }
        best.map(|(_, _, at)| at)
    }

    /// The unknown of a row gives way to another one.
    fn exchange(&mut self, leaves: usize, enters: usize) {
        let by = self.rows[leaves][enters];
        let mut own = std::mem::take(&mut self.rows[leaves]);
        for number in &mut own {
            *number /= by;
        }
        for row in self.rows.iter_mut().filter(|row| !row.is_empty()) {
            let times = row[enters];
            if times.abs() > 0.0 {
                for (number, own) in row.iter_mut().zip(&own) {
                    *number -= times * own;
                }
            }
        }
        self.rows[leaves] = own;
        self.basis[leaves] = enters;
    }

    /// Takes made-up unknowns that are left, at zero, out of the basis where a real one can stand for them;
    /// a row without one says nothing.
    fn without_made_up(&mut self, unknowns: usize) {
        let mut at = 0;
        while at < self.rows.len() {
            if self.basis[at] < unknowns {
                at += 1;
            } else if let Some(real) = (0..unknowns).find(|of| self.rows[at][*of].abs() > 1e-9) {
                self.exchange(at, real);
                at += 1;
            } else {
                self.rows.remove(at);
                self.basis.remove(at);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn costs(columns: &[&[f64]], sum: &[f64], cost: &[f64], expected: f64) {
        let columns: Vec<Vec<f64>> = columns.iter().map(|column| column.to_vec()).collect();
        let Least::Cost(found) = least_cost(&columns, sum, cost) else { panic!("none") };
        assert!((found - expected).abs() < 1e-9, "{found} for {expected}");
    }

    #[test]
    fn a_worked_example() {
        // Worked by hand: x + y + slack = 4, x + 3y + slack = 6, cost -3x - 5y: best at (3, 1), -14.
        let columns: [&[f64]; 4] = [&[1.0, 1.0], &[1.0, 3.0], &[1.0, 0.0], &[0.0, 1.0]];
        costs(&columns, &[4.0, 6.0], &[-3.0, -5.0, 0.0, 0.0], -14.0);
    }

    #[test]
    fn a_corner_where_more_than_two_edges_meet_is_no_trap() {
        // The example by which E. M. L. Beale showed that the method can go in circles (from memory).
        let columns: [&[f64]; 7] = [
            &[0.25, 0.5, 0.0],
            &[-60.0, -90.0, 0.0],
            &[-0.04, -0.02, 1.0],
            &[9.0, 3.0, 0.0],
            &[1.0, 0.0, 0.0],
            &[0.0, 1.0, 0.0],
            &[0.0, 0.0, 1.0],
        ];
        let cost = [-0.75, 150.0, -0.02, 6.0, 0.0, 0.0, 0.0];
        costs(&columns, &[0.0, 0.0, 1.0], &cost, -0.05);
    }

    #[test]
    fn what_cannot_be_and_what_has_no_end_is_told_apart() {
        let one = |number: f64| vec![number];
        assert_eq!(least_cost(&[one(1.0)], &[-1.0], &[1.0]), Least::Impossible);
        assert_eq!(least_cost(&[one(1.0), one(-1.0)], &[1.0], &[-1.0, 0.0]), Least::Unbounded);
        // Two rows that say the same.
        costs(&[&[1.0, 2.0], &[1.0, 2.0]], &[3.0, 6.0], &[1.0, 2.0], 3.0);
    }
}
