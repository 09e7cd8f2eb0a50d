//! The words on the screen of a bench, for whoever draws it: on a terminal or in a browser. Which positions of a ring
//! are shown, and what each of them is.

use bench::row::Level;
use judgement::Word;
use wire::{
    GaugeState, Next, PositionState, ProofWord, StorageState, View, ViewCheck, ViewGauge,
    ViewPosition, ViewProof, ViewProofEnd, ViewVerdict, hands_words, printable,
};

use crate::{Ink, metal_words, setup_words, word_now, word_of};

/// What a position of a ring is on the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// It has no reading.
    Open,
    /// It has a reading.
    Taken,
    /// It was left out with a reason.
    Skipped,
    /// It is touched next.
    Next,
    /// A question asks to touch it again.
    Asked,
}

/// What a position of a check is.
#[must_use]
pub fn mark_of(check: &ViewCheck, one: &ViewPosition) -> Mark {
    let next = check.next_position == Some(one.position);
    match one.state {
        PositionState::Asked => Mark::Asked,
        _ if next => Mark::Next,
        PositionState::Open => Mark::Open,
        PositionState::Taken => Mark::Taken,
        PositionState::Skipped => Mark::Skipped,
    }
}

/// The positions of the circle that is being touched; all of them where they are in a row.
#[must_use]
pub fn on_circle(check: &ViewCheck) -> Vec<ViewPosition> {
    let per_circle = check.per_circle.max(1);
    if per_circle < 2 {
        return check.positions.clone();
    }
    let circle = circle_of(check);
    let here = |one: &&ViewPosition| one.position / per_circle == circle;
    check.positions.iter().filter(here).cloned().collect()
}

/// The circle that is being touched, counted from 0; when nothing is left to touch, the one with the high
/// side.
#[must_use]
pub fn circle_of(check: &ViewCheck) -> u32 {
    let newest = check.last_touch.as_ref().and_then(|touch| touch.position);
    let high = check.verdict.as_ref().and_then(|verdict| verdict.high_position);
    check.next_position.or(high).or(newest).unwrap_or(0) / check.per_circle.max(1)
}

/// Which of several circles that is, in words: `radius 2 of 3`; `None` where there is one.
#[must_use]
pub fn circle_words(check: &ViewCheck) -> Option<String> {
    let rings = (check.of / check.touches.max(1)).checked_div(check.per_circle).unwrap_or(1);
    let name = check.measures.round;
    (rings > 1).then(|| format!("{name} {} of {rings}", circle_of(check) + 1))
}

/// The word for what a proof came to, and its colour.
#[must_use]
pub const fn proof_word(end: &ViewProofEnd) -> (&'static str, Ink) {
    match end.word {
        ProofWord::Proven => ("PROVEN", Ink::Green),
        ProofWord::NotProven => ("NOT PROVEN", Ink::Red),
        ProofWord::OffChart => ("MASTER OFF", Ink::Red),
        ProofWord::Ended => ("GIVEN UP", Ink::Yellow),
    }
}

/// Why nothing can be taken now, as a large call, and what to do; `None` where nothing holds a touch up.
#[must_use]
pub fn held_up<'a>(check: &ViewCheck, why: &'a str) -> Option<(&'a str, &'a str)> {
    check.waits.as_ref()?;
    let end = why.find(['.', '?'])?;
    // A question keeps its question mark.
    let call = why.get(..end + usize::from(why[end..].starts_with('?')))?;
    Some((call, why.get(end + 1..)?.trim_start()))
}

/// What stands in the place of a value that is not there: who keys values in is told how.
#[must_use]
pub fn no_value(view: &View) -> &'static str {
    let by_eye = |gauge: &ViewGauge| gauge.state == GaugeState::NoPort;
    let keyed = !view.gauges.is_empty() && view.gauges.iter().all(by_eye);
    if keyed { "Key it in: tenths enter VALUE" } else { "No value yet." }
}

