//! Commands that change something: they send a request to the service and print its reply.

use ::bench::{Command, Request};
use wire::{Incoming, printable};

use super::failure::Failure;
use super::global::{Asking, Global};
use super::{bench, key, login, screen, socket};

/// Asks the service for a change and prints its reply: the message, or with `--json` the object.
pub(crate) fn change(global: &Global, asking: Asking, command: Command) -> Result<u8, Failure> {
    change_with(global, asking, command, &[])
}

/// The same with the bytes of a file, for which the service asks.
pub(crate) fn change_with(
    global: &Global,
    asking: Asking,
    command: Command,
    file: &[u8],
) -> Result<u8, Failure> {
    let path = bench::socket(global)?;
    let request = Request { station: asking.station, by: asking.by, login: login::name(), command };
    let reply = socket::ask_with(&path, &Incoming::Change { key: key::fresh(), request }, file)?;
    if reply.exit != 0 {
        return Err(Failure::Told(reply.into()));
    }
    if global.json {
        screen::line(&reply.line)?;
    } else {
        screen::sentence(&printable(&reply.text))?;
    }
    Ok(0)
}
