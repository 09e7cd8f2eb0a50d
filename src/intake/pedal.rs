//! A pedal: it is down or up, whichever key it sends.

use std::collections::BTreeSet;

use super::input_event::{Stroke, Strokes};

/// The state of a pedal that is an input device. All keys of the device belong to the pedal: it is down
/// while any of them is down.
#[derive(Debug, Default)]
pub(super) struct Pedal {
    strokes: Strokes,
    down: BTreeSet<u16>,
}

impl Pedal {
    /// The changes in these bytes: `true` for down.
    pub(super) fn feed(&mut self, bytes: &[u8]) -> Vec<bool> {
        let strokes = self.strokes.feed(bytes);
        strokes.into_iter().filter_map(|stroke| self.stroke(stroke)).collect()
    }

    fn stroke(&mut self, stroke: Stroke) -> Option<bool> {
        let was = !self.down.is_empty();
        match stroke {
            Stroke::Down(key) => drop(self.down.insert(key)),
            Stroke::Up(key) => drop(self.down.remove(&key)),
            // A key that is not known to be down counts as up.
            Stroke::Lost => self.down.clear(),
        }
        let is = !self.down.is_empty();
        (was != is).then_some(is)
    }
}

#[cfg(test)]
mod tests {
    use super::super::input_event::tests::event;
    use super::*;

    fn changes(events: &[(u16, u16, i32)]) -> Vec<bool> {
        let mut pedal = Pedal::default();
        events
            .iter()
            .flat_map(|(kind, code, value)| pedal.feed(&event(*kind, *code, *value)))
            .collect()
    }

    #[test]
    fn any_key_is_the_pedal_and_a_repeat_is_no_press() {
        // The letter b, a mouse button, a media key.
        for key in [48, 272, 164] {
            assert_eq!(changes(&[(1, key, 1), (0, 0, 0), (1, key, 0), (0, 0, 0)]), [true, false]);
            assert_eq!(
                changes(&[(1, key, 1), (1, key, 2), (1, key, 2), (1, key, 0)]),
                [true, false]
            );
        }
    }

    #[test]
    fn a_pedal_that_types_a_chord_is_down_once() {
        // Control, then a letter; released the other way round.
        assert_eq!(changes(&[(1, 29, 1), (1, 46, 1), (1, 46, 0), (1, 29, 0)]), [true, false]);
    }

    #[test]
    fn a_stuck_pedal_tells_once_and_a_release_alone_nothing() {
        let mut stuck = vec![(1, 30, 1)];
        stuck.extend([(1, 30, 2); 1000]);
        assert_eq!(changes(&stuck), [true]);
        assert_eq!(changes(&[(1, 30, 0), (0, 0, 0)]), [false; 0]);
        assert_eq!(changes(&[(1, 30, 1), (0, 3, 0), (0, 0, 0)]), [true, false]);
    }
}
