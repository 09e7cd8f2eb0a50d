//! Raw events of a Linux input device (`struct input_event` of `linux/input.h`). Pedals, and scanners that
//! type like a keyboard, are such devices.
//!
//! Bytes in, keys out, whatever the bytes are read from. What is absent: opening a device. An event carries
//! the time of a clock that may be set, so the moment of arrival is used instead.

/// Bytes of an event: two machine words of time, then type, code and value. 24 where a machine word has 64
/// bits.
pub(super) const SIZE: usize = 2 * size_of::<usize>() + 8;

/// `EV_SYN` and `EV_KEY` of `linux/input-event-codes.h`.
const SYN: u16 = 0;
const KEY: u16 = 1;

/// `SYN_REPORT`: the events are complete up to here. `SYN_DROPPED`: the kernel lost some.
const REPORT: u16 = 0;
const DROPPED: u16 = 3;

/// What a key did.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stroke {
    /// It went down.
    Down(u16),
    /// It came up.
    Up(u16),
    /// Some strokes were lost: it is unknown which keys are down.
    Lost,
}

/// Cuts a stream of bytes into strokes. The automatic repeat of a key is no stroke.
#[derive(Debug, Default)]
pub(super) struct Strokes {
    part: Vec<u8>,
    /// Whether the events up to the next report belong to those that were lost.
    lossy: bool,
}

impl Strokes {
    /// The strokes that these bytes complete.
    pub(super) fn feed(&mut self, bytes: &[u8]) -> Vec<Stroke> {
        self.part.extend_from_slice(bytes);
        let mut strokes = Vec::new();
        let whole = self.part.len() / SIZE * SIZE;
        let events: Vec<u8> = self.part.drain(..whole).collect();
        for event in events.chunks_exact(SIZE) {
            strokes.extend(self.event(&event[SIZE - 8..]));
        }
        strokes
    }

    /// One event from its last eight bytes.
    fn event(&mut self, event: &[u8]) -> Option<Stroke> {
        let half = |at: usize| u16::from_ne_bytes([event[at], event[at + 1]]);
        let value = i32::from_ne_bytes([event[4], event[5], event[6], event[7]]);
        match (half(0), half(2), value) {
            (SYN, DROPPED, _) => {
                self.lossy = true;
                Some(Stroke::Lost)
            }
            (SYN, REPORT, _) => {
                self.lossy = false;
                None
            }
            (KEY, code, 1) if !self.lossy => Some(Stroke::Down(code)),
            (KEY, code, 0) if !self.lossy => Some(Stroke::Up(code)),
            // 2 is the automatic repeat of a key; other values are not key events.
            _ => None,
        }
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// An event as the kernel writes it.
    pub(crate) fn event(kind: u16, code: u16, value: i32) -> Vec<u8> {
        let mut bytes = vec![0x5a; SIZE - 8];
        bytes.extend(kind.to_ne_bytes());
        bytes.extend(code.to_ne_bytes());
        bytes.extend(value.to_ne_bytes());
        bytes
    }

    #[test]
    fn an_event_has_24_bytes_where_a_word_has_64_bits() {
        // `man 4 input-event-codes` is silent; sizeof(struct input_event) on x86-64 is 24: two
        // longs of time, two 16-bit numbers and a 32-bit one (linux/input.h).
        assert_eq!(SIZE, if cfg!(target_pointer_width = "64") { 24 } else { 16 });
    }

    #[test]
    fn strokes_are_found_in_whatever_pieces_they_come() {
        let mut bytes = Vec::new();
        // Misc scan code, press, report, two repeats, release, report: what a foot switch sends.
        for (kind, code, value) in
            [(4, 4, 458_756), (1, 30, 1), (0, 0, 0), (1, 30, 2), (1, 30, 2), (1, 30, 0), (0, 0, 0)]
        {
            bytes.extend(event(kind, code, value));
        }
        for size in 1..=bytes.len() {
            let mut strokes = Strokes::default();
            let got: Vec<_> = bytes.chunks(size).flat_map(|part| strokes.feed(part)).collect();
            assert_eq!(got, [Stroke::Down(30), Stroke::Up(30)], "pieces of {size}");
        }
    }

    #[test]
    fn what_the_kernel_lost_is_told_and_its_rest_left_out() {
        let mut bytes = event(1, 30, 1);
        for (kind, code, value) in [(0, 3, 0), (1, 31, 1), (0, 0, 0), (1, 32, 1)] {
            bytes.extend(event(kind, code, value));
        }
        let got = Strokes::default().feed(&bytes);
        assert_eq!(got, [Stroke::Down(30), Stroke::Lost, Stroke::Down(32)]);
    }
}
