//! The words and numbers that stand for choices in the database. They never change their meaning.

use bench::row::{AlertKind, AttemptReason, Ending, Lack, Level, Question, Stage, State};
use bench::setup::GaugeKind;
use gauge::{Capture, Sign};
use judgement::{Rule, Word};
use quantity::Unit;

const STATES: [State; 8] = [
    State::Placed,
    State::Closure,
    State::Master,
    State::HalfTurn,
    State::Void,
    State::Repeat,
    State::Unclaimed,
    State::Suspect,
];

/// The number of a state, 0 to 7.
pub(super) const fn state_code(state: State) -> i64 {
    match state {
        State::Placed => 0,
        State::Closure => 1,
        State::Master => 2,
        State::HalfTurn => 3,
        State::Void => 4,
        State::Repeat => 5,
        State::Unclaimed => 6,
        State::Suspect => 7,
    }
}

/// The state of a number.
pub fn state(code: i64) -> Option<State> {
    STATES.get(usize::try_from(code).ok()?).copied()
}

/// The unit of a symbol.
pub fn unit(text: &str) -> Option<Unit> {
    [Unit::Inch, Unit::Millimetre, Unit::Micrometre].into_iter().find(|unit| unit.symbol() == text)
}

/// Why an attempt began, of its word.
pub fn attempt_reason(text: &str) -> Option<AttemptReason> {
    use AttemptReason::{Again, Cleaned, First, Ground};
    [First, Ground, Cleaned, Again].into_iter().find(|reason| reason.text() == text)
}

/// The word of an ending.
pub const fn ending_text(ending: Ending) -> &'static str {
    match ending {
        Ending::Complete => "complete",
        Ending::Stopped => "stopped",
    }
}

/// The ending of a word.
pub fn ending(text: &str) -> Option<Ending> {
    [Ending::Complete, Ending::Stopped].into_iter().find(|ending| ending_text(*ending) == text)
}

/// The stage of a word.
pub fn stage(text: &str) -> Option<Stage> {
    [Stage::Found, Stage::Built].into_iter().find(|stage| stage.text() == text)
}

/// The level of a word.
pub fn level(text: &str) -> Option<Level> {
    [Level::Log, Level::Note, Level::Interrupt].into_iter().find(|level| level.text() == text)
}

/// The kind of an alert, of its word.
pub fn alert_kind(text: &str) -> Option<AlertKind> {
    AlertKind::ALL.into_iter().find(|kind| kind.text() == text)
}

/// What is wrong with a check.
pub fn lack(text: &str) -> Option<Lack> {
    Lack::ALL.into_iter().find(|lack| lack.text() == text)
}

pub(super) const fn gauge_kind_text(kind: GaugeKind) -> &'static str {
    match kind {
        GaugeKind::Indicator => "indicator",
        GaugeKind::Height => "height",
        GaugeKind::Dial => "dial",
    }
}

pub(super) fn gauge_kind(text: &str) -> Option<GaugeKind> {
    use GaugeKind::{Dial, Height, Indicator};
    [Indicator, Height, Dial].into_iter().find(|kind| gauge_kind_text(*kind) == text)
}

pub(super) const fn sign_text(sign: Sign) -> &'static str {
    match sign {
        Sign::Plus => "+",
        Sign::Minus => "-",
    }
}

pub(super) fn sign(text: &str) -> Option<Sign> {
    [Sign::Plus, Sign::Minus].into_iter().find(|sign| sign_text(*sign) == text)
}

pub(super) const fn capture_text(capture: Capture) -> &'static str {
    match capture {
        Capture::Send => "send",
        Capture::Settle => "settle",
        Capture::Sweep => "sweep",
        Capture::Request => "request",
    }
}

pub(super) fn capture(text: &str) -> Option<Capture> {
    use Capture::{Request, Send, Settle, Sweep};
    [Send, Settle, Sweep, Request].into_iter().find(|capture| capture_text(*capture) == text)
}

/// The word of a decision rule.
pub const fn rule_text(rule: Rule) -> &'static str {
    match rule {
        Rule::Guarded => "guarded",
        Rule::Simple => "simple",
    }
}

/// The decision rule of a word.
pub fn rule(text: &str) -> Option<Rule> {
    [Rule::Guarded, Rule::Simple].into_iter().find(|rule| rule_text(*rule) == text)
}

/// How a verdict word is stored.
pub const fn word_text(word: Word) -> &'static str {
    match word {
        Word::Conforms => "conforms",
        Word::DoesNotConform => "does-not-conform",
        Word::Undecided => "undecided",
        Word::Incomplete => "incomplete",
    }
}

/// The verdict word of its stored form.
pub fn word(text: &str) -> Option<Word> {
    use Word::{Conforms, DoesNotConform, Incomplete, Undecided};
    [Conforms, DoesNotConform, Undecided, Incomplete]
        .into_iter()
        .find(|word| word_text(*word) == text)
}

/// A question as text: `closure`, `master`, `touch 3`, `half-turn 2 6`.
pub fn question_text(question: Question) -> String {
    match question {
        Question::Closure => "closure".to_owned(),
        Question::Master => "master".to_owned(),
        Question::Touch(position) => format!("touch {position}"),
        Question::HalfTurn { high, low } => format!("half-turn {high} {low}"),
    }
}

/// The question of its text.
pub fn question(text: &str) -> Option<Question> {
    let mut words = text.split(' ');
    let what = words.next()?;
    let mut number = || words.next()?.parse().ok();
    match what {
        "closure" => Some(Question::Closure),
        "master" => Some(Question::Master),
        "touch" => Some(Question::Touch(number()?)),
        "half-turn" => Some(Question::HalfTurn { high: number()?, low: number()? }),
        _ => None,
    }
}
