//! Capture "send": each frame is a press of the gauge's button.

use std::collections::VecDeque;

use quantity::Length;

const SECOND_US: u64 = 1_000_000;

/// A flood this long mutes the gauge, and a calm this long ends it (common practice, no source).
const SUSTAINED_US: u64 = 3 * SECOND_US;

/// When frames belong to one press, and when a button is stuck.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PressRule {
    /// Another frame within this time is the same press; 0 = off.
    pub repeat_us: u64,
    /// … if its value is also within this distance: two resolutions.
    pub near: Length,
    /// More frames a second than this for 3 s mute the gauge; 0 = off.
    pub max_rate: u32,
}

/// What a frame sent by the button is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Press {
    /// A press.
    New,
    /// The same press again.
    Repeat,
    /// Part of a flood.
    Muted {
        /// The first muted frame of this flood.
        first: bool,
    },
}

/// The presses of one gauge so far.
#[derive(Debug, Clone)]
pub(crate) struct Presses {
    rule: PressRule,
    last: Option<(u64, Length)>,
    /// The times of the last `max_rate + 1` frames.
    recent: VecDeque<u64>,
    /// From when to when frames came faster than allowed.
    fast: Option<(u64, u64)>,
    muted: bool,
}

impl Presses {
    pub(crate) fn new(rule: PressRule) -> Self {
        Self { rule, last: None, recent: VecDeque::new(), fast: None, muted: false }
    }

    /// Takes in a frame and says what it is.
    pub(crate) fn frame(&mut self, at_us: u64, value: Length) -> Press {
        let was_muted = self.muted;
        self.note_rate(at_us);
        if self.muted {
            return Press::Muted { first: !was_muted };
        }
        if self.is_same_press(at_us, value) {
            return Press::Repeat;
        }
        self.last = Some((at_us, value));
        Press::New
    }

    fn is_same_press(&self, at_us: u64, value: Length) -> bool {
        let Some((last_us, last)) = self.last else { return false };
        let soon = self.rule.repeat_us > 0 && at_us.saturating_sub(last_us) <= self.rule.repeat_us;
        let apart = value.checked_sub(last).map(Length::abs);
        soon && apart.is_some_and(|apart| apart <= self.rule.near)
    }

    /// There were more than `max_rate` frames in a second when the last `max_rate + 1` of them lie less
    /// than a second apart.
    fn note_rate(&mut self, at_us: u64) {
        let Ok(allowed) = usize::try_from(self.rule.max_rate) else { return };
        if allowed == 0 {
            return;
        }
        self.recent.push_back(at_us);
        while self.recent.len() > allowed + 1 {
            self.recent.pop_front();
        }
        let oldest = self.recent.front().copied().unwrap_or(at_us);
        let is_fast = self.recent.len() > allowed && at_us.saturating_sub(oldest) < SECOND_US;
        if is_fast {
            let since = self.fast.map_or(oldest, |(since, _)| since);
            self.fast = Some((since, at_us));
            self.muted |= at_us.saturating_sub(since) >= SUSTAINED_US;
        } else if !self.muted {
            self.fast = None;
        } else if self.fast.is_none_or(|(_, until)| at_us.saturating_sub(until) >= SUSTAINED_US) {
            self.muted = false;
            self.fast = None;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RULE: PressRule =
        PressRule { repeat_us: 300_000, near: Length::from_picometres(508_000), max_rate: 5 };

    fn tenths(count: i64) -> Length {
        Length::from_picometres(count * 254_000)
    }

    #[test]
    fn a_bouncing_button_is_one_press() {
        let mut presses = Presses::new(RULE);
        assert_eq!(presses.frame(1_000_000, tenths(12)), Press::New);
        assert_eq!(presses.frame(1_120_000, tenths(12)), Press::Repeat);
        assert_eq!(presses.frame(1_300_000, tenths(14)), Press::Repeat, "both limits are inside");
        assert_eq!(presses.frame(1_300_001, tenths(12)), Press::New, "the last press was at 1 s");
        assert_eq!(presses.frame(1_400_000, tenths(15)), Press::New, "three resolutions away");
    }

    #[test]
    fn equal_values_on_a_flat_part_are_readings() {
        let mut presses = Presses::new(RULE);
        for touch in 0..8 {
            assert_eq!(presses.frame(touch * 400_000, tenths(0)), Press::New);
        }
    }

    #[test]
    fn a_stuck_button_is_muted_until_it_has_been_calm() {
        let mut presses = Presses::new(RULE);
        let flood: Vec<_> = (0..50).map(|n| presses.frame(n * 100_000, tenths(0))).collect();
        let first = flood.iter().position(|press| *press == Press::Muted { first: true }).unwrap();
        assert_eq!(first, 30, "ten a second, muted after three seconds");
        assert!(flood[..30].iter().all(|press| !matches!(press, Press::Muted { .. })));
        assert!(flood[31..].iter().all(|press| *press == Press::Muted { first: false }));
        // The flood ends at 4.9 s: one press 2 s later is still part of it, one 3 s later is not.
        assert_eq!(presses.frame(6_900_000, tenths(9)), Press::Muted { first: false });
        assert_eq!(presses.frame(7_900_000, tenths(9)), Press::New);
    }

    #[test]
    fn five_a_second_is_allowed_and_zero_switches_off() {
        let mut presses = Presses::new(RULE);
        for n in 0..100 {
            assert!(!matches!(presses.frame(n * 200_000, tenths(0)), Press::Muted { .. }));
        }
        let mut off = Presses::new(PressRule { repeat_us: 0, max_rate: 0, ..RULE });
        for n in 0..1000 {
            assert_eq!(off.frame(n * 1000, tenths(0)), Press::New);
        }
    }
}
