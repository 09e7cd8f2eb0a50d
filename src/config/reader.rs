//! Reads TOML files that people write, and reports all findings at once.
//!
//! ```
//! use config::reader::Document;
//! let document = Document::parse("bench.toml", "[bench]\nname = 3\nnme = \"x\"\n");
//! if let Some(root) = document.root() {
//!     if let Some(bench) = root.table("bench") {
//!         assert!(bench.string("name").is_none()); // a finding: not a text
//!         bench.finish(); // a finding: unknown key "nme"
//!     }
//!     root.finish();
//! }
//! assert_eq!(document.findings().len(), 2);
//! ```
//!
//! Every `Table::…(key)` gives `None` for an absent key and for a wrong one; the wrong one is also a
//! finding. For a required key, [`Table::must_have`] is called first.

mod say;
mod slip;

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::fmt;
use std::ops::RangeInclusive;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

pub(crate) use self::say::harmless;
pub(super) use self::say::hint_for;
use self::say::in_words;
use super::excerpt::Excerpt;
use super::finding::{Finding, Level};
use super::keys::is_described;
pub use bench::plan::keys::At;

/// One file, parsed, with the findings so far.
#[derive(Debug)]
pub struct Document<'i> {
    file: &'i str,
    text: &'i str,
    /// Where its lines end, in bytes from its start.
    breaks: Vec<usize>,
    root: Option<Spanned<DeTable<'i>>>,
    findings: RefCell<Vec<Finding>>,
    /// The keys that were read and that nobody has described; looked for in tests.
    undescribed: RefCell<BTreeSet<String>>,
}

impl<'i> Document<'i> {
    /// Parses a whole file; each syntax error is a finding.
    #[must_use]
    pub fn parse(file: &'i str, text: &'i str) -> Self {
        let (root, errors) = DeTable::parse_recoverable(text);
        let document = Self {
            file,
            text,
            breaks: text.match_indices('\n').map(|(at, _)| at).collect(),
            root: errors.is_empty().then_some(root),
            findings: RefCell::default(),
            undescribed: RefCell::default(),
        };
        let mut told = BTreeSet::new();
        for error in errors {
            let slip = slip::slip(text, error.message(), &error.span().unwrap_or_default());
            let line = document.line_at(slip.place.start);
            // One slip upsets the rest of its line; it is told once.
            if told.insert(line) {
                document.slipped(line, &slip);
            }
        }
        document
    }

    /// The outermost table; `None` if the file is not TOML.
    #[must_use]
    pub fn root(&self) -> Option<Table<'_>> {
        let root = self.root.as_ref()?;
        Some(Table::new(self, root.get_ref(), 1, String::new()))
    }

    /// Adds an error at a line.
    pub fn error(&self, line: u32, text: impl Into<String>, hint: impl Into<String>) {
        self.add(Level::Error, Some(line), text, hint);
    }

    /// Adds a warning at a line.
    pub fn warning(&self, line: u32, text: impl Into<String>, hint: impl Into<String>) {
        self.add(Level::Warning, Some(line), text, hint);
    }

    /// Adds a finding; one without a line concerns the whole file.
    pub fn add(
        &self,
        level: Level,
        line: Option<u32>,
        text: impl Into<String>,
        hint: impl Into<String>,
    ) {
        let (text, hint) = (harmless(&text.into()), harmless(&hint.into()));
        let file = self.file.to_owned();
        let finding = Finding { file, line, level, text, hint, excerpt: None };
        self.findings.borrow_mut().push(finding.placed(self.text));
    }

    /// Adds what keeps the file from being read.
    fn slipped(&self, line: u32, slip: &slip::Slip) {
        let (text, hint) = (harmless(&slip.text), harmless(&slip.hint));
        let excerpt = Excerpt::at(self.text, &slip.place).map(Box::new);
        let (file, line, level) = (self.file.to_owned(), Some(line), Level::Error);
        self.findings.borrow_mut().push(Finding { file, line, level, text, hint, excerpt });
    }

    /// All findings so far, in the order of the lines.
    #[must_use]
    pub fn findings(&self) -> Vec<Finding> {
        let mut findings = self.findings.borrow().clone();
        findings.sort_by_key(|finding| finding.line);
        findings
    }

    /// Whether an error was found so far.
    #[must_use]
    pub fn has_errors(&self) -> bool {
        self.findings.borrow().iter().any(Finding::is_error)
    }

    /// Fails a test where a key is read that [`super::keys`] does not describe.
    pub(super) fn all_is_described(&self) {
        let missing = self.undescribed.borrow();
        debug_assert!(missing.is_empty(), "config::keys does not describe {missing:?}");
    }

    fn line_at(&self, offset: usize) -> u32 {
        let breaks = self.breaks.partition_point(|at| *at < offset);
        u32::try_from(breaks + 1).unwrap_or(u32::MAX)
    }
}

