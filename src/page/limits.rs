//! What the page takes on at most. Whoever asks for more is told so; the bench is never made to wait for a reader.

use std::sync::Mutex;
use std::time::{Duration, Instant};

/// Open connections, streams among them.
pub(crate) const CONNECTIONS: usize = 64;
/// Browsers that follow a station.
pub(crate) const STREAMS: usize = 16;
/// Requests that read the record at the same time.
pub(crate) const READERS: usize = 2;
/// Jobs or alerts on one page.
pub(crate) const ROWS: usize = 50;

/// How long a browser may take to send the head of a request, and how long a connection may stay without one.
pub(crate) const HEAD: Duration = Duration::from_secs(8);
/// The most bytes of the head of a request.
pub(crate) const HEAD_BYTES: usize = 16 * 1024;
/// The most lines of the head of a request.
pub(crate) const HEAD_LINES: usize = 64;
/// The most bytes of an address with what is asked behind it.
pub(crate) const ADDRESS: usize = 2048;
/// How long a browser may take none of what is written to it.
pub(crate) const STUCK: Duration = Duration::from_secs(20);
/// How long an answer may take.
pub(crate) const ANSWER: Duration = Duration::from_secs(30);
/// How long a request waits for its turn to read the record.
pub(crate) const TURN: Duration = Duration::from_secs(10);
/// Wrong tokens are answered this late, one after the other.
pub(crate) const WRONG_TOKEN: Duration = Duration::from_secs(1);

/// Requests a second over some time, and at once.
const RATE: f64 = 40.0;
const BURST: f64 = 160.0;

/// How many requests may still come: it fills up again with time.
#[derive(Debug)]
pub(crate) struct Bucket(Mutex<(f64, Instant)>);

impl Bucket {
    pub(crate) fn new(now: Instant) -> Self {
        Self(Mutex::new((BURST, now)))
    }

    /// Takes one request; false where there are too many.
    pub(crate) fn takes(&self, now: Instant) -> bool {
        let mut held = self.0.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        let (left, since) = *held;
        let filled = (left + now.saturating_duration_since(since).as_secs_f64() * RATE).min(BURST);
        let takes = filled >= 1.0;
        *held = (if takes { filled - 1.0 } else { filled }, now);
        takes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn requests_without_a_pause_are_refused_and_come_back_with_time() {
        let begun = Instant::now();
        let bucket = Bucket::new(begun);
        assert_eq!((0..1000).filter(|_| bucket.takes(begun)).count(), 160);
        let later = begun + Duration::from_millis(500);
        assert_eq!((0..1000).filter(|_| bucket.takes(later)).count(), 20);
        let much_later = begun + Duration::from_hours(1);
        assert_eq!((0..1000).filter(|_| bucket.takes(much_later)).count(), 160);
    }
}
