//! `[shop]`: whose name stands at the head of a report. All of it may be left out.
//!
//! ```toml
//! [shop]
//! name = "Example Spindle Works"
//! address = ["1 Sample Lane", "Exampletown"]
//! mark = "mark.png"   # PNG or JPEG, beside this file, at most 1 MiB
//! ```
//!
//! Nothing that measures depends on it, so a mark that cannot be used is a warning: reports come without it.

mod links;

use std::fs::{self, File};
use std::io::Read as _;
use std::path::{Path, PathBuf, absolute};

use super::finding::Finding;
use super::profiles::beside;
use super::reader::{At, Document, Table};
use paper::{LARGEST_MARK, Mark};

pub use self::links::{Broker, Database, Links, Reach, Secret, is_bench_name, links_of};

/// The most characters of a name and of a line of an address: more would push the summary off its page.
const LONGEST: usize = 120;
/// The most lines of an address.
const MOST_LINES: usize = 8;

/// Whose name stands at the head of a report.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Shop {
    /// Its name.
    pub name: Option<String>,
    /// Its address, line by line.
    pub address: Vec<String>,
    /// Its mark.
    pub mark: Option<Mark>,
}

/// What is written of a shop, before its mark is looked at.
#[derive(Debug, Default)]
pub(super) struct Written {
    name: Option<String>,
    address: Vec<String>,
    /// The file of the mark as written, and where it is.
    mark: Option<(At<String>, PathBuf)>,
    /// Where record and events are sent on to.
    pub(super) links: Option<Links>,
}

/// Reads the table; a mark is not opened. `base` is the folder of the file.
pub(super) fn read(table: Option<Table<'_>>, base: &Path) -> Written {
    let Some(table) = table else { return Written::default() };
    let document = table.document();
    let name = table.string("name").filter(|name| fits(document, "shop.name", name));
    let lines = table.strings("address").into_iter().flat_map(|written| {
        // A text without a line is told as the empty one it is.
        let text = if written.value.is_empty() { " " } else { &written.value };
        let lines: Vec<String> = text.lines().map(|line| line.trim().to_owned()).collect();
        lines.into_iter().map(move |value| At { value, line: written.line })
    });
    let mut address: Vec<At<String>> = lines.collect();
    address.retain(|line| fits(document, "a line of shop.address", line));
    if let Some(first_beyond) = address.get(MOST_LINES) {
        let text = format!("\"shop.address\" has {} lines", address.len());
        document.error(first_beyond.line, text, format!("write {MOST_LINES} at most"));
    }
    let mark = table.string("mark").map(|mark| (mark.clone(), beside(base, &mark.value)));
    let links = links::read(&table, base);
    table.finish();
    Written {
        links,
        name: name.map(|name| name.value.trim().to_owned()),
        address: address.into_iter().take(MOST_LINES).map(|line| line.value).collect(),
        mark,
    }
}

/// Whether a text may stand at the head of a page; says so where it may not.
fn fits(document: &Document<'_>, what: &str, text: &At<String>) -> bool {
    let count = text.value.chars().count();
    if text.value.trim().is_empty() {
        document.error(text.line, format!("{what} is empty"), "write something, or leave it out");
    } else if count > LONGEST {
        let said = format!("{what} has {count} characters");
        document.error(text.line, said, format!("write {LONGEST} at most"));
    } else {
        return true;
    }
    false
}

impl Written {
    /// Opens the mark; one that cannot be used is a warning.
    pub(super) fn with_mark(self, document: &Document<'_>) -> Shop {
        let mark = self.mark.and_then(|(written, path)| match opened(&path) {
            Ok(mark) => Some(mark),
            Err((what, hint)) => {
                let text = format!("\"shop.mark\": {}: {what}", written.value);
                let hint = format!("{hint}; until then reports come without it");
                document.warning(written.line, text, hint);
                None
            }
        });
        Shop { name: self.name, address: self.address, mark }
    }
}

/// The mark in a file, which is looked at before it is read: what is wrong, and what to do.
fn opened(path: &Path) -> Result<Mark, (String, String)> {
    let too_large = |bytes: u64| {
        let tenths = bytes.div_ceil(100_000);
        let text = format!("it has {}.{} MB, too much for a mark", tenths / 10, tenths % 10);
        (text, "make it smaller: 1 MiB at most, 500 pixels are enough".to_owned())
    };
    let cannot = |error: std::io::Error| {
        (format!("it cannot be read: {error}"), "it is looked for beside this file".to_owned())
    };
    let about = fs::metadata(path).map_err(cannot)?;
    if !about.is_file() {
        let hint = "name a PNG or JPEG file";
        return Err(("it is no file".to_owned(), hint.to_owned()));
    }
    if about.len() > LARGEST_MARK {
        return Err(too_large(about.len()));
    }
    let mut bytes = Vec::new();
    let file = File::open(path).map_err(cannot)?;
    file.take(LARGEST_MARK + 1).read_to_end(&mut bytes).map_err(cannot)?;
    if bytes.len() as u64 > LARGEST_MARK {
        return Err(too_large(bytes.len() as u64));
    }
    paper::mark(&bytes).map_err(|wrong| (wrong.what, wrong.hint.to_owned()))
}

