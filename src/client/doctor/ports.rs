//! What `doctor` says of the ports of gauges: serial lines, adapters that type, serial servers on the network.

use std::path::Path;
use std::time::Duration;

use rustix::fs::{Access, access};

use config::{Port, PortName};
use intake::{connected, denied, holder_of, input_denied};
use wire::{DoctorLine, Found, GaugeState, Status};

/// How long a serial server may take to answer.
const PATIENCE: Duration = Duration::from_secs(3);

fn found(found: Found, text: impl Into<String>) -> DoctorLine {
    DoctorLine::new("port", found, text)
}

pub(super) fn line_of(port: &Port, status: Option<&Status>) -> DoctorLine {
    let gauges: Vec<&str> = port.gauges.iter().map(quantity::Name::as_str).collect();
    let text = format!("{} of {}", port.name, gauges.join(", "));
    let held = status.is_some();
    match &port.name {
        PortName::Serial(path) => device(path, text, Access::READ_OK | Access::WRITE_OK, held)
            .unwrap_or_else(|text| found(Found::Look, text).remedy(denied(path))),
        PortName::Keys(path) => device(path, text, Access::READ_OK, held)
            .unwrap_or_else(|text| found(Found::Look, text).remedy(input_denied(path))),
        PortName::Net { host, port } => {
            server((host, *port), &text, gauges.first().copied(), status)
        }
    }
}

/// A serial server: what the service says of it, which is connected itself; else whether it answers.
fn server(
    (host, port): (&str, u16),
    text: &str,
    gauge: Option<&str>,
    status: Option<&Status>,
) -> DoctorLine {
    if let Some(status) = status {
        let seen = status.gauges.iter().find(|seen| Some(seen.name.as_str()) == gauge);
        return match seen {
            Some(seen) if seen.state == GaugeState::Live => {
                found(Found::Well, format!("{text}, connected"))
            }
            Some(seen) => {
                let why =
                    seen.why.clone().unwrap_or_else(|| "nothing is known of it yet".to_owned());
                found(Found::Wrong, format!("{text}: {why}"))
                    .remedy("the service goes on trying; `tenths status` shows when it is there")
            }
            None => found(Found::Look, format!("{text} is not known to the service"))
                .remedy("let it read the configuration again: tenths reload"),
        };
    }
    match connected(host, port, PATIENCE) {
        Ok(_) => found(Found::Well, format!("{text}, it answers")),
        Err(why) => found(Found::Wrong, why)
            .remedy("address and number stand in bench.toml; `tenths status` follows it once the service runs"),
    }
}

/// A port that has a device: serial line or adapter. The text comes back where this person may not open it.
fn device(
    path: &Path,
    text: String,
    rights: Access,
    service_runs: bool,
) -> Result<DoctorLine, String> {
    if !path.exists() {
        return Ok(found(Found::Wrong, format!("{text} is not there"))
            .remedy("plug the cable in; `tenths gauge list` shows which ports are"));
    }
    // The service holds its ports for itself; whether this person may open them does not matter then.
    match holder_of(path) {
        Some(holder) if service_runs => Ok(found(Found::Well, format!("{text}, held by {holder}"))),
        Some(holder) => Ok(found(Found::Wrong, format!("{text} is in use by {holder}"))
            .remedy("end that program: only one can read a port")),
        None if access(path, rights).is_err() => Err(format!("you may not open {text}")),
        None => Ok(found(Found::Well, text)),
    }
}
