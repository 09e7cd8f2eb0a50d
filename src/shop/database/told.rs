//! What the link to the database says of itself: in its file, and in the log where that changes.

use std::time::SystemTime;

use bench::Seq;
use quantity::Wall;

use super::trouble::{Trouble, TroubleKind};
use crate::{DATABASE_LINK, LinkState, LinkTrouble, Origin};

/// The state of the link, as it was told last.
#[derive(Debug)]
pub(super) struct Told<'a> {
    origin: &'a Origin,
    state: LinkState,
    /// Whether what is in the file is what is known.
    written: bool,
}

impl<'a> Told<'a> {
    /// Goes on from what the process before told.
    pub(super) fn begun(origin: &'a Origin, to: String) -> Self {
        let before = LinkState::read(&origin.state, DATABASE_LINK).unwrap_or_default();
        let state = LinkState { to, trouble: None, remark: None, ..before };
        Self { origin, state, written: false }
    }

    /// What the shop has, and what the bench has.
    pub(super) fn arrived(&mut self, sent: Seq, newest: Seq) {
        let waiting = newest.0.saturating_sub(sent.0);
        let before = (self.state.sent, self.state.waiting);
        if before == (sent.0, waiting) && self.state.trouble.is_none() && self.written {
            return;
        }
        if let Some(LinkTrouble { text, .. }) = self.state.trouble.take() {
            tracing::info!("the record goes to the database again (before: {text})");
        }
        if before.0 != sent.0 || self.state.sent_at.is_none() {
            self.state.sent_at = Some(now().to_string());
        }
        (self.state.sent, self.state.waiting) = (sent.0, waiting);
        self.write();
    }

    /// What stands in the way.
    pub(super) fn troubled(&mut self, trouble: &Trouble, newest: Option<Seq>) {
        if let Some(newest) = newest {
            self.state.waiting = newest.0.saturating_sub(self.state.sent);
        }
        let before = self.state.trouble.as_ref().map(|before| before.text.as_str());
        if before != Some(&trouble.text) {
            tracing::warn!("the record does not go to the database: {trouble} ({})", trouble.hint);
            self.state.trouble = Some(LinkTrouble {
                text: trouble.text.clone(),
                hint: trouble.hint.clone(),
                since: now().to_string(),
                passes: matches!(trouble.kind, TroubleKind::Away | TroubleKind::Again),
            });
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
        let written = self.state.write(&self.origin.state, DATABASE_LINK);
        if let Err(error) = &written {
            tracing::debug!("the state of the link cannot be written: {error}");
        }
        self.written = written.is_ok();
    }
}

/// The clock of this machine.
#[expect(
    clippy::disallowed_methods,
    reason = "a link says when something arrived, and compares the clocks"
)]
pub(super) fn now() -> Wall {
    let since = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH).unwrap_or_default();
    Wall::from_micros(i64::try_from(since.as_micros()).unwrap_or(i64::MAX))
}
