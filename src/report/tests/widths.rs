//! Tables at any width.

use proptest::prelude::*;

use crate::{Column, Fitted, Table};

fn table(cells: &[Vec<String>], spare: &[u8]) -> Table {
    const TITLES: [&str; 6] = ["id", "check", "verdict", "value", "limit", "remarks"];
    let columns: Vec<Column> = TITLES
        .iter()
        .zip(spare)
        .map(|(title, spare)| Column { right: *title == "value", ..Column::words(title, *spare) })
        .collect();
    let mut table = Table::new(&columns);
    for (at, row) in cells.iter().enumerate() {
        table.push_as(row, at % 2 == 1);
    }
    table
}

fn cells() -> impl Strategy<Value = Vec<Vec<String>>> {
    prop::collection::vec(prop::collection::vec("[a-z0-9 µ.]{0,12}[a-z]", 6..=6), 1..8)
}

proptest! {
    #[test]
    fn without_a_width_everything_is_told(cells in cells(), spare in prop::collection::vec(0_u8..9, 6..=6)) {
        let Fitted { text, left_out, cut, .. } = table(&cells, &spare).fitted(None);
        prop_assert_eq!((left_out.len(), cut), (0, 0));
        for cell in cells.iter().flatten() {
            prop_assert!(text.contains(cell.trim()), "{cell:?} in\n{text}");
        }
        prop_assert_eq!(text.lines().count(), cells.len() + 1);
    }

    #[test]
    fn in_a_window_no_line_is_wider_and_what_must_stay_stays(
        cells in cells(),
        spare in prop::collection::vec(1_u8..9, 6..=6),
        width in 24_usize..120,
    ) {
        let mut spare = spare;
        // The word and the figure stay whatever happens.
        (spare[2], spare[3]) = (0, 0);
        let Fitted { text, left_out, .. } = table(&cells, &spare).fitted(Some(width));
        let heading = text.lines().next().unwrap();
        for (title, spare) in ["id", "check", "verdict", "value", "limit", "remarks"].iter().zip(&spare) {
            let told = heading.split_whitespace().any(|word| word == *title);
            let left = left_out.iter().any(|left| left == title);
            prop_assert!(told != left, "{title} in {heading:?} or {left_out:?}");
            prop_assert!(told || *spare > 0, "{title} went although it must stay");
        }
        // What goes first is what is missed least.
        let rank = |title: &String| {
            let titles = ["id", "check", "verdict", "value", "limit", "remarks"];
            spare[titles.iter().position(|one| one == title).unwrap()]
        };
        let ranks: Vec<u8> = left_out.iter().map(rank).collect();
        prop_assert!(ranks.windows(2).all(|two| two[0] >= two[1]), "{ranks:?}");
        if width >= 40 {
            let widest = text.lines().map(|line| line.chars().count()).max().unwrap();
            prop_assert!(widest <= width, "{widest} in {width}\n{text}");
        }
    }

    #[test]
    fn a_faint_row_is_faint_in_every_line_of_it(
        words in prop::collection::vec(0_usize..40, 1..8),
        width in 40_usize..90,
    ) {
        let cells: Vec<Vec<String>> = words
            .iter()
            .enumerate()
            .map(|(at, words)| {
                let first = format!("r{at}");
                let last = vec!["word"; words + 1].join(" ");
                [first, "c".into(), "v".into(), "1".into(), "2".into(), last].into()
            })
            .collect();
        let Fitted { text, faint, .. } = table(&cells, &[0, 9, 8, 7, 6, 0]).fitted(Some(width));
        let mut row = None;
        for (at, line) in text.lines().enumerate().skip(1) {
            if let Some(number) = line.strip_prefix('r') {
                let digits: String = number.chars().take_while(char::is_ascii_digit).collect();
                row = Some(digits.parse::<usize>().unwrap());
            }
            prop_assert_eq!(faint.contains(&at), row.unwrap() % 2 == 1, "line {} of\n{}", at, text);
        }
    }
}