/// The word of a verdict in capitals, and its colour.
#[must_use]
pub fn verdict_word(verdict: &ViewVerdict) -> (String, Ink) {
    if metal_words(verdict.standing).is_some() {
        return (word_now(verdict.verdict, verdict.standing), Ink::Yellow);
    }
    let close = verdict.reasons.is_empty() && verdict.value.is_some();
    let word = match verdict.verdict {
        Word::DoesNotConform => "OUT".to_owned(),
        Word::Undecided if close => "TOO CLOSE".to_owned(),
        word @ (Word::Conforms | Word::Undecided | Word::Incomplete) => word_of(word),
    };
    (word, Ink::of(verdict.verdict))
}

/// `0.00034 in, limit 0.0001, ±0.000026. High near the 90 mark. Because: warm.`
#[must_use]
pub fn verdict_line(verdict: &ViewVerdict) -> String {
    let assumed = if verdict.assumed { " assumed" } else { "" };
    // An answer has no unit and no limit: it is a good one, or the line says which would be.
    let answer = verdict.uncertainty.is_none();
    let unit = if answer { String::new() } else { format!(" {}", verdict.unit) };
    let against = if answer { "it should be" } else { "limit" };
    let good = answer && verdict.verdict == Word::Conforms;
    let figures = [
        verdict.value.as_ref().map(|value| format!("{value}{unit}")),
        verdict.limit.as_ref().filter(|_| !good).map(|limit| format!("{against} {limit}")),
        verdict.uncertainty.as_ref().map(|spread| format!("±{spread}{assumed}")),
    ];
    let figures: Vec<String> = figures.into_iter().flatten().collect();
    let because: Vec<&str> = verdict.reasons.iter().map(|reason| reason.text()).collect();
    let because = because.join(", ").replace('-', " ");
    let gone = metal_words(verdict.standing).is_some();
    let was = gone.then(|| format!("It was {} before", word_of(verdict.verdict)));
    let sentences = [
        was,
        Some(figures.join(", ")).filter(|text| !text.is_empty()),
        verdict.high_mark_deg.map(|mark| format!("High near the {mark} mark")),
        Some(format!("Because: {because}")).filter(|_| !verdict.reasons.is_empty()),
    ];
    let told: Vec<String> = sentences.into_iter().flatten().map(|text| text + ".").collect();
    printable(&told.join(" "))
}

/// The verdict on the screen; none while further touches are due that will replace it.
#[must_use]
pub fn standing(check: &ViewCheck) -> Option<&ViewVerdict> {
    let overtaken =
        matches!(check.next, Next::Position | Next::Closure | Next::Master | Next::Seat);
    check.verdict.as_ref().filter(|_| !overtaken)
}

/// The gauge whose value is shown large: that of the check, or where it names none, the one that sent last.
#[must_use]
pub fn main_gauge(view: &View) -> Option<&ViewGauge> {
    let of_check = || view.check.as_ref().and_then(|check| check.gauge.as_ref());
    let named = view.proof.as_ref().map(|proof| &proof.gauge).or_else(of_check);
    let own = view.gauges.iter().find(|gauge| Some(&gauge.name) == named);
    let newest = || {
        let spoke = view.gauges.iter().filter(|gauge| gauge.last_age_ms.is_some());
        spoke.min_by_key(|gauge| gauge.last_age_ms)
    };
    if named.is_some() {
        // Another gauge than that of the check says nothing about the check.
        return own;
    }
    newest().or(view.gauges.first())
}

