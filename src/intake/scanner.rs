//! A scanner: each scan is one line, whether the scanner types or sends.

use super::input_event::{Stroke, Strokes};

/// The most characters kept of a scan; no code is nearly as long. The rest of a longer scan is read and
/// dropped, so that it does not become a scan of its own.
const LONGEST: usize = 200;

/// The same scan within this time, in microseconds, is one code read twice while the trigger was held.
const TWICE_US: u64 = 700_000;

/// The scan under way.
#[derive(Debug, Default)]
struct Growing {
    text: String,
    begun: bool,
}

impl Growing {
    fn push(&mut self, character: char) {
        self.begun = true;
        if self.text.len() < LONGEST {
            self.text.push(character);
        }
    }

    /// The scan, if there is one.
    fn end(&mut self) -> Option<String> {
        let begun = std::mem::take(&mut self.begun);
        let text = std::mem::take(&mut self.text);
        begun.then_some(text)
    }
}

/// A scanner on a serial port: a line ends with CR or LF.
#[derive(Debug, Default)]
pub(super) struct Sender(Growing);

impl Sender {
    /// The scans that these bytes end.
    pub(super) fn feed(&mut self, bytes: &[u8]) -> Vec<String> {
        let mut scans = Vec::new();
        for &byte in bytes {
            match byte {
                b'\r' | b'\n' => scans.extend(self.0.end()),
                // Each byte is one character; beyond ASCII it does not matter which.
                _ => self.0.push(char::from(byte)),
            }
        }
        scans
    }

    /// Whether a scan is under way.
    pub(super) const fn is_waiting(&self) -> bool {
        self.0.begun
    }

    /// Nothing arrived for a while: this ends the scan of a scanner that sends no line end.
    pub(super) fn silence(&mut self) -> Option<String> {
        self.0.end()
    }
}

/// A scanner that types as a keyboard set to US English; Enter ends a scan.
#[derive(Debug, Default)]
pub(super) struct Typist {
    strokes: Strokes,
    scan: Growing,
    /// Which of the two shift keys are down.
    shifts: [bool; 2],
}

/// `KEY_ENTER`, `KEY_KPENTER`, `KEY_LEFTSHIFT`, `KEY_RIGHTSHIFT` of `linux/input-event-codes.h`.
const ENTER: u16 = 28;
const KEYPAD_ENTER: u16 = 96;
const SHIFTS: [u16; 2] = [42, 54];

impl Typist {
    /// The scans that these bytes end.
    pub(super) fn feed(&mut self, bytes: &[u8]) -> Vec<String> {
        let strokes = self.strokes.feed(bytes);
        strokes.into_iter().filter_map(|stroke| self.stroke(stroke)).collect()
    }

    fn stroke(&mut self, stroke: Stroke) -> Option<String> {
        match stroke {
            Stroke::Down(ENTER | KEYPAD_ENTER) => return self.scan.end(),
            Stroke::Down(key) => match SHIFTS.iter().position(|shift| *shift == key) {
                Some(shift) => self.shifts[shift] = true,
                None => self.typed(key),
            },
            Stroke::Up(key) => {
                if let Some(shift) = SHIFTS.iter().position(|shift| *shift == key) {
                    self.shifts[shift] = false;
                }
            }
            // A scan with a gap is damaged; its check characters show that.
            Stroke::Lost => self.shifts = [false; 2],
        }
        None
    }

    fn typed(&mut self, key: u16) {
        let shifted = self.shifts.contains(&true);
        // A key without a character leaves a mark: what was typed is not what was printed.
        self.scan.push(character(key, shifted).unwrap_or('\u{fffd}'));
    }
}

/// Rows of keys: the code of the first key, then the characters without and with shift. It is the US layout
/// over the codes of `linux/input-event-codes.h`.
const KEYS: [(u16, &str, &str); 7] = [
    (2, "1234567890-=", "!@#$%^&*()_+"),
    (16, "qwertyuiop[]", "QWERTYUIOP{}"),
    (30, "asdfghjkl;'`", "ASDFGHJKL:\"~"),
    (43, "\\zxcvbnm,./", "|ZXCVBNM<>?"),
    (55, "*", "*"),
    (57, " ", " "),
    (71, "789-456+1230.", "789-456+1230."),
];

fn character(key: u16, shifted: bool) -> Option<char> {
    if key == 98 {
        return Some('/');
    }
    KEYS.iter().find_map(|(first, plain, with_shift)| {
        let row = if shifted { with_shift } else { plain };
        row.chars().nth(usize::from(key.checked_sub(*first)?))
    })
}

/// Recognises a scan that was read twice.
#[derive(Debug, Default)]
pub(super) struct Twice(Option<(String, u64)>);

impl Twice {
    /// Whether a scan at this time is a new one.
    pub(super) fn is_new(&mut self, scan: &str, at_us: u64) -> bool {
        let again =
            |(last, then): &(String, u64)| last == scan && at_us.saturating_sub(*then) < TWICE_US;
        let new = !self.0.as_ref().is_some_and(again);
        self.0 = Some((scan.to_owned(), at_us));
        new
    }
}

