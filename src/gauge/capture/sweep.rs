//! Capture "sweep": a whole turn passes under the stylus while the gauge sends without pause.
//!
//! A person taps as marks pass the stylus. The tap at the index mark begins the turn; when the index
//! mark is tapped again, the turn is whole. All samples in between belong to it, each with the moment
//! it arrived. Nothing is taken before the turn is whole: half a turn proves nothing and cannot be
//! continued.

use std::collections::VecDeque;
use std::fmt;

use super::Sample;

/// Two taps must be this far apart. A second one sooner is a foot that bounces or a key that repeats
/// (common practice, no source).
const APART_US: u64 = 100_000;

/// How long samples are kept: a foot may hold the pedal down for a second before that is a tap.
const KEPT_US: u64 = 1_500_000;

/// Without a sample for this long the stream has stopped.
const STOPPED_US: u64 = 1_000_000;

/// A turn by hand takes seconds; nobody turns for this long.
const LONGEST_US: u64 = 600_000_000;

/// The most samples of one turn: twelve seconds at 1 kHz, four minutes at 50 Hz. The time the filter
/// needs grows with the square of their number; for this many it is a good half second.
const MOST_SAMPLES: usize = 12_000;

/// The newest samples of a gauge, and the turn under way if there is one.
#[derive(Debug, Clone, Default)]
pub struct Sweep {
    /// The newest samples, oldest first, whether a turn is under way or not.
    recent: VecDeque<Sample>,
    turn: Option<Turn>,
}

#[derive(Debug, Clone)]
struct Turn {
    /// The attempt it is for.
    attempt: u64,
    /// Marks in one turn.
    marks: u32,
    taps_us: Vec<u64>,
    /// The samples from the first tap on.
    samples: Vec<Sample>,
    /// Why the turn can no longer become whole.
    spoilt: Option<NoSweep>,
}

/// What a tap did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Tap {
    /// It is the mark of this number in the turn.
    Mark(u32),
    /// It made the turn whole.
    Whole {
        /// When each mark was tapped, rising; the first and last are those of the index mark.
        taps_us: Vec<u64>,
        /// The samples between the first and the last tap, in order; at least two.
        samples: Vec<Sample>,
    },
}

/// Why a tap had no effect.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoSweep {
    /// The gauge sends nothing.
    Silent,
    /// It came right after the one before.
    TooSoon,
    /// The stream stopped during the turn; the turn is dropped.
    Stopped,
    /// The turn took too long or has too many samples; it is dropped.
    TooLong,
    /// There are fewer than two samples between first and last tap; the turn is dropped.
    Empty,
}

impl Sweep {
    /// Takes in a sample. Returns why the turn under way can no longer become whole, when this sample is
    /// the one that ends it.
    pub fn sample(&mut self, sample: &Sample) -> Option<NoSweep> {
        let mut spoilt = None;
        if let Some(turn) = &mut self.turn
            && turn.spoilt.is_none()
        {
            let began_us = turn.taps_us.first().copied().unwrap_or(sample.at_us);
            let last_us = turn.samples.last().map_or(began_us, |last| last.at_us);
            if sample.at_us.saturating_sub(last_us) > STOPPED_US {
                spoilt = Some(NoSweep::Stopped);
            } else if turn.samples.len() >= MOST_SAMPLES
                || sample.at_us.saturating_sub(began_us) > LONGEST_US
            {
                spoilt = Some(NoSweep::TooLong);
            } else {
                turn.samples.push(sample.clone());
            }
            if let Some(why) = spoilt {
                turn.spoil(why);
            }
        }
        let old = |first: &Sample| sample.at_us.saturating_sub(first.at_us) > KEPT_US;
        while self.recent.front().is_some_and(old) || self.recent.len() >= MOST_SAMPLES {
            self.recent.pop_front();
        }
        self.recent.push_back(sample.clone());
        spoilt
    }

    /// Takes in a tap. `at_us` is when the mark was tapped, which may be a little more than a second ago.
    ///
    /// # Errors
    /// Why the tap had no effect. Only after [`NoSweep::TooSoon`] does a turn under way go on.
    pub fn tap(&mut self, at_us: u64, (attempt, marks): (u64, u32)) -> Result<Tap, NoSweep> {
        // A turn for another attempt is dropped.
        self.turn.take_if(|turn| turn.attempt != attempt);
        let live = |last: &Sample| at_us.saturating_sub(last.at_us) <= STOPPED_US;
        if !self.recent.back().is_some_and(live) {
            let under_way = self.turn.take().is_some();
            return Err(if under_way { NoSweep::Stopped } else { NoSweep::Silent });
        }
        let Some(turn) = &mut self.turn else {
            let samples = self.recent.iter().filter(|sample| sample.at_us >= at_us);
            let samples = samples.cloned().collect();
            let taps_us = vec![at_us];
            self.turn = Some(Turn { attempt, marks: marks.max(1), taps_us, samples, spoilt: None });
            return Ok(Tap::Mark(1));
        };
        if let Some(why) = turn.spoilt {
            self.turn = None;
            return Err(why);
        }
        if turn.taps_us.last().is_some_and(|last| at_us < last.saturating_add(APART_US)) {
            return Err(NoSweep::TooSoon);
        }
        turn.taps_us.push(at_us);
        let taps = u32::try_from(turn.taps_us.len()).unwrap_or(u32::MAX);
        if taps <= turn.marks {
            return Ok(Tap::Mark(taps));
        }
        let Some(Turn { taps_us, mut samples, .. }) = self.turn.take() else {
            return Err(NoSweep::Empty);
        };
        samples.retain(|sample| sample.at_us <= at_us);
        if samples.len() < 2 { Err(NoSweep::Empty) } else { Ok(Tap::Whole { taps_us, samples }) }
    }

