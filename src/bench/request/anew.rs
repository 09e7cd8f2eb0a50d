//! A gauge whose settings changed, or another instrument in its place: a measurement under way with it
//! begins again, because touches from before and after do not go together.

use crate::draft::Draft;
use crate::fact::row::{AlertKind, Ending};
use crate::fact::seq::Seq;
use crate::series::{Touch, next_touch};
use crate::setup::GaugeSetup;
use crate::state::Attempt;

impl Draft<'_> {
    /// Ends every attempt that waits for a touch of a gauge that changed since the attempt began. A gauge
    /// that is gone from the configuration cannot touch; if it comes back, this is checked again.
    pub(crate) fn follow_gauges(&mut self) {
        let mut changed = Vec::new();
        for job in self.bench.jobs.values() {
            for (id, attempt) in &job.attempts {
                let shown = self.station_showing(*id).is_some();
                if attempt.ending.is_some() && !shown {
                    continue;
                }
                let what = self.changed_since(attempt);
                if !what.is_empty() {
                    changed.push((*id, what));
                }
            }
        }
        changed.sort_by_key(|(id, _)| *id);
        for (id, what) in changed {
            self.begin_anew(id, &what);
        }
    }

    /// What changed about an attempt's gauge since the attempt began, in words.
    pub(crate) fn changed_since(&self, attempt: &Attempt) -> Vec<&'static str> {
        let now = attempt.gauge().and_then(|before| self.gauge_set_up(&before.name));
        attempt.gauge().zip(now).map_or_else(Vec::new, |(before, now)| changes(before, &now))
    }

    fn begin_anew(&mut self, id: Seq, what: &[&str]) {
        let Some((_, job, attempt)) = self.attempt(id) else { return };
        let awaited =
            job.check_of(&attempt).is_some_and(|(_, check)| match next_touch(check, &attempt) {
                Touch::Answer | Touch::Nothing => false,
                Touch::Master
                | Touch::Position(_)
                | Touch::Sweep
                | Touch::Seat { .. }
                | Touch::Middle
                | Touch::Closure
                | Touch::Asked(_) => true,
            });
        let gauge = attempt.gauge().map(|gauge| gauge.name.to_string()).unwrap_or_default();
        let under_way = attempt.ending.is_none();
        drop((job, attempt));
        let target = self.target(id);
        if under_way {
            self.end(id, Ending::Stopped);
        }
        // An attempt on a screen could be touched once more: a touch taken back opens its position.
        if let Some(station) = self.station_showing(id) {
            self.show(&station, None);
        }
        if !awaited {
            return;
        }
        let again = if under_way { "measure" } else { "remeasure again" };
        let text = format!(
            "{target}: {gauge} is not as it was ({} changed). Touches from before and after do not \
             go together. Begin again: tenths {again} {target}",
            list(what)
        );
        self.raise_for(id, AlertKind::SetupChanged, text);
    }
}

/// The differences between two set-ups of a gauge that change what its readings mean, or which instrument
/// they come from.
fn changes(before: &GaugeSetup, now: &GaugeSetup) -> Vec<&'static str> {
    let (wire, now_wire) = (before.wire.as_ref(), now.wire.as_ref());
    let differs = [
        ("sign", wire.map(|wire| wire.sign) != now_wire.map(|wire| wire.sign)),
        ("unit", before.unit != now.unit),
        ("scale", wire.map(|wire| wire.scale) != now_wire.map(|wire| wire.scale)),
        ("resolution", before.resolution != now.resolution),
        ("uncertainty", before.uncertainty != now.uncertainty),
        ("repeatability", before.repeatability != now.repeatability),
        ("travel", before.travel != now.travel),
        ("kind", before.kind != now.kind),
        ("serial number", before.serial != now.serial),
        ("lever angle", before.lever_mdeg != now.lever_mdeg),
        ("port", wire.map(|wire| &wire.port) != now_wire.map(|wire| &wire.port)),
        ("profile", wire.map(|wire| &wire.profile) != now_wire.map(|wire| &wire.profile)),
        ("channel", wire.map(|wire| &wire.channel) != now_wire.map(|wire| &wire.channel)),
    ];
    let gone = wire.is_some() != now_wire.is_some();
    let own = |word: &str| !gone || !["sign", "scale", "profile", "channel"].contains(&word);
    let told = differs.into_iter().filter(|(word, differs)| *differs && own(word));
    told.map(|(word, _)| word).collect()
}

/// `a`, `a and b`, `a, b and c`.
fn list(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}
