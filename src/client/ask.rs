//! Questions to a person at a terminal: asked on stderr, answered on stdin, one line each.

use std::io::{self, BufRead, IsTerminal, Read};

use super::failure::{Failure, REFUSED};
use super::screen;

/// The longest answer that is read, in bytes: a line without an end must not fill the memory.
const LONGEST: u64 = 8192;

/// Whether somebody is there to answer.
pub(crate) fn is_attended() -> bool {
    io::stdin().is_terminal() && io::stderr().is_terminal()
}

/// Asks until an answer is fit; an empty one means the usual answer, where there is one.
///
/// `fit` gives the answer as it is used, or what is wrong with it.
pub(crate) fn ask<T>(
    question: &str,
    usual: Option<&str>,
    fit: impl Fn(&str) -> Result<T, String>,
) -> Result<T, Failure> {
    loop {
        let shown = usual.map_or_else(String::new, |usual| format!(" [{usual}]"));
        screen::say(&format!("{question}{shown} "));
        let mut line = Vec::new();
        let read = io::stdin().lock().take(LONGEST).read_until(b'\n', &mut line);
        let line = String::from_utf8_lossy(&line);
        if !matches!(read, Ok(1..)) {
            screen::say("\n");
            let hint = "nothing was written; begin again when you like";
            return Err(Failure::new(REFUSED, "the question was not answered".to_owned(), hint));
        }
        let said = Some(line.trim()).filter(|said| !said.is_empty()).or(usual).unwrap_or("");
        match fit(said) {
            Ok(answer) => return Ok(answer),
            Err(wrong) => screen::say(&format!("  {wrong}\n")),
        }
    }
}

/// Any text that is not empty.
pub(crate) fn text(said: &str) -> Result<String, String> {
    if said.is_empty() { Err("an answer is needed".to_owned()) } else { Ok(said.to_owned()) }
}

/// One of some words.
pub(crate) fn one_of(
    words: &'static [&'static str],
) -> impl Fn(&str) -> Result<&'static str, String> {
    move |said| {
        let found = words.iter().find(|word| word.eq_ignore_ascii_case(said));
        found.copied().ok_or_else(|| format!("answer {}", words.join(" or ")))
    }
}

/// What has to be said by an option where nobody is there to be asked.
pub(crate) fn unsaid(option: &str) -> Failure {
    let hint = "on a terminal it is asked";
    Failure::new(REFUSED, format!("say {option}: nobody is here to be asked"), hint)
}
