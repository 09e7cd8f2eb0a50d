//! Output: data goes to stdout, messages to stderr, and colours are used only when a person watches.

use std::io::{self, IsTerminal, Write};

use judgement::Word;

/// The kind of stdout.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Screen {
    /// Whether colours may be used.
    pub(crate) colour: bool,
    /// Characters per line, if stdout is a terminal.
    pub(crate) width: Option<usize>,
}

/// The colour of a word that matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Ink {
    /// Fine.
    Green,
    /// Out, or stop.
    Red,
    /// Look at it.
    Yellow,
}

impl Ink {
    /// That of the word of a verdict.
    pub(crate) const fn of(word: Word) -> Self {
        match word {
            Word::Conforms => Self::Green,
            Word::DoesNotConform => Self::Red,
            Word::Undecided | Word::Incomplete => Self::Yellow,
        }
    }
}

impl Screen {
    /// The screen of this process.
    pub(crate) fn of_stdout() -> Self {
        let stdout = io::stdout();
        if !stdout.is_terminal() {
            return Self { colour: false, width: None };
        }
        let width = rustix::termios::tcgetwinsize(&stdout)
            .ok()
            .map(|size| usize::from(size.ws_col))
            .filter(|width| *width > 0);
        Self { colour: colour_is_welcome(), width }
    }

    /// A text in a colour, if colours may be used.
    pub(crate) fn ink(self, text: &str, ink: Ink) -> String {
        let code = match ink {
            Ink::Green => 32,
            Ink::Red => 31,
            Ink::Yellow => 33,
        };
        if self.colour { format!("\u{1b}[1;{code}m{text}\u{1b}[0m") } else { text.to_owned() }
    }

    /// A text that no longer counts: faint, if colours may be used.
    pub(crate) fn faint(self, text: &str) -> String {
        if self.colour { format!("\u{1b}[2m{text}\u{1b}[0m") } else { text.to_owned() }
    }
}

/// Whether colours may be used as far as the environment says: no `NO_COLOR` (no-color.org), no dumb terminal.
pub(crate) fn colour_is_welcome() -> bool {
    let unasked = std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty());
    unasked && std::env::var_os("TERM").is_none_or(|term| term != "dumb")
}

/// Prints a line of data.
pub(crate) fn line(text: &str) -> io::Result<()> {
    let mut out = io::stdout().lock();
    out.write_all(text.as_bytes())?;
    out.write_all(b"\n")?;
    out.flush()
}

/// Prints lines of data together.
pub(crate) fn lines(lines: &[String]) -> io::Result<()> {
    let mut out = io::BufWriter::with_capacity(1 << 16, io::stdout().lock());
    for line in lines {
        out.write_all(line.as_bytes())?;
        out.write_all(b"\n")?;
    }
    out.flush()
}

/// Prints data that has its line ends.
pub(crate) fn text(text: &str) -> io::Result<()> {
    let mut out = io::stdout().lock();
    out.write_all(text.as_bytes())?;
    out.flush()
}

/// Prints a message for the person. It does not matter if nobody reads it.
pub(crate) fn say(text: &str) {
    drop(io::stderr().lock().write_all(text.as_bytes()));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_colour_there_is_no_control_code() {
        let plain = Screen { colour: false, width: None };
        assert_eq!(plain.ink("OUT", Ink::Red), "OUT");
        let bright = Screen { colour: true, width: Some(80) };
        assert_eq!(bright.ink("OUT", Ink::Red), "\u{1b}[1;31mOUT\u{1b}[0m");
    }
}
