//! The news that the screen receives, from every source.

use ratatui::crossterm::event::KeyEvent;

use wire::View;

/// A piece of news for the screen.
#[derive(Debug)]
pub(super) enum News {
    /// What the station shows.
    View(Box<View>),
    /// The service cannot be reached.
    Away,
    /// The service is of another version.
    Strange(String),
    /// A message for the person.
    Said(String),
    /// A key was pressed.
    Key(KeyEvent),
    /// The terminal has another size.
    Resized,
    /// The terminal is gone.
    NoKeys,
}
