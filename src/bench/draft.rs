//! A decision under way: it works on a scratch copy of the bench that takes each row as it is decided.

use std::sync::Arc;

use quantity::{Name, Stamp};

use crate::fact::row::{Alert, AlertKind, Body, Ending, Ends, Subject, Unproven};
use crate::fact::seq::Seq;
use crate::reply::{Decision, Done, Measuring, Notice, Refusal};
use crate::series::{Touch, next_nth, next_touch};
use crate::setup::{GaugeSetup, Setup};
use crate::state::row::Row;
use crate::state::{Attempt, Bench, Job, OpenAlert};
use crate::words;

/// The scratch copy is cheap: everything large in a bench is shared until it changes.
pub(crate) struct Draft<'a> {
    pub(crate) setup: &'a Setup,
    pub(crate) at: Stamp,
    /// Who acts, where that is known.
    pub(crate) by: Option<Name>,
    pub(crate) bench: Bench,
    rows: Vec<Row>,
    notices: Vec<Notice>,
}

/// The subject of an alert about a gauge.
pub(crate) fn of_gauge(gauge: &Name) -> Subject {
    Subject::Gauge(gauge.clone())
}

/// The result of a request.
pub(crate) type Answer = Result<Done, Refusal>;

impl<'a> Draft<'a> {
    pub(crate) fn new(bench: &Bench, setup: &'a Setup, at: Stamp) -> Self {
        Self { setup, at, by: None, bench: bench.clone(), rows: Vec::new(), notices: Vec::new() }
    }

    pub(crate) fn finish(self, reply: Option<Answer>) -> Decision {
        Decision { rows: self.rows, reply, notices: self.notices, after: self.bench }
    }

    /// Forgets the rows of a decision that is not carried out.
    pub(crate) fn give_up(&mut self, bench: &Bench) {
        self.rows.clear();
        self.bench = bench.clone();
    }

    /// Makes room for this many rows, and for some that follow from them.
    pub(crate) fn rows_to_come(&mut self, rows: usize) {
        self.rows.reserve(rows + rows / 64);
    }

    /// Adds a row and lets the scratch bench take it.
    pub(crate) fn push(&mut self, body: Body) -> Seq {
        self.push_at(self.at, body)
    }

    /// Adds a row with a time of its own, not that of the event: a sample of a swept turn.
    pub(crate) fn push_at(&mut self, at: Stamp, body: Body) -> Seq {
        let by = if let Body::Verdict(verdict) = &body {
            self.last_hand(verdict.attempt)
        } else {
            self.by.clone()
        };
        self.add(Row { seq: self.bench.last.next(), at, by, body, restored: None })
    }

    /// Opens a job again, in the state it had when it was closed.
    pub(crate) fn reopen(&mut self, job: Seq, restored: Arc<Job>) {
        let (at, by, body) = (self.at, self.by.clone(), Body::JobReopened { job });
        let restored = Some(restored);
        self.add(Row { seq: self.bench.last.next(), at, by, body, restored });
    }

    fn add(&mut self, row: Row) -> Seq {
        self.bench.apply(&row);
        self.rows.push(row);
        self.bench.last
    }

    /// Who made the last touch of an attempt. For an attempt that has no touch, the person of this
    /// decision.
    fn last_hand(&self, attempt: Seq) -> Option<Name> {
        let (.., attempt) = self.bench.attempt(attempt)?;
        let touched = !attempt.readings.is_empty() || attempt.answer.is_some();
        if touched { attempt.last_hand().cloned() } else { self.by.clone() }
    }

    /// The person who touches with a gauge.
    pub(crate) fn hand_with(&self, gauge: &Name) -> Option<Name> {
        let station = self.bench.stations.get(self.setup.station_of(gauge)?)?;
        let proving = station.proving.as_ref();
        if let Some(proving) = proving.filter(|proving| proving.began.gauge.name == *gauge) {
            return proving.hand.clone();
        }
        station.hand.as_ref().or(station.person.as_ref()).cloned()
    }

    /// The person who works at the station of a gauge.
    pub(crate) fn person_with(&self, gauge: &Name) -> Option<Name> {
        self.bench.stations.get(self.setup.station_of(gauge)?)?.person.clone()
    }

