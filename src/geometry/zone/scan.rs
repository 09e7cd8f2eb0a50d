//! Passes over columns of floats, in loops of eight lanes that a compiler can turn into the vector
//! instructions of the machine.

use super::basis::Plane;
use super::number::At;

/// Numbers that a loop handles side by side.
pub(super) const LANES: usize = 8;
/// Points handled together: few enough to stay in the nearest cache for a second look, enough that
/// summing up the lanes costs little.
pub(super) const BLOCK: usize = 128;

/// Positions and heights in columns of one length, and the point that counts as their origin.
#[derive(Debug, Clone, Copy)]
pub(super) struct Columns<'a> {
    pub(super) x: &'a [f64],
    pub(super) y: &'a [f64],
    pub(super) z: &'a [f64],
    pub(super) origin: At<f64>,
}

impl Columns<'_> {
    pub(super) fn len(&self) -> usize {
        self.z.len()
    }

    /// A point relative to the origin.
    pub(super) fn at(&self, row: usize) -> At<f64> {
        At {
            x: self.x[row] - self.origin.x,
            y: self.y[row] - self.origin.y,
            z: self.z[row] - self.origin.z,
        }
    }

    /// A stretch of the rows.
    pub(super) fn part(&self, from: usize, to: usize) -> Self {
        Self {
            x: &self.x[from..to],
            y: &self.y[from..to],
            z: &self.z[from..to],
            origin: self.origin,
        }
    }

    /// The stretches of [`BLOCK`] rows, with the row each starts at.
    pub(super) fn blocks(self) -> impl Iterator<Item = (usize, Self)> {
        (0..self.len())
            .step_by(BLOCK)
            .map(move |from| (from, self.part(from, self.len().min(from + BLOCK))))
    }
}

/// The lowest and the highest of some numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Span {
    pub(super) low: f64,
    pub(super) high: f64,
}

impl Span {
    /// The larger of the two absolute values.
    pub(super) fn reach(self) -> f64 {
        larger(self.high.abs(), self.low.abs())
    }
}

/// The larger of two, in one instruction on most machines; skips a first number that is not a number.
#[inline]
pub(super) fn larger(one: f64, other: f64) -> f64 {
    if one > other { one } else { other }
}

/// The smaller of two; see [`larger`].
#[inline]
pub(super) fn smaller(one: f64, other: f64) -> f64 {
    if one < other { one } else { other }
}

/// The lowest and the highest of each lane.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spans {
    low: [f64; LANES],
    high: [f64; LANES],
}

impl Spans {
    pub(super) const NONE: Self =
        Self { low: [f64::INFINITY; LANES], high: [f64::NEG_INFINITY; LANES] };

    /// Adds a column.
    #[inline]
    #[expect(clippy::needless_range_loop, reason = "lanes by number become vector instructions")]
    pub(super) fn take(&mut self, column: &[f64]) {
        let (eights, rest) = column.as_chunks::<LANES>();
        for eight in eights {
            for lane in 0..LANES {
                self.low[lane] = smaller(eight[lane], self.low[lane]);
                self.high[lane] = larger(eight[lane], self.high[lane]);
            }
        }
        for (lane, &value) in rest.iter().enumerate() {
            self.low[lane] = smaller(value, self.low[lane]);
            self.high[lane] = larger(value, self.high[lane]);
        }
    }

    pub(super) fn span(&self) -> Span {
        Span { low: least(self.low), high: -least(self.high.map(|high| -high)) }
    }
}

/// The least of the lanes.
#[inline]
fn least(lanes: [f64; LANES]) -> f64 {
    let mut least = lanes[0];
    for &lane in &lanes[1..] {
        least = smaller(lane, least);
    }
    least
}

/// Works out how far the points of a block are off a plane. The results are written to the beginning of
/// `offs`, which is returned. Separate loops for working out and for looking at the results leave the
/// processor enough registers.
#[inline]
fn offs<'a>(block: &Columns, plane: &Plane, offs: &'a mut [f64; BLOCK]) -> &'a [f64] {
    let offs = &mut offs[..block.len()];
    let At { x, y, z } = block.origin;
    let (a, b) = (plane.a, plane.b);
    // One number combines the level and the origin; the error bound allows for its rounding.
    let level = plane.c + z - a * x - b * y;
    for (off, ((x, y), z)) in offs.iter_mut().zip(block.x.iter().zip(block.y).zip(block.z)) {
        *off = z - a * x - b * y - level;
    }
    offs
}

