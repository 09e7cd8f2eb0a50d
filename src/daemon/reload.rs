//! Reading the configuration again.

use std::sync::Arc;

use super::Service;
use super::input::{Captured, Input, NewSetup};
use bench::plan::Plan;
use config::{self, Loaded, Port};
use gauge::Capture;
use quantity::Name;
use wire::ReloadLine;

/// Reads the plan of a job as it was stored with the job.
pub(super) fn parse_pinned_plan(text: &str) -> Result<Plan, String> {
    config::parse_plan(text, "the pinned plan").map_err(|findings| {
        let lines: Vec<_> = findings.iter().map(ToString::to_string).collect();
        lines.join("; ")
    })
}

/// The parts of a configuration that the deciding thread needs.
pub(super) fn new_setup(loaded: &Loaded) -> NewSetup {
    NewSetup {
        at: intake::now(),
        setup: Arc::new(loaded.bench.clone()),
        ported: loaded.ports.iter().flat_map(|port| port.gauges.iter().cloned()).collect(),
        captures: loaded.ports.iter().flat_map(|port| captures(port, loaded)).collect(),
        drops: loaded.drops.iter().map(|drop| drop.name.clone()).collect(),
    }
}

/// The gauges of a port that send a stream or are asked.
fn captures(port: &Port, loaded: &Loaded) -> impl Iterator<Item = (Name, Captured)> {
    let timeout_us = port.line.profile.ask.as_ref().map_or(0, |ask| ask.timeout_us);
    let gauges = port.gauges.iter().zip(&port.line.gauges);
    gauges.filter(|(_, on_line)| on_line.capture != Capture::Send).map(move |(name, on_line)| {
        let (capture, resolution) = (on_line.capture, on_line.resolution.length);
        let (button, rest) = (on_line.button, on_line.rest);
        let travel = loaded.bench.gauges.get(name).and_then(|gauge| gauge.travel);
        (name.clone(), Captured { capture, resolution, timeout_us, button, travel, rest })
    })
}

/// The first of several errors, and how many others there are.
fn first_of(errors: &[String]) -> String {
    let first = errors.first().cloned().unwrap_or_default();
    match errors.len() {
        0 | 1 => first,
        all => format!("{first} (and {} more)", all - 1),
    }
}

impl Service {
    /// Reads the configuration and uses it. If it has errors, nothing changes and all of them are logged.
    pub(super) async fn reload(&mut self) -> ReloadLine {
        let path = self.loaded.path.clone();
        let file = path.display().to_string();
        let read = tokio::task::spawn_blocking(move || config::load(&path)).await;
        let Ok(checked) = read else {
            let why = vec!["it could not be read: the log says more".to_owned()];
            return ReloadLine { file, used: false, changed: Vec::new(), why };
        };
        for finding in &checked.findings {
            if finding.is_error() {
                tracing::error!("{finding}");
            } else {
                tracing::warn!("{finding}");
            }
        }
        let Some(loaded) = checked.loaded else {
            tracing::error!("the configuration has errors; the service goes on with the old one");
            let why: Vec<String> = checked.hold_back().map(ToString::to_string).collect();
            self.refuse_reload(first_of(&why)).await;
            return ReloadLine { file, used: false, changed: Vec::new(), why };
        };
        if loaded.state != self.loaded.state {
            let why = "a new [bench] state needs a restart of the service";
            tracing::error!("{why}; it goes on as it was");
            self.refuse_reload(why.to_owned()).await;
            let why = vec![why.to_owned()];
            return ReloadLine { file, used: false, changed: Vec::new(), why };
        }
        let changed = config::changes(&self.loaded, &loaded);
        self.tell(Input::Setup(Box::new(new_setup(&loaded)))).await;
        self.sources.follow(&loaded).await;
        self.loaded = loaded;
        tracing::info!("the configuration was read again");
        ReloadLine { file, used: true, changed, why: Vec::new() }
    }

    async fn refuse_reload(&self, why: String) {
        self.tell(Input::ReloadRefused { at: intake::now(), why }).await;
    }
}
