//! Tables that fit the window, and say what they left out to fit.

mod draw;
mod fit;
mod markup;

use std::borrow::Cow;
use std::ops::Range;

use wire::printable;

use self::draw::Drawn;
use self::fit::Fit;
use crate::Ink;

/// A column of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its heading.
    pub title: Cow<'static, str>,
    /// Whether its cells are aligned to the right, as numbers are.
    pub right: bool,
    /// Which columns go first when there is no room: the highest number first; 0 always stays.
    pub spare: u8,
    /// Whether it tells rows apart. It stays where its cells differ, whatever its rank.
    pub key: bool,
    /// Whether its cells are drawn: they stand whole or not at all.
    pub drawn: bool,
}

impl Column {
    /// A column of words.
    #[must_use]
    pub const fn words(title: &'static str, spare: u8) -> Self {
        Self { title: Cow::Borrowed(title), right: false, spare, key: false, drawn: false }
    }

    /// A column of numbers.
    #[must_use]
    pub const fn number(title: &'static str, spare: u8) -> Self {
        Self { title: Cow::Borrowed(title), right: true, spare, key: false, drawn: false }
    }

    /// A column of bars and the like.
    #[must_use]
    pub fn drawn(title: &'static str, spare: u8) -> Self {
        Self { drawn: true, ..Self::words(title, spare) }
    }

    /// The same, for what tells two rows apart.
    #[must_use]
    pub fn key(self) -> Self {
        Self { key: true, ..self }
    }
}

/// A table of texts. Whatever comes from outside is escaped when it is added.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    columns: Vec<Column>,
    rows: Vec<Row>,
    /// Whether a person chose its columns: then one without any text stands there, too.
    chosen: bool,
}

/// A column that a person asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Chosen {
    /// One that the table has, counted from 0.
    Own(usize),
    /// Another one, with its cells from the first row on.
    Other(Column, Vec<String>),
}

#[derive(Debug, Clone, PartialEq, Eq)]
struct Row {
    cells: Vec<String>,
    /// Whether it is shown faintly, because it counts no longer.
    faint: bool,
    /// The colours of some cells.
    inks: Vec<(usize, Ink)>,
}

/// A table as text.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Fitted {
    /// Its lines, each ended.
    pub text: String,
    /// The headings of the columns that had no room.
    pub left_out: Vec<String>,
    /// How many cells were cut; each ends in `…`.
    pub cut: usize,
    /// The lines of rows that count no longer, counted from 0.
    pub faint: Vec<usize>,
    /// The words that have a colour, in the order of the text.
    pub inked: Vec<Inked>,
}

