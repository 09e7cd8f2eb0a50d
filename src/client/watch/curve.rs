//! The temperatures of a run-in over time, with the steps along the bottom.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Color, Style};
use ratatui::symbols::Marker;
use ratatui::text::{Line, Span};
use ratatui::widgets::{Axis, Chart, Dataset, GraphType, Widget};

use wire::ViewRunIn;

use super::brush::{Look, STRONG, put_within};

/// Fewer rows than this show no curve.
const LEAST: u16 = 6;
/// The colours of the places; a place without one is told by its name alone.
const COLOURS: [Color; 4] = [Color::Red, Color::Yellow, Color::Cyan, Color::Magenta];

/// Draws the curve, its legend above it and the steps below.
pub(super) fn curve(shown: &ViewRunIn, area: Rect, buf: &mut Buffer, look: Look) {
    if area.height < 2 {
        return;
    }
    legend(shown, Rect { height: 1, ..area }, buf, look);
    if area.height < LEAST {
        return;
    }
    let chart = Rect { y: area.y + 1, height: area.height - 2, ..area };
    let points: Vec<Vec<(f64, f64)>> =
        shown.places.iter().map(|one| one.points.iter().map(|[x, y]| (*x, *y)).collect()).collect();
    let all = || points.iter().flatten();
    let last = shown.began_min.last().copied().unwrap_or(0.0);
    let right = all().map(|(x, _)| *x).fold(last, f64::max).max(1.0);
    let low = all().map(|(_, y)| *y).fold(f64::INFINITY, f64::min);
    let high = all().map(|(_, y)| *y).fold(f64::NEG_INFINITY, f64::max);
    let (low, high) = if low.is_finite() { (low.floor(), high.ceil()) } else { (15.0, 40.0) };
    let high = high.max(low + 5.0);
    let marker = if look.utf8 { Marker::Braille } else { Marker::Dot };
    let sets = points.iter().enumerate().map(|(at, points)| {
        let set = Dataset::default().marker(marker).graph_type(GraphType::Line);
        set.style(colour(at, shown, look)).data(points)
    });
    let label = |value: f64| Span::raw(format!("{value:.0}"));
    let y = Axis::default()
        .bounds([low, high])
        .labels([low, f64::midpoint(low, high), high].map(label));
    let x = Axis::default().bounds([0.0, right]).labels([
        Span::raw("0"),
        Span::raw(format!("{:.0}", right / 2.0)),
        Span::raw(format!("{right:.0} min")),
    ]);
    Chart::new(sets.collect()).x_axis(x).y_axis(y).legend_position(None).render(chart, buf);
    if !look.utf8 {
        plain(chart, buf);
    }
    let steps = Rect { y: area.y + area.height - 1, height: 1, ..area };
    let began: Vec<String> = shown.began_min.iter().map(|at| format!("{at:.0}")).collect();
    let text = format!("steps at {} min", began.join(", "));
    put_within(buf, (steps.x, steps.y), &text, steps.width, Style::new());
}

fn colour(at: usize, shown: &ViewRunIn, look: Look) -> Style {
    // The room is the last one.
    let room = at + 1 == shown.places.len();
    match COLOURS.get(at).filter(|_| look.colour && !room) {
        Some(colour) => Style::new().fg(*colour),
        None => Style::new(),
    }
}

/// `front 31.5 °C   rear 30.1 °C   room 21.0 °C`.
fn legend(shown: &ViewRunIn, area: Rect, buf: &mut Buffer, look: Look) {
    let one = |(at, place): (usize, &wire::ViewPlace)| {
        let last = place.last.as_deref().unwrap_or("-");
        let last = if look.utf8 { last.to_owned() } else { last.replace('°', "") };
        let text = format!("{} {last}   ", place.name);
        Span::styled(text, STRONG.patch(colour(at, shown, look)))
    };
    shown.places.iter().enumerate().map(one).collect::<Line<'_>>().render(area, buf);
}

/// Signs of a terminal that knows no others.
fn plain(area: Rect, buf: &mut Buffer) {
    for y in area.top()..area.bottom() {
        for x in area.left()..area.right() {
            let Some(cell) = buf.cell_mut((x, y)) else { continue };
            let plain = match cell.symbol() {
                "•" => "*",
                "│" => "|",
                "─" => "-",
                "└" => "+",
                _ => continue,
            };
            cell.set_symbol(plain);
        }
    }
}
