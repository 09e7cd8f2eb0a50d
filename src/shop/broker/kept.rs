//! What the link keeps: how far the broker has acknowledged the feed, and which states it holds for us.

use std::collections::BTreeSet;
use std::io;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use serde::{Deserialize, Serialize};

use ::wire::{LinkKind, LinkState, LinkStatus};

use crate::standing;

/// Kept at most this often while lines are told: the disk is that of the record.
const EVERY: Duration = Duration::from_millis(300);

/// The file of the link.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Kept {
    /// What the link says of itself; its `newest` is the newest line that was acknowledged with all before it.
    #[serde(flatten)]
    pub(super) standing: LinkStatus,
    /// The feed of that line; empty before there was one.
    #[serde(default)]
    pub(super) feed: String,
    /// The gauges whose state the broker may hold.
    #[serde(default)]
    pub(super) gauges: BTreeSet<String>,
    /// The open alerts that the broker may hold.
    #[serde(default)]
    pub(super) open: BTreeSet<u64>,
}

/// The file, and what was written of it.
#[derive(Debug)]
pub(super) struct Keeper {
    path: PathBuf,
    pub(super) kept: Kept,
    written: Option<Kept>,
    at: Instant,
    /// Whether it was said that it cannot be written.
    told: bool,
}

impl Keeper {
    /// Reads the file of a state folder; a link that has none, or whose file is damaged, begins at the first line.
    pub(super) fn read(state: &Path, to: String) -> Self {
        let path = standing::file(state, LinkKind::Broker);
        let found = standing::read(&path).unwrap_or_else(|error| {
            let shown = path.display();
            tracing::warn!("{shown} cannot be read ({error}): the broker is told everything again");
            None
        });
        let begun = LinkStatus::begun(LinkKind::Broker, to, intake::now().wall);
        let kept = match found {
            Some(Kept {
                standing: LinkStatus { newest, told_at, waiting, .. },
                feed,
                gauges,
                open,
            }) => Kept {
                standing: LinkStatus { newest, told_at, waiting, ..begun },
                feed,
                gauges,
                open,
            },
            None => Kept {
                standing: begun,
                feed: String::new(),
                gauges: BTreeSet::new(),
                open: BTreeSet::new(),
            },
        };
        Self { path, kept, written: None, at: Instant::now(), told: false }
    }

    /// The link is so from now on, if it was not before.
    pub(super) fn is_now(&mut self, state: LinkState, now: String) {
        let standing = &mut self.kept.standing;
        if standing.state != state {
            (standing.state, standing.since) = (state, now);
        }
        if !state.is_in_trouble() {
            (standing.wrong, standing.hint) = (None, None);
        }
    }

    /// Writes what changed, if something did and the last time is a while ago; `at_once` whenever something did.
    pub(super) fn write(&mut self, at_once: bool) {
        let turned = self.written.as_ref().is_none_or(|written| {
            let (was, is) = (&written.standing, &self.kept.standing);
            let works =
                |one: &LinkStatus| matches!(one.state, LinkState::Sending | LinkState::Level);
            let turned = was.state != is.state && !(works(was) && works(is));
            turned || was.wrong != is.wrong || written.feed != self.kept.feed
        });
        let due = at_once || turned || self.at.elapsed() >= EVERY;
        if !due || self.written.as_ref() == Some(&self.kept) {
            return;
        }
        self.at = Instant::now();
        match standing::write(&self.path, &self.kept) {
            Ok(()) => {
                self.written = Some(self.kept.clone());
                self.told = false;
            }
            Err(error) => self.not_written(&error),
        }
    }

    fn not_written(&mut self, error: &io::Error) {
        if !std::mem::replace(&mut self.told, true) {
            let shown = self.path.display();
            tracing::warn!(
                "{shown} cannot be written: {error}; after a restart some is told again"
            );
        }
    }
}
