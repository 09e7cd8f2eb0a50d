//! The line that a finding is about, with a mark under the place.

use std::ops::Range;

use crate::reader::harmless;

/// A line of a file as a person sees it in their editor, and which of its characters are meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Excerpt {
    /// The line; of a very long one the part around the mark. Control characters are written out.
    pub text: String,
    /// The characters of `text` that are marked, counted from 0; at least one.
    pub marked: Range<usize>,
    /// The column of the first marked character in the file, in characters counted from 1.
    pub column: u32,
}

/// At most so many characters of a line are shown: what fits beside the number of the line in a terminal.
const SHOWN: usize = 72;

impl Excerpt {
    /// The line of a text with this number, counted from 1. What `about` quotes and the line holds is marked;
    /// otherwise the value of the line, or all of it.
    #[must_use]
    pub fn of_line(text: &str, number: u32, about: &str) -> Option<Self> {
        let line = text.lines().nth(usize::try_from(number).ok()?.checked_sub(1)?)?;
        Self::marking(line, &marked_in(line, about))
    }

    /// The place of a text, in bytes; what goes beyond the end of its first line is left out.
    #[must_use]
    pub fn at(text: &str, place: &Range<usize>) -> Option<Self> {
        let start = text.get(..place.start)?.rfind('\n').map_or(0, |at| at + 1);
        let line = text.get(start..)?.lines().next().unwrap_or_default();
        let end = place.end.min(start + line.len());
        Self::marking(line, &(place.start - start..end.max(place.start) - start))
    }

    /// A line with these bytes marked.
    pub(crate) fn marking(line: &str, bytes: &Range<usize>) -> Option<Self> {
        let line = line.trim_end_matches(['\r', '\n']);
        let before = line.get(..bytes.start.min(line.len()))?.chars().count();
        let many =
            line.get(bytes.start.min(line.len())..bytes.end.min(line.len()))?.chars().count();
        let many = many.max(1);
        // A mark at the end of what is shown, in a line that is longer, has what is before it in view.
        let from = (before + many.min(SHOWN / 2)).saturating_sub(SHOWN);
        let mut shown = String::new();
        let mut marked = 0..0;
        for (at, letter) in line.chars().enumerate().skip(from).take(SHOWN) {
            if at == before {
                marked.start = shown.chars().count();
            }
            // A tabulator is one column, so that the mark stands under its place.
            let letter = if letter == '\t' { ' ' } else { letter };
            shown.push_str(&harmless(&letter.to_string()));
            if at + 1 == before + many {
                marked.end = shown.chars().count();
            }
        }
        let all = shown.chars().count();
        if before >= from + SHOWN || before >= line.chars().count() {
            marked.start = all;
        }
        marked.end = if marked.end == 0 { all } else { marked.end }.max(marked.start + 1);
        Some(Self { text: shown, marked, column: u32::try_from(before + 1).ok()? })
    }

    /// Both lines as they are printed: the number of the line and the line, then the mark under the place.
    #[must_use]
    pub fn shown(&self, number: u32) -> String {
        let number = number.to_string();
        let margin = " ".repeat(number.len());
        let before = " ".repeat(self.marked.start);
        let mark = "^".repeat(self.marked.len());
        format!("  {number} | {}\n  {margin} | {before}{mark}", self.text)
    }
}

/// The bytes of a line that a sentence is about.
fn marked_in(line: &str, about: &str) -> Range<usize> {
    // `"gauge.bauds"` is the key `bauds` in its line.
    let quoted = about.split('"').skip(1).step_by(2).filter(|quoted| !quoted.is_empty());
    for quoted in quoted {
        let last = quoted.rsplit('.').next().unwrap_or(quoted);
        for sought in [quoted, last] {
            if let Some(at) = line.find(sought).filter(|_| !sought.is_empty()) {
                return of_its_value(line, at..at + sought.len(), about);
            }
        }
    }
    value_of(line).unwrap_or_else(|| whole(line))
}

