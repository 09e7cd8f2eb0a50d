//! How a command ends when it cannot do what was asked.

use std::fmt;
use std::io;

/// The answer is no.
pub(crate) const NO: u8 = 1;
/// Usage, configuration or refused input.
pub(crate) const REFUSED: u8 = 2;
/// The service or the database cannot be reached.
pub(crate) const UNREACHABLE: u8 = 3;

/// Why a command ended early.
#[derive(Debug)]
pub(crate) enum Failure {
    /// Whoever read the output has gone, which is no error.
    ClosedPipe,
    /// The person is told.
    Told(Told),
}

/// What the person is told on stderr.
#[derive(Debug)]
pub(crate) struct Told {
    /// The exit code.
    pub(crate) exit: u8,
    /// What is wrong.
    pub(crate) text: String,
    /// What to do.
    pub(crate) hint: Option<String>,
}

impl Failure {
    pub(crate) fn new(exit: u8, text: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::Told(Told { exit, text: text.into(), hint: Some(hint.into()) })
    }

    pub(crate) fn plain(exit: u8, text: impl Into<String>) -> Self {
        Self::Told(Told { exit, text: text.into(), hint: None })
    }
}

impl From<io::Error> for Failure {
    /// An error while printing.
    fn from(error: io::Error) -> Self {
        if error.kind() == io::ErrorKind::BrokenPipe {
            Self::ClosedPipe
        } else {
            Self::plain(UNREACHABLE, format!("cannot print: {error}"))
        }
    }
}

impl fmt::Display for Told {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "tenths: {}", crate::wire::printable(&self.text))?;
        match &self.hint {
            Some(hint) => writeln!(f, "hint: {}", crate::wire::printable(hint)),
            None => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_error_is_a_line_and_a_hint_that_cannot_steer_a_terminal() {
        let Failure::Told(told) = Failure::new(REFUSED, "no job \u{1b}[2J", "try J-1042") else {
            panic!("it was told");
        };
        assert_eq!(told.to_string(), "tenths: no job \\x1b[2J\nhint: try J-1042\n");
    }

    #[test]
    fn a_closed_pipe_is_no_error() {
        let closed = Failure::from(io::Error::from(io::ErrorKind::BrokenPipe));
        assert!(matches!(closed, Failure::ClosedPipe));
        let full = Failure::from(io::Error::from(io::ErrorKind::StorageFull));
        assert!(matches!(full, Failure::Told(told) if told.exit == UNREACHABLE));
    }
}
