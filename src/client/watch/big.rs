//! Letters and digits that can be read from two metres: shapes of five rows, drawn in blocks of as
//! many characters as there is room for.

/// Rows of a shape.
const ROWS: usize = 5;

/// The shapes of the letters and digits; `#` is filled.
const SHAPES: [(char, [&str; ROWS]); 48] = [
    ('0', ["###", "# #", "# #", "# #", "###"]),
    ('1', [" # ", "## ", " # ", " # ", "###"]),
    ('2', ["###", "  #", "###", "#  ", "###"]),
    ('3', ["###", "  #", " ##", "  #", "###"]),
    ('4', ["# #", "# #", "###", "  #", "  #"]),
    ('5', ["###", "#  ", "###", "  #", "###"]),
    ('6', ["###", "#  ", "###", "# #", "###"]),
    ('7', ["###", "  #", "  #", " # ", " # "]),
    ('8', ["###", "# #", "###", "# #", "###"]),
    ('9', ["###", "# #", "###", "  #", "###"]),
    ('.', [" ", " ", " ", " ", "#"]),
    ('-', ["  ", "  ", "##", "  ", "  "]),
    // As wide as a sign, so that a value does not move when it gets one.
    ('_', ["  ", "  ", "  ", "  ", "  "]),
    ('+', ["   ", " # ", "###", " # ", "   "]),
    ('/', ["  #", "  #", " # ", "#  ", "#  "]),
    ('?', ["###", "  #", " ##", "   ", " # "]),
    (',', [" ", " ", " ", "#", "#"]),
    (':', [" ", "#", " ", "#", " "]),
    ('\'', ["#", "#", " ", " ", " "]),
    ('(', [" #", "# ", "# ", "# ", " #"]),
    (')', ["# ", " #", " #", " #", "# "]),
    (' ', [" ", " ", " ", " ", " "]),
    ('A', ["###", "# #", "###", "# #", "# #"]),
    ('B', ["## ", "# #", "## ", "# #", "## "]),
    ('C', ["###", "#  ", "#  ", "#  ", "###"]),
    ('D', ["## ", "# #", "# #", "# #", "## "]),
    ('E', ["###", "#  ", "## ", "#  ", "###"]),
    ('F', ["###", "#  ", "## ", "#  ", "#  "]),
    ('G', ["###", "#  ", "# #", "# #", "###"]),
    ('H', ["# #", "# #", "###", "# #", "# #"]),
    ('I', ["#", "#", "#", "#", "#"]),
    ('J', ["  #", "  #", "  #", "# #", "###"]),
    ('K', ["# #", "# #", "## ", "# #", "# #"]),
    ('L', ["#  ", "#  ", "#  ", "#  ", "###"]),
    ('M', ["#   #", "## ##", "# # #", "#   #", "#   #"]),
    ('N', ["#  #", "## #", "# ##", "#  #", "#  #"]),
    ('O', ["###", "# #", "# #", "# #", "###"]),
    ('P', ["###", "# #", "###", "#  ", "#  "]),
    ('Q', ["###", "# #", "# #", "###", "  #"]),
    ('R', ["## ", "# #", "## ", "# #", "# #"]),
    ('S', ["###", "#  ", "###", "  #", "###"]),
    ('T', ["###", " # ", " # ", " # ", " # "]),
    ('U', ["# #", "# #", "# #", "# #", "###"]),
    ('V', ["# #", "# #", "# #", "# #", " # "]),
    ('W', ["#   #", "#   #", "# # #", "## ##", "#   #"]),
    ('X', ["# #", "# #", " # ", "# #", "# #"]),
    ('Y', ["# #", "# #", " # ", " # ", " # "]),
    ('Z', ["###", "  #", " # ", "#  ", "###"]),
];

fn shape(letter: char) -> Option<&'static [&'static str; ROWS]> {
    let letter = letter.to_ascii_uppercase();
    SHAPES.iter().find(|(known, _)| *known == letter).map(|(_, rows)| rows)
}

/// A text as large as fits into `width` × `height` characters, its blocks filled with `ink`; `None` where
/// it does not fit at all or has a letter without a shape.
pub(super) fn big(text: &str, (width, height): (u16, u16), ink: char) -> Option<Vec<String>> {
    let shapes: Vec<_> = text.chars().map(shape).collect::<Option<_>>()?;
    let (width, height) = (usize::from(width), usize::from(height));
    let filled: usize = shapes.iter().map(|rows| rows[0].len()).sum();
    let gaps = shapes.len().checked_sub(1)?;
    let wide = |across: usize| across * filled + gap(across) * gaps;
    let down_most = height / ROWS;
    // A character is about twice as high as it is wide, so a block of 2 × 1 is a square. A block from half
    // as high again as wide to twice as high as wide is still easy to read.
    let across = (1..=down_most * 3).rev().find(|across| wide(*across) <= width)?;
    blocks(text, (across, down_most.min(across)), ink)
}

