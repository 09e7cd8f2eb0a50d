//! The help of all commands: the list of commands by what they are for, and which help a hint names.
//!
//! The examples of a command stand at the end of its `after_help`, behind `Examples:`, a line each, maybe with what it
//! does behind `   # `. Remarks stand before them. Whoever prints them elsewhere reads them from there.

use std::ffi::OsString;
use std::fmt::Write as _;

use clap::Command;

use super::screen::Screen;

/// The commands by what they are for, in the order in which a person comes to need them.
const GROUPS: [(&str, &[&str]); 9] = [
    ("At the beginning", &["init", "serve", "practice", "demo", "doctor"]),
    (
        "Jobs",
        &[
            "job",
            "plan",
            "note",
            "attach",
            "attachments",
            "decide",
            "serial",
            "replace",
            "sign",
            "checked",
        ],
    ),
    (
        "Measuring",
        &[
            "measure",
            "next",
            "remeasure",
            "enter",
            "take",
            "void",
            "skip",
            "master",
            "confirm",
            "record",
            "stack",
            "run-in",
            "person",
        ],
    ),
    ("Watching", &["status", "watch", "page", "tail", "ack"]),
    ("Looking up", &["readings", "verdicts", "alerts", "budget", "explain"]),
    ("Papers", &["report", "sheet", "evaluate", "study"]),
    ("Gauges and configuration", &["gauge", "prove", "register", "config", "reload"]),
    (
        "Care of the record",
        &["backup", "restore", "verify", "export", "import", "completions", "man"],
    ),
    ("The shop", &["shop", "forward"]),
];

/// How wide the names of the commands are.
const NAMES: usize = 12;

/// The command that arguments name, as far as they name one: `tenths job open`.
pub(crate) fn meant(program: &Command, args: &[OsString]) -> String {
    let (mut at, mut path) = (program, program.get_name().to_owned());
    let mut args = args.iter().skip(1);
    while let Some(arg) = args.next() {
        let arg = arg.to_string_lossy();
        if takes_the_next(at, program, &arg) {
            args.next();
        } else if let Some(sub) = at.find_subcommand(&*arg) {
            path = format!("{path} {}", sub.get_name());
            at = sub;
        } else if !arg.starts_with('-') {
            break;
        }
    }
    path
}

/// Whether an argument is an option whose value is the argument after it.
fn takes_the_next(at: &Command, program: &Command, arg: &str) -> bool {
    let Some(name) = arg.strip_prefix("--") else { return false };
    let all = at.get_arguments().chain(program.get_arguments());
    let mut named = all.filter(|option| option.get_long() == Some(name));
    named.any(|option| option.get_action().takes_values())
}

/// The program with its commands listed by what they are for.
pub(crate) fn grouped(command: Command) -> Command {
    let list = list(&command);
    // The parser's own list has no groups; everything else of its page stays.
    let page = format!(
        "{{about-with-newline}}\n{{usage-heading}} {{usage}}\n\n{list}Options:\n{{options}}{{after-help}}"
    );
    command.help_template(page)
}

