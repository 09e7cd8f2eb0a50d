//! Which tone a change on the screen leads to: at most one, so that the end of a check gives one tone.

use ::bench::row::{AlertKind, Heard, Level, State};
use judgement::Word;
use wire::{Next, ProofWord, View, ViewAlert, ViewCheck, ViewProof, ViewVerdict};

use super::tone::Tone;

/// What was heard so far.
#[derive(Debug, Default)]
pub(crate) struct Hearing {
    before: Option<Before>,
    /// The attempt whose end was heard, and how many of its readings had been taken back by then.
    ended: Option<(u64, u32)>,
}

/// The parts of the view before that are compared.
#[derive(Debug, PartialEq, Eq)]
struct Before {
    /// The feed of the record, which decides whether numbers can be compared.
    feed: String,
    seq: u64,
    attempt: Option<u64>,
    voided: u32,
    /// How many marks of a turn were tapped.
    tapped: u32,
    /// Whether a turn is waited for.
    sweeps: bool,
    /// Whether a bar has to be confirmed as seated.
    seats: bool,
    /// Who works at the station.
    person: Option<String>,
}

impl Before {
    fn of(view: &View) -> Self {
        let (check, proof) = (view.check.as_ref(), view.proof.as_ref());
        let next = |word| check.is_some_and(|check| check.next == word);
        let sweeps = next(Next::Sweep);
        Self {
            feed: view.feed.clone(),
            seq: view.seq,
            attempt: proof.map(|proof| proof.proof).or(check.map(|check| check.attempt_id)),
            voided: match proof {
                Some(proof) => proof.voided,
                None => check.map_or(0, |check| check.voided),
            },
            tapped: check.filter(|_| sweeps).map_or(0, |check| check.taken),
            sweeps,
            seats: next(Next::Seat),
            person: view.person.clone(),
        }
    }

    /// The tone for something a person did that is no reading: tapped a mark, seated a bar, took one of these back, or
    /// started to work here.
    fn said_by_hand(&self, now: &Self) -> Option<Tone> {
        if now.person.is_some() && now.person != self.person {
            return Some(Tone::Taken);
        }
        if self.attempt != now.attempt {
            return None;
        }
        if now.tapped > self.tapped || (self.seats && !now.seats) {
            return Some(Tone::Taken);
        }
        let dropped = self.sweeps && now.sweeps && now.tapped < self.tapped;
        (dropped || (now.seats && !self.seats)).then_some(Tone::TakenBack)
    }
}

impl Hearing {
    /// The tone for what is new in a view. The first view is silent: it shows what happened before anybody listened.
    pub(crate) fn hear(&mut self, view: &View) -> Option<Tone> {
        let before = self.before.replace(Before::of(view));
        let (before, now) = (before?, Before::of(view));
        if before.feed != now.feed {
            // Another record was put in place: what it shows is not new.
            self.ended = None;
            return None;
        }
        let said = before.said_by_hand(&now);
        if view.seq <= before.seq {
            return said;
        }
        let since = before.seq;
        if view.alerts.iter().any(|alert| alert.id > since && is_stop(alert)) {
            return Some(Tone::Stop);
        }
        let refused = view.alerts.iter().any(|alert| alert.id > since && is_refusal(alert.kind));
        let refused = refused.then_some(Tone::Refused);
        if let Some(proof) = &view.proof {
            return heard_of_proof(&before, proof).or(refused).or(said);
        }
        let Some(check) = view.check.as_ref() else { return refused.or(said) };
        let touch = check.last_touch.as_ref().filter(|touch| touch.id > since);
        let back = before.attempt == Some(check.attempt_id) && check.voided > before.voided;
        if back && touch.is_none() {
            // The verdict that follows is no news to the person.
            return Some(Tone::TakenBack);
        }
        if check.verdict.as_ref().is_some_and(|verdict| verdict.id > since) {
            return self.ring(check);
        }
        if view.alerts.iter().any(|alert| alert.id > since && alert.level == Level::Interrupt) {
            return Some(Tone::Question);
        }
        match touch.map(|touch| touch.state) {
            Some(
                State::Placed | State::Closure | State::Middle | State::Master | State::HalfTurn,
            ) => Some(Tone::Taken),
            Some(State::Suspect) => Some(Tone::Refused),
            // After the end of a check the person is only looking, which is silent; a repeated press is no touch.
            Some(State::Void | State::Repeat | State::Unclaimed) | None => refused.or(said),
        }
    }