/// Adds numbers up, lane by lane. A sum stays finite as long as every number in it is.
#[inline]
fn add(sums: &mut [f64; LANES], offs: &[f64]) {
    let (eights, rest) = offs.as_chunks::<LANES>();
    for eight in eights {
        for lane in 0..LANES {
            sums[lane] += eight[lane];
        }
    }
    sums[0] += rest.iter().sum::<f64>();
}

/// The largest absolute value of eight, found in pairs.
#[inline]
fn largest(eight: &[f64; LANES]) -> f64 {
    let mut four = [0.0; LANES / 2];
    for (lane, largest) in four.iter_mut().enumerate() {
        *largest = larger(eight[lane].abs(), eight[lane + LANES / 2].abs());
    }
    larger(larger(four[0], four[2]), larger(four[1], four[3]))
}

/// How far points are off a plane, and whether all numbers are finite.
#[derive(Debug)]
pub(super) struct Pass<'a> {
    columns: Columns<'a>,
    plane: Plane,
    sums: [f64; LANES],
}

impl<'a> Pass<'a> {
    pub(super) const fn new(columns: Columns<'a>, plane: Plane) -> Self {
        Self { columns, plane, sums: [0.0; LANES] }
    }

    /// Whether every number so far is finite (or all are huge).
    pub(super) fn is_finite(&self) -> bool {
        self.sums.iter().sum::<f64>().is_finite()
    }

    /// The smallest and the largest distance from the plane.
    pub(super) fn span(&mut self) -> Span {
        let (mut spans, mut room) = (Spans::NONE, [0.0; BLOCK]);
        for (_, block) in self.columns.blocks() {
            let offs = offs(&block, &self.plane, &mut room);
            spans.take(offs);
            add(&mut self.sums, offs);
        }
        spans.span()
    }

    /// Calls `each` with the rows of points farther from the plane than `within`, on either side, and
    /// `begin` with every block before that. Returns the largest distance.
    pub(super) fn outside(
        &mut self,
        within: f64,
        mut begin: impl FnMut(&Columns),
        mut each: impl FnMut(usize),
    ) -> f64 {
        let (mut room, mut farthest) = ([0.0; BLOCK], 0.0);
        for (from, block) in self.columns.blocks() {
            begin(&block);
            let offs = offs(&block, &self.plane, &mut room);
            add(&mut self.sums, offs);
            let (eights, rest) = offs.as_chunks::<LANES>();
            for (number, eight) in eights.iter().enumerate() {
                let most = largest(eight);
                farthest = larger(most, farthest);
                if most > within {
                    let first = from + number * LANES;
                    eight
                        .iter()
                        .zip(first..)
                        .filter(|(off, _)| off.abs() > within)
                        .for_each(|(_, row)| each(row));
                }
            }
            let first = from + eights.len() * LANES;
            farthest = rest.iter().fold(farthest, |most, off| larger(off.abs(), most));
            rest.iter()
                .zip(first..)
                .filter(|(off, _)| off.abs() > within)
                .for_each(|(_, row)| each(row));
        }
        farthest
    }
}

/// The row farthest from a plane, and its distance, which is not a number when some column holds a
/// number that is not finite.
#[expect(clippy::float_cmp, reason = "the very distance that was found")]
pub(super) fn farthest(columns: Columns, plane: &Plane) -> (f64, usize) {
    let (mut room, mut sums) = ([0.0; BLOCK], [0.0; LANES]);
    let (mut most, mut farthest, mut block_from) = (-1.0, 0.0, 0);
    for (from, block) in columns.blocks() {
        let offs = offs(&block, plane, &mut room);
        let mut spans = Spans::NONE;
        spans.take(offs);
        add(&mut sums, offs);
        let span = spans.span();
        if span.reach() > most {
            most = span.reach();
            farthest = if span.high >= -span.low { span.high } else { span.low };
            block_from = from;
        }
    }
    if !sums.iter().sum::<f64>().is_finite() {
        return (f64::NAN, 0);
    }
    let end = columns.len().min(block_from + BLOCK);
    let single = columns.len() <= BLOCK;
    let part = columns.part(block_from, end);
    let offs = if single { &room[..end] } else { offs(&part, plane, &mut room) };
    let place = offs.iter().position(|&off| off == farthest).unwrap_or(0);
    (farthest, block_from + place)
}
