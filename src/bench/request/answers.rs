//! Questions that are answered and values that are written down; parts that are replaced.

use std::sync::Arc;

use judgement::Word;
use quantity::{Length, Name, Unit};

use crate::draft::{Answer, Draft};
use crate::fact::row::{AttemptReason, Body, Ending};
use crate::fact::seq::Seq;
use crate::plan::{Asks, CheckAt, Traits, WrittenRows};
use crate::reply::{Done, Refusal};
use crate::request::measure::Begin;
use crate::series::{Touch, next_touch};
use crate::state::Job;
use crate::state::pairs;
use crate::words;

/// The longest answer, in characters; anything longer belongs in a note.
const LONGEST: usize = 200;
/// The longest table of a few values, in characters.
const LONGEST_TABLE: usize = 2000;

impl Draft<'_> {
    /// `confirm PART/CHECK ANSWER`.
    pub(crate) fn confirm(&mut self, station: &Name, target: &str, answer: &str) -> Answer {
        let (job, state) = self.job_of(station)?;
        let at = Self::find(&state, target)?;
        let Some(asks) = asks(&state, at, Traits::is_chosen) else {
            return Err(Refusal::input(
                format!("{target} is not a question"),
                "`tenths confirm` answers checks that measure \"confirm\"",
            ));
        };
        let answer = chosen(&asks, answer)?;
        let newest = state.newest_at(at).map(|(id, attempt)| (id, Arc::clone(attempt)));
        let attempt = match newest {
            Some((id, attempt)) if attempt.ending.is_none() => id,
            Some((_, attempt)) if attempt.ending == Some(Ending::Complete) => {
                let before = attempt.answer.clone().unwrap_or_default();
                return Err(Refusal::input(
                    format!("{target} is answered already: {before}"),
                    format!(
                        "say why it is asked again: `tenths remeasure again {}`",
                        words::typed(target)
                    ),
                ));
            }
            Some(_) | None => self.answering(station, (job, at), AttemptReason::First)?,
        };
        self.push(Body::Answered { attempt, text: answer.clone() });
        self.end(attempt, Ending::Complete);
        let word = self.word_of(attempt);
        Ok(Done::Answered { target: target.to_owned(), text: answer, word })
    }

    /// `record PART/CHECK VALUE`.
    pub(crate) fn record(&mut self, station: &Name, target: &str, value: &str) -> Answer {
        let (job, state) = self.job_of(station)?;
        let at = Self::find(&state, target)?;
        let log = state.opened.plan.plan.at(at).and_then(|(_, check)| check.measures.own().log);
        if log.is_some() {
            return self.record_temperatures((&state, at), target, value);
        }
        let Some(asks) = asks(&state, at, Traits::is_written) else {
            return Err(Refusal::input(
                format!("{target} is not an entry"),
                "`tenths record` writes down checks that measure \"entry\"",
            ));
        };
        let value = written(&asks, target, value)?;
        no_such_heat(&state, at, target, &value)?;
        fits(&state, at, target, &value)?;
        let attempt = self.write_down(station, (job, &state), at, &value)?;
        let word = self.word_of(attempt);
        Ok(Done::Answered { target: target.to_owned(), text: value, word })
    }

    /// Writes a value down at an entry.
    pub(crate) fn write_down(
        &mut self,
        station: &Name,
        (job, state): (Seq, &Job),
        at: CheckAt,
        value: &str,
    ) -> Result<Seq, Refusal> {
        let waiting = state.newest_at(at).filter(|(_, attempt)| attempt.ending.is_none());
        let attempt = match (waiting, state.newest_at(at)) {
            (Some((id, _)), _) => id,
            (None, None) => self.answering(station, (job, at), AttemptReason::First)?,
            (None, Some(_)) => self.answering(station, (job, at), AttemptReason::Again)?,
        };
        self.push(Body::Answered { attempt, text: value.to_owned() });
        let judged = state.opened.plan.plan.at(at).is_some_and(|(_, check)| check.is_judged());
        if judged {
            self.end(attempt, Ending::Complete);
        } else {
            self.push(Body::AttemptEnded { attempt, ending: Ending::Complete });
        }
        self.settle_what_rests_on(job, at);
        Ok(attempt)
    }

    /// An attempt for an answer that nobody asked for at the moment: the screen does not change.
    fn answering(
        &mut self,
        station: &Name,
        (job, at): (Seq, CheckAt),
        reason: AttemptReason,
    ) -> Result<Seq, Refusal> {
        let (_, state) = self.job_of(station)?;
        may_begin(&state, at)?;
        self.begin_attempt(job, at, Begin::same(reason, None))
    }

    fn word_of(&self, attempt: Seq) -> Option<Word> {
        let (_, _, state) = self.attempt(attempt)?;
        state.verdict.as_ref().map(|(_, verdict)| verdict.word)
    }

    /// Judges again the checks that use an entry, and then those that use them.
    pub(crate) fn settle_what_rests_on(&mut self, job: Seq, at: CheckAt) {
        let Some(state) = self.bench.jobs.get(&job).map(Arc::clone) else { return };
        for attempt in pairs::resting_on(&state, at) {
            self.settle_again(attempt);
        }
    }

    /// `replace PART`: the part is a new one from now on; what was measured on the old one stays with the
    /// old one.
    pub(crate) fn replace(
        &mut self,
        station: &Name,
        part: &str,
        serial: Option<&str>,
        why: &str,
    ) -> Answer {
        let (job, state) = self.job_of(station)?;
        let (index, name) = part_named(&state, part)?;
        if why.trim().is_empty() {
            return Err(Refusal::input(
                "a part is not replaced without a reason",
                "add `--why \"bore worn\"`, say",
            ));
        }
        let what = format!("{name} is not replaced");
        self.not_under_way_elsewhere(Some(station), (job, Some(index)), &what, ("", None))?;
        let under_way: Vec<Seq> = state
            .attempts
            .iter()
            .filter(|(_, attempt)| attempt.began.check.part == index && attempt.ending.is_none())
            .map(|(id, _)| *id)
            .collect();
        let names: Vec<Name> = self.setup.stations.iter().map(|s| s.name.clone()).collect();
        for attempt in under_way {
            self.end(attempt, Ending::Stopped);
            if let Some(station) = names.iter().find(|s| self.active(s) == Some(attempt)) {
                self.show(station, None);
            }
        }
        let of_part = state.attempts.iter().filter(|(_, one)| one.began.check.part == index);
        self.clear_of(of_part.map(|(id, _)| Some(*id)), |_| true);
        let (serial, why) = (serial.map(str::to_owned), why.to_owned());
        self.push(Body::PartReplaced { job, part: index, serial, why });
        Ok(Done::Replaced { part: name })
    }
}