#[cfg(test)]
mod tests {
    use super::super::input_event::tests::event;
    use super::*;

    /// What a keyboard with the US layout sends for a text.
    fn typed(text: &str) -> Vec<u8> {
        let mut bytes = Vec::new();
        for wanted in text.chars() {
            let keys = (2..100).flat_map(|key| [(key, false), (key, true)]);
            let mut keys = keys.filter(|(key, shift)| character(*key, *shift) == Some(wanted));
            let (key, shift) = keys.next().unwrap();
            if shift {
                bytes.extend(event(1, 42, 1));
            }
            bytes.extend(event(1, key, 1));
            bytes.extend(event(1, key, 0));
            if shift {
                bytes.extend(event(1, 42, 0));
            }
            bytes.extend(event(0, 0, 0));
        }
        bytes
    }

    #[test]
    fn keys_are_those_of_a_us_keyboard() {
        // From linux/input-event-codes.h: KEY_1 2, KEY_0 11, KEY_MINUS 12, KEY_4 5, KEY_Q 16,
        // KEY_P 25, KEY_A 30, KEY_L 38, KEY_GRAVE 41, KEY_BACKSLASH 43, KEY_Z 44, KEY_M 50,
        // KEY_SLASH 53, KEY_SPACE 57, KEY_KP7 71, KEY_KP0 82, KEY_KPDOT 83.
        for (key, plain, shifted) in [
            (2, '1', '!'),
            (11, '0', ')'),
            (12, '-', '_'),
            (5, '4', '$'),
            (16, 'q', 'Q'),
            (25, 'p', 'P'),
            (30, 'a', 'A'),
            (38, 'l', 'L'),
            (41, '`', '~'),
            (43, '\\', '|'),
            (44, 'z', 'Z'),
            (50, 'm', 'M'),
            (53, '/', '?'),
            (57, ' ', ' '),
            (71, '7', '7'),
            (82, '0', '0'),
            (83, '.', '.'),
        ] {
            assert_eq!(character(key, false), Some(plain), "{key}");
            assert_eq!(character(key, true), Some(shifted), "{key}");
        }
        for key in [0, 1, 14, 15, 28, 29, 42, 54, 56, 58, 84, 96, 97, 272, u16::MAX] {
            assert_eq!(character(key, false), None, "{key}");
        }
    }

    #[test]
    fn one_scan_is_one_line_however_it_is_cut() {
        let mut bytes = typed("$C-7K2M9QXA-0-2-H0");
        bytes.extend(event(1, ENTER, 1));
        bytes.extend(event(1, ENTER, 0));
        for size in [1, 7, 24, 100, 4096] {
            let mut typist = Typist::default();
            let scans: Vec<_> = bytes.chunks(size).flat_map(|part| typist.feed(part)).collect();
            assert_eq!(scans, ["$C-7K2M9QXA-0-2-H0"]);
            let mut sender = Sender::default();
            let sent = b"$A-NEXT-ZB\r\n\r\n$A-VOID-00\r";
            let scans: Vec<_> = sent.chunks(size).flat_map(|part| sender.feed(part)).collect();
            assert_eq!(scans, ["$A-NEXT-ZB", "$A-VOID-00"]);
            assert!(!sender.is_waiting());
        }
    }

    #[test]
    fn rubbish_is_one_scan_and_fills_no_memory() {
        let mut sender = Sender::default();
        assert_eq!(sender.feed(&vec![0xff; 100_000]), [""; 0]);
        let scan = sender.feed(b"\r").pop().unwrap();
        assert!(scan.len() <= LONGEST + 4, "{}", scan.len());
        assert_eq!(sender.feed(b"\x1b[2J\0\r"), ["\x1b[2J\0"]);
        let mut typist = Typist::default();
        for _ in 0..10_000 {
            assert_eq!(typist.feed(&event(1, 30, 1)), [""; 0]);
        }
        assert!(typist.feed(&event(1, ENTER, 1)).pop().unwrap().len() <= LONGEST);
        // A key without a character spoils the scan rather than vanish from it.
        assert_eq!(typist.feed(&event(1, 59, 1)), [""; 0]);
        assert_eq!(typist.feed(&event(1, ENTER, 1)), ["\u{fffd}"]);
        assert_eq!(typist.feed(&event(1, ENTER, 1)), [""; 0], "Enter alone is no scan");
    }

    #[test]
    fn a_scanner_without_line_ends_ends_with_silence() {
        let mut sender = Sender::default();
        assert_eq!(sender.feed(b"$A-NEXT-ZB"), [""; 0]);
        assert!(sender.is_waiting());
        assert_eq!(sender.silence().as_deref(), Some("$A-NEXT-ZB"));
        assert_eq!(sender.silence(), None);
    }

    #[test]
    fn a_code_read_twice_in_one_pull_is_one_scan() {
        let mut twice = Twice::default();
        assert!(twice.is_new("a", 0));
        assert!(!twice.is_new("a", 400_000) && !twice.is_new("a", 900_000));
        assert!(twice.is_new("b", 900_001) && twice.is_new("a", 900_002));
        assert!(twice.is_new("a", 900_002 + TWICE_US));
    }
}
