//! The commands, one file each: what is typed, what is asked of the service, what is printed.
//!
//! What is absent: anything that the service has to do. Data goes to stdout and messages to stderr, and nothing from
//! outside reaches a terminal without escaping.

mod ack;
mod alerts;
mod annex;
mod args;
mod ask;
mod attach;
mod attachments;
mod backup;
mod bench;
mod budget;
mod bundle;
mod change;
mod checked;
mod chosen;
mod completions;
mod config_check;
mod config_keys;
mod confirm;
mod decide;
mod demo;
mod doctor;
mod enter;
mod evaluate;
mod explain;
mod export;
mod failure;
mod forward;
mod gauge;
mod global;
mod help;
mod import;
mod init;
mod input;
mod job;
mod key;
mod login;
mod man;
mod master;
mod measure;
mod moment;
mod new_file;
mod next;
mod note;
mod page;
mod person;
mod pictures;
mod plan;
mod practice;
mod progress;
mod prove;
mod query;
mod readings;
mod record;
mod register;
mod reload;
mod remeasure;
mod replace;
mod report;
mod restore;
mod run_in;
mod screen;
mod serve;
mod sheet;
mod shop;
mod sign;
mod skip;
mod socket;
mod sought;
mod sound;
mod stack;
mod status;
mod study;
mod tail;
mod take;
mod unreadable;
mod verdict_words;
mod verdicts;
mod verify;
mod void;
mod watch;
mod whole_shop;

#[cfg(test)]
mod tests;

use std::ffi::OsString;

use clap::error::ErrorKind;
use clap::{CommandFactory, FromArgMatches};

use args::{Cli, Command};
use config_check::ConfigCommand;
use failure::{About, Failure, Told};
use global::Global;

/// Every command with its arguments, for the pages that are made of them.
#[must_use]
pub fn commands() -> clap::Command {
    Cli::command()
}

/// Runs a command line, which begins with the program's name, and returns the exit code: 0 done, 1 the answer is no,
/// 2 usage, configuration or refused input, 3 service or database not reachable.
pub fn run(args: impl IntoIterator<Item = OsString>) -> u8 {
    let args: Vec<OsString> = args.into_iter().collect();
    if let Some(answered) = completions::asked(&Cli::command(), &args) {
        return answered.unwrap_or(failure::UNREACHABLE);
    }
    // What stands behind `--` is a value.
    let for_script = args.iter().take_while(|arg| *arg != "--").any(|arg| arg == "--json");
    let outcome = match parsed(args::with_negative_values(args.clone())) {
        Ok(Cli { global, command }) => self::command(&global, command)
            .map_err(|failure| failure.looked_for(|| bench::went_by(&global))),
        Err(error) => usage(&error, &args, for_script),
    };
    match outcome {
        Ok(exit) => exit,
        Err(Failure::ClosedPipe) => 0,
        Err(Failure::Told(told)) => {
            screen::say(&if for_script { told.line() } else { told.to_string() });
            told.exit
        }
    }
}

/// The arguments as a command; the help lists commands by what they are for.
fn parsed(args: Vec<OsString>) -> Result<Cli, clap::Error> {
    let mut program = help::grouped(Cli::command());
    let mut matches = program.try_get_matches_from_mut(args)?;
    Cli::from_arg_matches_mut(&mut matches).map_err(|error| error.format(&mut program))
}

/// Prints help, version, or what is wrong with the arguments.
fn usage(error: &clap::Error, args: &[OsString], for_script: bool) -> Result<u8, Failure> {
    let missing = error.kind() == ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand;
    let wanted = [ErrorKind::DisplayHelp, ErrorKind::DisplayVersion];
    if wanted.contains(&error.kind()) || missing && !for_script {
        // If nobody reads the help, there is nobody to report that to.
        drop(error.print());
        return Ok(u8::try_from(error.exit_code()).unwrap_or(failure::REFUSED));
    }
    let rendered = error.render().to_string();
    let text = if missing { "a command is missing".to_owned() } else { usage_text(&rendered) };
    Err(Failure::Told(Told {
        exit: failure::REFUSED,
        text,
        hint: Some(format!("see {} --help", help::meant(&Cli::command(), args))),
        about: About::Usage,
    }))
}

/// The parser's message without the parts that every error of this program has anyway.
fn usage_text(rendered: &str) -> String {
    let text = rendered.strip_prefix("error: ").unwrap_or(rendered);
    let lines = text.lines().filter(|line| !line.is_empty() && !line.contains("--help"));
    lines.collect::<Vec<_>>().join("\n")
}

