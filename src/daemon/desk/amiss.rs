//! Handles rows that contradict the record, because somebody changed it while the service runs. Nothing of
//! such a batch is stored. The record is read back as at a start, damaged parts are set aside, and the
//! events are decided again, one after the other. An event that cannot be stored even then is reported, and
//! holds up nothing else.

use std::sync::Arc;

use super::dropped::fate_of;
use super::{After, Batch, Desk, GivenUp, facts};
use crate::input::Replied;
use crate::record::Record;
use ::record::{Answer, Called, SetAside};
use bench::event::StorageNews;
use bench::row::Piece;
use bench::{Bench, Decision, Event, Refusal, Row, Seq};
use intake::{self, Fate};
use quantity::{Name, Stamp};

/// The result of an event that was decided again.
enum Came {
    /// It is stored.
    Stored(Box<Decision>),
    /// It cannot be stored; this sentence says why.
    Not(String),
}

impl<R: Record> Desk<R> {
    /// Decides the events of a batch again whose rows contradicted the record.
    pub(super) fn decide_again(&mut self, refused: Batch, why: &str) -> Result<(), GivenUp> {
        tracing::error!("{why}; the record is read back");
        let aside = self.read_back()?;
        let Batch { rows: _, answers, refused, mut after, events } = refused;
        for (place, (at, event)) in events.into_iter().enumerate() {
            let mut keys = answers.iter().chain(&refused);
            let key = keys.find(|(of, _)| *of == place).map(|(_, answer)| answer);
            let came = self.alone(at, &event, (key, aside.as_deref()))?;
            if let Came::Not(why) = &came {
                let (what, why) = (called(&event), why.clone());
                tracing::error!("{what} is not stored: {why}");
                let news = Event::Storage(StorageNews::Damaged { what, why });
                self.alone(intake::now(), &news, (None, None))?;
            }
            for told in &mut after {
                told.came(place, &came, aside.as_deref());
            }
        }
        self.batch.after.append(&mut after);
        Ok(())
    }

    /// Reads the record as it is now and raises an alert for each damaged part. Returns the sentence about
    /// damage to what was open before.
    fn read_back(&mut self) -> Result<Option<String>, GivenUp> {
        let were: Vec<(Seq, Name)> =
            self.bench.jobs.iter().map(|(id, job)| (*id, job.opened.name.clone())).collect();
        let back = match self.look(R::read_back)? {
            Ok(back) => back,
            Err(why) => return Err(GivenUp { why, ours: false, rows: 0, waiting: 0 }),
        };
        self.bench = Bench::rebuilt(&back.rows, back.last, back.feed);
        self.ledger.bench = Arc::new(self.bench.clone());
        let mut aside = back.set_aside;
        for (id, name) in were {
            let named = Piece::Job(name);
            if let Some(aside) = aside.iter_mut().find(|aside| aside.what == Piece::Row(id)) {
                // The bench still knows its name.
                aside.what = named.clone();
            }
            let told = aside.iter().any(|aside| aside.what == named);
            if !told && !self.bench.jobs.contains_key(&id) {
                let why = format!("the record is damaged: job, row {id}: it is missing");
                aside.push(SetAside { what: named, why });
            }
        }
        let said: Vec<String> = aside.iter().map(|SetAside { what, why }| what.told(why)).collect();
        for SetAside { what, why } in aside {
            let news = Event::Storage(StorageNews::Damaged { what, why });
            self.alone(intake::now(), &news, (None, None))?;
        }
        Ok((!said.is_empty()).then(|| said.join("; ")))
    }

    /// Decides one event and stores its rows in a commit of their own.
    fn alone(
        &mut self,
        at: Stamp,
        event: &Event,
        (key, aside): (Option<&Answer>, Option<&str>),
    ) -> Result<Came, GivenUp> {
        let before = self.bench.clone();
        let decision = self.happened(at, event);
        let Batch { rows, .. } = std::mem::take(&mut self.batch);
        let answer = key.filter(|_| decision.reply.as_ref().is_some_and(Result::is_ok));
        let answers: Vec<Answer> = answer
            .map(|key| Answer {
                reply: reply_of(&decision, aside).line,
                called: called_anew(key, &rows),
                ..key.clone()
            })
            .into_iter()
            .collect();
        let nothing = rows.is_empty() && answers.is_empty();
        if !nothing && let Err(why) = self.stored(&rows, &answers)? {
            self.bench = before;
            return Ok(Came::Not(why));
        }
        if !rows.is_empty() {
            self.ledger.bench = Arc::new(self.bench.clone());
        }
        Ok(Came::Stored(Box::new(decision)))
    }
}

/// Who asked, together with the rows that now follow from the request.
fn called_anew(answer: &Answer, rows: &[Row]) -> Option<Called> {
    let rows = (rows.first()?.seq, rows.last()?.seq);
    Some(Called { rows, ..answer.called.clone()? })
}

impl After {
    /// Updates what is reported about an event, after it was decided again.
    fn came(&mut self, place: usize, came: &Came, aside: Option<&str>) {
        if let Self::Reply { reply, of: Some(of), .. } = self
            && *of == place
        {
            *reply = match came {
                Came::Stored(decision) => reply_of(decision, aside),
                Came::Not(why) => Replied::of(&Err(facts::damage(why))),
            };
        } else if let Self::File { rows, fate, of: Some(of), .. } = self
            && *of == place
        {
            (*fate, *rows) = match came {
                Came::Stored(decision) => fate_of(&decision.notices),
                Came::Not(why) => (Fate::Refused(why.clone()), 0),
            };
        }
    }
}

/// The reply. If something was set aside meanwhile, that is given as the reason of a refusal.
fn reply_of(decision: &Decision, aside: Option<&str>) -> Replied {
    let answer = match (&decision.reply, aside) {
        (Some(Err(_)), Some(why)) => Err(facts::damage(why)),
        (Some(answer), _) => answer.clone(),
        (None, _) => Err(Refusal::input("the request was not understood by the bench", "")),
    };
    Replied::of(&answer)
}

/// The name of an event in a sentence about why it cannot be stored.
fn called(event: &Event) -> Piece {
    if let Event::Frame(frame) | Event::Unasked(frame) = event {
        return Piece::Reading(frame.gauge.clone());
    }
    if let Event::File(file) = event {
        return Piece::File(file.seen.name.clone());
    }
    if matches!(event, Event::Request(_)) { Piece::Asked } else { Piece::Happened }
}
