//! The sentences a person reads at the bench: short, plain, in the tolerance's unit.

use crate::judgement::{Limits, Reason, Word};
use crate::quantity::{Figure, Length, Unit};

use super::dial::Watched;
use super::plan::{Ask, Check, Detail, MasterUse, Measures};
use super::row::State;
use super::state::Attempt;
use super::verdict::{TookOff, Verdict};

/// A figure with one digit more than the limit it is held against; more where fewer would show an
/// out as an in.
#[must_use]
pub fn figure(value: Figure, limit: Length, unit: Unit) -> String {
    let exact = Figure::from(limit);
    let first = limit_places(limit, unit) + 1;
    (first..first + 6)
        .map(|places| value.fixed(unit, places))
        .find(|text| {
            let shown = crate::quantity::Length::parse(text, unit).map(Figure::from);
            shown.map_or(true, |shown| shown.cmp(&exact) == value.cmp(&exact))
        })
        .unwrap_or_else(|| value.shown(unit))
}

/// The decimal places a limit is written with, at least one.
fn limit_places(limit: Length, unit: Unit) -> u32 {
    let text = Figure::from(limit).shown(unit);
    let places = text.split_once('.').map_or(0, |(_, fraction)| fraction.len());
    u32::try_from(places).unwrap_or(8).max(1)
}

/// The limits as a person reads them: `0.0001`, or `1.4990 to 1.5010`.
#[must_use]
pub fn limits(limits: Limits, unit: Unit) -> String {
    match limits {
        Limits::Max(max) => Figure::from(max).shown(unit),
        Limits::Band { min, max } => {
            format!("{} to {}", Figure::from(min).shown(unit), Figure::from(max).shown(unit))
        }
    }
}

/// The judged figure of a verdict; below its noise floor "less than …".
#[must_use]
pub fn value(verdict: &Verdict) -> String {
    let Some(value) = verdict.value else { return "no figure".to_owned() };
    let limit = limit_of(verdict);
    let floor = verdict.figures.noise_floor.filter(|floor| value < Figure::from(*floor));
    match floor {
        Some(floor) => {
            let places = limit_places(limit, verdict.unit) + 2;
            format!("less than {}", Figure::from(floor).shown_up_at(verdict.unit, places))
        }
        None => figure(value, nearest_limit(verdict, value), verdict.unit),
    }
}

/// The expanded uncertainty with two digits more than the limit, rounded up.
#[must_use]
pub fn uncertainty(verdict: &Verdict) -> Option<String> {
    let places = limit_places(limit_of(verdict), verdict.unit) + 2;
    let expanded = verdict.uncertainty?;
    Some(Figure::from(expanded).shown_up_at(verdict.unit, places))
}

fn limit_of(verdict: &Verdict) -> Length {
    upper(verdict.limits)
}

fn upper(limits: Option<Limits>) -> Length {
    match limits {
        Some(Limits::Max(max) | Limits::Band { max, .. }) => max,
        None => Length::ZERO,
    }
}

/// The limit that a value lies closest to, so that rounding cannot carry it across.
fn nearest_limit(verdict: &Verdict, value: Figure) -> Length {
    match verdict.limits {
        None => Length::ZERO,
        Some(Limits::Max(max)) => max,
        Some(Limits::Band { min, max }) => {
            let middle = (Figure::from(min) + Figure::from(max)) / 2;
            if value < middle { min } else { max }
        }
    }
}

/// `High near the 90 mark.`, only where it is known within ±30 degrees.
#[must_use]
pub fn high_side(verdict: &Verdict, check: &Check) -> Option<String> {
    high_mark(verdict, check).map(|mark| format!("High near the {} mark.", angle(mark)))
}

