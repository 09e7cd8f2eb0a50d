//! What a thermometer sends is written down at the entries that name it: when one of them is on the screen,
//! and once for each try at a length that is brought to 20 °C by it, so that nobody needs a hand for it.

use quantity::{Name, Wall};

use crate::draft::{Draft, of_gauge};
use crate::event::Frame;
use crate::fact::row::AlertKind;
use crate::fact::seq::Seq;
use crate::plan::CheckAt;
use crate::state::Job;
use crate::words::warm;

/// A thermometer that has shown the same, to its last digit, at so many entries over so long is asked about
/// (common practice, no source).
const ALIKE: usize = 5;
const ALIKE_US: i64 = 3_600_000_000;

impl Draft<'_> {
    /// A frame of a thermometer.
    pub(crate) fn temperature(&mut self, frame: &Frame) {
        let Some(station) = self.setup.station_of(&frame.gauge).cloned() else { return };
        let Ok((job, state)) = self.job_of(&station) else { return };
        let places = self.awaited(&station, &state, &frame.gauge);
        if frame.repeat || places.is_empty() {
            return;
        }
        let shown = warm::degrees(frame.value);
        let about = Some(of_gauge(&frame.gauge));
        if judgement::celsius(&shown).is_none() {
            let text = format!(
                "{} shows {shown}: no temperature of a part that is measured. Not written down.",
                frame.gauge
            );
            self.raise_about(about, AlertKind::Thermometer, text);
            return;
        }
        let mut stuck = None;
        for at in places {
            let unit =
                state.opened.plan.plan.at(at).and_then(|(_, check)| check.measures.asks()?.unit);
            let value = format!("{} {}", warm::number(frame.value), unit.unwrap_or_default());
            if self.write_down(&station, (job, &state), at, &value).is_ok() {
                stuck = stuck.or(self.always_alike(job, at));
            }
        }
        let stuck = stuck.map(|minutes| {
            format!("{} has shown {shown} for {minutes} minutes: is it alive?", frame.gauge)
        });
        self.wrong_or_well(about, AlertKind::Thermometer, stuck);
    }

    /// The entries that wait for a temperature of this thermometer.
    fn awaited(&self, station: &Name, job: &Job, gauge: &Name) -> Vec<CheckAt> {
        let plan = &job.opened.plan.plan;
        let names = |at: CheckAt| {
            let own = plan.at(at).map(|(_, check)| check.measures.own());
            own.is_some_and(|own| own.thermometer == Some(gauge))
        };
        let Some((active, attempt)) =
            self.active(station).and_then(|id| Some((id, job.attempts.get(&id)?)))
        else {
            return Vec::new();
        };
        let at = attempt.began.check;
        if names(at) {
            return if attempt.answer.is_none() { vec![at] } else { Vec::new() };
        }
        let size = plan.at(at).and_then(|(_, check)| check.measures.own().size?.temperatures);
        let Some(both) = size.filter(|_| attempt.ending.is_none() && attempt.is_touched()) else {
            return Vec::new();
        };
        let written = |at: &CheckAt| {
            let newest = job.attempts_at(*at).rfind(|(_, one)| one.answer.is_some());
            newest.is_some_and(|(id, _)| id > active)
        };
        let mut places: Vec<CheckAt> = both.into_iter().filter(|at| names(*at)).collect();
        places.dedup();
        places.retain(|at| !written(at));
        places
    }

    /// For how many minutes an entry has had the same value each time, where that is long enough to ask.
    fn always_alike(&self, job: Seq, at: CheckAt) -> Option<i64> {
        let state = self.bench.jobs.get(&job)?;
        let answers = state
            .attempts_at(at)
            .filter_map(|(_, one)| Some((one.answer.clone()?, one.answered_at?)));
        let answers: Vec<(String, Wall)> = answers.collect();
        let (now, last) = answers.last()?;
        let alike = answers.iter().rev().take_while(|(text, _)| text == now);
        let (count, first) = (alike.clone().count(), alike.last()?);
        let over = last.micros().checked_sub(first.1.micros())?;
        (count >= ALIKE && over >= ALIKE_US).then_some(over / 60_000_000)
    }
}
