//! A gauge that is being proved, as it is read from two metres.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use ::report::screen::proof_word as word;
use wire::{View, ViewProof, printable};

use super::brush::{STRONG, below, put_big, wrapped};
use super::scene::{Scene, value};

/// The proof in the body of the screen.
pub(super) fn draw(
    scene: &Scene<'_>,
    view: &View,
    proof: &ViewProof,
    (body, buf): (Rect, &mut Buffer),
) {
    let third = (body.height / 3).max(5).min(body.height);
    if let Some(end) = &proof.end {
        let (word, ink) = word(end);
        let room = (body.width, third);
        let used = put_big(buf, body, word, room, (scene.look, scene.look.ink(ink)));
        wrapped(buf, below(body, used + 1), &printable(&end.text), Style::new());
        return;
    }
    let used = value(scene, view, Rect { height: third, ..body }, buf) + 1;
    let rest = below(body, used);
    let room = (rest.width, rest.height.saturating_sub(4).max(1).min(third));
    let words = printable(&proof.next_words);
    let used = put_big(buf, rest, &words, room, (scene.look, STRONG));
    let under = below(rest, used + 1);
    let used = wrapped(buf, under, &printable(&proof.why), STRONG);
    let numbers = proof.lifts.iter().map(|lift| lift.split(' ').next().unwrap_or_default());
    let taken = printable(&numbers.collect::<Vec<_>>().join("  "));
    wrapped(buf, below(under, used + 1), &taken, Style::new());
}

/// The lines of a small screen.
pub(super) fn small(proof: &ViewProof) -> Vec<String> {
    match &proof.end {
        Some(end) => vec![word(end).0.to_owned(), printable(&end.text)],
        None => vec![
            printable(&format!("{} {}/{}", proof.next_words, proof.taken, proof.of)),
            printable(&proof.why),
        ],
    }
}
