//! What goes wrong, as the page tells it.

use ::page::{Told, Wrong};

use crate::failure::{self, Failure};

/// A failure of a command, as the page tells it.
pub(super) fn told(failure: Failure) -> Told {
    match failure {
        Failure::ClosedPipe => Told { wrong: Wrong::Away, text: "it ended".to_owned(), hint: None },
        Failure::Told(failure::Told { exit, text, hint, .. }) => {
            let wrong = if exit == failure::REFUSED { Wrong::NotThere } else { Wrong::Away };
            Told { wrong, text, hint }
        }
    }
}

/// The same about what was typed.
pub(super) fn asked(failure: Failure) -> Told {
    let told = told(failure);
    let wrong = if told.wrong == Wrong::NotThere { Wrong::Asked } else { told.wrong };
    Told { wrong, ..told }
}
