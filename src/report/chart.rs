//! A chart of values from day to day, drawn with text and as a picture.

use ::words::fine;
use maud::{Markup, html};
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

/// A chart to be drawn as a picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture<'a> {
    /// What it shows.
    pub title: String,
    /// Its values, the oldest first.
    pub points: Vec<Point>,
    /// Its lines.
    pub lines: Lines,
    /// The unit of the values.
    pub unit: Unit,
    /// The name of the value at a point, for whoever points at it.
    pub named: &'a [String],
}

const WIDE: f64 = 640.0;
const HIGH: f64 = 180.0;
const LEFT: f64 = 96.0;

/// Charts below each other as one SVG that loads nothing.
#[must_use]
pub fn svg(charts: &[Picture<'_>]) -> String {
    let count = u32::try_from(charts.len()).unwrap_or(u32::MAX);
    let view = format!("0 0 {} {}", LEFT + WIDE + 24.0, f64::from(count) * (HIGH + 64.0));
    let drawn = html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox=(view) role="img" font-family="sans-serif"
            font-size="13" fill="#16191d" {
            title { "The proofs of a gauge from day to day" }
            rect width="100%" height="100%" fill="#ffffff" {}
            @for (chart, nth) in charts.iter().zip(0_u32..) {
                g transform=(format!("translate(0 {})", f64::from(nth) * (HIGH + 64.0))) { (chart.drawn()) }
            }
        }
    };
    drawn.into_string()
}

impl Picture<'_> {
    fn drawn(&self) -> Markup {
        let marks = self.marks();
        let values = self.points.iter().map(|point| Figure::from(point.value));
        let all: Vec<f64> =
            values.chain(marks.iter().map(|mark| mark.0)).map(Figure::to_f64).collect();
        let low = all.iter().copied().fold(f64::INFINITY, f64::min);
        let high = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let span = if high > low { high - low } else { 1.0 };
        let across = |value: f64| 32.0 + HIGH * (1.0 - (value - low) / span);
        let many = f64::from(u32::try_from(self.points.len()).unwrap_or(u32::MAX)).max(2.0);
        let along = |nth: u32| LEFT + WIDE * f64::from(nth) / (many - 1.0);
        html! {
            text x="8" y="18" font-weight="bold" { (self.title) }
            @for (mark, dashes) in &marks {
                @let y = at(across(mark.to_f64()));
                line x1=(at(LEFT)) x2=(at(LEFT + WIDE)) y1=(y) y2=(y) stroke="#5d6d7e" stroke-dasharray=(dashes) {}
                text x=(at(LEFT - 8.0)) y=(at(across(mark.to_f64()) + 4.0)) text-anchor="end" { (fine(*mark, self.unit)) }
            }
            @for (point, nth) in self.points.iter().zip(0_u32..) {
                @let (x, y) = (along(nth), across(Figure::from(point.value).to_f64()));
                @let name = self.named.get(nth as usize).cloned().unwrap_or_default();
                @if point.off {
                    // A cross and not only another colour.
                    path d=(format!("M{} {}l8 8m0 -8l-8 8", at(x - 4.0), at(y - 4.0))) stroke="#b3261e" stroke-width="2" fill="none" {
                        title { (name) " " (fine(point.value.into(), self.unit)) }
                    }
                } @else {
                    circle cx=(at(x)) cy=(at(y)) r="3" fill="#1f4e79" {
                        title { (name) " " (fine(point.value.into(), self.unit)) }
                    }
                }
            }
        }
    }

    /// The limits and the centre, each with its dashes.
    fn marks(&self) -> Vec<(Figure, &'static str)> {
        let Some(centre) = self.lines.centre else { return Vec::new() };
        let limits = self.lines.limit.map(|limit| [centre + limit, centre - limit]);
        let limits = limits.into_iter().flatten().map(|limit| (limit, "none"));
        limits.chain([(centre, "6 4")]).collect()
    }
}