/// What a check asks for, where its traits are the ones wanted.
fn asks(job: &Job, at: CheckAt, so: fn(&Traits) -> bool) -> Option<Asks> {
    let (_, check) = job.opened.plan.plan.at(at)?;
    check.measures.asks().filter(|_| so(check.traits()))
}

/// A part of the job's plan by its name.
pub(crate) fn part_named(job: &Job, name: &str) -> Result<(u16, Name), Refusal> {
    let parts = &job.opened.plan.plan.parts;
    let found = (0_u16..).zip(parts).find(|(_, part)| part.name.as_str() == name);
    found.map(|(index, part)| (index, part.name.clone())).ok_or_else(|| {
        let names: Vec<&str> = parts.iter().map(|part| part.name.as_str()).collect();
        Refusal::input(
            format!("the plan of job {} has no part {name:?}", job.opened.name),
            format!("its parts are: {}", names.join(", ")),
        )
    })
}

fn chosen(asks: &Asks, answer: &str) -> Result<String, Refusal> {
    let answer = one_line(answer)?;
    let known = |one: &&String| one.eq_ignore_ascii_case(&answer);
    match asks.answers.iter().find(known) {
        Some(known) => Ok(known.clone()),
        None if asks.answers.is_empty() => Ok(answer),
        None => Err(Refusal::input(
            format!("{answer:?} is not an answer to \"{}\"", asks.question),
            format!("answer one of: {}", asks.answers.join(", ")),
        )),
    }
}

