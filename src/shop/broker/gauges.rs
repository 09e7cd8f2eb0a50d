//! The states of the gauges, asked of the service of the bench: what is told of them, and when again.

use std::collections::{BTreeMap, BTreeSet};
use std::io;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use tokio::io::{AsyncBufReadExt as _, AsyncReadExt as _, AsyncWriteExt as _, BufReader};
use tokio::net::UnixStream;
use tokio::sync::watch;

use ::wire::{GaugeLine, GaugeStatus, Incoming, Status};
use config::SOCKET;

use crate::Origin;

/// How often the service is asked.
const EVERY: Duration = Duration::from_secs(2);
/// How long an answer may take.
const PATIENCE: Duration = Duration::from_secs(10);
/// The longest answer.
const LONGEST: u64 = 4 * 1024 * 1024;
/// How often a gauge is told again of which only counters went on.
const COUNTERS: Duration = Duration::from_mins(1);

/// What the service said last; `None` where it does not answer. The outer one is `None` before it was asked.
pub(super) type Answer = Option<Option<Vec<GaugeStatus>>>;

/// Asks the service for ever.
pub(super) async fn ask_on(origin: Origin, tell: watch::Sender<Answer>) {
    let socket = origin.state.join(SOCKET);
    loop {
        let answer = tokio::time::timeout(PATIENCE, ask(&socket)).await;
        let gauges = answer.ok().and_then(Result::ok).map(|status| status.gauges);
        if tell.send(Some(gauges)).is_err() {
            return;
        }
        tokio::time::sleep(EVERY).await;
    }
}

async fn ask(socket: &PathBuf) -> io::Result<Status> {
    let stream = UnixStream::connect(socket).await?;
    let mut stream = BufReader::new(stream).take(LONGEST);
    let mut line = String::new();
    stream.read_line(&mut line).await?;
    let asked = Incoming::Status.to_line() + "\n";
    stream.get_mut().get_mut().write_all(asked.as_bytes()).await?;
    line.clear();
    stream.read_line(&mut line).await?;
    Ok(serde_json::from_str(&line)?)
}

/// What was told of each gauge.
#[derive(Debug, Default)]
pub(super) struct Told(BTreeMap<String, (Option<GaugeStatus>, Instant)>);

/// What is to be told of the gauges.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Tell {
    /// These are so now.
    pub(super) lines: Vec<GaugeLine>,
    /// These are not there any more.
    pub(super) gone: Vec<String>,
}

impl Told {
    /// What is new: of every gauge the service names, or of those that are known where it does not answer.
    pub(super) fn news(
        &mut self,
        (bench, at): (&str, &str),
        gauges: Option<&[GaugeStatus]>,
        known: &BTreeSet<String>,
    ) -> Tell {
        let mut now: BTreeMap<&str, Option<&GaugeStatus>> = BTreeMap::new();
        match gauges {
            Some(gauges) => now.extend(gauges.iter().map(|one| (one.name.as_str(), Some(one)))),
            None => now.extend(known.iter().map(|name| (name.as_str(), None))),
        }
        let gone: Vec<String> = match gauges {
            Some(_) => {
                known.iter().filter(|one| !now.contains_key(one.as_str())).cloned().collect()
            }
            None => Vec::new(),
        };
        self.0.retain(|name, _| !gone.contains(name));
        let mut tell = Tell { lines: Vec::new(), gone };
        for (name, status) in now {
            let is_new = match self.0.get(name) {
                None => true,
                Some((told, at)) => match (told, status) {
                    (Some(told), Some(status)) => {
                        let due = at.elapsed() > COUNTERS;
                        told != status
                            && (due || without_counters(told) != without_counters(status))
                    }
                    (None, None) => false,
                    (Some(_), None) | (None, Some(_)) => true,
                },
            };
            if is_new {
                self.0.insert(name.to_owned(), (status.cloned(), Instant::now()));
                tell.lines.push(GaugeLine::new(bench, name, at.to_owned(), status.cloned()));
            }
        }
        tell
    }
}

/// A gauge without what goes on counting while nothing happens.
fn without_counters(status: &GaugeStatus) -> GaugeStatus {
    GaugeStatus { frames: 0, idle: 0, muted: 0, ..status.clone() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ::wire::GaugeState;

    fn gauge(name: &str, frames: u64, state: GaugeState) -> GaugeStatus {
        GaugeStatus {
            name: name.to_owned(),
            state,
            why: None,
            frames,
            taken: 0,
            damaged: 0,
            foreign: 0,
            repeats: 0,
            resync: 0,
            idle: frames,
            muted: 0,
            last: None,
            last_at: None,
            calibration_due: None,
            shows: Vec::new(),
        }
    }

    #[test]
    fn a_gauge_is_told_when_something_changed_and_cleared_when_it_is_gone() {
        let mut told = Told::default();
        let known: BTreeSet<String> = ["old".to_owned(), "plate".to_owned()].into();
        let names = |tell: &Tell| {
            let lines: Vec<_> =
                tell.lines.iter().map(|line| format!("{} {:?}", line.name, line.state)).collect();
            (lines, tell.gone.clone())
        };
        let mut news =
            |gauges: Option<&[GaugeStatus]>| names(&told.news(("n", ""), gauges, &known));
        let none = (vec![], vec![]);
        let unknown = vec!["old Unknown".to_owned(), "plate Unknown".to_owned()];
        assert_eq!(news(None), (unknown, vec![]));
        assert_eq!(news(None), none);
        let live = [gauge("plate", 1, GaugeState::Live)];
        let said = (vec!["plate Live".to_owned()], vec!["old".to_owned()]);
        assert_eq!(news(Some(&live)), said);
        let counted = news(Some(&[gauge("plate", 9, GaugeState::Live)])).0;
        assert!(counted.is_empty(), "only counters went on: {counted:?}");
        let lost = news(Some(&[gauge("plate", 9, GaugeState::Lost)])).0;
        assert_eq!(lost, ["plate Lost"]);
    }
}
