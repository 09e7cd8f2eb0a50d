//! The end of a series: its verdict, the alerts about it, and the question that follows.

use std::sync::Arc;

use judgement::{Reason, Word};

use crate::draft::Draft;
use crate::fact::row::{Alert, AlertKind, Body, Ending, Ends, Level, Question};
use crate::fact::seq::Seq;
use crate::fact::verdict::Verdict;
use crate::judge;
use crate::judge::figure;
use crate::judge::metal;
use crate::judge::order;
use crate::judge::returns;
use crate::judge::warm;
use crate::judge::wild;
use crate::plan::{Advance, Check};
use crate::questions;
use crate::request::touch::ask;
use crate::state::pairs;
use crate::state::{Attempt, Job};
use crate::words;
use crate::words::walked;

impl Draft<'_> {
    /// Hints during the series: already out, or one touch that stands off.
    pub(crate) fn hint(&mut self, id: Seq) {
        let Some((_, job, attempt)) = self.attempt(id) else { return };
        let Some((part, check)) = job.check_of(&attempt) else { return };
        let name = words::target(part, check);
        match figure::out_so_far(&job, id) {
            Some(value) => {
                let value = words::so_far(check, value);
                let text = format!("{name} out so far: {value}. Go on, or take it back.");
                self.raise_for(id, AlertKind::OutSoFar, text);
            }
            None => self.clear_for(id, AlertKind::OutSoFar),
        }
        if figure::out_so_far(&job, id).is_some()
            && let Some(slip) = order::moved_already(check, &attempt)
        {
            self.say_moved(id, &format!("{name}: {}", begin_small(&walked::slipped(slip))));
            return;
        }
        match wild::wild_position(&job, id, None) {
            // Only one touch is asked for at a time.
            Some(_) if self.is_open(id, AlertKind::WildTouch) => {}
            Some(position) => {
                // The next touch continues the round: the question is asked when the round is over.
                let ask = ask(check, &attempt, Question::Touch(position));
                let text = format!(
                    "{name}: {ask} Not now: when the round is done. Go on, or take it back."
                );
                let alert = self.alert_for(id, AlertKind::WildTouch, text);
                if let Some(alert) = alert {
                    self.raise(Alert { position: Some(position), ..alert });
                }
            }
            None => self.clear_for(id, AlertKind::WildTouch),
        }
    }

    /// Says during the series that everything moved, in place of the one touch that seemed to stand off.
    fn say_moved(&mut self, id: Seq, text: &str) {
        let alert = self.alert_for(id, AlertKind::WildTouch, text.to_owned());
        self.tell_now(Some(id), |open| open.kind == AlertKind::WildTouch, alert);
    }

    /// Ends an attempt and judges it.
    pub(crate) fn end(&mut self, id: Seq, ending: Ending) {
        self.push(Body::AttemptEnded { attempt: id, ending });
        self.clear_ended(id, Ends::Series);
        self.settle(id);
    }

    /// Stores the verdict of an attempt that is over, raises its alerts, asks the next question, and judges
    /// again the later tries that are combined with it.
    pub(crate) fn settle(&mut self, id: Seq) {
        let Some(verdict) = self.judge(id) else { return };
        self.question(id, &verdict);
        self.tell(id, &verdict);
        self.say_beside(id, &verdict);
        self.ask_for_the_wheel(id, &verdict);
        self.say_warm(id, &verdict);
        self.doubt_the_part(id);
        for later in self.later_tries(id) {
            if let Some(verdict) = self.judge(later) {
                self.tell(later, &verdict);
            }
        }
        self.settle_resting(id);
        self.settle_doubted(id);
        self.advance(id, &verdict);
    }

    /// Judges the lengths of a part again when doubt about its seating arises or ends: dirt that was found
    /// speaks against them.
    pub(crate) fn settle_doubted(&mut self, id: Seq) {
        let Some((_, job, attempt)) = self.attempt(id) else { return };
        for length in job.doubts_changed(attempt.began.check.part) {
            self.settle_again(length);
        }
    }

    /// Judges again the later verdicts that may use an attempt; an unchanged verdict is not stored again.
    fn settle_resting(&mut self, id: Seq) {
        let Some((_, job, attempt)) = self.attempt(id) else { return };
        let resting = pairs::resting_on(&job, attempt.began.check);
        let at = attempt.began.check;
        let uses = |other: &Seq| *other > id || pairs::looks_at(&job, *other, at);
        for other in resting.into_iter().filter(uses) {
            self.settle_again(other);
        }
    }

    /// Judges an attempt again whose readings are unchanged, because something it uses may have changed.
    pub(crate) fn settle_again(&mut self, id: Seq) {
        let Some((_, job, attempt)) = self.attempt(id) else { return };
        let standing = attempt.verdict.as_ref().map(|(_, verdict)| Arc::clone(verdict));
        let Some(now) = judge::judge(&job, id) else { return };
        if standing.as_deref() == Some(&now) {
            return;
        }
        let now = Arc::new(now);
        self.push(Body::Verdict(Arc::clone(&now)));
        self.tell(id, &now);
        self.say_beside(id, &now);
        self.settle_resting(id);
    }

    fn judge(&mut self, id: Seq) -> Option<Arc<Verdict>> {
        let (_, job, _) = self.attempt(id)?;
        let worked = judge::work_out(&job, id)?;
        drop(job);
        self.note_seatings(id, &worked.reseated);
        let verdict = Arc::new(worked.verdict);
        self.push(Body::Verdict(Arc::clone(&verdict)));
        Some(verdict)
    }

    /// Finished attempts that are combined with this one.
    fn later_tries(&self, id: Seq) -> Vec<Seq> {
        let Some((_, job, attempt)) = self.attempt(id) else { return Vec::new() };
        job.attempts_at(attempt.began.check)
            .filter(|(other, later)| *other > id && later.verdict.is_some())
            .map(|(other, _)| other)
            .take_while(|other| {
                let later = job.attempts.get(other);
                later.is_some_and(|l| l.began.reason == crate::fact::row::AttemptReason::Again)
            })
            .collect()
    }

    /// Asks the next question, where a person is at the check. A question that was raised during the series
    /// and still stands is not raised again.
    fn question(&mut self, id: Seq, verdict: &Verdict) {
        let Some((_, job, attempt)) = self.attempt(id) else { return };
        let Some((part, check)) = job.check_of(&attempt) else { return };
        let name = words::target(part, check);
        let here = verdict.word != Word::Incomplete && self.station_showing(id).is_some();
        let question = questions::next(&job, id, verdict).filter(|_| here);
        let call = match question {
            // It was no touch that stood off: in place of a hint that named one.
            Some(question @ Question::Touch(_)) if order::slip(check, &attempt).is_some() => {
                let text = format!("{name}: {}", begin_small(&ask(check, &attempt, question)));
                self.alert_for(id, AlertKind::NotClosed, text)
            }
            Some(question) => {
                let text = format!("{name}: {}", ask(check, &attempt, question));
                let alert = self.alert_for(id, alert_of(question), text);
                let position = question.touch();
                alert.map(|alert| Alert { position, ..alert })
            }
            None if here && still_open(check, &attempt, verdict) => {
                let slip = order::slip(check, &attempt).map(walked::slipped);
                let known = slip.is_some();
                let why = slip.map_or_else(
                    || "still not closed. Undecided. Go round again.".to_owned(),
                    |why| begin_small(&why),
                );
                let alert = self.alert_for(id, AlertKind::NotClosed, format!("{name}: {why}"));
                alert.map(|alert| if known { alert } else { Alert { level: Level::Note, ..alert } })
            }
            None => None,
        };
        self.clear_of([Some(id)], |open| {
            let stands = call.as_ref().is_some_and(|call| {
                // The hint during the round already asks for this touch.
                call == open || call.position.is_some() && call.is_of_the_same(open)
            });
            open.kind.nature().ends == Ends::Question && !stands
        });
        if words::half_turn(check, &attempt).is_none() {
            self.clear_for(id, AlertKind::HalfTurn);
        }
        if verdict.word != Word::Incomplete && question != attempt.asked {
            self.push(Body::Asked { attempt: id, question });
        }
        if let Some(call) = call {
            self.raise(call);
        }
    }

    /// Raises the alert that a verdict calls for, and clears the one it contradicts.
    pub(crate) fn tell(&mut self, id: Seq, verdict: &Verdict) {
        let Some((_, job, attempt)) = self.attempt(id) else { return };
        let Some((part, check)) = job.check_of(&attempt) else { return };
        let kind = match verdict.word {
            Word::DoesNotConform => Some(AlertKind::Out),
            Word::Undecided if !self.is_open(id, AlertKind::NotClosed) => {
                Some(AlertKind::Undecided)
            }
            // The alert that it did not close is already raised.
            Word::Undecided | Word::Conforms | Word::Incomplete => None,
        };
        // Attempts before the newest raise nothing: they are set aside, or combined with a later try that
        // does.
        let kind = kind.filter(|_| newest(&job, id));
        let text = words::verdict_alert(verdict, check, &words::target(part, check));
        let call = kind.and_then(|kind| self.alert_for(id, kind, text));
        self.tell_now(Some(id), |open| open.kind.nature().ends == Ends::Verdict, call);
    }

    /// Raises the notes beside a verdict: the result of a regrind, the effect of a pair.
    fn say_beside(&mut self, id: Seq, verdict: &Verdict) {
        let Some((_, job, attempt)) = self.attempt(id) else { return };
        let Some((part, check)) = job.check_of(&attempt) else { return };
        let name = words::target(part, check);
        let mut notes = Vec::new();
        let whole = verdict.word != Word::Incomplete;
        if let Some(was) = metal::before_this_grind(&job, id, verdict) {
            let text = format!("{name} {}", words::regrind(&was, verdict));
            notes.push((AlertKind::Regrind, text));
        }
        if metal::went_past_flat(&job, id) {
            let text = format!("{name}: high and low changed places. Past flat, or turned round?");
            notes.push((AlertKind::PastFlat, text));
        }
        if verdict.figures.pair.is_some() {
            let said = verdict.advice.iter().take(2).map(String::as_str).collect::<Vec<_>>();
            notes.push((AlertKind::Pair, format!("{name}: {}", said.join(" "))));
        }
        notes.retain(|_| whole);
        let notes = notes.into_iter().filter_map(|(kind, text)| self.alert_for(id, kind, text));
        let notes: Vec<Alert> = notes.collect();
        self.tell_now(Some(id), |open| open.kind.nature().ends == Ends::Beside, notes);
    }

    /// Asks whether the part was ground: a try that lies lower above its master than the one before was
    /// probably ground without a word, and one that is longer after a grind may be another part.
    fn ask_for_the_wheel(&mut self, id: Seq, verdict: &Verdict) {
        let Some((_, job, attempt)) = self.attempt(id) else { return };
        let Some((part, check)) = job.check_of(&attempt) else { return };
        let whole = verdict.word != Word::Incomplete && newest(&job, id);
        let moved = figure::moved_on_master(&job, id);
        let asked = moved.map(|moved| words::was_it_ground(check, moved));
        let asked = asked.or_else(|| metal::grown_under_the_wheel(&job, id, verdict));
        let text = asked.filter(|_| whole);
        let text = text.map(|asked| format!("{}: {asked}", words::target(part, check)));
        let call = text.and_then(|text| self.alert_for(id, AlertKind::WasGround, text));
        self.tell_now(Some(id), |open| open.kind == AlertKind::WasGround, call);
    }

    /// Calls where a length was seen to shrink or grow; of a face or a turn it is only written down, since
    /// how far it walked is part of its uncertainty.
    fn say_warm(&mut self, id: Seq, verdict: &Verdict) {
        let Some((_, job, attempt)) = self.attempt(id) else { return };
        let Some((part, check)) = job.check_of(&attempt) else { return };
        let whole = verdict.word != Word::Incomplete && newest(&job, id);
        let rate = warm::rate(&job, id)
            .filter(|rate| whole && rate.alarms(check.half_width(), check.traps.heat));
        let length = check.traits().sizes;
        let said = rate.filter(|_| check.limits.is_some()).map(|rate| {
            if length {
                words::warm::still(check, rate)
            } else {
                words::warm::of_a_round_that_walks(check, rate)
            }
        });
        let name = words::target(part, check);
        let call = said.and_then(|said| {
            let text = format!("{name}: {}", begin_small(&said));
            let alert = self.alert_for(id, AlertKind::Warm, text)?;
            Some(if length { alert } else { Alert { level: Level::Log, ..alert } })
        });
        self.tell_now(Some(id), |open| open.kind == AlertKind::Warm, call);
    }

    /// Asks at once whether a size far off is of another part or face. The reading is placed all the same,
    /// because nothing is guessed.
    pub(crate) fn doubt_the_part(&mut self, id: Seq) {
        let Some((_, job, attempt)) = self.attempt(id) else { return };
        let Some((part, check)) = job.check_of(&attempt) else { return };
        match judge::zero::far_off(check, &attempt) {
            Some(off) => {
                let off = words::difference(check, &attempt, off);
                let name = words::target(part, check);
                let which = if check.traits().stands() { "face" } else { "master" };
                let text = format!("{name} is {off} off size. Right part? Right {which}?");
                self.raise_for(id, AlertKind::WrongPart, text);
            }
            None => self.clear_for(id, AlertKind::WrongPart),
        }
    }

    /// Makes the next check active, where the plan says so.
    fn advance(&mut self, id: Seq, verdict: &Verdict) {
        let Some((_, job, attempt)) = self.attempt(id) else { return };
        let Some((_, check)) = job.check_of(&attempt) else { return };
        let goes_on = check.advance == Advance::Auto && verdict.word == Word::Conforms;
        if let (true, None, Some(station)) = (goes_on, attempt.asked, self.station_showing(id)) {
            self.next_check(&station);
        }
    }

    /// Clears every alert about earlier attempts at the check of a new one.
    pub(crate) fn clear_earlier(&mut self, job: &Job, id: Seq) {
        let Some(attempt) = job.attempts.get(&id) else { return };
        let all = job.attempts_at(attempt.began.check).map(|(other, _)| other);
        self.clear_of(all.filter(|other| *other != id).map(Some), |_| true);
    }
}

/// A sentence as it follows the name of its check.
fn begin_small(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// Whether no later attempt was begun at the check.
fn newest(job: &Job, id: Seq) -> bool {
    let at = job.attempts.get(&id).map(|attempt| attempt.began.check);
    at.and_then(|at| job.newest_at(at)).is_some_and(|(newest, _)| newest == id)
}

const fn alert_of(question: Question) -> AlertKind {
    match question {
        Question::Closure | Question::Master => AlertKind::NotClosed,
        Question::Touch(_) => AlertKind::WildTouch,
        Question::HalfTurn { .. } => AlertKind::MostlyTilt,
    }
}

/// Whether position 0 did not return, or the master is so far off that it withholds the verdict.
fn still_open(check: &Check, attempt: &Attempt, verdict: &Verdict) -> bool {
    returns::came_back_off(check, attempt) || verdict.reasons.contains(&Reason::ZeroMoved)
}