/// A value as it is stored: a number with the unit of the plan where the plan names one, otherwise as
/// typed.
fn written(asks: &Asks, target: &str, value: &str) -> Result<String, Refusal> {
    if let Some(columns) = &asks.columns {
        let value = one_line_of(value, LONGEST_TABLE)?;
        return WrittenRows::typed(&value, columns).map(|rows| rows.text(columns)).map_err(|why| {
            let [at, of] = columns.each_ref().map(crate::plan::Column::title);
            Refusal::input(
                format!("{target} is a table of {at} and {of}: {why}; nothing was written"),
                format!(
                    "write its rows: `tenths record {} 1000=0.4 2000=0.6`",
                    words::typed(target)
                ),
            )
        });
    }
    let value = one_line(value)?;
    let Some(unit) = &asks.unit else { return Ok(value) };
    let end = value.find(|c: char| !matches!(c, '0'..='9' | '.' | '+' | '-'));
    let (number, behind) = value.split_at(end.unwrap_or(value.len()));
    if is_decimal(number)
        && number.len() <= DIGITS
        && (behind.trim().is_empty() || same_unit(behind, unit))
    {
        return Ok(format!("{number} {unit}"));
    }
    Err(Refusal::input(
        format!("{target} is a number in {unit}, and {value:?} is not one"),
        format!("write it with a point, alone or with its unit: 20.6, or \"20.6 {unit}\""),
    ))
}

/// Refuses a temperature of a part or a master that nothing on a bench has, where the entry is in degrees
/// Celsius and a length is brought to 20 °C by it.
fn no_such_heat(job: &Job, at: CheckAt, target: &str, value: &str) -> Result<(), Refusal> {
    let plan = &job.opened.plan.plan;
    let in_celsius = plan.at(at).and_then(|(_, check)| check.measures.asks()?.unit);
    let in_celsius = in_celsius.is_some_and(|unit| same_unit(&unit, "C"));
    let mut checks = plan.parts.iter().flat_map(|part| &part.checks);
    let used = checks.any(|check| {
        let size = check.measures.own().size;
        size.and_then(|size| size.temperatures).is_some_and(|both| both.contains(&at))
    });
    if !in_celsius || !used || judgement::celsius(value).is_some() {
        return Ok(());
    }
    Err(Refusal::input(
        format!(
            "{target}: {value} is no temperature of a part that is measured; nothing was written"
        ),
        "0 to 50 °C are believed: look at the point, and whether the thermometer shows °C",
    ))
}

/// Whether a text is digits with at most one point, and perhaps a sign in front.
fn is_decimal(text: &str) -> bool {
    let digits = text.strip_prefix(['+', '-']).unwrap_or(text);
    let only = digits.chars().all(|c| c == '.' || c.is_ascii_digit());
    only && digits.contains(|c: char| c.is_ascii_digit()) && digits.matches('.').count() <= 1
}

/// Refuses a number that is too large or too fine to be judged.
fn fits(job: &Job, at: CheckAt, target: &str, value: &str) -> Result<(), Refusal> {
    let Some((_, check)) = job.opened.plan.plan.at(at) else { return Ok(()) };
    let number = value.split(' ').next().unwrap_or_default();
    let table = check.measures.asks().is_some_and(|asks| asks.columns.is_some());
    if table || !check.is_judged() || Length::parse(number, check.unit).is_ok() {
        return Ok(());
    }
    Err(Refusal::input(
        format!("{target}: {value} has too many digits to be judged; nothing was written"),
        "up to 9 digits before the point and 9 behind it",
    ))
}

