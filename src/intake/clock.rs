//! The two clocks of a stamp, and the identity of the machine's boot.

use std::pin::Pin;
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use rustix::time::{ClockId, clock_gettime};
use tokio::time::{Instant, Sleep};

use quantity::{Stamp, Wall};

/// The current time by both clocks.
#[must_use]
pub fn now() -> Stamp {
    let micros = match SystemTime::now().duration_since(UNIX_EPOCH) {
        Ok(since) => i64::try_from(since.as_micros()).unwrap_or(i64::MAX),
        Err(before) => i64::try_from(before.duration().as_micros()).map_or(i64::MIN, |m| -m),
    };
    Stamp { wall: Wall::from_micros(micros), mono_us: mono_us() }
}

/// Microseconds since the machine was switched on, including time asleep.
#[must_use]
pub fn mono_us() -> u64 {
    let time = clock_gettime(ClockId::Boottime);
    let seconds = u64::try_from(time.tv_sec).unwrap_or(0);
    seconds * 1_000_000 + u64::try_from(time.tv_nsec / 1000).unwrap_or(0)
}

/// An alarm that is put off again and again, as by each sample of a stream. Moving it costs next to
/// nothing, while making and cancelling a new sleep each time would not.
pub(super) struct Alarm(Pin<Box<Sleep>>);

impl Alarm {
    pub(super) fn new() -> Self {
        Self(Box::pin(tokio::time::sleep(Duration::ZERO)))
    }

    /// Sleeps until a moment of [`mono_us`], or for ever without one. May be cancelled.
    pub(super) async fn at(&mut self, wake_us: Option<u64>) {
        let Some(wake_us) = wake_us else { return std::future::pending().await };
        let left = Duration::from_micros(wake_us.saturating_sub(mono_us()));
        self.0.as_mut().reset(Instant::now() + left);
        self.0.as_mut().await;
    }
}

/// Sleeps until a moment of [`mono_us`], or for ever without one.
pub(super) async fn sleep_until(wake_us: Option<u64>) {
    match wake_us {
        Some(wake_us) => {
            let left_us = wake_us.saturating_sub(mono_us());
            tokio::time::sleep(Duration::from_micros(left_us)).await;
        }
        None => std::future::pending().await,
    }
}

/// A number that differs from boot to boot; 0 where the kernel does not give one.
#[must_use]
pub fn boot_identity() -> u64 {
    let text = std::fs::read_to_string("/proc/sys/kernel/random/boot_id").unwrap_or_default();
    // 60 bits of the identifier, since the record keeps it as a signed 64-bit integer.
    let digits: String = text.chars().filter(char::is_ascii_hexdigit).take(15).collect();
    u64::from_str_radix(&digits, 16).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_boot_has_one_identity_and_time_goes_on() {
        assert_eq!(boot_identity(), boot_identity());
        let first = mono_us();
        assert!(mono_us() >= first && first > 0);
    }
}
