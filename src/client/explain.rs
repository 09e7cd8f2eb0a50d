//! `explain`: what a word of an alert, a verdict or a plan means, and what to do. Works without anything.

use clap::Args;

use ::bench::words::{Explained, explained};
use wire::explained_line;

use super::failure::{Failure, REFUSED};
use super::global::Global;
use super::screen;

/// The words of the trade and of this program, a table each: `| word, word | means |`.
const WORDS: &str = include_str!("../../docs/words.md");

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
    let of_the_trade = args.word.as_deref().and_then(of_the_trade);
    if let Some((word, means)) = of_the_trade.filter(|_| found.is_empty() && !global.json) {
        screen::sentence(&format!("{word}: {means}").replace('`', ""))?;
        return Ok(0);
    }
    if found.is_empty() {
        let word = args.word.as_deref().unwrap_or_default();
        let text = format!("there is nothing to say about {word:?}");
        return Err(Failure::new(REFUSED, text, "tenths explain lists the words there are"));
    }
    for (at, one) in found.iter().enumerate() {
        // What helps is said once, behind the last of those it helps with.
        let again = found[at + 1..].iter().any(|other| other.remedy == one.remedy);
        if global.json {
            screen::line(&explained_line(one))?;
        } else if args.word.is_none() {
            screen::line(&format!("{:<22} {}", one.word, one.of.text()))?;
        } else {
            screen::told(&told(one, again))?;
        }
    }
    Ok(0)
}

fn told(one: &Explained, again: bool) -> String {
    let remedy =
        one.remedy.filter(|_| !again).map_or_else(String::new, |remedy| format!("\n{remedy}\n"));
    format!("{} ({}): {}\n{remedy}\n", one.word, one.of.text(), one.means).replace('`', "")
}

/// A word of the guide, with what it means.
fn of_the_trade(word: &str) -> Option<(&'static str, &'static str)> {
    let rows = WORDS.lines().filter_map(|line| {
        let mut cells = line.strip_prefix('|')?.strip_suffix('|')?.splitn(2, '|').map(str::trim);
        Some((cells.next()?, cells.next()?))
    });
    let is_meant = |words: &str| words.split(", ").any(|one| one.eq_ignore_ascii_case(word.trim()));
    rows.into_iter()
        .find(|(words, _)| *words != "word" && !words.starts_with("--") && is_meant(words))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_of_the_guide_is_explained() {
        for (word, has) in [
            ("assumed", "from where U is known"),
            ("u", "standard uncertainty"),
            ("CLOSURE", "position 0 touched again"),
            ("end float", "push and a pull"),
            ("guarded", "on both sides of the limit"),
        ] {
            let (_, means) = of_the_trade(word).unwrap_or_else(|| panic!("{word}"));
            assert!(means.contains(has), "{word}: {means}");
        }
        for word in ["word", "---", "", "spindles"] {
            assert_eq!(of_the_trade(word), None, "{word:?}");
        }
    }
}
