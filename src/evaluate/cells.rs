//! The cells of a line: what parts them, and which mark its numbers have.

use std::borrow::Cow;

/// How the cells of a file are parted, as its first line shows, and how its numbers are written, as its first number
/// with a mark shows. A file between whose cells commas stand has numbers with a point; between semicolons or tabs
/// they have a point or a comma, but all of them the same: `1,234` beside `0.5` would be anything.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Cells {
    /// What stands between two cells.
    between: u8,
    /// The mark of its numbers, once one was seen.
    mark: Option<u8>,
}

impl Cells {
    /// Those of a file with this first line.
    ///
    /// # Errors
    /// A sentence, where two different characters could part the names.
    pub(crate) fn of(first: &[u8]) -> Result<Self, String> {
        let parts = [(b',', "commas"), (b';', "semicolons"), (b'\t', "tabs")];
        let mut found = parts.into_iter().filter(|(part, _)| first.contains(part));
        let Some((between, one)) = found.next() else {
            return Ok(Self { between: b',', mark: None });
        };
        match found.next() {
            Some((_, other)) => Err(format!(
                "the names are parted by {one} and by {other}; one of the two parts the cells of a file"
            )),
            None => Ok(Self { between, mark: None }),
        }
    }

    /// The cells of a line, without blanks and quotes around them.
    pub(crate) fn cells(self, line: &[u8]) -> impl Iterator<Item = &[u8]> {
        line.split(move |byte| *byte == self.between).map(|cell| {
            let cell = cell.trim_ascii();
            let quoted = cell.strip_prefix(b"\"").and_then(|cell| cell.strip_suffix(b"\""));
            quoted.map_or(cell, <[u8]>::trim_ascii)
        })
    }

    /// A number with a point, whichever mark it has in the file; a text that is no number comes back as it is.
    ///
    /// # Errors
    /// A sentence about a number whose mark could mean two things.
    pub(crate) fn with_a_point<'c>(&mut self, cell: &'c [u8]) -> Result<Cow<'c, [u8]>, String> {
        if self.between == b',' {
            return Ok(Cow::Borrowed(cell));
        }
        let Some(mark) = cell.iter().copied().find(|byte| b".,".contains(byte)) else {
            return Ok(Cow::Borrowed(cell));
        };
        let shown = || String::from_utf8_lossy(cell).into_owned();
        let name = |mark: u8| if mark == b',' { "comma" } else { "point" };
        if cell.iter().any(|byte| b".,".contains(byte) && *byte != mark) {
            return Err(format!(
                "{:?} has a point and a comma; write one of them, and no mark between thousands",
                shown()
            ));
        }
        if let Some(other) = self.mark.filter(|other| *other != mark) {
            return Err(format!(
                "{:?} has a {}, and a number above has a {}; all numbers of a file have the same mark",
                shown(),
                name(mark),
                name(other)
            ));
        }
        let first = cell.iter().position(|byte| *byte == mark);
        if first != cell.iter().rposition(|byte| *byte == mark) {
            return Ok(Cow::Borrowed(cell));
        }
        self.mark = Some(mark);
        if mark == b'.' {
            return Ok(Cow::Borrowed(cell));
        }
        Ok(cell.iter().map(|byte| if *byte == b',' { b'.' } else { *byte }).collect())
    }
}

/// A line without the byte order mark that a file may begin with.
pub(crate) fn without_mark(line: &[u8]) -> &[u8] {
    line.strip_prefix(b"\xef\xbb\xbf").unwrap_or(line)
}
