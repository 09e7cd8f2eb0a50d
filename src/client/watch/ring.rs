//! The ring from above: index mark at the top, positions where they lie on the metal.

use std::f64::consts::TAU;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};

use ::bench::plan::Direction;
use ::report::screen::{Mark, circle_words, mark_of, on_circle};
use wire::{ViewCheck, ViewPosition};

use super::big::big;
use super::brush::{Look, STRONG, centred, put};

/// How large a position is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Size {
    /// A box of three rows.
    Box,
    /// `(3)`.
    Line,
    /// One character; only the next one has its number.
    Dot,
}

/// Draws the circle that is being touched.
pub(super) fn ring(check: &ViewCheck, area: Rect, buf: &mut Buffer, look: Look) {
    let shown = on_circle(check);
    if check.per_circle < 2 {
        return row(check, &shown, area, buf, look);
    }
    let digits = shown.iter().map(|one| one.position.to_string().len()).max().unwrap_or(1);
    let sizes = [Size::Box, Size::Line];
    let fits = |size: &Size| Circle::within(area, *size, digits).has_room(&shown, *size, digits);
    let size = sizes.into_iter().find(fits).unwrap_or(Size::Dot);
    let circle = Circle::within(area, size, digits);
    circle.outline(buf, look);
    index_mark(check, &circle, area, buf, look);
    // Marks that call for a touch are drawn last, so that nothing covers them.
    let calls = |one: &&ViewPosition| matches!(mark_of(check, one), Mark::Next | Mark::Asked);
    let (calling, quiet): (Vec<_>, Vec<_>) = shown.iter().partition(calls);
    for one in quiet.into_iter().chain(calling) {
        let (x, y) = circle.at(one.angle_deg.unwrap_or(0.0), 1.0);
        marker(check, one, (x, y), size, (buf, look));
    }
    let room = extent(size, digits);
    middle(check, &circle.inside(room), buf, look);
    high_side(check, &circle.beside(room), buf);
}

struct Circle {
    x: f64,
    y: f64,
    across: f64,
    down: f64,
}

impl Circle {
    /// The largest circle that leaves room for the index mark above and the markers around it.
    fn within(area: Rect, size: Size, digits: usize) -> Self {
        let (wide, high) = extent(size, digits);
        let (w, h) = (f64::from(area.width), f64::from(area.height) - 1.0);
        let down = ((h - f64::from(high)) / 2.0).max(1.0);
        // Beside each marker there is room for the sign of the plane it touches.
        let across = ((w - f64::from(wide)) / 2.0 - 1.0).min(down * 2.0).max(1.0);
        Self {
            x: f64::from(area.x) + (w - 1.0) / 2.0,
            y: f64::from(area.y) + 1.0 + (h - 1.0) / 2.0,
            across,
            down: down.min(across / 2.0 + 1.0),
        }
    }

    /// A point at an angle from the top, counter-clockwise, and at a share of the radius.
    fn at(&self, angle_deg: f64, part: f64) -> (f64, f64) {
        let turn = angle_deg / 360.0 * TAU;
        (self.x - self.across * part * turn.sin(), self.y - self.down * part * turn.cos())
    }

    /// Where a word of four letters fits inside the markers of a size.
    fn inside(&self, (wide, high): (u16, u16)) -> Self {
        Self {
            across: (self.across - f64::from(wide) / 2.0 - 2.5).max(0.0),
            down: (self.down - f64::from(high) / 2.0 - 0.5).max(0.0),
            ..*self
        }
    }

    /// Where the middle of that word stands beside a marker and covers nothing of it: at a slant both are half way past
    /// each other, by the root of two more than straight above or aside.
    fn beside(&self, (wide, high): (u16, u16)) -> Self {
        let slant = std::f64::consts::SQRT_2;
        Self {
            across: (self.across - f64::from(wide) / 2.0 - 2.5).max(0.0),
            down: (self.down - (f64::from(high) / 2.0 + 0.5) * slant).max(0.0),
            ..*self
        }
    }

