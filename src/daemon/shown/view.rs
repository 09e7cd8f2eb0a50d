//! What one station shows.

use bench::flow::Flow;
use bench::flow::words::at_step_of_all;
use bench::plan::Check;
use bench::row::{Alert, Level, Question, State, Subject};
use bench::series::{Touch, next_nth, next_touch};
use bench::setup::{Setup, StationSetup};
use bench::verdict::Verdict;
use bench::words::{high_mark, place_of_touch};
use bench::{Attempt, Job, OpenAlert, Refusal, Seq, Station, Touched};
use judgement::Known;
use quantity::{Name, Quoted, Stamp};
use wire::{
    AsksLine, LimitsLine, LimitsTold, MOST_SHOWN, PositionState, View, ViewAlert, ViewCheck,
    ViewGauge, ViewPosition, ViewStep, ViewTouch, ViewVerdict, next_words, touch_why, touch_words,
    waits_words,
};
use words::{Held, Told, in_steps};

use super::{Shown, gauge_status, hand};

mod proof;
mod run_in;
mod sweep;

/// The step that an open job is at.
fn stands(job: &Job) -> Option<ViewStep> {
    let flow = Flow::of(job, false);
    let words = at_step_of_all(&flow);
    Some(ViewStep { step: flow.now?, words, hindered_by: flow.hindered_by })
}

impl Shown {
    /// What a station shows at the moment `now`; without a name, the only station.
    pub(crate) fn view(&self, station: Option<&str>, now: Stamp) -> Result<View, Refusal> {
        let set = self.station(station)?;
        let station = self.bench.stations.get(&set.name).cloned().unwrap_or_default();
        let found = station.attempt.and_then(|id| Some((id, self.bench.attempt(id)?)));
        let storage = &self.storage;
        Ok(View {
            bench: self.setup.name.clone(),
            station: set.name.to_string(),
            seq: self.bench.last.0,
            feed: String::new(),
            unit: self.setup.unit,
            person: station.person.as_ref().map(ToString::to_string),
            by: hand(&station),
            job: self.job_name(&station),
            stands: station.job.and_then(|job| stands(self.bench.jobs.get(&job)?)),
            check: found.and_then(|(id, (_, job, attempt))| {
                let mut shown = check(&self.setup, id, job, attempt)?;
                let (_, check) = job.check_of(attempt)?;
                if let Some(swept) = check.swept() {
                    let gauge = check.gauge.as_ref().and_then(|name| self.tallies.gauges.get(name));
                    let progress = gauge.and_then(|tally| tally.live.sweep_for(id.0));
                    sweep::show(&mut shown, (check, swept), progress);
                }
                if let Some(log) = check.measures.own().log {
                    run_in::show(&mut shown, (attempt, log), (now, self.bench.boot));
                }
                if let (true, waits) = self.waits(id, check) {
                    shown.waits = waits;
                    let before = shown.why.take().map(|why| format!(" {why}"));
                    shown.why =
                        Some(format!("{}{}", waits_words(waits), before.unwrap_or_default()));
                }
                Some(shown)
            }),
            proof: self.proof(&station),
            gauges: self.gauges(set, now),
            alerts: self.alerts(set, &station),
            storage: storage.state,
            storage_why: Some(storage.why.clone()).filter(|why| !why.is_empty()),
        })
    }

    /// When the newest value of any gauge came, microseconds since boot.
    pub(crate) fn newest_sample_us(&self) -> u64 {
        let last = self.tallies.gauges.values().filter_map(|tally| tally.live.last());
        last.map(|(_, at)| at.mono_us).max().unwrap_or(0)
    }

    fn station(&self, name: Option<&str>) -> Result<&StationSetup, Refusal> {
        let stations = &self.setup.stations;
        let known = || {
            let names: Vec<_> = stations.iter().map(|set| set.name.as_str()).collect();
            format!("there are: {}", names.join(", "))
        };
        match (name, stations.as_slice()) {
            (None, [only]) => Ok(only),
            (None, _) => Err(Refusal::input(
                "there are several stations",
                format!("name one with --station; {}", known()),
            )),
            (Some(name), _) => stations
                .iter()
                .find(|set| set.name.as_str() == name)
                .ok_or_else(|| Refusal::input(format!("there is no station {name:?}"), known())),
        }
    }

