//! Requests of clients. Those that arrive together are decided one after the other and stored in one
//! commit. A look-up in the record misses what is decided and not stored yet. So before a look-up that such
//! rows concern, they are stored; otherwise they wait.

use super::{After, Desk, GivenUp, facts};
use crate::input::Change;
use crate::input::Replied;
use crate::record::Record;
use bench::{Body, Command, Event, Refusal, Row};

/// What a batch that is not stored yet knows of the key of a request.
enum Pending {
    /// The key is new.
    Unknown,
    /// It is the same request. It is answered with this line once the event at this place is stored.
    Same(usize, String),
    /// The key belongs to another request.
    Other,
}

impl<R: Record> Desk<R> {
    /// A client asks for a change.
    pub(super) fn change(&mut self, change: Change) -> Result<(), GivenUp> {
        match self.pending(&change) {
            Pending::Unknown => {}
            Pending::Same(place, line) => {
                self.batch.after.push(After::Reply {
                    to: change.reply,
                    reply: Replied::again(line),
                    of: Some(place),
                });
                return Ok(());
            }
            // The record knows when the other request was made.
            Pending::Other => self.commit()?,
        }
        let answered = match self.look(|record| record.answer_of(&change.key))? {
            Ok(answered) => answered,
            Err(why) => {
                self.refuse(change, facts::damage(&why));
                return Ok(());
            }
        };
        if let Some(answered) = answered {
            // The reply is stored and waits for nothing. A client that is gone will repeat its request.
            let reply = facts::came_before(&change, answered);
            let _gone = change.reply.send(reply);
            return Ok(());
        }
        let Some(change) = self.tap_for(change) else { return Ok(()) };
        let Some(mut change) = self.value_for(change) else { return Ok(()) };
        if let Err(refusal) = self.know_command(change.at, &mut change.request.command)? {
            self.refuse(change, refusal);
            return Ok(());
        }
        // The reply carries the result.
        let _told = self.decide_change(change);
        Ok(())
    }

    fn pending(&self, change: &Change) -> Pending {
        let found = self.batch.answers.iter().find(|(_, answer)| answer.key == change.key);
        match found {
            None => Pending::Unknown,
            Some((place, answer)) if answer.digest == change.digest => {
                Pending::Same(*place, answer.reply.clone())
            }
            Some(_) => Pending::Other,
        }
    }

    /// Decides a request that has all it needs.
    pub(super) fn decide_change(&mut self, change: Change) -> Result<(), Refusal> {
        let refused = "the request was not understood by the bench";
        let (place, before) = (self.batch.events.len(), self.batch.rows.len());
        let decision = self.happened(change.at, &Event::Request(change.request.clone()));
        let answer = decision.reply.unwrap_or_else(|| Err(Refusal::input(refused, "")));
        let reply = Replied::of(&answer);
        let rows = self.batch.rows.get(before..).unwrap_or_default();
        let kept = (place, change.answer(reply.line.clone(), rows));
        // A refusal changed nothing, so the same request may be tried again.
        if answer.is_ok() || !rows.is_empty() {
            self.batch.answers.push(kept);
        } else {
            self.batch.refused.push(kept);
        }
        self.batch.after.push(After::Reply { to: change.reply, reply, of: Some(place) });
        answer.map(drop)
    }

    /// Answers a request that was refused before anything was decided.
    pub(super) fn refuse(&mut self, change: Change, refusal: Refusal) {
        self.batch.after.push(After::reply(change.reply, Replied::of(&Err(refusal))));
    }
}

/// Whether rows that are not stored yet concern what a command looks up in the record. Open jobs are not
/// looked up there: the bench has them, stored or not.
pub(super) fn bears_on(rows: &[Row], command: &Command) -> bool {
    let closed = |row: &Row| matches!(row.body, Body::JobClosed { .. });
    let reopened = |row: &Row| matches!(row.body, Body::JobReopened { .. });
    match command {
        // A job opened and closed within the batch is neither in the bench nor in the record.
        Command::JobOpen { .. } => rows.iter().any(closed),
        // Any of these rows may belong to the job; and the seal of a signature is that of all rows before it.
        Command::JobReopen { .. } | Command::Sign { .. } | Command::JobEdit { .. } => {
            !rows.is_empty()
        }
        Command::Note { .. } => rows.iter().any(|row| closed(row) || reopened(row)),
        Command::JobUse { .. }
        | Command::JobClose { .. }
        | Command::JobRule { .. }
        | Command::JobIntake { .. }
        | Command::Decide { .. }
        | Command::Serial { .. }
        | Command::Measure { .. }
        | Command::Stop
        | Command::Remeasure { .. }
        | Command::Confirm { .. }
        | Command::Record { .. }
        | Command::RunIn { .. }
        | Command::StackPlace { .. }
        | Command::StackBack { .. }
        | Command::StackSpot { .. }
        | Command::Replace { .. }
        | Command::Next
        | Command::Enter { .. }
        | Command::Take { .. }
        | Command::Tapped { .. }
        | Command::Swept(_)
        | Command::EnterHighLow { .. }
        | Command::EnterTotal { .. }
        | Command::Void { .. }
        | Command::Skip { .. }
        | Command::Master { .. }
        | Command::Person { .. }
        | Command::Register(_)
        | Command::Retire { .. }
        | Command::Prove { .. }
        | Command::ProveStop { .. }
        | Command::Attach(_)
        | Command::TakeAttachedBack { .. }
        | Command::Ack(_) => false,
    }
}
