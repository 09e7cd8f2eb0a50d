//! The log of a run-in: when each step began, and the temperatures that were kept.

use quantity::{Figure, Length};

use super::{Course, degrees, minutes};

/// In place of the number of a step: the spindle stands still.
pub const STANDS: u16 = u16::MAX;

/// The spindle runs at the speed of a step from then on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SpeedBegan {
    /// The step, counted from 0, or [`STANDS`].
    pub step: u16,
    /// When, milliseconds after the first.
    pub after_ms: u64,
}

/// A temperature that was kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Noted {
    /// The place, by its number in the plan.
    pub place: u16,
    /// When, milliseconds after the first step began.
    pub after_ms: u64,
    /// Degrees Celsius, carried as millimetres.
    pub value: Length,
}

/// What was written down of a run-in, each list in the order of its times.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Log {
    /// The steps.
    pub speeds: Vec<SpeedBegan>,
    /// The temperatures.
    pub readings: Vec<Noted>,
    /// Whether nobody said when the steps began: a logger's file alone.
    pub by_plan: bool,
}

/// The state of a run-in under way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Live {
    /// The step that runs, counted from 0.
    pub step: u16,
    /// How long it has run.
    pub ran_ms: u64,
    /// How long it is to run.
    pub of_ms: u64,
}

/// The place and the moment of the largest rise above the room.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Top {
    pub(super) place: u16,
    pub(super) after_ms: u64,
    pub(super) value: Length,
    pub(super) room: Length,
}

/// A time without a reading of a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Gap {
    pub(super) place: u16,
    pub(super) from_ms: u64,
    pub(super) to_ms: u64,
    /// The readings before and behind it.
    ends: [Option<Length>; 2],
}

impl Gap {
    pub(super) fn told(&self, run_in: &Course) -> String {
        format!(
            "No reading of {} for {} from {} on.",
            run_in.place(self.place),
            minutes(self.to_ms - self.from_ms),
            minutes(self.from_ms)
        )
    }
}

impl Log {
    /// The readings of a place, in order.
    pub fn of(&self, place: u16) -> impl DoubleEndedIterator<Item = &Noted> + Clone {
        self.readings.iter().filter(move |one| one.place == place)
    }

    /// Puts a reading where its time belongs.
    pub fn add(&mut self, one: Noted) {
        let at = self.readings.partition_point(|other| other.after_ms <= one.after_ms);
        self.readings.insert(at, one);
    }

    /// When it ended; `None` while it is under way.
    #[must_use]
    pub fn ended(&self) -> Option<u64> {
        self.speeds.last().filter(|last| last.step == STANDS).map(|last| last.after_ms)
    }

    /// From when to when a step ran; up to the newest word where it still runs.
    #[must_use]
    pub fn ran(&self, step: usize) -> Option<(u64, u64)> {
        let at = self.speeds.iter().position(|one| usize::from(one.step) == step)?;
        let from = self.speeds[at].after_ms;
        let newest = self.readings.last().map_or(from, |one| one.after_ms.max(from));
        Some((from, self.speeds.get(at + 1).map_or(newest, |next| next.after_ms)))
    }

    /// The step under way at a moment.
    #[must_use]
    pub fn live(&self, run_in: &Course, now_ms: u64) -> Option<Live> {
        let last = self.speeds.last().filter(|last| last.step != STANDS)?;
        let speed = run_in.steps.get(usize::from(last.step))?;
        let ran_ms = now_ms.saturating_sub(last.after_ms);
        Some(Live { step: last.step, ran_ms, of_ms: speed.ms })
    }

    /// The room at a moment: the reading before it, or the first one.
    #[must_use]
    pub fn room_at(&self, run_in: &Course, after_ms: u64) -> Option<Length> {
        let room = self.of(run_in.room());
        let before = room.clone().rfind(|one| one.after_ms <= after_ms);
        before.or_else(|| room.clone().next()).map(|one| one.value)
    }

