//! A table as text, line by line.

use std::borrow::Cow;

use super::fit::Fit;
use super::{Fitted, GAP, Inked, Row, Table};
use crate::Ink;
use crate::wrap::{cell_lines, places};

/// The lines so far.
pub(super) struct Drawn<'t> {
    table: &'t Table,
    fit: &'t Fit,
    fitted: Fitted,
    /// The number of the next line.
    line: usize,
}

/// A cell as it stands in its column.
struct Shown {
    lines: Vec<String>,
    ink: Option<Ink>,
}

impl<'t> Drawn<'t> {
    pub(super) fn of(table: &'t Table, fit: &'t Fit) -> Self {
        let mut drawn = Self { table, fit, fitted: Fitted::default(), line: 0 };
        drawn.heading();
        table.rows.iter().for_each(|row| drawn.row(row));
        drawn
    }

    /// The text, with the headings of what found no room.
    pub(super) fn ended(mut self) -> Fitted {
        let title = |&at: &usize| self.table.columns[at].title.to_string();
        self.fitted.left_out = self.fit.left_out.iter().map(title).collect();
        self.fitted
    }

    fn heading(&mut self) {
        let columns = self.fit.kept.iter().zip(&self.fit.widths);
        let cells = columns.map(|(&at, &width)| Shown {
            lines: cell_lines(&self.table.columns[at].title, width),
            ink: None,
        });
        let cells: Vec<Shown> = cells.collect();
        self.lines(&cells);
    }

    fn row(&mut self, row: &Row) {
        let mut cells = Vec::with_capacity(self.fit.kept.len());
        for (place, (&at, &width)) in self.fit.kept.iter().zip(&self.fit.widths).enumerate() {
            let whole = row.cells.get(at).map_or("", String::as_str);
            let text = cut(whole, self.fit.most[place]);
            self.fitted.cut += usize::from(*text != *whole);
            let ink = row.inks.iter().find(|(inked, _)| *inked == at).map(|(_, ink)| *ink);
            cells.push(Shown { lines: cell_lines(&text, width), ink });
        }
        let from = self.line;
        self.lines(&cells);
        if row.faint {
            self.fitted.faint.extend(from..self.line);
        }
    }

    /// Writes cells beside each other, as many lines as the longest needs.
    fn lines(&mut self, cells: &[Shown]) {
        let height = cells.iter().map(|cell| cell.lines.len()).max().unwrap_or(0);
        for number in 0..height {
            let mut blanks = 0;
            for ((cell, &at), &width) in cells.iter().zip(&self.fit.kept).zip(&self.fit.widths) {
                let piece = cell.lines.get(number).map_or("", String::as_str);
                let free = width.saturating_sub(places(piece));
                let right = self.table.columns[at].right;
                let (before, behind) = if right { (free, 0) } else { (0, free) };
                blanks += before;
                if !piece.is_empty() {
                    self.blank(blanks);
                    let from = self.fitted.text.len();
                    self.fitted.text.push_str(piece);
                    let at = from..self.fitted.text.len();
                    self.fitted.inked.extend(cell.ink.map(|ink| Inked { at, ink }));
                    blanks = 0;
                }
                blanks += behind + GAP;
            }
            self.fitted.text.push('\n');
            self.line += 1;
        }
    }

    fn blank(&mut self, count: usize) {
        self.fitted.text.extend(std::iter::repeat_n(' ', count));
    }
}

/// A text no wider than `most` places; `…` ends what was cut.
fn cut(text: &str, most: usize) -> Cow<'_, str> {
    if places(text) <= most {
        return Cow::Borrowed(text);
    }
    let mut kept = String::new();
    let mut used = 1;
    for c in text.chars() {
        used += places(c.encode_utf8(&mut [0; 4]));
        if used > most {
            break;
        }
        kept.push(c);
    }
    kept.push('…');
    Cow::Owned(kept)
}
