//! What a foot on a pedal means.
//!
//! It is decided when the foot comes up: a press under a second takes the value, a longer hold takes the
//! last touch back. Nothing is taken back while the pedal is down, because something lying on it would
//! take a touch back too. After half a minute the pedal counts as stuck and means nothing.

/// A contact bounces for less than this (common practice, no source).
const BOUNCE_US: u64 = 50_000;

/// A hold of this long takes the last touch back.
const HOLD_US: u64 = 1_000_000;

/// Nobody stands on a pedal this long.
const STUCK_US: u64 = 30_000_000;

/// What the foot did.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Foot {
    /// It came down: the value at this moment is meant.
    Press,
    /// It came up within a second: the value is taken.
    Take,
    /// It came up after a hold: the last touch is taken back.
    Back,
    /// The pedal has been down for too long; it is ignored until it comes up.
    Stuck,
    /// A stuck pedal came up.
    Freed,
}

/// The pedal of one station.
#[derive(Debug, Clone, Default)]
pub struct Pedal {
    /// When it came down, if it is down.
    down_us: Option<u64>,
    /// When it last changed, not counting bounces.
    changed_us: Option<u64>,
    /// The newest state of its contact, bounces included.
    contact: bool,
    stuck: bool,
}

impl Pedal {
    /// Tells the pedal the time. Call it before each edge; calling it more often does no harm.
    pub fn at(&mut self, now_us: u64) -> Option<Foot> {
        if let Some(steady_us) = self.changed_us.map(|changed| changed.saturating_add(BOUNCE_US))
            && self.contact != self.down_us.is_some()
            && now_us >= steady_us
        {
            // A tap shorter than the bounce time: the contact has changed again since.
            return Some(self.changed(steady_us));
        }
        let long = |down_us: u64| now_us.saturating_sub(down_us) >= STUCK_US;
        if !self.stuck && self.down_us.is_some_and(long) {
            self.stuck = true;
            return Some(Foot::Stuck);
        }
        None
    }

    /// The contact closed (`down`) or opened. Repeating the same state changes nothing.
    pub fn edge(&mut self, now_us: u64, down: bool) -> Option<Foot> {
        self.contact = down;
        let bounces = |changed_us: u64| now_us.saturating_sub(changed_us) < BOUNCE_US;
        if down == self.down_us.is_some() || self.changed_us.is_some_and(bounces) {
            return None;
        }
        Some(self.changed(now_us))
    }

    fn changed(&mut self, now_us: u64) -> Foot {
        self.changed_us = Some(now_us);
        let Some(down_us) = self.down_us.take() else {
            self.down_us = Some(now_us);
            return Foot::Press;
        };
        if std::mem::take(&mut self.stuck) {
            return Foot::Freed;
        }
        let hold = now_us.saturating_sub(down_us) >= HOLD_US;
        if hold { Foot::Back } else { Foot::Take }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What a series of edges (milliseconds, down) means; the pedal is told the time before each.
    fn feet(edges: &[(u64, bool)]) -> Vec<Foot> {
        let mut pedal = Pedal::default();
        let mut feet = Vec::new();
        for (ms, down) in edges {
            feet.extend(pedal.at(ms * 1000));
            feet.extend(pedal.edge(ms * 1000, *down));
        }
        feet.extend(pedal.at(600_000_000));
        feet
    }

    #[test]
    fn a_tap_takes_and_a_hold_takes_back() {
        use Foot::{Back, Press, Take};
        assert_eq!(feet(&[(0, true), (300, false)]), [Press, Take]);
        assert_eq!(feet(&[(0, true), (999, false)]), [Press, Take]);
        assert_eq!(feet(&[(0, true), (1000, false)]), [Press, Back]);
        assert!(feet(&[(0, false), (7, false)]).is_empty(), "coming up without having been down");
    }

    #[test]
    fn a_bouncing_contact_is_one_tap() {
        use Foot::{Press, Take};
        let bouncing = [
            (100, true),
            (103, false),
            (105, true),
            (109, false),
            (112, true),
            (400, false),
            (402, true),
            (404, false),
        ];
        assert_eq!(feet(&bouncing), [Press, Take]);
        let short = [(100, true), (130, false), (1000, true), (1200, false)];
        assert_eq!(feet(&short), [Press, Take, Press, Take], "a tap of 30 ms is over by itself");
    }

    #[test]
    fn a_pedal_that_is_stuck_means_nothing_until_it_comes_up() {
        use Foot::{Freed, Press, Stuck, Take};
        let mut pedal = Pedal::default();
        assert_eq!(pedal.edge(0, true), Some(Press));
        assert_eq!(pedal.at(29_999_999), None);
        assert_eq!(pedal.at(30_000_000), Some(Stuck));
        assert_eq!(pedal.at(90_000_000), None, "said once");
        assert_eq!(pedal.edge(91_000_000, true), None, "a repeat of the same");
        assert_eq!(pedal.edge(95_000_000, false), Some(Freed));
        assert_eq!(pedal.edge(96_000_000, true), Some(Press));
        assert_eq!(pedal.edge(96_200_000, false), Some(Take));
    }
}
