//! `completions`: the script with which a shell asks this program what may come next; and the answers: commands, options,
//! and the jobs, parts, plans, gauges, stations and words that there are at the moment of the key.
//!
//! Nothing is printed but candidates: whatever cannot be read has none.

use std::ffi::OsString;
use std::sync::Arc;

use clap::{Arg, Args, Command};
use clap_complete::engine::{ArgValueCandidates, CompletionCandidate};
use clap_complete::env::Shells;

use ::bench::row::AlertKind;
use ::record::Filter;
use judgement::Word;

use super::failure::{Failure, UNREACHABLE};
use super::global::Global;
use super::{bench, screen, socket};

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths completions bash > ~/.local/share/bash-completion/completions/tenths
  tenths completions zsh > ~/.zfunc/_tenths
  tenths completions fish > ~/.config/fish/completions/tenths.fish")]
pub(crate) struct CompletionsArgs {
    /// The shell
    pub(crate) shell: clap_complete::Shell,
}

/// The variable with which the script of a shell asks for candidates; it holds the name of the shell.
const ASKED_BY: &str = "TENTHS_COMPLETE";

/// At most so many jobs are offered, the newest.
const JOBS: usize = 100;

/// Prints the script of a shell.
pub(crate) fn run(args: &CompletionsArgs) -> Result<u8, Failure> {
    let (shells, shell) = (Shells::builtins(), args.shell.to_string());
    let mut script = Vec::new();
    if let Some(shell) = shells.completer(&shell) {
        shell.write_registration(ASKED_BY, "tenths", "tenths", "tenths", &mut script)?;
    }
    screen::text(&String::from_utf8_lossy(&script))?;
    Ok(0)
}

/// Answers a shell that asks what may come next, where one does: the exit code.
pub(crate) fn asked(program: &Command, args: &[OsString]) -> Option<Result<u8, Failure>> {
    let shell = std::env::var(ASKED_BY).ok().filter(|shell| !shell.is_empty())?;
    let typed = args.iter().skip_while(|arg| *arg != "--").skip(1).cloned().collect();
    Some(answered(program.clone(), &shell, typed))
}

fn answered(program: Command, shell: &str, typed: Vec<OsString>) -> Result<u8, Failure> {
    let shells = Shells::builtins();
    let unknown = || Failure::plain(UNREACHABLE, format!("the shell {shell:?} is not known"));
    let completer = shells.completer(shell).ok_or_else(unknown)?;
    let source = Arc::new(Source { global: named_in(&typed), escaped: shell == "bash" });
    let mut program = with_candidates(program, &source);
    let here = std::env::current_dir().ok();
    let mut found = Vec::new();
    completer.write_complete(&mut program, typed, here.as_deref(), &mut found)?;
    screen::text(&String::from_utf8_lossy(&found))?;
    Ok(0)
}

/// The bench that the words typed so far are about.
fn named_in(typed: &[OsString]) -> Global {
    let after = |option: &str| {
        let at = typed.iter().position(|word| word == option)?;
        typed.get(at + 1).map(Into::into)
    };
    Global { config: after("--config"), state_folder: after("--state-folder"), json: true }
}

/// What may stand for an argument.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Offered {
    Jobs,
    /// `PART/CHECK` of the job in use.
    Targets,
    Parts,
    Plans,
    Gauges,
    Stations,
    People,
    Verdicts,
    Alerts,
}

/// What an argument of a command takes; `path` is the command without the program.
fn offered(path: &str, arg: &Arg) -> Option<Offered> {
    let of_a_job = path.starts_with("job ") && path != "job open";
    Some(match arg.get_id().as_str() {
        "job" | "jobs" => Offered::Jobs,
        "name" if of_a_job => Offered::Jobs,
        "target" | "to" | "check" => Offered::Targets,
        "part" => Offered::Parts,
        "plan" => Offered::Plans,
        "name" if path == "plan show" => Offered::Plans,
        "gauge" => Offered::Gauges,
        "name" if path == "register gauge" => Offered::Gauges,
        "station" => Offered::Stations,
        "by" => Offered::People,
        "name" if path == "person" => Offered::People,
        "verdict" if path != "budget" => Offered::Verdicts,
        "kind" => Offered::Alerts,
        _ => return None,
    })
}