/// A word that has a colour.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Inked {
    /// Where it stands in the text, in bytes.
    pub at: Range<usize>,
    /// Its colour.
    pub ink: Ink,
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
        Self { columns: columns.to_vec(), rows: Vec::new(), chosen: false }
    }

    /// Adds a row, a cell for each column.
    pub fn push(&mut self, cells: &[String]) {
        self.push_as(cells, false);
    }

    /// Adds a row, shown faintly where it counts no longer; its words say why.
    pub fn push_as(&mut self, cells: &[String], faint: bool) {
        let cells = cells.iter().map(|cell| printable(cell)).collect();
        self.rows.push(Row { cells, faint, inks: Vec::new() });
    }

    /// Puts a column before all others, with its cells from the first row on.
    pub fn put_first(&mut self, column: Column, cells: impl IntoIterator<Item = String>) {
        self.columns.insert(0, column);
        for (row, cell) in self.rows.iter_mut().zip(cells) {
            row.cells.insert(0, printable(&cell));
            for (at, _) in &mut row.inks {
                *at += 1;
            }
        }
    }

    /// Gives a cell of the newest row a colour; its column is named by its heading.
    pub fn ink(&mut self, title: &str, ink: Ink) {
        let at = self.columns.iter().position(|column| column.title == title);
        if let (Some(at), Some(row)) = (at, self.rows.last_mut()) {
            row.inks.push((at, ink));
        }
    }

    /// The headings.
    pub fn titles(&self) -> impl Iterator<Item = &str> {
        self.columns.iter().map(|column| &*column.title)
    }

    /// The headings of the columns that may be left out whatever stands in them, in that order.
    pub fn left_out_first(&self) -> impl Iterator<Item = &str> {
        let all: Vec<usize> = (0..self.columns.len()).collect();
        let may_go = Fit::by_rank(self, &all).into_iter().map(|at| &self.columns[at]);
        may_go.filter(|column| !column.key).map(|column| &*column.title)
    }

    /// The same rows with the columns that a person chose, in that order. Where there is no room for all of them the
    /// one goes first that was named last; the first one always stays.
    #[must_use]
    pub fn chosen(&self, which: &[Chosen]) -> Self {
        let column = |(place, one): (usize, &Chosen)| {
            let column = match one {
                Chosen::Own(at) => &self.columns[*at],
                Chosen::Other(column, _) => column,
            };
            Column { spare: u8::try_from(place).unwrap_or(u8::MAX), ..column.clone() }
        };
        let row = |(number, row): (usize, &Row)| {
            let cell = |one: &Chosen| match one {
                Chosen::Own(at) => row.cells.get(*at).cloned().unwrap_or_default(),
                Chosen::Other(_, cells) => {
                    cells.get(number).map_or_else(String::new, |one| printable(one))
                }
            };
            let place = |at: usize| which.iter().position(|one| *one == Chosen::Own(at));
            let inks = row.inks.iter().filter_map(|&(at, ink)| Some((place(at)?, ink))).collect();
            Row { cells: which.iter().map(cell).collect(), faint: row.faint, inks }
        };
        Self {
            columns: which.iter().enumerate().map(column).collect(),
            rows: self.rows.iter().enumerate().map(row).collect(),
            chosen: true,
        }
    }

    /// Whether it has no rows.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The table as text, no wider than `width` places. Without a width nothing is left out, and only
    /// very long cells are cut.
    #[must_use]
    pub fn fitted(&self, width: Option<usize>) -> Fitted {
        let fit = Fit::of(self, width);
        Drawn::of(self, &fit).ended()
    }

    /// Whether a column has any text; without one it is left out first.
    fn says_something(&self, at: usize) -> bool {
        self.chosen
            || self.rows.iter().any(|row| row.cells.get(at).is_some_and(|cell| !cell.is_empty()))
    }

    /// Whether the cells of a column differ.
    fn tells_apart(&self, at: usize) -> bool {
        self.rows.windows(2).any(|two| two[0].cells.get(at) != two[1].cells.get(at))
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

    /// Three tries at two checks, none of which is told apart by anything else.
    fn tries() -> Table {
        let mut table = Table::new(&[
            Column::number("id", 6),
            Column::words("check", 0).key(),
            Column::number("try", 4).key(),
            Column::words("verdict", 0),
            Column::words("remarks", 2),
        ]);
        for (id, check, try_, word) in [
            ("107", "inner-spacer/face-a", "1", "DOES NOT CONFORM"),
            ("118", "inner-spacer/face-a", "2", "UNDECIDED"),
            ("131", "inner-spacer/face-b", "2", "CONFORMS"),
        ] {
            table.push(&[id, check, try_, word, "not closed"].map(str::to_owned));
            table.ink("verdict", Ink::Red);
        }
        table
    }

    #[test]
    fn what_tells_two_rows_apart_stays_and_goes_on_below() {
        let Fitted { text, left_out, cut, .. } = tries().fitted(Some(34));
        assert_eq!((left_out.join(" "), cut), ("id remarks".to_owned(), 0));
        let expected = "\
check           try  verdict
inner-spacer/     1  DOES NOT
face-a               CONFORM
inner-spacer/     2  UNDECIDED
face-a
inner-spacer/     2  CONFORMS
face-b
";
        assert_eq!(text, expected);
        let mut alike = Table::new(&[Column::words("check", 0), Column::number("try", 4).key()]);
        for check in ["inner-spacer/face-a", "inner-spacer/face-b"] {
            alike.push(&[check, "1"].map(str::to_owned));
        }
        assert_eq!(alike.fitted(Some(20)).left_out, ["try"]);
    }

    #[test]
    fn what_fits_into_the_room_that_is_left_comes_back() {
        let mut table = Table::new(&[
            Column::words("check", 0),
            Column::words("gauge", 3),
            Column::words("customer", 2),
            Column::number("value", 0),
        ]);
        table.push(&["ring/face", "plate", "Sedge & Daughters", "0.0001"].map(str::to_owned));
        // The gauge goes first; without the customer, who needs more, there is room for it again.
        let Fitted { text, left_out, .. } = table.fitted(Some(30));
        assert_eq!(left_out, ["customer"]);
        assert_eq!(text, "check      gauge   value\nring/face  plate  0.0001\n");
    }

    #[test]
    fn a_colour_lies_on_the_word_alone_in_each_of_its_lines() {
        let fitted = tries().fitted(Some(34));
        let words: Vec<&str> =
            fitted.inked.iter().map(|inked| &fitted.text[inked.at.clone()]).collect();
        assert_eq!(words, ["DOES NOT", "CONFORM", "UNDECIDED", "CONFORMS"]);
    }

    #[test]
    fn chosen_columns_stand_in_the_order_they_were_named() {
        let gauges = ["plate", "plate", ""].map(str::to_owned).to_vec();
        let other = Chosen::Other(Column::words("gauge", 0), gauges);
        let chosen = tries().chosen(&[Chosen::Own(3), other, Chosen::Own(0)]);
        let fitted = chosen.fitted(None);
        let expected = "\
verdict           gauge   id
DOES NOT CONFORM  plate  107
UNDECIDED         plate  118
CONFORMS                 131
";
        assert_eq!(fitted.text, expected);
        assert_eq!(fitted.inked.len(), 3);
        assert_eq!(chosen.fitted(Some(22)).left_out, ["gauge"]);
        assert_eq!(chosen.fitted(Some(18)).left_out, ["id", "gauge"]);
    }

    #[test]
    fn wide_letters_take_two_places() {
        let mut table = Table::new(&[Column::words("for", 0), Column::number("n", 0)]);
        table.push(&["軸受", "1"].map(str::to_owned));
        table.push(&["ab", "2"].map(str::to_owned));
        assert_eq!(table.fitted(None).text, "for   n\n軸受  1\nab    2\n");
    }
}
