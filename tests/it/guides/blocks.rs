//! What stands in the guides as a command or as settings.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::process::{Child, Command, Stdio};

use super::{Page, pages, root};
use crate::rig::{Bench, Make, RING_PLAN, in_time};
use crate::watch::Terminal;

/// A block of a page between fences.
struct Block {
    /// `README.md:31`
    place: String,
    language: String,
    text: String,
}

fn blocks(page: &Page) -> Vec<Block> {
    let mut found = Vec::new();
    let mut open: Option<Block> = None;
    for (number, line) in page.text.lines().enumerate() {
        let fence = line.trim_start().strip_prefix("```");
        match (&mut open, fence) {
            (None, Some(language)) => {
                let place = format!("{}:{}", page.name, number + 1);
                open = Some(Block { place, language: language.to_owned(), text: String::new() });
            }
            (Some(_), Some(_)) => found.extend(open.take()),
            (Some(block), None) => block.text.extend([line.trim_end(), "\n"]),
            (None, None) => {}
        }
    }
    assert!(open.is_none(), "{}: a block without its end", page.name);
    found
}

/// The commands of this program that a page names between backquotes, each with its place.
fn named(page: &Page) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut inside = false;
    for (number, line) in page.text.lines().enumerate() {
        if line.trim_start().starts_with("```") {
            inside = !inside;
            continue;
        }
        let spans = line.split('`').skip(1).step_by(2).filter(|_| !inside);
        for span in spans.filter(|span| span.starts_with("tenths ") && !span.contains("--help")) {
            found.push((format!("{}:{}", page.name, number + 1), span.to_owned()));
        }
    }
    found
}

/// The words of a line as a shell takes them; of several words in a cell of a table the first one.
fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    for (nth, piece) in line.replace("\\|", "|").split('"').enumerate() {
        if nth % 2 == 1 {
            words.push(piece.to_owned());
            continue;
        }
        let plain = piece.split_whitespace().filter(|word| *word != "…");
        words.extend(plain.map(|word| word.split('|').next().unwrap_or(word).to_owned()));
    }
    words
}

/// Whether the program understands a line, as far as it is written out. What is left out, and a word that
/// stands for another one, such as NAME, is nothing wrong.
fn is_understood(line: &[String]) -> Result<(), String> {
    use clap::error::ErrorKind::{
        DisplayHelpOnMissingArgumentOrSubcommand, InvalidValue, MissingRequiredArgument,
        MissingSubcommand, ValueValidation,
    };
    let stands_for =
        line.iter().skip(1).any(|word| word.chars().any(|c| c.is_uppercase() || c == '…'));
    let Err(error) = client::commands().try_get_matches_from(line) else { return Ok(()) };
    let left_out =
        [DisplayHelpOnMissingArgumentOrSubcommand, MissingRequiredArgument, MissingSubcommand];
    let not_meant = [InvalidValue, ValueValidation];
    if left_out.contains(&error.kind()) || stands_for && not_meant.contains(&error.kind()) {
        return Ok(());
    }
    Err(error.to_string())
}

