//! Values that cannot belong to a check. They are refused before they count as a touch, wherever they come
//! from: a frame of a line is stored as suspect, a keyed value or a file is refused with a sentence.

use crate::draft::Draft;
use crate::fact::row::{AlertKind, State};
use crate::fact::seq::Seq;
use crate::plan::{Check, MasterUse};
use crate::reply::Refusal;
use crate::series::Touch;
use crate::setup::{GaugeKind, GaugeSetup};
use crate::state::Attempt;
use ::words::size;
use judgement::Limits;
use quantity::{Figure, Length, Quoted, Unit, with_a_point};

/// Two touches further apart than this many times the tolerance are not of one surface: a misplaced point,
/// or another unit (common practice, no source).
const FAR: i64 = 1000;

/// A reading of at most this many times half the limits of a length may be a deviation from its size
/// (common practice, no source).
const DEVIATES: i64 = 100;

/// A dial can be read by eye to a tenth of its graduation at best (from memory of the trade).
const BY_EYE: i64 = 10;

/// A reading of a button within this fraction (one in so many) of the travel from either stop is not used
/// (from memory of the trade).
const NEAR_STOP: i64 = 20;

/// A stream is read while it moves: only the last hundredth of the travel counts as the stop.
const AT_STOP: i64 = 100;

/// Why a value cannot belong to a check: the kind of alert it raises, and the sentence.
pub(crate) type Unfit = (AlertKind, String);

impl Draft<'_> {
    /// Why a value of a gauge cannot belong to the check: it is at the end of the travel, off by the ratio
    /// of inch and millimetre, or a size that the part cannot have.
    pub(crate) fn unfit(
        &self,
        gauge: &GaugeSetup,
        place: Option<(Seq, Touch)>,
        value: Quoted,
    ) -> Option<Unfit> {
        let found = place.and_then(|(attempt, touch)| Some((self.attempt(attempt)?, touch)));
        let found = found.as_ref().and_then(|((_, job, state), touch)| {
            let (_, check) = job.check_of(state)?;
            Some((check, &**state, *touch))
        });
        unfit(gauge, found, value)
    }

    /// Why keyed values cannot be taken. All are looked at before any is taken.
    pub(crate) fn refuse_keyed(
        &self,
        id: Seq,
        (text, by_eye): (&str, bool),
        value: Quoted,
    ) -> Result<(), Refusal> {
        let Some((_, job, state)) = self.attempt(id) else { return Ok(()) };
        let (Some((_, check)), Some(gauge)) = (job.check_of(&state), state.gauge()) else {
            return Ok(());
        };
        cannot_show(gauge, (text, by_eye), value)?;
        let refuse = |why: String, hint: &str| {
            Err(Refusal::input(format!("{text}: {why}; nothing was entered"), hint))
        };
        if let Some(why) = at_the_end(gauge, value) {
            return refuse(
                why.trim_end_matches('.').to_owned(),
                "look at the value, and at travel in bench.toml",
            );
        }
        if off_by_a_unit_in(check, value.length) {
            let why = "inch and millimetre look mixed".to_owned();
            return refuse(why, "write the value with its unit");
        }
        match impossible(&state, (check, self.expected(id)), value.length) {
            Some(why) => refuse(why, "look at the point and the unit of the value"),
            None => Ok(()),
        }
    }

    /// Why a keyed total of a turn cannot be taken. A total is not a position of the stylus, so the ends of
    /// the travel do not matter.
    pub(crate) fn refuse_total(
        &self,
        id: Seq,
        (text, by_eye): (&str, bool),
        total: Quoted,
    ) -> Result<(), Refusal> {
        let gauge = self.attempt(id).and_then(|(_, _, state)| state.gauge().cloned());
        gauge.map_or(Ok(()), |gauge| cannot_show(&gauge, (text, by_eye), total))?;
        self.refuse_apart(id, total.length)
    }

    /// Why two readings this far apart cannot belong to this check.
    pub(crate) fn refuse_apart(&self, id: Seq, total: Length) -> Result<(), Refusal> {
        let found = self.attempt(id);
        let why = found.and_then(|(_, job, state)| {
            let (_, check) = job.check_of(&state)?;
            too_far(check, total)
        });
        why.map_or(Ok(()), |why| {
            let hint = "look at the point and the unit of the value";
            Err(Refusal::input(format!("{why}; nothing was entered"), hint))
        })
    }
}