/// The mark nearest to the high side, degrees.
fn high_mark(verdict: &Verdict, check: &Check) -> Option<f64> {
    let known = verdict.figures.high_side_u_deg? <= 30.0 && check.positions > 0;
    let pitch = check.mark_pitch_deg();
    let mark = (verdict.figures.high_side_deg? / pitch).round() * pitch;
    known.then_some(mark % 360.0)
}

/// The sentence of an alert about a verdict.
#[must_use]
pub fn verdict_alert(verdict: &Verdict, check: &Check, name: &str) -> String {
    if let Detail::Confirm(ask) = &check.detail {
        return answered(verdict, ask, name);
    }
    let value = value(verdict);
    let limit = verdict.limits.map_or(String::new(), |both| limits(both, verdict.unit));
    if verdict.word == Word::DoesNotConform {
        let high = high_side(verdict, check).filter(|_| check.measures == Measures::Parallelism);
        let high = high.map_or(String::new(), |high| format!(" {high}"));
        return format!("{name} OUT. {value}, limit {limit}.{high}");
    }
    if verdict.value.is_none() && verdict.reasons.is_empty() {
        let why = verdict.advice.first().map_or("There is no figure.", String::as_str);
        return format!("{name} UNDECIDED. {why}");
    }
    let spread = uncertainty(verdict).map_or(String::new(), |u| format!(" ± {u}"));
    if verdict.reasons.is_empty() {
        return format!("{name} TOO CLOSE TO CALL. {value}{spread}, limit {limit}.");
    }
    let why: Vec<&str> = verdict.reasons.iter().map(|reason| why(*reason)).collect();
    format!("{name} UNDECIDED. {value}{spread}, limit {limit}. {}", why.join(" "))
}

/// What came of a check, for whoever has just touched the last position:
/// `CONFORMS. 0.00004 in ± 0.000026, limit 0.0001.`
#[must_use]
pub fn came_to(verdict: &Verdict) -> String {
    let word = verdict.word.text().replace('-', " ").to_uppercase();
    let mut said = vec![format!("{word}.")];
    if verdict.value.is_some() {
        let assumed = if verdict.assumed { " assumed" } else { "" };
        let spread = uncertainty(verdict).map_or(String::new(), |u| format!(" ± {u}{assumed}"));
        let limit = verdict.limits.map(|both| format!(", limit {}", limits(both, verdict.unit)));
        let sign = if counts_both_ways(verdict) { "+" } else { "" };
        let value = value(verdict);
        let unit = verdict.unit.symbol();
        said.push(format!("{sign}{value} {unit}{spread}{}.", limit.unwrap_or_default()));
    } else if let Some(answer) = &verdict.answer {
        said.push(format!("The answer: {answer}."));
    }
    said.extend(verdict.reasons.iter().map(|reason| why(*reason).to_owned()));
    said.join(" ")
}

/// Whether a figure is above zero that could as well be below.
fn counts_both_ways(verdict: &Verdict) -> bool {
    let both = matches!(verdict.limits, Some(Limits::Band { min, .. }) if min < Length::ZERO);
    both && verdict.value.is_some_and(|value| value > Figure::ZERO)
}

fn answered(verdict: &Verdict, ask: &Ask, name: &str) -> String {
    let answer = verdict.answer.as_deref().unwrap_or("nothing");
    format!("{name} OUT. \"{}\" {answer}; it should be {}.", ask.question, ask.good.join(" or "))
}

/// What a reason means, as a sentence.
#[must_use]
pub const fn why(reason: Reason) -> &'static str {
    match reason {
        Reason::TooFewPositions => "Fewer than 7 touches may fail it, never pass it.",
        Reason::GaugeTooCoarse => "This gauge is too coarse for the limit.",
        Reason::NotClosed => "It was not closed at position 0.",
        Reason::ZeroMoved => "The master came back different.",
        Reason::Warm => "The part is warm.",
        Reason::UnitMixed => "Units were mixed.",
        Reason::Overdue => "The gauge is past its calibration date.",
        Reason::TriesDiffer => "The tries differ too much to be the same metal.",
        Reason::CannotProve => "This set-up cannot prove it.",
        Reason::NotMastered => "The master was not touched.",
        Reason::Apart => "The two were not measured in one sitting.",
        Reason::SeatingMoved => "The bar did not seat the same way again.",
        Reason::GapInTurn => "Too much of the turn went by between two samples. Turn slower.",
    }
}

