//! How a command ends when it cannot do what it was asked to do.

use std::fmt;
use std::io;

use wire::{ErrorKind, ErrorLine, Reply, code_of};

/// The answer is no.
pub(crate) const NO: u8 = 1;
/// Usage, configuration or refused input.
pub(crate) const REFUSED: u8 = 2;
/// The service or the database cannot be reached.
pub(crate) const UNREACHABLE: u8 = 3;

/// Why a command ended early.
#[derive(Debug)]
pub(crate) enum Failure {
    /// The reader of the output is gone, which is no error.
    ClosedPipe,
    /// An error to report.
    Told(Told),
}

/// An error, as reported on stderr.
#[derive(Debug)]
pub(crate) struct Told {
    /// The exit code.
    pub(crate) exit: u8,
    /// What is wrong.
    pub(crate) text: String,
    /// What to do.
    pub(crate) hint: Option<String>,
    /// What the error is about.
    pub(crate) about: About,
}

/// What an error is about, for scripts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum About {
    /// The request; the exit code says the rest.
    Asked,
    /// The command line.
    Usage,
    /// Where the bench's record and service were looked for.
    Place,
    /// A file that a person wrote, and the line in it if known.
    Configuration { file: String, line: Option<u32> },
}

impl Failure {
    pub(crate) fn new(exit: u8, text: impl Into<String>, hint: impl Into<String>) -> Self {
        let hint = Some(hint.into());
        Self::Told(Told { exit, text: text.into(), hint, about: About::Asked })
    }

    pub(crate) fn plain(exit: u8, text: impl Into<String>) -> Self {
        Self::Told(Told { exit, text: text.into(), hint: None, about: About::Asked })
    }

    /// The same with another exit code.
    pub(crate) fn ending(self, exit: u8) -> Self {
        match self {
            Self::ClosedPipe => Self::ClosedPipe,
            Self::Told(told) => Self::Told(Told { exit, ..told }),
        }
    }

    /// The same, about something else.
    pub(crate) fn about(self, about: About) -> Self {
        match self {
            Self::ClosedPipe => Self::ClosedPipe,
            Self::Told(told) => Self::Told(Told { about, ..told }),
        }
    }

    /// What was looked for and not found names what it was looked for by.
    pub(crate) fn looked_for(self, went_by: impl FnOnce() -> Option<String>) -> Self {
        match self {
            Self::Told(told) if told.about == About::Place => {
                let by = went_by().map_or_else(String::new, |by| format!("; {by}"));
                Self::Told(Told { text: told.text + &by, ..told })
            }
            other @ (Self::ClosedPipe | Self::Told(_)) => other,
        }
    }

    /// The same with a more fitting hint.
    pub(crate) fn hinting(self, hint: impl Into<String>) -> Self {
        match self {
            Self::ClosedPipe => Self::ClosedPipe,
            Self::Told(told) => Self::Told(Told { hint: Some(hint.into()), ..told }),
        }
    }
}

impl Told {
    /// The line for scripts on standard error.
    pub(crate) fn line(&self) -> String {
        let (code, place) = match &self.about {
            About::Asked | About::Place => (code_of(self.exit), None),
            About::Usage => (ErrorKind::Usage, None),
            About::Configuration { file, line } => {
                (ErrorKind::Configuration, Some((file.as_str(), *line)))
            }
        };
        let hint = self.hint.as_deref();
        ErrorLine { exit: self.exit, code, text: &self.text, hint, place }.line() + "\n"
    }
}

impl From<Reply> for Told {
    /// A refusal by the service.
    fn from(Reply { exit, text, hint, .. }: Reply) -> Self {
        Self { exit, text, hint, about: About::Asked }
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
        // Only messages of the argument parser have several lines.
        let several = self.about == About::Usage;
        let lines = if several { self.text.split('\n').collect() } else { vec![&*self.text] };
        let lines: Vec<String> = lines.into_iter().map(wire::printable).collect();
        writeln!(f, "tenths: {}", lines.join("\n"))?;
        match &self.hint {
            Some(hint) => writeln!(f, "hint: {}", wire::printable(hint)),
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
