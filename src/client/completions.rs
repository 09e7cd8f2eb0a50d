//! `completions`: what a shell needs to complete the commands.

use clap::CommandFactory;

use super::args::{Cli, CompletionsArgs};
use super::failure::Failure;
use super::screen;

#[expect(clippy::needless_pass_by_value, reason = "every command takes its arguments")]
pub(crate) fn run(args: CompletionsArgs) -> Result<u8, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Cli::command(), "tenths", &mut script);
    screen::text(&String::from_utf8_lossy(&script))?;
    Ok(0)
}