    fn gauges(&self, set: &StationSetup, now: Stamp) -> Vec<ViewGauge> {
        let tallies = self.tallies.gauges.iter().filter(|(name, _)| set.gauges.contains(name));
        let one = |entry: (&Name, &super::GaugeTally)| {
            let last = entry.1.live.last();
            let age = last.map(|(_, at)| now.mono_us.saturating_sub(at.mono_us));
            let status = gauge_status(entry, self.setup.gauges.get(entry.0));
            ViewGauge {
                name: status.name,
                state: status.state,
                why: status.why,
                last: status.last,
                last_age_ms: age.map(|age| age / 1000),
            }
        };
        tallies.map(one).collect()
    }

    /// Unseen alerts of the station and of the whole bench: the calling ones first, among them those on the
    /// screen or about the bench, then the newest. Notes on checks that are not on the screen need nobody
    /// and are left out.
    fn alerts(&self, set: &StationSetup, station: &Station) -> Vec<ViewAlert> {
        let now = |open: &OpenAlert| {
            open.alert.attempt.is_none() || open.alert.attempt == station.attempt
        };
        let needed = |(_, open): &(&Seq, &OpenAlert)| {
            let loud = match open.alert.level {
                Level::Log => false,
                Level::Note => now(open),
                Level::Interrupt => true,
            };
            loud && !open.seen && self.concerns(open, set, station.job)
        };
        let mut open: Vec<_> = self.bench.alerts.iter().filter(needed).collect();
        open.sort_by_key(|(id, open)| std::cmp::Reverse((open.alert.level, now(open), **id)));
        let line = |(id, open): (&Seq, &OpenAlert)| ViewAlert {
            id: id.0,
            level: open.alert.level,
            kind: open.alert.kind,
            text: self.told_at(&open.alert, station.job),
        };
        open.into_iter().map(line).collect()
    }

    /// The text of an alert at a station with this job in use: an alert of another job begins with the
    /// job's name.
    fn told_at(&self, alert: &Alert, in_use: Option<Seq>) -> String {
        let other = alert.job.filter(|job| Some(*job) != in_use);
        match other.and_then(|job| self.bench.jobs.get(&job)) {
            Some(job) => format!("{}: {}", job.opened.name, alert.text),
            None => alert.text.clone(),
        }
    }

    /// Whether an alert is for the people at a station. A note on a pedal or scanner is for its own
    /// station, an alert about a gauge for the station of the gauge, an alert about a job for stations that
    /// use the job; all others are for everybody.
    fn concerns(&self, open: &OpenAlert, set: &StationSetup, job: Option<Seq>) -> bool {
        let alert = &open.alert;
        let of_gauge = match &alert.about {
            // An alert that calls is for everybody.
            Some(Subject::Station(of) | Subject::Device { station: of, .. })
                if alert.level < Level::Interrupt =>
            {
                return set.name == *of;
            }
            Some(Subject::Gauge(gauge)) => self.setup.station_of(gauge),
            _ => None,
        };
        let of_attempt = alert
            .attempt
            .and_then(|id| self.bench.attempt(id))
            .and_then(|(_, _, attempt)| self.setup.station_of(&attempt.gauge()?.name));
        match (of_attempt, of_gauge) {
            (Some(station), _) | (None, Some(station)) => *station == set.name,
            (None, None) => alert.job.is_none() || alert.job == job,
        }
    }
}

fn check(setup: &Setup, id: Seq, job: &Job, attempt: &Attempt) -> Option<ViewCheck> {
    let (part, check) = job.check_of(attempt)?;
    let touch = next_touch(check, attempt);
    let (next, next_position) = next_words(touch);
    let nth = next_nth(attempt, touch);
    // A position behind the hand: one that was left open and is filled last.
    let back = matches!(touch, Touch::Position(position) if position + 1 < attempt.past_highest());
    let voided = attempt.count(State::Void);
    let place = place_of_touch(check, attempt);
    let asks = AsksLine::from(check);
    let sentence = || asks.sentence(part.name.as_str(), check.name.as_str());
    let asked = || sentence().filter(|_| touch == Touch::Answer);
    let held = Held::of(None, check.unit).against(check.limits);
    Some(ViewCheck {
        part: part.name.to_string(),
        name: check.name.to_string(),
        attempt_id: id.0,
        attempt: attempt.began.number,
        reason: attempt.began.reason,
        measures: check.traits(),
        setup: check.setup,
        direction: check.direction,
        gauge: attempt.gauge().map(|gauge| gauge.name.to_string()),
        limit: LimitsTold::of(&held),
        limits: LimitsLine::of(&held),
        limit_unit: check.unit,
        next,
        next_position,
        next_words: touch_words(touch, back),
        why: touch_why(touch, back, nth).or_else(|| place.clone()).or_else(asked),
        place,
        waits: None,
        taken: attempt.taken(),
        next_touch: nth.map(|nth| nth.touch),
        touches: check.touches,
        of: check.touches_in_all(),
        per_circle: check.per_circle(),
        positions: positions(check, attempt, touch),
        last_touch: attempt.readings.last().map(last_touch),
        voided: u32::try_from(voided).unwrap_or(u32::MAX),
        verdict: attempt
            .verdict
            .as_ref()
            .map(|(id, verdict)| told(setup, *id, verdict, (job, check))),
        run_in: None,
        asks,
    })
}

