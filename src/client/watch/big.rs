//! Letters and digits that can be read from two metres: shapes of five rows, drawn in blocks of as
//! many characters as there is room for.

/// Rows of a shape.
const ROWS: usize = 5;

/// The shapes of this screen; `#` is filled.
const SHAPES: [(char, [&str; ROWS]); 43] = [
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
    // As wide as a sign, so that a value does not jump when it gets one.
    ('_', ["  ", "  ", "  ", "  ", "  "]),
    ('+', ["   ", " # ", "###", " # ", "   "]),
    ('/', ["  #", "  #", " # ", "#  ", "#  "]),
    ('?', ["###", "  #", " ##", "   ", " # "]),
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

/// A text as large as it fits into `width` × `height` characters, `ink` being what fills a block;
/// `None` where it does not fit at all or has letters without a shape.
pub(super) fn big(text: &str, (width, height): (u16, u16), ink: char) -> Option<Vec<String>> {
    let shapes: Vec<_> = text.chars().map(shape).collect::<Option<_>>()?;
    let (width, height) = (usize::from(width), usize::from(height));
    let filled: usize = shapes.iter().map(|rows| rows[0].len()).sum();
    let gaps = shapes.len().checked_sub(1)?;
    let wide = |across: usize| across * filled + gap(across) * gaps;
    let down_most = height / ROWS;
    // A character is about twice as high as it is wide: a block of 2 × 1 is a square. Up to twice
    // as high as wide, or half as high again as wide, it still reads well.
    let across = (1..=down_most * 3).rev().find(|across| wide(*across) <= width)?;
    blocks(text, (across, down_most.min(across)), ink)
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