    /// The tone at the end of a check.
    fn ring(&mut self, check: &ViewCheck) -> Option<Tone> {
        let tone = ending(check.verdict.as_ref()?, check.next)?;
        if matches!(tone, Tone::Question | Tone::OutAndAsked) {
            return Some(tone);
        }
        let this = (check.attempt_id, check.voided);
        // The same end is heard once; after something was taken back it is another end.
        let again = self.ended.replace(this) == Some(this);
        (!again).then_some(tone)
    }
}

/// The tone of a proof: a touch, a touch taken back, or its end. One that failed raises an alert of its own.
fn heard_of_proof(before: &Before, proof: &ViewProof) -> Option<Tone> {
    if let Some(end) = &proof.end {
        return (end.word == ProofWord::Proven && end.id > before.seq).then_some(Tone::In);
    }
    let touched = proof.last_touch.as_ref().is_some_and(|touch| touch.id > before.seq);
    let back = before.attempt == Some(proof.proof) && proof.voided > before.voided;
    if back { Some(Tone::TakenBack) } else { touched.then_some(Tone::Taken) }
}

/// The tone of a verdict.
fn ending(verdict: &ViewVerdict, next: Next) -> Option<Tone> {
    let rules = (verdict.simple, verdict.guarded);
    let tone = ending_word(verdict.verdict, !verdict.reasons.is_empty(), rules)?;
    let asked = !matches!(next, Next::Nothing | Next::Answer);
    Some(if asked { asked_after(tone) } else { tone })
}

/// The tone where a person is asked for something after a check that ended with this tone.
pub(super) const fn asked_after(ending: Tone) -> Tone {
    match ending {
        Tone::Out | Tone::OutAndAsked => Tone::OutAndAsked,
        Tone::Taken
        | Tone::TakenBack
        | Tone::Refused
        | Tone::In
        | Tone::InButClose
        | Tone::Question
        | Tone::Withheld
        | Tone::Stop => Tone::Question,
    }
}

/// The tone for the word of a verdict where nobody is asked anything; it also depends on whether there are reasons, and
/// on the answers of the simple and the guarded rule.
pub(super) fn ending_word(
    word: Word,
    reasons: bool,
    (simple, guarded): (Option<Word>, Option<Word>),
) -> Option<Tone> {
    if word == Word::Incomplete {
        return None;
    }
    if word == Word::Undecided && reasons {
        return Some(Tone::Withheld);
    }
    Some(match (simple.unwrap_or(word), guarded.unwrap_or(word)) {
        (Word::Conforms, Word::Conforms) => Tone::In,
        (Word::Conforms, _) => Tone::InButClose,
        (Word::DoesNotConform, _) => Tone::Out,
        (Word::Undecided | Word::Incomplete, _) => Tone::Withheld,
    })
}

/// Whether an alert of this kind is about a foot, a scan or a press that had no effect.
pub(super) fn is_refusal(kind: AlertKind) -> bool {
    kind.nature().heard == Heard::Refusal
}

/// Whether an alert of this level and kind is one to stop for: it calls for a person, and the tone at the end of a check
/// does not cover it.
pub(super) fn stops(level: Level, kind: AlertKind) -> bool {
    level == Level::Interrupt && kind.nature().heard != Heard::Ring
}

/// Whether this is an alert to stop for.
pub(crate) fn is_stop(alert: &ViewAlert) -> bool {
    stops(alert.level, alert.kind)
}
