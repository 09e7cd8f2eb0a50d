//! Texts broken between words.
//!
//! Widths are those of a terminal: a letter of East Asia takes two places, and what only switches a colour takes none.

use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// The places that a text takes in a terminal; it must have no control characters.
pub(crate) fn places(text: &str) -> usize {
    text.width()
}

/// Characters after which a long word is broken rather than anywhere: first between a part and its check.
const JOINTS: [&[char]; 2] = [&['/'], &['/', '-', '_', '.', ',']];

/// A cell broken so that no line is wider than `width`: between words, else behind a joint (`ring/` and `face`), else
/// where the line is full.
pub(crate) fn cell_lines(text: &str, width: usize) -> Vec<String> {
    let width = width.max(1);
    let mut lines = Vec::new();
    let mut rest = text;
    while places(rest) > width {
        let full = full_line(rest, width);
        let head = &rest[..full];
        let blank = if rest[full..].starts_with(' ') { Some(full) } else { head.rfind(' ') };
        let joint = || JOINTS.iter().find_map(|joints| Some(head.rfind(*joints)? + 1));
        let end = blank.filter(|at| *at > 0).or_else(joint).unwrap_or(full);
        lines.push(rest[..end].trim_end().to_owned());
        rest = rest[end..].trim_start();
    }
    if !rest.is_empty() || lines.is_empty() {
        lines.push(rest.to_owned());
    }
    lines
}

/// How many bytes of a text fill a line; at least one character.
fn full_line(text: &str, width: usize) -> usize {
    let mut used = 0;
    for (at, c) in text.char_indices() {
        used += c.width().unwrap_or(0);
        if used > width && at > 0 {
            return at;
        }
    }
    text.len()
}

/// The width of the widest piece of a text that is broken between words and behind the joints of a level: 0 between
/// part and check alone, 1 behind all.
pub(crate) fn widest_piece(text: &str, level: usize) -> usize {
    let pieces = text.split(' ').flat_map(|word| word.split_inclusive(JOINTS[level.min(1)]));
    pieces.map(places).max().unwrap_or(0)
}

/// Sentences broken between words, so that no line is wider than `width` where words allow it. What follows a break
/// stands below the beginning of its line and `hang` places further in. A word is never broken: a path or a command
/// can be copied.
#[must_use]
pub fn between_words(text: &str, width: usize, hang: usize) -> String {
    let mut out = String::with_capacity(text.len() + 16);
    for line in text.split_inclusive('\n') {
        let (line, end) = line.strip_suffix('\n').map_or((line, ""), |line| (line, "\n"));
        if shown_places(line) <= width || is_of_a_file(line) {
            out.push_str(line);
        } else {
            let indent = line.len() - line.trim_start_matches(' ').len();
            break_line(&mut out, line, width, indent + hang);
        }
        out.push_str(end);
    }
    out
}

/// A line of a file that is shown with its number, or the mark below it: `  12 | unit = in`. Broken, the mark would stand
/// under another word.
fn is_of_a_file(line: &str) -> bool {
    line.starts_with(' ')
        && line
            .trim_start()
            .trim_start_matches(|c: char| c.is_ascii_digit())
            .trim_start()
            .starts_with("| ")
}

fn break_line(out: &mut String, line: &str, width: usize, indent: usize) {
    // In a very narrow window all of it is for the words.
    let indent = if indent * 2 > width { 0 } else { indent };
    let (begin, rest) = line.split_at(line.len() - line.trim_start_matches(' ').len());
    out.push_str(begin);
    let (mut used, mut gap, mut first) = (begin.len(), 0, true);
    for word in rest.split(' ') {
        if word.is_empty() && !first {
            // Two blanks in a row.
            gap += 1;
            continue;
        }
        let long = shown_places(word);
        if !first && used + gap + long > width {
            out.push('\n');
            (used, gap) = (0, indent);
        }
        out.extend(std::iter::repeat_n(' ', gap));
        out.push_str(word);
        used += gap + long;
        (gap, first) = (1, false);
    }
    out.extend(std::iter::repeat_n(' ', gap.saturating_sub(1)));
}

/// The places that a text takes that may switch colours: `ESC [ … m` takes none.
fn shown_places(text: &str) -> usize {
    let mut pieces = text.split('\u{1b}');
    let first = pieces.next().map_or(0, places);
    let rest = pieces.map(|piece| piece.split_once('m').map_or(0, |(_, shown)| places(shown)));
    first + rest.sum::<usize>()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_broken_between_words_then_at_joints_then_anywhere() {
        assert_eq!(cell_lines("", 5), [""]);
        assert_eq!(cell_lines("DOES NOT CONFORM", 8), ["DOES NOT", "CONFORM"]);
        assert_eq!(cell_lines("inner-spacer/face-a", 13), ["inner-spacer/", "face-a"]);
        assert_eq!(cell_lines("inner-spacer/face-a", 9), ["inner-", "spacer/", "face-a"]);
        assert_eq!(cell_lines("abcdefgh", 3), ["abc", "def", "gh"]);
        assert_eq!(cell_lines("軸受 研削", 4), ["軸受", "研削"]);
        assert_eq!(widest_piece("inner-spacer/face-a at 3", 0), "inner-spacer/".len());
        assert_eq!(widest_piece("inner-spacer/face-a at 3", 1), "spacer/".len());
    }

    #[test]
    fn sentences_are_broken_between_words_and_hang() {
        let said = "  a chip lay under the ring; touch position 0 again\nshort\n";
        assert_eq!(
            between_words(said, 24, 2),
            "  a chip lay under the\n    ring; touch position\n    0 again\nshort\n"
        );
        let path = "see /a/very/long/path/that/nobody/breaks now";
        assert_eq!(
            between_words(path, 20, 2),
            "see\n  /a/very/long/path/that/nobody/breaks\n  now"
        );
        let excerpt = "  12 | unit = in and more\n     |        ^^\n";
        assert_eq!(between_words(excerpt, 12, 2), excerpt);
        assert_eq!(between_words("one  two", 8, 0), "one  two");
        assert_eq!(between_words("one  two three", 8, 0), "one  two\nthree");
    }

    #[test]
    fn a_colour_takes_no_place() {
        let said = "ring: \u{1b}[1;31mDOES NOT CONFORM\u{1b}[0m. 0.00034 in";
        assert_eq!(between_words(said, 35, 2), said);
        assert_eq!(
            between_words(said, 18, 2),
            "ring: \u{1b}[1;31mDOES NOT\n  CONFORM\u{1b}[0m. 0.00034\n  in"
        );
    }
}
