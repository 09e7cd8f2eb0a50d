//! `completions`: the script with which a shell completes the commands.

use clap::Args;

use super::failure::Failure;
use super::screen;

#[derive(Debug, Args)]
#[command(after_help = "Examples:
  tenths completions bash > ~/.local/share/bash-completion/completions/tenths
  tenths completions zsh > ~/.zfunc/_tenths
  tenths completions fish > ~/.config/fish/completions/tenths.fish")]
pub(crate) struct CompletionsArgs {
    /// The shell
    pub(crate) shell: clap_complete::Shell,
}

pub(crate) fn run(command: &clap::Command, args: &CompletionsArgs) -> Result<u8, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut command.clone(), "tenths", &mut script);
    screen::text(&String::from_utf8_lossy(&script))?;
    Ok(0)
}
