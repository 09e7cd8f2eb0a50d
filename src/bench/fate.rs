//! What became of a part. What was done beats what was said: a part that was ground is reground and one that
//! was replaced is replaced, whatever a person decided, so that the two cannot disagree.

use crate::fact::row::Outcome;
use crate::fact::seq::Seq;
use crate::state::Job;
use crate::state::card::Decided;

/// What became of a part, or is to become of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fate<'a> {
    /// What.
    pub outcome: Outcome,
    /// The row that did it; `None` where a person only decided it.
    pub done: Option<Seq>,
    /// Whether the new piece was ground as well.
    pub new_one_ground: bool,
    /// What was decided and is not done yet.
    pub to_do: Option<Outcome>,
    /// What a person decided last.
    pub said: Option<&'a Decided>,
}

impl<'a> Fate<'a> {
    /// That of a part of a job; `None` where nothing was done and nobody decided.
    #[must_use]
    pub fn of(job: &'a Job, part: u16) -> Option<Self> {
        let replaced = job.replaced.get(&part).and_then(|pieces| pieces.last());
        let replaced = replaced.map(|(row, _)| *row);
        let since = replaced.unwrap_or(Seq(0));
        let ground = job.attempts.iter().rev().find(|(id, attempt)| {
            **id > since && attempt.began.grinds && attempt.began.check.part == part
        });
        let ground = ground.map(|(id, _)| *id);
        let said = job.card.decided.get(&part).and_then(|all| all.last());
        let did = replaced.map(|row| (Outcome::Replaced, row));
        let did = did.or(ground.map(|row| (Outcome::Reground, row)));
        let outcome = did.map(|(outcome, _)| outcome).or(said.map(|said| said.outcome))?;
        let to_do = said.filter(|said| said.row > since).map(|said| said.outcome);
        let to_do = to_do.filter(|to_do| match to_do {
            Outcome::Kept => false,
            Outcome::Reground => ground.is_none(),
            Outcome::Replaced => true,
        });
        let new_one_ground = replaced.is_some() && ground.is_some();
        Some(Self { outcome, done: did.map(|(_, row)| row), new_one_ground, to_do, said })
    }

    /// Why, in the words of the person who decided it; `None` where nobody gave a reason for this outcome, as
    /// for a replacement, whose own row has it.
    #[must_use]
    pub fn why(&self) -> Option<&'a str> {
        let said = self.said.filter(|said| said.outcome == self.outcome)?;
        Some(&said.why)
    }

    /// The decision that was overtaken by what was done.
    #[must_use]
    pub fn overtaken(&self) -> Option<&'a Decided> {
        self.said.filter(|said| said.outcome != self.outcome && self.to_do.is_none())
    }
}