/// Sentences that belong to a verdict on the record.
#[must_use]
pub fn advice(verdict: &Verdict, check: &Check, attempt: &Attempt) -> Vec<String> {
    let mut advice: Vec<String> = verdict.reasons.iter().map(|r| why(*r).to_owned()).collect();
    match attempt.watched() {
        Some(Watched::HighAndLow) => {
            advice.push("Only the high and the low were read off: no waves, no plane.".to_owned());
        }
        Some(Watched::Total) => {
            advice.push("Only the total was read off: no angle, no waves.".to_owned());
        }
        None => {}
    }
    let blocked = attempt.skipped.iter().filter(|_| attempt.watched().is_none());
    for (position, why) in blocked {
        advice.push(format!("Position {position} was left out: {why}"));
    }
    if verdict.word != Word::Incomplete && attempt.from_file() {
        if check.closure && attempt.count(State::Closure) == 0 {
            advice.push("The file holds no closing touch at position 0.".to_owned());
        }
        if check.master != MasterUse::None && attempt.count(State::Master) == 0 {
            advice.push("The file holds no touch on the master.".to_owned());
        } else if check.master == MasterUse::Both && attempt.closing().is_none() {
            advice.push("The file holds no closing touch on the master.".to_owned());
        }
    }
    if verdict.assumed && check.measures.is_touched() {
        advice.push("The uncertainty is assumed from the resolution.".to_owned());
    }
    if verdict.tries > 1 {
        advice.push(format!("Mean of {} tries on the same metal.", verdict.tries));
    }
    advice.extend(claimed(verdict, check));
    advice.extend(half_turn(check, attempt));
    advice
}

/// What the touches of a face or a turn cannot speak for: a saddle, on a turn an oval, that lies
/// between them. Only a face that would pass needs to be told.
fn claimed(verdict: &Verdict, check: &Check) -> Option<String> {
    let measures = check.measures;
    let touched = measures.goes_round() && measures != Measures::BarRunout && verdict.taken > 1;
    let few = verdict.reasons.contains(&Reason::TooFewPositions);
    let passes = verdict.word == Word::Conforms || (few && verdict.simple == Some(Word::Conforms));
    // A stream leaves nothing between its samples.
    if !touched || !passes || verdict.figures.unfiltered.is_some() {
        return None;
    }
    let lobes = if measures == Measures::Runout { "an oval" } else { "a saddle" };
    let touches = verdict.taken;
    let unseen = check.positions.saturating_mul(check.passes) <= 4;
    Some(match verdict.figures.saddle_factor {
        Some(factor) => format!(
            "Claimed at these {touches} touches; {lobes} between them could be {factor:.2} times larger."
        ),
        None if unseen => {
            format!("Claimed at these {touches} touches; {lobes} between them could be unseen.")
        }
        None => format!("Claimed at these {touches} touches."),
    })
}

/// What the half turn on the plate showed, once both spots were touched.
#[must_use]
pub fn half_turn(check: &Check, attempt: &Attempt) -> Option<String> {
    let stays = super::questions::stays_with_metal(check, attempt)?;
    Some(if stays {
        "It is in the metal: a wedge.".to_owned()
    } else {
        "It was dirt or a burr. Clean and measure again.".to_owned()
    })
}

/// A difference in the unit and places of the limit, with its sign.
#[must_use]
pub fn difference(check: &Check, difference: Length) -> String {
    figure(Figure::from(difference), upper(check.limits), check.unit)
}

