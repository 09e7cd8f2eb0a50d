//! A scanner: each scan is one line, whether the scanner types or sends.

use super::typing::{Typed, Typing};

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
    typing: Typing,
    scan: Growing,
}

impl Typist {
    /// The scans that these bytes end.
    pub(super) fn feed(&mut self, bytes: &[u8]) -> Vec<String> {
        let typed = self.typing.feed(bytes);
        typed.into_iter().filter_map(|typed| self.typed(typed)).collect()
    }

    fn typed(&mut self, typed: Typed) -> Option<String> {
        match typed {
            Typed::Enter => return self.scan.end(),
            Typed::Character(character) => self.scan.push(character),
            // A key without a character leaves a mark: what was typed is not what was printed.
            Typed::Leave | Typed::Strange => self.scan.push('\u{fffd}'),
            // A scan with a gap is damaged; its check characters show that.
            Typed::Lost => {}
        }
        None
    }
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
    use super::super::typing::tests::typed;
    use super::*;

    /// `KEY_ENTER` of `linux/input-event-codes.h`.
    const ENTER: u16 = 28;

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
