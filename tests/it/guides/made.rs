//! Pages that are made from the program: keys, commands, words.

use std::fmt::Write as _;
use std::fs;

use bench::words::{WordOf, explained};
use config::keys::sections;

use super::root;

const WRITE: &str = "TENTHS_WRITE";

/// Holds what stands between two marks of a page against what it should be, or writes it.
fn hold(page: &str, mark: &str, made: &str) {
    let path = root().join(page);
    let text = fs::read_to_string(&path).unwrap_or_else(|error| panic!("{page}: {error}"));
    let (begin, end) = (format!("<!-- {mark} -->\n"), format!("<!-- /{mark} -->"));
    let (before, rest) = text.split_once(&begin).unwrap_or_else(|| panic!("{page} lacks {begin}"));
    let (stored, after) = rest.split_once(&end).unwrap_or_else(|| panic!("{page} lacks {end}"));
    if std::env::var_os(WRITE).is_some() {
        fs::write(&path, format!("{before}{begin}{made}{end}{after}")).unwrap();
        return;
    }
    let first = stored.lines().zip(made.lines()).find(|(stored, made)| stored != made);
    assert!(
        stored == made,
        "{page}, {mark}: not as the program is now; {WRITE}=1 cargo test --test it guides writes it anew. \
         First other line: {first:?}"
    );
}

#[test]
fn the_page_of_keys_is_as_the_program_reads_them() {
    let mut made = String::new();
    for section in sections() {
        let head =
            if section.head.is_empty() { String::new() } else { format!(" `{}`", section.head) };
        writeln!(made, "### {}\n\n{}{head}\n", section.word, capital(section.is)).unwrap();
        made += "| key | says | left out |\n|---|---|---|\n";
        for about in &section.keys {
            writeln!(made, "| `{}` | {} | {} |", about.key, about.says, dash(about.left_out))
                .unwrap();
        }
        made.push('\n');
    }
    hold("docs/keys.md", "keys", &made);
    let mut traps = "| key | from when on | usual | from, to |\n|---|---|---|---|\n".to_owned();
    for trap in bench::plan::keys::traps_in_words() {
        let [least, most] = &trap.range;
        writeln!(traps, "| `{}` | {} | {} | {least}, {most} |", trap.key, trap.says, trap.usual)
            .unwrap();
    }
    hold("docs/keys.md", "traps", &traps);
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

fn dash(text: &str) -> &str {
    if text.is_empty() { "–" } else { text }
}

#[test]
fn the_page_of_troubles_has_every_word_with_what_helps() {
    let all = explained();
    for (mark, of) in [
        ("alerts", WordOf::Alert),
        ("standings", WordOf::Standing),
        ("waiting", WordOf::Waits),
        ("attempts", WordOf::Attempt),
    ] {
        let mut made = "| word | means | what helps |\n|---|---|---|\n".to_owned();
        for one in all.iter().filter(|one| one.of == of) {
            let remedy = dash(one.remedy.unwrap_or_default());
            writeln!(made, "| `{}` | {} | {remedy} |", one.word, one.means).unwrap();
        }
        hold("docs/troubles.md", mark, &made);
    }
}

#[test]
fn the_page_of_verdicts_has_every_reason() {
    let mut made = "| reason | means | may fail | what helps |\n|---|---|---|---|\n".to_owned();
    for one in explained().iter().filter(|one| one.of == WordOf::Reason) {
        let may_fail = judgement::Reason::parse(one.word).is_some_and(judgement::Reason::may_fail);
        let may_fail = if may_fail { "yes" } else { "–" };
        let remedy = one.remedy.unwrap_or_default();
        writeln!(made, "| `{}` | {} | {may_fail} | {remedy} |", one.word, one.means).unwrap();
    }
    hold("docs/verdicts.md", "reasons", &made);
}

/// A command and those below it.
fn command(of: &clap::Command, above: &str, made: &mut String) {
    let name = format!("{above} {}", of.get_name());
    let name = name.trim();
    let below: Vec<&clap::Command> =
        of.get_subcommands().filter(|one| !one.is_hide_set() && one.get_name() != "help").collect();
    if below.is_empty() {
        let global = |one: &clap::Arg| one.is_global_set() || one.get_id() == "help";
        let hidden: Vec<clap::Id> =
            of.get_arguments().filter(|one| global(one)).map(|one| one.get_id().clone()).collect();
        let hide = |of: clap::Command, id: &clap::Id| of.mut_arg(id, |one| one.hide(true));
        let of = hidden.iter().fold(of.clone(), hide);
        let help = of.term_width(100).render_help().to_string();
        writeln!(made, "### {name}\n\n```text\n{}\n```\n", help.trim_end()).unwrap();
    }
    for one in below {
        command(one, name, made);
    }
}

#[test]
fn the_page_of_commands_is_as_their_help() {
    let mut made = String::new();
    let mut all = client::commands();
    all.build();
    command(&all, "", &mut made);
    hold("docs/commands.md", "commands", &made);
}