    /// Whether markers of a size do not touch each other.
    fn has_room(&self, shown: &[ViewPosition], size: Size, digits: usize) -> bool {
        let (wide, high) = extent(size, digits);
        let places: Vec<_> =
            shown.iter().map(|one| self.at(one.angle_deg.unwrap_or(0.0), 1.0)).collect();
        let apart = |(a, b): (&(f64, f64), &(f64, f64))| {
            (a.0 - b.0).abs() >= f64::from(wide) + 1.0 || (a.1 - b.1).abs() >= f64::from(high) + 0.5
        };
        let next = places.iter().cycle().skip(1);
        let inner = self.down > f64::from(high) + 1.0 && self.across > f64::from(wide) + 2.0;
        places.len() < 2 || (inner && places.iter().zip(next).all(apart))
    }

    fn outline(&self, buf: &mut Buffer, look: Look) {
        let dot = if look.utf8 { "·" } else { "." };
        for step in 0..360_u16 {
            let (x, y) = self.at(f64::from(step), 1.0);
            put(buf, (cell(x), cell(y)), dot, Style::new().add_modifier(Modifier::DIM));
        }
    }
}

/// The columns and rows of a marker.
fn extent(size: Size, digits: usize) -> (u16, u16) {
    let digits = u16::try_from(digits).unwrap_or(1);
    match size {
        Size::Box => (digits + 4, 3),
        Size::Line => (digits + 2, 1),
        Size::Dot => (1, 1),
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "held within its range"
)]
fn cell(place: f64) -> u16 {
    place.round().clamp(0.0, f64::from(u16::MAX)) as u16
}

fn count(of: usize) -> u16 {
    u16::try_from(of).unwrap_or(u16::MAX)
}

/// The index mark, and an arrow in the direction in which positions are counted.
fn index_mark(check: &ViewCheck, circle: &Circle, area: Rect, buf: &mut Buffer, look: Look) {
    let text = match (check.direction, look.utf8) {
        (Direction::Clockwise, true) => "    ▼ ──▶",
        (Direction::Clockwise, false) => "    V -->",
        (Direction::CounterClockwise, true) => "◀── ▼    ",
        (Direction::CounterClockwise, false) => "<-- V    ",
    };
    let x = cell(circle.x).saturating_sub(4).max(area.x);
    put(buf, (x, area.y), text, STRONG);
}

/// The sign beside a number: whether the position touches the upper or the lower plane of the zone.
fn contact(check: &ViewCheck, position: u32, look: Look) -> &'static str {
    let Some(verdict) = &check.verdict else { return "" };
    let upper = verdict.contacts_upper.contains(&position);
    let lower = verdict.contacts_lower.contains(&position);
    match (upper, lower, look.utf8) {
        (true, _, true) => "▲",
        (true, _, false) => "^",
        (_, true, true) => "▼",
        (_, true, false) => "v",
        (false, false, _) => "",
    }
}

fn marker(
    check: &ViewCheck,
    one: &ViewPosition,
    (x, y): (f64, f64),
    size: Size,
    (buf, look): (&mut Buffer, Look),
) {
    let mark = mark_of(check, one);
    let calls = matches!(mark, Mark::Next | Mark::Asked);
    let mut style = Style::new();
    if calls {
        style = style.add_modifier(Modifier::BOLD);
        if look.blink {
            style = style.add_modifier(Modifier::REVERSED);
        }
    }
    let number = one.position.to_string();
    let lines = match size {
        Size::Box => boxed(mark, &number, look.utf8),
        Size::Line => vec![beside(mark, &number, look.utf8)],
        Size::Dot if calls => vec![beside(mark, &number, look.utf8)],
        Size::Dot => vec![dot(mark, look.utf8).to_owned()],
    };
    let wide = count(lines[0].chars().count());
    let left = cell(x - f64::from(wide - 1) / 2.0);
    let top = cell(y - f64::from(count(lines.len()) - 1) / 2.0);
    for (line, row) in lines.iter().zip(top..) {
        put(buf, (left, row), line, style);
    }
    // Outside the ring, where nothing else is drawn.
    let outer = one.angle_deg.is_some_and(|angle| angle > 0.0 && angle < 180.0);
    let aside = if outer { left.saturating_sub(1) } else { left + wide };
    let middle = top + count(lines.len() / 2);
    put(buf, (aside, middle), contact(check, one.position, look), STRONG);
}

/// A position as one character.
const fn dot(mark: Mark, utf8: bool) -> &'static str {
    match (mark, utf8) {
        (Mark::Open, true) => "○",
        (Mark::Open, false) => "o",
        (Mark::Taken, true) => "█",
        (Mark::Taken, false) => "#",
        (Mark::Skipped, true) => "▒",
        (Mark::Skipped, false) => "/",
        (Mark::Next | Mark::Asked, _) => "?",
    }
}