    pub(super) fn highest_rise(&self, run_in: &Course) -> Option<Top> {
        let one = |noted: &Noted| {
            let room = self.room_at(run_in, noted.after_ms)?;
            let Noted { place, after_ms, value } = *noted;
            Some(Top { place, after_ms, value, room })
        };
        let tops = self.readings.iter().filter(|one| one.place != run_in.room()).filter_map(one);
        // Of several equal ones the first.
        tops.reduce(|most, one| {
            let rise = |top: Top| Figure::from(top.value) - Figure::from(top.room);
            if rise(one) > rise(most) { one } else { most }
        })
    }

    /// The warmest place at a moment, by the readings before it.
    pub(super) fn warmest_at(&self, run_in: &Course, after_ms: u64) -> Option<Length> {
        let newest = |place| self.of(place).rfind(|one| one.after_ms <= after_ms);
        (0..run_in.room()).filter_map(newest).map(|one| one.value).max()
    }

    /// The whole time, from the first step to the end.
    fn span(&self) -> Option<(u64, u64)> {
        let from = self.speeds.first()?.after_ms;
        Some((from, self.ended()?))
    }

    pub(super) fn gaps(&self, run_in: &Course) -> Vec<Gap> {
        let Some((from, to)) = self.span() else { return Vec::new() };
        let mut gaps = Vec::new();
        for place in 0..run_in.room() {
            let inside = self.of(place).filter(|one| (from..=to).contains(&one.after_ms));
            let mut before: (u64, Option<Length>) = (from, None);
            let behind = inside.map(|one| (one.after_ms, Some(one.value))).chain([(to, None)]);
            for (at, value) in behind {
                if at - before.0 > run_in.gap_of(place) {
                    gaps.push(Gap { place, from_ms: before.0, to_ms: at, ends: [before.1, value] });
                }
                before = (at, value);
            }
        }
        gaps
    }

    /// Whether a gap hides something: that the spindle was too warm in it, where it can have risen so far,
    /// or whether it is steady. `most` is the highest temperature that still conforms.
    pub(super) fn hides(&self, run_in: &Course, gap: &Gap, most: Option<Figure>) -> bool {
        let steady = run_in.steady.zip(self.ended());
        let in_window = steady.is_some_and(|((_, ms), end)| gap.to_ms > end.saturating_sub(ms));
        in_window || self.peak_within(run_in, gap).zip(most).is_none_or(|(peak, most)| peak > most)
    }

    /// The highest it can have been in a gap, with the rate that the plan allows, or the steepest that was
    /// seen: up from the one end and down to the other.
    fn peak_within(&self, run_in: &Course, gap: &Gap) -> Option<Figure> {
        let ends = gap.ends.map(|end| end.map(Figure::from));
        let long = whole(gap.to_ms - gap.from_ms);
        let rate = run_in.rate.map_or_else(|| self.steepest(gap.place), Figure::from);
        let rises = rate * long / 60_000;
        match ends {
            [Some(before), Some(behind)] => Some((before + behind + rises) / 2),
            [Some(before), None] => Some(before + rises),
            // It begins cold.
            [None, Some(behind)] => Some(behind),
            [None, None] => None,
        }
    }

    /// The steepest rise of a place over half a minute and more, in a minute.
    fn steepest(&self, place: u16) -> Figure {
        let all: Vec<&Noted> = self.of(place).collect();
        let mut most = Figure::ZERO;
        for (at, one) in all.iter().enumerate() {
            let later = all[at..].iter().find(|later| later.after_ms >= one.after_ms + 30_000);
            if let Some(later) = later {
                let rise = Figure::from(later.value) - Figure::from(one.value);
                let long = whole(later.after_ms - one.after_ms);
                most = most.max(rise * 60_000 / long);
            }
        }
        most
    }

    /// How fast a place rises now, in a minute: over the last minute, and a little more where it was kept
    /// sparsely. `None` before there is a minute of it.
    #[must_use]
    pub fn rate(&self, place: u16, now: Noted) -> Option<Figure> {
        let since = now.after_ms.checked_sub(60_000)?;
        let before = self.of(place).rfind(|one| one.after_ms <= since)?;
        let long = now.after_ms - before.after_ms;
        let rise = Figure::from(now.value) - Figure::from(before.value);
        (long <= 180_000).then(|| rise * 60_000 / whole(long))
    }

