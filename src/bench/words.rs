//! The sentences for a person at the bench: short, plain, in the unit of the tolerance.

pub mod card;
mod explained;
mod own_record;
mod pieces;
mod place;
pub mod proof;
mod remedy;
pub mod run_in;
pub mod spots;
pub(crate) mod walked;
pub mod warm;

use ::words::{beside, in_steps, mark, size, with_doubt};
use judgement::{Known, Limits, Reason, Word};
use quantity::{Figure, Length, Unit};

use crate::fact::row::{AttemptReason, Question, State};
use crate::fact::verdict::{SaidOf, TookOff, Verdict};
use crate::judge::half_turn;
use crate::judge::repeats;
use crate::judge::returns;
use crate::plan::Watched;
use crate::plan::{Asks, Check, MasterUse, Wedge};
use crate::state::Attempt;

pub use self::explained::{Explained, WordOf, explained};
pub use self::own_record::{shows, witness};
pub(crate) use self::pieces::of_pieces;
pub use self::pieces::{of_calibration, of_the_bar, of_the_master, source_of};
pub(crate) use self::place::{enters_past_a_seating, not_seated};
pub use self::place::{place_of_touch, seat, seat_short};
pub use self::remedy::{remedy_of_alert, remedy_of_reason};

/// The step to which figures of an attempt are printed.
fn step(attempt: &Attempt) -> Length {
    returns::resolution(attempt)
}

fn upper(limits: Option<Limits>) -> Length {
    match limits {
        Some(Limits::Max(max) | Limits::Min(max) | Limits::Band { max, .. }) => max,
        None => Length::ZERO,
    }
}

/// `High near the 90 mark.`, only where it is known within ±30 degrees.
#[must_use]
pub fn high_side(verdict: &Verdict, check: &Check) -> Option<String> {
    high_mark(verdict, check).map(|near| format!("High near the {} mark.", mark(near)))
}

/// The mark nearest to the high side, degrees; `None` where that side is not known well enough.
#[must_use]
pub fn high_mark(verdict: &Verdict, check: &Check) -> Option<f64> {
    let (at, _) = verdict.high_side().filter(|_| check.positions > 0)?;
    let pitch = check.mark_pitch_deg();
    Some((at / pitch).round() * pitch % 360.0)
}

/// The sentence of an alert about a verdict.
#[must_use]
pub fn verdict_alert(verdict: &Verdict, check: &Check, name: &str) -> String {
    if let Some(asks) = check.measures.asks().filter(|_| verdict.value.is_none()) {
        return answered(verdict, &asks, name);
    }
    let told = verdict.told(verdict.unit);
    let value = told.value.unwrap_or_else(|| "no figure".to_owned());
    let limit = told.limit.unwrap_or_default();
    if verdict.word == Word::DoesNotConform {
        let high = high_side(verdict, check).filter(|_| check.traits().wedge == Wedge::OnThePlate);
        let high = high.map_or(String::new(), |high| format!(" {high}"));
        let hint = mistaken(verdict).map_or(String::new(), |hint| format!(" {hint}"));
        return format!("{name} OUT. {value}, limit {limit}.{high}{hint}");
    }
    if verdict.value.is_none() && verdict.reasons.is_empty() {
        let why = verdict.advice.first().map_or("There is no figure.", String::as_str);
        return format!("{name} UNDECIDED. {why}");
    }
    let spread = told.uncertainty.map_or(String::new(), |u| format!(" ± {u}"));
    if verdict.reasons.is_empty() {
        return format!("{name} TOO CLOSE TO CALL. {value}{spread}, limit {limit}.");
    }
    let why = whys(verdict).join(" ");
    format!("{name} UNDECIDED. {value}{spread}, limit {limit}. {why}")
}