/// A text in as many rows of words as make it largest within `width` × `height` characters, with a free
/// row between two rows; `None` where it does not fit or has a letter without a shape.
pub(super) fn big_wrapped(
    text: &str,
    (width, height): (u16, u16),
    ink: char,
) -> Option<Vec<String>> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let most = usize::from(height) / ROWS * 3;
    (1..=most).rev().find_map(|across| {
        // As high as `big` makes it, or lower if only that fits.
        (across.div_ceil(3)..=across).rev().find_map(|down| {
            let rows = words_in_rows(&words, (across, usize::from(width)))?;
            let high = rows.len() * (ROWS * down + 1) - 1;
            if high > usize::from(height) {
                return None;
            }
            let mut lines = Vec::with_capacity(high);
            for row in &rows {
                if !lines.is_empty() {
                    lines.push(String::new());
                }
                lines.extend(blocks(row, (across, down), ink)?);
            }
            Some(lines)
        })
    })
}

/// Words in rows no wider than `width`, with blocks `across` characters wide; `None` where a single word is
/// wider or a letter has no shape.
fn words_in_rows(words: &[&str], (across, width): (usize, usize)) -> Option<Vec<String>> {
    let wide = |row: &str| -> Option<usize> {
        let shapes: Vec<_> = row.chars().map(shape).collect::<Option<_>>()?;
        let filled: usize = shapes.iter().map(|rows| rows[0].len()).sum();
        Some(across * filled + gap(across) * shapes.len().saturating_sub(1))
    };
    let mut rows: Vec<String> = Vec::new();
    for word in words {
        if wide(word)? > width {
            return None;
        }
        let longer = rows.last().map(|row| format!("{row} {word}"));
        match longer {
            Some(longer) if wide(&longer)? <= width => *rows.last_mut()? = longer,
            Some(_) | None => rows.push((*word).to_owned()),
        }
    }
    Some(rows).filter(|rows| !rows.is_empty())
}

/// A text whose blocks are `across` characters wide and `down` high; `None` where a letter has no
/// shape.
pub(super) fn blocks(text: &str, (across, down): (usize, usize), ink: char) -> Option<Vec<String>> {
    let shapes: Vec<_> = text.chars().map(shape).collect::<Option<_>>()?;
    let row = |index: usize| {
        let letters: Vec<_> =
            shapes.iter().map(|rows| stretched(rows[index], across, ink)).collect();
        letters.join(&" ".repeat(gap(across)))
    };
    Some((0..ROWS).flat_map(|index| std::iter::repeat_n(row(index), down)).collect())
}

/// Characters between two letters.
fn gap(across: usize) -> usize {
    across.div_ceil(2)
}

fn stretched(row: &str, across: usize, ink: char) -> String {
    let block = |filled: char| if filled == '#' { ink } else { ' ' };
    row.chars().flat_map(|filled| std::iter::repeat_n(block(filled), across)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_is_as_large_as_it_fits() {
        let of = |size| big("-1.", size, '#').unwrap();
        assert_eq!(of((15, 5)).len(), 5);
        assert_eq!(of((15, 5))[2].trim_end(), "####   ##");
        assert_eq!(of((15, 5))[4].trim_end(), "     ###### ##");
        assert_eq!(of((8, 5))[4], "   ### #", "a character a block");
        assert_eq!(of((15, 10)).len(), 10, "twice as high");
        assert_eq!(of((15, 40)).len(), 10, "and no higher");
    }

    #[test]
    fn a_question_goes_over_as_many_rows_of_words_as_make_it_largest() {
        let of = |size| big_wrapped("which face?", size, '#');
        assert_eq!(of((50, 5)).unwrap().len(), 5, "in one row of words");
        assert_eq!(of((30, 11)).unwrap().len(), 11, "in two");
        assert_eq!(of((120, 23)).unwrap().len(), 21, "in two, twice as high");
        assert_eq!(of((30, 10)), None, "too low for two");
        assert_eq!(of((10, 40)), None, "a word is too wide");
        assert_eq!(big_wrapped("µ", (80, 24), '#'), None, "no shape");
        assert_eq!(big_wrapped(" ", (80, 24), '#'), None, "nothing is asked");
    }

    #[test]
    fn what_does_not_fit_is_not_cut() {
        assert_eq!(big("0.00012", (20, 4), '#'), None, "too low");
        assert_eq!(big("0.00012", (20, 5), '#'), None, "too narrow");
        assert_eq!(big("µ", (80, 24), '#'), None, "no shape");
        let words = ["CONFORMS", "OUT", "TOO CLOSE", "INCOMPLETE", "UNDECIDED"];
        for word in words {
            let rows = big(word, (80, 5), '█').unwrap();
            assert_eq!(rows.len(), 5);
            let wide = rows.iter().map(|row| row.chars().count()).max().unwrap();
            assert!((28..=80).contains(&wide), "{word} is {wide} wide");
        }
        assert_eq!(big("OUT", (80, 11), '#').unwrap().len(), 10, "twice as high");
    }

    #[test]
    fn every_shape_is_whole_and_like_no_other() {
        for (index, (letter, rows)) in SHAPES.iter().enumerate() {
            assert!(rows.iter().all(|row| row.len() == rows[0].len()), "{letter}");
            let twins: Vec<_> =
                SHAPES[index + 1..].iter().filter(|(_, other)| other == rows).collect();
            // O is the digit 0, S the digit 5, as on every seven-segment display.
            let alike = |other: char| matches!((*letter, other), ('0', 'O') | ('5', 'S'));
            assert!(twins.iter().all(|(other, _)| alike(*other)), "{letter}: {twins:?}");
        }
    }
}
