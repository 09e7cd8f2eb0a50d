//! Which columns of a table find room, and how wide each is.

use super::{GAP, LAST, LONGEST, Table};
use crate::wrap::{places, widest_piece};

/// The least width that is left of a column of words in a window that is far too narrow.
const LEAST: usize = 4;

/// The columns that are shown, each with its width.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Fit {
    /// The columns that are shown.
    pub(super) kept: Vec<usize>,
    /// The width of each of them.
    pub(super) widths: Vec<usize>,
    /// The longest text in a cell of each; a longer one is cut. Below that, what is wider than its column goes on below.
    pub(super) most: Vec<usize>,
    /// The columns that found no room, those first that are missed least.
    pub(super) left_out: Vec<usize>,
}

/// What a column asks for.
#[derive(Debug, Clone, Copy)]
struct Asked {
    /// Its widest cell.
    full: usize,
    /// What it gets before other columns have to go.
    fair: usize,
    /// What it can be pressed to: with breaks between words and between part and check, behind each hyphen, too, and
    /// anywhere in a word. The digits of a number are never parted.
    pressed: [usize; 3],
}

impl Fit {
    /// Fits a table into a width. Columns are left out by their rank, those first that can be spared most, until the
    /// rest fits; what fits into the room that is left then comes back, those first that are missed most. What
    /// tells two rows apart is never left out: its cells are broken over several lines instead.
    pub(super) fn of(table: &Table, width: Option<usize>) -> Self {
        let told: Vec<usize> =
            (0..table.columns.len()).filter(|&at| table.says_something(at)).collect();
        let asked: Vec<Asked> =
            (0..table.columns.len()).map(|at| Asked::of(table, at, width)).collect();
        let Some(width) = width else {
            let widths: Vec<usize> = told.iter().map(|&at| asked[at].full).collect();
            return Self {
                kept: told,
                most: vec![LONGEST; widths.len()],
                widths,
                left_out: Vec::new(),
            };
        };
        let by_rank = Self::by_rank(table, &told);
        let mut kept = told;
        let mut left_out = Vec::new();
        for at in by_rank {
            if least_width(table, &asked, &kept) <= width {
                break;
            }
            kept.retain(|&other| other != at);
            left_out.push(at);
        }
        for place in (0..left_out.len()).rev() {
            let mut with = kept.clone();
            with.push(left_out[place]);
            with.sort_unstable();
            if least_width(table, &asked, &with) <= width {
                kept = with;
                left_out.remove(place);
            }
        }
        let widths = widths(table, &asked, &kept, width);
        let most = |(place, &at): (usize, &usize)| {
            let column = &table.columns[at];
            let goes_on = place + 1 == kept.len() || column.key || column.drawn;
            if goes_on { LONGEST } else { widths[place].max(asked[at].fair) }
        };
        let most = kept.iter().enumerate().map(most).collect();
        Self { kept, widths, most, left_out }
    }

    /// The columns that may be left out, the one first that can be spared most; of two of the same rank the one
    /// further right.
    pub(super) fn by_rank(table: &Table, told: &[usize]) -> Vec<usize> {
        let may_go = |at: &usize| {
            let column = &table.columns[*at];
            column.spare > 0 && !(column.key && table.tells_apart(*at))
        };
        let mut all: Vec<usize> = told.iter().copied().filter(may_go).collect();
        all.sort_by_key(|&at| std::cmp::Reverse((table.columns[at].spare, at)));
        all
    }
}

impl Asked {
    fn of(table: &Table, at: usize, width: Option<usize>) -> Self {
        let column = &table.columns[at];
        let cells = || table.rows.iter().filter_map(|row| row.cells.get(at));
        let widest = |of: fn(&str) -> usize| cells().map(|cell| of(cell)).max().unwrap_or(0);
        let full = widest(places).clamp(places(&column.title), LONGEST.max(places(&column.title)));
        let most = width.map_or(LONGEST, |width| (width / 3).clamp(LAST, LONGEST));
        let whole = column.key || column.drawn;
        let fair = if whole { full } else { full.min(most) };
        let pressed = |level: usize| {
            let piece = |cell: &String| {
                if column.right || column.drawn { places(cell) } else { widest_piece(cell, level) }
            };
            let cells = cells().map(piece).max().unwrap_or(0);
            cells.max(widest_piece(&column.title, level)).min(fair)
        };
        let by_words = [pressed(0), pressed(1)];
        let anywhere =
            if column.right || column.drawn { by_words[1] } else { by_words[1].min(LEAST) };
        Self { full, fair, pressed: [by_words[0], by_words[1], anywhere] }
    }
}

/// The width of some columns: the last one needs no more than some of it, since it may go on below.
fn least_width(table: &Table, asked: &[Asked], kept: &[usize]) -> usize {
    let sum: usize = kept.iter().map(|&at| asked[at].fair + GAP).sum();
    let spared = kept.last().map_or(0, |&at| asked[at].fair - last_least(table, asked[at], at));
    sum.saturating_sub(GAP) - spared
}

/// What the last column needs at least.
fn last_least(table: &Table, asked: Asked, at: usize) -> usize {
    let column = &table.columns[at];
    if column.right || column.drawn { asked.fair } else { asked.fair.min(LAST) }
}

/// How wide each column is. Room that is left goes to cells that would be cut, the leftmost first.
fn widths(table: &Table, asked: &[Asked], kept: &[usize], width: usize) -> Vec<usize> {
    let room = width.saturating_sub(GAP * kept.len().saturating_sub(1));
    let mut widths: Vec<usize> = kept.iter().map(|&at| asked[at].fair).collect();
    let over = |widths: &[usize]| widths.iter().sum::<usize>().saturating_sub(room);
    if let Some((last, &at)) = widths.last_mut().zip(kept.last()) {
        let least = last_least(table, asked[at], at);
        let others: usize = kept.iter().rev().skip(1).map(|&at| asked[at].fair).sum();
        *last = room.saturating_sub(others).clamp(least, (*last).max(least));
    }
    for level in 0..3 {
        press(&mut widths, over, |place| asked[kept[place]].pressed[level]);
    }
    let mut left = room.saturating_sub(widths.iter().sum());
    for (place, &at) in kept.iter().enumerate() {
        let more = asked[at].full.saturating_sub(widths[place]).min(left);
        widths[place] += more;
        left -= more;
    }
    widths
}

/// Takes from the widest column as long as there is too little room, but no more than it can give.
fn press(widths: &mut [usize], over: impl Fn(&[usize]) -> usize, least: impl Fn(usize) -> usize) {
    while over(widths) > 0 {
        let gives = |place: &usize| widths[*place] > least(*place);
        let Some(place) = (0..widths.len()).filter(gives).max_by_key(|&place| widths[place]) else {
            return;
        };
        widths[place] -= 1;
    }
}
