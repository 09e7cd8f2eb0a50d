//! A check that is answered: the question, as large as there is room, the possible answers, and what to
//! type.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use wire::{ViewCheck, printable};

use super::big::big_wrapped;
use super::brush::{Look, STRONG, below, put_big, put_rows, wrapped};

/// Draws a question that waits for its answer; returns the rows it took. A check without a question takes
/// none.
pub(super) fn question(look: Look, check: &ViewCheck, area: Rect, buf: &mut Buffer) -> u16 {
    let Some(asked) = check.asks.question.as_deref().map(printable) else { return 0 };
    let foot = [
        printable(&check.asks.permitted()),
        printable(&format!("Type: {}", check.asks.command(&check.part, &check.name))),
    ];
    // One row before the possible answers, and one more where they take two.
    let room = Rect { height: area.height.saturating_sub(4).max(1), ..area };
    let mut used = asked_large(look, check, &asked, room, buf) + 1;
    for (text, style) in foot.iter().zip([STRONG, STRONG]) {
        used += wrapped(buf, below(area, used), text, style);
    }
    used
}

/// The question in large letters over as many rows of words as it needs. Where it is too long, or has
/// signs without a shape, the call to answer is large and the question is below it.
fn asked_large(look: Look, check: &ViewCheck, asked: &str, area: Rect, buf: &mut Buffer) -> u16 {
    if let Some(rows) = big_wrapped(asked, (area.width, area.height), look.block()) {
        return put_rows(buf, area, &rows, STRONG);
    }
    let room = (area.width, area.height / 2);
    let call = printable(&check.next_words);
    let used = put_big(buf, area, &call, room, (look, STRONG)) + 1;
    used + wrapped(buf, below(area, used), asked, STRONG)
}
