//! The login name, used where nobody said who works at a station.

use ::record::login_of;

/// The name of the real user, from the system's list; if it is not listed, from `LOGNAME` or `USER`.
pub(crate) fn name() -> Option<String> {
    let own = rustix::process::getuid().as_raw();
    login_of(own).or_else(|| {
        ["LOGNAME", "USER"]
            .iter()
            .find_map(|name| std::env::var(name).ok().filter(|value| !value.is_empty()))
    })
}