/// The program with candidates at each argument that has some.
fn with_candidates(program: Command, source: &Arc<Source>) -> Command {
    at_each(program, "", source)
}

fn at_each(command: Command, path: &str, source: &Arc<Source>) -> Command {
    let own = path.to_owned();
    let command = command.mut_args(|arg| match offered(&own, &arg) {
        Some(offered) => {
            let source = Arc::clone(source);
            arg.add(ArgValueCandidates::new(move || source.candidates(offered)))
        }
        None => arg,
    });
    command.mut_subcommands(|sub| {
        let path = format!("{path} {}", sub.get_name()).trim_start().to_owned();
        at_each(sub, &path, source)
    })
}

/// Where candidates come from.
struct Source {
    global: Global,
    /// Whether the shell takes what it gets as typed, so that blanks have to be escaped.
    escaped: bool,
}

impl Source {
    fn candidates(&self, offered: Offered) -> Vec<CompletionCandidate> {
        let found = match offered {
            Offered::Jobs => self.jobs(),
            Offered::Targets => self.checks(|part, check| format!("{part}/{check}")),
            Offered::Parts => {
                let mut parts = self.checks(|part, _| part.to_owned());
                parts.dedup();
                parts
            }
            Offered::Plans => self.loaded(|loaded| names(loaded.bench.plans.keys())),
            Offered::Gauges => self.loaded(|loaded| names(loaded.bench.gauges.keys())),
            Offered::Stations => {
                self.loaded(|loaded| names(loaded.bench.stations.iter().map(|one| &one.name)))
            }
            Offered::People => self.loaded(|loaded| names(&loaded.bench.people)),
            Offered::Verdicts => Word::ALL.map(|word| word.text().to_owned()).to_vec(),
            Offered::Alerts => AlertKind::ALL.map(|kind| kind.text().to_owned()).to_vec(),
        };
        // A name that could steer a terminal is typed by nobody.
        let plain = found.into_iter().filter(|name| !name.chars().any(char::is_control));
        let candidate = |(order, name): (usize, String)| {
            let typed = if self.escaped { escaped(&name) } else { name };
            CompletionCandidate::new(typed).display_order(Some(order))
        };
        plain.enumerate().map(candidate).collect()
    }

    fn loaded(&self, names: impl Fn(&config::Loaded) -> Vec<String>) -> Vec<String> {
        bench::loaded(&self.global).map(|loaded| names(&loaded)).unwrap_or_default()
    }

    /// The jobs, the newest first.
    fn jobs(&self) -> Vec<String> {
        let Ok((record, _)) = bench::record(&self.global) else { return Vec::new() };
        let filter = Filter { last: Some(JOBS), ..Filter::default() };
        let found = record.jobs_found(&filter).unwrap_or_default();
        found.iter().rev().map(|job| job.name.to_string()).collect()
    }

    /// The checks of the job in use, in the order of its plan; of the newest job where none is.
    fn checks(&self, shown: impl Fn(&str, &str) -> String) -> Vec<String> {
        let Ok((record, _)) = bench::record(&self.global) else { return Vec::new() };
        let job = self.job_in_use().or_else(|| self.jobs().into_iter().next());
        let Some(job) = job.and_then(|job| record.job(&job).ok()) else { return Vec::new() };
        let parts = job.plan.plan.parts.iter();
        let each = parts.flat_map(|part| part.checks.iter().map(move |check| (part, check)));
        each.map(|(part, check)| shown(part.name.as_str(), check.name.as_str())).collect()
    }

    /// The job that some station works on.
    fn job_in_use(&self) -> Option<String> {
        let path = bench::socket(&self.global).ok()?;
        let status = socket::status(&path).ok()?;
        status.stations.into_iter().find_map(|station| station.job)
    }
}

fn names<'n>(all: impl IntoIterator<Item = &'n quantity::Name>) -> Vec<String> {
    all.into_iter().map(ToString::to_string).collect()
}

/// A word as it is typed in a shell that takes it as it is.
fn escaped(name: &str) -> String {
    let plain = |letter: char| letter.is_alphanumeric() || "/._-+:@%,=".contains(letter);
    let mut typed = String::new();
    for letter in name.chars() {
        if !plain(letter) {
            typed.push('\\');
        }
        typed.push(letter);
    }
    typed
}
