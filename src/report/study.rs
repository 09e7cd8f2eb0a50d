//! A study of hands and parts, drawn: where the readings of each hand on each part lie, and what scatters
//! how much. As text for a terminal, and as SVG that loads nothing.

use maud::{Markup, html};

/// What is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture<'a> {
    /// The hands.
    pub hands: &'a [String],
    /// The parts.
    pub parts: &'a [String],
    /// The readings: by part, within it by hand.
    pub readings: Vec<Vec<&'a [f64]>>,
    /// What scatters how much, percent of the whole, each with its word.
    pub shares: Vec<(&'static str, f64)>,
    /// What stands at both ends of the axis of the readings.
    pub ends: [String; 2],
}

/// The marks of hands on a terminal; later hands begin anew.
const MARKS: [char; 8] = ['A', 'B', 'C', 'D', 'E', 'F', 'G', 'H'];
/// Their colours in a picture, told apart in grey as well, since each has its letter beside it.
const COLOURS: [&str; 6] = ["#1b4f72", "#b9770e", "#1d6f42", "#7b241c", "#5b2c6f", "#424949"];

/// The mark of a hand.
#[must_use]
pub fn mark(hand: usize) -> char {
    MARKS[hand % MARKS.len()]
}

impl Picture<'_> {
    /// The lowest and the highest reading; half a unit to each side of readings that are all alike.
    fn span(&self) -> (f64, f64) {
        let all = self.readings.iter().flatten().flat_map(|cell| cell.iter().copied());
        let low = all.clone().fold(f64::INFINITY, f64::min);
        let high = all.fold(f64::NEG_INFINITY, f64::max);
        if high > low { (low, high) } else { (low - 0.5, high + 0.5) }
    }

    /// Where a reading lies between both ends, 0 to 1.
    fn place(&self, reading: f64) -> f64 {
        let (low, high) = self.span();
        (reading - low) / (high - low)
    }

    /// The drawing as text, so many columns wide at most.
    #[must_use]
    pub fn text(&self, columns: usize) -> String {
        let name = self.parts.iter().map(|part| part.chars().count()).max().unwrap_or(0).min(16);
        let wide = columns.saturating_sub(name + 3).clamp(20, 72);
        let mut drawn = String::new();
        for (part, by_hand) in self.parts.iter().zip(&self.readings) {
            let mut row = vec![' '; wide];
            for (hand, cell) in by_hand.iter().enumerate() {
                for reading in *cell {
                    let at = column(self.place(*reading), wide);
                    row[at] = match row[at] {
                        ' ' => mark(hand),
                        there if there == mark(hand) => there,
                        _ => '*',
                    };
                }
            }
            let part: String = part.chars().take(name).collect();
            let line = format!("{part:>name$} |{}", row.into_iter().collect::<String>());
            drawn.push_str(line.trim_end());
            drawn.push('\n');
        }
        let [low, high] = &self.ends;
        let between = wide.saturating_sub(low.chars().count() + high.chars().count());
        drawn + &format!("{:>name$}  {low}{:between$}{high}\n", "", "")
    }

    /// A bar for a share of the whole, 30 columns long for all of it.
    #[must_use]
    pub fn bar(percent: f64) -> String {
        "#".repeat(column(percent / 100.0, 31))
    }

    /// The drawing as SVG.
    #[must_use]
    pub fn svg(&self) -> String {
        const LEFT: f64 = 150.0;
        const WIDE: f64 = 520.0;
        const ROW: f64 = 22.0;
        let rows = f64::from(u32::try_from(self.parts.len()).unwrap_or(u32::MAX));
        let shares = f64::from(u32::try_from(self.shares.len()).unwrap_or(u32::MAX));
        let (top, bars) = (56.0, 56.0 + rows * ROW + 40.0);
        let height = bars + shares * ROW + 16.0;
        let view = format!("0 0 {} {height}", LEFT + WIDE + 80.0);
        let drawn = html! {
            svg xmlns="http://www.w3.org/2000/svg" viewBox=(view) role="img"
                font-family="sans-serif" font-size="13" fill="#16191d" {
                title { "Readings of each hand on each part, and what scatters how much" }
                rect width="100%" height="100%" fill="#ffffff" {}
                @for (hand, name) in self.hands.iter().enumerate() {
                    text x=(n(LEFT + 110.0 * place_in_list(hand))) y="22" fill=(colour(hand)) { (mark(hand)) " " (name) }
                }
                @for (nth, part) in self.parts.iter().enumerate() {
                    (self.row(nth, part, (LEFT, WIDE, top + ROW * place_in_list(nth))))
                }
                text x=(n(LEFT)) y=(n(top + rows * ROW + 8.0)) { (self.ends[0]) }
                text x=(n(LEFT + WIDE)) y=(n(top + rows * ROW + 8.0)) text-anchor="end" { (self.ends[1]) }
                @for (nth, (word, percent)) in self.shares.iter().enumerate() {
                    @let y = bars + ROW * place_in_list(nth);
                    text x=(n(LEFT + 70.0)) y=(n(y + 4.0)) text-anchor="end" { (word) }
                    rect x=(n(LEFT + 80.0)) y=(n(y - 7.0)) width=(n((WIDE - 80.0) * percent / 100.0)) height="12" fill="#5d6d7e" {}
                    text x=(n(LEFT + 86.0 + (WIDE - 80.0) * percent / 100.0)) y=(n(y + 4.0)) { (format!("{percent:.1} %")) }
                }
            }
        };
        drawn.into_string()
    }

    /// The readings on one part: a letter for each, hands one below the other.
    fn row(&self, nth: usize, part: &str, (left, wide, y): (f64, f64, f64)) -> Markup {
        let by_hand = self.readings.get(nth).map_or(&[][..], |by_hand| &by_hand[..]);
        let many = by_hand.len().max(1);
        html! {
            text x=(n(left - 12.0)) y=(n(y + 4.0)) text-anchor="end" { (part) }
            line x1=(n(left)) x2=(n(left + wide)) y1=(n(y)) y2=(n(y)) stroke="#d0d4d8" {}
            @for (hand, cell) in by_hand.iter().enumerate() {
                @let off = 12.0 * ((place_in_list(hand) + 0.5) / place_in_list(many) - 0.5);
                @for reading in *cell {
                    text x=(n(left + wide * self.place(*reading))) y=(n(y + off + 3.0)) text-anchor="middle" font-size="9" fill=(colour(hand)) { (mark(hand)) }
                }
            }
        }
    }
}

