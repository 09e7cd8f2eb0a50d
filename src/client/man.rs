//! `man`: the manual page, followed by those of all commands.

use super::failure::Failure;
use super::screen;

pub(crate) fn run(mut command: clap::Command) -> Result<u8, Failure> {
    command.build();
    let mut pages = Vec::new();
    render(&command, &mut pages)?;
    screen::text(&String::from_utf8_lossy(&pages))?;
    Ok(0)
}

fn render(command: &clap::Command, pages: &mut Vec<u8>) -> std::io::Result<()> {
    clap_mangen::Man::new(command.clone()).render(pages)?;
    command.get_subcommands().try_for_each(|command| render(command, pages))
}
