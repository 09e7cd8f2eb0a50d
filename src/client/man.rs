//! `man`: the manual, a page for each command, made of what `--help` says and of what a command works with.

mod manners;
mod page;
#[cfg(test)]
mod tests;

use std::fs;
use std::io::{self, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use clap::Args;

use super::failure::{Failure, REFUSED, UNREACHABLE};
use super::screen;
use wire::printable;

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths man job open
  tenths man status | less
  tenths man --out /usr/local/share/man/man1")]
pub(crate) struct ManArgs {
    /// The command whose page is wanted; if left out, the page of the program
    #[arg(value_name = "COMMAND")]
    command: Vec<String>,
    /// Write the pages of all commands into this folder
    #[arg(long, value_name = "FOLDER", conflicts_with = "command")]
    out: Option<PathBuf>,
}

pub(crate) fn run(mut program: clap::Command, args: &ManArgs) -> Result<u8, Failure> {
    program.build();
    if let Some(folder) = &args.out {
        let count = written(&program, folder).map_err(|error| {
            let text = format!("cannot write the pages into {}: {error}", folder.display());
            Failure::new(UNREACHABLE, text, "name a folder that you may write to")
        })?;
        let folder = printable(&folder.to_string_lossy());
        screen::line(&format!("{count} pages are written into {folder}."))?;
        return Ok(0);
    }
    let page = page::of(found(&program, &args.command)?)?;
    if !io::stdout().is_terminal() || !set_for_reading(&page) {
        screen::text(&String::from_utf8_lossy(&page))?;
    }
    Ok(0)
}

/// The command that these words name.
fn found<'a>(program: &'a clap::Command, words: &[String]) -> Result<&'a clap::Command, Failure> {
    words.iter().try_fold(program, |command, word| {
        command.find_subcommand(word).ok_or_else(|| {
            let (all, name) = (words.join(" "), command.get_bin_name().unwrap_or("tenths"));
            let text = format!("there is no command `{all}`, so there is no page of it");
            Failure::new(REFUSED, text, format!("see all of them with: {name} --help"))
        })
    })
}

/// Writes a page for each command, and says how many those are.
fn written(command: &clap::Command, folder: &Path) -> io::Result<usize> {
    fs::create_dir_all(folder)?;
    let own = page::of(command)?;
    fs::write(folder.join(page::file_name(command)), own)?;
    let below = command.get_subcommands().filter(|command| !command.is_hide_set());
    below.map(|command| written(command, folder)).try_fold(1, |sum, count| Ok(sum + count?))
}

/// Lets the machine's own reader of manuals show a page at the terminal; false where there is none.
fn set_for_reading(page: &[u8]) -> bool {
    let reader = Command::new("man").args(["-l", "-"]).stdin(Stdio::piped()).spawn();
    let Ok(mut reader) = reader else { return false };
    // A reader that is left early does not take the whole page.
    let given = reader.stdin.take().map(|mut to| to.write_all(page));
    drop(given);
    reader.wait().is_ok_and(|status| status.success())
}
