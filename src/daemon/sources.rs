//! The running sources, one task each.

use std::collections::BTreeMap;

use tokio::sync::mpsc;
use tokio::task::JoinHandle;

use super::input::Input;
use config::{Device, Drop, Loaded, Port};
use intake::{Asks, Outlet, StopSwitch, attend, listen, watch_drop};

/// All running sources, each with its whole set-up as text: a source that is set up differently is another
/// source. The text is compared because patterns cannot be.
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

    /// Starts new sources, ends removed ones and leaves the rest alone.
    pub(super) async fn follow(&mut self, loaded: &Loaded) {
        let wanted = Wanted::all(loaded);
        let gone: Vec<_> =
            self.running.keys().filter(|key| !wanted.contains_key(*key)).cloned().collect();
        for key in gone {
            if let Some(running) = self.running.remove(&key) {
                running.end().await;
            }
        }
        for (key, wanted) in wanted {
            let asks = self.asks.clone();
            self.start(key, |outlet, stop| match wanted {
                Wanted::Port(port) => tokio::spawn(listen(port.clone(), outlet, asks, stop)),
                Wanted::Drop(drop) => tokio::spawn(watch_drop(drop.clone(), outlet, stop)),
                Wanted::Device(device) => tokio::spawn(attend(device.clone(), outlet, stop)),
            });
        }
    }

    fn start(
        &mut self,
        key: String,
        start: impl FnOnce(Outlet<Input>, intake::Stop) -> JoinHandle<()>,
    ) {
        self.running.entry(key).or_insert_with(|| {
            let (switch, stop) = StopSwitch::new();
            Running { task: start(self.outlet.clone(), stop), switch }
        });
    }

    /// Ends all of them, each after it has reported all it has read.
    pub(super) async fn stop(&mut self) {
        for running in self.running.values() {
            running.switch.throw();
        }
        while let Some((_, running)) = self.running.pop_first() {
            running.end().await;
        }
    }
}

/// A source that is set up.
#[derive(Debug)]
enum Wanted<'l> {
    Port(&'l Port),
    Drop(&'l Drop),
    Device(&'l Device),
}

impl<'l> Wanted<'l> {
    /// All sources, by their set-up as text.
    fn all(loaded: &'l Loaded) -> BTreeMap<String, Self> {
        let ports = loaded.ports.iter().map(Self::Port);
        let drops = loaded.drops.iter().map(Self::Drop);
        let devices = loaded.devices.iter().map(Self::Device);
        let all = ports.chain(drops).chain(devices);
        all.map(|wanted| (format!("{wanted:?}"), wanted)).collect()
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
