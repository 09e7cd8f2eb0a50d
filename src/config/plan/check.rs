//! One check of a plan, read by its kind.

use std::collections::BTreeSet;
use std::fmt::Display;
use std::ops::RangeInclusive;

use super::Around;
use crate::reader::{At, Table, hint_for};
use crate::words::{Once, name};
use bench::plan::keys::{self, Keys, NamedCheck, ReadCheck};
use bench::plan::{Check, Measures, PartKind, Step};
use quantity::{Name, Unit};

/// Reads a check.
pub(super) fn read(table: Table<'_>, around: &Around<'_>, names: &mut Once) -> ReadCheck {
    let name = name(&table);
    if let Some(name) = &name {
        names.give(table.document(), name);
    }
    table.must_have("measures", "write measures = \"parallelism\", say");
    let words: Vec<_> = Measures::WORDS.iter().map(|(word, _)| (*word, *word)).collect();
    let measures = table.one_of("measures", &words);
    let keys = CheckKeys { table, around, name: name.map(|name| name.value) };
    let Some(measures) = measures else {
        // Without the kind it is not known which other keys belong here.
        keys::common(&keys);
        return None;
    };
    let step = step(&keys.table);
    let read = Measures::read(measures.value, &keys);
    keys.finish();
    let (check, lines) = read?;
    Some((Check { step: step.or(around.step), ..check }, lines))
}

/// The step of the job that a part or a check belongs to, where it is written.
pub(super) fn step(table: &Table<'_>) -> Option<Step> {
    let words = Step::ALL.map(|step| (step.text(), step));
    table.one_of("step", &words).map(|step| step.value)
}

/// The keys of a check as they stand in the file.
struct CheckKeys<'a> {
    table: Table<'a>,
    around: &'a Around<'a>,
    name: Option<Name>,
}

impl Keys for CheckKeys<'_> {
    fn name(&self) -> Option<Name> {
        self.name.clone()
    }

    fn line(&self) -> u32 {
        self.table.line()
    }

    fn line_of(&self, key: &str) -> u32 {
        self.table.line_of(key)
    }

    fn has(&self, key: &str) -> bool {
        self.table.has(key)
    }

    fn must_have(&self, key: &str, hint: &str) {
        self.table.must_have(key, hint);
    }

    fn error(&self, line: u32, text: impl Into<String>, hint: impl Into<String>) {
        self.table.document().error(line, text, hint);
    }

    fn warning(&self, line: u32, text: impl Into<String>, hint: impl Into<String>) {
        self.table.document().warning(line, text, hint);
    }

    fn boolean(&self, key: &str) -> Option<At<bool>> {
        self.table.boolean(key)
    }

    fn integer(&self, key: &str, range: RangeInclusive<i64>) -> Option<At<i64>> {
        self.table.integer(key, range)
    }

    fn string(&self, key: &str) -> Option<At<String>> {
        self.table.string(key)
    }

    fn parsed<T, E: Display>(
        &self,
        key: &str,
        parse: impl FnOnce(&str) -> Result<T, E>,
    ) -> Option<At<T>> {
        self.table.parsed(key, parse)
    }

    fn parsed_literal<T, E: Display>(
        &self,
        key: &str,
        parse: impl FnOnce(&str) -> Result<T, E>,
    ) -> Option<At<T>> {
        self.table.parsed_literal(key, parse)
    }

    fn one_of<T: Copy>(&self, key: &str, words: &[(&str, T)]) -> Option<At<T>> {
        self.table.one_of(key, words)
    }

    fn texts(&self, key: &str) -> Option<Vec<At<String>>> {
        self.table.texts(key)
    }

    fn literals(&self, key: &str) -> Vec<At<String>> {
        self.table.literals(key)
    }

    fn items(&self, key: &str) -> Option<usize> {
        self.table.items(key)
    }

    fn tables(&self, key: &str) -> Vec<Self> {
        let inner = |table| Self { table, around: self.around, name: None };
        self.table.tables(key).into_iter().map(inner).collect()
    }

    fn table(&self, key: &str) -> Option<Self> {
        let table = self.table.table(key)?;
        Some(Self { table, around: self.around, name: None })
    }

    fn finish(self) {
        self.table.finish();
    }

    fn unit(&self) -> Unit {
        self.around.unit
    }

    fn part(&self) -> PartKind {
        self.around.kind
    }

    fn check_of(&self, name: &At<String>, measures: &[&str]) -> Option<NamedCheck> {
        let named = self.around.index.check(self.table.document(), name, measures)?;
        Some(NamedCheck {
            at: named.at,
            unit: named.unit.map(str::to_owned),
            measures: named.measures.to_owned(),
        })
    }

    fn meant(&self, word: &str, known: &BTreeSet<String>) -> String {
        hint_for(word, known)
    }
}
