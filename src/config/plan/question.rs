//! What is asked of the person: a chosen answer, or a value without tolerance.

use std::collections::BTreeSet;

use crate::reader::{At, Table, hint_for};
use bench::plan::{Ask, Entry};

/// Words that turn a question about what is there into one about whether it will do.
const WHETHER: [&str; 3] = ["right", "ok", "correct"];

/// Reads a question with a chosen answer.
pub(super) fn confirm(table: &Table<'_>) -> Option<Ask> {
    let question = question(table);
    let answers = answers(table);
    table.must_have("good", "write good = [\"yes\"], say: the answers that conform");
    let good = table.texts("good");
    let (question, answers, good) = (question?, answers?, good?);
    let known: BTreeSet<String> = answers.iter().cloned().collect();
    let document = table.document();
    if good.is_empty() {
        let hint = "write good = [\"yes\"], say: the answers that conform";
        document.error(table.line_of("good"), "no answer is good", hint);
    }
    for good in good.iter().filter(|good| !known.contains(&good.value)) {
        let text = format!("\"{}\" is none of the answers", good.value);
        document.error(good.line, text, hint_for(&good.value, &known));
    }
    whether(table, &question, &known);
    let good = good.into_iter().map(|good| good.value).collect();
    Some(Ask { question: question.value, answers, good })
}

/// The answers that may be given: at least two, yes and no where none are written.
fn answers(table: &Table<'_>) -> Option<Vec<String>> {
    if !table.has("answers") {
        return Some(vec!["yes".to_owned(), "no".to_owned()]);
    }
    let written = table.texts("answers")?;
    let answers: BTreeSet<&str> = written.iter().map(|answer| answer.value.as_str()).collect();
    let (document, line) = (table.document(), table.line_of("answers"));
    if written.len() < 2 {
        let hint = "write answers = [\"thrust side\", \"open side\"], say";
        document.error(line, "answers should be at least two", hint);
    } else if answers.len() < written.len() {
        document.error(line, "an answer is there twice", "each answer once");
    } else if let Some(empty) = written.iter().find(|answer| answer.value.trim().is_empty()) {
        document.error(empty.line, "an answer is empty", "write what would be said");
    }
    Some(written.into_iter().map(|answer| answer.value).collect())
}

/// "Is it right?" is answered with yes by habit.
fn whether(table: &Table<'_>, question: &At<String>, answers: &BTreeSet<String>) {
    let yes_no = answers.len() == 2
        && answers.iter().all(|answer| ["yes", "no"].contains(&answer.to_lowercase().as_str()));
    let lower = question.value.to_lowercase();
    let asks = lower.split(|c: char| !c.is_alphanumeric()).any(|word| WHETHER.contains(&word));
    if yes_no && asks {
        let text = "a question whether all is right is answered with yes by habit";
        let hint = "ask which, where or how, not whether it is right";
        table.document().warning(question.line, text, hint);
    }
}

/// Reads a value without tolerance.
pub(super) fn entry(table: &Table<'_>) -> Option<Entry> {
    let unit = table.string("unit").map(|unit| unit.value);
    Some(Entry { question: question(table)?.value, unit })
}

fn question(table: &Table<'_>) -> Option<At<String>> {
    table.must_have("question", "write question = \"which face carries the mark?\", say");
    let question = table.string("question")?;
    if question.value.trim().is_empty() {
        table.document().error(question.line, "the question is empty", "");
        return None;
    }
    Some(question)
}
