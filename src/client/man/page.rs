//! A page of the manual: what the parser knows of a command, its examples, and what it works with.

use std::io;

use clap_mangen::Man;
use clap_mangen::roff::{Roff, bold, roman};

use super::manners::{self, Manners};

/// The section of the manual for commands that people type.
const SECTION: &str = "1";

/// Behind every option that a command has for itself.
const LAST: usize = 900;

/// The name of a page: `tenths-job-open`.
fn name(command: &clap::Command) -> &str {
    command.get_display_name().unwrap_or_else(|| command.get_name())
}

/// The name of its file.
pub(super) fn file_name(command: &clap::Command) -> String {
    format!("{}.{SECTION}", name(command))
}

/// The page of a command, as a reader of manuals takes it.
pub(super) fn of(command: &clap::Command) -> io::Result<Vec<u8>> {
    let program = format!("tenths {}", env!("CARGO_PKG_VERSION"));
    // Options of all commands come last. A date would differ from build to build; it is left blank, since what
    // comes after it counts by its place.
    let last = |arg: clap::Arg| if arg.is_global_set() { arg.display_order(LAST) } else { arg };
    let man = Man::new(command.clone().mut_args(last)).date(" ").source(program).manual("tenths");
    let help = command.get_after_long_help().or_else(|| command.get_after_help());
    let help = Help::read(&help.map(ToString::to_string).unwrap_or_default());
    let mut page = Vec::new();
    man.render_title(&mut page)?;
    man.render_name_section(&mut page)?;
    man.render_synopsis_section(&mut page)?;
    man.render_description_section(&mut page)?;
    paragraphs(&help.notes).to_writer(&mut page)?;
    man.render_options_section(&mut page)?;
    if command.get_subcommands().any(|command| !command.is_hide_set()) {
        man.render_subcommands_section(&mut page)?;
    }
    if !help.examples.is_empty() {
        examples(&help.examples).to_writer(&mut page)?;
    }
    ends(command).to_writer(&mut page)?;
    Ok(page)
}

/// What `--help` says below the options.
struct Help {
    /// Remarks, a paragraph each.
    notes: Vec<String>,
    /// Examples, a line each.
    examples: Vec<String>,
}

impl Help {
    /// Takes it apart: what stands below "Examples:" or behind "Example:" is an example, up to an empty line.
    fn read(text: &str) -> Self {
        let (mut notes, mut examples) = (vec![String::new()], Vec::new());
        let mut of_examples = false;
        for line in text.lines() {
            if line.trim().is_empty() {
                of_examples = false;
                notes.push(String::new());
                continue;
            }
            // A remark may come before it on the same line.
            let cut = ["Examples:", "Example:"]
                .iter()
                .find_map(|word| line.split_once(word).filter(|_| !of_examples));
            let (note, example) = match cut {
                Some((note, example)) => {
                    of_examples = true;
                    (note, example)
                }
                None if of_examples => ("", line),
                None => (line, ""),
            };
            if !note.trim().is_empty() {
                let last = notes.last_mut().expect("it begins with one");
                if !last.is_empty() {
                    last.push(' ');
                }
                last.push_str(note.trim());
            }
            if !example.trim().is_empty() {
                examples.push(example.trim().to_owned());
            }
        }
        notes.retain(|note| !note.is_empty());
        Self { notes, examples }
    }
}

fn paragraphs(notes: &[String]) -> Roff {
    let mut roff = Roff::new();
    for note in notes {
        roff.control("PP", []);
        roff.text([roman(note)]);
    }
    roff
}

/// Examples stand as they are typed: nothing is filled, nothing is broken between words.
fn examples(all: &[String]) -> Roff {
    let mut roff = Roff::new();
    roff.control("SH", ["EXAMPLES"]);
    roff.control("nf", []);
    for example in all {
        roff.text([bold(example)]);
    }
    roff.control("fi", []);
    roff
}

/// What the command works with, how it ends, and where to read on.
fn ends(command: &clap::Command) -> Roff {
    let words = command.get_bin_name().unwrap_or_default();
    let words = words.strip_prefix("tenths").unwrap_or(words).trim();
    let Manners { files, environment, exits } = manners::of(words);
    let mut roff = Roff::new();
    list(&mut roff, "FILES", &files);
    list(&mut roff, "ENVIRONMENT", &environment);
    list(&mut roff, "EXIT STATUS", &exits);
    roff.control("SH", ["SEE ALSO"]);
    roff.text([roman(see_also(command))]);
    roff
}

fn list(roff: &mut Roff, heading: &str, all: &[(&str, String)]) {
    roff.control("SH", [heading]);
    if all.is_empty() {
        roff.text([roman("None.")]);
    }
    for (what, text) in all {
        roff.control("TP", []);
        roff.text([bold(*what)]);
        roff.text([roman(text)]);
    }
}

/// The pages of the program and of the command above this one, and the guides.
fn see_also(command: &clap::Command) -> String {
    let words: Vec<&str> = command.get_bin_name().unwrap_or_default().split(' ').collect();
    let above = (1..words.len()).map(|count| format!("{}({SECTION})", words[..count].join("-")));
    let guides = "the guides in /usr/share/doc/tenths".to_owned();
    above.chain([guides]).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn remarks_and_examples_are_told_apart() {
        let help = Help::read("The service must be stopped. Example: tenths restore monday.db");
        assert_eq!(help.notes, ["The service must be stopped."]);
        assert_eq!(help.examples, ["tenths restore monday.db"]);
        let help = Help::read(
            "A remark\nof two lines.\n\nExamples:\n  tenths a\n  tenths b   c\n\nAnother.",
        );
        assert_eq!(help.notes, ["A remark of two lines.", "Another."]);
        assert_eq!(help.examples, ["tenths a", "tenths b   c"]);
        let help = Help::read("");
        assert!(help.notes.is_empty() && help.examples.is_empty());
    }
}