/// `PART/CHECK`.
#[must_use]
pub fn target(part: &super::plan::Part, check: &Check) -> String {
    format!("{}/{}", part.name, check.name)
}

/// A figure so far, before the end of a series.
#[must_use]
pub fn so_far(check: &Check, value: Figure) -> String {
    figure(value, upper(check.limits), check.unit)
}

/// What the wheel took off, as a sentence: amounts where both series stood on one zero, otherwise
/// only how much more on one side.
#[must_use]
pub fn took_off(check: &Check, took: &TookOff) -> Option<String> {
    let most = took.at.iter().max_by_key(|(position, amount)| (*amount, u32::MAX - position))?;
    let least = took.at.iter().min_by_key(|(position, amount)| (*amount, *position))?;
    let say = |amount: Figure| figure(amount, upper(check.limits), check.unit);
    let mark = |position: u32| angle(check.angle_deg(position));
    if most.1 == least.1 {
        let even = "The wheel took the same everywhere";
        return Some(if took.same_zero {
            format!("{even}: {}.", say(most.1))
        } else {
            format!("{even}.")
        });
    }
    let (high, low) = (mark(most.0), mark(least.0));
    Some(if took.same_zero {
        format!("The wheel took {} at {high}, {} at {low}.", say(most.1), say(least.1))
    } else {
        format!("The wheel took {} more at {high} than at {low}.", say(most.1 - least.1))
    })
}

/// What has to come off where, and what is left then.
#[must_use]
pub fn grind(
    check: &Check,
    verdict: &Verdict,
    take_off: &[(u32, Figure)],
    leaves: Option<Figure>,
) -> Vec<String> {
    let say = |amount: Figure| figure(amount, upper(check.limits), check.unit);
    let most = take_off.iter().max_by_key(|(position, amount)| (*amount, u32::MAX - position));
    let least = take_off.iter().find(|(_, amount)| *amount == Figure::ZERO);
    let mut said = Vec::new();
    if let Some(high) = high_side(verdict, check) {
        let other = other_face(verdict, check).unwrap_or_default();
        said.push(format!("{high}{other}"));
    }
    if let (Some((high, amount)), Some((low, _))) = (most, least) {
        let (high, low) = (angle(check.angle_deg(*high)), angle(check.angle_deg(*low)));
        said.push(format!("{} comes off at {high}, nothing at {low}.", say(*amount)));
    }
    if let Some(leaves) = leaves {
        said.push(format!("Leaves about {} with 0.0001 in for sparking out.", say(leaves)));
    }
    said
}

/// Where the high side is seen when the part is turned over about its index mark.
fn other_face(verdict: &Verdict, check: &Check) -> Option<String> {
    let mark = high_mark(verdict, check)?;
    let mirrored = (360.0 - mark) % 360.0;
    // On the diameter of the index mark both faces agree.
    ((mirrored - mark).abs() > 0.05)
        .then(|| format!(" Seen from the other face it is near the {} mark.", angle(mirrored)))
}

/// A refusal to grind below the drawing.
#[must_use]
pub fn too_short(check: &Check, left: Figure, least: Length) -> String {
    let say = |length: Figure| figure(length, least, check.unit);
    format!(
        "Do not grind it: {} would be left, the drawing asks for {} at least.",
        say(left),
        Figure::from(least).shown(check.unit)
    )
}

/// An angle as the marks on a part are read: a tenth of a degree where it is not whole.
fn angle(degrees: f64) -> String {
    format!("{}", (degrees * 10.0).round() / 10.0 % 360.0)
}

/// The note after a regrind.
#[must_use]
pub fn regrind(check: &Check, was: Figure, now: Figure, took: &TookOff) -> String {
    let say = |amount: Figure| figure(amount, upper(check.limits), check.unit);
    let wheel = took_off(check, took).unwrap_or_default();
    format!("was {}, now {}. {wheel}", say(was), say(now))
}