#[test]
fn every_command_and_option_that_a_guide_names_is_there() {
    let (mut seen, mut wrong) = (0, Vec::new());
    for page in pages().iter().filter(|page| page.name != "docs/commands.md") {
        for (place, span) in named(page) {
            seen += 1;
            if let Err(error) = is_understood(&words(&span)) {
                wrong.push(format!(
                    "{place}: `{span}`: {}",
                    error.lines().next().unwrap_or_default()
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(seen > 150, "{seen} commands found");
}

/// A link of a guide leads to a file, and to a heading that it has.
#[test]
fn every_link_leads_somewhere() {
    let pages = pages();
    let anchors: BTreeMap<&str, BTreeSet<String>> =
        pages.iter().map(|page| (page.name.as_str(), headings(&page.text))).collect();
    for page in &pages {
        let folder = page.name.rsplit_once('/').map_or("", |(folder, _)| folder);
        for (number, line) in page.text.lines().enumerate() {
            for link in line.split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
                if link.starts_with("http") || link.contains(' ') {
                    continue;
                }
                let (file, anchor) = link.split_once('#').unwrap_or((link, ""));
                let name = if file.is_empty() { page.name.clone() } else { joined(folder, file) };
                let place = format!("{}:{}: {link}", page.name, number + 1);
                assert!(root().join(&name).exists(), "{place}");
                if let Some(known) = anchors.get(name.as_str()).filter(|_| !anchor.is_empty()) {
                    assert!(known.contains(anchor), "{place}: it has no such heading");
                }
            }
        }
    }
}

fn joined(folder: &str, file: &str) -> String {
    let mut parts: Vec<&str> = folder.split('/').filter(|part| !part.is_empty()).collect();
    for part in file.split('/') {
        match part {
            ".." => drop(parts.pop()),
            "." | "" => {}
            part => parts.push(part),
        }
    }
    parts.join("/")
}

/// The anchors of a page, as forges make them of headings.
fn headings(text: &str) -> BTreeSet<String> {
    let heads = text.lines().filter_map(|line| {
        let head = line.trim_start_matches('#');
        (head.len() < line.len()).then(|| head.trim().to_lowercase())
    });
    let anchor = |head: String| {
        let kept = head.chars().filter(|c| c.is_alphanumeric() || matches!(c, ' ' | '-' | '_'));
        kept.map(|c| if c == ' ' { '-' } else { c }).collect()
    };
    heads.map(anchor).collect()
}

/// The gauges that the plans of the guides name.
const GAUGES: &str = "unit = \"in\"\nresolution = \"0.00001 in\"";

#[test]
fn every_block_of_settings_can_be_used() {
    let all: Vec<Block> = pages().iter().flat_map(blocks).collect();
    let of_settings: Vec<&Block> = all.iter().filter(|block| block.language == "toml").collect();
    assert!(of_settings.len() > 5, "{} blocks", of_settings.len());
    let wrong: Vec<String> = of_settings.into_iter().filter_map(wrong_settings).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What a bench is made of beside the settings of a guide.
const OTHERS: &str = "[[gauge]]\nname = \"probe\"\nkind = \"thermometer\"\nresolution = \"0.1 C\"\n\
                      [[gauge]]\nname = \"sweeper\"\nkind = \"dial\"\nunit = \"in\"\nresolution = \"0.00001 in\"\n\
                      [[gauge]]\nname = \"comparator\"\nkind = \"dial\"\nunit = \"in\"\nresolution = \"0.00001 in\"\n";

/// What `config check` says against a block.
fn wrong_settings(block: &Block) -> Option<String> {
    let is_plan = block.text.contains("[[part");
    let more = if is_plan { OTHERS } else { "" };
    let bench = Bench::new(&Make { gauge: GAUGES, more, plan: RING_PLAN });
    let text = block.text.clone();
    if is_plan {
        let head = "name = \"guide\"\nunit = \"in\"\n";
        let part = "[[part]]\nname = \"ring\"\nkind = \"spacer\"\n";
        let text = match (text.starts_with("name ="), text.contains("[[part]]")) {
            (true, true) => text,
            (_, true) => format!("{head}{text}"),
            (_, false) => format!("{head}{part}{text}"),
        };
        fs::write(bench.path("plans/guide.toml"), text).unwrap();
    } else {
        fs::create_dir_all(bench.path("profiles")).unwrap();
        fs::remove_file(bench.path("plans/held.toml")).unwrap();
        let text =
            if text.contains("[bench]") { text } else { format!("[bench]\nunit = \"in\"\n{text}") };
        // The plan that is here needs its gauge, too.
        let plate = "[[gauge]]\nname = \"plate\"\nkind = \"dial\"";
        let text =
            if text.contains("[[gauge]]") { text } else { format!("{text}\n{plate}\n{GAUGES}\n") };
        fs::write(bench.path("bench.toml"), text).unwrap();
    }
    let output = bench.run(&["config", "check"]);
    let said = String::from_utf8([output.stdout, output.stderr].concat()).unwrap();
    (!output.status.success()).then(|| format!("{}:\n{said}", block.place))
}

/// Lines of blocks that are tried elsewhere, and where.
const ELSEWHERE: [(&str, &str); 5] = [
    ("cargo run", "by `it commands::demo`"),
    ("cargo test", "it is this"),
    ("systemd/program", "by `.ci/package`"),
    ("tenths gauge listen PORT", "by `it listen`, with a pretend gauge"),
    ("tenths gauge add PORT", "by `it first_hour`, with a pretend gauge"),
];

/// A new person's home: no configuration, and the program on the path.
struct Home {
    folder: tempfile::TempDir,
    service: Option<Child>,
}

impl Drop for Home {
    fn drop(&mut self) {
        if let Some(service) = &mut self.service {
            drop(service.kill());
            drop(service.wait());
        }
    }
}

impl Home {
    fn command(&self, line: &[String]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tenths"));
        command.args(&line[1..]).current_dir(&self.folder).env("HOME", self.folder.path());
        for variable in ["XDG_CONFIG_HOME", "XDG_STATE_HOME", "TENTHS_CONFIG", "STATE_DIRECTORY"] {
            command.env_remove(variable);
        }
        command
    }

    fn run(&self, place: &str, line: &[String]) {
        let output = self.command(line).output().unwrap();
        let said = String::from_utf8_lossy(&[output.stdout, output.stderr].concat()).into_owned();
        assert!(output.status.success(), "{place}: {line:?}\n{said}");
    }

    /// Types a line at a terminal, with what a person answers, and what is on the screen before.
    fn type_in(&self, line: &[String], answers: &[(&str, &str)]) {
        let mut screen = Terminal::bare(self.command(line), (100, 30));
        for (sees, says) in answers {
            screen.until(&[*sees]);
            screen.press(says);
        }
        screen.gives_back(0);
    }

    fn line(&mut self, place: &str, line: &str) {
        let (said, remark) = line.split_once(" # ").unwrap_or((line, ""));
        let said = words(said.trim());
        match said.get(1).map(String::as_str) {
            Some("init") => self.type_in(
                &said,
                &[
                    ("Inch or millimetre", "in\n"),
                    ("A name for this place?", "\n"),
                    ("Where does the record lie?", "\n"),
                    ("The port of the gauge?", "none\n"),
                    ("What do you call the gauge?", "\n"),
                    ("The smallest step", "\n"),
                ],
            ),
            Some("serve") => {
                let mut serve = self.command(&said);
                let quiet = serve.stdout(Stdio::null()).stderr(Stdio::null());
                self.service = Some(quiet.spawn().unwrap());
                let up = || {
                    self.command(&words("tenths status")).output().unwrap().status.code() != Some(3)
                };
                assert!(in_time(up), "{place}: it does not serve");
            }
            Some("watch") => self.type_in(&said, &[("parallelism on the plate", "q")]),
            Some(_) => self.run(place, &said),
            None => panic!("{place}: {line}"),
        }
        if let Some((_, other)) = remark.split_once("tenths ") {
            self.run(place, &words(&format!("tenths {other}")));
        }
    }
}

/// The commands of the first page and of the page of gauges, as a new person types them, in their order.
#[test]
fn the_blocks_of_commands_run_as_they_stand() {
    let folder = tempfile::tempdir().unwrap();
    let mut home = Home { folder, service: None };
    let mut tried = 0;
    for page in
        pages().iter().filter(|page| page.name == "README.md" || page.name == "docs/gauges.md")
    {
        // The machine-wide installation is tried by `.ci/package`, as root.
        for block in blocks(page).into_iter().filter(|block| block.language == "sh") {
            for line in block.text.lines() {
                if ELSEWHERE.iter().any(|(begin, _)| line.starts_with(begin)) {
                    continue;
                }
                home.line(&block.place, line);
                tried += 1;
            }
        }
    }
    assert!(tried >= 7, "{tried} lines tried");
}
