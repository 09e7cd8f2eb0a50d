//! `person`: who works at a station; and the login name, where nobody said so.

use ::bench::Command;
use store::login_of;

use super::args::{Global, PersonArgs};
use super::change::change;
use super::failure::Failure;

pub(crate) fn run(global: &Global, args: PersonArgs) -> Result<u8, Failure> {
    change(global, args.asking, Command::Person { name: args.name })
}

/// The name of the real user, from the system's list; where it is not listed, from `LOGNAME` or
/// `USER`.
pub(crate) fn login_name() -> Option<String> {
    let own = rustix::process::getuid().as_raw();
    login_of(own).or_else(|| {
        ["LOGNAME", "USER"]
            .iter()
            .find_map(|name| std::env::var(name).ok().filter(|value| !value.is_empty()))
    })
}