/// The result of a check, for the person who has just touched the last position:
/// `CONFORMS. 0.00004 in ± 0.000026, limit 0.0001.`
#[must_use]
pub fn came_to(verdict: &Verdict) -> String {
    let word = verdict.word.text().replace('-', " ").to_uppercase();
    let mut said = vec![format!("{word}.")];
    let told = verdict.told(verdict.unit);
    if let Some(value) = told.value {
        let assumed = if verdict.known == Known::Assumed { " assumed" } else { "" };
        let spread = told.uncertainty.map_or(String::new(), |u| format!(" ± {u}{assumed}"));
        let limit = told.limit.map_or(String::new(), |limit| format!(", limit {limit}"));
        said.push(format!("{value} {}{spread}{limit}.", verdict.unit.symbol()));
    } else if let Some(answer) = &verdict.answer {
        said.push(format!("The answer: {answer}."));
    } else if verdict.reasons.is_empty() && verdict.word == Word::Undecided {
        // There is no figure: the reason is all there is to say.
        let before = verdict.advice.iter().filter(|one| !verdict.cautions.contains(one));
        said.extend(before.cloned());
    }
    if verdict.figures.pair.is_some() {
        // Which of the two is longer, or that this cannot be said.
        said.extend(verdict.advice.first().cloned());
    }
    said.extend(whys(verdict));
    said.extend(mistaken(verdict).map(str::to_owned));
    said.extend(verdict.cautions.iter().cloned());
    said.join(" ")
}

fn answered(verdict: &Verdict, asks: &Asks, name: &str) -> String {
    let answer = verdict.answer.as_deref().unwrap_or("nothing");
    format!("{name} OUT. \"{}\" {answer}; it should be {}.", asks.question, asks.good.join(" or "))
}

/// What a reason means, as a sentence.
#[must_use]
pub const fn why(reason: Reason) -> &'static str {
    match reason {
        Reason::TooFewPositions => "Fewer than 7 touches may fail it, never pass it.",
        Reason::OneRadius => "One radius may fail it, never pass it.",
        Reason::GaugeTooCoarse => "The readings are in steps too coarse for the limit.",
        Reason::NotClosed => "It was not closed at position 0.",
        Reason::ZeroMoved => "The master came back different.",
        Reason::Warm => "The part is not at the temperature of the master.",
        Reason::UnitMixed => "Units were mixed.",
        Reason::Overdue => "The gauge is past its calibration date.",
        Reason::TriesDiffer => {
            "The tries differ too much to be the same metal. If nothing was ground, look for dirt or a burr, \
             and demagnetise it."
        }
        Reason::TouchesDiffer => "The touches at one position lie too far apart.",
        Reason::CannotProve => "This set-up cannot prove it.",
        Reason::NotMastered => "The master was not touched.",
        Reason::Apart => "The two were not measured in one sitting.",
        Reason::SeatingMoved => "The bar did not seat the same way again.",
        Reason::NearNoise => "It is over the limit by no more than noise can make it read.",
        Reason::GapInTurn => "Too much of the turn went by between two samples. Turn slower.",
        Reason::Unproven => "The gauge is not proven.",
        Reason::NotSteady => "The temperatures were not steady at the end.",
        Reason::CutShort => "A step did not run as long as it was to.",
        Reason::GapInLog => "A gap in the log hides what the verdict needs.",
        Reason::SensorFrozen => "A sensor showed the same digits although the speed changed.",
        Reason::RoomUnknown => "The temperature of the room was not written down.",
        Reason::DoesNotComeBack => "It does not come back to where it was.",
        Reason::SeatDoubted => "Dirt was found under the part in this seating. Measure it again.",
    }
}

/// Why a verdict is withheld, reason by reason; where one length of a pair is the cause, it is named.
fn whys(verdict: &Verdict) -> Vec<String> {
    let one = |reason: &Reason| {
        let said = verdict.said_of(SaidOf::Length(*reason));
        let said = said.chain(verdict.said_of(SaidOf::Because(*reason)));
        let named: Vec<String> = said.map(str::to_owned).collect();
        if named.is_empty() { vec![why(*reason).to_owned()] } else { named }
    };
    verdict.reasons.iter().flat_map(one).collect()
}

/// The sentence that a figure out of its limit looks as if it were measured in another way than the drawing
/// means.
fn mistaken(verdict: &Verdict) -> Option<&str> {
    let out = verdict.word == Word::DoesNotConform;
    verdict.said_of(SaidOf::Mistaken).next().filter(|_| out)
}