/// A table of a document. Call [`Table::finish`] at the end: it reports keys that were never asked for.
#[must_use = "finish() reports the keys nobody asked for"]
pub struct Table<'d> {
    document: &'d Document<'d>,
    entries: &'d DeTable<'d>,
    line: u32,
    /// Its name in sentences, such as `gauge.columns`; empty for the outermost table.
    path: String,
    asked: RefCell<BTreeSet<String>>,
}

impl fmt::Debug for Table<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Table({:?}, line {})", self.path, self.line)
    }
}

impl<'d> Table<'d> {
    fn new(document: &'d Document<'d>, entries: &'d DeTable<'d>, line: u32, path: String) -> Self {
        Self { document, entries, line, path, asked: RefCell::default() }
    }

    /// The line the table begins on.
    #[must_use]
    pub fn line(&self) -> u32 {
        self.line
    }

    /// The document, for adding more findings.
    #[must_use]
    pub fn document(&self) -> &'d Document<'d> {
        self.document
    }

    /// The keys in the table, each with its line, in alphabetical order.
    #[must_use]
    pub fn keys(&self) -> Vec<At<&'d str>> {
        let at = |key: &'d Spanned<toml::de::DeString<'d>>| At {
            value: key.get_ref().as_ref(),
            line: self.document.line_at(key.span().start),
        };
        self.entries.keys().map(at).collect()
    }

    /// The line of a key; if it is absent, that of the table.
    #[must_use]
    pub fn line_of(&self, key: &str) -> u32 {
        let found = self.entries.get_key_value(key);
        found.map_or(self.line, |(key, _)| self.document.line_at(key.span().start))
    }

    /// Whether the key is there. It then counts as asked for.
    pub fn has(&self, key: &str) -> bool {
        self.ask(key).is_some()
    }

    /// Adds a finding if the key is absent. `hint` is a line that could be written.
    pub fn must_have(&self, key: &str, hint: &str) {
        if !self.has(key) {
            let text = format!("{} is missing", self.named(key));
            self.document.error(self.line, text, hint);
        }
    }

    /// A text.
    pub fn string(&self, key: &str) -> Option<At<String>> {
        let value = self.ask(key)?;
        let text = value.get_ref().as_str();
        self.expect(key, value, text.map(str::to_owned), "a text in quotes")
    }

    /// A text converted by `parse`; an error of that is a finding.
    pub fn parsed<T, E: fmt::Display>(
        &self,
        key: &str,
        parse: impl FnOnce(&str) -> Result<T, E>,
    ) -> Option<At<T>> {
        let text = self.string(key)?;
        match parse(&text.value) {
            Ok(value) => Some(At { value, line: text.line }),
            Err(error) => {
                self.document.error(text.line, format!("{}: {error}", self.named(key)), "");
                None
            }
        }
    }

    /// One of a few words.
    pub fn one_of<T: Copy>(&self, key: &str, words: &[(&str, T)]) -> Option<At<T>> {
        let text = self.string(key)?;
        let found = words.iter().find(|(word, _)| *word == text.value);
        if found.is_none() {
            let known: Vec<_> = words.iter().map(|(word, _)| format!("\"{word}\"")).collect();
            let said = format!("{} is \"{}\"", self.named(key), text.value);
            self.document.error(text.line, said, format!("write {}", known.join(" or ")));
        }
        found.map(|(_, value)| At { value: *value, line: text.line })
    }

    /// A text, or a number exactly as written: `0.0001` keeps its four places.
    pub fn literal(&self, key: &str) -> Option<At<String>> {
        let value = self.ask(key)?;
        let text = match value.get_ref() {
            DeValue::String(text) => Some(text.clone().into_owned()),
            DeValue::Float(number) => Some(number.as_str().to_owned()),
            DeValue::Integer(number) if number.radix() == 10 => Some(number.as_str().to_owned()),
            DeValue::Integer(_)
            | DeValue::Boolean(_)
            | DeValue::Datetime(_)
            | DeValue::Array(_)
            | DeValue::Table(_) => None,
        };
        self.expect(key, value, text, "a number or a text in quotes")
    }

    /// A text or a number exactly as written, converted by `parse`; an error of that is a finding.
    pub fn parsed_literal<T, E: fmt::Display>(
        &self,
        key: &str,
        parse: impl FnOnce(&str) -> Result<T, E>,
    ) -> Option<At<T>> {
        let text = self.literal(key)?;
        match parse(&text.value) {
            Ok(value) => Some(At { value, line: text.line }),
            Err(error) => {
                self.document.error(text.line, format!("{}: {error}", self.named(key)), "");
                None
            }
        }
    }

    /// A whole number within a range.
    pub fn integer(&self, key: &str, range: RangeInclusive<i64>) -> Option<At<i64>> {
        let value = self.ask(key)?;
        let number = value.get_ref().as_integer();
        let number = number.and_then(|n| i64::from_str_radix(n.as_str(), n.radix()).ok());
        let wanted = format!("a whole number from {} to {}", range.start(), range.end());
        self.expect(key, value, number.filter(|number| range.contains(number)), &wanted)
    }

    /// A finite number.
    pub fn number(&self, key: &str) -> Option<At<f64>> {
        let value = self.ask(key)?;
        let text = match value.get_ref() {
            DeValue::Float(number) => number.as_str(),
            DeValue::Integer(number) if number.radix() == 10 => number.as_str(),
            DeValue::Integer(_)
            | DeValue::String(_)
            | DeValue::Boolean(_)
            | DeValue::Datetime(_)
            | DeValue::Array(_)
            | DeValue::Table(_) => "",
        };
        let number = text.parse::<f64>().ok().filter(|number| number.is_finite());
        self.expect(key, value, number, "a number")
    }

    /// `true` or `false`.
    pub fn boolean(&self, key: &str) -> Option<At<bool>> {
        let value = self.ask(key)?;
        self.expect(key, value, value.get_ref().as_bool(), "true or false")
    }

    /// A day, written `2027-03-01` with or without quotes.
    pub fn date(&self, key: &str) -> Option<At<jiff::civil::Date>> {
        let value = self.ask(key)?;
        let text = match value.get_ref() {
            DeValue::Datetime(date) => date.to_string(),
            DeValue::String(text) => text.clone().into_owned(),
            DeValue::Integer(_)
            | DeValue::Float(_)
            | DeValue::Boolean(_)
            | DeValue::Array(_)
            | DeValue::Table(_) => String::new(),
        };
        let date = text.parse().ok().filter(|_| text.len() == 10);
        self.expect(key, value, date, "a day such as 2027-03-01")
    }

    /// A list of texts; a single text counts as a list of one. Empty if the key is absent.
    pub fn strings(&self, key: &str) -> Vec<At<String>> {
        self.list(key, "a text in quotes", |value| value.as_str().map(str::to_owned))
    }

    /// How many items a list has; `None` where there is no list.
    #[must_use]
    pub fn items(&self, key: &str) -> Option<usize> {
        Some(self.entries.get(key)?.get_ref().as_array()?.len())
    }

    /// A list of texts, if it is there and all items are right. A wrong item is a finding.
    pub fn texts(&self, key: &str) -> Option<Vec<At<String>>> {
        self.ask(key)?;
        let texts = self.strings(key);
        (texts.len() == self.items(key).unwrap_or(1)).then_some(texts)
    }

    /// A list of texts or numbers exactly as written; a single one counts as a list of one.
    pub fn literals(&self, key: &str) -> Vec<At<String>> {
        self.list(key, "a number or a text in quotes", |value| match value {
            DeValue::String(text) => Some(text.clone().into_owned()),
            DeValue::Float(number) => Some(number.as_str().to_owned()),
            DeValue::Integer(number) => Some(number.as_str().to_owned()),
            DeValue::Boolean(_) | DeValue::Datetime(_) | DeValue::Array(_) | DeValue::Table(_) => {
                None
            }
        })
    }

    /// A table inside this one.
    pub fn table(&self, key: &str) -> Option<Table<'d>> {
        let value = self.ask(key)?;
        let entries = value.get_ref().as_table();
        let found = self.expect(key, value, entries, "a table")?;
        Some(Table::new(self.document, found.value, self.line_of(key), self.path_to(key)))
    }

    /// A list of tables: `[[gauge]]`, or `stations = [{ … }, { … }]`. Empty if the key is absent.
    pub fn tables(&self, key: &str) -> Vec<Table<'d>> {
        let Some(value) = self.ask(key) else { return Vec::new() };
        let Some(items) = value.get_ref().as_array() else {
            return self.no_list(key, value);
        };
        let one = |item: &'d Spanned<DeValue<'d>>| {
            let found = self.expect(key, item, item.get_ref().as_table(), "a table")?;
            Some(Table::new(self.document, found.value, found.line, self.path_to(key)))
        };
        items.iter().filter_map(one).collect()
    }

    /// `[gauge]` where there may be several, or another value where a list of tables belongs.
    fn no_list(&self, key: &str, value: &Spanned<DeValue<'_>>) -> Vec<Table<'d>> {
        let (path, line) = (self.path_to(key), self.line_of(key));
        let hint = format!("write [[{path}]], with two brackets, before each of them");
        let text = if value.get_ref().is_table() {
            format!("[{path}] has one bracket, and there may be several")
        } else {
            format!("{} is no list", self.named(key))
        };
        self.document.error(line, text, hint);
        Vec::new()
    }

    /// A text, for a look ahead: nothing is reported if it is absent or is no text.
    #[must_use]
    pub fn glance(&self, key: &str) -> Option<&'d str> {
        self.entries.get(key)?.get_ref().as_str()
    }

    /// The tables of a list, for a look ahead: nothing is reported about anything else in it.
    #[must_use]
    pub fn glance_at(&self, key: &str) -> Vec<Table<'d>> {
        let items = self.entries.get(key).and_then(|list| list.get_ref().as_array());
        let one = |item: &'d Spanned<DeValue<'d>>| {
            let line = self.document.line_at(item.span().start);
            Some(Table::new(self.document, item.get_ref().as_table()?, line, self.path_to(key)))
        };
        items.map(|items| items.iter().filter_map(one).collect()).unwrap_or_default()
    }

    /// Reports the keys that were never asked for, each with the most similar known key.
    pub fn finish(self) {
        let asked = self.asked.borrow();
        for key in self.keys().into_iter().filter(|key| !asked.contains(key.value)) {
            let text = format!("unknown key {}", self.named(key.value));
            self.document.error(key.line, text, hint_for(key.value, &asked));
        }
    }

    fn ask(&self, key: &str) -> Option<&'d Spanned<DeValue<'d>>> {
        if cfg!(debug_assertions) && !is_described(&self.path, key) {
            self.document.undescribed.borrow_mut().insert(self.path_to(key));
        }
        self.asked.borrow_mut().insert(key.to_owned());
        self.entries.get(key)
    }

    fn expect<T>(
        &self,
        key: &str,
        value: &Spanned<DeValue<'_>>,
        found: Option<T>,
        wanted: &str,
    ) -> Option<At<T>> {
        let line = self.document.line_at(value.span().start);
        if found.is_none() {
            let text = format!("{} should be {wanted}", self.named(key));
            self.document.error(line, text, format!("it is {}", in_words(value.get_ref())));
        }
        found.map(|value| At { value, line })
    }

    fn list<T>(
        &self,
        key: &str,
        wanted: &str,
        read: impl Fn(&DeValue<'d>) -> Option<T>,
    ) -> Vec<At<T>> {
        let Some(value) = self.ask(key) else { return Vec::new() };
        let one = |item| self.expect(key, item, read(item.get_ref()), wanted);
        match value.get_ref().as_array() {
            Some(items) => items.iter().filter_map(one).collect(),
            None => one(value).into_iter().collect(),
        }
    }

    fn path_to(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) }
    }

    fn named(&self, key: &str) -> String {
        format!("\"{}\"", self.path_to(key))
    }
}

#[cfg(test)]
mod tests;