/// The same for a check and touch that are already known.
pub(crate) fn unfit(
    gauge: &GaugeSetup,
    place: Option<(&Check, &Attempt, Touch)>,
    value: Quoted,
) -> Option<Unfit> {
    let length = value.length;
    if let Some(text) = at_the_end(gauge, value) {
        return Some((AlertKind::EndOfTravel, text));
    }
    let (check, state, touch) = place?;
    let name = &gauge.name;
    if off_by_a_unit_in(check, length) {
        let text = format!("{name} sent {value}: inch and millimetre mixed?");
        return Some((AlertKind::UnitMixed, text));
    }
    let why = impossible(state, (check, touch), length)?;
    Some((AlertKind::UnitMixed, format!("{name} sent {value}: {why}. Not placed.")))
}

/// The unit of a number keyed in without one: that of the attempt's gauge. Where the plan is in inches and
/// the gauge in millimetres, or the reverse, the unit must be written.
pub(crate) fn keyed_unit(check: &Check, gauge: &GaugeSetup, text: &str) -> Result<Unit, Refusal> {
    let unit = gauge.unit.unwrap_or(gauge.resolution.unit);
    // A decimal comma is refused for itself; it is no missing unit.
    let as_meant = with_a_point(text);
    let stated = Quoted::states_unit(as_meant.as_deref().unwrap_or(text));
    if !stated && is_inch(unit) != is_inch(check.unit) {
        return Err(Refusal::input(
            format!(
                "{text} has no unit: {} is read in {unit}, and the plan is in {}; nothing was entered",
                gauge.name, check.unit
            ),
            format!("write the unit as the gauge shows it: \"{} {unit}\"", text.trim()),
        ));
    }
    Ok(unit)
}

const fn is_inch(unit: Unit) -> bool {
    matches!(unit, Unit::Inch)
}

/// Why a keyed value cannot be a touch of a proof.
pub(crate) fn refuse_lift(
    gauge: &GaugeSetup,
    (text, by_eye): (&str, bool),
    value: Quoted,
) -> Result<(), Refusal> {
    cannot_show(gauge, (text, by_eye), value)?;
    at_the_end(gauge, value).map_or(Ok(()), |why| {
        let why = why.trim_end_matches('.');
        let hint = "look at the value, and at travel in bench.toml";
        Err(Refusal::input(format!("{text}: {why}; nothing was entered"), hint))
    })
}

/// Refuses a unit that the gauge does not show, or a step finer than it shows.
fn cannot_show(
    gauge: &GaugeSetup,
    (text, by_eye): (&str, bool),
    value: Quoted,
) -> Result<(), Refusal> {
    let unit = gauge.unit.unwrap_or(gauge.resolution.unit);
    let other = is_inch(unit) != is_inch(value.unit);
    // A dial that stands in for the gauge is read in its own graduations, and the person named those.
    if other && by_eye {
        return Ok(());
    }
    if other {
        return Err(Refusal::input(
            format!(
                "{text} is in {}, and {} is read in {unit}; nothing was entered",
                value.unit, gauge.name
            ),
            "key in what the gauge shows; if it shows another unit now, switch it back",
        ));
    }
    let step = gauge.resolution.length.abs().picometres();
    let finest = match gauge.kind {
        GaugeKind::Indicator | GaugeKind::Height if !by_eye => step,
        GaugeKind::Indicator | GaugeKind::Height | GaugeKind::Dial | GaugeKind::Thermometer => {
            step / BY_EYE
        }
    };
    if finest > 0 && value.length.picometres() % finest != 0 {
        return Err(Refusal::input(
            format!(
                "{text} is finer than {} shows, which goes in steps of {}; nothing was entered",
                gauge.name, gauge.resolution
            ),
            "look at the point and the unit of the value",
        ));
    }
    Ok(())
}

/// Why a value is at, or beyond, the stop of the stylus.
fn at_the_end(gauge: &GaugeSetup, value: Quoted) -> Option<String> {
    let (low, high) = gauge.travel?;
    let length = value.length;
    if length < low || length > high {
        return Some(format!("{value} is beyond the travel of {}. Not placed.", gauge.name));
    }
    let part = if gauge.is_stream() { AT_STOP } else { NEAR_STOP };
    near_a_stop(length, (low, high), part)
        .then(|| format!("{} is near its stop. Re-set it.", gauge.name))
}

