//! Capture "request": lines that send back what was sent to them.

use std::collections::VecDeque;

/// The bytes that a line is expected to send back.
#[derive(Debug, Clone, Default)]
pub struct Echo {
    awaited: VecDeque<u8>,
}

impl Echo {
    /// Notes that these bytes were sent.
    pub fn sent(&mut self, bytes: &[u8]) {
        self.awaited.clear();
        self.awaited.extend(bytes);
    }

    /// What arrived, without the echo at its beginning. The first byte that differs ends the echo: it and
    /// all that follow are the gauge's own.
    pub fn strip<'b>(&mut self, bytes: &'b [u8]) -> &'b [u8] {
        let mut rest = bytes;
        while let (Some(awaited), Some((first, more))) = (self.awaited.front(), rest.split_first())
        {
            if awaited != first {
                self.awaited.clear();
                break;
            }
            self.awaited.pop_front();
            rest = more;
        }
        rest
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_sent_is_dropped_once() {
        let mut echo = Echo::default();
        assert_eq!(echo.strip(b"?\r"), b"?\r", "nothing was sent");
        echo.sent(b"?\r");
        assert_eq!(echo.strip(b"?"), b"");
        assert_eq!(echo.strip(b"\r+0.1\r"), b"+0.1\r", "in two reads, the answer at its heels");
        assert_eq!(echo.strip(b"?\r"), b"?\r");
        echo.sent(b"?\r");
        assert_eq!(echo.strip(b"+0.1\r?\r"), b"+0.1\r?\r", "a line that sends nothing back");
    }
}