/// Reads only the shop, and what is to be said of it: a report is made whatever else is wrong in the file.
#[must_use]
pub fn shop_of(path: &Path) -> (Shop, Vec<Finding>) {
    let shown = path.display().to_string();
    let text = match super::text::read(path, &shown) {
        Ok(text) => text,
        Err(unread) => return (Shop::default(), vec![unread.finding()]),
    };
    let full = absolute(path).unwrap_or_else(|_| path.to_owned());
    let document = Document::parse(&shown, &text);
    let base = full.parent().unwrap_or(Path::new("/"));
    let written = document.root().map(|root| self::read(root.table("shop"), base));
    let shop = written.map(|written| written.with_mark(&document)).unwrap_or_default();
    (shop, document.findings())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(text: &str) -> (Shop, Vec<String>) {
        let folder = tempfile::tempdir().unwrap();
        said_in(folder.path(), text)
    }

    fn said_in(folder: &Path, text: &str) -> (Shop, Vec<String>) {
        let file = folder.join("bench.toml");
        fs::write(&file, text).unwrap();
        let (shop, findings) = shop_of(&file);
        let told = |one: &Finding| one.to_string().rsplit_once("bench.toml:").unwrap().1.to_owned();
        (shop, findings.iter().map(told).collect())
    }

    #[test]
    fn all_of_it_may_be_left_out() {
        assert_eq!(said("[bench]\n"), (Shop::default(), vec![]));
        assert_eq!(said("[shop]\n"), (Shop::default(), vec![]));
        let (shop, findings) = said("[shop]\naddress = \"1 Sample Lane\"\n");
        assert_eq!((shop.address, findings), (vec!["1 Sample Lane".to_owned()], vec![]));
    }

    #[test]
    fn an_address_is_a_list_of_lines_or_a_text_of_several() {
        let lines = ["1 Sample Lane", "Exampletown"];
        for text in ["[\"1 Sample Lane\", \"Exampletown\"]", "\"1 Sample Lane\\n Exampletown \""] {
            let (shop, findings) = said(&format!("[shop]\nname = \" A \"\naddress = {text}\n"));
            assert_eq!((shop.name.as_deref(), findings), (Some("A"), vec![]));
            assert_eq!(shop.address, lines);
        }
    }

    #[test]
    fn what_would_push_the_summary_off_its_page_is_an_error() {
        let long = "n".repeat(121);
        let (shop, findings) = said(&format!("[shop]\nname = \"{long}\"\naddress = [\"\"]\n"));
        assert_eq!(shop, Shop::default());
        assert_eq!(
            findings,
            [
                "2: error: shop.name has 121 characters — write 120 at most",
                "3: error: a line of shop.address is empty — write something, or leave it out",
            ]
        );
        let lines = "\"a\", ".repeat(9);
        let (shop, findings) = said(&format!("[shop]\naddress = [{lines}]\nmrk = 1\n"));
        assert_eq!(shop.address.len(), 8);
        assert_eq!(findings[0], "2: error: \"shop.address\" has 9 lines — write 8 at most");
        assert!(findings[1].contains("unknown key \"shop.mrk\""), "{findings:?}");
    }

    #[test]
    fn a_mark_that_cannot_be_used_is_a_warning_with_its_reason() {
        let folder = tempfile::tempdir().unwrap();
        let here = folder.path();
        fs::write(here.join("no.png"), "not a picture").unwrap();
        fs::write(here.join("drawn.svg"), "<svg onload=\"alert(1)\"/>").unwrap();
        let huge = File::create(here.join("huge.png")).unwrap();
        huge.set_len(40_000_000).unwrap();
        fs::create_dir(here.join("folder.png")).unwrap();
        let cases = [
            ("no.png", "it is a text"),
            ("drawn.svg", "it is an SVG drawing, which can hold a program"),
            ("huge.png", "it has 40.0 MB, too much for a mark"),
            ("folder.png", "it is no file"),
            ("gone.png", "it cannot be read: No such file"),
        ];
        for (file, why) in cases {
            let (shop, findings) = said_in(here, &format!("[shop]\nmark = \"{file}\"\n"));
            assert_eq!(shop.mark, None);
            let begins = format!("2: warning: \"shop.mark\": {file}: {why}");
            assert!(findings.len() == 1 && findings[0].starts_with(&begins), "{findings:?}");
            assert!(findings[0].ends_with("until then reports come without it"), "{findings:?}");
        }
    }
}