/// A number in a picture, to a tenth of a dot.
fn at(number: f64) -> String {
    format!("{number:.1}")
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
        let named: Vec<String> = (0..6).map(|day| format!("day {day} <b>")).collect();
        let title = "Step & size".to_owned();
        let picture = Picture { title, points, lines, unit: Unit::Inch, named: &named };
        let drawn = svg(&[picture]);
        assert!(drawn.contains("Step &amp; size") && drawn.contains("day 0 &lt;b&gt; 0.000000"));
        assert_eq!((drawn.matches("<circle").count(), drawn.matches("<path").count()), (5, 1));
        assert!(drawn.contains("0.000022") && !drawn.contains("href"), "{drawn}");
    }

    /// Values in hundred-thousandths of an inch.
    fn points(counts: &[i64]) -> Vec<Point> {
        let point = |count: &i64| Point {
            value: Length::from_picometres(254_000 * count),
            off: *count > 9,
        };
        counts.iter().map(point).collect()
    }

    const NO_LINES: Lines = Lines { centre: None, limit: None };
    const STEP: (Length, Unit) = (Length::from_picometres(254_000), Unit::Inch);

    #[test]
    fn the_newest_values_are_drawn_and_a_row_is_as_many_steps_as_fit() {
        let all: Vec<i64> = (0..200).collect();
        let drawn = text(&points(&all), NO_LINES, STEP, 20);
        // The twenty newest, 180 to 199: 19 steps are more than fifteen rows, so a row takes two.
        let rows: Vec<&str> = drawn.lines().collect();
        assert_eq!(rows.len(), 10, "{drawn}");
        assert_eq!(drawn.matches(['o', 'X']).count(), 20, "{drawn}");
        assert!(rows[0].trim_start().starts_with("0.001980 |"), "{drawn}");
        assert!(rows.last().unwrap().trim_start().starts_with("0.001800 |"), "{drawn}");
        let far = |row: &&str| row.len() <= "    0.000000 |".len() + 21;
        assert!(rows.iter().all(far), "{drawn}");
    }

    #[test]
    fn a_picture_has_each_value_at_its_place_between_the_ends() {
        let named: Vec<String> = Vec::new();
        let of = |counts: &[i64], lines| {
            let title = "T".to_owned();
            svg(&[Picture {
                title,
                points: points(counts),
                lines,
                unit: Unit::Inch,
                named: &named,
            }])
        };
        // From 96 to 736 across, from 212 at the lowest up to 32 at the highest.
        let drawn = of(&[0, 4, 2, 8], NO_LINES);
        for (x, y) in [("96.0", "212.0"), ("309.3", "122.0"), ("522.7", "167.0"), ("736.0", "32.0")]
        {
            assert!(drawn.contains(&format!("cx=\"{x}\" cy=\"{y}\"")), "{x} {y} in {drawn}");
        }
        assert!(!drawn.contains("<line"), "no line that nobody gave: {drawn}");
        // One value, and equal ones, have a place, too.
        assert!(of(&[3], NO_LINES).contains("cx=\"96.0\" cy=\"212.0\""));
        assert!(of(&[3, 3], NO_LINES).contains("cx=\"736.0\" cy=\"212.0\""));
        assert!(!of(&[], NO_LINES).contains("NaN"));
        // A centre is broken, limits are whole and count for the scale: ±4 about 0.
        let limit = Some(Length::from_picometres(4 * 254_000).into());
        let lined = of(&[0], Lines { centre: Some(Figure::ZERO), limit });
        for (y, dashes) in [("32.0", "none"), ("122.0", "6 4"), ("212.0", "none")] {
            let line =
                format!("y1=\"{y}\" y2=\"{y}\" stroke=\"#5d6d7e\" stroke-dasharray=\"{dashes}\"");
            assert!(lined.contains(&line), "{line} in {lined}");
        }
        // What left the limits is a cross through its place.
        assert!(of(&[0, 10], NO_LINES).contains("d=\"M732.0 28.0l8 8m0 -8l-8 8\""));
    }

    #[test]
    fn charts_stand_below_each_other_on_one_sheet() {
        let named = ["<b>".to_owned()];
        let one = |title: &str| Picture {
            title: title.to_owned(),
            points: points(&[1]),
            lines: NO_LINES,
            unit: Unit::Inch,
            named: &named,
        };
        let drawn = svg(&[one("first"), one("second <i>")]);
        assert!(drawn.contains("viewBox=\"0 0 760 488\""), "two of 244: {drawn}");
        let second = drawn.split("translate(0 244)").nth(1).unwrap();
        assert!(second.contains("second &lt;i&gt;") && !second.contains("first"), "{drawn}");
        assert!(!drawn.contains("<b>") && !drawn.contains("<i>"), "{drawn}");
    }
}
