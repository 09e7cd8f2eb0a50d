//! The table of manners and the commands are the same commands.

use std::collections::BTreeSet;

use clap::CommandFactory;

use super::manners;
use crate::args::Cli;

/// The words of every command, groups among them.
fn commands() -> BTreeSet<String> {
    fn below(command: &clap::Command, found: &mut BTreeSet<String>) {
        let words = command.get_bin_name().unwrap_or_default();
        found.insert(words.trim_start_matches("tenths").trim().to_owned());
        let shown = command.get_subcommands().filter(|command| !command.is_hide_set());
        shown.for_each(|command| below(command, found));
    }
    let mut program = Cli::command();
    program.build();
    let mut found = BTreeSet::new();
    below(&program, &mut found);
    found
}

#[test]
fn every_command_has_its_manners_and_there_are_no_others() {
    let (commands, names) = (commands(), manners::names().collect::<BTreeSet<_>>());
    let first = |words: &str| words.split(' ').next().unwrap_or_default().to_owned();
    for command in &commands {
        assert!(
            names.contains(first(command).as_str()),
            "man/manners.rs does not tell of {command:?}"
        );
    }
    for name in names {
        assert!(commands.contains(name), "there is no command {name:?}");
    }
}
