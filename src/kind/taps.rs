//! When the marks of a turn were tapped, and where on the metal a sample lies.
//!
//! Time alone does not give the angle: with a hand whose speed varies by 20 % within a turn the high side
//! would be shown up to 23 degrees away from where it is (simulated). Between two taps the speed is taken
//! as constant.

use serde::{Deserialize, Deserializer, Serialize, de};

use crate::plan::{Check, Direction, MOST_POSITIONS, Reads};

/// How far off in time a tap is, one standard deviation (common practice, no source).
const TAP_US: u64 = 50_000;

/// The most by which a hand whose speed varies by 20 % within the turn shifts an angle, with this many
/// marks, degrees: `36/π·(1 − cos(180°/marks))`, half a chord of its sway; 3.4 with four marks.
fn speed_deg(marks: usize) -> f64 {
    let share = 1.0 / micros(marks.max(1) as u64);
    36.0 / std::f64::consts::PI * (1.0 - (std::f64::consts::PI * share).cos())
}

/// When the marks of one turn were tapped, and how many samples lie between the first and the last
/// tap.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Taps {
    /// Microseconds of the monotonic clock, rising; the first and the last are those of the index
    /// mark, one turn apart.
    #[serde(deserialize_with = "in_order")]
    pub at_us: Vec<u64>,
    /// Samples that get a position; the closure is one more.
    pub samples: u32,
}

/// The taps of a turn: at least two, rising.
fn in_order<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<u64>, D::Error> {
    let at_us = Vec::<u64>::deserialize(from)?;
    let rising = at_us.len() > 1 && at_us.windows(2).all(|two| two[0] < two[1]);
    if rising { Ok(at_us) } else { Err(de::Error::custom("taps do not follow one another")) }
}

impl Taps {
    /// How far the metal has turned at a moment, degrees from the index mark in the order of the taps, [0,
    /// 360); `None` outside the turn.
    #[must_use]
    pub fn turned_deg(&self, at_us: u64) -> Option<f64> {
        let marks = self.at_us.len().checked_sub(1).filter(|marks| *marks > 0)?;
        let (&first, &last) = (self.at_us.first()?, self.at_us.last()?);
        if at_us < first || at_us > last {
            return None;
        }
        let passed = self.at_us.partition_point(|tap| *tap <= at_us).clamp(1, marks);
        let (from, to) = (self.at_us[passed - 1], self.at_us[passed]);
        let share = |part: u64, whole: u64| micros(part) / micros(whole.max(1));
        let since = share(at_us.saturating_sub(from), to.saturating_sub(from));
        let pitch = 360.0 / micros(marks as u64);
        Some((micros(passed as u64 - 1) + since) * pitch % 360.0)
    }

    /// The angle of a sample on the metal, in the direction in which the check counts its marks.
    #[must_use]
    pub fn angle_deg(&self, direction: Direction, at_us: u64) -> Option<f64> {
        let turned = self.turned_deg(at_us)?;
        Some(match direction {
            Direction::CounterClockwise => turned,
            Direction::Clockwise => (360.0 - turned) % 360.0,
        })
    }

    /// Standard uncertainty of the angle of a sample, degrees: the time error of a tap, and the change of
    /// speed between two taps, taken as evenly spread up to its bound.
    #[must_use]
    pub fn uncertainty_deg(&self) -> f64 {
        let marks = self.at_us.len().saturating_sub(1);
        self.tap_deg().hypot(speed_deg(marks) / 3.0_f64.sqrt())
    }

    /// The part of the turn between two marks that took longest, counted from 0, and its time divided by
    /// that of the quickest part; `None` where no marks were tapped during the turn.
    #[must_use]
    pub fn slowest(&self) -> Option<(usize, f64)> {
        let parts: Vec<u64> =
            self.at_us.windows(2).map(|two| two[1].saturating_sub(two[0])).collect();
        let quickest = parts.iter().copied().min().filter(|_| parts.len() > 1)?;
        let (at, longest) =
            parts.iter().enumerate().max_by_key(|(at, part)| (**part, usize::MAX - at))?;
        Some((at, micros(*longest) / micros(quickest.max(1))))
    }

    /// The time of a part of the turn between two marks, divided by that of the quickest part.
    #[must_use]
    pub fn times_the_quickest(&self, part: usize) -> f64 {
        let times = self.at_us.windows(2).map(|two| two[1].saturating_sub(two[0]));
        let own = times.clone().nth(part).unwrap_or(0);
        micros(own) / micros(times.min().unwrap_or(1).max(1))
    }

    /// Where the samples lie if the hand stood still in one slow part of the turn, after a share of that
    /// part, and otherwise moved as fast as in the quickest part; angles as on the metal, degrees.
    #[must_use]
    pub fn had_it_stood(&self, angles_deg: &[f64], (part, after): (usize, f64)) -> Vec<f64> {
        let parts: Vec<u64> =
            self.at_us.windows(2).map(|two| two[1].saturating_sub(two[0])).collect();
        let quickest = parts.iter().copied().min().unwrap_or(1);
        let times = micros(parts.get(part).copied().unwrap_or(1)) / micros(quickest.max(1));
        let pitch = 360.0 / micros(parts.len().max(1) as u64);
        let first = micros(part as u64) * pitch;
        let moved = |angle: f64| {
            let share = (angle - first) / pitch;
            if !(0.0..1.0).contains(&share) {
                return angle;
            }
            // Before the hand stood, while it stood, and after it.
            let gone = (share * times).min(after).max(1.0 - (1.0 - share) * times);
            first + gone * pitch
        };
        angles_deg.iter().map(|angle| moved(*angle)).collect()
    }

    /// Standard uncertainty of how far the metal has turned at a tap, degrees: 0.05 s at the mean speed.
    #[must_use]
    pub fn tap_deg(&self) -> f64 {
        let turn =
            self.at_us.last().zip(self.at_us.first()).map_or(0, |(last, first)| last - first);
        360.0 * micros(TAP_US) / micros(turn.max(1))
    }

    /// The check with a position for each sample; the angles are added with the samples.
    pub fn check_to_fill(&self, check: &Check) -> Check {
        let mut own = check.clone();
        own.positions = self.samples.min(MOST_POSITIONS);
        if let Reads::Sweep(swept) = &mut own.reads {
            swept.angles_deg.clear();
        }
        own
    }

    /// Adds a sample at the next position of a check from [`Self::check_to_fill`].
    pub fn place(&self, own: &mut Check, at_us: u64) {
        let angle = self.angle_deg(own.direction, at_us).unwrap_or_default();
        if let Reads::Sweep(swept) = &mut own.reads {
            swept.angles_deg.push(angle);
        }
    }
}

/// A count of microseconds or marks as a float; a turn lasts far less than 2^53 of them.
#[expect(clippy::cast_precision_loss, reason = "below 2^53: two thousand years of microseconds")]
const fn micros(count: u64) -> f64 {
    count as f64
}