fn colour(hand: usize) -> &'static str {
    COLOURS[hand % COLOURS.len()]
}

fn place_in_list(index: usize) -> f64 {
    u32::try_from(index).map_or(f64::MAX, f64::from)
}

/// A number in a picture, to a tenth of a dot.
fn n(number: f64) -> String {
    format!("{number:.1}")
}

/// The column of a place between 0 and 1 in a row so wide.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "between 0 and the width of a row; anything else saturates"
)]
fn column(place: f64, wide: usize) -> usize {
    let last = wide.saturating_sub(1);
    ((place * place_in_list(last)).round() as usize).min(last)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_lie_where_they_are_and_hands_that_meet_are_told() {
        let (hands, parts) =
            (["Ann".to_owned(), "B & C".to_owned()], ["1".to_owned(), "low".to_owned()]);
        let readings: Vec<Vec<&[f64]>> =
            vec![vec![&[9.0, 10.0], &[10.0, 10.0]], vec![&[0.0, 0.0], &[1.0, 5.0]]];
        let shares = vec![("the measurement", 12.5), ("the parts", 99.0)];
        let picture = Picture {
            hands: &hands,
            parts: &parts,
            readings,
            shares,
            ends: ["0".to_owned(), "10 um".to_owned()],
        };
        let rows = ["  1 |                 A *", "low |A B       B", "     0              10 um"];
        assert_eq!(picture.text(1).lines().collect::<Vec<_>>(), rows);
        assert_eq!(Picture::bar(50.0), "###############");
        let svg = picture.svg();
        assert!(
            svg.contains("B &amp; C") && svg.contains("12.5 %") && !svg.contains("href"),
            "{svg}"
        );
        let alike: Vec<Vec<&[f64]>> = vec![vec![&[3.0, 3.0]]];
        let alike = Picture { readings: alike, parts: &parts[..1], hands: &hands[..1], ..picture };
        assert_eq!(alike.text(1).lines().next(), Some("1 |          A"));
    }
}
