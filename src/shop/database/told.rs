//! What the link to the database says of itself: in its file, and in the log where that changes.

use bench::Seq;

use super::trouble::{Trouble, TroubleKind};
use crate::{Origin, standing};
use wire::{LinkKind, LinkState, LinkStatus};

/// The state of the link, as it was told last.
#[derive(Debug)]
pub(super) struct Told<'a> {
    origin: &'a Origin,
    state: LinkStatus,
    /// Whether what is in the file is what is known.
    written: bool,
}

impl<'a> Told<'a> {
    /// Goes on from what the process before told.
    pub(super) fn begun(origin: &'a Origin, to: String) -> Self {
        let path = standing::file(&origin.state, LinkKind::Database);
        // A file that cannot be read tells nothing of before; it is written anew.
        let before: Option<LinkStatus> = standing::read(&path).ok().flatten();
        let mut state = LinkStatus::begun(LinkKind::Database, to, intake::now().wall);
        if let Some(before) = before {
            (state.newest, state.told_at, state.waiting) =
                (before.newest, before.told_at, before.waiting);
        }
        Self { origin, state, written: false }
    }

    /// What the shop has, and what the bench has.
    pub(super) fn arrived(&mut self, sent: Seq, newest: Seq) {
        let waiting = newest.0.saturating_sub(sent.0);
        let before = (self.state.newest, self.state.waiting);
        if before == (sent.0, waiting) && self.state.wrong.is_none() && self.written {
            return;
        }
        if let Some(text) = self.state.wrong.take() {
            tracing::info!("the record goes to the database again (before: {text})");
        }
        self.state.hint = None;
        self.is(if waiting == 0 { LinkState::Level } else { LinkState::Sending });
        if before.0 != sent.0 || self.state.told_at.is_none() {
            self.state.told_at = Some(intake::now().wall.to_string());
        }
        (self.state.newest, self.state.waiting) = (sent.0, waiting);
        self.write();
    }

    fn is(&mut self, state: LinkState) {
        if self.state.state != state {
            (self.state.state, self.state.since) = (state, intake::now().wall.to_string());
        }
    }

    /// What stands in the way.
    pub(super) fn troubled(&mut self, trouble: &Trouble, newest: Option<Seq>) {
        if let Some(newest) = newest {
            self.state.waiting = newest.0.saturating_sub(self.state.newest);
        }
        if self.state.wrong.as_ref() != Some(&trouble.text) {
            tracing::warn!("the record does not go to the database: {trouble} ({})", trouble.hint);
            let passes = matches!(trouble.kind, TroubleKind::Away | TroubleKind::Again);
            self.is(if passes { LinkState::Broken } else { LinkState::Held });
            self.state.wrong = Some(trouble.text.clone());
            self.state.hint = Some(trouble.hint.clone());
        }
        self.write();
    }

    /// What is strange and does no harm.
    pub(super) fn remarked(&mut self, remark: Option<String>) {
        if let Some(remark) = remark.as_ref().filter(|_| self.state.remark != remark) {
            tracing::warn!("{remark}");
        }
        self.written &= self.state.remark == remark;
        self.state.remark = remark;
    }

    /// A file that cannot be written stops nothing: whoever looks sees that it is old.
    fn write(&mut self) {
        let path = standing::file(&self.origin.state, LinkKind::Database);
        let written = standing::tell(&path, &self.state);
        if let Err(error) = &written {
            tracing::debug!("the state of the link cannot be written: {error}");
        }
        self.written = written.is_ok();
    }
}
