//! The question of a check that is answered, in the same words on every line and screen.

use serde::{Deserialize, Serialize};

use bench::plan::{Asks, Check};
use bench::words::typed;

/// The question of a check that is answered. For every other check all fields are empty.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schemas", derive(schemars::JsonSchema))]
pub struct AsksLine {
    /// The question, as in the plan.
    #[serde(default)]
    pub question: Option<String>,
    /// The answers that may be given; empty where a value is written down.
    #[serde(default)]
    pub answers: Vec<String>,
    /// The unit of the number asked for, where the plan states one.
    #[serde(default)]
    pub answer_unit: Option<String>,
}

impl From<&Asks> for AsksLine {
    fn from(asks: &Asks) -> Self {
        let Asks { question, answers, unit, .. } = asks.clone();
        Self { question: Some(question), answers, answer_unit: unit }
    }
}

impl From<&Check> for AsksLine {
    fn from(check: &Check) -> Self {
        check.measures.asks().as_ref().map_or_else(Self::default, Self::from)
    }
}

impl AsksLine {
    /// What may be answered: `Answer face-a or face-b`, `A number in Nm`, `A word or a number`.
    #[must_use]
    pub fn permitted(&self) -> String {
        let answers: Vec<String> = self.answers.iter().map(|answer| typed(answer)).collect();
        match (answers.as_slice(), &self.answer_unit) {
            ([], Some(unit)) => format!("A number in {unit}"),
            ([], None) => "A word or a number".to_owned(),
            ([only], _) => format!("Answer {only}"),
            ([first @ .., last], _) => format!("Answer {} or {last}", first.join(", ")),
        }
    }

    /// The command to type: `tenths confirm ring/mark ANSWER`.
    #[must_use]
    pub fn command(&self, part: &str, check: &str) -> String {
        let (verb, what) = match (self.answers.is_empty(), &self.answer_unit) {
            (false, _) => ("confirm", "ANSWER"),
            (true, Some(_)) => ("record", "NUMBER"),
            (true, None) => ("record", "VALUE"),
        };
        format!("tenths {verb} {} {what}", typed(&format!("{part}/{check}")))
    }

    /// The question, the possible answers and the command, as sentences; `None` where nothing is asked.
    #[must_use]
    pub fn sentence(&self, part: &str, check: &str) -> Option<String> {
        let question = self.question.as_ref()?.trim_end();
        let end = if question.ends_with(['?', '.', '!', ':']) { "" } else { "." };
        let (permitted, command) = (self.permitted(), self.command(part, check));
        Some(format!("{question}{end} {permitted} ({command})."))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_question_says_what_may_be_answered_and_how() {
        let asks = |question: &str, answers: &[&str], unit: Option<&str>| AsksLine {
            question: Some(question.to_owned()),
            answers: answers.iter().map(|answer| (*answer).to_owned()).collect(),
            answer_unit: unit.map(str::to_owned),
        };
        let says = |asks: &AsksLine| asks.sentence("nut", "mark").unwrap();
        assert_eq!(
            says(&asks("which face?", &["face-a", "face-b", "it has none"], None)),
            "which face? Answer face-a, face-b or 'it has none' (tenths confirm nut/mark ANSWER)."
        );
        assert_eq!(
            says(&asks("torque", &[], Some("Nm"))),
            "torque. A number in Nm (tenths record nut/mark NUMBER)."
        );
        assert_eq!(
            says(&asks("serial number", &[], None)),
            "serial number. A word or a number (tenths record nut/mark VALUE)."
        );
        assert_eq!(AsksLine::default().sentence("nut", "mark"), None);
    }
}
