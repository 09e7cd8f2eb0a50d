//! The keys of a check as a test writes them, with every finding in order.

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::fmt::Display;
use std::ops::RangeInclusive;
use std::rc::Rc;

use quantity::{Name, Unit};
use toml::{Table, Value};

use crate::check::Check;
use crate::keys::{At, Keys, NamedCheck, ReadCheck};
use crate::plan::{CheckAt, PartKind};
use crate::{Measures, Traits};

/// Checks that others may name: name, what it measures, the unit of an entry.
const OTHERS: [(&str, &str, Option<&str>); 9] = [
    ("outer/length", "length", None),
    ("inner/length", "length", None),
    ("old/top", "parallelism", None),
    ("room/part", "entry", Some("C")),
    ("room/master", "entry", Some("F")),
    ("bearing/left", "entry", Some("um")),
    ("bearing/right", "entry", Some("turns")),
    ("bearing/bore", "diameter", None),
    ("shaft/seat", "diameter", None),
];

/// A check that was written, and what was found wrong with it.
pub(super) struct Written {
    table: Table,
    part: PartKind,
    told: Rc<RefCell<Vec<String>>>,
    /// The keys that were asked for, those inside a table with its name in front.
    asked: Rc<RefCell<BTreeSet<String>>>,
    /// The table that it is, with a point behind its name.
    within: String,
}

/// What a check of a kind reads from a text of keys, on a part, and its findings.
pub(super) fn read_on(part: PartKind, word: &str, text: &str) -> (ReadCheck, Vec<String>) {
    let (check, told, _) = read_asking(part, word, text);
    (check, told)
}

/// The same, with the keys that the kind asked for.
pub(super) fn read_asking(
    part: PartKind,
    word: &str,
    text: &str,
) -> (ReadCheck, Vec<String>, BTreeSet<String>) {
    let told = Rc::new(RefCell::new(Vec::new()));
    let table = text.parse().unwrap_or_else(|error| panic!("{text}: {error}"));
    let asked = Rc::new(RefCell::default());
    let within = String::new();
    let keys = Written { table, part, told: Rc::clone(&told), asked: Rc::clone(&asked), within };
    assert!(Measures::parse(word).is_some_and(|traits: &Traits| traits.word == word));
    let check = Measures::read(word, &keys);
    let (told, asked) = (told.borrow().clone(), asked.borrow().clone());
    (check, told, asked)
}

pub(super) fn read(word: &str, text: &str) -> (ReadCheck, Vec<String>) {
    read_on(PartKind::Spacer, word, text)
}

/// A check that is read without a finding.
#[track_caller]
pub(super) fn good(word: &str, text: &str) -> Check {
    let (check, told) = read(word, text);
    assert!(told.is_empty(), "{told:?} of {text}");
    check.unwrap().0
}

/// The findings of a text.
#[track_caller]
pub(super) fn told(word: &str, text: &str) -> Vec<String> {
    let (check, told) = read(word, text);
    let errors = told.iter().any(|one| one.starts_with("error"));
    assert!(check.is_some() || errors, "nothing was read and nothing was said: {text}");
    told
}

/// That a text has a finding with these words in it.
#[track_caller]
pub(super) fn found(word: &str, text: &str, said: &str) {
    let told = told(word, text);
    assert!(told.iter().any(|one| one.contains(said)), "{said:?} in {told:?} of {text}");
}

/// Lines with others instead of those of the same key; a key alone takes its line out.
pub(super) fn changed(text: &str, changes: &[&str]) -> String {
    let key = |line: &str| line.split(['=', ' ']).next().unwrap_or_default().to_owned();
    let keys: Vec<String> = changes.iter().map(|line| key(line)).collect();
    let kept = text.lines().filter(|line| !keys.contains(&key(line)));
    let new = changes.iter().copied().filter(|line| line.contains('='));
    kept.chain(new).collect::<Vec<_>>().join("\n")
}

impl Written {
    fn get(&self, key: &str) -> Option<&Value> {
        self.asked.borrow_mut().insert(format!("{}{key}", self.within));
        self.table.get(key)
    }

    /// A table inside this one.
    fn inner(&self, key: &str, table: &Table) -> Self {
        Self {
            table: table.clone(),
            part: self.part,
            told: Rc::clone(&self.told),
            asked: Rc::clone(&self.asked),
            within: format!("{}{key}.", self.within),
        }
    }

    fn wrong(&self, what: String) {
        self.told.borrow_mut().push(what);
    }

    fn at<T>(&self, key: &str, value: T) -> At<T> {
        At { value, line: self.line_of(key) }
    }

    fn literal(value: &Value) -> Option<String> {
        match value {
            Value::String(text) => Some(text.clone()),
            Value::Integer(number) => Some(number.to_string()),
            Value::Float(number) => Some(number.to_string()),
            Value::Boolean(_) | Value::Datetime(_) | Value::Array(_) | Value::Table(_) => None,
        }
    }

