//! The sentences in replies.

use crate::AsksLine;
use bench::row::{HighSpot, Question, Stage, State};
use bench::series::{Nth, Touch};
use bench::spots::{Opposing, Together};
use bench::words::spots::{self, opposing};
use bench::words::{asked_for, seat, typed};
use bench::{Left, Measuring, Seq};
use judgement::Word;
use quantity::{Name, Quoted};

pub(super) fn answered(target: &str, answer: &str, word: Option<Word>) -> String {
    match word {
        Some(word) => {
            let word = word.text().replace('-', " ").to_uppercase();
            format!("{target}: {answer}. {word}.")
        }
        None => format!("{target}: {answer}, written down."),
    }
}

pub(super) fn stacked(
    stage: Stage,
    part: &str,
    (placed, of): (u32, Option<u32>),
    next: Option<&(Name, Opposing)>,
) -> String {
    let stage = stage.text();
    let parts = match (placed, of) {
        (_, Some(of)) => format!("{placed} of {of} parts"),
        (1, None) => "1 part".to_owned(),
        (_, None) => format!("{placed} parts"),
    };
    let next = next.map_or_else(String::new, |(part, of)| format!(" {}", opposing(part, of)));
    format!("{part}. The stack as {stage} has {parts}.{next}")
}

pub(super) fn spotted(part: &str, spot: Option<&HighSpot>, of: &Together) -> String {
    let what = spot.map_or_else(|| "no high spot is marked any more".to_owned(), spots::spot);
    let together = spots::together(of).map_or_else(String::new, |told| format!(" {told}"));
    format!("{part}: {what}.{together}")
}

pub(super) fn all_seen(count: usize, job: Option<&Name>) -> String {
    let of = job.map_or_else(String::new, |job| format!(" of job {job}"));
    match count {
        0 => format!("No alert{of} was open that nobody had seen."),
        1 => format!("1 alert{of} is marked as seen."),
        many => format!("{many} alerts{of} are marked as seen."),
    }
}

pub(super) fn entered(count: usize, measuring: &Measuring) -> String {
    let taken = match count {
        1 => "One reading taken.".to_owned(),
        many => format!("{many} readings taken."),
    };
    // Missing digits are mentioned at once, before they cost a verdict.
    let mind = measuring.gauge_says.as_ref().map_or(String::new(), |said| format!(" {said}"));
    format!("{taken}{mind} {}", raised_and_next(measuring))
}

pub(super) fn taken(value: Quoted, state: State, measuring: &Measuring) -> String {
    let next = raised_and_next(measuring);
    if state.counts() {
        return format!("{value} taken. {next}");
    }
    format!("{value} is kept as {}, and fills nothing. {next}", state.text())
}

pub(super) fn seated(deg: u32, taken_back: bool, measuring: &Measuring) -> String {
    let next = next_sentence(measuring);
    if taken_back {
        return format!("The bar was not seated again; it is still at {deg}. {next}");
    }
    format!("The bar is seated at {deg}. {next}")
}

pub(super) fn tap_sentence(tapped: u32, marks: u32, next_deg: u32) -> String {
    match tapped {
        0 => "The sweep was dropped; nothing of it was taken. Tap at mark 0 to begin again."
            .to_owned(),
        _ if tapped >= marks => "Go on turning. Tap at mark 0: it ends the turn.".to_owned(),
        _ => format!("Go on turning. Tap at mark {next_deg}."),
    }
}

pub(super) fn swept(samples: u32, state: State, measuring: &Measuring) -> String {
    let next = raised_and_next(measuring);
    if state.counts() {
        return format!("{samples} samples of one turn taken. {next}");
    }
    match state {
        State::Void => format!("The whole turn, {samples} samples, is taken back. {next}"),
        other @ (State::Placed
        | State::Closure
        | State::Middle
        | State::Master
        | State::HalfTurn
        | State::Repeat
        | State::Unclaimed
        | State::Suspect) => {
            format!("{samples} samples are kept as {}, and fill nothing. {next}", other.text())
        }
    }
}

quantity::worded! {
    /// What the next touch is.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum Next {
        /// A touch at `next_position`.
        Position = "position",
        /// Position 0 again, which closes the round.
        Closure = "closure",
        /// Position 0 again, half way round.
        Middle = "middle",
        /// The touch at `next_position` once more.
        Again = "again",
        /// A touch after the part was set back half a turn.
        HalfTurn = "half-turn",
        /// A touch on the master.
        Master = "master",
        /// A turn that is swept, tapped at its marks.
        Sweep = "sweep",
        /// Nothing is taken before the bar is said to be seated.
        Seat = "seat",
        /// No touch: the check asks for an answer.
        Answer = "answer",
        /// The series is over.
        Nothing = "nothing",
    }
}

/// What is touched next, in a word, and the position it belongs to.
#[must_use]
pub const fn next_words(next: Touch) -> (Next, Option<u32>) {
    match next {
        Touch::Master | Touch::Asked(Question::Master) => (Next::Master, None),
        Touch::Position(position) => (Next::Position, Some(position)),
        Touch::Middle => (Next::Middle, Some(0)),
        Touch::Closure | Touch::Asked(Question::Closure) => (Next::Closure, Some(0)),
        Touch::Asked(Question::Touch(position)) => (Next::Again, Some(position)),
        Touch::Asked(Question::HalfTurn { .. }) => (Next::HalfTurn, None),
        Touch::Sweep => (Next::Sweep, None),
        Touch::Seat { .. } => (Next::Seat, None),
        Touch::Answer => (Next::Answer, None),
        Touch::Nothing => (Next::Nothing, None),
    }
}

