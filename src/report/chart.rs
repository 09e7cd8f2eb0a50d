//! A chart of values from day to day, drawn with text.

use ::words::fine;
use quantity::{Figure, Length, Unit};

/// A value on a chart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Point {
    /// The value.
    pub value: Length,
    /// Whether it left the limits.
    pub off: bool,
}

/// The lines of a chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lines {
    /// The centre.
    pub centre: Option<Figure>,
    /// How far above and below it the limits lie.
    pub limit: Option<Figure>,
}

/// A chart has this many rows at most.
const ROWS: i64 = 15;

/// Draws the newest `widest` points, the oldest on the left: a row for each step of the gauge, or for
/// several where there would be too many. `o` is a value, `X` one that left the limits, `=` the limits, `-`
/// the centre.
#[must_use]
pub fn text(points: &[Point], lines: Lines, (step, unit): (Length, Unit), widest: usize) -> String {
    let shown = points.get(points.len().saturating_sub(widest)..).unwrap_or_default();
    if shown.is_empty() {
        return String::new();
    }
    let limit = |sign: i64| Some(lines.centre? + lines.limit? * sign);
    let marks = [limit(1), lines.centre, limit(-1)];
    let values = shown.iter().map(|point| Figure::from(point.value));
    let all: Vec<Figure> = values.chain(marks.into_iter().flatten()).collect();
    let (Some(low), Some(high)) = (all.iter().min().copied(), all.iter().max().copied()) else {
        return String::new();
    };
    let one = step.picometres().abs().max(1);
    let span = i64::try_from((high - low).ceil()).unwrap_or(i64::MAX);
    let each = one.saturating_mul((span / one / ROWS).saturating_add(1));
    // The row of a value: the nearest multiple of the step.
    let row = |figure: Figure| {
        let half = figure / each + Figure::new(-1, 2);
        i64::try_from(half.ceil()).unwrap_or(i64::MAX)
    };
    let marked: Vec<Option<i64>> = marks.into_iter().map(|mark| mark.map(row)).collect();
    let mut drawn = String::new();
    for level in (row(low)..=row(high)).rev() {
        let line = match marked.as_slice() {
            [_, Some(centre), _] if *centre == level => '-',
            [high, _, low] if [high, low].contains(&&Some(level)) => '=',
            _ => ' ',
        };
        let value = Figure::from(Length::from_picometres(level.saturating_mul(each)));
        let mut cells = String::new();
        for point in shown {
            cells.push(if row(point.value.into()) != level {
                line
            } else if point.off {
                'X'
            } else {
                'o'
            });
        }
        let row = format!("{:>12} |{line}{cells}", fine(value, unit));
        drawn.push_str(row.trim_end());
        drawn.push('\n');
    }
    drawn
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_stand_on_their_rows_between_the_limits() {
        let counts = [0, 1, 0, -1, 0, 4];
        let point = |(at, count): (usize, &i64)| Point {
            value: Length::from_picometres(254_000 * count),
            off: at == 5,
        };
        let points: Vec<Point> = counts.iter().enumerate().map(point).collect();
        let limit = Length::from_picometres(546_320);
        let lines = Lines { centre: Some(Figure::ZERO), limit: Some(limit.into()) };
        let drawn = text(&points, lines, (Length::from_picometres(254_000), Unit::Inch), 100);
        let rows = [
            "    0.000040 |      X",
            "    0.000030 |",
            "    0.000020 |=======",
            "    0.000010 |  o",
            "    0.000000 |-o-o-o-",
            "   -0.000010 |    o",
            "   -0.000020 |=======",
        ];
        assert_eq!(drawn.lines().collect::<Vec<_>>(), rows);
        assert_eq!(text(&[], lines, (Length::from_picometres(1), Unit::Inch), 100), "");
    }
}