    /// The ` --station NAME` that a typed command needs where there are several stations; otherwise
    /// nothing.
    pub(crate) fn at_station(&self, station: Option<&Name>) -> String {
        let station = station.filter(|_| self.setup.stations.len() > 1);
        station.map_or_else(String::new, |station| {
            format!(" --station {}", words::typed(station.as_str()))
        })
    }

    pub(crate) fn notice(&mut self, notice: Notice) {
        self.notices.push(notice);
    }

    /// A gauge as it is set up, with what the register has of it: its serial number and the date of its
    /// certificate.
    pub(crate) fn gauge_set_up(&self, gauge: &Name) -> Option<GaugeSetup> {
        Some(self.bench.shop.with_its_entry(self.setup.gauges.get(gauge)?))
    }

    /// Why a gauge is not proven now; `None` where it is.
    pub(crate) fn unproven(&self, gauge: &Name) -> Option<Unproven> {
        let gauge = self.setup.gauges.get(gauge)?;
        self.bench.shop.unproven(gauge, self.at.wall, self.setup.proof_days)
    }

    /// An attempt of an open job, shared, so that rows may be added while it is read.
    pub(crate) fn attempt(&self, id: Seq) -> Option<(Seq, Arc<Job>, Arc<Attempt>)> {
        let (job, state, attempt) = self.bench.attempt(id)?;
        Some((job, Arc::clone(state), Arc::clone(attempt)))
    }

    /// Raises an alert, unless one of the same kind about the same thing is open.
    pub(crate) fn raise(&mut self, alert: Alert) {
        let told = |(_, open): (Seq, &OpenAlert)| open.alert.is_of_the_same(&alert);
        if !self.bench.alerts_about(alert.attempt).any(told) {
            self.push(Body::AlertRaised(Arc::new(alert)));
        }
    }

    /// An alert about an attempt.
    pub(crate) fn alert_for(&self, id: Seq, kind: AlertKind, text: String) -> Option<Alert> {
        let (job, _, state) = self.attempt(id)?;
        let about = state.gauge().map(|gauge| of_gauge(&gauge.name));
        let alert = Alert::new(about, kind, text);
        Some(Alert { job: Some(job), attempt: Some(id), ..alert })
    }

    /// Raises an alert about an attempt.
    pub(crate) fn raise_for(&mut self, attempt: Seq, kind: AlertKind, text: String) {
        if let Some(alert) = self.alert_for(attempt, kind, text) {
            self.raise(alert);
        }
    }

    /// Raises an alert that belongs to no job.
    pub(crate) fn raise_about(&mut self, about: Option<Subject>, kind: AlertKind, text: String) {
        self.raise(Alert::new(about, kind, text));
    }

    /// Whether an alert of a kind about an attempt is open.
    pub(crate) fn is_open(&self, attempt: Seq, kind: AlertKind) -> bool {
        self.bench.alerts_about(Some(attempt)).any(|(_, open)| open.alert.kind == kind)
    }

    /// Replaces the open alerts about an attempt, or about none, that a test picks by the alerts given. An
    /// open alert with the same words stays.
    pub(crate) fn tell_now(
        &mut self,
        attempt: Option<Seq>,
        picked: impl Fn(&Alert) -> bool,
        now: impl IntoIterator<Item = Alert>,
    ) {
        let now: Vec<Alert> = now.into_iter().collect();
        self.clear_of([attempt], |open| picked(open) && !now.contains(open));
        for alert in now {
            self.raise(alert);
        }
    }

    /// Clears every open alert that a test picks.
    pub(crate) fn clear(&mut self, over: impl Fn(&Alert) -> bool) {
        let over: Vec<Seq> = self
            .bench
            .alerts
            .iter()
            .filter(|(_, open)| over(&open.alert))
            .map(|(id, _)| *id)
            .collect();
        for alert in over {
            self.push(Body::AlertCleared { alert });
        }
    }

    /// Clears the open alerts about the given attempts that a test picks; `None` stands for the alerts
    /// about no attempt.
    pub(crate) fn clear_of(
        &mut self,
        attempts: impl IntoIterator<Item = Option<Seq>>,
        over: impl Fn(&Alert) -> bool,
    ) {
        let all = attempts.into_iter().flat_map(|attempt| self.bench.alerts_about(attempt));
        let mut over: Vec<Seq> =
            all.filter(|(_, open)| over(&open.alert)).map(|(id, _)| id).collect();
        over.sort_unstable();
        for alert in over {
            self.push(Body::AlertCleared { alert });
        }
    }

