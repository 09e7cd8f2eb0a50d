//! Capture "request": lines that send back what was sent to them.

use std::borrow::Cow;

/// The bytes that a line is expected to send back.
#[derive(Debug, Clone, Default)]
pub struct Echo {
    awaited: Vec<u8>,
    /// How many of them have come back.
    back: usize,
}

impl Echo {
    /// Notes that these bytes were sent.
    pub fn sent(&mut self, bytes: &[u8]) {
        *self = Self { awaited: bytes.to_vec(), back: 0 };
    }

    /// What arrived, without the echo at its beginning. Only all of what was sent is an echo: where the
    /// beginning of an answer merely looks like one, as of `1.25` to the question `1`, it comes back with
    /// the first byte that differs.
    pub fn strip<'b>(&mut self, bytes: &'b [u8]) -> Cow<'b, [u8]> {
        let left = &self.awaited[self.back..];
        let alike = left.iter().zip(bytes).take_while(|(awaited, byte)| awaited == byte).count();
        if alike < left.len() && alike == bytes.len() {
            self.back += alike;
            return Cow::Borrowed(&[]);
        }
        let own = if alike == left.len() {
            Cow::Borrowed(&bytes[alike..])
        } else {
            Cow::Owned([&self.awaited[..self.back], bytes].concat())
        };
        *self = Self::default();
        own
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_sent_is_dropped_once() {
        let mut echo = Echo::default();
        assert_eq!(*echo.strip(b"?\r"), *b"?\r", "nothing was sent");
        echo.sent(b"?\r");
        assert_eq!(*echo.strip(b"?"), *b"");
        assert_eq!(*echo.strip(b"\r+0.1\r"), *b"+0.1\r", "in two reads, the answer at its heels");
        assert_eq!(*echo.strip(b"?\r"), *b"?\r");
        echo.sent(b"?\r");
        assert_eq!(*echo.strip(b"+0.1\r?\r"), *b"+0.1\r?\r", "a line that sends nothing back");
    }

    #[test]
    fn an_answer_that_begins_like_the_question_keeps_its_first_digit() {
        // The channel is asked by its number, and the line was said to send that back but does not.
        let mut echo = Echo::default();
        echo.sent(b"1\r");
        assert_eq!(*echo.strip(b"1.25"), *b"1.25");
        assert_eq!(*echo.strip(b"\r"), *b"\r");
        // In two reads: what was held comes with what shows that it was none.
        echo.sent(b"12\r");
        assert_eq!(*echo.strip(b"12"), *b"");
        assert_eq!(*echo.strip(b".5\r"), *b"12.5\r");
        assert_eq!(*echo.strip(b"12\r"), *b"12\r", "nothing is awaited any more");
    }
}
