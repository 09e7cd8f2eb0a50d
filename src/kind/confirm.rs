//! A question with a chosen answer.

use std::collections::BTreeSet;

use quantity::Figure;

use super::judged::Judged;
use super::keys::{self, At, Keys, MUST, ReadCheck, described, limits, untouched};
use super::layout::Layout;
use super::series::{Beside, Series};
use super::traits::{
    Asks, Bar, By, Drawing, Kind, Own, Setting, Spoiled, Sum, Together, Traits, Wedge, was_ground,
};

/// A question with a chosen answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ask {
    /// The question.
    pub question: String,
    /// The possible answers; empty where any answer will do.
    pub answers: Vec<String>,
    /// The answers that conform; where empty the answer is recorded and not judged.
    pub good: Vec<String>,
}

impl Ask {
    /// Reads a check of this kind.
    pub(crate) fn read(keys: &impl Keys) -> ReadCheck {
        let unjudged = limits::Judged::nothing(keys);
        untouched(keys, &Self::TRAITS, (Some(unjudged), None), ask_of(keys))
    }

    pub(crate) const TRAITS: Traits = Traits {
        word: "confirm",
        about: "A chosen answer to a question.",
        named: "answer",
        keys: &[&described! {
            "question" = "what is asked", MUST;
            "answers" = "`[\"face-a\", \"face-b\"]`", "yes and no";
            "good" = "those that conform", "the answer is kept, not judged";
        }],
        by: By::Choice,
        step: None,
        held: Some("looked at"),
        round: "circle",
        goes_round: false,
        turns: false,
        sizes: false,
        between: None,
        setting: Setting::Nothing,
        wedge: Wedge::Untold,
        cannot_prove: |_| None,
        spoiled: Spoiled::ByNone,
        bar: Bar::None,
        sum: Sum::None,
        drawing: Drawing::None,
        other_metal: was_ground,
        once_more: |typed| format!("ask the question again with `tenths remeasure again {typed}`"),
    };
}

impl Kind for Ask {
    fn traits(&self) -> &'static Traits {
        &Self::TRAITS
    }

    fn layout(&self) -> Layout<'_> {
        Layout::Nowhere
    }

    fn own(&self) -> Own<'_> {
        let Self { question, answers, good } = self.clone();
        Own {
            asks: Some(Asks { question, answers, good, unit: None, columns: None }),
            names: Vec::new(),
            made_of: Vec::new(),
            together: Together::Nothing,
            arrangement: None,
            size: None,
            master_u: None,
            thermometer: None,
            log: None,
        }
    }

    fn judge(&self, _of: &Series<'_>, _known: &dyn Beside) -> Judged {
        Judged::default()
    }

    fn so_far(&self, _of: &Series<'_>) -> Option<Figure> {
        None
    }
}

/// Words that turn a question about what is there into a question whether it is good enough.
const WHETHER: [&str; 3] = ["right", "ok", "correct"];

/// Reads a question with a chosen answer.
fn ask_of(keys: &impl Keys) -> Option<Ask> {
    let question = keys::question(keys);
    let answers = answers(keys);
    keys.must_have("good", "write good = [\"yes\"], say: the answers that conform");
    let good = keys.texts("good");
    let (question, answers, good) = (question?, answers?, good?);
    let known: BTreeSet<String> = answers.iter().cloned().collect();
    if good.is_empty() {
        let hint = "write good = [\"yes\"], say: the answers that conform";
        keys.error(keys.line_of("good"), "no answer is good", hint);
    }
    for good in good.iter().filter(|good| !known.contains(&good.value)) {
        let text = format!("\"{}\" is none of the answers", good.value);
        keys.error(good.line, text, keys.meant(&good.value, &known));
    }
    whether(keys, &question, &known);
    let good = good.into_iter().map(|good| good.value).collect();
    Some(Ask { question: question.value, answers, good })
}

/// The possible answers: at least two, or yes and no where none are written.
fn answers(keys: &impl Keys) -> Option<Vec<String>> {
    if !keys.has("answers") {
        return Some(vec!["yes".to_owned(), "no".to_owned()]);
    }
    let written = keys.texts("answers")?;
    let answers: BTreeSet<&str> = written.iter().map(|answer| answer.value.as_str()).collect();
    let line = keys.line_of("answers");
    if written.len() < 2 {
        let hint = "write answers = [\"thrust side\", \"open side\"], say";
        keys.error(line, "answers should be at least two", hint);
    } else if answers.len() < written.len() {
        keys.error(line, "an answer is there twice", "each answer once");
    } else if let Some(empty) = written.iter().find(|answer| answer.value.trim().is_empty()) {
        keys.error(empty.line, "an answer is empty", "write what would be said");
    }
    Some(written.into_iter().map(|answer| answer.value).collect())
}

/// Warns of a question such as "Is it right?", which is answered with yes by habit.
fn whether(keys: &impl Keys, question: &At<String>, answers: &BTreeSet<String>) {
    let yes_no = answers.len() == 2
        && answers.iter().all(|answer| ["yes", "no"].contains(&answer.to_lowercase().as_str()));
    let lower = question.value.to_lowercase();
    let asks = lower.split(|c: char| !c.is_alphanumeric()).any(|word| WHETHER.contains(&word));
    if yes_no && asks {
        let text = "a question whether all is right is answered with yes by habit";
        let hint = "ask which, where or how, not whether it is right";
        keys.warning(question.line, text, hint);
    }
}
