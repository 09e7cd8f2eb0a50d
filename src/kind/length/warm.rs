//! The temperatures of a part and its master, and what they do to a length.

use judgement::{Limits, Times};
use num_rational::Ratio;
use quantity::{Figure, Length, Unit};
use words::fine;

use super::Size;
use crate::check::Check;
use crate::judged::number;
use crate::plan::CheckAt;
use crate::series::Beside;

/// How much heat a length may hold and be judged.
pub(super) struct Allowed {
    /// So much of the tolerance, usually a tenth (from memory of the trade); `None` where nothing is judged.
    heat: Option<Figure>,
    /// The whole length.
    length: Length,
}

impl Allowed {
    /// Of a length with these limits; `heat` is the share of the tolerance that heat may come to.
    pub(super) fn of(limits: Option<Limits>, length: Length, heat: Times) -> Self {
        Self { heat: limits.map(|limits| heat.of(limits.half_width())), length }
    }

    /// Whether this is more.
    pub(super) fn is_exceeded_by(&self, heat: Option<Figure>) -> bool {
        heat.zip(self.heat).is_some_and(|(heat, allowed)| heat.abs() > allowed)
    }

    /// How many degrees of a difference that works by this expansion it allows, in tenths, rounded down:
    /// that share of T, over α·L.
    fn degrees(&self, expansion: Ratio<i128>) -> Option<Ratio<i128>> {
        let expansion = expansion.max(-expansion);
        let heat = self.heat.filter(|_| expansion > Ratio::ZERO && self.length > Length::ZERO)?;
        let above = heat.numerator().checked_mul(10)?.checked_mul(*expansion.denom())?;
        let length = i128::from(self.length.picometres());
        let below = heat.denominator().checked_mul(length)?.checked_mul(*expansion.numer())?;
        Some(Ratio::new(above.div_euclid(below), 10))
    }
}

/// The known temperatures of a part and its master.
#[derive(Debug)]
pub enum Warm {
    /// The check uses none.
    NotAsked,
    /// At least one is not written down.
    Missing,
    /// An entry that is not a temperature.
    Unread(CheckAt, String),
    /// Temperatures in degrees Celsius and expansions per degree, part first, then master.
    Known([Ratio<i128>; 2], [Ratio<i128>; 2]),
}

/// The temperatures of part and master of a length.
pub(super) fn temperatures_of(size: &Size, known: &dyn Beside) -> Warm {
    let Some(places) = size.temperatures else { return Warm::NotAsked };
    let mut both = [Ratio::from_integer(20); 2];
    for (place, temperature) in places.into_iter().zip(&mut both) {
        let Some(text) = known.entry(place) else { return Warm::Missing };
        match judgement::celsius(&text) {
            Some(celsius) => *temperature = celsius,
            None => return Warm::Unread(place, text),
        }
    }
    Warm::Known(both, size.expansions)
}

impl Warm {
    /// How much a measured length is too long because it is not at 20 °C; `None` where that is not known.
    ///
    /// Where readings are deviations from the size on the drawing or of the master, heat acts on the full
    /// length.
    #[must_use]
    pub fn off(&self, check: &Check, measured: Figure) -> Option<Figure> {
        let Self::Known(temperatures, expansions) = self else { return None };
        let drawn = check.nominal.or(check.master_size).map(Figure::from);
        let deviation = drawn.filter(|drawn| measured.abs() * 2 < *drawn);
        let whole = deviation.map_or(measured, |drawn| drawn + measured);
        judgement::too_long_by(whole, *temperatures, *expansions)
    }

    /// Why a length is not judged: how warm it is, what that does, and when it is ready.
    pub(super) fn because(
        &self,
        allowed: &Allowed,
        off: Option<Figure>,
        unit: Unit,
    ) -> Option<String> {
        let (Self::Known([part, master], [of_part, of_master]), Some(heat)) = (self, allowed.heat)
        else {
            return None;
        };
        let [off, most] = [off?.abs(), heat].map(|figure| fine(figure, unit));
        let much = format!("{off} of heat, {most} at most is allowed");
        let apart = *part - *master;
        if apart == Ratio::ZERO {
            let ready =
                allowed.degrees(*of_part - *of_master).map_or_else(String::new, |degrees| {
                    format!(
                        " Ready within {} °C of 20 °C, or against a master of its own metal.",
                        number(degrees)
                    )
                });
            let at = number(*part);
            return Some(format!(
                "Part and master are of unlike metal, and at {at} °C: {much}.{ready}"
            ));
        }
        let side = if apart > Ratio::ZERO { "warmer" } else { "colder" };
        let ready = allowed.degrees(*of_part).filter(|_| of_part == of_master);
        let ready = ready.map_or_else(String::new, |degrees| {
            format!(" Ready when they are within {} °C.", number(degrees))
        });
        let apart = number(apart.max(-apart));
        Some(format!("The part is {apart} °C {side} than its master: {much}.{ready}"))
    }

    /// The sentence that the temperatures allow a length to be judged.
    pub(super) fn ready(&self, allowed: &Allowed) -> Option<String> {
        let Self::Known([part, master], [of_part, of_master]) = self else { return None };
        let degrees = allowed.degrees(*of_part).filter(|_| of_part == of_master)?;
        let apart = *part - *master;
        let apart = number(apart.max(-apart));
        let allowed = number(degrees);
        Some(format!("Ready by temperature: {apart} °C apart, {allowed} at most is allowed."))
    }

    pub(super) fn says(&self, known: &dyn Beside, off: Option<Figure>, unit: Unit) -> Vec<String> {
        let says = match (self, off) {
            (Self::NotAsked, _) => return Vec::new(),
            (Self::Missing, _) => "Not at 20 °C: the temperatures are not written down.".to_owned(),
            (Self::Unread(at, text), _) => {
                let entry = known.name(*at);
                format!("Not at 20 °C: {entry} says {text:?}, which is no temperature in °C.")
            }
            // A correction that is printed as zero counts as none.
            (Self::Known(..), Some(off)) if fine(off.abs(), unit) == fine(Figure::ZERO, unit) => {
                "At 20 °C; nothing to take off.".to_owned()
            }
            (Self::Known(..), Some(off)) if off < Figure::ZERO => {
                format!("At 20 °C; {} added.", fine(-off, unit))
            }
            (Self::Known(..), Some(off)) => format!("At 20 °C; {} taken off.", fine(off, unit)),
            (Self::Known(..), None) => {
                "Not at 20 °C: temperatures or expansions have too many digits.".to_owned()
            }
        };
        vec![says]
    }
}