    /// Clears the alert of a kind about one subject that belongs to no job.
    pub(crate) fn clear_about(&mut self, about: Option<&Subject>, kind: AlertKind) {
        self.clear_of([None], |alert| alert.kind == kind && alert.about.as_ref() == about);
    }

    /// Clears the alerts of a kind of one attempt.
    pub(crate) fn clear_for(&mut self, attempt: Seq, kind: AlertKind) {
        self.clear_of([Some(attempt)], |alert| alert.kind == kind);
    }

    /// Clears the alerts of an attempt that this event ends.
    pub(crate) fn clear_ended(&mut self, attempt: Seq, by: Ends) {
        self.clear_of([Some(attempt)], |alert| alert.kind.nature().ends == by);
    }

    /// The attempt on the screen of a station.
    pub(crate) fn active(&self, station: &Name) -> Option<Seq> {
        self.bench.stations.get(station)?.attempt
    }

    /// The station that has an attempt on its screen.
    pub(crate) fn station_showing(&self, attempt: Seq) -> Option<Name> {
        let shows = |(_, state): &(&Name, &crate::state::Station)| state.attempt == Some(attempt);
        self.bench.stations.iter().find(shows).map(|(name, _)| name.clone())
    }

    /// Where a station stands in its active check.
    pub(crate) fn measuring(&self, station: &Name) -> Option<Measuring> {
        let (_, job, attempt) = self.attempt(self.active(station)?)?;
        let (part, check) = job.check_of(&attempt)?;
        let next = next_touch(check, &attempt);
        let verdict = attempt.verdict.as_ref().filter(|_| next == Touch::Nothing);
        Some(Measuring {
            station: station.clone(),
            job: job.opened.name.clone(),
            part: part.name.clone(),
            check: check.name.clone(),
            attempt: attempt.began.number,
            next,
            place: words::place_of_touch(check, &attempt),
            taken: attempt.taken(),
            of: check.touches_in_all(),
            positions: check.total(),
            touches: check.touches,
            nth: next_nth(&attempt, next),
            asks: check.measures.asks(),
            left: Vec::new(),
            ground: None,
            mind: crate::gate::mind(&job, part, check),
            raised: self.raised_now(station),
            came_to: verdict
                .map(|(_, verdict)| words::came_to(verdict))
                .or_else(|| words::run_in::leads(check, &attempt)),
            gauge_says: if attempt.readings.is_empty() {
                let said = [
                    words::of_calibration(&attempt),
                    words::of_the_proof(&attempt),
                    words::of_the_master(check, &attempt),
                    words::of_the_bar(&attempt),
                ];
                let said: Vec<String> = said.into_iter().flatten().collect();
                Some(said.join(" ")).filter(|said| !said.is_empty())
            } else {
                words::of_the_steps(check, &attempt).filter(|_| next != Touch::Nothing)
            },
        })
    }

    /// The attempts that this decision stopped before their end.
    pub(crate) fn stopped_now(&self) -> impl Iterator<Item = Seq> {
        self.rows.iter().filter_map(|row| {
            let Body::AttemptEnded { attempt, ending } = &row.body else { return None };
            (*ending == Ending::Stopped).then_some(*attempt)
        })
    }

    /// The alerts of this decision about the check of a station that are still open. Those of the verdict,
    /// and those about the gauge at the start of a check, have a sentence of their own and are left out.
    fn raised_now(&self, station: &Name) -> Vec<String> {
        let active = self.active(station);
        let raised = self.rows.iter().filter_map(|row| {
            let Body::AlertRaised(alert) = &row.body else { return None };
            self.bench.alerts.contains_key(&row.seq).then_some(alert)
        });
        raised
            .filter(|alert| active.is_some() && alert.attempt == active)
            .filter(|alert| !alert.kind.nature().in_reply)
            .map(|alert| alert.text.clone())
            .collect()
    }

    /// `PART/CHECK` of an attempt, for sentences.
    pub(crate) fn target(&self, attempt: Seq) -> String {
        let named = self.attempt(attempt).and_then(|(_, job, attempt)| {
            let (part, check) = job.check_of(&attempt)?;
            Some(words::target(part, check))
        });
        named.unwrap_or_default()
    }
}
