//! `reload`: makes the service read its configuration again, and says what changed.

use wire::{Incoming, ReloadLine, printable};

use super::failure::{Failure, REFUSED, UNREACHABLE};
use super::global::Global;
use super::{bench, screen, socket};

pub(crate) fn run(global: &Global) -> Result<u8, Failure> {
    let path = bench::socket(global)?;
    let reply = socket::ask(&path, &Incoming::Reload)?;
    if reply.exit != 0 {
        return Err(Failure::Told(reply.into()));
    }
    let told: ReloadLine = serde_json::from_str(&reply.line).map_err(|error| {
        Failure::plain(UNREACHABLE, format!("the service sent what cannot be read: {error}"))
    })?;
    if global.json {
        screen::line(&reply.line)?;
    } else {
        screen::told(&text(&told))?;
    }
    Ok(if told.used { 0 } else { REFUSED })
}

fn text(told: &ReloadLine) -> String {
    let file = printable(&told.file);
    let (head, all) = match (told.used, told.changed.is_empty()) {
        (true, true) => (format!("{file} was read again. Nothing is different."), &told.changed),
        (true, false) => (format!("{file} was read again:"), &told.changed),
        (false, _) => (format!("{file} is not used, the service goes on as it was:"), &told.why),
    };
    let each = all.iter().map(|one| format!("  {}\n", printable(one)));
    format!("{head}\n") + &each.collect::<String>()
}