/// A position as one row.
fn beside(mark: Mark, number: &str, utf8: bool) -> String {
    let (left, right) = match (mark, utf8) {
        (Mark::Open, _) => ("(", ")"),
        (Mark::Taken, true) => ("█", "█"),
        (Mark::Taken, false) => ("#", "#"),
        (Mark::Skipped, true) => ("▒", "▒"),
        (Mark::Skipped, false) => ("/", "/"),
        (Mark::Next, true) => ("▶", "◀"),
        (Mark::Next, false) => (">", "<"),
        (Mark::Asked, _) => ("?", "?"),
    };
    format!("{left}{number}{right}")
}

/// A position as a box of three rows.
fn boxed(mark: Mark, number: &str, utf8: bool) -> Vec<String> {
    let wide = number.chars().count() + 2;
    let (corners, across, side, fill) = match (mark, utf8) {
        (Mark::Open, true) => (['┌', '┐', '└', '┘'], '─', '│', ' '),
        (Mark::Open, false) => (['+'; 4], '-', '|', ' '),
        (Mark::Taken, true) => (['█'; 4], '█', '█', '█'),
        (Mark::Taken, false) => (['#'; 4], '#', '#', '#'),
        (Mark::Skipped, true) => (['▒'; 4], '▒', '▒', '▒'),
        (Mark::Skipped, false) => (['/'; 4], '/', '/', '/'),
        (Mark::Next, true) => (['╔', '╗', '╚', '╝'], '═', '║', ' '),
        (Mark::Next, false) => (['*'; 4], '*', '*', ' '),
        (Mark::Asked, _) => (['?'; 4], '?', '?', ' '),
    };
    let edge: String = std::iter::repeat_n(across, wide).collect();
    let [a, b, c, d] = corners;
    vec![
        format!("{a}{edge}{b}"),
        format!("{side}{fill}{number}{fill}{side}"),
        format!("{c}{edge}{d}"),
    ]
}

/// In the middle: how many positions are taken, and which circle it is.
fn middle(check: &ViewCheck, circle: &Circle, buf: &mut Buffer, look: Look) {
    // The high side is named beside it.
    let wide = cell((circle.across * 2.0 - 5.0).max(0.0));
    let high = cell(circle.down).max(1);
    let taken = format!("{}/{}", check.taken, check.of);
    let lines = big(&taken, (wide, high), look.block()).unwrap_or_else(|| vec![taken]);
    let tall = count(lines.len());
    let top = cell(circle.y - f64::from(tall - 1) / 2.0);
    let centre = cell(circle.x);
    for (line, row) in lines.iter().zip(top..) {
        centred(buf, (centre, row), line, STRONG);
    }
    if let Some(text) = circle_words(check) {
        centred(buf, (centre, top + tall), &text, Style::new());
    }
}

/// The high side, where it is known.
fn high_side(check: &ViewCheck, circle: &Circle, buf: &mut Buffer) {
    let Some(angle) = check.verdict.as_ref().and_then(|verdict| verdict.high_mark_deg) else {
        return;
    };
    let (x, y) = circle.at(angle, 1.0);
    centred(buf, (cell(x), cell(y)), "HIGH", STRONG);
}

/// Positions in a row, along an axis.
fn row(check: &ViewCheck, shown: &[ViewPosition], area: Rect, buf: &mut Buffer, look: Look) {
    let digits = shown.iter().map(|one| one.position.to_string().len()).max().unwrap_or(1);
    let size = if usize::from(area.width) >= shown.len() * (digits + 5) && area.height > 4 {
        Size::Box
    } else {
        Size::Line
    };
    let (wide, high) = extent(size, digits);
    let each = (area.width / (wide + 1)).max(1);
    for (one, index) in shown.iter().zip(0_u16..) {
        let x = area.x + (index % each) * (wide + 1) + wide / 2;
        let y = area.y + 1 + (index / each) * (high + 1) + high / 2;
        if y + high / 2 < area.bottom() {
            marker(check, one, (f64::from(x), f64::from(y)), size, (buf, look));
        }
    }
    let taken = format!("{}/{}", check.taken, check.of);
    put(buf, (area.x, area.y), &taken, STRONG);
}