/// Sentences that belong to a verdict on the record.
#[must_use]
pub fn advice(verdict: &Verdict, check: &Check, attempt: &Attempt) -> Vec<String> {
    // The reasons that concern one length of a pair, or that say what was seen, are named further up.
    let general = |reason: &&Reason| {
        let length = verdict.said_of(SaidOf::Length(**reason)).next();
        length.or_else(|| verdict.said_of(SaidOf::Because(**reason)).next()).is_none()
    };
    let reasons = verdict.reasons.iter().filter(general);
    let mut advice: Vec<String> = reasons.map(|reason| why(*reason).to_owned()).collect();
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
    for (position, left_out) in blocked {
        advice.push(format!("Position {position} was left out: {}", left_out.why));
        advice.extend(beside_the_highest(*position, check, attempt));
    }
    let twice = attempt.recalled.iter().filter(|at| attempt.touches_at(**at) > 1);
    for position in twice {
        advice.push(format!(
            "Position {position} was taken back when it was out, and touched again as high: both count, as their mean."
        ));
    }
    if attempt.began.reason == AttemptReason::Cleaned && verdict.tries > 1 {
        advice.push(
            "Cleaned once more, and nothing had shown dirt: the tries count together.".to_owned(),
        );
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
    // For a length, the sentence on the gauge is part of the one on all that is assumed.
    let of_gauge =
        !check.traits().sizes || returns::reading(check, attempt).whole().known == Known::Assumed;
    advice.extend(own_record::advice(verdict, check, attempt));
    let nothing_shown = verdict.repeat.is_none() && of_gauge;
    if verdict.known == Known::Assumed && check.traits().is_touched() && nothing_shown {
        advice.push("The uncertainty is assumed, not stated.".to_owned());
    }
    if verdict.tries > 1 {
        advice.push(format!("Mean of {} tries on the same metal.", verdict.tries));
    }
    if let Some((_, before)) = verdict.answers.split_last().filter(|(_, before)| !before.is_empty())
    {
        let before: Vec<&str> = before.iter().map(|one| one.text.as_str()).collect();
        advice.push(format!("Answered {} before.", before.join(", then ")));
    }
    advice.extend(claimed(verdict, check));
    advice.extend(half_turn(check, attempt));
    advice
}

/// The sentence that a position was left out right beside the highest one, so that it may be higher there.
fn beside_the_highest(position: u32, check: &Check, attempt: &Attempt) -> Option<String> {
    let marks = check.positions;
    if !check.traits().goes_round || marks < 3 {
        return None;
    }
    let first = position / marks * marks;
    let on = |step: u32| first + (position - first + step) % marks;
    let heights = || (first..first + marks).filter_map(|at| attempt.mean_at(at));
    let (highest, lowest) = (heights().max()?, heights().min()?);
    let near = [on(marks - 1), on(1)];
    let beside = near.into_iter().find(|at| attempt.mean_at(*at) == Some(highest))?;
    (highest > lowest).then(|| {
        format!("Position {beside} beside {position} is the highest: where it was left out it may be higher.")
    })
}

/// The sentence on what the touches of a face or a turn may miss: a saddle, or on a turn an oval, between
/// them. Only a face that would pass needs it.
fn claimed(verdict: &Verdict, check: &Check) -> Option<String> {
    let lobes = check.traits().between.filter(|_| verdict.taken > 1)?;
    let few = verdict.reasons.contains(&Reason::TooFewPositions);
    let passes = verdict.word == Word::Conforms || (few && verdict.simple == Some(Word::Conforms));
    // A stream leaves no gaps between its samples.
    if !passes || verdict.figures.unfiltered.is_some() {
        return None;
    }
    let touches = verdict.taken;
    let unseen = check.positions.saturating_mul(check.passes) <= 4;
    Some(match verdict.figures.saddle_factor {
        Some(factor) => {
            // Rounded up: the factor must not look too small.
            let factor = (factor.get() * 100.0 - 1e-6).ceil() / 100.0;
            format!(
                "Claimed at these {touches} touches; {lobes} between them could be {factor:.2} times larger."
            )
        }
        None if unseen => {
            format!("Claimed at these {touches} touches; {lobes} between them could be unseen.")
        }
        None => format!("Claimed at these {touches} touches."),
    })
}

/// The result of the half turn on the plate, once both spots were touched.
#[must_use]
pub fn half_turn(check: &Check, attempt: &Attempt) -> Option<String> {
    let stays = half_turn::stays_with_metal(check, attempt)?;
    Some(if stays {
        "It is in the metal: a wedge.".to_owned()
    } else {
        "It was dirt or a burr. Clean and measure again.".to_owned()
    })
}

/// How far off something is, with its sign, to the step of the gauge.
#[must_use]
pub fn difference(check: &Check, attempt: &Attempt, difference: Length) -> String {
    in_steps(Figure::from(difference), step(attempt), check.unit)
}

/// What a question asks the person to do; where an alert already says it, it is not repeated.
#[must_use]
pub fn asked_for(question: Question) -> String {
    match question {
        Question::Closure => "Touch 0 once more.".to_owned(),
        Question::Master => "Touch it once more.".to_owned(),
        Question::Touch(position) => format!("Touch position {position} again."),
        Question::HalfTurn { high, low } => format!(
            "Lift, wipe, set back half a turn round; touch position {high}, then position {low}."
        ),
    }
}

/// The question for a position to be touched again, and why where its several touches lie too far apart.
#[must_use]
pub(crate) fn touch_anew(check: &Check, attempt: &Attempt, position: u32) -> String {
    let touches = attempt.touches();
    let anew = if touches > 1 {
        format!("Touch position {position} again, {touches} times.")
    } else {
        asked_for(Question::Touch(position))
    };
    let Some(by) = repeats::apart_at(check, attempt, position) else { return anew };
    let by = difference(check, attempt, by);
    format!("The {touches} touches at {position} are {by} apart. {anew}")
}

/// The remark about an attempt's gauge that is not proven.
#[must_use]
pub fn of_the_proof(attempt: &Attempt) -> Option<String> {
    let pin = &attempt.began.pin;
    let said = proof::to_prove(pin.unproven?, &attempt.gauge()?.name);
    let held = if pin.withheld { " Until then its verdicts are withheld." } else { "" };
    Some(format!("{said}{held}"))
}

/// `PART/CHECK`.
#[must_use]
pub fn target(part: &crate::plan::Part, check: &Check) -> String {
    format!("{}/{}", part.name, check.name)
}

/// A figure before the end of a series.
#[must_use]
pub fn so_far(check: &Check, value: Figure) -> String {
    beside(value, upper(check.limits), check.unit)
}

/// The sentence on what the wheel took off, to the coarsest step of both series: amounts where both series
/// have one zero, otherwise only how much more was taken on one side.
#[must_use]
pub fn took_off(check: &Check, step: Length, took: &TookOff) -> Option<String> {
    let most = took.at.iter().max_by_key(|one| (one.amount, u32::MAX - one.position))?;
    let least = took.at.iter().min_by_key(|one| (one.amount, one.position))?;
    let say = |amount: Figure| in_steps(amount, step, check.unit);
    let at = |position: u32| mark(check.angle_deg(position));
    if most.amount == least.amount {
        let even = "The wheel took the same everywhere";
        return Some(if took.same_zero {
            format!("{even}: {}.", say(most.amount))
        } else {
            format!("{even}.")
        });
    }
    let (high, low) = (at(most.position), at(least.position));
    Some(if took.same_zero {
        format!("The wheel took {} at {high}, {} at {low}.", say(most.amount), say(least.amount))
    } else {
        format!("The wheel took {} more at {high} than at {low}.", say(most.amount - least.amount))
    })
}

/// What sparking out takes in addition: 0.0001 in, the larger of the usual allowances (from memory).
pub(crate) const SPARK_OUT: Length = Length::from_picometres(2_540_000);

/// What has to come off where, and what is left then, to the coarsest step of the tries.
#[must_use]
pub fn grind(
    check: &Check,
    step: Length,
    verdict: &Verdict,
    take_off: &[(u32, Figure)],
    leaves: Option<Figure>,
) -> Vec<String> {
    let unit = check.unit;
    // An amount is the difference of two readings, as the judged range is: its U is the same.
    let say = |amount: Figure| match verdict.uncertainty {
        Some(expanded) => with_doubt(amount, Figure::from(expanded), step, unit),
        None => in_steps(amount, step, unit),
    };
    let most = take_off.iter().max_by_key(|(position, amount)| (*amount, u32::MAX - position));
    let least = take_off.iter().find(|(_, amount)| *amount == Figure::ZERO);
    let mut said = Vec::new();
    if let Some(high) = high_side(verdict, check) {
        let other = other_face(verdict, check).unwrap_or_default();
        said.push(format!("{high}{other}"));
    }
    if let (Some((high, amount)), Some((low, _))) = (most, least) {
        let (high, low) = (mark(check.angle_deg(*high)), mark(check.angle_deg(*low)));
        said.push(format!("{} comes off at {high}, nothing at {low}.", say(*amount)));
    }
    if let Some(leaves) = leaves {
        let leaves = in_steps(leaves, step, unit);
        let sparks = size(SPARK_OUT, unit);
        let symbol = unit.symbol();
        said.push(format!("Leaves about {leaves} with {sparks} {symbol} for sparking out."));
    }
    said
}

/// The mark of the high side as seen when the part is turned over about its index mark.
fn other_face(verdict: &Verdict, check: &Check) -> Option<String> {
    let near = high_mark(verdict, check)?;
    let mirrored = (360.0 - near) % 360.0;
    // On the diameter through the index mark both faces have the same mark.
    ((mirrored - near).abs() > 0.05)
        .then(|| format!(" Seen from the other face it is near the {} mark.", mark(mirrored)))
}

/// The sentence that forbids grinding below the size of the drawing.
#[must_use]
pub fn too_short(check: &Check, left: Figure, least: Length) -> String {
    let say = |length: Figure| beside(length, least, check.unit);
    format!(
        "Do not grind it: {} would be left, the drawing asks for {} at least.",
        say(left),
        size(least, check.unit)
    )
}

/// The question about a try that lies lower or higher above its master than an earlier one on what was said
/// to be the same metal.
#[must_use]
pub fn was_it_ground(check: &Check, moved: Length) -> String {
    let (how, question) = if moved < Length::ZERO {
        ("lower", "Was it ground?")
    } else {
        ("higher", "Is it the same part?")
    };
    let off = beside(Figure::from(moved.abs()), upper(check.limits), check.unit);
    format!("It lies {off} {how} above its master than the try before. {question}")
}

/// The remark that readings were keyed with fewer digits than the gauge shows: they are judged as keyed.
pub(crate) fn keyed_coarsely_of(check: &Check, tries: &[&Attempt]) -> Option<String> {
    let coarser = |one: &&Attempt| one.keyed_coarser();
    let step = tries.iter().filter_map(coarser).max()?;
    Some(keyed_coarsely(step, check.unit))
}

/// The sentence for readings keyed with fewer digits than the gauge shows.
#[must_use]
pub fn keyed_coarsely(step: Length, unit: Unit) -> String {
    let step = size(step, unit);
    format!("Keyed to {step} {}: key every digit the gauge shows.", unit.symbol())
}

/// The remark about the steps of readings during a series, before they cost a verdict.
#[must_use]
pub fn of_the_steps(check: &Check, attempt: &Attempt) -> Option<String> {
    keyed_coarsely_of(check, &[attempt]).or_else(|| {
        let step = attempt.graduations()?;
        let coarse = judgement::too_coarse(step, check.half_width());
        let step = size(step, check.unit);
        coarse.then(|| {
            format!("Steps of {step} {} are too coarse for the limit.", check.unit.symbol())
        })
    })
}

/// Why a stopped attempt does not count.
pub const STOPPED_SHORT: &str = "stopped before its last position";

/// The words for an attempt that is not combined with later tries on the same metal.
#[must_use]
pub fn not_combined(why: &str) -> String {
    format!("not combined with the others: {why}")
}

/// The same as a sentence, for the attempt with this number.
pub(crate) fn is_not_combined(number: u32, why: &str) -> String {
    format!("Attempt {number} is {}.", not_combined(why))
}

/// The sentence where an earlier try was read in coarser steps than the newest.
#[must_use]
pub fn judged_by_the_coarsest(step: Length, unit: Unit) -> String {
    let step = size(step, unit);
    format!("One of the tries was read in steps of {step} {}: all are judged by it.", unit.symbol())
}

/// A text quoted for a shell as one word, for a command that is to be typed.
#[must_use]
pub fn typed(text: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "-_./:+=@%,".contains(c);
    if !text.is_empty() && text.chars().all(plain) {
        return text.to_owned();
    }
    format!("'{}'", text.replace('\'', "'\\''"))
}

/// The question where a part is longer, or a face lies higher above its master, after the wheel.
#[must_use]
pub fn ground_and_yet(check: &Check, step: Length, by: Figure) -> String {
    let by = in_steps(by, step, check.unit);
    let grown = if check.traits().sizes {
        format!("{by} longer")
    } else {
        format!("{by} higher above its master")
    };
    format!("Ground, and yet {grown}? Right part, right master, clean?")
}

/// The note after a regrind; what the wheel took is in a sentence of the verdict.
#[must_use]
pub fn regrind(was: &Verdict, now: &Verdict) -> String {
    // In the form of the verdicts: below the noise floor no number is claimed.
    let say = |verdict: &Verdict| {
        verdict.told(verdict.unit).value.unwrap_or_else(|| "no figure".to_owned())
    };
    let wheel = now.said_of(SaidOf::Wheel).next();
    let wheel = wheel.map_or_else(String::new, |wheel| format!(" {wheel}"));
    format!("was {}, now {}.{wheel}", say(was), say(now))
}
