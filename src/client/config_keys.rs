//! `config keys`: every key of the files that people write, and what it is for.

use clap::Args;

use ::bench::plan::keys::About;
use config::keys::{Section, sections};
use wire::key_line;

use super::failure::{Failure, REFUSED};
use super::global::Global;
use super::screen::{self, Screen};

/// Which keys.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  tenths config keys\n  tenths config keys gauge\n  tenths config keys parallelism check touched"
)]
pub(crate) struct KeysArgs {
    /// The tables: bench, gauge, plan, check, a kind of check, …; without one their names
    tables: Vec<String>,
}

/// How far a description is moved to the right.
const INDENT: &str = "    ";

pub(crate) fn run(global: &Global, args: &KeysArgs) -> Result<u8, Failure> {
    let all = sections();
    let mut wanted = Vec::new();
    for word in &args.tables {
        wanted.push(all.iter().find(|section| section.word == word).ok_or_else(|| {
            let words: Vec<&str> = all.iter().map(|section| section.word).collect();
            let hint = format!("there are {}", words.join(", "));
            Failure::new(REFUSED, format!("no table of keys is called {word}"), hint)
        })?);
    }
    if global.json {
        let sections = if wanted.is_empty() { all.iter().collect() } else { wanted };
        for section in sections {
            for about in &section.keys {
                screen::line(&key_line(section, about))?;
            }
        }
    } else if wanted.is_empty() {
        names(all)?;
    } else {
        let to = Screen::of_stdout();
        for section in wanted {
            screen::text(&to.wrapped(&told(section), 0))?;
        }
    }
    Ok(0)
}

fn names(all: &[Section]) -> Result<(), Failure> {
    let widest = all.iter().map(|section| section.word.len()).max().unwrap_or_default();
    for section in all {
        screen::line(&format!("{:<widest$}  {}", section.word, section.is))?;
    }
    Ok(())
}

fn told(section: &Section) -> String {
    let head = if section.head.is_empty() { section.word } else { section.head };
    let one = |about: &About| {
        let left_out = match about.left_out {
            "" => String::new(),
            left_out if left_out.starts_with("must") => format!(" ({left_out})"),
            left_out => format!(" Left out: {left_out}."),
        };
        let says = format!("{}.{left_out}", about.says).replace('`', "");
        format!("\n{}\n{INDENT}{says}\n", about.key)
    };
    let keys: String = section.keys.iter().map(one).collect();
    format!("{head}: {}\n{keys}\n", section.is)
}
