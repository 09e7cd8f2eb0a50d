//! A dial that is watched over the whole turn: only the high and the low with their marks, or only the
//! total reading, are keyed in.

use crate::state::watched::ONLY_TOTAL;
use crate::state::watched::WATCHED;
use quantity::{Name, Quoted};

use crate::draft::{Answer, Draft};
use crate::event::Command;
use crate::fact::row::{Body, Source, State};
use crate::fact::seq::Seq;
use crate::plan::Check;
use crate::reply::{Done, Refusal};
use crate::request::touch::Incoming;
use crate::series::Touch;
use crate::state::watched::OF;

impl Draft<'_> {
    /// `enter --high VALUE@MARK --low VALUE@MARK`; the values are counts of graduations where one is named.
    pub(crate) fn enter_high_and_low(&mut self, station: &Name, command: &Command) -> Answer {
        let Command::EnterHighLow { high, low, graduation } = command else {
            return Err(Refusal::input("nothing to enter", "see `tenths enter --help`"));
        };
        let active = self.fresh(station)?;
        let read = |text: &str| self.at_mark(active, text, graduation.as_deref());
        let ((high, first), (low, second)) = (read(high)?, read(low)?);
        let apart = first.1.length.checked_sub(second.1.length);
        if first.0 == second.0 || apart.is_none_or(|apart| apart.picometres() < 0) {
            return Err(Refusal::input(
                "the high is the larger one, and stands at another mark than the low",
                "write `--high 0.00012@90 --low -0.00003@270`, say",
            ));
        }
        self.refuse_apart(active, apart.unwrap_or_default())?;
        self.watched(station, active, &[(&high, first), (&low, second)], WATCHED)
    }

    /// `enter --total VALUE`; the value is a count of graduations where one is named.
    pub(crate) fn enter_total(
        &mut self,
        station: &Name,
        value: &str,
        graduation: Option<&str>,
    ) -> Answer {
        let active = self.fresh(station)?;
        let (value, quoted) = self.dial_value(active, value, graduation)?;
        self.refuse_total(active, (&value, graduation.is_some()), quoted)?;
        self.watched(station, active, &[(&value, (0, quoted))], ONLY_TOTAL)
    }

    /// The active attempt; it must be of a turn or a range and have no touch yet.
    fn fresh(&self, station: &Name) -> Result<Seq, Refusal> {
        let active = self.active(station).and_then(|id| Some((id, self.attempt(id)?)));
        let Some((id, (_, job, attempt))) = active else {
            return Err(Refusal::input(
                format!("no check is active at {station}"),
                "begin with `tenths measure PART/CHECK`",
            ));
        };
        let fits = job.check_of(&attempt).is_some_and(|(_, check)| one_range(check));
        if !fits {
            return Err(Refusal::input(
                "high, low and total make no figure for this check",
                "they do for one circle of a runout, a parallelism or a thickness variation that is \
                 touched once at each position",
            ));
        }
        if attempt.ending.is_some() || attempt.in_state(State::Placed).next().is_some() {
            return Err(Refusal::input(
                "this series has readings already",
                "key in the rest one by one, or begin anew with `tenths remeasure again`",
            ));
        }
        Ok(id)
    }

    /// One value as it is stored, and as a length.
    fn dial_value(
        &self,
        id: Seq,
        text: &str,
        graduation: Option<&str>,
    ) -> Result<(String, Quoted), Refusal> {
        let read = self.keyed_values(id, &[text.to_owned()], graduation)?;
        read.into_iter().next().ok_or_else(|| Refusal::input("nothing to enter", "key in a value"))
    }

    /// `VALUE@MARK`, the mark in degrees: the value as it is stored, and the position nearest to the mark.
    fn at_mark(
        &self,
        id: Seq,
        text: &str,
        graduation: Option<&str>,
    ) -> Result<(String, (u32, Quoted)), Refusal> {
        let hint = "write it with its mark in degrees: 0.00012@90";
        let bad = |text: String| Refusal::input(text, hint);
        let (value, mark) = text
            .split_once('@')
            .ok_or_else(|| bad(format!("{text:?} has no mark; nothing was entered")))?;
        let degrees: f64 = mark
            .trim()
            .parse()
            .ok()
            .filter(|degrees| (0.0..360.0).contains(degrees))
            .ok_or_else(|| bad(format!("{mark:?} is no angle from 0 to 359")))?;
        let (kept, value) = self.dial_value(id, value, graduation)?;
        self.refuse_keyed(id, (&kept, graduation.is_some()), value)?;
        let step = kept.split_once(OF).map(|(_, step)| format!("{}{OF}{step}", text.trim()));
        let kept = step.unwrap_or_else(|| text.to_owned());
        let nearest = self.attempt(id).and_then(|(_, job, attempt)| {
            let (_, check) = job.check_of(&attempt)?;
            let off = |position: &u32| {
                let apart = (check.angle_deg(*position) - degrees).rem_euclid(360.0);
                apart.min(360.0 - apart)
            };
            (0..check.total()).min_by(|one, other| off(one).total_cmp(&off(other)))
        });
        nearest
            .map(|position| (kept, (position, value)))
            .ok_or_else(|| bad("the check has no positions".to_owned()))
    }

    /// Stores the values that were read off, and leaves out all positions that were only watched.
    fn watched(
        &mut self,
        station: &Name,
        id: Seq,
        read: &[(&String, (u32, Quoted))],
        why: &str,
    ) -> Answer {
        let Some((_, job, attempt)) = self.attempt(id) else {
            return Err(Refusal::input("the check is gone", "see `tenths status`"));
        };
        let total = job.check_of(&attempt).map_or(0, |(_, check)| check.total());
        let gauge = attempt.gauge().map(|gauge| gauge.name.clone());
        let Some(gauge) = gauge else {
            return Err(Refusal::input("no gauge measures this check", "see `tenths job show`"));
        };
        drop((job, attempt));
        for position in (0..total).filter(|p| read.iter().all(|(_, (at, _))| at != p)) {
            self.push(Body::Skipped { attempt: id, position, why: why.to_owned() });
        }
        let mut readings = Vec::new();
        for (text, (position, value)) in read {
            let incoming = Incoming {
                gauge: gauge.clone(),
                source: Source::Keyed,
                value: *value,
                text: (*text).clone(),
                measured_at: None,
            };
            readings.push(self.place(id, incoming, Touch::Position(*position)));
        }
        self.end(id, crate::fact::row::Ending::Complete);
        Ok(Done::Entered { readings, measuring: self.stands(station)? })
    }
}

/// Whether the figure is one highest minus one lowest reading.
fn one_range(check: &Check) -> bool {
    let once = check.touches == 1 && check.swept().is_none();
    check.traits().is_range() && check.radii.len() <= 1 && once
}