/// The name of a command that uses neither record nor service and so cannot take a state folder.
fn needs_the_file(command: &Command) -> Option<&'static str> {
    let those = [
        (matches!(command, Command::Init(_)), "init"),
        (matches!(command, Command::Serve(_)), "serve"),
        (matches!(command, Command::Forward), "forward"),
        (matches!(command, Command::Demo(_)), "demo"),
        (matches!(command, Command::Shop(_)), "shop"),
        (matches!(command, Command::Practice(_)), "practice"),
        (matches!(command, Command::Config(_)), "config check"),
        (matches!(command, Command::Gauge(_)), "gauge"),
        (matches!(command, Command::Plan(_)), "plan"),
    ];
    those.into_iter().find_map(|(is, name)| is.then_some(name))
}

fn command(global: &Global, command: Command) -> Result<u8, Failure> {
    if let Some(what) = global.state_folder.is_some().then(|| needs_the_file(&command)).flatten() {
        let text = format!("`{what}` takes no --state-folder: it needs the configuration file");
        let hint = "name the file with --config FILE; its line state = \"…\" under [bench] says where the record is";
        return Err(Failure::new(failure::REFUSED, text, hint));
    }
    match command {
        Command::Init(args) => init::run(global, &args),
        Command::Serve(args) => serve::run(global, &args),
        Command::Forward => forward::run(global),
        Command::Demo(demo) => demo.run(),
        Command::Practice(args) => practice::run(&args),
        Command::Config(ConfigCommand::Check) => config_check::run(global),
        Command::Config(ConfigCommand::Keys(args)) => config_keys::run(global, &args),
        Command::Explain(args) => explain::run(global, &args),
        Command::Doctor => doctor::run(global),
        Command::Reload => reload::run(global),
        Command::Status => status::run(global),
        Command::Job(command) => job::run(global, command),
        Command::Measure(args) => measure::run(global, args),
        Command::Remeasure(args) => remeasure::run(global, args),
        Command::Next(asking) => next::run(global, asking),
        Command::Confirm(args) => confirm::run(global, args),
        Command::Record(args) => record::run(global, args),
        Command::RunIn(command) => run_in::run(global, command),
        Command::Stack(command) => stack::run(global, command),
        Command::Replace(args) => replace::run(global, args),
        Command::Enter(args) => enter::run(global, args),
        Command::Take(asking) => take::run(global, asking),
        Command::Void(args) => void::run(global, args),
        Command::Skip(args) => skip::run(global, args),
        Command::Master(args) => master::run(global, args),
        Command::Note(args) => note::run(global, args),
        Command::Attach(args) => attach::run(global, args),
        Command::Attachments(args) => attachments::run(global, &args),
        Command::Person(args) => person::run(global, args),
        Command::Prove(args) => prove::run(global, args),
        Command::Register(args) => register::run(global, args),
        Command::Checked(args) => checked::run(global, args),
        Command::Sign(args) => sign::run(global, args),
        Command::Decide(args) => decide::run(global, args),
        Command::Serial(args) => decide::serial(global, args),
        Command::Ack(args) => ack::run(global, args),
        Command::Tail(args) => tail::run(global, args),
        Command::Watch(args) => watch::run(global, args),
        Command::Page(args) => page::run(global, &args),
        Command::Readings(args) => readings::run(global, &args),
        Command::Verdicts(args) => verdicts::run(global, &args),
        Command::Budget(args) => budget::run(global, &args),
        Command::Alerts(args) => alerts::run(global, &args),
        Command::Report(args) => report::run(global, &args),
        Command::Evaluate(args) => args.run(global),
        Command::Study(args) => study::run(global, &args),
        Command::Sheet(args) => sheet::run(global, &args),
        Command::Shop(command) => shop::run(global, &command),
        Command::Plan(command) => plan::run(global, command),
        Command::Gauge(command) => gauge::run(global, command),
        Command::Export(args) => export::run(global, &args),
        Command::Import(args) => import::run(global, &args),
        Command::Restore(args) => restore::run(global, &args),
        Command::Backup(args) => backup::run(global, &args),
        Command::Verify(args) => verify::run(global, &args),
        Command::Completions(args) => completions::run(&args),
        Command::Pictures(args) => pictures::run(&args),
        Command::Man(args) => man::run(Cli::command(), &args),
    }
}
