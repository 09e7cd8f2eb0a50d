//! What keys type, read as a keyboard set to US English: the layout that adapters and scanners leave the
//! factory with (common practice, no source).

use super::input_event::{Stroke, Strokes};

/// What one key typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Typed {
    /// An ASCII character.
    Character(char),
    /// Enter.
    Enter,
    /// A key that leaves the field of a form: Tab, or the arrow to the right or down.
    Leave,
    /// A key without a character.
    Strange,
    /// Some strokes were lost.
    Lost,
}

/// Turns the events of an input device into what was typed.
#[derive(Debug, Default)]
pub(super) struct Typing {
    strokes: Strokes,
    /// Which of the two shift keys are down.
    shifts: [bool; 2],
}

/// `KEY_ENTER`, `KEY_KPENTER`; `KEY_TAB`, `KEY_RIGHT`, `KEY_DOWN`; `KEY_LEFTSHIFT`, `KEY_RIGHTSHIFT` of
/// `linux/input-event-codes.h`.
const ENTERS: [u16; 2] = [28, 96];
const LEAVES: [u16; 3] = [15, 106, 108];
const SHIFTS: [u16; 2] = [42, 54];

impl Typing {
    /// What these bytes complete.
    pub(super) fn feed(&mut self, bytes: &[u8]) -> Vec<Typed> {
        let strokes = self.strokes.feed(bytes);
        strokes.into_iter().filter_map(|stroke| self.stroke(stroke)).collect()
    }

    fn stroke(&mut self, stroke: Stroke) -> Option<Typed> {
        let shift = |key: u16| SHIFTS.iter().position(|shift| *shift == key);
        match stroke {
            Stroke::Down(key) => {
                if let Some(shift) = shift(key) {
                    self.shifts[shift] = true;
                    return None;
                }
                Some(self.typed(key))
            }
            Stroke::Up(key) => {
                if let Some(shift) = shift(key) {
                    self.shifts[shift] = false;
                }
                None
            }
            Stroke::Lost => {
                self.shifts = [false; 2];
                Some(Typed::Lost)
            }
        }
    }

    fn typed(&self, key: u16) -> Typed {
        if ENTERS.contains(&key) {
            Typed::Enter
        } else if LEAVES.contains(&key) {
            Typed::Leave
        } else {
            let shifted = self.shifts.contains(&true);
            character(key, shifted).map_or(Typed::Strange, Typed::Character)
        }
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
    match key {
        98 => return Some('/'),
        121 => return Some(','),
        _ => {}
    }
    KEYS.iter().find_map(|(first, plain, with_shift)| {
        let row = if shifted { with_shift } else { plain };
        row.chars().nth(usize::from(key.checked_sub(*first)?))
    })
}

/// What an adapter types, as the bytes of a line that `gauge` frames and decodes.
#[derive(Debug, Default)]
pub struct TypedLine(Typing);

impl TypedLine {
    /// The bytes that these events type. Keys that end an entry end a line; a key without a character, and
    /// strokes that were lost, leave a mark, so that no value is made of what is left.
    #[must_use]
    pub fn feed(&mut self, events: &[u8]) -> Vec<u8> {
        let byte = |typed| match typed {
            Typed::Character(character) => u8::try_from(character).unwrap_or(gauge::NO_CHARACTER),
            Typed::Enter | Typed::Leave => b'\r',
            Typed::Strange | Typed::Lost => gauge::NO_CHARACTER,
        };
        self.0.feed(events).into_iter().map(byte).collect()
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::super::input_event::tests::event;
    use super::*;

    /// What a keyboard with the US layout sends for a text.
    pub(crate) fn typed(text: &str) -> Vec<u8> {
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

    /// Presses of keys, one after the other.
    fn pressed(keys: &[u16]) -> Vec<u8> {
        keys.iter().flat_map(|key| [event(1, *key, 1), event(1, *key, 0)].concat()).collect()
    }

    #[test]
    fn an_adapter_types_a_line_whichever_key_ends_it() {
        let mut bytes = typed("-0.00012");
        for end in [28, 96, 15, 106, 108] {
            let mut line = TypedLine::default();
            assert_eq!(line.feed(&bytes), b"-0.00012");
            assert_eq!(line.feed(&pressed(&[end])), b"\r", "{end}");
        }
        bytes.extend(pressed(&[28]));
        for size in [1, 7, 24, 100] {
            let mut line = TypedLine::default();
            let typed: Vec<u8> = bytes.chunks(size).flat_map(|part| line.feed(part)).collect();
            assert_eq!(typed, b"-0.00012\r");
        }
    }

    #[test]
    fn a_key_without_a_character_never_vanishes_from_a_number() {
        // KEY_1, then KEY_102ND (86), which no US keyboard has, then KEY_2; KEY_LEFTALT (56).
        assert_eq!(TypedLine::default().feed(&pressed(&[2, 86, 3, 28])), b"1\x1a2\r");
        assert_eq!(TypedLine::default().feed(&pressed(&[56, 2])), b"\x1a1");
        // SYN_DROPPED: strokes are missing.
        let lost = [pressed(&[2]), event(0, 3, 0), event(0, 0, 0), pressed(&[3, 28])].concat();
        assert_eq!(TypedLine::default().feed(&lost), b"1\x1a2\r");
        // The comma of a keyboard that has no point, in either place.
        assert_eq!(TypedLine::default().feed(&pressed(&[11, 51, 11, 121, 2])), b"0,0,1");
    }
}
