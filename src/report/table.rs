//! Tables that fit the window, and say what they left out to fit.

use comfy_table::{CellAlignment, ContentArrangement, presets};

use wire::printable;

/// A column of a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// Its heading.
    pub title: &'static str,
    /// Whether its cells are aligned to the right, as numbers are.
    pub right: bool,
    /// Which columns go first when there is no room: the highest number first; 0 always stays.
    pub spare: u8,
}

impl Column {
    /// A column of words.
    #[must_use]
    pub const fn words(title: &'static str, spare: u8) -> Self {
        Self { title, right: false, spare }
    }

    /// A column of numbers.
    #[must_use]
    pub const fn number(title: &'static str, spare: u8) -> Self {
        Self { title, right: true, spare }
    }
}

/// A table of texts. Whatever comes from outside is escaped when it is added.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    columns: Vec<Column>,
    rows: Vec<Vec<String>>,
    /// Whether each row is shown faintly, because it counts no longer.
    faint: Vec<bool>,
}

/// A table as text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fitted {
    /// Its lines, each ended.
    pub text: String,
    /// The headings of the columns that had no room.
    pub left_out: Vec<&'static str>,
    /// How many cells were cut; each ends in `…`.
    pub cut: usize,
    /// The lines of rows that count no longer, counted from 0.
    pub faint: Vec<usize>,
}

/// The longest text of a cell; a longer one is cut, so that it does not push everything else out of sight.
const LONGEST: usize = 200;

/// Blanks between two columns.
const GAP: usize = 2;
/// The least width worth giving to the last column, which may wrap.
const LAST: usize = 20;

impl Table {
    /// An empty table.
    #[must_use]
    pub fn new(columns: &[Column]) -> Self {
        Self { columns: columns.to_vec(), rows: Vec::new(), faint: Vec::new() }
    }

    /// Adds a row, a cell for each column.
    pub fn push(&mut self, cells: &[String]) {
        self.push_as(cells, false);
    }

    /// Adds a row, shown faintly where it counts no longer; its words say why.
    pub fn push_as(&mut self, cells: &[String], faint: bool) {
        self.rows.push(cells.iter().map(|cell| printable(cell)).collect());
        self.faint.push(faint);
    }

    /// Whether it has no rows.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The table as text, no wider than `width` characters. Without a width nothing is left out, and only
    /// very long cells are cut.
    #[must_use]
    pub fn fitted(&self, width: Option<usize>) -> Fitted {
        let shown = self.cut(width);
        let cut = self.rows.iter().flatten().zip(shown.rows.iter().flatten());
        let cut = cut.filter(|(whole, shown)| whole != shown).count();
        let mut kept: Vec<usize> =
            (0..self.columns.len()).filter(|&at| self.says_something(at)).collect();
        let mut left_out = Vec::new();
        if let Some(width) = width {
            while shown.least_width(&kept) > width {
                let Some(place) = self.most_spare(&kept) else { break };
                left_out.push(self.columns[kept.remove(place)].title);
            }
        }
        let text = shown.drawn(&kept, width);
        let first = kept.first().map_or(0, |&at| shown.width_of(at));
        Fitted { faint: self.faint_lines(&text, first), text, left_out, cut }
    }

    /// The same with long cells cut: all columns but the last have to share a line.
    fn cut(&self, width: Option<usize>) -> Self {
        let most = width.map_or(LONGEST, |width| (width / 3).clamp(LAST, LONGEST));
        let last = self.columns.len().saturating_sub(1);
        let cut = |(at, cell): (usize, &String)| {
            let most = if at == last { LONGEST } else { most };
            if cell.chars().count() <= most {
                return cell.clone();
            }
            cell.chars().take(most.saturating_sub(1)).chain(['…']).collect()
        };
        let rows = self.rows.iter().map(|row| row.iter().enumerate().map(cut).collect());
        Self { columns: self.columns.clone(), rows: rows.collect(), faint: self.faint.clone() }
    }

    /// The lines of the rows that count no longer. A row whose last cell is long continues on the next
    /// lines, with blanks in place of its first cell.
    fn faint_lines(&self, text: &str, first: usize) -> Vec<usize> {
        let mut row = None;
        let mut found = Vec::new();
        for (at, line) in text.lines().enumerate().skip(1) {
            if line.chars().take(first).any(|c| !c.is_whitespace()) {
                row = Some(row.map_or(0, |row: usize| row + 1));
            }
            if row.and_then(|row| self.faint.get(row)).is_some_and(|faint| *faint) {
                found.push(at);
            }
        }
        found
    }

