//! An open job.

use std::collections::BTreeMap;
use std::sync::Arc;

use judgement::Rule;
use quantity::Name;

use crate::fact::row::{Attached, HighSpot, JobField, JobOpened, StackItem, Stage, WentOn};
use crate::fact::seq::Seq;
use crate::plan::{Check, CheckAt, Part};
use crate::state::attempt::Attempt;
use crate::state::card::Card;
use crate::state::shaft::OnShaft;

/// An open job.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// How it was opened.
    pub opened: Arc<JobOpened>,
    /// The rule by which its attempts are judged from now on.
    pub rule: Rule,
    /// Every attempt at its checks.
    pub attempts: BTreeMap<Seq, Arc<Attempt>>,
    /// The stack as it was found, from the nose inwards.
    pub found: Vec<Arc<StackItem>>,
    /// The stack as it is built, from the nose inwards.
    pub built: Vec<Arc<StackItem>>,
    /// Every part that was put on the shaft, in order, with the row that took it off again.
    pub shaft: Vec<OnShaft>,
    /// The steps that were taken although something spoke against them, oldest first.
    pub went_on: Vec<(Seq, Arc<WentOn>)>,
    /// The rows that replaced parts, by the part's place in the plan, oldest first, with the serial numbers
    /// of the new parts.
    pub replaced: BTreeMap<u16, Vec<(Seq, Option<String>)>>,
    /// Its pictures and papers, oldest first.
    pub attached: Vec<KeptPaper>,
    /// What people wrote on its card.
    pub card: Card,
    /// The marked high spots, by the part's place in the plan, each with its row.
    pub spots: BTreeMap<u16, (Seq, Arc<HighSpot>)>,
}

/// A picture or paper of a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptPaper {
    /// Its number.
    pub id: Seq,
    /// What it is.
    pub attached: Arc<Attached>,
    /// Whether it was taken back. Its file stays.
    pub taken_back: bool,
}

impl Job {
    /// A job without attempts, opened in a row.
    #[must_use]
    pub fn new(row: Seq, opened: Arc<JobOpened>) -> Self {
        let (found, built, shaft) = (Vec::new(), Vec::new(), Vec::new());
        let (attempts, replaced, went_on) = (BTreeMap::new(), BTreeMap::new(), Vec::new());
        let (rule, attached, card) = (opened.rule, Vec::new(), Card::opened(row));
        Self {
            opened,
            rule,
            attempts,
            found,
            built,
            shaft,
            went_on,
            replaced,
            attached,
            card,
            spots: BTreeMap::new(),
        }
    }

    /// The part and check of an attempt; the check of a swept turn has a position for each sample.
    #[must_use]
    pub fn check_of<'a>(&'a self, attempt: &'a Attempt) -> Option<(&'a Part, &'a Check)> {
        let (part, check) = self.opened.plan.plan.at(attempt.began.check)?;
        Some((part, attempt.own_check().unwrap_or(check)))
    }

    /// The attempts at a check, in order.
    pub fn attempts_at(
        &self,
        at: CheckAt,
    ) -> impl DoubleEndedIterator<Item = (Seq, &Arc<Attempt>)> {
        let of_check = move |(_, attempt): &(&Seq, &Arc<Attempt>)| attempt.began.check == at;
        self.attempts.iter().filter(of_check).map(|(id, attempt)| (*id, attempt))
    }

    /// Its run-ins under way.
    pub(super) fn running(&self) -> impl Iterator<Item = Seq> {
        self.attempts.iter().filter(|(_, one)| one.runs()).map(|(id, _)| *id)
    }

    /// The newest attempt at a check; attempts on a part that was replaced since do not count.
    #[must_use]
    pub fn newest_at(&self, at: CheckAt) -> Option<(Seq, &Arc<Attempt>)> {
        let newest = self.attempts_at(at).next_back();
        newest.filter(|(id, _)| self.same_piece(at.part, *id, self.attempt_to_come()))
    }

    /// Whether a part was the same piece at two rows: not replaced between them.
    #[must_use]
    pub fn same_piece(&self, part: u16, one: Seq, other: Seq) -> bool {
        let before = |row: Seq| {
            let since = self.replaced.get(&part).into_iter().flatten();
            since.filter(|(since, _)| *since < row).count()
        };
        before(one) == before(other)
    }

    /// A row number after every present one.
    #[must_use]
    pub const fn attempt_to_come(&self) -> Seq {
        Seq(u64::MAX)
    }

    /// One of the two lists of the stack.
    #[must_use]
    pub fn stack(&self, stage: Stage) -> &[Arc<StackItem>] {
        match stage {
            Stage::Found => &self.found,
            Stage::Built => &self.built,
        }
    }

    /// The value of an entry for an attempt: the newest one written down before the next attempt at the
    /// same check began, for the piece that was there at that time.
    #[must_use]
    pub fn entry_for(&self, entry: CheckAt, attempt: Seq) -> Option<&str> {
        let of = self.attempts.get(&attempt)?.began.check;
        let next = self.attempts_at(of).map(|(id, _)| id).find(|id| *id > attempt);
        let counts = |(id, value): &(Seq, &Arc<Attempt>)| {
            value.answer.is_some()
                && next.is_none_or(|next| *id < next)
                && self.same_piece(entry.part, *id, attempt)
        };
        self.attempts_at(entry).rev().find(counts)?.1.answer.as_deref()
    }

    /// What stands at the head of the job: as it was corrected last, otherwise as it was opened.
    #[must_use]
    pub fn head(&self, what: JobField) -> Option<&str> {
        let opened = match what {
            JobField::Serial => &self.opened.serial,
            JobField::Customer => &self.opened.customer,
        };
        self.card.edited.get(&what).or(opened.as_ref()).map(String::as_str)
    }

    /// The serial number of a part as it is now: the one that was written down last, for it alone, as it was
    /// replaced, or as it was found.
    #[must_use]
    pub fn serial_of(&self, part: u16) -> Option<&str> {
        let replaced = self.replaced.get(&part).and_then(|pieces| pieces.last());
        let since = replaced.map_or(Seq(0), |(row, _)| *row);
        let written = self.card.serials.get(&part).and_then(|all| all.last());
        if let Some((_, serial)) = written.filter(|(row, _)| *row > since) {
            return Some(serial);
        }
        match replaced {
            Some((_, serial)) => serial.as_deref(),
            None => self.found.iter().find(|item| item.part == part)?.serial.as_deref(),
        }
    }

    /// Everybody whose touches or answers are in the job.
    pub fn hands(&self) -> impl Iterator<Item = &Name> {
        self.attempts.values().flat_map(|attempt| attempt.hands())
    }

    /// The bytes of its files. The same bytes are kept once and count once.
    #[must_use]
    pub fn attached_bytes(&self) -> u64 {
        let papers = self.attached.iter().map(|kept| &kept.attached.paper);
        let each: BTreeMap<[u8; 32], u64> =
            papers.map(|paper| (paper.digest, paper.bytes)).collect();
        each.values().sum()
    }
}
