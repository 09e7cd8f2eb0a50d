//! `person`: who works at a station; and the login name, where nobody said so.

use crate::bench::Command;

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
    let listed = std::fs::read_to_string("/etc/passwd").ok();
    listed.and_then(|list| listed_name(&list, own)).or_else(|| {
        ["LOGNAME", "USER"]
            .iter()
            .find_map(|name| std::env::var(name).ok().filter(|value| !value.is_empty()))
    })
}

/// The name of a user in a list in the format of passwd(5).
fn listed_name(list: &str, user: u32) -> Option<String> {
    list.lines().find_map(|line| {
        let mut fields = line.split(':');
        let (name, number) = (fields.next()?, fields.nth(1)?);
        (number.parse() == Ok(user) && !name.is_empty()).then(|| name.to_owned())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_user_is_found_by_number() {
        let list = "root:x:0:0:root:/root:/bin/sh\nann:x:1001:1001:Ann,,,:/home/ann:/bin/sh\nbad\n";
        assert_eq!(listed_name(list, 1001).as_deref(), Some("ann"));
        assert_eq!(listed_name(list, 7), None);
    }
}
