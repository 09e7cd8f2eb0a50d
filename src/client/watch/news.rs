//! What the screen hears of, from all that tell it.

use ratatui::crossterm::event::KeyEvent;

use wire::View;

/// What the screen hears of.
#[derive(Debug)]
pub(super) enum News {
    /// What the station shows.
    View(Box<View>),
    /// The service cannot be reached.
    Away,
    /// The service speaks another language.
    Strange(String),
    /// A sentence for the person.
    Said(String),
    /// A key was pressed.
    Key(KeyEvent),
    /// The terminal has another size.
    Resized,
    /// The terminal is gone.
    NoKeys,
}