    /// The steps that did not run as long as the plan wants.
    pub(super) fn cut_short(&self, run_in: &Course) -> Vec<String> {
        let mut short = Vec::new();
        for (index, speed) in run_in.steps.iter().enumerate() {
            match self.ran(index) {
                None => short.push(format!("The step at {} rpm was not run.", speed.rpm)),
                // A person is not a clock: a second, or one part in fifty.
                Some((from, to))
                    if to - from + (speed.ms / 50).max(1_000).min(speed.ms / 4) < speed.ms =>
                {
                    short.push(format!(
                        "The step at {} rpm ran {} of {}.",
                        speed.rpm,
                        minutes(to - from),
                        minutes(speed.ms)
                    ));
                }
                Some(_) => {}
            }
        }
        short
    }

    /// Since when a place shows the same digits, up to its newest reading.
    #[must_use]
    pub fn same_since(&self, place: u16) -> Option<(Length, u64)> {
        let newest = self.of(place).next_back()?;
        let same = self.of(place).rev().take_while(|one| one.value == newest.value);
        Some((newest.value, same.last()?.after_ms))
    }

    /// The sentence about a place that shows the same digits for so long although the speed changed, up to
    /// a moment.
    #[must_use]
    pub fn frozen_at(&self, run_in: &Course, place: u16, now_ms: u64) -> Option<String> {
        let (value, since) = self.same_since(place)?;
        self.stuck(run_in, place, (value, since, now_ms))
    }

    fn stuck(
        &self,
        run_in: &Course,
        place: u16,
        (value, since, to): (Length, u64, u64),
    ) -> Option<String> {
        let changed = self.speeds.iter().rfind(|one| one.after_ms > since && one.step != STANDS)?;
        (to.saturating_sub(changed.after_ms) >= run_in.frozen_ms).then(|| {
            format!(
                "{} has shown {} for {} although the speed changed: is its sensor alive?",
                run_in.place(place),
                degrees(value),
                minutes(to - since)
            )
        })
    }

    /// The places that were frozen at any time.
    pub(super) fn frozen(&self, run_in: &Course) -> Vec<String> {
        let mut told = Vec::new();
        for place in 0..run_in.room() {
            let (mut since, mut last): (Option<(Length, u64)>, u64) = (None, 0);
            let mut stuck = None;
            for one in self.of(place) {
                let (value, from) = since
                    .filter(|(value, _)| *value == one.value)
                    .unwrap_or((one.value, one.after_ms));
                since = Some((value, from));
                last = last.max(one.after_ms);
                stuck = stuck.or(self.stuck(run_in, place, (value, from, last)));
            }
            told.extend(stuck);
        }
        told
    }

    /// Why it is not steady at the end of the last step; `None` where it is, or where the plan has no rule.
    pub(super) fn unsteady(&self, run_in: &Course) -> Option<String> {
        let (change, ms) = run_in.steady?;
        let end = self.ended()?;
        let since = end.saturating_sub(ms);
        let moved = (0..run_in.room()).filter_map(|place| {
            let before = self.of(place).rfind(|one| one.after_ms <= since);
            let inside = self.of(place).filter(|one| one.after_ms > since && one.after_ms <= end);
            let values: Vec<Length> =
                before.into_iter().chain(inside).map(|one| one.value).collect();
            let (most, least) = values.iter().max().zip(values.iter().min())?;
            Some((place, most.checked_sub(*least)?))
        });
        let (place, by) = moved.max_by_key(|(_, by)| *by)?;
        (by > change).then(|| {
            format!(
                "Not steady: {} changed by {} in the last {}; no more than {} was wanted.",
                run_in.place(place),
                degrees(by),
                minutes(ms),
                degrees(change)
            )
        })
    }
}

fn whole(ms: u64) -> i64 {
    i64::try_from(ms).unwrap_or(i64::MAX).max(1)
}