/// The large value and the text beside it: `0.00012` and `in`. Where the gauge sends nothing, the last
/// value that was keyed in; where the gauge cannot be read, that fact and its name. `None` where there is
/// no value yet.
#[must_use]
pub fn live_value(view: &View) -> Option<(String, String)> {
    let gauge = main_gauge(view);
    let named = |word: &str, gauge: &ViewGauge| (word.to_owned(), printable(&gauge.name));
    match gauge.map(|gauge| (gauge.state, gauge)) {
        Some((GaugeState::Absent, gauge)) => return Some(named("GAUGE NOT THERE", gauge)),
        Some((GaugeState::Lost, gauge)) => return Some(named("GAUGE GONE", gauge)),
        Some((GaugeState::Refused, gauge)) => return Some(named("GAUGE REFUSED", gauge)),
        Some((GaugeState::Live | GaugeState::NoPort, _)) | None => {}
    }
    let proof = view.proof.as_ref();
    let keyed = match proof {
        Some(proof) => proof.last_touch.as_ref(),
        None => view.check.as_ref().and_then(|check| check.last_touch.as_ref()),
    };
    let last = gauge.and_then(|gauge| gauge.last.as_deref());
    let last = last.or(keyed.map(|touch| touch.value.as_str()))?;
    let last = printable(last);
    let (number, unit) = last.split_once(' ').unwrap_or((&last, ""));
    Some((number.to_owned(), unit.to_owned()))
}

/// Whether the gauge whose value is shown large can be read, or need not be.
#[must_use]
pub fn is_readable(view: &View) -> bool {
    let fine = |gauge: &ViewGauge| matches!(gauge.state, GaugeState::Live | GaugeState::NoPort);
    main_gauge(view).is_none_or(fine)
}

/// `plate 3 s ago`, the worst first where one cannot be read.
#[must_use]
pub fn gauge_ages(view: &View, since_ms: u64) -> String {
    let one = |gauge: &ViewGauge| {
        let name = printable(&gauge.name);
        let state = match gauge.state {
            GaugeState::Absent => " NOT THERE",
            GaugeState::Lost => " GONE",
            GaugeState::Refused => " MAY NOT BE OPENED",
            GaugeState::Live | GaugeState::NoPort => "",
        };
        let age = gauge.last_age_ms.map_or_else(
            || "no value yet".to_owned(),
            |age| age_words(age.saturating_add(since_ms)),
        );
        format!("{name}{state} {age}")
    };
    let fine = |gauge: &&ViewGauge| matches!(gauge.state, GaugeState::Live | GaugeState::NoPort);
    let (fine, troubled): (Vec<_>, Vec<_>) = view.gauges.iter().partition(fine);
    troubled.into_iter().chain(fine).map(one).collect::<Vec<_>>().join("   ")
}

/// An age in words that change no more often than needed.
fn age_words(ms: u64) -> String {
    match ms / 1000 {
        0 => "now".to_owned(),
        seconds @ 1..60 => format!("{seconds} s ago"),
        seconds @ 60..3600 => format!("{} min ago", seconds / 60),
        seconds @ 3600..86_400 => format!("{} h ago", seconds / 3600),
        seconds => format!("{} days ago", seconds / 86_400),
    }
}

/// Something that a person has to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Call {
    /// In a sentence.
    pub text: String,
    /// How urgent it is.
    pub ink: Ink,
}

impl Call {
    /// Something that cannot wait.
    #[must_use]
    pub const fn loud(text: String) -> Self {
        Self { text, ink: Ink::Red }
    }

    const fn quiet(text: String) -> Self {
        Self { text, ink: Ink::Yellow }
    }
}

/// What a person has to do, the worst first: the record, then the alerts.
#[must_use]
pub fn calls(view: &View) -> Vec<Call> {
    let why = view.storage_why.as_deref().unwrap_or_default();
    let storage = match view.storage {
        StorageState::Fine => None,
        StorageState::Failing => Some(Call::loud(format!("THE RECORD CANNOT BE WRITTEN. {why}"))),
        StorageState::Low => {
            Some(Call::quiet(format!("Space for the record is running out. {why}")))
        }
    };
    let alerts = view.alerts.iter().map(|alert| match alert.level {
        Level::Interrupt => Call::loud(printable(&format!("!! {}", alert.text))),
        Level::Note | Level::Log => Call::quiet(printable(&alert.text)),
    });
    storage.into_iter().chain(alerts).collect()
}

