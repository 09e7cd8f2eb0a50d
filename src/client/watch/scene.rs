//! What every part of the screen is drawn from, and the live value in large digits.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use ::report::screen as words;
use wire::View;

use super::big::big;
use super::brush::{Look, STRONG, put, put_rows, put_within, wide};

/// A box on top of the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Over {
    Help,
    Skip,
}

/// The reasons for leaving a position out, by their key.
pub(super) const SKIP_REASONS: [(char, &str); 5] =
    [('1', "slot"), ('2', "etch mark"), ('3', "hole"), ('4', "nick"), ('5', "out of reach")];

/// Everything that is drawn.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scene<'s> {
    pub(super) view: Option<&'s View>,
    /// The age of the view, milliseconds.
    pub(super) since_ms: u64,
    /// How long the service has been away, seconds.
    pub(super) away_s: Option<u64>,
    /// The latest message.
    pub(super) message: Option<&'s str>,
    pub(super) over: Option<Over>,
    pub(super) look: Look,
}

/// The live value; returns the rows it took.
pub(super) fn value(scene: &Scene<'_>, view: &View, area: Rect, buf: &mut Buffer) -> u16 {
    // A value read before the service went away says nothing about now.
    let away = scene.away_s.map(|_| ("AWAY".to_owned(), String::new()));
    let Some((number, unit)) = away.or_else(|| words::live_value(view)) else {
        put_within(buf, (area.x, area.y), words::no_value(view), area.width, STRONG);
        // As much room as a value takes, so that nothing moves when the first one comes.
        return area.height / 5 * 5;
    };
    let signed = number.starts_with(['-', '+']) || number.starts_with(char::is_alphabetic);
    // Leaves room for a sign, so that the value does not move when it gets one.
    let number = if signed { number } else { format!("_{number}") };
    let room = (area.width.saturating_sub(wide(&unit) + 1), area.height);
    let style = STRONG;
    let Some(rows) = big(&number, room, scene.look.block()) else {
        let text = format!("{} {unit}", number.trim_start_matches('_'));
        put_within(buf, (area.x, area.y), &text, area.width, style);
        return 1;
    };
    let used = put_rows(buf, area, &rows, style);
    put(buf, (area.x + wide(&rows[0]) + 1, area.y + used.saturating_sub(1)), &unit, style);
    used
}