fn near_a_stop(value: Length, (low, high): (Length, Length), part: i64) -> bool {
    let (value, low, high) = (value.picometres(), low.picometres(), high.picometres());
    let margin = high.saturating_sub(low) / part;
    value <= low.saturating_add(margin) || value >= high.saturating_sub(margin)
}

/// Why a value is one that the part cannot have.
fn impossible(state: &Attempt, (check, touch): (&Check, Touch), value: Length) -> Option<String> {
    if check.traits().sizes {
        return impossible_size(check, state, touch, value);
    }
    let position = match touch {
        Touch::Position(position) => position,
        Touch::Master
        | Touch::Asked(_)
        | Touch::Seat { .. }
        | Touch::Sweep
        | Touch::Answer
        | Touch::Nothing => {
            return None;
        }
        Touch::Middle | Touch::Closure => 0,
    };
    let same = |other: Option<u32>| {
        other.is_some_and(|other| check.surface_at(other) == check.surface_at(position))
    };
    let first = state.in_state(State::Placed).find(|touched| same(touched.position))?;
    too_far(check, value.checked_sub(first.value.length).unwrap_or(value))
}

fn too_far(check: &Check, apart: Length) -> Option<String> {
    let Some(Limits::Max(limit)) = check.limits else { return None };
    let far = limit.picometres().saturating_mul(FAR);
    let apart = apart.abs();
    (apart.picometres() > far).then(|| {
        let shown = size(apart, check.unit);
        format!("touches {shown} {} apart cannot be of one surface here", check.unit)
    })
}

/// Why a size cannot be right: less than half, or more than double, of the size on the drawing means
/// another part or another unit. Without a master a reading may also be a deviation from that size.
fn impossible_size(check: &Check, state: &Attempt, touch: Touch, value: Length) -> Option<String> {
    let expected = expected_size(check)?;
    let placed = matches!(touch, Touch::Position(_) | Touch::Middle | Touch::Closure);
    let size = match (check.master, check.master_size, state.opening()) {
        (MasterUse::None, ..) => Figure::from(value),
        (MasterUse::Opening | MasterUse::Both, Some(master), Some(opening)) => {
            Figure::from(master) + Figure::from(value) - Figure::from(opening)
        }
        (MasterUse::Opening | MasterUse::Both, ..) => return None,
    };
    let expected = Figure::from(expected);
    let off = size * 2 < expected || size > expected * 2;
    let deviation = check.master == MasterUse::None
        && Figure::from(value).abs() <= check.half_width() * DEVIATES;
    let off = off && !deviation;
    (placed && off && expected > Figure::ZERO).then(|| {
        let shown = |figure: Figure| format!("{} {}", figure.shown(check.unit), check.unit);
        format!("a size of {} cannot be, {} is expected", shown(size), shown(expected))
    })
}

/// The size an absolute reading of a length, or a touch on a master, is expected near.
fn expected_size(check: &Check) -> Option<Length> {
    let mastered = check.master != MasterUse::None;
    if !check.traits().sizes {
        return check.master_size.filter(|_| mastered);
    }
    let middle = check.limits.and_then(|limits| match limits {
        Limits::Max(_) | Limits::Min(_) => None,
        Limits::Band { min, max } => {
            Some(Length::from_picometres(min.picometres().midpoint(max.picometres())))
        }
    });
    let master = check.master_size.filter(|_| mastered);
    check.nominal.or(middle).or(master)
}

/// Whether a reading differs from the expected size by the ratio of inch and millimetre.
fn off_by_a_unit_in(check: &Check, value: Length) -> bool {
    expected_size(check).is_some_and(|expected| off_by_a_unit(value, expected))
}

/// Whether a value is within 2 % of 25.4 times, or a 25.4th of, the expected one.
fn off_by_a_unit(value: Length, expected: Length) -> bool {
    let (value, expected) = (Figure::from(value).abs(), Figure::from(expected).abs());
    let near = |size: Figure| {
        let off = (value - size).abs();
        off * 50 <= size && size > Figure::ZERO
    };
    // One inch is 25.4 mm, that is 254 / 10.
    near(expected * 254 / 10) || near(expected * 10 / 254)
}