pub(super) fn measuring_sentence(measuring: &Measuring) -> String {
    let Measuring { part, check, attempt, .. } = measuring;
    let attempt = if *attempt == 1 { String::new() } else { format!(", attempt {attempt}") };
    let ground = measuring.ground.as_ref();
    let first = if ground.is_some() { "Ground: " } else { "" };
    let here = Some(format!("{first}{part}/{check}{attempt}."));
    let due = ground.filter(|due| !due.is_empty());
    let due = due.map(|due| format!("To be measured again: {}.", due.join(", ")));
    let left = measuring.left.iter().map(left_sentence);
    // A change of the metal is mentioned first.
    let mut told: Vec<String> = if ground.is_some() {
        here.into_iter().chain(due).chain(left).collect()
    } else {
        left.chain(here).collect()
    };
    told.extend(measuring.mind.iter().cloned());
    told.extend(measuring.gauge_says.clone());
    told.push(next_sentence(measuring));
    told.join(" ")
}

fn left_sentence(left: &Left) -> String {
    let Left { target, taken, of, ended } = left;
    let goes_on = if *ended {
        String::new()
    } else {
        format!(" `tenths measure {}` goes on with it.", typed(target))
    };
    format!("Left {target} incomplete: {taken} of {of}.{goes_on}")
}

/// The alerts that the newest touches raised, and what to do next; said once where both say the same.
fn raised_and_next(measuring: &Measuring) -> String {
    let next = next_sentence(measuring);
    let mut told = measuring.raised.clone();
    let said = match measuring.next {
        // Only the next sentence says where the position is.
        Touch::Asked(Question::Touch(_)) => Some(next.clone()),
        Touch::Asked(question) => Some(asked_for(question)),
        Touch::Master
        | Touch::Position(_)
        | Touch::Sweep
        | Touch::Middle
        | Touch::Closure
        | Touch::Seat { .. }
        | Touch::Answer
        | Touch::Nothing => None,
    };
    let said = said.is_some_and(|said| told.iter().any(|raised| raised.contains(&said)));
    told.extend(Some(next).filter(|_| !said));
    told.join(" ")
}

/// The sentence about what to do next.
pub(super) fn next_sentence(measuring: &Measuring) -> String {
    match measuring.next {
        Touch::Master => "Touch the master next.".to_owned(),
        Touch::Position(position) => {
            let place = measuring.place.as_ref().map_or_else(String::new, |at| format!(": {at}"));
            let nth = measuring.nth.map_or_else(String::new, |nth| nth_words(nth, &place));
            format!("Touch position {position} of {} next{place}{nth}.", measuring.positions)
        }
        Touch::Middle => "Touch position 0 again, half way round.".to_owned(),
        Touch::Closure => "Touch position 0 again to close the round.".to_owned(),
        Touch::Asked(Question::Closure) => "Touch position 0 once more.".to_owned(),
        Touch::Asked(Question::Master) => "Touch the master once more.".to_owned(),
        Touch::Asked(Question::Touch(position)) => {
            let place = measuring.place.as_ref().map_or_else(String::new, |at| format!(": {at}"));
            let nth = match measuring.nth {
                None => String::new(),
                Some(Nth { touch: 1, of }) => format!(", {of} times"),
                Some(nth) => nth_words(nth, &place),
            };
            format!("Touch position {position} again{place}{nth}.")
        }
        Touch::Seat { deg, .. } => {
            let place = measuring.place.as_ref();
            let place = place.map_or_else(String::new, |at| format!(" Then {at}."));
            format!("{}{place}", seat(deg))
        }
        Touch::Asked(Question::HalfTurn { high, low }) => format!(
            "Lift, wipe, set back half a turn round; then touch position {high} and position {low}."
        ),
        Touch::Sweep => "Turn slowly. Tap at mark 0 to begin the sweep.".to_owned(),
        Touch::Answer => {
            let asks = measuring.asks.as_ref().map(AsksLine::from);
            asks.and_then(|asks| asks.sentence(measuring.part.as_str(), measuring.check.as_str()))
                .unwrap_or_default()
        }
        Touch::Nothing => match &measuring.came_to {
            Some(came_to) => format!("Done. {came_to}"),
            None => "Done. Nothing more to touch.".to_owned(),
        },
    }
}

/// `: touch 2 of 3`; after a place that says which touch of a circle it is, `; touch 2 of 3 there`.
fn nth_words(nth: Nth, place: &str) -> String {
    let Nth { touch, of } = nth;
    if place.is_empty() {
        format!(": touch {touch} of {of}")
    } else {
        format!("; touch {touch} of {of} there")
    }
}

pub(super) fn works_at(station: &Name, person: Option<&Name>) -> String {
    match person {
        Some(person) => format!("{person} works at {station} from now on."),
        None => format!("Nobody in particular works at {station} from now on."),
    }
}

pub(super) fn stopped(incomplete: Option<Seq>, untouched: Option<&str>) -> String {
    match (incomplete, untouched) {
        (Some(_), _) => "Stopped before the last position. It counts as incomplete.".to_owned(),
        (None, Some(target)) => format!(
            "Left {target} before its first touch: there is nothing to judge. `tenths measure {target}` goes back to it."
        ),
        (None, None) => "Left the check.".to_owned(),
    }
}

pub(super) fn voided(reading: Seq, position: Option<u32>, measuring: Option<&Measuring>) -> String {
    let at = position.map_or(String::new(), |position| format!(" at position {position}"));
    let next = measuring.map_or(String::new(), |now| format!(" {}", next_sentence(now)));
    format!("Reading {reading}{at} is taken back.{next}")
}
