//! The running sources, one task each.

use std::collections::BTreeMap;

use tokio::sync::mpsc;
use tokio::task::JoinHandle;

use super::input::Input;
use crate::config::{Drop, Port};
use crate::intake::{Asks, Outlet, StopSwitch, listen, watch_drop};

/// Every source that runs, by all that makes it what it is: one that is set up differently is
/// another source. Patterns have no equality, so what is compared is the text of the set-up.
pub(super) struct Sources {
    outlet: Outlet<Input>,
    asks: Asks,
    running: BTreeMap<String, Running>,
}

struct Running {
    switch: StopSwitch,
    task: JoinHandle<()>,
}

impl Sources {
    pub(super) fn new(inputs: mpsc::Sender<Input>, asks: Asks) -> Self {
        Self { outlet: Outlet::new(inputs), asks, running: BTreeMap::new() }
    }

    /// Starts what is new, ends what is gone, leaves the rest alone.
    pub(super) async fn follow(&mut self, ports: &[Port], drops: &[Drop]) {
        let ports: Vec<_> = ports.iter().map(|port| (format!("{port:?}"), port)).collect();
        let drops: Vec<_> = drops.iter().map(|drop| (format!("{drop:?}"), drop)).collect();
        let wanted = |key: &String| {
            ports.iter().any(|(port, _)| port == key) || drops.iter().any(|(drop, _)| drop == key)
        };
        let gone: Vec<_> = self.running.keys().filter(|key| !wanted(key)).cloned().collect();
        for key in gone {
            if let Some(running) = self.running.remove(&key) {
                running.end().await;
            }
        }
        for (key, port) in ports {
            let asks = self.asks.clone();
            let start = |outlet, stop| tokio::spawn(listen(port.clone(), outlet, asks, stop));
            self.start(key, start);
        }
        for (key, drop) in drops {
            let start = |outlet, stop| tokio::spawn(watch_drop(drop.clone(), outlet, stop));
            self.start(key, start);
        }
    }

    fn start(
        &mut self,
        key: String,
        start: impl FnOnce(Outlet<Input>, crate::intake::Stop) -> JoinHandle<()>,
    ) {
        self.running.entry(key).or_insert_with(|| {
            let (switch, stop) = StopSwitch::new();
            Running { task: start(self.outlet.clone(), stop), switch }
        });
    }

    /// Ends all of them, each after what it has read is told.
    pub(super) async fn stop(&mut self) {
        for running in self.running.values() {
            running.switch.throw();
        }
        while let Some((_, running)) = self.running.pop_first() {
            running.end().await;
        }
    }
}

impl Running {
    async fn end(self) {
        self.switch.throw();
        if let Err(error) = self.task.await {
            tracing::error!("a source ended badly: {error}");
        }
    }
}