/// A key is meant where it is unknown or written twice; otherwise what is written for it.
fn of_its_value(line: &str, found: Range<usize>, about: &str) -> Range<usize> {
    let of_the_key = ["unknown", "twice", "is missing"].iter().any(|word| about.contains(word));
    let key = line.find('=').is_some_and(|equals| found.end <= equals);
    match value_of(line).filter(|_| key && !of_the_key) {
        Some(value) => value,
        None => found,
    }
}

/// What stands behind `=`, without a comment.
fn value_of(line: &str) -> Option<Range<usize>> {
    let equals = line.find('=')?;
    let behind = line.get(equals + 1..)?;
    let mut quote = None;
    let comment = behind.find(|c| match (quote, c) {
        (None, '"' | '\'') => {
            quote = Some(c);
            false
        }
        (Some(open), c) if open == c => {
            quote = None;
            false
        }
        (None, '#') => true,
        _ => false,
    });
    let value = &behind[..comment.unwrap_or(behind.len())];
    let start = equals + 1 + (value.len() - value.trim_start().len());
    let end = equals + 1 + value.trim_end().len();
    (start < end).then_some(start..end)
}

fn whole(line: &str) -> Range<usize> {
    let start = line.len() - line.trim_start().len();
    start..line.trim_end().len().max(start)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn marks(line: &str, about: &str) -> String {
        let excerpt = Excerpt::of_line(line, 1, about).unwrap();
        excerpt.text.chars().skip(excerpt.marked.start).take(excerpt.marked.len()).collect()
    }

    #[test]
    fn the_mark_stands_under_what_the_sentence_is_about() {
        assert_eq!(marks("bauds = 9600", "unknown key \"gauge.bauds\""), "bauds");
        assert_eq!(marks("baud = 96 # slow", "\"gauge.baud\" should be a whole number"), "96");
        assert_eq!(marks("unit = \"inch\"", "\"bench.unit\" is \"inch\""), "\"inch\"");
        assert_eq!(marks("  gauge = \"plat\"  ", "there is no gauge \"plat\""), "plat");
        assert_eq!(marks("name = \"a # b\" # c", "it is too long"), "\"a # b\"");
        assert_eq!(marks("  [[gauge]]", "\"kind\" is missing"), "[[gauge]]");
    }

    #[test]
    fn it_is_printed_with_the_number_of_its_line() {
        let shown =
            Excerpt::of_line("a\n\tbauds = 1", 2, "unknown key \"bauds\"").unwrap().shown(2);
        assert_eq!(shown, "  2 |  bauds = 1\n    |  ^^^^^");
    }

    #[test]
    fn a_line_without_an_end_is_shown_around_its_place_and_steers_no_terminal() {
        let line = format!("{}\u{1b}[2J{}", "x".repeat(5000), "y".repeat(5000));
        let at = Excerpt::at(&line, &(5000..5001)).unwrap();
        assert!(at.text.chars().count() < 90 && !at.text.contains('\u{1b}'), "{at:?}");
        assert_eq!(at.column, 5001);
        let end = Excerpt::at("unit =\n", &(6..6)).unwrap();
        assert_eq!((end.text.as_str(), end.marked, end.column), ("unit =", 6..7, 7));
        assert_eq!(Excerpt::at("ü = 1", &(1..2)), None, "in the middle of a letter");
    }

    proptest::proptest! {
        #[test]
        fn every_place_of_every_text_has_an_excerpt_that_holds_its_mark(
            text in "[a-z\"=#\\[ü“\t\r\n ]{0,200}", number in 1_u32..9, from in 0_usize..300, many in 0_usize..90,
        ) {
            for excerpt in [Excerpt::of_line(&text, number, "\"a\" is \"b\""), Excerpt::at(&text, &(from..from + many))]
                .into_iter()
                .flatten()
            {
                let length = excerpt.text.chars().count();
                proptest::prop_assert!(excerpt.marked.start <= length, "{:?}", excerpt);
                proptest::prop_assert!(!excerpt.marked.is_empty(), "{:?}", excerpt);
                proptest::prop_assert!(excerpt.marked.end <= length.max(excerpt.marked.start + 1), "{:?}", excerpt);
            }
        }
    }
}
