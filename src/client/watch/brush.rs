//! How a text is written on the screen: its style, its rows, and where it is cut. Every part of the screen
//! uses these functions; they know nothing of what the text says.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Color, Modifier, Style};

use super::super::screen::Ink;
use super::big::big;

/// Marks where a text was cut, until the whole screen is drawn; no text contains it.
const CUT: char = '\u{e000}';

/// The style of text that must be read.
pub(super) const STRONG: Style = Style::new().add_modifier(Modifier::BOLD);

/// What this terminal can do, and whether blinking text is lit at the moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Look {
    pub(super) utf8: bool,
    pub(super) colour: bool,
    pub(super) blink: bool,
}

impl Look {
    /// The character that fills large letters.
    pub(super) const fn block(self) -> char {
        if self.utf8 { '█' } else { '#' }
    }

    pub(super) fn ink(self, ink: Ink) -> Style {
        let colour = match ink {
            Ink::Green => Color::Green,
            Ink::Red => Color::Red,
            Ink::Yellow => Color::Yellow,
        };
        if self.colour { STRONG.fg(colour) } else { STRONG }
    }
}

/// Puts dots where a text was cut: one sign, or three where the terminal has only ASCII.
pub(super) fn show_cuts(look: Look, buf: &mut Buffer) {
    let cut = String::from(CUT);
    for at in 0..buf.content.len() {
        if buf.content[at].symbol() != cut {
            continue;
        }
        if look.utf8 {
            buf.content[at].set_symbol("…");
        } else {
            let dots = at.saturating_sub(2)..=at;
            for cell in &mut buf.content[dots] {
                cell.set_symbol(".");
            }
        }
    }
}

/// The rest of a place below this many rows.
pub(super) fn below(area: Rect, used: u16) -> Rect {
    Rect { y: area.y + used.min(area.height), height: area.height.saturating_sub(used), ..area }
}

/// Writes a text as large as fits; returns the rows it took.
pub(super) fn put_big(
    buf: &mut Buffer,
    area: Rect,
    text: &str,
    room: (u16, u16),
    (look, style): (Look, Style),
) -> u16 {
    let rows = big(text, room, look.block()).unwrap_or_else(|| vec![text.to_owned()]);
    put_rows(buf, area, &rows, style)
}

/// Writes rows one below the other, each cut to the width; returns the rows it took.
pub(super) fn put_rows(buf: &mut Buffer, area: Rect, rows: &[String], style: Style) -> u16 {
    for (row, y) in rows.iter().zip(area.y..area.bottom()) {
        put_within(buf, (area.x, y), row, area.width, style);
    }
    u16::try_from(rows.len()).unwrap_or(u16::MAX).min(area.height)
}

/// Writes a text over as many rows as it needs; returns the rows it took.
pub(super) fn wrapped(buf: &mut Buffer, area: Rect, text: &str, style: Style) -> u16 {
    let rows = rows_of(text, area.width, usize::from(area.height));
    for (row, y) in rows.iter().zip(area.y..area.bottom()) {
        put_within(buf, (area.x, y), row, area.width, style);
    }
    u16::try_from(rows.len()).unwrap_or(u16::MAX).min(area.height)
}

/// A text in rows of at most this many characters, and at most this many rows.
pub(super) fn rows_of(text: &str, width: u16, most: usize) -> Vec<String> {
    let mut row = String::new();
    let mut rows = Vec::new();
    for word in text.split_whitespace() {
        if !row.is_empty() && wide(&row) + wide(word) + 1 > width {
            rows.push(std::mem::take(&mut row));
        }
        if !row.is_empty() {
            row.push(' ');
        }
        row.push_str(word);
    }
    rows.push(row);
    let most = most.max(1);
    if rows.len() > most {
        // Text that finds no row is cut off the last one.
        let rest = rows.split_off(most - 1).join(" ");
        rows.push(rest);
    }
    rows
}

/// The number of characters of a text.
pub(super) fn wide(text: &str) -> u16 {
    u16::try_from(text.chars().count()).unwrap_or(u16::MAX)
}

/// Writes a text in the middle of a place.
pub(super) fn centred(buf: &mut Buffer, (x, y): (u16, u16), text: &str, style: Style) {
    put(buf, (x.saturating_sub(wide(text) / 2), y), text, style);
}

/// Writes a text; the part outside the screen is left out. What stood there before is covered, its style too.
pub(super) fn put(buf: &mut Buffer, (x, y): (u16, u16), text: &str, style: Style) {
    let area = buf.area;
    if y >= area.top() && y < area.bottom() && x >= area.left() && x < area.right() {
        buf.set_string(x, y, text, Style::reset().patch(style));
    }
}

/// Writes a text, at most `room` characters of it, with a mark where it was cut.
pub(super) fn put_within(buf: &mut Buffer, at: (u16, u16), text: &str, room: u16, style: Style) {
    let cut = wide(text) > room;
    let whole = room.saturating_sub(u16::from(cut));
    let mut shown: String = text.chars().take(usize::from(whole)).collect();
    if cut && room > 0 {
        shown.push(CUT);
    }
    put(buf, at, &shown, style);
}
