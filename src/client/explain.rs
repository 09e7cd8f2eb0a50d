//! `explain`: what a word of an alert, a verdict or a plan means, and what to do. Works without anything.

use clap::Args;

use ::bench::words::{Explained, explained};
use wire::explained_line;

use super::failure::{Failure, REFUSED};
use super::global::Global;
use super::screen::{self, Screen};

/// Which word.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  tenths explain not-closed\n  tenths explain ground\n  tenths explain"
)]
pub(crate) struct ExplainArgs {
    /// The word, as it stands in a reply, an alert or a table; without one the words there are
    word: Option<String>,
}

pub(crate) fn run(global: &Global, args: &ExplainArgs) -> Result<u8, Failure> {
    let all = explained();
    let found: Vec<&Explained> = match &args.word {
        Some(word) => {
            let word = word.trim().to_lowercase().replace([' ', '_'], "-");
            all.iter().filter(|one| one.word == word).collect()
        }
        None => all.iter().collect(),
    };
    if found.is_empty() {
        let word = args.word.as_deref().unwrap_or_default();
        let hint = "tenths explain lists the words there are; docs/words.md has those of the trade";
        return Err(Failure::new(REFUSED, format!("there is nothing to say about {word:?}"), hint));
    }
    let width = Screen::of_stdout().width.unwrap_or(100).max(20);
    for one in found {
        if global.json {
            screen::line(&explained_line(one))?;
        } else if args.word.is_none() {
            screen::line(&format!("{:<22} {}", one.word, one.of.text()))?;
        } else {
            screen::text(&told(one, width))?;
        }
    }
    Ok(0)
}

fn told(one: &Explained, width: usize) -> String {
    let remedy = one.remedy.map_or_else(String::new, |remedy| format!("\n{remedy}\n"));
    let text = format!("{} ({}): {}\n{remedy}\n", one.word, one.of.text(), one.means);
    textwrap::fill(&text.replace('`', ""), width)
}
