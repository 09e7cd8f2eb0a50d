//! Output: data goes to stdout, messages to stderr, and colours are used only when a person watches.

use std::io::{self, IsTerminal, Write};
use std::os::fd::AsFd;

use ::report::{Fitted, between_words};

pub(crate) use ::report::Ink;

/// The kind of stdout.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Screen {
    /// Whether colours may be used.
    pub(crate) colour: bool,
    /// Characters per line, if stdout is a terminal.
    pub(crate) width: Option<usize>,
}

impl Screen {
    /// The screen of this process.
    pub(crate) fn of_stdout() -> Self {
        Self::of(&io::stdout())
    }

    /// Where the messages of this process go.
    fn of_stderr() -> Self {
        Self::of(&io::stderr())
    }

    fn of(stream: &(impl IsTerminal + AsFd)) -> Self {
        if !stream.is_terminal() {
            return Self { colour: false, width: None };
        }
        let width = rustix::termios::tcgetwinsize(stream)
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

    /// Sentences broken between words where the screen is too narrow for them; what follows a break hangs.
    pub(crate) fn wrapped(self, text: &str, hang: usize) -> String {
        self.width.map_or_else(|| text.to_owned(), |width| between_words(text, width, hang))
    }

    /// A table with the colours of its words, if colours may be used. A row that counts no longer is faint as a whole.
    pub(crate) fn painted(self, table: &Fitted) -> String {
        if !self.colour {
            return table.text.clone();
        }
        let mut text = String::with_capacity(table.text.len() + 64);
        let mut inked = table.inked.iter().peekable();
        let mut at = 0;
        for (number, line) in table.text.split_inclusive('\n').enumerate() {
            let end = at + line.len();
            let faint = table.faint.contains(&number);
            if faint {
                text.push_str(&self.faint(line.trim_end_matches('\n')));
                at = end - 1;
            }
            while let Some(word) = inked.next_if(|word| word.at.start < end) {
                if !faint {
                    text.push_str(&table.text[at..word.at.start]);
                    text.push_str(&self.ink(&table.text[word.at.clone()], word.ink));
                    at = word.at.end;
                }
            }
            text.push_str(&table.text[at..end]);
            at = end;
        }
        text
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

/// Prints sentences for a person that have their line ends: long ones are broken between words.
pub(crate) fn told(sentences: &str) -> io::Result<()> {
    text(&Screen::of_stdout().wrapped(sentences, HANG))
}

/// Prints one sentence for a person, broken between words.
pub(crate) fn sentence(text: &str) -> io::Result<()> {
    told(&format!("{text}\n"))
}

/// Prints a message for the person, broken between words. It does not matter if nobody reads it.
pub(crate) fn say(text: &str) {
    // What goes back over its own line is no sentence.
    let steers = text.contains(['\r', '\u{7}']);
    let text = if steers { text.to_owned() } else { Screen::of_stderr().wrapped(text, HANG) };
    drop(io::stderr().lock().write_all(text.as_bytes()));
}

/// How far in a sentence goes on below its beginning.
const HANG: usize = 2;

#[cfg(test)]
mod tests {
    use ::report::{Column, Table};

    use super::*;

    #[test]
    fn without_colour_there_is_no_control_code() {
        let plain = Screen { colour: false, width: None };
        assert_eq!(plain.ink("OUT", Ink::Red), "OUT");
        let bright = Screen { colour: true, width: Some(80) };
        assert_eq!(bright.ink("OUT", Ink::Red), "\u{1b}[1;31mOUT\u{1b}[0m");
    }

    #[test]
    fn a_table_loses_nothing_but_its_colours() {
        let mut table = Table::new(&[Column::number("id", 0), Column::words("verdict", 0)]);
        for (id, word, ink, faint) in [
            ("9", "CONFORMS", Ink::Green, false),
            ("10", "UNDECIDED", Ink::Yellow, true),
            ("11", "DOES NOT CONFORM", Ink::Red, false),
        ] {
            table.push_as(&[id, word].map(str::to_owned), faint);
            table.ink("verdict", ink);
        }
        let fitted = table.fitted(Some(80));
        let plain = Screen { colour: false, width: Some(80) }.painted(&fitted);
        let bright = Screen { colour: true, width: Some(80) }.painted(&fitted);
        assert_eq!(
            bright,
            "id  verdict\n 9  \u{1b}[1;32mCONFORMS\u{1b}[0m\n\u{1b}[2m10  UNDECIDED\u{1b}[0m\n\
             11  \u{1b}[1;31mDOES NOT CONFORM\u{1b}[0m\n"
        );
        let mut bare = bright;
        for code in ["\u{1b}[1;31m", "\u{1b}[1;32m", "\u{1b}[2m", "\u{1b}[0m"] {
            bare = bare.replace(code, "");
        }
        assert_eq!(bare, plain);
    }
}