/// The most digits of a value that is a number.
const DIGITS: usize = 16;

/// Whether two spellings are the same unit: `Nm`, `N·m` and `N m`; `°C` and `C`.
fn same_unit(one: &str, other: &str) -> bool {
    if let Some((one, other)) = Unit::parse_any(one).zip(Unit::parse_any(other)) {
        return one == other;
    }
    let bare = |unit: &str| {
        let left_out = |c: &char| c.is_whitespace() || matches!(c, '°' | '·' | '⋅');
        let bare: String = unit.chars().filter(|c| !left_out(c)).collect();
        match bare.to_ascii_lowercase().as_str() {
            "degc" | "celsius" => "c".to_owned(),
            other => other.to_owned(),
        }
    };
    bare(one) == bare(other)
}

fn one_line(text: &str) -> Result<String, Refusal> {
    one_line_of(text, LONGEST)
}

fn one_line_of(text: &str, longest: usize) -> Result<String, Refusal> {
    let text = text.trim();
    let plain = !text.chars().any(char::is_control);
    if text.is_empty() || text.chars().count() > longest || !plain {
        return Err(Refusal::input(
            format!("an answer or a value is one line of 1 to {longest} characters"),
            "longer remarks go into `tenths note`",
        ));
    }
    Ok(text.to_owned())
}

/// What is missing from a check that was begun and is not finished; `None` otherwise.
fn still_to_touch(job: &Job, at: CheckAt) -> Option<String> {
    let (_, check) = job.opened.plan.plan.at(at)?;
    let (_, attempt) = job.newest_at(at)?;
    if attempt.ending.is_some() || attempt.taken() == 0 {
        return None;
    }
    Some(match next_touch(check, attempt) {
        Touch::Master => "the closing touch on the master is missing".to_owned(),
        Touch::Middle | Touch::Closure => "position 0 is to be touched again".to_owned(),
        Touch::Asked(_) => "a touch was asked for and is missing".to_owned(),
        Touch::Position(_) | Touch::Sweep | Touch::Seat { .. } | Touch::Answer | Touch::Nothing => {
            let what = if check.touches > 1 { "touches are made" } else { "positions are touched" };
            format!("{} of {} {what}", attempt.taken(), check.touches_in_all())
        }
    })
}

/// Whether a check may begin now: a difference needs both lengths, a nut needs its stack.
pub(crate) fn may_begin(job: &Job, at: CheckAt) -> Result<(), Refusal> {
    let plan = &job.opened.plan.plan;
    let Some((part, check)) = plan.at(at) else { return Ok(()) };
    let halves = || check.measures.made_of().into_iter();
    if let Some(half) = halves().find(|of| pairs::half(job, *of, None).is_none()) {
        let missing = plan.at(half).map_or(String::new(), |(p, c)| words::target(p, c));
        let typed = words::typed(&missing);
        let needs = words::target(part, check);
        return Err(match still_to_touch(job, half) {
            None => Refusal::input(
                format!("{needs} needs {missing}, which is not measured yet"),
                format!("measure it first: `tenths measure {typed}`"),
            ),
            Some(left) => Refusal::input(
                format!("{needs} needs {missing}, which is not finished: {left}"),
                format!("go on with it first: `tenths measure {typed}`"),
            ),
        });
    }
    if let Some(old) = halves().find(|of| job.metal_changed_at(*of))
        && let Some((ring, length)) = plan.at(old)
    {
        let old = words::target(ring, length);
        return Err(Refusal::input(
            format!(
                "{} needs {old} measured again: {} was ground since",
                words::target(part, check),
                ring.name
            ),
            format!("measure it first: `tenths measure {}`", words::typed(&old)),
        ));
    }
    crate::request::stack::before_the_nut(job, part, check)
}