fn list(command: &Command) -> String {
    let told = |name: &str| {
        let about = command.find_subcommand(name).and_then(Command::get_about);
        about.map(ToString::to_string).unwrap_or_default()
    };
    let mut text = String::new();
    for (group, names) in GROUPS {
        writeln!(text, "{group}:").expect("a String takes everything");
        for name in names {
            writeln!(text, "  {name:<NAMES$} {}", told(name)).expect("a String takes everything");
        }
        text.push('\n');
    }
    // A long line goes on below its description.
    Screen::of_stdout().wrapped(&text, NAMES + 1)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use clap::CommandFactory;

    use super::*;
    use crate::args::Cli;

    /// The mark of the examples in the help of a command.
    const EXAMPLES: &str = "Examples:";

    /// One example of a command.
    #[derive(Debug, Clone, PartialEq, Eq)]
    struct Example {
        /// What is typed.
        typed: String,
        /// What it does, where that is not plain.
        does: Option<String>,
    }

    /// The examples of a command, as they stand at the end of its help.
    fn examples(command: &Command) -> Vec<Example> {
        let help = command.get_after_help().map(ToString::to_string).unwrap_or_default();
        let Some((_, list)) = help.split_once(EXAMPLES) else { return Vec::new() };
        let lines = list.lines().map(str::trim).filter(|line| !line.is_empty());
        lines
            .map(|line| match line.split_once("   # ") {
                Some((typed, does)) => {
                    Example { typed: typed.trim().to_owned(), does: Some(does.trim().to_owned()) }
                }
                None => Example { typed: line.to_owned(), does: None },
            })
            .collect()
    }

    /// What is said before the examples: what has to be known of a command beyond its options.
    fn remarks(command: &Command) -> Option<String> {
        let help = command.get_after_help()?.to_string();
        let before = help.split(EXAMPLES).next().unwrap_or_default().trim();
        (!before.is_empty()).then(|| before.to_owned())
    }

    fn leaves(command: &Command, path: &str, found: &mut Vec<(String, Command)>) {
        for sub in command.get_subcommands().filter(|sub| !sub.is_hide_set()) {
            let path = format!("{path} {}", sub.get_name());
            // What can be asked without a subcommand is a command, too.
            if !sub.has_subcommands() || !sub.is_subcommand_required_set() {
                found.push((path.clone(), sub.clone()));
            }
            leaves(sub, &path, found);
        }
    }

    #[test]
    fn every_command_has_two_or_three_examples_and_the_parser_takes_them() {
        let mut all = Vec::new();
        leaves(&Cli::command(), "tenths", &mut all);
        assert!(all.len() > 60, "{}", all.len());
        for (path, command) in all {
            let examples = examples(&command);
            assert!((2..=3).contains(&examples.len()), "{path}: {examples:?}");
            for Example { typed, .. } in examples {
                let words = words(&typed);
                let parsed = Cli::command().try_get_matches_from(&words);
                assert!(parsed.is_ok(), "{typed}: {}", parsed.unwrap_err());
                let own: Vec<&str> = path.split(' ').skip(1).collect();
                let said: Vec<&str> = words.iter().map(String::as_str).collect();
                assert!(said.windows(own.len()).any(|some| some == own), "{path}: {typed}");
            }
        }
    }

    /// The words of a line as a shell gives them, up to a redirection or a pipe.
    fn words(line: &str) -> Vec<String> {
        let mut words = vec![String::new()];
        let mut quoted = false;
        for c in line.chars() {
            match c {
                '"' => quoted = !quoted,
                '>' | '|' if !quoted => break,
                ' ' if !quoted => words.push(String::new()),
                c => words.last_mut().unwrap().push(c),
            }
        }
        words.retain(|word| !word.is_empty());
        words
    }

    #[test]
    fn the_help_that_is_named_is_that_of_the_command() {
        let named = |line: &str| {
            let args: Vec<OsString> = line.split(' ').map(OsString::from).collect();
            meant(&Cli::command(), &args)
        };
        assert_eq!(named("tenths"), "tenths");
        assert_eq!(named("tenths opne"), "tenths");
        assert_eq!(named("tenths job open"), "tenths job open");
        assert_eq!(named("tenths --json --config job measure --what"), "tenths measure");
        assert_eq!(named("tenths job --station next opne next"), "tenths job");
        assert_eq!(named("tenths job show next"), "tenths job show");
    }

    #[test]
    fn every_command_is_listed_once() {
        let listed: Vec<&str> =
            GROUPS.iter().flat_map(|(_, names)| names.iter().copied()).collect();
        let set: BTreeSet<&str> = listed.iter().copied().collect();
        assert_eq!(listed.len(), set.len());
        let command = Cli::command();
        let there: BTreeSet<&str> = command
            .get_subcommands()
            .filter(|sub| !sub.is_hide_set())
            .map(Command::get_name)
            .collect();
        assert_eq!(set, there);
    }

    #[test]
    fn remarks_stand_before_the_examples() {
        let command = Cli::command();
        let import = command.find_subcommand("import").unwrap();
        assert_eq!(remarks(import).as_deref(), Some("The service must be stopped."));
        assert_eq!(examples(import)[0].typed, "tenths import J-1042");
        let status = command.find_subcommand("status").unwrap();
        assert_eq!(remarks(status), None);
    }
}