/// What a position shows: its touch as it was sent; of several the mean, in steps of the readings.
fn shown_at(attempt: &Attempt, position: u32) -> Option<String> {
    let newest = attempt.at(position)?.value;
    if attempt.touches_at(position) < 2 {
        return Some(newest.to_string());
    }
    let step = Quoted::from_count(1, newest.places, newest.unit).ok()?.length;
    let mean = in_steps(attempt.mean_at(position)?, step, newest.unit);
    Some(mean)
}

fn positions(check: &Check, attempt: &Attempt, touch: Touch) -> Vec<ViewPosition> {
    let total = check.total();
    let circle = check.per_circle();
    let shown = if total <= MOST_SHOWN {
        0..total
    } else {
        let at = next_words(touch).1.unwrap_or_else(|| attempt.past_highest().saturating_sub(1));
        let first = at / circle.max(1) * circle.max(1);
        first..first.saturating_add(circle.min(MOST_SHOWN)).min(total)
    };
    let asked = |position: u32| match touch {
        Touch::Asked(Question::Touch(asked)) => position == asked,
        Touch::Asked(Question::Closure) => position == 0,
        Touch::Asked(Question::HalfTurn { high, low }) => position == high || position == low,
        Touch::Asked(Question::Master)
        | Touch::Master
        | Touch::Sweep
        | Touch::Seat { .. }
        | Touch::Position(_)
        | Touch::Middle
        | Touch::Closure
        | Touch::Answer
        | Touch::Nothing => false,
    };
    let one = |position| {
        let value = shown_at(attempt, position);
        let why = attempt.skipped.get(&position).map(|left_out| &left_out.why);
        let state = match (&value, why) {
            _ if asked(position) => PositionState::Asked,
            (Some(_), _) => PositionState::Taken,
            (None, Some(_)) => PositionState::Skipped,
            (None, None) => PositionState::Open,
        };
        let angle_deg = (circle > 1).then(|| check.angle_deg(position));
        ViewPosition { position, angle_deg, state, value: value.or_else(|| why.cloned()) }
    };
    shown.map(one).collect()
}

fn last_touch(touched: &Touched) -> ViewTouch {
    ViewTouch {
        id: touched.id.0,
        position: touched.position,
        value: touched.value.to_string(),
        state: touched.state,
    }
}

/// A verdict as a person reads it.
fn told(setup: &Setup, id: Seq, verdict: &Verdict, (job, check): (&Job, &Check)) -> ViewVerdict {
    let good = check.measures.asks().map_or_else(Vec::new, |asks| asks.good);
    let unit = verdict.unit.shown_in(setup.unit);
    let Told { value, limit, uncertainty, .. } = verdict.told_beside(&good, unit);
    // A value without an uncertainty is told like an answer, which has no unit beside it.
    let plain = verdict.value.is_some() && uncertainty.is_none();
    let with = |text: Option<String>| match text {
        Some(text) if plain => Some(format!("{text} {unit}")),
        text => text,
    };
    let (value, limit) = (with(value), with(limit));
    ViewVerdict {
        id: id.0,
        verdict: verdict.word,
        simple: verdict.simple,
        guarded: verdict.guarded,
        standing: job.standing(verdict.attempt),
        unit,
        value,
        limit,
        uncertainty,
        assumed: verdict.known == Known::Assumed,
        high_mark_deg: high_mark(verdict, check),
        high_position: high_position(verdict, check),
        contacts_upper: verdict.figures.contacts_upper.clone(),
        contacts_lower: verdict.figures.contacts_lower.clone(),
        advice: verdict.advice.clone(),
        reasons: verdict.reasons.clone(),
    }
}

/// The highest reading at the mark nearest to the high side, as its position: with several circles it says
/// which circle is meant.
fn high_position(verdict: &Verdict, check: &Check) -> Option<u32> {
    let mark = high_mark(verdict, check)?;
    let at_the_mark = |position: u32| {
        let angle = f64::from(position % check.positions) * check.mark_pitch_deg();
        (angle - mark).abs() < check.mark_pitch_deg() / 2.0
    };
    let there = verdict.means.iter().filter(|mean| at_the_mark(mean.position));
    there.max_by_key(|mean| mean.value).map(|mean| mean.position)
}