    fn list(&self, key: &str) -> Option<&Vec<Value>> {
        self.get(key)?.as_array()
    }

    fn told<T, E: Display>(&self, key: &str, read: Result<T, E>) -> Option<At<T>> {
        match read {
            Ok(value) => Some(self.at(key, value)),
            Err(error) => {
                self.wrong(format!("error: {key}: {error}"));
                None
            }
        }
    }
}

impl Keys for Written {
    fn name(&self) -> Option<Name> {
        Name::new("top").ok()
    }

    fn line(&self) -> u32 {
        1
    }

    fn line_of(&self, key: &str) -> u32 {
        let place = self.table.keys().position(|known| known == key);
        place.map_or(1, |place| u32::try_from(place).unwrap() + 2)
    }

    fn has(&self, key: &str) -> bool {
        self.get(key).is_some()
    }

    fn must_have(&self, key: &str, hint: &str) {
        if !self.has(key) {
            assert!(hint.contains(key) || hint.contains("write"), "{hint}");
            self.wrong(format!("error: {key} is missing"));
        }
    }

    fn error(&self, _line: u32, text: impl Into<String>, _hint: impl Into<String>) {
        self.wrong(format!("error: {}", text.into()));
    }

    fn warning(&self, _line: u32, text: impl Into<String>, _hint: impl Into<String>) {
        self.wrong(format!("warning: {}", text.into()));
    }

    fn boolean(&self, key: &str) -> Option<At<bool>> {
        let value = self.get(key)?;
        self.told(key, value.as_bool().ok_or("yes or no"))
    }

    fn integer(&self, key: &str, range: RangeInclusive<i64>) -> Option<At<i64>> {
        let number = self.get(key)?.as_integer();
        self.told(key, number.filter(|number| range.contains(number)).ok_or("out of range"))
    }

    fn string(&self, key: &str) -> Option<At<String>> {
        let text = self.get(key)?.as_str().map(str::to_owned);
        self.told(key, text.ok_or("no text"))
    }

    fn parsed<T, E: Display>(
        &self,
        key: &str,
        parse: impl FnOnce(&str) -> Result<T, E>,
    ) -> Option<At<T>> {
        let text = self.string(key)?.value;
        self.told(key, parse(&text))
    }

    fn parsed_literal<T, E: Display>(
        &self,
        key: &str,
        parse: impl FnOnce(&str) -> Result<T, E>,
    ) -> Option<At<T>> {
        let text = Self::literal(self.get(key)?)?;
        self.told(key, parse(&text))
    }

    fn one_of<T: Copy>(&self, key: &str, words: &[(&str, T)]) -> Option<At<T>> {
        let text = self.string(key)?.value;
        let found = words.iter().find(|(word, _)| *word == text).map(|(_, value)| *value);
        self.told(key, found.ok_or("none of its words"))
    }

    fn texts(&self, key: &str) -> Option<Vec<At<String>>> {
        let texts = self.list(key)?.iter().filter_map(Value::as_str);
        Some(texts.map(|text| self.at(key, text.to_owned())).collect())
    }

    fn literals(&self, key: &str) -> Vec<At<String>> {
        let all = self.list(key).into_iter().flatten().filter_map(Self::literal);
        all.map(|text| self.at(key, text)).collect()
    }

    fn items(&self, key: &str) -> Option<usize> {
        self.list(key).map(Vec::len)
    }

    fn tables(&self, key: &str) -> Vec<Self> {
        let tables = self.list(key).into_iter().flatten().filter_map(Value::as_table);
        tables.map(|table| self.inner(key, table)).collect()
    }

    fn table(&self, key: &str) -> Option<Self> {
        let table = self.get(key)?.as_table()?;
        Some(self.inner(key, table))
    }

    fn finish(self) {}

    fn unit(&self) -> Unit {
        Unit::Inch
    }

    fn part(&self) -> PartKind {
        self.part
    }

    fn check_of(&self, name: &At<String>, measures: &[&str]) -> Option<NamedCheck> {
        let found = (0..)
            .zip(OTHERS)
            .find(|(_, (known, word, _))| *known == name.value && measures.contains(word));
        if found.is_none() {
            self.wrong(format!("error: {} is no {}", name.value, measures.join(" or ")));
        }
        found.map(|(place, (_, word, unit))| NamedCheck {
            at: CheckAt { part: place, check: 0 },
            unit: unit.map(str::to_owned),
            measures: word.to_owned(),
        })
    }

    fn meant(&self, _word: &str, known: &BTreeSet<String>) -> String {
        known.iter().cloned().collect::<Vec<_>>().join(", ")
    }
}