    /// Whether a turn of this attempt is under way that can still become whole.
    #[must_use]
    pub fn gathers_for(&self, attempt: u64) -> bool {
        self.turn.as_ref().is_some_and(|turn| turn.attempt == attempt && turn.spoilt.is_none())
    }

    /// The line was lost: a turn under way can no longer become whole.
    pub fn lost(&mut self) {
        self.recent.clear();
        if let Some(turn) = &mut self.turn {
            turn.spoil(NoSweep::Stopped);
        }
    }

    /// Drops the turn under way. Returns whether there was one.
    pub fn drop_turn(&mut self) -> bool {
        self.turn.take().is_some()
    }

    /// The number of taps and of samples in the turn under way.
    #[must_use]
    pub fn under_way(&self) -> Option<(u32, usize)> {
        let turn = self.turn.as_ref()?;
        Some((u32::try_from(turn.taps_us.len()).unwrap_or(u32::MAX), turn.samples.len()))
    }
}

impl Turn {
    fn spoil(&mut self, why: NoSweep) {
        self.samples = Vec::new();
        self.spoilt = Some(why);
    }
}

impl fmt::Display for NoSweep {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Silent => "it has sent nothing in the last second",
            Self::TooSoon => "this tap came right after the one before",
            Self::Stopped => "it stopped sending during the turn, which is dropped",
            Self::TooLong => "the turn took too long and is dropped",
            Self::Empty => "it sent nothing between the taps; the turn is dropped",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::{Quoted, Unit};

    fn sample(at_us: u64) -> Sample {
        let value = Quoted::parse("0.00010", Unit::Inch).unwrap();
        Sample { at_us, value, text: "+0.00010".to_owned(), odd: None, low_battery: false }
    }

    /// A stream of 30 Hz from second 1 to second `to`.
    fn stream(sweep: &mut Sweep, from_ms: u64, to_ms: u64) {
        for ms in (from_ms..to_ms).step_by(33) {
            sweep.sample(&sample(ms * 1000));
        }
    }

    #[test]
    fn five_taps_at_the_quarters_make_a_turn() {
        let mut sweep = Sweep::default();
        let mut taps = Vec::new();
        stream(&mut sweep, 1000, 2000);
        // The foot came down at 1.9 s and up at 2.0 s: the moment it came down counts.
        for (second, tapped) in (0..4).zip(1..) {
            let at_us = 1_900_000 + second * 2_000_000;
            taps.push(at_us);
            assert_eq!(sweep.tap(at_us, (7, 4)), Ok(Tap::Mark(tapped)));
            stream(&mut sweep, 2000 + second * 2000, 4000 + second * 2000);
        }
        taps.push(9_900_000);
        let Ok(Tap::Whole { taps_us, samples }) = sweep.tap(9_900_000, (7, 4)) else {
            panic!("the turn is whole");
        };
        assert_eq!(taps_us, taps);
        assert!(samples.first().unwrap().at_us >= 1_900_000);
        assert!(samples.last().unwrap().at_us <= 9_900_000);
        assert!((238..=244).contains(&samples.len()), "{}", samples.len());
        assert_eq!(sweep.under_way(), None);
    }

    #[test]
    fn a_bouncing_tap_changes_nothing_and_another_check_drops_the_turn() {
        let mut sweep = Sweep::default();
        assert_eq!(sweep.tap(1_000_000, (7, 4)), Err(NoSweep::Silent));
        stream(&mut sweep, 0, 1000);
        assert_eq!(sweep.tap(1_000_000, (7, 4)), Ok(Tap::Mark(1)));
        assert_eq!(sweep.tap(1_050_000, (7, 4)), Err(NoSweep::TooSoon));
        assert_eq!(sweep.under_way().unwrap().0, 1);
        assert_eq!(sweep.tap(1_200_000, (8, 4)), Ok(Tap::Mark(1)), "a turn of its own");
        assert!(sweep.drop_turn() && !sweep.drop_turn());
    }

    #[test]
    fn a_stream_that_stops_spoils_the_turn_and_says_so_once() {
        let mut sweep = Sweep::default();
        stream(&mut sweep, 0, 1000);
        assert_eq!(sweep.tap(900_000, (7, 1)), Ok(Tap::Mark(1)));
        stream(&mut sweep, 2500, 4000);
        assert_eq!(sweep.tap(3_900_000, (7, 1)), Err(NoSweep::Stopped));
        assert_eq!(sweep.tap(3_950_000, (7, 1)), Ok(Tap::Mark(1)));
        sweep.lost();
        assert_eq!(sweep.tap(4_100_000, (7, 1)), Err(NoSweep::Stopped));
    }

    #[test]
    fn a_turn_that_nobody_ends_is_dropped() {
        let mut sweep = Sweep::default();
        for at_us in (0..=40_000_000).step_by(1000) {
            sweep.sample(&sample(at_us));
            if at_us == 1_000_000 {
                assert_eq!(sweep.tap(at_us, (7, 4)), Ok(Tap::Mark(1)));
            }
        }
        assert_eq!(sweep.under_way(), Some((1, 0)), "its samples are forgotten at once");
        assert_eq!(sweep.tap(40_000_000, (7, 4)), Err(NoSweep::TooLong));
    }
}