    /// Whether a column has any text; without one it is left out first.
    fn says_something(&self, at: usize) -> bool {
        self.rows.iter().any(|row| row.get(at).is_some_and(|cell| !cell.is_empty()))
    }

    /// The index in `kept` of the column that can go first, if any can.
    fn most_spare(&self, kept: &[usize]) -> Option<usize> {
        let spare = |place: &usize| self.columns[kept[*place]].spare;
        (0..kept.len()).filter(|place| spare(place) > 0).max_by_key(spare)
    }

    /// The width of some columns, with the last one wrapped.
    fn least_width(&self, kept: &[usize]) -> usize {
        let sum: usize = kept.iter().map(|&at| self.width_of(at) + GAP).sum();
        let last = kept.last().map_or(0, |&at| self.width_of(at));
        sum.saturating_sub(GAP) - last.saturating_sub(LAST)
    }

    fn width_of(&self, at: usize) -> usize {
        let cells = self.rows.iter().filter_map(|row| row.get(at));
        let widest = cells.map(|cell| cell.chars().count()).max().unwrap_or(0);
        widest.max(self.columns[at].title.chars().count())
    }

    fn drawn(&self, kept: &[usize], width: Option<usize>) -> String {
        let mut table = comfy_table::Table::new();
        table.load_style(presets::NOTHING);
        table.set_header(kept.iter().map(|&at| self.columns[at].title));
        for row in &self.rows {
            table.add_row(kept.iter().map(|&at| row.get(at).map_or("", String::as_str)));
        }
        if let Some(width) = width.and_then(|width| u16::try_from(width).ok()) {
            table.set_content_arrangement(ContentArrangement::Dynamic).set_width(width);
        }
        let gap = u16::try_from(GAP).unwrap_or(2);
        for (place, &at) in kept.iter().enumerate() {
            let Some(column) = table.column_mut(place) else { continue };
            column.set_padding((0, if place + 1 == kept.len() { 0 } else { gap }));
            if self.columns[at].right {
                column.set_cell_alignment(CellAlignment::Right);
            }
        }
        let mut text = String::new();
        for line in table.lines() {
            text.push_str(line.trim_end());
            text.push('\n');
        }
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table() -> Table {
        let mut table = Table::new(&[
            Column::number("id", 0),
            Column::words("gauge", 2),
            Column::words("empty", 0),
            Column::number("value", 0),
            Column::words("why", 1),
        ]);
        let row = |cells: [&str; 5]| cells.map(str::to_owned);
        table.push(&row(["9", "plate", "", "0.00012", ""]));
        table.push(&row(["10", "height", "", "-0.5", "taken back: a chip lay under it\u{1b}[2J"]));
        table
    }

    #[test]
    fn with_room_everything_is_told() {
        let Fitted { text, left_out, cut, .. } = table().fitted(None);
        assert_eq!(cut, 0);
        let expected = concat!(
            "id  gauge     value  why\n",
            " 9  plate   0.00012\n",
            "10  height     -0.5  taken back: a chip lay under it\\x1b[2J\n",
        );
        assert_eq!(text, expected);
        assert!(left_out.is_empty());
    }

    #[test]
    fn in_a_narrow_window_columns_go_by_rank_and_are_named() {
        let Fitted { text, left_out, .. } = table().fitted(Some(36));
        assert_eq!(left_out, ["gauge"]);
        assert!(text.lines().all(|line| line.chars().count() <= 36), "{text}");
        assert!(text.contains("a chip lay"), "{text}");
        let Fitted { text, left_out, .. } = table().fitted(Some(12));
        assert_eq!(left_out, ["gauge", "why"]);
        assert!(text.contains("0.00012") && text.contains("10"), "{text}");
    }

    #[test]
    fn one_very_long_text_leaves_the_others_in_sight() {
        let mut table = table();
        let hostile = format!("{}\u{202e}\u{1b}[31m\n", "x".repeat(10_000));
        let row = ["11", &hostile, "", "0.1", &hostile].map(str::to_owned);
        table.push(&row);
        for width in [None, Some(60), Some(80), Some(200)] {
            let Fitted { text, cut, .. } = table.fitted(width);
            assert_eq!(cut, 2);
            assert!(text.contains("0.00012") && text.contains('…'), "{text}");
            assert!(!text.contains('\u{1b}') && !text.contains('\u{202e}'));
            let widest = text.lines().map(|line| line.chars().count()).max().unwrap();
            assert!(widest <= width.unwrap_or(450), "{width:?}: {widest}");
        }
    }
}