/// `J-1042  inner-spacer/face-a, attempt 2 (ground)`.
#[must_use]
pub fn title(view: &View) -> String {
    if let Some(proof) = &view.proof {
        return proof_title(proof);
    }
    let Some(job) = &view.job else { return "no job in use".to_owned() };
    let Some(check) = &view.check else { return printable(&format!("{job}  no check active")) };
    let attempt = match check.attempt {
        1 => String::new(),
        attempt => format!(", attempt {attempt} ({})", check.reason.text()),
    };
    printable(&format!("{job}  {}/{}{attempt}", check.part, check.name))
}

/// `step 5 of 10: grind, 3 of 5`; nothing without a job.
#[must_use]
pub fn step(view: &View) -> String {
    view.stands.as_ref().map_or_else(String::new, |stands| printable(&stands.words))
}

/// `plate: proof, 4 of 12`.
fn proof_title(proof: &ViewProof) -> String {
    let how_far = if proof.end.is_some() {
        "proof".to_owned()
    } else {
        format!("proof, {} of {} taken", proof.taken, proof.of)
    };
    printable(&format!("{}: {how_far}", proof.gauge))
}

/// `M. Weber at rig / bench-1`: the person, then the place.
#[must_use]
pub fn place(view: &View) -> String {
    let hands = hands_words(view.person.as_deref(), view.by.as_deref());
    let hands = hands.map_or_else(String::new, |hands| format!("{hands} at "));
    printable(&format!("{hands}{} / {}", view.bench, view.station))
}

/// `parallelism on the plate`; for a check that is answered, its question.
#[must_use]
pub fn subtitle(check: &ViewCheck) -> String {
    let measures = check.measures.text().replace('-', " ");
    if let Some(question) = &check.asks.question {
        return printable(&format!("{measures}: {question}"));
    }
    let held = check.measures.held.unwrap_or(setup_words(check.setup));
    let held = if check.of > 0 { held } else { "" };
    format!("{measures} {held}").trim_end().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use judgement::Reason;
    use quantity::Unit;

    #[test]
    fn a_verdict_is_told_as_in_the_feed() {
        let verdict = ViewVerdict {
            verdict: Word::DoesNotConform,
            unit: Unit::Inch,
            value: Some("0.00034".to_owned()),
            limit: Some("0.0001".to_owned()),
            uncertainty: Some("0.000026".to_owned()),
            high_mark_deg: Some(90.0),
            ..ViewVerdict::default()
        };
        assert_eq!(verdict_word(&verdict).0, "OUT");
        let good = ViewVerdict {
            verdict: Word::Conforms,
            value: Some("face-a".to_owned()),
            limit: Some("face-a".to_owned()),
            uncertainty: None,
            high_mark_deg: None,
            ..verdict.clone()
        };
        assert_eq!(verdict_line(&good), "face-a.");
        let bad =
            ViewVerdict { verdict: Word::DoesNotConform, value: Some("face-b".to_owned()), ..good };
        assert_eq!(verdict_line(&bad), "face-b, it should be face-a.");
        assert_eq!(
            verdict_line(&verdict),
            "0.00034 in, limit 0.0001, ±0.000026. High near the 90 mark."
        );
        let close = ViewVerdict { verdict: Word::Undecided, ..verdict.clone() };
        assert_eq!(verdict_word(&close).0, "TOO CLOSE");
        let held = ViewVerdict { reasons: vec![Reason::NotClosed], ..close };
        assert_eq!(verdict_word(&held).0, "UNDECIDED");
        assert!(verdict_line(&held).ends_with("Because: not closed."));
    }

    #[test]
    fn ages_are_as_coarse_as_they_are_old() {
        let words = [900, 59_999, 60_000, 7_200_000, 200_000_000].map(age_words);
        assert_eq!(words, ["now", "59 s ago", "1 min ago", "2 h ago", "2 days ago"]);
    }
}
